/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Looking after the bench: a backup while it is in use, a check of its integrity, and tidying. Manners: bench.h. */
#ifndef CW_NOTEBOOK_CARE_H
#define CW_NOTEBOOK_CARE_H

#include "notebook/bench.h"

typedef struct {
    int64_t jobs, files, bytes; /* copied */
    int64_t files_kept;         /* already there from an earlier backup into the same folder, and right */
} cw_backup_report;

/* Copies the whole bench into the folder `into`, a bench itself afterwards; other programs may go on writing. Made when
 * missing; an earlier backup of this bench there is brought up to date, anything else is refused. What was copied is
 * read back and checked against its hashes before it replaces the old one. */
cw_status cw_backup(cw_bench *bench, const char *into, cw_backup_report *report, cw_error *err)
    __attribute__((warn_unused_result));

typedef enum {
    CW_TROUBLE_DATABASE, /* SQLite's own check, a broken link between rows */
    CW_TROUBLE_INDEX,    /* the search index does not match; cw_care_tidy makes it again */
    CW_TROUBLE_MISSING,  /* a photo or recording is not there */
    CW_TROUBLE_CHANGED,  /* its content does not match its name */
    CW_TROUBLE_ORPHAN,   /* a file that nothing names */
    CW_TROUBLE_CIRCLE    /* blocks that run in a circle; a part out in a job that is together */
} cw_trouble_kind;

typedef struct {
    size_t count;
    struct cw_trouble {
        cw_trouble_kind kind;
        const char *text; /* a sentence with the job or file in it and what to do */
    } * items;
    int64_t jobs, photos, recordings; /* looked at */
    void *held;
} cw_trouble_list;

/* Changes nothing. with_hashes: reads every file whole. */
cw_status cw_check(cw_bench *bench, bool with_hashes, cw_trouble_list *list, cw_error *err)
    __attribute__((warn_unused_result));
void cw_trouble_list_free(cw_trouble_list *list);

/* Removes files no row names any more and uploads that died, makes the search index again. What undo could still bring
 * back keeps its files. *removed: files. */
cw_status cw_care_tidy(cw_bench *bench, int64_t *removed, cw_error *err) __attribute__((warn_unused_result));

#endif
