/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The desk listening to a sound card: what matters of the stream is kept, written to the journal, and measured as a
 * whole after each shot, by the same way as a recording that was given. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "live/desk_inside.h"

enum { BLOCK_FRAMES = 4096, READ_MS = 10 };
/* The most that is kept of one test, samples over all channels: 256 MB in memory and on disk. */
static const double samples_most = 64e6;
static const double look_again_s = 0.5, column_s = 0.1, clipped_s = 1.0;

struct desk_ear {
    cw_desk *desk;
    size_t card_channels, lanes;
    size_t input[CW_CHANNELS_MOST]; /* of the card, from 0, for each lane */
    bool is_straight;               /* every channel is used, in its order */
    double rate_hz;
    cw_activity *activity;
    size_t journalled; /* frames of the activity in the journal */
    float *block;      /* BLOCK_FRAMES of the lanes */
    double column_at;  /* frames taken at the last column */
    double clipped_s[CW_CHANNELS_MOST];
    bool clipped_told, rate_told;
    cw_quantity true_rate_hz;
};

static cw_status take_journalled(desk_ear *ear, cw_error *err)
{
    cw_desk *desk = ear->desk;
    float *samples;
    if (desk->journal == NULL || desk->samples == 0)
        return CW_OK;
    CW_TRY(cw_journal_samples(desk->journal, desk->samples, &samples, err));
    cw_status status = cw_activity_preload(ear->activity, samples, (size_t)(desk->samples / ear->lanes), err);
    free(samples);
    ear->journalled = (size_t)(desk->samples / ear->lanes);
    return status;
}

cw_status desk_ear_new(cw_desk *desk, size_t channels, double rate_hz, desk_ear **ear, cw_error *err)
{
    const cw_desk_source *source = &desk->setup.source;
    desk_ear *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to listen");
    made->desk = desk;
    made->card_channels = channels;
    made->lanes = source->input_count > 0 ? source->input_count : channels;
    made->rate_hz = rate_hz;
    made->true_rate_hz = (cw_quantity){NAN, NAN};
    for (size_t i = 0; i < made->lanes; i++)
        made->input[i] = source->input_count > 0 ? source->inputs[i] - 1 : i;
    made->is_straight = source->input_count == 0;
    made->block = malloc(BLOCK_FRAMES * made->lanes * sizeof *made->block);
    cw_status status = made->block != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory to listen");
    double most_s = fmin(3600, samples_most / (rate_hz * (double)made->lanes));
    if (status == CW_OK)
        status = cw_activity_new(made->lanes, rate_hz, most_s, &made->activity, err);
    if (status == CW_OK)
        status = take_journalled(made, err);
    if (status != CW_OK) {
        desk_ear_free(made);
        return status;
    }
    *ear = made;
    return CW_OK;
}

void desk_ear_free(desk_ear *ear)
{
    if (ear == NULL)
        return;
    cw_activity_free(ear->activity);
    free(ear->block);
    free(ear);
}

/* ---- after a shot ---- */

/* What the lanes did around a shot, in few columns: in each the value farthest from the first. */
static void draw_trace(const desk_ear *ear, cw_desk_shot *shown)
{
    size_t frames;
    const float *kept = cw_activity_frames(ear->activity, &frames);
    double first = INFINITY, last = -INFINITY;
    for (size_t i = 0; i < shown->shot.sensor_count; i++) {
        const cw_sensor_shot *sensor = &shown->shot.sensors[i];
        first = fmin(first, sensor->open_s.value);
        last = fmax(last, sensor->close_s.value);
    }
    if (!(last > first))
        return;
    double margin = fmax(0.2 * (last - first), 0.5e-3);
    double from = fmax(0, (first - margin) * ear->rate_hz);
    double to = fmin((double)frames, (last + margin) * ear->rate_hz);
    if (!(to - from >= 2))
        return;
    shown->trace_count = ear->lanes;
    shown->trace_from_s = from / ear->rate_hz;
    shown->trace_to_s = to / ear->rate_hz;
    for (size_t c = 0; c < ear->lanes; c++) {
        float rest = kept[(size_t)from * ear->lanes + c];
        for (size_t column = 0; column < CW_DESK_TRACE; column++) {
            size_t begin = (size_t)(from + (to - from) * (double)column / CW_DESK_TRACE);
            size_t end = (size_t)(from + (to - from) * (double)(column + 1) / CW_DESK_TRACE);
            float far = kept[begin * ear->lanes + c];
            for (size_t at = begin; at < end && at < frames; at++)
                if (fabsf(kept[at * ear->lanes + c] - rest) > fabsf(far - rest))
                    far = kept[at * ear->lanes + c];
            shown->trace[c][column] = far;
        }
    }
}

