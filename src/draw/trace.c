/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/trace.h"

#include <math.h>
#include <stdio.h>

#include "draw/plot_model.h"
#include "draw/svg.h"
#include "draw/words.h"

enum { CHANNELS_MOST = 16, COLUMNS_MOST = 4000 };

static const double LANE = 118, LANE_GAP = 8, LEFT = 26, RIGHT = 66, TOP = 6, FOOT = 44, NAME_ROOM = 34;

/* A picture being laid out: lanes below each other over one time axis. */
typedef struct {
    const cw_trace *trace;
    cw_scale time; /* in `unit_s` from zero_s */
    double unit_s, left, width;
    size_t first, last; /* frames that touch the part shown, last excluded */
} stage;

static double time_px(const stage *s, double at_s)
{
    return cw_scale_px(&s->time, (at_s - s->trace->zero_s) / s->unit_s);
}

static double frame_time(const stage *s, size_t frame)
{
    return s->trace->start_s + (double)frame / s->trace->rate_hz;
}

/* ---- vertical range of a lane ---- */

static cw_scale lane_scale(const stage *s, const cw_trace_channel *c, double top)
{
    cw_scale v = cw_scale_begin(&(cw_plot_axis){0});
    const double levels[] = {c->dark, c->mid, c->full};
    for (int i = 0; i < 3; i++)
        cw_scale_include(&v, levels[i]);
    if (c->samples == NULL) {
        cw_scale_include(&v, 0);
        cw_scale_include(&v, 1);
    }
    for (size_t i = s->first; c->samples != NULL && i < s->last; i++)
        cw_scale_include(&v, (double)c->samples[i * c->stride]);
    if (!v.found) {
        v.least = 0;
        v.most = 1;
    }
    double room = fmax(0.06 * (v.most - v.least), 1e-12 * fmax(1, fabs(v.most)));
    v.least -= room;
    v.most += room;
    v.from_px = top + LANE;
    v.to_px = top + NAME_ROOM;
    return v;
}

/* ---- the light itself ---- */

typedef struct {
    cw_buf *out;
    bool down;
} pen;

static void pen_to(pen *p, double x, double y)
{
    cw_buf_char(p->out, p->down ? 'L' : 'M');
    cw_svg_place(p->out, x, y);
    p->down = true;
}

static void every_sample(pen *p, const stage *s, const cw_trace_channel *c, const cw_scale *v)
{
    for (size_t i = s->first; i < s->last; i++) {
        float value = c->samples[i * c->stride];
        if (isfinite(value))
            pen_to(p, time_px(s, frame_time(s, i)), cw_scale_px(v, (double)value));
        else
            p->down = false;
    }
}

/* A bar from the least to the greatest sample of each px, joined by one line that enters at the first and leaves at the
 * last sample. */
static void thinned(pen *p, const stage *s, const cw_trace_channel *c, const cw_scale *v)
{
    for (size_t i = s->first; i < s->last;) {
        double column = floor(time_px(s, frame_time(s, i)));
        float least = INFINITY, most = -INFINITY, last = NAN, first = c->samples[i * c->stride];
        for (; i < s->last && floor(time_px(s, frame_time(s, i))) == column; i++) {
            float value = c->samples[i * c->stride];
            if (!isfinite(value))
                continue;
            least = fminf(least, value);
            most = fmaxf(most, value);
            last = value;
        }
        if (!(least <= most)) {
            p->down = false;
            continue;
        }
        if (isfinite(first))
            pen_to(p, column, cw_scale_px(v, (double)first));
        pen_to(p, column + 0.25, cw_scale_px(v, (double)least));
        pen_to(p, column + 0.5, cw_scale_px(v, (double)most));
        pen_to(p, column + 0.75, cw_scale_px(v, (double)last));
    }
}

static void edges(pen *p, const stage *s, const cw_trace_channel *c, const cw_scale *v)
{
    for (size_t i = 0; i < c->edge_count; i++) {
        double from = time_px(s, c->edges[i].at_s),
               to = time_px(s, i + 1 < c->edge_count ? c->edges[i + 1].at_s : INFINITY);
        if (to < s->left || from > s->left + s->width || c->edges[i].level < 0) {
            p->down = false;
            continue;
        }
        double y = cw_scale_px(v, c->edges[i].level);
        pen_to(p, fmax(from, s->left), y);
        pen_to(p, fmin(to, s->left + s->width), y);
    }
}

static void write_light(cw_buf *out, const stage *s, const cw_trace_channel *c, const cw_scale *v, int look)
{
    const char *colour = cw_look_of(look)->colour;
    cw_buf_printf(out,
                  "<path class=\"cw-series cw-series-%d\" fill=\"none\" stroke=\"%s\" stroke-width=\"1.2\" "
                  "stroke-linejoin=\"round\" d=\"M0 0",
                  look, colour);
    pen p = {out, false};
    if (c->samples == NULL)
        edges(&p, s, c, v);
    else if ((double)(s->last - s->first) <= 2 * s->width)
        every_sample(&p, s, c, v);
    else
        thinned(&p, s, c, v);
    cw_buf_text(out, "\"/>\n");
}

