/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/overview.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* Four frames at a time: the samples of four frames are `channels` groups of four floats, and place j of group k
 * always belongs to channel (4k + j) mod channels. So one loop of plain vectors serves every channel count. */
enum { LANES = 4, READ_FLOATS = 1 << 15 };

typedef struct {
    float least[LANES * CW_CHANNELS_MOST], most[LANES * CW_CHANNELS_MOST], sum[LANES * CW_CHANNELS_MOST];
} lanes;

/* One of the `channels` vectors of each of `groups` groups; what is gathered stays in registers. */
static inline void gather_vector(const float *samples, size_t step, size_t groups, float *least, float *most,
                                 float *sum)
{
    float low[LANES], high[LANES], all[LANES];
    for (size_t j = 0; j < LANES; j++) {
        low[j] = INFINITY;
        high[j] = -INFINITY;
        all[j] = 0;
    }
    for (size_t i = 0; i < groups; i++) {
        const float *x = samples + i * step;
#pragma omp simd
        for (size_t j = 0; j < LANES; j++) {
            low[j] = x[j] < low[j] ? x[j] : low[j];
            high[j] = x[j] > high[j] ? x[j] : high[j];
            all[j] += x[j];
        }
    }
    memcpy(least, low, sizeof low);
    memcpy(most, high, sizeof high);
    memcpy(sum, all, sizeof all);
}

static void gather_lanes(const float *samples, size_t channels, size_t groups, lanes *l)
{
    for (size_t k = 0; k < channels; k++)
        gather_vector(samples + k * LANES, channels * LANES, groups, l->least + k * LANES, l->most + k * LANES,
                      l->sum + k * LANES);
}

/* Sums of more than this many frames in single precision would lose digits. */
enum { CHUNK_FRAMES = 512 };

static inline float lesser(float a, float b)
{
    return a < b ? a : b;
}

static inline float greater(float a, float b)
{
    return a > b ? a : b;
}

/* The four places of each channel become one. `begins`: these are the first frames of the block. */
static void chunk_into_block(cw_overview *o, size_t block, bool begins, const lanes *l, const float *rest,
                             size_t rest_frames)
{
    size_t n = o->channels;
    for (size_t c = 0; c < n; c++) {
        size_t at = c * o->capacity + block;
        const float *low = l->least + c, *high = l->most + c, *all = l->sum + c;
        float least = lesser(lesser(low[0], low[n]), lesser(low[2 * n], low[3 * n]));
        float most = greater(greater(high[0], high[n]), greater(high[2 * n], high[3 * n]));
        double sum = (double)all[0] + (double)all[n] + ((double)all[2 * n] + (double)all[3 * n]);
        for (size_t i = 0; i < rest_frames; i++) {
            float x = rest[i * n + c];
            least = lesser(x, least);
            most = greater(x, most);
            sum += (double)x;
        }
        o->least[at] = begins ? least : lesser(least, o->least[at]);
        o->most[at] = begins ? most : greater(most, o->most[at]);
        o->mean[at] = begins ? sum : o->mean[at] + sum;
    }
}

static void add_frames(cw_overview *o, size_t block, bool begins, const float *samples, size_t frames)
{
    while (frames > 0) {
        size_t now = frames < CHUNK_FRAMES ? frames : CHUNK_FRAMES, whole = now / LANES;
        lanes l;
        gather_lanes(samples, o->channels, whole, &l);
        chunk_into_block(o, block, begins, &l, samples + whole * LANES * o->channels, now - whole * LANES);
        begins = false;
        samples += now * o->channels;
        frames -= now;
    }
}

static void merge_pairs(cw_overview *o)
{
    for (size_t c = 0; c < o->channels; c++) {
        float *least = o->least + c * o->capacity, *most = o->most + c * o->capacity;
        double *sum = o->mean + c * o->capacity;
        for (size_t b = 0; b < o->count / 2; b++) {
            least[b] = fminf(least[2 * b], least[2 * b + 1]);
            most[b] = fmaxf(most[2 * b], most[2 * b + 1]);
            sum[b] = sum[2 * b] + sum[2 * b + 1];
        }
    }
    o->count /= 2;
    o->block_frames *= 2;
}

