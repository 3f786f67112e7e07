/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small helpers for writing SVG. */
#ifndef CW_DRAW_SVG_H
#define CW_DRAW_SVG_H

#include "base/buf.h"

/* A finite number with up to three decimals and no needless zeros. A number that is not finite marks the buffer failed:
 * no page ever shows "nan". */
void cw_svg_number(cw_buf *out, double value);

/* `<title>` and `<desc>`, escaped; an empty description is left out. */
void cw_svg_names(cw_buf *out, const char *title, const char *description);

#endif
