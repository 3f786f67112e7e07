/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One shot on one channel: the light restored, its pulses found, their areas, levels and edges measured. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "base/extremes.h"
#include "base/stats.h"
#include "shutter/measure_lane.h"
#include "signal/edge.h"
#include "signal/hum.h"
#include "signal/pulse.h"

/* Light, and light again, of one shot. */
enum { PULSES_MOST = 64 };
/* Light below this part of the peak is not told from stray light. */
static const double DETECTED = 0.04;
/* A level of detection above this part of the peak leaves only the tips of the noise. */
static const double STANDS_OUT = 0.55;
/* Single samples are kept this far around the light. */
static const double EDGE_AROUND_S = 0.003;
/* A flat part is one at least this many times as long as the longer transition; from `SURELY` on nothing more is asked.
 */
static const double FLAT_LEAST = 1.5, FLAT_SURELY = 12;

/* Sums of the light and of the samples before each bin, if they are not there yet. */
static void add_sums(cw_lane *l, cw_lane_room *room)
{
    double *sum = room->sum, *frames = room->frames;
    if (l->sum != NULL)
        return;
    sum[0] = frames[0] = 0;
    for (size_t i = 0; i < l->count; i++) {
        sum[i + 1] = sum[i] + l->x[i] * l->trace->frames[i];
        frames[i + 1] = frames[i] + l->trace->frames[i];
    }
    l->sum = sum;
    l->frames = frames;
}

/* Mean of bins [first, end), at least one. */
static double mean_of_bins(const cw_lane *l, size_t first, size_t end)
{
    return (l->sum[end] - l->sum[first]) / (l->frames[end] - l->frames[first]);
}

static void smooth_over(cw_lane *l, double smooth_s, cw_lane_room *room)
{
    const double *at_s = l->trace->at_s, half = smooth_s / 2 + 1e-9 * l->interval_s;
    add_sums(l, room);
    for (size_t i = 0, first = 0, end = 0; i < l->count; i++) {
        while (at_s[first] < at_s[i] - half)
            first++;
        while (end < l->count && at_s[end] <= at_s[i] + half)
            end++;
        room->smooth[i] = mean_of_bins(l, first, end);
    }
    l->smooth = room->smooth;
    l->smooth_s = smooth_s;
}

static void find_highest(cw_lane *l)
{
    size_t pre_end = cw_trace_find(l->trace, l->pre_s), post = cw_trace_find(l->trace, l->post_s);
    l->highest = cw_most_of(post - pre_end, l->smooth + pre_end, -INFINITY);
}

/* Smooths just so much that noise stays well below the level of detection; never more than a tenth of a millisecond
 * or so would blur, unless the noise leaves no choice. */
static void smooth_enough(cw_lane *l, cw_lane_room *room)
{
    l->smooth = l->x;
    l->smooth_s = 0;
    find_highest(l);
    double wanted = DETECTED * 0.2 * l->highest;
    double samples = l->noise > wanted && wanted > 0 ? (l->noise / wanted) * (l->noise / wanted) : 1;
    /* five times what is left of the noise below a quarter of the light, or pulses fall apart */
    double light = fmax(l->highest - 3.5 * l->noise, 0.3 * l->highest), needed = l->noise / (0.05 * light);
    double most_s = fmax(fmax(60e-6, 3 * l->interval_s), fmin(needed * needed * l->interval_s, 1e-3));
    if (samples > 1.5) {
        smooth_over(l, fmin(samples * l->interval_s, most_s), room);
        find_highest(l);
    }
}

static double area_between(const cw_lane *l, double from_s, double to_s, double *moment, double *second)
{
    double area = 0, first_moment = 0, seconds = 0;
    const double *at_s = l->trace->at_s, *frames = l->trace->frames;
    size_t first = cw_trace_find(l->trace, from_s), end = cw_trace_find(l->trace, to_s);
#pragma omp simd reduction(+ : area, first_moment, seconds)
    for (size_t i = first; i < end; i++) {
        double part = l->x[i] * frames[i];
        area += part;
        first_moment += part * (at_s[i] - from_s);
        seconds += frames[i];
    }
    *moment = first_moment * l->interval_s;
    *second = seconds * l->interval_s;
    return area * l->interval_s;
}

