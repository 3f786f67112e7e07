/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Changes and undo. While a change is open an SQLite session records which rows it touches; on commit the difference is
 * stored beside the words that say what was done. Undo applies it backwards, redo forwards; SQLite refuses when a row
 * is no longer as the change left it, so an undo can never trample on something later. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/store.h"

static cw_status record_from_here(cw_bench *bench, cw_error *err)
{
    int code = sqlite3session_create(bench->db, "main", &bench->session);
    for (size_t i = 0; code == SQLITE_OK && store_undoable[i] != NULL; i++)
        code = sqlite3session_attach(bench->session, store_undoable[i]);
    return code == SQLITE_OK ? CW_OK : store_fail(bench, code, "recording a change", err);
}

/* Whatever state the change is in: nothing of it stays. */
static void throw_away(cw_bench *bench)
{
    if (bench->session != NULL)
        sqlite3session_delete(bench->session);
    bench->session = NULL;
    bench->depth = 0;
    if (bench->db != NULL && !sqlite3_get_autocommit(bench->db))
        sqlite3_exec(bench->db, "ROLLBACK", NULL, NULL, NULL);
}

static cw_status begin_outer(cw_bench *bench, int64_t job_id, const char *words, cw_error *err)
{
    char at[32], line[CW_LINE_MOST + 1];
    size_t length = store_cut(words, CW_LINE_MOST);
    memcpy(line, words, length);
    line[length] = '\0';
    store_now(at);
    if (bench->read_only)
        return cw_fail(err, CW_FILE, "the bench in \"%s\" is open for reading only; nothing was changed",
                       bench->folder);
    CW_TRY(store_run(bench, "BEGIN IMMEDIATE", STORE_NO_VALUES, err));
    cw_status status = store_run(bench, "INSERT INTO change(job_id, words, at) VALUES(?1, ?2, ?3)",
                                 STORE_VALUES(store_int(job_id), store_text(line), store_text(at)), err);
    bench->change_id = sqlite3_last_insert_rowid(bench->db);
    bench->change_job = job_id;
    if (status == CW_OK)
        status = record_from_here(bench, err);
    if (status != CW_OK)
        throw_away(bench);
    else
        bench->depth = 1;
    return status;
}

cw_status cw_change_begin(cw_bench *bench, int64_t job_id, const char *words, cw_error *err)
{
    if (bench->depth == 0)
        return begin_outer(bench, job_id, words, err);
    bench->depth++;
    return CW_OK;
}

static cw_status keep_rows(cw_bench *bench, const void *rows, int size, cw_error *err)
{
    sqlite3_stmt *st;
    CW_TRY(store_prepare(bench, "UPDATE change SET rows = ?1, job_id = ?2 WHERE id = ?3", STORE_NO_VALUES, &st, err));
    sqlite3_bind_blob(st, 1, rows, size, SQLITE_STATIC);
    sqlite3_bind_int64(st, 2, bench->change_job);
    sqlite3_bind_int64(st, 3, bench->change_id);
    int code = sqlite3_step(st);
    cw_status status = code == SQLITE_DONE ? CW_OK : store_fail(bench, code, "recording a change", err);
    sqlite3_finalize(st);
    return status;
}

static cw_status write_history(cw_bench *bench, cw_error *err)
{
    int size = 0;
    void *rows = NULL;
    int code = sqlite3session_changeset(bench->session, &size, &rows);
    if (code != SQLITE_OK)
        return store_fail(bench, code, "recording a change", err);
    cw_status status;
    if (size == 0)
        status = store_run(bench, "DELETE FROM change WHERE id = ?1", STORE_VALUES(store_int(bench->change_id)), err);
    else
        status = keep_rows(bench, rows, size, err);
    sqlite3_free(rows);
    if (status == CW_OK && size > 0)
        status = store_run(bench, "DELETE FROM change WHERE job_id = ?1 AND undone",
                           STORE_VALUES(store_int(bench->change_job)), err);
    if (status == CW_OK)
        status = store_run(bench, "DELETE FROM change WHERE id <= ?1",
                           STORE_VALUES(store_int(bench->change_id - STORE_CHANGES_KEPT)), err);
    return status;
}

cw_status cw_change_commit(cw_bench *bench, cw_error *err)
{
    if (bench->depth == 0)
        return cw_fail(err, CW_CONFLICT, "there is no open change to keep");
    if (bench->depth > 1) {
        bench->depth--;
        return CW_OK;
    }
    cw_status status = write_history(bench, err);
    if (status == CW_OK)
        status = store_run(bench, "COMMIT", STORE_NO_VALUES, err);
    throw_away(bench); /* after a commit nothing is left to throw away but the session */
    return status;
}

void cw_change_cancel(cw_bench *bench)
{
    throw_away(bench);
}

cw_status store_enter(cw_bench *bench, int64_t job_id, cw_error *err, const char *words, ...)
{
    char line[CW_LINE_MOST * 2];
    va_list args;
    va_start(args, words);
    vsnprintf(line, sizeof line, words, args);
    va_end(args);
    if (bench->depth == 0)
        return begin_outer(bench, job_id, line, err);
    CW_TRY(store_run(bench, "SAVEPOINT part_of_change", STORE_NO_VALUES, err));
    bench->depth++;
    return CW_OK;
}

