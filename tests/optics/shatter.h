/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A published lens taken apart on a bench: groups and rings measured with noise, shuffled and turned, the truth kept.
 */
#ifndef CW_TESTS_OPTICS_SHATTER_H
#define CW_TESTS_OPTICS_SHATTER_H

#include <math.h>
#include <stdint.h>
#include <string.h>

#include "optics/order.h"
#include "optics/paraxial.h"
#include "support/check.h"

typedef struct {
    cw_puzzle measured, exact; /* same shuffle; exact holds the true values */
    cw_arrangement truth;
    bool possible; /* false: the lens cannot be cut into groups and rings */
} shattered;

typedef struct {
    bool diameters_and_stop; /* the richer of the two forms */
    double radius_relative, length_mm, focal_relative, back_focus_mm;
} bench_noise;

typedef struct {
    size_t first, last; /* surfaces */
} glass_run;

static inline size_t find_runs(const cw_lens *lens, glass_run *runs, double *gap, double *stop_after, size_t *stop_gap)
{
    size_t count = 0;
    double air = 0;
    *stop_gap = SIZE_MAX;
    for (size_t i = 0; i < lens->count; i++) {
        bool glass_before = cw_lens_index_before(lens, i, CW_LINE_D) > 1.01,
             glass_after = lens->surface[i].n[CW_LINE_D] > 1.01;
        if (!glass_before && glass_after) {
            if (count > 0)
                gap[count - 1] = air;
            runs[count].first = i;
        }
        if (glass_before && !glass_after) {
            runs[count++].last = i;
            air = 0;
            if (i == lens->stop) {
                *stop_gap = count - 1;
                *stop_after = 0;
            }
        }
        if (!glass_before && !glass_after && i == lens->stop && count > 0) {
            *stop_gap = count - 1;
            *stop_after = air;
        }
        if (!glass_before && glass_after && i == lens->stop && count > 0) {
            *stop_gap = count - 1;
            *stop_after = air;
        }
        if (!glass_after)
            air += lens->surface[i].thickness_mm;
    }
    return count;
}

static inline double rounded(double x, double step)
{
    return round(x / step) * step;
}

static inline double noisy(check_random *random, double x, double u, double step)
{
    double e;
    do
        e = check_gaussian(random);
    while (fabs(e) > 2 && u > 0.001 * fabs(x)); /* radii: cut at two standard deviations */
    return rounded(x + e * u, step);
}

static inline void shatter_group(const cw_lens *lens, glass_run run, bool turned, const bench_noise *noise,
                                 check_random *random, cw_loose_group *exact, cw_loose_group *measured)
{
    size_t m = run.last - run.first;
    double diameter = 0;
    memset(exact, 0, sizeof *exact);
    exact->glasses = m;
    exact->position = SIZE_MAX;
    exact->turned = -1;
    exact->inside_known = true;
    exact->focal_length_mm = exact->front_focus_mm = exact->back_focus_mm = (cw_quantity){NAN, NAN};
    *measured = *exact;
    for (size_t i = 0; i <= m; i++) {
        const cw_surface *s = &lens->surface[turned ? run.last - i : run.first + i];
        double c = turned ? -s->curvature_per_mm : s->curvature_per_mm;
        exact->curvature[i] = (cw_quantity){c, noise->radius_relative * fabs(c)};
        double r = c != 0 ? noisy(random, 1 / c, noise->radius_relative / fabs(c), 0.01) : 0;
        measured->curvature[i] = c != 0 ? (cw_quantity){1 / r, noise->radius_relative / fabs(r)} : (cw_quantity){0, 0};
        diameter = fmax(diameter, 2 * s->semi_diameter_mm);
    }
    for (size_t i = 0; i < m; i++) {
        const cw_surface *s = &lens->surface[turned ? run.last - 1 - i : run.first + i];
        exact->thickness_mm[i] = (cw_quantity){s->thickness_mm, noise->length_mm};
        measured->thickness_mm[i] =
            (cw_quantity){noisy(random, s->thickness_mm, noise->length_mm, 0.01), noise->length_mm};
        exact->n_d[i] = (cw_quantity){s->n[CW_LINE_D], 0};
        measured->n_d[i] = (cw_quantity){rounded(s->n[CW_LINE_D], 1e-4), 0};
    }
    exact->diameter_mm = measured->diameter_mm = diameter;
}

/* Ring between two runs: contact at 0.95 of the smaller clear edge, never steeper than 45 degrees, of positive length.
 */
static inline bool shatter_ring(const cw_lens *lens, size_t rear, size_t front, double gap, double plain_contact,
                                cw_spacer *exact)
{
    const cw_surface *a = &lens->surface[rear], *b = &lens->surface[front];
    double contact = 0.95 * 2 * fmin(a->semi_diameter_mm, b->semi_diameter_mm);
    if (plain_contact > 0)
        contact = plain_contact;
    double steep = fmax(fabs(a->curvature_per_mm), fabs(b->curvature_per_mm));
    if (steep > 0)
        contact = fmin(contact, 1.42 / steep);
    for (int i = 0; i < 40; i++, contact *= 0.95) {
        double length =
            gap - cw_sag_mm(a->curvature_per_mm, 0, contact / 2) + cw_sag_mm(b->curvature_per_mm, 0, contact / 2);
        if (length < 0.05)
            continue;
        exact->contact_mm = rounded(contact, 0.01);
        exact->length_mm.value = gap - cw_sag_mm(a->curvature_per_mm, 0, exact->contact_mm / 2) +
                                 cw_sag_mm(b->curvature_per_mm, 0, exact->contact_mm / 2);
        exact->position = SIZE_MAX;
        return true;
    }
    return false;
}