/* Samples that were dropped within a shot, or so near that its level is not to be trusted. */
static void mark_gaps(const desk_ear *ear, cw_shot *shot)
{
    double last = shot->at_s;
    for (size_t i = 0; i < shot->sensor_count; i++)
        last = fmax(last, shot->sensors[i].close_s.value);
    for (size_t g = 0; g < ear->desk->gap_count; g++) {
        double gap_s = (double)ear->desk->gaps[g] / ear->rate_hz;
        if (gap_s < shot->at_s - 0.05 || gap_s > last + 0.05)
            continue;
        shot->incomplete = true;
        snprintf(shot->remark, sizeof shot->remark, "the system dropped samples during this shot");
    }
}

static bool same_shot(const cw_shot *a, const cw_shot *b)
{
    if (a->sensor_count != b->sensor_count || a->incomplete != b->incomplete)
        return false;
    for (size_t i = 0; i < a->sensor_count; i++) {
        double x = a->sensors[i].exposure_s.value, y = b->sensors[i].exposure_s.value;
        if (isnan(x) != isnan(y) || fabs(x - y) > 1e-9)
            return false;
    }
    return true;
}

static cw_status journal_samples(desk_ear *ear, cw_error *err)
{
    size_t frames;
    uint64_t total = 0;
    const float *kept = cw_activity_frames(ear->activity, &frames);
    if (ear->desk->journal == NULL || frames <= ear->journalled)
        return CW_OK;
    CW_TRY(cw_journal_add_samples(ear->desk->journal, kept + ear->journalled * ear->lanes,
                                  (frames - ear->journalled) * ear->lanes, &total, err));
    ear->journalled = frames;
    ear->desk->samples = total;
    return CW_OK;
}

/* Locked. */
static void merge(desk_ear *ear, const cw_measurement *measured)
{
    cw_desk *desk = ear->desk;
    cw_error err;
    if (journal_samples(ear, &err) != CW_OK) {
        desk_say_locked(desk, true, "the samples of a shot cannot be kept, so it is not shown: %.200s", err.text);
        return;
    }
    if (measured->shot_count < desk->shot_count)
        desk_drop_shots(desk, measured->shot_count);
    for (size_t i = 0; i < measured->shot_count; i++) {
        cw_desk_shot *shown = calloc(1, sizeof *shown);
        if (shown == NULL)
            return;
        shown->shot = measured->shots[i];
        mark_gaps(ear, &shown->shot);
        bool is_old = i < desk->shot_count && desk->shots[i].show.trace_count > 0 &&
                      same_shot(&shown->shot, &desk->shots[i].show.shot);
        if (!is_old) {
            draw_trace(ear, shown);
            desk_put_shot(desk, i, shown, NULL);
        }
        free(shown);
    }
}

static void measure_all(desk_ear *ear)
{
    cw_error err;
    cw_source *source;
    cw_measurement *measured;
    if (cw_activity_source(ear->activity, &source, &err) != CW_OK)
        return;
    cw_status status = cw_measure(source, &ear->desk->setup.plan.measure, &measured, &err);
    cw_source_close(source);
    pthread_mutex_lock(&ear->desk->lock);
    if (status == CW_OK)
        merge(ear, measured);
    else
        desk_say_locked(ear->desk, true, "something moved, but no shot was found in it: %.200s", err.text);
    pthread_mutex_unlock(&ear->desk->lock);
    if (status == CW_OK)
        cw_measurement_free(measured);
}

/* ---- while listening ---- */

static void watch_clipping(desk_ear *ear, const cw_activity_level *levels)
{
    bool any = false;
    for (size_t i = 0; i < ear->lanes; i++) {
        ear->clipped_s[i] = levels[i].clipped ? ear->clipped_s[i] + column_s : 0;
        any = any || levels[i].clipped;
        if (ear->clipped_s[i] < clipped_s || ear->clipped_told)
            continue;
        ear->clipped_told = true;
        desk_say(ear->desk, true,
                 "input %zu has been at its limit for a second: sunlight or a lamp too bright, or its gain too high; "
                 "times measured at the limit are wrong. Shade it or turn it down",
                 ear->input[i] + 1);
    }
    ear->clipped_told = ear->clipped_told && any;
}

