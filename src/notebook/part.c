/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <inttypes.h>
#include <string.h>

#include "notebook/job.h"
#include "notebook/step.h"
#include "notebook/tables.h"
#include "notebook/words.h"

enum { PIECES_MOST = 9999 };

#define PLACE(field) offsetof(cw_part, field)

static const store_column part_columns[] = {
    {"id", "number", PLACE(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", PLACE(revision), STORE_INT, 0, NULL, 0},
    {"job_id", "the job", PLACE(job_id), STORE_REF, STORE_ADD, NULL, 0},
    {"step_id", "the step", PLACE(step_id), STORE_REF, STORE_BOTH, NULL, 0},
    {"tray_id", "the tray", PLACE(tray_id), STORE_REF, STORE_BOTH, NULL, 0},
    {"(SELECT number FROM tray WHERE tray.id = part.tray_id)", "", PLACE(tray_number), STORE_INT, 0, NULL, 0},
    {"kind", "the kind of part", PLACE(kind), STORE_LINE, STORE_BOTH | STORE_REQUIRED, NULL, 0},
    {"pieces", "the number of pieces", PLACE(pieces), STORE_INT, STORE_BOTH, NULL, 0},
    {"size", "the size", PLACE(size), STORE_LINE, STORE_BOTH, NULL, 0},
    {"length", "the length", PLACE(length), STORE_LINE, STORE_BOTH, NULL, 0},
    {"sat", "where it sat", PLACE(sat), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"orientation", "the orientation", PLACE(orientation), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"condition", "the condition", PLACE(condition), STORE_WORD, STORE_BOTH, words_condition, CW_CONDITION_COUNT},
    {"state", "the state", PLACE(state), STORE_WORD, STORE_ADD, words_part_state, CW_PART_STATE_COUNT},
    {"reason", "the reason", PLACE(reason), STORE_NOTE, STORE_ADD, NULL, 0},
    {"notes", "the notes", PLACE(notes), STORE_NOTE, STORE_BOTH, NULL, 0},
};
const store_table part_table = {"part",          "part",    part_columns,    CW_COUNT(part_columns),
                                sizeof(cw_part), PLACE(id), PLACE(revision), PLACE(held)};

cw_status step_of_job(cw_bench *bench, int64_t step_id, int64_t job_id, cw_error *err)
{
    int64_t found;
    CW_TRY(store_number(bench, "SELECT count(*) FROM step WHERE id = ?1 AND job_id = ?2",
                        STORE_VALUES(store_int(step_id), store_int(job_id)), &found, err));
    if (found == 0)
        return cw_fail(err, CW_NOT_FOUND, "this job has no step with the id %" PRId64, step_id);
    return CW_OK;
}

/* A job that counts as together has nothing out: it has to be set back first. */
static cw_status check_job_is_open(cw_bench *bench, int64_t job_id, cw_error *err)
{
    int64_t closed;
    CW_TRY(store_number(bench,
                        "SELECT count(*) FROM job WHERE id = ?1 AND stage IN ('together', 'proved', 'handed-on')",
                        STORE_VALUES(store_int(job_id)), &closed, err));
    if (closed > 0)
        return cw_fail(err, CW_CONFLICT, "this job is together already; set it back to apart before a part comes out");
    return CW_OK;
}

static cw_status check_places(cw_bench *bench, const cw_part *part, int64_t job_id, cw_error *err)
{
    if (part->pieces < 1 || part->pieces > PIECES_MOST)
        return cw_fail(err, CW_INPUT, "%" PRId64 " pieces cannot be noted; 1 to %d", part->pieces, PIECES_MOST);
    if (part->step_id != 0)
        CW_TRY(step_of_job(bench, part->step_id, job_id, err));
    if (part->tray_id != 0)
        CW_TRY(tray_of_job(bench, part->tray_id, job_id, err));
    return CW_OK;
}

cw_status part_insert(cw_bench *bench, const cw_part *part, const char *planned_json, int64_t *id, cw_error *err)
{
    CW_TRY(store_job_of(bench, &job_table, part->job_id, NULL, err));
    CW_TRY(check_places(bench, part, part->job_id, err));
    if (part->state == CW_PART_OUT)
        CW_TRY(check_job_is_open(bench, part->job_id, err));
    CW_TRY(store_add_with(bench, &part_table, part, ",planned_json", STORE_VALUES(store_text(planned_json)), id, err));
    return part->state == CW_PART_OUT ? step_takes_apart(bench, part->job_id, err) : CW_OK;
}

static void pieces_in_words(const cw_part *part, char out[CW_LINE_MOST + 32])
{
    snprintf(out, CW_LINE_MOST + 32, "%" PRId64 " x %s", part->pieces, part->kind == NULL ? "" : part->kind);
}

cw_status cw_part_add(cw_bench *bench, const cw_part *part, int64_t *id, cw_error *err)
{
    int64_t made = 0;
    char what[CW_LINE_MOST + 32];
    if (part->state != CW_PART_EXPECTED && part->state != CW_PART_OUT)
        return cw_fail(err, CW_INPUT, "a part comes in as \"out\" or \"expected\", not as \"%s\"",
                       cw_part_state_name(part->state));
    pieces_in_words(part, what);
    CW_TRY(store_enter(bench, part->job_id, err, "%s came off", what));
    CW_TRY(store_leave(bench, part->job_id, part_insert(bench, part, "", &made, err), err));
    *id = made;
    return CW_OK;
}

cw_status cw_part_get(cw_bench *bench, int64_t id, cw_part *part, cw_error *err)
{
    return store_get(bench, &part_table, id, part, err);
}

static cw_status update_part(cw_bench *bench, const cw_part *part, int64_t job_id, cw_error *err)
{
    CW_TRY(check_places(bench, part, job_id, err));
    return store_update(bench, &part_table, part, err);
}

cw_status cw_part_update(cw_bench *bench, const cw_part *part, cw_error *err)
{
    int64_t job_id;
    char what[CW_LINE_MOST + 32];
    pieces_in_words(part, what);
    CW_TRY(store_job_of(bench, &part_table, part->id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "%s edited", what));
    return store_leave(bench, job_id, update_part(bench, part, job_id, err), err);
}

static cw_status delete_part(cw_bench *bench, int64_t id, cw_error *err)
{
    static const char *const statements[] = {
        "UPDATE photo_mark SET part_id = NULL, revision = ?2 WHERE part_id = ?1",
        "UPDATE photo SET part_id = NULL, revision = ?2 WHERE part_id = ?1",
    };
    for (size_t i = 0; i < CW_COUNT(statements); i++)
        CW_TRY(store_run(bench, statements[i], STORE_VALUES(store_int(id), store_int(bench->change_id)), err));
    return store_delete(bench, &part_table, id, err);
}

cw_status cw_part_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    cw_part part;
    char what[CW_LINE_MOST + 32];
    CW_TRY(cw_part_get(bench, id, &part, err));
    pieces_in_words(&part, what);
    int64_t job_id = part.job_id;
    cw_part_free(&part);
    CW_TRY(store_enter(bench, job_id, err, "%s deleted", what));
    return store_leave(bench, job_id, delete_part(bench, id, err), err);
}

void cw_part_free(cw_part *part)
{
    if (part == NULL)
        return;
    store_release(&part->held);
    *part = (cw_part){0};
}

/* ---- lists and counts ---- */

static void state_condition(unsigned states, cw_buf *sql)
{
    if (states == 0)
        return;
    const char *separator = "";
    cw_buf_text(sql, " AND state IN (");
    for (int i = 0; i < CW_PART_STATE_COUNT; i++)
        if ((states >> i & 1u) != 0) {
            cw_buf_printf(sql, "%s'%s'", separator, words_part_state[i]);
            separator = ",";
        }
    cw_buf_text(sql, ")");
}

static cw_status list_parts(cw_bench *bench, const cw_part_filter *filter, cw_buf *where, cw_part_list *list,
                            cw_error *err)
{
    store_value values[] = {store_int(filter->job_id), store_int(filter->step_id), store_int(filter->tray_id),
                            store_int(filter->most), store_int(filter->first)};
    char count[1024];
    int64_t total;
    store_rows rows;
    snprintf(count, sizeof count, "SELECT count(*) FROM part %s", cw_buf_string(where));
    CW_TRY(store_number(bench, count, values, 3, &total, err));
    cw_buf_text(where,
                " ORDER BY (SELECT rank FROM step WHERE step.id = part.step_id) NULLS LAST, id LIMIT ?4 OFFSET ?5");
    CW_TRY(cw_buf_check(where, "a filter", err));
    CW_TRY(store_list(bench, &part_table, where->text, values, CW_COUNT(values), &rows, err));
    *list = (cw_part_list){rows.count, rows.items, total, rows.held};
    return CW_OK;
}

cw_status cw_part_page(cw_bench *bench, const cw_part_filter *filter, cw_part_list *list, cw_error *err)
{
    CW_TRY(store_paging(filter->first, filter->most, 2000, err));
    if (filter->job_id == 0 && filter->step_id == 0 && filter->tray_id == 0)
        return cw_fail(err, CW_INPUT, "parts are listed by job, step or tray; none is named");
    if (filter->states >> CW_PART_STATE_COUNT != 0)
        return cw_fail(err, CW_INPUT, "there are only %d states of a part; the filter asks for more",
                       CW_PART_STATE_COUNT);
    cw_buf where = cw_buf_new(900);
    const char *separator = "WHERE ";
    const struct {
        int64_t id;
        const char *condition;
    } asked[] = {{filter->job_id, "job_id = ?1"}, {filter->step_id, "step_id = ?2"}, {filter->tray_id, "tray_id = ?3"}};
    for (size_t i = 0; i < CW_COUNT(asked); i++)
        if (asked[i].id != 0) {
            cw_buf_printf(&where, "%s%s", separator, asked[i].condition);
            separator = " AND ";
        }
    state_condition(filter->states, &where);
    cw_status status = list_parts(bench, filter, &where, list, err);
    cw_buf_free(&where);
    return status;
}

void cw_part_list_free(cw_part_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_part_list){0};
}

