/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Starting a job from an earlier one, and what turned out different. What the earlier notes said is copied beside each
 * row, so that the comparison still stands when the earlier job is gone. */
#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/job.h"
#include "notebook/record_json.h"
#include "notebook/tables.h"
#include "notebook/words.h"

/* ---- starting ---- */

/* Copies the done steps as planned ones, in their order. */
static cw_status plan_steps(cw_bench *bench, int64_t earlier, int64_t job_id, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_list(bench, &step_table, "WHERE job_id = ?1 AND state = 'done' ORDER BY rank",
                      STORE_VALUES(store_int(earlier)), &rows, err));
    cw_status status = CW_OK;
    for (size_t i = 0; status == CW_OK && i < rows.count; i++) {
        cw_step step = ((cw_step *)rows.items)[i];
        int64_t made;
        char *said = record_json_text(&step_table, &step);
        step.from_step_id = step.id;
        step.job_id = job_id;
        step.state = CW_STEP_PLANNED;
        step.back_done = false;
        step.duration_s = NAN;
        status = said == NULL ? cw_fail(err, CW_MEMORY, "no memory for a plan")
                              : step_insert(bench, &step, 0, said, &made, err);
        free(said);
    }
    store_release(&rows.held);
    return status;
}

/* The planned step that stands for an earlier one; 0 when there is none. */
static cw_status planned_step(cw_bench *bench, int64_t job_id, int64_t earlier_step, int64_t *id, cw_error *err)
{
    return store_number(bench, "SELECT id FROM step WHERE job_id = ?1 AND from_step_id = ?2",
                        STORE_VALUES(store_int(job_id), store_int(earlier_step)), id, err);
}

static cw_status plan_parts(cw_bench *bench, int64_t earlier, int64_t job_id, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_list(bench, &part_table, "WHERE job_id = ?1 AND state <> 'expected' ORDER BY id",
                      STORE_VALUES(store_int(earlier)), &rows, err));
    cw_status status = CW_OK;
    for (size_t i = 0; status == CW_OK && i < rows.count; i++) {
        cw_part part = ((cw_part *)rows.items)[i];
        int64_t step_id, made;
        status = planned_step(bench, job_id, part.step_id, &step_id, err);
        if (status != CW_OK || step_id == 0)
            continue; /* a part of no step leads nobody */
        char *said = record_json_text(&part_table, &part);
        part.job_id = job_id;
        part.step_id = step_id;
        part.tray_id = 0;
        part.state = CW_PART_EXPECTED;
        part.condition = CW_CONDITION_GOOD;
        part.reason = "";
        status = said == NULL ? cw_fail(err, CW_MEMORY, "no memory for a plan")
                              : part_insert(bench, &part, said, &made, err);
        free(said);
    }
    store_release(&rows.held);
    return status;
}

static cw_status plan_things(cw_bench *bench, int64_t earlier, int64_t job_id, cw_error *err)
{
    CW_TRY(store_run(
        bench,
        "INSERT INTO thing(revision, job_id, name, name_key, step_id) SELECT ?3, ?2, name, name_key, "
        "(SELECT id FROM step WHERE job_id = ?2 AND from_step_id = thing.step_id) FROM thing WHERE job_id = ?1",
        STORE_VALUES(store_int(earlier), store_int(job_id), store_int(bench->change_id)), err));
    return store_run(
        bench,
        "INSERT INTO block(job_id, under_id, over_id, way) SELECT ?2, under.id, over.id, way FROM block "
        "JOIN thing AS old_under ON old_under.id = under_id JOIN thing AS old_over ON old_over.id = over_id "
        "JOIN thing AS under ON under.job_id = ?2 AND under.name_key = old_under.name_key "
        "JOIN thing AS over ON over.job_id = ?2 AND over.name_key = old_over.name_key "
        "WHERE block.job_id = ?1",
        STORE_VALUES(store_int(earlier), store_int(job_id)), err);
}

static cw_status plan_job(cw_bench *bench, const cw_job *job, int64_t *id, cw_error *err)
{
    CW_TRY(cw_job_add(bench, job, id, err));
    store_belongs_to(bench, *id);
    CW_TRY(plan_steps(bench, job->plan_of, *id, err));
    CW_TRY(plan_parts(bench, job->plan_of, *id, err));
    return plan_things(bench, job->plan_of, *id, err);
}

