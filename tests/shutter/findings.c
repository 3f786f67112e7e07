/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Findings: none on healthy shutters, the right one on each fault. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "shutter/truth.h"

static const double three[] = {4, 18, 32};
static const double dial[] = {1,        1.0 / 2,   1.0 / 4,   1.0 / 8,   1.0 / 15,  1.0 / 30,
                              1.0 / 60, 1.0 / 125, 1.0 / 250, 1.0 / 500, 1.0 / 1000};

enum { SPEEDS = CW_COUNT(dial), REPEATS = 3, SHOTS = SPEEDS * REPEATS };

/* What a camera does: its curtains, each speed's error, a constant lag of the release, extra scatter of single shots.
 */
typedef struct {
    truth_camera curtains;
    double off_ev[SPEEDS], lag_s, scatter_ev;
} camera;

static camera healthy(void)
{
    camera made = {.curtains = truth_cloth()};
    made.curtains.release_sd_s = 25e-6;
    made.curtains.run_sd = 0.003;
    made.curtains.noise_s = 5e-6;
    return made;
}

static void fire(const camera *c, size_t sensors, const double *places, check_random *random, cw_shot *shots)
{
    /* the release is set for equal curtains: what unequal ones do to the exposure is their own doing */
    truth_camera even = c->curtains;
    even.second = even.first;
    for (size_t k = 0; k < SPEEDS; k++) {
        double set_s = dial[k] * exp2(c->off_ev[k] + 0.04 * check_gaussian(random)) + c->lag_s;
        for (size_t j = 0; j < REPEATS; j++) {
            double shot_s = set_s * exp2(c->scatter_ev * check_gaussian(random));
            shots[k * REPEATS + j] = truth_fire(&c->curtains, truth_release(&even, shot_s), dial[k],
                                                2.0 * (double)(k * REPEATS + j), sensors, places, random);
        }
    }
}

static cw_shutter_test *run(const camera *c, size_t sensors, uint64_t seed)
{
    cw_shot shots[SHOTS];
    check_random random = {seed};
    const double *places = sensors == 1 ? three + 1 : three;
    fire(c, sensors, places, &random, shots);
    cw_test_setup setup = truth_setup(sensors, places);
    cw_shutter_test *test = NULL;
    cw_error err;
    assert_ok(cw_shutter_evaluate(&setup, shots, SHOTS, &test, &err), &err);
    return test;
}

static const cw_finding *find(const cw_shutter_test *test, const char *code)
{
    for (size_t i = 0; i < test->finding_count; i++)
        if (strcmp(test->findings[i].code, code) == 0)
            return &test->findings[i];
    return NULL;
}

/* The finding is there in every test of `seeds`, and nothing is besides it but what is named in `allowed`. */
static void assert_found(const camera *c, const char *code, const char *words, const char *allowed)
{
    for (uint64_t seed = 1; seed <= 8; seed++) {
        cw_shutter_test *test = run(c, 3, seed);
        const cw_finding *finding = find(test, code);
        if (finding == NULL)
            print_error("seed %d: no \"%s\" among %zu findings\n", (int)seed, code, test->finding_count);
        assert_non_null(finding);
        assert_contains(finding->text, words);
        assert_true(strlen(finding->evidence) > 0);
        for (size_t i = 0; i < test->finding_count; i++)
            if (strcmp(test->findings[i].code, code) != 0)
                assert_contains(allowed, test->findings[i].code);
        cw_shutter_test_free(test);
    }
}

static void healthy_shutters_are_left_in_peace(void **state)
{
    (void)state;
    size_t alarms = 0, tests = 0;
    camera c = healthy();
    for (size_t sensors = 1; sensors <= 3; sensors += 2)
        for (uint64_t seed = 1; seed <= 150; seed++) {
            cw_shutter_test *test = run(&c, sensors, seed);
            for (size_t i = 0; i < test->finding_count; i++)
                print_message("seed %d: %s, %s\n", (int)seed, test->findings[i].code, test->findings[i].evidence);
            alarms += test->finding_count > 0;
            tests++;
            cw_shutter_test_free(test);
        }
    assert_int_equal(tests, 300);
    assert_true(alarms <= 3); /* one in a hundred */
}

/* No two curtains run quite alike: 1.4 % in travel, a tenth in the run-up, 0.1 ms of brake at the end. At 1/1000 s that
 * is less than a third of a stop over the frame, and nobody should turn a spring for it. */
