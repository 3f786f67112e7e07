/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/seized.h"

#include <math.h>

#include "support/check.h"

static cw_seized ring(void)
{
    return (cw_seized){.pitch_diameter_m = 29.5e-3,
                       .pitch_m = 0.5e-3,
                       .flank_angle_rad = M_PI / 3,
                       .engaged_m = 2e-3,
                       .seat_diameter_m = 27e-3,
                       .tightened_n_m = 0.6,
                       .mu_assembly = 0.2,
                       .mu_least = 0.15,
                       .mu_most = 0.4,
                       .bond = cw_bond_find("none")};
}

/* Work: one slow turn raises the load by the pitch and rubs along flank and seat. For a square thread (flank angle 0)
 * without a seat the exact inclined-plane law is T = F d/2 tan(lead + friction angle): Shigley, 8-2, same thing. */
static void a_square_thread_is_an_inclined_plane(void **state)
{
    (void)state;
    double d = 10e-3, l = 2e-3, mu = 0.17, lead = atan(l / (M_PI * d));
    assert_near(cw_thread_tighten_n_m(100, d, l, 0, mu, 0), 100 * d / 2 * tan(lead + atan(mu)), 1e-9);
    assert_near(cw_thread_loosen_n_m(100, d, l, 0, mu, 0), 100 * d / 2 * tan(atan(mu) - lead), 1e-9);
    assert_near(cw_thread_tighten_n_m(100, d, l, 0, mu, 20e-3) - cw_thread_tighten_n_m(100, d, l, 0, mu, 0),
                100 * mu * 10e-3, 1e-12);
    assert_true(cw_thread_loosen_n_m(100, d, 12e-3, 0, 0.05, 0) < 0); /* steep: undoes itself */
}

static void the_same_friction_loosens_a_little_easier_than_it_tightened(void **state)
{
    (void)state;
    cw_seized s = ring();
    s.mu_least = s.mu_most = 0.2;
    cw_seized_result r;
    cw_error err;
    assert_ok(cw_seized_find(&s, &r, &err), &err);
    assert_true(r.most_n_m < 0.6 && r.most_n_m > 0.5);
    assert_near(r.least_n_m, r.most_n_m, 1e-12);
    /* the pitch's share, F l / (2 pi) (1 + f^2), counts once each way: the slope of tan(lead +- friction angle), small
     * lead */
    double f = 0.2 / cos(M_PI / 6), expected = r.axial_n * 0.5e-3 / M_PI * (1 + f * f);
    assert_near(0.6 - r.most_n_m, expected, 0.001 * expected);
}

static void what_glues_it_adds_its_shear_over_the_thread(void **state)
{
    (void)state;
    cw_seized s = ring();
    cw_seized_result plain, glued;
    cw_error err;
    assert_ok(cw_seized_find(&s, &plain, &err), &err);
    s.bond = cw_bond_find("lacquer");
    assert_ok(cw_seized_find(&s, &glued, &err), &err);
    assert_near(glued.most_n_m - plain.most_n_m, s.bond->shear_most_pa * M_PI * 29.5e-3 * 2e-3 * 29.5e-3 / 2, 1e-9);
    assert_true(glued.least_n_m < glued.most_n_m);
    s.mu_most = 0.1;
    assert_fails(cw_seized_find(&s, &plain, &err), CW_RANGE, &err, "largest friction now");
    s = ring();
    s.pitch_m = 0;
    assert_fails(cw_seized_find(&s, &plain, &err), CW_RANGE, &err, "pitch 0 mm");
}

/* By hand with Gere's 23 and 20e-6/K on 40 mm and 40 K: 40e-3 * 40 * 3e-6 = 4.8 um. */
static void warming_gains_by_the_difference_of_expansion(void **state)
{
    (void)state;
    cw_warming w = {cw_material_find("aluminium-6061-t6"), cw_material_find("brass-hard"), 40e-3, 40, 40};
    cw_warming_result r;
    cw_error err;
    assert_ok(cw_warming_find(&w, &r, &err), &err);
    assert_near(r.gain_m, 4.8e-6, 1e-12);
    assert_near(r.gain_per_k_m, 0.12e-6, 1e-12);
    assert_near(r.quick_gain_m, 36.8e-6, 1e-12);
    w = (cw_warming){w.inner, w.outer, 40e-3, 40, 40};
    assert_ok(cw_warming_find(&w, &r, &err), &err);
    assert_near(r.gain_m, -4.8e-6, 1e-12); /* the other way round it grips */
    w.outer = cw_material_find("birch-plywood");
    assert_fails(cw_warming_find(&w, &r, &err), CW_RANGE, &err, "your own material");
    w = (cw_warming){w.inner, w.inner, 40e-3, 400, 40};
    assert_fails(cw_warming_find(&w, &r, &err), CW_RANGE, &err, "warming of the outer part 400 K");
}

static void heat_limits_come_lowest_first(void **state)
{
    (void)state;
    size_t count;
    const cw_heat_limit *limits = cw_heat_limits(&count);
    assert_true(count >= 8);
    for (size_t i = 1; i < count; i++)
        assert_true(limits[i].most_k >= limits[i - 1].most_k);
}

CHECK_MAIN(cmocka_unit_test(a_square_thread_is_an_inclined_plane),
           cmocka_unit_test(the_same_friction_loosens_a_little_easier_than_it_tightened),
           cmocka_unit_test(what_glues_it_adds_its_shear_over_the_thread),
           cmocka_unit_test(warming_gains_by_the_difference_of_expansion),
           cmocka_unit_test(heat_limits_come_lowest_first))
