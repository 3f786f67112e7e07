/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Healthy starting points, and scenario files that say what differs from one. */
#include "sim/fields.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/unit.h"

static void bench(cw_sim_scenario *s)
{
    *s = (cw_sim_scenario){.seed = 1, .lead_s = 0.25, .pause_s = 0.25};
    s->beam = (cw_sim_beam){.sensors = 3, .position_mm = {4, 18, 32}, .width_mm = 0.5, .mains_hz = 50};
    s->detector =
        (cw_sim_detector){.lag_s = 3.3e-6, .full_v = 0.8, .noise_v = 0.8e-3, .threshold = 0.5, .hysteresis = 0.06};
    s->recorder = (cw_sim_recorder){.rate_hz = 192000, .full_scale_v = 1, .bits = 24};
    s->contact =
        (cw_sim_contact){.delay_s = 0.3e-3, .jitter_s = 20e-6, .bounces = 3, .bounce_s = 0.5e-3, .hold_s = 0.02};
}

static void set_speeds(cw_sim_scenario *s, size_t count, const double *marks, size_t shots)
{
    s->speed_count = count;
    for (size_t i = 0; i < count; i++)
        s->speeds[i] = (cw_sim_speed){.marked_s = marks[i], .shots = shots};
}

static cw_sim_curtain curtain(double travel_s, double frame_mm, double start_mm)
{
    return (cw_sim_curtain){.start_mm = start_mm,
                            .acceleration_m_s2 = cw_sim_acceleration(travel_s, frame_mm, start_mm),
                            .friction_from_mm = frame_mm / 2,
                            .overrun_mm = 2};
}

void cw_sim_focal_plane(cw_sim_scenario *s)
{
    static const double marks[] = {1 / 30.0, 1 / 125.0, 1 / 500.0, 1 / 1000.0};
    bench(s);
    snprintf(s->name, sizeof s->name, "cloth focal plane");
    s->kind = CW_SIM_FOCAL_PLANE;
    s->focal = (cw_sim_focal){.frame_mm = 36, .delay_jitter_s = 10e-6, .tension_jitter = 0.002, .contact_at_mm = 37};
    s->focal.first = s->focal.second = curtain(14e-3, 36, 4);
    set_speeds(s, sizeof marks / sizeof marks[0], marks, 3);
}

void cw_sim_metal_blades(cw_sim_scenario *s)
{
    static const double marks[] = {1 / 60.0, 1 / 250.0, 1 / 1000.0, 1 / 4000.0};
    bench(s);
    snprintf(s->name, sizeof s->name, "metal blades, short way");
    s->kind = CW_SIM_FOCAL_PLANE;
    s->focal = (cw_sim_focal){.frame_mm = 24, .delay_jitter_s = 3e-6, .tension_jitter = 0.001, .contact_at_mm = 24.5};
    s->focal.first = s->focal.second = curtain(3e-3, 24, 3);
    s->beam.position_mm[0] = 3;
    s->beam.position_mm[1] = 12;
    s->beam.position_mm[2] = 21;
    s->beam.width_mm = 0.3;
    set_speeds(s, sizeof marks / sizeof marks[0], marks, 3);
}

void cw_sim_leaf_shutter(cw_sim_scenario *s)
{
    static const double marks[] = {1, 1 / 15.0, 1 / 60.0, 1 / 250.0};
    bench(s);
    snprintf(s->name, sizeof s->name, "leaf");
    s->kind = CW_SIM_LEAF;
    s->leaf = (cw_sim_leaf){.blades = 5,
                            .star = 1.4,
                            .aperture_mm = 24,
                            .opening_s = 1.5e-3,
                            .closing_s = 1.5e-3,
                            .law = 1.5,
                            .least_interval_s = 0.8e-3,
                            .interval_jitter = 0.004,
                            .governed_from_s = 1 / 61.0,
                            .bounce_fraction = 0.2,
                            .bounce_delay_s = 0.3e-3,
                            .bounce_s = 0.5e-3,
                            .contact_fraction = 0.95};
    s->beam.diffuse = true;
    s->beam.sensors = 1;
    s->beam.position_mm[0] = 0;
    s->beam.width_mm = 24;
    s->contact.delay_s = 0;
    set_speeds(s, sizeof marks / sizeof marks[0], marks, 3);
}