cw_status cw_part_counts(cw_bench *bench, int64_t job_id, cw_part_count *counts, cw_error *err)
{
    cw_part_count found = {0};
    sqlite3_stmt *st;
    CW_TRY(store_job_of(bench, &job_table, job_id, NULL, err));
    CW_TRY(store_prepare(bench, "SELECT state, sum(pieces), count(*) FROM part WHERE job_id = ?1 GROUP BY state",
                         STORE_VALUES(store_int(job_id)), &st, err));
    int code;
    while ((code = sqlite3_step(st)) == SQLITE_ROW) {
        int state;
        const char *word = (const char *)sqlite3_column_text(st, 0);
        for (state = 0; state < CW_PART_STATE_COUNT - 1 && strcmp(word, words_part_state[state]) != 0; state++)
            ;
        found.pieces[state] = sqlite3_column_int64(st, 1);
        if (state != CW_PART_EXPECTED)
            found.total += found.pieces[state];
        if (state == CW_PART_OUT)
            found.rows_out = sqlite3_column_int64(st, 2);
    }
    cw_status status = code == SQLITE_DONE ? CW_OK : store_fail(bench, code, "counting the parts", err);
    sqlite3_finalize(st);
    if (status != CW_OK)
        return status;
    found.all_accounted = found.pieces[CW_PART_OUT] == 0;
    *counts = found;
    return CW_OK;
}

