/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/test.h"

#include "notebook/tables.h"
#include "notebook/words.h"

/* ---- tests ---- */

#define PLACE(field) offsetof(cw_test, field)
static const store_column test_columns[] = {
    {"id", "number", PLACE(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", PLACE(revision), STORE_INT, 0, NULL, 0},
    {"job_id", "the job", PLACE(job_id), STORE_REF, STORE_ADD, NULL, 0},
    {"kind", "the kind of test", PLACE(kind), STORE_LINE, STORE_BOTH | STORE_REQUIRED, NULL, 0},
    {"at_time", "before or after", PLACE(when), STORE_WORD, STORE_BOTH, words_when, CW_WHEN_COUNT},
    {"title", "the title", PLACE(title), STORE_LINE, STORE_BOTH, NULL, 0},
    {"notes", "the notes", PLACE(notes), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"tested_on", "the day of the test", PLACE(tested_on), STORE_DAY, STORE_BOTH | STORE_TODAY, NULL, 0},
    {"program_version", "the program version", PLACE(program_version), STORE_LINE, STORE_BOTH, NULL, 0},
    {"recording_id", "the recording", PLACE(recording_id), STORE_REF, STORE_BOTH, NULL, 0},
    {"created_at", "instant", PLACE(created_at), STORE_INSTANT, STORE_ADD, NULL, 0},
    {"plan_json", "the plan of the test", PLACE(plan_json), STORE_JSON, STORE_BOTH, NULL, 0},
    {"result_json", "the result of the test", PLACE(result_json), STORE_JSON, STORE_BOTH, NULL, 0},
    {"trace_json", "the trace", PLACE(trace_json), STORE_JSON, STORE_BOTH | STORE_HEAVY, NULL, 0},
    {"strikes_json", "why shots are left out", PLACE(strikes_json), STORE_JSON, STORE_BOTH, NULL, 0},
};
const store_table test_table = {"test",          "test",    test_columns,    CW_COUNT(test_columns),
                                sizeof(cw_test), PLACE(id), PLACE(revision), PLACE(held)};

static cw_status add_test(cw_bench *bench, const cw_test *test, int64_t *id, cw_error *err)
{
    char now[32];
    store_now(now);
    cw_test row = *test;
    row.created_at = now;
    CW_TRY(store_job_of(bench, &job_table, test->job_id, NULL, err));
    return store_add(bench, &test_table, &row, id, err);
}

cw_status cw_test_add(cw_bench *bench, const cw_test *test, int64_t *id, cw_error *err)
{
    int64_t made = 0;
    CW_TRY(store_enter(bench, test->job_id, err, "%s test %s added", test->kind == NULL ? "" : test->kind,
                       cw_when_name(test->when)));
    CW_TRY(store_leave(bench, test->job_id, add_test(bench, test, &made, err), err));
    *id = made;
    return CW_OK;
}

cw_status cw_test_get(cw_bench *bench, int64_t id, cw_test *test, cw_error *err)
{
    return store_get(bench, &test_table, id, test, err);
}

cw_status cw_test_update(cw_bench *bench, const cw_test *test, cw_error *err)
{
    int64_t job_id;
    CW_TRY(store_job_of(bench, &test_table, test->id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "%s test %s edited", test->kind == NULL ? "" : test->kind,
                       cw_when_name(test->when)));
    return store_leave(bench, job_id, store_update(bench, &test_table, test, err), err);
}

static cw_status delete_test(cw_bench *bench, int64_t id, cw_error *err)
{
    CW_TRY(store_run(bench, "DELETE FROM reading WHERE test_id = ?1", STORE_VALUES(store_int(id)), err));
    CW_TRY(store_run(bench, "DELETE FROM test_version WHERE test_id = ?1", STORE_VALUES(store_int(id)), err));
    return store_delete(bench, &test_table, id, err);
}

cw_status cw_test_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    int64_t job_id;
    CW_TRY(store_job_of(bench, &test_table, id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "test %lld deleted", (long long)id));
    return store_leave(bench, job_id, delete_test(bench, id, err), err);
}

void cw_test_free(cw_test *test)
{
    if (test == NULL)
        return;
    store_release(&test->held);
    *test = (cw_test){0};
}

cw_status cw_test_page(cw_bench *bench, int64_t job_id, const char *kind, int64_t first, int64_t most,
                       cw_test_list *list, cw_error *err)
{
    int64_t total;
    store_rows rows;
    CW_TRY(store_paging(first, most, 500, err));
    CW_TRY(store_number(bench, "SELECT count(*) FROM test WHERE job_id = ?1 AND (?2 = '' OR kind = ?2)",
                        STORE_VALUES(store_int(job_id), store_text(kind)), &total, err));
    CW_TRY(store_list(bench, &test_table, "WHERE job_id = ?1 AND (?2 = '' OR kind = ?2) ORDER BY id LIMIT ?3 OFFSET ?4",
                      STORE_VALUES(store_int(job_id), store_text(kind), store_int(most), store_int(first)), &rows,
                      err));
    *list = (cw_test_list){rows.count, rows.items, total, rows.held};
    return CW_OK;
}

void cw_test_list_free(cw_test_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_test_list){0};
}

