/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A job in one file: a zip with a JSON index, photos and recordings, as docs/job-archive.md describes it; and its notes
 * as Markdown. Manners: bench.h. */
#ifndef CW_NOTEBOOK_ARCHIVE_H
#define CW_NOTEBOOK_ARCHIVE_H

#include "notebook/bench.h"
#include "notebook/incoming.h"

typedef struct {
    bool with_owner;      /* false: the private owner note stays out */
    bool with_recordings; /* false: tests without their recordings */
} cw_export_options;

/* Writes the whole file or nothing. Places (GPS) are taken out of the photos; the rest of each is untouched, bit for
 * bit where it held none. options NULL: without owner, with recordings. */
cw_status cw_job_export(cw_bench *bench, int64_t job_id, const char *path, const cw_export_options *options,
                        cw_error *err) __attribute__((warn_unused_result));

/* Takes a job in from such a file as a new job, all or nothing. CW_INPUT: not such a file, a newer form, damaged,
 * larger than it says, an entry whose path leads elsewhere, a file that does not match its hash; the entry is named. */
cw_status cw_job_import(cw_bench *bench, const char *path, int64_t *job_id, cw_error *err)
    __attribute__((warn_unused_result));

/* The same from an upload, which is gone afterwards: `incoming` (of recordings, for their size) is freed, also on
 * failure. */
cw_status cw_job_import_incoming(cw_incoming *incoming, int64_t *job_id, cw_error *err)
    __attribute__((warn_unused_result));

/* The notes as Markdown: NAME.md and a folder of photos beside it (GPS taken out), into the folder `into`, which is
 * made when missing. *path_out receives the path of the .md file. */
cw_status cw_job_markdown(cw_bench *bench, int64_t job_id, const char *into, char *path_out, size_t size, cw_error *err)
    __attribute__((warn_unused_result));

/* A photo without its place: writes a JPEG or PNG to `path`, as it is when it holds none. */
cw_status cw_photo_export(cw_bench *bench, int64_t photo_id, const char *path, cw_error *err)
    __attribute__((warn_unused_result));

/* The same packed into one zip at `path`, whole or not there; a folder beside it comes and goes. */
cw_status cw_job_markdown_zip(cw_bench *bench, int64_t job_id, const char *path, cw_error *err)
    __attribute__((warn_unused_result));

#endif
