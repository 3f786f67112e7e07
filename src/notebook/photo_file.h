/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only: a photo's original as bytes, and its copy without the place. */
#ifndef CW_NOTEBOOK_PHOTO_FILE_H
#define CW_NOTEBOOK_PHOTO_FILE_H

#include "notebook/bench.h"

typedef struct {
    const unsigned char *bytes; /* mapped; NULL when the file is empty */
    size_t size;
} photo_file;

cw_status photo_file_open(const char *path, photo_file *file, cw_error *err) __attribute__((warn_unused_result));
void photo_file_close(photo_file *file);

/* Takes a photo's bytes; they stay the caller's and are gone after the call. */
typedef cw_status (*photo_sink)(void *goal, const char *bytes, size_t size, cw_error *err);

/* Hands the photo, without its place, to the sink. */
cw_status photo_export_to(cw_bench *bench, int64_t photo_id, photo_sink sink, void *goal, cw_error *err)
    __attribute__((warn_unused_result));

#endif
