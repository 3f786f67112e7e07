/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where something happened: from blocks to excursions from rest. */
#include <math.h>
#include <stdlib.h>

#include "base/buf.h"
#include "base/stats.h"
#include "shutter/measure_parts.h"

/* Windows of 25 ms hold a whole period of 50 Hz hum, so that their range is what rest looks like. */
static const double QUIET_WINDOW_S = 0.025;
/* An event stands out of the quiet range by a fifth of it (noise alone: 8 sd), and is 1.5 % of all there is. */
static const double OVER_QUIET = 1.2, OVER_SPAN = 0.015;
/* There are far fewer means in a window than samples, so that their range tells less of what noise can do. */
static const double OVER_QUIET_MEANS = 2;
/* Rest is followed with this time constant where nothing happens. */
static const double REST_FOLLOWS_S = 0.3;
/* Longer than blades or curtains take for one edge, shorter than any winding. */
static const double CLOSED_AFTER_S = 0.008;

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The range that a quarter of all windows near `level` stay below: quiet ones are at least so many in any recording of
 * shots. Elsewhere the end of the scale may hide the noise. Too few windows there: those of everywhere. */
static cw_status quiet_range(const cw_overview *o, size_t channel, bool of_means, double level, double near,
                             double *range, cw_error *err)
{
    enum { WINDOWS_LEAST = 4 };
    size_t in_window = (size_t)ceil(QUIET_WINDOW_S * o->rate_hz / (double)o->block_frames);
    if (o->count / in_window < 16)
        in_window = o->count / 16 > 0 ? o->count / 16 : 1;
    size_t windows = o->count / in_window, kept = 0;
    double *ranges = malloc(windows * sizeof *ranges);
    if (ranges == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu windows", windows);
    const float *least = o->least + channel * o->capacity, *most = o->most + channel * o->capacity;
    for (size_t w = 0; w < windows; w++) {
        float low = INFINITY, high = -INFINITY;
        double sum = 0;
        for (size_t b = w * in_window; b < (w + 1) * in_window; b++) {
            double mean = cw_overview_mean(o, channel, b);
            float lower = of_means ? (float)mean : least[b], upper = of_means ? (float)mean : most[b];
            low = lower < low ? lower : low;
            high = upper > high ? upper : high;
            sum += mean;
        }
        if (fabs(sum / (double)in_window - level) <= near)
            ranges[kept++] = (double)high - (double)low;
    }
    qsort(ranges, kept, sizeof *ranges, by_value);
    *range = kept > 0 ? ranges[kept / 4] : 0;
    free(ranges);
    if (kept < WINDOWS_LEAST && isfinite(near))
        return quiet_range(o, channel, of_means, level, INFINITY, range, err);
    return CW_OK;
}

/* The commonest level of the block means, and the part of the blocks on it. */
static double commonest_level(const cw_overview *o, size_t channel, double lowest, double highest, double *part)
{
    enum { BINS = 256 };
    size_t count[BINS] = {0}, best = 0;
    double sum[BINS] = {0}, scale = BINS / (highest - lowest);
    for (size_t b = 0; b < o->count; b++) {
        double mean = cw_overview_mean(o, channel, b), place = (mean - lowest) * scale;
        size_t bin = place >= BINS - 1 ? BINS - 1 : place > 0 ? (size_t)place : 0;
        count[bin]++;
        sum[bin] += mean;
    }
    for (size_t i = 1; i < BINS; i++)
        if (count[i] > count[best])
            best = i;
    size_t near = 0;
    double total = 0;
    for (size_t i = best > 0 ? best - 1 : 0; i <= best + 1 && i < BINS; i++) {
        near += count[i];
        total += sum[i];
    }
    *part = (double)near / (double)o->count;
    return total / (double)near;
}

/* Rest is where the recording begins and ends; where those differ, the commonest level. */
static double level_of_rest(const cw_overview *o, size_t channel, double lowest, double highest, double threshold)
{
    double part, common = commonest_level(o, channel, lowest, highest, &part);
    size_t some = (size_t)ceil(QUIET_WINDOW_S * o->rate_hz / (double)o->block_frames);
    if (some > o->count / 32)
        some = o->count / 32 > 0 ? o->count / 32 : 1;
    double first = 0, last = 0;
    for (size_t b = 0; b < some; b++) {
        first += cw_overview_mean(o, channel, b) / (double)some;
        last += cw_overview_mean(o, channel, o->count - 1 - b) / (double)some;
    }
    bool ends_agree = fabs(first - last) < threshold, first_is_common = fabs(first - common) < threshold;
    if (first_is_common || !ends_agree)
        return fabs(last - common) < threshold || first_is_common || part > 0.7 ? common : first;
    return first;
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
    double span = highest - lowest, quiet_means;
    CW_TRY(quiet_range(overview, channel, false, 0, INFINITY, &state->quiet, err));
    CW_TRY(quiet_range(overview, channel, true, 0, INFINITY, &quiet_means, err));
    state->threshold = fmax(OVER_QUIET * state->quiet, OVER_SPAN * span);
    state->mean_threshold = fmax(OVER_QUIET_MEANS * quiet_means, OVER_SPAN * span);
    state->rest = level_of_rest(overview, channel, lowest, highest, fmin(state->threshold, state->mean_threshold));
    CW_TRY(quiet_range(overview, channel, false, state->rest, 0.15 * span, &state->quiet, err));
    CW_TRY(quiet_range(overview, channel, true, state->rest, 0.15 * span, &quiet_means, err));
    state->threshold = fmax(OVER_QUIET * state->quiet, OVER_SPAN * span);
    state->mean_threshold = fmax(OVER_QUIET_MEANS * quiet_means, OVER_SPAN * span);
    return CW_OK;
}

bool cw_has_moved(cw_move_watch *watch, double at_s, double value, double least)
{
    const double within_s = 0.003;
    bool moved = fabs(value - watch->anchor) > least;
    if (moved || at_s - watch->anchor_s >= within_s)
        *watch = (cw_move_watch){value, at_s};
    return moved;
}

typedef struct {
    const cw_overview *overview;
    size_t channel;
    const cw_channel_state *state;
    double block_s;
    double integral; /* of the signal above rest, AC only */
    double rest;     /* of the signal as recorded */
    double shift;    /* of the restored signal at rest: what the integral gathered from the error of `rest` */
    bool inside;
    cw_event event;
    cw_move_watch watch;
    double at_rest_s; /* how long rest has been followed */
} scanner;

static void begin_event(scanner *s, double at_s, int sign)
{
    s->inside = true;
    s->event = (cw_event){.channel = s->channel, .from_s = at_s, .before = s->rest, .sign = sign, .last_edge_s = at_s};
}

static cw_status end_event(scanner *s, cw_events *events, cw_error *err)
{
    s->inside = false;
    if (events->count + 1 > (size_t)CW_SHOTS_MOST * 2 * CW_CHANNELS_MOST)
        return cw_fail(err, CW_INPUT,
                       "more than %d excursions on its channels: this looks like noise or music, not like a shutter; "
                       "cut the recording to the shots",
                       CW_SHOTS_MOST * 2 * CW_CHANNELS_MOST);
    CW_TRY(cw_grow(&events->items, &events->capacity, events->count + 1, sizeof *events->items,
                   (size_t)CW_SHOTS_MOST * 2 * CW_CHANNELS_MOST, "excursions", err));
    events->items[events->count++] = s->event;
    return CW_OK;
}

static cw_status scan_block(scanner *s, size_t b, cw_events *events, cw_error *err)
{
    const cw_overview *o = s->overview;
    size_t at = s->channel * o->capacity + b;
    double start_s = ((double)o->from + (double)b * (double)o->block_frames) / o->rate_hz;
    double length_s = (double)cw_overview_frames(o, b) / o->rate_hz, mean = cw_overview_mean(o, s->channel, b);
    double restored = s->state->rate.value * (s->integral + (mean - s->rest) * length_s / 2) - s->shift - s->rest;
    s->integral += (mean - s->rest) * length_s;
    double up = (double)o->most[at] + restored, down = -((double)o->least[at] + restored), x = mean + restored;
    double beyond = up > down ? up : down;
    bool step = cw_has_moved(&s->watch, start_s, x, 0.25 * s->event.peak) || up + down > 0.25 * s->event.peak;
    if (s->inside && step)
        s->event.last_edge_s = start_s + length_s;
    /* behind an AC-coupled input the restored level drifts while light is on; low and steady is closed all the same,
     * and so is what fell without having risen: the recording began in the light */
    bool fell = s->inside && s->state->polarity != 0 && s->event.sign != s->state->polarity;
    if (s->inside && s->state->rate.value > 0 && (fell || fabs(x) < 0.3 * s->event.peak) && !step &&
        start_s + length_s - s->event.last_edge_s > CLOSED_AFTER_S) {
        s->event.to_s = s->event.last_edge_s;
        s->event.cut_start = s->event.cut_start || fell;
        s->shift += x;
        CW_TRY(end_event(s, events, err));
    } else if (beyond > s->state->threshold || fabs(x) > s->state->mean_threshold) {
        if (!s->inside)
            begin_event(s, start_s, up >= down ? 1 : -1);
        s->event.to_s = start_s + length_s;
        s->event.peak = beyond > s->event.peak ? beyond : s->event.peak;
    } else if (s->inside) {
        CW_TRY(end_event(s, events, err));
    } else {
        s->at_rest_s += length_s;
        double followed_s = s->at_rest_s < REST_FOLLOWS_S ? s->at_rest_s : REST_FOLLOWS_S;
        double follow = length_s < followed_s ? length_s / followed_s : 1;
        if (s->state->rate.value > 0)
            s->shift += follow * x;
        else
            s->rest += follow * x;
    }
    return CW_OK;
}

/* Rest wanders: the recording may begin beside its commonest level. Where its first stretch is steady and near that, it
 * begins at rest, and rest is there; light stands farther off. */
static double rest_at_start(const cw_overview *o, size_t channel, const cw_channel_state *state)
{
    const double near = 0.15 * (state->highest - state->lowest);
    size_t some = (size_t)ceil(QUIET_WINDOW_S * o->rate_hz / (double)o->block_frames);
    if (state->rate.value > 0 || some > o->count / 4)
        return state->rest;
    double sum = 0, low = INFINITY, high = -INFINITY;
    for (size_t b = 0; b < some; b++) {
        double mean = cw_overview_mean(o, channel, b);
        sum += mean;
        low = mean < low ? mean : low;
        high = mean > high ? mean : high;
    }
    double level = sum / (double)some;
    bool steady = high - low < fmin(state->threshold, state->mean_threshold);
    return steady && fabs(level - state->rest) < near ? level : state->rest;
}

cw_status cw_scan_channel(const cw_overview *overview, size_t channel, const cw_channel_state *state, cw_events *events,
                          cw_error *err)
{
    if (state->is_idle)
        return CW_OK;
    scanner s = {
        .overview = overview, .channel = channel, .state = state, .rest = rest_at_start(overview, channel, state)};
    size_t before = events->count;
    for (size_t b = 0; b < overview->count; b++)
        CW_TRY(scan_block(&s, b, events, err));
    bool still = s.inside;
    if (still)
        CW_TRY(end_event(&s, events, err));
    double block_s = (double)overview->block_frames / overview->rate_hz;
    double begins_s = (double)overview->from / overview->rate_hz;
    if (events->count > before) {
        cw_event *first = &events->items[before], *last = &events->items[events->count - 1];
        first->cut_start = first->cut_start || first->from_s < begins_s + 1.5 * block_s;
        last->cut_end = still;
    }
    return CW_OK;
}

/* What has passed through a high-pass has no mean but the recorder's own offset: that is rest, to the last digit. */
double cw_mean_of_channel(const cw_overview *o, size_t channel)
{
    double sum = 0;
    for (size_t b = 0; b < o->count; b++)
        sum += cw_overview_mean(o, channel, b) * (double)cw_overview_frames(o, b);
    return sum / (double)o->frames;
}

static int by_start(const void *a, const void *b)
{
    const cw_event *x = a, *y = b;
    return (x->from_s > y->from_s) - (x->from_s < y->from_s);
}

static bool begins_and_ends_at_rest(const cw_overview *o, size_t channel, const cw_channel_state *state)
{
    size_t some = (size_t)ceil(0.2 * QUIET_WINDOW_S * o->rate_hz / (double)o->block_frames);
    double first = 0, last = 0;
    some = some < o->count ? some : o->count;
    for (size_t b = 0; b < some; b++) {
        first += cw_overview_mean(o, channel, b) / (double)some;
        last += cw_overview_mean(o, channel, o->count - 1 - b) / (double)some;
    }
    return fmax(fabs(first - state->rest), fabs(last - state->rest)) < state->mean_threshold;
}

/* The events of an AC-coupled channel once more, on the restored signal. */
static cw_status restore_events(cw_measuring *m, size_t channel, cw_error *err)
{
    size_t kept = 0;
    for (size_t k = 0; k < m->events.count; k++)
        if (m->events.items[k].channel != channel)
            m->events.items[kept++] = m->events.items[k];
    m->events.count = kept;
    /* where light was cut off at either end, the mean is off by what is missing; the level of rest is not */
    if (begins_and_ends_at_rest(&m->overview, channel, &m->channels[channel]))
        m->channels[channel].rest = cw_mean_of_channel(&m->overview, channel);
    return cw_scan_channel(&m->overview, channel, &m->channels[channel], &m->events, err);
}

cw_status cw_find_events(cw_measuring *m, cw_error *err)
{
    for (size_t c = 0; c < m->info->channels; c++) {
        cw_channel_state *state = &m->channels[c];
        if (!state->is_light && !state->is_contact)
            continue;
        CW_TRY(cw_scan_levels(&m->overview, c, state, err));
        size_t before = m->events.count;
        CW_TRY(cw_scan_channel(&m->overview, c, state, &m->events, err));
        state->is_idle = state->is_idle || m->events.count == before;
        if (state->is_light && !state->is_idle)
            CW_TRY(cw_find_coupling(m, c, err));
    }
    cw_share_coupling(m);
    for (size_t c = 0; c < m->info->channels; c++)
        if (m->channels[c].is_ac)
            CW_TRY(restore_events(m, c, err));
    if (m->events.count > 1)
        qsort(m->events.items, m->events.count, sizeof *m->events.items, by_start);
    return CW_OK;
}