static void show_levels(desk_ear *ear)
{
    double taken = (double)cw_activity_taken(ear->activity);
    if (taken - ear->column_at < column_s * ear->rate_hz)
        return;
    ear->column_at = taken;
    cw_activity_level levels[CW_CHANNELS_MOST];
    cw_activity_levels(ear->activity, levels);
    cw_desk_level shown = {.lane_count = ear->lanes, .rate_hz = ear->true_rate_hz};
    for (size_t i = 0; i < ear->lanes; i++) {
        snprintf(shown.lanes[i].name, sizeof shown.lanes[i].name, "input %zu", ear->input[i] + 1);
        shown.lanes[i].least = levels[i].least;
        shown.lanes[i].most = levels[i].most;
        shown.lanes[i].lit = levels[i].lit;
        shown.lanes[i].clipped = levels[i].clipped;
    }
    watch_clipping(ear, levels);
    desk_level_column(ear->desk, &shown);
}

/* Quiet that is kept behind light: an input that forgets slow changes looks quiet in the middle of a slow shot. */
static void follow_plan(desk_ear *ear)
{
    bool is_chosen, is_complete;
    pthread_mutex_lock(&ear->desk->lock);
    double next_s = desk_next(ear->desk, &is_chosen, &is_complete);
    pthread_mutex_unlock(&ear->desk->lock);
    cw_activity_keep_after(ear->activity, isnan(next_s) ? 4 : 0.5 + 3 * next_s);
}

static cw_status note_gap(desk_ear *ear, uint64_t dropped, cw_error *err)
{
    size_t frames;
    cw_activity_frames(ear->activity, &frames);
    cw_activity_gap(ear->activity);
    pthread_mutex_lock(&ear->desk->lock);
    cw_desk *desk = ear->desk;
    if (desk->gap_count < CW_COUNT(desk->gaps))
        desk->gaps[desk->gap_count++] = frames;
    cw_status status = desk_note(desk, json_pack("{s:s,s:I}", "kind", "gap", "at", (json_int_t)frames), err);
    desk_say_locked(
        desk, true,
        "the system dropped %llu samples or more: a shot they fell into is marked incomplete. Is the computer "
        "busy with something else?",
        (unsigned long long)dropped);
    pthread_mutex_unlock(&desk->lock);
    return status;
}

/* The lanes of `count` frames, in the order of the sensors. */
static const float *pick_lanes(desk_ear *ear, const float *frames, size_t count)
{
    for (size_t i = 0; i < count; i++)
        for (size_t lane = 0; lane < ear->lanes; lane++)
            ear->block[i * ear->lanes + lane] = frames[i * ear->card_channels + ear->input[lane]];
    return ear->block;
}

cw_status desk_ear_feed(desk_ear *ear, const float *frames, size_t count, uint64_t dropped, cw_error *err)
{
    bool any_ended = false;
    if (dropped > 0)
        CW_TRY(note_gap(ear, dropped, err));
    while (count > 0) {
        size_t take = count < BLOCK_FRAMES ? count : BLOCK_FRAMES;
        const float *lanes = ear->is_straight ? frames : pick_lanes(ear, frames, take);
        bool ended;
        CW_TRY(cw_activity_feed(ear->activity, lanes, take, &ended, err));
        any_ended = any_ended || ended;
        frames += take * ear->card_channels;
        count -= take;
    }
    if (any_ended)
        measure_all(ear);
    follow_plan(ear);
    show_levels(ear);
    return CW_OK;
}

/* ---- the device ---- */

/* The device of that name; "" the default one. */
static cw_status find_device(const char *name, int *number, cw_error *err)
{
    cw_capture_device devices[CW_CAPTURE_DEVICES_MOST];
    size_t count;
    *number = -1;
    if (name[0] == '\0')
        return CW_OK;
    CW_TRY(cw_capture_devices(devices, CW_COUNT(devices), &count, err));
    for (size_t i = 0; i < count; i++)
        if (strcmp(devices[i].name, name) == 0)
            *number = devices[i].number;
    return *number >= 0 ? CW_OK : cw_fail(err, CW_DEVICE, "the sound input \"%s\" is not there", name);
}

static cw_status open_device(cw_desk *desk, cw_capture **capture, cw_error *err)
{
    const cw_desk_source *source = &desk->setup.source;
    cw_capture_request request = {.rate_hz = source->rate_hz, .channels = source->channels};
    CW_TRY(find_device(source->device, &request.device, err));
    return cw_capture_open(&request, capture, err);
}

