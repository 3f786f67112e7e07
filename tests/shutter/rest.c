/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Recordings whose rest is not where it is easily seen: cut off in the light behind a coupling capacitor, moved by
 * another lamp in the middle, drifting, or under hum. Every whole shot is found and measured all the same. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "shutter/measure.h"
#include "sim/sim.h"
#include "support/check.h"
#include "support/samples.h"

typedef struct {
    cw_sim *sim;
    size_t channels, frames;
    double rate_hz;
    float *values;
    cw_measurement *m;
} recording;

static recording record(const cw_sim_scenario *scenario)
{
    cw_error err;
    recording r = {.rate_hz = scenario->recorder.rate_hz};
    assert_ok(cw_sim_new(scenario, &r.sim, &err), &err);
    r.channels = cw_sim_channels(r.sim);
    r.frames = (size_t)cw_sim_frames(r.sim);
    r.values = malloc(r.frames * r.channels * sizeof *r.values);
    assert_non_null(r.values);
    assert_int_equal(cw_sim_read(r.sim, r.frames, r.values), r.frames);
    return r;
}

/* What lies between the instants, as if the recorder had run only then. */
static void measure_between(recording *r, cw_shutter_kind kind, double from_s, double to_s)
{
    cw_error err;
    cw_source *source;
    size_t first = (size_t)(from_s * r->rate_hz), end = (size_t)fmin(to_s * r->rate_hz, (double)r->frames);
    const cw_sim_scenario *scenario = cw_sim_scenario_of(r->sim);
    cw_measure_setup setup = {.kind = kind, .beam = CW_BEAM_DIFFUSE, .sensor_count = r->channels};
    memcpy(setup.sensors_mm, scenario->beam.position_mm, setup.sensor_count * sizeof *setup.sensors_mm);
    float *part = malloc((end - first) * r->channels * sizeof *part);
    assert_non_null(part);
    memcpy(part, r->values + first * r->channels, (end - first) * r->channels * sizeof *part);
    free(r->values);
    r->values = NULL;
    assert_ok(samples_source(part, r->channels, end - first, r->rate_hz, &source, &err), &err);
    assert_ok(cw_measure(source, &setup, &r->m, &err), &err);
    cw_source_close(source);
}

static void forget(recording *r)
{
    cw_measurement_free(r->m);
    cw_sim_free(r->sim);
}

/* Shots from `first` to before `end` of the simulation are whole, and nothing else is. */
static void whole_are(const recording *r, size_t first, size_t end, double u_most_ev)
{
    assert_int_equal(r->m->shot_count, cw_sim_shot_count(r->sim));
    for (size_t i = 0; i < r->m->shot_count; i++) {
        bool whole = i >= first && i < end;
        assert_int_equal(r->m->shots[i].incomplete, !whole);
        assert_true(whole || r->m->shots[i].remark[0] != '\0');
        for (size_t j = 0; whole && j < r->channels; j++) {
            double truth = cw_sim_truth(r->sim, i)->sensors[j].exposure_s;
            assert_covers(r->m->shots[i].sensors[j].exposure_s, truth, 4, u_most_ev * truth);
        }
    }
}

static bool is_said(const recording *r, const char *words)
{
    for (size_t i = 0; i < r->m->warning_count; i++)
        if (strstr(r->m->warnings[i], words) != NULL)
            return true;
    return false;
}

static void fire(cw_sim_scenario *s, size_t count, const double *marks)
{
    s->speed_count = count;
    for (size_t i = 0; i < count; i++)
        s->speeds[i] = (cw_sim_speed){marks[i], 1, 0};
    s->recorder.rate_hz = 44100;
}

/* Through 20 ms the light has long gone from the signal when it is cut off: only its end falls, far below rest. */
static void an_ac_recording_may_begin_and_end_in_the_light(void **state)
{
    (void)state;
    static const double marks[] = {1 / 2., 1 / 15., 1 / 125., 1 / 4., 1 / 500., 1 / 2.}, taus[] = {0.006, 0.02, 0.11};
    for (size_t k = 0; k < CW_COUNT(taus); k++)
        for (int inverted = 0; inverted < 2; inverted++) {
            cw_sim_scenario scenario;
            cw_sim_focal_plane(&scenario);
            fire(&scenario, CW_COUNT(marks), marks);
            scenario.detector.ac_tau_s = taus[k];
            scenario.detector.inverted = inverted != 0;
            recording r = record(&scenario);
            double from_s = cw_sim_truth(r.sim, 0)->sensors[0].open_s + 0.21,
                   to_s = cw_sim_truth(r.sim, 5)->sensors[0].open_s + 0.23;
            measure_between(&r, CW_SHUTTER_FOCAL_PLANE, from_s, to_s);
            assert_true(r.m->channels[2].is_ac);
            assert_int_equal(r.m->channels[2].is_inverted, inverted);
            assert_covers(r.m->channels[2].tau_s, taus[k], 4, 0.03 * taus[k]);
            whole_are(&r, 1, 5, 0.005);
            assert_contains(r.m->shots[0].remark, "start");
            assert_contains(r.m->shots[5].remark, "end");
            forget(&r);
        }
}

