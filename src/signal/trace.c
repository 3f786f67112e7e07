/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/trace.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"

/* A trace never holds more; beyond it the recording is too restless to be one shot. */
enum { BINS_MOST = 1 << 22 };

static bool is_restless(const cw_overview *o, size_t block, const double *quiet_range)
{
    for (size_t c = 0; c < o->channels; c++) {
        size_t at = c * o->capacity + block;
        if (quiet_range[c] >= 0 && (double)o->most[at] - (double)o->least[at] > quiet_range[c])
            return true;
    }
    return false;
}

/* raw[i] of the blocks first + i: to be read sample by sample. */
static void mark_raw(const cw_overview *o, size_t first, size_t count, const double *quiet_range, double margin_s,
                     bool *raw)
{
    size_t around = (size_t)ceil(margin_s * o->rate_hz / (double)o->block_frames);
    size_t until = 0; /* blocks before this one are marked by a restless block on their left */
    memset(raw, 0, count * sizeof *raw);
    for (size_t i = 0; i < count; i++) {
        if (is_restless(o, first + i, quiet_range)) {
            until = i + around + 1;
            for (size_t back = 1; back <= around && back <= i && !raw[i - back]; back++)
                raw[i - back] = true;
        }
        raw[i] = raw[i] || i < until;
    }
}

static cw_status make_room(cw_trace *t, size_t need, cw_error *err)
{
    if (need <= t->capacity)
        return CW_OK;
    size_t capacity = t->capacity, same = t->capacity;
    CW_TRY(cw_grow(&t->at_s, &capacity, need, sizeof *t->at_s, BINS_MOST, "a stretch of the recording", err));
    CW_TRY(cw_grow(&t->frames, &same, need, sizeof *t->frames, BINS_MOST, "a stretch of the recording", err));
    for (size_t c = 0; c < t->channels; c++) {
        same = t->capacity;
        CW_TRY(cw_grow(&t->value[c], &same, need, sizeof *t->value[c], BINS_MOST, "a stretch of the recording", err));
    }
    t->capacity = capacity;
    return CW_OK;
}

static cw_status add_block(const cw_overview *o, size_t block, cw_trace *t, cw_error *err)
{
    CW_TRY(make_room(t, t->count + 1, err));
    size_t frames = cw_overview_frames(o, block), i = t->count++;
    uint64_t start = o->from + (uint64_t)block * o->block_frames;
    t->at_s[i] = ((double)start + ((double)frames - 1) / 2) * t->interval_s;
    t->frames[i] = (double)frames;
    for (size_t c = 0; c < t->channels; c++)
        t->value[c][i] = cw_overview_mean(o, c, block);
    return CW_OK;
}

static cw_status add_samples(cw_source *source, uint64_t from, uint64_t to, float *samples, size_t at_once, cw_trace *t,
                             cw_error *err)
{
    CW_TRY(make_room(t, t->count + (size_t)(to - from), err));
    CW_TRY(cw_source_seek(source, from, err));
    while (from < to) {
        size_t got = 0, want = to - from < at_once ? (size_t)(to - from) : at_once;
        CW_TRY(cw_source_read(source, want, samples, &got, err));
        if (got == 0)
            return cw_fail(err, CW_INPUT, "the recording ends at frame %llu, which was there a moment ago",
                           (unsigned long long)from);
        for (size_t f = 0; f < got; f++) {
            size_t i = t->count++;
            t->at_s[i] = (double)(from + f) * t->interval_s;
            t->frames[i] = 1;
            for (size_t c = 0; c < t->channels; c++)
                t->value[c][i] = (double)samples[f * t->channels + c];
        }
        from += got;
    }
    return CW_OK;
}

