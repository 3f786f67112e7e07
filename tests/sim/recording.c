/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The detector chain against what each part must do by its own law. */
#include "support/check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sim/sim.h"

static cw_sim *run(const cw_sim_scenario *s)
{
    cw_error err;
    cw_sim *sim = NULL;
    assert_ok(cw_sim_new(s, &sim, &err), &err);
    return sim;
}

/* One quiet shot, floating point, nothing but what a test adds. */
static void quiet(cw_sim_scenario *s, double marked_s)
{
    cw_sim_focal_plane(s);
    s->focal.delay_jitter_s = s->focal.tension_jitter = 0;
    s->detector.noise_v = 0;
    s->detector.lag_s = 0;
    s->recorder.bits = 0;
    s->speed_count = 1;
    s->speeds[0] = (cw_sim_speed){.marked_s = marked_s, .shots = 1};
}

static float *record(cw_sim *sim, size_t *frames)
{
    *frames = (size_t)cw_sim_frames(sim);
    float *x = calloc(*frames * cw_sim_channels(sim), sizeof *x);
    assert_non_null(x);
    cw_sim_rewind(sim);
    assert_int_equal(cw_sim_read(sim, *frames, x), *frames);
    float more[8];
    assert_int_equal(cw_sim_read(sim, 1, more), 0);
    return x;
}

static double channel_sum(const float *x, size_t frames, size_t channels, size_t channel)
{
    double sum = 0;
    for (size_t i = 0; i < frames; i++)
        sum += (double)x[i * channels + channel];
    return sum;
}

/* Area over full level is the exposure, whatever the linear lag; a clock that runs fast counts more of its seconds. */
static void lag_keeps_the_area_and_the_clock_scales_it(void **state)
{
    (void)state;
    double lags[] = {0, 7e-6, 211e-6}, ppm[] = {0, 0, 4000};
    for (int i = 0; i < 3; i++) {
        cw_sim_scenario s;
        quiet(&s, 0.0043);
        s.detector.lag_s = lags[i];
        s.recorder.clock_ppm = ppm[i];
        s.detector.spread = 0.07;
        cw_sim *sim = run(&s);
        size_t frames;
        float *x = record(sim, &frames);
        for (size_t c = 0; c < 3; c++) {
            double full = 0.8 * (1 + 0.07 * ((double)c - 1));
            double area_s = channel_sum(x, frames, 3, c) / full / s.recorder.rate_hz;
            double truth = cw_sim_truth(sim, 0)->sensors[c].exposure_s * (1 + 1e-6 * ppm[i]);
            assert_near(area_s, truth, 1e-7); /* point samples of a ramp of 20 samples */
        }
        free(x);
        cw_sim_free(sim);
    }
}

/* A step through one pole: 1 - exp(-t/tau). The slit is made so narrow that the edge is a step. */
static void lag_is_one_pole(void **state)
{
    (void)state;
    cw_sim_scenario s;
    quiet(&s, 0.02);
    s.detector.lag_s = 1.1e-3;
    s.beam.width_mm = 0.001;
    cw_sim *sim = run(&s);
    size_t frames;
    float *x = record(sim, &frames);
    double open_s = cw_sim_truth(sim, 0)->sensors[1].open_s;
    for (int ms = 1; ms <= 5; ms++) {
        size_t k = (size_t)ceil((open_s + 1e-3 * ms) * s.recorder.rate_hz);
        double t = (double)k / s.recorder.rate_hz - open_s;
        assert_near((double)x[3 * k + 1] / 0.8, 1 - exp(-t / 1.1e-3), 2e-4);
    }
    free(x);
    cw_sim_free(sim);
}

