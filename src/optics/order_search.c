/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The walk over every arrangement, and the ranking of what it finds. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "optics/order_inside.h"

enum { LEAVES_MOST = 4000000, TIDY_FIRST = 60000, ALIKE_MOST = 64 };

static const double walk_most = 4e7; /* arrangements; a few seconds */

static const double keep_log = 34;     /* leaves further than this below the best cannot matter: e^-34 of it */
static const double skip_log = 25;     /* likewise once the rays are known */
static const double coarse_gate = 0.5; /* of the focal length; ten to twenty standard deviations of any camera lens */

typedef struct {
    search *s;
    cw_arrangement now;
    bool used[CW_PUZZLE_GROUPS], ring_used[CW_PUZZLE_GROUPS];
    column in[CW_PUZZLE_GROUPS + 1]; /* the parallel ray before each place */
    double log_parts[CW_PUZZLE_GROUPS + 1];
    leaf *leaves;
    size_t count, capacity, tidy_at;
    double best, possible;
    cw_status status;
    cw_error *err;
} walk;

static int by_first(const void *a, const void *b)
{
    double x = ((const leaf *)a)->log_first, y = ((const leaf *)b)->log_first;
    return x < y ? 1 : x > y ? -1 : 0;
}

/* Drops what has fallen too far behind since it was kept. */
static void tidy(walk *w)
{
    size_t kept = 0;
    for (size_t i = 0; i < w->count; i++)
        if (w->leaves[i].log_first >= w->best - keep_log)
            w->leaves[kept++] = w->leaves[i];
    w->count = kept;
}

static void finish_leaf(walk *w, double f, double b)
{
    const cw_puzzle *p = w->s->puzzle;
    double df = p->focal_length_mm.value - f, db = p->back_focus_mm.value - b;
    double scale = fabs(isnan(p->focal_length_mm.value) ? p->back_focus_mm.value : p->focal_length_mm.value);
    w->possible++;
    if (w->possible > walk_most)
        w->status =
            cw_fail(w->err, CW_RANGE,
                    "more than %.0f million arrangements can be put together; that is too many to try. Say what is "
                    "fixed in place, or which seat takes which diameter",
                    walk_most / 1e6);
    if (w->status != CW_OK)
        return;
    if (!w->s->thorough && (fabs(df) > coarse_gate * scale || fabs(db) > coarse_gate * scale))
        return;
    first_order o;
    double part[3], inverse[3];
    cw_inside_first_order(w->s, &w->now, &o);
    double log_det = cw_inside_covariance(w->s, &o, part, inverse);
    df = isnan(df) ? 0 : df;
    db = isnan(db) ? 0 : db;
    double misfit = inverse[0] * df * df + 2 * inverse[1] * df * db + inverse[2] * db * db;
    double value = -0.5 * (misfit + log_det) + w->log_parts[w->s->n - 1];
    if (!isfinite(value) || (!w->s->thorough && value < w->best - keep_log))
        return;
    if (w->count >= w->tidy_at && !w->s->thorough) {
        tidy(w);
        w->tidy_at = w->count < TIDY_FIRST / 2 ? TIDY_FIRST : 2 * w->count;
    }
    w->status = cw_grow(&w->leaves, &w->capacity, w->count + 1, sizeof *w->leaves, LEAVES_MOST, "arrangements", w->err);
    if (w->status != CW_OK)
        return;
    w->best = fmax(w->best, value);
    w->leaves[w->count++] = (leaf){w->now, f, b, value, misfit};
}

static bool may_stand(const walk *w, size_t g, size_t place)
{
    const search *s = w->s;
    if (w->used[g] || !s->place_allowed[g][place])
        return false;
    return s->p[g].twin == SIZE_MAX || w->used[s->p[g].twin]; /* of twins the first goes first */
}

static void descend(walk *w, size_t place);