/* Area and centroid, from `from_s` to `to_s`. Noise adds up as its square root, an error of rest in proportion. */
static void measure_area(const cw_lane *l, double from_s, double to_s, cw_pulse_found *p)
{
    double moment, seconds, area = area_between(l, from_s, to_s, &moment, &seconds);
    double one = l->noise * l->colour, u_rest = hypot(l->u_rest, l->hum_left);
    double u_noise = one * sqrt(l->interval_s * seconds);
    p->area = (cw_quantity){area, hypot(u_noise, u_rest * seconds)};
    p->area_noise = u_noise;
    double centre = area > 0 ? moment / area : NAN;
    /* d centroid = integral (t - c) dx dt / area: white noise over the stretch, and rest off to one side of c */
    double lever = seconds / 2 - centre;
    double spread = sqrt(seconds * seconds / 12 + lever * lever);
    p->centroid_s = (cw_quantity){from_s + centre, hypot(u_noise * spread, u_rest * seconds * fabs(lever)) / area};
}

/* Variance of the light about its centroid, over the same stretch. What noise and an error of rest do to it is that of
 * the integral of ((t - c)^2 - V) dx dt / area. */
static void measure_spread(const cw_lane *l, double from_s, double to_s, cw_pulse_found *p)
{
    const double *at_s = l->trace->at_s, *frames = l->trace->frames, centre_s = p->centroid_s.value;
    size_t first = cw_trace_find(l->trace, from_s), end = cw_trace_find(l->trace, to_s);
    double sum = 0, seconds = 0, squares = 0, fourths = 0;
    p->spread_s2 = (cw_quantity){NAN, NAN};
    if (!(p->area.value > 0))
        return;
    for (size_t i = first; i < end; i++) {
        double t = at_s[i] - centre_s, dt = frames[i] * l->interval_s;
        sum += l->x[i] * t * t * dt;
        seconds += dt;
        squares += t * t * dt;
        fourths += t * t * t * t * dt;
    }
    double v = sum / p->area.value, noise = l->noise * l->colour, u_rest = hypot(l->u_rest, l->hum_left);
    double u_noise = noise * sqrt(l->interval_s * fmax(fourths - 2 * v * squares + v * v * seconds, 0));
    p->spread_s2 = (cw_quantity){v, hypot(u_noise, u_rest * (squares - v * seconds)) / p->area.value};
}

static void fill_edge(const cw_lane *l, double from_s, double to_s, cw_edge_data *d)
{
    size_t first = cw_trace_find(l->trace, from_s), end = cw_trace_find(l->trace, to_s);
    *d = (cw_edge_data){
        .count = end > first ? end - first : 0,
        .at_s = l->trace->at_s + first,
        .frames = l->trace->frames + first,
        .value = l->x + first,
        .interval_s = l->interval_s,
        .noise = l->noise,
        .colour = l->colour,
    };
}

/* An edge between rest and the flat level. `rising`: from rest up. */
static bool fit_edge(const cw_lane *l, const cw_pulse_terms *t, const cw_pulse_found *p, bool rising, cw_edge_fit *fit)
{
    double duration = fmax(rising ? t->rise_s : t->fall_s, l->interval_s);
    double around = fmax(1.2 * duration, 8 * l->interval_s);
    double outer = rising ? fmax(t->rise10_s - around, p->alone_from_s) : fmin(t->fall10_s + around, p->alone_to_s);
    double inner = rising ? fmin(t->rise90_s + around, (t->rise90_s + t->fall90_s) / 2)
                          : fmax(t->fall90_s - around, (t->rise90_s + t->fall90_s) / 2);
    cw_edge_data d;
    fill_edge(l, rising ? outer : inner, rising ? inner : outer, &d);
    d.near_s = rising ? t->rise50_s : t->fall50_s;
    d.about_s = duration;
    cw_quantity rest = {0, hypot(fmax(l->u_rest, l->noise / 20), fabs(l->rest_error) / 2)}, full = p->level;
    full.u = hypot(full.u, 0.002 * full.value);
    d.before = rising ? rest : full;
    d.after = rising ? full : rest;
    cw_error ignored; /* a crossing by straight interpolation is still there, with its larger uncertainty */
    return cw_edge_find(&d, fit, &ignored) == CW_OK && fabs(fit->mid_s.value - d.near_s) < 2 * duration + l->interval_s;
}

