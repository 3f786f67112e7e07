/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/activity.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"

enum { BLOCK = 64 };
/* quiet kept before and after light; a slow shot through an AC input looks quiet in its middle, so the time after is
 * long */
static const double before_s = 0.3, after_at_first_s = 4.0;
/* light: this many times the usual swing of a block away from rest, and at least this fraction of full scale */
static const float swings = 5, least_swing = 0.002f;
/* rest and swing follow slowly, a second or so, and only while it is quiet */
static const double follow_s = 1.0, level_window_s = 0.1;

typedef struct {
    float rest, swing; /* of quiet blocks: middle, half range */
    bool known;
    float least, most; /* of the running level window */
    float shown_least, shown_most;
    bool clipped, shown_clipped, lit;
} channel_state;

struct cw_activity {
    size_t channels, ceiling_frames;
    double rate_hz, after_s;
    float follow;
    channel_state channel[CW_CHANNELS_MOST];

    float *kept; /* interleaved */
    size_t kept_frames, kept_capacity;
    float *before; /* ring of the quiet before, while nothing is kept */
    size_t before_frames, before_used, before_at;

    float block[BLOCK * CW_CHANNELS_MOST];
    size_t block_used;
    bool keeping, lit, pending; /* pending: light came and went, not told yet */
    size_t quiet_frames, level_frames;
    uint64_t taken;
};

cw_status cw_activity_new(size_t channels, double rate_hz, double kept_most_s, cw_activity **activity, cw_error *err)
{
    if (channels < 1 || channels > CW_CHANNELS_MOST || !(rate_hz >= 8e3 && rate_hz <= 1e6))
        return cw_fail(err, CW_RANGE, "%zu channels at %g Hz; 1 to %d channels at 8 kHz to 1 MHz can be listened to",
                       channels, rate_hz, CW_CHANNELS_MOST);
    if (!(kept_most_s >= 1 && kept_most_s <= 3600))
        return cw_fail(err, CW_RANGE, "%g s of recording cannot be kept; 1 s to an hour can", kept_most_s);
    cw_activity *made = calloc(1, sizeof *made);
    if (made != NULL) {
        made->channels = channels;
        made->rate_hz = rate_hz;
        made->after_s = after_at_first_s;
        made->ceiling_frames = (size_t)(kept_most_s * rate_hz);
        made->follow = (float)(BLOCK / (follow_s * rate_hz));
        made->before_frames = (size_t)(before_s * rate_hz) / BLOCK * BLOCK;
        made->before = calloc(made->before_frames * channels, sizeof *made->before);
    }
    if (made == NULL || made->before == NULL) {
        cw_activity_free(made);
        return cw_fail(err, CW_MEMORY, "no memory to listen to %zu channels", channels);
    }
    *activity = made;
    return CW_OK;
}

void cw_activity_free(cw_activity *activity)
{
    if (activity == NULL)
        return;
    free(activity->kept);
    free(activity->before);
    free(activity);
}

static cw_status keep(cw_activity *a, const float *samples, size_t frames, cw_error *err)
{
    size_t need = (a->kept_frames + frames) * a->channels;
    if (a->kept_frames + frames > a->ceiling_frames)
        return cw_fail(err, CW_RANGE,
                       "%.0f s of shots are recorded, the most that is kept; end this test and begin another",
                       (double)a->ceiling_frames / a->rate_hz);
    CW_TRY(cw_grow(&a->kept, &a->kept_capacity, need, sizeof *a->kept, (a->ceiling_frames + BLOCK) * a->channels,
                   "samples", err));
    memcpy(a->kept + a->kept_frames * a->channels, samples, frames * a->channels * sizeof *samples);
    a->kept_frames += frames;
    return CW_OK;
}

