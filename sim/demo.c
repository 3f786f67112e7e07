/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The invented bench: a leaf-shutter rangefinder with a tired governor and gummy blades, and a cloth focal-plane SLR
 * whose second curtain is slack and drags; each as it came and as it left. */
#include "sim/inside.h"

#include <stdio.h>

#include "base/file.h"

static void plan(cw_sim_scenario *s, size_t count, const double *marks)
{
    s->speed_count = count;
    for (size_t i = 0; i < count; i++)
        s->speeds[i] = (cw_sim_speed){.marked_s = marks[i], .shots = 3};
    s->lead_s = 0.1;
    s->pause_s = 0.2; /* a patient hand would take seconds; the files stay small */
    s->recorder.rate_hz = 48000;
    s->recorder.bits = 16;
    s->recorder.clock_ppm = 18;
    s->detector.noise_v = 1.2e-3;
    s->detector.lag_s = 6e-6;
    s->contact.present = true;
}

static void tarnbrook(cw_sim_scenario *s, bool mended)
{
    static const double marks[] = {1,        1 / 2.0,  1 / 4.0,   1 / 8.0,   1 / 15.0,
                                   1 / 30.0, 1 / 60.0, 1 / 125.0, 1 / 250.0, 1 / 500.0};
    cw_sim_leaf_shutter(s);
    plan(s, sizeof marks / sizeof marks[0], marks);
    snprintf(s->name, sizeof s->name, "Tarnbrook 35, %s", mended ? "after" : "before");
    s->seed = mended ? 352 : 351;
    s->leaf.opening_s = s->leaf.closing_s = 0.9e-3;
    s->leaf.least_interval_s = 0.9e-3;
    if (mended)
        return;
    s->leaf.set_opening_s = s->leaf.set_closing_s = 0.9e-3;
    s->leaf.opening_s = 1.6e-3;
    s->leaf.closing_s = 2.9e-3; /* oil on the blades: they crawl shut */
    s->leaf.interval_jitter = 0.015;
    s->leaf.governor_error_ev = 0.55;
    s->leaf.governor_drift_ev = 0.004;
    s->leaf.bounces = 1;
    s->leaf.bounce_fraction = 0.15;
}

static void ellory(cw_sim_scenario *s, bool mended)
{
    static const double marks[] = {1, 1 / 4.0, 1 / 15.0, 1 / 60.0, 1 / 125.0, 1 / 250.0, 1 / 500.0, 1 / 1000.0};
    cw_sim_focal_plane(s);
    plan(s, sizeof marks / sizeof marks[0], marks);
    snprintf(s->name, sizeof s->name, "Ellory Reflex, %s", mended ? "after" : "before");
    s->seed = mended ? 362 : 361;
    s->focal.delay_jitter_s = 15e-6;
    if (mended)
        return;
    s->focal.second.acceleration_m_s2 *= 0.93; /* slack */
    s->focal.second.friction_m_s2 = 25;        /* and dragging in the last third */
    s->focal.second.friction_from_mm = 24;
    s->focal.delay_jitter_s = 40e-6;
    s->focal.tension_jitter = 0.005;
    s->focal.delay_offset_s = 0.12e-3;
}

static cw_status write_one(const char *folder, const char *name, const cw_sim_scenario *scenario, cw_error *err)
{
    char path[4096], beside[4096];
    int length = snprintf(path, sizeof path, "%s/%s.wav", folder, name);
    if (length < 0 || (size_t)length >= sizeof path)
        return cw_fail(err, CW_INPUT, "the path %s is too long", folder);
    CW_TRY(sim_beside(path, ".truth.json", beside, sizeof beside, err));
    cw_sim *sim = NULL;
    CW_TRY(cw_sim_new(scenario, &sim, err));
    cw_status status = cw_sim_write_wav(sim, path, err);
    if (status == CW_OK)
        status = cw_sim_write_truth(sim, beside, err);
    cw_sim_free(sim);
    return status;
}

cw_status cw_sim_demo(const char *folder, cw_error *err)
{
    cw_sim_scenario s;
    tarnbrook(&s, false);
    CW_TRY(write_one(folder, "tarnbrook-35-before", &s, err));
    tarnbrook(&s, true);
    CW_TRY(write_one(folder, "tarnbrook-35-after", &s, err));
    ellory(&s, false);
    CW_TRY(write_one(folder, "ellory-reflex-before", &s, err));
    ellory(&s, true);
    return write_one(folder, "ellory-reflex-after", &s, err);
}
