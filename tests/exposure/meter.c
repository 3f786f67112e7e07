/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exposure/meter.h"

#include <math.h>
#include <string.h>

#include "support/check.h"

static void offset_slope_and_bend_are_told_apart(void **state)
{
    (void)state;
    static const double levels[] = {5.2, 8.1, 10.7, 12.9, 15.3};
    cw_meter_point p[5];
    cw_meter_result r;
    cw_error err;
    for (size_t i = 0; i < 5; i++)
        p[i] = (cw_meter_point){{levels[i], 0.05}, levels[i] - 0.8};
    assert_ok(cw_meter_check(5, p, 0.05, 1.0 / 3, &r, &err), &err);
    assert_int_equal(r.fault, CW_METER_OFFSET);
    assert_near(r.offset_ev.value, 0.8, 1e-9);
    assert_near(r.slope.value, 1, 1e-9);
    assert_contains(r.advice, "0.80 EV more exposure");
    assert_contains(r.advice, "1.7 times"); /* 2^0.8 = 1.74 */

    for (size_t i = 0; i < 5; i++)
        p[i].shown = 10 + 0.85 * (levels[i] - 10);
    assert_ok(cw_meter_check(5, p, 0.05, 1.0 / 3, &r, &err), &err);
    assert_int_equal(r.fault, CW_METER_SLOPE);
    assert_near(r.slope.value, 0.85, 1e-9);
    assert_near(r.linearity_ev.value, 0, 1e-9);

    for (size_t i = 0; i < 5; i++)
        p[i].shown = levels[i] - (i == 0 ? 1.9 : 0);
    assert_ok(cw_meter_check(5, p, 0.05, 1.0 / 3, &r, &err), &err);
    assert_int_equal(r.fault, CW_METER_CURVED);
    assert_near(r.worst_ev, 1.9, 1e-9);
    assert_near(r.worst_at_ev, 5.2, 1e-9);

    for (size_t i = 0; i < 5; i++)
        p[i].shown = levels[i] + (i % 2 == 0 ? 0.1 : -0.1);
    assert_ok(cw_meter_check(5, p, 0.1, 1.0 / 3, &r, &err), &err);
    assert_int_equal(r.fault, CW_METER_GOOD);
}

/* k = 2 covers about 95 % of simulated meters, for offset and slope alike. Seed fixed. */
static void the_stated_uncertainty_covers_the_truth(void **state)
{
    (void)state;
    check_random random = {77123};
    int trials = 2000, offset_in = 0, slope_in = 0;
    for (int t = 0; t < trials; t++) {
        cw_meter_point p[6];
        cw_meter_result r;
        cw_error err;
        double middle = 0;
        for (int i = 0; i < 6; i++) {
            double level = 4.3 + 2.1 * i;
            p[i].reference = (cw_quantity){level + 0.10 * check_gaussian(&random), 0.10};
            p[i].shown = 1.3 + 0.93 * level + 0.17 * check_gaussian(&random);
            middle += p[i].reference.value / 6;
        }
        assert_ok(cw_meter_check(6, p, 0.17, 1.0 / 3, &r, &err), &err);
        offset_in += fabs(r.offset_ev.value - (middle - 1.3 - 0.93 * middle)) <= 2 * r.offset_ev.u;
        slope_in += fabs(r.slope.value - 0.93) <= 2 * r.slope.u;
    }
    /* raised by the scatter where that is large, never lowered: at least 95 %, at most 99 */
    assert_true(offset_in >= 0.94 * trials && offset_in <= 0.995 * trials);
    assert_true(slope_in >= 0.94 * trials && slope_in <= 0.995 * trials);
}

static void few_levels_tell_less(void **state)
{
    (void)state;
    cw_meter_point p[2] = {{{12, 0.1}, 11.2}, {{12, 0.1}, 11.3}};
    cw_meter_result r;
    cw_error err;
    assert_ok(cw_meter_check(1, p, 0.1, 1.0 / 3, &r, &err), &err);
    assert_near(r.offset_ev.value, 0.8, 1e-12);
    assert_near(r.offset_ev.u, hypot(0.1, 0.1), 1e-12);
    assert_true(isnan(r.slope.value) && isnan(r.linearity_ev.value));
    assert_ok(cw_meter_check(2, p, 0.1, 1.0 / 3, &r, &err), &err); /* the same light twice: no slope */
    assert_true(isnan(r.slope.value));
    assert_fails(cw_meter_check(0, p, 0.1, 0.3, &r, &err), CW_RANGE, &err, "0 light levels");
    p[1].shown = 40;
    assert_fails(cw_meter_check(2, p, 0.1, 0.3, &r, &err), CW_RANGE, &err, "light level 2: reading 40 EV");
    p[1] = (cw_meter_point){{12, 0}, 12};
    assert_fails(cw_meter_check(2, p, 0.1, 0.3, &r, &err), CW_RANGE, &err, "uncertainty of the reference");
    assert_fails(cw_meter_check(1, p, 0, 0.3, &r, &err), CW_RANGE, &err, "uncertainty of reading");
}

CHECK_MAIN(cmocka_unit_test(offset_slope_and_bend_are_told_apart),
           cmocka_unit_test(the_stated_uncertainty_covers_the_truth), cmocka_unit_test(few_levels_tell_less))
