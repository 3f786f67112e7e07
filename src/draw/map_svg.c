/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>

#include "draw/map.h"
#include "draw/plot_model.h"
#include "draw/svg.h"

enum { CELLS_MOST = 20000, SHADES = 64, BAR_STEPS = 32 };
static const double BESIDE = 96, EDGE = 8, BAR = 16;

/* The shade of a value; -1: not known. */
static int shade_of(const cw_scale *scale, double value)
{
    if (!isfinite(value))
        return -1;
    double share = (value - scale->least) / (scale->most - scale->least);
    return (int)fmin(SHADES - 1, fmax(0, floor(share * SHADES)));
}

static void write_box(cw_buf *out, double x, double y, double w, double h, int shade, int shades)
{
    double rgb[3];
    cw_map_colour((shade + 0.5) / shades, rgb);
    cw_buf_printf(out, "<rect fill=\"#%02x%02x%02x\"", (unsigned)lrint(rgb[0] * 255), (unsigned)lrint(rgb[1] * 255),
                  (unsigned)lrint(rgb[2] * 255));
    cw_svg_attribute(out, "x", x);
    cw_svg_attribute(out, "y", y);
    cw_svg_attribute(out, "width", w);
    cw_svg_attribute(out, "height", h);
    cw_buf_text(out, "/>");
}

static void write_cells(cw_buf *out, const cw_map *map, const cw_scale *scale, double w, double h)
{
    double cell_w = w / (double)map->columns, cell_h = h / (double)map->rows;
    cw_buf_text(out, "<g class=\"cw-map\" shape-rendering=\"crispEdges\">\n");
    for (size_t row = 0; row < map->rows; row++) {
        const double *values = map->values + row * map->columns;
        for (size_t from = 0, to; from < map->columns; from = to) {
            int shade = shade_of(scale, values[from]);
            for (to = from + 1; to < map->columns && shade_of(scale, values[to]) == shade; to++)
                ;
            if (shade >= 0)
                write_box(out, EDGE + (double)from * cell_w, EDGE + (double)row * cell_h, (double)(to - from) * cell_w,
                          cell_h, shade, SHADES);
        }
    }
    cw_buf_text(out, "</g>\n");
}

static void write_frame(cw_buf *out, double x, double y, double w, double h)
{
    cw_buf_text(out, "<rect fill=\"none\" stroke=\"currentColor\"");
    cw_svg_attribute(out, "x", x);
    cw_svg_attribute(out, "y", y);
    cw_svg_attribute(out, "width", w);
    cw_svg_attribute(out, "height", h);
    cw_buf_text(out, "/>\n");
}

static void write_bar(cw_buf *out, const cw_scale *scale, const char *label, double x, double h)
{
    cw_buf_text(out, "<g fill=\"currentColor\" shape-rendering=\"crispEdges\">\n");
    for (int i = 0; i < BAR_STEPS; i++)
        write_box(out, x, EDGE + h * i / BAR_STEPS, BAR, h / BAR_STEPS + 0.3, BAR_STEPS - 1 - i, BAR_STEPS);
    write_frame(out, x, EDGE, BAR, h);
    for (size_t i = 0; i < scale->tick_count; i++) {
        double y = EDGE + h * (1 - (scale->ticks[i].at - scale->least) / (scale->most - scale->least));
        cw_buf_text(out, "<path fill=\"none\" stroke=\"currentColor\" d=\"M");
        cw_svg_place(out, x + BAR, y);
        cw_buf_text(out, "h4\"/>\n");
        cw_svg_words(out, x + BAR + 7, y + 4, CW_TICK_PX, "start", 0, scale->ticks[i].label);
    }
    cw_svg_words(out, x + BAR + 60, EDGE + h / 2, CW_LABEL_PX, "middle", -90, label);
    cw_buf_text(out, "</g>\n");
}

cw_status cw_map_svg(const cw_map *map, const char *title, double width_px, cw_buf *out, cw_error *err)
{
    double width = width_px == 0 ? 560 : width_px, proportion = map->height_mm / map->width_mm;
    const char *label = map->label != NULL ? map->label : "";
    if (map->columns == 0 || map->rows == 0 || map->columns > CELLS_MOST / map->rows)
        return cw_fail(err, CW_RANGE, "a map of %zu x %zu cells; 1 to %d cells can be drawn", map->columns, map->rows,
                       CELLS_MOST);
    if (!(proportion >= 0.05 && proportion <= 5) || !(width >= 200 && width <= 4000))
        return cw_fail(err, CW_RANGE, "a map of a frame of %g x %g mm, %g px wide, cannot be drawn", map->width_mm,
                       map->height_mm, width);
    cw_plot_axis axis = {.label = label, .least = map->least, .most = map->most};
    cw_scale scale = cw_scale_begin(&axis);
    double least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < map->columns * map->rows; i++) {
        cw_scale_include(&scale, map->values[i]);
        least = fmin(least, map->values[i]);
        most = fmax(most, map->values[i]);
    }
    CW_TRY(cw_scale_finish(&scale, &axis, 6, err));
    double w = width - BESIDE - 2 * EDGE, h = fmax(60, w * proportion);
    char summary[200];
    if (least <= most)
        snprintf(summary, sizeof summary, "%s, from %.2f to %.2f over the area.", label, least, most);
    else
        snprintf(summary, sizeof summary, "%s, nowhere known.", label);
    cw_plot_open(out, width, h + 2 * EDGE, title, summary);
    write_cells(out, map, &scale, w, h);
    write_frame(out, EDGE, EDGE, w, h);
    write_bar(out, &scale, label, EDGE + w + 14, h);
    cw_buf_text(out, "</svg>\n");
    return cw_buf_check(out, "the map", err);
}
