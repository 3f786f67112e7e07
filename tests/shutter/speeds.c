/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each speed's figures, its budget and what the flash contact does; JSON there and back; the tables; the comparison. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "shutter/compare.h"
#include "shutter/reading.h"
#include "shutter/table.h"
#include "shutter/tolerance.h"
#include "shutter/truth.h"

static cw_shot shot_of(double marked_s, double exposure_s, double u_s, double u_random_s)
{
    cw_shot shot = truth_blank(0, marked_s);
    shot.sensor_count = 1;
    shot.sensors[0] = truth_sensor(NAN, 0, exposure_s, u_s / sqrt(2));
    shot.sensors[0].u_random_s = u_random_s;
    return shot;
}

static const cw_test_setup bare = {.kind = CW_SHUTTER_FOCAL_PLANE, .u_clock_relative = 1e-4};

static cw_shutter_test *evaluate(const cw_test_setup *setup, const cw_shot *shots, size_t count)
{
    cw_shutter_test *test = NULL;
    cw_error err;
    assert_ok(cw_shutter_evaluate(setup, shots, count, &test, &err), &err);
    return test;
}

/* By hand: 3.9, 4.0, 4.1 ms at 1/250: mean 4.0, sd 0.1, u of the mean 0.1/sqrt(3) = 0.057735 (1.443 %); t(2 degrees,
 * 95.45 %) = 4.527 (GSL, as any t table), so half the interval is 2.263 times that: 3.267 %, 0.0471 EV. */
static void three_shots_are_widened_by_student(void **state)
{
    (void)state;
    cw_shot shots[3];
    for (size_t i = 0; i < 3; i++)
        shots[i] = shot_of(0.004, 3.9e-3 + 0.1e-3 * (double)i, 1e-9, 0);
    cw_shutter_test *test = evaluate(&bare, shots, 3);
    const cw_speed *speed = &test->speeds[0];
    assert_near(speed->exposure_s.value, 4e-3, 1e-12);
    assert_near(speed->error_ev.value, 0, 1e-9);
    assert_near(speed->error_ev.u, 0.0471, 0.0002);
    assert_near(speed->exposure_s.u, 4e-3 * 0.03267, 1e-6);
    assert_near(speed->spread_ev, 0.0361, 0.0002); /* log2 of 3.9/4, 1, 4.1/4 */
    assert_near(speed->degrees, 2, 0.01);
    cw_shutter_test_free(test);
}

/* What stays the same from shot to shot must not average out: 1 % of level error in 100 shots is 1 % of the mean. */
static void what_stays_does_not_average_out(void **state)
{
    (void)state;
    cw_shot shots[100];
    check_random random = {9};
    for (size_t i = 0; i < 100; i++)
        shots[i] = shot_of(0.004, 4e-3 + 1e-5 * check_gaussian(&random), hypot(4e-5, 1e-5), 1e-5);
    cw_shutter_test *test = evaluate(&bare, shots, 100);
    assert_near(test->speeds[0].exposure_s.u, 4e-5, 0.05e-5);
    assert_int_equal(test->budget_count[0], 3);
    double squares = 0;
    for (size_t i = 0; i < 3; i++)
        squares += test->budget[0][i].u_ev * test->budget[0][i].u_ev;
    assert_near(sqrt(squares), test->speeds[0].error_ev.u, 0.01 * sqrt(squares));
    assert_contains(test->budget[0][0].source, "repeatability, 100 shots");
    assert_contains(test->budget[0][1].source, "level");
    assert_contains(test->budget[0][2].source, "time base");
    cw_shutter_test_free(test);
    for (size_t i = 0; i < 100; i++)
        shots[i].sensors[0].u_random_s = shots[i].sensors[0].exposure_s.u; /* all of it noise */
    test = evaluate(&bare, shots, 100);
    assert_true(test->speeds[0].exposure_s.u < 0.5e-5);
    cw_shutter_test_free(test);
}