/* ---- moving pieces ---- */

static cw_status split_off(cw_bench *bench, const cw_part *part, int64_t pieces, int64_t *moved_id, cw_error *err)
{
    CW_TRY(store_run(bench, "UPDATE part SET pieces = pieces - ?1, revision = ?2 WHERE id = ?3",
                     STORE_VALUES(store_int(pieces), store_int(bench->change_id), store_int(part->id)), err));
    cw_part second = *part;
    second.pieces = pieces;
    CW_TRY(part_insert(bench, &second, "", moved_id, err));
    /* What a plan said about the pieces is split in the same way, or every split would look like a difference. */
    CW_TRY(
        store_run(bench,
                  "UPDATE part SET planned_json = (SELECT json_set(planned_json, '$.pieces', ?1) FROM part WHERE id = "
                  "?2) WHERE id = ?3 AND (SELECT planned_json FROM part WHERE id = ?2) <> ''",
                  STORE_VALUES(store_int(pieces), store_int(part->id), store_int(*moved_id)), err));
    return store_run(bench,
                     "UPDATE part SET planned_json = json_set(planned_json, '$.pieces', json_extract(planned_json, "
                     "'$.pieces') - ?1) WHERE id = ?2 AND planned_json <> ''",
                     STORE_VALUES(store_int(pieces), store_int(part->id)), err);
}

