/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/plot.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/manner.h"
#include "draw/plot_model.h"
#include "draw/svg.h"
#include "draw/words.h"

static const double LEGEND_ROW = 18, SAMPLE = 26, EDGE = 10;

/* One plot being laid out in a picture. */
typedef struct {
    const cw_plot *plot;
    double x0, y0, width, height;       /* of the whole plot in the picture */
    double left, top, inner_w, inner_h; /* of its field */
    bool titled;                        /* its title is drawn */
    bool without_legend;                /* a grid has one for all */
    int label_rows;                     /* rows of figures under the x axis */
    cw_scale x, y;
} canvas;

static double words_px(const char *text, double size)
{
    return cw_text_width(cw_words_of(text)) * size; /* as it will be read */
}

/* ---- the legend ---- */

static double entry_width(const char *name)
{
    return SAMPLE + 6 + words_px(name, CW_LABEL_PX) + 14;
}

/* Walks over the legend's entries; -1 stands for the zone. Draws when `out` is given; returns the height it takes. */
static double legend(cw_buf *out, const canvas *c)
{
    const cw_plot *plot = c->plot;
    double x = 0, row = 0;
    bool any = false;
    for (size_t i = 0; i <= plot->series_count; i++) {
        bool is_zone = i == plot->series_count;
        const char *name = is_zone ? (plot->zone_count > 0 ? plot->zone_name : NULL) : plot->series[i].name;
        if (name == NULL)
            continue;
        if (any && x + entry_width(name) > c->width - 2 * EDGE) {
            x = 0;
            row += LEGEND_ROW;
        }
        any = true;
        if (out != NULL) {
            double at_x = c->x0 + EDGE + x, at_y = c->y0 + (c->titled ? LEGEND_ROW : 0) + row + 12;
            if (is_zone) {
                cw_buf_text(
                    out, "<path class=\"cw-zone\" fill=\"currentColor\" fill-opacity=\"0.1\" stroke=\"currentColor\" "
                         "stroke-opacity=\"0.6\" stroke-dasharray=\"1 2\" d=\"M");
                cw_svg_place(out, at_x, at_y - 9);
                cw_buf_printf(out, "h%gv10h%gZ\"/>\n", SAMPLE, -SAMPLE);
            } else {
                const cw_plot_series *s = &plot->series[i];
                const cw_look *look = cw_look_of(s->look);
                cw_buf_printf(out, "<g fill=\"%s\" stroke=\"%s\" stroke-width=\"1.6\">", look->colour, look->colour);
                if (s->line) {
                    cw_buf_printf(out, "<path fill=\"none\"%s%s%s d=\"M",
                                  look->dashes != NULL ? " stroke-dasharray=\"" : "",
                                  look->dashes != NULL ? look->dashes : "", look->dashes != NULL ? "\"" : "");
                    cw_svg_place(out, at_x, at_y - 4);
                    cw_buf_printf(out, "h%g\"/>", SAMPLE);
                }
                if (s->markers)
                    cw_plot_marker(out, s->look, at_x + SAMPLE / 2, at_y - 4, 3.4);
                cw_buf_text(out, "</g>\n");
            }
            cw_svg_words(out, at_x + SAMPLE + 6, at_y, CW_LABEL_PX, "start", 0, name);
        }
        x += entry_width(name);
    }
    return any ? row + LEGEND_ROW + 4 : 0;
}

/* ---- ranges ---- */

static void include_series(canvas *c, const cw_plot_series *s)
{
    for (size_t i = 0; i < s->count; i++) {
        double x = s->x[i], y = s->y[i];
        if (isnan(x) || (isnan(y) && s->low == NULL))
            continue;
        cw_scale_include(&c->x, x);
        cw_scale_include(&c->y, y);
        if (s->bar_x != NULL && isfinite(s->bar_x[i])) {
            cw_scale_include(&c->x, x - s->bar_x[i]);
            cw_scale_include(&c->x, x + s->bar_x[i]);
        }
        if (s->bar_y != NULL && isfinite(s->bar_y[i])) {
            cw_scale_include(&c->y, y - s->bar_y[i]);
            cw_scale_include(&c->y, y + s->bar_y[i]);
        }
        if (s->low != NULL && s->high != NULL) {
            cw_scale_include(&c->y, s->low[i]);
            cw_scale_include(&c->y, s->high[i]);
        }
    }
}

