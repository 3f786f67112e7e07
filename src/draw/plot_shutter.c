/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/plot_shutter.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "draw/plot.h"
#include "shutter/marks.h"

enum { MARK_TEXT = 32, PROFILE_POINTS_MOST = 256 };

static const cw_plot_rule zero_line = {.at = 0};

static bool same_mark(double a, double b)
{
    return fabs(log(a / b)) < 1e-6;
}

/* ---- error by marked speed ---- */

/* The marks of both tests, slowest first, and what is known at each. */
typedef struct {
    size_t count;
    double marked_s[2 * CW_SPEEDS_MOST];
    const cw_speed *speed[2][2 * CW_SPEEDS_MOST]; /* before, after; NULL: not tested */
} mark_rows;

static void gather(mark_rows *rows, const cw_shutter_test *test, int which)
{
    for (size_t i = 0; test != NULL && i < test->speed_count && i < CW_SPEEDS_MOST; i++) {
        const cw_speed *speed = &test->speeds[i];
        if (!(speed->marked_s > 0) || !isfinite(speed->marked_s))
            continue;
        size_t at = 0;
        while (at < rows->count && rows->marked_s[at] > speed->marked_s &&
               !same_mark(rows->marked_s[at], speed->marked_s))
            at++;
        if (at == rows->count || !same_mark(rows->marked_s[at], speed->marked_s)) {
            for (size_t k = rows->count++; k > at; k--) {
                rows->marked_s[k] = rows->marked_s[k - 1];
                rows->speed[0][k] = rows->speed[0][k - 1];
                rows->speed[1][k] = rows->speed[1][k - 1];
            }
            rows->marked_s[at] = speed->marked_s;
            rows->speed[0][at] = rows->speed[1][at] = NULL;
        }
        rows->speed[which][at] = speed;
    }
}

/* "Before: 5 of 7 speeds inside the tolerance; 1/500 +0.92 EV outside, 1/250 +0.31 EV too close to call." */
static void say_test(cw_buf *out, const char *name, const mark_rows *rows, int which)
{
    size_t measured = 0, inside = 0;
    for (size_t i = 0; i < rows->count; i++) {
        const cw_speed *speed = rows->speed[which][i];
        measured += speed != NULL;
        inside += speed != NULL && speed->verdict == CW_SPEED_INSIDE;
    }
    cw_buf_printf(out, " %s: %zu of %zu speeds inside the tolerance", name, inside, measured);
    const char *join = "; ";
    for (size_t i = 0; i < rows->count; i++) {
        const cw_speed *speed = rows->speed[which][i];
        if (speed == NULL || (speed->verdict != CW_SPEED_OUTSIDE && speed->verdict != CW_SPEED_TOO_CLOSE))
            continue;
        char mark[MARK_TEXT], error[CW_QUANTITY_TEXT];
        cw_mark_text(speed->marked_s, mark, sizeof mark);
        cw_signed_ev_text(speed->error_ev.value, error, sizeof error);
        cw_buf_printf(out, "%s%s s %s %s", join, mark, error,
                      speed->verdict == CW_SPEED_OUTSIDE ? "outside" : "too close to call");
        join = ", ";
    }
    cw_buf_char(out, '.');
}

static const char *const names[] = {"before", "after"};

/* The numbers of the plot, kept while it is written. */
typedef struct {
    char labels[2 * CW_SPEEDS_MOST][MARK_TEXT];
    cw_plot_tick ticks[2 * CW_SPEEDS_MOST];
    double x[2][2 * CW_SPEEDS_MOST], y[2][2 * CW_SPEEDS_MOST], bar[2][2 * CW_SPEEDS_MOST];
    cw_plot_zone zones[2 * CW_SPEEDS_MOST];
    size_t zone_count;
} error_figures;