static cw_status move_pieces(cw_bench *bench, const cw_part *part, int64_t pieces, cw_part_state state,
                             const char *reason, int64_t *moved_id, cw_error *err)
{
    int64_t row = part->id;
    if (pieces < 0 || pieces > part->pieces)
        return cw_fail(err, CW_INPUT, "%" PRId64 " of %" PRId64 " x %s cannot be moved", pieces, part->pieces,
                       part->kind);
    if (state == CW_PART_LEFT_OUT && reason[strspn(reason, " \t\r\n")] == '\0')
        return cw_fail(err, CW_INPUT, "a part is left out only with a reason; the next one will want to know why");
    if (state == CW_PART_OUT)
        CW_TRY(check_job_is_open(bench, part->job_id, err));
    if (pieces != 0 && pieces < part->pieces)
        CW_TRY(split_off(bench, part, pieces, &row, err));
    cw_part checked = {.kind = part->kind, .reason = reason, .state = state};
    CW_TRY(store_check(&part_table, &checked, STORE_ADD, err));
    CW_TRY(store_run(bench, "UPDATE part SET state = ?1, reason = ?2, revision = ?3 WHERE id = ?4",
                     STORE_VALUES(store_text(words_part_state[state]), store_text(reason), store_int(bench->change_id),
                                  store_int(row)),
                     err));
    *moved_id = row;
    return state == CW_PART_OUT ? step_takes_apart(bench, part->job_id, err) : CW_OK;
}

cw_status cw_part_move(cw_bench *bench, int64_t id, int64_t pieces, cw_part_state state, const char *reason,
                       int64_t *moved_id, cw_error *err)
{
    cw_part part;
    int64_t moved = 0;
    if ((int)state < 0 || state >= CW_PART_STATE_COUNT)
        return cw_fail(err, CW_INPUT, "there is no state %d of a part", (int)state);
    CW_TRY(cw_part_get(bench, id, &part, err));
    int64_t job_id = part.job_id, shown = pieces == 0 ? part.pieces : pieces;
    cw_status status =
        store_enter(bench, job_id, err, "%" PRId64 " x %s: %s", shown, part.kind, words_part_state[state]);
    if (status == CW_OK)
        status = store_leave(bench, job_id,
                             move_pieces(bench, &part, pieces, state, reason == NULL ? "" : reason, &moved, err), err);
    cw_part_free(&part);
    if (status == CW_OK && moved_id != NULL)
        *moved_id = moved;
    return status;
}

static cw_status into_tray(cw_bench *bench, int64_t id, int64_t job_id, int64_t tray_id, cw_error *err)
{
    if (tray_id != 0)
        CW_TRY(tray_of_job(bench, tray_id, job_id, err));
    return store_run(bench, "UPDATE part SET tray_id = ?1, revision = ?2 WHERE id = ?3",
                     STORE_VALUES(store_ref(tray_id), store_int(bench->change_id), store_int(id)), err);
}

cw_status cw_part_into_tray(cw_bench *bench, int64_t id, int64_t tray_id, cw_error *err)
{
    cw_part part;
    char what[CW_LINE_MOST + 32];
    CW_TRY(cw_part_get(bench, id, &part, err));
    pieces_in_words(&part, what);
    int64_t job_id = part.job_id;
    cw_part_free(&part);
    CW_TRY(store_enter(bench, job_id, err, "%s into another tray", what));
    return store_leave(bench, job_id, into_tray(bench, id, job_id, tray_id, err), err);
}
