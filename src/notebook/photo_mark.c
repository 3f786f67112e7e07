/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <inttypes.h>
#include <math.h>

#include "notebook/photo.h"
#include "notebook/tables.h"

enum { MARKS_MOST = 999 };

#define PLACE(field) offsetof(cw_photo_mark, field)

static const store_column mark_columns[] = {
    {"id", "number", PLACE(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", PLACE(revision), STORE_INT, 0, NULL, 0},
    {"photo_id", "the photo", PLACE(photo_id), STORE_REF, STORE_ADD, NULL, 0},
    {"number", "the mark's number", PLACE(number), STORE_INT, STORE_BOTH, NULL, 0},
    {"x", "the place across", PLACE(x), STORE_REAL, STORE_BOTH, NULL, 0},
    {"y", "the place down", PLACE(y), STORE_REAL, STORE_BOTH, NULL, 0},
    {"text", "the text", PLACE(text), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"hook_deg", "the direction", PLACE(hook_deg), STORE_REAL, STORE_BOTH, NULL, 0},
    {"part_id", "the part", PLACE(part_id), STORE_REF, STORE_BOTH, NULL, 0},
};
const store_table photo_mark_table = {"photo_mark",          "mark",    mark_columns,    CW_COUNT(mark_columns),
                                      sizeof(cw_photo_mark), PLACE(id), PLACE(revision), PLACE(held)};

static cw_status check_mark(cw_bench *bench, const cw_photo_mark *mark, int64_t photo_id, int64_t job_id, cw_error *err)
{
    int64_t found;
    if (!(mark->x >= 0 && mark->x <= 1 && mark->y >= 0 && mark->y <= 1))
        return cw_fail(err, CW_INPUT, "a mark at (%g, %g) lies outside the picture; 0 to 1 from its left and top edge",
                       mark->x, mark->y);
    if (!isnan(mark->hook_deg) && !(mark->hook_deg >= 0 && mark->hook_deg < 360))
        return cw_fail(err, CW_INPUT, "a direction of %g degrees; 0 up to below 360, or none", mark->hook_deg);
    if (mark->number < 1 || mark->number > MARKS_MOST)
        return cw_fail(err, CW_INPUT, "there is no mark number %" PRId64 "; 1 to %d", mark->number, MARKS_MOST);
    CW_TRY(store_number(bench, "SELECT count(*) FROM photo_mark WHERE photo_id = ?1 AND number = ?2 AND id <> ?3",
                        STORE_VALUES(store_int(photo_id), store_int(mark->number), store_int(mark->id)), &found, err));
    if (found > 0)
        return cw_fail(err, CW_CONFLICT, "this photo has a mark %" PRId64 " already", mark->number);
    if (mark->part_id == 0)
        return CW_OK;
    CW_TRY(store_number(bench, "SELECT count(*) FROM part WHERE id = ?1 AND job_id = ?2",
                        STORE_VALUES(store_int(mark->part_id), store_int(job_id)), &found, err));
    if (found == 0)
        return cw_fail(err, CW_NOT_FOUND, "this job has no part with the id %" PRId64, mark->part_id);
    return CW_OK;
}

static cw_status add_mark(cw_bench *bench, const cw_photo_mark *mark, int64_t job_id, int64_t *id, cw_error *err)
{
    cw_photo_mark row = *mark;
    row.id = 0;
    if (row.number == 0)
        CW_TRY(store_number(bench, "SELECT coalesce(max(number), 0) + 1 FROM photo_mark WHERE photo_id = ?1",
                            STORE_VALUES(store_int(mark->photo_id)), &row.number, err));
    CW_TRY(check_mark(bench, &row, mark->photo_id, job_id, err));
    return store_add(bench, &photo_mark_table, &row, id, err);
}

cw_status cw_photo_mark_add(cw_bench *bench, const cw_photo_mark *mark, int64_t *id, cw_error *err)
{
    int64_t job_id, made = 0;
    CW_TRY(store_job_of(bench, &photo_table, mark->photo_id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "a mark put on photo %" PRId64, mark->photo_id));
    CW_TRY(store_leave(bench, job_id, add_mark(bench, mark, job_id, &made, err), err));
    *id = made;
    return CW_OK;
}

cw_status cw_photo_mark_get(cw_bench *bench, int64_t id, cw_photo_mark *mark, cw_error *err)
{
    return store_get(bench, &photo_mark_table, id, mark, err);
}

/* The photo a mark is on, and its job. */
static cw_status mark_home(cw_bench *bench, int64_t id, int64_t *photo_id, int64_t *job_id, cw_error *err)
{
    CW_TRY(store_number(bench, "SELECT photo_id FROM photo_mark WHERE id = ?1", STORE_VALUES(store_int(id)), photo_id,
                        err));
    if (*photo_id == 0)
        return cw_fail(err, CW_NOT_FOUND, "there is no mark %" PRId64 " on this bench", id);
    return store_job_of(bench, &photo_table, *photo_id, job_id, err);
}

static cw_status update_mark(cw_bench *bench, const cw_photo_mark *mark, int64_t photo_id, int64_t job_id,
                             cw_error *err)
{
    CW_TRY(check_mark(bench, mark, photo_id, job_id, err));
    return store_update(bench, &photo_mark_table, mark, err);
}

cw_status cw_photo_mark_update(cw_bench *bench, const cw_photo_mark *mark, cw_error *err)
{
    int64_t photo_id, job_id;
    CW_TRY(mark_home(bench, mark->id, &photo_id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "mark %" PRId64 " on photo %" PRId64 " edited", mark->number, photo_id));
    return store_leave(bench, job_id, update_mark(bench, mark, photo_id, job_id, err), err);
}

cw_status cw_photo_mark_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    int64_t photo_id, job_id;
    CW_TRY(mark_home(bench, id, &photo_id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "a mark taken off photo %" PRId64, photo_id));
    return store_leave(bench, job_id, store_delete(bench, &photo_mark_table, id, err), err);
}

void cw_photo_mark_free(cw_photo_mark *mark)
{
    if (mark == NULL)
        return;
    store_release(&mark->held);
    *mark = (cw_photo_mark){0};
}

cw_status cw_photo_mark_page(cw_bench *bench, int64_t photo_id, cw_photo_mark_list *list, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_list(bench, &photo_mark_table, "WHERE photo_id = ?1 ORDER BY number",
                      STORE_VALUES(store_int(photo_id)), &rows, err));
    *list = (cw_photo_mark_list){rows.count, rows.items, rows.held};
    return CW_OK;
}

void cw_photo_mark_list_free(cw_photo_mark_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_photo_mark_list){0};
}