/* Until here `mean` held sums: those of neighbours can be added. */
static cw_status sums_to_means(cw_overview *o, cw_error *err)
{
    for (size_t c = 0; c < o->channels; c++)
        for (size_t b = 0; b < o->count; b++) {
            double *mean = &o->mean[c * o->capacity + b];
            if (!isfinite(*mean))
                return cw_fail(err, CW_INPUT,
                               "a sample of channel %zu near %.6f s is not a finite number; export the recording again",
                               c + 1, ((double)o->from + (double)b * (double)o->block_frames) / o->rate_hz);
            *mean /= (double)cw_overview_frames(o, b);
        }
    return CW_OK;
}

static cw_status fill(cw_source *source, uint64_t to, float *samples, cw_overview *o, cw_error *err)
{
    size_t at_once = READ_FLOATS / o->channels / LANES * LANES, in_block = 0;
    while (o->from + o->frames < to) {
        uint64_t left = to - o->from - o->frames;
        size_t got = 0, want = left < at_once ? (size_t)left : at_once;
        CW_TRY(cw_source_read(source, want, samples, &got, err));
        if (got == 0)
            break;
        o->frames += got;
        for (size_t done = 0; done < got;) {
            if (in_block == 0) {
                if (o->count == o->capacity)
                    merge_pairs(o);
                o->count++;
            }
            size_t room = o->block_frames - in_block, now = got - done < room ? got - done : room;
            add_frames(o, o->count - 1, in_block == 0, samples + done * o->channels, now);
            done += now;
            in_block = now < room ? in_block + now : 0;
        }
    }
    return CW_OK;
}

cw_status cw_overview_read(cw_source *source, uint64_t from, uint64_t to, size_t block_least, size_t blocks_most,
                           cw_overview *overview, cw_error *err)
{
    const cw_source_info *info = cw_source_about(source);
    if (info->form != CW_SOURCE_SAMPLED || from >= to || from >= info->frames)
        return cw_fail(err, CW_RANGE, "no samples between frames %llu and %llu", (unsigned long long)from,
                       (unsigned long long)to);
    if (to > info->frames)
        to = info->frames;
    cw_overview o = {.channels = info->channels, .rate_hz = info->rate_hz, .from = from, .block_frames = block_least};
    /* no more room than the stretch can fill */
    uint64_t can_fill = (to - from) / block_least + 2;
    o.capacity = blocks_most;
    while (o.capacity / 2 >= can_fill && o.capacity > 2)
        o.capacity /= 2;
    size_t places = o.capacity * o.channels;
    float *samples = malloc(READ_FLOATS * sizeof *samples);
    o.least = malloc(places * sizeof *o.least);
    o.most = malloc(places * sizeof *o.most);
    o.mean = malloc(places * sizeof *o.mean);
    cw_status status = CW_OK;
    if (samples == NULL || o.least == NULL || o.most == NULL || o.mean == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory for an overview of %zu blocks", o.capacity);
    if (status == CW_OK)
        status = cw_source_seek(source, from, err);
    if (status == CW_OK)
        status = fill(source, to, samples, &o, err);
    if (status == CW_OK && o.count == 0)
        status = cw_fail(err, CW_INPUT, "the recording ends before frame %llu", (unsigned long long)from);
    if (status == CW_OK)
        status = sums_to_means(&o, err);
    free(samples);
    if (status != CW_OK) {
        cw_overview_free(&o);
        return status;
    }
    *overview = o;
    return CW_OK;
}

void cw_overview_free(cw_overview *overview)
{
    free(overview->least);
    free(overview->most);
    free(overview->mean);
    *overview = (cw_overview){.channels = 0};
}