/* Adds a step of `part` of the light at each instant, and a slope from there on. */
static void disturb(recording *r, size_t count, const double *at_s, const double *part, double slope)
{
    double full = cw_sim_scenario_of(r->sim)->detector.full_v;
    for (size_t k = 0; k < count; k++)
        for (size_t i = (size_t)(at_s[k] * r->rate_hz); i < r->frames; i++)
            for (size_t c = 0; c < r->channels; c++)
                r->values[i * r->channels + c] +=
                    (float)(full * (part[k] + slope * ((double)i / r->rate_hz - at_s[k])));
}

/* Between the shots, where the shutter is closed. */
static double dark_after(const recording *r, size_t shot)
{
    return cw_sim_truth(r->sim, shot)->sensors[2].close_s + 0.1;
}

static void a_lamp_switched_on_between_the_shots_hides_none(void **state)
{
    (void)state;
    static const double marks[] = {1 / 4., 1 / 125., 1 / 30., 1 / 500., 1 / 8.}, parts[] = {0.12, -0.3, 0.21};
    for (int first = 0; first < 2; first++) {
        cw_sim_scenario scenario;
        cw_sim_focal_plane(&scenario);
        fire(&scenario, CW_COUNT(marks), marks);
        recording r = record(&scenario);
        double at_s[] = {dark_after(&r, 0), dark_after(&r, 1), dark_after(&r, 3)};
        disturb(&r, (size_t)(3 - first), at_s + first, parts + first, 0);
        measure_between(&r, CW_SHUTTER_FOCAL_PLANE, 0, INFINITY);
        whole_are(&r, 0, 5, 0.01);
        assert_true(is_said(&r, "the level without light moved"));
        forget(&r);
    }
}

static void rest_that_drifts_by_a_third_of_the_light_hides_no_shot(void **state)
{
    (void)state;
    static const double marks[] = {1 / 4., 1 / 125., 1 / 30., 1 / 500., 1 / 8.}, start_s[] = {0}, none[] = {0};
    for (int falling = 0; falling < 2; falling++) {
        cw_sim_scenario scenario;
        cw_sim_focal_plane(&scenario);
        fire(&scenario, CW_COUNT(marks), marks);
        recording r = record(&scenario);
        disturb(&r, 1, start_s, none, falling ? -0.15 : 0.15);
        measure_between(&r, CW_SHUTTER_FOCAL_PLANE, 0, INFINITY);
        whole_are(&r, 0, 5, 0.02);
        assert_false(r.m->channels[1].is_ac);
        forget(&r);
    }
}

/* Through a coupling capacitor and without. */
static void hum_larger_than_the_light_hides_no_shot(void **state)
{
    (void)state;
    static const double marks[] = {1 / 4., 1 / 125., 1 / 30., 1 / 500., 1 / 8.}, taus[] = {0, 0.03};
    for (size_t k = 0; k < CW_COUNT(taus); k++) {
        cw_sim_scenario scenario;
        cw_sim_focal_plane(&scenario);
        fire(&scenario, CW_COUNT(marks), marks);
        scenario.detector.full_v = 0.3;
        scenario.detector.hum_v = 0.36;
        scenario.detector.ac_tau_s = taus[k];
        scenario.beam.mains_hz = k == 0 ? 50 : 60;
        recording r = record(&scenario);
        measure_between(&r, CW_SHUTTER_FOCAL_PLANE, 0, INFINITY);
        whole_are(&r, 0, 5, 0.05);
        assert_near(r.m->channels[0].hum_hz, k == 0 ? 50 : 60, 0.1);
        assert_true(is_said(&r, "hum"));
        forget(&r);
    }
}

