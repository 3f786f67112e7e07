/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a light gate's detector, threshold and slit do to the exposure it reports: simulated edges against the formulas
 * that docs/light-gate.md gives, and the table printed there. A curtain at 5 m/s (18 mm into a 36 mm frame). */
#include "support/check.h"

#include <math.h>
#include <stdlib.h>

#include "sim/sim.h"

static const double SPEED_MM_S = 5000;

/* Reported less true exposure at one sensor, seconds. NaN: the gate saw no complete pulse. */
static double bias_s(double exposure_s, double lag_s, double threshold, double hysteresis, double slit_mm,
                     double penumbra_mm)
{
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    s.focal.delay_jitter_s = s.focal.tension_jitter = 0;
    /* v^2 = 2 a (x + x0) */
    s.focal.first.acceleration_m_s2 = s.focal.second.acceleration_m_s2 = 1e-3 * SPEED_MM_S * SPEED_MM_S / (2 * 22);
    s.beam.sensors = 1;
    s.beam.position_mm[0] = 18;
    s.beam.width_mm = slit_mm;
    s.beam.penumbra_mm = penumbra_mm;
    s.detector.noise_v = 0;
    s.detector.lag_s = lag_s;
    s.detector.threshold = threshold;
    s.detector.hysteresis = hysteresis;
    s.speed_count = 1;
    s.speeds[0] = (cw_sim_speed){.marked_s = exposure_s, .shots = 1};
    cw_error err;
    cw_sim *sim = NULL;
    cw_sim_edge *edges = NULL;
    size_t count = 0;
    assert_ok(cw_sim_new(&s, &sim, &err), &err);
    assert_ok(cw_sim_edges(sim, 1e-9, &edges, &count, &err), &err);
    double bias = NAN;
    if (count == 2)
        bias = edges[1].at_s - edges[0].at_s - cw_sim_truth(sim, 0)->sensors[0].exposure_s;
    free(edges);
    cw_sim_free(sim);
    return bias;
}

static double ev(double bias, double exposure_s)
{
    return log2((exposure_s + bias) / exposure_s);
}

/* b = tau ln((1 - f)/f): the step response of one pole, opening at f of it, closing at 1 - f. */
static void detector_lag_biases_by_its_threshold(void **state)
{
    (void)state;
    static const double taus_s[] = {0.7e-6, 3.3e-6, 17e-6, 34e-6, 170e-6};
    static const double thresholds[] = {0.2, 0.4, 0.5, 0.7};
    for (size_t i = 0; i < sizeof taus_s / sizeof taus_s[0]; i++)
        for (size_t k = 0; k < sizeof thresholds / sizeof thresholds[0]; k++) {
            double f = thresholds[k], slow = bias_s(4e-3, taus_s[i], f, 0, 0.001, 0);
            assert_near(slow, taus_s[i] * log((1 - f) / f), 0.3e-6);
            print_message("tau %5.1f us, f %.1f: %+7.2f us, %+.3f EV at 1/1000, %+.3f EV at 1/4000\n", 1e6 * taus_s[i],
                          f, 1e6 * slow, ev(bias_s(1e-3, taus_s[i], f, 0, 0.001, 0), 1e-3),
                          ev(bias_s(0.25e-3, taus_s[i], f, 0, 0.001, 0), 0.25e-3));
        }
}

/* bias = (1 - 2f) w/v. */
static void the_slit_biases_by_the_ramp(void **state)
{
    (void)state;
    static const double slits_mm[] = {0.3, 0.5, 1};
    static const double thresholds[] = {0.25, 0.45, 0.5, 0.75};
    for (size_t i = 0; i < sizeof slits_mm / sizeof slits_mm[0]; i++)
        for (size_t k = 0; k < sizeof thresholds / sizeof thresholds[0]; k++) {
            double f = thresholds[k], bias = bias_s(1e-3, 0, f, 0, slits_mm[i], 0);
            assert_near(bias, (1 - 2 * f) * slits_mm[i] / SPEED_MM_S, 0.5e-6);
            print_message("slit %.1f mm, f %.2f: %+7.2f us, %+.3f EV at 1/1000, %+.3f EV at 1/4000\n", slits_mm[i], f,
                          1e6 * bias, ev(bias, 1e-3), ev(bias_s(0.25e-3, 0, f, 0, slits_mm[i], 0), 0.25e-3));
        }
}

/* Hysteresis around the middle moves both edges by the same. */
static void hysteresis_around_the_middle_cancels(void **state)
{
    (void)state;
    assert_near(bias_s(1e-3, 3.3e-6, 0.5, 0.2, 0.3, 0), 0, 0.3e-6);
    assert_true(fabs(bias_s(1e-3, 3.3e-6, 0.4, 0.2, 0.3, 0)) > 10e-6);
}

/* A blur as wide as the slit and narrower than what the curtain leaves open changes nothing at f = 1/2. */
static void penumbra_at_the_middle_cancels(void **state)
{
    (void)state;
    assert_near(bias_s(1e-3, 0, 0.5, 0, 0.3, 0.5), 0, 0.3e-6);
    double low = bias_s(1e-3, 0, 0.3, 0, 0.3, 0.5);
    assert_true(low > 1.2 * 0.4 * 0.3 / SPEED_MM_S); /* away from it the blur adds to the slit */
}

/* The curtains' slit narrower than the mask's: the peak is their ratio, and below the threshold there is no edge. */
static void a_mask_wider_than_the_slit_sees_nothing(void **state)
{
    (void)state;
    double exposure_s = 0.25e-3; /* 1.25 mm on the film */
    assert_true(isnan(bias_s(exposure_s, 0, 0.5, 0, 2.6, 0)));
    assert_true(isfinite(bias_s(exposure_s, 0, 0.45, 0, 2.6, 0)));
}

CHECK_MAIN(cmocka_unit_test(detector_lag_biases_by_its_threshold), cmocka_unit_test(the_slit_biases_by_the_ramp),
           cmocka_unit_test(hysteresis_around_the_middle_cancels), cmocka_unit_test(penumbra_at_the_middle_cancels),
           cmocka_unit_test(a_mask_wider_than_the_slit_sees_nothing))
