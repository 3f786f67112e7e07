/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exposure/flash.h"

#include <math.h>

#include "support/check.h"

static cw_flash_timing leaf(void)
{
    return (cw_flash_timing){{2.6e-3, 0.05e-3}, {2.1e-3, 0.05e-3}, {6.3e-3, 0.05e-3}, 0, 1.5e-3};
}

static void the_flash_must_fall_into_the_open_frame(void **state)
{
    (void)state;
    cw_flash_timing t = leaf();
    cw_flash_result r;
    cw_error err;
    assert_ok(cw_flash_check(&t, &r, &err), &err);
    assert_int_equal(r.verdict, 1);
    assert_near(r.early_s.value, 0.5e-3, 1e-12);
    assert_near(r.late_s.value, 2.2e-3, 1e-12);
    assert_near(r.share, 1, 1e-12);
    assert_near(r.contact_best_s, 4.2e-3 - 0.75e-3, 1e-12);
    t.contact_s.value = 2.0e-3; /* a tenth of a millisecond early, within k = 2 of 0.14 */
    assert_ok(cw_flash_check(&t, &r, &err), &err);
    assert_int_equal(r.verdict, 0);
    t.contact_s.value = 0.9e-3;
    assert_ok(cw_flash_check(&t, &r, &err), &err);
    assert_int_equal(r.verdict, -1);
    assert_near(r.share, 0.3 / 1.5, 1e-9);
    t.contact_s.value = 8e-3;
    assert_ok(cw_flash_check(&t, &r, &err), &err);
    assert_int_equal(r.verdict, -1);
    assert_near(r.share, 0, 0);
    /* a class M bulb wants its contact long before: -20 ms or so */
    const cw_flash_source *bulb = cw_flash_source_find("class-m");
    t.source_start_s = bulb->start_s;
    t.source_end_s = bulb->end_s;
    t.full_close_s.value = 33e-3;
    t.contact_s.value = -4e-3;
    assert_ok(cw_flash_check(&t, &r, &err), &err);
    assert_int_equal(r.verdict, 1);
}

static void openings_that_are_none_are_refused(void **state)
{
    (void)state;
    cw_flash_timing t = leaf();
    cw_flash_result r;
    cw_error err;
    t.full_close_s.value = 2e-3;
    assert_fails(cw_flash_check(&t, &r, &err), CW_RANGE, &err, "never fully open at this speed");
    t = leaf();
    t.contact_s.value = NAN;
    assert_fails(cw_flash_check(&t, &r, &err), CW_RANGE, &err, "contact is not known");
    t = leaf();
    t.source_end_s = -1;
    assert_fails(cw_flash_check(&t, &r, &err), CW_RANGE, &err, "the end comes later");
    t = leaf();
    t.full_open_s.u = -1;
    assert_fails(cw_flash_check(&t, &r, &err), CW_RANGE, &err, "uncertainty below 0");
}

/* Arithmetic of the safety table: 100 uF at 320 V hold 5.1 J; through 2 kohm below 30 V after 0.48 s (0.473), first
 * power 51 W; a 5 W wire-wound part stands it. 1000 uF at 330 V: 54 J. */
static void bleeding_a_capacitor(void **state)
{
    (void)state;
    cw_bleed b = {100e-6, 320, 2000, 5, 30};
    cw_bleed_result r;
    cw_error err;
    assert_ok(cw_bleed_find(&b, &r, &err), &err);
    assert_near(r.energy_j, 5.1, 0.05);
    assert_near(r.time_s, 0.48, 0.01);
    assert_near(r.first_power_w, 51, 0.5);
    assert_true(r.resistor_stands);
    /* by small steps: dV = -V/(RC) dt, and the heat in the resistor is the energy lost */
    double v = 320, heat = 0, t = 0, dt = 1e-6;
    while (v > 30) {
        heat += v * v / 2000 * dt;
        v -= v / (2000 * 100e-6) * dt;
        t += dt;
    }
    assert_near(r.time_s, t, 1e-4);
    assert_near(heat, r.energy_j - 100e-6 * 900 / 2, 1e-3 * heat);
    b = (cw_bleed){1000e-6, 330, 2000, 0.25, 30};
    assert_ok(cw_bleed_find(&b, &r, &err), &err);
    assert_near(r.energy_j, 54, 0.5);
    assert_false(r.resistor_stands);
    cw_bleed again = b;
    again.resistance_ohm = r.resistance_best_ohm;
    assert_ok(cw_bleed_find(&again, &r, &err), &err);
    assert_near(r.time_s, 3, 1e-9);
    b.voltage_v = 0;
    assert_fails(cw_bleed_find(&b, &r, &err), CW_RANGE, &err, "voltage 0 V");
    b = (cw_bleed){100e-6, 320, 0, 5, 30};
    assert_fails(cw_bleed_find(&b, &r, &err), CW_RANGE, &err, "resistor 0 ohm");
}

CHECK_MAIN(cmocka_unit_test(the_flash_must_fall_into_the_open_frame),
           cmocka_unit_test(openings_that_are_none_are_refused), cmocka_unit_test(bleeding_a_capacitor))