/* Minutes at a low rate: too long for blocks in which a shot is told from the hum around it. */
static void a_long_recording_is_looked_at_as_finely_as_a_short_one(void **state)
{
    (void)state;
    static const double marks[] = {1 / 4., 1 / 60., 1 / 125., 1 / 30., 1 / 8.}, taus[] = {0, 0.03};
    for (size_t k = 0; k < CW_COUNT(taus); k++) {
        cw_sim_scenario scenario;
        cw_sim_focal_plane(&scenario);
        fire(&scenario, CW_COUNT(marks), marks);
        scenario.beam.sensors = 1;
        scenario.recorder.rate_hz = 8000;
        scenario.pause_s = 30;
        scenario.detector.full_v = 0.3;
        scenario.detector.hum_v = 0.16;
        scenario.detector.ac_tau_s = taus[k];
        recording r = record(&scenario);
        measure_between(&r, CW_SHUTTER_FOCAL_PLANE, 0, INFINITY);
        assert_int_equal(r.m->channels[0].is_ac, k);
        whole_are(&r, 0, 5, 0.05);
        forget(&r);
    }
}

/* More noise than a third of the light: what is left of it in pieces is no exposure. */
static void light_that_noise_breaks_up_is_left_out_with_a_sentence(void **state)
{
    (void)state;
    static const double marks[] = {1 / 2., 1 / 30., 1, 1 / 30., 1 / 4.}, noises[] = {0.4, 0.47};
    size_t left_out = 0;
    for (size_t k = 0; k < CW_COUNT(noises); k++) {
        cw_sim_scenario scenario;
        cw_sim_leaf_shutter(&scenario);
        fire(&scenario, CW_COUNT(marks), marks);
        scenario.pause_s = 0.8;
        scenario.detector.full_v = 0.3;
        scenario.detector.ac_tau_s = 0.0125;
        scenario.detector.noise_v = noises[k] * scenario.detector.full_v;
        recording r = record(&scenario);
        measure_between(&r, CW_SHUTTER_LEAF, 0, INFINITY);
        for (size_t i = 0; i < r.m->shot_count; i++) {
            const cw_sensor_shot *s = &r.m->shots[i].sensors[0];
            bool known = isfinite(s->exposure_s.value), near = false;
            for (size_t j = 0; j < CW_COUNT(marks); j++) {
                double truth = cw_sim_truth(r.sim, j)->sensors[0].exposure_s;
                near = near || fabs(s->exposure_s.value - truth) < 4 * s->exposure_s.u;
            }
            assert_true(!known || near);
            left_out += !known && strstr(s->remark, "noise") != NULL;
        }
        forget(&r);
    }
    assert_true(left_out > 0);
}

/* So bright that the old level of rest is nearer to the new one than to the light; and off again. */
static void a_lamp_of_more_than_half_the_light_is_told_from_an_open_shutter(void **state)
{
    (void)state;
    static const double marks[] = {1 / 4., 1 / 125., 1 / 30., 1 / 500., 1 / 8.}, parts[] = {0.6, -0.6};
    cw_sim_scenario scenario;
    cw_sim_focal_plane(&scenario);
    fire(&scenario, CW_COUNT(marks), marks);
    scenario.detector.full_v = 0.5;
    recording r = record(&scenario);
    double at_s[] = {dark_after(&r, 0), dark_after(&r, 2)};
    disturb(&r, 2, at_s, parts, 0);
    measure_between(&r, CW_SHUTTER_FOCAL_PLANE, 0, INFINITY);
    whole_are(&r, 0, 5, 0.01);
    assert_true(is_said(&r, "by up to 60 %"));
    forget(&r);
}

/* Nothing but its short shots tells which of the two levels is the light. */
static void a_recording_may_begin_and_end_in_the_light(void **state)
{
    (void)state;
    static const double marks[] = {1 / 2., 1 / 15., 1 / 125., 1 / 30., 1 / 2.};
    cw_sim_scenario scenario;
    cw_sim_focal_plane(&scenario);
    fire(&scenario, CW_COUNT(marks), marks);
    recording r = record(&scenario);
    measure_between(&r, CW_SHUTTER_FOCAL_PLANE, cw_sim_truth(r.sim, 0)->sensors[0].open_s + 0.4,
                    cw_sim_truth(r.sim, 4)->sensors[0].open_s + 0.1);
    assert_false(r.m->channels[0].is_inverted);
    whole_are(&r, 1, 4, 0.005);
    forget(&r);
}

static void drift_under_noise_is_not_taken_for_ac_coupling(void **state)
{
    (void)state;
    static const double marks[] = {1 / 2., 1 / 125., 1, 1 / 4.}, start_s[] = {0}, none[] = {0};
    cw_sim_scenario scenario;
    cw_sim_leaf_shutter(&scenario);
    fire(&scenario, CW_COUNT(marks), marks);
    scenario.pause_s = 1;
    scenario.detector.full_v = 0.4;
    scenario.detector.noise_v = 0.05;
    recording r = record(&scenario);
    disturb(&r, 1, start_s, none, -0.08);
    measure_between(&r, CW_SHUTTER_LEAF, 0, INFINITY);
    for (size_t c = 0; c < r.channels; c++)
        assert_false(r.m->channels[c].is_ac);
    whole_are(&r, 0, 4, 0.05);
    forget(&r);
}