static void one_shot_says_what_it_cannot(void **state)
{
    (void)state;
    cw_shot shot = shot_of(0.004, 4.2e-3, 2e-5, 1e-5);
    cw_test_setup setup = bare;
    setup.u_clock_relative = 0;
    cw_shutter_test *test = evaluate(&setup, &shot, 1);
    assert_true(isnan(test->speeds[0].spread_ev) != 0);
    assert_near(test->speeds[0].exposure_s.u, 2e-5, 1e-6);
    assert_contains(test->budget[0][0].source, "steadiness not known");
    assert_contains(test->budget[0][2].source, "not stated: 100 ppm assumed");
    cw_shutter_test_free(test);
}

/* Means of 2, 3 and 5 shots with noise and scatter: over many tests, k = 2 holds 95 % of the truths. */
static void few_shots_are_covered_too(void **state)
{
    (void)state;
    check_random random = {31};
    static const double marks[] = {1.0 / 30, 1.0 / 60, 1.0 / 125, 1.0 / 250, 1.0 / 500, 1.0 / 1000};
    for (size_t repeats = 2; repeats <= 5; repeats += repeats == 2 ? 1 : 2) {
        size_t inside = 0, all = 0;
        for (size_t run = 0; run < 400; run++) {
            cw_shot shots[30];
            size_t n = 0;
            for (size_t k = 0; k < 6; k++)
                for (size_t j = 0; j < repeats; j++) {
                    /* a release that is unsteady by 40 us, whatever the speed */
                    double exposure_s = marks[k] + 40e-6 * check_gaussian(&random);
                    shots[n++] = shot_of(marks[k], exposure_s, 1e-6, 1e-6);
                }
            cw_shutter_test *test = evaluate(&bare, shots, n);
            for (size_t k = 0; k < 6; k++, all++)
                inside += fabs(test->speeds[k].error_ev.value) <= 2 * test->speeds[k].error_ev.u;
            cw_shutter_test_free(test);
        }
        double share = (double)inside / (double)all;
        if (!(share > 0.935 && share < 0.99))
            print_error("%zu shots a speed: %.3f covered\n", repeats, share);
        assert_true(share > 0.935 && share < 0.99);
    }
}

static void the_reference_may_be_the_geometric_series(void **state)
{
    (void)state;
    cw_shot shot = shot_of(1.0 / 60, 1.0 / 64, 1e-6, 0);
    cw_test_setup setup = bare;
    setup.geometric = true;
    cw_shutter_test *test = evaluate(&setup, &shot, 1);
    assert_near(test->speeds[0].reference_s, 1.0 / 64, 1e-12);
    assert_near(test->speeds[0].error_ev.value, 0, 1e-9);
    cw_shutter_test_free(test);
}

static void readings_are_read_with_their_last_digit(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double seconds, step;
    } rows[] = {
        {"0.00443", 0.00443, 1e-5},
        {"4.43 ms", 0.00443, 1e-5},
        {"4430 us", 0.00443, 1e-6},
        {"1/226", 1.0 / 226, 1.0 / 51076},
        {"2", 2, 1},
        {"2.10 s", 2.1, 0.01},
        {"4,43ms", 0.00443, 1e-5},
        {"4.43e-3", 0.00443, 1e-5},
        {"1/225.7 s", 1 / 225.7, 0.1 / 225.7 / 225.7},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        double seconds, step;
        cw_error err;
        assert_ok(cw_reading_parse(rows[i].text, &seconds, &step, &err), &err);
        assert_near(seconds, rows[i].seconds, 1e-9 * rows[i].seconds);
        assert_near(step, rows[i].step, 1e-6 * rows[i].step);
    }
    static const char *const bad[] = {"", "fast", "-1", "0", "4 mm", "1e9", "1/0", "nan", "1e-9"};
    for (size_t i = 0; i < CW_COUNT(bad); i++) {
        double seconds = 4711, step;
        cw_error err;
        assert_int_equal(cw_reading_parse(bad[i], &seconds, &step, &err), CW_INPUT);
        assert_near(seconds, 4711, 0);
    }
    cw_shutter_test *test = NULL;
    cw_error err;
    assert_fails(cw_reading_evaluate(&bare, 0.004, -1, 0, &test, &err), CW_RANGE, &err, "longer than nothing");
    assert_fails(cw_reading_evaluate(&bare, 0.004, NAN, 0, &test, &err), CW_RANGE, &err, "longer than nothing");
}

