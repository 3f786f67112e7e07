/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The journal's lines, out and back:
 *   {"kind":"begin","format":"camerawright.live-journal/1","began_at","source":{..},"plan":{..},"job":7,"when":"before"}
 *   {"kind":"shot","shot":3,"test":{"camerawright.shutter/1" with that one shot},"samples":N,"lines":["E ..", ..]}
 *   {"kind":"strike","shot":3,"out":true,"reason":".."}  {"kind":"mark","shot":3,"marked_s":0.004}
 *   {"kind":"choose","marked_s":0.004|null}  {"kind":"only","shots":2}  {"kind":"gap","at":N}
 * A later "begin" with shots before it changes the set-up only. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "live/desk_inside.h"
#include "shutter/inner.h"

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *source_json(const cw_desk_source *source)
{
    json_t *inputs = json_array();
    for (size_t i = 0; i < source->input_count; i++)
        json_array_append_new(inputs, json_integer((json_int_t)source->inputs[i]));
    return json_pack("{s:s,s:s,s:o,s:b,s:s,s:f,s:I,s:o}", "kind", source->kind == CW_DESK_GATE ? "gate" : "sound",
                     "port", source->port, "mask_mm", number(source->mask_mm), "calibrate", (int)source->calibrate,
                     "device", source->device, "rate_hz", source->rate_hz, "channels", (json_int_t)source->channels,
                     "inputs", inputs);
}

json_t *desk_begin_line(const cw_desk *desk)
{
    const cw_desk_setup *setup = &desk->setup;
    return json_pack("{s:s,s:s,s:s,s:o,s:o,s:I,s:s}", "kind", "begin", "format", "camerawright.live-journal/1",
                     "began_at", desk->began_at, "source", source_json(&setup->source), "plan",
                     cw_plan_json(&setup->plan), "job", (json_int_t)setup->job_id, "when", setup->when);
}

/* One shot by the contract's own writer, so that it comes back as every stored one does. */
static json_t *one_shot_json(const cw_desk *desk, const cw_shot *shot)
{
    cw_shutter_test *test = calloc(1, sizeof *test);
    if (test == NULL)
        return NULL;
    cw_shot copy = *shot;
    test->setup = cw_plan_setup(&desk->setup.plan);
    test->shot_count = 1;
    test->shots = &copy;
    test->curtains.travel1_s = test->curtains.travel2_s = (cw_quantity){NAN, NAN};
    json_t *object = cw_shutter_test_json(test, NULL);
    free(test);
    return object;
}

json_t *desk_shot_line(const cw_desk *desk, size_t index, const cw_desk_shot *shot, const json_t *lines)
{
    json_t *line = json_pack("{s:s,s:I,s:o,s:I}", "kind", "shot", "shot", (json_int_t)index + 1, "test",
                             one_shot_json(desk, &shot->shot), "samples", (json_int_t)desk->samples);
    if (line != NULL && lines != NULL)
        json_object_set(line, "lines", (json_t *)lines);
    return line;
}

/* ---- back ---- */

static const char *text_of(const json_t *object, const char *key)
{
    const char *text = json_string_value(json_object_get(object, key));
    return text != NULL ? text : "";
}

static void copy_text(char *out, size_t size, const char *text)
{
    size_t length = strnlen(text, size - 1);
    memcpy(out, text, length);
    out[length] = '\0';
}

static cw_status take_source(const json_t *object, cw_desk_source *source, cw_error *err)
{
    const json_t *inputs = json_object_get(object, "inputs");
    json_int_t channels = json_integer_value(json_object_get(object, "channels"));
    const json_t *mask = json_object_get(object, "mask_mm");
    if (!json_is_object(object) || channels < 0 || channels > CW_CHANNELS_MOST ||
        json_array_size(inputs) > CW_CHANNELS_MOST)
        return cw_fail(err, CW_INPUT, "the source of the live test cannot be read");
    *source = (cw_desk_source){
        .kind = strcmp(text_of(object, "kind"), "sound") == 0 ? CW_DESK_SOUND : CW_DESK_GATE,
        .mask_mm = json_is_number(mask) ? json_number_value(mask) : NAN,
        .calibrate = json_is_true(json_object_get(object, "calibrate")),
        .rate_hz = json_number_value(json_object_get(object, "rate_hz")),
        .channels = (size_t)channels,
        .input_count = json_array_size(inputs),
    };
    copy_text(source->port, sizeof source->port, text_of(object, "port"));
    copy_text(source->device, sizeof source->device, text_of(object, "device"));
    for (size_t i = 0; i < source->input_count; i++) {
        json_int_t input = json_integer_value(json_array_get(inputs, i));
        if (input < 1 || input > channels)
            return cw_fail(err, CW_INPUT, "the inputs of the live test cannot be read");
        source->inputs[i] = (size_t)input;
    }
    return CW_OK;
}

