/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/store.h"

#include <errno.h>
#include <inttypes.h>
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { STORE_BIG_MOST = 2 << 20, HELD_CHUNK = 4096, SQL_MOST = 32768 };

/* ---- statements ---- */

cw_status store_fail(cw_bench *bench, int code, const char *doing, cw_error *err)
{
    int reason = sqlite3_system_errno(bench->db);
    switch (code & 0xff) {
    case SQLITE_FULL:
        return cw_fail(err, CW_FILE,
                       "%s: the disk that holds \"%s\" is full; nothing was changed. Make room and try again", doing,
                       bench->folder);
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return cw_fail(
            err, CW_CONFLICT,
            "%s: another program has been writing to this bench for more than %d s; try again when it is done", doing,
            STORE_BUSY_MS / 1000);
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_CANTOPEN:
        return cw_fail(err, CW_FILE, "%s: the bench in \"%s\" cannot be written here; nothing was changed", doing,
                       bench->folder);
    case SQLITE_NOMEM:
        return cw_fail(err, CW_MEMORY, "%s: no memory", doing);
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        return cw_fail(err, CW_STORE,
                       "%s: bench.db in \"%s\" is damaged (%s); keep a copy of the folder and go back to a backup",
                       doing, bench->folder, sqlite3_errmsg(bench->db));
    case SQLITE_IOERR:
        return cw_fail(err, CW_FILE, "%s: the disk that holds \"%s\" failed: %s; nothing was changed", doing,
                       bench->folder, reason != 0 ? strerror(reason) : sqlite3_errmsg(bench->db));
    default:
        break;
    }
    if (code == SQLITE_CONSTRAINT_TRIGGER)
        return cw_fail(err, CW_CONFLICT, "%s", sqlite3_errmsg(bench->db));
    if (code == SQLITE_CONSTRAINT_FOREIGNKEY)
        return cw_fail(err, CW_NOT_FOUND,
                       "%s: it points to something that is not there, or something still points to it", doing);
    return cw_fail(err, CW_STORE, "%s: %s", doing, sqlite3_errmsg(bench->db));
}

static int bind_value(sqlite3_stmt *st, int place, const store_value *value)
{
    switch (value->type) {
    case STORE_INTEGER:
        return sqlite3_bind_int64(st, place, value->whole);
    case STORE_DOUBLE:
        return sqlite3_bind_double(st, place, value->real);
    case STORE_STRING:
        return sqlite3_bind_text(st, place, value->text, -1, SQLITE_STATIC);
    case STORE_NULL:
        break;
    }
    return sqlite3_bind_null(st, place);
}

cw_status store_bind(cw_bench *bench, sqlite3_stmt *st, const store_value *values, size_t count, cw_error *err)
{
    int code = SQLITE_OK;
    size_t places = (size_t)sqlite3_bind_parameter_count(st);
    for (size_t i = 0; code == SQLITE_OK && i < count && i < places; i++)
        code = bind_value(st, (int)i + 1, &values[i]);
    if (code == SQLITE_OK)
        return CW_OK;
    sqlite3_clear_bindings(st);
    return store_fail(bench, code, "asking the bench", err);
}

cw_status store_prepare(cw_bench *bench, const char *sql, const store_value *values, size_t count, sqlite3_stmt **st,
                        cw_error *err)
{
    sqlite3_stmt *made = NULL;
    int code = sqlite3_prepare_v2(bench->db, sql, -1, &made, NULL);
    if (code != SQLITE_OK)
        return store_fail(bench, code, "asking the bench", err);
    cw_status status = store_bind(bench, made, values, count, err);
    if (status != CW_OK) {
        sqlite3_finalize(made);
        return status;
    }
    *st = made;
    return CW_OK;
}

