/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One shot on one channel: the light restored, its pulses found, their areas, levels and edges measured. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/stats.h"
#include "shutter/measure_parts.h"
#include "signal/edge.h"
#include "signal/hum.h"
#include "signal/pulse.h"

/* Light below this part of the peak is not told from stray light. */
static const double DETECTED = 0.04;
/* Rest is taken from this far before and after anything restless. */
static const double REST_GUARD_S = 0.004;
/* Single samples are kept this far around the light. */
static const double EDGE_AROUND_S = 0.003;
/* A flat part is one at least this many times as long as the longer transition; from `SURELY` on nothing more is asked.
 */
static const double FLAT_LEAST = 1.5, FLAT_SURELY = 12;

/* The light on one channel, in the bins of the trace. */
typedef struct {
    const cw_trace *trace; /* of this channel alone, its single samples near its own edges only */
    size_t count;
    double *x;      /* above rest, light positive */
    double *smooth; /* x averaged over `smooth_s` */
    double *sum;    /* of x * frames before each bin; count + 1 long */
    double *frames; /* the same of frames */
    double smooth_s, interval_s;
    double noise, colour; /* sd of one sample; how much worse means of many are */
    bool is_noisy;        /* noise moves the last digit of the recorder, and more */
    double u_digit;       /* of any level, from the last digit of the recorder */
    double u_rest;        /* of the level of rest */
    double rest_error;    /* rest after less rest before */
    double pre_s, post_s; /* rest ends here, and begins again */
    double highest;       /* of smooth */
} lane;

static void lane_free(lane *l)
{
    free(l->x);
    free(l->smooth);
    free(l->sum);
    free(l->frames);
}

static cw_status lane_new(const cw_trace *trace, lane *l, cw_error *err)
{
    size_t n = trace->count;
    *l = (lane){.trace = trace, .count = n, .interval_s = trace->interval_s, .colour = 1};
    l->x = malloc(n * sizeof *l->x);
    l->smooth = malloc(n * sizeof *l->smooth);
    l->sum = malloc((n + 1) * sizeof *l->sum);
    l->frames = malloc((n + 1) * sizeof *l->frames);
    if (l->x == NULL || l->smooth == NULL || l->sum == NULL || l->frames == NULL) {
        lane_free(l);
        return cw_fail(err, CW_MEMORY, "no memory for a shot of %zu samples", n);
    }
    return CW_OK;
}

/* Light positive and, behind an AC-coupled input, restored: x = y + (1/tau) integral y dt. */
static void restore(lane *l, const cw_channel_state *state, double before)
{
    double integral = 0, rate = state->rate.value, sign = state->polarity < 0 ? -1 : 1;
    for (size_t i = 0; i < l->count; i++) {
        double y = l->trace->value[0][i] - before, step = y * l->trace->frames[i] * l->interval_s;
        l->x[i] = sign * (y + rate * (integral + step / 2));
        integral += step;
    }
}

static double mean_between(const lane *l, double from_s, double to_s, double *frames)
{
    double sum = 0, n = 0;
    for (size_t i = cw_trace_find(l->trace, from_s); i < l->count && l->trace->at_s[i] < to_s; i++) {
        sum += l->x[i] * l->trace->frames[i];
        n += l->trace->frames[i];
    }
    *frames = n;
    return n > 0 ? sum / n : NAN;
}

/* Rest before and after, joined by a straight line. */
static void level_rest(lane *l)
{
    double n_pre = 0, n_post = 0, pre = mean_between(l, -INFINITY, l->pre_s, &n_pre),
           post = mean_between(l, l->post_s, INFINITY, &n_post);
    if (!isfinite(pre) && !isfinite(post))
        return;
    double first = isfinite(pre) ? pre : post, last = isfinite(post) ? post : pre;
    l->rest_error = last - first;
    for (size_t i = 0; i < l->count; i++) {
        double way = (l->trace->at_s[i] - l->pre_s) / (l->post_s - l->pre_s);
        way = way < 0 ? 0 : way > 1 ? 1 : way;
        l->x[i] -= first + (last - first) * way;
    }
}