/* Straight line through the samples between 30 and 70 % of the way; its crossing of the middle. */
static cw_quantity line_crossing(const cw_lane *l, double near_s, double span_s, double level, double height,
                                 double *slope)
{
    enum { POINTS_MOST = 512 };
    double at[POINTS_MOST], value[POINTS_MOST];
    size_t n = 0;
    double half = fmax(span_s / 2, 1.6 * l->interval_s);
    for (size_t i = cw_trace_find(l->trace, near_s - half);
         i < l->count && l->trace->at_s[i] <= near_s + half && n < POINTS_MOST; i++) {
        at[n] = l->trace->at_s[i] - near_s;
        value[n++] = l->x[i];
    }
    *slope = height / fmax(span_s, l->interval_s);
    cw_error
        ignored; /* too few samples: the interpolated crossing stands, with the whole interval as its uncertainty */
    cw_line line;
    double plain_u = hypot(l->noise * l->colour / *slope, l->interval_s / sqrt(12));
    if (n < 3 || cw_line_fit(n, at, value, 0, &line, &ignored) != CW_OK || !(fabs(line.slope.value) > 0.3 * *slope))
        return (cw_quantity){near_s, plain_u};
    *slope = fabs(line.slope.value);
    double moved = (level - line.at_x0.value) / line.slope.value;
    double u_level = fmax(l->noise * l->colour, line.residual_sd) / sqrt((double)n);
    if (fabs(moved) > half)
        return (cw_quantity){near_s, plain_u};
    return (cw_quantity){near_s + moved, hypot(u_level / *slope, l->interval_s * 0.02)};
}

/* Mean of the flat part, and from the scatter of its eighths what a level is worth. */
static cw_quantity flat_level(const cw_lane *l, double from_s, double to_s)
{
    enum { PARTS = 8 };
    double all = 0, frames = 0, sum = 0, squares = 0, step = (to_s - from_s) / PARTS;
    size_t n = 0, first = cw_trace_find(l->trace, from_s);
    for (size_t k = 1; k <= PARTS; k++) {
        size_t end = cw_trace_find(l->trace, k < PARTS ? from_s + (double)k * step : to_s);
        double in_part, of_part = cw_lane_sum(l, first, end, &in_part), mean = of_part / in_part;
        first = end;
        if (!(in_part > 0))
            continue;
        all += of_part;
        frames += in_part;
        sum += mean;
        squares += mean * mean;
        n++;
    }
    double scatter = n > 1 ? sqrt(fmax(squares - sum * sum / (double)n, 0) / (double)(n - 1) / (double)n) : 0;
    double u_noise = l->noise * l->colour / sqrt(fmax(frames, 1));
    return (cw_quantity){frames > 0 ? all / frames : NAN, hypot(fmax(scatter, u_noise), l->u_digit)};
}

