/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only: the files a bench names, and those that lie there unnamed. */
#ifndef CW_NOTEBOOK_CARE_INSIDE_H
#define CW_NOTEBOOK_CARE_INSIDE_H

#include "notebook/bench.h"

typedef struct {
    const char *folder; /* "photos", "recordings" */
    const char *hash, *extension;
    int64_t bytes;
    const char *what; /* "photo 12 of job 3", "recording 4 \"shots.wav\"" */
} care_file;

/* Calls `see` for every file that a row names, each file once. What it is given lives for the call. */
cw_status care_each_file(cw_bench *bench, cw_status (*see)(void *context, const care_file *file, cw_error *err),
                         void *context, cw_error *err) __attribute__((warn_unused_result));

/* Calls `see` for every file in photos/, recordings/ and thumbs/ that no row names and no undo could bring back. */
cw_status care_each_orphan(cw_bench *bench, cw_status (*see)(void *context, const char *path, cw_error *err),
                           void *context, cw_error *err) __attribute__((warn_unused_result));

/* Forgets recordings that no test names and no undo could bring back. Inside a change. */
cw_status care_forget_recordings(cw_bench *bench, cw_error *err) __attribute__((warn_unused_result));

/* The database as it stands at one instant, flushed to disk, in the place of anything that lies at `beside`. */
cw_status care_copy_database(cw_bench *bench, const char *beside, cw_error *err) __attribute__((warn_unused_result));

#endif
