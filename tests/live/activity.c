/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An evening of simulated shots as a stream: each shot is told soon after it, the pauses are left out, and what is kept
 * measures like the whole recording. */
#include "live/activity.h"

#include <math.h>
#include <stdlib.h>

#include "shutter/measure.h"
#include "sim/sim.h"
#include "support/check.h"

enum { BLOCK = 480 };

static cw_measurement *measure(const cw_activity *activity, const cw_sim_scenario *scenario)
{
    cw_error err;
    cw_source *source;
    cw_measurement *measured;
    cw_measure_setup setup = {.kind = scenario->kind == CW_SIM_LEAF ? CW_SHUTTER_LEAF : CW_SHUTTER_FOCAL_PLANE,
                              .beam = scenario->beam.diffuse ? CW_BEAM_DIFFUSE : CW_BEAM_POINT,
                              .sensor_count = scenario->beam.sensors};
    for (size_t i = 0; i < scenario->beam.sensors; i++)
        setup.sensors_mm[i] = scenario->beam.position_mm[i];
    assert_ok(cw_activity_source(activity, &source, &err), &err);
    assert_ok(cw_measure(source, &setup, &measured, &err), &err);
    cw_source_close(source);
    return measured;
}

/* Feeds the whole simulation; returns how often a shot was told. */
static size_t feed(cw_sim *sim, cw_activity *activity)
{
    cw_error err;
    float frames[BLOCK * 8];
    size_t told = 0, got;
    while ((got = cw_sim_read(sim, BLOCK, frames)) > 0) {
        bool ended;
        assert_ok(cw_activity_feed(activity, frames, got, &ended, &err), &err);
        told += ended;
    }
    return told;
}

static void compare(const cw_sim *sim, const cw_measurement *measured, double relative)
{
    assert_int_equal(measured->shot_count, cw_sim_shot_count(sim));
    for (size_t k = 0; k < measured->shot_count; k++)
        for (size_t s = 0; s < measured->shots[k].sensor_count; s++) {
            double truth_s = cw_sim_truth(sim, k)->sensors[s].exposure_s;
            assert_near(measured->shots[k].sensors[s].exposure_s.value, truth_s, relative * truth_s);
        }
}

static void pauses_are_left_out_and_shots_are_not(void **state)
{
    (void)state;
    cw_error err;
    cw_sim_scenario scenario;
    cw_sim *sim;
    cw_activity *activity;
    cw_sim_focal_plane(&scenario);
    scenario.pause_s = 9;
    scenario.recorder.rate_hz = 48000;
    assert_ok(cw_sim_new(&scenario, &sim, &err), &err);
    assert_ok(cw_activity_new(cw_sim_channels(sim), scenario.recorder.rate_hz, 600, &activity, &err), &err);
    size_t told = feed(sim, activity);
    assert_true(told >= cw_sim_shot_count(sim) && told <= 2 * cw_sim_shot_count(sim));
    size_t kept;
    cw_activity_frames(activity, &kept);
    assert_true((double)kept < 0.7 * (double)cw_activity_taken(activity));
    cw_measurement *measured = measure(activity, &scenario);
    compare(sim, measured, 0.03);
    cw_measurement_free(measured);
    cw_activity_free(activity);
    cw_sim_free(sim);
}

/* Through a microphone socket a second's exposure looks dark in its middle: it must stay one shot of the right length.
 */
static void a_slow_shot_through_an_ac_input_stays_whole(void **state)
{
    (void)state;
    cw_error err;
    cw_sim_scenario scenario;
    cw_sim *sim;
    cw_activity *activity;
    cw_sim_leaf_shutter(&scenario);
    scenario.detector.ac_tau_s = 0.05;
    scenario.pause_s = 8;
    scenario.recorder.rate_hz = 48000;
    scenario.speed_count = 2;
    scenario.speeds[0] = (cw_sim_speed){1, 2, 0};
    scenario.speeds[1] = (cw_sim_speed){1.0 / 30, 2, 0};
    assert_ok(cw_sim_new(&scenario, &sim, &err), &err);
    assert_ok(cw_activity_new(cw_sim_channels(sim), scenario.recorder.rate_hz, 600, &activity, &err), &err);
    feed(sim, activity);
    cw_measurement *measured = measure(activity, &scenario);
    compare(sim, measured, 0.05);
    cw_measurement_free(measured);
    cw_activity_free(activity);
    cw_sim_free(sim);
}

static void a_lamp_and_clipping_show_in_the_levels(void **state)
{
    (void)state;
    cw_error err;
    bool ended;
    cw_activity *activity;
    assert_ok(cw_activity_new(2, 48000, 10, &activity, &err), &err);
    static float frames[48000 * 2];
    for (size_t i = 0; i < 48000; i++) {
        frames[2 * i] = 0.001f * (float)(i % 7);
        frames[2 * i + 1] = i > 40000 ? 1.0f : 0.1f;
    }
    assert_ok(cw_activity_feed(activity, frames, 48000, &ended, &err), &err);
    cw_activity_level levels[CW_CHANNELS_MOST];
    cw_activity_levels(activity, levels);
    assert_near(levels[0].most, 0.006, 1e-6);
    assert_false(levels[0].clipped || levels[0].lit);
    assert_true(levels[1].clipped && levels[1].lit);
    cw_activity_free(activity);
}

static void limits_are_kept_and_said(void **state)
{
    (void)state;
    cw_error err;
    bool ended;
    cw_activity *activity;
    cw_source *source;
    assert_fails(cw_activity_new(9, 48000, 10, &activity, &err), CW_RANGE, &err, "9 channels");
    assert_fails(cw_activity_new(2, 100, 10, &activity, &err), CW_RANGE, &err, "100 Hz");
    assert_ok(cw_activity_new(1, 48000, 1, &activity, &err), &err);
    assert_fails(cw_activity_source(activity, &source, &err), CW_INPUT, &err, "no shot was seen");
    static float frames[48000 * 2];
    assert_ok(cw_activity_feed(activity, frames, 4800, &ended, &err), &err);
    for (size_t i = 0; i < CW_COUNT(frames); i++)
        frames[i] = 0.5f;
    assert_fails(cw_activity_feed(activity, frames, CW_COUNT(frames), &ended, &err), CW_RANGE, &err,
                 "1 s of shots are recorded");
    cw_activity_free(activity);
}

CHECK_MAIN(cmocka_unit_test(pauses_are_left_out_and_shots_are_not),
           cmocka_unit_test(a_slow_shot_through_an_ac_input_stays_whole),
           cmocka_unit_test(a_lamp_and_clipping_show_in_the_levels), cmocka_unit_test(limits_are_kept_and_said))