static void fill_row(error_figures *f, const mark_rows *rows, size_t i, bool both)
{
    cw_mark_text(rows->marked_s[i], f->labels[i], sizeof f->labels[i]);
    f->ticks[i] = (cw_plot_tick){(double)i, f->labels[i]};
    for (int which = 0; which < 2; which++) {
        const cw_speed *speed = rows->speed[which][i];
        f->x[which][i] = (double)i + (both ? (which == 0 ? -0.12 : 0.12) : 0);
        f->y[which][i] = speed != NULL ? speed->error_ev.value : NAN;
        f->bar[which][i] = speed != NULL ? 2 * speed->error_ev.u : NAN;
    }
    const cw_speed *limits = rows->speed[1][i] != NULL ? rows->speed[1][i] : rows->speed[0][i];
    if (isfinite(limits->limit_ev) && limits->limit_ev > 0)
        f->zones[f->zone_count++] =
            (cw_plot_zone){(double)i - 0.5, (double)i + 0.5, -limits->limit_ev, limits->limit_ev};
}

cw_status cw_plot_speed_errors(const cw_shutter_test *before, const cw_shutter_test *after, double width_px,
                               cw_buf *out, cw_error *err)
{
    mark_rows rows = {0};
    error_figures f = {0};
    const cw_shutter_test *tests[] = {before, after};
    gather(&rows, before, 0);
    gather(&rows, after, 1);
    if (rows.count == 0)
        return cw_fail(err, CW_RANGE, "there is no speed to plot; a test with at least one assigned speed is needed");
    cw_plot_series series[2];
    size_t series_count = 0;
    cw_buf summary = cw_buf_new(8192);
    cw_buf_text(&summary, "Exposure error in EV by marked speed; plus is more light than marked.");
    for (size_t i = 0; i < rows.count; i++)
        fill_row(&f, &rows, i, before != NULL && after != NULL);
    for (int which = 0; which < 2; which++) {
        if (tests[which] == NULL)
            continue;
        series[series_count++] = (cw_plot_series){.name = names[which],
                                                  .count = rows.count,
                                                  .x = f.x[which],
                                                  .y = f.y[which],
                                                  .bar_y = f.bar[which],
                                                  .look = which == 0 ? 1 : 0,
                                                  .line = true,
                                                  .markers = true};
        say_test(&summary, which == 0 ? "Before" : "After", &rows, which);
    }
    const cw_plot plot = {
        .title = "Exposure error by marked speed",
        .summary = cw_buf_string(&summary),
        .x = {.label = "marked speed, s",
              .least = -0.6,
              .most = (double)rows.count - 0.4,
              .ticks = f.ticks,
              .tick_count = rows.count},
        .y = {.label = "error, EV (bars: k = 2)"},
        .series = series,
        .series_count = series_count,
        .zones = f.zones,
        .zone_count = f.zone_count,
        .zone_name = "tolerance",
        .rules = &zero_line,
        .rule_count = 1,
        .width_px = width_px,
    };
    cw_status status = cw_plot_svg(&plot, out, err);
    cw_buf_free(&summary);
    return status;
}

/* ---- across the frame ---- */

bool cw_plot_has_profile(const cw_shutter_test *test)
{
    return test->curtains.profile_count > 0;
}

/* One test's curve and sensors at one speed. */
typedef struct {
    size_t count;
    double x_mm[PROFILE_POINTS_MOST], ev[PROFILE_POINTS_MOST], low[PROFILE_POINTS_MOST], high[PROFILE_POINTS_MOST];
    double sensor_ev[CW_SENSORS_MOST], sensor_bar[CW_SENSORS_MOST];
} curve;

/* A small plot: one speed, before and after. */
typedef struct {
    char title[MARK_TEXT + 8];
    curve curves[2];
    cw_plot_series series[4];
    size_t series_count;
} panel;