/* ---- flash ---- */

static cw_shutter_test *flash_test(double contact_after_full_s, double marked_s)
{
    static const double places[] = {4, 18, 32};
    truth_camera camera = truth_cloth();
    camera.noise_s = 2e-6;
    cw_shot shots[4];
    check_random random = {77};
    double release = truth_release(&camera, marked_s);
    for (size_t j = 0; j < 4; j++) {
        shots[j] = truth_fire(&camera, release, marked_s, (double)j, 3, places, &random);
        shots[j].contact_seen = true;
        shots[j].contact_s =
            (cw_quantity){(double)j + truth_arrival(&camera.first, 36, 36) + contact_after_full_s, 5e-6};
    }
    cw_test_setup setup = truth_setup(3, places);
    return evaluate(&setup, shots, 4);
}

static const char *flash_code(const cw_shutter_test *test)
{
    for (size_t i = 0; i < test->finding_count; i++)
        if (strstr(test->findings[i].code, "contact") != NULL || strstr(test->findings[i].code, "flash") != NULL)
            return test->findings[i].code;
    return "";
}

static void the_contact_is_held_against_full_opening(void **state)
{
    (void)state;
    truth_camera camera = truth_cloth();
    cw_shutter_test *test = flash_test(0.5e-3, 1.0 / 30); /* open for 33 - 12 ms */
    const cw_speed *speed = &test->speeds[0];
    double first_open = truth_arrival(&camera.first, 36, 4), full = truth_arrival(&camera.first, 36, 36);
    assert_covers(speed->contact_delay_s, full + 0.5e-3 - first_open, 3, 1e-4);
    assert_covers(speed->contact_after_full_s, 0.5e-3, 2, 1e-3);
    assert_covers(speed->open_after_contact_s, 1.0 / 30 - 0.012 - 0.5e-3, 2, 1e-3);
    assert_near(speed->fully_open_s, 1.0 / 30 - 0.012, 2 * speed->u_fully_open_s);
    assert_string_equal(flash_code(test), "flash-in-order");
    cw_shutter_test_free(test);
    test = flash_test(-4e-3, 1.0 / 30);
    assert_string_equal(flash_code(test), "contact-early");
    cw_shutter_test_free(test);
    test = flash_test(-14e-3, 1.0 / 30);
    assert_string_equal(flash_code(test), "contact-early");
    assert_contains(test->findings[0].text, "right for bulbs");
    cw_shutter_test_free(test);
    test = flash_test(23e-3, 1.0 / 30);
    assert_string_equal(flash_code(test), "contact-late");
    cw_shutter_test_free(test);
    test = flash_test(0.5e-3, 1.0 / 125); /* never fully open: no fault of the contact */
    assert_string_equal(flash_code(test), "");
    assert_true(test->speeds[0].fully_open_s + 2 * test->speeds[0].u_fully_open_s < 0);
    cw_shutter_test_free(test);
}

static void a_contact_that_misses_is_dirty(void **state)
{
    (void)state;
    cw_shot shots[4];
    for (size_t j = 0; j < 4; j++) {
        shots[j] = shot_of(1.0 / 60, 1.0 / 60, 1e-6, 0);
        shots[j].contact_seen = j != 2;
        shots[j].contact_s = (cw_quantity){j != 2 ? 2e-3 : NAN, 1e-6};
    }
    cw_shutter_test *test = evaluate(&bare, shots, 4);
    assert_string_equal(flash_code(test), "contact-misses");
    assert_near(test->speeds[0].contact_delay_s.value, 2e-3, 1e-9);
    assert_true(isnan(test->speeds[0].contact_after_full_s.value) != 0);
    cw_shutter_test_free(test);
}

