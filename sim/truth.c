/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/inside.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *sensor_json(const cw_sim_sensor_truth *t)
{
    json_t *bounces = json_array();
    for (size_t i = 0; i < t->bounce_count; i++)
        json_array_append_new(bounces, json_pack("{s:o, s:o}", "at_s", number(t->bounces[i].at_s), "exposure_s",
                                                 number(t->bounces[i].exposure_s)));
    double total_s = t->last_light_s - t->first_light_s;
    return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "position_mm", number(t->position_mm),
                     "open_s", number(t->open_s), "close_s", number(t->close_s), "exposure_s", number(t->exposure_s),
                     "first_light_s", number(t->first_light_s), "last_light_s", number(t->last_light_s), "total_s",
                     number(total_s), "efficiency", number(t->exposure_s / total_s), "peak", number(t->peak), "bounces",
                     bounces);
}

static json_t *shot_json(const cw_sim *sim, const cw_sim_shot_truth *t)
{
    json_t *sensors = json_array(), *contact = json_array(), *profile = json_array();
    for (size_t i = 0; i < t->sensor_count; i++)
        json_array_append_new(sensors, sensor_json(&t->sensors[i]));
    for (size_t i = 0; i < t->contact_edge_count; i++)
        json_array_append_new(contact, number(t->contact_s[i]));
    for (size_t i = 0; i < CW_SIM_PROFILE && sim->scenario.kind == CW_SIM_FOCAL_PLANE; i++)
        json_array_append_new(
            profile, json_pack("{s:o, s:o}", "x_mm", number(t->profile_mm[i]), "exposure_s", number(t->profile_s[i])));
    return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "marked_s", number(t->marked_s), "start_s",
                     number(t->start_s), "delay_s", number(t->delay_s), "whole_exposure_s", number(t->whole_exposure_s),
                     "travel1_s", number(t->travel1_s), "travel2_s", number(t->travel2_s), "fully_open_s",
                     number(t->fully_open_s), "contact_s", contact, "sensors", sensors, "profile", profile);
}

json_t *cw_sim_truth_json(const cw_sim *sim)
{
    const cw_sim_scenario *s = &sim->scenario;
    json_t *shots = json_array();
    for (size_t i = 0; i < sim->shot_count; i++)
        json_array_append_new(shots, shot_json(sim, &sim->shots[i].truth));
    return json_pack("{s:s, s:s, s:s, s:I, s:f, s:f, s:I, s:f, s:o}", "format", "camerawright.sim-truth/1", "name",
                     s->name, "shutter", s->kind == CW_SIM_LEAF ? "leaf" : "focal-plane", "seed", (json_int_t)s->seed,
                     "rate_hz", s->recorder.rate_hz, "clock_ppm", s->recorder.clock_ppm, "channels",
                     (json_int_t)cw_sim_channels(sim), "frame_mm",
                     s->kind == CW_SIM_LEAF ? s->leaf.aperture_mm : s->focal.frame_mm, "shots", shots);
}

cw_status sim_write_json(json_t *object, const char *path, cw_error *err)
{
    char *text = object != NULL ? json_dumps(object, JSON_INDENT(1) | JSON_REAL_PRECISION(12)) : NULL;
    if (text == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the truth of %s", path);
    cw_status status = cw_write_file(path, text, strlen(text), err);
    free(text);
    return status;
}

cw_status cw_sim_write_truth(const cw_sim *sim, const char *path, cw_error *err)
{
    json_t *object = cw_sim_truth_json(sim);
    cw_status status = sim_write_json(object, path, err);
    json_decref(object);
    return status;
}

/* "a/b.wav" and ".truth.json" make "a/b.truth.json". */
cw_status sim_beside(const char *path, const char *ending, char *out, size_t size, cw_error *err)
{
    const char *dot = strrchr(path, '.'), *slash = strrchr(path, '/');
    size_t stem = dot != NULL && (slash == NULL || dot > slash) ? (size_t)(dot - path) : strlen(path);
    int length = snprintf(out, size, "%.*s%s", (int)stem, path, ending);
    if (length < 0 || (size_t)length >= size)
        return cw_fail(err, CW_INPUT, "the path %s is too long", path);
    return CW_OK;
}
