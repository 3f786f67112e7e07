/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "draw/plot_model.h"
#include "draw/svg.h"

/* Contrast with white and with #14161a lies between 3.7 and 4.8 for all (WCAG 2.1 relative luminance);
 * tests/draw/plot.c computes it again. */
static const cw_look looks[CW_LOOKS] = {
    {"#2a7ab9", NULL},  {"#d0570a", "6 3"},     {"#12875f", "2 2"},
    {"#a05fc0", "9 3"}, {"#8f7412", "8 2 2 2"}, {"#c2427e", "3 3"},
};

const cw_look *cw_look_of(int look)
{
    return &looks[((look % CW_LOOKS) + CW_LOOKS) % CW_LOOKS];
}

const char *cw_look_colour(int look)
{
    return cw_look_of(look)->colour;
}

static const double MARKER = 3.4; /* from middle to edge, px */

typedef struct {
    double x, y;
} corner;

static void shape(cw_buf *out, const corner *corners, size_t count, double x, double y, double size, bool hollow)
{
    cw_buf_text(out, "<path d=\"");
    for (size_t i = 0; i < count; i++) {
        cw_buf_char(out, i == 0 ? 'M' : 'L');
        cw_svg_place(out, x + corners[i].x * size, y + corners[i].y * size);
    }
    cw_buf_text(out, hollow ? "Z\" fill=\"none\"/>\n" : "Z\"/>\n");
}

void cw_plot_marker(cw_buf *out, int look, double x, double y, double size)
{
    static const corner square[] = {{-0.9, -0.9}, {0.9, -0.9}, {0.9, 0.9}, {-0.9, 0.9}},
                        triangle[] = {{0, -1.15}, {1.1, 0.85}, {-1.1, 0.85}},
                        diamond[] = {{0, -1.25}, {1.25, 0}, {0, 1.25}, {-1.25, 0}},
                        turned[] = {{0, 1.15}, {1.1, -0.85}, {-1.1, -0.85}};
    switch (((look % CW_LOOKS) + CW_LOOKS) % CW_LOOKS) {
    case 0:
        cw_buf_text(out, "<circle");
        cw_svg_attribute(out, "cx", x);
        cw_svg_attribute(out, "cy", y);
        cw_svg_attribute(out, "r", size);
        cw_buf_text(out, "/>\n");
        break;
    case 1:
        shape(out, square, 4, x, y, size, true);
        break;
    case 2:
        shape(out, triangle, 3, x, y, size, false);
        break;
    case 3:
        shape(out, diamond, 4, x, y, size, true);
        break;
    case 4:
        shape(out, square, 4, x, y, size * 0.8, false);
        break;
    default:
        shape(out, turned, 3, x, y, size, true);
        break;
    }
}

static bool has_place(double x, double y)
{
    return !isnan(x) && !isnan(y);
}

/* One closed shape for each unbroken stretch: along the upper edge, back along the lower. */
static void write_band(cw_buf *out, const cw_plot_series *s, const cw_scale *x, const cw_scale *y)
{
    for (size_t from = 0, to; from < s->count; from = to + 1) {
        for (to = from; to < s->count && !isnan(cw_scale_px(x, s->x[to])) && !isnan(s->low[to]) && !isnan(s->high[to]);)
            to++;
        if (to - from < 2)
            continue;
        cw_buf_text(out, "<path class=\"cw-band\" stroke=\"none\" fill-opacity=\"0.18\" d=\"");
        for (size_t i = from; i < to; i++) {
            cw_buf_char(out, i == from ? 'M' : 'L');
            cw_svg_place(out, cw_scale_px(x, s->x[i]), cw_scale_px(y, s->high[i]));
        }
        for (size_t i = to; i-- > from;) {
            double foot = cw_scale_px(y, s->low[i]); /* on a logarithmic axis a band may reach down to nothing */
            cw_buf_char(out, 'L');
            cw_svg_place(out, cw_scale_px(x, s->x[i]), isnan(foot) ? y->from_px : foot);
        }
        cw_buf_text(out, "Z\"/>\n");
    }
}