/* Straight flanks: 10 to 90 % in 1.6 ms is 2 ms from shut to open, centred on the mid-level instant. */
static void a_leaf_is_fully_open_when_its_flank_ends(void **state)
{
    (void)state;
    cw_shot shots[3];
    for (size_t j = 0; j < 3; j++) {
        shots[j] = shot_of(1.0 / 60, 16e-3, 1e-6, 0);
        shots[j].sensors[0].opening_s = 1.6e-3;
        shots[j].sensors[0].closing_s = 0.8e-3;
        shots[j].contact_seen = true;
        shots[j].contact_s = (cw_quantity){1.5e-3, 1e-6};
    }
    cw_test_setup setup = bare;
    setup.kind = CW_SHUTTER_LEAF;
    cw_shutter_test *test = evaluate(&setup, shots, 3);
    assert_near(test->speeds[0].contact_delay_s.value, 1.5e-3, 1e-9);
    assert_near(test->speeds[0].contact_after_full_s.value, 0.5e-3, 1e-9);
    assert_near(test->speeds[0].open_after_contact_s.value, 16e-3 - 0.5e-3 - 1.5e-3, 1e-9);
    cw_shutter_test_free(test);
}

/* ---- JSON ---- */

static void fill_life(cw_shot *shots, size_t count)
{
    static const double places[] = {4, 18, 32};
    truth_camera camera = truth_cloth();
    camera.noise_s = 5e-6;
    camera.release_sd_s = 30e-6;
    check_random random = {123};
    for (size_t j = 0; j < count; j++) {
        double mark = j < count / 2 ? 1.0 / 60 : 1.0 / 500;
        shots[j] = truth_fire(&camera, truth_release(&camera, mark), mark, 2 * (double)j, 3, places, &random);
    }
    shots[0].sensors[2].bounce_count = 2;
    shots[0].sensors[2].bounces[1] = (cw_bounce){0.05, 0.0001};
    shots[0].contact_seen = true;
    shots[0].contact_s = (cw_quantity){0.016, 1e-5};
    shots[1].struck = true;
    snprintf(shots[1].remark, sizeof shots[1].remark, "a \"hand\" in the light");
    shots[2].marked_s = NAN;
    shots[3].sensors[1] = truth_sensor(18, 0, 0, 1e-6);
    shots[4].sensors[1].method = CW_METHOD_AREA;
    shots[4].sensors[1].peak_fraction = 0.93;
}

static void a_test_comes_back_from_its_json_as_it_was(void **state)
{
    (void)state;
    cw_shot shots[10];
    static const double places[] = {4, 18, 32};
    fill_life(shots, 10);
    cw_test_setup setup = truth_setup(3, places);
    cw_shutter_test *test = evaluate(&setup, shots, 10), *back = NULL;
    json_t *json = cw_shutter_test_json(test, NULL);
    char *text = json_dumps(json, JSON_SORT_KEYS);
    json_t *again_from = json_loads(text, 0, NULL);
    cw_error err;
    assert_ok(cw_shutter_test_from_json(again_from, &back, &err), &err);
    json_t *again = cw_shutter_test_json(back, NULL);
    char *text2 = json_dumps(again, JSON_SORT_KEYS);
    assert_string_equal(text, text2);
    assert_int_equal(back->shots[0].sensors[2].bounce_count, 2);
    assert_true(back->shots[1].struck);
    assert_true(isinf(back->budget[0][1].degrees) != 0);
    free(text);
    free(text2);
    json_decref(json);
    json_decref(again);
    json_decref(again_from);
    cw_shutter_test_free(test);
    cw_shutter_test_free(back);
}

static void assert_keys(const json_t *object, const char *const *keys, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (json_object_get(object, keys[i]) == NULL) {
            print_error("the key \"%s\" is missing\n", keys[i]);
            fail();
        }
}

#define ASSERT_KEYS(object, ...)                                                                                       \
    do {                                                                                                               \
        static const char *const keys_[] = {__VA_ARGS__};                                                              \
        assert_keys(object, keys_, CW_COUNT(keys_));                                                                   \
    } while (0)

