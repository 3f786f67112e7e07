/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/press.h"

#include <math.h>

#include "support/check.h"

#define PSI 6894.757293168361
#define IN 0.0254

static cw_material metal(double elastic_pa, double yield_pa, double poisson)
{
    return (cw_material){"t", "t", {elastic_pa, 0}, {yield_pa, 0}, poisson, 11.7e-6, 7850, "test"};
}

/* Shigley 8th ed., solutions manual 3-68: p 22500 psi, ring hoop 37500 psi (the inputs are exact; the figures round).
 */
static void shrink_fit_of_an_inch_shaft(void **state)
{
    (void)state;
    cw_material steel = metal(30e6 * PSI, 60e3 * PSI, 0.292);
    cw_press press = {1 * IN, 0, 2 * IN, 0.002 * IN, 1 * IN, 0.12, &steel, &steel};
    cw_press_result r;
    cw_error err;
    assert_ok(cw_press_find(&press, &r, &err), &err);
    assert_near(r.pressure_pa / PSI, 22500, 0.5);
    assert_near(r.hub_hoop_pa / PSI, 37500, 0.5);
    /* mu p pi d L, by hand: 0.12 * 22500 * pi lbf = 8482 lbf */
    assert_near(r.force_n / 4.4482216152605, 8482.3, 0.5);
    assert_near(r.torque_n_m, r.force_n * 0.0127, 1e-9);
}

/* Shigley 8th ed., solutions manual 3-64: p 114.5 and 34.9 MPa; E 207 GPa and 80 mm are the figures that give them. */
static void a_forty_millimetre_shaft(void **state)
{
    (void)state;
    cw_material steel = metal(207e9, 400e6, 0.292);
    static const double interference_m[] = {2 * 0.0295e-3, 2 * 0.009e-3}, expected_mpa[] = {114.5, 34.9};
    for (size_t i = 0; i < 2; i++) {
        cw_press press = {40e-3, 0, 80e-3, interference_m[i], 30e-3, 0.1, &steel, &steel};
        cw_press_result r;
        cw_error err;
        assert_ok(cw_press_find(&press, &r, &err), &err);
        assert_near(r.pressure_pa / 1e6, expected_mpa[i], 0.05);
    }
}

/* Ugural and Fenster, ex. 8.3: 300/400 in 400/500 mm, p 12.3 MPa; outer hoop 56.0 and 43.7, inner -56.2 at the bore. */
static void a_hollow_pin_of_ugural_and_fenster(void **state)
{
    (void)state;
    cw_material steel = metal(200e9, 400e6, 0.3);
    cw_press press = {0.4, 0.3, 0.5, 0.2e-3, 0.1, 0.1, &steel, &steel};
    cw_press_result r;
    cw_error err;
    assert_ok(cw_press_find(&press, &r, &err), &err);
    assert_near(r.pressure_pa / 1e6, 12.3, 0.05);
    assert_near(r.hub_hoop_pa / 1e6, 56.0, 0.06);
    assert_near(r.hub_outer_hoop_pa / 1e6, 43.7, 0.06);
    assert_near(r.pin_hoop_pa / 1e6, -56.2, 0.06);
}

/* Machinery's Handbook 31st ed., p. 644, table 1: allowance A = T (1 + C)/E for an equivalent tension T (largest strain
 * rule, nu 1/3). C printed to three places; 2.2 prints 0.359 where the formula gives 0.360. */
static void shrink_allowances_of_the_handbook(void **state)
{
    (void)state;
    static const double ratio[] = {1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.6, 2.8, 3.0, 3.2, 3.4, 3.6, 3.8, 4.0};
    static const double c[] = {0.227, 0.255, 0.299, 0.333, 0.359, 0.380, 0.397,
                               0.410, 0.421, 0.430, 0.438, 0.444, 0.450, 0.455};
    cw_material steel = metal(206843e6, 400e6, 1.0 / 3);
    for (size_t i = 0; i < CW_COUNT(ratio); i++) {
        cw_press press = {0.25, 0, 0.25 * ratio[i], 0.25 * 0.001, 0.1, 0.1, &steel, &steel};
        cw_press_result r;
        cw_error err;
        assert_ok(cw_press_find(&press, &r, &err), &err);
        double equivalent = r.hub_hoop_pa + r.pressure_pa / 3; /* E times the largest strain at the bore */
        assert_near(0.001 * 206843e6 / equivalent - 1, c[i], 0.00105);
    }
}

/* Own derivation: the pressure on the pin, summed over its length, must give the torque and no net force. */
static void cross_pin_bearing_agrees_with_its_integral(void **state)
{
    (void)state;
    cw_material steel = metal(205e9, 440e6, 0.29), brass = metal(103e9, 303e6, 0.34);
    cw_pin pin = {.kind = CW_PIN_CROSS,
                  .pin_m = 1.5e-3,
                  .torque_n_m = 0.6,
                  .shaft_m = 6e-3,
                  .hub_wall_m = 2e-3,
                  .pin = &steel,
                  .around = &brass};
    cw_pin_result r;
    cw_error err;
    assert_ok(cw_pin_find(&pin, &r, &err), &err);
    double torque = 0, shaft_peak = 6 * pin.torque_n_m / (pin.pin_m * pin.shaft_m * pin.shaft_m);
    int steps = 20000;
    for (int i = 0; i < steps; i++) {
        double x = ((i + 0.5) / steps - 0.5) * pin.shaft_m;
        torque += shaft_peak * (x / (pin.shaft_m / 2)) * pin.pin_m * x * pin.shaft_m / steps;
    }
    assert_near(torque, pin.torque_n_m, 1e-6);
    assert_near(r.bearing_pa, shaft_peak, 1);
    assert_near(r.shear_pa * M_PI * 1.5e-3 * 1.5e-3 / 4 * 6e-3, 0.6, 1e-9); /* two planes, each at half the diameter */
    assert_near(r.torque_at_yield_n_m, 0.6 * r.least_reserve, 1e-12);
}

