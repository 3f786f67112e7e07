/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A small chart as a drawing, for sheets whose result is a curve: it prints and saves like any other drawing. */
#ifndef CW_WORKSHEETS_CHART_H
#define CW_WORKSHEETS_CHART_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "draw/drawing.h"

typedef struct {
    size_t count;
    const double *x, *y; /* finite */
    bool line, markers;
    cw_layer layer;
} cw_chart_series;

typedef struct {
    const char *title, *description; /* the drawing's */
    const char *x_label, *y_label;
    const cw_chart_series *series;
    size_t series_count;
    double band;    /* a band -band to +band about y = 0, NaN: none */
    bool one_sided; /* y is never negative: only +band is drawn */
    const char *band_label;
} cw_chart;

/* 120 x 72 mm and its labels. CW_RANGE without any point. The caller frees *drawing. */
cw_status cw_chart_draw(const cw_chart *chart, cw_drawing **drawing, cw_error *err) __attribute__((warn_unused_result));

#endif
