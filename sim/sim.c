/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The run: shots one after the other with their chance, the contact, and the ways to ask. */
#include "sim/inside.h"

#include <math.h>
#include <stdlib.h>

enum { CHANCE_SHOTS = 1, CHANCE_CONTACT = 2 };

static void time_curtains(const cw_sim *sim, const cw_sim_speed *speed, sim_chance *chance, sim_shot *shot)
{
    const cw_sim_focal *focal = &sim->scenario.focal;
    shot->pace1 = fmax(0.2, 1 + focal->tension_jitter * sim_gaussian(chance));
    shot->pace2 = fmax(0.2, 1 + focal->tension_jitter * sim_gaussian(chance));
    double delay = speed->marked_s * exp2(speed->error_ev) + focal->delay_offset_s;
    delay += focal->delay_jitter_s * sim_gaussian(chance);
    shot->truth.delay_s = fmax(0, delay);
    shot->release1_s = shot->truth.start_s;
    shot->release2_s = shot->truth.start_s + shot->truth.delay_s;
}

static void time_blades(const cw_sim *sim, const cw_sim_speed *speed, double interval_s, size_t index,
                        sim_chance *chance, sim_shot *shot)
{
    const cw_sim_leaf *leaf = &sim->scenario.leaf;
    double ev = 0;
    if (leaf->governed_from_s > 0 && speed->marked_s >= leaf->governed_from_s)
        ev = leaf->governor_error_ev + leaf->governor_drift_ev * (double)index;
    double interval = interval_s * exp2(ev) * (1 + leaf->interval_jitter * sim_gaussian(chance));
    shot->truth.delay_s = fmax(leaf->least_interval_s, interval);
}

static double contact_event(const cw_sim *sim, const sim_shot *shot)
{
    if (sim->scenario.kind == CW_SIM_FOCAL_PLANE)
        return shot->release1_s + sim_path_passes(&sim->path1, sim->scenario.focal.contact_at_mm) / shot->pace1;
    const cw_sim_leaf *leaf = &sim->scenario.leaf;
    return shot->truth.start_s + leaf->opening_s * pow(leaf->contact_fraction, 1 / leaf->law);
}

static void close_contact(const cw_sim *sim, sim_chance *chance, sim_shot *shot)
{
    const cw_sim_contact *contact = &sim->scenario.contact;
    if (!contact->present)
        return;
    double t = contact_event(sim, shot) + contact->delay_s + contact->jitter_s * sim_gaussian(chance);
    cw_sim_shot_truth *truth = &shot->truth;
    truth->contact_s[truth->contact_edge_count++] = t;
    /* Each bounce opens and closes again within its even share of bounce_s, shorter towards the end. */
    for (unsigned i = 0; i < contact->bounces; i++) {
        double share = contact->bounce_s / contact->bounces, at = t + share * (i + 0.1 + 0.3 * sim_uniform(chance));
        double open_s = share * (0.1 + 0.4 * sim_uniform(chance)) / (1 + i);
        truth->contact_s[truth->contact_edge_count++] = at;
        truth->contact_s[truth->contact_edge_count++] = at + open_s;
    }
    truth->contact_s[truth->contact_edge_count++] = t + contact->bounce_s + contact->hold_s;
    shot->from_s = fmin(shot->from_s, t);
    shot->to_s = fmax(shot->to_s, truth->contact_s[truth->contact_edge_count - 1]);
}

