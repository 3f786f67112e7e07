/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/shutter_command.h"
#include "cli/print.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/json.h"
#include "cli/bench_command.h"
#include "cli/file_out.h"
#include "notebook/job.h"
#include "notebook/test.h"
#include "shutter/table.h"
#include "shutter/tolerance.h"

enum { TOLERANCE_FILE_MOST = 1 << 16 };

static const char *const face_keys[] = {"json", "check", "bench", "job", "when", "title"};

size_t cw_shutter_options(cw_option *options)
{
    size_t field_count, count = 0;
    const cw_plan_field *fields = cw_plan_fields(&field_count);
    for (size_t i = 0; i < field_count; i++)
        options[count++] = (cw_option){.key = fields[i].key, .is_flag = fields[i].is_flag};
    for (size_t i = 0; i < CW_COUNT(face_keys); i++)
        options[count++] = (cw_option){.key = face_keys[i], .is_flag = i < 2};
    return count;
}

/* A word of the built-in tables, or else a file. */
static cw_status take_tolerance(const char *text, cw_tolerance *tolerance, cw_error *err)
{
    if (cw_tolerance_find(text, tolerance, err) == CW_OK)
        return CW_OK;
    if (access(text, F_OK) != 0)
        return cw_fail(err, CW_INPUT,
                       "there is no tolerance table \"%.80s\" and no file of that name; \"common\" is built in", text);
    char *bytes;
    size_t count;
    CW_TRY(cw_read_file(text, TOLERANCE_FILE_MOST, &bytes, &count, err));
    cw_status status = cw_tolerance_parse(bytes, count, tolerance, err);
    free(bytes);
    if (status != CW_OK)
        cw_context(err, "%s", text);
    return status;
}

static cw_status take_field(cw_shutter_plan *plan, const cw_option *option, cw_error *err)
{
    if (option->value == NULL)
        return CW_OK;
    if (strcmp(option->key, "tolerance") == 0)
        return take_tolerance(option->value, &plan->tolerance, err);
    return cw_plan_set(plan, option->key, option->is_flag ? "yes" : option->value, err);
}

cw_status cw_shutter_options_take(const cw_option *options, size_t count, cw_shutter_plan *plan, cw_shutter_face *face,
                                  cw_error *err)
{
    size_t field_count;
    cw_plan_fields(&field_count);
    *plan = cw_plan_default();
    if (cw_option_given(options, count, "marked") && cw_option_given(options, count, "marked-list"))
        return cw_fail(err, CW_INPUT, "--marked is for one speed, --marked-list for several; give one of them");
    for (size_t i = 0; i < field_count; i++)
        CW_TRY(take_field(plan, &options[i], err));
    *face = (cw_shutter_face){
        .bench = cw_option_value(options, count, "bench"),
        .job = cw_option_value(options, count, "job"),
        .when = cw_option_value(options, count, "when"),
        .title = cw_option_value(options, count, "title"),
        .json = cw_option_given(options, count, "json"),
        .check = cw_option_given(options, count, "check"),
    };
    if (face->job != NULL && face->when == NULL)
        return cw_fail(err, CW_INPUT, "say when it was measured: --when before, during or after");
    return CW_OK;
}

static cw_status keep_in(cw_bench *bench, const cw_shutter_plan *plan, json_t *result, const cw_shutter_face *face,
                         const char *kind, const char *recording, int64_t *test_id, cw_error *err)
{
    cw_test test = {.kind = kind, .title = face->title, .trace_json = face->trace, .program_version = CW_VERSION};
    CW_TRY(cw_id_parse(face->job, "job", &test.job_id, err));
    CW_TRY(cw_when_parse(face->when, &test.when, err));
    if (recording != NULL)
        CW_TRY(cw_recording_import(bench, recording, &test.recording_id, err));
    json_t *plan_json = cw_plan_json(plan);
    char *plan_text = cw_json_written(plan_json, CW_JSON_KEPT);
    char *result_text = cw_json_written(result, CW_JSON_KEPT);
    cw_status status;
    if (plan_text == NULL || result_text == NULL) {
        status = cw_fail(err, CW_MEMORY, "no memory for the result");
    } else {
        test.plan_json = plan_text;
        test.result_json = result_text;
        status = cw_test_add(bench, &test, test_id, err);
    }
    free(plan_text);
    free(result_text);
    json_decref(plan_json);
    return status;
}

static cw_status keep(const cw_shutter_plan *plan, json_t *result, const cw_shutter_face *face, const char *kind,
                      const char *recording, int64_t *test_id, cw_error *err)
{
    *test_id = 0;
    if (face->job == NULL)
        return CW_OK;
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(face->bench, CW_BENCH_OPEN, &bench, err));
    cw_status status = keep_in(bench, plan, result, face, kind, recording, test_id, err);
    cw_bench_close(bench);
    return status;
}

static void print_warnings(const json_t *recording, FILE *out)
{
    size_t index;
    const json_t *warning;
    json_array_foreach(json_object_get(recording, "warnings"), index, warning)
    {
        cw_print_told(out, "%s%s\n", index == 0 ? "\nabout the recording:\n- " : "- ", json_string_value(warning));
    }
}

static cw_status print(const cw_plan_result *result, json_t *json, const cw_shutter_face *face, const char *kind,
                       int64_t test_id, FILE *out, cw_error *err)
{
    if (face->json)
        return face->compact ? cw_print_json_line(out, json_incref(json), err)
                             : cw_print_json(out, json_incref(json), err);
    cw_buf text = cw_buf_new(1 << 20);
    const cw_manner *before = cw_manner_use(cw_print_manner());
    cw_status status = cw_shutter_table(result->test, &text, err);
    cw_manner_use(before);
    if (status == CW_OK) {
        fputs(cw_buf_string(&text), out);
        print_warnings(result->recording, out);
        if (result->proposed)
            cw_print_told(out, "\nspeeds proposed by the program, to be confirmed with --marked-list: %s\n",
                          result->proposal.text);
        if (test_id != 0)
            cw_print(out, "\nkept as %s test %" PRId64 " (%s) of job %s\n", kind, test_id, face->when, face->job);
    }
    cw_buf_free(&text);
    return status;
}

static bool any_outside(const cw_shutter_test *test)
{
    for (size_t i = 0; i < test->speed_count; i++)
        if (test->speeds[i].verdict == CW_SPEED_OUTSIDE)
            return true;
    return false;
}

cw_status cw_shutter_finish(const cw_shutter_plan *plan, const cw_plan_result *result, const cw_shutter_face *face,
                            const char *kind, const char *recording, FILE *out, bool *outside, cw_error *err)
{
    int64_t test_id;
    json_t *json = cw_plan_result_json(result);
    if (json == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the result");
    cw_status status = keep(plan, json, face, kind, recording, &test_id, err);
    if (status == CW_OK)
        status = print(result, json, face, kind, test_id, out, err);
    *outside = face->check && any_outside(result->test);
    json_decref(json);
    return status;
}
