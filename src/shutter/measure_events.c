/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where something happened: from blocks to excursions from rest. */
#include <math.h>
#include <stdlib.h>

#include "base/buf.h"
#include "base/stats.h"
#include "shutter/measure_parts.h"

/* Rest is followed with this time constant where nothing happens. */
static const double REST_FOLLOWS_S = 0.3;
/* Longer than blades or curtains take for one edge, shorter than any winding. */
static const double CLOSED_AFTER_S = 0.008;
/* The first block beyond the threshold may come so long after the step that an event begins with; what creeps there
 * without one is rest that wanders, and is followed with this time constant. */
static const double MOVED_BEFORE_S = 0.003, REST_CREEPS_S = 0.02;
/* A restored light that stays is held with this time constant. */
static const double PLATEAU_FOLLOWS_S = 0.03;
/* No slit of a curtain and no blade that turns back half open stays on one level for so long; of the channel's light,
 * less than this is not the shutter's. From memory. */
static const double REST_MOVED_AFTER_S = 0.06, SURELY_LIGHT = 0.4;

struct cw_scanner {
    const cw_overview *overview;
    size_t channel;
    const cw_channel_state *state;
    double begins_s; /* the recording */
    double block_s;  /* all but the last are so long */
    double integral; /* of the signal above rest, AC only */
    double rest;     /* of the signal as recorded */
    double zero;     /* the restored signal at rest: `rest`, and AC what the integral gathered from the error of it */
    bool inside, has_closed;
    cw_event event;
    double low_from_s;         /* inside: since when the light is too little for a shutter that is open */
    double moved_s;            /* end of the last block with a step in it, inside or not */
    double plateau, plateau_s; /* inside: where the light has stayed, and how long; 0: it has not */
    cw_move_watch watch;
    double at_rest_s; /* how long rest has been followed */
};
typedef struct cw_scanner scanner;

/* A block as the scanner sees it: from its base, the restored level of rest. */
typedef struct {
    double start_s, length_s, x, up, down, beyond;
    double steady_s; /* since the last move of an event, at the end of the block */
    bool step;
} seen_block;

static void begin_event(scanner *s, double at_s, int sign)
{
    s->inside = true;
    s->plateau_s = 0;
    s->low_from_s = at_s;
    s->event = (cw_event){.channel = s->channel,
                          .from_s = at_s,
                          .before = s->rest,
                          .sign = sign,
                          .last_edge_s = at_s,
                          .cut_start = at_s < s->begins_s + 1.5 * s->block_s};
}

