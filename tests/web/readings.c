/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "web/readings.h"

static void add(cw_typed_readings *readings, double marked_s, const char *text, const char *unit)
{
    cw_error err = {0};
    assert_ok(cw_readings_add(readings, marked_s, text, unit, &err), &err);
}

static void readings_are_taken_as_they_are_typed(void **state)
{
    (void)state;
    static cw_typed_readings readings;
    readings.count = 0;
    add(&readings, 0.004, " 1/226;4.43 ms  4,5ms 0.00443 4430 us ", "s");
    assert_int_equal(readings.count, 5);
    static const double expected[] = {1 / 226.0, 0.00443, 0.0045, 0.00443, 0.00443};
    for (size_t i = 0; i < 5; i++)
        assert_near(readings.items[i].seconds, expected[i], 1e-12);
    assert_string_equal(readings.items[1].as_typed, "4.43 ms");
    assert_string_equal(readings.items[3].as_typed, "0.00443 s");
    readings.count = 0;
    add(&readings, 0.004, "4.43 1/226", "ms"); /* a fraction is of a second whatever the unit */
    assert_near(readings.items[0].seconds, 0.00443, 1e-12);
    assert_near(readings.items[1].seconds, 1 / 226.0, 1e-12);
}

/* JCGM 100:2008, 4.3.7: a digital indication is even over its last digit, u = 0.29 of it. */
static void the_last_digit_is_the_uncertainty(void **state)
{
    (void)state;
    static cw_typed_readings readings;
    readings.count = 0;
    add(&readings, 0.004, "4.43ms 4430us 0.0044 1/226", "s");
    assert_near(readings.items[0].resolution_s / sqrt(12), 0.29e-5, 0.005e-5);
    assert_near(readings.items[1].resolution_s / sqrt(12), 0.29e-6, 0.005e-6);
    assert_near(readings.items[2].resolution_s / sqrt(12), 0.29e-4, 0.005e-4);
    /* 1/225.5 to 1/226.5 is 19.6 us wide */
    assert_near(readings.items[3].resolution_s / sqrt(12), 19.58e-6 * 0.2887, 0.01e-6);
}

static void what_cannot_be_a_reading_is_named(void **state)
{
    (void)state;
    static cw_typed_readings readings;
    cw_error err = {0};
    readings.count = 0;
    assert_fails(cw_readings_add(&readings, 0.004, "4.43", "s", &err), CW_INPUT, &err, "is it in milliseconds?");
    assert_fails(cw_readings_add(&readings, 1, "1.02", "ms", &err), CW_INPUT, &err, "is it in seconds?");
    assert_fails(cw_readings_add(&readings, 0.004, "soon", "s", &err), CW_INPUT, &err, "soon");
    assert_fails(cw_readings_add(&readings, 0.004, "-4 ms", "s", &err), CW_INPUT, &err, "-4 ms");
    assert_fails(cw_readings_add(&readings, 0.004, "4 mm", "s", &err), CW_INPUT, &err, "4 mm");
    assert_fails(cw_readings_add(&readings, 0.004, "1/0", "s", &err), CW_INPUT, &err, "1/0");
    assert_int_equal(readings.count, 0);
}

static void form_with(cw_form *form, const char *text)
{
    cw_error err = {0};
    *form = (cw_form){0};
    assert_ok(cw_form_decode(form, text, strlen(text), &err), &err);
}

static void a_form_without_readings_says_what_one_is(void **state)
{
    (void)state;
    static cw_typed_readings readings;
    cw_form form;
    cw_error err = {0};
    form_with(&form, "mark.0=1&read.0=&mark.1=1/2&read.1=+");
    assert_false(cw_readings_given(&form));
    assert_fails(cw_readings_from_form(&form, &readings, &err), CW_INPUT, &err, "1/226 beside 1/250");
    cw_form_free(&form);
    form_with(&form, "mark.0=&read.0=1/226");
    assert_true(cw_readings_given(&form));
    assert_fails(cw_readings_from_form(&form, &readings, &err), CW_INPUT, &err, "without its marked speed");
    cw_form_free(&form);
    form_with(&form, "mark.0=250&read.0=1/226");
    assert_fails(cw_readings_from_form(&form, &readings, &err), CW_INPUT, &err, "1/250");
    cw_form_free(&form);
}

