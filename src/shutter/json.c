/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Out to the contract "camerawright.shutter/1". Its own keys come first; behind them what the bench needs to have the
 * test back as it was (json_read.c). A number that is not known is null, never 0. */
#include <math.h>

#include "shutter/evaluate.h"
#include "shutter/tolerance.h"

static const double ev_per_relative = 1.4426950408889634; /* 1/ln 2 */

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

/* Every put goes through here: one that fails (no memory, a text that is not UTF-8) marks the whole as failed. */
static void put(bool *failed, json_t *object, const char *key, json_t *value)
{
    *failed = json_object_set_new(object, key, value) != 0 || *failed;
}

static void append(bool *failed, json_t *list, json_t *value)
{
    *failed = json_array_append_new(list, value) != 0 || *failed;
}

static void put_number(bool *failed, json_t *object, const char *key, double value)
{
    put(failed, object, key, number(value));
}

static void put_text(bool *failed, json_t *object, const char *key, const char *text)
{
    put(failed, object, key, json_string(text));
}

/* "exposure_s" and "u_exposure_s". */
static void put_quantity(bool *failed, json_t *object, const char *key, const char *u_key, cw_quantity q)
{
    put_number(failed, object, key, q.value);
    put_number(failed, object, u_key, isfinite(q.value) ? q.u : NAN);
}

static json_t *bounces_json(bool *failed, const cw_sensor_shot *sensor)
{
    json_t *list = json_array();
    for (size_t i = 0; i < sensor->bounce_count; i++) {
        json_t *bounce = json_object();
        put_number(failed, bounce, "at_s", sensor->bounces[i].at_s);
        put_number(failed, bounce, "exposure_s", sensor->bounces[i].exposure_s);
        append(failed, list, bounce);
    }
    return list;
}

/* The exposure of one sensor in one shot with its own uncertainty and the clock's. */
static cw_quantity sensor_exposure(const cw_shutter_test *test, const cw_sensor_shot *sensor)
{
    double clock = test->setup.u_clock_relative > 0 ? test->setup.u_clock_relative : CW_CLOCK_ASSUMED;
    return (cw_quantity){sensor->exposure_s.value, hypot(sensor->exposure_s.u, clock * sensor->exposure_s.value)};
}

static cw_quantity sensor_error(cw_quantity exposure_s, double reference_s)
{
    return (cw_quantity){cw_log2_ratio(exposure_s.value, reference_s),
                         ev_per_relative * exposure_s.u / exposure_s.value};
}

static json_t *sensor_json(bool *failed, const cw_shutter_test *test, const cw_sensor_shot *sensor, size_t i,
                           double reference_s)
{
    json_t *object = json_object();
    double place = sensor->position_mm;
    if (!isfinite(place) && i < test->setup.sensor_count)
        place = test->setup.sensors_mm[i];
    put_number(failed, object, "position_mm", place);
    put_number(failed, object, "open_s", sensor->open_s.value);
    put_number(failed, object, "close_s", sensor->close_s.value);
    cw_quantity exposure_s = sensor_exposure(test, sensor);
    put_quantity(failed, object, "exposure_s", "u_exposure_s", exposure_s);
    if (sensor->method == CW_METHOD_NONE)
        put(failed, object, "method", json_null());
    else
        put_text(failed, object, "method", cw_exposure_method_name(sensor->method));
    put_quantity(failed, object, "error_ev", "u_error_ev", sensor_error(exposure_s, reference_s));
    put(failed, object, "bounces", bounces_json(failed, sensor));
    put(failed, object, "seen", json_boolean(sensor->seen));
    put_number(failed, object, "u_open_s", sensor->open_s.u);
    put_number(failed, object, "u_close_s", sensor->close_s.u);
    put_number(failed, object, "u_without_clock_s", sensor->exposure_s.u);
    put_number(failed, object, "u_random_s", sensor->u_random_s);
    put_quantity(failed, object, "area_s", "u_area_s", sensor->area_s);
    put_quantity(failed, object, "mid_level_s", "u_mid_level_s", sensor->mid_level_s);
    put_number(failed, object, "peak_fraction", sensor->peak_fraction);
    put_number(failed, object, "total_s", sensor->total_s);
    put_number(failed, object, "opening_s", sensor->opening_s);
    put_number(failed, object, "closing_s", sensor->closing_s);
    put_text(failed, object, "remark", sensor->remark);
    return object;
}

