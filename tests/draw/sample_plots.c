/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writes one of each plot into a folder, for outside.py and the eye. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/file.h"
#include "draw/map.h"
#include "draw/plot.h"
#include "draw/plot_shutter.h"
#include "draw/trace.h"
#include "plot_data.h"

static plot_data before, after;

static void must(cw_status status, const cw_error *err)
{
    if (status == CW_OK)
        return;
    fprintf(stderr, "%s\n", err->text);
    exit(1);
}

static void save(const char *folder, const char *name, cw_buf *out)
{
    char path[4096];
    cw_error err;
    snprintf(path, sizeof path, "%s/%s", folder, name);
    must(cw_write_file(path, out->text, out->length, &err), &err);
    cw_buf_free(out);
}

static void shutter_plots(const char *folder)
{
    cw_error err;
    cw_buf out = cw_buf_new(8 << 20);
    plot_data_fill(&before, false);
    plot_data_fill(&after, true);
    must(cw_plot_speed_errors(&before.test, &after.test, 0, &out, &err), &err);
    save(folder, "speeds.svg", &out);
    must(cw_plot_speed_errors(&before.test, NULL, 330, &out, &err), &err);
    save(folder, "speeds-before.svg", &out);
    must(cw_plot_profiles(&before.test, 2, &out, &err), &err);
    save(folder, "profiles.svg", &out);
    must(cw_plot_profile_pair(&before.test, &after.test, 3, &out, &err), &err);
    save(folder, "profile-pair.svg", &out);
}

/* Focus blur on two logarithmic axes; rangefinder error with bars both ways; a meter with a gap in its row. */
static void general_plots(const char *folder)
{
    cw_error err;
    cw_buf out = cw_buf_new(8 << 20);
    double x[60], y[60], low[60], high[60];
    for (int i = 0; i < 60; i++) {
        x[i] = 0.5 * pow(10, i / 25.0);
        y[i] = 0.02 * (0.1 + fabs(1 / x[i] - 0.2)) * 40;
        low[i] = y[i] * 0.8;
        high[i] = y[i] * 1.25;
    }
    const double xs[] = {0.7, 1, 2, 5, 10, 30}, ys[] = {0.7, 0.9, 0.3, 0.12, 0.2, 0.25},
                 bx[] = {0.05, 0.05, 0.1, 0.3, 1, 4}, by[] = {0.1, 0.1, 0.05, 0.03, 0.15, NAN};
    const cw_plot_series series[] = {{.name = "blur on film, computed",
                                      .count = 60,
                                      .x = x,
                                      .y = y,
                                      .low = low,
                                      .high = high,
                                      .look = 0,
                                      .line = true},
                                     {.name = "measured (bars: k = 2)",
                                      .count = 6,
                                      .x = xs,
                                      .y = ys,
                                      .bar_x = bx,
                                      .bar_y = by,
                                      .look = 1,
                                      .markers = true}};
    cw_plot plot = {.title = "Blur by distance",
                    .x = {.label = "distance, m", .kind = CW_AXIS_LOG},
                    .y = {.label = "blur, mm", .kind = CW_AXIS_LOG},
                    .series = series,
                    .series_count = 2,
                    .rules = (cw_plot_rule[]){{true, 5, "focused at 5 m"}, {false, 0.03, "allowed 0.03 mm"}},
                    .rule_count = 2};
    must(cw_plot_svg(&plot, &out, &err), &err);
    save(folder, "blur.svg", &out);

    double ev[12], shown[6][12];
    cw_plot_series many[6];
    static const char *const names[] = {"as found", "new cell", "resistor 100 \xce\xa9", "resistor 220 \xce\xa9",
                                        "diode",    "final"};
    for (int k = 0; k < 6; k++) {
        for (int i = 0; i < 12; i++) {
            ev[i] = 4 + i;
            shown[k][i] = i == 5 && k == 2 ? NAN : (k - 2.5) * 0.3 + 0.02 * (i - 6) * k;
        }
        many[k] = (cw_plot_series){
            .name = names[k], .count = 12, .x = ev, .y = shown[k], .look = k, .line = true, .markers = true};
    }
    plot = (cw_plot){.title = "Meter error by light value",
                     .x = {.label = "light value, EV"},
                     .y = {.label = "error, EV"},
                     .series = many,
                     .series_count = 6,
                     .zones = &(cw_plot_zone){-INFINITY, INFINITY, -0.5, 0.5},
                     .zone_count = 1,
                     .zone_name = "allowed"};
    must(cw_plot_svg(&plot, &out, &err), &err);
    save(folder, "meter.svg", &out);
    plot = (cw_plot){.title = "Nothing", .x = {.label = "x"}, .y = {.label = "y"}};
    must(cw_plot_svg(&plot, &out, &err), &err);
    save(folder, "nothing.svg", &out);
}

