/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Back from "camerawright.shutter/1". The keys of the contract are enough; those behind them are read where they are.
 * What is null or missing is not known. A key of the wrong kind is refused by its name. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "shutter/evaluate.h"
#include "shutter/tolerance.h"

static cw_status get_number(const json_t *object, const char *key, double *value, cw_error *err)
{
    const json_t *there = json_object_get(object, key);
    if (there != NULL && !json_is_null(there) && !json_is_number(there))
        return cw_fail(err, CW_INPUT, "\"%s\" should be a number or null", key);
    *value = json_is_number(there) ? json_number_value(there) : NAN;
    return CW_OK;
}

static cw_status get_number_or(const json_t *object, const char *key, double otherwise, double *value, cw_error *err)
{
    CW_TRY(get_number(object, key, value, err));
    if (isnan(*value))
        *value = otherwise;
    return CW_OK;
}

static cw_status get_quantity(const json_t *object, const char *key, const char *u_key, cw_quantity *q, cw_error *err)
{
    CW_TRY(get_number(object, key, &q->value, err));
    return get_number(object, u_key, &q->u, err);
}

static cw_status get_count(const json_t *object, const char *key, size_t *count, cw_error *err)
{
    const json_t *there = json_object_get(object, key);
    if (there == NULL || json_is_null(there)) {
        *count = 0;
        return CW_OK;
    }
    if (!json_is_integer(there) || json_integer_value(there) < 0)
        return cw_fail(err, CW_INPUT, "\"%s\" should be a whole number, 0 or more", key);
    *count = (size_t)json_integer_value(there);
    return CW_OK;
}

static cw_status get_flag(const json_t *object, const char *key, bool otherwise, bool *flag, cw_error *err)
{
    const json_t *there = json_object_get(object, key);
    if (there != NULL && !json_is_null(there) && !json_is_boolean(there))
        return cw_fail(err, CW_INPUT, "\"%s\" should be true, false or null", key);
    *flag = json_is_boolean(there) ? json_is_true(there) : otherwise;
    return CW_OK;
}

/* A text that fits; missing or null gives "". */
static cw_status get_text(const json_t *object, const char *key, char *out, size_t size, cw_error *err)
{
    const json_t *there = json_object_get(object, key);
    if (there != NULL && !json_is_null(there) && !json_is_string(there))
        return cw_fail(err, CW_INPUT, "\"%s\" should be a text or null", key);
    const char *text = json_is_string(there) ? json_string_value(there) : "";
    if (strlen(text) >= size)
        return cw_fail(err, CW_INPUT, "\"%s\" is longer than %zu bytes", key, size - 1);
    snprintf(out, size, "%s", text);
    return CW_OK;
}

/* A list of at most `most`; missing or null gives an empty one. */
static cw_status get_list(const json_t *object, const char *key, size_t most, const json_t **list, cw_error *err)
{
    *list = json_object_get(object, key);
    if (*list != NULL && !json_is_null(*list) && !json_is_array(*list))
        return cw_fail(err, CW_INPUT, "\"%s\" should be a list", key);
    if (json_array_size(*list) > most)
        return cw_fail(err, CW_INPUT, "\"%s\" has %zu entries; at most %zu can be read", key, json_array_size(*list),
                       most);
    return CW_OK;
}

/* Does `read` for each entry of a list, and says which one was wrong. */
typedef cw_status entry_reader(const json_t *entry, size_t i, void *into, cw_error *err);

static cw_status each(const json_t *list, const char *what, entry_reader *read, void *into, cw_error *err)
{
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *entry = json_array_get(list, i);
        cw_status status =
            json_is_object(entry) ? read(entry, i, into, err) : cw_fail(err, CW_INPUT, "should be an object in braces");
        if (status != CW_OK) {
            cw_context(err, "%s %zu", what, i + 1);
            return status;
        }
    }
    return CW_OK;
}

static cw_status read_bounce(const json_t *entry, size_t i, void *into, cw_error *err)
{
    cw_bounce *bounce = &((cw_sensor_shot *)into)->bounces[i];
    CW_TRY(get_number(entry, "at_s", &bounce->at_s, err));
    return get_number(entry, "exposure_s", &bounce->exposure_s, err);
}

static cw_status read_method(const json_t *entry, cw_exposure_method *method, cw_error *err)
{
    char name[32];
    CW_TRY(get_text(entry, "method", name, sizeof name, err));
    *method = CW_METHOD_NONE;
    if (*name != '\0' && !cw_exposure_method_find(name, method))
        return cw_fail(err, CW_INPUT,
                       "\"method\" is \"%s\"; known are area, mid-level, edges, reading, sound and "
                       "photographs",
                       name);
    return CW_OK;
}