static void fill_curve(curve *c, const cw_shutter_test *test, const cw_speed *speed, double reference_s)
{
    for (size_t i = 0; i < test->curtains.profile_count && c->count < PROFILE_POINTS_MOST; i++) {
        const cw_profile_point *point = &test->curtains.profile[i];
        if (!same_mark(point->marked_s, speed->marked_s))
            continue;
        double value = point->exposure_s.value, u = point->exposure_s.u;
        c->x_mm[c->count] = point->x_mm;
        c->ev[c->count] = cw_log2_ratio(value, reference_s);
        c->low[c->count] = value - 2 * u > 0 ? cw_log2_ratio(value - 2 * u, reference_s) : NAN;
        c->high[c->count] = cw_log2_ratio(value + 2 * u, reference_s);
        c->count++;
    }
}

/* The mean over the shots that count, and twice its standard uncertainty: the random part shrinks with repeats, the
 * rest is common to all. */
static void fill_sensors(curve *c, const cw_shutter_test *test, const cw_speed *speed, double reference_s)
{
    for (size_t s = 0; s < test->setup.sensor_count && s < CW_SENSORS_MOST; s++) {
        double sum = 0, variance = 0, common = 0;
        size_t n = 0;
        for (size_t i = 0; i < test->shot_count; i++) {
            const cw_shot *shot = &test->shots[i];
            if (shot->struck || shot->incomplete || !same_mark(shot->marked_s, speed->marked_s) ||
                s >= shot->sensor_count)
                continue;
            const cw_sensor_shot *sensor = &shot->sensors[s];
            if (!sensor->seen || !(sensor->exposure_s.value > 0))
                continue;
            double u = isfinite(sensor->exposure_s.u) ? sensor->exposure_s.u : 0, random = fmin(u, sensor->u_random_s);
            sum += sensor->exposure_s.value;
            variance += random * random;
            common = fmax(common, sqrt(fmax(0, u * u - random * random)));
            n++;
        }
        double mean = n > 0 ? sum / (double)n : NAN, u = n > 0 ? hypot(sqrt(variance) / (double)n, common) : NAN;
        c->sensor_ev[s] = cw_log2_ratio(mean, reference_s);
        c->sensor_bar[s] = 2 * u / mean / M_LN2;
    }
}

/* Adds the test's curve and sensors at the speed; nothing where it has no curve there. */
static void fill_panel(panel *p, const cw_shutter_test *test, const cw_speed *speed, int which, bool pair)
{
    static const char *const curve_names[] = {"before, band k = 2", "after, band k = 2"};
    double reference_s = speed->reference_s > 0 ? speed->reference_s : speed->marked_s;
    int look = pair && which == 0 ? 1 : 0;
    curve *c = &p->curves[which];
    fill_curve(c, test, speed, reference_s);
    if (c->count == 0)
        return;
    fill_sensors(c, test, speed, reference_s);
    p->series[p->series_count++] = (cw_plot_series){.name = pair ? curve_names[which] : "curtain fit, band k = 2",
                                                    .count = c->count,
                                                    .x = c->x_mm,
                                                    .y = c->ev,
                                                    .low = c->low,
                                                    .high = c->high,
                                                    .look = look,
                                                    .line = true};
    p->series[p->series_count++] = (cw_plot_series){.name = pair ? NULL : "sensors, bars k = 2",
                                                    .count = test->setup.sensor_count,
                                                    .x = test->setup.sensors_mm,
                                                    .y = c->sensor_ev,
                                                    .bar_y = c->sensor_bar,
                                                    .look = pair ? look : 1,
                                                    .markers = true};
}

static void include(double *least, double *most, const double *values, size_t count)
{
    for (size_t k = 0; k < count; k++) {
        *least = isfinite(values[k]) ? fmin(*least, values[k]) : *least;
        *most = isfinite(values[k]) ? fmax(*most, values[k]) : *most;
    }
}

/* One scale for all, so that the eye may compare; the band outside the sensors may run far and is let run out. */
static void shared_range(const panel *panels, size_t count, double *least, double *most)
{
    *least = -0.1;
    *most = 0.1;
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < panels[i].series_count; k++)
            include(least, most, panels[i].series[k].y, panels[i].series[k].count);
    double room = 0.15 * (*most - *least);
    *least -= room;
    *most += room;
}

