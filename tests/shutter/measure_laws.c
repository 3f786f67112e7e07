/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Laws that hold whatever the shutter: scale, offset, polarity and shift of a trace change no time; a linear detector's
 * lag changes no area. And what must be refused, warned of, or marked. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "shutter/measure.h"
#include "support/check.h"
#include "support/samples.h"

static const double RATE_HZ = 96000;
enum { FRAMES = 96000 };

/* A curtain of two shots: 20 ms and `fast_s`, flanks of 80 us, through a pole of `lag_s`. */
static float *slow_and_fast(double lag_s, double shift_s, double fast_s)
{
    float *values = malloc(FRAMES * sizeof *values);
    check_random random = {.state = 77};
    double light_before = 0, seen = 0;
    for (int i = 0; i < FRAMES; i++) {
        double t = i / RATE_HZ - shift_s, light = 0;
        const double from[] = {0.2, 0.6}, length[] = {0.020, fast_s};
        for (int k = 0; k < 2; k++) {
            double up = (t - from[k]) / 80e-6 + 0.5, down = (from[k] + length[k] - t) / 80e-6 + 0.5;
            light += fmin(fmax(up, 0), 1) * fmin(fmax(down, 0), 1);
        }
        /* exact for light that changes along a straight line between samples */
        double f = lag_s > 0 ? exp(-1 / RATE_HZ / lag_s) : 0, g = lag_s > 0 ? (1 - f) * lag_s * RATE_HZ : 0;
        seen = lag_s > 0 ? f * seen + light_before * (g - f) + light * (1 - g) : light;
        light_before = light;
        values[i] = (float)(seen + 0.001 * check_gaussian(&random));
    }
    return values;
}

static float *two_shots(double lag_s, double shift_s)
{
    return slow_and_fast(lag_s, shift_s, 0.0013);
}

static cw_status measure_values(float *values, size_t channels, uint64_t frames, const cw_measure_setup *setup,
                                cw_measurement **m, cw_error *err)
{
    cw_source *source;
    assert_ok(samples_source(values, channels, frames, RATE_HZ, &source, err), err);
    cw_status status = cw_measure(source, setup, m, err);
    cw_source_close(source);
    return status;
}

static void scale_offset_polarity_and_shift_change_no_time(void **state)
{
    (void)state;
    static const struct {
        float gain, offset;
        double shift_s;
    } changes[] = {{1, 0, 0}, {0.03f, 0, 0}, {1, 0.4f, 0}, {-1, 0, 0}, {-0.5f, 0.9f, 0}, {1, 0, 0.0100007}};
    cw_measure_setup setup = {.sensor_count = 1, .sensors_mm = {18}};
    cw_measurement *plain = NULL;
    for (size_t k = 0; k < CW_COUNT(changes); k++) {
        cw_error err;
        cw_measurement *m;
        float *values = two_shots(0, changes[k].shift_s);
        for (int i = 0; i < FRAMES; i++)
            values[i] = values[i] * changes[k].gain + changes[k].offset;
        assert_ok(measure_values(values, 1, FRAMES, &setup, &m, &err), &err);
        assert_int_equal(m->shot_count, 2);
        assert_int_equal(m->channels[0].is_inverted, changes[k].gain < 0);
        assert_covers(m->shots[0].sensors[0].exposure_s, 0.020, 4, 3e-6);
        assert_covers(m->shots[1].sensors[0].exposure_s, 0.0013, 4, 3e-6);
        assert_near(m->shots[1].sensors[0].open_s.value - changes[k].shift_s, 0.6, 1.5e-6);
        if (plain == NULL)
            plain = m;
        else if (changes[k].shift_s == 0)
            for (int s = 0; s < 2; s++)
                assert_near(m->shots[s].sensors[0].exposure_s.value, plain->shots[s].sensors[0].exposure_s.value, 1e-7);
        if (m != plain)
            cw_measurement_free(m);
    }
    cw_measurement_free(plain);
}

