/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The conversions of a printf format, read one by one: "%zu", "%-8.3f", "%2$s". A percent sign with a space behind it
 * is a percent sign ("30 % of"), so that texts which are no formats can be read too; the space flag is not used here.
 */
#ifndef CW_BASE_CONVERSION_H
#define CW_BASE_CONVERSION_H

#include <stdbool.h>
#include <stddef.h>

enum { CW_CONVERSIONS_MOST = 16 };

typedef enum { CW_CONVERTS_WHOLE, CW_CONVERTS_HEX, CW_CONVERTS_REAL, CW_CONVERTS_TEXT, CW_CONVERTS_LETTER } cw_converts;

typedef struct {
    const char *start, *end; /* the percent sign, and what follows the letter */
    const char *spec;        /* flags, width and precision, behind a "2$" */
    int position;            /* the 2 of "%2$s"; 0: in order */
    char type[4];            /* length modifier and letter: "zu", "ld", "s" */
    cw_converts converts;
    bool star;  /* width or precision is an argument of its own */
    bool width; /* has a width */
} cw_conversion;

/* Whether a conversion begins at `at`; "%%" is none. */
bool cw_conversion_read(const char *at, cw_conversion *conversion);
/* The first conversion at or behind `at`; false when there is none. */
bool cw_conversion_next(const char *at, cw_conversion *conversion);

/* The arguments of a format in the order they are handed over, those of "%2$s" by their number.
 *
 * types   the type of each: "zu", "s" ...
 * Returns how many; -1: a star, a gap, both ways of numbering in one format, a letter that is not known here, or more
 * than CW_CONVERSIONS_MOST */
int cw_format_arguments(const char *format, char types[CW_CONVERSIONS_MOST][4]);

#endif
