/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the reader of a page has chosen: language, decimal sign, length unit, dates. Kept by their own browser in a
 * cookie, so that laptop and phone may differ and nothing is stored in the bench; what is not chosen follows
 * Accept-Language.
 *
 * The cookie is "cw_reader=LANGUAGE.DECIMAL.LENGTH.DATES", each word one of those below or "auto"; anything else reads
 * as auto. */
#ifndef CW_WEB_READER_H
#define CW_WEB_READER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/manner.h"

enum { CW_READER_WORD = 8, CW_READER_COOKIE = 128 };

typedef struct {
    char language[CW_READER_WORD]; /* "auto", "en" or the name of a catalogue */
    char decimal[CW_READER_WORD];  /* "auto", "point", "comma" */
    char length[CW_READER_WORD];   /* "auto" (mm), "mm", "in" */
    char dates[CW_READER_WORD];    /* "auto" (plain), "plain", "day", "month" */
} cw_reader;

/* From the Cookie and Accept-Language headers (NULL: absent). */
void cw_reader_read(const char *cookie, const char *accept_language, cw_reader *reader, cw_manner *manner);
/* The Set-Cookie header. */
void cw_reader_cookie(const cw_reader *reader, bool secure, char *out, size_t size);

/* Puts word into a reader's field when it is one of the allowed; false otherwise. `field`: "language", "decimal" ... */
bool cw_reader_set(cw_reader *reader, const char *field, const char *word);

#endif