static void detector_lag_moves_no_area(void **state)
{
    (void)state;
    static const double lags_s[] = {0, 20e-6, 100e-6, 300e-6};
    cw_measure_setup setup = {.sensor_count = 1, .sensors_mm = {18}};
    for (size_t k = 0; k < CW_COUNT(lags_s); k++) {
        cw_error err;
        cw_measurement *m;
        assert_ok(measure_values(two_shots(lags_s[k], 0), 1, FRAMES, &setup, &m, &err), &err);
        const cw_sensor_shot *fast = &m->shots[1].sensors[0];
        print_message("lag %.0f us: area %.3f us, chosen %.3f +- %.3f us\n", lags_s[k] * 1e6, fast->area_s.value * 1e6,
                      fast->exposure_s.value * 1e6, fast->exposure_s.u * 1e6);
        assert_near(fast->area_s.value, 0.0013, 1e-6);
        assert_covers(fast->exposure_s, 0.0013, 4, 15e-6); /* 1 %: one slow shot alone shows the level */
        cw_measurement_free(m);
    }
}

static void a_recording_without_a_shot_says_what_it_held(void **state)
{
    (void)state;
    cw_error err;
    cw_measurement *m = NULL;
    cw_measure_setup setup = {.sensor_count = 1};
    float *noise = malloc(FRAMES * sizeof *noise), *still = calloc(FRAMES, sizeof *still);
    check_random random = {.state = 9};
    for (int i = 0; i < FRAMES; i++) /* noise and hum are no shutter */
        noise[i] = (float)(0.01 * check_gaussian(&random) + 0.05 * sin(6.2831853 * 50 * i / RATE_HZ));
    assert_fails(measure_values(noise, 1, FRAMES, &setup, &m, &err), CW_INPUT, &err, "no shutter event");
    assert_contains(err.text, "1 channel, 1.000 s at 96000 Hz");
    assert_fails(measure_values(still, 1, FRAMES, &setup, &m, &err), CW_INPUT, &err, "no shutter event");
    setup.sensor_count = 2;
    assert_fails(measure_values(two_shots(0, 0), 1, FRAMES, &setup, &m, &err), CW_RANGE, &err, "2 sensors are named");
    setup = (cw_measure_setup){.contact_channel = 3};
    assert_fails(measure_values(two_shots(0, 0), 1, FRAMES, &setup, &m, &err), CW_RANGE, &err, "contact channel 3");
    setup = (cw_measure_setup){.contact_channel = 1};
    assert_fails(measure_values(two_shots(0, 0), 1, FRAMES, &setup, &m, &err), CW_RANGE, &err,
                 "light sensor is needed");
}

static void a_shot_cut_by_the_end_is_marked(void **state)
{
    (void)state;
    cw_error err;
    cw_measurement *m;
    cw_measure_setup setup = {.sensor_count = 1};
    uint64_t end = (uint64_t)(0.6006 * RATE_HZ);
    assert_ok(measure_values(two_shots(0, 0), 1, end, &setup, &m, &err), &err);
    assert_int_equal(m->shot_count, 2);
    assert_false(m->shots[0].incomplete);
    assert_true(m->shots[1].incomplete);
    assert_contains(m->shots[1].remark, "end of the recording");
    cw_measurement_free(m);
}

/* Channels: a sensor, one that only picks up 3 % of it, a dead one, one that clips. */
static void dead_copied_and_clipped_channels_are_told(void **state)
{
    (void)state;
    cw_error err;
    cw_measurement *m;
    cw_measure_setup setup = {.sensor_count = 4, .sensors_mm = {4, 12, 20, 32}};
    float *one = two_shots(0, 0), *values = malloc(4 * FRAMES * sizeof *values);
    check_random random = {.state = 4};
    for (int i = 0; i < FRAMES; i++) {
        values[4 * i] = 0.7f * one[i];
        values[4 * i + 1] = 0.03f * one[i] + 0.0005f * (float)check_gaussian(&random);
        values[4 * i + 2] = 0.001f * (float)check_gaussian(&random);
        values[4 * i + 3] = fminf(1.4f * one[i], 1);
    }
    free(one);
    assert_ok(measure_values(values, 4, FRAMES, &setup, &m, &err), &err);
    char all[CW_WARNINGS_MOST * CW_WARNING_TEXT] = "";
    for (size_t i = 0; i < m->warning_count; i++)
        strncat(all, m->warnings[i], sizeof all - strlen(all) - 1);
    assert_contains(all, "channel 2 shows only a faint copy of channel 1");
    assert_contains(all, "channel 3 shows no light");
    assert_contains(all, "channel 4 is clipped");
    assert_true(m->shots[0].sensors[0].seen && m->shots[0].sensors[3].seen);
    assert_false(m->shots[0].sensors[1].seen || m->shots[0].sensors[2].seen);
    cw_measurement_free(m);
}

