/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pulse terms against SciPy on the same traces (tests/reference/pulse_terms.py), and by hand. */
#include "signal/pulse.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "support/check.h"

enum { SAMPLES = 2000 };

/* A trapezoid with unlike flanks, an overshoot that rings, and a little noise. */
static void make_trace(uint64_t seed, double *at, double *value)
{
    check_random random = {.state = seed};
    double rise = 40 + 60 * check_uniform(&random), fall = 30 + 90 * check_uniform(&random);
    double up = 400 + 50 * check_uniform(&random), down = 1300 + 200 * check_uniform(&random);
    for (int i = 0; i < SAMPLES; i++) {
        double light = fmin(fmax((i - up) / rise, 0), 1) * fmin(fmax((down - i) / fall, 0), 1);
        double after = i - up - rise;
        double ring = after > 0 && i < down - fall ? 0.08 * exp(-after / 60) * sin(after / 9) : 0;
        at[i] = i * 2.5e-6;
        value[i] = 0.13 + 0.71 * (light + ring) + 0.0004 * check_gaussian(&random);
    }
}

static bool ask_scipy(const double *at, const double *value, double *answer, int n)
{
    char folder[200], path[256], script[300], command[700];
    check_folder("pulse", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/trace", folder);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    for (int i = 0; i < SAMPLES; i++)
        fprintf(file, "%.17g %.17g\n", at[i], value[i]);
    assert_int_equal(fclose(file), 0);
    check_path("tests/reference/pulse_terms.py", script, sizeof script);
    snprintf(command, sizeof command, "/usr/bin/python3 '%s' '%s'", script, path);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    int got = 0;
    while (got < n && fscanf(pipe, "%lf", &answer[got]) == 1)
        got++;
    bool good = pclose(pipe) == 0 && got == n;
    unlink(path);
    rmdir(folder);
    return good;
}

static void terms_are_those_of_scipy(void **state)
{
    (void)state;
    for (uint64_t seed = 11; seed < 15; seed++) {
        double at[SAMPLES], value[SAMPLES], theirs[10];
        cw_error err;
        cw_states states;
        cw_pulse_terms t;
        make_trace(seed, at, value);
        assert_true(ask_scipy(at, value, theirs, 10));
        assert_ok(cw_state_levels(SAMPLES, value, NULL, &states, &err), &err);
        assert_ok(cw_pulse_measure(SAMPLES, at, value, &states, &t, &err), &err);
        /* a value on the border of two bins may fall either way: one of a thousand, half a bin off */
        assert_near(states.low, theirs[0], 1e-5);
        assert_near(states.high, theirs[1], 1e-5);
        const double ours[] = {t.rise10_s, t.rise50_s, t.rise90_s, t.fall90_s, t.fall50_s, t.fall10_s, t.duration_s};
        for (size_t i = 0; i < CW_COUNT(ours); i++)
            assert_near(ours[i], theirs[2 + i], 3e-9); /* 1e-5 of level on flanks of 2.5e-6 / 0.0071 s */
        assert_near(t.overshoot, theirs[9], 2e-5);
        assert_near(t.rise_s, t.rise90_s - t.rise10_s, 1e-15);
    }
}

/* A trapezoid of 1 ms opening, 1 ms open, 1 ms closing: effective time 2 ms (from the definition). */
static void a_trapezoid_by_hand(void **state)
{
    (void)state;
    double at[41], value[41];
    for (int i = 0; i < 41; i++) {
        at[i] = i * 1e-4;
        value[i] = fmin(fmin(fmax((at[i] - 0.5e-3) / 1e-3, 0), 1), fmin(fmax((3.5e-3 - at[i]) / 1e-3, 0), 1));
    }
    cw_error err;
    cw_states states = {0, 1};
    cw_pulse_terms t;
    assert_ok(cw_pulse_measure(41, at, value, &states, &t, &err), &err);
    assert_near(t.duration_s, 2e-3, 1e-12);
    assert_near(t.rise_s, 0.8e-3, 1e-12);
    assert_near(t.flat_s, 1.2e-3, 1e-12);
    assert_near(t.overshoot, 0, 1e-12);
}

static void what_is_no_pulse_is_refused(void **state)
{
    (void)state;
    double at[4] = {0, 1, 2, 3}, up[4] = {0, 0, 1, 1}, flat[4] = {2.5, 2.5, 2.5, 2.5};
    cw_error err;
    cw_states states = {0, 1};
    cw_pulse_terms t;
    assert_fails(cw_pulse_measure(4, at, up, &states, &t, &err), CW_RANGE, &err, "no whole pulse");
    assert_fails(cw_state_levels(4, flat, NULL, &states, &err), CW_RANGE, &err, "no two state levels");
}

CHECK_MAIN(cmocka_unit_test(terms_are_those_of_scipy), cmocka_unit_test(a_trapezoid_by_hand),
           cmocka_unit_test(what_is_no_pulse_is_refused))