cw_status store_run(cw_bench *bench, const char *sql, const store_value *values, size_t count, cw_error *err)
{
    sqlite3_stmt *st;
    CW_TRY(store_prepare(bench, sql, values, count, &st, err));
    int code;
    while ((code = sqlite3_step(st)) == SQLITE_ROW)
        ;
    cw_status status = code == SQLITE_DONE
                           ? CW_OK
                           : store_fail(bench, sqlite3_extended_errcode(bench->db), "writing to the bench", err);
    sqlite3_finalize(st);
    return status;
}

cw_status store_number(cw_bench *bench, const char *sql, const store_value *values, size_t count, int64_t *number,
                       cw_error *err)
{
    sqlite3_stmt *st;
    CW_TRY(store_borrow(bench, sql, values, count, &st, err));
    cw_status status = CW_OK;
    int code = sqlite3_step(st);
    if (code == SQLITE_ROW)
        *number = sqlite3_column_int64(st, 0);
    else if (code == SQLITE_DONE)
        *number = 0;
    else
        status = store_fail(bench, sqlite3_extended_errcode(bench->db), "reading the bench", err);
    store_give_back(bench, st);
    return status;
}

/* ---- held memory: chunks in a chain, each with its bytes behind it ---- */

typedef struct held_chunk {
    struct held_chunk *next;
    size_t used, room;
    max_align_t bytes[];
} held_chunk;

static void *held_take(void **held, size_t need, size_t align)
{
    held_chunk *first = *held;
    size_t at = first == NULL ? 0 : (first->used + align - 1) / align * align;
    if (first == NULL || at > first->room || need > first->room - at) {
        size_t room = need > HELD_CHUNK ? need : HELD_CHUNK;
        held_chunk *made = calloc(1, sizeof *made + room);
        if (made == NULL)
            return NULL;
        *made = (held_chunk){.next = first, .room = room};
        *held = first = made;
        at = 0;
    }
    first->used = at + need;
    return (char *)first->bytes + at;
}

const char *store_keep(void **held, const char *text)
{
    if (text == NULL || text[0] == '\0')
        return "";
    size_t size = strlen(text) + 1;
    char *copy = held_take(held, size, 1);
    return copy == NULL ? NULL : memcpy(copy, text, size);
}

void *store_keep_items(void **held, size_t count, size_t size)
{
    if (size != 0 && count > SIZE_MAX / 2 / size)
        return NULL;
    return held_take(held, count * size + 1, _Alignof(max_align_t));
}

void store_release(void **held)
{
    for (held_chunk *chunk = *held, *next; chunk != NULL; chunk = next) {
        next = chunk->next;
        free(chunk);
    }
    *held = NULL;
}

/* ---- checking what is written ---- */

static const char *text_of(const store_column *column, const void *record)
{
    const char *text;
    memcpy(&text, (const char *)record + column->offset, sizeof text);
    return text == NULL ? "" : text;
}

static cw_status check_json(const store_column *column, const char *text, cw_error *err)
{
    if (text[0] == '\0')
        return CW_OK;
    json_error_t why;
    json_t *object = json_loads(text, 0, &why);
    if (object == NULL)
        return cw_fail(err, CW_INPUT, "%s is not JSON: %s (line %d, column %d)", column->label, why.text, why.line,
                       why.column);
    json_decref(object);
    return CW_OK;
}

static cw_status check_text(const store_column *column, const char *text, unsigned flags, cw_error *err)
{
    size_t length = strlen(text), most = column->kind == STORE_NOTE   ? CW_NOTE_MOST
                                         : column->kind == STORE_JSON ? STORE_JSON_MOST
                                         : column->kind == STORE_BIG  ? STORE_BIG_MOST
                                                                      : CW_LINE_MOST;
    if (length > most)
        return cw_fail(err, CW_INPUT, "%s is %zu bytes long; %zu is the most. It begins \"%.40s\"", column->label,
                       length, most, text);
    bool lines = column->kind == STORE_NOTE || column->kind == STORE_JSON || column->kind == STORE_BIG;
    if (!store_text_ok(text, length, lines))
        return cw_fail(err, CW_INPUT, "%s is not plain UTF-8 text%s; nothing was stored", column->label,
                       lines ? "" : " in one line");
    if ((flags & STORE_REQUIRED) != 0 && text[strspn(text, " \t\r\n")] == '\0')
        return cw_fail(err, CW_INPUT, "%s is missing", column->label);
    if (column->kind == STORE_JSON)
        return check_json(column, text, err);
    if (column->kind == STORE_DAY && text[0] != '\0' && !store_day_ok(text))
        return cw_fail(err, CW_INPUT, "%s \"%s\" is no day; write it as 2026-11-25", column->label, text);
    return CW_OK;
}

