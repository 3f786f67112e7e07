/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Is the input AC coupled, with which time constant, and which way does light move the signal?
 *
 * Through one high-pass pole the recorded y and the true x are bound by x(t) = y(t) + (1/tau) * integral y dt.
 * Between steps of light x is constant: y falls on a straight line over its own integral, of slope -1/tau, whatever the
 * light did before. Behind a shutter that has closed x is zero again, and that line goes through the origin. */
#include <math.h>
#include <stdlib.h>

#include "shutter/measure_droop.h"
#include "shutter/measure_parts.h"

/* 100 ms: five periods of 50 Hz and six of 60 Hz, so that hum leaves the mean of rest alone. */
static const double REST_WINDOW_S = 0.1, TAIL_MOST_S = 0.4, TAIL_LEAST_S = 0.008, SETTLED_AFTER_S = 0.003;
/* Blocks of more than this are too coarse to see a tail in: the event is read again. */
static const double COARSE_BLOCK_S = 1.5e-3;
/* Time constants that an input can have; longer ones do nothing to a shutter's times. */
static const double TAU_LEAST_S = 0.5e-3, TAU_MOST_S = 5;
/* A droop of less than this part of the light is below what any figure here resolves. */
static const double DROOP_LEAST = 0.004;
enum { EVENTS_MOST = 96, TAIL_BLOCKS_MOST = 4096 };

/* What the tail of one event says. */
typedef struct {
    double peak;
    int sign;
    double mean_y, mean_i;   /* over the tail */
    cw_quantity closed_rate; /* if the shutter is closed in the tail */
} evidence;

static size_t block_after(const cw_overview *o, double at_s)
{
    double b = ceil((at_s * o->rate_hz - (double)o->from) / (double)o->block_frames - 1e-6);
    return b <= 0 ? 0 : b >= (double)o->count ? o->count : (size_t)b;
}

/* Rest before an event. */
typedef struct {
    double mean, slope, u_slope; /* a second */
    double scatter;              /* of block means about the mean */
    double shared;               /* how many neighbours share their noise: 1 when it is white */
    size_t count;
} rest_found;

static bool rest_before(const cw_overview *o, const cw_event *e, double earliest_s, rest_found *r)
{
    size_t end = block_after(o, e->from_s);
    size_t first = block_after(o, fmax(earliest_s, e->from_s - REST_WINDOW_S - SETTLED_AFTER_S));
    size_t off = (size_t)ceil(SETTLED_AFTER_S * o->rate_hz / (double)o->block_frames);
    end = end > off ? end - off : 0;
    if (end < first + 4)
        return false;
    double mean = 0, products = 0, squares = 0, moments = 0, steps = 0, n = (double)(end - first), previous = 0;
    for (size_t b = first; b < end; b++)
        mean += cw_overview_mean(o, e->channel, b) / n;
    for (size_t b = first; b < end; b++) {
        double d = (double)b - (double)(first + end - 1) / 2, y = cw_overview_mean(o, e->channel, b) - mean;
        products += d * y;
        moments += d * d;
        squares += y * y;
        steps += b > first ? (y - previous) * (y - previous) / 2 : 0;
        previous = y;
    }
    double block_s = (double)o->block_frames / o->rate_hz, scatter = sqrt(squares / (n - 1));
    /* white noise steps as far as it scatters; where it does not, ten milliseconds count as one value */
    double shared = sqrt(steps / (n - 1)) > 0.85 * scatter ? 1 : fmax(1, 0.01 / block_s);
    *r = (rest_found){.mean = mean,
                      .slope = products / moments / block_s,
                      .u_slope = scatter * sqrt(shared / moments) / block_s,
                      .scatter = scatter,
                      .shared = shared,
                      .count = end - first};
    return true;
}

/* The last move of the event, on what `droop` restores. */
static double last_edge(const cw_overview *o, const cw_event *e, const cw_droop *droop)
{
    size_t first = block_after(o, e->from_s), end = block_after(o, e->to_s);
    double found = e->from_s, block_s = (double)o->block_frames / o->rate_hz, integral = 0;
    cw_move_watch watch = {0, -INFINITY};
    for (size_t b = first > 0 ? first - 1 : 0; b <= end && b < o->count; b++) {
        size_t at = e->channel * o->capacity + b;
        double y = cw_overview_mean(o, e->channel, b) - droop->rest;
        double x = y + droop->rate * (integral + y * block_s / 2);
        integral += y * block_s;
        if (cw_has_moved(&watch, (double)b * block_s, x, 0.25 * e->peak) ||
            (double)o->most[at] - (double)o->least[at] > 0.3 * e->peak)
            found = ((double)o->from + (double)(b + 1) * (double)o->block_frames) / o->rate_hz;
    }
    return found;
}

