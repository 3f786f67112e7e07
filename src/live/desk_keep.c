/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is kept of a live test: the same things as of a recording. */
#include <errno.h>
#include <math.h>
#include <sndfile.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "live/desk_inside.h"

/* Lanes of a sound test: the inputs that are used. */
static size_t lane_count(const cw_desk_source *source)
{
    return source->input_count > 0 ? source->input_count : source->channels;
}

static cw_status write_wav(const char *path, const float *samples, uint64_t count, size_t channels, double rate_hz,
                           cw_error *err)
{
    SF_INFO form = {
        .samplerate = (int)(rate_hz + 0.5), .channels = (int)channels, .format = SF_FORMAT_WAV | SF_FORMAT_FLOAT};
    SNDFILE *file = sf_open(path, SFM_WRITE, &form);
    if (file == NULL)
        return cw_fail(err, CW_FILE, "the recording \"%s\" cannot be written: %s", path, sf_strerror(NULL));
    sf_count_t frames = (sf_count_t)(count / channels);
    bool whole = sf_writef_float(file, samples, frames) == frames;
    whole = sf_close(file) == 0 && whole;
    return whole ? CW_OK : cw_fail(err, CW_FILE, "the recording \"%s\" could not be written: is the disk full?", path);
}

/* The recording's own facts (rate, levels, warnings), as any recording's. NULL where they cannot be had: the shots
 * stand without them. */
static json_t *recording_facts(const cw_shutter_plan *plan, const char *wav)
{
    cw_error ignored;
    cw_source *source;
    cw_plan_result result = {0};
    if (cw_source_open(wav, NULL, &source, &ignored) != CW_OK)
        return NULL;
    cw_shutter_plan again = *plan;
    again.marks.count = 0; /* the facts do not hang on the speeds */
    again.strike_count = 0;
    json_t *facts = NULL;
    if (cw_plan_run(&again, source, &result, &ignored) == CW_OK) {
        facts = json_incref(result.recording);
        cw_plan_result_free(&result);
    }
    cw_source_close(source);
    return facts;
}

static cw_status make_wav(cw_desk *desk, const char *wav, bool *has_wav, cw_error *err)
{
    float *samples;
    *has_wav = false;
    if (wav == NULL || desk->journal == NULL || desk->setup.source.kind != CW_DESK_SOUND || desk->samples == 0)
        return CW_OK;
    CW_TRY(cw_journal_samples(desk->journal, desk->samples, &samples, err));
    cw_status status =
        write_wav(wav, samples, desk->samples, lane_count(&desk->setup.source), desk->setup.source.rate_hz, err);
    free(samples);
    *has_wav = status == CW_OK;
    return status;
}

static json_t *trace_of(const cw_desk *desk)
{
    json_t *shots = json_array();
    for (size_t i = 0; i < desk->shot_count; i++)
        json_array_append_new(shots, desk->shots[i].lines != NULL ? json_incref(desk->shots[i].lines) : json_array());
    return json_pack("{s:s,s:o}", "format", "camerawright.gate-lines/1", "shots", shots);
}

/* A mark for each shot, and what counts as struck when it is worked out again. */
static void fill_plan(const cw_desk *desk, cw_shutter_plan *plan)
{
    *plan = desk->setup.plan;
    plan->marks.count = desk->shot_count;
    plan->shots_per_speed = 0;
    plan->strike_count = 0;
    for (size_t i = 0; i < desk->shot_count; i++) {
        const cw_shot *shot = &desk->shots[i].show.shot;
        plan->marks.marked_s[i] = shot->marked_s;
        /* a loss of the system cannot be seen in the samples that came */
        bool lost = shot->incomplete && desk->setup.source.kind == CW_DESK_SOUND;
        if ((shot->struck || lost) && plan->strike_count < CW_STRIKES_MOST)
            plan->strikes[plan->strike_count++] = i + 1;
    }
}

static cw_status outcome(cw_desk *desk, const char *wav, cw_shutter_plan *plan, cw_plan_result *result, bool *has_wav,
                         json_t **trace, cw_error *err)
{
    if (desk->state == CW_DESK_FREE)
        return cw_fail(err, CW_CONFLICT, "no live test is there to be kept");
    if (desk->state == CW_DESK_LISTENS)
        return cw_fail(err, CW_CONFLICT, "the test is still being listened to");
    if (desk->shot_count == 0)
        return cw_fail(err, CW_RANGE, "no shot was seen, so there is nothing to keep");
    CW_TRY(make_wav(desk, wav, has_wav, err));
    fill_plan(desk, plan);
    cw_shot *shots = malloc(desk->shot_count * sizeof *shots);
    if (shots == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu shots", desk->shot_count);
    for (size_t i = 0; i < desk->shot_count; i++)
        shots[i] = desk->shots[i].show.shot;
    cw_shutter_plan counted = *plan;
    counted.strike_count = 0; /* the shots carry it, with the person's reason */
    cw_status status =
        cw_plan_run_shots(&counted, shots, desk->shot_count, *has_wav ? recording_facts(plan, wav) : NULL, result, err);
    free(shots);
    if (status == CW_OK)
        *trace = desk->setup.source.kind == CW_DESK_GATE ? trace_of(desk) : NULL;
    return status;
}

cw_status cw_desk_outcome(cw_desk *desk, const char *wav, cw_shutter_plan *plan, cw_plan_result *result, bool *has_wav,
                          json_t **trace, cw_error *err)
{
    pthread_mutex_lock(&desk->control);
    pthread_mutex_lock(&desk->lock);
    cw_status status = outcome(desk, wav, plan, result, has_wav, trace, err);
    pthread_mutex_unlock(&desk->lock);
    pthread_mutex_unlock(&desk->control);
    return status;
}
