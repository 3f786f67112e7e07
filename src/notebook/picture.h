/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only: pictures as bytes. What a file is, whether it is whole, which way is up, small versions of it,
 * and a copy without the place where it was taken. Works on memory; no database. */
#ifndef CW_NOTEBOOK_PICTURE_H
#define CW_NOTEBOOK_PICTURE_H

#include <stdint.h>

#include "base/buf.h"
#include "base/error.h"

typedef struct {
    bool png;                    /* else JPEG */
    int64_t width_px, height_px; /* upright, after turning by the orientation */
    int orientation;             /* EXIF 2.32, tag 0112: 1 to 8; 1 when there is none */
    char taken_at[20];           /* "2026-11-25T09:00:21", "" when not known */
} picture_info;

enum {
    PICTURE_PIXELS_MOST = 250 * 1000 * 1000,
    PICTURE_PIXELS_WHOLE_MOST = 64 * 1000 * 1000 /* PNG and progressive JPEG, which are decoded whole */
};

/* Walks the whole structure: every JPEG segment up to the end-of-image mark (ITU-T T.81, annex B), every PNG chunk with
 * its checksum (ISO/IEC 15948, clause 5). CW_INPUT: some other kind of file (HEIC is named), cut off, damaged, too
 * large; the sentence starts with the fault and does not name the file. */
cw_status picture_inspect(const unsigned char *bytes, size_t size, picture_info *info, cw_error *err)
    __attribute__((warn_unused_result));

/* A JPEG, upright, at most `side` pixels on its longer side, never enlarged, with the colour profile and nothing else
 * of the original's metadata. The caller frees *jpeg with free(). CW_INPUT when the picture cannot be decoded. */
cw_status picture_thumb(const unsigned char *bytes, size_t size, int side, unsigned char **jpeg, size_t *jpeg_size,
                        cw_error *err) __attribute__((warn_unused_result));

/* The picture without its place: GPS entries of EXIF wiped in place, so that nothing else moves; XMP that speaks of a
 * place dropped; what some phones hang on behind the picture dropped. *out is left empty when there was nothing to take
 * out: the original may then be used bit for bit. `bytes` must have passed picture_inspect. */
cw_status picture_without_place(const unsigned char *bytes, size_t size, cw_buf *out, cw_error *err)
    __attribute__((warn_unused_result));

/* Wipes the GPS directory of a TIFF structure (the content of an EXIF block) and its entry. True when there was one. */
bool picture_wipe_gps(unsigned char *tiff, size_t size);

/* ---- the parts of a JPEG, for the two above ---- */

typedef struct {
    int marker;          /* the byte behind FF */
    size_t at;           /* of the FF */
    size_t data, length; /* what follows the length field */
    size_t end;          /* behind the segment; for a scan behind its data */
} picture_segment;

/* The segment that starts at `at`; `last` is true for end-of-image. CW_INPUT when it runs out of the file. */
cw_status picture_segment_at(const unsigned char *bytes, size_t size, size_t at, picture_segment *segment, bool *last,
                             cw_error *err) __attribute__((warn_unused_result));

#endif
