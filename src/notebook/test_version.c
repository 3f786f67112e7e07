/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Corrections of a test: what stood there before is put aside, never overwritten. */
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "notebook/tables.h"
#include "notebook/test.h"
#include "notebook/words.h"

#define PLACE(field) offsetof(cw_test_version, field)
static const store_column version_columns[] = {
    {"id", "number", PLACE(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", PLACE(revision), STORE_INT, 0, NULL, 0},
    {"test_id", "the test", PLACE(test_id), STORE_REF, STORE_ADD, NULL, 0},
    {"reason", "why it is corrected", PLACE(reason), STORE_LINE, STORE_ADD | STORE_REQUIRED, NULL, 0},
    {"corrected_at", "instant", PLACE(corrected_at), STORE_INSTANT, STORE_ADD, NULL, 0},
    {"at_time", "before or after", PLACE(when), STORE_WORD, STORE_ADD, words_when, CW_WHEN_COUNT},
    {"title", "the title", PLACE(title), STORE_LINE, STORE_ADD, NULL, 0},
    {"notes", "the notes", PLACE(notes), STORE_NOTE, STORE_ADD, NULL, 0},
    {"tested_on", "the day of the test", PLACE(tested_on), STORE_DAY, STORE_ADD, NULL, 0},
    {"program_version", "the program version", PLACE(program_version), STORE_LINE, STORE_ADD, NULL, 0},
    {"plan_json", "the plan of the test", PLACE(plan_json), STORE_JSON, STORE_ADD | STORE_HEAVY, NULL, 0},
    {"strikes_json", "why shots are left out", PLACE(strikes_json), STORE_JSON, STORE_ADD | STORE_HEAVY, NULL, 0},
    {"result_json", "the result of the test", PLACE(result_json), STORE_JSON, STORE_ADD | STORE_HEAVY, NULL, 0},
    {"readings_json", "the readings", PLACE(readings_json), STORE_JSON, STORE_ADD | STORE_HEAVY, NULL, 0},
};
const store_table test_version_table = {"test_version",          "earlier version of a test",
                                        version_columns,         CW_COUNT(version_columns),
                                        sizeof(cw_test_version), PLACE(id),
                                        PLACE(revision),         PLACE(held)};

/* The readings of a test as one text for free(); "" when it has none. */
static cw_status readings_text(cw_bench *bench, int64_t test_id, char **text, cw_error *err)
{
    cw_reading_list list;
    CW_TRY(cw_reading_page(bench, test_id, &list, err));
    json_t *rows = json_array();
    for (size_t i = 0; i < list.count; i++) {
        const cw_reading *reading = &list.items[i];
        json_array_append_new(rows,
                              json_pack("{s:f,s:o,s:s}", "marked_s", reading->marked_s, "position_mm",
                                        isfinite(reading->position_mm) ? json_real(reading->position_mm) : json_null(),
                                        "as_typed", reading->as_typed));
    }
    *text = list.count == 0 ? strdup("") : cw_json_written(rows, CW_JSON_KEPT);
    json_decref(rows);
    cw_reading_list_free(&list);
    return *text != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the readings of a test");
}

static cw_status put_aside(cw_bench *bench, const cw_test *old, const char *reason, cw_error *err)
{
    char now[32], *readings;
    int64_t there, id;
    CW_TRY(store_number(bench, "SELECT count(*) FROM test_version WHERE test_id = ?1", STORE_VALUES(store_int(old->id)),
                        &there, err));
    if (there >= CW_TEST_VERSIONS_MOST)
        return cw_fail(err, CW_RANGE, "this test was corrected %d times already, the most there can be",
                       CW_TEST_VERSIONS_MOST);
    CW_TRY(readings_text(bench, old->id, &readings, err));
    store_now(now);
    cw_test_version version = {.test_id = old->id,
                               .reason = reason,
                               .corrected_at = now,
                               .when = old->when,
                               .title = old->title,
                               .notes = old->notes,
                               .tested_on = old->tested_on,
                               .program_version = old->program_version,
                               .plan_json = old->plan_json,
                               .strikes_json = old->strikes_json,
                               .result_json = old->result_json,
                               .readings_json = readings};
    cw_status status = store_add(bench, &test_version_table, &version, &id, err);
    free(readings);
    return status;
}

static cw_status replace_readings(cw_bench *bench, int64_t test_id, const cw_reading *readings, size_t count,
                                  cw_error *err)
{
    CW_TRY(store_run(bench, "DELETE FROM reading WHERE test_id = ?1", STORE_VALUES(store_int(test_id)), err));
    for (size_t i = 0; i < count; i++) {
        cw_reading reading = readings[i];
        int64_t id;
        reading.test_id = test_id;
        CW_TRY(cw_reading_add(bench, &reading, &id, err));
    }
    return CW_OK;
}

static cw_status correct(cw_bench *bench, const cw_test *test, const cw_reading *readings, size_t count,
                         const char *reason, cw_error *err)
{
    cw_test old;
    CW_TRY(cw_test_get(bench, test->id, &old, err));
    cw_status status = put_aside(bench, &old, reason, err);
    cw_test_free(&old);
    if (status == CW_OK)
        status = store_update(bench, &test_table, test, err);
    return status == CW_OK ? replace_readings(bench, test->id, readings, count, err) : status;
}

cw_status cw_test_correct(cw_bench *bench, const cw_test *test, const cw_reading *readings, size_t count,
                          const char *reason, cw_error *err)
{
    int64_t job_id;
    if (reason == NULL || reason[strspn(reason, " \t\r\n")] == '\0')
        return cw_fail(err, CW_INPUT, "say why the test is corrected; a word is enough");
    CW_TRY(store_job_of(bench, &test_table, test->id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "%s test %s corrected: %s", test->kind == NULL ? "" : test->kind,
                       cw_when_name(test->when), reason));
    return store_leave(bench, job_id, correct(bench, test, readings, count, reason, err), err);
}

cw_status cw_test_version_page(cw_bench *bench, int64_t test_id, cw_test_version_list *list, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_list(bench, &test_version_table, "WHERE test_id = ?1 ORDER BY id", STORE_VALUES(store_int(test_id)),
                      &rows, err));
    *list = (cw_test_version_list){rows.count, rows.items, rows.held};
    return CW_OK;
}

void cw_test_version_list_free(cw_test_version_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_test_version_list){0};
}

cw_status cw_test_version_get(cw_bench *bench, int64_t id, cw_test_version *version, cw_error *err)
{
    return store_get(bench, &test_version_table, id, version, err);
}

void cw_test_version_free(cw_test_version *version)
{
    if (version == NULL)
        return;
    store_release(&version->held);
    *version = (cw_test_version){0};
}
