/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only: how a plain struct becomes a row and a row a plain struct. A table is described once; reading,
 * checking, adding and updating follow from the description. Every statement is bound and finished on every path. */
#ifndef CW_NOTEBOOK_STORE_H
#define CW_NOTEBOOK_STORE_H

/* Undo is made of SQLite's session extension, which its header shows only on request; Debian's library has it. */
#define SQLITE_ENABLE_SESSION 1
#define SQLITE_ENABLE_PREUPDATE_HOOK 1
#include <sqlite3.h>
#include <stdarg.h>
#include <stdio.h>

#include "base/buf.h"
#include "notebook/bench.h"

enum { STORE_PATH = 4096, STORE_JSON_MOST = 8 << 20, STORE_BUSY_MS = 5000, STORE_CHANGES_KEPT = 2000 };

typedef struct store_vocabulary store_vocabulary;

struct cw_bench {
    sqlite3 *db;
    char folder[STORE_PATH];
    bool read_only;
    int came_from;                       /* the version it had before it was brought up to date just now; 0: it was */
    int depth;                           /* of nested changes; 0: none open */
    int64_t change_id;                   /* of the open change */
    int64_t change_job;                  /* whose history it joins */
    sqlite3_session *session;            /* records what the open change does */
    struct store_statements *statements; /* kept ready, statements.c; NULL: none are */
    store_vocabulary *vocabulary;        /* of the search index, search.c; NULL until needed */
};

/* ---- values bound to a statement ---- */

typedef struct {
    enum { STORE_NULL, STORE_INTEGER, STORE_DOUBLE, STORE_STRING } type;
    int64_t whole;
    double real;
    const char *text;
} store_value;

static inline store_value store_int(int64_t whole)
{
    return (store_value){.type = STORE_INTEGER, .whole = whole};
}
static inline store_value store_real(double real) /* NaN becomes NULL */
{
    return (store_value){.type = real == real ? STORE_DOUBLE : STORE_NULL, .real = real};
}
static inline store_value store_text(const char *text)
{
    return (store_value){.type = STORE_STRING, .text = text == NULL ? "" : text};
}
static inline store_value store_ref(int64_t id) /* 0 becomes NULL */
{
    return (store_value){.type = id == 0 ? STORE_NULL : STORE_INTEGER, .whole = id};
}

/* The values of ?1, ?2 ...: store_run(bench, sql, STORE_VALUES(store_int(7), store_text("x")), err) */
#define STORE_VALUES(...)                                                                                              \
    (const store_value[]){__VA_ARGS__}, sizeof((const store_value[]){__VA_ARGS__}) / sizeof(store_value)
#define STORE_NO_VALUES NULL, 0

/* Runs one statement to its end; rows are thrown away. */
cw_status store_run(cw_bench *bench, const char *sql, const store_value *values, size_t count, cw_error *err)
    __attribute__((warn_unused_result));
/* The first column of the first row; NULL and no row give 0. */
cw_status store_number(cw_bench *bench, const char *sql, const store_value *values, size_t count, int64_t *number,
                       cw_error *err) __attribute__((warn_unused_result));
/* Prepares and binds; the caller steps and finalizes. Values that no ?n asks for are left over: filters share one list.
 */
cw_status store_prepare(cw_bench *bench, const char *sql, const store_value *values, size_t count, sqlite3_stmt **st,
                        cw_error *err) __attribute__((warn_unused_result));
cw_status store_bind(cw_bench *bench, sqlite3_stmt *st, const store_value *values, size_t count, cw_error *err)
    __attribute__((warn_unused_result));

/* The same as store_prepare for questions that are asked often; the caller gives the statement back instead of
 * finalizing it. A bench on which none are kept (store_keep_statements was not called) prepares each time. */
cw_status store_borrow(cw_bench *bench, const char *sql, const store_value *values, size_t count, sqlite3_stmt **st,
                       cw_error *err) __attribute__((warn_unused_result));
void store_give_back(cw_bench *bench, sqlite3_stmt *st); /* NULL is fine */
cw_status store_keep_statements(cw_bench *bench, cw_error *err) __attribute__((warn_unused_result));
void store_forget_statements(cw_bench *bench); /* before the database is closed */

/* The sentence for what SQLite has just refused. `doing` says what was tried: "reading job 7". */
cw_status store_fail(cw_bench *bench, int code, const char *doing, cw_error *err) __attribute__((warn_unused_result));

/* ---- the memory of a list's strings ---- */

/* A copy of the text that lives until store_release(*held); NULL without memory. NULL gives "". */
const char *store_keep(void **held, const char *text);
void store_release(void **held);
/* Room for `count` zeroed items of `size` bytes, released with *held. */
void *store_keep_items(void **held, size_t count, size_t size);

/* ---- tables ---- */

typedef enum {
    STORE_LINE,    /* const char *, one line, CW_LINE_MOST bytes */
    STORE_NOTE,    /* const char *, CW_NOTE_MOST bytes */
    STORE_JSON,    /* const char *, "" or a JSON object or array, STORE_JSON_MOST bytes */
    STORE_BIG,     /* const char *, up to 2 MB of text */
    STORE_DAY,     /* const char *, "" or a day that exists */
    STORE_INSTANT, /* const char * */
    STORE_INT,     /* int64_t */
    STORE_REF,     /* int64_t, 0 = NULL */
    STORE_REAL,    /* double, NaN = NULL */
    STORE_BOOL,
    STORE_WORD,  /* an enum, stored as its word */
    STORE_FOLDED /* written only: the const char * at this place, case folded; one in a table */
} store_kind;