static void write_line(cw_buf *out, const cw_plot_series *s, const cw_scale *x, const cw_scale *y)
{
    const cw_look *look = cw_look_of(s->look);
    cw_buf_text(out, "<path class=\"cw-line\" fill=\"none\" stroke-width=\"1.6\" stroke-linejoin=\"round\"");
    if (look->dashes != NULL)
        cw_buf_printf(out, " stroke-dasharray=\"%s\"", look->dashes);
    cw_buf_text(out, " d=\"");
    bool pen_down = false, any = false;
    for (size_t i = 0; i < s->count; i++) {
        double px = cw_scale_px(x, s->x[i]), py = cw_scale_px(y, s->y[i]);
        if (has_place(px, py)) {
            cw_buf_char(out, pen_down ? 'L' : 'M');
            cw_svg_place(out, px, py);
            any = true;
        }
        pen_down = has_place(px, py);
    }
    cw_buf_text(out, any ? "\"/>\n" : "M0 0\"/>\n");
}

/* A bar with caps; one that a marker would hide is left out, its caps would only blot the marker. */
static void whisker(cw_buf *out, double x0, double y0, double x1, double y1, bool marked)
{
    static const double CAP = 3;
    if (marked && hypot(x1 - x0, y1 - y0) < 2 * MARKER)
        return;
    double cap_x = x0 == x1 ? CAP : 0, cap_y = x0 == x1 ? 0 : CAP;
    const double ends[][4] = {{x0, y0, x1, y1},
                              {x0 - cap_x, y0 - cap_y, x0 + cap_x, y0 + cap_y},
                              {x1 - cap_x, y1 - cap_y, x1 + cap_x, y1 + cap_y}};
    for (int i = 0; i < 3; i++) {
        cw_buf_char(out, 'M');
        cw_svg_place(out, ends[i][0], ends[i][1]);
        cw_buf_char(out, 'L');
        cw_svg_place(out, ends[i][2], ends[i][3]);
    }
}

static double foot_px(const cw_scale *scale, double value)
{
    double px = cw_scale_px(scale, value);
    return isnan(px) ? scale->from_px : px;
}

static void write_bars(cw_buf *out, const cw_plot_series *s, const cw_scale *x, const cw_scale *y)
{
    cw_buf_text(out, "<path class=\"cw-bars\" fill=\"none\" stroke-width=\"1.2\" d=\"M0 0");
    for (size_t i = 0; i < s->count; i++) {
        double px = cw_scale_px(x, s->x[i]), py = cw_scale_px(y, s->y[i]);
        if (!has_place(px, py))
            continue;
        if (s->bar_y != NULL && isfinite(s->bar_y[i]) && s->bar_y[i] > 0)
            whisker(out, px, foot_px(y, s->y[i] - s->bar_y[i]), px, foot_px(y, s->y[i] + s->bar_y[i]), s->markers);
        if (s->bar_x != NULL && isfinite(s->bar_x[i]) && s->bar_x[i] > 0)
            whisker(out, foot_px(x, s->x[i] - s->bar_x[i]), py, foot_px(x, s->x[i] + s->bar_x[i]), py, s->markers);
    }
    cw_buf_text(out, "\"/>\n");
}

void cw_plot_write_series(cw_buf *out, const cw_plot_series *s, size_t index, const cw_scale *x, const cw_scale *y,
                          size_t *outside)
{
    const char *colour = cw_look_of(s->look)->colour;
    cw_buf_printf(out, "<g class=\"cw-series cw-series-%zu\" fill=\"%s\" stroke=\"%s\" stroke-width=\"1.3\">\n", index,
                  colour, colour);
    if (s->low != NULL && s->high != NULL)
        write_band(out, s, x, y);
    if (s->line)
        write_line(out, s, x, y);
    if (s->bar_x != NULL || s->bar_y != NULL)
        write_bars(out, s, x, y);
    for (size_t i = 0; i < s->count; i++) {
        double px = cw_scale_px(x, s->x[i]), py = cw_scale_px(y, s->y[i]);
        if (!has_place(s->x[i], s->y[i]))
            continue;
        if (!has_place(px, py) || !cw_scale_shows(x, s->x[i]) || !cw_scale_shows(y, s->y[i]))
            (*outside)++;
        else if (s->markers)
            cw_plot_marker(out, s->look, px, py, MARKER);
    }
    cw_buf_text(out, "</g>\n");
}
