/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/gear.h"

#include <math.h>

#include "support/check.h"

#define DEG (M_PI / 180)

static cw_gear_pair standard(int z1, int z2, double module_m)
{
    return (cw_gear_pair){.teeth1 = z1,
                          .teeth2 = z2,
                          .module_m = module_m,
                          .pressure_angle_rad = 20 * DEG,
                          .centre_m = NAN,
                          .addendum = 1,
                          .clearance = 0.25};
}

/* bolsover.com, "Profile shifted external spur gears": m 3, z 12 and 24, x 0.6 and 0.36. Half a unit of the last digit,
 * one unit for the contact ratio's inputs, which the page rounds. */
static void the_handbook_pair_with_profile_shift(void **state)
{
    (void)state;
    cw_gear_pair pair = standard(12, 24, 3e-3);
    pair.shift1 = 0.6;
    pair.shift2 = 0.36;
    cw_gear_mesh m;
    cw_error err;
    assert_ok(cw_gear_mesh_find(&pair, &m, &err), &err);
    assert_near(m.working_angle_rad / DEG, 26.0888, 0.0003); /* the page solves from inv 0.034317, rounded */
    assert_near(m.centre_m * 1e3, 56.5, 0.0005);             /* y 0.83333 */
    assert_near(m.base_diameter1_m * 1e3, 33.8289, 0.0001);
    assert_near(m.base_diameter2_m * 1e3, 67.6579, 0.0001);
    assert_near(m.working_diameter1_m * 1e3, 37.667, 0.0005);
    assert_near(m.working_diameter2_m * 1e3, 75.333, 0.0005);
    assert_near(m.tip_diameter1_m * 1e3, 44.840, 0.0005);
    assert_near(m.tip_diameter2_m * 1e3, 79.400, 0.0005);
    assert_near(m.root_diameter1_m * 1e3, 32.100, 0.0005);
    assert_near(m.root_diameter2_m * 1e3, 66.660, 0.0005);
    assert_near(m.whole_depth_m * 1e3, 6.370, 0.0005);
    assert_near(m.contact_ratio, 1.202, 0.0006);
    assert_near(m.backlash_m, 0, 1e-9);
}

/* Jindal, Machine Design, ex. 25-1: m 5, 25 and 60 teeth. */
static void a_standard_pair_of_jindal(void **state)
{
    (void)state;
    cw_gear_pair pair = standard(25, 60, 5e-3);
    cw_gear_mesh m;
    cw_error err;
    assert_ok(cw_gear_mesh_find(&pair, &m, &err), &err);
    assert_near(m.pitch_diameter1_m * 1e3, 125, 1e-9);
    assert_near(m.pitch_diameter2_m * 1e3, 300, 1e-9);
    assert_near(m.centre_m * 1e3, 212.5, 1e-6);
    assert_near((m.tip_diameter1_m - m.pitch_diameter1_m) / 2 * 1e3, 5, 1e-6);
    assert_near((m.pitch_diameter1_m - m.root_diameter1_m) / 2 * 1e3, 6.25, 1e-6);
    assert_near(m.whole_depth_m / 5e-3, 2.25, 1e-6); /* metrication.com, "Metric gears" */
}

/* Wentzell, Machine Design, ex. 11.3: 8 DP, 16 and 32 teeth; ex. 11.2: 20-65 / 20-22-60, ratio 9.75. Inches. */
static void a_diametral_pair_and_a_train_of_wentzell(void **state)
{
    (void)state;
    cw_gear_pair pair = standard(16, 32, 0.0254 / 8);
    cw_gear_mesh m;
    cw_error err;
    assert_ok(cw_gear_mesh_find(&pair, &m, &err), &err);
    assert_near(m.pitch_diameter1_m / 0.0254, 2, 1e-9);
    assert_near(m.pitch_diameter2_m / 0.0254, 4, 1e-9);
    assert_near(m.circular_pitch_m / 0.0254, 0.3927, 0.00005);
    assert_near(m.centre_m / 0.0254, 3, 1e-6);
    double ratio = 1;
    static const int stages[][2] = {{20, 65}, {20, 22}, {22, 60}};
    for (size_t i = 0; i < CW_COUNT(stages); i++) {
        pair = standard(stages[i][0], stages[i][1], 1e-3);
        assert_ok(cw_gear_mesh_find(&pair, &m, &err), &err);
        ratio *= m.ratio;
    }
    assert_near(ratio, 9.75, 1e-12);
}