static cw_status find_ranges(canvas *c, cw_error *err)
{
    const cw_plot *plot = c->plot;
    c->x = cw_scale_begin(&plot->x);
    c->y = cw_scale_begin(&plot->y);
    for (size_t i = 0; i < plot->series_count; i++)
        include_series(c, &plot->series[i]);
    bool found = c->y.found;
    for (size_t i = 0; i < plot->rule_count; i++)
        cw_scale_include(plot->rules[i].upright ? &c->x : &c->y, plot->rules[i].at);
    for (size_t i = 0; i < plot->zone_count; i++) {
        cw_scale_include(&c->y, plot->zones[i].y_from);
        cw_scale_include(&c->y, plot->zones[i].y_to);
    }
    CW_TRY(cw_scale_finish(&c->x, &plot->x, (int)fmax(3, c->width / 55), err));
    CW_TRY(cw_scale_finish(&c->y, &plot->y, (int)fmax(3, c->height / 50), err));
    c->y.found = found; /* rules alone are no data */
    return CW_OK;
}

/* ---- room for the figures ---- */

/* Rows of figures needed so that none run into each other: 1, 2 by turns, or with figures left out (the ticks stay). */
static int label_rows(cw_scale *x)
{
    for (int rows = 1; rows <= 2; rows++) {
        double end[2] = {-1e9, -1e9};
        bool clash = false;
        size_t shown = 0;
        for (size_t i = 0; i < x->tick_count && !clash; i++) {
            const cw_scale_tick *tick = &x->ticks[i];
            if (*tick->label == '\0')
                continue;
            double half = words_px(tick->label, CW_TICK_PX) / 2, at = cw_scale_px(x, tick->at);
            double *row_end = &end[shown++ % (size_t)rows];
            double start = x->from_px < x->to_px ? at - half : -at - half;
            clash = start < *row_end + 5;
            *row_end = start + 2 * half;
        }
        if (!clash)
            return rows;
    }
    size_t shown = 0;
    for (size_t i = 0; i < x->tick_count; i++)
        if (*x->ticks[i].label != '\0' && shown++ % 2 == 1)
            x->ticks[i].label[0] = '\0';
    return label_rows(x);
}

static void lay_out(canvas *c)
{
    const cw_plot *plot = c->plot;
    double figures = 0;
    for (size_t i = 0; i < c->y.tick_count; i++)
        figures = fmax(figures, words_px(c->y.ticks[i].label, CW_TICK_PX));
    c->left = c->x0 + EDGE / 2 + (plot->y.label != NULL ? 16 : 0) + figures + 8;
    c->inner_w = c->x0 + c->width - EDGE - c->left;
    c->top = c->y0 + (c->titled ? LEGEND_ROW : 8) + (c->without_legend ? 0 : legend(NULL, c));
    c->x.from_px = plot->x.reversed ? c->left + c->inner_w : c->left;
    c->x.to_px = plot->x.reversed ? c->left : c->left + c->inner_w;
    c->label_rows = label_rows(&c->x);
    double foot = 10 + 13 * c->label_rows + (plot->x.label != NULL ? 18 : 0);
    c->inner_h = fmax(20, c->y0 + c->height - foot - c->top);
    c->y.from_px = plot->y.reversed ? c->top : c->top + c->inner_h;
    c->y.to_px = plot->y.reversed ? c->top + c->inner_h : c->top;
}

/* ---- drawing ---- */

static void write_grid(cw_buf *out, const canvas *c)
{
    cw_buf_text(out, "<path class=\"cw-grid\" fill=\"none\" stroke=\"currentColor\" stroke-opacity=\"0.16\" d=\"M0 0");
    for (size_t i = 0; i < c->x.tick_count; i++) {
        if (*c->x.ticks[i].label == '\0')
            continue;
        cw_buf_char(out, 'M');
        cw_svg_place(out, cw_scale_px(&c->x, c->x.ticks[i].at), c->top);
        cw_buf_printf(out, "v%.2f", c->inner_h);
    }
    for (size_t i = 0; i < c->y.tick_count; i++) {
        if (*c->y.ticks[i].label == '\0')
            continue;
        cw_buf_char(out, 'M');
        cw_svg_place(out, c->left, cw_scale_px(&c->y, c->y.ticks[i].at));
        cw_buf_printf(out, "h%.2f", c->inner_w);
    }
    cw_buf_text(out, "\"/>\n");
}