/* Lamp flicker on a flat part long enough to show two periods. */
static void find_flicker(const cw_lane *l, double from_s, double to_s, cw_pulse_found *p)
{
    static const double lamp_hz[] = {100, 120};
    enum { VALUES_MOST = 400 };
    double at[VALUES_MOST], value[VALUES_MOST], weight[VALUES_MOST], step = 0.7e-3;
    size_t n = 0;
    if (to_s - from_s < 0.02)
        return;
    for (size_t i = cw_trace_find(l->trace, from_s); i < l->count && l->trace->at_s[i] < to_s && n < VALUES_MOST;) {
        double start = l->trace->at_s[i], sum = 0, time = 0, frames = 0;
        while (i < l->count && l->trace->at_s[i] < fmin(start + step, to_s)) {
            sum += l->x[i] * l->trace->frames[i];
            time += l->trace->at_s[i] * l->trace->frames[i];
            frames += l->trace->frames[i];
            i++;
        }
        at[n] = time / frames;
        value[n] = sum / frames;
        weight[n++] = 1;
    }
    cw_hum hum;
    cw_error ignored; /* too short a flat part has no flicker to show */
    if (cw_hum_find(n, at, value, weight, CW_COUNT(lamp_hz), lamp_hz, &hum, &ignored) != CW_OK)
        return;
    if (hum.hz > 0 && hum.amplitude > 0.002 * p->level.value) {
        p->flicker_hz = hum.hz;
        p->flicker = hum.amplitude / p->level.value;
    }
}

static bool take_flat(const cw_lane *l, const cw_pulse_terms *t, double highest, double level, cw_pulse_found *p)
{
    double longer = fmax(t->rise_s, t->fall_s), in_flat = t->flat_s / l->interval_s;
    if (t->flat_s < FLAT_LEAST * longer || in_flat < 6)
        return false;
    /* a rounded pulse has no level: its top stands above what the histogram takes for one */
    double smoothed_noise = l->noise * l->colour / sqrt(fmax(l->smooth_s / l->interval_s, 1));
    if (t->flat_s < FLAT_SURELY * longer && highest - level > 0.06 * level + 5 * smoothed_noise)
        return false;
    double inset = fmin(0.6 * longer, 0.3 * t->flat_s);
    double from_s = t->rise90_s + inset, to_s = t->fall90_s - inset;
    p->level = flat_level(l, from_s, to_s);
    if (!(p->level.value > 0))
        return false;
    p->is_flat = true;
    find_flicker(l, from_s, to_s, p);
    return true;
}

static double highest_smooth(const cw_lane *l, double from_s, double to_s)
{
    size_t first = cw_trace_find(l->trace, from_s), end = cw_trace_find(l->trace, to_s);
    end += end < l->count && l->trace->at_s[end] == to_s;
    return cw_most_of(end - first, l->smooth + first, 0);
}

static void measure_edges(const cw_lane *l, const cw_pulse_terms *t, cw_pulse_found *p)
{
    cw_edge_fit open, close;
    p->rise_s = t->rise_s;
    p->fall_s = t->fall_s;
    double half = (p->is_flat ? p->level.value : p->peak) / 2;
    p->open_s = line_crossing(l, t->rise50_s, 0.5 * t->rise_s, half, half, &p->open_slope);
    p->close_s = line_crossing(l, t->fall50_s, 0.5 * t->fall_s, half, half, &p->close_slope);
    if (p->is_flat && fit_edge(l, t, p, true, &open) && fit_edge(l, t, p, false, &close)) {
        /* where no family describes the edge, what the samples at the crossing say counts too */
        double beyond = fmax(open.misfit, 1) - 1, off_open = open.mid_s.value - p->open_s.value,
               off_close = close.mid_s.value - p->close_s.value;
        open.mid_s.u = hypot(open.mid_s.u, beyond > 1 ? off_open / 2 : 0);
        beyond = fmax(close.misfit, 1) - 1;
        close.mid_s.u = hypot(close.mid_s.u, beyond > 1 ? off_close / 2 : 0);
        p->open_s = open.mid_s;
        p->close_s = close.mid_s;
        p->rise_s = open.duration_s;
        p->fall_s = close.duration_s;
    }
    if (l->u_digit > 0) { /* the same in every sample of a level, so that many of them tell no more */
        p->open_s.u = hypot(p->open_s.u, l->u_digit / p->open_slope);
        p->close_s.u = hypot(p->close_s.u, l->u_digit / p->close_slope);
    }
    /* first and last light: the 10 to 90 % flanks drawn on to 0 %, an eighth of their length further */
    p->total_s = (t->fall10_s + p->fall_s / 8) - (t->rise10_s - p->rise_s / 8);
}

