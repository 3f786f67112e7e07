/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One shot on one channel, its rest: AC coupling undone, the level before and after, hum, noise, clipping. */
#include <math.h>

#include "base/extremes.h"
#include "shutter/measure_lane.h"
#include "signal/hum.h"

/* Rest is taken from this far before and after anything restless. */
static const double REST_GUARD_S = 0.004;

/* Light positive and, behind an AC-coupled input, restored: x = y + (1/tau) integral y dt. */
static void restore(cw_lane *l, const cw_channel_state *state, double before)
{
    double integral = 0, rate = state->rate.value, sign = state->polarity < 0 ? -1 : 1;
    if (rate == 0) {
        for (size_t i = 0; i < l->count; i++)
            l->x[i] = sign * (l->x[i] - before);
        return;
    }
    for (size_t i = 0; i < l->count; i++) {
        double y = l->x[i] - before, step = y * l->trace->frames[i] * l->interval_s;
        l->x[i] = sign * (y + rate * (integral + step / 2));
        integral += step;
    }
}

double cw_lane_sum(const cw_lane *l, size_t first, size_t end, double *frames)
{
    double sum = 0, n = 0;
#pragma omp simd reduction(+ : sum, n)
    for (size_t i = first; i < end; i++) {
        sum += l->x[i] * l->trace->frames[i];
        n += l->trace->frames[i];
    }
    *frames = n;
    return sum;
}

/* Rest before and after, joined by a straight line, becomes 0. Gives the samples of the shorter rest. */
static double level_rest(cw_lane *l)
{
    size_t pre_end = cw_trace_find(l->trace, l->pre_s), post = cw_trace_find(l->trace, l->post_s);
    double n_pre, n_post, pre = cw_lane_sum(l, 0, pre_end, &n_pre), last = cw_lane_sum(l, post, l->count, &n_post);
    if (n_pre + n_post == 0)
        return 0;
    double first = n_pre > 0 ? pre / n_pre : last / n_post;
    last = n_post > 0 ? last / n_post : first;
    l->rest_error = last - first;
    for (size_t i = 0; i < pre_end; i++)
        l->x[i] -= first;
    double slope = (last - first) / (l->post_s - l->pre_s);
    for (size_t i = pre_end; i < post; i++)
        l->x[i] -= first + slope * (l->trace->at_s[i] - l->pre_s);
    for (size_t i = post; i < l->count; i++)
        l->x[i] -= last;
    return fmin(n_pre, n_post);
}

/* Rest, before and after, gathered to half milliseconds: hum is slow. */
enum { RESTS_MOST = 1024 };
typedef struct {
    size_t count;
    double at[RESTS_MOST], value[RESTS_MOST], weight[RESTS_MOST];
} rests;

static void gather_bins(const cw_lane *l, size_t from, size_t to, rests *r)
{
    const double together_s = 0.5e-3, *at_s = l->trace->at_s, *of = l->trace->frames;
    for (size_t i = from; i < to && r->count < RESTS_MOST;) {
        double t = at_s[i], sum = l->x[i] * of[i], time = t * of[i], frames = of[i];
        for (i++; i < to && at_s[i] - t < together_s; i++) {
            sum += l->x[i] * of[i];
            time += at_s[i] * of[i];
            frames += of[i];
        }
        r->at[r->count] = time / frames;
        r->value[r->count] = sum / frames;
        r->weight[r->count++] = frames;
    }
}

static void gather_rest(const cw_lane *l, rests *r)
{
    r->count = 0;
    gather_bins(l, 0, cw_trace_find(l->trace, l->pre_s), r);
    gather_bins(l, cw_trace_find(l->trace, l->post_s), l->count, r);
}

/* Takes what was found out of the rest of one side, and out of the light between the instants. */
static void subtract_hum(cw_lane *l, rests *r, size_t first, size_t end, const cw_hum *hum, double from_s, double to_s)
{
    size_t from = cw_trace_find(l->trace, from_s), to = cw_trace_find(l->trace, to_s);
    cw_hum_subtract(hum, to - from, l->trace->at_s + from, l->x + from);
    cw_hum_subtract(hum, end - first, r->at + first, r->value + first);
}