/* Own derivation: rolling the teeth numerically along the line of action counts the share of a turn without contact. */
static void a_missing_tooth_leaves_the_gap_that_rolling_shows(void **state)
{
    (void)state;
    cw_gear_pair pair = standard(18, 40, 0.4e-3);
    pair.tip_wear1_m = 0.05e-3;
    pair.missing = 2;
    cw_gear_mesh m;
    cw_error err;
    assert_ok(cw_gear_mesh_find(&pair, &m, &err), &err);
    int steps = 200000, gaps = 0;
    for (int i = 0; i < steps; i++) {
        double turn = 18.0 * i / steps; /* in pitches; tooth k is in contact while turn - k lies in [0, ratio) */
        int driving = 0;
        for (int k = -3; k < 18; k++) {
            int tooth = (k + 36) % 18;
            driving |= tooth >= 2 && turn - k >= 0 && turn - k < m.contact_ratio;
        }
        gaps += !driving;
    }
    assert_near(m.lost_turn_rad, 2 * M_PI * gaps / steps, 1e-4);
    assert_false(m.drives_smoothly);
    assert_true(m.contact_ratio < m.fresh_contact_ratio);
}

/* Wider apart: backlash 2 dC tan(angle) for a small step (AGMA and every gear handbook, first order). */
static void moving_apart_opens_backlash_and_lowers_contact(void **state)
{
    (void)state;
    cw_gear_pair pair = standard(20, 50, 0.5e-3);
    cw_gear_mesh tight, open;
    cw_error err;
    assert_ok(cw_gear_mesh_find(&pair, &tight, &err), &err);
    pair.centre_m = tight.centre_m + 10e-6;
    assert_ok(cw_gear_mesh_find(&pair, &open, &err), &err);
    assert_near(open.backlash_m, 20e-6 * tan(20 * DEG), 0.2e-6);
    assert_true(open.contact_ratio < tight.contact_ratio);
    pair.centre_m = 40e-3;
    assert_fails(cw_gear_mesh_find(&pair, &open, &err), CW_RANGE, &err, "do not mesh");
}

static void a_measured_gear_is_named_with_its_doubt(void **state)
{
    (void)state;
    cw_gear_identity id;
    cw_error err;
    /* OD = m (z + 2), ISO 53/54: m 0.5, 24 teeth -> 13.00 mm, turned a hundredth small */
    assert_ok(cw_gear_identify((cw_quantity){12.99e-3, 0.01e-3}, 24, &id, &err), &err);
    assert_false(id.sizes[0].is_diametral);
    assert_near(id.sizes[0].module_m, 0.5e-3, 1e-9);
    assert_true(id.sizes[0].probability > 0.8);
    assert_near(id.module_m.u, 0.01e-3 / 26, 1e-12);
    /* 48 DP, 20 teeth: 22/48 in = 11.642 mm */
    assert_ok(cw_gear_identify((cw_quantity){11.635e-3, 0.01e-3}, 20, &id, &err), &err);
    assert_true(id.sizes[0].is_diametral);
    assert_near(id.sizes[0].pitch, 48, 0);
    /* 50 DP (m 0.508) against m 0.5 at 8 teeth: 5.080 and 5.000 mm; a poor caliper cannot tell */
    assert_ok(cw_gear_identify((cw_quantity){5.03e-3, 0.05e-3}, 8, &id, &err), &err);
    assert_true(id.sizes[0].probability < 0.7 && id.sizes[1].probability > 0.15);
    double sum = id.none_probability;
    for (size_t i = 0; i < id.size_count; i++)
        sum += id.sizes[i].probability;
    assert_near(sum, 1, 0.02);
    /* half way between sizes: none of these */
    assert_ok(cw_gear_identify((cw_quantity){12.3e-3, 0.01e-3}, 24, &id, &err), &err);
    assert_true(id.none_probability > 0.9);
    assert_fails(cw_gear_identify((cw_quantity){12e-3, 0}, 24, &id, &err), CW_RANGE, &err, "uncertainty");
    assert_fails(cw_gear_identify((cw_quantity){12e-3, 1e-5}, 3, &id, &err), CW_RANGE, &err, "number of teeth 3");
}

CHECK_MAIN(cmocka_unit_test(the_handbook_pair_with_profile_shift), cmocka_unit_test(a_standard_pair_of_jindal),
           cmocka_unit_test(a_diametral_pair_and_a_train_of_wentzell),
           cmocka_unit_test(a_missing_tooth_leaves_the_gap_that_rolling_shows),
           cmocka_unit_test(moving_apart_opens_backlash_and_lowers_contact),
           cmocka_unit_test(a_measured_gear_is_named_with_its_doubt))