/* Levels and edges of the pulse between on and off. False when it is cut or has no clear flanks. */
static bool measure_shape(const cw_lane *l, cw_pulse_found *p)
{
    double guard = fmax(8 * l->interval_s, fmin(0.5 * (p->off_s - p->on_s), 0.002));
    size_t first = cw_trace_find(l->trace, fmax(p->on_s - guard, p->alone_from_s)),
           end = cw_trace_find(l->trace, fmin(p->off_s + guard, p->alone_to_s));
    size_t on = cw_trace_find(l->trace, p->on_s), off = cw_trace_find(l->trace, p->off_s);
    cw_error ignored; /* no two levels, or no whole pulse: the area is still measured */
    cw_states states = {0, p->peak};
    p->peak = highest_smooth(l, p->on_s, p->off_s);
    states.high = p->peak;
    cw_pulse_terms t;
    if (off > on && cw_state_levels(off - on, l->smooth + on, l->trace->frames + on, &states, &ignored) != CW_OK)
        states.high = p->peak;
    states.low = 0;
    if (cw_pulse_measure(end - first, l->trace->at_s + first, l->smooth + first, &states, &t, &ignored) == CW_OK &&
        take_flat(l, &t, p->peak, states.high, p)) {
        states.high = p->level.value;
        p->is_flat =
            cw_pulse_measure(end - first, l->trace->at_s + first, l->smooth + first, &states, &t, &ignored) == CW_OK;
    }
    if (!p->is_flat) {
        states.high = p->peak;
        if (cw_pulse_measure(end - first, l->trace->at_s + first, l->smooth + first, &states, &t, &ignored) != CW_OK)
            return false;
    }
    p->flat_s = t.flat_s;
    measure_edges(l, &t, p);
    return true;
}

/* Light above the level of detection, from bin *at on. */
static bool next_pulse(const cw_lane *l, size_t *at, double level, cw_pulse_found *p)
{
    size_t i = *at;
    while (i < l->count && l->smooth[i] < level)
        i++;
    if (i >= l->count)
        return false;
    size_t first = i, last = i;
    /* gone when it stays below half the level for longer than noise would take it there */
    double gone_s = fmax(4 * l->interval_s, 30e-6), below_s = 0;
    for (; i < l->count && below_s <= gone_s; i++) {
        bool lit = l->smooth[i] >= level / 2;
        below_s = lit ? 0 : below_s + l->trace->frames[i] * l->interval_s;
        last = lit ? i : last;
    }
    *at = last + 1;
    *p = (cw_pulse_found){.on_s = l->trace->at_s[first], .off_s = l->trace->at_s[last], .peak = 0};
    return true;
}

/* Is it light, or is it noise, hum, crosstalk of a step? */
static bool is_light(const cw_lane *l, const cw_pulse_found *p)
{
    double moment, seconds;
    double area = area_between(l, p->on_s - l->interval_s, p->off_s + l->interval_s, &moment, &seconds);
    return area > 6 * l->noise * l->colour * sqrt(l->interval_s * seconds) && seconds > 2.5 * l->interval_s;
}

/* The shot is the first light of some size: whatever the second curtain or the blades let in again comes behind it, and
 * is often more than a fast exposure (a curtain thrown back stands open for 20 ms and more, fifty times 1/1000 s, so
 * light as bright as that counts however short). Smaller light before it is a leak. */