enum {
    STORE_ADD = 1,      /* written when added */
    STORE_CHANGE = 2,   /* written when updated */
    STORE_BOTH = 3,     /* */
    STORE_REQUIRED = 4, /* a text that must not be empty */
    STORE_TODAY = 8,    /* an empty day becomes today */
    STORE_HEAVY = 16    /* "" in lists */
};

typedef struct {
    const char *name;  /* column, or an SQL expression when it is computed (flags 0) */
    const char *label; /* in messages: "the complaint" */
    size_t offset;
    store_kind kind;
    unsigned flags;
    const char *const *words; /* STORE_WORD */
    int word_count;
} store_column;

typedef struct {
    const char *name, *label; /* "saved_sheet", "worksheet result" */
    const store_column *columns;
    size_t column_count;
    size_t size; /* of the struct */
    size_t id_offset;
    size_t revision_offset; /* SIZE_MAX: the table has none */
    size_t held_offset;     /* SIZE_MAX: the struct has none */
} store_table;

typedef struct {
    size_t count;
    void *items;
    void *held;
} store_rows;

/* Checks every column that is written against its kind. */
cw_status store_check(const store_table *table, const void *record, unsigned when, cw_error *err)
    __attribute__((warn_unused_result));
/* These run inside a change (store_enter). */
cw_status store_add(cw_bench *bench, const store_table *table, const void *record, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
/* The same with columns that are not in the struct: extra_columns ",rank,planned_json", a value for each. */
cw_status store_add_with(cw_bench *bench, const store_table *table, const void *record, const char *extra_columns,
                         const store_value *extra, size_t extra_count, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status store_update(cw_bench *bench, const store_table *table, const void *record, cw_error *err)
    __attribute__((warn_unused_result));
cw_status store_delete(cw_bench *bench, const store_table *table, int64_t id, cw_error *err)
    __attribute__((warn_unused_result));

cw_status store_get(cw_bench *bench, const store_table *table, int64_t id, void *record, cw_error *err)
    __attribute__((warn_unused_result));
/* tail: "WHERE job_id = ?1 ORDER BY id LIMIT ?2 OFFSET ?3". */
cw_status store_list(cw_bench *bench, const store_table *table, const char *tail, const store_value *values,
                     size_t count, store_rows *rows, cw_error *err) __attribute__((warn_unused_result));
/* The same with the heavy columns. */
cw_status store_list_whole(cw_bench *bench, const store_table *table, const char *tail, const store_value *values,
                           size_t count, store_rows *rows, cw_error *err) __attribute__((warn_unused_result));
/* 0 <= first, 1 <= most <= ceiling. */
cw_status store_paging(int64_t first, int64_t most, int64_t ceiling, cw_error *err) __attribute__((warn_unused_result));
/* CW_NOT_FOUND "there is no step 12" unless a row with that id is there; *job_id (may be NULL) its job. */
cw_status store_job_of(cw_bench *bench, const store_table *table, int64_t id, int64_t *job_id, cw_error *err)
    __attribute__((warn_unused_result));

/* ---- changes ---- */

/* Every changing function begins with store_enter and ends with store_leave, whatever happened between:
 *     CW_TRY(store_enter(bench, job_id, err, "step \"%s\" added", title));
 *     return store_leave(bench, job_id, add_step(...), err);
 * The words may be cut at CW_LINE_MOST bytes. job_id 0: the bench's own. */
cw_status store_enter(cw_bench *bench, int64_t job_id, cw_error *err, const char *words, ...)
    __attribute__((format(printf, 4, 5), warn_unused_result));
cw_status store_leave(cw_bench *bench, int64_t job_id, cw_status status, cw_error *err)
    __attribute__((warn_unused_result));
/* A change that made a job belongs to that job's history. */
void store_belongs_to(cw_bench *bench, int64_t job_id);

/* ---- time and texts ---- */

/* "2026-11-25T09:00:21Z" of now; the day is cw_today. */
void store_now(char out[32]);
bool store_day_ok(const char *text);
/* Valid UTF-8 without control characters; tabs and line ends only where `lines`. */
bool store_text_ok(const char *text, size_t length, bool lines);
/* The longest whole-character beginning of at most `most` bytes. */
size_t store_cut(const char *text, size_t most);
/* Case folded, spaces squeezed and trimmed, cut at CW_LINE_MOST: the key by which names are the same. */
void store_fold(const char *text, char out[CW_LINE_MOST + 1]);

/* Letters that differ between two texts, a swap of neighbours counting as one (Damerau 1964, restricted form); most + 1
 * when there are more than `most`. With `beginning`, what b has beyond a counts nothing. */
int store_distance(const char *a, const char *b, int most, bool beginning);

/* ---- the schema ---- */

/* "CWB1" in the header of bench.db. */
enum { STORE_APPLICATION_ID = 0x43574231 };

/* The tables whose rows undo brings back, ended by NULL. */
extern const char *const store_undoable[];

/* Brings a database from `version` to the newest, inside one transaction that is already open. */
cw_status store_migrate(cw_bench *bench, int version, int goal, cw_error *err) __attribute__((warn_unused_result));

#endif