static bool tail_says(const cw_overview *o, const cw_event *e, double earliest_s, double latest_s,
                      const cw_droop *droop, evidence *out)
{
    double integral = 0, block_s = (double)o->block_frames / o->rate_hz;
    size_t n = 0;
    rest_found rest;
    if (!rest_before(o, e, earliest_s, &rest))
        return false;
    /* where nothing droops for sure, what was before is rest */
    cw_droop falls = isfinite(droop->rest) ? *droop : (cw_droop){droop->rate, rest.mean};
    double from_s = last_edge(o, e, &falls) + SETTLED_AFTER_S,
           to_s = fmin(fmax(e->to_s, from_s) + TAIL_MOST_S, latest_s);
    if (to_s > from_s + TAIL_MOST_S)
        to_s = from_s + TAIL_MOST_S;
    size_t first = block_after(o, from_s), end = block_after(o, to_s);
    double y[TAIL_BLOCKS_MOST], i[TAIL_BLOCKS_MOST], mean_y = 0, mean_i = 0;
    size_t told = 0, begin = block_after(o, e->from_s) > 2 ? block_after(o, e->from_s) - 2 : 0;
    double u_mean = rest.scatter * sqrt(rest.shared / (double)rest.count), step = rest.scatter * sqrt(rest.shared);
    for (size_t b = begin; b < end; b++) {
        double level = cw_overview_mean(o, e->channel, b), above = level - falls.rest, since = (double)(b - begin) + 1;
        if (b >= first && n < TAIL_BLOCKS_MOST) {
            y[n] = level - rest.mean;
            i[n] = integral + above * block_s / 2;
            /* from where the integral could be noise alone, it would only pull the slope towards 0 */
            double noise = block_s * block_s * since * (u_mean * u_mean * since + step * step);
            if (told == n && i[n] * i[n] > 16 * noise)
                told++;
            n++;
        }
        integral += above * block_s;
    }
    /* when most of the undershoot has gone, only noise is left to look at */
    while (n > 6 && fabs(i[n - 1]) < 0.15 * fabs(i[0]))
        n--;
    if (n < 6 || (double)n * block_s < TAIL_LEAST_S)
        return false;
    bool tells = told >= 6 && (double)told * block_s >= TAIL_LEAST_S;
    n = tells && told < n ? told : n;
    double products = 0, squares = 0, sum = 0;
    for (size_t k = 0; k < n; k++) {
        mean_y += y[k] / (double)n;
        mean_i += i[k] / (double)n;
        products += y[k] * i[k];
        squares += i[k] * i[k];
        sum += i[k];
    }
    cw_quantity closed_rate = {0, INFINITY};
    if (squares > 0 && tells) {
        /* what rest before does not show of its drift it may still do behind */
        double middle_s = from_s + (double)n * block_s / 2,
               drift = hypot(fmax(fabs(rest.slope) - rest.u_slope, 0), rest.u_slope);
        double u_rest = hypot(u_mean, drift * (middle_s - e->from_s));
        double u = hypot(u_rest * fabs(sum), rest.scatter * sqrt(rest.shared * squares));
        closed_rate = (cw_quantity){-products / squares, u / squares};
    }
    *out = (evidence){e->peak, e->sign, mean_y, mean_i, closed_rate};
    return true;
}

/* Adds what the stretches say to `runs`. The rest is NaN unless they are sure. */
static cw_status droop_of(const cw_overview *o, size_t channel, const cw_channel_state *state, cw_pool *runs,
                          cw_droop *droop, cw_error *err)
{
    double span = state->highest - state->lowest;
    cw_pool own = {0};
    CW_TRY(cw_droop_roughly(o, channel, state->rest, span, droop, err));
    /* what droops settles among its own values; rest that drifts seems to fall to somewhere far away */
    if (droop->rest < state->lowest || droop->rest > state->highest)
        droop->rest = state->rest;
    CW_TRY(cw_droop_of_stretches(o, channel, span, state->quiet, droop, &own, err));
    cw_quantity rate = cw_pool_mean(&own);
    if (!(rate.value > 5 * rate.u) || droop->rest < state->lowest || droop->rest > state->highest)
        droop->rest = NAN;
    runs->sum += own.sum;
    runs->squares += own.squares;
    runs->weight += own.weight;
    runs->count += own.count;
    return CW_OK;
}

