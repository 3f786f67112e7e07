/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ranges, round ticks and the way from a value to its place; for the plots of this room. */
#ifndef CW_DRAW_AXIS_H
#define CW_DRAW_AXIS_H

#include "draw/plot.h"

enum { CW_TICKS_MOST = 64, CW_TICK_TEXT = 32 };

typedef struct {
    double at;
    char label[CW_TICK_TEXT]; /* "" for a small tick without figures */
} cw_scale_tick;

typedef struct {
    cw_axis_kind kind;
    double least, most;    /* shown */
    double from_px, to_px; /* where least and most lie */
    bool found;            /* a value was seen while the range was looked for */
    size_t tick_count;
    cw_scale_tick ticks[CW_TICKS_MOST];
} cw_scale;

/* Starts looking for the range of an axis. */
cw_scale cw_scale_begin(const cw_plot_axis *axis);

/* Takes a value into the range; not finite, or not positive on a logarithmic axis: ignored. */
void cw_scale_include(cw_scale *scale, double value);

/* Fixes range and ticks; about `wanted` of them. CW_RANGE for an impossible range given by the caller. */
cw_status cw_scale_finish(cw_scale *scale, const cw_plot_axis *axis, int wanted, cw_error *err)
    __attribute__((warn_unused_result));

/* From a value to px, kept within a hundred thousand px; NaN where it has no place. */
double cw_scale_px(const cw_scale *scale, double value);

bool cw_scale_shows(const cw_scale *scale, double value);

#endif
