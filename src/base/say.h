/* SPDX-License-Identifier: GPL-3.0-or-later */
/* printf in the reader's words (base/manner.h): the format is looked up in the catalogue, "%2$s" in a translation takes
 * the arguments in another order, fractions get the reader's decimal sign, and a text argument that is a constant of
 * the program is looked up too. Fields are as wide as asked for in characters, not in bytes. Without a reader it is
 * printf.
 */
#ifndef CW_BASE_SAY_H
#define CW_BASE_SAY_H

#include <stdarg.h>

#include "base/buf.h"

/* Other text arguments are names or a person's words, and stay as they are. */
void cw_say(cw_buf *out, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Text arguments are finished sentences of the program, and are told (base/sentences.h). */
void cw_say_told(cw_buf *out, const char *format, ...) __attribute__((format(printf, 2, 3)));
void cw_vsay(cw_buf *out, bool told, const char *format, va_list args);

/* A finished sentence, told. */
void cw_tell(cw_buf *out, const char *text);

#endif