/* Mains hum and its first harmonics, found in the rest between the instants. */
static cw_status remove_hum_between(cw_lane *l, rests *r, double from_s, double to_s, cw_lane_found *found,
                                    cw_error *err)
{
    static const double mains_hz[] = {50, 60};
    enum { HARMONICS = 3 };
    size_t first = 0, end = r->count;
    while (first < r->count && r->at[first] < from_s)
        first++;
    while (end > first && r->at[end - 1] >= to_s)
        end--;
    size_t n = end - first;
    if (n < 8 || r->at[end - 1] - r->at[first] < 0.02)
        return CW_OK;
    cw_hum hum;
    const double *at = r->at + first, *value = r->value + first, *weight = r->weight + first;
    CW_TRY(cw_hum_find(n, at, value, weight, CW_COUNT(mains_hz), mains_hz, &hum, err));
    if (hum.hz > 0) {
        found->hum_hz = hum.hz;
        found->hum = fmax(found->hum, hum.amplitude);
        subtract_hum(l, r, first, end, &hum, from_s, to_s);
        for (int k = 2; k <= HARMONICS; k++) {
            double hz = k * found->hum_hz;
            CW_TRY(cw_hum_find(n, at, value, weight, 1, &hz, &hum, err));
            if (hum.hz > 0)
                subtract_hum(l, r, first, end, &hum, from_s, to_s);
        }
    }
    l->colour = fmax(l->colour, hum.residual_sd / l->noise);
    return CW_OK;
}

/* Mains holds its phase over half a second; over longer exposures each edge is freed by the rest on its own side. */
static cw_status remove_hum(cw_lane *l, rests *r, cw_lane_found *found, cw_error *err)
{
    const double followed_s = 0.5;
    if (r->count == 0)
        return CW_OK;
    double middle_s = (l->pre_s + l->post_s) / 2;
    if (r->at[r->count - 1] - r->at[0] < followed_s) {
        CW_TRY(remove_hum_between(l, r, -INFINITY, INFINITY, found, err));
    } else {
        CW_TRY(remove_hum_between(l, r, -INFINITY, middle_s, found, err));
        CW_TRY(remove_hum_between(l, r, middle_s, INFINITY, found, err));
    }
    l->hum_left = 0.1 * found->hum;
    return CW_OK;
}

/* How far rest wanders by itself: the scatter of its hundredths of a second beyond what white noise gives them. */
static double wander_of(const rests *r, double noise)
{
    const double together_s = 0.01;
    double previous = NAN, previous_s = 0, squares = 0, white = 0;
    size_t n = 0;
    for (size_t i = 0; i < r->count;) {
        double start = r->at[i], sum = 0, frames = 0;
        for (; i < r->count && r->at[i] - start < together_s; i++) {
            sum += r->value[i] * r->weight[i];
            frames += r->weight[i];
        }
        if (isfinite(previous) && start - previous_s < 2 * together_s) {
            squares += (sum / frames - previous) * (sum / frames - previous);
            white += 2 * noise * noise / frames;
            n++;
        }
        previous = sum / frames;
        previous_s = start;
    }
    return n < 4 ? 0 : sqrt(fmax(squares - 2 * white, 0) / (double)n);
}

/* What the single samples of a channel, as recorded, tell of the recorder. */
typedef struct {
    double digit; /* the least step between neighbours: the last digit of a recorder of few bits, next to nothing for
                     others */
    double lowest, highest;
} samples_seen;

/* One pass, without a branch, several samples side by side. */
static samples_seen look_at_samples(const cw_trace *trace, size_t channel)
{
    enum { LANES = CW_SIDE_BY_SIDE };
    samples_seen seen = {INFINITY, INFINITY, -INFINITY};
    for (size_t k = 0; k < trace->single_count; k++) {
        const double *value = trace->value[channel] + trace->singles[k].first;
        size_t n = trace->singles[k].end - trace->singles[k].first, i = 0;
        double least[LANES], low[LANES], high[LANES];
        for (size_t j = 0; j < LANES; j++) {
            least[j] = seen.digit;
            low[j] = seen.lowest;
            high[j] = seen.highest;
        }
        for (; i + LANES < n; i += LANES) {
#pragma omp simd
            for (size_t j = 0; j < LANES; j++) {
                double v = value[i + j], step = fabs(value[i + j + 1] - v), counts = step > 0 ? step : INFINITY;
                least[j] = counts < least[j] ? counts : least[j];
                low[j] = v < low[j] ? v : low[j];
                high[j] = v > high[j] ? v : high[j];
            }
        }
        seen.lowest = cw_least_of(n - i, value + i, cw_least_of(LANES, low, INFINITY));
        seen.highest = cw_most_of(n - i, value + i, cw_most_of(LANES, high, -INFINITY));
        seen.digit = cw_least_of(LANES, least, INFINITY);
        for (; i + 1 < n; i++)
            seen.digit = value[i + 1] != value[i] ? fmin(fabs(value[i + 1] - value[i]), seen.digit) : seen.digit;
    }
    seen.digit = isfinite(seen.digit) ? seen.digit : 0;
    return seen;
}