static cw_status touch_job(cw_bench *bench, int64_t job_id, cw_error *err)
{
    char now[32];
    if (job_id == 0)
        return CW_OK;
    store_now(now);
    /* Not part of what a person did: a change that altered nothing else leaves no line in the history. */
    if (bench->session != NULL)
        sqlite3session_enable(bench->session, 0);
    cw_status status = store_run(bench, "UPDATE job SET changed_at = ?1 WHERE id = ?2",
                                 STORE_VALUES(store_text(now), store_int(job_id)), err);
    if (bench->session != NULL)
        sqlite3session_enable(bench->session, 1);
    return status;
}

cw_status store_leave(cw_bench *bench, int64_t job_id, cw_status status, cw_error *err)
{
    if (status == CW_OK)
        status = touch_job(bench, job_id, err);
    if (bench->depth == 1) {
        if (status == CW_OK)
            return cw_change_commit(bench, err);
        throw_away(bench);
        return status;
    }
    if (sqlite3_get_autocommit(bench->db)) { /* a full disk can roll everything back on its own */
        throw_away(bench);
        return status;
    }
    if (status != CW_OK)
        sqlite3_exec(bench->db, "ROLLBACK TO part_of_change", NULL, NULL, NULL);
    sqlite3_exec(bench->db, "RELEASE part_of_change", NULL, NULL, NULL);
    bench->depth--;
    return status;
}

void store_belongs_to(cw_bench *bench, int64_t job_id)
{
    if (bench->change_job == 0)
        bench->change_job = job_id;
}

/* ---- undo and redo ---- */

typedef struct {
    int64_t id, job_id;
    char words[CW_LINE_MOST + 1];
    void *rows;
    int size;
} past_change;

static const char find_undo[] =
    "SELECT id, words, rows, job_id FROM change WHERE NOT undone AND (?1 = 0 OR job_id = max(?1, 0)) "
    "ORDER BY id DESC LIMIT 1";
static const char find_redo[] =
    "SELECT id, words, rows, job_id FROM change WHERE undone AND (?1 = 0 OR job_id = max(?1, 0)) "
    "ORDER BY id LIMIT 1";

/* past->id 0: there is none. The caller frees past->rows. */
static cw_status find_change(cw_bench *bench, const char *sql, int64_t job_id, bool with_rows, past_change *past,
                             cw_error *err)
{
    sqlite3_stmt *st;
    *past = (past_change){0};
    CW_TRY(store_prepare(bench, sql, STORE_VALUES(store_int(job_id)), &st, err));
    cw_status status = CW_OK;
    int code = sqlite3_step(st);
    if (code == SQLITE_ROW) {
        past->id = sqlite3_column_int64(st, 0);
        snprintf(past->words, sizeof past->words, "%s", (const char *)sqlite3_column_text(st, 1));
        past->size = sqlite3_column_bytes(st, 2);
        past->job_id = sqlite3_column_int64(st, 3);
        if (with_rows) {
            past->rows = malloc((size_t)past->size + 1);
            if (past->rows == NULL)
                status = cw_fail(err, CW_MEMORY, "no memory to undo \"%s\"", past->words);
            else if (past->size > 0)
                memcpy(past->rows, sqlite3_column_blob(st, 2), (size_t)past->size);
        }
    } else if (code != SQLITE_DONE) {
        status = store_fail(bench, code, "reading the history", err);
    }
    sqlite3_finalize(st);
    return status;
}

/* When a job was last touched says nothing about what a person wrote: a difference there alone does not stand in the
 * way. Anything else stops everything. */
static int judge_conflict(void *changed_at_column, int kind, sqlite3_changeset_iter *rows)
{
    const char *table;
    int columns, operation;
    if (kind != SQLITE_CHANGESET_DATA || sqlite3changeset_op(rows, &table, &columns, &operation, NULL) != SQLITE_OK ||
        strcmp(table, "job") != 0)
        return SQLITE_CHANGESET_ABORT;
    for (int i = 0; i < columns; i++) {
        sqlite3_value *was, *is;
        if (i == *(const int *)changed_at_column || sqlite3changeset_old(rows, i, &was) != SQLITE_OK || was == NULL ||
            sqlite3changeset_conflict(rows, i, &is) != SQLITE_OK)
            continue;
        int was_size = sqlite3_value_bytes(was), is_size = sqlite3_value_bytes(is);
        const void *was_bytes = sqlite3_value_blob(was), *is_bytes = sqlite3_value_blob(is);
        if (sqlite3_value_type(was) != sqlite3_value_type(is) || was_size != is_size ||
            (was_size > 0 && memcmp(was_bytes, is_bytes, (size_t)was_size) != 0))
            return SQLITE_CHANGESET_ABORT;
    }
    return SQLITE_CHANGESET_REPLACE;
}

