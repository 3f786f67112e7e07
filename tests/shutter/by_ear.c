/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Clicks of simulated shutters with known truth, and a real recording of a camera. */
#include "shutter/by_ear.h"

#include <math.h>
#include <sndfile.h>
#include <stdlib.h>
#include <string.h>

#include "sim/sim.h"
#include "support/check.h"

static void hear(const cw_sim_sound *sound, cw_click_list *clicks, cw_sim_sound_truth *truth)
{
    cw_error err;
    float *samples;
    size_t count;
    assert_ok(cw_sim_sound_make(sound, &samples, &count, truth, &err), &err);
    assert_ok(cw_clicks_find(samples, count, sound->rate_hz, clicks, &err), &err);
    free(samples);
}

static void slow_speeds(cw_sim_sound *sound, cw_mark_list *marks)
{
    static const double exposures_s[] = {1.07, 0.52, 0.24, 0.13, 1 / 14.2, 1 / 31.0};
    static const double marked_s[] = {1, 0.5, 0.25, 0.125, 1.0 / 15, 1.0 / 30};
    cw_sim_sound_default(sound);
    sound->shots = CW_COUNT(exposures_s);
    memcpy(sound->exposure_s, exposures_s, sizeof exposures_s);
    *marks = (cw_mark_list){.count = CW_COUNT(marked_s)};
    memcpy(marks->marked_s, marked_s, sizeof marked_s);
}

/* Quiet and noisy, faint and loud escapement: the closing is never taken from the buzz, and both instants are right. */
static void openings_and_closings_are_found_through_the_buzz(void **state)
{
    (void)state;
    static const struct {
        double noise, buzz, buzz_hz;
        uint64_t seed;
    } rows[] = {
        {0.002, 0.06, 240, 1}, {0.01, 0.12, 240, 2}, {0.005, 0.1, 90, 3}, {0.002, 0, 240, 4}, {0.01, 0.05, 300, 5}};
    for (size_t r = 0; r < CW_COUNT(rows); r++) {
        cw_error err;
        cw_sim_sound sound;
        cw_sim_sound_truth truth;
        cw_mark_list marks;
        cw_click_list clicks;
        cw_by_ear_proposal found;
        slow_speeds(&sound, &marks);
        sound.noise = rows[r].noise;
        sound.buzz = rows[r].buzz;
        sound.buzz_hz = rows[r].buzz_hz;
        sound.seed = rows[r].seed;
        hear(&sound, &clicks, &truth);
        assert_ok(cw_by_ear_propose(&clicks, &marks, 0, &found, &err), &err);
        assert_int_equal(found.pair_count, 6);
        for (size_t k = 0; k < found.pair_count; k++) {
            cw_quantity open_s = clicks.clicks[found.pairs[k].opening].at_s,
                        close_s = clicks.clicks[found.pairs[k].closing].at_s;
            assert_near(open_s.value, truth.open_s[k], 3 * open_s.u + 30e-6);
            assert_near(close_s.value, truth.close_s[k], 3 * close_s.u + 30e-6);
            cw_shot shot;
            assert_ok(cw_by_ear_shot(open_s, close_s, marks.marked_s[k], &shot, &err), &err);
            assert_covers(shot.sensors[0].exposure_s, sound.exposure_s[k], 2, 3e-3);
        }
        cw_click_list_free(&clicks);
    }
}

static void a_self_timer_before_each_shot_is_passed_over(void **state)
{
    (void)state;
    cw_error err;
    cw_sim_sound sound;
    cw_sim_sound_truth truth;
    cw_mark_list marks;
    cw_click_list clicks;
    cw_by_ear_proposal found;
    slow_speeds(&sound, &marks);
    sound.shots = marks.count = 3;
    sound.self_timer_s = 1.5;
    hear(&sound, &clicks, &truth);
    assert_ok(cw_by_ear_propose(&clicks, &marks, 1, &found, &err), &err);
    for (size_t k = 0; k < found.pair_count; k++)
        assert_near(clicks.clicks[found.pairs[k].opening].at_s.value, truth.open_s[k], 1e-3);
    cw_click_list_free(&clicks);
}

