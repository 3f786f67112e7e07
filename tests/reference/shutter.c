/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shutter room against figures from outside. */
#include <math.h>
#include <string.h>

#include "../shutter/truth.h"
#include "shutter/evaluate.h"
#include "shutter/marks.h"
#include "shutter/reading.h"
#include "shutter/tolerance.h"
#include "support/check.h"

/* common practice, no source: a timer that shows 0.00443 s at a marked 1/250 is at 1/226, +0.147 EV, and close enough
 */
static void a_reading_is_about_a_seventh_of_a_stop_slow(void **state)
{
    (void)state;
    double seconds, resolution_s;
    cw_test_setup setup = {.kind = CW_SHUTTER_FOCAL_PLANE};
    cw_shutter_test *test = NULL;
    cw_error err;
    assert_ok(cw_reading_parse("0.00443", &seconds, &resolution_s, &err), &err);
    assert_near(resolution_s, 1e-5, 1e-12);
    assert_ok(cw_reading_evaluate(&setup, 0.004, seconds, resolution_s, &test, &err), &err);
    const cw_speed *speed = &test->speeds[0];
    assert_near(1 / speed->exposure_s.value, 225.7, 0.05);
    assert_near(speed->error_ev.value, 0.147, 0.0005);
    assert_int_equal(speed->verdict, CW_SPEED_INSIDE);
    /* JCGM 100:2008, F.2.2.1: a display step of d leaves u = 0.29 d */
    assert_near(test->shots[0].sensors[0].exposure_s.u, 0.29e-5, 0.005e-5);
    assert_near(speed->exposure_s.u, 0.29e-5, 0.01e-5);
    char text[CW_QUANTITY_TEXT];
    cw_shutter_time_text(speed->exposure_s.value, text, sizeof text);
    assert_string_equal(text, "1/226 s");
    cw_shutter_test_free(test);
}

/* scantips.com, "Charts of Nominal, and Exact Precise Actual"; ISO 516 / ISO 2720 practice; times in ms are powers of
 * two. The last column: mark against exact time, EV, from the powers of two. */
static void the_geometric_series_stands_behind_the_marks(void **state)
{
    (void)state;
    static const struct {
        double mark_inverse, exact_ms, longer_ev;
    } rows[] = {
        {1, 1000, 0},
        {2, 500, 0},
        {4, 250, 0},
        {8, 125, 0},
        {15, 62.5, 0.093},
        {30, 31.25, 0.093},
        {60, 15.625, 0.093},
        {125, 7.8125, 0.034},
        {250, 3.90625, 0.034},
        {500, 1.953125, 0.034},
        {1000, 0.9765625, 0.034},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        cw_series series = CW_SERIES_NONE;
        double mark_s = 1 / rows[i].mark_inverse, exact_s = cw_mark_geometric(mark_s, &series);
        assert_near(1e3 * exact_s, rows[i].exact_ms, 1e-9);
        assert_int_equal(series, CW_SERIES_FULL);
        assert_near(cw_log2_ratio(mark_s, exact_s), rows[i].longer_ev, 0.0005);
        /* Tv 0 to 10: ASA PH2.5-1960 / ANSI PH3.49-1971 (de.zxc.wiki, "APEX (photography)") */
        assert_near(-log2(exact_s), (double)i, 1e-12);
    }
}

/* Uniform travel, w = v t (recomputed): 24 mm in 4 ms at 1/1024 s is 5.86 mm, 36 mm in 12 ms 2.93 mm. */
static void the_slit_is_speed_times_time(void **state)
{
    (void)state;
    static const struct {
        double frame_mm, travel_s, slit_mm;
    } rows[] = {{24, 4e-3, 5.86}, {36, 12e-3, 2.93}};
    for (size_t r = 0; r < CW_COUNT(rows); r++) {
        double frame = rows[r].frame_mm, places[3] = {0.1 * frame, 0.5 * frame, 0.9 * frame};
        cw_shot shots[4];
        for (size_t j = 0; j < 4; j++) {
            shots[j] = truth_blank((double)j, 1.0 / 1000);
            shots[j].sensor_count = 3;
            for (size_t i = 0; i < 3; i++) {
                double open = (double)j + places[i] / frame * rows[r].travel_s;
                shots[j].sensors[i] = truth_sensor(places[i], open, open + 1.0 / 1024, 1e-7);
            }
        }
        cw_test_setup setup = truth_setup(3, places);
        setup.frame_mm = frame;
        cw_shutter_test *test = NULL;
        cw_error err;
        assert_ok(cw_shutter_evaluate(&setup, shots, 4, &test, &err), &err);
        assert_near(test->speeds[0].slit_mm.value, rows[r].slit_mm, 0.005);
        assert_near(test->curtains.travel1_s.value, rows[r].travel_s, 1e-6);
        assert_near(test->speeds[0].evenness_ev, 0, 1e-3);
        cw_shutter_test_free(test);
    }
}

