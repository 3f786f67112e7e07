/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/job.h"

#include <string.h>

#include "notebook/tables.h"
#include "notebook/words.h"

#define PLACE(field) offsetof(cw_job, field)
static const store_column job_columns[] = {
    {"id", "number", PLACE(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", PLACE(revision), STORE_INT, 0, NULL, 0},
    {"camera", "the camera", PLACE(camera), STORE_LINE, STORE_BOTH | STORE_REQUIRED, NULL, 0},
    {"serial", "the serial number or label", PLACE(serial), STORE_LINE, STORE_BOTH, NULL, 0},
    {"shutter", "the shutter", PLACE(shutter), STORE_WORD, STORE_BOTH, words_shutter, CW_JOB_SHUTTER_COUNT},
    {"finder", "the finder", PLACE(finder), STORE_WORD, STORE_BOTH, words_finder, CW_FINDER_COUNT},
    {"meter", "the meter", PLACE(meter), STORE_WORD, STORE_BOTH, words_meter, CW_METER_COUNT},
    {"flash", "the flash contact", PLACE(flash), STORE_WORD, STORE_BOTH, words_fitted, CW_FITTED_COUNT},
    {"bellows", "the bellows", PLACE(bellows), STORE_WORD, STORE_BOTH, words_fitted, CW_FITTED_COUNT},
    {"complaint", "the complaint", PLACE(complaint), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"owner", "the owner note", PLACE(owner), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"notes", "the notes", PLACE(notes), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"stage", "the stage", PLACE(stage), STORE_WORD, STORE_ADD, words_stage, CW_STAGE_COUNT},
    {"taken_in_on", "the day taken in", PLACE(taken_in_on), STORE_DAY, STORE_BOTH | STORE_TODAY, NULL, 0},
    {"handed_on_on", "the day handed on", PLACE(handed_on_on), STORE_DAY, STORE_BOTH, NULL, 0},
    {"plan_of", "the job it is planned after", PLACE(plan_of), STORE_REF, STORE_BOTH, NULL, 0},
    {"cover_photo_id", "the cover photo", PLACE(cover_photo_id), STORE_REF, STORE_BOTH, NULL, 0},
    {"agreed_cost", "the agreed cost", PLACE(agreed_cost), STORE_REAL, STORE_BOTH, NULL, 0},
    {"currency", "the currency", PLACE(currency), STORE_LINE, STORE_BOTH, NULL, 0},
    {"created_at", "instant", PLACE(created_at), STORE_INSTANT, STORE_ADD, NULL, 0},
    {"changed_at", "instant", PLACE(changed_at), STORE_INSTANT, STORE_ADD, NULL, 0},
    {"camera_key", "the camera's key", PLACE(camera), STORE_FOLDED, STORE_BOTH, NULL, 0},
};
const store_table job_table = {"job",          "job",     job_columns,     CW_COUNT(job_columns),
                               sizeof(cw_job), PLACE(id), PLACE(revision), PLACE(held)};

/* ---- one job ---- */

static cw_status add_job(cw_bench *bench, const cw_job *job, int64_t *id, cw_error *err)
{
    char now[32];
    store_now(now);
    cw_job row = *job;
    row.stage = CW_STAGE_TAKEN_IN;
    row.handed_on_on = "";
    row.created_at = row.changed_at = now;
    CW_TRY(store_add(bench, &job_table, &row, id, err));
    store_belongs_to(bench, *id);
    return CW_OK;
}

cw_status cw_job_add(cw_bench *bench, const cw_job *job, int64_t *id, cw_error *err)
{
    int64_t made = 0;
    const char *camera = job->camera == NULL ? "" : job->camera;
    CW_TRY(store_enter(bench, 0, err, "job \"%s\" taken in", camera));
    CW_TRY(store_leave(bench, 0, add_job(bench, job, &made, err), err));
    *id = made;
    return CW_OK;
}

cw_status cw_job_get(cw_bench *bench, int64_t id, cw_job *job, cw_error *err)
{
    return store_get(bench, &job_table, id, job, err);
}

cw_status cw_job_update(cw_bench *bench, const cw_job *job, cw_error *err)
{
    CW_TRY(store_enter(bench, job->id, err, "job \"%s\" edited", job->camera == NULL ? "" : job->camera));
    return store_leave(bench, job->id, store_update(bench, &job_table, job, err), err);
}

void cw_job_free(cw_job *job)
{
    if (job == NULL)
        return;
    store_release(&job->held);
    *job = (cw_job){0};
}

/* Children before parents: no cascade in the schema, so that an undo brings each row back exactly once. */
static cw_status delete_job(cw_bench *bench, int64_t id, cw_error *err)
{
    static const char *const statements[] = {
        "UPDATE job SET plan_of = NULL WHERE plan_of = ?1",
        "DELETE FROM reading WHERE test_id IN (SELECT id FROM test WHERE job_id = ?1)",
        "DELETE FROM test_version WHERE test_id IN (SELECT id FROM test WHERE job_id = ?1)",
        "DELETE FROM test WHERE job_id = ?1",
        "DELETE FROM saved_sheet WHERE job_id = ?1",
        "DELETE FROM cost WHERE job_id = ?1",
        "DELETE FROM checklist_item WHERE checklist_id IN (SELECT id FROM checklist WHERE job_id = ?1)",
        "DELETE FROM checklist WHERE job_id = ?1",
        "DELETE FROM film_frame WHERE job_id = ?1",
        "DELETE FROM left_out WHERE job_id = ?1",
        "UPDATE tool SET made_for_job_id = NULL WHERE made_for_job_id = ?1",
        "DELETE FROM block WHERE job_id = ?1",
        "DELETE FROM thing WHERE job_id = ?1",
        "DELETE FROM photo_mark WHERE photo_id IN (SELECT id FROM photo WHERE job_id = ?1)",
        "DELETE FROM photo WHERE job_id = ?1",
        "DELETE FROM part WHERE job_id = ?1",
        "DELETE FROM tray WHERE job_id = ?1",
        "DELETE FROM step WHERE job_id = ?1",
        "DELETE FROM job WHERE id = ?1",
    };
    for (size_t i = 0; i < CW_COUNT(statements); i++)
        CW_TRY(store_run(bench, statements[i], STORE_VALUES(store_int(id)), err));
    return CW_OK;
}

cw_status cw_job_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    cw_job job;
    CW_TRY(cw_job_get(bench, id, &job, err));
    cw_status status = store_enter(bench, id, err, "job %lld \"%s\" deleted", (long long)id, job.camera);
    if (status == CW_OK)
        status = store_leave(bench, id, delete_job(bench, id, err), err);
    cw_job_free(&job);
    return status;
}

/* ---- lists ---- */

#define CARD(field) offsetof(cw_job_card, field)
static const store_column card_columns[] = {
    {"job.id", "", CARD(id), STORE_INT, 0, NULL, 0},
    {"camera", "", CARD(camera), STORE_LINE, 0, NULL, 0},
    {"serial", "", CARD(serial), STORE_LINE, 0, NULL, 0},
    {"complaint", "", CARD(complaint), STORE_NOTE, 0, NULL, 0},
    {"taken_in_on", "", CARD(taken_in_on), STORE_DAY, 0, NULL, 0},
    {"changed_at", "", CARD(changed_at), STORE_INSTANT, 0, NULL, 0},
    {"stage", "", CARD(stage), STORE_WORD, 0, words_stage, CW_STAGE_COUNT},
    {"shutter", "", CARD(shutter), STORE_WORD, 0, words_shutter, CW_JOB_SHUTTER_COUNT},
    {"(SELECT count(*) FROM step WHERE job_id = job.id)", "", CARD(step_count), STORE_INT, 0, NULL, 0},
    {"(SELECT count(*) FROM photo WHERE job_id = job.id)", "", CARD(photo_count), STORE_INT, 0, NULL, 0},
    {"(SELECT count(*) FROM test WHERE job_id = job.id)", "", CARD(test_count), STORE_INT, 0, NULL, 0},
    {"(SELECT coalesce(sum(pieces), 0) FROM part WHERE job_id = job.id AND state = 'out')", "", CARD(pieces_out),
     STORE_INT, 0, NULL, 0},
    {"coalesce(cover_photo_id, (SELECT min(id) FROM photo WHERE job_id = job.id), 0)", "", CARD(cover_photo_id),
     STORE_INT, 0, NULL, 0},
};
static const store_table card_table = {"job",    "job",    card_columns, CW_COUNT(card_columns), sizeof(cw_job_card),
                                       CARD(id), SIZE_MAX, SIZE_MAX};

/* The stages asked for as a list of words for IN (...); our own words only. */
static void stage_condition(unsigned stages, cw_buf *sql)
{
    if (stages == 0)
        return;
    const char *separator = "";
    cw_buf_text(sql, " AND stage IN (");
    for (int i = 0; i < CW_STAGE_COUNT; i++)
        if ((stages >> i & 1u) != 0) {
            cw_buf_printf(sql, "%s'%s'", separator, words_stage[i]);
            separator = ",";
        }
    cw_buf_text(sql, ")");
}

static const char *order_of(cw_job_order order)
{
    switch (order) {
    case CW_JOBS_TAKEN_IN:
        return "taken_in_on DESC, id DESC";
    case CW_JOBS_CAMERA:
        return "camera_key, serial, id";
    case CW_JOBS_NEWEST_CHANGE:
        break;
    }
    return "changed_at DESC, id DESC";
}

static cw_status list_jobs(cw_bench *bench, const cw_job_filter *filter, const char *where, cw_job_list *list,
                           cw_error *err)
{
    char key[CW_LINE_MOST + 1], sql[1024];
    store_rows rows;
    int64_t total;
    store_fold(filter->camera == NULL ? "" : filter->camera, key);
    snprintf(sql, sizeof sql, "SELECT count(*) FROM job %s", where);
    CW_TRY(store_number(bench, sql, STORE_VALUES(store_text(key)), &total, err));
    snprintf(sql, sizeof sql, "%s ORDER BY %s LIMIT ?2 OFFSET ?3", where, order_of(filter->order));
    CW_TRY(store_list(bench, &card_table, sql,
                      STORE_VALUES(store_text(key), store_int(filter->most), store_int(filter->first)), &rows, err));
    *list = (cw_job_list){rows.count, rows.items, total, rows.held};
    return CW_OK;
}

cw_status cw_job_page(cw_bench *bench, const cw_job_filter *filter, cw_job_list *list, cw_error *err)
{
    CW_TRY(store_paging(filter->first, filter->most, 500, err));
    if (filter->stages >> CW_STAGE_COUNT != 0)
        return cw_fail(err, CW_INPUT, "there are only %d stages; the filter asks for more", CW_STAGE_COUNT);
    bool any = filter->camera == NULL || filter->camera[0] == '\0';
    cw_buf where = cw_buf_new(512);
    cw_buf_printf(&where, "WHERE (?1 = ?1%s)", any ? "" : " AND camera_key = ?1");
    stage_condition(filter->stages, &where);
    cw_status status = cw_buf_check(&where, "a filter", err);
    if (status == CW_OK)
        status = list_jobs(bench, filter, where.text, list, err);
    cw_buf_free(&where);
    return status;
}

void cw_job_list_free(cw_job_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_job_list){0};
}

