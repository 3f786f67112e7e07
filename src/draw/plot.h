/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Charts as SVG, for the page and for paper. Text and axes take the colour of the text around them (currentColor), and
 * series have colours of at least 3:1 contrast on white and on near-black paper alike, so one picture serves light,
 * dark and print; they also differ in marker and dash, so that nothing rests on colour. Everything is said in
 * presentation attributes; a style sheet may override by class: "cw-plot", "cw-axis", "cw-grid", "cw-zone",
 * "cw-series cw-series-0" ... No ids, no styles, no scripts: many plots live in one page under a strict policy.
 * The root <svg> has a viewBox in px and the given width and height as its natural size; CSS may stretch it.
 * Each plot carries a text alternative and is made to stand beside a table with its figures. */
#ifndef CW_DRAW_PLOT_H
#define CW_DRAW_PLOT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/buf.h"
#include "base/error.h"

typedef enum { CW_AXIS_LINEAR, CW_AXIS_LOG } cw_axis_kind;

typedef struct {
    double at;
    const char *label;
} cw_plot_tick;

typedef struct {
    const char *label; /* with its unit: "distance, m"; NULL for none */
    cw_axis_kind kind;
    double least, most;        /* the part shown; both 0: from the data, with room. LOG: positive */
    bool reversed;             /* greater values to the left, or below */
    const cw_plot_tick *ticks; /* own ticks, NULL: round numbers */
    size_t tick_count;
} cw_plot_axis;

enum { CW_LOOKS = 6 }; /* different colours, markers and dashes; then they repeat */

/* One row of points. Arrays of `count`, the caller's; NaN in x or y is a gap. */
typedef struct {
    const char *name; /* in the legend; NULL: not there */
    size_t count;
    const double *x, *y;
    const double *bar_x, *bar_y; /* half lengths of error bars (say which k in the axis label or title); NULL: none */
    const double *low, *high;    /* a band; NULL: none */
    int look;                    /* 0 to CW_LOOKS - 1 */
    bool line, markers;
} cw_plot_series;

/* A shaded box, such as a tolerance; infinite ends reach the edge of the plot. */
typedef struct {
    double x_from, x_to, y_from, y_to;
} cw_plot_zone;

/* A straight line across the plot, with words at its end. */
typedef struct {
    bool upright; /* at x = at; otherwise at y = at */
    double at;
    const char *label; /* NULL: none */
} cw_plot_rule;

typedef struct {
    const char *title;   /* the accessible name; drawn only where plots share a picture */
    const char *summary; /* what it shows, in words, with the figures that matter; NULL: counts and ranges are said */
    cw_plot_axis x, y;
    const cw_plot_series *series;
    size_t series_count;
    const cw_plot_zone *zones;
    size_t zone_count;
    const char *zone_name; /* in the legend; NULL: not there */
    const cw_plot_rule *rules;
    size_t rule_count;
    double width_px, height_px; /* 0: 480 and 300 */
} cw_plot;

/* CW_RANGE: a range that is empty or not positive on a logarithmic axis, a size outside 120 to 4000 px. A plot without
 * any finite point is drawn empty and says so. Points outside a given range are counted in the picture. */
cw_status cw_plot_svg(const cw_plot *plot, cw_buf *out, cw_error *err) __attribute__((warn_unused_result));

/* Several plots in one picture, `columns` side by side, each under its title; their sizes and
 * the one legend above them are taken from the first. */
cw_status cw_plot_grid_svg(const char *title, const char *summary, const cw_plot *plots, size_t count, size_t columns,
                           cw_buf *out, cw_error *err) __attribute__((warn_unused_result));

/* The colour of a look, "#2a7ab9", for tables and legends outside the picture. */
const char *cw_look_colour(int look);

#endif