/* Every key of the contract, whatever is known. */
static void the_json_has_every_key_of_the_contract(void **state)
{
    (void)state;
    cw_shot shot = shot_of(0.004, 0.00443, 1e-6, 0);
    shot.sensors[0].bounce_count = 1;
    cw_shutter_test *test = evaluate(&bare, &shot, 1);
    json_t *recording = json_pack("{s:i}", "channels", 3), *json = cw_shutter_test_json(test, recording);
    assert_string_equal(json_string_value(json_object_get(json, "format")), "camerawright.shutter/1");
    assert_int_equal(json_integer_value(json_object_get(json_object_get(json, "recording"), "channels")), 3);
    ASSERT_KEYS(json, "format", "recording", "shots", "speeds", "curtains", "findings");
    json_t *first = json_array_get(json_object_get(json, "shots"), 0);
    ASSERT_KEYS(first, "marked_s", "sensors", "contact_delay_s");
    json_t *sensor = json_array_get(json_object_get(first, "sensors"), 0);
    ASSERT_KEYS(sensor, "position_mm", "open_s", "close_s", "exposure_s", "u_exposure_s", "method", "error_ev",
                "u_error_ev", "bounces");
    ASSERT_KEYS(json_array_get(json_object_get(sensor, "bounces"), 0), "at_s", "exposure_s");
    ASSERT_KEYS(json_array_get(json_object_get(json, "speeds"), 0), "marked_s", "shots", "exposure_s", "u_exposure_s",
                "spread_ev", "error_ev", "evenness_ev", "limit_ev", "verdict");
    ASSERT_KEYS(json_object_get(json, "curtains"), "travel1_s", "u_travel1_s", "travel2_s", "u_travel2_s", "bow1_s",
                "bow2_s", "profile");
    assert_true(json_is_null(json_object_get(sensor, "position_mm")));
    assert_true(json_is_null(json_object_get(first, "contact_delay_s")));
    assert_true(json_is_null(json_object_get(json_object_get(json, "curtains"), "travel1_s")));
    assert_near(json_number_value(json_object_get(sensor, "error_ev")), 0.1473, 1e-4);
    /* 1 us of noise and 100 ppm of 4.43 ms */
    assert_near(json_number_value(json_object_get(sensor, "u_exposure_s")), hypot(1e-6, 0.443e-6), 1e-10);
    json_decref(json);
    json_decref(recording);
    cw_shutter_test_free(test);
}