/* common practice, no source: a timer that shows 0.00443 s at a marked 1/250 is 1/226, +0.15 EV */
static void the_verdict_comes_from_the_evaluation_of_all_tests(void **state)
{
    (void)state;
    static cw_typed_readings readings;
    cw_form form;
    cw_error err = {0};
    cw_shutter_plan plan = cw_plan_default();
    cw_plan_result result;
    form_with(&form, "mark.3=1/250&read.3=0.00443&mark.0=1/30&read.0=33.1+ms+33.5+ms");
    assert_ok(cw_readings_from_form(&form, &readings, &err), &err);
    assert_ok(cw_readings_run(&readings, &plan, &result, &err), &err);
    assert_false(result.proposed);
    assert_int_equal(result.test->speed_count, 2);
    assert_int_equal(result.test->speeds[0].shots, 2);
    assert_near(result.test->speeds[1].error_ev.value, 0.147, 0.001);
    assert_int_equal(result.test->speeds[1].verdict, CW_SPEED_INSIDE);
    cw_plan_result_free(&result);
    cw_form_free(&form);
}

/* Rounding falls anew at every shot: sixteen readings in whole milliseconds know their mean four times better than one
 * knows itself (JCGM 100:2008, 4.2.3). */
static void rounding_averages_over_readings(void **state)
{
    (void)state;
    static cw_typed_readings readings;
    cw_error err = {0};
    cw_shutter_plan plan = cw_plan_default();
    cw_plan_result one, many;
    readings.count = 0;
    add(&readings, 1 / 30.0, "33", "ms");
    assert_ok(cw_readings_run(&readings, &plan, &one, &err), &err);
    for (int i = 1; i < 16; i++)
        add(&readings, 1 / 30.0, "33", "ms");
    assert_ok(cw_readings_run(&readings, &plan, &many, &err), &err);
    assert_near(one.test->speeds[0].exposure_s.u, 0.2887e-3, 0.001e-3);
    assert_near(many.test->speeds[0].exposure_s.u, 0.2887e-3 / 4, 0.001e-3);
    cw_plan_result_free(&one);
    cw_plan_result_free(&many);
}

static void a_reading_that_was_kept_is_read_again(void **state)
{
    (void)state;
    cw_typed_reading reading;
    cw_error err = {0};
    assert_ok(cw_reading_again(0.004, "4.43 ms", &reading, &err), &err);
    assert_near(reading.seconds, 0.00443, 1e-12);
    assert_near(reading.resolution_s, 1e-5, 1e-12);
    assert_string_equal(reading.as_typed, "4.43 ms");
    assert_fails(cw_reading_again(0.004, "4.43 mm", &reading, &err), CW_INPUT, &err, "4.43 mm");
    assert_fails(cw_reading_again(0.004, "4.43", &reading, &err), CW_INPUT, &err, "is it in milliseconds?");
    assert_fails(cw_reading_again(0.004, "4.4300000000000000000000000000000000000000000000000000 ms", &reading, &err),
                 CW_INPUT, &err, "too long");
    assert_near(reading.seconds, 0.00443, 1e-12);
}

CHECK_MAIN(cmocka_unit_test(rounding_averages_over_readings), cmocka_unit_test(a_reading_that_was_kept_is_read_again),
           cmocka_unit_test(readings_are_taken_as_they_are_typed), cmocka_unit_test(the_last_digit_is_the_uncertainty),
           cmocka_unit_test(what_cannot_be_a_reading_is_named),
           cmocka_unit_test(a_form_without_readings_says_what_one_is),
           cmocka_unit_test(the_verdict_comes_from_the_evaluation_of_all_tests))
