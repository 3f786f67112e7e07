/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "report/photo_maps.h"
#include "web/pages/photographs_parts.h"
#include "web/pages/plan_form.h"
#include "web/pages/stored_test.h"

cw_status cw_photo_view_load(cw_bench *bench, int64_t recording_id, cw_photo_view *view, cw_error *err)
{
    return cw_stored_photographs(bench, recording_id, view->compared, &view->count, err);
}

/* A field of the setup: what was typed, else what the test had, else nothing. */
static const char *given(const cw_form *form, const json_t *kept, const char *key)
{
    const char *typed = cw_form_get(form, key);
    if (typed == NULL)
        typed = json_string_value(json_object_get(kept, key));
    return typed != NULL && typed[strspn(typed, " \t")] != '\0' ? typed : NULL;
}

static cw_status read_setup(const cw_form *form, const json_t *kept, cw_photo_setup *setup, cw_error *err)
{
    for (size_t i = 0; i < CW_PHOTO_SETUP_KEYS; i++) {
        const char *text = given(form, kept, cw_photo_setup_keys[i]);
        if (text != NULL)
            CW_TRY(cw_photo_setup_set(setup, cw_photo_setup_keys[i], text, err));
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
    json_t *object = cw_photo_setup_json(&view->setup, view->marked_s, view->count);
    char *written = cw_json_written(object, CW_JSON_KEPT);
    json_decref(object);
    return written;
}