/* ---- levels and instants ---- */

static void write_levels(cw_buf *out, const stage *s, const cw_trace_channel *c, const cw_scale *v)
{
    static const char *const names[] = {"dark", "mid", "full"};
    static const char *const dashes[] = {"1 3", "5 3", "1 3"};
    const double levels[] = {c->dark, c->mid, c->full};
    double last_y = INFINITY;
    for (int i = 0; i < 3; i++) {
        double y = cw_scale_px(v, levels[i]);
        if (isnan(y))
            continue;
        cw_buf_printf(out,
                      "<path class=\"cw-level\" fill=\"none\" stroke=\"currentColor\" stroke-opacity=\"0.7\" "
                      "stroke-dasharray=\"%s\" d=\"M",
                      dashes[i]);
        cw_svg_place(out, s->left, y);
        cw_buf_printf(out, "h%.2f\"/>\n", s->width);
        double words_y = fmin(y + 4, last_y - 11);
        cw_svg_words(out, s->left + s->width + 5, words_y, CW_TICK_PX, "start", 0, names[i]);
        last_y = words_y;
    }
}

/* A line at each instant; words in two rows by turns above the light, left out where even those would run together. */
static void write_instants(cw_buf *out, const stage *s, const cw_trace_channel *c, double top)
{
    double row_end[] = {-1e9, -1e9};
    for (size_t i = 0; i < c->instant_count; i++) {
        double x = time_px(s, c->instants[i].at_s);
        if (isnan(x) || x < s->left || x > s->left + s->width)
            continue;
        cw_buf_text(out,
                    "<path class=\"cw-instant\" fill=\"none\" stroke=\"currentColor\" stroke-opacity=\"0.8\" d=\"M");
        cw_svg_place(out, x, top + NAME_ROOM - 4);
        cw_buf_printf(out, "v%.2f\"/>\n", LANE - NAME_ROOM + 4);
        if (c->instants[i].label == NULL)
            continue;
        double width = cw_text_width(c->instants[i].label) * CW_TICK_PX,
               start = fmin(fmax(x - width / 2, s->left), s->left + s->width - width);
        for (int row = 0; row < 2; row++) {
            if (start < row_end[row] + 4)
                continue;
            cw_svg_words(out, start, top + NAME_ROOM - 7 - 12 * row, CW_TICK_PX, "start", 0, c->instants[i].label);
            row_end[row] = start + width;
            break;
        }
    }
}

static void write_lane(cw_buf *out, const stage *s, size_t index)
{
    const cw_trace_channel *c = &s->trace->channels[index];
    double top = TOP + (double)index * (LANE + LANE_GAP);
    cw_scale v = lane_scale(s, c, top);
    cw_buf_text(out, "<g class=\"cw-lane\" fill=\"currentColor\">\n<path fill=\"none\" stroke=\"currentColor\" "
                     "stroke-opacity=\"0.35\" d=\"M");
    cw_svg_place(out, s->left, top + LANE);
    cw_buf_printf(out, "h%.2f\"/>\n<g font-weight=\"bold\">", s->width);
    cw_svg_words(out, s->left, top + 10, CW_TICK_PX, "start", 0, c->name);
    cw_buf_text(out, "</g>\n");
    write_levels(out, s, c, &v);
    write_instants(out, s, c, top);
    cw_buf_text(out, "<svg class=\"cw-field\" overflow=\"hidden\"");
    cw_svg_attribute(out, "x", s->left);
    cw_svg_attribute(out, "y", top);
    cw_svg_attribute(out, "width", s->width);
    cw_svg_attribute(out, "height", LANE);
    cw_buf_text(out, " viewBox=\"");
    cw_svg_place(out, s->left, top);
    cw_buf_char(out, ' ');
    cw_svg_place(out, s->width, LANE);
    cw_buf_text(out, "\">\n");
    write_light(out, s, c, &v, (int)(index % CW_LOOKS));
    cw_buf_text(out, "</svg>\n</g>\n");
}

/* ---- time axis ---- */

static const struct {
    double unit_s;
    const char *label;
} units[] = {{1e-6, "time, \xc2\xb5s"}, {1e-3, "time, ms"}, {1, "time, s"}};

static void write_time(cw_buf *out, const stage *s, const char *label)
{
    double y = TOP + (double)s->trace->channel_count * (LANE + LANE_GAP) - LANE_GAP;
    cw_buf_text(out, "<g class=\"cw-axis\" fill=\"currentColor\"><path fill=\"none\" stroke=\"currentColor\" d=\"M");
    cw_svg_place(out, s->left, y);
    cw_buf_printf(out, "h%.2f", s->width);
    for (size_t i = 0; i < s->time.tick_count; i++) {
        cw_buf_char(out, 'M');
        cw_svg_place(out, cw_scale_px(&s->time, s->time.ticks[i].at), y);
        cw_buf_text(out, "v5");
    }
    cw_buf_text(out, "\"/>\n");
    for (size_t i = 0; i < s->time.tick_count; i++)
        cw_svg_words(out, cw_scale_px(&s->time, s->time.ticks[i].at), y + 17, CW_TICK_PX, "middle", 0,
                     s->time.ticks[i].label);
    cw_svg_words(out, s->left + s->width / 2, y + 34, CW_LABEL_PX, "middle", 0, label);
    cw_buf_text(out, "</g>\n");
}