/* AC coupling: a constant light decays by exp(-t/tau), and everything sums to nothing in the end. */
static void ac_coupling_droops_by_tau(void **state)
{
    (void)state;
    cw_sim_scenario s;
    quiet(&s, 0.5);
    s.detector.ac_tau_s = 0.13;
    s.detector.dark_v = 0.4; /* invisible behind the capacitor */
    s.pause_s = 3;
    cw_sim *sim = run(&s);
    size_t frames;
    float *x = record(sim, &frames);
    double open_s = cw_sim_truth(sim, 0)->sensors[0].open_s;
    size_t a = (size_t)((open_s + 0.05) * s.recorder.rate_hz), b = (size_t)((open_s + 0.45) * s.recorder.rate_hz);
    double ratio = (double)x[3 * b] / (double)x[3 * a];
    assert_near(ratio, exp(-(double)(b - a) / s.recorder.rate_hz / 0.13), 1e-5);
    assert_near((double)x[0], 0, 1e-7);
    assert_near(channel_sum(x, frames, 3, 0) / s.recorder.rate_hz, 0, 1e-6);
    free(x);
    cw_sim_free(sim);
}

static void saturation_polarity_drift_and_clipping(void **state)
{
    (void)state;
    cw_sim_scenario s;
    quiet(&s, 0.05);
    s.detector.saturation = 0.6;
    s.detector.inverted = true;
    s.detector.dark_v = 0.1;
    s.detector.drift_v_per_s = 0.2;
    cw_sim *sim = run(&s);
    size_t frames;
    float *x = record(sim, &frames);
    double middle_s = cw_sim_truth(sim, 0)->sensors[1].open_s + 0.02;
    size_t k = (size_t)(middle_s * s.recorder.rate_hz);
    assert_near((double)x[3 * k + 1], -(0.8 * 0.6 + 0.1 + 0.2 * (double)k / s.recorder.rate_hz), 1e-6);
    free(x);
    cw_sim_free(sim);
    quiet(&s, 0.05);
    s.detector.full_v = 2;
    sim = run(&s);
    x = record(sim, &frames);
    assert_near((double)x[3 * k + 1], 1, 0); /* the recorder's rail */
    free(x);
    cw_sim_free(sim);
}

/* rms, whiteness and 1/f: the variance of means over blocks of m falls as 1/m for white noise and hardly for pink. */
static void noise_is_as_strong_and_as_coloured_as_asked(void **state)
{
    (void)state;
    for (int pink = 0; pink < 2; pink++) {
        cw_sim_scenario s;
        quiet(&s, 1e-3);
        s.beam.sensors = 1;
        s.beam.position_mm[0] = 4;
        *(pink ? &s.detector.pink_v : &s.detector.noise_v) = 0.037;
        s.lead_s = 2;
        cw_sim *sim = run(&s);
        size_t frames = (size_t)(1.9 * s.recorder.rate_hz);
        float *x = calloc(frames, sizeof *x);
        assert_non_null(x);
        assert_int_equal(cw_sim_read(sim, frames, x), frames);
        double squares = 0, block_squares = 0, cube = 0;
        enum { BLOCK = 256 };
        size_t blocks = frames / BLOCK;
        for (size_t b = 0; b < blocks; b++) {
            double sum = 0;
            for (size_t i = 0; i < BLOCK; i++) {
                double v = (double)x[b * BLOCK + i];
                sum += v;
                squares += v * v;
                cube += v * v * v * v;
            }
            block_squares += sum / BLOCK * sum / BLOCK;
        }
        double n = (double)(blocks * BLOCK), rms = sqrt(squares / n);
        double block_rms = sqrt(block_squares / (double)blocks);
        if (pink) {
            assert_near(rms, 0.037, 0.006);
            assert_true(block_rms > 0.4 * rms);
        } else {
            assert_near(rms, 0.037, 4 * 0.037 / sqrt(2 * n));
            assert_near(block_rms, 0.037 / 16, 4 * 0.037 / 16 / sqrt(2 * (double)blocks));
            assert_near(cube / n / pow(rms, 4), 3, 0.05); /* kurtosis of a normal distribution */
        }
        free(x);
        cw_sim_free(sim);
    }
}

