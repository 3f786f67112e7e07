/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Parts of a plot that its files share. */
#ifndef CW_DRAW_PLOT_MODEL_H
#define CW_DRAW_PLOT_MODEL_H

#include "draw/axis.h"
#include "draw/plot.h"

#define CW_TICK_PX 11.0  /* size of the figures on axes */
#define CW_LABEL_PX 12.0 /* of axis labels, legend and words in the plot */

/* How a series looks. */
typedef struct {
    const char *colour, *dashes; /* stroke-dasharray; NULL: unbroken */
} cw_look;

const cw_look *cw_look_of(int look);

/* A marker about (x, y), `size` from middle to edge, in the look's shape: every other one hollow. */
void cw_plot_marker(cw_buf *out, int look, double x, double y, double size);

/* Line, band, bars and markers of one series. Counts points that lie outside the part shown. */
void cw_plot_write_series(cw_buf *out, const cw_plot_series *series, size_t index, const cw_scale *x, const cw_scale *y,
                          size_t *outside);

/* The root element up to title and description. */
void cw_plot_open(cw_buf *out, double width_px, double height_px, const char *title, const char *summary);

#endif