static void write_axes(cw_buf *out, const canvas *c)
{
    double foot = c->top + c->inner_h;
    cw_buf_text(out, "<g class=\"cw-axis\" fill=\"currentColor\">\n<path fill=\"none\" stroke=\"currentColor\" d=\"M");
    cw_svg_place(out, c->left, c->top);
    cw_buf_printf(out, "v%.2fh%.2f", c->inner_h, c->inner_w);
    for (size_t i = 0; i < c->x.tick_count; i++) {
        cw_buf_char(out, 'M');
        cw_svg_place(out, cw_scale_px(&c->x, c->x.ticks[i].at), foot);
        cw_buf_text(out, *c->x.ticks[i].label != '\0' ? "v5" : "v3");
    }
    for (size_t i = 0; i < c->y.tick_count; i++) {
        cw_buf_char(out, 'M');
        cw_svg_place(out, c->left, cw_scale_px(&c->y, c->y.ticks[i].at));
        cw_buf_text(out, *c->y.ticks[i].label != '\0' ? "h-5" : "h-3");
    }
    cw_buf_text(out, "\"/>\n");
    size_t shown = 0;
    for (size_t i = 0; i < c->x.tick_count; i++) {
        const cw_scale_tick *tick = &c->x.ticks[i];
        if (*tick->label == '\0')
            continue;
        double half = words_px(tick->label, CW_TICK_PX) / 2, at = cw_scale_px(&c->x, tick->at),
               most = c->x0 + c->width - half - 1, row = (double)(shown++ % (size_t)c->label_rows);
        cw_svg_words(out, fmin(at, most), foot + 16 + 13 * row, CW_TICK_PX, "middle", 0, tick->label);
    }
    for (size_t i = 0; i < c->y.tick_count; i++)
        if (*c->y.ticks[i].label != '\0')
            cw_svg_words(out, c->left - 8, cw_scale_px(&c->y, c->y.ticks[i].at) + 4, CW_TICK_PX, "end", 0,
                         c->y.ticks[i].label);
    if (c->plot->x.label != NULL)
        cw_svg_words(out, c->left + c->inner_w / 2, foot + 10 + 13 * c->label_rows + 12, CW_LABEL_PX, "middle", 0,
                     c->plot->x.label);
    if (c->plot->y.label != NULL)
        cw_svg_words(out, c->x0 + EDGE / 2 + 10, c->top + c->inner_h / 2, CW_LABEL_PX, "middle", -90, c->plot->y.label);
    cw_buf_text(out, "</g>\n");
}

static double zone_px(const cw_scale *scale, double value)
{
    double px = cw_scale_px(scale, value);
    return isnan(px) ? scale->from_px : px;
}

static void write_zones(cw_buf *out, const canvas *c)
{
    for (size_t i = 0; i < c->plot->zone_count; i++) {
        const cw_plot_zone *z = &c->plot->zones[i];
        if (isnan(z->x_from) || isnan(z->x_to) || isnan(z->y_from) || isnan(z->y_to))
            continue;
        double x0 = zone_px(&c->x, z->x_from), x1 = zone_px(&c->x, z->x_to), y0 = zone_px(&c->y, z->y_from),
               y1 = zone_px(&c->y, z->y_to);
        cw_buf_text(out,
                    "<g class=\"cw-zone\"><path fill=\"currentColor\" fill-opacity=\"0.09\" stroke=\"none\" d=\"M");
        const double corners[][2] = {{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}};
        for (int k = 0; k < 4; k++) {
            cw_buf_text(out, k == 0 ? "" : "L");
            cw_svg_place(out, corners[k][0], corners[k][1]);
        }
        cw_buf_text(out, "Z\"/><path fill=\"none\" stroke=\"currentColor\" stroke-opacity=\"0.6\" "
                         "stroke-dasharray=\"1 2\" d=\"M");
        cw_svg_place(out, x0, y0);
        cw_buf_char(out, 'L');
        cw_svg_place(out, x1, y0);
        cw_buf_char(out, 'M');
        cw_svg_place(out, x0, y1);
        cw_buf_char(out, 'L');
        cw_svg_place(out, x1, y1);
        cw_buf_text(out, "\"/></g>\n");
    }
}