static void curtains_a_little_unlike_are_left_in_peace(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        camera c = healthy();
        double sign = seed % 2 == 0 ? 1 : -1, slower = 1 + sign * 0.006;
        c.curtains.second.g_mm_s2 /= slower * slower;
        c.curtains.second.x0_mm *= 1 - sign * 0.1;
        c.curtains.second.brake_s = seed % 4 == 1 ? 0.1e-3 : 0;
        cw_shutter_test *test = run(&c, 3, seed);
        for (size_t i = 0; i < test->finding_count; i++)
            print_message("seed %d: %s, %s\n", (int)seed, test->findings[i].code, test->findings[i].evidence);
        assert_int_equal(test->finding_count, 0);
        cw_shutter_test_free(test);
    }
}

/* One speed off by more than most, and yet surely within its limit of a third of a stop; then beyond it. */
static void one_speed_within_its_limit_is_left_in_peace(void **state)
{
    (void)state;
    camera c = healthy();
    c.curtains.release_sd_s = 5e-6;
    c.curtains.run_sd = 0.0005;
    for (uint64_t seed = 1; seed <= 8; seed++) {
        const size_t at_1_60 = 6;
        c.off_ev[at_1_60] = 0.23;
        cw_shutter_test *test = run(&c, 3, seed);
        cw_speed_verdict verdict = test->speeds[at_1_60].verdict;
        assert_int_equal(find(test, "speed-off") != NULL, verdict != CW_SPEED_INSIDE);
        cw_shutter_test_free(test);
        c.off_ev[at_1_60] = 0.6;
        test = run(&c, 3, seed);
        assert_non_null(find(test, "speed-off"));
        cw_shutter_test_free(test);
    }
}

static void unequal_tension_is_found_with_its_direction(void **state)
{
    (void)state;
    camera c = healthy();
    c.curtains.second.g_mm_s2 /= 1.08 * 1.08;
    assert_found(&c, "tension-mismatch", "a little more tension on the second", "");
    c = healthy();
    c.curtains.second.g_mm_s2 *= 1.06 * 1.06;
    assert_found(&c, "tension-mismatch", "a little less tension on the second", "capping");
}

static void drag_is_told_from_tension(void **state)
{
    (void)state;
    camera c = healthy();
    c.curtains.second.brake_s = 0.9e-3;
    assert_found(&c, "drag", "The second curtain falls behind", "");
    c = healthy();
    c.curtains.first.brake_s = 0.6e-3;
    assert_found(&c, "drag", "The first curtain falls behind", "capping");
}

static void the_release_is_told_from_the_curtains(void **state)
{
    (void)state;
    camera c = healthy();
    c.lag_s = 0.5e-3;
    assert_found(&c, "release-delay", "let go too late", "");
    c.lag_s = -0.35e-3;
    assert_found(&c, "release-delay", "let go too early", "");
}

static void the_slow_speeds_point_to_the_governor(void **state)
{
    (void)state;
    camera c = healthy();
    for (size_t k = 0; k < 4; k++)
        c.off_ev[k] = 0.7 - 0.05 * (double)k;
    assert_found(&c, "slow-governor", "holds too long", "");
    for (size_t k = 0; k < 4; k++)
        c.off_ev[k] = -0.6;
    assert_found(&c, "slow-governor", "does not hold long enough", "");
}

static void all_slow_is_one_finding_and_not_three(void **state)
{
    (void)state;
    camera c = healthy();
    for (size_t k = 0; k < SPEEDS; k++)
        c.off_ev[k] = 0.55;
    assert_found(&c, "all-slow", "clean and measure again", "");
    for (size_t k = 0; k < SPEEDS; k++)
        c.off_ev[k] = -0.5;
    assert_found(&c, "all-fast", "sample rate", "");
}

static void an_unsteady_shutter_is_called_so(void **state)
{
    (void)state;
    camera c = healthy();
    c.scatter_ev = 0.3;
    assert_found(&c, "unsteady", "no setting holds", "speed-off speed-repeats");
}

static void swapped_neighbours_are_noticed(void **state)
{
    (void)state;
    camera c = healthy();
    c.off_ev[6] = -1;
    c.off_ev[7] = 1;
    assert_found(&c, "speeds-swapped", "order of the list", "");
    /* the two slowest: the governor times them, and is not to blame */
    c = healthy();
    c.off_ev[0] = -1;
    c.off_ev[1] = 1;
    assert_found(&c, "speeds-swapped", "order of the list", "");
}