static size_t the_shot(const cw_lane *l, const cw_pulse_found *all, size_t n)
{
    const double of_peak = 0.25, bright = 0.5, of_area = 0.1, of_area_bright = 0.01;
    double peak[PULSES_MOST], highest = 0, largest = 0;
    for (size_t k = 0; k < n; k++) {
        peak[k] = highest_smooth(l, all[k].on_s, all[k].off_s);
        highest = fmax(highest, peak[k]);
        largest = fmax(largest, all[k].area.value);
    }
    size_t first = 0;
    while (first + 1 < n &&
           (peak[first] < of_peak * highest ||
            all[first].area.value < (peak[first] < bright * highest ? of_area : of_area_bright) * largest))
        first++;
    return first;
}

/* Where blades that fell back open again, faintly and at once, right behind the shot: from the darkest moment after it
 * to where that light is gone. Means over a fifth of a millisecond, less than a bounce lasts, show light far below the
 * level of detection. False when there is none. */
static bool find_faint_bounce(const cw_lane *l, const cw_pulse_found *shot, double behind_s, cw_pulse_found *p)
{
    const double window_s = 0.2e-3, look_s = 8e-3, faintest = 0.003;
    double n = fmax(window_s / l->interval_s, 1), noise = l->noise * l->colour / sqrt(n);
    double clear = fmax(faintest * l->highest, 7 * noise) + 2 * l->hum_left + 3 * l->wander;
    double darkest = INFINITY, darkest_s = NAN, brightest = 0, end_s = fmin(shot->off_s + look_s, behind_s);
    size_t first = cw_trace_find(l->trace, shot->off_s), end = first;
    bool again = false, gone = false;
    for (; first < l->count && l->trace->at_s[first] + window_s < end_s && !gone; first++) {
        while (end < l->count && l->trace->at_s[end] < l->trace->at_s[first] + window_s)
            end++;
        double middle_s = l->trace->at_s[first] + window_s / 2;
        double mean = mean_of_bins(l, first, end);
        if (!again && mean < darkest) {
            darkest = mean;
            darkest_s = middle_s;
        }
        again = again || mean > darkest + clear;
        brightest = again ? fmax(brightest, mean) : 0;
        gone = again && mean < darkest + fmax(0.1 * (brightest - darkest), clear / 4);
        if (again)
            p->off_s = middle_s;
    }
    p->on_s = darkest_s;
    return again && darkest < DETECTED / 2 * l->highest;
}

/* Blades' bounces overlap the time in which the last light of the shot is gathered, so their light counted as the
 * shot's. */
static void split_faint_bounces(const cw_lane *l, cw_lane_found *found)
{
    cw_pulse_found *shot = &found->pulses[0], bounce = {.peak = 0};
    double behind_s = found->pulse_count > 1 ? found->pulses[1].on_s : INFINITY;
    double gathered_s = fmax(0.3e-3, fmin(0.5 * (shot->off_s - shot->on_s), 3e-3));
    if (!find_faint_bounce(l, shot, behind_s, &bounce))
        return;
    bounce.alone_from_s = bounce.on_s;
    bounce.alone_to_s = shot->alone_to_s;
    measure_area(l, bounce.on_s, fmin(bounce.off_s + 0.3e-3, bounce.alone_to_s), &bounce);
    if (bounce.area.value < 6 * bounce.area_noise || found->pulse_count == CW_COUNT(found->pulses))
        return;
    shot->alone_to_s = bounce.on_s;
    measure_area(l, fmax(shot->on_s - gathered_s, shot->alone_from_s), fmin(shot->off_s + gathered_s, bounce.on_s),
                 shot);
    for (size_t k = found->pulse_count++; k > 1; k--)
        found->pulses[k] = found->pulses[k - 1];
    found->pulses[1] = bounce;
}

