/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/axis.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define MINUS "\xe2\x88\x92"

cw_scale cw_scale_begin(const cw_plot_axis *axis)
{
    return (cw_scale){.kind = axis->kind, .least = INFINITY, .most = -INFINITY};
}

void cw_scale_include(cw_scale *scale, double value)
{
    if (!isfinite(value) || (scale->kind == CW_AXIS_LOG && value <= 0))
        return;
    scale->least = fmin(scale->least, value);
    scale->most = fmax(scale->most, value);
    scale->found = true;
}

static void add_tick(cw_scale *scale, double at, const char *label)
{
    if (scale->tick_count == CW_TICKS_MOST || !cw_scale_shows(scale, at))
        return;
    cw_scale_tick *tick = &scale->ticks[scale->tick_count++];
    tick->at = at;
    snprintf(tick->label, sizeof tick->label, "%s", label);
}

/* Rounded to `decimals` with a real minus sign. */
static void fixed_label(double value, int decimals, char *out, size_t size)
{
    char digits[340];
    snprintf(digits, sizeof digits, "%.*f", decimals, fabs(value));
    bool zero = strspn(digits, "0.") == strlen(digits);
    snprintf(out, size, "%s%.28s", value < 0 && !zero ? MINUS : "", digits);
}

/* "10" with a raised exponent, after a factor other than one: "2 x 10^-6" in small figures. */
static void power_label(int factor, int exponent, char *out, size_t size)
{
    static const char *const raised[] = {"\xe2\x81\xb0", "\xc2\xb9",     "\xc2\xb2",     "\xc2\xb3",
                                         "\xe2\x81\xb4", "\xe2\x81\xb5", "\xe2\x81\xb6", "\xe2\x81\xb7",
                                         "\xe2\x81\xb8", "\xe2\x81\xb9"};
    char digits[16];
    snprintf(digits, sizeof digits, "%d", exponent < 0 ? -exponent : exponent);
    cw_buf text = cw_buf_new(CW_TICK_TEXT - 1);
    if (factor != 1)
        cw_buf_printf(&text, "%d\xc2\xb7", factor);
    cw_buf_text(&text, exponent < 0 ? "10\xe2\x81\xbb" : "10");
    for (const char *d = digits; *d != '\0'; d++)
        cw_buf_text(&text, raised[*d - '0']);
    snprintf(out, size, "%s", cw_buf_string(&text));
    cw_buf_free(&text);
}

/* Steps of 1, 2 or 5 times a power of ten. */
static void linear_ticks(cw_scale *scale, int wanted)
{
    double span = scale->most - scale->least, raw = span / wanted, decade = pow(10, floor(log10(raw)));
    double step = raw / decade <= 1   ? decade
                  : raw / decade <= 2 ? 2 * decade
                  : raw / decade <= 5 ? 5 * decade
                                      : 10 * decade;
    int decimals = (int)fmax(0, -floor(log10(step) + 1e-9));
    double first = ceil(scale->least / step - 1e-9);
    for (int i = 0; i < CW_TICKS_MOST && (first + i) * step <= scale->most + 1e-9 * step; i++) {
        double at = (first + i) * step;
        char label[CW_TICK_TEXT];
        if (decimals > 8 || fabs(scale->most) >= 1e9 || fabs(scale->least) >= 1e9)
            snprintf(label, sizeof label, "%s%.4g", at < 0 ? MINUS : "", fabs(at));
        else
            fixed_label(at, decimals, label, sizeof label);
        add_tick(scale, at, label);
    }
}

static void log_label(int factor, int exponent, char *out, size_t size)
{
    if (exponent >= -4 && exponent <= 4)
        fixed_label(factor * pow(10, exponent), exponent < 0 ? -exponent : 0, out, size);
    else
        power_label(factor, exponent, out, size);
}