static void put(walk *w, size_t place, size_t g, int o, double log_joint, double gap)
{
    search *s = w->s;
    column v = w->in[place];
    v.y += gap * v.nu;
    const matrix2 *m = &s->p[g].m[o];
    column out = {m->a * v.y + m->b * v.nu, m->c * v.y + m->d * v.nu};
    w->now.group[place] = g;
    w->now.turned[place] = o != 0;
    w->log_parts[place] = (place > 0 ? w->log_parts[place - 1] : 0) + log_joint + s->place_log[g][place];
    if (place + 1 == s->n) {
        double f = -1 / out.nu;
        finish_leaf(w, f, out.y * f);
        return;
    }
    w->in[place + 1] = out;
    w->used[g] = true;
    descend(w, place + 1);
    w->used[g] = false;
}

static void try_rings(walk *w, size_t place, size_t g, int o)
{
    search *s = w->s;
    size_t before = w->now.group[place - 1];
    for (size_t r = 0; r + 1 < s->n && w->status == CW_OK; r++) {
        const joint *j = &s->joint[before][w->now.turned[place - 1]][g][o][r];
        const cw_spacer *ring = &s->puzzle->spacer[r];
        bool here = ring->position == SIZE_MAX || ring->position == place - 1;
        if (w->ring_used[r] || !j->allowed || !here || (s->ring_twin[r] != SIZE_MAX && !w->ring_used[s->ring_twin[r]]))
            continue;
        w->ring_used[r] = true;
        w->now.spacer[place - 1] = r;
        put(w, place, g, o, j->log_likelihood, j->gap);
        w->ring_used[r] = false;
    }
}

static void descend(walk *w, size_t place)
{
    search *s = w->s;
    for (size_t g = 0; g < s->n && w->status == CW_OK; g++) {
        if (!may_stand(w, g, place))
            continue;
        int fixed = s->puzzle->group[g].turned;
        for (int o = 0; o < (s->p[g].symmetric ? 1 : 2); o++) {
            if (fixed >= 0 && o != fixed)
                continue;
            if (place == 0)
                put(w, 0, g, o, 0, 0);
            else
                try_rings(w, place, g, o);
        }
    }
}

static double count_all(const search *s)
{
    double count = 1;
    size_t loose = 0, loose_rings = 0;
    for (size_t g = 0; g < s->n; g++) {
        loose += s->puzzle->group[g].position == SIZE_MAX ? 1 : 0;
        count *= s->puzzle->group[g].turned < 0 ? 2 : 1;
    }
    for (size_t r = 0; r + 1 < s->n; r++)
        loose_rings += s->puzzle->spacer[r].position == SIZE_MAX ? 1 : 0;
    for (size_t i = 2; i <= loose; i++)
        count *= (double)i;
    for (size_t i = 2; i <= loose_rings; i++)
        count *= (double)i;
    /* rings that are alike in everything count once: each divides by its place among its like */
    for (size_t r = 0; r + 1 < s->n; r++) {
        size_t alike = 1;
        for (size_t k = s->ring_twin[r]; k != SIZE_MAX; k = s->ring_twin[k])
            alike++;
        count /= (double)alike;
    }
    return count;
}

/* ---- ranking ---- */

typedef struct {
    leaf first;
    double log_rays, spot_axis_mm, spot_field_mm, total, probability;
    size_t number, root;
} ranked;

static int by_total(const void *a, const void *b)
{
    double x = ((const ranked *)a)->total, y = ((const ranked *)b)->total;
    return x < y ? 1 : x > y ? -1 : 0;
}

static int by_probability(const void *a, const void *b)
{
    double x = ((const ranked *)a)->probability, y = ((const ranked *)b)->probability;
    return x < y ? 1 : x > y ? -1 : by_total(a, b);
}

static ranked rank_one(const search *s, const leaf *l, double floor)
{
    ray_verdict rays;
    cw_inside_rays(s, &l->what, floor - l->log_first, &rays);
    return (ranked){.first = *l,
                    .log_rays = rays.log_rays,
                    .spot_axis_mm = rays.spot_axis_mm,
                    .spot_field_mm = rays.spot_field_mm,
                    .total = l->log_first + rays.log_rays};
}

