/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A recording, whatever file it came in: a stream of sampled channels (WAV, FLAC, CSV), or a list of edges per channel
 * (VCD, gate log). Sampled sources are read in blocks and never held whole. */
#ifndef CW_SIGNAL_SOURCE_H
#define CW_SIGNAL_SOURCE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"

enum { CW_CHANNELS_MOST = 8, CW_CHANNEL_NAME = 64, CW_WARNINGS_MOST = 16, CW_WARNING_TEXT = 240 };

typedef enum { CW_SOURCE_SAMPLED, CW_SOURCE_EDGES } cw_source_form;

typedef struct {
    cw_source_form form;
    size_t channels;                               /* 1 to CW_CHANNELS_MOST */
    char names[CW_CHANNELS_MOST][CW_CHANNEL_NAME]; /* from the file, "" when it names none */
    char unit[16];                                 /* "V", "mV", "" for a fraction of full scale */
    double rate_hz;                                /* SAMPLED: samples a second; EDGES: 1 / timescale */
    uint64_t frames;                               /* SAMPLED: samples per channel */
    double length_s;
    double u_time_s; /* of a single instant, from the time column's digits or the timescale; 0 for WAV */
    size_t warning_count;
    char warnings[CW_WARNINGS_MOST][CW_WARNING_TEXT];
} cw_source_info;

/* One change of a digital channel. level: 0, 1, or -1 for x and z. */
typedef struct {
    double at_s;
    int8_t level;
} cw_edge;

typedef struct {
    char separator;           /* CSV; 0 = find out */
    double sample_interval_s; /* CSV without a time column; 0 = from the file */
} cw_source_options;

typedef struct cw_source cw_source;

/* What a source of samples that is no file (a simulator, a live capture, a benchmark) brings along. read and seek keep
 * the contract of cw_source_read and cw_source_seek; close may be NULL, edges is NULL for a sampled source. */
typedef struct {
    cw_status (*read)(void *state, size_t frames, float *out, size_t *got, cw_error *err);
    cw_status (*seek)(void *state, uint64_t frame, cw_error *err);
    const cw_edge *(*edges)(const void *state, size_t channel, size_t *count);
    void (*close)(void *state);
} cw_source_calls;

/* Makes a source from them. `info` is copied; `state` becomes the source's (closed by calls->close), but only on CW_OK.
 * CW_RANGE for channels or a rate outside what is read from files too. */
cw_status cw_source_make(const cw_source_info *info, const cw_source_calls *calls, void *state, cw_source **source,
                         cw_error *err) __attribute__((warn_unused_result));

/* Opens by content, not by name: each reader says "not mine" and the next is asked; a damaged file of a known kind
 * stops there. `options` may be NULL. CW_INPUT with what the file held and what to do. */
cw_status cw_source_open(const char *path, const cw_source_options *options, cw_source **source, cw_error *err)
    __attribute__((warn_unused_result));
void cw_source_close(cw_source *source); /* NULL is fine */
const cw_source_info *cw_source_about(const cw_source *source);

/* SAMPLED: up to `frames` frames from the current place into out (interleaved, `channels` floats a frame); *got is 0 at
 * the end. CW_INPUT when the data end before the header said, or hold values that are not finite. */
cw_status cw_source_read(cw_source *source, size_t frames, float *out, size_t *got, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_source_seek(cw_source *source, uint64_t frame, cw_error *err) __attribute__((warn_unused_result));

/* EDGES: the changes of a channel in the order of time, the first being its level at the start. They stay the source's.
 */
const cw_edge *cw_source_edges(const cw_source *source, size_t channel, size_t *count);

#endif
