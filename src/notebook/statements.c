/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Questions asked again and again: making one ready costs more than its answer, and a page of jobs asks the same dozen
 * for each of them. */
#include <stdlib.h>
#include <string.h>

#include "notebook/store.h"

enum { KEPT_MOST = 64 };

struct store_statements {
    size_t count;
    uint64_t clock;
    struct {
        sqlite3_stmt *st;
        uint64_t used_at; /* by the clock above */
        bool is_out;
    } items[KEPT_MOST];
};

cw_status store_keep_statements(cw_bench *bench, cw_error *err)
{
    bench->statements = calloc(1, sizeof *bench->statements);
    return bench->statements != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory to open a bench");
}

void store_forget_statements(cw_bench *bench)
{
    for (size_t i = 0; bench->statements != NULL && i < bench->statements->count; i++)
        sqlite3_finalize(bench->statements->items[i].st);
    free(bench->statements);
    bench->statements = NULL;
}

/* Its place; KEPT_MOST where it is not kept. */
static size_t find(const struct store_statements *kept, const char *sql)
{
    for (size_t i = 0; i < kept->count; i++)
        if (!kept->items[i].is_out && strcmp(sqlite3_sql(kept->items[i].st), sql) == 0)
            return i;
    return KEPT_MOST;
}

/* A free place, or that of the one that was not asked for the longest time; KEPT_MOST where all are out. */
static size_t make_room(struct store_statements *kept)
{
    size_t oldest = KEPT_MOST;
    if (kept->count < KEPT_MOST)
        return kept->count++;
    for (size_t i = 0; i < kept->count; i++)
        if (!kept->items[i].is_out && (oldest == KEPT_MOST || kept->items[i].used_at < kept->items[oldest].used_at))
            oldest = i;
    if (oldest < KEPT_MOST)
        sqlite3_finalize(kept->items[oldest].st);
    return oldest;
}

cw_status store_borrow(cw_bench *bench, const char *sql, const store_value *values, size_t count, sqlite3_stmt **st,
                       cw_error *err)
{
    struct store_statements *kept = bench->statements;
    size_t at = kept != NULL ? find(kept, sql) : KEPT_MOST;
    if (at < KEPT_MOST) {
        *st = kept->items[at].st;
        CW_TRY(store_bind(bench, *st, values, count, err));
    } else {
        CW_TRY(store_prepare(bench, sql, values, count, st, err));
        at = kept != NULL ? make_room(kept) : KEPT_MOST;
    }
    if (at < KEPT_MOST) {
        kept->items[at].st = *st;
        kept->items[at].is_out = true;
        kept->items[at].used_at = ++kept->clock;
    }
    return CW_OK;
}

void store_give_back(cw_bench *bench, sqlite3_stmt *st)
{
    struct store_statements *kept = bench->statements;
    for (size_t i = 0; kept != NULL && st != NULL && i < kept->count; i++)
        if (kept->items[i].st == st) {
            sqlite3_reset(st);
            sqlite3_clear_bindings(st);
            kept->items[i].is_out = false;
            return;
        }
    sqlite3_finalize(st);
}