/* The ring of quiet goes before the shot, oldest first. */
static cw_status keep_before(cw_activity *a, cw_error *err)
{
    size_t from = a->before_used < a->before_frames ? 0 : a->before_at;
    size_t first = a->before_used - from < a->before_used ? a->before_used - from : a->before_used;
    CW_TRY(keep(a, a->before + from * a->channels, first, err));
    CW_TRY(keep(a, a->before, a->before_used - first, err));
    a->before_used = 0;
    a->before_at = 0;
    return CW_OK;
}

static void remember_quiet(cw_activity *a)
{
    memcpy(a->before + a->before_at * a->channels, a->block, BLOCK * a->channels * sizeof *a->block);
    a->before_at = (a->before_at + BLOCK) % a->before_frames;
    a->before_used = a->before_used + BLOCK < a->before_frames ? a->before_used + BLOCK : a->before_frames;
}

/* Of every channel over the block: two frames' worth of running values, folded at the end, keep the compiler's lanes
 * full for one, two, four and eight channels. */
static void find_extremes(const cw_activity *a, float least[CW_CHANNELS_MOST], float most[CW_CHANNELS_MOST])
{
    enum { WIDE = CW_CHANNELS_MOST };
    size_t stride = WIDE / a->channels * a->channels, count = BLOCK * a->channels, at = stride;
    float low[WIDE], high[WIDE];
    for (size_t i = 0; i < WIDE; i++)
        low[i] = high[i] = a->block[i < stride ? i : i - stride];
    for (; stride == WIDE && at + WIDE <= count; at += WIDE)
        for (size_t i = 0; i < WIDE; i++) {
            float value = a->block[at + i];
            low[i] = value < low[i] ? value : low[i];
            high[i] = value > high[i] ? value : high[i];
        }
    for (; at < count; at++) {
        size_t i = at % a->channels;
        low[i] = fminf(low[i], a->block[at]);
        high[i] = fmaxf(high[i], a->block[at]);
    }
    for (size_t c = 0; c < a->channels; c++) {
        least[c] = low[c];
        most[c] = high[c];
        for (size_t i = c + a->channels; i < stride; i += a->channels) {
            least[c] = fminf(least[c], low[i]);
            most[c] = fmaxf(most[c], high[i]);
        }
    }
}

/* Looks at one channel of the block: does it stand away from rest? Follows rest and swing while it does not. */
static bool look_at(cw_activity *a, size_t c, float least, float most)
{
    channel_state *s = &a->channel[c];
    float middle = (least + most) / 2, swing = (most - least) / 2;
    if (!s->known)
        *s = (channel_state){.rest = middle, .swing = swing, .known = true, .least = least, .most = most};
    s->least = fminf(s->least, least);
    s->most = fmaxf(s->most, most);
    s->clipped = s->clipped || most >= 0.9999f || least <= -0.9999f;
    float far = fmaxf(most - s->rest, s->rest - least);
    s->lit = far > fmaxf(swings * s->swing, least_swing);
    if (!s->lit) {
        s->rest += a->follow * (middle - s->rest);
        s->swing += a->follow * (swing - s->swing);
    }
    return s->lit;
}

static void turn_level_window(cw_activity *a)
{
    a->level_frames += BLOCK;
    if ((double)a->level_frames < level_window_s * a->rate_hz)
        return;
    a->level_frames = 0;
    for (size_t c = 0; c < a->channels; c++) {
        channel_state *s = &a->channel[c];
        s->shown_least = s->least;
        s->shown_most = s->most;
        s->shown_clipped = s->clipped;
        s->least = INFINITY;
        s->most = -INFINITY;
        s->clipped = false;
    }
}

