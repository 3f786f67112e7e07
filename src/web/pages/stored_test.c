/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/pages/stored_test.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

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
    char *text = object == NULL ? NULL : json_dumps(object, JSON_COMPACT);
    json_decref(object);
    return text;
}

cw_status cw_store_shutter(cw_bench *bench, cw_test *test, const cw_shutter_plan *plan, const cw_plan_result *result,
                           int64_t *id, cw_error *err)
{
    char *plan_text = text_of(cw_plan_json(plan)), *result_text = text_of(cw_plan_result_json(result));
    cw_status status = CW_OK;
    if (plan_text == NULL || result_text == NULL) {
        status = cw_fail(err, CW_MEMORY, "no memory to keep the test");
    } else {
        test->kind = "shutter";
        test->program_version = CW_VERSION;
        test->plan_json = plan_text;
        test->result_json = result_text;
        *id = test->id;
        status = test->id == 0 ? cw_test_add(bench, test, id, err) : cw_test_update(bench, test, err);
    }
    free(plan_text);
    free(result_text);
    return status;
}