static void say(cw_buf *out, const cw_trace *t)
{
    cw_buf_printf(out, t->channel_count == 1 ? "%zu channel over %.4g ms." : "%zu channels over %.4g ms.",
                  t->channel_count, (t->to_s - t->from_s) * 1e3);
    for (size_t i = 0; i < t->channel_count; i++) {
        const cw_trace_channel *c = &t->channels[i];
        const char *join = ": ";
        cw_buf_printf(out, " %s", c->name);
        for (size_t k = 0; k < c->instant_count && k < 12; k++) {
            if (c->instants[k].label == NULL || !isfinite(c->instants[k].at_s))
                continue;
            cw_buf_printf(out, "%s%s at %.4f ms", join, c->instants[k].label, (c->instants[k].at_s - t->zero_s) * 1e3);
            join = ", ";
        }
        cw_buf_char(out, '.');
    }
}

static cw_status check(const cw_trace *t, cw_error *err)
{
    if (t->channel_count == 0 || t->channel_count > CHANNELS_MOST)
        return cw_fail(err, CW_RANGE, "a trace of %zu channels; 1 to %d can be drawn", t->channel_count, CHANNELS_MOST);
    if (!(t->to_s > t->from_s) || !isfinite(t->from_s) || !isfinite(t->to_s) || !isfinite(t->zero_s))
        return cw_fail(err, CW_RANGE, "the part from %g s to %g s is empty; choose a later end", t->from_s, t->to_s);
    for (size_t i = 0; i < t->channel_count; i++)
        if (t->channels[i].samples != NULL && !(t->rate_hz > 0 && isfinite(t->rate_hz) && isfinite(t->start_s)))
            return cw_fail(err, CW_RANGE, "a trace of %g samples a second cannot be drawn", t->rate_hz);
    return CW_OK;
}

/* One frame more at each end, so that lines run to the edge. */
static void find_frames(stage *s)
{
    const cw_trace *t = s->trace;
    if (!(t->rate_hz > 0))
        return;
    double most = (double)t->frames, first = floor((t->from_s - t->start_s) * t->rate_hz) - 1,
           last = ceil((t->to_s - t->start_s) * t->rate_hz) + 2;
    s->first = (size_t)fmin(most, fmax(0, first));
    s->last = (size_t)fmin(most, fmax((double)s->first, last));
}

static double full_width(const cw_trace *t)
{
    return t->width_px == 0 ? 640 : t->width_px;
}

double cw_trace_time_at(const cw_trace *t, double x_px)
{
    double share = fmin(1, fmax(0, (x_px - LEFT) / (full_width(t) - LEFT - RIGHT)));
    return t->from_s + share * (t->to_s - t->from_s);
}

cw_status cw_trace_svg(const cw_trace *t, cw_buf *out, cw_error *err)
{
    CW_TRY(check(t, err));
    double width = full_width(t);
    if (!(width >= 200 && width <= COLUMNS_MOST))
        return cw_fail(err, CW_RANGE, "a trace %g px wide; 200 to %d can be drawn", width, COLUMNS_MOST);
    double span = t->to_s - t->from_s;
    size_t unit = span < 2e-3 ? 0 : span < 2 ? 1 : 2;
    stage s = {.trace = t, .unit_s = units[unit].unit_s, .left = LEFT, .width = width - LEFT - RIGHT};
    find_frames(&s);
    const cw_plot_axis axis = {
        .label = "time", .least = (t->from_s - t->zero_s) / s.unit_s, .most = (t->to_s - t->zero_s) / s.unit_s};
    s.time = cw_scale_begin(&axis);
    /* A range from 0 to 0 means "from the data" elsewhere; here the part shown is never empty. */
    CW_TRY(cw_scale_finish(&s.time, &axis, (int)(s.width / 60), err));
    s.time.from_px = s.left;
    s.time.to_px = s.left + s.width;
    cw_buf said = cw_buf_new(16384);
    if (t->summary == NULL)
        say(&said, t);
    double height = TOP + (double)t->channel_count * (LANE + LANE_GAP) - LANE_GAP + FOOT;
    cw_plot_open(out, width, height, t->title, t->summary != NULL ? t->summary : cw_buf_string(&said));
    cw_buf_free(&said);
    for (size_t i = 0; i < t->channel_count; i++)
        write_lane(out, &s, i);
    write_time(out, &s, units[unit].label);
    cw_buf_text(out, "</svg>\n");
    return cw_buf_check(out, "the trace", err);
}
