/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/bar.h"

#include <math.h>

#include "support/check.h"

/* Timoshenko, Strength of Materials, table of alpha and beta (from memory): three printed digits, half a unit of the
 * last. */
static void rectangles_have_the_handbook_coefficients(void **state)
{
    (void)state;
    static const struct {
        double ratio, alpha, beta;
    } rows[] = {{1, 0.208, 0.141}, {1.5, 0.231, 0.196}, {2, 0.246, 0.229}, {3, 0.267, 0.263},
                {4, 0.282, 0.281}, {6, 0.299, 0.299},   {10, 0.313, 0.313}};
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        double t = 1.37, b = rows[i].ratio * t;
        assert_near(cw_bar_torsion_constant(b, t) / (b * t * t * t), rows[i].beta, 0.001);
        assert_near(1 / (cw_bar_torsion_stress_per_torque(t, b) * b * t * t), rows[i].alpha, 0.001);
    }
}

/* The same bar by another road: the stress function of Prandtl on a grid, relaxed to rest; J = 2 * its volume. */
static void the_series_agrees_with_a_relaxed_membrane(void **state)
{
    (void)state;
    enum { NX = 41, NY = 25 };
    static double phi[NX][NY];
    double h = 0.1; /* 4.0 x 2.4 */
    for (int sweep = 0; sweep < 1500; sweep++)
        for (int i = 1; i < NX - 1; i++)
            for (int j = 1; j < NY - 1; j++) {
                double rest =
                    (phi[i + 1][j] + phi[i - 1][j] + phi[i][j + 1] + phi[i][j - 1] + 2 * h * h) / 4 - phi[i][j];
                phi[i][j] += 1.85 * rest;
            }
    double volume = 0;
    for (int i = 0; i < NX; i++)
        for (int j = 0; j < NY; j++)
            volume += phi[i][j] * h * h;
    double b = (NX - 1) * h, t = (NY - 1) * h;
    /* the grid of 25 steps is good to about h^2: half a percent */
    assert_near(cw_bar_torsion_constant(b, t), 2 * volume, 0.005 * 2 * volume);
}

static void limits_and_laws_hold(void **state)
{
    (void)state;
    assert_near(cw_bar_torsion_constant(500, 1) / (500.0 / 3), 1, 0.0014); /* thin strip */
    assert_near(cw_bar_torsion_constant(2, 3), cw_bar_torsion_constant(3, 2), 1e-12);
    assert_near(cw_bar_torsion_constant(6, 4), 16 * cw_bar_torsion_constant(3, 2), 1e-9);
    assert_near(cw_bar_torsion_stress_per_torque(1, 5000), 3 / 5000.0, 1e-6); /* T = b t^2 tau / 3, no overflow */
    assert_near(cw_round_torsion_constant(2), M_PI / 2, 1e-12);
    assert_near(cw_round_torsion_stress_per_torque(2), 2 / M_PI, 1e-12);
    assert_true(isnan(cw_bar_torsion_constant(0, 1)) && isnan(cw_bar_torsion_stress_per_torque(-1, 1)));
}

CHECK_MAIN(cmocka_unit_test(rectangles_have_the_handbook_coefficients),
           cmocka_unit_test(the_series_agrees_with_a_relaxed_membrane), cmocka_unit_test(limits_and_laws_hold))