static cw_status fill(cw_source *source, const cw_overview *o, size_t first, size_t count, const bool *raw, cw_trace *t,
                      cw_error *err)
{
    enum { AT_ONCE = 2048 };
    float *samples = malloc(sizeof *samples * AT_ONCE * o->channels);
    if (samples == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to read a stretch of the recording");
    cw_status status = CW_OK;
    for (size_t i = 0; i < count && status == CW_OK;) {
        if (!raw[i]) {
            status = add_block(o, first + i++, t, err);
            continue;
        }
        uint64_t from = o->from + (uint64_t)(first + i) * o->block_frames;
        while (i < count && raw[i])
            i++;
        uint64_t to = o->from + (uint64_t)(first + i) * o->block_frames;
        if (to > o->from + o->frames)
            to = o->from + o->frames;
        status = add_samples(source, from, to, samples, AT_ONCE, t, err);
    }
    free(samples);
    return status;
}

static size_t block_at(const cw_overview *o, double at_s)
{
    double block = (at_s * o->rate_hz - (double)o->from) / (double)o->block_frames;
    return block <= 0 ? 0 : block >= (double)o->count ? o->count : (size_t)block;
}

cw_status cw_trace_read(cw_source *source, const cw_overview *overview, double from_s, double to_s,
                        const double *quiet_range, double margin_s, cw_trace *trace, cw_error *err)
{
    size_t first = block_at(overview, from_s), end = block_at(overview, to_s);
    if (end < overview->count)
        end++;
    if (!(from_s < to_s) || first >= end)
        return cw_fail(err, CW_RANGE, "nothing of the recording lies between %g and %g s", from_s, to_s);
    cw_trace made = {.channels = overview->channels, .interval_s = 1 / overview->rate_hz};
    bool *raw = malloc((end - first) * sizeof *raw);
    if (raw == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a stretch of %zu blocks", end - first);
    mark_raw(overview, first, end - first, quiet_range, margin_s, raw);
    cw_status status = fill(source, overview, first, end - first, raw, &made, err);
    free(raw);
    if (status != CW_OK) {
        cw_trace_free(&made);
        return status;
    }
    *trace = made;
    return CW_OK;
}

void cw_trace_free(cw_trace *trace)
{
    free(trace->at_s);
    free(trace->frames);
    for (size_t c = 0; c < trace->channels; c++)
        free(trace->value[c]);
    *trace = (cw_trace){.channels = 0};
}

cw_status cw_trace_condense(const cw_trace *trace, size_t channel, double from_s, double to_s, double bin_s,
                            cw_trace *condensed, cw_error *err)
{
    cw_trace made = {.channels = 1, .interval_s = trace->interval_s};
    cw_status status = make_room(&made, trace->count, err);
    if (status != CW_OK) {
        cw_trace_free(&made);
        return status;
    }
    size_t first = cw_trace_find(trace, from_s), end = cw_trace_find(trace, to_s);
    size_t most = (size_t)(bin_s / trace->interval_s) + 1;
    const double *value = trace->value[channel];
    for (size_t i = 0; i < trace->count;) {
        size_t stop = i < first ? first : i < end ? i + 1 : trace->count, held = 0;
        double sum = 0, time = 0, frames = 0;
        do {
            sum += value[i] * trace->frames[i];
            time += (trace->at_s[i] - trace->at_s[0]) * trace->frames[i];
            frames += trace->frames[i];
            i++;
            held++;
        } while (i < stop && held < most && trace->frames[i] == 1 && trace->frames[i - 1] == 1);
        size_t k = made.count++;
        made.at_s[k] = trace->at_s[0] + time / frames;
        made.frames[k] = frames;
        made.value[0][k] = sum / frames;
    }
    *condensed = made;
    return CW_OK;
}

size_t cw_trace_find(const cw_trace *trace, double at_s)
{
    size_t low = 0, high = trace->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (trace->at_s[middle] < at_s)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

double cw_trace_mean(const cw_trace *trace, size_t channel, double from_s, double to_s, double *frames)
{
    double sum = 0, weight = 0;
    for (size_t i = cw_trace_find(trace, from_s); i < trace->count && trace->at_s[i] < to_s; i++) {
        sum += trace->value[channel][i] * trace->frames[i];
        weight += trace->frames[i];
    }
    if (frames != NULL)
        *frames = weight;
    return weight > 0 ? sum / weight : NAN;
}

/* The value that stands in the middle when sorted; only as much sorting as that takes (Hoare's selection). */
static double middle_value(double *v, size_t n)
{
    size_t low = 0, high = n - 1, wanted = n / 2;
    while (low < high) {
        double pivot = v[low + (high - low) / 2];
        size_t i = low, j = high;
        for (;;) {
            while (v[i] < pivot)
                i++;
            while (v[j] > pivot)
                j--;
            if (i >= j)
                break;
            double swap = v[i];
            v[i++] = v[j];
            v[j--] = swap;
        }
        if (wanted <= j)
            high = j;
        else
            low = j + 1;
    }
    return v[wanted];
}

double cw_trace_noise(const cw_trace *trace, size_t channel, double from_s, double to_s)
{
    enum { ENOUGH = 400 };
    double differences[ENOUGH];
    size_t n = 0;
    const double *value = trace->value[channel];
    size_t end = cw_trace_find(trace, to_s), first = cw_trace_find(trace, from_s);
    /* the latest ones: they stand nearest to the edge */
    for (size_t i = end; i > first + 1 && n < ENOUGH; i--)
        if (trace->frames[i - 1] == 1 && trace->frames[i - 2] == 1)
            differences[n++] = value[i - 1] - value[i - 2];
    if (n < 8)
        return NAN;
    double middle = middle_value(differences, n);
    for (size_t i = 0; i < n; i++)
        differences[i] = fabs(differences[i] - middle);
    /* 1.4826: MAD to sd of a normal distribution, 1 / Phi^-1(3/4) */
    return 1.4826022185056018 * middle_value(differences, n) / sqrt(2);
}
