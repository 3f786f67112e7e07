/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sound of a shutter: clicks that ring, the escapement between them, a room around. */
#include "sim/inside.h"

#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/file.h"

enum { MODES = 5 };

void cw_sim_sound_default(cw_sim_sound *sound)
{
    *sound = (cw_sim_sound){.rate_hz = 48000,
                            .seed = 1,
                            .shots = 3,
                            .exposure_s = {1, 0.5, 0.25},
                            .lead_s = 0.4,
                            .pause_s = 0.5,
                            .click = 0.5,
                            .close_click = 0.4,
                            .decay_s = 4e-3,
                            .buzz = 0.06,
                            .buzz_hz = 240,
                            .noise = 0.002};
}

/* A knock at at_s: a few modes of the body, each ringing out, and the hiss of the impact itself. */
static void knock(float *x, size_t count, double rate_hz, double at_s, double peak, double decay_s, double lowest_hz,
                  sim_chance *chance)
{
    double hz[MODES], share[MODES], decay[MODES], total = 0;
    for (int m = 0; m < MODES; m++) {
        hz[m] = lowest_hz * (1 + 3 * sim_uniform(chance));
        share[m] = 0.3 + sim_uniform(chance);
        decay[m] = decay_s * (0.3 + 0.7 * sim_uniform(chance));
        total += share[m];
    }
    size_t first = (size_t)ceil(at_s * rate_hz);
    for (size_t i = first; i < count && (double)i / rate_hz - at_s < 10 * decay_s; i++) {
        double t = (double)i / rate_hz - at_s, sum = 0;
        for (int m = 0; m < MODES; m++)
            sum += share[m] / total * exp(-t / decay[m]) * sin(2 * M_PI * hz[m] * t);
        sum += 0.3 * exp(-t / (decay_s / 4)) * (2 * sim_uniform(chance) - 1);
        x[i] += (float)(1.5 * peak * sum);
    }
}

/* Ticks of the escapement: alternately stronger, slowing by a tenth as the spring runs down. */
static void buzz(const cw_sim_sound *s, float *x, size_t count, double from_s, double to_s, sim_chance *chance)
{
    bool strong = true;
    for (double t = from_s; t < to_s; strong = !strong) {
        double peak = s->buzz * (strong ? 1 : 0.7) * (0.85 + 0.3 * sim_uniform(chance));
        knock(x, count, s->rate_hz, t, peak, 0.6e-3, 3500, chance);
        double slowed = 1 + 0.1 * (t - from_s) / (to_s - from_s);
        t += slowed / s->buzz_hz * (0.98 + 0.04 * sim_uniform(chance));
    }
}

static cw_status check(const cw_sim_sound *s, cw_error *err)
{
    if (!(s->rate_hz >= 8000 && s->rate_hz <= 384000))
        return cw_fail(err, CW_RANGE, "sound at %g Hz; 8 kHz to 384 kHz can be made", s->rate_hz);
    if (s->shots < 1 || s->shots > CW_SIM_SPEEDS_MOST)
        return cw_fail(err, CW_RANGE, "%zu sounds; 1 to %d can be made", s->shots, CW_SIM_SPEEDS_MOST);
    for (size_t i = 0; i < s->shots; i++)
        if (!(s->exposure_s[i] > 0 && s->exposure_s[i] <= 60))
            return cw_fail(err, CW_RANGE, "sound %zu lasts %g s; up to 60 s can be made", i + 1, s->exposure_s[i]);
    if (!(s->decay_s > 0 && s->decay_s <= 1) || !(s->lead_s >= 0.05 && s->lead_s <= 60) ||
        !(s->pause_s >= 0.05 && s->pause_s <= 60) || !(s->self_timer_s >= 0 && s->self_timer_s <= 60))
        return cw_fail(err, CW_RANGE, "lead and pause are 0.05 to 60 s, decay up to 1 s, self-timer up to 60 s");
    if (!(s->buzz >= 0) || (!(s->buzz_hz >= 10 && s->buzz_hz <= 2000)))
        return cw_fail(err, CW_RANGE, "a buzz of %g at %g Hz; 10 to 2000 Hz can be made", s->buzz, s->buzz_hz);
    return CW_OK;
}

