/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small helpers for writing SVG. */
#ifndef CW_DRAW_SVG_H
#define CW_DRAW_SVG_H

#include "base/buf.h"

/* A finite number with up to three decimals and no needless zeros. A number that is not finite marks the buffer failed:
 * no page ever shows "nan". */
void cw_svg_number(cw_buf *out, double value);

/* "x y" with two decimals, enough for px. */
void cw_svg_place(cw_buf *out, double x, double y);

/* ` name="value"`. */
void cw_svg_attribute(cw_buf *out, const char *name, double value);

/* One line of text at (x, y) in the current fill; anchor "start", "middle" or "end"; turned by degrees, clockwise. */
void cw_svg_words(cw_buf *out, double x, double y, double size, const char *anchor, double turn_deg, const char *text);

/* `<title>` and `<desc>`, escaped; an empty description is left out. */
void cw_svg_names(cw_buf *out, const char *title, const char *description);

#endif