/* Correlation with sine and cosine at f over whole periods gives the amplitude there. */
static double amplitude_at(const float *x, size_t frames, size_t channels, double rate_hz, double hz)
{
    double a = 0, b = 0;
    for (size_t i = 0; i < frames; i++) {
        double phase = 2 * M_PI * hz * (double)i / rate_hz;
        a += (double)x[i * channels] * cos(phase);
        b += (double)x[i * channels] * sin(phase);
    }
    return 2 * hypot(a, b) / (double)frames;
}

static void hum_and_flicker_sit_at_their_frequencies(void **state)
{
    (void)state;
    cw_sim_scenario s;
    quiet(&s, 1.2);
    s.beam.mains_hz = 60;
    s.beam.flicker = 0.23;
    s.detector.hum_v = 0.011;
    s.recorder.rate_hz = 48000;
    cw_sim *sim = run(&s);
    size_t frames;
    float *x = record(sim, &frames);
    size_t from = (size_t)((cw_sim_truth(sim, 0)->sensors[0].open_s + 0.05) * 48000);
    assert_near(amplitude_at(x + 3 * from, 48000, 3, 48000, 120), 0.8 * 0.23, 2e-4);
    assert_near(amplitude_at(x + 3 * from, 48000, 3, 48000, 60), 0.011, 1e-5);
    assert_near(amplitude_at(x + 3 * from, 48000, 3, 48000, 180), 0.0022, 1e-5);
    free(x);
    cw_sim_free(sim);
}

static void samples_are_whole_steps_and_repeat(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    s.recorder.bits = 12;
    s.recorder.rate_hz = 24000;
    s.detector.noise_v = 0.01;
    s.detector.pink_v = 0.003;
    s.contact.present = true;
    cw_sim *sim = run(&s), *twin = run(&s);
    size_t frames;
    float *x = record(sim, &frames);
    size_t channels = cw_sim_channels(sim);
    assert_int_equal(channels, 4);
    for (size_t i = 0; i < frames * channels; i++)
        assert_true((double)x[i] * 2048 == rint((double)x[i] * 2048));
    float *y = calloc(frames * channels, sizeof *y);
    assert_non_null(y);
    for (size_t at = 0, got = 1; got > 0; at += got)
        got = cw_sim_read(twin, 577, y + at * channels);
    assert_memory_equal(x, y, frames * channels * sizeof *x);
    s.seed++;
    cw_sim *other = run(&s);
    assert_true(cw_sim_read(other, 1000, y) == 1000);
    assert_true(memcmp(x, y, 1000 * channels * sizeof *x) != 0);
    free(x);
    free(y);
    cw_sim_free(sim);
    cw_sim_free(twin);
    cw_sim_free(other);
}

/* The filter keeps area and centre, passes a quarter of the rate, and rings. */
static void the_recorders_filter_keeps_area_and_rings(void **state)
{
    (void)state;
    cw_sim_scenario s;
    quiet(&s, 0.0043);
    s.recorder.rate_hz = 48000;
    s.recorder.anti_alias = true;
    s.beam.width_mm = 0.05;
    s.beam.sensors = 1;
    cw_sim *sim = run(&s);
    size_t frames;
    float *x = record(sim, &frames);
    double sum = 0, moment = 0, most = 0, least = 0;
    for (size_t i = 0; i < frames; i++) {
        sum += (double)x[i];
        moment += (double)x[i] * (double)i;
        most = fmax(most, (double)x[i]);
        least = fmin(least, (double)x[i]);
    }
    const cw_sim_sensor_truth *t = &cw_sim_truth(sim, 0)->sensors[0];
    assert_near(sum / 48000 / 0.8, t->exposure_s, 2e-7);
    assert_near(moment / sum / 48000, (t->open_s + t->close_s) / 2, 2e-7);
    assert_true(most > 0.82 && most < 0.92 && least < -0.02 && least > -0.12);
    free(x);
    cw_sim_free(sim);
}

