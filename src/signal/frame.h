/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A photograph as numbers proportional to light: raw files of digital cameras through LibRaw (the sensor's own counts,
 * black level and saturation known), or JPEG, whose tone curve is not known and is taken as that of sRGB (IEC
 * 61966-2-1), with the doubt in the uncertainty. */
#ifndef CW_SIGNAL_FRAME_H
#define CW_SIGNAL_FRAME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"

enum { CW_FRAME_COLOURS = 4, CW_FRAME_PATTERN = 6, CW_FRAME_MEGAPIXELS_MOST = 160 };

typedef struct {
    bool is_raw;
    size_t width, height; /* active area, pixels */
    double exposure_s;    /* EXIF; NaN: not said. Nominal: the true time may be 1/64 where it says 1/60 */
    double f_number;      /* EXIF; NaN: not said (an old lens) */
    double iso;           /* EXIF; NaN: not said */
    double saturation;    /* counts above black at which pixels clip */
    char camera[80];      /* EXIF, as the camera calls itself; "" */
} cw_frame_info;

typedef struct cw_frame cw_frame;

/* Opens and decodes; memory is two bytes a pixel. CW_INPUT: neither a raw file LibRaw knows nor a JPEG, damaged, more
 * than CW_FRAME_MEGAPIXELS_MOST, a raw that holds no sensor mosaic (already converted). The caller closes *frame. */
cw_status cw_frame_open(const char *path, cw_frame **frame, cw_error *err) __attribute__((warn_unused_result));
void cw_frame_close(cw_frame *frame); /* NULL is fine */
const cw_frame_info *cw_frame_about(const cw_frame *frame);

/* One cell of a grid over two frames of the same size. */
typedef struct {
    double ratio,
        u_ratio;      /* light of the test over light of the reference, in the same counts; NaN: too dark or clipped */
    double reference; /* mean of the reference, fraction of saturation */
    double test;
    double clipped; /* part of the pixels that clip in either, 0 to 1 */
} cw_frame_cell;

/* Compares cell by cell, colour by colour of the sensor, clipped pixels left out in both; `dark` (NULL: none) is taken
 * off the test frame. cells: columns x rows, row by row from the top left. u_ratio: scatter of the pixels, k = 1; the
 * black level's own doubt, which all cells share, is not in it. CW_INPUT: frames of different sizes, or one
 * raw and one JPEG. CW_RANGE: a grid of more than 4 million cells, or cells narrower than 8 pixels or larger than a
 * million. */
cw_status cw_frame_compare(const cw_frame *reference, const cw_frame *test, const cw_frame *dark, size_t columns,
                           size_t rows, cw_frame_cell *cells, cw_error *err) __attribute__((warn_unused_result));

#endif