static cw_status read_sensor(const json_t *entry, size_t i, void *into, cw_error *err)
{
    cw_sensor_shot *sensor = &((cw_shot *)into)->sensors[i];
    const json_t *bounces;
    CW_TRY(get_number(entry, "position_mm", &sensor->position_mm, err));
    CW_TRY(get_quantity(entry, "open_s", "u_open_s", &sensor->open_s, err));
    CW_TRY(get_quantity(entry, "close_s", "u_close_s", &sensor->close_s, err));
    CW_TRY(get_quantity(entry, "exposure_s", "u_exposure_s", &sensor->exposure_s, err));
    CW_TRY(get_number_or(entry, "u_without_clock_s", sensor->exposure_s.u, &sensor->exposure_s.u, err));
    CW_TRY(read_method(entry, &sensor->method, err));
    CW_TRY(get_flag(entry, "seen", isfinite(sensor->exposure_s.value), &sensor->seen, err));
    CW_TRY(get_number_or(entry, "u_random_s", 0, &sensor->u_random_s, err));
    CW_TRY(get_quantity(entry, "area_s", "u_area_s", &sensor->area_s, err));
    CW_TRY(get_quantity(entry, "mid_level_s", "u_mid_level_s", &sensor->mid_level_s, err));
    CW_TRY(get_number(entry, "peak_fraction", &sensor->peak_fraction, err));
    CW_TRY(get_number(entry, "total_s", &sensor->total_s, err));
    CW_TRY(get_number(entry, "opening_s", &sensor->opening_s, err));
    CW_TRY(get_number(entry, "closing_s", &sensor->closing_s, err));
    CW_TRY(get_text(entry, "remark", sensor->remark, sizeof sensor->remark, err));
    CW_TRY(get_list(entry, "bounces", CW_BOUNCES_MOST, &bounces, err));
    sensor->bounce_count = json_array_size(bounces);
    return each(bounces, "bounce", read_bounce, sensor, err);
}

static cw_status read_shot(const json_t *entry, size_t i, void *into, cw_error *err)
{
    cw_shot *shot = &((cw_shutter_test *)into)->shots[i];
    const json_t *sensors;
    CW_TRY(get_number(entry, "marked_s", &shot->marked_s, err));
    CW_TRY(get_number_or(entry, "at_s", 0, &shot->at_s, err));
    CW_TRY(get_quantity(entry, "contact_s", "u_contact_s", &shot->contact_s, err));
    CW_TRY(get_number(entry, "contact_opens_s", &shot->contact_opens_s, err));
    CW_TRY(get_flag(entry, "contact_seen", false, &shot->contact_seen, err));
    CW_TRY(get_flag(entry, "incomplete", false, &shot->incomplete, err));
    CW_TRY(get_flag(entry, "struck", false, &shot->struck, err));
    CW_TRY(get_text(entry, "remark", shot->remark, sizeof shot->remark, err));
    CW_TRY(get_list(entry, "sensors", CW_SENSORS_MOST, &sensors, err));
    shot->sensor_count = json_array_size(sensors);
    return each(sensors, "sensor", read_sensor, shot, err);
}

typedef struct {
    cw_shutter_test *test;
    size_t speed;
} budget_place;

static cw_status read_budget_line(const json_t *entry, size_t i, void *into, cw_error *err)
{
    const budget_place *place = into;
    cw_budget_line *line = &place->test->budget[place->speed][i];
    CW_TRY(get_text(entry, "source", line->source, sizeof line->source, err));
    CW_TRY(get_number(entry, "u_ev", &line->u_ev, err));
    return get_number_or(entry, "degrees", INFINITY, &line->degrees, err);
}

static cw_status read_verdict(const json_t *entry, cw_speed_verdict *verdict, cw_error *err)
{
    char name[16];
    CW_TRY(get_text(entry, "verdict", name, sizeof name, err));
    *verdict = CW_SPEED_UNKNOWN;
    if (*name == '\0')
        return CW_OK;
    for (int v = CW_SPEED_INSIDE; v <= CW_SPEED_UNKNOWN; v++)
        if (strcmp(name, cw_speed_verdict_name((cw_speed_verdict)v)) == 0) {
            *verdict = (cw_speed_verdict)v;
            return CW_OK;
        }
    return cw_fail(err, CW_INPUT, "\"verdict\" is \"%s\"; known are inside, outside and too-close", name);
}

/* The contract has no u_error_ev for a speed; it follows from the exposure's. */
static cw_status read_error(const json_t *entry, cw_speed *speed, cw_error *err)
{
    double relative = speed->exposure_s.u / speed->exposure_s.value;
    CW_TRY(get_number(entry, "error_ev", &speed->error_ev.value, err));
    return get_number_or(entry, "u_error_ev", relative / log(2), &speed->error_ev.u, err);
}

