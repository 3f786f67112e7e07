/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "optics/puzzle.h"

#include <math.h>
#include <stdint.h>

#include "optics/lens.h"

static double thick_power(double c1, double c2, double t, double n)
{
    return (n - 1) * (c1 - c2 + (n - 1) * t * c1 * c2 / n);
}

cw_status cw_index_from_focal_length(cw_quantity c1, cw_quantity c2, cw_quantity thickness_mm, cw_quantity focal_mm,
                                     cw_quantity *index, cw_error *err)
{
    double power = 1 / focal_mm.value, low = 1.05, high = 4;
    double at_low = thick_power(c1.value, c2.value, thickness_mm.value, low) - power;
    double at_high = thick_power(c1.value, c2.value, thickness_mm.value, high) - power;
    if (!(at_low * at_high < 0))
        return cw_fail(err, CW_RANGE,
                       "no glass between index 1.05 and 4 gives these radii a focal length of %g mm; is a "
                       "sign or a unit wrong?",
                       focal_mm.value);
    for (int i = 0; i < 60; i++) {
        double middle = (low + high) / 2;
        double at = thick_power(c1.value, c2.value, thickness_mm.value, middle) - power;
        if (at * at_low > 0)
            low = middle;
        else
            high = middle;
    }
    double n = (low + high) / 2, t = thickness_mm.value, m = n - 1;
    /* implicit differentiation of 1/f = P(c1, c2, t, n) */
    double by_n = c1.value - c2.value + t * c1.value * c2.value * m * (n + 1) / (n * n);
    double by_c1 = m * (1 + m * t * c2.value / n), by_c2 = m * (-1 + m * t * c1.value / n);
    double by_t = m * m * c1.value * c2.value / n, by_f = power / focal_mm.value;
    double sum =
        pow(by_c1 * c1.u, 2) + pow(by_c2 * c2.u, 2) + pow(by_t * thickness_mm.u, 2) + pow(by_f * focal_mm.u, 2);
    *index = (cw_quantity){n, sqrt(sum) / fabs(by_n)};
    return CW_OK;
}

/* Sag at h, or at the equator where the face is rounder than that. */
static double sag_within(double c, double h)
{
    return cw_sag_mm(c, 0, c != 0 ? fmin(h, 1 / fabs(c)) : h);
}

static cw_status check_group(const cw_loose_group *g, cw_error *err)
{
    if (g->glasses < 1 || g->glasses > CW_GROUP_GLASSES)
        return cw_fail(err, CW_RANGE, "%zu glasses; 1 to %d can be computed", g->glasses, CW_GROUP_GLASSES);
    double radius = isnan(g->diameter_mm) ? 0 : g->diameter_mm / 2;
    if (!isnan(g->diameter_mm) && !(g->diameter_mm > 0 && g->diameter_mm < 1000))
        return cw_fail(err, CW_RANGE, "diameter %g mm; above 0 and below 1000 can be used", g->diameter_mm);
    for (size_t i = 0; i <= g->glasses; i++) {
        /* a hollow outer face may end in a flat ring before the rim, so it may be a little too round; a full one not */
        bool hollow = i == 0 ? g->curvature[i].value < 0 : i == g->glasses && g->curvature[i].value > 0;
        double reach = radius * (hollow || (i > 0 && i < g->glasses) ? 0.8 : 0.98);
        if (!isfinite(cw_sag_mm(g->curvature[i].value, 0, reach)))
            return cw_fail(err, CW_RANGE,
                           "a radius of curvature of %g mm cannot reach a diameter of %g mm. Are the units mixed up?",
                           1 / g->curvature[i].value, g->diameter_mm);
    }
    for (size_t i = 0; i < g->glasses; i++) {
        double t = g->thickness_mm[i].value, n = g->n_d[i].value;
        if (!(t > 0 && t < 500))
            return cw_fail(err, CW_RANGE, "thickness %g mm; above 0 and below 500 can be used", t);
        double edge = t + sag_within(g->curvature[i + 1].value, radius) - sag_within(g->curvature[i].value, radius);
        if (edge < -0.5 && edge < -0.05 * g->diameter_mm)
            return cw_fail(
                err, CW_RANGE,
                "the edge would be %.2f mm thick at a diameter of %g mm: its faces cross. Is a radius turned "
                "round or a thickness too small?",
                edge, g->diameter_mm);
        if (!isnan(n) && !(n >= 1.2 && n <= 4))
            return cw_fail(err, CW_RANGE, "index %g; glass lies between 1.2 and 4", n);
    }
    return CW_OK;
}

cw_status cw_puzzle_check(const cw_puzzle *p, cw_error *err)
{
    if (p->group_count < 2 || p->group_count > CW_PUZZLE_GROUPS)
        return cw_fail(err, CW_RANGE, "%zu groups; 2 to %d can be put in order", p->group_count, CW_PUZZLE_GROUPS);
    bool taken[CW_PUZZLE_GROUPS] = {false}, ring_taken[CW_PUZZLE_GROUPS] = {false};
    for (size_t i = 0; i < p->group_count; i++) {
        const cw_loose_group *g = &p->group[i];
        if (check_group(g, err) != CW_OK) {
            cw_context(err, "group %s", g->label);
            return err->status;
        }
        if (g->position != SIZE_MAX && taken[g->position])
            return cw_fail(err, CW_INPUT, "two groups are both fixed in place %zu", g->position + 1);
        if (g->position != SIZE_MAX)
            taken[g->position] = true;
    }
    for (size_t i = 0; i + 1 < p->group_count; i++) {
        const cw_spacer *s = &p->spacer[i];
        if (s->position != SIZE_MAX && ring_taken[s->position])
            return cw_fail(err, CW_INPUT, "two spacers are both fixed in place %zu", s->position + 1);
        if (s->position != SIZE_MAX)
            ring_taken[s->position] = true;
    }
    if (!isnan(p->f_number) && !(p->f_number >= 0.5 && p->f_number <= 200))
        return cw_fail(err, CW_RANGE, "f-number %g; 0.5 to 200 can be used", p->f_number);
    if (!isnan(p->half_field_deg) && !(p->half_field_deg >= 0 && p->half_field_deg <= 60))
        return cw_fail(err, CW_RANGE, "half field %g degrees; 0 to 60 can be used", p->half_field_deg);
    return CW_OK;
}
