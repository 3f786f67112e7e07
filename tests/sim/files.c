/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the simulator writes: WAV as libsndfile reads it back, CSV and VCD line by line, truth and scenario as JSON,
 * and the sound. */
#include "support/check.h"

#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "sim/sim.h"

static char folder[512];

static const char *in_folder(const char *name)
{
    static char path[600];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static int make_folder(void **state)
{
    (void)state;
    check_folder("sim-files", folder, sizeof folder);
    return 0;
}

static char *contents(const char *name)
{
    cw_error err;
    char *text = NULL;
    size_t length = 0;
    assert_ok(cw_read_file(in_folder(name), 100 << 20, &text, &length, &err), &err);
    unlink(in_folder(name));
    return text;
}

static cw_sim *small(unsigned bits)
{
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    s.recorder.rate_hz = 20000;
    s.recorder.bits = bits;
    s.speed_count = 1;
    s.speeds[0] = (cw_sim_speed){.marked_s = 1 / 125.0, .shots = 2};
    s.lead_s = s.pause_s = 0.02;
    s.contact.present = true;
    cw_error err;
    cw_sim *sim = NULL;
    assert_ok(cw_sim_new(&s, &sim, &err), &err);
    return sim;
}

static void wav_holds_the_samples_exactly(void **state)
{
    (void)state;
    const unsigned depths[] = {16, 24, 0};
    const int formats[] = {SF_FORMAT_PCM_16, SF_FORMAT_PCM_24, SF_FORMAT_FLOAT};
    for (int d = 0; d < 3; d++) {
        cw_error err;
        cw_sim *sim = small(depths[d]);
        size_t frames = (size_t)cw_sim_frames(sim);
        float *x = calloc(frames * 4, sizeof *x), *y = calloc(frames * 4, sizeof *y);
        assert_non_null(x);
        assert_non_null(y);
        assert_int_equal(cw_sim_read(sim, frames, x), frames);
        assert_ok(cw_sim_write_wav(sim, in_folder("a.wav"), &err), &err);
        SF_INFO info = {0};
        SNDFILE *file = sf_open(in_folder("a.wav"), SFM_READ, &info);
        assert_non_null(file);
        assert_int_equal(info.frames, frames);
        assert_int_equal(info.channels, 4);
        assert_int_equal(info.samplerate, 20000);
        assert_int_equal(info.format & SF_FORMAT_SUBMASK, formats[d]);
        assert_int_equal(sf_readf_float(file, y, (sf_count_t)frames), frames);
        assert_memory_equal(x, y, frames * 4 * sizeof *x);
        sf_close(file);
        unlink(in_folder("a.wav"));
        free(x);
        free(y);
        cw_sim_free(sim);
    }
}

static void csv_speaks_four_dialects(void **state)
{
    (void)state;
    static const char *const heads[] = {"time_s,A,B,C,X\n0.000000000,", "Record Length,", "Zeit (ms);Kanal A (mV);",
                                        "\"Time\"\t\"Channel A\"\t"};
    static const char *const within[] = {"\n0.000050000,", "Sample Interval,5.000000000e-05,s\n", "\r\n0,050000;",
                                         "\n50.000\t"};
    for (int d = 0; d < CW_SIM_CSV_DIALECTS; d++) {
        cw_error err;
        cw_sim *sim = small(0);
        assert_ok(cw_sim_write_csv(sim, (cw_sim_csv_dialect)d, in_folder("a.csv"), &err), &err);
        char *text = contents("a.csv");
        assert_int_equal(strncmp(text, heads[d], strlen(heads[d])), 0);
        assert_contains(text, within[d]);
        size_t lines = 0;
        for (const char *p = text; (p = strchr(p, '\n')) != NULL; p++)
            lines++;
        assert_true(lines >= cw_sim_frames(sim) + 1 && lines <= cw_sim_frames(sim) + 8);
        free(text);
        cw_sim_free(sim);
    }
}

static void vcd_tells_each_change_once(void **state)
{
    (void)state;
    cw_error err;
    cw_sim *sim = small(0);
    assert_ok(cw_sim_write_vcd(sim, "100 ns", in_folder("a.vcd"), &err), &err);
    char *text = contents("a.vcd");
    assert_contains(text, "$timescale 100 ns $end\n");
    assert_contains(text, "$var wire 1 ! A $end\n");
    cw_sim_edge *edges = NULL;
    size_t count = 0;
    assert_ok(cw_sim_edges(sim, 1e-7, &edges, &count, &err), &err);
    char *at = strstr(text, "$dumpvars");
    assert_non_null(at);
    at = strstr(at, "$end\n") + 5;
    long long tick = -1;
    size_t seen = 0;
    for (char *line = strtok_r(at, "\n", &at); line != NULL && seen < count; line = strtok_r(NULL, "\n", &at)) {
        if (line[0] == '#') {
            tick = strtoll(line + 1, NULL, 10);
            continue;
        }
        assert_int_equal(line[0] - '0', edges[seen].level);
        assert_int_equal(line[1] - '!', edges[seen].channel);
        assert_near((double)tick * 1e-7, edges[seen].at_s, 1e-12);
        seen++;
    }
    assert_int_equal(seen, count);
    assert_true(count >= 12);
    free(edges);
    free(text);
    assert_fails(cw_sim_write_vcd(sim, "25 ns", in_folder("b.vcd"), &err), CW_INPUT, &err, "25 ns");
    cw_sim_free(sim);
}

static void the_truth_says_what_the_structs_say(void **state)
{
    (void)state;
    cw_sim *sim = small(0);
    json_t *object = cw_sim_truth_json(sim);
    assert_non_null(object);
    assert_string_equal(json_string_value(json_object_get(object, "format")), "camerawright.sim-truth/1");
    json_t *shots = json_object_get(object, "shots");
    assert_int_equal(json_array_size(shots), 2);
    for (size_t i = 0; i < 2; i++) {
        const cw_sim_shot_truth *t = cw_sim_truth(sim, i);
        json_t *shot = json_array_get(shots, i), *sensors = json_object_get(shot, "sensors");
        assert_int_equal(json_array_size(sensors), 3);
        for (size_t k = 0; k < 3; k++) {
            json_t *sensor = json_array_get(sensors, k);
            assert_near(json_real_value(json_object_get(sensor, "exposure_s")), t->sensors[k].exposure_s, 0);
            assert_near(json_real_value(json_object_get(sensor, "open_s")), t->sensors[k].open_s, 0);
        }
        assert_int_equal(json_array_size(json_object_get(shot, "profile")), CW_SIM_PROFILE);
        assert_int_equal(json_array_size(json_object_get(shot, "contact_s")), t->contact_edge_count);
    }
    json_decref(object);
    cw_sim_free(sim);
}

static void load_text(const char *text, cw_status expected, const char *words, cw_sim_scenario *s)
{
    cw_error err;
    assert_ok(cw_write_file(in_folder("s.json"), text, strlen(text), &err), &err);
    if (expected == CW_OK)
        assert_ok(cw_sim_load(in_folder("s.json"), s, &err), &err);
    else
        assert_fails(cw_sim_load(in_folder("s.json"), s, &err), expected, &err, words);
    unlink(in_folder("s.json"));
}

static void a_scenario_file_changes_what_it_names(void **state)
{
    (void)state;
    cw_sim_scenario s, plain;
    cw_sim_focal_plane(&plain);
    load_text("{\"base\":\"focal-plane\",\"name\":\"x\",\"seed\":77,\"lead_s\":0.5,"
              "\"speeds\":[{\"marked\":\"1/250\",\"shots\":5,\"error_ev\":0.25},{\"marked\":0.5}],"
              "\"focal\":{\"second\":{\"acceleration_m_s2\":151.5}},\"detector\":{\"inverted\":true,\"lag_s\":1e-5},"
              "\"beam\":{\"position_mm\":[5,30]},\"recorder\":{\"bits\":16},\"contact\":{\"present\":true}}",
              CW_OK, "", &s);
    assert_int_equal(s.seed, 77);
    assert_near(s.lead_s, 0.5, 0);
    assert_int_equal(s.speed_count, 2);
    assert_near(s.speeds[0].marked_s, 0.004, 1e-15);
    assert_int_equal(s.speeds[0].shots, 5);
    assert_near(s.speeds[0].error_ev, 0.25, 0);
    assert_near(s.speeds[1].marked_s, 0.5, 0);
    assert_near(s.focal.second.acceleration_m_s2, 151.5, 0);
    assert_near(s.focal.first.acceleration_m_s2, plain.focal.first.acceleration_m_s2, 0);
    assert_true(s.detector.inverted && s.contact.present);
    assert_int_equal(s.beam.sensors, 2);
    assert_near(s.beam.position_mm[1], 30, 0);
    assert_int_equal(s.recorder.bits, 16);
}

static void a_wrong_scenario_file_says_which_key(void **state)
{
    (void)state;
    static const struct {
        const char *text, *words;
        cw_status status;
    } cases[] = {
        {"", "line 1", CW_INPUT},
        {"[1]", "JSON object", CW_INPUT},
        {"{\"base\":\"cloth\"}", "\"base\" is", CW_INPUT},
        {"{\"base\":\"leaf\",\"leaf\":{\"blade\":5}}", "no key \"blade\" in \"leaf\"", CW_INPUT},
        {"{\"base\":\"leaf\",\"leaf\":{\"blades\":5.5}}", "blades is a whole number", CW_INPUT},
        {"{\"base\":\"leaf\",\"leaf\":{\"blades\":-1}}", "blades is a whole number", CW_INPUT},
        {"{\"base\":\"leaf\",\"detector\":{\"inverted\":1}}", "inverted is true or false", CW_INPUT},
        {"{\"base\":\"leaf\",\"detector\":{\"lag_s\":\"fast\"}}", "lag_s is a number", CW_INPUT},
        {"{\"base\":\"leaf\",\"speeds\":[{\"marked\":\"1/0\"}]}", "1/0", CW_INPUT},
        {"{\"base\":\"leaf\",\"speeds\":[{\"marked\":1,\"shots\":0}]}", "shots", CW_INPUT},
        {"{\"base\":\"leaf\",\"speeds\":7}", "speeds", CW_INPUT},
        {"{\"base\":\"leaf\",\"beam\":{\"position_mm\":[1,2,3,4,5]}}", "position_mm", CW_INPUT},
        {"{\"base\":\"leaf\",\"recorder\":{\"rate_hz\":3}}", "recorder.rate_hz is 3", CW_RANGE},
        {"{\"base\":\"leaf\",\"colour\":3}", "no key \"colour\"", CW_INPUT},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        cw_sim_scenario s;
        load_text(cases[i].text, cases[i].status, cases[i].words, &s);
    }
}

static void the_sound_begins_where_the_truth_says(void **state)
{
    (void)state;
    cw_error err;
    cw_sim_sound sound;
    cw_sim_sound_default(&sound);
    sound.noise = 0;
    float *x = NULL;
    size_t count = 0;
    cw_sim_sound_truth t;
    assert_ok(cw_sim_sound_make(&sound, &x, &count, &t, &err), &err);
    assert_int_equal(t.shots, 3);
    for (size_t i = 0; i < t.shots; i++) {
        assert_near(t.close_s[i] - t.open_s[i], sound.exposure_s[i], 1e-12);
        assert_true(t.buzz_from_s[i] > t.open_s[i] && t.buzz_to_s[i] < t.close_s[i]);
        size_t first = (size_t)ceil(t.open_s[i] * sound.rate_hz);
        for (size_t k = first - 200; k < first; k++)
            assert_true(x[k] == 0);
        float most = 0;
        for (size_t k = first; k < first + 200; k++)
            most = fmaxf(most, fabsf(x[k]));
        assert_true(most > 0.2f && most <= 1);
        /* A tick of the escapement every 1/240 s or so, all the way. */
        size_t ticks = 0, quiet = 1000;
        for (size_t k = (size_t)((t.buzz_from_s[i] + 0.06) * 48000); (double)k < t.buzz_to_s[i] * 48000; k++) {
            bool loud = fabsf(x[k]) > 0.02f;
            ticks += loud && quiet > 60;
            quiet = loud ? 0 : quiet + 1;
        }
        double span = t.buzz_to_s[i] - t.buzz_from_s[i] - 0.06;
        assert_near((double)ticks, 240 * span / 1.05, 0.15 * 240 * span);
    }
    free(x);
    sound.exposure_s[1] = -1;
    assert_fails(cw_sim_sound_make(&sound, &x, &count, &t, &err), CW_RANGE, &err, "sound 2");
}

static void unwritable_places_are_said(void **state)
{
    (void)state;
    cw_error err;
    cw_sim *sim = small(16);
    assert_fails(cw_sim_write_wav(sim, "/nowhere/at/all.wav", &err), CW_FILE, &err, "/nowhere/at");
    assert_fails(cw_sim_write_csv(sim, CW_SIM_CSV_PLAIN, "/nowhere/a.csv", &err), CW_FILE, &err, "/nowhere");
    assert_fails(cw_sim_demo("/nowhere", &err), CW_FILE, &err, "/nowhere");
    cw_sim_free(sim);
    rmdir(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(wav_holds_the_samples_exactly),
                                       cmocka_unit_test(csv_speaks_four_dialects),
                                       cmocka_unit_test(vcd_tells_each_change_once),
                                       cmocka_unit_test(the_truth_says_what_the_structs_say),
                                       cmocka_unit_test(a_scenario_file_changes_what_it_names),
                                       cmocka_unit_test(a_wrong_scenario_file_says_which_key),
                                       cmocka_unit_test(the_sound_begins_where_the_truth_says),
                                       cmocka_unit_test(unwritable_places_are_said)};
    make_folder(NULL);
    return check_main(__FILE__, tests, sizeof tests / sizeof tests[0]);
}