static cw_status make_mechanics(cw_sim *sim, cw_error *err)
{
    const cw_sim_scenario *s = &sim->scenario;
    if (s->kind == CW_SIM_FOCAL_PLANE) {
        CW_TRY(sim_path_new(&s->focal.first, s->focal.frame_mm, "first", &sim->path1, err));
        return sim_path_new(&s->focal.second, s->focal.frame_mm, "second", &sim->path2, err);
    }
    sim->cover = calloc(s->beam.sensors, sizeof *sim->cover);
    if (sim->cover == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the blades");
    sim_cover_whole(&s->leaf, &sim->whole);
    for (size_t i = 0; i < s->beam.sensors; i++) {
        if (s->beam.diffuse)
            sim->cover[i] = sim->whole;
        else
            CW_TRY(sim_cover_beam(&s->leaf, s->beam.position_mm[i], s->beam.width_mm, s->beam.penumbra_mm,
                                  &sim->cover[i], err));
    }
    return CW_OK;
}

static cw_status fire(cw_sim *sim, cw_error *err)
{
    const cw_sim_scenario *s = &sim->scenario;
    sim_chance chance = sim_stream(s->seed, CHANCE_SHOTS), contact_chance = sim_stream(s->seed, CHANCE_CONTACT);
    double now_s = s->lead_s;
    for (size_t speed = 0; speed < s->speed_count; speed++) {
        double interval_s = 0;
        if (s->kind == CW_SIM_LEAF)
            interval_s =
                sim_blades_interval(&s->leaf, &sim->whole, s->speeds[speed].marked_s * exp2(s->speeds[speed].error_ev));
        for (size_t i = 0; i < s->speeds[speed].shots; i++) {
            sim_shot *shot = &sim->shots[sim->shot_count];
            shot->lit = calloc(s->beam.sensors, sizeof *shot->lit);
            if (shot->lit == NULL)
                return cw_fail(err, CW_MEMORY, "no memory for shot %zu", sim->shot_count + 1);
            /* A fraction of a millisecond at random, so that shots do not sit on the sample grid. */
            shot->truth.start_s = now_s + 1e-3 * sim_uniform(&chance);
            shot->truth.marked_s = s->speeds[speed].marked_s;
            if (s->kind == CW_SIM_FOCAL_PLANE)
                time_curtains(sim, &s->speeds[speed], &chance, shot);
            else
                time_blades(sim, &s->speeds[speed], interval_s, sim->shot_count, &chance, shot);
            sim->shot_count++;
            sim_shot_truth_fill(sim, shot);
            close_contact(sim, &contact_chance, shot);
            now_s = shot->to_s + s->pause_s;
        }
    }
    sim->length_s = now_s;
    return CW_OK;
}

cw_status cw_sim_new(const cw_sim_scenario *scenario, cw_sim **out, cw_error *err)
{
    CW_TRY(sim_scenario_check(scenario, err));
    size_t shots = 0;
    for (size_t i = 0; i < scenario->speed_count; i++)
        shots += scenario->speeds[i].shots;
    cw_sim *sim = calloc(1, sizeof *sim);
    if (sim == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a simulation");
    sim->scenario = *scenario;
    sim->shots = calloc(shots, sizeof *sim->shots);
    cw_status status = sim->shots != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for %zu shots", shots);
    if (status == CW_OK)
        status = make_mechanics(sim, err);
    if (status == CW_OK)
        status = fire(sim, err);
    if (status == CW_OK)
        status = sim_render_new(sim, err);
    if (status != CW_OK) {
        cw_sim_free(sim);
        return status;
    }
    *out = sim;
    return CW_OK;
}

void cw_sim_free(cw_sim *sim)
{
    if (sim == NULL)
        return;
    sim_render_free(sim->render);
    for (size_t i = 0; sim->shots != NULL && i < sim->shot_count; i++)
        free(sim->shots[i].lit);
    free(sim->shots);
    free(sim->cover);
    sim_path_free(&sim->path1);
    sim_path_free(&sim->path2);
    free(sim);
}

size_t cw_sim_shot_count(const cw_sim *sim)
{
    return sim->shot_count;
}

const cw_sim_shot_truth *cw_sim_truth(const cw_sim *sim, size_t shot)
{
    return &sim->shots[shot].truth;
}

const cw_sim_scenario *cw_sim_scenario_of(const cw_sim *sim)
{
    return &sim->scenario;
}

double cw_sim_length_s(const cw_sim *sim)
{
    return sim->length_s;
}

size_t cw_sim_channels(const cw_sim *sim)
{
    return sim->scenario.beam.sensors + (sim->scenario.contact.present ? 1 : 0);
}

uint64_t cw_sim_frames(const cw_sim *sim)
{
    return (uint64_t)(sim->length_s * sim->scenario.recorder.rate_hz);
}

double cw_sim_light(const cw_sim *sim, size_t sensor, double t_s)
{
    for (size_t i = 0; i < sim->shot_count; i++)
        if (t_s >= sim->shots[i].from_s && t_s <= sim->shots[i].to_s)
            return sim_shot_light(sim, &sim->shots[i], sensor, t_s);
    return 0;
}