cw_status cw_job_plan(cw_bench *bench, int64_t earlier_job_id, const char *camera, const char *serial,
                      const char *complaint, int64_t *id, cw_error *err)
{
    cw_job earlier;
    int64_t made = 0;
    CW_TRY(cw_job_get(bench, earlier_job_id, &earlier, err));
    cw_job job = {.camera = camera == NULL || camera[0] == '\0' ? earlier.camera : camera,
                  .serial = serial,
                  .complaint = complaint,
                  .shutter = earlier.shutter,
                  .finder = earlier.finder,
                  .meter = earlier.meter,
                  .flash = earlier.flash,
                  .bellows = earlier.bellows,
                  .plan_of = earlier_job_id,
                  .agreed_cost = NAN};
    cw_status status =
        store_enter(bench, 0, err, "job \"%s\" taken in, planned after job %" PRId64, job.camera, earlier_job_id);
    if (status == CW_OK)
        status = store_leave(bench, 0, plan_job(bench, &job, &made, err), err);
    cw_job_free(&earlier);
    if (status == CW_OK)
        *id = made;
    return status;
}

/* ---- what differed ---- */

typedef struct {
    struct cw_difference *items;
    size_t count, capacity;
    void *held;
} differences;

enum { DIFFERENCES_MOST = 20000 };