/* Mains hum from rest, before and after, taken out of the whole stretch when it is short enough to be followed. */
static cw_status remove_hum(lane *l, cw_lane_found *found, cw_error *err)
{
    static const double mains_hz[] = {50, 60};
    enum { VALUES_MOST = 1024 };
    const double followed_s = 0.5;
    double at[VALUES_MOST], value[VALUES_MOST], weight[VALUES_MOST];
    size_t n = 0;
    for (size_t i = 0; i < l->count;) {
        double t = l->trace->at_s[i];
        if (t >= l->pre_s && t < l->post_s) {
            i++;
            continue;
        }
        /* single samples are gathered to half a millisecond: hum is slow */
        double sum = 0, time = 0, frames = 0;
        while (i < l->count && (frames == 0 || l->trace->at_s[i] - t < 0.5e-3) &&
               !(l->trace->at_s[i] >= l->pre_s && l->trace->at_s[i] < l->post_s)) {
            sum += l->x[i] * l->trace->frames[i];
            time += l->trace->at_s[i] * l->trace->frames[i];
            frames += l->trace->frames[i];
            i++;
        }
        if (n == VALUES_MOST)
            break;
        at[n] = time / frames;
        value[n] = sum / frames;
        weight[n++] = frames;
    }
    if (n < 8 || at[n - 1] - at[0] < 0.02)
        return CW_OK;
    cw_hum hum;
    CW_TRY(cw_hum_find(n, at, value, weight, 0, mains_hz, &hum, err));
    /* where the noise of the samples already explains the scatter there is no hum worth taking out */
    if (!(hum.plain_sd < 1.05 * l->noise))
        CW_TRY(cw_hum_find(n, at, value, weight, CW_COUNT(mains_hz), mains_hz, &hum, err));
    if (isfinite(l->noise) && l->noise > 0)
        l->colour = fmax(1, hum.residual_sd / l->noise);
    if (hum.hz > 0 && hum.amplitude > 0.5 * l->noise) {
        found->hum_hz = hum.hz;
        found->hum = hum.amplitude;
        if (at[n - 1] - at[0] < followed_s)
            for (size_t i = 0; i < l->count; i++)
                l->x[i] -= cw_hum_at(&hum, l->trace->at_s[i]);
    }
    return CW_OK;
}

static void add_sums(lane *l)
{
    l->sum[0] = l->frames[0] = 0;
    for (size_t i = 0; i < l->count; i++) {
        l->sum[i + 1] = l->sum[i] + l->x[i] * l->trace->frames[i];
        l->frames[i + 1] = l->frames[i] + l->trace->frames[i];
    }
}

static void smooth_over(lane *l, double smooth_s)
{
    size_t first = 0, end = 0;
    l->smooth_s = smooth_s;
    l->highest = -INFINITY;
    for (size_t i = 0; i < l->count; i++) {
        double t = l->trace->at_s[i], half = smooth_s / 2 + 1e-9 * l->interval_s;
        while (l->trace->at_s[first] < t - half)
            first++;
        while (end < l->count && l->trace->at_s[end] <= t + half)
            end++;
        l->smooth[i] = (l->sum[end] - l->sum[first]) / (l->frames[end] - l->frames[first]);
        if (t >= l->pre_s && t < l->post_s && l->smooth[i] > l->highest)
            l->highest = l->smooth[i];
    }
}

/* Smooths just so much that noise stays well below the level of detection; never more than a tenth of a millisecond
 * or so would blur, unless the noise leaves no choice. */
