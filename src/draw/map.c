/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/map.h"

#include <cairo.h>
#include <math.h>
#include <stdio.h>

#include "draw/axis.h"
#include "draw/paint.h"

enum { CELLS_MOST = 4000000 };

/* Anchors of equal step in lightness (CIE L* about 13, 33, 52, 71, 91): own choice, see tests/draw/plot.c. */
static const double anchors[][3] = {
    {0.00, 0.13, 0.34}, {0.25, 0.31, 0.42}, {0.47, 0.49, 0.47}, {0.73, 0.69, 0.42}, {1.00, 0.91, 0.28}};

void cw_map_colour(double share, double rgb[3])
{
    double at = fmin(1, fmax(0, share)) * (double)(CW_COUNT(anchors) - 1);
    size_t below = (size_t)fmin(floor(at), (double)(CW_COUNT(anchors) - 2));
    double part = at - (double)below;
    for (int i = 0; i < 3; i++)
        rgb[i] = anchors[below][i] * (1 - part) + anchors[below + 1][i] * part;
}

static double share_of(const cw_scale *scale, double value)
{
    return (value - scale->least) / (scale->most - scale->least);
}

static void cell(cairo_t *cr, const cw_scale *scale, double value, double x, double y, double w, double h)
{
    double rgb[3] = {1, 1, 1};
    bool known = isfinite(value);
    if (known)
        cw_map_colour(share_of(scale, value), rgb);
    cairo_set_source_rgb(cr, rgb[0], rgb[1], rgb[2]);
    cairo_rectangle(cr, x, y, w, h);
    cairo_fill(cr);
    if (!known && w >= 6 && h >= 6) {
        cairo_set_source_rgb(cr, 0.4, 0.4, 0.4);
        cairo_set_line_width(cr, 1);
        cairo_move_to(cr, x, y);
        cairo_line_to(cr, x + w, y + h);
        cairo_move_to(cr, x, y + h);
        cairo_line_to(cr, x + w, y);
        cairo_stroke(cr);
    }
    if (known && w >= 44 && h >= 18) {
        char text[CW_TICK_TEXT];
        double size = fmin(fmin(w / 7, h / 2.6), 14), light = 0.3 * rgb[0] + 0.59 * rgb[1] + 0.11 * rgb[2];
        snprintf(text, sizeof text, "%s%.2f", value < -0.005 ? "\xe2\x88\x92" : value > 0.005 ? "+" : "", fabs(value));
        cairo_set_source_rgb(cr, light < 0.5, light < 0.5, light < 0.5);
        cw_paint_words(cr, &(cw_lettering){.capital_mm = size, .anchor = CW_TEXT_MIDDLE},
                       (cw_point){x + w / 2, y + h / 2 + size / 2}, text);
    }
}

static void scale_bar(cairo_t *cr, const cw_scale *scale, const char *label, double x, double y, double h)
{
    static const double WIDTH = 18;
    cairo_set_antialias(cr, CAIRO_ANTIALIAS_NONE);
    for (int i = 0; i < 200; i++) {
        double rgb[3];
        cw_map_colour(1 - (i + 0.5) / 200, rgb);
        cairo_set_source_rgb(cr, rgb[0], rgb[1], rgb[2]);
        cairo_rectangle(cr, x, y + h * i / 200, WIDTH, h / 200 + 0.5);
        cairo_fill(cr);
    }
    cairo_set_antialias(cr, CAIRO_ANTIALIAS_DEFAULT);
    cairo_set_source_rgb(cr, 0, 0, 0);
    cairo_set_line_width(cr, 1);
    cairo_rectangle(cr, x, y, WIDTH, h);
    cairo_stroke(cr);
    for (size_t i = 0; i < scale->tick_count; i++) {
        double at = y + h * (1 - share_of(scale, scale->ticks[i].at));
        cairo_move_to(cr, x + WIDTH, at);
        cairo_line_to(cr, x + WIDTH + 4, at);
        cairo_stroke(cr);
        cw_paint_words(cr, &(cw_lettering){.capital_mm = 8}, (cw_point){x + WIDTH + 8, at + 4}, scale->ticks[i].label);
    }
    cairo_save(cr);
    cairo_translate(cr, x + WIDTH + 58, y + h / 2);
    cairo_rotate(cr, -M_PI_2);
    cw_paint_words(cr, &(cw_lettering){.capital_mm = 9, .anchor = CW_TEXT_MIDDLE}, (cw_point){0, 0}, label);
    cairo_restore(cr);
}

static void paint_map(cairo_t *cr, const cw_map *map, const cw_scale *scale, double w, double h)
{
    static const double EDGE = 10;
    cairo_set_antialias(cr, CAIRO_ANTIALIAS_NONE);
    for (size_t j = 0; j < map->rows; j++) {
        for (size_t i = 0; i < map->columns; i++) {
            double x0 = round(w * (double)i / (double)map->columns),
                   x1 = round(w * (double)(i + 1) / (double)map->columns),
                   y0 = round(h * (double)j / (double)map->rows), y1 = round(h * (double)(j + 1) / (double)map->rows);
            cell(cr, scale, map->values[j * map->columns + i], EDGE + x0, EDGE + y0, x1 - x0, y1 - y0);
        }
    }
    cairo_set_antialias(cr, CAIRO_ANTIALIAS_DEFAULT);
    cairo_set_source_rgb(cr, 0, 0, 0);
    cairo_set_line_width(cr, 1);
    cairo_rectangle(cr, EDGE - 0.5, EDGE - 0.5, w + 1, h + 1);
    cairo_stroke(cr);
    scale_bar(cr, scale, map->label != NULL ? map->label : "", EDGE + w + 14, EDGE, h);
}

cw_status cw_map_png(const cw_map *map, size_t width_px, cw_buf *out, cw_error *err)
{
    static const double BESIDE = 108, EDGE = 10;
    if (map->columns == 0 || map->rows == 0 || map->columns > CELLS_MOST / map->rows)
        return cw_fail(err, CW_RANGE, "a map of %zu x %zu cells; 1 to %d cells can be painted", map->columns, map->rows,
                       CELLS_MOST);
    double proportion = map->height_mm / map->width_mm;
    if (!(proportion >= 0.05 && proportion <= 5) || width_px < 200 || width_px > 4000)
        return cw_fail(err, CW_RANGE, "a map of a frame of %g x %g mm, %zu px wide, cannot be painted", map->width_mm,
                       map->height_mm, width_px);
    cw_plot_axis axis = {.label = map->label, .least = map->least, .most = map->most};
    cw_scale scale = cw_scale_begin(&axis);
    for (size_t i = 0; i < map->columns * map->rows; i++)
        cw_scale_include(&scale, map->values[i]);
    CW_TRY(cw_scale_finish(&scale, &axis, 6, err));
    double w = (double)width_px - BESIDE, h = fmax(60, round(w * proportion));
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)width_px, (int)(h + 2 * EDGE));
    cairo_t *cr = cairo_create(surface);
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_paint(cr);
    paint_map(cr, map, &scale, w, h);
    cairo_status_t result = cairo_status(cr);
    cairo_destroy(cr);
    if (result == CAIRO_STATUS_SUCCESS)
        result = cairo_surface_write_to_png_stream(surface, cw_paint_to_buf, out);
    cairo_surface_destroy(surface);
    if (result != CAIRO_STATUS_SUCCESS)
        return cw_fail(err, CW_MEMORY, "painting the map failed: %s", cairo_status_to_string(result));
    return CW_OK;
}
