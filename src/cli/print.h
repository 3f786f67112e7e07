/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a person reads on the command line, in their language: LANGUAGE, LC_ALL, LC_MESSAGES or LANG names it, LC_ALL,
 * LC_NUMERIC or LANG the decimal sign (POSIX, "Internationalization Variables"; LANGUAGE is gettext's). The commands
 * compute and keep everything plain; only these write for a reader. JSON never goes through here. */
#ifndef CW_CLI_PRINT_H
#define CW_CLI_PRINT_H

#include <stdio.h>

#include "base/manner.h"

/* Reads the environment; before it everything is English. */
void cw_print_begin(void);
/* How this person reads. */
const cw_manner *cw_print_manner(void);

/* printf in the reader's words. Text arguments that are constants of the program are translated, others are a person's.
 */
void cw_print(FILE *out, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Text arguments are sentences that a room composed, and are told (base/sentences.h). */
void cw_print_told(FILE *out, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