static void what_the_ear_cannot_tell_is_refused(void **state)
{
    (void)state;
    cw_error err;
    cw_sim_sound sound;
    cw_sim_sound_truth truth;
    cw_mark_list marks;
    cw_click_list clicks;
    cw_by_ear_proposal found;
    slow_speeds(&sound, &marks);
    hear(&sound, &clicks, &truth);

    cw_mark_list fast = {.count = 1, .marked_s = {1.0 / 250}};
    assert_fails(cw_by_ear_propose(&clicks, &fast, 0, &found, &err), CW_RANGE, &err, "1/250 s is too fast for the ear");
    cw_mark_list many = {.count = 200};
    for (size_t i = 0; i < many.count; i++)
        many.marked_s[i] = 0.5;
    assert_fails(cw_by_ear_propose(&clicks, &many, 0, &found, &err), CW_RANGE, &err, "200 shots; 128 can be heard");
    many.count = 20;
    assert_fails(cw_by_ear_propose(&clicks, &many, 0, &found, &err), CW_RANGE, &err, "20 shots need 40");
    cw_mark_list none = {0};
    assert_fails(cw_by_ear_propose(&clicks, &none, 0, &found, &err), CW_INPUT, &err, "say which speeds");
    cw_mark_list wrong = {.count = 2, .marked_s = {30, 30}};
    assert_fails(cw_by_ear_propose(&clicks, &wrong, 0, &found, &err), CW_RANGE, &err, "no clicks lie apart");
    cw_click_list_free(&clicks);

    cw_shot shot;
    assert_fails(cw_by_ear_shot((cw_quantity){1, 1e-4}, (cw_quantity){1.01, 1e-4}, 0.008, &shot, &err), CW_RANGE, &err,
                 "10.0 ms apart");
    assert_fails(cw_by_ear_shot((cw_quantity){1, 1e-4}, (cw_quantity){0.5, 1e-4}, 0.5, &shot, &err), CW_RANGE, &err,
                 "apart");
}

/* The camera sound of the freedesktop sound theme (Debian package sound-theme-freedesktop, CC-BY-SA-3.0; not kept
 * here). Its bursts begin near 88.5, 112.0, 149.0 and 198.5 ms: energy peaks of the differenced signal and their
 * onsets, and aubio 0.4.9 (aubioonset -r 96000 -O complex -B 1024 -H 96 -M 0.03) at 61, 113, 150 and 200 ms. Within 2
 * ms, as aubio's own frames are 1 ms apart and its windows 10 ms long. Nothing in the file says which opened and which
 * closed. */
static void a_real_camera_gives_its_four_bursts(void **state)
{
    (void)state;
    static const char path[] = "/usr/share/sounds/freedesktop/stereo/camera-shutter.oga";
    static const double bursts_s[] = {0.0885, 0.1120, 0.1490, 0.1985};
    SF_INFO info = {0};
    SNDFILE *file = sf_open(path, SFM_READ, &info);
    assert_non_null(file);
    float *samples = malloc((size_t)info.frames * (size_t)info.channels * sizeof *samples);
    assert_int_equal(sf_readf_float(file, samples, info.frames), info.frames);
    sf_close(file);
    for (sf_count_t i = 0; i < info.frames; i++)
        samples[i] = samples[i * info.channels];
    cw_error err;
    cw_click_list clicks;
    assert_ok(cw_clicks_find(samples, (size_t)info.frames, info.samplerate, &clicks, &err), &err);
    free(samples);
    for (size_t b = 0; b < CW_COUNT(bursts_s); b++) {
        double nearest = 1;
        for (size_t i = 0; i < clicks.count; i++)
            nearest = fmin(nearest, fabs(clicks.clicks[i].at_s.value - bursts_s[b]));
        assert_near(nearest, 0, 2e-3);
    }
    assert_true(clicks.count <= 10); /* the motor run from 0.225 s on gives none */
    assert_true(clicks.clicks[clicks.count - 1].at_s.value < 0.21);
    cw_click_list_free(&clicks);
}

static void sounds_that_are_none_are_refused(void **state)
{
    (void)state;
    cw_error err;
    cw_click_list clicks;
    static float silent[48000];
    assert_fails(cw_clicks_find(silent, 48000, 48000, &clicks, &err), CW_INPUT, &err, "silent");
    assert_fails(cw_clicks_find(silent, 100, 48000, &clicks, &err), CW_INPUT, &err, "at least 0.05 s");
    assert_fails(cw_clicks_find(silent, 48000, 10, &clicks, &err), CW_RANGE, &err, "10 Hz");
    silent[777] = NAN;
    assert_fails(cw_clicks_find(silent, 48000, 48000, &clicks, &err), CW_INPUT, &err, "sample 778");
    silent[777] = 0;
}

CHECK_MAIN(cmocka_unit_test(openings_and_closings_are_found_through_the_buzz),
           cmocka_unit_test(a_self_timer_before_each_shot_is_passed_over),
           cmocka_unit_test(what_the_ear_cannot_tell_is_refused), cmocka_unit_test(a_real_camera_gives_its_four_bursts),
           cmocka_unit_test(sounds_that_are_none_are_refused))
