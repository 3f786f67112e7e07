/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The bench: a folder that holds everything a person has noted.
 *
 *   bench.db       SQLite (WAL, full synchronous); the schema explains itself (schema.c)
 *   bench-form-N.db  what it was before a newer program brought it up to date
 *   photos/        originals, named by the SHA-256 of their content, never changed
 *   recordings/    originals of recordings, likewise
 *   thumbs/        small pictures, made again when missing
 *   incoming/      uploads under way
 *
 * Manners of this room, so that they are not said again at every function:
 * - A handle is used by one thread at a time; opening costs a few milliseconds, so a server opens one per thread. Any
 *   number of handles and programs may use one bench: a writer waits up to five seconds for another, then CW_CONFLICT.
 * - Records are plain structs. Texts are UTF-8 and never NULL when read ("" = nothing noted); when writing, NULL counts
 *   as "". A number that is not known is NaN, an id that is not there is 0. Days are "2026-11-25" (local), instants
 *   "2026-11-25T09:00:21Z" (UTC).
 * - What a _get or _list filled is owned by that record or list and freed by its _free (NULL, zeroed and already freed
 *   ones are fine); the strings live exactly as long. Lists are filled only on CW_OK and are then valid when empty.
 * - Every change is one transaction, on disk when the call returns, and can be undone (cw_undo), except where it says
 * so.
 * - `revision` of a record grows with each change. Update with the revision that was read: CW_CONFLICT when somebody
 *   else changed the record since, in words. 0 means "whatever is there".
 * - CW_INPUT: a text too long, not UTF-8, a date that is none; the sentence names the field and what came.
 * CW_NOT_FOUND: no such id. CW_FILE: full disk, read-only folder; nothing was changed. CW_STORE: the database said no.
 */
#ifndef CW_NOTEBOOK_BENCH_H
#define CW_NOTEBOOK_BENCH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"

typedef struct cw_bench cw_bench;

/* The day it is here, "2026-11-25", by this machine's clock and time zone; in UTC where the zone cannot be told. */
enum { CW_DAY_TEXT = 16 };
void cw_today(char day[CW_DAY_TEXT]);

/* Longest texts in bytes: a line (title, name, kind) and a note. */
enum { CW_LINE_MOST = 300, CW_NOTE_MOST = 20000 };

typedef enum {
    CW_BENCH_OPEN,   /* must be there; older versions are brought up to date, a copy kept beside */
    CW_BENCH_CREATE, /* made when the folder is missing or empty, opened when it is a bench already */
    CW_BENCH_READ    /* for reading only, also from a read-only disk; every change is refused; older versions as OPEN */
} cw_bench_mode;

/* Opens a bench. The caller closes *bench.
 *
 * folder        path of the bench folder; its parent must exist
 * CW_NOT_FOUND  no bench there (OPEN, READ)
 * CW_INPUT      the folder holds something else, or a bench of a newer program version (says which)
 * CW_FILE       the folder cannot be written (OPEN, CREATE) or made, or the disk is full
 * CW_CONFLICT   another program holds it shut for more than five seconds */
cw_status cw_bench_open(const char *folder, cw_bench_mode mode, cw_bench **bench, cw_error *err)
    __attribute__((warn_unused_result));
void cw_bench_close(cw_bench *bench); /* NULL is fine; a change still open is rolled back */

const char *cw_bench_folder(const cw_bench *bench);
/* The version the bench had before this opening brought it up to date; its database as it was then lies beside bench.db
 * as bench-form-N.db. 0: it was up to date, or is new. */
int cw_bench_came_from(const cw_bench *bench);
bool cw_bench_read_only(const cw_bench *bench);
int cw_bench_schema_version(void); /* that this program writes */

/* Several calls as one change: all or nothing, one line in the history, one undo.
 *
 * job_id  whose history it belongs to, 0 for the bench's own
 * words   what is being done, as the history and "undone: ..." will say it: "four screws into tray 3"
 *
 * Calls in between join it. A call that fails leaves the change as it was before that call, still open. begin inside
 * begin joins the outer one. */
cw_status cw_change_begin(cw_bench *bench, int64_t job_id, const char *words, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_change_commit(cw_bench *bench, cw_error *err) __attribute__((warn_unused_result));
void cw_change_cancel(cw_bench *bench); /* throws everything since begin away; fine when nothing is open */

/* One line of the history. */
typedef struct {
    int64_t id, job_id;
    const char *words;
    const char *at;
    bool undone;
} cw_change;

typedef struct {
    size_t count;
    cw_change *items; /* newest first */
    int64_t total;    /* that there are, beyond this page */
    void *held;
} cw_change_list;

/* In place of a job: what belongs to none, such as the rack, levels, lists and materials. */
enum { CW_BENCH_OWN = -1 };

/* first: from 0; most: 1 to 500. job_id 0: every job's and the bench's own; CW_BENCH_OWN. */
cw_status cw_change_page(cw_bench *bench, int64_t job_id, int64_t first, int64_t most, cw_change_list *list,
                         cw_error *err) __attribute__((warn_unused_result));
void cw_change_list_free(cw_change_list *list);

/* Takes back the newest change of this job that still stands (job_id 0: the newest of the whole bench; CW_BENCH_OWN),
 * or does the oldest undone one again. Survives restarts; the newest 2,000 changes of a bench are kept. A new change
 * ends what could be redone in its job. `words` (CW_LINE_MOST + 1 bytes, may be NULL) receives what was undone or
 * redone. CW_NOT_FOUND: nothing to undo. CW_CONFLICT: it rests on something a later change altered. */
cw_status cw_undo(cw_bench *bench, int64_t job_id, char *words, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_redo(cw_bench *bench, int64_t job_id, char *words, cw_error *err) __attribute__((warn_unused_result));
/* The words of what cw_undo and cw_redo would do, "" for nothing; each CW_LINE_MOST + 1 bytes. */
cw_status cw_undo_next(cw_bench *bench, int64_t job_id, char *undo_words, char *redo_words, cw_error *err)
    __attribute__((warn_unused_result));

#endif
