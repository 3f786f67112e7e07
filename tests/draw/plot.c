/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/plot.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "draw/axis.h"
#include "draw/map.h"
#include "draw/plot_shutter.h"
#include "draw/trace.h"
#include "support/check.h"

/* WCAG 2.1, "relative luminance" and "contrast ratio". */
static double linear(double part)
{
    return part <= 0.04045 ? part / 12.92 : pow((part + 0.055) / 1.055, 2.4);
}

static double luminance(double red, double green, double blue)
{
    return 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue);
}

static void series_stand_out_on_light_and_dark(void **state)
{
    (void)state;
    double white = 1.05, dark = luminance(0x14 / 255.0, 0x16 / 255.0, 0x1a / 255.0) + 0.05;
    for (int look = 0; look < CW_LOOKS; look++) {
        unsigned r, g, b;
        assert_int_equal(sscanf(cw_look_colour(look), "#%2x%2x%2x", &r, &g, &b), 3);
        double own = luminance(r / 255.0, g / 255.0, b / 255.0) + 0.05;
        assert_true(white / own >= 3 && own / dark >= 3); /* WCAG 2.1, 1.4.11: graphical objects */
    }
}

static void the_map_grows_lighter_all_the_way(void **state)
{
    (void)state;
    double last = -1;
    for (int i = 0; i <= 200; i++) {
        double rgb[3];
        cw_map_colour(i / 200.0, rgb);
        double now = luminance(rgb[0], rgb[1], rgb[2]);
        assert_true(now > last);
        last = now;
    }
    assert_true(last > 0.7);
}

static void check_ticks(cw_axis_kind kind, double least, double most, const char *expected)
{
    cw_error err;
    cw_plot_axis axis = {.kind = kind, .least = least, .most = most};
    cw_scale scale = cw_scale_begin(&axis);
    assert_ok(cw_scale_finish(&scale, &axis, 6, &err), &err);
    char text[1024] = "";
    for (size_t i = 0; i < scale.tick_count; i++) {
        if (*scale.ticks[i].label == '\0')
            continue;
        size_t used = strlen(text);
        snprintf(text + used, sizeof text - used, "%s%s", used > 0 ? " " : "", scale.ticks[i].label);
    }
    assert_string_equal(text, expected);
}

static void ticks_are_round(void **state)
{
    (void)state;
    check_ticks(CW_AXIS_LINEAR, -0.5, 0.62,
                "\xe2\x88\x92"
                "0.4 \xe2\x88\x92"
                "0.2 0.0 0.2 0.4 0.6");
    check_ticks(CW_AXIS_LINEAR, 0, 36, "0 10 20 30");
    check_ticks(CW_AXIS_LINEAR, 1234.5678, 1234.5690,
                "1234.5678 1234.5680 1234.5682 1234.5684 1234.5686 1234.5688 1234.5690");
    check_ticks(CW_AXIS_LOG, 0.5, 120, "0.5 1 2 5 10 20 50 100");
    check_ticks(CW_AXIS_LOG, 1e-7, 1e7, "10\xe2\x81\xbb\xe2\x81\xb6 0.0001 0.01 1 100 10000 10\xe2\x81\xb6");
    check_ticks(CW_AXIS_LOG, 1.1, 1.4, "1.10 1.15 1.20 1.25 1.30 1.35 1.40");
}

static void impossible_plots_are_refused(void **state)
{
    (void)state;
    cw_error err;
    cw_buf out = cw_buf_new(1 << 20);
    cw_plot plot = {.title = "t", .x = {.label = "distance", .kind = CW_AXIS_LOG, .least = -1, .most = 2}};
    assert_fails(cw_plot_svg(&plot, &out, &err), CW_RANGE, &err, "\"distance\" cannot run from -1 to 2");
    plot = (cw_plot){.title = "t", .y = {.least = 3, .most = 3}};
    assert_fails(cw_plot_svg(&plot, &out, &err), CW_RANGE, &err, "from 3 to 3");
    plot = (cw_plot){.title = "t", .y = {.least = NAN, .most = 3}};
    assert_fails(cw_plot_svg(&plot, &out, &err), CW_RANGE, &err, "from nan to 3");
    plot = (cw_plot){.title = "t", .width_px = 90};
    assert_fails(cw_plot_svg(&plot, &out, &err), CW_RANGE, &err, "90 x 300 px");
    assert_fails(cw_plot_grid_svg("t", "s", &plot, 0, 2, &out, &err), CW_RANGE, &err, "0 plots");
    assert_fails(cw_plot_speed_errors(NULL, NULL, 0, &out, &err), CW_RANGE, &err, "no speed to plot");
    assert_int_equal(out.length, 0);
}

