/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/pages/stored_test.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/utf8.h"

cw_status cw_stored_result(const cw_test *stored, cw_shutter_test **test, cw_error *err)
{
    if (strcmp(stored->kind, "shutter") != 0 || stored->result_json[0] == '\0')
        return cw_fail(err, CW_INPUT, "test %" PRId64 " is no shutter test with a result", stored->id);
    json_error_t where;
    json_t *object = json_loads(stored->result_json, 0, &where);
    if (object == NULL)
        return cw_fail(err, CW_STORE, "the result of test %" PRId64 " cannot be read: %s", stored->id, where.text);
    cw_status status = cw_shutter_test_from_json(object, test, err);
    if (status != CW_OK)
        cw_context(err, "test %" PRId64, stored->id);
    json_decref(object);
    return status;
}

cw_exposure_method cw_test_method(const cw_shutter_test *test)
{
    for (size_t i = 0; i < test->shot_count; i++)
        for (size_t k = 0; k < test->shots[i].sensor_count; k++)
            if (test->shots[i].sensors[k].method != CW_METHOD_NONE)
                return test->shots[i].sensors[k].method;
    return CW_METHOD_NONE;
}

cw_status cw_stored_shutter(cw_bench *bench, int64_t test_id, cw_shutter_test **test, cw_error *err)
{
    cw_test stored;
    CW_TRY(cw_test_get(bench, test_id, &stored, err));
    cw_status status = cw_stored_result(&stored, test, err);
    cw_test_free(&stored);
    return status;
}

cw_status cw_stored_plan(const cw_test *stored, cw_shutter_plan *plan, cw_error *err)
{
    if (stored->plan_json[0] == '\0') {
        *plan = cw_plan_default();
        return CW_OK;
    }
    json_error_t where;
    json_t *object = json_loads(stored->plan_json, 0, &where);
    if (object == NULL)
        return cw_fail(err, CW_STORE, "the plan of test %" PRId64 " cannot be read: %s", stored->id, where.text);
    cw_status status = cw_plan_from_json(object, plan, err);
    if (status != CW_OK)
        cw_context(err, "the plan of test %" PRId64, stored->id);
    json_decref(object);
    return status;
}

static char *text_of(json_t *object)
{
    char *text = cw_json_written(object, CW_JSON_KEPT);
    json_decref(object);
    return text;
}

/* Plan and result as the texts a test keeps; to be freed after the test is written. */
typedef struct {
    char *plan, *result;
} json_texts;

static void json_texts_free(json_texts *texts)
{
    free(texts->plan);
    free(texts->result);
}

static cw_status fill(cw_test *test, const cw_shutter_plan *plan, const cw_plan_result *result, json_texts *texts,
                      cw_error *err)
{
    *texts = (json_texts){text_of(cw_plan_json(plan)), text_of(cw_plan_result_json(result))};
    if (texts->plan == NULL || texts->result == NULL) {
        json_texts_free(texts);
        return cw_fail(err, CW_MEMORY, "no memory to keep the test");
    }
    test->kind = "shutter";
    test->program_version = CW_VERSION;
    test->plan_json = texts->plan;
    test->result_json = texts->result;
    return CW_OK;
}

cw_status cw_store_shutter(cw_bench *bench, cw_test *test, const cw_shutter_plan *plan, const cw_plan_result *result,
                           int64_t *id, cw_error *err)
{
    json_texts texts;
    CW_TRY(fill(test, plan, result, &texts, err));
    cw_status status = cw_test_add(bench, test, id, err);
    json_texts_free(&texts);
    return status;
}

cw_status cw_correct_shutter(cw_bench *bench, cw_test *test, const cw_shutter_plan *plan, const cw_plan_result *result,
                             const cw_reading *readings, size_t reading_count, const char *reason, cw_error *err)
{
    json_texts texts;
    CW_TRY(fill(test, plan, result, &texts, err));
    cw_status status = cw_test_correct(bench, test, readings, reading_count, reason, err);
    json_texts_free(&texts);
    return status;
}

/* ---- why shots are left out ---- */

/* In the test's own remark, so that every face shows it, and under the shot's number, as the bench keeps it. */
static void say_why(cw_shutter_test *test, json_t *strikes, size_t shot, const char *why)
{
    char number[24];
    if (shot < 1 || shot > test->shot_count || !test->shots[shot - 1].struck || why[0] == '\0')
        return;
    cw_shot *one = &test->shots[shot - 1];
    snprintf(number, sizeof number, "%zu", shot);
    json_object_set_new(strikes, number, json_string(why));
    size_t used = 0; /* whole letters only */
    uint32_t code;
    for (size_t step; (step = cw_utf8_next(why + used, &code)) > 0 && used + step < sizeof one->remark; used += step)
        continue;
    snprintf(one->remark, sizeof one->remark, "%.*s", (int)used, why);
}

cw_status cw_strikes_from_form(const cw_form *form, const size_t *rows, const char *old, const char *otherwise,
                               const cw_shutter_plan *plan, cw_shutter_test *test, char **text, cw_error *err)
{
    json_t *all = json_object(), *before = json_loads(old, 0, NULL);
    for (size_t i = 0; i < plan->strike_count; i++) {
        size_t shot = plan->strikes[i];
        char name[40], number[24];
        snprintf(name, sizeof name, "why.%zu", rows != NULL ? rows[shot - 1] : shot);
        snprintf(number, sizeof number, "%zu", shot);
        const char *typed = cw_form_get(form, name), *kept = json_string_value(json_object_get(before, number));
        bool is_typed = typed != NULL && typed[strspn(typed, " \t\r\n")] != '\0';
        say_why(test, all, shot, is_typed ? typed : kept != NULL ? kept : otherwise);
    }
    json_decref(before);
    *text = json_object_size(all) > 0 ? cw_json_written(all, CW_JSON_KEPT) : strdup("");
    json_decref(all);
    return *text != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the reasons");
}
