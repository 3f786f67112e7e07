/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "worksheets/chart.h"

#include <math.h>
#include <stdio.h>

static const double width_mm = 120, height_mm = 72;

typedef struct {
    double x0, x1, y0, y1;
} extent;

static double grow(double low, double high)
{
    double room = 0.06 * (high - low);
    return room > 0 ? room : fmax(fabs(high), 1) * 0.1;
}

static cw_status find_extent(const cw_chart *chart, extent *e, cw_error *err)
{
    *e = (extent){INFINITY, -INFINITY, INFINITY, -INFINITY};
    for (size_t s = 0; s < chart->series_count; s++)
        for (size_t i = 0; i < chart->series[s].count; i++) {
            e->x0 = fmin(e->x0, chart->series[s].x[i]);
            e->x1 = fmax(e->x1, chart->series[s].x[i]);
            e->y0 = fmin(e->y0, chart->series[s].y[i]);
            e->y1 = fmax(e->y1, chart->series[s].y[i]);
        }
    if (!(e->x1 >= e->x0 && e->y1 >= e->y0))
        return cw_fail(err, CW_RANGE, "there is no point to draw");
    if (isfinite(chart->band)) {
        e->y0 = fmin(e->y0, chart->one_sided ? 0 : -chart->band);
        e->y1 = fmax(e->y1, chart->band);
    }
    double rx = grow(e->x0, e->x1), ry = grow(e->y0, e->y1);
    *e = (extent){e->x0 - rx, e->x1 + rx, e->y0 - ry, e->y1 + ry};
    return CW_OK;
}

static cw_point at(const extent *e, double x, double y)
{
    return (cw_point){width_mm * (x - e->x0) / (e->x1 - e->x0), height_mm * (y - e->y0) / (e->y1 - e->y0)};
}

/* 1, 2 or 5 times a power of ten, about five to the span. */
static double tick_step(double span)
{
    double raw = span / 5, power = pow(10, floor(log10(raw))), part = raw / power;
    return power * (part < 1.5 ? 1 : part < 3.5 ? 2 : part < 7.5 ? 5 : 10);
}

/* As many decimals as the step has, with a true minus sign. */
static void tick_text(double value, double step, char *out, size_t size)
{
    int decimals = (int)fmax(0, ceil(-log10(step) - 1e-9));
    bool zero = fabs(value) < step * 1e-6;
    snprintf(out, size, "%s%.*f", value < 0 && !zero ? "\xe2\x88\x92" : "", decimals, zero ? 0.0 : fabs(value));
}

static void draw_axes(const cw_chart *chart, const extent *e, cw_drawing *d)
{
    const cw_point frame[] = {{0, 0}, {width_mm, 0}, {width_mm, height_mm}, {0, height_mm}};
    cw_draw_path(d, CW_LAYER_DIMENSION, frame, 4, true);
    char text[32];
    double step = tick_step(e->x1 - e->x0);
    for (double x = ceil(e->x0 / step) * step; x <= e->x1; x += step) {
        cw_point p = at(e, x, e->y0);
        cw_draw_line(d, CW_LAYER_DIMENSION, p, (cw_point){p.x_mm, 1.5});
        tick_text(x, step, text, sizeof text);
        cw_draw_text(d, CW_LAYER_NOTE, (cw_point){p.x_mm, -4}, 2.2, CW_TEXT_MIDDLE, 0, text);
    }
    step = tick_step(e->y1 - e->y0);
    for (double y = ceil(e->y0 / step) * step; y <= e->y1; y += step) {
        cw_point p = at(e, e->x0, y);
        cw_draw_line(d, CW_LAYER_DIMENSION, p, (cw_point){1.5, p.y_mm});
        tick_text(y, step, text, sizeof text);
        cw_draw_text(d, CW_LAYER_NOTE, (cw_point){-1.5, p.y_mm - 1}, 2.2, CW_TEXT_END, 0, text);
    }
    cw_draw_text(d, CW_LAYER_NOTE, (cw_point){width_mm / 2, -9}, 2.4, CW_TEXT_MIDDLE, 0, chart->x_label);
    cw_draw_text(d, CW_LAYER_NOTE, (cw_point){-14, height_mm / 2}, 2.4, CW_TEXT_MIDDLE, 1.5707963267948966,
                 chart->y_label);
    if (e->y0 < 0 && e->y1 > 0)
        cw_draw_line(d, CW_LAYER_CENTRE, at(e, e->x0, 0), at(e, e->x1, 0));
}

static void draw_series(const cw_chart_series *s, const extent *e, cw_drawing *d)
{
    for (size_t i = 0; i < s->count; i++) {
        cw_point p = at(e, s->x[i], s->y[i]);
        if (s->line && i > 0)
            cw_draw_line(d, s->layer, at(e, s->x[i - 1], s->y[i - 1]), p);
        if (s->markers)
            cw_draw_circle(d, s->layer, p, 0.9);
    }
}

cw_status cw_chart_draw(const cw_chart *chart, cw_drawing **drawing, cw_error *err)
{
    extent e;
    cw_drawing *d;
    CW_TRY(find_extent(chart, &e, err));
    CW_TRY(cw_drawing_new(chart->title, chart->description, &d, err));
    draw_axes(chart, &e, d);
    if (isfinite(chart->band)) {
        for (int side = chart->one_sided ? 1 : -1; side <= 1; side += 2)
            cw_draw_line(d, CW_LAYER_HIDDEN, at(&e, e.x0, side * chart->band), at(&e, e.x1, side * chart->band));
        cw_point p = at(&e, e.x1, chart->band);
        cw_draw_text(d, CW_LAYER_NOTE, (cw_point){p.x_mm - 1, p.y_mm + 0.8}, 2, CW_TEXT_END, 0, chart->band_label);
    }
    for (size_t s = 0; s < chart->series_count; s++)
        draw_series(&chart->series[s], &e, d);
    *drawing = d;
    return CW_OK;
}