static cw_status take_block(cw_activity *a, bool *ended, cw_error *err)
{
    bool lit = false;
    float least[CW_CHANNELS_MOST], most[CW_CHANNELS_MOST];
    find_extremes(a, least, most);
    for (size_t c = 0; c < a->channels; c++)
        lit = look_at(a, c, least[c], most[c]) || lit;
    turn_level_window(a);
    if (lit) {
        if (!a->keeping)
            CW_TRY(keep_before(a, err));
        a->keeping = true;
        a->pending = true;
        a->quiet_frames = 0;
    } else {
        a->quiet_frames += BLOCK;
    }
    a->lit = lit;
    if (a->keeping)
        CW_TRY(keep(a, a->block, BLOCK, err));
    else
        remember_quiet(a);
    if (a->pending && (double)a->quiet_frames >= CW_ACTIVITY_QUIET_S * a->rate_hz) {
        a->pending = false;
        *ended = true;
    }
    if (a->keeping && (double)a->quiet_frames >= a->after_s * a->rate_hz)
        a->keeping = false;
    return CW_OK;
}

cw_status cw_activity_feed(cw_activity *a, const float *samples, size_t frames, bool *ended, cw_error *err)
{
    *ended = false;
    a->taken += frames;
    while (frames > 0) {
        size_t take = BLOCK - a->block_used < frames ? BLOCK - a->block_used : frames;
        memcpy(a->block + a->block_used * a->channels, samples, take * a->channels * sizeof *samples);
        a->block_used += take;
        samples += take * a->channels;
        frames -= take;
        if (a->block_used < BLOCK)
            break;
        a->block_used = 0;
        CW_TRY(take_block(a, ended, err));
    }
    return CW_OK;
}

void cw_activity_keep_after(cw_activity *a, double seconds)
{
    a->after_s = fmin(60, fmax(0.3, seconds));
}

cw_status cw_activity_preload(cw_activity *a, const float *samples, size_t frames, cw_error *err)
{
    return keep(a, samples, frames, err);
}

void cw_activity_gap(cw_activity *a)
{
    a->block_used = 0;
    a->keeping = false;
    a->pending = false;
    a->before_used = 0;
    a->before_at = 0;
}

void cw_activity_levels(const cw_activity *a, cw_activity_level levels[CW_CHANNELS_MOST])
{
    for (size_t c = 0; c < a->channels; c++) {
        const channel_state *s = &a->channel[c];
        levels[c] = (cw_activity_level){s->shown_least, s->shown_most, s->shown_clipped, s->lit};
    }
}

const float *cw_activity_frames(const cw_activity *a, size_t *frames)
{
    *frames = a->kept_frames;
    return a->kept;
}

uint64_t cw_activity_taken(const cw_activity *a)
{
    return a->taken;
}

/* ---- as a source ---- */

typedef struct {
    const float *frames;
    size_t count, channels, at;
} view;

static cw_status view_read(void *state, size_t frames, float *out, size_t *got, cw_error *err)
{
    (void)err;
    view *v = state;
    *got = v->count - v->at < frames ? v->count - v->at : frames;
    memcpy(out, v->frames + v->at * v->channels, *got * v->channels * sizeof *out);
    v->at += *got;
    return CW_OK;
}

static cw_status view_seek(void *state, uint64_t frame, cw_error *err)
{
    view *v = state;
    if (frame > v->count)
        return cw_fail(err, CW_RANGE, "frame %llu lies behind the end", (unsigned long long)frame);
    v->at = (size_t)frame;
    return CW_OK;
}

cw_status cw_activity_source(const cw_activity *a, cw_source **source, cw_error *err)
{
    static const cw_source_calls calls = {.read = view_read, .seek = view_seek, .close = free};
    if (a->kept_frames == 0)
        return cw_fail(err, CW_INPUT, "no shot was seen yet; fire the shutter between the lamp and the sensors");
    view *v = calloc(1, sizeof *v);
    if (v == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the recording");
    *v = (view){a->kept, a->kept_frames, a->channels, 0};
    cw_source_info info = {.form = CW_SOURCE_SAMPLED,
                           .channels = a->channels,
                           .rate_hz = a->rate_hz,
                           .frames = a->kept_frames,
                           .length_s = (double)a->kept_frames / a->rate_hz};
    cw_status status = cw_source_make(&info, &calls, v, source, err);
    if (status != CW_OK)
        free(v);
    return status;
}