/* Noise that moves every block by more than a third of all there is left no stretch to tell the coupling by. */
static void ac_coupling_is_seen_under_noise_of_a_fifth_of_the_light(void **state)
{
    (void)state;
    static const double marks[] = {1 / 4., 1 / 15., 1 / 8., 1 / 125.};
    cw_sim_scenario scenario;
    cw_sim_focal_plane(&scenario);
    fire(&scenario, CW_COUNT(marks), marks);
    scenario.detector.full_v = 0.3;
    scenario.detector.noise_v = 0.06;
    scenario.detector.ac_tau_s = 0.017;
    recording r = record(&scenario);
    measure_between(&r, CW_SHUTTER_FOCAL_PLANE, 0, INFINITY);
    assert_true(r.m->channels[1].is_ac);
    assert_covers(r.m->channels[1].tau_s, 0.017, 4, 0.002);
    whole_are(&r, 0, 4, 0.05);
    forget(&r);
}

static void what_is_clipped_behind_a_capacitor_is_left_out_with_a_sentence(void **state)
{
    (void)state;
    static const double marks[] = {1 / 4., 1 / 15., 1 / 125.};
    cw_sim_scenario scenario;
    cw_sim_focal_plane(&scenario);
    fire(&scenario, CW_COUNT(marks), marks);
    scenario.detector.ac_tau_s = 0.05;
    scenario.detector.noise_v = 0.004;
    scenario.recorder.full_scale_v = 0.7 * scenario.detector.full_v;
    recording r = record(&scenario);
    measure_between(&r, CW_SHUTTER_FOCAL_PLANE, 0, INFINITY);
    assert_int_equal(r.m->shot_count, 3);
    assert_true(isnan(r.m->shots[0].sensors[0].exposure_s.value));
    assert_contains(r.m->shots[0].sensors[0].remark, "cannot be restored");
    forget(&r);
}

/* The half of the light is met where the lamp happens to stand; a lamp that nearly goes out hides whole edges. */
static void a_flickering_lamp_widens_what_slow_edges_say(void **state)
{
    (void)state;
    static const double marks[] = {1 / 8., 1 / 8., 1 / 8., 1 / 8., 1 / 4., 1 / 4.}, depths[] = {0.15, 0.78};
    for (size_t k = 0; k < CW_COUNT(depths); k++) {
        cw_sim_scenario scenario;
        cw_sim_leaf_shutter(&scenario);
        fire(&scenario, CW_COUNT(marks), marks);
        scenario.leaf.opening_s = scenario.leaf.closing_s = 3.4e-3;
        scenario.beam.flicker = depths[k];
        scenario.beam.mains_hz = 50;
        recording r = record(&scenario);
        measure_between(&r, CW_SHUTTER_LEAF, 0, INFINITY);
        assert_int_equal(r.m->shot_count, CW_COUNT(marks));
        for (size_t i = 0; i < CW_COUNT(marks); i++)
            assert_covers(r.m->shots[i].sensors[0].exposure_s, cw_sim_truth(r.sim, i)->sensors[0].exposure_s, 2.5,
                          0.05 * marks[i]);
        forget(&r);
    }
}

CHECK_MAIN(cmocka_unit_test(an_ac_recording_may_begin_and_end_in_the_light),
           cmocka_unit_test(a_lamp_switched_on_between_the_shots_hides_none),
           cmocka_unit_test(rest_that_drifts_by_a_third_of_the_light_hides_no_shot),
           cmocka_unit_test(hum_larger_than_the_light_hides_no_shot),
           cmocka_unit_test(a_long_recording_is_looked_at_as_finely_as_a_short_one),
           cmocka_unit_test(light_that_noise_breaks_up_is_left_out_with_a_sentence),
           cmocka_unit_test(a_lamp_of_more_than_half_the_light_is_told_from_an_open_shutter),
           cmocka_unit_test(a_recording_may_begin_and_end_in_the_light),
           cmocka_unit_test(drift_under_noise_is_not_taken_for_ac_coupling),
           cmocka_unit_test(ac_coupling_is_seen_under_noise_of_a_fifth_of_the_light),
           cmocka_unit_test(what_is_clipped_behind_a_capacitor_is_left_out_with_a_sentence),
           cmocka_unit_test(a_flickering_lamp_widens_what_slow_edges_say))