/* ISO 516 definitions (from memory): 1 ms opening, 1 ms open, 1 ms closing: total 3 ms, effective 2 ms, efficiency
 * 0.667. From the definition the areas are exact. */
static void the_trapezoid_of_iso_516_has_two_thirds(void **state)
{
    (void)state;
    double flank_s = 1e-3, open_s = 1e-3, effective_s = flank_s / 2 + open_s + flank_s / 2;
    cw_shot shot = truth_blank(0, 1.0 / 500);
    shot.sensor_count = 1;
    shot.sensors[0] = truth_sensor(NAN, flank_s / 2, flank_s / 2 + effective_s, 1e-7);
    shot.sensors[0].method = CW_METHOD_AREA;
    shot.sensors[0].total_s = 2 * flank_s + open_s;
    shot.sensors[0].opening_s = shot.sensors[0].closing_s = 0.8 * flank_s;
    cw_test_setup setup = {.kind = CW_SHUTTER_LEAF, .beam = CW_BEAM_DIFFUSE};
    cw_shutter_test *test = NULL;
    cw_error err;
    assert_ok(cw_shutter_evaluate(&setup, &shot, 1, &test, &err), &err);
    assert_near(test->speeds[0].exposure_s.value, 2e-3, 1e-9);
    assert_near(test->speeds[0].efficiency, 0.667, 0.0005);
    cw_shutter_test_free(test);
    setup.beam = CW_BEAM_POINT; /* a narrow beam sees neither of the two times */
    assert_ok(cw_shutter_evaluate(&setup, &shot, 1, &test, &err), &err);
    assert_true(isnan(test->speeds[0].efficiency));
    assert_contains(test->curtains.told, "not the effective exposure");
    cw_shutter_test_free(test);
}

/* JCGM 106, 7 and 9.5.2, normal tail: the chance of a wrong acceptance when the value lies k u inside the limit. */
static void guard_bands_have_the_chances_of_jcgm_106(void **state)
{
    (void)state;
    static const struct {
        double k, chance, tolerance;
    } rows[] = {{0, 0.5, 1e-4}, {1, 0.159, 5e-4}, {1.645, 0.05, 5e-5}, {2, 0.0228, 5e-5}, {2.33, 0.01, 1e-4}};
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        double limit = 0.5, u = 0.02;
        cw_quantity error = {limit - rows[i].k * u, u};
        assert_near(cw_chance_outside(error, limit), rows[i].chance, rows[i].tolerance);
        error.value = -error.value;
        assert_near(cw_chance_outside(error, limit), rows[i].chance, rows[i].tolerance);
    }
    /* the rule: acceptance with a guard band of 2 u inside the limit (JCGM 106:2012, 3.3), rejection likewise outside
     */
    assert_int_equal(cw_verdict((cw_quantity){0.459, 0.02}, 0.5), CW_SPEED_INSIDE);
    assert_int_equal(cw_verdict((cw_quantity){0.461, 0.02}, 0.5), CW_SPEED_TOO_CLOSE);
    assert_int_equal(cw_verdict((cw_quantity){-0.539, 0.02}, 0.5), CW_SPEED_TOO_CLOSE);
    assert_int_equal(cw_verdict((cw_quantity){-0.541, 0.02}, 0.5), CW_SPEED_OUTSIDE);
    assert_int_equal(cw_verdict((cw_quantity){0.1, NAN}, 0.5), CW_SPEED_UNKNOWN);
    assert_int_equal(cw_verdict((cw_quantity){0.1, 0.01}, NAN), CW_SPEED_UNKNOWN);
}

/* An ordinary limit where no published one is to hand: +-1/3 EV to 1/125, +-1/2 EV faster (common practice, no source).
 */
static void the_common_limits_are_a_third_and_half_a_stop(void **state)
{
    (void)state;
    cw_tolerance common = cw_tolerance_common();
    static const double slow[] = {1, 1.0 / 15, 1.0 / 125}, fast[] = {1.0 / 250, 1.0 / 500, 1.0 / 1000};
    for (size_t i = 0; i < 3; i++) {
        assert_near(cw_tolerance_limit(&common, slow[i]), 1.0 / 3, 1e-12);
        assert_near(cw_tolerance_limit(&common, fast[i]), 0.5, 1e-12);
    }
    assert_contains(common.source, "common practice, no source");
}

/* Cloth, 36 mm in 10 to 16 ms: X contact at 1/60 or slower. Metal blades, 24 mm in 3 to 7 ms: X contact at 1/125 to
 * 1/250 (common practice, no source; X speeds of 1/125 to 1/250 also openphotographicsociety.co.uk, "X Sync"). So the
 * frame has to be open at once at the slower of both speeds whatever the travel, and at the faster one of metal only
 * when it is quick. Even runs, so that the exposure less the travel is left. */
