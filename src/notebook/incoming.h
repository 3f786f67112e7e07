/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A file on its way into the bench, in pieces as they arrive (a browser's upload): written beside, hashed while it is
 * written, flushed, renamed, folder flushed; only then is there a row that names it. Half a file is never seen. */
#ifndef CW_NOTEBOOK_INCOMING_H
#define CW_NOTEBOOK_INCOMING_H

#include "notebook/bench.h"

typedef enum { CW_INCOMING_PHOTO, CW_INCOMING_RECORDING } cw_incoming_kind;

typedef struct cw_incoming cw_incoming;

/* name: the file name it comes with; folders in it are dropped. The caller ends it by one of the three below. */
cw_status cw_incoming_open(cw_bench *bench, cw_incoming_kind kind, const char *name, cw_incoming **incoming,
                           cw_error *err) __attribute__((warn_unused_result));
/* CW_RANGE over the most bytes of its kind; CW_FILE on a full disk. After a failure only abandon. */
cw_status cw_incoming_write(cw_incoming *incoming, const void *bytes, size_t count, cw_error *err)
    __attribute__((warn_unused_result));
void cw_incoming_abandon(cw_incoming *incoming); /* removes it; NULL is fine */

/* Where it lies while it is here, and the name it came with, for looking into it before it is kept or abandoned. They
 * stay the incoming file's. */
const char *cw_incoming_path(const cw_incoming *incoming);
const char *cw_incoming_name(const cw_incoming *incoming);

/* Keeps it as a recording. `incoming` is freed, also on failure. */
cw_status cw_incoming_keep_recording(cw_incoming *incoming, int64_t *recording_id, cw_error *err)
    __attribute__((warn_unused_result));
/* Keeping it as a photo: cw_photo_keep in photo.h. */

#endif