/* A rate that is not what was asked for makes every time wrong by as much. */
static void watch_rate(desk_ear *ear, const cw_capture *capture)
{
    ear->true_rate_hz = cw_capture_rate(capture);
    double off = ear->true_rate_hz.value / ear->rate_hz - 1, u = ear->true_rate_hz.u / ear->rate_hz;
    if (ear->rate_told || u > 1e-3 || fabs(off) < 5e-4 + 4 * u)
        return;
    ear->rate_told = true;
    desk_say(
        ear->desk, true,
        "the input gives %.0f samples a second, not %.0f as asked: every time is off by %.2f %%. Choose another rate",
        ear->true_rate_hz.value, ear->rate_hz, 100 * off);
}

static cw_status listen_to(desk_ear *ear, cw_capture *capture, float *frames, cw_error *err)
{
    while (!atomic_load(&ear->desk->stopping)) {
        size_t got;
        uint64_t dropped;
        CW_TRY(cw_capture_read(capture, READ_MS, frames, BLOCK_FRAMES, &got, &dropped, err));
        cw_error full = {0};
        if (desk_ear_feed(ear, frames, got, dropped, &full) != CW_OK) {
            *err = full;
            return CW_RANGE; /* not the device's fault */
        }
        watch_rate(ear, capture);
        desk_watch_dark(ear->desk, desk_now_s());
    }
    return CW_OK;
}

static void pause_s(cw_desk *desk, double seconds)
{
    const struct timespec step = {0, 50000000};
    for (double waited = 0; waited < seconds && !atomic_load(&desk->stopping); waited += 0.05)
        nanosleep(&step, NULL);
}

/* Opens, listens, and when the device vanishes waits for it to come back. The first opening has to work. */
static cw_status listen(cw_desk *desk, desk_ear *ear, cw_capture *capture, float *frames, cw_error *err)
{
    while (!atomic_load(&desk->stopping)) {
        cw_status status = listen_to(ear, capture, frames, err);
        cw_capture_close(capture);
        if (status == CW_OK || status != CW_DEVICE)
            return status;
        desk_say(desk, true, "%s Every shot shown so far is kept; plug it in again to go on", err->text);
        CW_TRY(note_gap(ear, 1, err));
        for (status = CW_DEVICE; status != CW_OK && !atomic_load(&desk->stopping);) {
            pause_s(desk, look_again_s);
            status = open_device(desk, &capture, err);
        }
        if (status != CW_OK)
            return CW_OK;
        desk_say(desk, false, "the sound input is there again");
    }
    cw_capture_close(capture);
    return CW_OK;
}

/* The device's own rate becomes the test's. */
static double settle_rate(cw_desk *desk, const cw_capture *capture)
{
    pthread_mutex_lock(&desk->lock);
    double rate_hz = cw_capture_nominal(capture);
    desk->setup.source.rate_hz = rate_hz;
    snprintf(desk->listens_to, sizeof desk->listens_to, "%s, %zu %s, %.0f samples a second", cw_capture_name(capture),
             desk->setup.source.channels, desk->setup.source.channels == 1 ? "channel" : "channels", rate_hz);
    desk_changed(desk);
    pthread_mutex_unlock(&desk->lock);
    return rate_hz;
}

cw_status desk_run_sound(cw_desk *desk, cw_error *err)
{
    cw_capture *capture;
    desk_ear *ear = NULL;
    CW_TRY(open_device(desk, &capture, err));
    double asked_hz = desk->setup.source.rate_hz, rate_hz = settle_rate(desk, capture);
    cw_status status = CW_OK;
    if (asked_hz != rate_hz) { /* so that it is known when this test is found again */
        pthread_mutex_lock(&desk->lock);
        status = desk_note(desk, desk_begin_line(desk), err);
        pthread_mutex_unlock(&desk->lock);
    }
    float *frames = malloc(BLOCK_FRAMES * desk->setup.source.channels * sizeof *frames);
    if (status == CW_OK && frames == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory to listen");
    if (status == CW_OK)
        status = desk_ear_new(desk, desk->setup.source.channels, rate_hz, &ear, err);
    if (status == CW_OK)
        status = listen(desk, ear, capture, frames, err);
    else
        cw_capture_close(capture);
    desk_ear_free(ear);
    free(frames);
    return status;
}