static cw_status read_speed(const json_t *entry, size_t i, void *into, cw_error *err)
{
    cw_shutter_test *test = into;
    cw_speed *speed = &test->speeds[i];
    const json_t *budget;
    CW_TRY(get_number(entry, "marked_s", &speed->marked_s, err));
    CW_TRY(get_number_or(entry, "reference_s", speed->marked_s, &speed->reference_s, err));
    CW_TRY(get_count(entry, "shots", &speed->shots, err));
    CW_TRY(get_quantity(entry, "exposure_s", "u_exposure_s", &speed->exposure_s, err));
    CW_TRY(get_number(entry, "spread_ev", &speed->spread_ev, err));
    CW_TRY(read_error(entry, speed, err));
    CW_TRY(get_number_or(entry, "degrees", speed->shots > 0 ? INFINITY : NAN, &speed->degrees, err));
    CW_TRY(get_number(entry, "evenness_ev", &speed->evenness_ev, err));
    CW_TRY(get_number(entry, "u_evenness_ev", &speed->u_evenness_ev, err));
    CW_TRY(get_number(entry, "limit_ev", &speed->limit_ev, err));
    CW_TRY(read_verdict(entry, &speed->verdict, err));
    CW_TRY(get_quantity(entry, "travel1_s", "u_travel1_s", &speed->travel1_s, err));
    CW_TRY(get_quantity(entry, "travel2_s", "u_travel2_s", &speed->travel2_s, err));
    CW_TRY(get_number(entry, "efficiency", &speed->efficiency, err));
    CW_TRY(get_quantity(entry, "slit_mm", "u_slit_mm", &speed->slit_mm, err));
    CW_TRY(get_quantity(entry, "contact_delay_s", "u_contact_delay_s", &speed->contact_delay_s, err));
    CW_TRY(get_quantity(entry, "contact_after_full_s", "u_contact_after_full_s", &speed->contact_after_full_s, err));
    CW_TRY(get_quantity(entry, "open_after_contact_s", "u_open_after_contact_s", &speed->open_after_contact_s, err));
    CW_TRY(get_number(entry, "fully_open_s", &speed->fully_open_s, err));
    CW_TRY(get_number(entry, "u_fully_open_s", &speed->u_fully_open_s, err));
    CW_TRY(get_list(entry, "budget", CW_BUDGET_MOST, &budget, err));
    test->budget_count[i] = json_array_size(budget);
    budget_place place = {test, i};
    return each(budget, "budget line", read_budget_line, &place, err);
}

static cw_status read_point(const json_t *entry, size_t i, void *into, cw_error *err)
{
    cw_profile_point *point = &((cw_curtains *)into)->profile[i];
    CW_TRY(get_number(entry, "x_mm", &point->x_mm, err));
    CW_TRY(get_number(entry, "marked_s", &point->marked_s, err));
    return get_quantity(entry, "exposure_s", "u_exposure_s", &point->exposure_s, err);
}

static cw_status read_form(const json_t *object, cw_curtains *curtains, cw_error *err)
{
    static const char *const forms[] = {"none", "straight", "bowed", "physical"};
    char name[16];
    CW_TRY(get_text(object, "form", name, sizeof name, err));
    for (size_t i = 0; i < CW_COUNT(forms); i++)
        if (strcmp(name, forms[i]) == 0)
            curtains->form = (cw_curtain_form)i;
    return CW_OK;
}

