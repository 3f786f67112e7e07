/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drawings and words on a cairo surface, for sheets and the report. */
#ifndef CW_DRAW_PAINT_H
#define CW_DRAW_PAINT_H

#include <cairo.h>
#include <stdbool.h>

#include "draw/drawing.h"

#define CW_POINTS_PER_MM (72 / 25.4)

/* Paints in the current user space, whose unit must be the millimetre with y downwards: the drawing's point (x, y)
 * falls on (x, -y). Black and the layers' colours on whatever is there. */
void cw_drawing_paint(const cw_drawing *drawing, cairo_t *cr);

typedef struct {
    double capital_mm; /* height of capitals */
    bool bold;
    cw_text_anchor anchor; /* of each line within the width, or about `at` where width_mm is 0 */
    double width_mm;       /* 0: one line, as long as it is; otherwise wrapped to it */
    int lines_most;        /* with a width: what does not fit ends in an ellipsis; 0: no limit */
} cw_lettering;

/* Words in the same user space, in the current colour; `at` is the left (or middle, or end) of the first base line.
 * Text must be clean UTF-8 (base/utf8.h). Returns the height from the top of the first line to the foot of the last. */
double cw_paint_words(cairo_t *cr, const cw_lettering *look, cw_point at, const char *text);

/* A cairo write function that appends to the cw_buf `closure`. */
cairo_status_t cw_paint_to_buf(void *closure, const unsigned char *bytes, unsigned int count);

#endif