cw_status cw_job_stage_counts(cw_bench *bench, int64_t counts[CW_STAGE_COUNT], cw_error *err)
{
    int64_t found[CW_STAGE_COUNT];
    for (int i = 0; i < CW_STAGE_COUNT; i++)
        CW_TRY(store_number(bench, "SELECT count(*) FROM job WHERE stage = ?1",
                            STORE_VALUES(store_text(words_stage[i])), &found[i], err));
    memcpy(counts, found, sizeof found);
    return CW_OK;
}

#define KIND(field) offsetof(struct cw_camera_kind, field)
static const store_column kind_columns[] = {
    {"camera", "", KIND(camera), STORE_LINE, 0, NULL, 0},
    {"count(*)", "", KIND(jobs), STORE_INT, 0, NULL, 0},
};
static const store_table kind_table = {
    "job", "camera", kind_columns, CW_COUNT(kind_columns), sizeof(struct cw_camera_kind), 0, SIZE_MAX, SIZE_MAX};

cw_status cw_camera_kinds(cw_bench *bench, int64_t most, cw_camera_list *list, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_paging(0, most, 500, err));
    CW_TRY(store_list(bench, &kind_table, "GROUP BY camera_key ORDER BY count(*) DESC, camera_key LIMIT ?1",
                      STORE_VALUES(store_int(most)), &rows, err));
    *list = (cw_camera_list){rows.count, rows.items, rows.held};
    return CW_OK;
}

void cw_camera_list_free(cw_camera_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_camera_list){0};
}
