/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only: a photo's original as bytes, and its copy without the place. */
#ifndef CW_NOTEBOOK_PHOTO_FILE_H
#define CW_NOTEBOOK_PHOTO_FILE_H

#include "notebook/files.h"
#include "notebook/photo.h"

typedef struct {
    const unsigned char *bytes; /* mapped; NULL when the file is empty */
    size_t size;
} photo_file;

cw_status photo_file_open(const char *path, photo_file *file, cw_error *err) __attribute__((warn_unused_result));
void photo_file_close(photo_file *file);

/* What is known of an upload that turned out to be a whole picture. */
typedef struct {
    files_arrived arrived;
    const char *media; /* static */
    int64_t width_px, height_px, orientation;
    char taken_at[20];
} photo_file_facts;

/* Looks at a photo that has arrived and puts it in its place for good; there is no row yet. */
cw_status photo_settle(cw_incoming *incoming, photo_file_facts *facts, cw_error *err)
    __attribute__((warn_unused_result));
/* The facts into the record, whose strings are then those of `facts`. */
void photo_fill(cw_photo *photo, const photo_file_facts *facts);

/* Takes a photo's bytes; they stay the caller's and are gone after the call. */
typedef cw_status (*photo_sink)(void *goal, const char *bytes, size_t size, cw_error *err);

/* Hands the photo, without its place, to the sink. */
cw_status photo_export_to(cw_bench *bench, int64_t photo_id, photo_sink sink, void *goal, cw_error *err)
    __attribute__((warn_unused_result));

#endif
