/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One stretch of a recording at two resolutions: single samples where something happens, means of blocks where nothing
 * does. So a shot of ten seconds is as small as one of a millisecond, and no edge loses a sample.
 *
 * A sample stands for the time from half an interval before it to half an interval after it; bins touch. */
#ifndef CW_SIGNAL_TRACE_H
#define CW_SIGNAL_TRACE_H

#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "signal/overview.h"

/* Bins [first, end) of one sample each, none missing between them. */
typedef struct {
    size_t first, end;
} cw_stretch;

typedef struct {
    size_t channels, count, capacity;
    double interval_s; /* of the samples */
    double *at_s;      /* middle of each bin, from the start of the recording */
    double *frames;    /* samples in each bin, 1 or more */
    double *value[CW_CHANNELS_MOST];
    size_t single_count, single_capacity;
    cw_stretch *singles; /* all bins of one sample, in order */
} cw_trace;

/* Blocks of `overview` that reach into [from_s, to_s]. A block where the samples of a channel differ by more than
 * quiet_range[channel] is read again sample by sample, and so is what lies within margin_s of it. A negative range
 * leaves that channel out of the decision. `trace` starts as zeros; what it held is overwritten, and its room used
 * again, so that many can be read for the room of one. On an error it holds no bins. The caller frees it in the end. */
cw_status cw_trace_read(cw_source *source, const cw_overview *overview, double from_s, double to_s,
                        const double *quiet_range, double margin_s, cw_trace *trace, cw_error *err)
    __attribute__((warn_unused_result));
void cw_trace_free(cw_trace *trace);

/* One channel of it alone: single samples within [from_s, to_s] stay, those outside are averaged over `bin_s`. The room
 * of `condensed` is used again as with cw_trace_read. */
cw_status cw_trace_condense(const cw_trace *trace, size_t channel, double from_s, double to_s, double bin_s,
                            cw_trace *condensed, cw_error *err) __attribute__((warn_unused_result));

/* The first bin whose middle is at or after the instant; trace->count when none is. */
size_t cw_trace_find(const cw_trace *trace, double at_s);

/* Mean of a channel over the bins with middles in [from_s, to_s); NaN when there is none. *frames (may be NULL) gets
 * the number of samples in it. */
double cw_trace_mean(const cw_trace *trace, size_t channel, double from_s, double to_s, double *frames);

/* Standard deviation of one sample in [from_s, to_s) from the differences of neighbouring single samples:
 * 1.4826 MAD(differences) / sqrt 2, which steps and slow waves do not touch. NaN for fewer than 8 differences. */
double cw_trace_noise(const cw_trace *trace, size_t channel, double from_s, double to_s);

#endif