/* The bare contract, as another program might write it, is enough; what is wrong is named by its place. */
static void foreign_json_is_read_or_refused_by_name(void **state)
{
    (void)state;
    static const char fine[] =
        "{\"format\":\"camerawright.shutter/1\",\"shots\":[{\"marked_s\":0.004,\"sensors\":[{\"position_mm\":4,"
        "\"open_s\":1,\"close_s\":1.004,\"exposure_s\":0.004,\"u_exposure_s\":1e-5,\"method\":\"area\",\"bounces\":[]}]"
        "}"
        "],\"speeds\":[{\"marked_s\":0.004,\"shots\":1,\"exposure_s\":0.004,\"u_exposure_s\":1e-5,\"error_ev\":0,"
        "\"verdict\":\"inside\"}]}";
    static const struct {
        const char *text, *words;
    } rows[] = {
        {"{}", "\"format\" is \"\""},
        {"{\"format\":\"camerawright.shutter/2\"}", "camerawright.shutter/2"},
        {"{\"format\":\"camerawright.shutter/1\",\"shots\":7}", "\"shots\" should be a list"},
        {"{\"format\":\"camerawright.shutter/1\",\"shots\":[7]}", "shot 1: should be an object"},
        {"{\"format\":\"camerawright.shutter/1\",\"shots\":[{\"marked_s\":\"x\"}]}", "shot 1: \"marked_s\" should be"},
        {"{\"format\":\"camerawright.shutter/1\",\"shots\":[{\"sensors\":[{\"method\":\"guess\"}]}]}",
         "shot 1: sensor 1: \"method\" is \"guess\""},
        {"{\"format\":\"camerawright.shutter/1\",\"shots\":[{\"sensors\":[1,2,3,4,5,6,7,8,9]}]}", "at most 8"},
        {"{\"format\":\"camerawright.shutter/1\",\"speeds\":[{\"verdict\":\"maybe\"}]}", "speed 1: \"verdict\""},
        {"{\"format\":\"camerawright.shutter/1\",\"speeds\":[{\"shots\":-1}]}", "speed 1: \"shots\" should be a whole"},
        {"{\"format\":\"camerawright.shutter/1\",\"curtains\":{\"profile\":[{\"x_mm\":true}]}}", "curtains: point 1"},
        {"{\"format\":\"camerawright.shutter/1\",\"setup\":{\"shutter\":\"disc\"}}", "setup: \"shutter\" is \"disc\""},
    };
    cw_shutter_test *test = NULL;
    cw_error err;
    json_t *json = json_loads(fine, 0, NULL);
    assert_ok(cw_shutter_test_from_json(json, &test, &err), &err);
    assert_int_equal(test->shots[0].sensors[0].method, CW_METHOD_AREA);
    assert_near(test->speeds[0].error_ev.u, 1e-5 / 0.004 / log(2), 1e-9);
    assert_int_equal(test->speeds[0].verdict, CW_SPEED_INSIDE);
    json_decref(json);
    cw_shutter_test_free(test);
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        test = NULL;
        json = json_loads(rows[i].text, 0, NULL);
        assert_non_null(json);
        assert_fails(cw_shutter_test_from_json(json, &test, &err), CW_INPUT, &err, rows[i].words);
        assert_null(test);
        json_decref(json);
    }
}

/* ---- tables ---- */

static size_t longest_line(const char *text)
{
    size_t longest = 0, columns = 0;
    for (; *text != '\0'; text++) {
        columns = *text == '\n' ? 0 : columns + (((unsigned char)*text & 0xc0) != 0x80);
        longest = columns > longest ? columns : longest;
    }
    return longest;
}

static void the_table_fits_eighty_columns(void **state)
{
    (void)state;
    cw_shot shots[10];
    static const double places[] = {4, 18, 32};
    fill_life(shots, 10);
    for (size_t j = 5; j < 10; j++)
        for (size_t i = 0; i < 3; i++) {
            shots[j].sensors[i].exposure_s.value *= 2;
            shots[j].sensors[i].close_s.value += shots[j].sensors[i].exposure_s.value / 2;
        }
    cw_test_setup setup = truth_setup(3, places);
    cw_shutter_test *test = evaluate(&setup, shots, 10);
    cw_buf text = cw_buf_new(1 << 16);
    cw_error err;
    assert_ok(cw_shutter_table(test, &text, &err), &err);
    assert_true(longest_line(cw_buf_string(&text)) <= 80);
    assert_contains(cw_buf_string(&text), "1/500");
    assert_contains(cw_buf_string(&text), "OUTSIDE");
    assert_contains(cw_buf_string(&text), "first over the frame");
    assert_contains(cw_buf_string(&text), "common practice, no source");
    assert_contains(cw_buf_string(&text), "targets, not an inspection limit");
    cw_buf_free(&text);
    cw_buf small = cw_buf_new(100);
    assert_fails(cw_shutter_table(test, &small, &err), CW_MEMORY, &err, "table");
    cw_buf_free(&small);
    cw_shutter_test_free(test);
}