cw_status cw_test_newest(cw_bench *bench, int64_t job_id, const char *kind, cw_when when, int64_t *id, cw_error *err)
{
    return store_number(
        bench, "SELECT id FROM test WHERE job_id = ?1 AND kind = ?2 AND at_time = ?3 ORDER BY tested_on DESC, id DESC",
        STORE_VALUES(store_int(job_id), store_text(kind), store_text(cw_when_name(when))), id, err);
}

/* ---- readings ---- */

#define READING(field) offsetof(cw_reading, field)
static const store_column reading_columns[] = {
    {"id", "number", READING(id), STORE_INT, 0, NULL, 0},
    {"test_id", "the test", READING(test_id), STORE_REF, STORE_ADD, NULL, 0},
    {"marked_s", "the marked speed", READING(marked_s), STORE_REAL, STORE_ADD, NULL, 0},
    {"exposure_s", "the reading", READING(exposure_s), STORE_REAL, STORE_ADD, NULL, 0},
    {"position_mm", "the sensor's place", READING(position_mm), STORE_REAL, STORE_ADD, NULL, 0},
    {"as_typed", "the reading as typed", READING(as_typed), STORE_LINE, STORE_ADD, NULL, 0},
};
const store_table reading_table = {"reading",          "reading",   reading_columns, CW_COUNT(reading_columns),
                                   sizeof(cw_reading), READING(id), SIZE_MAX,        SIZE_MAX};

enum { READINGS_MOST = 4096 };

static cw_status add_reading(cw_bench *bench, const cw_reading *reading, int64_t *id, cw_error *err)
{
    int64_t there;
    if (!(reading->marked_s > 0) || !(reading->exposure_s > 0))
        return cw_fail(err, CW_INPUT, "a reading of %g s at a marked %g s; both must be more than 0 s",
                       reading->exposure_s, reading->marked_s);
    CW_TRY(store_number(bench, "SELECT count(*) FROM reading WHERE test_id = ?1",
                        STORE_VALUES(store_int(reading->test_id)), &there, err));
    if (there >= READINGS_MOST)
        return cw_fail(err, CW_RANGE, "this test has %d readings already, the most one test can hold", READINGS_MOST);
    return store_add(bench, &reading_table, reading, id, err);
}

cw_status cw_reading_add(cw_bench *bench, const cw_reading *reading, int64_t *id, cw_error *err)
{
    int64_t job_id, made = 0;
    CW_TRY(store_job_of(bench, &test_table, reading->test_id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "reading \"%s\" added", reading->as_typed == NULL ? "" : reading->as_typed));
    CW_TRY(store_leave(bench, job_id, add_reading(bench, reading, &made, err), err));
    *id = made;
    return CW_OK;
}

cw_status cw_reading_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    int64_t test_id, job_id;
    CW_TRY(
        store_number(bench, "SELECT test_id FROM reading WHERE id = ?1", STORE_VALUES(store_int(id)), &test_id, err));
    if (test_id == 0)
        return cw_fail(err, CW_NOT_FOUND, "there is no reading %lld on this bench", (long long)id);
    CW_TRY(store_job_of(bench, &test_table, test_id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "reading deleted"));
    return store_leave(bench, job_id, store_delete(bench, &reading_table, id, err), err);
}

cw_status cw_reading_page(cw_bench *bench, int64_t test_id, cw_reading_list *list, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_list(bench, &reading_table, "WHERE test_id = ?1 ORDER BY id", STORE_VALUES(store_int(test_id)), &rows,
                      err));
    *list = (cw_reading_list){rows.count, rows.items, rows.held};
    return CW_OK;
}

void cw_reading_list_free(cw_reading_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_reading_list){0};
}

/* ---- worksheet results ---- */