/* Samples that stand exactly on the extreme of the whole channel, several in a row: the end of the recorder's scale,
 * or, when the noise of rest stops there, of an amplifier before it. How many, is a matter of how far that noise moves
 * the last digit: noise of 0.6 digits, half a digit of it before rounding, leaves it alone twice in three at most, and
 * sixty times in a row never. Below that, rest stands still as well, and says nothing. */
static bool is_clipped(const cw_measuring *m, const cw_trace *trace, size_t channel, const samples_seen *seen,
                       double noise)
{
    enum { AT_FULL_SCALE = 3, LOUD = 6, QUIET = 60 };
    const double loud = 1.5, quiet = 0.6; /* noise over the last digit */
    const cw_channel_state *state = &m->channels[channel];
    if (seen->lowest > state->lowest && seen->highest < state->highest)
        return false; /* none does, as in nearly every shot */
    double scale = m->info->unit[0] == '\0' ? 0.985 : INFINITY;
    size_t longest = 0, at_scale = 0;
    for (size_t k = 0; k < trace->single_count; k++)
        for (size_t i = trace->singles[k].first, run = 0; i < trace->singles[k].end; i++) {
            double v = trace->value[channel][i];
            run = v == state->highest || v == state->lowest ? run + 1 : 0;
            longest = run > longest ? run : longest;
            if (fabs(v) >= scale && run > at_scale)
                at_scale = run;
        }
    return at_scale >= AT_FULL_SCALE || (noise > loud * seen->digit && longest >= LOUD) ||
           (noise > quiet * seen->digit && longest >= QUIET);
}

/* How long the samples stand there, also where whole bins do. */
static double clipped_s(const cw_measuring *m, const cw_trace *trace, size_t channel)
{
    const cw_channel_state *state = &m->channels[channel];
    double slack = 1e-6 * (state->highest - state->lowest), frames = 0;
    for (size_t i = 0; i < trace->count; i++) {
        double v = trace->value[channel][i];
        if (v >= state->highest - slack || v <= state->lowest + slack)
            frames += trace->frames[i];
    }
    return frames * trace->interval_s;
}

/* Noise below the last digit of the recorder hides in it, and then every level is off by up to half of it. */
static void allow_for_digits(cw_lane *l, double digit, double noise)
{
    l->noise = fmax(noise, digit / sqrt(12));
    l->u_digit = noise < digit / 2 ? digit / sqrt(12) : 0;
}

cw_status cw_lane_rest(const cw_measuring *m, const cw_trace *trace, size_t channel, double from_s, double to_s,
                       double before, cw_lane *l, cw_lane_found *found, cw_error *err)
{
    const cw_channel_state *state = &m->channels[channel];
    l->pre_s = from_s - REST_GUARD_S;
    l->post_s = to_s + REST_GUARD_S;
    restore(l, state, before);
    double noise = cw_trace_noise(trace, channel, -INFINITY, from_s - l->interval_s);
    if (!(noise > 0))
        noise = cw_trace_noise(trace, channel, to_s + l->interval_s, INFINITY);
    double least = (state->highest - state->lowest) * 1e-6;
    samples_seen seen = look_at_samples(trace, channel);
    allow_for_digits(l, seen.digit, noise > least ? noise : least);
    double frames = level_rest(l);
    rests rest;
    gather_rest(l, &rest);
    CW_TRY(remove_hum(l, &rest, found, err));
    l->rest_error = 0;
    if (found->hum_hz > 0)
        frames = level_rest(l);
    l->wander = wander_of(&rest, l->noise);
    double u_mean = l->noise * l->colour / sqrt(fmax(frames, 1));
    l->u_rest = hypot(hypot(u_mean, l->u_digit), l->wander);
    found->noise = l->noise;
    found->colour = l->colour;
    found->rest_error = l->rest_error;
    found->clipped = is_clipped(m, trace, channel, &seen, noise);
    found->clipped_s = found->clipped ? clipped_s(m, trace, channel) : 0;
    return CW_OK;
}