static cw_status put(cw_sim_scenario *s, const sim_field *field, const json_t *value, cw_error *err)
{
    char *at = (char *)s + field->offset;
    bool flag = json_is_true(value);
    double number = json_number_value(value);
    unsigned count;
    switch (field->kind) {
    case SIM_FLAG:
        if (!json_is_boolean(value))
            return cw_fail(err, CW_INPUT, "%s is true or false", field->key);
        memcpy(at, &flag, sizeof flag);
        return CW_OK;
    case SIM_COUNT:
        if (!json_is_integer(value) || !(number >= field->least && number <= field->most))
            return cw_fail(err, CW_INPUT, "%s is a whole number, %g to %g", field->key, field->least, field->most);
        count = (unsigned)number;
        memcpy(at, &count, sizeof count);
        return CW_OK;
    case SIM_NUMBER:
        break;
    }
    if (!json_is_number(value))
        return cw_fail(err, CW_INPUT, "%s is a number", field->key);
    memcpy(at, &number, sizeof number);
    return CW_OK;
}

static cw_status read_positions(cw_sim_beam *beam, const json_t *list, cw_error *err)
{
    size_t count = json_array_size(list);
    if (count < 1 || count > CW_SIM_SENSORS_MOST)
        return cw_fail(err, CW_INPUT, "position_mm is a list of 1 to %d numbers", CW_SIM_SENSORS_MOST);
    for (size_t i = 0; i < count; i++) {
        const json_t *item = json_array_get(list, i);
        if (!json_is_number(item))
            return cw_fail(err, CW_INPUT, "position_mm holds something that is no number");
        beam->position_mm[i] = json_number_value(item);
    }
    beam->sensors = count;
    return CW_OK;
}

static cw_status read_group(cw_sim_scenario *s, const char *group, json_t *object, cw_error *err)
{
    const char *key;
    json_t *value;
    json_object_foreach(object, key, value)
    {
        char inner[64];
        snprintf(inner, sizeof inner, "%s.%s", group, key);
        if (json_is_object(value) && strcmp(group, "focal") == 0 &&
            (strcmp(key, "first") == 0 || strcmp(key, "second") == 0)) {
            CW_TRY(read_group(s, inner, value, err));
            continue;
        }
        if (strcmp(inner, "beam.position_mm") == 0) {
            CW_TRY(read_positions(&s->beam, value, err));
            continue;
        }
        const sim_field *field = NULL;
        for (size_t i = 0; i < sim_field_count && field == NULL; i++)
            if (strcmp(sim_fields[i].group, group) == 0 && strcmp(sim_fields[i].key, key) == 0)
                field = &sim_fields[i];
        if (field == NULL)
            return cw_fail(err, CW_INPUT, "no key \"%s\" in \"%s\"", key, group);
        CW_TRY(put(s, field, value, err));
    }
    return CW_OK;
}

static cw_status read_speed(const json_t *item, cw_sim_speed *speed, cw_error *err)
{
    const json_t *mark = json_object_get(item, "marked"), *shots = json_object_get(item, "shots");
    const json_t *ev = json_object_get(item, "error_ev");
    *speed = (cw_sim_speed){.shots = 1};
    if (json_is_string(mark))
        CW_TRY(cw_parse_measure(json_string_value(mark), CW_TIME, NULL, &speed->marked_s, err));
    else if (json_is_number(mark))
        speed->marked_s = json_number_value(mark);
    else
        return cw_fail(err, CW_INPUT, "each speed needs \"marked\": \"1/250\"");
    if (shots != NULL &&
        (!json_is_integer(shots) || json_integer_value(shots) < 1 || json_integer_value(shots) > CW_SIM_SHOTS_MOST))
        return cw_fail(err, CW_INPUT, "\"shots\" is a whole number, 1 to %d", CW_SIM_SHOTS_MOST);
    if (ev != NULL && !json_is_number(ev))
        return cw_fail(err, CW_INPUT, "\"error_ev\" is a number");
    if (shots != NULL)
        speed->shots = (size_t)json_integer_value(shots);
    speed->error_ev = json_number_value(ev);
    return CW_OK;
}

