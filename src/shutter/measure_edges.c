/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Edges from a comparator or logic analyser into shots. There is no light to add up: an exposure is the time between
 * two edges, and what the threshold did to it is not in the file. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "shutter/measure_parts.h"

/* A comparator without hysteresis chatters at the edge; dark (or light) for less than this is part of the edge. No
 * shutter bounces so fast. Common practice, no source. */
static const double CHATTER_S = 25e-6;
/* As in measure.c: one release, its sensors and bounces. */
static const double ONE_RELEASE_S = 0.06;
/* A contact that bounces is closed again sooner than this. Common practice, no source. */
static const double BOUNCE_MOST_S = 0.01;

typedef struct {
    size_t channel;
    double from_s, to_s;
    double from_spread_s, to_spread_s; /* how long the edge chattered */
    bool cut_start, cut_end, unknown;  /* unknown: x or z beside it */
} lit;

typedef struct {
    size_t count, capacity;
    lit *items;
} lits;

/* The level a channel has most of the time. */
static int8_t rest_level(const cw_edge *edges, size_t count, double end_s)
{
    double time[2] = {0, 0};
    for (size_t i = 0; i < count; i++) {
        double until = i + 1 < count ? edges[i + 1].at_s : end_s;
        if (edges[i].level >= 0)
            time[edges[i].level] += until - edges[i].at_s;
    }
    return time[1] > time[0] ? 1 : 0;
}

static cw_status add_lit(lits *l, lit made, cw_error *err)
{
    CW_TRY(cw_grow(&l->items, &l->capacity, l->count + 1, sizeof *l->items, 1 << 20, "changes of light", err));
    l->items[l->count++] = made;
    return CW_OK;
}

static cw_status collect(const cw_edge *edges, size_t count, int8_t rest, double end_s, size_t channel, lits *l,
                         cw_error *err)
{
    size_t first = l->count;
    for (size_t i = 0; i < count; i++) {
        if (edges[i].level != 1 - rest)
            continue;
        double from_s = edges[i].at_s, to_s = i + 1 < count ? edges[i + 1].at_s : end_s;
        lit *last = l->count > first ? &l->items[l->count - 1] : NULL;
        bool x_before = i > 0 && edges[i - 1].level < 0, x_after = i + 1 < count && edges[i + 1].level < 0;
        if (last != NULL && from_s - last->to_s < CHATTER_S) {
            if (last->to_s - last->from_s - last->from_spread_s < CHATTER_S)
                last->from_spread_s = from_s - last->from_s;
            else
                last->to_spread_s += to_s - last->to_s;
            last->to_s = to_s;
            last->cut_end = i + 1 == count;
            last->unknown = last->unknown || x_after;
            continue;
        }
        CW_TRY(add_lit(l,
                       (lit){.channel = channel,
                             .from_s = from_s,
                             .to_s = to_s,
                             .cut_start = i == 0,
                             .cut_end = i + 1 == count,
                             .unknown = x_before || x_after},
                       err));
    }
    return CW_OK;
}

static int by_start(const void *a, const void *b)
{
    const lit *x = a, *y = b;
    return (x->from_s > y->from_s) - (x->from_s < y->from_s);
}

static void start_shot(const cw_measuring *m, double at_s, cw_shot *shot)
{
    const cw_quantity unknown = {NAN, NAN};
    *shot = (cw_shot){
        .at_s = at_s, .marked_s = NAN, .sensor_count = m->light_count, .contact_s = unknown, .contact_opens_s = NAN};
    for (size_t k = 0; k < m->light_count; k++)
        shot->sensors[k] = cw_sensor_shot_unknown(m->setup.sensor_count > 0 ? m->setup.sensors_mm[k] : NAN);
}

static void fill_sensor(const cw_measuring *m, const lit *l, cw_sensor_shot *s, cw_shot *shot)
{
    double tick = m->info->u_time_s;
    s->seen = true;
    s->method = CW_METHOD_EDGES;
    s->open_s = (cw_quantity){l->from_s + l->from_spread_s / 2, hypot(tick, l->from_spread_s / sqrt(12))};
    s->close_s = (cw_quantity){l->to_s - l->to_spread_s / 2, hypot(tick, l->to_spread_s / sqrt(12))};
    s->exposure_s = (cw_quantity){s->close_s.value - s->open_s.value, hypot(s->open_s.u, s->close_s.u)};
    s->u_random_s = s->exposure_s.u;
    if (l->from_spread_s > 0 || l->to_spread_s > 0)
        snprintf(s->remark, sizeof s->remark, "the edge chatters over %.1f us: give the comparator some hysteresis",
                 fmax(l->from_spread_s, l->to_spread_s) * 1e6);
    if (l->cut_start || l->cut_end || l->unknown) {
        shot->incomplete = true;
        snprintf(shot->remark, sizeof shot->remark, "%s",
                 l->cut_start ? "cut off by the start of the recording"
                 : l->cut_end ? "cut off by the end of the recording"
                              : "the logic analyser gave no level (x or z) beside it");
    }
}

/* The first light of some length is the shot, shorter before it a stray pulse; what comes after it, bounces: a second
 * curtain that springs back may let in more than a fast exposure. */