static void traces(const char *folder)
{
    enum { FRAMES = 192000 };
    static float samples[3 * FRAMES];
    cw_error err;
    cw_buf out = cw_buf_new(8 << 20);
    for (int i = 0; i < FRAMES; i++) {
        for (int c = 0; c < 3; c++) {
            double t = i / 192000.0, open = 0.5 + 0.004 * c, close = open + 0.004,
                   light = 1 / (1 + exp(-(t - open) / 3e-5)) - 1 / (1 + exp(-(t - close) / 3e-5));
            samples[3 * i + c] = (float)(0.05 + 0.6 * light + 0.006 * sin(i * 1.7) + 0.004 * sin(i * 0.3 + c));
        }
    }
    cw_trace_channel channels[4] = {0};
    static cw_trace_instant instants[3][2];
    static const char *const names[] = {"sensor at 4 mm", "sensor at 18 mm", "sensor at 32 mm", "flash contact"};
    for (int c = 0; c < 3; c++) {
        instants[c][0] = (cw_trace_instant){0.5 + 0.004 * c, "opens"};
        instants[c][1] = (cw_trace_instant){0.504 + 0.004 * c, "closes"};
        channels[c] = (cw_trace_channel){names[c], samples + c, 3, NULL, 0, 0.05, 0.35, 0.65, instants[c], 2};
    }
    const cw_edge edges[] = {{0, 0}, {0.5035, 1}, {0.507, 0}};
    const cw_trace_instant contact = {0.5035, "contact"};
    channels[3] = (cw_trace_channel){names[3], NULL, 0, edges, 3, NAN, NAN, NAN, &contact, 1};
    cw_trace trace = {.title = "1/250 s, shot 2",
                      .start_s = 0,
                      .rate_hz = 192000,
                      .frames = FRAMES,
                      .channels = channels,
                      .channel_count = 4,
                      .from_s = 0.497,
                      .to_s = 0.515,
                      .zero_s = 0.5};
    must(cw_trace_svg(&trace, &out, &err), &err);
    save(folder, "trace.svg", &out);
    trace.from_s = 0;
    trace.to_s = 1;
    must(cw_trace_svg(&trace, &out, &err), &err);
    save(folder, "trace-whole.svg", &out);
    trace.from_s = 0.4998;
    trace.to_s = 0.5003;
    must(cw_trace_svg(&trace, &out, &err), &err);
    save(folder, "trace-near.svg", &out);
}

static void maps(const char *folder)
{
    cw_error err;
    cw_buf out = cw_buf_new(8 << 20);
    double values[12 * 8];
    for (int j = 0; j < 8; j++)
        for (int i = 0; i < 12; i++)
            values[j * 12 + i] = i == 3 && j == 2 ? NAN : 0.06 * i - 0.3 - 0.01 * (j - 4) * (j - 4);
    cw_map map = {12, 8, values, 36, 24, 0, 0, "exposure, EV"};
    must(cw_map_png(&map, 900, &out, &err), &err);
    save(folder, "map.png", &out);
}

int main(int argc, char **argv)
{
    if (argc != 2)
        return 2;
    shutter_plots(argv[1]);
    general_plots(argv[1]);
    traces(argv[1]);
    maps(argv[1]);
    return 0;
}