static void stud_bearing_agrees_with_its_integral(void **state)
{
    (void)state;
    cw_material steel = metal(205e9, 440e6, 0.29), brass = metal(103e9, 303e6, 0.34);
    cw_pin pin = {.kind = CW_PIN_STUD,
                  .pin_m = 1.2e-3,
                  .torque_n_m = 0.05,
                  .radius_m = 7e-3,
                  .plate_m = 1.5e-3,
                  .overhang_m = 0.8e-3,
                  .pin = &steel,
                  .around = &brass};
    cw_pin_result r;
    cw_error err;
    assert_ok(cw_pin_find(&pin, &r, &err), &err);
    double force = 0, moment = 0, F = 0.05 / 7e-3, t = 1.5e-3, mean = F / (1.2e-3 * t), slope = r.bearing_pa - mean;
    int steps = 20000;
    for (int i = 0; i < steps; i++) {
        double x = ((i + 0.5) / steps - 0.5) * t, p = mean + slope * x / (t / 2);
        force += p * 1.2e-3 * t / steps;
        moment += p * 1.2e-3 * x * t / steps;
    }
    assert_near(force, F, 1e-6 * F);
    assert_near(moment, F * (0.8e-3 + t / 2), 1e-5 * F * t);
    assert_near(r.bending_pa, 32 * F * 0.8e-3 / (M_PI * pow(1.2e-3, 3)), 1);
}

static void a_staked_rim_holds_by_friction(void **state)
{
    (void)state;
    cw_material brass = metal(103e9, 303e6, 0.34);
    cw_stake stake = {2e-3, 0.3e-3, 0.25e-3, 0.3, 0.2, &brass};
    cw_stake_result r;
    cw_error err;
    assert_ok(cw_stake_find(&stake, &r, &err), &err);
    double torque = 0, ri = 1e-3, ro = 1.3e-3;
    for (int i = 0; i < 10000; i++) {
        double x = ri + (ro - ri) * (i + 0.5) / 10000;
        torque += 0.3 * 0.2 * 303e6 * 2 * M_PI * x * x * (ro - ri) / 10000;
    }
    assert_near(r.holding_n_m, torque, 1e-6 * torque);
    assert_true(r.pull_out_n > 0 && r.pull_out_n < 303e6 * M_PI * (ro * ro - ri * ri) + 1e-9);
    stake.lip_m = 1.5e-3;
    assert_fails(cw_stake_find(&stake, &r, &err), CW_RANGE, &err, "up to 1 mm");
}

static void sizes_that_cannot_be_are_named(void **state)
{
    (void)state;
    cw_material steel = metal(205e9, 440e6, 0.29);
    cw_press_result r;
    cw_pin_result pr;
    cw_error err;
    cw_press press = {4e-3, 0, 3.9e-3, 10e-6, 3e-3, 0.1, &steel, &steel};
    assert_fails(cw_press_find(&press, &r, &err), CW_RANGE, &err, "hub of 3.9 mm");
    press.hub_outer_m = 8e-3;
    press.interference_m = 0.5e-3;
    assert_fails(cw_press_find(&press, &r, &err), CW_RANGE, &err, "0 to 0.08 mm");
    press.interference_m = -1e-6;
    assert_fails(cw_press_find(&press, &r, &err), CW_RANGE, &err, "loose pin");
    press.interference_m = 10e-6;
    press.pin_bore_m = 4e-3;
    assert_fails(cw_press_find(&press, &r, &err), CW_RANGE, &err, "hole along the pin");
    cw_pin pin = {.kind = CW_PIN_CROSS,
                  .pin_m = 5e-3,
                  .torque_n_m = 1,
                  .shaft_m = 6e-3,
                  .hub_wall_m = 1e-3,
                  .pin = &steel,
                  .around = &steel};
    assert_fails(cw_pin_find(&pin, &pr, &err), CW_RANGE, &err, "1.8 mm");
    pin.pin_m = 0;
    assert_fails(cw_pin_find(&pin, &pr, &err), CW_RANGE, &err, "pin diameter 0 mm");
    pin.pin_m = 1e-3;
    pin.torque_n_m = 0; /* the range ends at 1e6: its rounding is not the least torque's */
    assert_fails(cw_pin_find(&pin, &pr, &err), CW_RANGE, &err, "torque 0 N m");
    pin.torque_n_m = 1e-6 * (1 - 1e-15);
    assert_ok(cw_pin_find(&pin, &pr, &err), &err);
}

CHECK_MAIN(cmocka_unit_test(shrink_fit_of_an_inch_shaft), cmocka_unit_test(a_forty_millimetre_shaft),
           cmocka_unit_test(a_hollow_pin_of_ugural_and_fenster), cmocka_unit_test(shrink_allowances_of_the_handbook),
           cmocka_unit_test(cross_pin_bearing_agrees_with_its_integral),
           cmocka_unit_test(stud_bearing_agrees_with_its_integral), cmocka_unit_test(a_staked_rim_holds_by_friction),
           cmocka_unit_test(sizes_that_cannot_be_are_named))