static const lit *the_shot(const lits *l, size_t from, size_t to, size_t channel)
{
    const double of_longest = 0.1;
    double longest = 0;
    for (size_t i = from; i < to; i++)
        if (l->items[i].channel == channel)
            longest = fmax(longest, l->items[i].to_s - l->items[i].from_s);
    for (size_t i = from; i < to; i++)
        if (l->items[i].channel == channel && l->items[i].to_s - l->items[i].from_s >= of_longest * longest)
            return &l->items[i];
    return NULL;
}

static void add_to_shot(const cw_measuring *m, const lits *l, size_t from, size_t to, cw_shot *shot)
{
    for (size_t k = 0; k < m->light_count; k++) {
        const lit *shown = the_shot(l, from, to, m->light[k]);
        if (shown == NULL)
            continue;
        cw_sensor_shot *s = &shot->sensors[k];
        fill_sensor(m, shown, s, shot);
        for (const lit *one = shown + 1; one < l->items + to && s->bounce_count < CW_BOUNCES_MOST; one++)
            if (one->channel == shown->channel)
                s->bounces[s->bounce_count++] = (cw_bounce){one->from_s, one->to_s - one->from_s};
    }
}

static void add_contact(const cw_measuring *m, double end_s, cw_shot *shot, double last_s)
{
    if (m->setup.contact_channel == 0)
        return;
    size_t count;
    const cw_edge *edges = cw_source_edges(m->source, m->setup.contact_channel - 1, &count);
    int8_t rest = rest_level(edges, count, end_s);
    for (size_t i = 1; i < count; i++) {
        if (edges[i].level != 1 - rest || edges[i].at_s < shot->at_s - ONE_RELEASE_S)
            continue;
        if (edges[i].at_s > last_s + ONE_RELEASE_S)
            return;
        shot->contact_seen = true;
        shot->contact_s = (cw_quantity){edges[i].at_s, m->info->u_time_s};
        /* it opens for good when it stays open for longer than any bounce */
        for (size_t j = i + 1; j < count && !isfinite(shot->contact_opens_s); j++)
            if (edges[j].level == rest && (j + 1 == count || edges[j + 1].at_s - edges[j].at_s > BOUNCE_MOST_S))
                shot->contact_opens_s = edges[j].at_s;
        return;
    }
}

static cw_status group(const cw_measuring *m, const lits *l, double end_s, cw_measurement *out, cw_error *err)
{
    size_t capacity = 0;
    for (size_t from = 0, to; from < l->count; from = to) {
        double last_s = l->items[from].to_s;
        for (to = from + 1; to < l->count && l->items[to].from_s < last_s + ONE_RELEASE_S; to++)
            last_s = fmax(last_s, l->items[to].to_s);
        CW_TRY(cw_grow(&out->shots, &capacity, out->shot_count + 1, sizeof *out->shots, CW_SHOTS_MOST,
                       "shots in one recording; cut it into several", err));
        cw_shot *shot = &out->shots[out->shot_count++];
        start_shot(m, l->items[from].from_s, shot);
        add_to_shot(m, l, from, to, shot);
        add_contact(m, end_s, shot, last_s);
    }
    return CW_OK;
}

static void fill_channel(const cw_measuring *m, const lits *l, size_t c, int8_t rest, cw_channel_found *f)
{
    *f = (cw_channel_found){.is_contact = m->channels[c].is_contact,
                            .is_inverted = rest == 1,
                            .rest = rest,
                            .full = {NAN, NAN},
                            .noise = NAN,
                            .tau_s = {NAN, NAN}};
    for (size_t i = 0; i < l->count; i++)
        f->shots += l->items[i].channel == c;
    f->is_idle = f->shots == 0 && !f->is_contact;
}

cw_status cw_measure_edges(cw_measuring *m, cw_measurement *out, cw_error *err)
{
    lits l = {0};
    double end_s = m->info->length_s;
    cw_status status = CW_OK;
    int8_t rest[CW_CHANNELS_MOST] = {0};
    for (size_t c = 0; c < m->info->channels && status == CW_OK; c++) {
        size_t count;
        const cw_edge *edges = cw_source_edges(m->source, c, &count);
        rest[c] = rest_level(edges, count, end_s);
        if (m->channels[c].is_light)
            status = collect(edges, count, rest[c], end_s, c, &l, err);
    }
    char channels[40];
    snprintf(channels, sizeof channels, m->info->channels == 1 ? "%zu channel" : "%zu channels", m->info->channels);
    if (status == CW_OK && l.count == 0)
        status = cw_fail(err, CW_INPUT,
                         "no shutter event in the recording. Looked for a line that changes and changes back; the file "
                         "holds %s and %.6g s, and none of the light channels leaves its level. Is the "
                         "threshold of the logic analyser between dark and light?",
                         channels, m->info->length_s);
    if (status == CW_OK) {
        qsort(l.items, l.count, sizeof *l.items, by_start);
        status = group(m, &l, end_s, out, err);
    }
    if (status == CW_OK) {
        out->channel_count = m->info->channels;
        for (size_t c = 0; c < m->info->channels; c++)
            fill_channel(m, &l, c, rest[c], &out->channels[c]);
        cw_warn_of_contact(m, out);
        cw_measure_warn(out, "%s",
                        "edges, not light: where the threshold is not at half of the full light, every exposure is "
                        "off by (1 - 2f) times the time an edge takes to cross the sensor, f being the threshold's "
                        "fraction");
    }
    free(l.items);
    return status;
}