static cw_status note(differences *found, int64_t step_id, const char *title, const char *text, cw_error *err)
{
    CW_TRY(cw_grow(&found->items, &found->capacity, found->count + 1, sizeof *found->items, DIFFERENCES_MOST,
                   "differences", err));
    struct cw_difference one = {step_id, store_keep(&found->held, title), store_keep(&found->held, text)};
    if (one.title == NULL || one.text == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to list the differences");
    found->items[found->count++] = one;
    return CW_OK;
}

/* What a person wrote, not what the program keeps for itself. */
static bool is_compared(const store_column *column)
{
    return (column->flags & STORE_CHANGE) != 0 && column->kind != STORE_INSTANT && column->kind != STORE_REF &&
           column->kind != STORE_REAL && column->kind != STORE_FOLDED && strcmp(column->name, "condition") != 0;
}

static void value_in_words(const json_t *value, char *out, size_t size)
{
    if (json_is_integer(value))
        snprintf(out, size, "%" PRId64, (int64_t)json_integer_value(value));
    else if (json_is_string(value) && json_string_value(value)[0] != '\0')
        snprintf(out, size, "\"%.400s\"", json_string_value(value));
    else
        snprintf(out, size, "nothing");
}

static cw_status compare(differences *found, const store_table *table, const json_t *now, const json_t *then,
                         int64_t step_id, const char *title, const char *before_text, cw_error *err)
{
    for (size_t i = 0; i < table->column_count; i++) {
        const store_column *column = &table->columns[i];
        if (!is_compared(column))
            continue;
        char is[420], was[420], text[1400];
        value_in_words(json_object_get(now, column->name), is, sizeof is);
        value_in_words(json_object_get(then, column->name), was, sizeof was);
        if (strcmp(is, was) == 0)
            continue;
        snprintf(text, sizeof text, "%s%s: %s, was %s", before_text, column->label, is, was);
        CW_TRY(note(found, step_id, title, text, err));
    }
    return CW_OK;
}

static cw_status compare_record(differences *found, const store_table *table, const void *record, const char *planned,
                                int64_t step_id, const char *title, const char *before_text, cw_error *err)
{
    json_error_t why;
    json_t *then = json_loads(planned, 0, &why), *now = record_json(table, record);
    cw_status status;
    if (then == NULL || now == NULL)
        status = cw_fail(err, CW_STORE, "what the plan said about \"%s\" cannot be read", title);
    else
        status = compare(found, table, now, then, step_id, title, before_text, err);
    json_decref(then);
    json_decref(now);
    return status;
}

/* The planned text of a row, kept in *held; "" when it was not planned. */
static cw_status planned_text(cw_bench *bench, const char *sql, int64_t id, void **held, const char **text,
                              cw_error *err)
{
    sqlite3_stmt *st;
    CW_TRY(store_prepare(bench, sql, STORE_VALUES(store_int(id)), &st, err));
    int code = sqlite3_step(st);
    cw_status status = CW_OK;
    *text = "";
    if (code == SQLITE_ROW)
        *text = store_keep(held, (const char *)sqlite3_column_text(st, 0));
    else if (code != SQLITE_DONE)
        status = store_fail(bench, code, "reading the plan", err);
    sqlite3_finalize(st);
    if (status == CW_OK && *text == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory to read the plan");
    return status;
}

static cw_status part_differences(cw_bench *bench, const cw_step *step, differences *found, cw_error *err)
{
    store_rows rows;
    void *held = NULL;
    CW_TRY(store_list(bench, &part_table, "WHERE step_id = ?1 ORDER BY id", STORE_VALUES(store_int(step->id)), &rows,
                      err));
    cw_status status = CW_OK;
    for (size_t i = 0; status == CW_OK && i < rows.count; i++) {
        const cw_part *part = &((const cw_part *)rows.items)[i];
        const char *planned;
        char text[CW_LINE_MOST + 80];
        status = planned_text(bench, "SELECT planned_json FROM part WHERE id = ?1", part->id, &held, &planned, err);
        if (status != CW_OK)
            break;
        snprintf(text, sizeof text, "%s: ", part->kind);
        if (planned[0] != '\0' && part->state != CW_PART_EXPECTED) {
            status = compare_record(found, &part_table, part, planned, step->id, step->title, text, err);
            continue;
        }
        snprintf(text, sizeof text, "%" PRId64 " x %s %s", part->pieces, part->kind,
                 planned[0] == '\0' ? "came off beside the plan" : "was expected and not found");
        status = note(found, step->id, step->title, text, err);
    }
    store_release(&held);
    store_release(&rows.held);
    return status;
}

static cw_status step_differences(cw_bench *bench, const cw_step *step, void **held, differences *found, cw_error *err)
{
    const char *planned;
    CW_TRY(planned_text(bench, "SELECT planned_json FROM step WHERE id = ?1", step->id, held, &planned, err));
    if (step->state == CW_STEP_PLANNED)
        return CW_OK; /* nobody has looked yet */
    if (step->state == CW_STEP_SKIPPED)
        return note(found, step->id, step->title, "was not needed here", err);
    if (planned[0] == '\0')
        CW_TRY(note(found, step->id, step->title, "was not in the plan", err));
    else
        CW_TRY(compare_record(found, &step_table, step, planned, step->id, step->title, "", err));
    return part_differences(bench, step, found, err);
}

cw_status cw_job_differences(cw_bench *bench, int64_t job_id, cw_difference_list *list, cw_error *err)
{
    store_rows rows;
    differences found = {0};
    void *held = NULL;
    CW_TRY(store_job_of(bench, &job_table, job_id, NULL, err));
    CW_TRY(
        store_list(bench, &step_table, "WHERE job_id = ?1 ORDER BY rank", STORE_VALUES(store_int(job_id)), &rows, err));
    int64_t planned;
    cw_status status = store_number(bench, "SELECT count(*) FROM step WHERE job_id = ?1 AND planned_json <> ''",
                                    STORE_VALUES(store_int(job_id)), &planned, err);
    for (size_t i = 0; status == CW_OK && planned > 0 && i < rows.count; i++)
        status = step_differences(bench, &((const cw_step *)rows.items)[i], &held, &found, err);
    store_release(&held);
    store_release(&rows.held);
    struct cw_difference *items = store_keep_items(&found.held, found.count, sizeof *items);
    if (status == CW_OK && items == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory to list the differences");
    if (status == CW_OK && found.count > 0)
        memcpy(items, found.items, found.count * sizeof *items);
    free(found.items);
    if (status != CW_OK) {
        store_release(&found.held);
        return status;
    }
    *list = (cw_difference_list){found.count, items, found.held};
    return CW_OK;
}

void cw_difference_list_free(cw_difference_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_difference_list){0};
}
