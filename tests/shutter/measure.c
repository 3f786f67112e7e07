/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Recordings of simulated shutters, whose truth the simulator states: what the measurement says of them. */
#include "shutter/measure.h"

#include <math.h>
#include <stdio.h>
#include <unistd.h>

#include "sim/sim.h"
#include "support/check.h"
#include "support/samples.h"

static cw_measure_setup setup_of(const cw_sim_scenario *scenario)
{
    cw_measure_setup setup = {.kind = scenario->kind == CW_SIM_LEAF ? CW_SHUTTER_LEAF : CW_SHUTTER_FOCAL_PLANE,
                              .beam = scenario->beam.diffuse ? CW_BEAM_DIFFUSE : CW_BEAM_POINT,
                              .sensor_count = scenario->beam.sensors,
                              .contact_channel = scenario->contact.present ? scenario->beam.sensors + 1 : 0};
    for (size_t i = 0; i < setup.sensor_count; i++)
        setup.sensors_mm[i] = scenario->beam.position_mm[i];
    return setup;
}

static void speeds(cw_sim_scenario *s, size_t count, const double *marks, size_t shots)
{
    s->speed_count = count;
    for (size_t i = 0; i < count; i++)
        s->speeds[i] = (cw_sim_speed){marks[i], shots, 0};
}

/* Measures the scenario; the caller frees both. */
static void measure(const cw_sim_scenario *scenario, cw_sim **sim, cw_measurement **m)
{
    cw_error err;
    cw_source *source;
    assert_ok(cw_sim_new(scenario, sim, &err), &err);
    assert_ok(samples_of_sim(*sim, &source, &err), &err);
    cw_measure_setup setup = setup_of(scenario);
    assert_ok(cw_measure(source, &setup, m, &err), &err);
    cw_source_close(source);
}

static void compare_all(cw_sim *sim, const cw_measurement *m, double k, double u_most_ev)
{
    assert_int_equal(m->shot_count, cw_sim_shot_count(sim));
    for (size_t i = 0; i < m->shot_count; i++) {
        const cw_sim_shot_truth *truth = cw_sim_truth(sim, i);
        for (size_t j = 0; j < truth->sensor_count; j++) {
            assert_true(m->shots[i].sensors[j].seen);
            assert_covers(m->shots[i].sensors[j].exposure_s, truth->sensors[j].exposure_s, k,
                          u_most_ev * truth->sensors[j].exposure_s);
        }
    }
}

static void a_wav_of_a_cloth_shutter_gives_every_exposure(void **state)
{
    (void)state;
    static const double marks[] = {0.5, 1 / 60., 1 / 1000.};
    cw_sim_scenario scenario;
    cw_sim_focal_plane(&scenario);
    speeds(&scenario, 3, marks, 2);
    cw_error err;
    cw_sim *sim;
    cw_source *source;
    cw_measurement *m;
    char folder[200], path[256];
    check_folder("measure", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/shots.wav", folder);
    assert_ok(cw_sim_new(&scenario, &sim, &err), &err);
    assert_ok(cw_sim_write_wav(sim, path, &err), &err);
    assert_ok(cw_source_open(path, NULL, &source, &err), &err);
    cw_measure_setup setup = setup_of(&scenario);
    assert_ok(cw_measure(source, &setup, &m, &err), &err);
    compare_all(sim, m, 4, 0.005);
    assert_false(m->channels[0].is_ac);
    assert_near(m->channels[1].full.value, scenario.detector.full_v, 0.01);
    cw_measurement_free(m);
    cw_source_close(source);
    cw_sim_free(sim);
    unlink(path);
    rmdir(folder);
}

static void ac_coupling_is_found_and_undone(void **state)
{
    (void)state;
    static const double marks[] = {1, 1 / 30., 1 / 500.};
    cw_sim_scenario scenario;
    cw_sim_focal_plane(&scenario);
    speeds(&scenario, 3, marks, 2);
    scenario.detector.ac_tau_s = 0.023;
    scenario.detector.inverted = true;
    cw_sim *sim;
    cw_measurement *m;
    measure(&scenario, &sim, &m);
    compare_all(sim, m, 4, 0.005);
    assert_true(m->channels[0].is_ac);
    assert_true(m->channels[0].is_inverted);
    assert_covers(m->channels[0].tau_s, 0.023, 4, 0.001);
    for (size_t i = 0; i < m->shot_count; i++)
        for (size_t j = 0; j < 3; j++)
            assert_int_equal(m->shots[i].sensors[j].bounce_count, 0); /* an undershoot is no second opening */
    cw_measurement_free(m);
    cw_sim_free(sim);
}

/* The same camera behind a comparator at half of the light: a logic analyser's edges, a contact that bounces. */
static void a_vcd_gives_exposures_and_the_contact(void **state)
{
    (void)state;
    static const double marks[] = {1 / 60., 1 / 500.};
    cw_sim_scenario scenario;
    cw_sim_focal_plane(&scenario);
    speeds(&scenario, 2, marks, 2);
    scenario.contact.present = true;
    cw_error err;
    cw_sim *sim;
    cw_source *source;
    cw_measurement *m;
    char folder[200], path[256];
    check_folder("measure-vcd", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/shots.vcd", folder);
    assert_ok(cw_sim_new(&scenario, &sim, &err), &err);
    assert_ok(cw_sim_write_vcd(sim, "100 ns", path, &err), &err);
    assert_ok(cw_source_open(path, NULL, &source, &err), &err);
    cw_measure_setup setup = setup_of(&scenario);
    assert_ok(cw_measure(source, &setup, &m, &err), &err);
    assert_int_equal(m->shot_count, 4);
    for (size_t i = 0; i < 4; i++) {
        const cw_sim_shot_truth *truth = cw_sim_truth(sim, i);
        for (size_t j = 0; j < truth->sensor_count; j++) {
            assert_int_equal(m->shots[i].sensors[j].method, CW_METHOD_EDGES);
            assert_near(m->shots[i].sensors[j].exposure_s.value, truth->sensors[j].exposure_s, 2e-6);
        }
        assert_true(m->shots[i].contact_seen);
        assert_near(m->shots[i].contact_s.value, truth->contact_s[0], 1e-6);
        assert_near(m->shots[i].contact_opens_s, truth->contact_s[truth->contact_edge_count - 1], 1e-6);
    }
    assert_contains(m->warnings[0], "threshold");
    cw_measurement_free(m);
    cw_source_close(source);
    cw_sim_free(sim);
    unlink(path);
    rmdir(folder);
}

CHECK_MAIN(cmocka_unit_test(a_wav_of_a_cloth_shutter_gives_every_exposure),
           cmocka_unit_test(ac_coupling_is_found_and_undone), cmocka_unit_test(a_vcd_gives_exposures_and_the_contact))
