/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/measure_droop.h"

#include <math.h>
#include <stdlib.h>

#include "base/buf.h"
#include "base/select.h"
#include "base/stats.h"
#include "shutter/measure_parts.h"

/* Shorter stretches tell nothing; after a move the detector has settled by then. */
static const double STRETCH_LEAST_S = 0.008, SETTLED_AFTER_S = 0.003;

void cw_pool_add(cw_pool *p, cw_quantity q)
{
    if (!isfinite(q.u) || !(q.u > 0))
        return;
    double w = 1 / (q.u * q.u);
    p->sum += w * q.value;
    p->squares += w * q.value * q.value;
    p->weight += w;
    p->count++;
}

cw_quantity cw_pool_mean(const cw_pool *p)
{
    if (!(p->weight > 0))
        return (cw_quantity){0, INFINITY};
    double mean = p->sum / p->weight, chi = fmax(p->squares - p->sum * mean, 0);
    double wider = p->count > 1 ? fmax(1, chi / (double)(p->count - 1)) : 1; /* Birge ratio */
    return (cw_quantity){mean, sqrt(wider / p->weight)};
}

/* One step from block to block: how fast, and from which level. */
typedef struct {
    double slope, level;
} move;

/* Moves away from `level`, which tell the rate, and some of those near it, which tell the level of rest. */
static size_t collect_moves(const cw_overview *o, size_t channel, double level, double span, move *moves)
{
    double block_s = (double)o->block_frames / o->rate_hz;
    size_t n = 0;
    for (size_t b = 1, near = 0; b < o->count; b++) {
        double y = cw_overview_mean(o, channel, b), before = cw_overview_mean(o, channel, b - 1);
        double middle = (y + before) / 2 - level;
        if (fabs(middle) < 0.06 * span && near++ % 16 != 0)
            continue;
        moves[n++] = (move){(y - before) / block_s, middle};
    }
    return n;
}

/* slope = at_0 - rate level by least sum of distances, from repeated weighted least squares: moves of blades and
 * curtains, few and large, do not draw it away. `scale`: distances below it count as this. */
static void fit_least_distances(size_t n, const move *m, double scale, double *at_0, double *rate)
{
    enum { TIMES = 30 };
    *at_0 = *rate = 0;
    for (int time = 0; time < TIMES; time++) {
        double w = 0, x = 0, y = 0, xx = 0, xy = 0, start = *at_0, falls = *rate;
#pragma omp simd reduction(+ : w, x, y, xx, xy)
        for (size_t i = 0; i < n; i++) {
            double distance = fabs(m[i].slope - start + falls * m[i].level),
                   one = 1 / (distance > scale ? distance : scale);
            w += one;
            x += one * m[i].level;
            y += one * m[i].slope;
            xx += one * m[i].level * m[i].level;
            xy += one * m[i].level * m[i].slope;
        }
        double spread = xx - x * x / w;
        if (!(spread > 0))
            return;
        *rate = -(xy - x * y / w) / spread;
        *at_0 = (y + *rate * x) / w;
    }
}

cw_status cw_droop_roughly(const cw_overview *o, size_t channel, double level, double span, cw_droop *droop,
                           cw_error *err)
{
    enum { MOVES_ENOUGH = 4096, MOVES_LEAST = 16 };
    *droop = (cw_droop){0, level};
    move *moves = malloc((o->count + 1) * sizeof *moves);
    double *sizes = malloc(2 * (o->count + 1) * sizeof *sizes); /* the second half is room to select in */
    if (moves == NULL || sizes == NULL) {
        free(moves);
        free(sizes);
        return cw_fail(err, CW_MEMORY, "no memory for %zu blocks", o->count);
    }
    size_t n = collect_moves(o, channel, level, span, moves);
    /* some thousand of them, spread over the recording, say the same as all */
    size_t thin = n / MOVES_ENOUGH + 1;
    double largest = 0;
    n /= thin;
    for (size_t i = 0; i < n; i++) {
        moves[i] = moves[i * thin];
        sizes[i] = fabs(moves[i].slope);
        largest = fmax(largest, sizes[i]);
    }
    if (n >= MOVES_LEAST && largest > 0) {
        double at_0, rate, scale = fmax(0.1 * cw_select(n, sizes, n / 2, sizes + n), 1e-6 * largest);
        fit_least_distances(n, moves, scale, &at_0, &rate);
        droop->rate = fmax(rate, 0);
        if (rate > 0 && fabs(at_0 / rate) < span)
            droop->rest = level + at_0 / rate;
    }
    free(moves);
    free(sizes);
    return CW_OK;
}

typedef struct {
    size_t first, end;
} stretch;

typedef struct {
    size_t count, capacity;
    stretch *items;
} stretches;