static inline void shuffle_order(check_random *random, size_t n, size_t *order)
{
    for (size_t i = 0; i < n; i++)
        order[i] = i;
    for (size_t i = n; i > 1; i--) {
        size_t k = (size_t)(check_uniform(random) * (double)i), keep = order[i - 1];
        order[i - 1] = order[k];
        order[k] = keep;
    }
}

static inline shattered shatter(const cw_lens *lens, const bench_noise *noise, check_random *random)
{
    shattered out;
    memset(&out, 0, sizeof out);
    glass_run runs[CW_PUZZLE_GROUPS + 1];
    double gap[CW_PUZZLE_GROUPS], stop_after = 0;
    size_t stop_gap, n = find_runs(lens, runs, gap, &stop_after, &stop_gap);
    cw_cardinal cardinal;
    cw_error err;
    if (n < 2 || n > CW_PUZZLE_GROUPS || cw_lens_cardinal(lens, CW_LINE_D, &cardinal, &err) != CW_OK)
        return out;
    cw_puzzle *e = &out.exact, *m = &out.measured;
    double beam = cardinal.efl_mm / lens->f_number;
    e->group_count = n;
    for (size_t i = 0; i < CW_PUZZLE_GROUPS; i++)
        e->place[i] = (cw_barrel_place){NAN, NAN};
    e->focal_length_mm = (cw_quantity){cardinal.efl_mm, noise->focal_relative * cardinal.efl_mm};
    e->back_focus_mm = (cw_quantity){cardinal.bfl_mm, noise->back_focus_mm};
    e->f_number = lens->f_number;
    e->half_field_deg = noise->diameters_and_stop ? lens->half_field_deg : NAN;
    *m = *e;
    m->focal_length_mm.value = noisy(random, cardinal.efl_mm, e->focal_length_mm.u, cardinal.efl_mm > 100 ? 0.1 : 0.01);
    m->back_focus_mm.value = noisy(random, cardinal.bfl_mm, noise->back_focus_mm, 0.01);
    size_t order[CW_PUZZLE_GROUPS], rings[CW_PUZZLE_GROUPS];
    shuffle_order(random, n, order); /* the piece in place i lies in the box as order[i] */
    shuffle_order(random, n - 1, rings);
    for (size_t i = 0; i < n; i++) {
        bool turned = check_uniform(random) < 0.5;
        size_t at = order[i];
        shatter_group(lens, runs[i], turned, noise, random, &e->group[at], &m->group[at]);
        if (!noise->diameters_and_stop)
            e->group[at].diameter_mm = m->group[at].diameter_mm = rounded(0.975 * beam, 0.05);
        e->group[at].label[0] = m->group[at].label[0] = (char)('A' + at);
        out.truth.group[i] = at;
        out.truth.turned[i] = turned;
        if (i + 1 == n)
            continue;
        size_t r = rings[i];
        if (!shatter_ring(lens, runs[i].last, runs[i + 1].first, gap[i], noise->diameters_and_stop ? 0 : 0.95 * beam,
                          &e->spacer[r]))
            return out;
        e->spacer[r].length_mm.u = noise->length_mm;
        e->spacer[r].label[0] = 's';
        e->spacer[r].label[1] = (char)('1' + r);
        m->spacer[r] = e->spacer[r];
        m->spacer[r].length_mm.value = fmax(0, noisy(random, e->spacer[r].length_mm.value, noise->length_mm, 0.01));
        out.truth.spacer[i] = r;
        if (i == stop_gap && noise->diameters_and_stop) {
            const cw_surface *s = &lens->surface[runs[i].last];
            e->stop_known = m->stop_known = true;
            e->stop_spacer = m->stop_spacer = r;
            e->stop_after_mm = stop_after - cw_sag_mm(s->curvature_per_mm, 0, e->spacer[r].contact_mm / 2);
            m->stop_after_mm = rounded(e->stop_after_mm, 0.01);
        }
    }
    out.possible = true;
    return out;
}

/* The same glass in the same place: the candidate, made of the true parts, is the true lens. */
static inline bool is_truth(const shattered *s, const cw_arrangement *what)
{
    cw_lens a, b;
    cw_error err;
    if (cw_order_lens(&s->exact, what, &a, &err) != CW_OK || cw_order_lens(&s->exact, &s->truth, &b, &err) != CW_OK ||
        a.count != b.count)
        return false;
    for (size_t i = 0; i < a.count; i++)
        if (fabs(a.surface[i].curvature_per_mm - b.surface[i].curvature_per_mm) > 1e-7 ||
            fabs(a.surface[i].thickness_mm - b.surface[i].thickness_mm) > 2e-3 ||
            fabs(a.surface[i].n[CW_LINE_D] - b.surface[i].n[CW_LINE_D]) > 1e-9)
            return false;
    return true;
}

#endif
