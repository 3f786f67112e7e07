/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files behind frame.h share. */
#ifndef CW_SIGNAL_FRAME_INSIDE_H
#define CW_SIGNAL_FRAME_INSIDE_H

#include "signal/frame.h"

struct cw_frame {
    cw_frame_info info;
    const uint16_t *pixels;                             /* of the active area's first pixel */
    size_t pitch;                                       /* pixels from row to row */
    uint8_t colour[CW_FRAME_PATTERN][CW_FRAME_PATTERN]; /* of a pixel, by y and x modulo the pattern */
    float black[CW_FRAME_PATTERN][CW_FRAME_PATTERN];
    uint16_t clip; /* counts, black included, from which a pixel does not count */
    void *held;    /* what owns the pixels */
    void (*release)(void *held);
};

/* CW_NOT_MINE: this reader does not know the file, another may. */
cw_status cw_frame_open_raw(const char *path, cw_frame *frame, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_frame_open_jpeg(const char *path, cw_frame *frame, cw_error *err) __attribute__((warn_unused_result));

#endif