static void smooth_enough(lane *l)
{
    smooth_over(l, 0);
    double wanted = DETECTED * 0.2 * l->highest;
    double samples = l->noise > wanted && wanted > 0 ? (l->noise / wanted) * (l->noise / wanted) : 1;
    /* five times what is left of the noise below a quarter of the light, or pulses fall apart */
    double light = fmax(l->highest - 3.5 * l->noise, 0.3 * l->highest), needed = l->noise / (0.05 * light);
    double most_s = fmax(fmax(60e-6, 3 * l->interval_s), fmin(needed * needed * l->interval_s, 1e-3));
    if (samples > 1.5)
        smooth_over(l, fmin(samples * l->interval_s, most_s));
}

static double area_between(const lane *l, double from_s, double to_s, double *moment, double *second)
{
    double area = 0, first_moment = 0, seconds = 0;
    for (size_t i = cw_trace_find(l->trace, from_s); i < l->count && l->trace->at_s[i] < to_s; i++) {
        double part = l->x[i] * l->trace->frames[i] * l->interval_s;
        area += part;
        first_moment += part * (l->trace->at_s[i] - from_s);
        seconds += l->trace->frames[i] * l->interval_s;
    }
    *moment = first_moment;
    *second = seconds;
    return area;
}

/* Area and centroid, from `from_s` to `to_s`. Noise adds up as its square root, an error of rest in proportion. */
static void measure_area(const lane *l, double from_s, double to_s, double hum_left, cw_pulse_found *p)
{
    double moment, seconds, area = area_between(l, from_s, to_s, &moment, &seconds);
    double one = l->noise * l->colour, u_rest = hypot(l->u_rest, hum_left);
    double u_noise = one * sqrt(l->interval_s * seconds);
    p->area = (cw_quantity){area, hypot(u_noise, u_rest * seconds)};
    p->area_noise = u_noise;
    double centre = area > 0 ? moment / area : NAN;
    /* d centroid = integral (t - c) dx dt / area: white noise over the stretch, and rest off to one side of c */
    double lever = seconds / 2 - centre;
    double spread = sqrt(seconds * seconds / 12 + lever * lever);
    p->centroid_s = (cw_quantity){from_s + centre, hypot(u_noise * spread, u_rest * seconds * fabs(lever)) / area};
}