/* Edges of a comparator on a lag: late by -tau ln(1 - f) opening and -tau ln f closing (step response of one pole). */
static void a_comparator_on_a_lag_is_late_by_its_threshold(void **state)
{
    (void)state;
    cw_sim_scenario s;
    quiet(&s, 0.004);
    s.beam.width_mm = 0.001;
    s.detector.lag_s = 31e-6;
    s.detector.threshold = 0.3;
    s.detector.hysteresis = 0;
    s.contact.present = true;
    cw_sim *sim = run(&s);
    cw_error err;
    cw_sim_edge *edges = NULL;
    size_t count = 0;
    assert_ok(cw_sim_edges(sim, 1e-9, &edges, &count, &err), &err);
    const cw_sim_shot_truth *t = cw_sim_truth(sim, 0);
    assert_int_equal(count, 6 + t->contact_edge_count);
    size_t seen = 0;
    for (size_t i = 0; i < count; i++) {
        assert_true(i == 0 || edges[i].at_s >= edges[i - 1].at_s);
        if (edges[i].channel == 3)
            continue;
        const cw_sim_sensor_truth *sensor = &t->sensors[edges[i].channel];
        double late = edges[i].level ? -31e-6 * log(0.7) : -31e-6 * log(0.3);
        assert_near(edges[i].at_s, (edges[i].level ? sensor->open_s : sensor->close_s) + late, 3e-7);
        seen++;
    }
    assert_int_equal(seen, 6);
    free(edges);
    cw_sim_free(sim);
}

/* (1 - 2f) w/v: what a threshold away from the middle does to an exposure through a slit. */
static void a_low_threshold_lengthens_by_the_ramp(void **state)
{
    (void)state;
    cw_sim_scenario s;
    quiet(&s, 0.004);
    s.beam.width_mm = 1;
    s.detector.threshold = 0.25;
    s.detector.hysteresis = 0;
    cw_sim *sim = run(&s);
    cw_error err;
    cw_sim_edge *edges = NULL;
    size_t count = 0;
    assert_ok(cw_sim_edges(sim, 1e-9, &edges, &count, &err), &err);
    double open_s = NAN, close_s = NAN, v = sqrt(2e3 * s.focal.first.acceleration_m_s2 * 22);
    for (size_t i = 0; i < count; i++)
        if (edges[i].channel == 1)
            *(edges[i].level ? &open_s : &close_s) = edges[i].at_s;
    assert_near(close_s - open_s, 0.004 + 0.5 * 1 / v, 3e-7);
    free(edges);
    cw_sim_free(sim);
}

/* Noise without hysteresis chatters on a slow edge; with more hysteresis than noise it does not. */
static void hysteresis_stops_chatter(void **state)
{
    (void)state;
    size_t counts[2];
    for (int i = 0; i < 2; i++) {
        cw_sim_scenario s;
        quiet(&s, 0.004);
        s.beam.width_mm = 2;
        s.detector.noise_v = 0.01;
        s.detector.hysteresis = i == 0 ? 0 : 0.15;
        cw_sim *sim = run(&s);
        cw_error err;
        cw_sim_edge *edges = NULL;
        assert_ok(cw_sim_edges(sim, 1e-7, &edges, &counts[i], &err), &err);
        free(edges);
        cw_sim_free(sim);
    }
    assert_true(counts[0] > 20);
    assert_int_equal(counts[1], 6);
}

CHECK_MAIN(cmocka_unit_test(lag_keeps_the_area_and_the_clock_scales_it), cmocka_unit_test(lag_is_one_pole),
           cmocka_unit_test(ac_coupling_droops_by_tau), cmocka_unit_test(saturation_polarity_drift_and_clipping),
           cmocka_unit_test(noise_is_as_strong_and_as_coloured_as_asked),
           cmocka_unit_test(hum_and_flicker_sit_at_their_frequencies),
           cmocka_unit_test(samples_are_whole_steps_and_repeat),
           cmocka_unit_test(the_recorders_filter_keeps_area_and_rings),
           cmocka_unit_test(a_comparator_on_a_lag_is_late_by_its_threshold),
           cmocka_unit_test(a_low_threshold_lengthens_by_the_ramp), cmocka_unit_test(hysteresis_stops_chatter))