static void find_pulses(const cw_lane *l, bool leaf, cw_lane_found *found)
{
    cw_pulse_found all[PULSES_MOST];
    size_t n = 0, at = cw_trace_find(l->trace, l->pre_s);
    double smoothed = l->noise * l->colour / sqrt(fmax(l->smooth_s / l->interval_s, 1));
    double level = fmax(DETECTED * l->highest, 5 * smoothed + 2 * l->hum_left + 3 * l->wander);
    found->broken = 5 * smoothed + 3 * l->wander > STANDS_OUT * l->highest;
    while (n < PULSES_MOST && next_pulse(l, &at, level, &all[n]))
        if (all[n].on_s < l->post_s && is_light(l, &all[n]))
            n++;
    if (n == 0)
        return;
    for (size_t k = 0; k < n; k++) {
        cw_pulse_found *p = &all[k];
        p->alone_from_s = k > 0 ? (all[k - 1].off_s + p->on_s) / 2 : -INFINITY;
        p->alone_to_s = k + 1 < n ? (p->off_s + all[k + 1].on_s) / 2 : INFINITY;
        double margin = fmax(0.3e-3, fmin(0.5 * (p->off_s - p->on_s), 3e-3));
        double from_s = fmax(p->on_s - margin, p->alone_from_s), to_s = fmin(p->off_s + margin, p->alone_to_s);
        measure_area(l, from_s, to_s, p);
        measure_spread(l, from_s, to_s, p);
    }
    size_t main = the_shot(l, all, n);
    found->seen = true;
    found->more_before = main > 0;
    found->pulses[found->pulse_count++] = all[main];
    for (size_t k = main + 1; k < n && found->pulse_count < CW_COUNT(found->pulses); k++)
        found->pulses[found->pulse_count++] = all[k];
    if (leaf)
        split_faint_bounces(l, found);
    bool whole = measure_shape(l, &found->pulses[0]);
    if (!whole)
        found->pulses[0].open_s = found->pulses[0].close_s = (cw_quantity){NAN, NAN};
    for (size_t k = 1; k < found->pulse_count; k++)
        found->pulses[k].peak = highest_smooth(l, found->pulses[k].on_s, found->pulses[k].off_s);
}

static cw_status make_room(cw_lane_room *room, cw_error *err)
{
    size_t need = room->own.count + 1;
    if (need <= room->count)
        return CW_OK;
    double **arrays[] = {&room->smooth, &room->sum, &room->frames};
    for (size_t i = 0; i < CW_COUNT(arrays); i++) {
        size_t capacity = room->count;
        CW_TRY(cw_grow(arrays[i], &capacity, need, sizeof **arrays[i], SIZE_MAX, "samples in one shot", err));
        if (i + 1 == CW_COUNT(arrays))
            room->count = capacity;
    }
    return CW_OK;
}

void cw_lane_room_free(cw_lane_room *room)
{
    cw_trace_free(&room->all);
    cw_trace_free(&room->own);
    free(room->smooth);
    free(room->sum);
    free(room->frames);
    *room = (cw_lane_room){.count = 0};
}

cw_status cw_measure_lane(cw_measuring *m, size_t channel, double from_s, double to_s, double before,
                          cw_lane_found *found, cw_error *err)
{
    const cw_trace *all = &m->room.all;
    cw_trace *own = &m->room.own;
    CW_TRY(cw_trace_condense(all, channel, from_s - EDGE_AROUND_S, to_s + EDGE_AROUND_S, 0.5e-3, own, err));
    CW_TRY(make_room(&m->room, err));
    cw_lane l = {.trace = own, .count = own->count, .x = own->value[0], .interval_s = own->interval_s, .colour = 1};
    CW_TRY(cw_lane_rest(m, all, channel, from_s, to_s, before, &l, found, err));
    smooth_enough(&l, &m->room);
    bool leaf = m->setup.kind == CW_SHUTTER_LEAF;
    if (leaf)
        add_sums(&l, &m->room);
    if (l.highest > 0)
        find_pulses(&l, leaf, found);
    if (found->seen) {
        const cw_pulse_found *p = &found->pulses[0];
        found->cut_start = p->on_s <= all->at_s[0] + 2 * l.interval_s;
        found->cut_end = p->off_s >= all->at_s[all->count - 1] - 2 * l.interval_s;
    }
    return CW_OK;
}