static void fill_edge(const lane *l, double from_s, double to_s, cw_edge_data *d)
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
static bool fit_edge(const lane *l, const cw_pulse_terms *t, const cw_pulse_found *p, bool rising, cw_edge_fit *fit)
{
    double duration = fmax(rising ? t->rise_s : t->fall_s, l->interval_s);
    double around = fmax(1.2 * duration, 8 * l->interval_s);
    double outer = rising ? t->rise10_s - around : t->fall10_s + around;
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
static cw_quantity line_crossing(const lane *l, double near_s, double span_s, double level, double height,
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
static cw_quantity flat_level(const lane *l, double from_s, double to_s)
{
    enum { PARTS = 8 };
    double sum = 0, squares = 0, frames = 0, all = mean_between(l, from_s, to_s, &frames);
    size_t n = 0;
    for (size_t k = 0; k < PARTS; k++) {
        double in_part, step = (to_s - from_s) / PARTS,
                        mean = mean_between(l, from_s + (double)k * step, from_s + (double)(k + 1) * step, &in_part);
        if (in_part > 0) {
            sum += mean;
            squares += mean * mean;
            n++;
        }
    }
    double scatter = n > 1 ? sqrt(fmax(squares - sum * sum / (double)n, 0) / (double)(n - 1) / (double)n) : 0;
    return (cw_quantity){all, hypot(fmax(scatter, l->noise * l->colour / sqrt(fmax(frames, 1))), l->u_digit)};
}

/* Lamp flicker on a flat part long enough to show two periods. */
static void find_flicker(const lane *l, double from_s, double to_s, cw_pulse_found *p)
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

static bool take_flat(const lane *l, const cw_pulse_terms *t, double highest, double level, cw_pulse_found *p)
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

static double highest_smooth(const lane *l, double from_s, double to_s)
{
    double highest = 0;
    for (size_t i = cw_trace_find(l->trace, from_s); i < l->count && l->trace->at_s[i] <= to_s; i++)
        highest = l->smooth[i] > highest ? l->smooth[i] : highest;
    return highest;
}

static void measure_edges(const lane *l, const cw_pulse_terms *t, cw_pulse_found *p)
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
    /* first and last light: the 10 to 90 % flanks drawn on to 0 %, an eighth of their length further */
    p->total_s = (t->fall10_s + p->fall_s / 8) - (t->rise10_s - p->rise_s / 8);
}

/* Levels and edges of the pulse between on and off. False when it is cut or has no clear flanks. */
static bool measure_shape(const lane *l, cw_pulse_found *p)
{
    double guard = fmax(8 * l->interval_s, fmin(0.5 * (p->off_s - p->on_s), 0.002));
    size_t first = cw_trace_find(l->trace, p->on_s - guard), end = cw_trace_find(l->trace, p->off_s + guard);
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
static bool next_pulse(const lane *l, size_t *at, double level, cw_pulse_found *p)
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
static bool is_light(const lane *l, const cw_pulse_found *p)
{
    double moment, seconds;
    double area = area_between(l, p->on_s - l->interval_s, p->off_s + l->interval_s, &moment, &seconds);
    return area > 6 * l->noise * l->colour * sqrt(l->interval_s * seconds) && seconds > 2.5 * l->interval_s;
}

static cw_status find_pulses(const lane *l, double hum_left, cw_lane_found *found, cw_error *err)
{
    enum { FOUND_MOST = 64 };
    cw_pulse_found all[FOUND_MOST];
    size_t n = 0, main = 0, at = cw_trace_find(l->trace, l->pre_s);
    double smoothed = l->noise * l->colour / sqrt(fmax(l->smooth_s / l->interval_s, 1));
    double level = fmax(DETECTED * l->highest, 5 * smoothed + 2 * hum_left);
    while (n < FOUND_MOST && next_pulse(l, &at, level, &all[n]))
        if (all[n].on_s < l->post_s && is_light(l, &all[n]))
            n++;
    if (n == 0)
        return CW_OK;
    for (size_t k = 0; k < n; k++) {
        double gap_before = k > 0 ? (all[k].on_s - all[k - 1].off_s) / 2 : INFINITY;
        double gap_after = k + 1 < n ? (all[k + 1].on_s - all[k].off_s) / 2 : INFINITY;
        double length = all[k].off_s - all[k].on_s, margin = fmax(0.3e-3, fmin(0.5 * length, 3e-3));
        measure_area(l, all[k].on_s - fmin(margin, gap_before), all[k].off_s + fmin(margin, gap_after), hum_left,
                     &all[k]);
        if (all[k].area.value > all[main].area.value)
            main = k;
    }
    (void)err;
    found->seen = true;
    found->more_before = main > 0;
    found->pulses[found->pulse_count++] = all[main];
    for (size_t k = main + 1; k < n && found->pulse_count < CW_COUNT(found->pulses); k++)
        found->pulses[found->pulse_count++] = all[k];
    bool whole = measure_shape(l, &found->pulses[0]);
    if (!whole)
        found->pulses[0].open_s = found->pulses[0].close_s = (cw_quantity){NAN, NAN};
    for (size_t k = 1; k < found->pulse_count; k++)
        found->pulses[k].peak = highest_smooth(l, found->pulses[k].on_s, found->pulses[k].off_s);
    return CW_OK;
}

/* Samples that stand exactly on the extreme of the whole channel, several in a row: the end of the recorder's scale,
 * or, when the noise of rest stops there, of an amplifier before it. `noisy`: rest moves by more than the last digit.
 */
static bool is_clipped(const cw_measuring *m, const cw_trace *trace, size_t channel, bool noisy)
{
    enum { AT_FULL_SCALE = 3, ANYWHERE = 6 };
    const cw_channel_state *state = &m->channels[channel];
    double scale = m->info->unit[0] == '\0' ? 0.985 : INFINITY;
    size_t run = 0, longest = 0, at_scale = 0;
    for (size_t i = 0; i < trace->count; i++) {
        double v = trace->value[channel][i];
        bool at_end = v == state->highest || v == state->lowest;
        run = at_end && trace->frames[i] == 1 ? run + 1 : 0;
        longest = run > longest ? run : longest;
        if (fabs(v) >= scale && run > at_scale)
            at_scale = run;
    }
    return at_scale >= AT_FULL_SCALE || (noisy && longest >= ANYWHERE);
}

/* The least step between neighbouring samples: the last digit of a recorder of few bits, next to nothing for others. */
static double last_digit(const cw_trace *trace, size_t channel)
{
    double least = INFINITY;
    for (size_t i = 1; i < trace->count; i++) {
        double step = fabs(trace->value[channel][i] - trace->value[channel][i - 1]);
        if (step > 0 && step < least && trace->frames[i] == 1 && trace->frames[i - 1] == 1)
            least = step;
    }
    return isfinite(least) ? least : 0;
}

/* Noise below the last digit of the recorder hides in it, and then every level is off by up to half of it. */
static void allow_for_digits(lane *l, const cw_trace *trace, size_t channel, double noise)
{
    double digit = last_digit(trace, channel);
    l->is_noisy = noise > 1.5 * digit;
    l->noise = fmax(noise, digit / sqrt(12));
    l->u_digit = noise < digit / 2 ? digit / sqrt(12) : 0;
}

cw_status cw_measure_lane(const cw_measuring *m, const cw_trace *trace, size_t channel, double from_s, double to_s,
                          double before, cw_lane_found *found, cw_error *err)
{
    const cw_channel_state *state = &m->channels[channel];
    lane l;
    cw_trace own;
    CW_TRY(cw_trace_condense(trace, channel, from_s - EDGE_AROUND_S, to_s + EDGE_AROUND_S, 0.5e-3, &own, err));
    cw_status status = lane_new(&own, &l, err);
    if (status != CW_OK) {
        cw_trace_free(&own);
        return status;
    }
    l.pre_s = from_s - REST_GUARD_S;
    l.post_s = to_s + REST_GUARD_S;
    restore(&l, state, before);
    double noise = cw_trace_noise(trace, channel, -INFINITY, from_s - l.interval_s);
    if (!(noise > 0))
        noise = cw_trace_noise(trace, channel, to_s + l.interval_s, INFINITY);
    double least = (state->highest - state->lowest) * 1e-6;
    allow_for_digits(&l, trace, channel, noise > least ? noise : least);
    level_rest(&l);
    status = remove_hum(&l, found, err);
    level_rest(&l);
    double n_pre = 0, n_post = 0;
    (void)mean_between(&l, -INFINITY, l.pre_s, &n_pre);
    (void)mean_between(&l, l.post_s, INFINITY, &n_post);
    l.u_rest = hypot(l.noise * l.colour / sqrt(fmax(fmin(n_pre, n_post), 1)), l.u_digit);
    found->noise = l.noise;
    found->colour = l.colour;
    found->rest_error = l.rest_error;
    found->clipped = is_clipped(m, trace, channel, l.is_noisy);
    add_sums(&l);
    smooth_enough(&l);
    if (status == CW_OK && l.highest > 0)
        status = find_pulses(&l, found->hum * 0.1, found, err);
    if (status == CW_OK && found->seen) {
        const cw_pulse_found *p = &found->pulses[0];
        found->cut_start = p->on_s <= trace->at_s[0] + 2 * l.interval_s;
        found->cut_end = p->off_s >= trace->at_s[trace->count - 1] - 2 * l.interval_s;
    }
    lane_free(&l);
    cw_trace_free(&own);
    return status;
}