static void write_rules(cw_buf *out, const canvas *c)
{
    for (size_t i = 0; i < c->plot->rule_count; i++) {
        const cw_plot_rule *r = &c->plot->rules[i];
        const cw_scale *scale = r->upright ? &c->x : &c->y;
        double px = cw_scale_px(scale, r->at);
        if (isnan(px) || !cw_scale_shows(scale, r->at))
            continue;
        cw_buf_text(out, "<g class=\"cw-rule\" fill=\"currentColor\"><path fill=\"none\" stroke=\"currentColor\" "
                         "stroke-opacity=\"0.75\" stroke-dasharray=\"4 2\" d=\"M");
        cw_svg_place(out, r->upright ? px : c->left, r->upright ? c->top : px);
        cw_buf_printf(out, r->upright ? "v%.2f\"/>" : "h%.2f\"/>", r->upright ? c->inner_h : c->inner_w);
        if (r->label != NULL) {
            bool left_half = px < c->left + c->inner_w / 2;
            if (r->upright)
                cw_svg_words(out, px + (left_half ? 4 : -4), c->top + 12, CW_TICK_PX, left_half ? "start" : "end", 0,
                             r->label);
            else
                cw_svg_words(out, c->left + c->inner_w - 4, px - 4, CW_TICK_PX, "end", 0, r->label);
        }
        cw_buf_text(out, "</g>\n");
    }
}

/* A nested <svg> clips to its viewport without any id. */
static void open_field(cw_buf *out, const canvas *c)
{
    cw_buf_text(out, "<svg class=\"cw-field\" overflow=\"hidden\"");
    cw_svg_attribute(out, "x", c->left);
    cw_svg_attribute(out, "y", c->top);
    cw_svg_attribute(out, "width", c->inner_w);
    cw_svg_attribute(out, "height", c->inner_h);
    cw_buf_text(out, " viewBox=\"");
    cw_svg_place(out, c->left, c->top);
    cw_buf_char(out, ' ');
    cw_svg_place(out, c->inner_w, c->inner_h);
    cw_buf_text(out, "\">\n");
}

static void write_legend(cw_buf *out, const canvas *c)
{
    cw_buf_text(out, "<g class=\"cw-legend\" fill=\"currentColor\">\n");
    legend(out, c);
    cw_buf_text(out, "</g>\n");
}

static cw_status write_plot(cw_buf *out, canvas *c, cw_error *err)
{
    CW_TRY(find_ranges(c, err));
    lay_out(c);
    if (c->titled) {
        cw_buf_text(out, "<g fill=\"currentColor\" font-weight=\"bold\">");
        cw_svg_words(out, c->left, c->y0 + 13, CW_LABEL_PX, "start", 0, c->plot->title);
        cw_buf_text(out, "</g>");
    }
    if (!c->without_legend)
        write_legend(out, c);
    write_grid(out, c);
    open_field(out, c);
    write_zones(out, c);
    write_rules(out, c);
    size_t outside = 0;
    for (size_t i = 0; i < c->plot->series_count; i++)
        cw_plot_write_series(out, &c->plot->series[i], i, &c->x, &c->y, &outside);
    cw_buf_text(out, "</svg>\n");
    write_axes(out, c);
    char note[64] = "";
    if (!c->y.found || !c->x.found)
        snprintf(note, sizeof note, "nothing to show");
    else if (outside > 0)
        snprintf(note, sizeof note, outside == 1 ? "%zu point outside this part" : "%zu points outside this part",
                 outside);
    if (*note != '\0') {
        cw_buf_text(out, "<g class=\"cw-remark\" fill=\"currentColor\">");
        cw_svg_words(out, c->left + c->inner_w / 2, c->top + c->inner_h - 8, CW_TICK_PX, "middle", 0, note);
        cw_buf_text(out, "</g>\n");
    }
    return CW_OK;
}

void cw_plot_open(cw_buf *out, double width_px, double height_px, const char *title, const char *summary)
{
    cw_buf_printf(out,
                  "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"cw-plot\" role=\"img\" width=\"%g\" height=\"%g\" "
                  "viewBox=\"0 0 %g %g\" font-family=\"DejaVu Sans, Verdana, sans-serif\">\n",
                  width_px, height_px, width_px, height_px);
    cw_svg_names(out, title, summary);
}