static cw_status read_speeds(cw_sim_scenario *s, const json_t *list, cw_error *err)
{
    size_t count = json_array_size(list);
    if (count < 1 || count > CW_SIM_SPEEDS_MOST)
        return cw_fail(err, CW_INPUT, "\"speeds\" is a list of 1 to %d", CW_SIM_SPEEDS_MOST);
    s->speed_count = count;
    for (size_t i = 0; i < count; i++)
        CW_TRY(read_speed(json_array_get(list, i), &s->speeds[i], err));
    return CW_OK;
}

static cw_status read_base(cw_sim_scenario *s, json_t *object, cw_error *err)
{
    const char *base = json_string_value(json_object_get(object, "base"));
    if (base != NULL && strcmp(base, "focal-plane") == 0)
        cw_sim_focal_plane(s);
    else if (base != NULL && strcmp(base, "leaf") == 0)
        cw_sim_leaf_shutter(s);
    else if (base != NULL && strcmp(base, "metal-blades") == 0)
        cw_sim_metal_blades(s);
    else
        return cw_fail(err, CW_INPUT, "\"base\" is \"focal-plane\", \"leaf\" or \"metal-blades\"");
    return CW_OK;
}

static cw_status read_scenario(json_t *object, cw_sim_scenario *s, cw_error *err)
{
    if (!json_is_object(object))
        return cw_fail(err, CW_INPUT, "a scenario is a JSON object: {\"base\":\"focal-plane\", ...}");
    CW_TRY(read_base(s, object, err));
    const char *key;
    json_t *value;
    json_object_foreach(object, key, value)
    {
        if (strcmp(key, "base") == 0)
            continue;
        if (strcmp(key, "name") == 0 && json_is_string(value)) {
            snprintf(s->name, sizeof s->name, "%s", json_string_value(value));
        } else if (strcmp(key, "seed") == 0 && json_is_integer(value)) {
            s->seed = (uint64_t)json_integer_value(value);
        } else if (strcmp(key, "speeds") == 0) {
            CW_TRY(read_speeds(s, value, err));
        } else if (json_is_object(value)) {
            CW_TRY(read_group(s, key, value, err));
        } else {
            const sim_field *field = NULL;
            for (size_t i = 0; i < sim_field_count && field == NULL; i++)
                if (sim_fields[i].group[0] == '\0' && strcmp(sim_fields[i].key, key) == 0)
                    field = &sim_fields[i];
            if (field == NULL)
                return cw_fail(err, CW_INPUT, "no key \"%s\", or not with such a value", key);
            CW_TRY(put(s, field, value, err));
        }
    }
    return sim_scenario_check(s, err);
}

cw_status cw_sim_load(const char *path, cw_sim_scenario *scenario, cw_error *err)
{
    char *text = NULL;
    size_t length = 0;
    CW_TRY(cw_read_file(path, 1 << 20, &text, &length, err));
    json_error_t wrong;
    json_t *object = json_loadb(text, length, JSON_REJECT_DUPLICATES, &wrong);
    free(text);
    cw_sim_scenario read;
    cw_status status;
    if (object == NULL)
        status = cw_fail(err, CW_INPUT, "line %d: %s", wrong.line, wrong.text);
    else
        status = read_scenario(object, &read, err);
    json_decref(object);
    if (status == CW_OK)
        *scenario = read;
    else
        cw_context(err, "%s", path);
    return status;
}