static cw_status find_stretches(const cw_overview *o, size_t channel, double span, double noise, const cw_droop *droop,
                                stretches *list, cw_error *err)
{
    double block_s = (double)o->block_frames / o->rate_hz, integral = 0;
    size_t guard = (size_t)ceil(SETTLED_AFTER_S / block_s), from = 0;
    double range = fmax(0.3 * span, 1.2 * noise);
    cw_move_watch watch = {0, -INFINITY};
    for (size_t b = 0; b <= o->count; b++) {
        bool step = b == o->count;
        if (!step) {
            size_t at = channel * o->capacity + b;
            double y = cw_overview_mean(o, channel, b) - droop->rest;
            double x = y + droop->rate * (integral + y * block_s / 2);
            step = (cw_has_moved(&watch, (double)b * block_s, x, 0.12 * span) && b > 0) ||
                   (double)o->most[at] - (double)o->least[at] > range;
            integral += y * block_s;
        }
        if (!step)
            continue;
        size_t end = b == o->count ? b : b > guard ? b - guard : 0;
        if (end > from && (double)(end - from) * block_s >= STRETCH_LEAST_S) {
            CW_TRY(cw_grow(&list->items, &list->capacity, list->count + 1, sizeof *list->items, o->count + 1,
                           "stretches without steps", err));
            list->items[list->count++] = (stretch){from, end};
        }
        from = b + guard;
    }
    return CW_OK;
}

/* There x is constant whatever it is, and y falls along its own integral with slope -1/tau, or stays where it is when
 * the input is DC coupled. Only stretches well away from rest tell. */
static void add_run(const cw_overview *o, size_t channel, size_t first, size_t end, double rest, double span,
                    cw_pool *runs)
{
    enum { PARTS_MOST = 256 };
    double block_s = (double)o->block_frames / o->rate_hz, y[PARTS_MOST], i[PARTS_MOST], integral = 0, away = 0,
           middle = 0;
    size_t together = (end - first) / PARTS_MOST + 1, n = 0;
    if ((double)(end - first) * block_s < STRETCH_LEAST_S)
        return;
    for (size_t b = first; b + together <= end && n < PARTS_MOST; b += together, n++) {
        double sum = 0;
        for (size_t k = 0; k < together; k++)
            sum += cw_overview_mean(o, channel, b + k) - rest;
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
    cw_pool_add(runs, (cw_quantity){-line.slope.value, line.slope.u * sqrt(shared)});
}

static void add_runs(const cw_overview *o, size_t channel, double rest, double span, const stretches *list,
                     cw_pool *runs)
{
    size_t guard = (size_t)ceil(SETTLED_AFTER_S * o->rate_hz / (double)o->block_frames);
    for (size_t k = 0; k < list->count; k++) {
        /* in pieces, each twice as long as the one before: a short time constant is told by the beginning alone */
        size_t from = list->items[k].first, end = list->items[k].end, piece = 3 * guard;
        for (; from + guard < end; from += piece / 2) {
            add_run(o, channel, from, from + piece < end ? from + piece : end, rest, span, runs);
            piece *= 2;
        }
    }
}

/* y + rate * integral y dt climbs by rate * rest a second: where a stretch would settle if it went on. */
static bool rest_of_stretch(const cw_overview *o, size_t channel, stretch s, double rate, cw_weighted *out)
{
    enum { PARTS_MOST = 256 };
    double block_s = (double)o->block_frames / o->rate_hz, at[PARTS_MOST], z[PARTS_MOST], integral = 0;
    size_t together = (s.end - s.first) / PARTS_MOST + 1, n = 0;
    double length_s = (double)together * block_s, origin = cw_overview_mean(o, channel, s.first);
    for (size_t b = s.first; b + together <= s.end && n < PARTS_MOST; b += together, n++) {
        double sum = 0;
        for (size_t k = 0; k < together; k++)
            sum += cw_overview_mean(o, channel, b + k) - origin;
        sum /= (double)together;
        at[n] = (double)n * length_s;
        z[n] = sum + rate * (integral + sum * length_s / 2);
        integral += sum * length_s;
    }
    cw_error ignored; /* too short */
    cw_line line;
    if (n < 6 || cw_line_fit(n, at, z, 0, &line, &ignored) != CW_OK)
        return false;
    *out = (cw_weighted){origin + line.slope.value / rate, (double)n * length_s};
    return true;
}

/* The middle one of what the stretches say, weighted by their length: a move of the light that was not seen makes only
 * its own stretch wrong. */
static cw_status settle_rest(const cw_overview *o, size_t channel, const stretches *list, cw_droop *droop,
                             cw_error *err)
{
    cw_weighted *seen = malloc(2 * (list->count + 1) * sizeof *seen); /* the second half is room to select in */
    if (seen == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu stretches", list->count);
    size_t n = 0;
    for (size_t k = 0; k < list->count; k++)
        n += rest_of_stretch(o, channel, list->items[k], droop->rate, &seen[n]);
    if (n > 0)
        droop->rest = cw_weighted_median(n, seen, seen + n);
    free(seen);
    return CW_OK;
}

cw_status cw_droop_of_stretches(const cw_overview *o, size_t channel, double span, double noise, cw_droop *droop,
                                cw_pool *runs, cw_error *err)
{
    const double slowest = 0.1; /* a second; slower droops bend no stretch */
    stretches list = {0};
    cw_status status = find_stretches(o, channel, span, noise, droop, &list, err);
    if (status == CW_OK && droop->rate > slowest)
        status = settle_rest(o, channel, &list, droop, err);
    if (status == CW_OK) {
        cw_pool first = {0};
        add_runs(o, channel, droop->rest, span, &list, &first);
        cw_quantity rate = cw_pool_mean(&first);
        if (rate.value > slowest && rate.value > 5 * rate.u) {
            droop->rate = rate.value;
            status = settle_rest(o, channel, &list, droop, err);
        }
        add_runs(o, channel, droop->rest, span, &list, runs);
    }
    free(list.items);
    return status;
}