static void a_step_of_the_cam_not_reached_repeats_a_speed(void **state)
{
    (void)state;
    camera c = healthy();
    c.off_ev[7] = 1;
    assert_found(&c, "speed-repeats", "the next step of the speed cam", "");
}

static void one_speed_alone_is_called_one_speed(void **state)
{
    (void)state;
    camera c = healthy();
    c.off_ev[6] = 0.55;
    assert_found(&c, "speed-off", "its step on the speed cam", "");
}

static void a_slit_that_closes_is_capping(void **state)
{
    (void)state;
    camera c = healthy();
    c.curtains.second.g_mm_s2 *= 1.15 * 1.15;
    assert_found(&c, "capping", "catches up with the first", "tension-mismatch unsteady");
    cw_shutter_test *test = run(&c, 3, 3);
    const cw_profile_point *last = &test->curtains.profile[test->curtains.profile_count - 1];
    assert_near(last->exposure_s.value, 0, 1e-12); /* the far edge at the fastest speed: no light */
    assert_true(isnan(test->speeds[SPEEDS - 1].evenness_ev) != 0);
    cw_shutter_test_free(test);
}

static void slow_curtains_are_compared_with_what_is_usual(void **state)
{
    (void)state;
    camera c = healthy();
    c.curtains.first.g_mm_s2 /= 3;
    c.curtains.second.g_mm_s2 /= 3;
    assert_found(&c, "curtains-slow", "longer than is usual", "");
}

/* ---- single shots ---- */

static void a_bounce_counts_only_when_it_is_light(void **state)
{
    (void)state;
    cw_shot shots[SHOTS];
    check_random random = {21};
    camera c = healthy();
    fire(&c, 3, three, &random, shots);
    for (size_t j = 27; j < SHOTS; j++) {
        cw_sensor_shot *sensor = &shots[j].sensors[2];
        sensor->bounce_count = 1;
        sensor->bounces[0] = (cw_bounce){sensor->close_s.value + 3e-3, 0.08 * sensor->exposure_s.value};
    }
    cw_test_setup setup = truth_setup(3, three);
    cw_shutter_test *test = NULL;
    cw_error err;
    assert_ok(cw_shutter_evaluate(&setup, shots, SHOTS, &test, &err), &err);
    const cw_finding *bounce = find(test, "bounce");
    assert_non_null(bounce);
    assert_contains(bounce->text, "curtain brake");
    assert_contains(bounce->evidence, "6 of 33 shots");
    cw_shutter_test_free(test);
    for (size_t j = 27; j < SHOTS; j++)
        shots[j].sensors[2].bounces[0].exposure_s = 0.005 * shots[j].sensors[2].exposure_s.value;
    assert_ok(cw_shutter_evaluate(&setup, shots, SHOTS, &test, &err), &err);
    assert_null(find(test, "bounce"));
    cw_shutter_test_free(test);
}

static void an_idle_sensor_is_not_a_capped_one(void **state)
{
    (void)state;
    cw_shot shots[SHOTS];
    check_random random = {22};
    camera c = healthy();
    fire(&c, 3, three, &random, shots);
    for (size_t j = 0; j < SHOTS; j++)
        shots[j].sensors[0] = truth_sensor(4, 0, 0, 1e-6);
    cw_test_setup setup = truth_setup(3, three);
    cw_shutter_test *test = NULL;
    cw_error err;
    assert_ok(cw_shutter_evaluate(&setup, shots, SHOTS, &test, &err), &err);
    assert_non_null(find(test, "sensor-idle"));
    assert_null(find(test, "capping"));
    cw_shutter_test_free(test);
}

/* ---- leaf ---- */