/* "1/500 s: before from -0.10 EV to +0.42 EV." */
static void say_curve(cw_buf *out, const panel *p, int which, bool pair)
{
    double least = INFINITY, most = -INFINITY;
    include(&least, &most, p->curves[which].ev, p->curves[which].count);
    if (!(least <= most))
        return;
    char low[CW_QUANTITY_TEXT], high[CW_QUANTITY_TEXT];
    cw_signed_ev_text(least, low, sizeof low);
    cw_signed_ev_text(most, high, sizeof high);
    cw_buf_printf(out, " %s%s%s: from %s to %s.", p->title, pair ? " " : "", pair ? names[which] : "", low, high);
}

static cw_status write_panels(const cw_shutter_test *tests[2], panel *panels, size_t columns, cw_buf *out,
                              cw_error *err)
{
    cw_plot plots[2 * CW_SPEEDS_MOST] = {0};
    bool pair = tests[0] != NULL && tests[1] != NULL;
    const cw_shutter_test *any = tests[1] != NULL ? tests[1] : tests[0];
    mark_rows rows = {0};
    size_t count = 0;
    cw_buf summary = cw_buf_new(16384);
    cw_buf_text(&summary,
                "Exposure across the frame against its reference, in EV, from the edge that opens first: fitted "
                "curve with its k = 2 band, and each sensor's mean.");
    gather(&rows, tests[0], 0);
    gather(&rows, tests[1], 1);
    for (size_t i = 0; i < rows.count; i++) {
        panel *p = &panels[count];
        char mark[MARK_TEXT];
        cw_mark_text(rows.marked_s[i], mark, sizeof mark);
        snprintf(p->title, sizeof p->title, "%s s", mark);
        for (int which = 0; which < 2; which++) {
            if (tests[which] != NULL && rows.speed[which][i] != NULL)
                fill_panel(p, tests[which], rows.speed[which][i], which, pair);
            say_curve(&summary, p, which, pair);
        }
        count += p->series_count > 0;
    }
    double least, most, frame_mm = any->setup.frame_mm > 0 && isfinite(any->setup.frame_mm) ? any->setup.frame_mm : 36;
    shared_range(panels, count, &least, &most);
    for (size_t i = 0; i < count; i++)
        plots[i] = (cw_plot){
            .title = panels[i].title,
            .x = {.label = i + columns >= count ? "place, mm" : NULL,
                  .least = -0.02 * frame_mm,
                  .most = 1.02 * frame_mm},
            .y = {.label = "error, EV", .least = least, .most = most},
            .series = panels[i].series,
            .series_count = panels[i].series_count,
            .rules = &zero_line,
            .rule_count = 1,
            .width_px = 240,
            .height_px = 150,
        };
    cw_status status =
        cw_plot_grid_svg("Exposure across the frame", cw_buf_string(&summary), plots, count, columns, out, err);
    cw_buf_free(&summary);
    return status;
}

cw_status cw_plot_profile_pair(const cw_shutter_test *before, const cw_shutter_test *after, size_t columns, cw_buf *out,
                               cw_error *err)
{
    const cw_shutter_test *tests[2] = {before != NULL && cw_plot_has_profile(before) ? before : NULL,
                                       after != NULL && cw_plot_has_profile(after) ? after : NULL};
    if (tests[0] == NULL && tests[1] == NULL)
        return cw_fail(err, CW_RANGE,
                       "this test says nothing about places across the frame; it needs two sensors or more "
                       "with their places given");
    panel *panels = calloc(2 * CW_SPEEDS_MOST, sizeof *panels);
    if (panels == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the plots across the frame");
    cw_status status = write_panels(tests, panels, columns, out, err);
    free(panels);
    return status;
}

cw_status cw_plot_profiles(const cw_shutter_test *test, size_t columns, cw_buf *out, cw_error *err)
{
    return cw_plot_profile_pair(NULL, test, columns, out, err);
}
