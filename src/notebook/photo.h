/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Photos of a job, small versions of them, and the numbered marks placed on them. Manners: bench.h. */
#ifndef CW_NOTEBOOK_PHOTO_H
#define CW_NOTEBOOK_PHOTO_H

#include "notebook/bench.h"
#include "notebook/incoming.h"

enum { CW_PHOTO_MB_MOST = 50 };

typedef struct {
    int64_t id, revision, job_id;
    int64_t step_id, part_id; /* what it shows; 0: the job as a whole */
    const char *caption;
    const char *hash;  /* SHA-256 of the original, 64 lower-case hexadecimal digits */
    const char *media; /* "image/jpeg" or "image/png" */
    const char *name;  /* the file name it came with */
    int64_t bytes;
    int64_t width_px, height_px; /* upright, after turning by its EXIF orientation */
    int64_t orientation;         /* EXIF, 1 to 8; 1 when it has none */
    const char *taken_at;        /* EXIF, the camera's own clock: "2026-11-25T09:00:21"; "" when it has none */
    const char *created_at;
    int64_t mark_count; /* computed */
    void *held;
} cw_photo;

typedef struct {
    size_t count;
    cw_photo *items;
    int64_t total;
    void *held;
} cw_photo_list;

/* Keeps an upload as a photo of a job. `incoming` is freed, also on failure.
 * CW_INPUT: not a JPEG or PNG by its content (HEIC is named, with what to set on the phone), cut off, damaged, or more
 * pixels than 250 million (64 million for PNG and progressive JPEG, which are decoded whole). The same picture twice in
 * a job is stored once on disk. */
cw_status cw_photo_keep(cw_incoming *incoming, int64_t job_id, int64_t step_id, int64_t part_id, const char *caption,
                        int64_t *photo_id, cw_error *err) __attribute__((warn_unused_result));
/* The same from a file. */
cw_status cw_photo_import(cw_bench *bench, const char *path, int64_t job_id, int64_t step_id, int64_t part_id,
                          const char *caption, int64_t *photo_id, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_photo_get(cw_bench *bench, int64_t id, cw_photo *photo, cw_error *err) __attribute__((warn_unused_result));
/* Writes caption, step_id, part_id. */
cw_status cw_photo_update(cw_bench *bench, const cw_photo *photo, cw_error *err) __attribute__((warn_unused_result));
/* Out of the job, with its marks; the file stays until cw_care_tidy. */
cw_status cw_photo_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
void cw_photo_free(cw_photo *photo);

typedef struct {
    int64_t job_id;           /* required unless step_id or part_id is given */
    int64_t step_id, part_id; /* 0: any */
    int64_t first, most;
} cw_photo_filter;

cw_status cw_photo_page(cw_bench *bench, const cw_photo_filter *filter, cw_photo_list *list, cw_error *err)
    __attribute__((warn_unused_result)); /* in the order taken in */
void cw_photo_list_free(cw_photo_list *list);

/* Where the untouched original lies, for reading only. CW_NOT_FOUND when it is missing, in words. */
cw_status cw_photo_path(cw_bench *bench, int64_t id, char *path, size_t size, cw_error *err)
    __attribute__((warn_unused_result));

typedef enum { CW_THUMB_SMALL = 160, CW_THUMB_MIDDLE = 480, CW_THUMB_LARGE = 1280 } cw_thumb_size;

/* A JPEG of at most that many pixels on its longer side, upright, without any EXIF; made when it is not there yet.
 * Never larger than the original. */
cw_status cw_photo_thumb(cw_bench *bench, int64_t id, cw_thumb_size side, char *path, size_t size, cw_error *err)
    __attribute__((warn_unused_result));

/* ---- marks: "which screw is which, which way the spring hooks" ---- */

typedef struct {
    int64_t id, revision, photo_id;
    int64_t number; /* 0 when adding: the next of this photo */
    double x, y;    /* 0 to 1 from the left and top edge of the upright picture */
    const char *text;
    double hook_deg; /* direction of a hook or an arrow: 0 to the right, 90 up, below 360; NaN: none */
    int64_t part_id; /* the part it shows, 0 */
    void *held;
} cw_photo_mark;

typedef struct {
    size_t count;
    cw_photo_mark *items; /* by number */
    void *held;
} cw_photo_mark_list;

cw_status cw_photo_mark_add(cw_bench *bench, const cw_photo_mark *mark, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_photo_mark_get(cw_bench *bench, int64_t id, cw_photo_mark *mark, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_photo_mark_update(cw_bench *bench, const cw_photo_mark *mark, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_photo_mark_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
void cw_photo_mark_free(cw_photo_mark *mark);
cw_status cw_photo_mark_page(cw_bench *bench, int64_t photo_id, cw_photo_mark_list *list, cw_error *err)
    __attribute__((warn_unused_result)); /* all of them, at most 999 */
void cw_photo_mark_list_free(cw_photo_mark_list *list);

#endif
