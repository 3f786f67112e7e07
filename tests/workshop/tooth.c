/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/tooth.h"

#include <math.h>

#include "support/check.h"

#define IN 0.0254
#define LBF 4.4482216152605
#define PSI 6894.757293168361

static cw_tooth standard(int teeth)
{
    return (cw_tooth){.teeth = teeth,
                      .module_m = 1e-3,
                      .pressure_angle_rad = M_PI / 9,
                      .addendum = 1,
                      .dedendum = 1.25,
                      .tip_radius = 0.3};
}

/* Shigley, table 14-2, from memory. Lewis read his factors off drawings of teeth with the fillets of his day: the
 * outline of today's rack agrees within 8 % at 15 teeth, 3 % from 30 on, and never lies above it by more than 1 %. */
static void the_outline_agrees_with_the_printed_factors(void **state)
{
    (void)state;
    static const struct {
        int teeth;
        double printed;
    } rows[] = {{12, 0.245}, {15, 0.290}, {18, 0.309},  {22, 0.331},
                {30, 0.359}, {50, 0.409}, {100, 0.447}, {300, 0.472}};
    double before = 0;
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        cw_tooth tooth = standard(rows[i].teeth);
        double factor;
        cw_error err;
        assert_ok(cw_tooth_form_factor(&tooth, &factor, &err), &err);
        assert_near(cw_tooth_table_factor(rows[i].teeth), rows[i].printed, 1e-12);
        assert_near(factor / rows[i].printed, 0.965, rows[i].teeth < 30 ? 0.05 : 0.03);
        assert_true(factor > before); /* more teeth, a broader foot */
        before = factor;
    }
    assert_near(cw_tooth_table_factor(16), 0.296, 1e-12);
    assert_near(cw_tooth_table_factor(23), 0.334, 1e-12); /* half way between its rows */
    assert_true(isnan(cw_tooth_table_factor(11)));
    assert_near(cw_tooth_table_factor(1000000), 0.485, 1e-5); /* the rack */
}

/* A profile shift outwards and a larger pressure angle make the foot broader; what the angle does between 14.5 and 20
 * degrees is in every handbook's table. */
static void shift_and_angle_broaden_the_foot(void **state)
{
    (void)state;
    cw_tooth plain = standard(20), shifted = plain, steep = plain, old = plain;
    shifted.shift = 0.4;
    steep.pressure_angle_rad = 25 * M_PI / 180;
    steep.tip_radius = 0.2;
    old.pressure_angle_rad = 14.5 * M_PI / 180;
    double y, y_shifted, y_steep, y_old;
    cw_error err;
    assert_ok(cw_tooth_form_factor(&plain, &y, &err), &err);
    assert_ok(cw_tooth_form_factor(&shifted, &y_shifted, &err), &err);
    assert_ok(cw_tooth_form_factor(&steep, &y_steep, &err), &err);
    assert_ok(cw_tooth_form_factor(&old, &y_old, &err), &err);
    assert_true(y_shifted > 1.15 * y);
    assert_true(y_steep > 1.05 * y);
    assert_true(y_old < 0.95 * y);
}

/* Shigley, example 14-1, from memory: 16 teeth, 8 to the inch, 1.5 in wide, 1200 rpm, milled: V 628 ft/min, Kv 1.52,
 * 365 lbf at 10 kpsi. */
static void a_stock_gear_of_shigley(void **state)
{
    (void)state;
    double module = IN / 8, velocity = M_PI * 2 * IN * 1200 / 60;
    assert_near(velocity / 0.00508, 628, 0.5);
    double kv = cw_tooth_velocity_factor(CW_TOOTH_MILLED, velocity);
    assert_near(kv, 1.52, 0.005);
    double stress = cw_tooth_stress_pa(365 * LBF, 1.5 * IN, module, cw_tooth_table_factor(16), kv);
    assert_near(stress / PSI, 10000, 30);
    assert_near(cw_tooth_velocity_factor(CW_TOOTH_STILL, velocity), 1, 1e-12);
    assert_true(cw_tooth_velocity_factor(CW_TOOTH_CAST, velocity) > kv);
    assert_true(cw_tooth_velocity_factor(CW_TOOTH_HOBBED, velocity) >
                cw_tooth_velocity_factor(CW_TOOTH_GROUND, velocity));
}

/* Barth's factors as they were printed first, in feet a minute: (600 + V)/600, (1200 + V)/1200, (50 + sqrt V)/50 and
 * the root of (78 + sqrt V)/78 (Shigley, equations 14-4, from memory). */
static void speed_factors_are_those_of_feet_a_minute(void **state)
{
    (void)state;
    static const double speeds_m_s[] = {0.31, 3.19, 11.7};
    for (size_t i = 0; i < CW_COUNT(speeds_m_s); i++) {
        double v = speeds_m_s[i], feet = v / 0.00508;
        assert_near(cw_tooth_velocity_factor(CW_TOOTH_CAST, v) / ((600 + feet) / 600), 1, 0.001);
        assert_near(cw_tooth_velocity_factor(CW_TOOTH_MILLED, v) / ((1200 + feet) / 1200), 1, 0.001);
        assert_near(cw_tooth_velocity_factor(CW_TOOTH_HOBBED, v) / ((50 + sqrt(feet)) / 50), 1, 0.001);
        assert_near(cw_tooth_velocity_factor(CW_TOOTH_GROUND, v) / (sqrt((78 + sqrt(feet)) / 78)), 1, 0.001);
    }
}

static void what_is_no_tooth_is_refused(void **state)
{
    (void)state;
    cw_tooth tooth = standard(5);
    double factor = -1;
    cw_error err;
    assert_fails(cw_tooth_form_factor(&tooth, &factor, &err), CW_RANGE, &err, "teeth 5");
    tooth = standard(8);
    tooth.shift = 1.2;
    assert_fails(cw_tooth_form_factor(&tooth, &factor, &err), CW_RANGE, &err, "pointed");
    tooth = standard(20);
    tooth.pressure_angle_rad = 30 * M_PI / 180;
    tooth.tip_radius = 0.5;
    assert_fails(cw_tooth_form_factor(&tooth, &factor, &err), CW_RANGE, &err, "no room");
    tooth = standard(20);
    tooth.shift = NAN;
    assert_fails(cw_tooth_form_factor(&tooth, &factor, &err), CW_RANGE, &err, "profile shift is not known");
    assert_near(factor, -1, 0);
}

CHECK_MAIN(cmocka_unit_test(the_outline_agrees_with_the_printed_factors),
           cmocka_unit_test(shift_and_angle_broaden_the_foot), cmocka_unit_test(a_stock_gear_of_shigley),
           cmocka_unit_test(speed_factors_are_those_of_feet_a_minute), cmocka_unit_test(what_is_no_tooth_is_refused))