static cw_status end_event(scanner *s, cw_events *events, cw_error *err)
{
    s->inside = false;
    s->has_closed = s->has_closed || !s->event.is_move;
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

static bool is_ac(const scanner *s)
{
    return s->state->rate.value > 0;
}

/* Where the signal is now is rest. */
static void rebase(scanner *s, double x)
{
    s->zero += x;
    if (!is_ac(s))
        s->rest = s->zero;
}

static inline seen_block see_block(scanner *s, size_t b)
{
    const cw_overview *o = s->overview;
    size_t at = s->channel * o->capacity + b;
    double start_s = ((double)o->from + (double)b * (double)o->block_frames) / o->rate_hz;
    double length_s = b + 1 < o->count ? s->block_s : (double)cw_overview_frames(o, b) / o->rate_hz;
    double mean = cw_overview_mean(o, s->channel, b), drooped = 0;
    if (is_ac(s)) {
        double step = (mean - s->rest) * length_s;
        drooped = s->state->rate.value * (s->integral + step / 2);
        s->integral += step;
    }
    /* from block to block everything waits for `zero`: no more than one step hangs on it */
    double x = mean + drooped - s->zero, restored = x - mean;
    seen_block n = {.start_s = start_s,
                    .length_s = length_s,
                    .x = x,
                    .up = (double)o->most[at] + restored,
                    .down = -((double)o->least[at] + restored)};
    n.beyond = n.up > n.down ? n.up : n.down;
    double part = s->inside ? 0.25 * s->event.peak : 0, least = 0.6 * s->state->mean_threshold;
    n.step = cw_has_moved(&s->watch, start_s, n.x, part > least ? part : least) ||
             n.up + n.down > (part > s->state->threshold ? part : s->state->threshold);
    if (n.step)
        s->moved_s = start_s + length_s;
    if (s->inside && n.step)
        s->event.last_edge_s = start_s + length_s;
    n.steady_s = start_s + length_s - s->event.last_edge_s;
    return n;
}

/* Where the light stays. Behind an AC-coupled input every error of its time constant and of rest lets the restored
 * light drift: as long as nothing moves it is held where it had settled. */
static void follow_plateau(scanner *s, seen_block *n)
{
    if (n->step || n->steady_s < CLOSED_AFTER_S) {
        s->plateau_s = s->plateau_s < REST_MOVED_AFTER_S ? 0 : s->plateau_s; /* kept for what the step shows of it */
    } else if (n->steady_s - n->length_s < CLOSED_AFTER_S) {
        s->plateau = n->x;
        s->plateau_s = n->length_s;
    } else {
        double drift = fmin(n->length_s / PLATEAU_FOLLOWS_S, 1) * (n->x - s->plateau);
        s->plateau_s += n->length_s;
        if (is_ac(s)) {
            s->zero += drift;
            n->x -= drift;
        } else {
            s->plateau += drift;
        }
    }
}

/* Light that rises by as much again above where it had stayed: there it was dark, and rest is there. */
static bool was_rest(const scanner *s, const seen_block *n)
{
    return s->plateau_s > REST_MOVED_AFTER_S && !s->state->is_contact && n->x * s->plateau > 0 &&
           fabs(n->x) > fabs(s->plateau) + SURELY_LIGHT * s->state->light;
}

static cw_status plateau_is_rest(scanner *s, seen_block *n, cw_events *events, cw_error *err)
{
    double rest = s->plateau;
    s->event.is_move = true;
    s->event.cut_start = false;
    s->event.peak = fabs(rest);
    s->event.to_s = fmin(s->event.to_s, n->start_s - CLOSED_AFTER_S);
    CW_TRY(end_event(s, events, err));
    rebase(s, rest);
    n->x -= rest;
    n->up -= rest;
    n->down += rest;
    n->beyond = fmax(n->up, n->down);
    s->moved_s = n->start_s + n->length_s;
    return CW_OK;
}

/* Low and steady is closed, though the restored level may have drifted; and so is what fell without having risen: the
 * recording began in the light. */
static bool has_closed(scanner *s, const seen_block *n)
{
    if (!is_ac(s) || n->step || !(n->steady_s > CLOSED_AFTER_S))
        return false;
    bool fell = s->state->polarity != 0 && s->event.sign != s->state->polarity &&
                n->x * s->state->polarity < -SURELY_LIGHT * s->state->light && !s->has_closed;
    if (fell) {
        s->event.cut_start = true;
        s->event.from_s = s->begins_s;
    }
    return fell || fabs(n->x) < 0.3 * s->event.peak;
}

/* Steady for longer than any slit or blade takes, and far below the light, or on the other side of rest: that is rest
 * itself, which another lamp or daylight has moved. */
static bool is_moved_rest(scanner *s, const seen_block *n)
{
    bool darker = s->state->polarity != 0 && n->x * s->state->polarity < 0;
    if (s->state->is_contact || !(darker || fabs(n->x) < SURELY_LIGHT * s->state->light))
        s->low_from_s = n->start_s + n->length_s;
    return !n->step && fmin(n->steady_s, n->start_s + n->length_s - s->low_from_s) > REST_MOVED_AFTER_S;
}

/* Light that came and went meanwhile is an event all the same. */
static cw_status move_rest(scanner *s, const seen_block *n, cw_events *events, cw_error *err)
{
    s->event.is_move = !(s->event.peak > 2 * (fabs(n->x) + s->state->threshold));
    if (s->event.is_move) {
        s->event.peak = fabs(n->x);
        s->event.cut_start = false;
    }
    rebase(s, n->x);
    s->at_rest_s = 0;
    s->event.to_s = s->event.last_edge_s;
    return end_event(s, events, err);
}

static void follow_rest(scanner *s, const seen_block *n)
{
    s->at_rest_s += n->length_s;
    double followed_s = s->at_rest_s < REST_FOLLOWS_S ? s->at_rest_s : REST_FOLLOWS_S;
    rebase(s, (n->length_s < followed_s ? n->length_s / followed_s : 1) * n->x);
}

static cw_status scan_block(scanner *s, size_t b, cw_events *events, cw_error *err)
{
    seen_block n = see_block(s, b);
    if (s->inside)
        follow_plateau(s, &n);
    if (s->inside && was_rest(s, &n))
        CW_TRY(plateau_is_rest(s, &n, events, err));
    if (s->inside && has_closed(s, &n)) {
        s->event.to_s = s->event.last_edge_s;
        rebase(s, n.x);
        return end_event(s, events, err);
    }
    if (s->inside && is_moved_rest(s, &n))
        return move_rest(s, &n, events, err);
    if (n.beyond > s->state->threshold || fabs(n.x) > s->state->mean_threshold) {
        if (!s->inside && n.start_s - s->moved_s > MOVED_BEFORE_S) {
            rebase(s, fmin(n.length_s / REST_CREEPS_S, 1) * n.x);
            return CW_OK;
        }
        if (!s->inside)
            begin_event(s, n.start_s, n.up >= n.down ? 1 : -1);
        s->event.to_s = n.start_s + n.length_s;
        s->event.peak = fmax(s->event.peak, n.beyond);
        return CW_OK;
    }
    if (s->inside)
        return end_event(s, events, err);
    follow_rest(s, &n);
    return CW_OK;
}

/* Most blocks are rest, in which nothing moves and rest itself is followed: blocks from b on, each as scan_block would
 * take it, but with what changes from one to the next held in registers. Gives the first that is another. */
static size_t pass_rest(scanner *s, size_t b)
{
    const cw_overview *o = s->overview;
    const cw_channel_state *state = s->state;
    const float *lowest = o->least + s->channel * o->capacity, *highest = o->most + s->channel * o->capacity;
    const double *means = o->mean + s->channel * o->capacity, step_least = 0.6 * state->mean_threshold;
    double zero = s->zero, integral = s->integral, at_rest_s = s->at_rest_s;
    cw_move_watch watch = s->watch;
    for (; b + 1 < o->count; b++) {
        double start_s = ((double)o->from + (double)b * (double)o->block_frames) / o->rate_hz;
        double step = (means[b] - s->rest) * s->block_s, drooped = state->rate.value * (integral + step / 2);
        double x = means[b] + drooped - zero, up = (double)highest[b] + (x - means[b]);
        double down = -((double)lowest[b] + (x - means[b])), beyond = up > down ? up : down;
        if (fabs(x - watch.anchor) > step_least || up + down > state->threshold || beyond > state->threshold ||
            fabs(x) > state->mean_threshold)
            break;
        if (start_s - watch.anchor_s >= CW_MOVE_WITHIN_S)
            watch = (cw_move_watch){x, start_s};
        integral += step;
        at_rest_s += s->block_s;
        double followed_s = at_rest_s < REST_FOLLOWS_S ? at_rest_s : REST_FOLLOWS_S;
        zero += (s->block_s < followed_s ? s->block_s / followed_s : 1) * x;
    }
    s->watch = watch;
    s->zero = zero;
    s->at_rest_s = at_rest_s;
    if (is_ac(s))
        s->integral = integral;
    else
        s->rest = zero;
    return b;
}

static int by_start(const void *a, const void *b)
{
    const cw_event *x = a, *y = b;
    return (x->from_s > y->from_s) - (x->from_s < y->from_s);
}

static void sort_events(cw_events *events)
{
    if (events->count > 1)
        qsort(events->items, events->count, sizeof *events->items, by_start);
}

static void start_scan(scanner *s, const cw_overview *overview, size_t channel, const cw_channel_state *state)
{
    *s = (scanner){.channel = channel,
                   .state = state,
                   .begins_s = (double)overview->from / overview->rate_hz,
                   .block_s = (double)overview->block_frames / overview->rate_hz,
                   .moved_s = -INFINITY};
    s->rest = is_ac(s) ? state->rest : cw_rest_at_start(overview, channel, state);
    /* AC: whatever was before the recording, it is the base; light that it begins in falls below it */
    s->zero = is_ac(s) ? cw_overview_mean(overview, channel, 0) : s->rest;
}

/* The blocks of an overview that begins where the one before it ended. */
static cw_status go_on(scanner *s, const cw_overview *overview, cw_events *events, cw_error *err)
{
    s->overview = overview;
    for (size_t b = 0; b < overview->count; b++) {
        if (!s->inside)
            b = pass_rest(s, b);
        CW_TRY(scan_block(s, b, events, err));
    }
    return CW_OK;
}

static cw_status end_scan(scanner *s, cw_events *events, cw_error *err)
{
    s->event.cut_end = true;
    return s->inside ? end_event(s, events, err) : CW_OK;
}

cw_status cw_scan_channel(const cw_overview *overview, size_t channel, const cw_channel_state *state, cw_events *events,
                          cw_error *err)
{
    if (state->is_idle)
        return CW_OK;
    scanner s;
    start_scan(&s, overview, channel, state);
    CW_TRY(go_on(&s, overview, events, err));
    return end_scan(&s, events, err);
}

cw_status cw_scan_parts(cw_measuring *m, const cw_parts *parts, cw_error *err)
{
    scanner scanners[CW_CHANNELS_MOST];
    m->events.count = 0;
    for (size_t part = 0; part < parts->count; part++) {
        CW_TRY(cw_part_read(m, parts, part, err));
        for (size_t c = 0; c < m->info->channels; c++) {
            const cw_channel_state *state = &m->channels[c];
            if (state->is_idle || !(state->is_light || state->is_contact))
                continue;
            if (part == 0)
                start_scan(&scanners[c], &m->scanned, c, state);
            CW_TRY(go_on(&scanners[c], &m->scanned, &m->events, err));
            if (part + 1 == parts->count)
                CW_TRY(end_scan(&scanners[c], &m->events, err));
        }
    }
    sort_events(&m->events);
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

static void drop_events(cw_measuring *m, size_t channel)
{
    size_t kept = 0;
    for (size_t k = 0; k < m->events.count; k++)
        if (m->events.items[k].channel != channel)
            m->events.items[kept++] = m->events.items[k];
    m->events.count = kept;
}

/* What the excursions of a channel off its base are. */
typedef struct {
    bool are_shots;    /* else they are the dark between the shots, and the base is the light */
    bool is_told;      /* by shots so short that they can be nothing else */
    int light_goes_to; /* +1 or -1 */
} excursions;

/* What lasts less than a tenth of a second is a shot, for nobody winds so fast; where all is slow, the level at which
 * the recording begins and ends is rest, else the one on which more time goes by. */
static excursions look_at(const cw_events *events, size_t from, double least_peak, double length_s)
{
    const double shot_s = 0.1;
    size_t shots = 0, gaps = 0;
    double inside_s = 0, signs = 0, last_s = 0;
    bool still = false;
    for (size_t k = from; k < events->count; k++) {
        const cw_event *e = &events->items[k];
        if (e->is_move || e->peak < least_peak)
            continue;
        shots += e->to_s - e->from_s < shot_s && !e->cut_end && !e->cut_start;
        gaps += e->from_s - last_s < shot_s && last_s > 0;
        inside_s += e->to_s - e->from_s;
        signs += e->sign;
        last_s = e->to_s;
        still = e->cut_end;
    }
    bool are_shots = shots != gaps ? shots > gaps : !still || inside_s < length_s / 2;
    return (excursions){are_shots, shots != gaps, (signs >= 0) == are_shots ? 1 : -1};
}

static double scanned_s(const cw_measuring *m)
{
    return (double)m->scanned.frames / m->scanned.rate_hz;
}

/* The events of an AC-coupled channel once more, on the restored signal. */
static cw_status restore_events(cw_measuring *m, size_t channel, cw_error *err)
{
    cw_channel_state *state = &m->channels[channel];
    drop_events(m, channel);
    state->rest = isfinite(state->settles_at) ? state->settles_at : cw_mean_of_channel(&m->scanned, channel);
    CW_TRY(cw_scan_thresholds(&m->scanned, channel, state, err));
    cw_events any = {0};
    state->polarity = 0;
    cw_status status = cw_scan_channel(&m->scanned, channel, state, &any, err);
    if (status == CW_OK)
        state->polarity = look_at(&any, 0, SURELY_LIGHT * state->light, scanned_s(m)).light_goes_to;
    free(any.items);
    return status == CW_OK ? cw_scan_channel(&m->scanned, channel, state, &m->events, err) : status;
}

/* Those of a DC-coupled one, now that its polarity is known. A recording that begins and ends in the light has taken
 * that for rest; its short shots tell. */
static cw_status rescan_events(cw_measuring *m, size_t channel, cw_error *err)
{
    cw_channel_state *state = &m->channels[channel];
    double surely = SURELY_LIGHT * state->light;
    drop_events(m, channel);
    size_t before = m->events.count;
    CW_TRY(cw_scan_channel(&m->scanned, channel, state, &m->events, err));
    excursions found = look_at(&m->events, before, surely, scanned_s(m));
    if (found.are_shots || !found.is_told || fabs(state->commonest - state->rest) < surely)
        return CW_OK;
    drop_events(m, channel);
    state->rest = state->commonest;
    state->polarity = found.light_goes_to;
    CW_TRY(cw_scan_thresholds(&m->scanned, channel, state, err));
    return cw_scan_channel(&m->scanned, channel, state, &m->events, err);
}

cw_status cw_find_events(cw_measuring *m, cw_error *err)
{
    for (size_t c = 0; c < m->info->channels; c++) {
        cw_channel_state *state = &m->channels[c];
        if (!state->is_light && !state->is_contact)
            continue;
        if (state->is_contact)
            CW_TRY(cw_scan_levels(&m->scanned, c, state, err));
        size_t before = m->events.count;
        CW_TRY(cw_scan_channel(&m->scanned, c, state, &m->events, err));
        bool any = false;
        for (size_t k = before; k < m->events.count; k++)
            any = any || !m->events.items[k].is_move;
        state->is_idle = state->is_idle || !any;
        if (state->is_light && !state->is_idle)
            CW_TRY(cw_find_coupling(m, c, err));
    }
    cw_share_coupling(m);
    for (size_t c = 0; c < m->info->channels; c++)
        if (m->channels[c].is_ac) {
            CW_TRY(restore_events(m, c, err));
        } else if (m->channels[c].is_light && !m->channels[c].is_idle) {
            CW_TRY(rescan_events(m, c, err));
        }
    sort_events(&m->events);
    return CW_OK;
}
