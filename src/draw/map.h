/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A map of values over a frame as a picture: evenness of a pair of photographs, fall-off, focus. */
#ifndef CW_DRAW_MAP_H
#define CW_DRAW_MAP_H

#include <stddef.h>

#include "base/buf.h"
#include "base/error.h"

typedef struct {
    size_t columns, rows;
    const double *values;       /* row by row from the top left; NaN: not known */
    double width_mm, height_mm; /* of the frame, for its proportion */
    double least, most;         /* ends of the colour scale; both 0: from the values */
    const char *label;          /* of the scale: "exposure, EV" */
} cw_map;

/* A PNG `width_px` wide (200 to 4000): the map, a colour scale with figures, and in each cell its value where there is
 * room. The scale runs from dark blue over grey to yellow: its lightness rises all the way, so it reads in grey print,
 * and blue to yellow is the way red-green colour-blind eyes keep apart. Unknown cells are white with a cross. CW_RANGE:
 * an empty map, more than 4 million cells, an impossible scale or proportion. */
cw_status cw_map_png(const cw_map *map, size_t width_px, cw_buf *out, cw_error *err)
    __attribute__((warn_unused_result));

/* The same as an SVG `width_px` wide (0: 560) for a page: `title` names it, the summary says its extremes. Shades are
 * rounded to 64 steps and equal neighbours drawn as one, so that a map of a few thousand cells stays small. */
cw_status cw_map_svg(const cw_map *map, const char *title, double width_px, cw_buf *out, cw_error *err)
    __attribute__((warn_unused_result));

/* The colour of a share 0 to 1 of the scale, each part 0 to 1. */
void cw_map_colour(double share, double rgb[3]);

#endif
