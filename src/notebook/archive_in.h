/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only: an archive being read, shared by the part that reads files and the part that adds rows. */
#ifndef CW_NOTEBOOK_ARCHIVE_IN_H
#define CW_NOTEBOOK_ARCHIVE_IN_H

#include <jansson.h>

#include "notebook/archive_form.h"
#include "notebook/photo_file.h"

/* A file the index names, and what became of it. */
typedef struct {
    char path[128], hash[65];
    int64_t bytes;
    bool photo, taken;
    photo_file_facts facts; /* of a photo */
    int64_t recording_id;
} archive_file;

typedef struct {
    cw_bench *bench;
    json_t *index;
    archive_file *files;
    size_t file_count;
} archive_reading;

/* The lists of the index are lists, and not too long; exactly one job. */
cw_status archive_check_rows(const archive_reading *a, cw_error *err) __attribute__((warn_unused_result));
/* Adds everything as a new job, in one change. The files are in their places already. */
cw_status archive_add_rows(const archive_reading *a, int64_t *job_id, cw_error *err)
    __attribute__((warn_unused_result));

#endif
