/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/shot_trace.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "draw/trace.h"
#include "shutter/marks.h"
#include "shutter/plan.h"
#include "signal/overview.h"

enum { BLOCKS_MOST = 2048, INSTANTS_MOST = 3 + CW_BOUNCES_MOST };

void cw_shot_span(const cw_shot *shot, double length_s, double *from_s, double *to_s)
{
    double first = shot->at_s, last = first;
    for (size_t k = 0; k < shot->sensor_count; k++) {
        const cw_sensor_shot *sensor = &shot->sensors[k];
        if (isfinite(sensor->open_s.value) && sensor->open_s.value < first)
            first = sensor->open_s.value;
        if (isfinite(sensor->close_s.value) && sensor->close_s.value > last)
            last = sensor->close_s.value;
        for (size_t b = 0; b < sensor->bounce_count; b++)
            if (sensor->bounces[b].at_s + sensor->bounces[b].exposure_s > last)
                last = sensor->bounces[b].at_s + sensor->bounces[b].exposure_s;
    }
    double margin = 0.25 * (last - first);
    if (margin < 1e-3)
        margin = 1e-3;
    *from_s = fmax(0, first - margin);
    *to_s = fmin(length_s, last + margin);
    if (*to_s <= *from_s)
        *to_s = *from_s + 2e-3;
}

typedef struct {
    char name[CW_CHANNEL_NAME + 32];
    cw_trace_instant instants[INSTANTS_MOST];
    size_t instant_count;
} lane_words;

static void add_instant(lane_words *words, double at_s, const char *label)
{
    if (isfinite(at_s) && words->instant_count < INSTANTS_MOST)
        words->instants[words->instant_count++] = (cw_trace_instant){at_s, label};
}

static bool is_contact(const json_t *recording, size_t channel)
{
    return json_is_true(json_object_get(json_array_get(json_object_get(recording, "levels"), channel), "contact"));
}

static void name_lane(lane_words *words, const cw_source_info *about, size_t channel, const cw_sensor_shot *sensor)
{
    if (sensor != NULL && isfinite(sensor->position_mm))
        snprintf(words->name, sizeof words->name, "sensor at %.3g mm", sensor->position_mm);
    else if (about->names[channel][0] != '\0')
        snprintf(words->name, sizeof words->name, "%s", about->names[channel]);
    else
        snprintf(words->name, sizeof words->name, "channel %zu", channel + 1);
}

static void fill_lane(cw_trace_channel *lane, lane_words *words, const cw_source_info *about, size_t channel,
                      const cw_shot *shot, size_t *sensor_index, const json_t *recording)
{
    const json_t *level = json_array_get(json_object_get(recording, "levels"), channel);
    const json_t *rest = json_object_get(level, "rest"), *full = json_object_get(level, "full");
    const cw_sensor_shot *sensor = NULL;
    if (is_contact(recording, channel)) {
        snprintf(words->name, sizeof words->name, "flash contact");
        add_instant(words, shot->contact_s.value, "contact");
    } else {
        if (*sensor_index < shot->sensor_count)
            sensor = &shot->sensors[(*sensor_index)++];
        name_lane(words, about, channel, sensor);
    }
    if (sensor != NULL) {
        add_instant(words, sensor->open_s.value, "opens");
        add_instant(words, sensor->close_s.value, "closes");
        for (size_t b = 0; b < sensor->bounce_count; b++)
            add_instant(words, sensor->bounces[b].at_s, "bounce");
    }
    bool turned = json_is_true(json_object_get(level, "inverted"));
    lane->name = words->name;
    lane->instants = words->instants;
    lane->instant_count = words->instant_count;
    lane->dark = json_is_number(rest) ? json_number_value(rest) : NAN;
    lane->full = json_is_number(full) && !is_contact(recording, channel)
                     ? lane->dark + (turned ? -1 : 1) * json_number_value(full)
                     : NAN;
    lane->mid = (lane->dark + lane->full) / 2;
}

/* Blocks of one sample each stay samples; longer ones become their least and greatest in turn, twice as many points. */
static float *points_of(const cw_overview *overview, size_t *points)
{
    bool single = overview->block_frames == 1;
    *points = single ? overview->count : 2 * overview->count;
    float *values = calloc(*points * overview->channels + 1, sizeof *values);
    for (size_t c = 0; values != NULL && c < overview->channels; c++)
        for (size_t b = 0; b < overview->count; b++) {
            float least = overview->least[c * overview->capacity + b],
                  most = overview->most[c * overview->capacity + b];
            if (single) {
                values[b * overview->channels + c] = least;
            } else {
                values[2 * b * overview->channels + c] = least;
                values[(2 * b + 1) * overview->channels + c] = most;
            }
        }
    return values;
}