/* Whatever comes in, no figure that is none comes out, and what is not shown is counted. */
static void wild_numbers_leave_no_trace(void **state)
{
    (void)state;
    cw_error err;
    cw_buf out = cw_buf_new(1 << 20);
    const double x[] = {1, 2, NAN, 4, 5, INFINITY, 7}, y[] = {1, NAN, 3, -INFINITY, 1e300, 2, -5},
                 bar[] = {INFINITY, 1, 1, 1, NAN, -3, 1e308}, low[] = {NAN, 0, 0, 0, -1e300, 0, 0},
                 high[] = {1, 1, 1, 1, INFINITY, 1, 1};
    for (int kind = 0; kind < 4; kind++) {
        cw_plot_series s = {.name = "wild",
                            .count = 7,
                            .x = x,
                            .y = y,
                            .bar_x = bar,
                            .bar_y = bar,
                            .low = low,
                            .high = high,
                            .look = -7,
                            .line = true,
                            .markers = true};
        cw_plot plot = {.title = "wild",
                        .series = &s,
                        .series_count = 1,
                        .x = {.kind = (kind & 1) ? CW_AXIS_LOG : CW_AXIS_LINEAR},
                        .y = {.kind = (kind & 2) ? CW_AXIS_LOG : CW_AXIS_LINEAR},
                        .zones = (cw_plot_zone[]){{NAN, 1, 2, 3}, {-INFINITY, INFINITY, -1, 1}},
                        .zone_count = 2,
                        .rules = (cw_plot_rule[]){{true, NAN, "x"}, {false, INFINITY, "y"}},
                        .rule_count = 2};
        assert_ok(cw_plot_svg(&plot, &out, &err), &err);
        assert_null(strstr(out.text, "nan"));
        assert_null(strstr(out.text, "inf"));
        cw_buf_free(&out);
    }
    cw_plot_series s = {.count = 3, .x = (double[]){1, 2, 3}, .y = (double[]){1, 9, 3}, .markers = true};
    cw_plot plot = {.title = "cut", .series = &s, .series_count = 1, .y = {.least = 0, .most = 5}};
    assert_ok(cw_plot_svg(&plot, &out, &err), &err);
    assert_contains(out.text, ">1 point outside this part<");
    cw_buf_free(&out);
}

/* Height in px of the trace's lowest and highest point, read back from the picture. */
static void reach(const char *svg, double *top, double *foot)
{
    const char *at = strstr(svg, "stroke-linejoin=\"round\" d=\"M0 0");
    assert_non_null(at);
    at += strlen("stroke-linejoin=\"round\" d=\"M0 0");
    *top = INFINITY;
    *foot = -INFINITY;
    while (*at == 'M' || *at == 'L') {
        char *end;
        (void)strtod(at + 1, &end);
        double y = strtod(end, &end);
        *top = fmin(*top, y);
        *foot = fmax(*foot, y);
        at = end;
    }
}

static void one_spike_in_a_million_samples_is_seen(void **state)
{
    (void)state;
    enum { FRAMES = 1000003 };
    cw_error err;
    cw_buf out = cw_buf_new(4 << 20);
    float *samples = calloc(FRAMES, sizeof *samples);
    assert_non_null(samples);
    samples[777777] = 1.0f;
    samples[3] = NAN;
    cw_trace_channel channel = {
        .name = "sensor <1>", .samples = samples, .stride = 1, .dark = 0, .mid = 0.5, .full = 1};
    cw_trace trace = {.title = "spike",
                      .rate_hz = 192000,
                      .frames = FRAMES,
                      .channels = &channel,
                      .channel_count = 1,
                      .from_s = 0,
                      .to_s = FRAMES / 192000.0};
    double top, foot;
    assert_ok(cw_trace_svg(&trace, &out, &err), &err);
    reach(out.text, &top, &foot);
    assert_true(foot - top > 60); /* from the dark level to the full one, and not a stump */
    assert_true(out.length < 200000);
    assert_contains(out.text, "sensor &lt;1&gt;");
    assert_null(strstr(out.text, "nan"));
    cw_buf_free(&out);
    /* A part after the end of the recording is empty, not an error: a person may scroll there. */
    trace.from_s = 100;
    trace.to_s = 101;
    assert_ok(cw_trace_svg(&trace, &out, &err), &err);
    cw_buf_free(&out);
    trace.to_s = 100;
    assert_fails(cw_trace_svg(&trace, &out, &err), CW_RANGE, &err, "from 100 s to 100 s is empty");
    trace = (cw_trace){.title = "none", .from_s = 0, .to_s = 1};
    assert_fails(cw_trace_svg(&trace, &out, &err), CW_RANGE, &err, "0 channels");
    free(samples);
}

static void impossible_maps_are_refused(void **state)
{
    (void)state;
    cw_error err;
    cw_buf out = cw_buf_new(1 << 20);
    double one = NAN;
    cw_map map = {1, 1, &one, 36, 24, 0, 0, "EV"};
    assert_ok(cw_map_png(&map, 300, &out, &err), &err); /* nothing known is still a map */
    cw_buf_free(&out);
    map.height_mm = NAN;
    assert_fails(cw_map_png(&map, 300, &out, &err), CW_RANGE, &err, "36 x nan mm");
    map = (cw_map){0, 4, &one, 36, 24, 0, 0, "EV"};
    assert_fails(cw_map_png(&map, 300, &out, &err), CW_RANGE, &err, "0 x 4 cells");
    map = (cw_map){1, 1, &one, 36, 24, 2, 1, "EV"};
    assert_fails(cw_map_png(&map, 300, &out, &err), CW_RANGE, &err, "from 2 to 1");
}

CHECK_MAIN(cmocka_unit_test(series_stand_out_on_light_and_dark), cmocka_unit_test(the_map_grows_lighter_all_the_way),
           cmocka_unit_test(ticks_are_round), cmocka_unit_test(impossible_plots_are_refused),
           cmocka_unit_test(wild_numbers_leave_no_trace), cmocka_unit_test(one_spike_in_a_million_samples_is_seen),
           cmocka_unit_test(impossible_maps_are_refused))
