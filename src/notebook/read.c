/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/store.h"

enum { SQL_MOST = 32768, ROWS_MOST = 100000 };

static void select_columns(cw_buf *sql, const store_table *table, bool in_list)
{
    cw_buf_text(sql, "SELECT ");
    for (size_t i = 0; i < table->column_count; i++) {
        const store_column *column = &table->columns[i];
        bool left_out = in_list && (column->flags & STORE_HEAVY) != 0;
        const char *name = left_out ? "''" : column->kind == STORE_FOLDED ? "NULL" : column->name;
        cw_buf_printf(sql, "%s%s", i == 0 ? "" : ",", name);
    }
    cw_buf_printf(sql, " FROM %s ", table->name);
}

static bool read_column(sqlite3_stmt *st, int place, const store_column *column, char *record, void **held)
{
    char *goal = record + column->offset;
    int64_t whole = sqlite3_column_int64(st, place);
    double real = sqlite3_column_type(st, place) == SQLITE_NULL ? NAN : sqlite3_column_double(st, place);
    const char *text = NULL;
    bool fact = whole != 0;
    int word = 0;
    switch (column->kind) {
    case STORE_INT:
    case STORE_REF:
        memcpy(goal, &whole, sizeof whole);
        return true;
    case STORE_REAL:
        memcpy(goal, &real, sizeof real);
        return true;
    case STORE_BOOL:
        memcpy(goal, &fact, sizeof fact);
        return true;
    case STORE_WORD:
        text = (const char *)sqlite3_column_text(st, place);
        while (text != NULL && word < column->word_count - 1 && strcmp(text, column->words[word]) != 0)
            word++;
        memcpy(goal, &word, sizeof word);
        return true;
    case STORE_FOLDED:
        return true;
    default:
        text = store_keep(held, (const char *)sqlite3_column_text(st, place));
        memcpy(goal, &text, sizeof text);
        return text != NULL;
    }
}

static bool read_row(sqlite3_stmt *st, const store_table *table, void *record, void **held)
{
    for (size_t i = 0; i < table->column_count; i++)
        if (!read_column(st, (int)i, &table->columns[i], record, held))
            return false;
    return true;
}

cw_status store_get(cw_bench *bench, const store_table *table, int64_t id, void *record, cw_error *err)
{
    cw_buf sql = cw_buf_new(SQL_MOST);
    select_columns(&sql, table, false);
    cw_buf_printf(&sql, "WHERE %s.id = ?1", table->name);
    sqlite3_stmt *st = NULL;
    cw_status status = cw_buf_check(&sql, "a statement", err);
    if (status == CW_OK)
        status = store_borrow(bench, sql.text, STORE_VALUES(store_int(id)), &st, err);
    cw_buf_free(&sql);
    if (status != CW_OK)
        return status;
    void *held = NULL;
    memset(record, 0, table->size);
    int code = sqlite3_step(st);
    if (code == SQLITE_DONE)
        status = cw_fail(err, CW_NOT_FOUND, "there is no %s %" PRId64 " on this bench", table->label, id);
    else if (code != SQLITE_ROW)
        status = store_fail(bench, sqlite3_extended_errcode(bench->db), "reading the bench", err);
    else if (!read_row(st, table, record, &held))
        status = cw_fail(err, CW_MEMORY, "no memory to read %s %" PRId64, table->label, id);
    store_give_back(bench, st);
    if (status != CW_OK) {
        store_release(&held);
        memset(record, 0, table->size);
        return status;
    }
    memcpy((char *)record + table->held_offset, &held, sizeof held);
    return CW_OK;
}

static cw_status read_rows(cw_bench *bench, sqlite3_stmt *st, const store_table *table, store_rows *rows, cw_error *err)
{
    char *items = NULL;
    size_t capacity = 0;
    int code;
    cw_status status = CW_OK;
    while (status == CW_OK && (code = sqlite3_step(st)) == SQLITE_ROW) {
        status = cw_grow(&items, &capacity, rows->count + 1, table->size, ROWS_MOST, "rows", err);
        if (status != CW_OK)
            break;
        char *record = items + rows->count * table->size;
        memset(record, 0, table->size);
        if (read_row(st, table, record, &rows->held))
            rows->count++;
        else
            status = cw_fail(err, CW_MEMORY, "no memory to read a list");
    }
    if (status == CW_OK && code != SQLITE_DONE)
        status = store_fail(bench, sqlite3_extended_errcode(bench->db), "reading the bench", err);
    if (status == CW_OK) {
        rows->items = store_keep_items(&rows->held, rows->count, table->size);
        if (rows->items == NULL)
            status = cw_fail(err, CW_MEMORY, "no memory to read a list");
        else if (rows->count > 0)
            memcpy(rows->items, items, rows->count * table->size);
    }
    free(items);
    return status;
}

static cw_status list_rows(cw_bench *bench, const store_table *table, const char *tail, const store_value *values,
                           size_t count, bool whole, store_rows *rows, cw_error *err)
{
    cw_buf sql = cw_buf_new(SQL_MOST);
    select_columns(&sql, table, !whole);
    cw_buf_text(&sql, tail);
    sqlite3_stmt *st = NULL;
    cw_status status = cw_buf_check(&sql, "a statement", err);
    if (status == CW_OK)
        status = store_borrow(bench, sql.text, values, count, &st, err);
    cw_buf_free(&sql);
    if (status != CW_OK)
        return status;
    store_rows read = {0};
    status = read_rows(bench, st, table, &read, err);
    store_give_back(bench, st);
    if (status != CW_OK)
        store_release(&read.held);
    else
        *rows = read;
    return status;
}

cw_status store_list(cw_bench *bench, const store_table *table, const char *tail, const store_value *values,
                     size_t count, store_rows *rows, cw_error *err)
{
    return list_rows(bench, table, tail, values, count, false, rows, err);
}

cw_status store_list_whole(cw_bench *bench, const store_table *table, const char *tail, const store_value *values,
                           size_t count, store_rows *rows, cw_error *err)
{
    return list_rows(bench, table, tail, values, count, true, rows, err);
}

cw_status store_paging(int64_t first, int64_t most, int64_t ceiling, cw_error *err)
{
    if (first < 0 || most < 1 || most > ceiling)
        return cw_fail(err, CW_INPUT,
                       "a page from %" PRId64 " with %" PRId64 " rows cannot be had; 1 to %" PRId64
                       " rows, counted from 0",
                       first, most, ceiling);
    return CW_OK;
}

cw_status store_job_of(cw_bench *bench, const store_table *table, int64_t id, int64_t *job_id, cw_error *err)
{
    char sql[128];
    int64_t found, job = 0;
    snprintf(sql, sizeof sql, "SELECT count(*) FROM %s WHERE id = ?1", table->name);
    CW_TRY(store_number(bench, sql, STORE_VALUES(store_int(id)), &found, err));
    if (found == 0)
        return cw_fail(err, CW_NOT_FOUND, "there is no %s %" PRId64 " on this bench", table->label, id);
    if (job_id == NULL)
        return CW_OK;
    snprintf(sql, sizeof sql, "SELECT job_id FROM %s WHERE id = ?1", table->name);
    CW_TRY(store_number(bench, sql, STORE_VALUES(store_int(id)), &job, err));
    *job_id = job;
    return CW_OK;
}
