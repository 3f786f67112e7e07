/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/driver.h"

#include <math.h>

#include "support/check.h"

static cw_driver driver(void)
{
    return (cw_driver){.slot_m = 0.4e-3,
                       .depth_m = 0.5e-3,
                       .head_m = 3e-3,
                       .core_m = 1.2e-3,
                       .tip_m = 0.37e-3,
                       .tip_width_m = 2.8e-3,
                       .taper_rad = 0,
                       .mu = 0.2,
                       .tip = cw_material_find("driver-steel"),
                       .screw = cw_material_find("mild-steel")};
}

static void a_parallel_tip_is_judged(void **state)
{
    (void)state;
    cw_driver d = driver();
    cw_driver_result r;
    cw_error err;
    assert_ok(cw_driver_find(&d, &r, &err), &err);
    assert_near(r.play_m, 0.03e-3, 1e-12);
    assert_near(r.tilt_rad, asin(0.03 / 2.8), 1e-9);
    assert_near(r.press_per_torque, 0, 0);
    /* thin strip, T = b t^2 tau/3 (1 - 0.63 t/b): Roark's approximation, good to 2 % at b/t = 7.6 */
    double tau = 1500e6 / sqrt(3), t = 0.37e-3, b = 2.8e-3;
    assert_near(r.tip_torque_n_m, tau * b * t * t / 3 * (1 - 0.63 * t / b), 0.02 * r.tip_torque_n_m);
    assert_near(r.screw_torque_n_m, 250e6 / sqrt(3) * M_PI * pow(1.2e-3, 3) / 16, 1e-12);
    /* linear pressure from the middle outwards, summed over both halves and the depth */
    double sum = 0;
    for (int i = 0; i < 20000; i++) {
        double x = b / 2 * (i + 0.5) / 20000;
        sum += 2 * 250e6 * (x / (b / 2)) * 0.5e-3 * x * (b / 2) / 20000;
    }
    assert_near(r.slot_torque_n_m, sum, 1e-6 * sum);
}

static void a_tapered_tip_climbs_when_friction_does_not_hold_it(void **state)
{
    (void)state;
    cw_driver d = driver();
    cw_driver_result r;
    cw_error err;
    d.tip_m = 0.30e-3;
    d.taper_rad = 30 * M_PI / 180;
    d.mu = 0.1;
    assert_ok(cw_driver_find(&d, &r, &err), &err);
    /* F = T/arm on each side; the face pushes up by tan(15 deg - atan 0.1) */
    assert_near(r.press_per_torque, 2 * tan(15 * M_PI / 180 - atan(0.1)) / (2 * 2.8e-3 / 3), 1e-9);
    assert_near(r.play_m, 0, 1e-12);
    assert_near(r.taper_most_rad, 2 * atan(0.1 / (2 * 0.5)), 1e-9);
    d.mu = 0.3;
    assert_ok(cw_driver_find(&d, &r, &err), &err);
    assert_near(r.press_per_torque, 0, 0);
}

static void tips_that_do_not_go_in_are_named(void **state)
{
    (void)state;
    cw_driver d = driver();
    cw_driver_result r;
    cw_error err;
    d.tip_m = 0.5e-3;
    assert_fails(cw_driver_find(&d, &r, &err), CW_RANGE, &err,
                 "the tip, 0.5 mm, is thicker than its slot, 0.4 mm; hone it to 0.384 mm");
    d = driver();
    d.tip_width_m = 3.5e-3;
    assert_fails(cw_driver_find(&d, &r, &err), CW_RANGE, &err, "stands out over a head of 3 mm");
    d = driver();
    d.slot_m = 4e-3;
    assert_fails(cw_driver_find(&d, &r, &err), CW_RANGE, &err, "narrow size");
    d = driver();
    d.core_m = 3.5e-3;
    assert_fails(cw_driver_find(&d, &r, &err), CW_RANGE, &err, "thinner than the head");
    d = driver();
    d.depth_m = 0;
    assert_fails(cw_driver_find(&d, &r, &err), CW_RANGE, &err, "slot depth 0 mm");
}

/* ISO 4757 from memory; ASME B18.6.3 (boltingspecialist.com); JIS B 1012 type S, a screw maker's table. */
static void recesses_follow_their_tables(void **state)
{
    (void)state;
    static const struct {
        const char *thread;
        int number;
    } rows[] = {{"M1.6", 0}, {"M2", 0},  {"M2.5", 1}, {"M3", 1},   {"M4", 2}, {"M6", 3},
                {"M8", 4},   {"#0", 0},  {"#1", 0},   {"#2", 1},   {"#4", 1}, {"#5", 2},
                {"#10", 2},  {"#12", 3}, {"1/4", 3},  {"5/16", 4}, {"3/8", 4}};
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        const cw_recess *recess = cw_recess_find(rows[i].thread);
        assert_non_null(recess);
        assert_int_equal(recess->number, rows[i].number);
    }
    assert_near(cw_recess_find("m1.7")->head_m, 2.5e-3, 1e-12);
    assert_near(cw_recess_find("M2.3")->recess_m, 2.2e-3, 1e-12);
    assert_null(cw_recess_find("M7"));
}

CHECK_MAIN(cmocka_unit_test(a_parallel_tip_is_judged),
           cmocka_unit_test(a_tapered_tip_climbs_when_friction_does_not_hold_it),
           cmocka_unit_test(tips_that_do_not_go_in_are_named), cmocka_unit_test(recesses_follow_their_tables))