/* Real rays can only lower a likelihood, so leaves are tried best first until none left can matter. */
static cw_status rank_leaves(walk *w, ranked **list, size_t *count, size_t *evaluated, cw_error *err)
{
    if (!w->s->thorough)
        tidy(w);
    qsort(w->leaves, w->count, sizeof *w->leaves, by_first);
    ranked *out = calloc(w->count > 0 ? w->count : 1, sizeof *out);
    if (out == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu arrangements", w->count);
    double best = -INFINITY;
    size_t n = 0;
    while (n < w->count && (w->s->thorough || w->leaves[n].log_first >= best - skip_log)) {
        out[n] = rank_one(w->s, &w->leaves[n], w->s->thorough ? -INFINITY : best - skip_log);
        best = fmax(best, out[n].total);
        n++;
    }
    *evaluated = n;
    qsort(out, n, sizeof *out, by_total);
    *list = out;
    *count = n;
    return CW_OK;
}

/* What a right arrangement that just misses the 99.9 % point would score: the measure of "none of these". */
static double none_log(const search *s, const ranked *best)
{
    int known =
        (isfinite(s->puzzle->focal_length_mm.value) ? 1 : 0) + (isfinite(s->puzzle->back_focus_mm.value) ? 1 : 0);
    double point = known == 2 ? 13.8 : 10.8; /* chi squared, 99.9 % */
    double perfect = best->first.log_first + 0.5 * best->first.misfit;
    double rays_point = s->rays_possible ? 18 : 0; /* as unsharp as arrangements by chance are */
    return perfect - 0.5 * point - rays_point;
}

static void fill_candidate(const search *s, const ranked *r, cw_order_candidate *c)
{
    first_order o;
    double part[3], inverse[3];
    cw_inside_first_order(s, &r->first.what, &o);
    cw_inside_covariance(s, &o, part, inverse);
    *c = (cw_order_candidate){.what = r->first.what,
                              .focal_length_mm = {o.f, sqrt(part[0])},
                              .back_focus_mm = {o.b, sqrt(part[2])},
                              .spot_axis_mm = r->spot_axis_mm,
                              .spot_field_mm = r->spot_field_mm,
                              .probability = r->probability,
                              .log_first = r->first.log_first,
                              .log_rays = r->log_rays,
                              .misfit = r->first.misfit,
                              .alike = SIZE_MAX};
    cw_error no_lens;
    c->has_lens = cw_order_lens(s->puzzle, &c->what, &c->lens, &no_lens) == CW_OK;
}

/* A candidate that is the same glass in the same place as a likelier one gives its probability to it, as far as the two
 * are the same; what is left stays with it. root: index of the likelier, SIZE_MAX for none. */
static void gather_alike(const search *s, ranked *list, size_t count)
{
    for (size_t i = 1; i < count; i++)
        for (size_t k = 0; k < i; k++) {
            double same = list[k].root == SIZE_MAX ? cw_inside_alike(s, &list[i].first.what, &list[k].first.what) : 0;
            if (same < 0.5)
                continue;
            list[k].probability += same * list[i].probability;
            list[i].probability *= 1 - same;
            list[i].root = list[k].number;
            break;
        }
}

static void fill_order(const search *s, ranked *list, size_t count, cw_order *order)
{
    double none = none_log(s, &list[0]), best = fmax(list[0].total, none), sum = exp(none - best), shown = 0;
    for (size_t i = 0; i < count; i++)
        sum += exp(list[i].total - best);
    for (size_t i = 0; i < count; i++) {
        list[i].probability = exp(list[i].total - best) / sum;
        list[i].number = i;
        list[i].root = SIZE_MAX;
    }
    gather_alike(s, list, count < ALIKE_MOST ? count : ALIKE_MOST);
    qsort(list, count, sizeof *list, by_probability);
    order->count = count < CW_ORDER_SHOWN ? count : CW_ORDER_SHOWN;
    for (size_t i = 0; i < order->count; i++) {
        cw_order_candidate *c = &order->candidate[i];
        fill_candidate(s, &list[i], c);
        shown += c->probability;
        for (size_t k = 0; k < i; k++)
            if (list[i].root == list[k].number)
                c->alike = k;
    }
    order->none_probability = exp(none - best) / sum;
    order->other_probability = fmax(0, 1 - shown - order->none_probability);
    order->decided = order->candidate[0].probability >= s->prior.decided;
}

__attribute__((format(printf, 2, 3))) static void warn(cw_order *order, const char *format, ...)
{
    if (order->warning_count == CW_ORDER_WARNINGS)
        return;
    va_list args;
    va_start(args, format);
    vsnprintf(order->warning[order->warning_count++], CW_ORDER_TEXT, format, args);
    va_end(args);
}

static void warn_of(const search *s, cw_order *order)
{
    const cw_puzzle *p = s->puzzle;
    if (!s->rays_possible)
        warn(order,
             "the glass inside a cemented piece is not known, so sharpness could not be used: ranked by focal length, "
             "back focus and fit alone");
    if (isnan(p->f_number))
        warn(order, "no f-number given: sharpness was judged at f/%g", s->prior.f_number_unknown);
    if (isnan(p->half_field_deg))
        warn(order, "no field given: sharpness off the axis was judged at %g degrees", s->prior.field_unknown_deg);
    if (!p->stop_known)
        warn(order, "the diaphragm's place is not given: averaged over every air gap");
    if (!s->diameters_measured && isfinite(p->f_number))
        warn(order,
             "diameters were not used as evidence: not all are measured, or all are narrower than the beam of %.2f mm "
             "that f/%g asks for",
             s->beam_mm, p->f_number);
    if (order->none_probability > 0.2)
        warn(order,
             "every arrangement fits badly: check the measurements, a sign, or whether every piece belongs to this "
             "lens");
}

cw_order_prior cw_order_prior_default(void)
{
    return (cw_order_prior){.axis_ray = 4e-4,
                            .field_ray = 1.5e-3,
                            .focus_shift = 6e-3,
                            .distortion = 0.03,
                            .decided = 0.95,
                            .field_unknown_deg = 10,
                            .f_number_unknown = 8};
}

static void none_needed(cw_order *order)
{
    snprintf(order->next_what, sizeof order->next_what, "none needed");
    snprintf(order->next_why, sizeof order->next_why, "the first candidate has %.1f %% of the probability",
             100 * order->candidate[0].probability);
}

static cw_status nothing_fits(const search *s, cw_error *err)
{
    return cw_fail(err, CW_RANGE,
                   "no arrangement can be put together: of the joints between two pieces %zu fail because the "
                   "ring is wider than the glass or the glass too round for it, %zu because the glasses would collide. "
                   "Check the contact diameters, the signs of the radii and what is fixed in place",
                   s->ruled_narrow, s->ruled_gap);
}

cw_status cw_order_rank(const cw_puzzle *puzzle, const cw_order_prior *prior, bool thorough, cw_order **order,
                        cw_error *err)
{
    search *s = calloc(1, sizeof *s);
    cw_order *made = calloc(1, sizeof *made);
    walk w = {.s = s, .best = -INFINITY, .in = {{1, 0}}, .tidy_at = TIDY_FIRST, .status = CW_OK, .err = err};
    ranked *list = NULL;
    size_t count = 0;
    cw_status status = CW_OK;
    if (s == NULL || made == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory for the search");
    if (status == CW_OK)
        status = cw_inside_prepare(puzzle, prior, thorough, s, err);
    if (status == CW_OK) {
        descend(&w, 0);
        status = w.status;
    }
    if (status == CW_OK && w.count == 0)
        status = w.possible > 0 ? cw_fail(err, CW_RANGE,
                                          "none of %.0f arrangements comes near the known focal length and "
                                          "back focus. Is a unit or a sign mixed up?",
                                          w.possible)
                                : nothing_fits(s, err);
    if (status == CW_OK)
        status = rank_leaves(&w, &list, &count, &made->evaluated_rays, err);
    if (status == CW_OK) {
        made->arrangements = count_all(s);
        made->possible = w.possible;
        fill_order(s, list, count, made);
        warn_of(s, made);
        if (made->decided)
            none_needed(made);
        else
            cw_inside_next(s, made);
        *order = made;
        made = NULL;
    }
    free(list);
    free(w.leaves);
    free(s);
    free(made);
    return status;
}

void cw_order_free(cw_order *order)
{
    free(order);
}
