/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A recording of any length seen once, in constant memory: least, most and mean of the samples of each channel over
 * equal blocks. When the blocks run out, neighbours are merged and the blocks double in length. */
#ifndef CW_SIGNAL_OVERVIEW_H
#define CW_SIGNAL_OVERVIEW_H

#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "signal/source.h"

typedef struct {
    size_t channels;
    double rate_hz;
    uint64_t from;       /* the frame at which block 0 begins */
    uint64_t frames;     /* covered */
    size_t block_frames; /* a power of two; the last block may be shorter */
    size_t count;        /* blocks */
    /* [channel * capacity + block] */
    float *least, *most;
    double *mean;
    size_t capacity;
} cw_overview;

enum { CW_OVERVIEW_BLOCKS = 1 << 17 };

/* Reads frames [from, to) of a sampled source; `to` may lie behind the end. No more than `blocks_most` blocks (a power
 * of two, 2 or more) and none shorter than `block_least` frames (a power of two).
 * CW_INPUT when a sample is not finite or the data end early, CW_RANGE for an empty stretch. */
cw_status cw_overview_read(cw_source *source, uint64_t from, uint64_t to, size_t block_least, size_t blocks_most,
                           cw_overview *overview, cw_error *err) __attribute__((warn_unused_result));
void cw_overview_free(cw_overview *overview);

/* Frames in a block, and its mean; asked for every block several times over, so they stand here. */
static inline size_t cw_overview_frames(const cw_overview *overview, size_t block)
{
    uint64_t left = overview->frames - (uint64_t)block * overview->block_frames;
    return left < overview->block_frames ? (size_t)left : overview->block_frames;
}

static inline double cw_overview_mean(const cw_overview *overview, size_t channel, size_t block)
{
    return overview->mean[channel * overview->capacity + block];
}

#endif
