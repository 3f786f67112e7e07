/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Hum against the sine that was put in, drawn with libm at every instant. */
#include "signal/hum.h"

#include <math.h>
#include <stdint.h>

#include "support/check.h"

enum { VALUES = 420 };
static const double MAINS_HZ[] = {50, 60};

typedef struct {
    double at_s[VALUES], value[VALUES], weight[VALUES];
} rests;

/* Knuth's linear congruential generator MMIX (from memory); twelve of its numbers make noise of sd 1. */
static double noise(uint64_t *seed)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        *seed = *seed * 6364136223846793005u + 1442695040888963407u;
        sum += (double)(*seed >> 11) * 0x1p-53;
    }
    return sum;
}

/* Rest before and after a shot of 31.7 ms: wide bins, narrow ones next to the shot, and a slope. */
static void fill(rests *r, double hz, double amplitude, double phase, double sd)
{
    uint64_t seed = 21;
    double at_s = 3.217;
    for (size_t i = 0; i < VALUES; i++) {
        bool narrow = i > 180 && i < 240;
        r->at_s[i] = at_s;
        r->weight[i] = narrow ? 24 : 32;
        r->value[i] =
            0.2 - 0.013 * at_s + amplitude * cos(2 * M_PI * hz * at_s - phase) + sd * noise(&seed) / sqrt(r->weight[i]);
        at_s += i == 210 ? 31.7e-3 : narrow ? 24 / 48e3 : 32 / 48e3;
    }
}

static void a_sine_is_found_and_taken_out(void **state)
{
    (void)state;
    for (size_t k = 0; k < CW_COUNT(MAINS_HZ); k++)
        for (double phase = -3; phase < 3; phase += 0.7) {
            rests r;
            cw_hum hum;
            cw_error err;
            fill(&r, MAINS_HZ[k], 0.0123, phase, 1e-6);
            assert_ok(cw_hum_find(VALUES, r.at_s, r.value, r.weight, 2, MAINS_HZ, &hum, &err), &err);
            assert_near(hum.hz, MAINS_HZ[k], 0);
            assert_near(hum.amplitude, 0.0123, 1e-7);
            assert_near(hum.cosine, 0.0123 * cos(phase), 1e-7);
            assert_near(hum.sine, 0.0123 * sin(phase), 1e-7);
            cw_hum_subtract(&hum, VALUES, r.at_s, r.value);
            for (size_t i = 0; i < VALUES; i++)
                assert_near(r.value[i], 0.2 - 0.013 * r.at_s[i], 2e-6);
        }
}

/* Amplitude and its uncertainty in noise: both parts of a sine over n values of variance v have 2 v / n. */
static void its_uncertainty_is_that_of_the_noise(void **state)
{
    (void)state;
    rests r;
    cw_hum hum;
    cw_error err;
    double weights = 0;
    fill(&r, 60, 0.004, 0.4, 0.02);
    for (size_t i = 0; i < VALUES; i++)
        weights += r.weight[i];
    assert_ok(cw_hum_find(VALUES, r.at_s, r.value, r.weight, 2, MAINS_HZ, &hum, &err), &err);
    double u = 0.02 * sqrt(2 / weights);
    assert_near(hum.u_amplitude, u, 0.15 * u);
    assert_near(hum.residual_sd, 0.02, 0.15 * 0.02);
    assert_near(hum.amplitude, 0.004, 4 * u);
}

static void noise_alone_is_no_hum(void **state)
{
    (void)state;
    rests r;
    cw_hum hum;
    cw_error err;
    fill(&r, 50, 0, 0, 0.02);
    assert_ok(cw_hum_find(VALUES, r.at_s, r.value, r.weight, 2, MAINS_HZ, &hum, &err), &err);
    assert_near(hum.hz, 0, 0);
    assert_near(hum.residual_sd, hum.plain_sd, 0);
    double before = r.value[7];
    cw_hum_subtract(&hum, VALUES, r.at_s, r.value);
    assert_near(r.value[7], before, 0);
    assert_fails(cw_hum_find(7, r.at_s, r.value, r.weight, 2, MAINS_HZ, &hum, &err), CW_RANGE, &err, "too short");
}

CHECK_MAIN(cmocka_unit_test(a_sine_is_found_and_taken_out), cmocka_unit_test(its_uncertainty_is_that_of_the_noise),
           cmocka_unit_test(noise_alone_is_no_hum))