static cw_status draw_samples(cw_source *source, cw_trace *trace, cw_trace_channel *lanes, cw_buf *svg, cw_error *err)
{
    const cw_source_info *about = cw_source_about(source);
    uint64_t from = (uint64_t)fmax(0, floor(trace->from_s * about->rate_hz));
    uint64_t to = (uint64_t)ceil(trace->to_s * about->rate_hz) + 2;
    cw_overview overview;
    CW_TRY(cw_overview_read(source, from, to, 1, BLOCKS_MOST, &overview, err));
    size_t points;
    float *values = points_of(&overview, &points);
    cw_status status = values != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the trace");
    if (status == CW_OK) {
        trace->start_s = (double)overview.from / about->rate_hz;
        trace->frames = points;
        trace->rate_hz =
            overview.block_frames == 1 ? about->rate_hz : 2 * about->rate_hz / (double)overview.block_frames;
        for (size_t c = 0; c < about->channels; c++) {
            lanes[c].samples = values + c;
            lanes[c].stride = about->channels;
        }
        status = cw_trace_svg(trace, svg, err);
    }
    free(values);
    cw_overview_free(&overview);
    return status;
}

cw_status cw_shot_trace_svg(cw_source *source, const cw_shot *shot, const json_t *recording, double from_s, double to_s,
                            cw_buf *svg, cw_error *err)
{
    const cw_source_info *about = cw_source_about(source);
    cw_trace_channel lanes[CW_CHANNELS_MOST] = {0};
    lane_words words[CW_CHANNELS_MOST] = {0};
    size_t sensor_index = 0;
    for (size_t c = 0; c < about->channels; c++)
        fill_lane(&lanes[c], &words[c], about, c, shot, &sensor_index, recording);
    cw_trace trace = {.title = "What the sensors saw",
                      .channels = lanes,
                      .channel_count = about->channels,
                      .from_s = from_s,
                      .to_s = to_s,
                      .zero_s = shot->at_s};
    if (about->form == CW_SOURCE_SAMPLED)
        return draw_samples(source, &trace, lanes, svg, err);
    for (size_t c = 0; c < about->channels; c++)
        lanes[c].edges = cw_source_edges(source, c, &lanes[c].edge_count);
    return cw_trace_svg(&trace, svg, err);
}

/* ---- of a kept test ---- */

static const cw_shot *fastest_shot(const cw_shutter_test *test)
{
    const cw_shot *found = NULL;
    for (size_t i = 0; i < test->shot_count; i++)
        if (test->shots[i].marked_s > 0 && isfinite(test->shots[i].at_s) &&
            (found == NULL || test->shots[i].marked_s < found->marked_s))
            found = &test->shots[i];
    return found;
}

static bool is_of_light(const cw_shot *shot)
{
    for (size_t s = 0; s < shot->sensor_count; s++)
        if (shot->sensors[s].seen &&
            (shot->sensors[s].method == CW_METHOD_SOUND || shot->sensors[s].method == CW_METHOD_PHOTO))
            return false;
    return shot->sensor_count > 0;
}

bool cw_stored_trace_svg(cw_bench *bench, const cw_test *stored, const cw_shutter_test *test, cw_buf *svg,
                         char *caption, size_t size)
{
    cw_error ignored; /* what cannot be drawn is left out; the figures stand without it */
    cw_shutter_plan plan = cw_plan_default();
    cw_source *source;
    char path[4096], mark[CW_MARK_TEXT];
    double from_s, to_s;
    const cw_shot *shot = fastest_shot(test);
    if (shot == NULL || !is_of_light(shot) ||
        cw_recording_path(bench, stored->recording_id, path, sizeof path, &ignored) != CW_OK)
        return false;
    json_t *how = json_loads(stored->plan_json, 0, NULL), *result = json_loads(stored->result_json, 0, NULL);
    bool drawn = how == NULL || cw_plan_from_json(how, &plan, &ignored) == CW_OK;
    if (drawn && cw_source_open(path, &plan.source, &source, &ignored) == CW_OK) {
        cw_shot_span(shot, cw_source_about(source)->length_s, &from_s, &to_s);
        drawn =
            cw_shot_trace_svg(source, shot, json_object_get(result, "recording"), from_s, to_s, svg, &ignored) == CW_OK;
        cw_source_close(source);
    } else {
        drawn = false;
    }
    json_decref(how);
    json_decref(result);
    cw_mark_text(shot->marked_s, mark, sizeof mark);
    snprintf(caption, size, "What the sensors saw of one shot marked %s s, %s the work.", mark,
             stored->when == CW_WHEN_AFTER ? "after" : "before");
    return drawn;
}