/* The events as they are if the channel droops so: a droop breaks them up into rises and falls. */
static cw_status scan_restored(const cw_overview *o, size_t channel, const cw_channel_state *state,
                               const cw_droop *droop, cw_events *events, cw_error *err)
{
    cw_channel_state drooping = *state;
    drooping.rate = (cw_quantity){droop->rate, 0};
    drooping.rest = droop->rest;
    drooping.polarity = 0;
    CW_TRY(cw_scan_thresholds(o, channel, &drooping, err));
    return cw_scan_channel(o, channel, &drooping, events, err);
}

static bool is_coarse(const cw_overview *o)
{
    return (double)o->block_frames / o->rate_hz > COARSE_BLOCK_S;
}

static cw_status evidence_of(cw_measuring *m, const cw_event *e, double earliest_s, double latest_s,
                             const cw_droop *droop, cw_pool *runs, bool *has, evidence *out, cw_error *err)
{
    *has = false;
    if (!is_coarse(&m->scanned)) {
        *has = tail_says(&m->scanned, e, earliest_s, latest_s, droop, out);
        return CW_OK;
    }
    double from_s = fmax(earliest_s, e->from_s - 2 * REST_WINDOW_S), to_s = fmin(latest_s, e->to_s + TAIL_MOST_S);
    if (!(to_s > from_s) || to_s - from_s > 20)
        return CW_OK;
    cw_overview local;
    CW_TRY(cw_overview_read(m->source, (uint64_t)(fmax(from_s, 0) * m->info->rate_hz),
                            (uint64_t)(to_s * m->info->rate_hz), 64, TAIL_BLOCKS_MOST * 4, &local, err));
    cw_events near = {0};
    cw_channel_state state = m->channels[e->channel];
    state.rest = e->before;
    cw_droop own = {0, NAN};
    cw_status status = droop_of(&local, e->channel, &state, runs, &own, err);
    if (status == CW_OK)
        status = isfinite(own.rest) ? scan_restored(&local, e->channel, &state, &own, &near, err)
                                    : cw_scan_channel(&local, e->channel, &state, &near, err);
    if (status == CW_OK && near.count > 0 && !near.items[near.count - 1].is_move)
        *has = tail_says(&local, &near.items[near.count - 1], from_s, to_s, &own, out);
    free(near.items);
    cw_overview_free(&local);
    return status;
}

/* Which way light goes: the first move of what opened and closed within one event; else that of the first event. */
static int vote(const evidence *seen, size_t n, double rate, int first_sign)
{
    double votes = 0;
    for (size_t k = 0; k < n; k++)
        if (fabs(seen[k].mean_y + rate * seen[k].mean_i) < 0.35 * seen[k].peak)
            votes += seen[k].sign;
    return votes > 0 ? 1 : votes < 0 ? -1 : first_sign;
}

/* What the stretches without steps say, and the tails behind closed shutters; both when they agree. */
static void decide(cw_coupling coupling, const evidence *seen, size_t n, cw_quantity runs, int first_sign,
                   cw_channel_state *state)
{
    const double slowest = 1 / TAU_MOST_S, fastest = 1 / TAU_LEAST_S;
    bool runs_say = runs.value > 5 * runs.u && runs.value > slowest && runs.value < fastest;
    bool runs_deny = !runs_say && fabs(runs.value) + 3 * runs.u < slowest;
    double guess = runs_say ? runs.value : 0, droop = 0;
    cw_pool closed_pool = {0};
    size_t closed_count = 0;
    for (size_t k = 0; k < n; k++)
        if (fabs(seen[k].mean_y + guess * seen[k].mean_i) < 0.35 * seen[k].peak) {
            cw_pool_add(&closed_pool, seen[k].closed_rate);
            closed_count++;
        }
    cw_quantity closed = cw_pool_mean(&closed_pool), rate = runs_say ? runs : closed;
    for (size_t k = 0; k < n; k++)
        droop = fmax(droop, closed.value * fabs(seen[k].mean_i) / seen[k].peak);
    bool closed_says =
        closed.value > 5 * closed.u && closed.value > slowest && closed.value < fastest && droop > DROOP_LEAST;
    /* light that fades while on and leaves no undershoot is a lamp, or a slow detector */
    bool closed_denies = closed_count > 0 && closed.u < 0.1 * guess && closed.value < 0.2 * guess;
    if (runs_say && closed_says && fabs(guess - closed.value) < 0.3 * closed.value) {
        cw_pool both = {0};
        cw_pool_add(&both, closed);
        cw_pool_add(&both, runs);
        rate = cw_pool_mean(&both);
    }
    state->is_surely_dc = runs_say ? closed_denies : runs_deny;
    bool found = runs_say ? !closed_denies : closed_says && !runs_deny;
    if (coupling == CW_COUPLING_AC)
        found = rate.value > 0 && isfinite(rate.u);
    if (found && coupling != CW_COUPLING_DC) {
        state->is_ac = true;
        state->rate = rate;
    } else if (coupling == CW_COUPLING_AUTO && !state->is_surely_dc) {
        double u = fmin(runs.u, closed.u);
        state->rate = (cw_quantity){0, isfinite(u) ? u : 0};
    }
    state->polarity = vote(seen, n, state->rate.value, first_sign);
}

