/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pieces and rings that measure the same: are they the same? Then exchanging them is no other arrangement. */
#include <math.h>

#include "optics/order_inside.h"

/* Odds for "made the same" against "happen to measure the same": the density of this difference under the measuring
 * uncertainty, over a flat density across `reach` for parts that have nothing to do with each other. 0 beyond three
 * standard deviations. */
static double odds(double difference, double u, double reach)
{
    double z = difference / u;
    return fabs(z) > 3 ? 0 : reach * exp(-0.5 * z * z) / (u * 2.5066282746);
}

static double odds_of(cw_quantity a, double b_value, double b_u, double reach, double least_u)
{
    double u = fmax(hypot(a.u, b_u), least_u);
    return odds(a.value - b_value, u, reach);
}

/* Two faces: curvature differs by anything up to 60 % between unrelated faces of one lens; planes match planes. */
static double face_odds(cw_quantity a, cw_quantity b, double sign)
{
    if (a.value == 0 && b.value == 0)
        return 2;
    double size = fmax(fabs(a.value), fabs(b.value));
    return odds_of(a, sign * b.value, b.u, 0.6 * size, 1e-4 * size);
}

/* Is piece g, turned as told, made like piece h? g == h with both ways round: is it symmetric? */
static double glass_odds(const search *s, size_t g, bool turned_g, size_t h, bool turned_h)
{
    const cw_loose_group *a = &s->puzzle->group[g], *b = &s->puzzle->group[h];
    size_t last = a->glasses;
    bool turned = turned_g != turned_h;
    double all = 1;
    if (last != b->glasses || !a->inside_known || !b->inside_known || fabs(a->diameter_mm - b->diameter_mm) > 0.2)
        return 0;
    size_t faces = g == h ? (last + 1) / 2 : last + 1, glasses = g == h ? last / 2 : last; /* each pair once */
    for (size_t i = 0; i < faces; i++)
        all *= face_odds(a->curvature[i], b->curvature[turned ? last - i : i], turned ? -1 : 1);
    if (g == h && last % 2 == 0 && a->curvature[last / 2].value != 0)
        return 0; /* the middle face of a cemented pair would have to be its own mirror image */
    for (size_t i = 0; i < glasses; i++) {
        size_t k = turned ? last - 1 - i : i;
        all *= odds_of(a->thickness_mm[i], b->thickness_mm[k].value, b->thickness_mm[k].u, 3, 0.01);
        all *= odds_of(a->n_d[i], b->n_d[k].value, b->n_d[k].u, 0.2, 5e-4);
    }
    return all;
}

/* Beforehand: one single in five has two equal faces, one pair of pieces in ten is a pair of twins, every second pair
 * of rings of one diameter is cut alike. Common practice, no source. */
static double chance(double before, double odds_now)
{
    return before * odds_now / (before * odds_now + 1 - before);
}

double cw_inside_alike(const search *s, const cw_arrangement *a, const cw_arrangement *b)
{
    double least = 1;
    for (size_t i = 0; i < s->n; i++) {
        size_t g = a->group[i], h = b->group[i];
        if (g != h || a->turned[i] != b->turned[i])
            least = fmin(least, chance(g == h ? 0.2 : 0.1, glass_odds(s, g, a->turned[i], h, b->turned[i])));
        if (i + 1 == s->n || a->spacer[i] == b->spacer[i])
            continue;
        const cw_spacer *x = &s->puzzle->spacer[a->spacer[i]], *y = &s->puzzle->spacer[b->spacer[i]];
        if (fabs(x->contact_mm - y->contact_mm) > 0.005 * x->contact_mm)
            return 0;
        least = fmin(least, chance(0.5, odds_of(x->length_mm, y->length_mm.value, y->length_mm.u, 6, 0.01)));
    }
    return least;
}
