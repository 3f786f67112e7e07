/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Is the input AC coupled, with which time constant, and which way does light move the signal?
 *
 * Through one high-pass pole the recorded y and the true x are bound by x(t) = y(t) + (1/tau) * integral y dt.
 * Between steps of light x is constant: y falls on a straight line over its own integral, of slope -1/tau, whatever the
 * light did before. Behind a shutter that has closed x is zero again, and that line goes through the origin. */
#include <math.h>
#include <stdlib.h>

#include "base/stats.h"
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

typedef struct {
    double sum, squares, weight;
    size_t count;
} pool;

static void pool_add(pool *p, cw_quantity q)
{
    if (!isfinite(q.u) || !(q.u > 0))
        return;
    double w = 1 / (q.u * q.u);
    p->sum += w * q.value;
    p->squares += w * q.value * q.value;
    p->weight += w;
    p->count++;
}

static cw_quantity pool_mean(const pool *p)
{
    if (!(p->weight > 0))
        return (cw_quantity){0, INFINITY};
    double mean = p->sum / p->weight, chi = fmax(p->squares - p->sum * mean, 0);
    double wider = p->count > 1 ? fmax(1, chi / (double)(p->count - 1)) : 1; /* Birge ratio */
    return (cw_quantity){mean, sqrt(wider / p->weight)};
}

/* A stretch without steps: there x is constant whatever it is, and y falls along its own integral with slope -1/tau, or
 * stays where it is when the input is DC coupled. Only stretches well away from the mean tell. */
static void add_run(const cw_overview *o, size_t channel, size_t first, size_t end, double mean, double span,
                    pool *runs)
{
    enum { PARTS_MOST = 256 };
    double block_s = (double)o->block_frames / o->rate_hz, y[PARTS_MOST], i[PARTS_MOST], integral = 0, away = 0,
           middle = 0;
    size_t together = (end - first) / PARTS_MOST + 1, n = 0;
    if ((double)(end - first) * block_s < TAIL_LEAST_S)
        return;
    for (size_t b = first; b + together <= end && n < PARTS_MOST; b += together, n++) {
        double sum = 0;
        for (size_t k = 0; k < together; k++)
            sum += cw_overview_mean(o, channel, b + k) - mean;
        y[n] = sum / (double)together;
        i[n] = integral + sum * block_s / 2;
        integral += sum * block_s;
        away += fabs(y[n]);
        middle += i[n];
    }
    cw_error ignored; /* a stretch that holds no slope tells nothing */
    cw_line line;
    if (n < 6 || away / (double)n < 0.06 * span || cw_line_fit(n, i, y, middle / (double)n, &line, &ignored) != CW_OK)
        return;
    double shared = fmax(1, 0.01 / ((double)together * block_s));
    pool_add(runs, (cw_quantity){-line.slope.value, line.slope.u * sqrt(shared)});
}

static size_t block_after(const cw_overview *o, double at_s)
{
    double b = ceil((at_s * o->rate_hz - (double)o->from) / (double)o->block_frames - 1e-6);
    return b <= 0 ? 0 : b >= (double)o->count ? o->count : (size_t)b;
}

/* The stretches between moves of the light, which `rough` restores well enough to see them. */
static void add_runs(const cw_overview *o, size_t channel, double mean, double span, double rough, pool *runs)
{
    double block_s = (double)o->block_frames / o->rate_hz, integral = 0;
    size_t guard = (size_t)ceil(SETTLED_AFTER_S / block_s), from = 0;
    cw_move_watch watch = {0, 0};
    for (size_t b = 0; b <= o->count; b++) {
        bool step = b == o->count;
        if (!step) {
            size_t at = channel * o->capacity + b;
            double y = cw_overview_mean(o, channel, b) - mean, x = y + rough * (integral + y * block_s / 2);
            step = cw_has_moved(&watch, (double)b * block_s, x, 0.12 * span) ||
                   (double)o->most[at] - (double)o->least[at] > 0.3 * span;
            integral += y * block_s;
        }
        if (!step)
            continue;
        /* in pieces, each twice as long as the one before: a short time constant is told by the beginning alone */
        size_t end = b == o->count ? b : b > guard ? b - guard : 0, piece = 3 * guard;
        for (; from + guard < end; from += piece / 2) {
            add_run(o, channel, from, from + piece < end ? from + piece : end, mean, span, runs);
            piece *= 2;
        }
        from = b + guard;
    }
}

typedef struct {
    double rate, weight;
} rate_of_block;

static int by_rate(const void *a, const void *b)
{
    const rate_of_block *x = a, *y = b;
    return (x->rate > y->rate) - (x->rate < y->rate);
}