static cw_shutter_test *run_leaf(const double *off_ev, double peak_at_fastest, uint64_t seed)
{
    static const double leaf_dial[] = {1, 0.5, 0.2, 0.1, 0.04, 0.02, 0.01, 1.0 / 300};
    cw_shot shots[8 * REPEATS];
    check_random random = {seed};
    for (size_t j = 0; j < 8 * REPEATS; j++) {
        size_t k = j / REPEATS;
        double exposure_s = leaf_dial[k] * exp2(off_ev[k] + 0.02 * check_gaussian(&random));
        shots[j] = truth_blank((double)j, leaf_dial[k]);
        shots[j].sensor_count = 1;
        shots[j].sensors[0] = truth_sensor(NAN, (double)j, (double)j + exposure_s, 1e-5);
        shots[j].sensors[0].method = CW_METHOD_AREA;
        shots[j].sensors[0].peak_fraction = k == 7 ? peak_at_fastest : 1;
    }
    cw_test_setup setup = {.kind = CW_SHUTTER_LEAF, .beam = CW_BEAM_DIFFUSE, .u_clock_relative = 2e-5};
    cw_shutter_test *test = NULL;
    cw_error err;
    assert_ok(cw_shutter_evaluate(&setup, shots, 8 * REPEATS, &test, &err), &err);
    return test;
}

static void leaf_shutters_have_their_own_findings(void **state)
{
    (void)state;
    static const double fine[8] = {0.05, 0, -0.05, 0.1, 0.05, 0.1, 0.1, 0.15};
    static const double tired[8] = {0, 0.05, 0, 0.05, 0.1, 0.05, 0.6, 0.9};
    static const double train[8] = {0.8, 0.7, 0.7, 0.6, 0.05, 0.05, 0.1, 0.15};
    cw_shutter_test *test = run_leaf(fine, 1, 1);
    assert_int_equal(test->finding_count, 0);
    assert_contains(test->curtains.told, "no curtains");
    cw_shutter_test_free(test);
    test = run_leaf(tired, 1, 2);
    assert_non_null(find(test, "fast-limited"));
    assert_contains(find(test, "fast-limited")->text, "main spring");
    assert_contains(find(test, "fast-limited")->text, "The slow speeds are in order");
    assert_null(find(test, "release-delay"));
    cw_shutter_test_free(test);
    test = run_leaf(train, 1, 3);
    assert_non_null(find(test, "slow-governor"));
    assert_int_equal(test->finding_count, 1);
    cw_shutter_test_free(test);
    static const double both[8] = {0.6, 0.6, 0.62, 0.65, 0.6, 0.12, 0.2, 0.5}; /* a tired train and gummy blades */
    test = run_leaf(both, 1, 5);
    assert_non_null(find(test, "slow-governor"));
    assert_non_null(find(test, "fast-limited"));
    /* neither says that what the other is about is in order */
    assert_null(strstr(find(test, "slow-governor")->text, "in order"));
    assert_null(strstr(find(test, "fast-limited")->text, "in order"));
    assert_null(find(test, "all-slow"));
    cw_shutter_test_free(test);
    static const double dirty[8] = {0.6, 0.6, 0.62, 0.65, 0.6, 0.55, 0.5, 0.7};
    test = run_leaf(dirty, 1, 6);
    assert_non_null(find(test, "all-slow"));
    assert_int_equal(test->finding_count, 1);
    cw_shutter_test_free(test);
    test = run_leaf(fine, 0.7, 4);
    assert_non_null(find(test, "not-fully-open"));
    cw_shutter_test_free(test);
}

CHECK_MAIN(
    cmocka_unit_test(healthy_shutters_are_left_in_peace), cmocka_unit_test(curtains_a_little_unlike_are_left_in_peace),
    cmocka_unit_test(one_speed_within_its_limit_is_left_in_peace),
    cmocka_unit_test(unequal_tension_is_found_with_its_direction), cmocka_unit_test(drag_is_told_from_tension),
    cmocka_unit_test(the_release_is_told_from_the_curtains), cmocka_unit_test(the_slow_speeds_point_to_the_governor),
    cmocka_unit_test(all_slow_is_one_finding_and_not_three), cmocka_unit_test(an_unsteady_shutter_is_called_so),
    cmocka_unit_test(swapped_neighbours_are_noticed), cmocka_unit_test(a_step_of_the_cam_not_reached_repeats_a_speed),
    cmocka_unit_test(one_speed_alone_is_called_one_speed), cmocka_unit_test(a_slit_that_closes_is_capping),
    cmocka_unit_test(slow_curtains_are_compared_with_what_is_usual),
    cmocka_unit_test(a_bounce_counts_only_when_it_is_light), cmocka_unit_test(an_idle_sensor_is_not_a_capped_one),
    cmocka_unit_test(leaf_shutters_have_their_own_findings))
