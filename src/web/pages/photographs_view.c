/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/json.h"
#include "base/unit.h"
#include "web/pages/photographs_parts.h"
#include "web/pages/plan_form.h"
#include "web/pages/stored_test.h"

enum { FILE_MOST = 16 << 20 };

cw_status cw_photo_view_load(cw_bench *bench, int64_t recording_id, cw_photo_view *view, cw_error *err)
{
    char path[4096], *text;
    size_t length;
    json_error_t where;
    CW_TRY(cw_recording_path(bench, recording_id, path, sizeof path, err));
    CW_TRY(cw_read_file(path, FILE_MOST, &text, &length, err));
    json_t *object = json_loadb(text, length, 0, &where);
    free(text);
    if (object == NULL)
        return cw_fail(err, CW_INPUT, "this recording holds no compared photographs");
    cw_status status = cw_photo_compared_from_json(object, view->compared, CW_PHOTO_TESTS_MOST, &view->count, err);
    json_decref(object);
    return status;
}

/* A field of the setup: what was typed, else what the test had, else nothing. */
static const char *given(const cw_form *form, const json_t *kept, const char *key)
{
    const char *typed = cw_form_get(form, key);
    if (typed == NULL)
        typed = json_string_value(json_object_get(kept, key));
    return typed != NULL && typed[strspn(typed, " \t")] != '\0' ? typed : NULL;
}

/* "0.1,0.12,0.9,0.88" */
static cw_status read_gate(const char *text, cw_photo_setup *setup, cw_error *err)
{
    char rest;
    if (sscanf(text, "%lf,%lf,%lf,%lf%c", &setup->left, &setup->top, &setup->right, &setup->bottom, &rest) == 4)
        return CW_OK;
    return cw_fail(err, CW_INPUT,
                   "the film gate \"%.40s\": left, top, right, bottom as parts of the picture, such as "
                   "0.1,0.12,0.9,0.88",
                   text);
}

static cw_status read_setup(const cw_form *form, const json_t *kept, cw_photo_setup *setup, cw_error *err)
{
    const char *travel = given(form, kept, "travel"), *gate = given(form, kept, "gate"),
               *reference = given(form, kept, "reference-time"), *places = given(form, kept, "places");
    long count;
    if (travel != NULL && !cw_photo_travel_find(travel, &setup->travel))
        return cw_fail(err, CW_INPUT, "the curtains run right, left, down or up in the picture, not \"%.20s\"", travel);
    if (gate != NULL)
        CW_TRY(read_gate(gate, setup, err));
    if (reference != NULL)
        CW_TRY(cw_parse_measure(reference, CW_TIME, "s", &setup->reference_s, err));
    if (reference != NULL && !(setup->reference_s > 0))
        return cw_fail(err, CW_INPUT, "\"%.20s\" is no exposure time of the reference", reference);
    if (places != NULL) {
        CW_TRY(cw_parse_whole(places, 1, CW_SENSORS_MOST, &count, err));
        setup->places = (size_t)count;
    }
    return CW_OK;
}

static cw_status read_marks(const cw_form *form, const json_t *kept, cw_photo_view *view, cw_error *err)
{
    for (size_t i = 0; i < view->count; i++) {
        char key[32];
        snprintf(key, sizeof key, "mark.%zu", i + 1);
        const char *text = given(form, kept, key);
        view->marked_s[i] = NAN;
        if (text == NULL)
            continue;
        cw_status status = cw_mark_parse(text, &view->marked_s[i], err);
        if (status != CW_OK) {
            cw_context(err, "photograph %zu", i + 1);
            return status;
        }
    }
    return CW_OK;
}

cw_status cw_photo_view_setup(const cw_form *form, const cw_test *test, cw_photo_view *view, cw_error *err)
{
    json_t *kept = test != NULL && test->trace_json[0] != '\0' ? json_loads(test->trace_json, 0, NULL) : NULL;
    view->plan = cw_plan_default();
    view->setup = (cw_photo_setup){.reference_s = NAN, .u_reference_relative = NAN};
    cw_status status =
        test != NULL && cw_form_get(form, "shutter") == NULL ? cw_stored_plan(test, &view->plan, err) : CW_OK;
    if (status == CW_OK)
        status = cw_plan_from_form(form, &view->plan, err);
    view->setup.frame_mm = view->plan.frame_mm;
    if (status == CW_OK)
        status = read_setup(form, kept, &view->setup, err);
    if (status == CW_OK)
        status = read_marks(form, kept, view, err);
    json_decref(kept);
    return status;
}

cw_status cw_photo_view_judge(cw_photo_view *view, cw_error *err)
{
    for (size_t i = 0; i < view->count; i++) {
        cw_status status = cw_photo_judge(&view->compared[i], &view->setup, &view->results[i], err);
        if (status != CW_OK) {
            cw_context(err, "%s", view->compared[i].name);
            return status;
        }
    }
    view->ran = true;
    return CW_OK;
}

char *cw_photo_setup_text(const cw_photo_view *view)
{
    char text[96];
    const cw_photo_setup *setup = &view->setup;
    json_t *object = json_pack("{s:s,s:s}", "format", "camerawright.photographs-setup/1", "travel",
                               cw_photo_travel_name(setup->travel));
    if (setup->right > 0) {
        snprintf(text, sizeof text, "%.4g,%.4g,%.4g,%.4g", setup->left, setup->top, setup->right, setup->bottom);
        json_object_set_new(object, "gate", json_string(text));
    }
    if (!isnan(setup->reference_s)) {
        snprintf(text, sizeof text, "%.9g", setup->reference_s);
        json_object_set_new(object, "reference-time", json_string(text));
    }
    if (setup->places > 0) {
        snprintf(text, sizeof text, "%zu", setup->places);
        json_object_set_new(object, "places", json_string(text));
    }
    for (size_t i = 0; i < view->count; i++) {
        char key[32];
        snprintf(key, sizeof key, "mark.%zu", i + 1);
        cw_mark_text(view->marked_s[i], text, sizeof text);
        json_object_set_new(object, key, json_string(text));
    }
    char *written = cw_json_written(object, CW_JSON_KEPT);
    json_decref(object);
    return written;
}
