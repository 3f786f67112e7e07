/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/trace.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "base/select.h"

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

/* No bins yet, and room as before if it was for as many channels. */
static void start(cw_trace *t, size_t channels, double interval_s)
{
    if (t->channels != channels)
        cw_trace_free(t);
    t->channels = channels;
    t->interval_s = interval_s;
    t->count = t->single_count = 0;
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

/* Bins [first, end) hold one sample each. */
static cw_status note_singles(cw_trace *t, size_t first, size_t end, cw_error *err)
{
    cw_stretch *last = t->single_count > 0 ? &t->singles[t->single_count - 1] : NULL;
    if (last != NULL && last->end == first) {
        last->end = end;
        return CW_OK;
    }
    CW_TRY(cw_grow(&t->singles, &t->single_capacity, t->single_count + 1, sizeof *t->singles, BINS_MOST,
                   "a stretch of the recording", err));
    t->singles[t->single_count++] = (cw_stretch){first, end};
    return CW_OK;
}

/* Blocks [first, end), a bin each. */
static cw_status add_blocks(const cw_overview *o, size_t first, size_t end, cw_trace *t, cw_error *err)
{
    size_t count = end - first, i = t->count;
    double start = (double)(o->from + (uint64_t)first * o->block_frames), frames = (double)o->block_frames;
    for (size_t k = 0; k < count; k++) {
        t->at_s[i + k] = (start + (double)(int64_t)k * frames + (frames - 1) / 2) * t->interval_s;
        t->frames[i + k] = frames;
    }
    for (size_t c = 0; c < t->channels; c++)
        memcpy(t->value[c] + i, o->mean + c * o->capacity + first, count * sizeof *o->mean);
    t->count += count;
    if (end == o->count) { /* which may be shorter */
        frames = (double)cw_overview_frames(o, end - 1);
        t->at_s[t->count - 1] =
            (start + (double)(count - 1) * (double)o->block_frames + (frames - 1) / 2) * t->interval_s;
        t->frames[t->count - 1] = frames;
        if (frames == 1 && o->block_frames > 1)
            return note_singles(t, t->count - 1, t->count, err);
    }
    return o->block_frames == 1 ? note_singles(t, i, t->count, err) : CW_OK;
}

static void put_samples(const float *samples, uint64_t from, size_t count, cw_trace *t)
{
    for (size_t f = 0; f < count; f++) {
        t->at_s[t->count + f] = (double)(int64_t)(from + f) * t->interval_s;
        t->frames[t->count + f] = 1;
    }
    for (size_t c = 0; c < t->channels; c++) {
        double *value = t->value[c] + t->count;
        for (size_t f = 0; f < count; f++)
            value[f] = (double)samples[f * t->channels + c];
    }
    t->count += count;
}

static cw_status add_samples(cw_source *source, uint64_t from, uint64_t to, float *samples, size_t at_once, cw_trace *t,
                             cw_error *err)
{
    size_t first = t->count, end = first + (size_t)(to - from);
    CW_TRY(cw_source_seek(source, from, err));
    while (from < to) {
        size_t got = 0, want = to - from < at_once ? (size_t)(to - from) : at_once;
        CW_TRY(cw_source_read(source, want, samples, &got, err));
        if (got == 0)
            return cw_fail(err, CW_INPUT, "the recording ends at frame %llu, which was there a moment ago",
                           (unsigned long long)from);
        put_samples(samples, from, got, t);
        from += got;
    }
    return note_singles(t, first, end, err);
}

static cw_status fill(cw_source *source, const cw_overview *o, size_t first, size_t count, const bool *raw, cw_trace *t,
                      cw_error *err)
{
    enum { FLOATS_AT_ONCE = 8192 };
    float samples[FLOATS_AT_ONCE];
    size_t bins = 0;
    for (size_t i = 0; i < count; i++)
        bins += raw[i] ? o->block_frames : 1;
    CW_TRY(make_room(t, bins, err));
    for (size_t i = 0; i < count;) {
        size_t begin = i;
        while (i < count && raw[i] == raw[begin])
            i++;
        if (!raw[begin]) {
            CW_TRY(add_blocks(o, first + begin, first + i, t, err));
            continue;
        }
        uint64_t from = o->from + (uint64_t)(first + begin) * o->block_frames;
        uint64_t to = o->from + (uint64_t)(first + i) * o->block_frames;
        if (to > o->from + o->frames)
            to = o->from + o->frames;
        CW_TRY(add_samples(source, from, to, samples, FLOATS_AT_ONCE / o->channels, t, err));
    }
    return CW_OK;
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
    bool *raw = malloc((end - first) * sizeof *raw);
    if (raw == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a stretch of %zu blocks", end - first);
    mark_raw(overview, first, end - first, quiet_range, margin_s, raw);
    start(trace, overview->channels, 1 / overview->rate_hz);
    cw_status status = fill(source, overview, first, end - first, raw, trace, err);
    free(raw);
    if (status != CW_OK)
        start(trace, overview->channels, 1 / overview->rate_hz);
    return status;
}

void cw_trace_free(cw_trace *trace)
{
    free(trace->at_s);
    free(trace->frames);
    for (size_t c = 0; c < CW_CHANNELS_MOST; c++)
        free(trace->value[c]);
    free(trace->singles);
    *trace = (cw_trace){.channels = 0};
}

static void put_as_they_are(const cw_trace *t, size_t channel, size_t from, size_t to, cw_trace *out)
{
    if (from >= to)
        return;
    memcpy(out->at_s + out->count, t->at_s + from, (to - from) * sizeof *t->at_s);
    memcpy(out->frames + out->count, t->frames + from, (to - from) * sizeof *t->frames);
    memcpy(out->value[0] + out->count, t->value[channel] + from, (to - from) * sizeof *t->value[channel]);
    out->count += to - from;
}

/* Single samples gathered, `most` at a time. */
static cw_status put_means(const cw_trace *t, size_t channel, size_t from, size_t to, size_t most, cw_trace *out,
                           cw_error *err)
{
    for (size_t i = from, now; i < to; i += now) {
        now = to - i < most ? to - i : most;
        const double *value = t->value[channel] + i;
        double sum = 0;
#pragma omp simd reduction(+ : sum)
        for (size_t k = 0; k < now; k++)
            sum += value[k];
        out->at_s[out->count] = (t->at_s[i] + t->at_s[i + now - 1]) / 2;
        out->frames[out->count] = (double)now;
        out->value[0][out->count++] = sum / (double)now;
        if (now == 1)
            CW_TRY(note_singles(out, out->count - 1, out->count, err));
    }
    return CW_OK;
}

static size_t within(size_t i, size_t least, size_t most)
{
    return i < least ? least : i > most ? most : i;
}

cw_status cw_trace_condense(const cw_trace *trace, size_t channel, double from_s, double to_s, double bin_s,
                            cw_trace *condensed, cw_error *err)
{
    start(condensed, 1, trace->interval_s);
    CW_TRY(make_room(condensed, trace->count, err));
    size_t first = cw_trace_find(trace, from_s), end = cw_trace_find(trace, to_s), done = 0;
    size_t most = (size_t)(bin_s / trace->interval_s) + 1;
    end = end > first ? end : first;
    for (size_t k = 0; k < trace->single_count; k++) {
        const cw_stretch *s = &trace->singles[k];
        size_t near = within(first, s->first, s->end), far = within(end, s->first, s->end);
        put_as_they_are(trace, channel, done, s->first, condensed);
        CW_TRY(put_means(trace, channel, s->first, near, most, condensed, err));
        size_t before = condensed->count;
        put_as_they_are(trace, channel, near, far, condensed);
        if (far > near)
            CW_TRY(note_singles(condensed, before, condensed->count, err));
        CW_TRY(put_means(trace, channel, far, s->end, most, condensed, err));
        done = s->end;
    }
    put_as_they_are(trace, channel, done, trace->count, condensed);
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

double cw_trace_noise(const cw_trace *trace, size_t channel, double from_s, double to_s)
{
    enum { ENOUGH = 400 };
    double differences[ENOUGH], kept[ENOUGH], room[ENOUGH];
    size_t n = 0;
    const double *value = trace->value[channel];
    size_t end = cw_trace_find(trace, to_s), first = cw_trace_find(trace, from_s);
    /* the latest ones: they stand nearest to the edge */
    for (size_t k = trace->single_count; k > 0 && n < ENOUGH && trace->singles[k - 1].end > first; k--) {
        const cw_stretch *s = &trace->singles[k - 1];
        size_t least = within(first, s->first, s->end) + 1;
        for (size_t i = within(end, s->first, s->end); i > least && n < ENOUGH; i--)
            differences[n++] = value[i - 1] - value[i - 2];
    }
    if (n < 8)
        return NAN;
    memcpy(kept, differences, n * sizeof *kept);
    double middle = cw_select(n, kept, n / 2, room);
    for (size_t i = 0; i < n; i++)
        differences[i] = fabs(differences[i] - middle);
    /* 1.4826: MAD to sd of a normal distribution, 1 / Phi^-1(3/4) */
    return 1.4826022185056018 * cw_select(n, differences, n / 2, room) / sqrt(2);
}