/* Where the maker of a plot says nothing: what an axis runs over, and what each series is called. */
static void plain_summary(cw_buf *out, const cw_plot *plot)
{
    cw_buf_printf(out, "A plot of %s against %s.", plot->y.label != NULL ? plot->y.label : "values",
                  plot->x.label != NULL ? plot->x.label : "place");
    for (size_t i = 0; i < plot->series_count; i++) {
        const cw_plot_series *s = &plot->series[i];
        size_t count = 0;
        double least = INFINITY, most = -INFINITY;
        for (size_t k = 0; k < s->count; k++) {
            if (!isfinite(s->x[k]) || !isfinite(s->y[k]))
                continue;
            count++;
            least = fmin(least, s->y[k]);
            most = fmax(most, s->y[k]);
        }
        cw_buf_printf(out, count == 1 ? " %s: %zu point" : " %s: %zu points", s->name != NULL ? s->name : "Series",
                      count);
        if (count > 0)
            cw_buf_printf(out, " from %.4g to %.4g", least, most);
        cw_buf_char(out, '.');
    }
}

static cw_status check_size(double *width, double *height, cw_error *err)
{
    if (*width == 0)
        *width = 480;
    if (*height == 0)
        *height = 300;
    if (!(*width >= 120 && *width <= 4000 && *height >= 80 && *height <= 4000))
        return cw_fail(err, CW_RANGE, "a plot of %g x %g px; 120 x 80 to 4000 x 4000 can be drawn", *width, *height);
    return CW_OK;
}

cw_status cw_plot_svg(const cw_plot *plot, cw_buf *out, cw_error *err)
{
    canvas c = {.plot = plot, .width = plot->width_px, .height = plot->height_px};
    CW_TRY(check_size(&c.width, &c.height, err));
    cw_buf body = cw_buf_new(out->ceiling), said = cw_buf_new(65536);
    cw_status status = write_plot(&body, &c, err);
    if (status == CW_OK) {
        if (plot->summary == NULL)
            plain_summary(&said, plot);
        cw_plot_open(out, c.width, c.height, plot->title, plot->summary != NULL ? plot->summary : cw_buf_string(&said));
        cw_buf_text(out, cw_buf_string(&body));
        cw_buf_text(out, "</svg>\n");
        out->failed = out->failed || body.failed || said.failed;
        status = cw_buf_check(out, "the plot", err);
    }
    cw_buf_free(&body);
    cw_buf_free(&said);
    return status;
}

cw_status cw_plot_grid_svg(const char *title, const char *summary, const cw_plot *plots, size_t count, size_t columns,
                           cw_buf *out, cw_error *err)
{
    static const double GAP = 8;
    if (count == 0 || columns == 0 || columns > 12 || count > 200)
        return cw_fail(err, CW_RANGE, "%zu plots in %zu columns; 1 to 200 in 1 to 12 can be laid out", count, columns);
    double width = plots[0].width_px, height = plots[0].height_px;
    CW_TRY(check_size(&width, &height, err));
    size_t rows = (count + columns - 1) / columns, across = count < columns ? count : columns;
    double total_w = (double)across * (width + GAP) - GAP;
    cw_buf body = cw_buf_new(out->ceiling);
    cw_status status = CW_OK;
    const canvas key = {.plot = &plots[0], .width = total_w};
    double key_h = legend(NULL, &key);
    write_legend(&body, &key);
    for (size_t i = 0; i < count && status == CW_OK; i++) {
        canvas c = {.plot = &plots[i], .width = width, .height = height, .titled = true, .without_legend = true};
        c.x0 = (double)(i % columns) * (width + GAP);
        c.y0 = key_h + (double)(i / columns) * (height + GAP);
        status = write_plot(&body, &c, err);
    }
    if (status == CW_OK) {
        cw_plot_open(out, total_w, key_h + (double)rows * (height + GAP) - GAP, title, summary);
        cw_buf_text(out, cw_buf_string(&body));
        cw_buf_text(out, "</svg>\n");
        out->failed = out->failed || body.failed;
        status = cw_buf_check(out, "the plots", err);
    }
    cw_buf_free(&body);
    return status;
}
