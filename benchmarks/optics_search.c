/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The order search with its shortcuts and without: the same ranking, in how much less time. */
#include <stdio.h>
#include <time.h>

#include "optics/support.h"

#include "optics/order.h"

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Six loose single elements of one diameter: nothing rules an arrangement out. `rings`: five distinct ones or five
 * alike. */
static cw_puzzle six_groups(bool distinct)
{
    static const double radii[6][2] = {{56.2, 152.3}, {-37.7, 480},   {24.2, -61},
                                       {-28.4, 37.9}, {177.4, -79.4}, {-45, 38}};
    cw_puzzle p = {.group_count = 6,
                   .focal_length_mm = {75.6, 0.75},
                   .back_focus_mm = {61.4, 0.1},
                   .f_number = 5,
                   .half_field_deg = NAN};
    for (size_t i = 0; i < 6; i++) {
        p.group[i] = (cw_loose_group){.label = {(char)('A' + i)},
                                      .glasses = 1,
                                      .diameter_mm = 20,
                                      .position = SIZE_MAX,
                                      .turned = -1,
                                      .inside_known = true,
                                      .focal_length_mm = {NAN, NAN},
                                      .front_focus_mm = {NAN, NAN},
                                      .back_focus_mm = {NAN, NAN}};
        for (int k = 0; k < 2; k++)
            p.group[i].curvature[k] = (cw_quantity){1 / radii[i][k], 0.005 / fabs(radii[i][k])};
        p.group[i].thickness_mm[0] = (cw_quantity){3 + 0.4 * (double)i, 0.02};
        p.group[i].n_d[0] = (cw_quantity){1.52 + 0.025 * (double)i, 0};
        p.spacer[i] = (cw_spacer){.label = {'s', (char)('1' + i)},
                                  .length_mm = {6 + (distinct ? 0.7 * (double)i : 0), 0.02},
                                  .contact_mm = 19,
                                  .position = SIZE_MAX};
        p.place[i] = (cw_barrel_place){NAN, NAN};
    }
    return p;
}

static cw_order *timed(const cw_puzzle *p, bool thorough, double *seconds)
{
    cw_order_prior prior = cw_order_prior_default();
    cw_order *order = NULL;
    cw_error err;
    double start = now_s();
    if (cw_order_rank(p, &prior, thorough, &order, &err) != CW_OK)
        fprintf(stderr, "%s\n", err.text);
    *seconds = now_s() - start;
    return order;
}

static bool same_ranking(const cw_order *a, const cw_order *b)
{
    for (size_t i = 0; i < a->count && i < b->count; i++)
        if (a->candidate[i].probability > 1e-9 &&
            (memcmp(&a->candidate[i].what, &b->candidate[i].what, sizeof(cw_arrangement)) != 0 ||
             fabs(a->candidate[i].probability - b->candidate[i].probability) > 1e-9))
            return false;
    return true;
}

int main(void)
{
    double quick_s, thorough_s;
    cw_puzzle alike = six_groups(false), distinct = six_groups(true);
    cw_order *quick = timed(&alike, false, &quick_s), *thorough = timed(&alike, true, &thorough_s);
    if (quick == NULL || thorough == NULL || !same_ranking(quick, thorough)) {
        fprintf(stderr, "the rankings differ\n");
        return 1;
    }
    printf("six loose groups, rings alike: %.0f arrangements\n", quick->arrangements);
    printf("  with shortcuts     %8.4f s, real rays for %zu\n", quick_s, quick->evaluated_rays);
    printf("  without            %8.4f s, real rays for %zu: %.0f times as long, the same ranking\n", thorough_s,
           thorough->evaluated_rays, thorough_s / quick_s);
    cw_order_free(quick);
    cw_order_free(thorough);
    quick = timed(&distinct, false, &quick_s);
    if (quick == NULL)
        return 1;
    printf("six loose groups, five distinct rings: %.0f arrangements\n", quick->arrangements);
    printf("  with shortcuts     %8.4f s, real rays for %zu\n", quick_s, quick->evaluated_rays);
    cw_order_free(quick);
    return 0;
}
