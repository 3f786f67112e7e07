/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A recording that lies in memory, for tests and benchmarks: interleaved samples behind the same door as a file. */
#ifndef CW_TESTS_SAMPLES_H
#define CW_TESTS_SAMPLES_H

#include <stdlib.h>
#include <string.h>

#include "signal/source.h"
#include "sim/sim.h"

typedef struct {
    size_t channels;
    uint64_t frames, at;
    float *values;
} samples;

static inline cw_status samples_read(void *state, size_t frames, float *out, size_t *got, cw_error *err)
{
    (void)err;
    samples *s = state;
    if (frames > s->frames - s->at)
        frames = (size_t)(s->frames - s->at);
    memcpy(out, s->values + s->at * s->channels, frames * s->channels * sizeof *out);
    s->at += frames;
    *got = frames;
    return CW_OK;
}

static inline cw_status samples_seek(void *state, uint64_t frame, cw_error *err)
{
    samples *s = state;
    if (frame > s->frames)
        return cw_fail(err, CW_RANGE, "behind the end");
    s->at = frame;
    return CW_OK;
}

static inline void samples_close(void *state)
{
    samples *s = state;
    free(s->values);
    free(s);
}

/* Takes the values over; they must come from malloc. */
static inline cw_status samples_source(float *values, size_t channels, uint64_t frames, double rate_hz,
                                       cw_source **source, cw_error *err)
{
    static const cw_source_calls calls = {.read = samples_read, .seek = samples_seek, .close = samples_close};
    samples *s = malloc(sizeof *s);
    if (s == NULL)
        return cw_fail(err, CW_MEMORY, "no memory");
    *s = (samples){channels, frames, 0, values};
    cw_source_info info = {.form = CW_SOURCE_SAMPLED,
                           .channels = channels,
                           .rate_hz = rate_hz,
                           .frames = frames,
                           .length_s = (double)frames / rate_hz};
    cw_status status = cw_source_make(&info, &calls, s, source, err);
    if (status != CW_OK)
        samples_close(s);
    return status;
}

/* Everything a simulation records. */
static inline cw_status samples_of_sim(cw_sim *sim, cw_source **source, cw_error *err)
{
    size_t channels = cw_sim_channels(sim);
    uint64_t frames = cw_sim_frames(sim), at = 0;
    float *values = malloc(frames * channels * sizeof *values);
    if (values == NULL)
        return cw_fail(err, CW_MEMORY, "no memory");
    cw_sim_rewind(sim);
    for (size_t got; (got = cw_sim_read(sim, 65536, values + at * channels)) > 0; at += got)
        if (at + got >= frames)
            break;
    return samples_source(values, channels, frames, cw_sim_scenario_of(sim)->recorder.rate_hz, source, err);
}

#endif