static cw_status take_begin(cw_desk *desk, const json_t *line, cw_error *err)
{
    if (strcmp(text_of(line, "format"), "camerawright.live-journal/1") != 0)
        return cw_fail(err, CW_INPUT, "it was written by another version of this program");
    CW_TRY(take_source(json_object_get(line, "source"), &desk->setup.source, err));
    CW_TRY(cw_plan_from_json(json_object_get(line, "plan"), &desk->setup.plan, err));
    desk->setup.job_id = json_integer_value(json_object_get(line, "job"));
    copy_text(desk->setup.when, sizeof desk->setup.when, text_of(line, "when"));
    copy_text(desk->began_at, sizeof desk->began_at, text_of(line, "began_at"));
    desk->state = CW_DESK_RESTS;
    return CW_OK;
}

static cw_status take_shot(cw_desk *desk, size_t index, const json_t *line, cw_error *err)
{
    cw_shutter_test *test;
    CW_TRY(cw_shutter_test_from_json(json_object_get(line, "test"), &test, err));
    json_int_t samples = json_integer_value(json_object_get(line, "samples"));
    if (test->shot_count != 1 || index > desk->shot_count || index >= CW_DESK_SHOTS_MOST || samples < 0) {
        cw_shutter_test_free(test);
        return cw_fail(err, CW_INPUT, "shot %zu of the live test cannot be read", index + 1);
    }
    if (index == desk->shot_count) {
        desk->shot_count++;
        if (desk->chosen_left > 0 && !test->shots[0].incomplete &&
            cw_same_mark(test->shots[0].marked_s, desk->chosen_s))
            desk->chosen_left--;
    }
    json_decref(desk->shots[index].lines);
    desk->shots[index] = (desk_shot){.show.shot = test->shots[0], .lines = json_incref(json_object_get(line, "lines"))};
    desk->samples = (uint64_t)samples;
    cw_shutter_test_free(test);
    return CW_OK;
}

static cw_status take_of_shot(cw_desk *desk, const char *kind, const json_t *line, cw_error *err)
{
    json_int_t shot_number = json_integer_value(json_object_get(line, "shot"));
    if (shot_number < 1 || shot_number > CW_DESK_SHOTS_MOST)
        return cw_fail(err, CW_INPUT, "there is no shot %lld", (long long)shot_number);
    size_t index = (size_t)shot_number - 1;
    if (strcmp(kind, "shot") == 0)
        return take_shot(desk, index, line, err);
    if (index >= desk->shot_count)
        return cw_fail(err, CW_INPUT, "there is no shot %lld", (long long)shot_number);
    cw_shot *shot = &desk->shots[index].show.shot;
    if (strcmp(kind, "mark") == 0) {
        shot->marked_s = json_number_value(json_object_get(line, "marked_s"));
        return CW_OK;
    }
    shot->struck = json_is_true(json_object_get(line, "out"));
    if (!shot->incomplete)
        copy_text(shot->remark, sizeof shot->remark, text_of(line, "reason"));
    return CW_OK;
}

static cw_status take_line(void *context, const json_t *line, cw_error *err)
{
    cw_desk *desk = context;
    const char *kind = text_of(line, "kind");
    if (strcmp(kind, "begin") == 0)
        return take_begin(desk, line, err);
    if (desk->state == CW_DESK_FREE)
        return cw_fail(err, CW_INPUT, "it does not begin with the test's set-up");
    if (strcmp(kind, "shot") == 0 || strcmp(kind, "strike") == 0 || strcmp(kind, "mark") == 0)
        return take_of_shot(desk, kind, line, err);
    if (strcmp(kind, "choose") == 0) {
        const json_t *marked = json_object_get(line, "marked_s");
        desk->chosen_s = json_is_number(marked) ? json_number_value(marked) : NAN;
        desk->chosen_left = json_is_number(marked) ? 1 : 0;
    } else if (strcmp(kind, "only") == 0) {
        json_int_t count = json_integer_value(json_object_get(line, "shots"));
        while (count >= 0 && desk->shot_count > (size_t)count)
            json_decref(desk->shots[--desk->shot_count].lines);
        memset(desk->shots + desk->shot_count, 0, sizeof *desk->shots);
    } else if (strcmp(kind, "gap") == 0 && desk->gap_count < CW_COUNT(desk->gaps)) {
        desk->gaps[desk->gap_count++] = (uint64_t)json_integer_value(json_object_get(line, "at"));
    }
    return CW_OK;
}

cw_status desk_restore(cw_desk *desk, cw_error *err)
{
    CW_TRY(cw_journal_read(desk->journal, take_line, desk, err));
    desk->found_unfinished = desk->state != CW_DESK_FREE;
    return CW_OK;
}