static double reference_of(const cw_shutter_test *test, double marked_s)
{
    for (size_t k = 0; k < test->speed_count; k++)
        if (fabs(test->speeds[k].marked_s - marked_s) <= 1e-6 * marked_s)
            return test->speeds[k].reference_s;
    return NAN;
}

/* The first light of a shot: of the sensors that saw any, the earliest. */
static double first_open_s(const cw_shot *shot)
{
    double first = NAN;
    for (size_t i = 0; i < shot->sensor_count; i++)
        if (shot->sensors[i].seen)
            first = fmin(first, shot->sensors[i].open_s.value); /* fmin takes the number where one is NaN */
    return first;
}

static json_t *shot_json(bool *failed, const cw_shutter_test *test, const cw_shot *shot)
{
    json_t *object = json_object(), *sensors = json_array();
    double reference_s = reference_of(test, shot->marked_s);
    put_number(failed, object, "marked_s", shot->marked_s);
    for (size_t i = 0; i < shot->sensor_count; i++)
        append(failed, sensors, sensor_json(failed, test, &shot->sensors[i], i, reference_s));
    put(failed, object, "sensors", sensors);
    put_number(failed, object, "contact_delay_s",
               shot->contact_seen ? shot->contact_s.value - first_open_s(shot) : NAN);
    put_number(failed, object, "at_s", shot->at_s);
    put(failed, object, "contact_seen", json_boolean(shot->contact_seen));
    put_quantity(failed, object, "contact_s", "u_contact_s", shot->contact_s);
    put_number(failed, object, "contact_opens_s", shot->contact_opens_s);
    put(failed, object, "incomplete", json_boolean(shot->incomplete));
    put(failed, object, "struck", json_boolean(shot->struck));
    put_text(failed, object, "remark", shot->remark);
    return object;
}

static json_t *budget_json(bool *failed, const cw_shutter_test *test, size_t k)
{
    json_t *list = json_array();
    for (size_t i = 0; i < test->budget_count[k]; i++) {
        json_t *line = json_object();
        put_text(failed, line, "source", test->budget[k][i].source);
        put_number(failed, line, "u_ev", test->budget[k][i].u_ev);
        put_number(failed, line, "degrees", test->budget[k][i].degrees); /* null: a bound, no limit */
        append(failed, list, line);
    }
    return list;
}

static json_t *speed_json(bool *failed, const cw_shutter_test *test, size_t k)
{
    const cw_speed *speed = &test->speeds[k];
    json_t *object = json_object();
    put_number(failed, object, "marked_s", speed->marked_s);
    put(failed, object, "shots", json_integer((json_int_t)speed->shots));
    put_quantity(failed, object, "exposure_s", "u_exposure_s", speed->exposure_s);
    put_number(failed, object, "spread_ev", speed->spread_ev);
    put_number(failed, object, "error_ev", speed->error_ev.value);
    put_number(failed, object, "evenness_ev", speed->evenness_ev);
    put_number(failed, object, "limit_ev", speed->limit_ev);
    if (speed->verdict == CW_SPEED_UNKNOWN)
        put(failed, object, "verdict", json_null());
    else
        put_text(failed, object, "verdict", cw_speed_verdict_name(speed->verdict));
    put_number(failed, object, "reference_s", speed->reference_s);
    put_number(failed, object, "u_error_ev", speed->error_ev.u);
    put_number(failed, object, "degrees", speed->degrees);
    put_number(failed, object, "u_evenness_ev", speed->u_evenness_ev);
    put_quantity(failed, object, "travel1_s", "u_travel1_s", speed->travel1_s);
    put_quantity(failed, object, "travel2_s", "u_travel2_s", speed->travel2_s);
    put_number(failed, object, "efficiency", speed->efficiency);
    put_quantity(failed, object, "slit_mm", "u_slit_mm", speed->slit_mm);
    put_quantity(failed, object, "contact_delay_s", "u_contact_delay_s", speed->contact_delay_s);
    put_quantity(failed, object, "contact_after_full_s", "u_contact_after_full_s", speed->contact_after_full_s);
    put_quantity(failed, object, "open_after_contact_s", "u_open_after_contact_s", speed->open_after_contact_s);
    put_number(failed, object, "fully_open_s", speed->fully_open_s);
    put_number(failed, object, "u_fully_open_s", speed->u_fully_open_s);
    put(failed, object, "budget", budget_json(failed, test, k));
    return object;
}

