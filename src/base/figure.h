/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers found in a finished text, and written anew in a reader's manner. */
#ifndef CW_BASE_FIGURE_H
#define CW_BASE_FIGURE_H

#include "base/buf.h"

/* How many bytes at `text` are a number: a sign (hyphen or true minus), digits, and where `real` a fraction (point or
 * comma) and a power of ten; "nan" and "inf" too. 0: none. As long as can be. */
size_t cw_figure_span(const char *text, size_t length, bool real);
size_t cw_figure_hex_span(const char *text, size_t length);
bool cw_figure_is_number(const char *text, size_t length);

/* Appends a number with its decimal sign, in inches where it was in mm: two digits more behind the point. */
void cw_figure_number(const char *text, size_t length, bool comma, bool from_mm, cw_buf *out);

/* Appends a figure: nothing at all, numbers with what joins them and a unit ("1/250 s", "12.35 ± 0.08 mm"), a date.
 * False, and nothing appended, for any other text. */
bool cw_figure_put(const char *text, size_t length, bool comma, bool inches, cw_buf *out);

#endif