/* The next event of the channel that is no scrap of an undershoot crossing the threshold; events->count for none. */
static size_t next_major(const cw_events *events, size_t from, size_t channel, double peak_least)
{
    while (from < events->count && (events->items[from].channel != channel || events->items[from].is_move ||
                                    events->items[from].peak < peak_least))
        from++;
    return from;
}

/* What closed shutters leave behind, from events->count events of the channel. */
static cw_status gather_evidence(cw_measuring *m, size_t channel, const cw_events *events, const cw_droop *droop,
                                 cw_pool *runs, evidence *seen, size_t *seen_count, int *first_sign, cw_error *err)
{
    size_t mine = 0, taken = 0;
    double highest = 0, previous_end_s = 0;
    for (size_t k = 0; k < events->count; k++)
        if (events->items[k].channel == channel && !events->items[k].is_move) {
            highest = fmax(highest, events->items[k].peak);
            mine++;
        }
    size_t stride = mine / EVENTS_MOST + 1, k = next_major(events, 0, channel, 0.3 * highest);
    *seen_count = 0;
    *first_sign = k < events->count ? events->items[k].sign : 1;
    while (k < events->count) {
        const cw_event *e = &events->items[k];
        size_t next = next_major(events, k + 1, channel, 0.3 * highest);
        double latest_s = next < events->count ? events->items[next].from_s - SETTLED_AFTER_S : m->info->length_s;
        bool has = false;
        if (taken++ % stride == 0 && !e->cut_start && *seen_count < EVENTS_MOST)
            CW_TRY(evidence_of(m, e, previous_end_s, latest_s, droop, runs, &has, &seen[*seen_count], err));
        *seen_count += has;
        previous_end_s = e->to_s;
        k = next;
    }
    return CW_OK;
}

cw_status cw_find_coupling(cw_measuring *m, size_t channel, cw_error *err)
{
    cw_channel_state *state = &m->channels[channel];
    cw_pool runs = {0};
    cw_droop droop = {0, NAN};
    cw_events restored = {0};
    if (!is_coarse(&m->scanned))
        CW_TRY(droop_of(&m->scanned, channel, state, &runs, &droop, err));
    evidence seen[EVENTS_MOST];
    size_t count = 0;
    int first_sign = 1;
    cw_status status = CW_OK;
    if (isfinite(droop.rest))
        status = scan_restored(&m->scanned, channel, state, &droop, &restored, err);
    if (status == CW_OK)
        status = gather_evidence(m, channel, restored.count > 0 ? &restored : &m->events, &droop, &runs, seen, &count,
                                 &first_sign, err);
    free(restored.items);
    if (status != CW_OK)
        return status;
    decide(m->setup.coupling, seen, count, cw_pool_mean(&runs), first_sign, state);
    state->settles_at = state->is_ac ? droop.rest : NAN;
    return CW_OK;
}

void cw_share_coupling(cw_measuring *m)
{
    cw_pool known = {0};
    for (size_t k = 0; k < m->light_count; k++)
        if (m->channels[m->light[k]].is_ac)
            cw_pool_add(&known, m->channels[m->light[k]].rate);
    if (known.count == 0 || m->setup.coupling == CW_COUPLING_DC)
        return;
    for (size_t k = 0; k < m->light_count; k++) {
        cw_channel_state *state = &m->channels[m->light[k]];
        if (state->is_ac || state->is_idle || state->is_surely_dc)
            continue;
        state->is_ac = true;
        state->rate = cw_pool_mean(&known);
        /* parts of one value differ by a few hundredths */
        state->rate.u = hypot(state->rate.u, 0.05 * state->rate.value);
    }
}
