/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <inttypes.h>

#include "notebook/step.h"
#include "notebook/tables.h"

enum { TRAYS_MOST = 500, NUMBER_MOST = 9999 };

#define PLACE(field) offsetof(cw_tray, field)
#define PIECES_OUT "(SELECT coalesce(sum(pieces), 0) FROM part WHERE tray_id = tray.id AND state = 'out')"

static const store_column tray_columns[] = {
    {"id", "number", PLACE(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", PLACE(revision), STORE_INT, 0, NULL, 0},
    {"job_id", "the job", PLACE(job_id), STORE_REF, STORE_ADD, NULL, 0},
    {"number", "the tray's number", PLACE(number), STORE_INT, STORE_BOTH, NULL, 0},
    {"label", "the label", PLACE(label), STORE_LINE, STORE_BOTH, NULL, 0},
    {"put_away", "put away", PLACE(put_away), STORE_BOOL, STORE_BOTH, NULL, 0},
    {"(SELECT count(*) FROM part WHERE tray_id = tray.id)", "", PLACE(part_count), STORE_INT, 0, NULL, 0},
    {PIECES_OUT, "", PLACE(pieces_out), STORE_INT, 0, NULL, 0},
};
const store_table tray_table = {"tray",          "tray",    tray_columns,    CW_COUNT(tray_columns),
                                sizeof(cw_tray), PLACE(id), PLACE(revision), PLACE(held)};

cw_status tray_of_job(cw_bench *bench, int64_t tray_id, int64_t job_id, cw_error *err)
{
    int64_t found;
    CW_TRY(store_number(bench, "SELECT count(*) FROM tray WHERE id = ?1 AND job_id = ?2",
                        STORE_VALUES(store_int(tray_id), store_int(job_id)), &found, err));
    if (found == 0)
        return cw_fail(err, CW_NOT_FOUND, "this job has no tray with the id %" PRId64, tray_id);
    return CW_OK;
}

/* The lowest number that stands on no tray of this job nor of any job still open: two cameras apart at the same time
 * share one shelf. */
static cw_status free_number(cw_bench *bench, int64_t job_id, int64_t *number, cw_error *err)
{
    static const char sql[] =
        "WITH used AS (SELECT number FROM tray JOIN job ON job.id = tray.job_id WHERE tray.job_id = ?1 OR job.stage IN "
        "('taken-in', 'apart', 'mended')) "
        "SELECT min(number) FROM (SELECT 1 AS number UNION SELECT number + 1 FROM used) WHERE number NOT IN used";
    return store_number(bench, sql, STORE_VALUES(store_int(job_id)), number, err);
}

static cw_status check_number(cw_bench *bench, int64_t job_id, int64_t number, int64_t own_id, cw_error *err)
{
    int64_t taken;
    if (number < 1 || number > NUMBER_MOST)
        return cw_fail(err, CW_INPUT, "there is no tray number %" PRId64 "; 1 to %d", number, NUMBER_MOST);
    CW_TRY(store_number(bench, "SELECT count(*) FROM tray WHERE job_id = ?1 AND number = ?2 AND id <> ?3",
                        STORE_VALUES(store_int(job_id), store_int(number), store_int(own_id)), &taken, err));
    if (taken > 0)
        return cw_fail(err, CW_CONFLICT, "this job has a tray %" PRId64 " already", number);
    return CW_OK;
}

static cw_status add_tray(cw_bench *bench, const cw_tray *tray, int64_t *id, cw_error *err)
{
    int64_t there;
    cw_tray row = *tray;
    CW_TRY(store_job_of(bench, &job_table, tray->job_id, NULL, err));
    CW_TRY(store_number(bench, "SELECT count(*) FROM tray WHERE job_id = ?1", STORE_VALUES(store_int(tray->job_id)),
                        &there, err));
    if (there >= TRAYS_MOST)
        return cw_fail(err, CW_RANGE, "this job has %d trays already, the most one job can have", TRAYS_MOST);
    if (row.number == 0)
        CW_TRY(free_number(bench, row.job_id, &row.number, err));
    CW_TRY(check_number(bench, row.job_id, row.number, 0, err));
    return store_add(bench, &tray_table, &row, id, err);
}

cw_status cw_tray_add(cw_bench *bench, const cw_tray *tray, int64_t *id, cw_error *err)
{
    int64_t made = 0;
    CW_TRY(store_enter(bench, tray->job_id, err, "a tray added"));
    CW_TRY(store_leave(bench, tray->job_id, add_tray(bench, tray, &made, err), err));
    *id = made;
    return CW_OK;
}

cw_status cw_tray_get(cw_bench *bench, int64_t id, cw_tray *tray, cw_error *err)
{
    return store_get(bench, &tray_table, id, tray, err);
}

static cw_status update_tray(cw_bench *bench, const cw_tray *tray, int64_t job_id, cw_error *err)
{
    CW_TRY(check_number(bench, job_id, tray->number, tray->id, err));
    return store_update(bench, &tray_table, tray, err);
}

cw_status cw_tray_update(cw_bench *bench, const cw_tray *tray, cw_error *err)
{
    int64_t job_id;
    CW_TRY(store_job_of(bench, &tray_table, tray->id, &job_id, err));
    CW_TRY(
        store_enter(bench, job_id, err, "tray %" PRId64 " %s", tray->number, tray->put_away ? "put away" : "edited"));
    return store_leave(bench, job_id, update_tray(bench, tray, job_id, err), err);
}

static cw_status delete_tray(cw_bench *bench, int64_t id, cw_error *err)
{
    cw_tray tray;
    CW_TRY(cw_tray_get(bench, id, &tray, err));
    int64_t number = tray.number, inside = tray.pieces_out;
    cw_tray_free(&tray);
    if (inside > 0)
        return cw_fail(err, CW_CONFLICT,
                       inside == 1 ? "%" PRId64 " piece still lies in tray %" PRId64 "; put it elsewhere first"
                                   : "%" PRId64 " pieces still lie in tray %" PRId64 "; put them elsewhere first",
                       inside, number);
    CW_TRY(store_run(bench, "UPDATE part SET tray_id = NULL, revision = ?2 WHERE tray_id = ?1",
                     STORE_VALUES(store_int(id), store_int(bench->change_id)), err));
    return store_delete(bench, &tray_table, id, err);
}

cw_status cw_tray_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    int64_t job_id;
    CW_TRY(store_job_of(bench, &tray_table, id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "a tray taken away"));
    return store_leave(bench, job_id, delete_tray(bench, id, err), err);
}

void cw_tray_free(cw_tray *tray)
{
    if (tray == NULL)
        return;
    store_release(&tray->held);
    *tray = (cw_tray){0};
}

cw_status cw_tray_page(cw_bench *bench, int64_t job_id, cw_tray_list *list, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_list(bench, &tray_table, "WHERE job_id = ?1 ORDER BY number", STORE_VALUES(store_int(job_id)), &rows,
                      err));
    *list = (cw_tray_list){rows.count, rows.items, rows.held};
    return CW_OK;
}

void cw_tray_list_free(cw_tray_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_tray_list){0};
}

static cw_status find_or_add(cw_bench *bench, int64_t job_id, int64_t number, int64_t *id, cw_error *err)
{
    CW_TRY(store_number(bench, "SELECT id FROM tray WHERE job_id = ?1 AND number = ?2",
                        STORE_VALUES(store_int(job_id), store_int(number)), id, err));
    if (*id != 0)
        return CW_OK;
    if (number == 0)
        return cw_fail(err, CW_INPUT, "there is no tray number 0; 1 to %d", NUMBER_MOST);
    return add_tray(bench, &(cw_tray){.job_id = job_id, .number = number}, id, err);
}

cw_status cw_tray_numbered(cw_bench *bench, int64_t job_id, int64_t number, int64_t *id, cw_error *err)
{
    int64_t found = 0;
    CW_TRY(store_enter(bench, job_id, err, "tray %" PRId64 " added", number));
    CW_TRY(store_leave(bench, job_id, find_or_add(bench, job_id, number, &found, err), err));
    *id = found;
    return CW_OK;
}
