/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One shot on one channel, its rest: AC coupling undone, the level before and after, hum, noise, clipping. */
#include <math.h>
#include <stdlib.h>

#include "shutter/measure_lane.h"
#include "signal/hum.h"

/* Rest is taken from this far before and after anything restless. */
static const double REST_GUARD_S = 0.004;

void cw_lane_free(cw_lane *l)
{
    free(l->x);
    free(l->smooth);
    free(l->sum);
    free(l->frames);
}

cw_status cw_lane_new(const cw_trace *trace, cw_lane *l, cw_error *err)
{
    size_t n = trace->count;
    *l = (cw_lane){.trace = trace, .count = n, .interval_s = trace->interval_s, .colour = 1};
    l->x = malloc(n * sizeof *l->x);
    l->smooth = malloc(n * sizeof *l->smooth);
    l->sum = malloc((n + 1) * sizeof *l->sum);
    l->frames = malloc((n + 1) * sizeof *l->frames);
    if (l->x == NULL || l->smooth == NULL || l->sum == NULL || l->frames == NULL) {
        cw_lane_free(l);
        return cw_fail(err, CW_MEMORY, "no memory for a shot of %zu samples", n);
    }
    return CW_OK;
}

/* Light positive and, behind an AC-coupled input, restored: x = y + (1/tau) integral y dt. */
static void restore(cw_lane *l, const cw_channel_state *state, double before)
{
    double integral = 0, rate = state->rate.value, sign = state->polarity < 0 ? -1 : 1;
    for (size_t i = 0; i < l->count; i++) {
        double y = l->trace->value[0][i] - before, step = y * l->trace->frames[i] * l->interval_s;
        l->x[i] = sign * (y + rate * (integral + step / 2));
        integral += step;
    }
}

double cw_lane_mean(const cw_lane *l, double from_s, double to_s, double *frames)
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
static void level_rest(cw_lane *l)
{
    double n_pre = 0, n_post = 0, pre = cw_lane_mean(l, -INFINITY, l->pre_s, &n_pre),
           post = cw_lane_mean(l, l->post_s, INFINITY, &n_post);
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

/* Rest, before and after, gathered to half milliseconds: hum is slow. */
enum { RESTS_MOST = 1024 };
typedef struct {
    size_t count;
    double at[RESTS_MOST], value[RESTS_MOST], weight[RESTS_MOST];
} rests;

static void gather_rest(const cw_lane *l, rests *r)
{
    r->count = 0;
    for (size_t i = 0; i < l->count && r->count < RESTS_MOST;) {
        double t = l->trace->at_s[i], sum = 0, time = 0, frames = 0;
        if (t >= l->pre_s && t < l->post_s) {
            i++;
            continue;
        }
        while (i < l->count && (frames == 0 || l->trace->at_s[i] - t < 0.5e-3) &&
               !(l->trace->at_s[i] >= l->pre_s && l->trace->at_s[i] < l->post_s)) {
            sum += l->x[i] * l->trace->frames[i];
            time += l->trace->at_s[i] * l->trace->frames[i];
            frames += l->trace->frames[i];
            i++;
        }
        r->at[r->count] = time / frames;
        r->value[r->count] = sum / frames;
        r->weight[r->count++] = frames;
    }
}

/* Takes what was found out of the rest of one side, and out of the light between the instants. */
static void subtract_hum(cw_lane *l, rests *r, const cw_hum *hum, double from_s, double to_s)
{
    for (size_t i = cw_trace_find(l->trace, from_s); i < l->count && l->trace->at_s[i] < to_s; i++)
        l->x[i] -= cw_hum_at(hum, l->trace->at_s[i]);
    for (size_t i = 0; i < r->count; i++)
        if (r->at[i] >= from_s && r->at[i] < to_s)
            r->value[i] -= cw_hum_at(hum, r->at[i]);
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
        subtract_hum(l, r, &hum, from_s, to_s);
        for (int k = 2; k <= HARMONICS; k++) {
            double hz = k * found->hum_hz;
            CW_TRY(cw_hum_find(n, at, value, weight, 1, &hz, &hum, err));
            if (hum.hz > 0)
                subtract_hum(l, r, &hum, from_s, to_s);
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
static void allow_for_digits(cw_lane *l, const cw_trace *trace, size_t channel, double noise)
{
    double digit = last_digit(trace, channel);
    l->is_noisy = noise > 1.5 * digit;
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
    allow_for_digits(l, trace, channel, noise > least ? noise : least);
    level_rest(l);
    rests rest;
    gather_rest(l, &rest);
    CW_TRY(remove_hum(l, &rest, found, err));
    level_rest(l);
    double n_pre = 0, n_post = 0;
    (void)cw_lane_mean(l, -INFINITY, l->pre_s, &n_pre);
    (void)cw_lane_mean(l, l->post_s, INFINITY, &n_post);
    l->wander = wander_of(&rest, l->noise);
    double u_mean = l->noise * l->colour / sqrt(fmax(fmin(n_pre, n_post), 1));
    l->u_rest = hypot(hypot(u_mean, l->u_digit), l->wander);
    found->noise = l->noise;
    found->colour = l->colour;
    found->rest_error = l->rest_error;
    found->clipped = is_clipped(m, trace, channel, l->is_noisy);
    return CW_OK;
}
