/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A comparator on each detector: the edges that a gate or a logic analyser sees. */
#include "sim/inside.h"

#include <math.h>
#include <stdlib.h>

#include "base/buf.h"

enum { EDGES_MOST = 4000000, CHANCE_COMPARATOR = 200 };
static const double STEP_S = 1e-6;

typedef struct {
    cw_sim_edge *items;
    size_t count, capacity;
    double clock, resolution_s;
} edge_list;

static cw_status add(edge_list *list, double at_s, size_t channel, bool level, cw_error *err)
{
    CW_TRY(cw_grow(&list->items, &list->capacity, list->count + 1, sizeof *list->items, EDGES_MOST, "edges", err));
    double at = rint(at_s * list->clock / list->resolution_s) * list->resolution_s;
    const cw_sim_edge *last = list->count > 0 ? &list->items[list->count - 1] : NULL;
    if (last != NULL && last->channel == channel && last->at_s == at) {
        list->count--; /* there and back within one tick: nobody sees it */
        return CW_OK;
    }
    list->items[list->count++] = (cw_sim_edge){at, (unsigned)channel, level};
    return CW_OK;
}

typedef struct {
    const cw_sim *sim;
    size_t sensor;
    double low, high; /* thresholds in fractions of the full level */
    double noise, hum;
    double lag, input, signal;
    bool level;
    sim_chance chance;
} comparator;

static double lamp(const cw_sim *sim, double t_s)
{
    const cw_sim_beam *beam = &sim->scenario.beam;
    return 1 + beam->flicker * sin(4 * M_PI * beam->mains_hz * t_s);
}

/* One step of at most a microsecond or a twentieth of the lag, whichever is longer. */
static cw_status step(comparator *c, double from_s, double to_s, double light, edge_list *list, cw_error *err)
{
    const cw_sim_detector *d = &c->sim->scenario.detector;
    double input = light * lamp(c->sim, to_s), h = to_s - from_s;
    if (d->lag_s > 0) {
        double ramp = (input - c->input) / h * d->lag_s;
        c->lag = input - ramp + (c->lag - c->input + ramp) * exp(-h / d->lag_s);
    } else {
        c->lag = input;
    }
    c->input = input;
    double signal = d->saturation > 0 ? fmin(c->lag, d->saturation) : c->lag;
    if (c->hum > 0)
        signal += c->hum * sin(2 * M_PI * c->sim->scenario.beam.mains_hz * to_s);
    if (c->noise > 0)
        signal += c->noise * sim_gaussian(&c->chance);
    double threshold = c->level ? c->low : c->high, before = c->signal;
    c->signal = signal;
    if (c->level ? signal >= threshold : signal <= threshold)
        return CW_OK;
    c->level = !c->level;
    double part = (threshold - before) / (signal - before);
    return add(list, from_s + h * fmax(0, fmin(1, part)), c->sensor, c->level, err);
}

/* Nothing can cross a threshold while the light stays: the lag has settled and noise, hum and flicker keep away. */
static bool quiet(const comparator *c, double light)
{
    double flicker = c->sim->scenario.beam.flicker, sway = light * flicker + c->hum + 8 * c->noise;
    if (fabs(c->lag - light) > light * flicker + 1e-6)
        return false;
    return c->level ? light - sway > c->low : light + sway < c->high;
}

static cw_status stretch(comparator *c, const sim_shot *shot, double from_s, double to_s, bool constant,
                         edge_list *list, cw_error *err)
{
    double lag_s = c->sim->scenario.detector.lag_s;
    double at = from_s, step_s = constant ? fmax(STEP_S, lag_s / 20) : STEP_S;
    double steady = constant && shot != NULL ? sim_shot_light(c->sim, shot, c->sensor, (from_s + to_s) / 2) : 0;
    while (at < to_s) {
        if (constant && quiet(c, steady)) {
            c->lag = c->input = c->signal = steady;
            return CW_OK;
        }
        double next = fmin(at + step_s, to_s);
        double light = constant ? steady : sim_shot_light(c->sim, shot, c->sensor, next);
        CW_TRY(step(c, at, next, light, list, err));
        at = next;
    }
    return CW_OK;
}

static cw_status compare(cw_sim *sim, size_t sensor, edge_list *list, cw_error *err)
{
    const cw_sim_detector *d = &sim->scenario.detector;
    double share = d->full_v * sim_gain(&sim->scenario, sensor);
    comparator c = {.sim = sim,
                    .sensor = sensor,
                    .low = d->threshold - d->hysteresis / 2,
                    .high = d->threshold + d->hysteresis / 2,
                    .noise = d->noise_v / share,
                    .hum = d->hum_v / share,
                    .chance = sim_stream(sim->scenario.seed, CHANCE_COMPARATOR + sensor)};
    double at = 0;
    for (size_t i = 0; i < sim->shot_count; i++) {
        const sim_lit *lit = &sim->shots[i].lit[sensor];
        CW_TRY(stretch(&c, NULL, at, lit->breaks_s[0], true, list, err));
        for (size_t k = 0; k + 1 < lit->break_count; k++)
            CW_TRY(stretch(&c, &sim->shots[i], lit->breaks_s[k], lit->breaks_s[k + 1], lit->constant[k], list, err));
        at = lit->breaks_s[lit->break_count - 1];
    }
    return stretch(&c, NULL, at, sim->length_s, true, list, err);
}

static cw_status contact(const cw_sim *sim, edge_list *list, cw_error *err)
{
    for (size_t i = 0; i < sim->shot_count; i++)
        for (size_t k = 0; k < sim->shots[i].truth.contact_edge_count; k++)
            CW_TRY(add(list, sim->shots[i].truth.contact_s[k], sim->scenario.beam.sensors, k % 2 == 0, err));
    return CW_OK;
}

static int by_time(const void *a, const void *b)
{
    const cw_sim_edge *x = a, *y = b;
    if (x->at_s != y->at_s)
        return x->at_s < y->at_s ? -1 : 1;
    return (x->channel > y->channel) - (x->channel < y->channel);
}

cw_status cw_sim_edges(cw_sim *sim, double resolution_s, cw_sim_edge **edges, size_t *count, cw_error *err)
{
    if (!(resolution_s >= 1e-10 && resolution_s <= 1))
        return cw_fail(err, CW_RANGE, "a resolution of %g s; 0.1 ns to 1 s can be had", resolution_s);
    edge_list list = {.clock = 1 + 1e-6 * sim->scenario.recorder.clock_ppm, .resolution_s = resolution_s};
    cw_status status = CW_OK;
    for (size_t i = 0; i < sim->scenario.beam.sensors && status == CW_OK; i++)
        status = compare(sim, i, &list, err);
    if (status == CW_OK && sim->scenario.contact.present)
        status = contact(sim, &list, err);
    if (status != CW_OK) {
        free(list.items);
        return status;
    }
    if (list.count > 0)
        qsort(list.items, list.count, sizeof *list.items, by_time);
    *edges = list.items;
    *count = list.count;
    return CW_OK;
}