/* The rate that makes the restored signal move least in all: sum |dy + rate y dt| has its minimum at the weighted
 * median of -dy / (y dt), which the moves of blades and curtains, few and large, do not draw away. 0 when nothing is
 * told. */
static cw_status rough_rate(const cw_overview *o, size_t channel, double mean, double span, double *rate, cw_error *err)
{
    enum { RATES_ENOUGH = 4096 };
    double block_s = (double)o->block_frames / o->rate_hz, weight = 0, sum = 0;
    *rate = 0;
    rate_of_block *blocks = malloc((o->count + 1) * sizeof *blocks);
    if (blocks == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu blocks", o->count);
    size_t n = 0;
    for (size_t b = 1; b < o->count; b++) {
        double y = cw_overview_mean(o, channel, b) - mean, before = cw_overview_mean(o, channel, b - 1) - mean;
        double middle = (y + before) / 2;
        if (fabs(middle) < 0.06 * span)
            continue;
        blocks[n++] = (rate_of_block){-(y - before) / (middle * block_s), fabs(middle)};
    }
    /* some thousand of them, spread over the recording, have the same median as all */
    size_t thin = n / RATES_ENOUGH + 1;
    n /= thin;
    for (size_t i = 0; i < n; i++) {
        blocks[i] = blocks[i * thin];
        weight += blocks[i].weight;
    }
    qsort(blocks, n, sizeof *blocks, by_rate);
    for (size_t i = 0; i < n && sum < weight / 2; i++) {
        sum += blocks[i].weight;
        *rate = fmax(blocks[i].rate, 0);
    }
    free(blocks);
    return CW_OK;
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

/* The last move of the event, on what `rough` restores. */
static double last_edge(const cw_overview *o, const cw_event *e, double rest, double rough)
{
    size_t first = block_after(o, e->from_s), end = block_after(o, e->to_s);
    double found = e->from_s, block_s = (double)o->block_frames / o->rate_hz, integral = 0;
    cw_move_watch watch = {0, -INFINITY};
    for (size_t b = first > 0 ? first - 1 : 0; b <= end && b < o->count; b++) {
        size_t at = e->channel * o->capacity + b;
        double y = cw_overview_mean(o, e->channel, b) - rest, x = y + rough * (integral + y * block_s / 2);
        integral += y * block_s;
        if (cw_has_moved(&watch, (double)b * block_s, x, 0.25 * e->peak) ||
            (double)o->most[at] - (double)o->least[at] > 0.3 * e->peak)
            found = ((double)o->from + (double)(b + 1) * (double)o->block_frames) / o->rate_hz;
    }
    return found;
}

static bool tail_says(const cw_overview *o, const cw_event *e, double earliest_s, double latest_s, double rough,
                      evidence *out)
{
    double integral = 0, block_s = (double)o->block_frames / o->rate_hz;
    size_t n = 0;
    rest_found rest;
    if (!rest_before(o, e, earliest_s, &rest))
        return false;
    double from_s = last_edge(o, e, rest.mean, rough) + SETTLED_AFTER_S,
           to_s = fmin(fmax(e->to_s, from_s) + TAIL_MOST_S, latest_s);
    if (to_s > from_s + TAIL_MOST_S)
        to_s = from_s + TAIL_MOST_S;
    size_t first = block_after(o, from_s), end = block_after(o, to_s);
    double y[TAIL_BLOCKS_MOST], i[TAIL_BLOCKS_MOST], mean_y = 0, mean_i = 0;
    size_t told = 0, begin = block_after(o, e->from_s) > 2 ? block_after(o, e->from_s) - 2 : 0;
    double u_mean = rest.scatter * sqrt(rest.shared / (double)rest.count), step = rest.scatter * sqrt(rest.shared);
    for (size_t b = begin; b < end; b++) {
        double above = cw_overview_mean(o, e->channel, b) - rest.mean, since = (double)(b - begin) + 1;
        if (b >= first && n < TAIL_BLOCKS_MOST) {
            y[n] = above;
            i[n] = integral + above * block_s / 2;
            /* from where the integral could be noise alone, it would only pull the slope towards 0 */
            if (told == n && fabs(i[n]) > 4 * block_s * hypot(u_mean * since, step * sqrt(since)))
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
        double middle_s = from_s + (double)n * block_s / 2, drift = fmax(fabs(rest.slope) - rest.u_slope, 0);
        double u_rest = hypot(u_mean, drift * (middle_s - e->from_s));
        double u = hypot(u_rest * fabs(sum), rest.scatter * sqrt(rest.shared * squares));
        closed_rate = (cw_quantity){-products / squares, u / squares};
    }
    *out = (evidence){e->peak, e->sign, mean_y, mean_i, closed_rate};
    return true;
}

static cw_status evidence_of(cw_measuring *m, const cw_event *e, double earliest_s, double latest_s, double rough,
                             pool *runs, bool *has, evidence *out, cw_error *err)
{
    *has = false;
    if ((double)m->overview.block_frames / m->info->rate_hz <= COARSE_BLOCK_S) {
        *has = tail_says(&m->overview, e, earliest_s, latest_s, rough, out);
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
    cw_status status = cw_scan_channel(&local, e->channel, &state, &near, err);
    double mean = cw_mean_of_channel(&m->overview, e->channel), span = state.highest - state.lowest;
    if (status == CW_OK)
        status = rough_rate(&local, e->channel, mean, span, &rough, err);
    if (status == CW_OK && near.count > 0)
        *has = tail_says(&local, &near.items[near.count - 1], from_s, to_s, rough, out);
    add_runs(&local, e->channel, mean, span, rough, runs);
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
    pool closed_pool = {0};
    size_t closed_count = 0;
    for (size_t k = 0; k < n; k++)
        if (fabs(seen[k].mean_y + guess * seen[k].mean_i) < 0.35 * seen[k].peak) {
            pool_add(&closed_pool, seen[k].closed_rate);
            closed_count++;
        }
    cw_quantity closed = pool_mean(&closed_pool), rate = runs_say ? runs : closed;
    for (size_t k = 0; k < n; k++)
        droop = fmax(droop, closed.value * fabs(seen[k].mean_i) / seen[k].peak);
    bool closed_says =
        closed.value > 5 * closed.u && closed.value > slowest && closed.value < fastest && droop > DROOP_LEAST;
    /* light that fades while on and leaves no undershoot is a lamp, or a slow detector */
    bool closed_denies = closed_count > 0 && closed.u < 0.1 * guess && closed.value < 0.2 * guess;
    if (runs_say && closed_says && fabs(guess - closed.value) < 0.3 * closed.value) {
        pool both = {0};
        pool_add(&both, closed);
        pool_add(&both, runs);
        rate = pool_mean(&both);
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
    while (from < events->count && (events->items[from].channel != channel || events->items[from].peak < peak_least))
        from++;
    return from;
}

cw_status cw_find_coupling(cw_measuring *m, size_t channel, cw_error *err)
{
    cw_channel_state *state = &m->channels[channel];
    size_t mine = 0, taken = 0, seen_count = 0;
    double highest = 0, previous_end_s = 0;
    for (size_t k = 0; k < m->events.count; k++)
        if (m->events.items[k].channel == channel) {
            highest = fmax(highest, m->events.items[k].peak);
            mine++;
        }
    pool runs = {0};
    double rough = 0, mean = cw_mean_of_channel(&m->overview, channel), span = state->highest - state->lowest;
    if ((double)m->overview.block_frames / m->info->rate_hz <= COARSE_BLOCK_S) {
        CW_TRY(rough_rate(&m->overview, channel, mean, span, &rough, err));
        add_runs(&m->overview, channel, mean, span, rough, &runs);
    }
    size_t stride = mine / EVENTS_MOST + 1, k = next_major(&m->events, 0, channel, 0.3 * highest);
    evidence seen[EVENTS_MOST];
    int first_sign = k < m->events.count ? m->events.items[k].sign : 1;
    while (k < m->events.count) {
        const cw_event *e = &m->events.items[k];
        size_t next = next_major(&m->events, k + 1, channel, 0.3 * highest);
        double latest_s = next < m->events.count ? m->events.items[next].from_s - SETTLED_AFTER_S : m->info->length_s;
        bool has = false;
        if (taken++ % stride == 0 && !e->cut_start && seen_count < EVENTS_MOST)
            CW_TRY(evidence_of(m, e, previous_end_s, latest_s, rough, &runs, &has, &seen[seen_count], err));
        seen_count += has;
        previous_end_s = e->to_s;
        k = next;
    }
    decide(m->setup.coupling, seen, seen_count, pool_mean(&runs), first_sign, state);
    return CW_OK;
}

void cw_share_coupling(cw_measuring *m)
{
    pool known = {0};
    for (size_t k = 0; k < m->light_count; k++)
        if (m->channels[m->light[k]].is_ac)
            pool_add(&known, m->channels[m->light[k]].rate);
    if (known.count == 0 || m->setup.coupling == CW_COUPLING_DC)
        return;
    for (size_t k = 0; k < m->light_count; k++) {
        cw_channel_state *state = &m->channels[m->light[k]];
        if (state->is_ac || state->is_idle || state->is_surely_dc)
            continue;
        state->is_ac = true;
        state->rate = pool_mean(&known);
        /* parts of one value differ by a few hundredths */
        state->rate.u = hypot(state->rate.u, 0.05 * state->rate.value);
    }
}