static void log_ticks(cw_scale *scale, int wanted)
{
    double decades = log10(scale->most / scale->least);
    if (decades < 0.7) {
        linear_ticks(scale, wanted);
        return;
    }
    int every = (int)ceil(decades / 12);
    for (int e = (int)floor(log10(scale->least)); e <= (int)ceil(log10(scale->most)); e++) {
        for (int factor = 1; factor <= 9; factor++) {
            bool figures = factor == 1 ? e % every == 0
                                       : (decades < 3.2 && (factor == 2 || factor == 5)) ||
                                             (decades < 1.3 && (factor == 3 || factor == 7));
            char label[CW_TICK_TEXT] = "";
            if (figures)
                log_label(factor, e, label, sizeof label);
            if (figures || (every == 1 && decades < 6))
                add_tick(scale, factor * pow(10, e), label);
        }
    }
}

/* Room around the data, so that no marker sits on the frame; never across zero to the side where nothing is. */
static void widen(cw_scale *scale)
{
    if (!scale->found) {
        scale->least = scale->kind == CW_AXIS_LOG ? 0.1 : 0;
        scale->most = scale->kind == CW_AXIS_LOG ? 10 : 1;
        return;
    }
    if (scale->kind == CW_AXIS_LOG) {
        double factor = fmax(pow(scale->most / scale->least, 0.06), 1.05);
        if (scale->most / scale->least < 1.0001)
            factor = 1.5;
        scale->least = fmax(scale->least / factor, 1e-300);
        scale->most = fmin(scale->most * factor, 1e300);
        return;
    }
    double span = scale->most - scale->least, size = fmax(fabs(scale->least), fabs(scale->most));
    if (span <= 1e-9 * size)
        span = size > 0 ? 0.2 * size : 1;
    double least = scale->least - 0.06 * span, most = scale->most + 0.06 * span;
    if (scale->most - scale->least <= 1e-9 * size) {
        least = scale->least - span / 2;
        most = scale->most + span / 2;
    }
    scale->least = scale->least >= 0 && least < 0 ? 0 : least;
    scale->most = scale->most <= 0 && most > 0 ? 0 : most;
}

cw_status cw_scale_finish(cw_scale *scale, const cw_plot_axis *axis, int wanted, cw_error *err)
{
    if (axis->least == 0 && axis->most == 0) {
        widen(scale);
    } else {
        bool possible = isfinite(axis->least) && isfinite(axis->most) && axis->most > axis->least &&
                        (axis->kind == CW_AXIS_LINEAR || axis->least > 0);
        if (!possible)
            return cw_fail(err, CW_RANGE, "the plot's axis \"%s\" cannot run from %g to %g%s",
                           axis->label != NULL ? axis->label : "", axis->least, axis->most,
                           axis->kind == CW_AXIS_LOG ? "; a logarithmic axis needs positive ends" : "");
        scale->least = axis->least;
        scale->most = axis->most;
    }
    if (axis->ticks != NULL)
        for (size_t i = 0; i < axis->tick_count; i++)
            add_tick(scale, axis->ticks[i].at, axis->ticks[i].label);
    else if (axis->kind == CW_AXIS_LOG)
        log_ticks(scale, wanted);
    else
        linear_ticks(scale, wanted);
    return CW_OK;
}

double cw_scale_px(const cw_scale *scale, double value)
{
    static const double FARTHEST_PX = 1e5;
    if (isnan(value) || (scale->kind == CW_AXIS_LOG && value <= 0))
        return NAN;
    double share = scale->kind == CW_AXIS_LOG ? log(value / scale->least) / log(scale->most / scale->least)
                                              : (value - scale->least) / (scale->most - scale->least);
    double px = scale->from_px + share * (scale->to_px - scale->from_px);
    return fmax(-FARTHEST_PX, fmin(FARTHEST_PX, px));
}

bool cw_scale_shows(const cw_scale *scale, double value)
{
    double slack = scale->kind == CW_AXIS_LOG ? 1e-9 * scale->most : 1e-9 * (scale->most - scale->least);
    return value >= scale->least - slack && value <= scale->most + slack;
}