/* Noise of about one digit: an amplifier that ends at 0.6 of the scale stands still on one value where rest does not.
 * The same recording below that end is left in peace, in eight bits as in sixteen, also with less noise than a digit.
 */
static void a_quiet_amplifier_at_its_end_is_noticed(void **state)
{
    (void)state;
    static const struct {
        double digit, noise_digits, gain;
        bool clipped;
    } rows[] = {{1.0 / 32768, 0.9, 0.8, true}, {1.0 / 32768, 0.9, 0.55, false}, {1.0 / 128, 0.9, 0.8, true},
                {1.0 / 128, 0.9, 0.55, false}, {1.0 / 128, 0.3, 0.55, false},   {1.0 / 128, 0, 0.55, false},
                {1.0 / 32768, 2.5, 0.8, true}, {1.0 / 32768, 2.5, 0.55, false}};
    cw_measure_setup setup = {.sensor_count = 1, .sensors_mm = {18}};
    for (size_t k = 0; k < CW_COUNT(rows); k++) {
        cw_error err;
        cw_measurement *m;
        float *values = two_shots(0, 0);
        check_random random = {.state = 100 + k};
        for (int i = 0; i < FRAMES; i++) {
            double v = rows[k].gain * values[i] + 0.02 + rows[k].noise_digits * rows[k].digit * check_gaussian(&random);
            /* two_shots brings its own noise, more than a quiet recorder's: only its light is wanted */
            v -= fabs(values[i]) < 0.006 ? rows[k].gain * values[i] : 0;
            v -= values[i] > 0.994 ? rows[k].gain * (values[i] - 1) : 0;
            values[i] = (float)(round(fmin(v, 0.6) / rows[k].digit) * rows[k].digit);
        }
        assert_ok(measure_values(values, 1, FRAMES, &setup, &m, &err), &err);
        print_message("row %zu: clipped %d\n", k, m->channels[0].is_clipped);
        assert_int_equal(m->channels[0].is_clipped, rows[k].clipped);
        if (rows[k].clipped) { /* 0.58 of what would be 0.8 */
            assert_contains(m->shots[1].sensors[0].remark, "clipped");
            assert_covers(m->shots[1].sensors[0].exposure_s, 0.0013, 2.5, 60e-6);
        }
        cw_measurement_free(m);
    }
}

/* A top of 40 samples is too short to show that it stands still, but the slow shot of the same channel does. */
static void a_short_shot_of_a_clipped_channel_is_clipped_too(void **state)
{
    (void)state;
    cw_error err;
    cw_measurement *m;
    cw_measure_setup setup = {.sensor_count = 1, .sensors_mm = {18}};
    const double digit = 1.0 / 32768, fast_s = 0.0005;
    float *values = slow_and_fast(0, 0, fast_s);
    check_random random = {.state = 12};
    for (int i = 0; i < FRAMES; i++) {
        double light = fabs(values[i]) < 0.006 ? 0 : values[i];
        double v = 0.8 * light + 0.02 + 0.9 * digit * check_gaussian(&random);
        values[i] = (float)(round(fmin(v, 0.6) / digit) * digit);
    }
    assert_ok(measure_values(values, 1, FRAMES, &setup, &m, &err), &err);
    assert_int_equal(m->shot_count, 2);
    for (int k = 0; k < 2; k++)
        assert_contains(m->shots[k].sensors[0].remark, "clipped");
    assert_covers(m->shots[1].sensors[0].exposure_s, fast_s, 2.5, 60e-6);
    cw_measurement_free(m);
}

CHECK_MAIN(cmocka_unit_test(scale_offset_polarity_and_shift_change_no_time),
           cmocka_unit_test(detector_lag_moves_no_area), cmocka_unit_test(a_recording_without_a_shot_says_what_it_held),
           cmocka_unit_test(a_shot_cut_by_the_end_is_marked),
           cmocka_unit_test(dead_copied_and_clipped_channels_are_told),
           cmocka_unit_test(a_quiet_amplifier_at_its_end_is_noticed),
           cmocka_unit_test(a_short_shot_of_a_clipped_channel_is_clipped_too))