static void the_frame_is_open_at_the_x_speeds_of_its_travel(void **state)
{
    (void)state;
    static const struct {
        double frame_mm, travel_s, mark_s;
        bool opens;
    } rows[] = {{36, 10e-3, 1.0 / 60, true},   {36, 16e-3, 1.0 / 60, true},  {36, 10e-3, 1.0 / 125, false},
                {36, 16e-3, 1.0 / 125, false}, {24, 3e-3, 1.0 / 125, true},  {24, 7e-3, 1.0 / 125, true},
                {24, 3e-3, 1.0 / 250, true},   {24, 7e-3, 1.0 / 250, false}, {24, 3e-3, 1.0 / 500, false}};
    for (size_t r = 0; r < CW_COUNT(rows); r++) {
        double frame = rows[r].frame_mm, places[3] = {0.1 * frame, 0.5 * frame, 0.9 * frame};
        cw_shot shots[4];
        for (size_t j = 0; j < 4; j++) {
            shots[j] = truth_blank((double)j, rows[r].mark_s);
            shots[j].sensor_count = 3;
            for (size_t i = 0; i < 3; i++) {
                double open = (double)j + places[i] / frame * rows[r].travel_s;
                shots[j].sensors[i] = truth_sensor(places[i], open, open + rows[r].mark_s, 1e-7);
            }
        }
        cw_test_setup setup = truth_setup(3, places);
        setup.frame_mm = frame;
        cw_shutter_test *test = NULL;
        cw_error err;
        assert_ok(cw_shutter_evaluate(&setup, shots, 4, &test, &err), &err);
        assert_near(test->speeds[0].fully_open_s, rows[r].mark_s - rows[r].travel_s, 2e-6);
        assert_int_equal(test->speeds[0].fully_open_s > 0, rows[r].opens);
        cw_shutter_test_free(test);
    }
}

/* By hand: a curtain from rest 4 mm before a 36 mm frame passes sensors at 4, 18 and 32 mm; the parabola through these
 * three instants makes the travel about 6 % too short. The fit of the run from rest must not. */
static void carried_by_a_parabola_the_travel_is_six_percent_short(void **state)
{
    (void)state;
    truth_camera camera = truth_cloth();
    const double x[3] = {4, 18, 32};
    double t[3], at_edges[2] = {0, 0};
    for (size_t i = 0; i < 3; i++)
        t[i] = truth_arrival(&camera.first, 36, x[i]);
    for (size_t e = 0; e < 2; e++) /* Lagrange's polynomial at both edges of the frame */
        for (size_t i = 0; i < 3; i++) {
            double term = t[i], edge = e == 0 ? 0 : 36;
            for (size_t k = 0; k < 3; k++)
                term *= k == i ? 1 : (edge - x[k]) / (x[i] - x[k]);
            at_edges[e] += term;
        }
    double parabola = at_edges[1] - at_edges[0], truth = truth_travel(&camera.first, 36);
    assert_near(truth, 0.012, 1e-12);
    assert_near(1 - parabola / truth, 0.06, 0.005);

    cw_shot shots[3];
    for (size_t j = 0; j < 3; j++)
        shots[j] = truth_fire(&camera, truth_release(&camera, 1.0 / 500), 1.0 / 500, (double)j, 3, x, NULL);
    cw_test_setup setup = truth_setup(3, x);
    cw_shutter_test *test = NULL;
    cw_error err;
    assert_ok(cw_shutter_evaluate(&setup, shots, 3, &test, &err), &err);
    assert_int_equal(test->curtains.form, CW_CURTAINS_PHYSICAL);
    assert_near(test->curtains.travel1_s.value, truth, 1e-3 * truth);
    assert_near(test->curtains.travel2_s.value, truth, 1e-3 * truth);
    /* and the band is as wide as the two forms differ, since three places cannot choose between them */
    assert_true(2 * test->curtains.travel1_s.u > truth - parabola);
    cw_shutter_test_free(test);
}

CHECK_MAIN(cmocka_unit_test(a_reading_is_about_a_seventh_of_a_stop_slow),
           cmocka_unit_test(the_geometric_series_stands_behind_the_marks),
           cmocka_unit_test(the_slit_is_speed_times_time), cmocka_unit_test(the_trapezoid_of_iso_516_has_two_thirds),
           cmocka_unit_test(guard_bands_have_the_chances_of_jcgm_106),
           cmocka_unit_test(the_common_limits_are_a_third_and_half_a_stop),
           cmocka_unit_test(the_frame_is_open_at_the_x_speeds_of_its_travel),
           cmocka_unit_test(carried_by_a_parabola_the_travel_is_six_percent_short))