static cw_status apply_rows(cw_bench *bench, const past_change *past, bool backwards, cw_error *err)
{
    void *rows = past->rows, *inverted = NULL;
    int size = past->size;
    if (backwards) {
        int code = sqlite3changeset_invert(past->size, past->rows, &size, &inverted);
        if (code != SQLITE_OK)
            return store_fail(bench, code, "undoing", err);
        rows = inverted;
    }
    int64_t changed_at = 0;
    cw_status status = store_number(bench, "SELECT cid FROM pragma_table_info('job') WHERE name = 'changed_at'",
                                    STORE_NO_VALUES, &changed_at, err);
    int column = (int)changed_at;
    int code =
        status == CW_OK ? sqlite3changeset_apply(bench->db, size, rows, NULL, judge_conflict, &column) : SQLITE_OK;
    sqlite3_free(inverted);
    if (status != CW_OK)
        return status;
    if (code == SQLITE_ABORT || (code & 0xff) == SQLITE_CONSTRAINT)
        return cw_fail(err, CW_CONFLICT, "\"%s\" cannot be %s: something later rests on it. Undo that first",
                       past->words, backwards ? "undone" : "done again");
    return code == SQLITE_OK ? CW_OK : store_fail(bench, code, backwards ? "undoing" : "doing again", err);
}

static cw_status travel(cw_bench *bench, int64_t job_id, bool backwards, char *words, cw_error *err)
{
    if (bench->depth > 0)
        return cw_fail(err, CW_CONFLICT, "a change is still open; end it before undoing");
    if (bench->read_only)
        return cw_fail(err, CW_FILE, "the bench in \"%s\" is open for reading only; nothing was changed",
                       bench->folder);
    CW_TRY(store_run(bench, "BEGIN IMMEDIATE", STORE_NO_VALUES, err));
    past_change past;
    cw_status status = find_change(bench, backwards ? find_undo : find_redo, job_id, true, &past, err);
    if (status == CW_OK && past.id == 0)
        status = cw_fail(err, CW_NOT_FOUND, "there is nothing to %s", backwards ? "undo" : "do again");
    if (status == CW_OK)
        status = apply_rows(bench, &past, backwards, err);
    if (status == CW_OK)
        status = store_run(bench, "UPDATE change SET undone = ?1 WHERE id = ?2",
                           STORE_VALUES(store_int(backwards), store_int(past.id)), err);
    if (status == CW_OK)
        status = touch_job(bench, past.job_id, err);
    if (status == CW_OK)
        status = store_run(bench, "COMMIT", STORE_NO_VALUES, err);
    throw_away(bench);
    if (status == CW_OK && words != NULL)
        memcpy(words, past.words, sizeof past.words);
    free(past.rows);
    return status;
}

cw_status cw_undo(cw_bench *bench, int64_t job_id, char *words, cw_error *err)
{
    return travel(bench, job_id, true, words, err);
}

cw_status cw_redo(cw_bench *bench, int64_t job_id, char *words, cw_error *err)
{
    return travel(bench, job_id, false, words, err);
}

cw_status cw_undo_next(cw_bench *bench, int64_t job_id, char *undo_words, char *redo_words, cw_error *err)
{
    past_change undo, redo;
    CW_TRY(find_change(bench, find_undo, job_id, false, &undo, err));
    CW_TRY(find_change(bench, find_redo, job_id, false, &redo, err));
    memcpy(undo_words, undo.words, sizeof undo.words);
    memcpy(redo_words, redo.words, sizeof redo.words);
    return CW_OK;
}

/* ---- the history as a list ---- */

#define COLUMN(column, said, field, what)                                                                              \
    {                                                                                                                  \
        column, said, offsetof(cw_change, field), what, 0, NULL, 0                                                     \
    }
static const store_column change_columns[] = {
    COLUMN("id", "number", id, STORE_INT),          COLUMN("job_id", "job", job_id, STORE_INT),
    COLUMN("words", "words", words, STORE_LINE),    COLUMN("at", "instant", at, STORE_INSTANT),
    COLUMN("undone", "undone", undone, STORE_BOOL),
};
static const store_table change_table = {
    "change", "change", change_columns, CW_COUNT(change_columns), sizeof(cw_change), offsetof(cw_change, id),
    SIZE_MAX, SIZE_MAX};

cw_status cw_change_page(cw_bench *bench, int64_t job_id, int64_t first, int64_t most, cw_change_list *list,
                         cw_error *err)
{
    int64_t total;
    store_rows rows;
    CW_TRY(store_paging(first, most, 500, err));
    CW_TRY(store_number(bench, "SELECT count(*) FROM change WHERE ?1 = 0 OR job_id = max(?1, 0)",
                        STORE_VALUES(store_int(job_id)), &total, err));
    CW_TRY(store_list(bench, &change_table, "WHERE ?1 = 0 OR job_id = max(?1, 0) ORDER BY id DESC LIMIT ?2 OFFSET ?3",
                      STORE_VALUES(store_int(job_id), store_int(most), store_int(first)), &rows, err));
    *list = (cw_change_list){rows.count, rows.items, total, rows.held};
    return CW_OK;
}

void cw_change_list_free(cw_change_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_change_list){0};
}