static cw_status read_curtains(const json_t *object, cw_curtains *curtains, cw_error *err)
{
    const json_t *profile;
    CW_TRY(get_quantity(object, "travel1_s", "u_travel1_s", &curtains->travel1_s, err));
    CW_TRY(get_quantity(object, "travel2_s", "u_travel2_s", &curtains->travel2_s, err));
    CW_TRY(get_quantity(object, "bow1_s", "u_bow1_s", &curtains->bow1_s, err));
    CW_TRY(get_quantity(object, "bow2_s", "u_bow2_s", &curtains->bow2_s, err));
    CW_TRY(get_quantity(object, "mismatch_s", "u_mismatch_s", &curtains->mismatch_s, err));
    CW_TRY(get_quantity(object, "drag_s", "u_drag_s", &curtains->drag_s, err));
    CW_TRY(get_number(object, "chi_squared", &curtains->chi_squared, err));
    CW_TRY(get_count(object, "degrees", &curtains->degrees, err));
    CW_TRY(get_text(object, "told", curtains->told, sizeof curtains->told, err));
    CW_TRY(read_form(object, curtains, err));
    CW_TRY(get_list(object, "profile", CW_PROFILE_MOST, &profile, err));
    size_t count = json_array_size(profile);
    if (count == 0)
        return CW_OK;
    curtains->profile = calloc(count, sizeof *curtains->profile);
    if (curtains->profile == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu points over the frame", count);
    curtains->profile_count = count;
    return each(profile, "point", read_point, curtains, err);
}

static cw_status read_finding(const json_t *entry, size_t i, void *into, cw_error *err)
{
    cw_finding *finding = &((cw_shutter_test *)into)->findings[i];
    CW_TRY(get_text(entry, "code", finding->code, sizeof finding->code, err));
    CW_TRY(get_text(entry, "text", finding->text, sizeof finding->text, err));
    return get_text(entry, "evidence", finding->evidence, sizeof finding->evidence, err);
}

/* One of two words; missing takes the first. */
static cw_status get_either(const json_t *object, const char *key, const char *first, const char *second,
                            bool *is_second, cw_error *err)
{
    char word[24];
    CW_TRY(get_text(object, key, word, sizeof word, err));
    *is_second = strcmp(word, second) == 0;
    if (*word != '\0' && !*is_second && strcmp(word, first) != 0)
        return cw_fail(err, CW_INPUT, "\"%s\" is \"%s\"; it is %s or %s", key, word, first, second);
    return CW_OK;
}

static cw_status read_setup(const json_t *object, cw_test_setup *setup, cw_error *err)
{
    const json_t *places, *tolerance = json_object_get(object, "tolerance");
    bool leaf, diffuse;
    CW_TRY(get_either(object, "shutter", "focal-plane", "leaf", &leaf, err));
    CW_TRY(get_either(object, "beam", "point", "diffuse", &diffuse, err));
    setup->kind = leaf ? CW_SHUTTER_LEAF : CW_SHUTTER_FOCAL_PLANE;
    setup->beam = diffuse ? CW_BEAM_DIFFUSE : CW_BEAM_POINT;
    CW_TRY(get_number(object, "frame_mm", &setup->frame_mm, err));
    CW_TRY(get_flag(object, "geometric", false, &setup->geometric, err));
    CW_TRY(get_number_or(object, "u_clock_relative", 0, &setup->u_clock_relative, err));
    CW_TRY(get_number_or(object, "u_positions_mm", 0, &setup->u_positions_mm, err));
    CW_TRY(get_list(object, "sensors_mm", CW_SENSORS_MOST, &places, err));
    setup->sensor_count = json_array_size(places);
    for (size_t i = 0; i < setup->sensor_count; i++) {
        const json_t *place = json_array_get(places, i);
        if (!json_is_null(place) && !json_is_number(place))
            return cw_fail(err, CW_INPUT, "\"sensors_mm\", entry %zu should be a number or null", i + 1);
        setup->sensors_mm[i] = json_is_number(place) ? json_number_value(place) : NAN;
    }
    return json_is_object(tolerance) ? cw_tolerance_from_json(tolerance, &setup->tolerance, err) : CW_OK;
}

static cw_status read_test(const json_t *root, cw_shutter_test *test, cw_error *err)
{
    const json_t *list;
    char format[40];
    CW_TRY(get_text(root, "format", format, sizeof format, err));
    if (strcmp(format, "camerawright.shutter/1") != 0)
        return cw_fail(err, CW_INPUT, "\"format\" is \"%s\"; this program reads \"camerawright.shutter/1\"", format);
    CW_TRY(get_list(root, "shots", CW_SHOTS_MOST, &list, err));
    test->shot_count = json_array_size(list);
    test->shots = calloc(test->shot_count > 0 ? test->shot_count : 1, sizeof *test->shots);
    if (test->shots == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu shots", test->shot_count);
    CW_TRY(each(list, "shot", read_shot, test, err));
    CW_TRY(get_list(root, "speeds", CW_SPEEDS_MOST, &list, err));
    test->speed_count = json_array_size(list);
    CW_TRY(each(list, "speed", read_speed, test, err));
    cw_status status = read_curtains(json_object_get(root, "curtains"), &test->curtains, err);
    if (status != CW_OK) {
        cw_context(err, "curtains");
        return status;
    }
    CW_TRY(get_list(root, "findings", CW_FINDINGS_MOST, &list, err));
    test->finding_count = json_array_size(list);
    CW_TRY(each(list, "finding", read_finding, test, err));
    status = read_setup(json_object_get(root, "setup"), &test->setup, err);
    if (status != CW_OK)
        cw_context(err, "setup");
    return status;
}

cw_status cw_shutter_test_from_json(const json_t *object, cw_shutter_test **test, cw_error *err)
{
    cw_shutter_test *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a shutter test");
    cw_status status = read_test(object, made, err);
    if (status != CW_OK) {
        cw_shutter_test_free(made);
        return status;
    }
    *test = made;
    return CW_OK;
}
