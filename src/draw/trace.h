/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the sensors saw: one lane a channel, with its levels and instants, for any part of a recording. */
#ifndef CW_DRAW_TRACE_H
#define CW_DRAW_TRACE_H

#include <stddef.h>

#include "base/buf.h"
#include "base/error.h"
#include "signal/source.h"

/* A moment worth a line: "opens", "closes", "bounce", "contact". */
typedef struct {
    double at_s;
    const char *label; /* NULL: a line without words */
} cw_trace_instant;

typedef struct {
    const char *name; /* "sensor at 4 mm" */
    /* Either samples: frame i of the trace is samples[i * stride]; values that are not finite leave a gap ... */
    const float *samples;
    size_t stride;
    /* ... or changes of a digital channel, in order of time; samples NULL. */
    const cw_edge *edges;
    size_t edge_count;
    double dark, mid, full; /* state levels and mid reference, in the samples' own unit; NaN: not known */
    const cw_trace_instant *instants;
    size_t instant_count;
} cw_trace_channel;

typedef struct {
    const char *title, *summary; /* summary NULL: names, instants and span are said */
    double start_s, rate_hz;     /* of sample 0, from the start of the recording; rate only where there are samples */
    size_t frames;               /* samples a channel */
    const cw_trace_channel *channels;
    size_t channel_count;
    double from_s, to_s; /* the part shown; the caller's zoom */
    double zero_s;       /* what the axis calls 0, such as the first opening */
    double width_px;     /* 0: 640 */
} cw_trace;

/* Draws every sample where there is room for it; where several fall on one px, the least and the greatest of them, so
 * that no spike is lost. The time axis is in s, ms or us by the length of the part shown.
 * CW_RANGE: no channel or more than 16, an empty part, a rate that is not positive. */
cw_status cw_trace_svg(const cw_trace *trace, cw_buf *out, cw_error *err) __attribute__((warn_unused_result));

/* The instant under a place `x_px` from the left edge of that drawing, kept inside the part shown; for a picture that
 * is pressed. */
double cw_trace_time_at(const cw_trace *trace, double x_px);

#endif