#define SHEET(field) offsetof(cw_saved_sheet, field)
static const store_column sheet_columns[] = {
    {"id", "number", SHEET(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", SHEET(revision), STORE_INT, 0, NULL, 0},
    {"job_id", "the job", SHEET(job_id), STORE_REF, STORE_ADD, NULL, 0},
    {"worksheet", "the worksheet", SHEET(worksheet), STORE_LINE, STORE_BOTH | STORE_REQUIRED, NULL, 0},
    {"at_time", "before or after", SHEET(moment), STORE_WORD, STORE_BOTH, words_moment, CW_MOMENT_COUNT},
    {"title", "the title", SHEET(title), STORE_LINE, STORE_BOTH, NULL, 0},
    {"program_version", "the program version", SHEET(program_version), STORE_LINE, STORE_BOTH, NULL, 0},
    {"notes", "the notes", SHEET(notes), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"created_at", "instant", SHEET(created_at), STORE_INSTANT, STORE_ADD, NULL, 0},
    {"result_json", "the result", SHEET(result_json), STORE_JSON, STORE_BOTH | STORE_REQUIRED, NULL, 0},
};
const store_table saved_sheet_table = {
    "saved_sheet",          "worksheet result", sheet_columns,   CW_COUNT(sheet_columns),
    sizeof(cw_saved_sheet), SHEET(id),          SHEET(revision), SHEET(held)};

static cw_status add_sheet(cw_bench *bench, const cw_saved_sheet *sheet, int64_t *id, cw_error *err)
{
    char now[32];
    store_now(now);
    cw_saved_sheet row = *sheet;
    row.created_at = now;
    CW_TRY(store_job_of(bench, &job_table, sheet->job_id, NULL, err));
    return store_add(bench, &saved_sheet_table, &row, id, err);
}

cw_status cw_saved_sheet_add(cw_bench *bench, const cw_saved_sheet *sheet, int64_t *id, cw_error *err)
{
    int64_t made = 0;
    CW_TRY(store_enter(bench, sheet->job_id, err, "result of \"%s\" kept",
                       sheet->worksheet == NULL ? "" : sheet->worksheet));
    CW_TRY(store_leave(bench, sheet->job_id, add_sheet(bench, sheet, &made, err), err));
    *id = made;
    return CW_OK;
}

cw_status cw_saved_sheet_get(cw_bench *bench, int64_t id, cw_saved_sheet *sheet, cw_error *err)
{
    return store_get(bench, &saved_sheet_table, id, sheet, err);
}

cw_status cw_saved_sheet_update(cw_bench *bench, const cw_saved_sheet *sheet, cw_error *err)
{
    int64_t job_id;
    CW_TRY(store_job_of(bench, &saved_sheet_table, sheet->id, &job_id, err));
    CW_TRY(
        store_enter(bench, job_id, err, "result of \"%s\" edited", sheet->worksheet == NULL ? "" : sheet->worksheet));
    return store_leave(bench, job_id, store_update(bench, &saved_sheet_table, sheet, err), err);
}

cw_status cw_saved_sheet_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    int64_t job_id;
    CW_TRY(store_job_of(bench, &saved_sheet_table, id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "worksheet result deleted"));
    return store_leave(bench, job_id, store_delete(bench, &saved_sheet_table, id, err), err);
}

void cw_saved_sheet_free(cw_saved_sheet *sheet)
{
    if (sheet == NULL)
        return;
    store_release(&sheet->held);
    *sheet = (cw_saved_sheet){0};
}

cw_status cw_saved_sheet_page(cw_bench *bench, int64_t job_id, int64_t first, int64_t most, cw_saved_sheet_list *list,
                              cw_error *err)
{
    int64_t total;
    store_rows rows;
    CW_TRY(store_paging(first, most, 500, err));
    CW_TRY(store_number(bench, "SELECT count(*) FROM saved_sheet WHERE job_id = ?1", STORE_VALUES(store_int(job_id)),
                        &total, err));
    CW_TRY(store_list(bench, &saved_sheet_table, "WHERE job_id = ?1 ORDER BY id LIMIT ?2 OFFSET ?3",
                      STORE_VALUES(store_int(job_id), store_int(most), store_int(first)), &rows, err));
    *list = (cw_saved_sheet_list){rows.count, rows.items, total, rows.held};
    return CW_OK;
}

void cw_saved_sheet_list_free(cw_saved_sheet_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_saved_sheet_list){0};
}