static void what_no_film_shows_is_no_change(void **state)
{
    (void)state;
    cw_shot before[2], after[2];
    static const double marks[] = {1, 1.0 / 8}, before_ev[] = {0.012, 0.081};
    for (size_t k = 0; k < 2; k++) {
        before[k] = shot_of(marks[k], marks[k] * exp2(before_ev[k]), marks[k] * 1e-5, 0);
        after[k] = shot_of(marks[k], marks[k] * exp2(0.001), marks[k] * 1e-5, 0);
    }
    cw_shutter_test *old = evaluate(&bare, before, 2), *new = evaluate(&bare, after, 2);
    cw_comparison c = cw_shutter_compare(old, new);
    assert_int_equal(c.pairs[0].change, CW_CHANGE_SAME);
    assert_int_equal(c.pairs[1].change, CW_CHANGE_BETTER);
    cw_shutter_test_free(old);
    cw_shutter_test_free(new);
}

static void before_and_after_are_compared_by_their_uncertainty(void **state)
{
    (void)state;
    cw_shot before[3], after[3];
    static const double marks[] = {1.0 / 30, 1.0 / 125, 1.0 / 500};
    for (size_t k = 0; k < 3; k++) {
        before[k] = shot_of(marks[k], marks[k] * exp2(k == 1 ? 0.05 : 0.8), marks[k] * 0.01, 0);
        after[k] = shot_of(marks[k], marks[k] * exp2(k == 2 ? 1.2 : 0.04), marks[k] * 0.01, 0);
    }
    before[0].marked_s = 1.0 / 25; /* measured before only; 1/30 after only */
    before[0].sensors[0].exposure_s.value = 1.0 / 25 * exp2(0.8);
    cw_shutter_test *old = evaluate(&bare, before, 3), *new = evaluate(&bare, after, 3);
    cw_comparison c = cw_shutter_compare(old, new);
    assert_int_equal(c.count, 4);
    assert_near(c.pairs[0].marked_s, 1.0 / 25, 1e-12);
    assert_null(c.pairs[0].after);
    assert_int_equal(c.pairs[0].change, CW_CHANGE_UNKNOWN);
    assert_null(c.pairs[1].before);
    assert_int_equal(c.pairs[2].change, CW_CHANGE_SAME);
    assert_int_equal(c.pairs[3].change, CW_CHANGE_WORSE);
    assert_int_equal(c.worse, 1);
    assert_int_equal(c.inside_after, 2);
    cw_buf text = cw_buf_new(1 << 16);
    cw_error err;
    assert_ok(cw_comparison_table(&c, &text, &err), &err);
    assert_true(longest_line(cw_buf_string(&text)) <= 80);
    assert_contains(cw_buf_string(&text), "Inside the limit: 1 of 3 before, 2 of 3 after");
    cw_buf_free(&text);
    json_t *json = cw_comparison_json(&c);
    json_t *last = json_array_get(json_object_get(json, "speeds"), 3);
    assert_string_equal(json_string_value(json_object_get(last, "change")), "worse");
    assert_true(json_is_null(json_object_get(json_array_get(json_object_get(json, "speeds"), 0), "after")));
    json_decref(json);
    c = cw_shutter_compare(old, NULL);
    assert_int_equal(c.count, 3);
    assert_int_equal(c.measured_after, 0);
    cw_shutter_test_free(old);
    cw_shutter_test_free(new);
}

CHECK_MAIN(cmocka_unit_test(three_shots_are_widened_by_student), cmocka_unit_test(what_stays_does_not_average_out),
           cmocka_unit_test(one_shot_says_what_it_cannot), cmocka_unit_test(few_shots_are_covered_too),
           cmocka_unit_test(the_reference_may_be_the_geometric_series),
           cmocka_unit_test(readings_are_read_with_their_last_digit),
           cmocka_unit_test(the_contact_is_held_against_full_opening), cmocka_unit_test(a_contact_that_misses_is_dirty),
           cmocka_unit_test(a_leaf_is_fully_open_when_its_flank_ends),
           cmocka_unit_test(a_test_comes_back_from_its_json_as_it_was),
           cmocka_unit_test(the_json_has_every_key_of_the_contract),
           cmocka_unit_test(foreign_json_is_read_or_refused_by_name), cmocka_unit_test(the_table_fits_eighty_columns),
           cmocka_unit_test(what_no_film_shows_is_no_change),
           cmocka_unit_test(before_and_after_are_compared_by_their_uncertainty))