static int word_of(const store_column *column, const void *record)
{
    int word;
    memcpy(&word, (const char *)record + column->offset, sizeof word);
    return word;
}

static double real_of(const store_column *column, const void *record)
{
    double real;
    memcpy(&real, (const char *)record + column->offset, sizeof real);
    return real;
}

static int64_t whole_of(size_t offset, const void *record)
{
    int64_t whole;
    memcpy(&whole, (const char *)record + offset, sizeof whole);
    return whole;
}

cw_status store_check(const store_table *table, const void *record, unsigned when, cw_error *err)
{
    for (size_t i = 0; i < table->column_count; i++) {
        const store_column *column = &table->columns[i];
        if ((column->flags & when) == 0)
            continue;
        switch (column->kind) {
        case STORE_WORD:
            if (word_of(column, record) < 0 || word_of(column, record) >= column->word_count)
                return cw_fail(err, CW_INPUT, "%s is none of the %d choices", column->label, column->word_count);
            break;
        case STORE_REAL:
            if (isinf(real_of(column, record)))
                return cw_fail(err, CW_INPUT, "%s is not finite", column->label);
            break;
        case STORE_REF:
            if (whole_of(column->offset, record) < 0)
                return cw_fail(err, CW_INPUT, "%s: there is no number %" PRId64, column->label,
                               whole_of(column->offset, record));
            break;
        case STORE_INT:
        case STORE_BOOL:
        case STORE_FOLDED:
            break;
        default:
            CW_TRY(check_text(column, text_of(column, record), column->flags, err));
        }
    }
    return CW_OK;
}

/* ---- writing ---- */

/* What a record's values may need beside the record itself. */
typedef struct {
    char today[16];
    char folded[CW_LINE_MOST + 1];
} value_scratch;

/* The value of a written column; an empty day becomes today where that is meant. */
static store_value value_of(const store_column *column, const void *record, value_scratch *scratch)
{
    bool fact;
    switch (column->kind) {
    case STORE_INT:
        return store_int(whole_of(column->offset, record));
    case STORE_REF:
        return store_ref(whole_of(column->offset, record));
    case STORE_REAL:
        return store_real(real_of(column, record));
    case STORE_BOOL:
        memcpy(&fact, (const char *)record + column->offset, sizeof fact);
        return store_int(fact);
    case STORE_WORD:
        return store_text(column->words[word_of(column, record)]);
    case STORE_FOLDED:
        store_fold(text_of(column, record), scratch->folded);
        return store_text(scratch->folded);
    default:
        break;
    }
    const char *text = text_of(column, record);
    return store_text((column->flags & STORE_TODAY) != 0 && text[0] == '\0' ? scratch->today : text);
}

enum { COLUMNS_MOST = 40 };

cw_status store_add(cw_bench *bench, const store_table *table, const void *record, int64_t *id, cw_error *err)
{
    return store_add_with(bench, table, record, "", NULL, 0, id, err);
}

