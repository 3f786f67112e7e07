/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The levels of a channel, from the blocks of the overview: rest, how restless rest is, and how large the light. */
#include <math.h>
#include <stdlib.h>

#include "base/extremes.h"
#include "base/select.h"
#include "shutter/measure_parts.h"

/* Windows of 25 ms hold a whole period of 50 Hz hum, so that their range is what rest looks like. */
static const double QUIET_WINDOW_S = 0.025;
/* An event stands out of the quiet range by a fifth of it (noise alone: 8 sd), and is 1.5 % of the light. */
static const double OVER_QUIET = 1.2, OVER_LIGHT = 0.015;
/* There are far fewer means in a window than samples, so that their range tells less of what noise can do. */
static const double OVER_QUIET_MEANS = 2;

/* Windows one behind the other: mean of each, range of its samples and of the means of its blocks. */
typedef struct {
    size_t count;
    double *mean, *of_samples, *of_means;
    double *kept, *room; /* to select in */
} windows;

/* The caller frees `mean`, which holds them all. */
static cw_status look_through_windows(const cw_overview *o, size_t channel, windows *w, cw_error *err)
{
    size_t in_window = (size_t)ceil(QUIET_WINDOW_S * o->rate_hz / (double)o->block_frames);
    if (o->count / in_window < 16)
        in_window = o->count / 16 > 0 ? o->count / 16 : 1;
    size_t n = o->count / in_window;
    double *all = malloc(5 * n * sizeof *all);
    if (all == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu windows", n);
    *w = (windows){n, all, all + n, all + 2 * n, all + 3 * n, all + 4 * n};
    const float *least = o->least + channel * o->capacity, *most = o->most + channel * o->capacity;
    const double *means = o->mean + channel * o->capacity;
    for (size_t k = 0; k < n; k++) {
        float low = INFINITY, high = -INFINITY;
        double sum = 0, low_mean = INFINITY, high_mean = -INFINITY;
        for (size_t b = k * in_window; b < (k + 1) * in_window; b++) {
            low = least[b] < low ? least[b] : low;
            high = most[b] > high ? most[b] : high;
            low_mean = means[b] < low_mean ? means[b] : low_mean;
            high_mean = means[b] > high_mean ? means[b] : high_mean;
            sum += means[b];
        }
        w->mean[k] = sum / (double)in_window;
        w->of_samples[k] = (double)high - (double)low;
        w->of_means[k] = high_mean - low_mean;
    }
    return CW_OK;
}

/* The range that a quarter of all windows near `level` stay below: quiet ones are at least so many in any recording of
 * shots. Elsewhere the end of the scale may hide the noise. Too few windows there: those of everywhere. */
static double quiet_range(const windows *w, const double *ranges, double level, double near)
{
    enum { WINDOWS_LEAST = 4 };
    size_t kept = 0;
    for (size_t k = 0; k < w->count; k++) {
        w->kept[kept] = ranges[k];
        kept += fabs(w->mean[k] - level) <= near;
    }
    if (kept < WINDOWS_LEAST && isfinite(near))
        return quiet_range(w, ranges, level, INFINITY);
    return kept > 0 ? cw_select(kept, w->kept, kept / 4, w->room) : 0;
}

/* The level with the most block means within half of `width`, and the part of the blocks there. Noise spreads the means
 * of one level and the last digit of a recorder piles up those of another, so the width is that of a level. */
static double commonest_level(const cw_overview *o, size_t channel, double lowest, double highest, double width,
                              double *part)
{
    enum { BINS = 256 };
    size_t count[BINS + 1] = {0}; /* of the bins before */
    double sum[BINS + 1] = {0}, scale = BINS / (highest - lowest);
    for (size_t b = 0; b < o->count; b++) {
        double mean = cw_overview_mean(o, channel, b), place = (mean - lowest) * scale;
        size_t bin = place >= BINS - 1 ? BINS - 1 : place > 0 ? (size_t)place : 0;
        count[bin + 1]++;
        sum[bin + 1] += mean;
    }
    for (size_t i = 1; i <= BINS; i++) {
        count[i] += count[i - 1];
        sum[i] += sum[i - 1];
    }
    size_t bins = (size_t)fmin(fmax(ceil(width * scale), 3), BINS / 4.), best = 0, most = 0;
    for (size_t i = 0; i + bins <= BINS; i++)
        if (count[i + bins] - count[i] > most) {
            most = count[i + bins] - count[i];
            best = i;
        }
    *part = (double)most / (double)o->count;
    return (sum[best + bins] - sum[best]) / (double)most;
}

/* Mean and range of some block means. */
typedef struct {
    double mean, range;
} stretch_level;

static stretch_level level_between(const cw_overview *o, size_t channel, size_t first, size_t end)
{
    const double *means = o->mean + channel * o->capacity + first;
    double sum = 0;
    for (size_t b = 0; b < end - first; b++)
        sum += means[b];
    return (stretch_level){sum / (double)(end - first),
                           cw_most_of(end - first, means, -INFINITY) - cw_least_of(end - first, means, INFINITY)};
}

/* A window of rest in blocks, but never more than `part` of a recording that is short. */
static size_t window_blocks(const cw_overview *o, size_t part)
{
    size_t some = (size_t)ceil(QUIET_WINDOW_S * o->rate_hz / (double)o->block_frames), most = o->count / part;
    return some <= most ? some : most > 0 ? most : 1;
}

/* Rest is where the recording begins and ends; where those differ, the commonest level. */
static double level_of_rest(const cw_overview *o, size_t channel, double lowest, double highest, double threshold,
                            double *commonest)
{
    double part, common = commonest_level(o, channel, lowest, highest, threshold, &part);
    *commonest = common;
    size_t some = window_blocks(o, 32);
    double first = level_between(o, channel, 0, some).mean,
           last = level_between(o, channel, o->count - some, o->count).mean;
    bool ends_agree = fabs(first - last) < threshold, first_is_common = fabs(first - common) < threshold;
    if (first_is_common || !ends_agree)
        return fabs(last - common) < threshold || first_is_common || part > 0.7 ? common : first;
    return first;
}

double cw_rest_at_start(const cw_overview *o, size_t channel, const cw_channel_state *state)
{
    const double near = 0.15 * (state->highest - state->lowest);
    stretch_level first = level_between(o, channel, 0, window_blocks(o, 4));
    bool steady = first.range < fmin(state->threshold, state->mean_threshold);
    return steady && fabs(first.mean - state->rest) < near ? first.mean : state->rest;
}

/* The light restored, up to a constant, by adding up from block to block: x = y + rate * integral of (y - rest) dt. */
typedef struct {
    double rate_dt, rest, y, integral;
} restoring;

static inline double restored_at(restoring *r, double y)
{
    r->integral += (y + r->y) / 2 - r->rest;
    r->y = y;
    return y + r->rate_dt * r->integral;
}

/* The largest move to one of the `most` blocks that follow, for blocks [first, end); or `largest`. */
static double largest_move(const double *means, size_t count, size_t first, size_t end, size_t most, restoring from,
                           double largest)
{
    for (size_t b = first; b < end && b + 1 < count; b++) {
        restoring r = {from.rate_dt, from.rest, means[b], 0};
        size_t last = b + most < count ? b + most : count - 1;
        for (size_t k = b + 1; k <= last; k++) {
            double move = fabs(restored_at(&r, means[k]) - means[b]);
            largest = move > largest ? move : largest;
        }
    }
    return largest;
}

/* The largest move within the time that an edge may take. Blocks are looked at by groups of that length: a move lies
 * within one or two groups, and most two hold none that is larger than the largest so far. */
static double light_size(const cw_overview *o, size_t channel, const cw_channel_state *state)
{
    const double within_s = 0.008; /* longer than blades or curtains take for one edge */
    double block_s = (double)o->block_frames / o->rate_hz, largest = 0, low_before = INFINITY, high_before = -INFINITY;
    const double *means = o->mean + channel * o->capacity;
    size_t most = (size_t)(within_s / block_s);
    if (most == 0)
        return state->highest - state->lowest;
    restoring r = {state->rate.value * block_s, state->rest, means[0], 0};
    for (size_t first = 0; first < o->count; first += most) {
        size_t end = first + most < o->count ? first + most : o->count;
        double low = INFINITY, high = -INFINITY;
        for (size_t b = first; b < end; b++) {
            double x = restored_at(&r, means[b]);
            low = x < low ? x : low;
            high = x > high ? x : high;
        }
        if (fmax(high, high_before) - fmin(low, low_before) > largest)
            largest = largest_move(means, o->count, first > most ? first - most : 0, end, most, r, largest);
        low_before = low;
        high_before = high;
    }
    return largest;
}

static void set_thresholds(const windows *w, double near, cw_channel_state *state)
{
    state->quiet = quiet_range(w, w->of_samples, state->rest, near);
    double quiet_means = quiet_range(w, w->of_means, state->rest, near);
    state->threshold = fmax(OVER_QUIET * state->quiet, OVER_LIGHT * state->light);
    state->mean_threshold = fmax(OVER_QUIET_MEANS * quiet_means, OVER_LIGHT * state->light);
}

/* Windows with means so far from rest are not quiet ones. */
static double near_rest(const cw_channel_state *state)
{
    return 0.15 * (state->highest - state->lowest);
}

cw_status cw_scan_thresholds(const cw_overview *overview, size_t channel, cw_channel_state *state, cw_error *err)
{
    windows w;
    CW_TRY(look_through_windows(overview, channel, &w, err));
    state->light = light_size(overview, channel, state);
    set_thresholds(&w, near_rest(state), state);
    free(w.mean);
    return CW_OK;
}

cw_status cw_scan_levels(const cw_overview *overview, size_t channel, cw_channel_state *state, cw_error *err)
{
    double lowest = INFINITY, highest = -INFINITY;
    for (size_t b = 0; b < overview->count; b++) {
        double least = (double)overview->least[channel * overview->capacity + b];
        double most = (double)overview->most[channel * overview->capacity + b];
        lowest = least < lowest ? least : lowest;
        highest = most > highest ? most : highest;
    }
    state->lowest = lowest;
    state->highest = highest;
    state->rest = lowest;
    state->is_idle = !(highest > lowest);
    if (state->is_idle)
        return CW_OK;
    windows w;
    CW_TRY(look_through_windows(overview, channel, &w, err));
    state->light = light_size(overview, channel, state);
    set_thresholds(&w, INFINITY, state);
    state->rest = level_of_rest(overview, channel, lowest, highest, fmin(state->threshold, state->mean_threshold),
                                &state->commonest);
    set_thresholds(&w, near_rest(state), state);
    free(w.mean);
    return CW_OK;
}