static json_t *curtains_json(bool *failed, const cw_curtains *curtains)
{
    static const char *const forms[] = {
        [CW_CURTAINS_NONE] = "none",
        [CW_CURTAINS_STRAIGHT] = "straight",
        [CW_CURTAINS_BOWED] = "bowed",
        [CW_CURTAINS_PHYSICAL] = "physical",
    };
    json_t *object = json_object(), *profile = json_array();
    put_quantity(failed, object, "travel1_s", "u_travel1_s", curtains->travel1_s);
    put_quantity(failed, object, "travel2_s", "u_travel2_s", curtains->travel2_s);
    put_quantity(failed, object, "bow1_s", "u_bow1_s", curtains->bow1_s);
    put_quantity(failed, object, "bow2_s", "u_bow2_s", curtains->bow2_s);
    for (size_t i = 0; i < curtains->profile_count; i++) {
        const cw_profile_point *point = &curtains->profile[i];
        json_t *one = json_object();
        put_number(failed, one, "x_mm", point->x_mm);
        put_number(failed, one, "marked_s", point->marked_s);
        put_quantity(failed, one, "exposure_s", "u_exposure_s", point->exposure_s);
        append(failed, profile, one);
    }
    put(failed, object, "profile", profile);
    put_text(failed, object, "form", forms[curtains->form]);
    put_quantity(failed, object, "mismatch_s", "u_mismatch_s", curtains->mismatch_s);
    put_quantity(failed, object, "drag_s", "u_drag_s", curtains->drag_s);
    put_number(failed, object, "chi_squared", curtains->chi_squared);
    put(failed, object, "degrees", json_integer((json_int_t)curtains->degrees));
    put_text(failed, object, "told", curtains->told);
    return object;
}

static json_t *findings_json(bool *failed, const cw_shutter_test *test)
{
    json_t *list = json_array();
    for (size_t i = 0; i < test->finding_count; i++) {
        json_t *finding = json_object();
        put_text(failed, finding, "code", test->findings[i].code);
        put_text(failed, finding, "text", test->findings[i].text);
        put_text(failed, finding, "evidence", test->findings[i].evidence);
        append(failed, list, finding);
    }
    return list;
}

static json_t *setup_json(bool *failed, const cw_test_setup *setup)
{
    json_t *object = json_object(), *places = json_array();
    put_text(failed, object, "shutter", setup->kind == CW_SHUTTER_LEAF ? "leaf" : "focal-plane");
    put_text(failed, object, "beam", setup->beam == CW_BEAM_POINT ? "point" : "diffuse");
    put_number(failed, object, "frame_mm", setup->frame_mm);
    for (size_t i = 0; i < setup->sensor_count; i++)
        append(failed, places, number(setup->sensors_mm[i]));
    put(failed, object, "sensors_mm", places);
    put(failed, object, "geometric", json_boolean(setup->geometric));
    put_number(failed, object, "u_clock_relative", setup->u_clock_relative);
    put_number(failed, object, "u_positions_mm", setup->u_positions_mm);
    put(failed, object, "tolerance", cw_tolerance_json(&setup->tolerance));
    return object;
}

json_t *cw_shutter_test_json(const cw_shutter_test *test, json_t *recording)
{
    bool failed = false;
    json_t *root = json_object(), *shots = json_array(), *speeds = json_array();
    put_text(&failed, root, "format", "camerawright.shutter/1");
    put(&failed, root, "recording", recording != NULL ? json_incref(recording) : json_null());
    for (size_t i = 0; i < test->shot_count; i++)
        append(&failed, shots, shot_json(&failed, test, &test->shots[i]));
    put(&failed, root, "shots", shots);
    for (size_t k = 0; k < test->speed_count; k++)
        append(&failed, speeds, speed_json(&failed, test, k));
    put(&failed, root, "speeds", speeds);
    put(&failed, root, "curtains", curtains_json(&failed, &test->curtains));
    put(&failed, root, "findings", findings_json(&failed, test));
    put(&failed, root, "setup", setup_json(&failed, &test->setup));
    put_text(&failed, root, "rule", cw_verdict_rule());
    if (failed) {
        json_decref(root);
        return NULL;
    }
    return root;
}