cw_status store_add_with(cw_bench *bench, const store_table *table, const void *record, const char *extra_columns,
                         const store_value *extra, size_t extra_count, int64_t *id, cw_error *err)
{
    CW_TRY(store_check(table, record, STORE_ADD, err));
    value_scratch scratch;
    cw_today(scratch.today);
    cw_buf sql = cw_buf_new(SQL_MOST);
    store_value values[COLUMNS_MOST + 8];
    size_t count = 0;
    cw_buf_printf(&sql, "INSERT INTO %s(", table->name);
    for (size_t i = 0; i < table->column_count && count < COLUMNS_MOST - 1; i++)
        if ((table->columns[i].flags & STORE_ADD) != 0) {
            cw_buf_printf(&sql, "%s%s", count == 0 ? "" : ",", table->columns[i].name);
            values[count++] = value_of(&table->columns[i], record, &scratch);
        }
    if (table->revision_offset != SIZE_MAX) {
        cw_buf_text(&sql, ",revision");
        values[count++] = store_int(bench->change_id);
    }
    cw_buf_text(&sql, extra_columns);
    for (size_t i = 0; i < extra_count && count < CW_COUNT(values); i++)
        values[count++] = extra[i];
    cw_buf_text(&sql, ") VALUES(");
    for (size_t i = 0; i < count; i++)
        cw_buf_printf(&sql, "%s?%zu", i == 0 ? "" : ",", i + 1);
    cw_buf_text(&sql, ")");
    cw_status status = cw_buf_check(&sql, "a statement", err);
    if (status == CW_OK)
        status = store_run(bench, sql.text, values, count, err);
    if (status == CW_OK)
        *id = sqlite3_last_insert_rowid(bench->db);
    cw_buf_free(&sql);
    return status;
}

/* After an update that hit no row: is the row gone, or has somebody else changed it? */
static cw_status missed_row(cw_bench *bench, const store_table *table, int64_t id, cw_error *err)
{
    CW_TRY(store_job_of(bench, table, id, NULL, err));
    return cw_fail(err, CW_CONFLICT,
                   "this %s was changed by somebody else since it was read; look at it again, then repeat your change",
                   table->label);
}

cw_status store_update(cw_bench *bench, const store_table *table, const void *record, cw_error *err)
{
    CW_TRY(store_check(table, record, STORE_CHANGE, err));
    value_scratch scratch;
    cw_today(scratch.today);
    int64_t id = whole_of(table->id_offset, record);
    int64_t revision = table->revision_offset == SIZE_MAX ? 0 : whole_of(table->revision_offset, record);
    cw_buf sql = cw_buf_new(SQL_MOST);
    store_value values[COLUMNS_MOST + 2];
    size_t count = 0;
    cw_buf_printf(&sql, "UPDATE %s SET ", table->name);
    for (size_t i = 0; i < table->column_count && count < COLUMNS_MOST - 1; i++)
        if ((table->columns[i].flags & STORE_CHANGE) != 0) {
            values[count++] = value_of(&table->columns[i], record, &scratch);
            cw_buf_printf(&sql, "%s%s=?%zu", count == 1 ? "" : ",", table->columns[i].name, count);
        }
    if (table->revision_offset != SIZE_MAX) {
        values[count++] = store_int(bench->change_id);
        cw_buf_printf(&sql, ",revision=?%zu", count);
    }
    values[count++] = store_int(id);
    cw_buf_printf(&sql, " WHERE id=?%zu", count);
    if (revision != 0) {
        values[count++] = store_int(revision);
        cw_buf_printf(&sql, " AND revision=?%zu", count);
    }
    cw_status status = cw_buf_check(&sql, "a statement", err);
    if (status == CW_OK)
        status = store_run(bench, sql.text, values, count, err);
    cw_buf_free(&sql);
    if (status == CW_OK && sqlite3_changes(bench->db) == 0)
        return missed_row(bench, table, id, err);
    return status;
}

cw_status store_delete(cw_bench *bench, const store_table *table, int64_t id, cw_error *err)
{
    char sql[128];
    snprintf(sql, sizeof sql, "DELETE FROM %s WHERE id = ?1", table->name);
    return store_run(bench, sql, STORE_VALUES(store_int(id)), err);
}
