/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/step.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "notebook/tables.h"
#include "notebook/words.h"

#define PLACE(field) offsetof(cw_step, field)
#define NUMBER "(SELECT count(*) FROM step AS before WHERE before.job_id = step.job_id AND before.rank <= step.rank)"
#define PIECES_OUT "(SELECT coalesce(sum(pieces), 0) FROM part WHERE step_id = step.id AND state = 'out')"

static const store_column step_columns[] = {
    {"id", "number", PLACE(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", PLACE(revision), STORE_INT, 0, NULL, 0},
    {"job_id", "the job", PLACE(job_id), STORE_REF, STORE_ADD, NULL, 0},
    {NUMBER, "", PLACE(number), STORE_INT, 0, NULL, 0},
    {"title", "the title", PLACE(title), STORE_LINE, STORE_BOTH | STORE_REQUIRED, NULL, 0},
    {"came_off", "what came off", PLACE(came_off), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"held_by", "how it was held", PLACE(held_by), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"thread", "the direction of the thread", PLACE(thread), STORE_WORD, STORE_BOTH, words_thread, CW_THREAD_COUNT},
    {"orientation", "the orientation", PLACE(orientation), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"flies", "what can fly", PLACE(flies), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"tool", "the tool", PLACE(tool), STORE_LINE, STORE_BOTH, NULL, 0},
    {"lubricant_found", "the lubricant found", PLACE(lubricant_found), STORE_LINE, STORE_BOTH, NULL, 0},
    {"lubricant_to_use", "the lubricant to use", PLACE(lubricant_to_use), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"torque", "the torque", PLACE(torque), STORE_LINE, STORE_BOTH, NULL, 0},
    {"check_before_closing", "the check before closing", PLACE(check_before_closing), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"notes", "the notes", PLACE(notes), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"duration_s", "how long it took", PLACE(duration_s), STORE_REAL, STORE_BOTH, NULL, 0},
    {"state", "the state", PLACE(state), STORE_WORD, STORE_ADD, words_step_state, CW_STEP_STATE_COUNT},
    {"back_done", "checked off", PLACE(back_done), STORE_BOOL, STORE_ADD, NULL, 0},
    {"from_step_id", "the earlier step", PLACE(from_step_id), STORE_REF, STORE_ADD, NULL, 0},
    {"created_at", "instant", PLACE(created_at), STORE_INSTANT, STORE_ADD, NULL, 0},
    {"changed_at", "instant", PLACE(changed_at), STORE_INSTANT, STORE_BOTH, NULL, 0},
    {"(SELECT count(*) FROM photo WHERE step_id = step.id)", "", PLACE(photo_count), STORE_INT, 0, NULL, 0},
    {"(SELECT count(*) FROM part WHERE step_id = step.id)", "", PLACE(part_count), STORE_INT, 0, NULL, 0},
    {PIECES_OUT, "", PLACE(pieces_out), STORE_INT, 0, NULL, 0},
};
const store_table step_table = {"step",          "step",    step_columns,    CW_COUNT(step_columns),
                                sizeof(cw_step), PLACE(id), PLACE(revision), PLACE(held)};

/* ---- where a step stands: ranks with gaps ---- */

enum { RANK_GAP = 1024 };

static cw_status spread_ranks(cw_bench *bench, int64_t job_id, cw_error *err)
{
    return store_run(bench,
                     "UPDATE step SET rank = placed.place * ?2 FROM (SELECT id, row_number() OVER (ORDER BY rank) AS "
                     "place FROM step WHERE job_id = ?1) AS placed WHERE step.id = placed.id",
                     STORE_VALUES(store_int(job_id), store_int(RANK_GAP)), err);
}

/* The neighbours of the place behind `after` (0: the end, -1: the beginning). *above 0: none. */
static cw_status find_gap(cw_bench *bench, int64_t job_id, int64_t after, int64_t *below, int64_t *above, cw_error *err)
{
    if (after == 0) {
        *above = 0;
        return store_number(bench, "SELECT max(rank) FROM step WHERE job_id = ?1", STORE_VALUES(store_int(job_id)),
                            below, err);
    }
    *below = 0;
    if (after > 0)
        CW_TRY(store_number(bench, "SELECT rank FROM step WHERE id = ?1 AND job_id = ?2",
                            STORE_VALUES(store_int(after), store_int(job_id)), below, err));
    if (after > 0 && *below == 0)
        return cw_fail(err, CW_NOT_FOUND, "there is no step %" PRId64 " in this job to go behind", after);
    return store_number(bench, "SELECT min(rank) FROM step WHERE job_id = ?1 AND rank > ?2",
                        STORE_VALUES(store_int(job_id), store_int(*below)), above, err);
}

cw_status step_rank_behind(cw_bench *bench, int64_t job_id, int64_t after, int64_t *rank, cw_error *err)
{
    int64_t below, above;
    CW_TRY(find_gap(bench, job_id, after, &below, &above, err));
    if (above != 0 && above - below < 2) {
        CW_TRY(spread_ranks(bench, job_id, err));
        CW_TRY(find_gap(bench, job_id, after, &below, &above, err));
    }
    *rank = above == 0 ? below + RANK_GAP : below + (above - below) / 2;
    return CW_OK;
}

/* ---- one step ---- */

/* The first thing that comes off takes a job apart. */
cw_status step_takes_apart(cw_bench *bench, int64_t job_id, cw_error *err)
{
    return store_run(bench, "UPDATE job SET stage = 'apart', revision = ?1 WHERE id = ?2 AND stage = 'taken-in'",
                     STORE_VALUES(store_int(bench->change_id), store_int(job_id)), err);
}

cw_status step_insert(cw_bench *bench, const cw_step *step, int64_t after, const char *planned_json, int64_t *id,
                      cw_error *err)
{
    int64_t rank;
    char now[32];
    store_now(now);
    cw_step row = *step;
    row.created_at = row.changed_at = now;
    CW_TRY(store_job_of(bench, &job_table, step->job_id, NULL, err));
    CW_TRY(step_rank_behind(bench, step->job_id, after, &rank, err));
    CW_TRY(store_add_with(bench, &step_table, &row, ",rank,planned_json",
                          STORE_VALUES(store_int(rank), store_text(planned_json)), id, err));
    return step->state == CW_STEP_DONE ? step_takes_apart(bench, step->job_id, err) : CW_OK;
}

cw_status cw_step_add(cw_bench *bench, const cw_step *step, int64_t after_step_id, int64_t *id, cw_error *err)
{
    int64_t made = 0;
    cw_step row = *step;
    row.back_done = false;
    row.from_step_id = 0;
    CW_TRY(store_enter(bench, step->job_id, err, "step \"%s\" added", step->title == NULL ? "" : step->title));
    CW_TRY(store_leave(bench, step->job_id, step_insert(bench, &row, after_step_id, "", &made, err), err));
    *id = made;
    return CW_OK;
}

cw_status cw_step_get(cw_bench *bench, int64_t id, cw_step *step, cw_error *err)
{
    return store_get(bench, &step_table, id, step, err);
}

void cw_step_free(cw_step *step)
{
    if (step == NULL)
        return;
    store_release(&step->held);
    *step = (cw_step){0};
}

cw_status cw_step_update(cw_bench *bench, const cw_step *step, cw_error *err)
{
    int64_t job_id;
    char now[32];
    store_now(now);
    cw_step row = *step;
    row.changed_at = now;
    CW_TRY(store_job_of(bench, &step_table, step->id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "step \"%s\" edited", step->title == NULL ? "" : step->title));
    return store_leave(bench, job_id, store_update(bench, &step_table, &row, err), err);
}

static cw_status reorder(cw_bench *bench, int64_t job_id, int64_t id, int64_t after, cw_error *err)
{
    int64_t rank;
    if (after == id)
        return CW_OK;
    CW_TRY(step_rank_behind(bench, job_id, after, &rank, err));
    return store_run(bench, "UPDATE step SET rank = ?1, revision = ?2 WHERE id = ?3",
                     STORE_VALUES(store_int(rank), store_int(bench->change_id), store_int(id)), err);
}

cw_status cw_step_reorder(cw_bench *bench, int64_t id, int64_t after_step_id, cw_error *err)
{
    cw_step step;
    CW_TRY(cw_step_get(bench, id, &step, err));
    int64_t job_id = step.job_id;
    cw_status status = store_enter(bench, job_id, err, "step \"%s\" moved", step.title);
    if (status == CW_OK)
        status = store_leave(bench, job_id, reorder(bench, job_id, id, after_step_id, err), err);
    cw_step_free(&step);
    return status;
}

static cw_status delete_step(cw_bench *bench, const cw_step *step, cw_error *err)
{
    static const char *const statements[] = {
        "UPDATE photo_mark SET part_id = NULL, revision = ?2 WHERE part_id IN (SELECT id FROM part WHERE step_id = ?1 "
        "AND "
        "state = 'expected')",
        "UPDATE photo SET part_id = NULL, revision = ?2 WHERE part_id IN (SELECT id FROM part WHERE step_id = ?1 AND "
        "state = 'expected')",
        "DELETE FROM part WHERE step_id = ?1 AND state = 'expected'",
        "UPDATE part SET step_id = NULL, revision = ?2 WHERE step_id = ?1",
        "UPDATE photo SET step_id = NULL, revision = ?2 WHERE step_id = ?1",
        "UPDATE thing SET step_id = NULL, revision = ?2 WHERE step_id = ?1",
    };
    if (step->pieces_out > 0)
        return cw_fail(err, CW_CONFLICT,
                       step->pieces_out == 1
                           ? "the step \"%s\" still has %" PRId64 " piece out; put it back or move it to another step "
                             "first, or it would be forgotten"
                           : "the step \"%s\" still has %" PRId64 " pieces out; put them back or move them to another "
                             "step first, or they would be forgotten",
                       step->title, step->pieces_out);
    for (size_t i = 0; i < CW_COUNT(statements); i++)
        CW_TRY(store_run(bench, statements[i], STORE_VALUES(store_int(step->id), store_int(bench->change_id)), err));
    return store_delete(bench, &step_table, step->id, err);
}

cw_status cw_step_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    cw_step step;
    CW_TRY(cw_step_get(bench, id, &step, err));
    int64_t job_id = step.job_id;
    cw_status status = store_enter(bench, job_id, err, "step \"%s\" deleted", step.title);
    if (status == CW_OK)
        status = store_leave(bench, job_id, delete_step(bench, &step, err), err);
    cw_step_free(&step);
    return status;
}

/* ---- splitting ---- */

/* Moves one row of part or photo from step to step; it must belong there. */
static cw_status hand_over(cw_bench *bench, const char *table, int64_t row, int64_t from, int64_t to, cw_error *err)
{
    char sql[128];
    snprintf(sql, sizeof sql, "UPDATE %s SET step_id = ?1, revision = ?2 WHERE id = ?3 AND step_id = ?4", table);
    CW_TRY(store_run(bench, sql,
                     STORE_VALUES(store_int(to), store_int(bench->change_id), store_int(row), store_int(from)), err));
    if (sqlite3_changes(bench->db) == 0)
        return cw_fail(err, CW_NOT_FOUND, "%s %" PRId64 " is not in the step to be split", table, row);
    return CW_OK;
}

typedef struct {
    const char *title;
    const int64_t *part_ids, *photo_ids;
    size_t part_count, photo_count;
} split_plan;

static cw_status split_step(cw_bench *bench, const cw_step *step, const split_plan *plan, int64_t *new_id,
                            cw_error *err)
{
    cw_step second = {.job_id = step->job_id,
                      .title = plan->title,
                      .state = step->state,
                      .back_done = step->back_done,
                      .duration_s = NAN};
    CW_TRY(step_insert(bench, &second, step->id, "", new_id, err));
    for (size_t i = 0; i < plan->part_count; i++)
        CW_TRY(hand_over(bench, "part", plan->part_ids[i], step->id, *new_id, err));
    for (size_t i = 0; i < plan->photo_count; i++)
        CW_TRY(hand_over(bench, "photo", plan->photo_ids[i], step->id, *new_id, err));
    return CW_OK;
}

cw_status cw_step_split(cw_bench *bench, int64_t id, const char *title, const int64_t *part_ids, size_t part_count,
                        const int64_t *photo_ids, size_t photo_count, int64_t *new_id, cw_error *err)
{
    cw_step step;
    int64_t made = 0;
    split_plan plan = {title, part_ids, photo_ids, part_count, photo_count};
    CW_TRY(cw_step_get(bench, id, &step, err));
    int64_t job_id = step.job_id;
    cw_status status = store_enter(bench, job_id, err, "step \"%s\" split", step.title);
    if (status == CW_OK)
        status = store_leave(bench, job_id, split_step(bench, &step, &plan, &made, err), err);
    cw_step_free(&step);
    if (status == CW_OK)
        *new_id = made;
    return status;
}

/* ---- planned steps, and the way together ---- */

static cw_status set_state(cw_bench *bench, const cw_step *step, cw_step_state state, int64_t tray_id, cw_error *err)
{
    if (step->state == CW_STEP_DONE)
        return cw_fail(err, CW_CONFLICT, "the step \"%s\" is done already", step->title);
    CW_TRY(store_run(
        bench, "UPDATE step SET state = ?1, revision = ?2 WHERE id = ?3",
        STORE_VALUES(store_text(words_step_state[state]), store_int(bench->change_id), store_int(step->id)), err));
    if (state != CW_STEP_DONE)
        return CW_OK;
    if (tray_id != 0)
        CW_TRY(tray_of_job(bench, tray_id, step->job_id, err));
    CW_TRY(store_run(bench,
                     "UPDATE part SET state = 'out', tray_id = coalesce(?1, tray_id), revision = ?2 WHERE step_id = ?3 "
                     "AND state = 'expected'",
                     STORE_VALUES(store_ref(tray_id), store_int(bench->change_id), store_int(step->id)), err));
    return step_takes_apart(bench, step->job_id, err);
}

static cw_status change_state(cw_bench *bench, int64_t id, cw_step_state state, int64_t tray_id, cw_error *err)
{
    cw_step step;
    CW_TRY(cw_step_get(bench, id, &step, err));
    int64_t job_id = step.job_id;
    cw_status status =
        store_enter(bench, job_id, err, "step \"%s\" %s", step.title, state == CW_STEP_DONE ? "done" : "skipped");
    if (status == CW_OK)
        status = store_leave(bench, job_id, set_state(bench, &step, state, tray_id, err), err);
    cw_step_free(&step);
    return status;
}

cw_status cw_step_tick(cw_bench *bench, int64_t id, int64_t tray_id, cw_error *err)
{
    return change_state(bench, id, CW_STEP_DONE, tray_id, err);
}

cw_status cw_step_skip(cw_bench *bench, int64_t id, cw_error *err)
{
    return change_state(bench, id, CW_STEP_SKIPPED, 0, err);
}

static cw_status put_back(cw_bench *bench, const cw_step *step, bool done, bool with_parts, cw_error *err)
{
    if (step->state != CW_STEP_DONE)
        return cw_fail(err, CW_CONFLICT, "the step \"%s\" was never done; there is nothing to put back", step->title);
    CW_TRY(store_run(bench, "UPDATE step SET back_done = ?1, revision = ?2 WHERE id = ?3",
                     STORE_VALUES(store_int(done), store_int(bench->change_id), store_int(step->id)), err));
    if (!with_parts)
        return CW_OK;
    return store_run(bench, "UPDATE part SET state = ?1, revision = ?2 WHERE step_id = ?3 AND state = ?4",
                     STORE_VALUES(store_text(done ? "back" : "out"), store_int(bench->change_id), store_int(step->id),
                                  store_text(done ? "out" : "back")),
                     err);
}

cw_status cw_step_back(cw_bench *bench, int64_t id, bool done, bool with_parts, cw_error *err)
{
    cw_step step;
    CW_TRY(cw_step_get(bench, id, &step, err));
    int64_t job_id = step.job_id;
    cw_status status = store_enter(bench, job_id, err, "step \"%s\" %s", step.title,
                                   done ? "checked off on the way together" : "reopened");
    if (status == CW_OK)
        status = store_leave(bench, job_id, put_back(bench, &step, done, with_parts, err), err);
    cw_step_free(&step);
    return status;
}

/* ---- lists ---- */

cw_status cw_step_page(cw_bench *bench, int64_t job_id, cw_step_order order, int64_t first, int64_t most,
                       cw_step_list *list, cw_error *err)
{
    bool together = order == CW_TOGETHER_ORDER;
    int64_t total;
    store_rows rows;
    CW_TRY(store_paging(first, most, 500, err));
    CW_TRY(store_number(bench, "SELECT count(*) FROM step WHERE job_id = ?1 AND (?2 = 0 OR state = 'done')",
                        STORE_VALUES(store_int(job_id), store_int(together)), &total, err));
    CW_TRY(store_list(bench, &step_table,
                      together ? "WHERE job_id = ?1 AND state = 'done' ORDER BY rank DESC LIMIT ?2 OFFSET ?3"
                               : "WHERE job_id = ?1 ORDER BY rank LIMIT ?2 OFFSET ?3",
                      STORE_VALUES(store_int(job_id), store_int(most), store_int(first)), &rows, err));
    *list = (cw_step_list){rows.count, rows.items, total, rows.held};
    return CW_OK;
}

void cw_step_list_free(cw_step_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_step_list){0};
}