cw_status cw_sim_sound_make(const cw_sim_sound *s, float **samples, size_t *count, cw_sim_sound_truth *truth,
                            cw_error *err)
{
    CW_TRY(check(s, err));
    double length_s = s->lead_s;
    for (size_t i = 0; i < s->shots; i++)
        length_s += s->self_timer_s + s->exposure_s[i] + s->pause_s;
    size_t n = (size_t)(length_s * s->rate_hz);
    float *x = calloc(n, sizeof *x);
    if (x == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %g s of sound", length_s);
    sim_chance chance = sim_stream(s->seed, 300);
    cw_sim_sound_truth told = {.shots = s->shots};
    double now_s = s->lead_s;
    for (size_t i = 0; i < s->shots; i++) {
        if (s->self_timer_s > 0)
            buzz(s, x, n, now_s, now_s + s->self_timer_s - 0.02, &chance);
        double open_s = now_s + s->self_timer_s + 0.01 * sim_uniform(&chance), close_s = open_s + s->exposure_s[i];
        told.open_s[i] = open_s;
        told.close_s[i] = close_s;
        told.buzz_from_s[i] = told.buzz_to_s[i] = NAN;
        knock(x, n, s->rate_hz, open_s, s->click, s->decay_s, 1500, &chance);
        if (s->buzz > 0 && s->exposure_s[i] > 0.03) { /* faster speeds do without the escapement */
            told.buzz_from_s[i] = open_s + 3e-3;
            told.buzz_to_s[i] = close_s - 6e-3;
            buzz(s, x, n, told.buzz_from_s[i], told.buzz_to_s[i], &chance);
        }
        knock(x, n, s->rate_hz, close_s, s->close_click, s->decay_s, 1800, &chance);
        now_s = close_s + s->pause_s;
    }
    for (size_t i = 0; i < n; i++) {
        double v = (double)x[i] + s->noise * sim_gaussian(&chance);
        v += s->hum * sin(2 * M_PI * 50 * (double)i / s->rate_hz);
        x[i] = (float)fmax(-1, fmin(1, v));
    }
    *samples = x;
    *count = n;
    *truth = told;
    return CW_OK;
}

static json_t *sound_truth_json(const cw_sim_sound *s, const cw_sim_sound_truth *t)
{
    json_t *shots = json_array();
    for (size_t i = 0; i < t->shots; i++) {
        bool buzzes = !isnan(t->buzz_from_s[i]);
        json_t *from = buzzes ? json_real(t->buzz_from_s[i]) : json_null();
        json_t *to = buzzes ? json_real(t->buzz_to_s[i]) : json_null();
        json_array_append_new(shots,
                              json_pack("{s:f, s:f, s:f, s:o, s:o}", "open_s", t->open_s[i], "close_s", t->close_s[i],
                                        "exposure_s", s->exposure_s[i], "buzz_from_s", from, "buzz_to_s", to));
    }
    return json_pack("{s:s, s:f, s:o}", "format", "camerawright.sim-sound/1", "rate_hz", s->rate_hz, "shots", shots);
}

cw_status cw_sim_sound_write(const cw_sim_sound *sound, const char *path, cw_error *err)
{
    float *samples = NULL;
    size_t count = 0;
    cw_sim_sound_truth truth;
    char beside[4096];
    CW_TRY(sim_beside(path, ".truth.json", beside, sizeof beside, err));
    CW_TRY(cw_sim_sound_make(sound, &samples, &count, &truth, err));
    SF_INFO info = {
        .samplerate = (int)lrint(sound->rate_hz), .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_24};
    cw_new_file out;
    cw_status status = cw_new_file_open(path, &out, err);
    if (status == CW_OK) {
        SNDFILE *file = sf_open_fd(fileno(out.stream), SFM_WRITE, &info, 0);
        bool fine = file != NULL && sf_write_float(file, samples, (sf_count_t)count) == (sf_count_t)count;
        fine = (file == NULL || sf_close(file) == 0) && fine;
        if (fine) {
            status = cw_new_file_commit(&out, err);
        } else {
            cw_new_file_abandon(&out);
            status = cw_fail(err, CW_FILE, "%s could not be written as WAV", path);
        }
    }
    free(samples);
    if (status != CW_OK)
        return status;
    json_t *object = sound_truth_json(sound, &truth);
    status = sim_write_json(object, beside, err);
    json_decref(object);
    return status;
}
