/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One speed from two photographs: reference and test, the exposure over the frame, an evenness map. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/unit.h"
#include "cli/shutter_command.h"
#include "draw/map.h"
#include "shutter/photo_pair.h"

static cw_status read_travel(const char *text, cw_photo_travel *travel, cw_error *err)
{
    static const char *const words[] = {
        [CW_TRAVEL_RIGHT] = "right", [CW_TRAVEL_LEFT] = "left", [CW_TRAVEL_DOWN] = "down", [CW_TRAVEL_UP] = "up"};
    for (size_t i = 0; i < CW_COUNT(words); i++)
        if (strcmp(words[i], text) == 0) {
            *travel = (cw_photo_travel)i;
            return CW_OK;
        }
    return cw_fail(err, CW_INPUT, "--travel %.20s: right, left, down or up, as the curtains run in the picture", text);
}

/* "0.1,0.12,0.9,0.88": left, top, right, bottom. */
static cw_status read_gate(const char *text, cw_photo_setup *setup, cw_error *err)
{
    char rest;
    if (sscanf(text, "%lf,%lf,%lf,%lf%c", &setup->left, &setup->top, &setup->right, &setup->bottom, &rest) != 4)
        return cw_fail(err, CW_INPUT,
                       "--gate %.40s: left, top, right, bottom of the film gate as parts of the picture, such as "
                       "0.1,0.12,0.9,0.88",
                       text);
    return CW_OK;
}

static cw_status compare(const char *const *paths, const char *dark_path, const cw_photo_setup *setup,
                         cw_photo_result *result, cw_error *err)
{
    cw_frame *reference = NULL, *test = NULL, *dark = NULL;
    cw_status status = cw_frame_open(paths[0], &reference, err);
    if (status == CW_OK)
        status = cw_frame_open(paths[1], &test, err);
    if (status == CW_OK && dark_path != NULL)
        status = cw_frame_open(dark_path, &dark, err);
    if (status == CW_OK)
        status = cw_photo_pair(reference, test, dark, setup, result, err);
    cw_frame_close(reference);
    cw_frame_close(test);
    cw_frame_close(dark);
    return status;
}

static cw_status write_map(const cw_photo_result *result, double frame_mm, const char *path, cw_error *err)
{
    cw_map map = {.columns = CW_PHOTO_COLUMNS,
                  .rows = CW_PHOTO_ROWS,
                  .values = result->evenness_ev,
                  .width_mm = frame_mm,
                  .height_mm = frame_mm * CW_PHOTO_ROWS / CW_PHOTO_COLUMNS,
                  .label = "exposure against the middle, EV"};
    cw_buf png = cw_buf_new(32 << 20);
    cw_status status = cw_map_png(&map, 1200, &png, err);
    if (status == CW_OK)
        status = cw_write_file(path, cw_buf_string(&png), png.length, err);
    cw_buf_free(&png);
    return status;
}

static cw_status read_setup(const cw_option *options, size_t n, const cw_shutter_plan *plan, cw_photo_setup *setup,
                            cw_error *err)
{
    *setup = (cw_photo_setup){.frame_mm = plan->frame_mm, .reference_s = NAN, .u_reference_relative = NAN};
    const char *travel = cw_option_value(options, n, "travel"), *gate = cw_option_value(options, n, "gate");
    const char *reference = cw_option_value(options, n, "reference-time");
    if (travel != NULL)
        CW_TRY(read_travel(travel, &setup->travel, err));
    if (gate != NULL)
        CW_TRY(read_gate(gate, setup, err));
    if (reference != NULL)
        CW_TRY(cw_parse_measure(reference, CW_TIME, "s", &setup->reference_s, err));
    if (reference != NULL && !(setup->reference_s > 0))
        return cw_fail(err, CW_INPUT, "--reference-time %s is no exposure time", reference);
    return CW_OK;
}

static cw_status finish(const cw_shutter_plan *given, const cw_photo_result *found, const cw_shutter_face *face,
                        FILE *out, bool *outside, cw_error *err)
{
    cw_shutter_plan plan = *given;
    cw_plan_result result;
    plan.measure.sensor_count = found->shot.sensor_count;
    for (size_t i = 0; i < found->shot.sensor_count; i++)
        plan.measure.sensors_mm[i] = found->shot.sensors[i].position_mm;
    json_t *warnings = json_array();
    for (size_t i = 0; i < found->warning_count; i++)
        json_array_append_new(warnings, json_string(found->warnings[i]));
    json_t *recording = json_pack("{s:i,s:n,s:n,s:o}", "channels", (int)found->shot.sensor_count, "rate_hz", "length_s",
                                  "warnings", warnings);
    CW_TRY(cw_plan_run_shots(&plan, &found->shot, 1, recording, &result, err));
    cw_status status = cw_shutter_finish(&plan, &result, face, "photographs", NULL, out, outside, err);
    cw_plan_result_free(&result);
    return status;
}

static cw_status run_photographs(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    cw_option options[CW_SHUTTER_OPTIONS + 5];
    const char *operand[2];
    size_t shared = cw_shutter_options(options), n = shared, operands;
    static const char *const own[] = {"dark", "travel", "gate", "reference-time", "map"};
    for (size_t i = 0; i < CW_COUNT(own); i++)
        options[n++] = (cw_option){.key = own[i]};
    CW_TRY(cw_options_read(count, args, options, n, operand, 2, &operands, err));
    if (operands < 2)
        return cw_fail(err, CW_INPUT, "say which two: camerawright photographs reference.dng test.dng --marked 1/125");
    cw_shutter_plan plan;
    cw_shutter_face face;
    cw_photo_setup setup;
    CW_TRY(cw_shutter_options_take(options, shared, &plan, &face, err));
    if (plan.marks.count != 1)
        return cw_fail(err, CW_INPUT, "say which speed was fired: --marked 1/125");
    CW_TRY(read_setup(options, n, &plan, &setup, err));
    cw_photo_result *found = malloc(sizeof *found);
    if (found == NULL)
        return cw_fail(err, CW_MEMORY, "no memory");
    cw_status status = compare(operand, cw_option_value(options, n, "dark"), &setup, found, err);
    const char *map = cw_option_value(options, n, "map");
    if (status == CW_OK && map != NULL)
        status = write_map(found, plan.frame_mm, map, err);
    if (status == CW_OK)
        status = finish(&plan, found, &face, out, outside, err);
    free(found);
    return status;
}

const cw_command cw_cmd_photographs = {
    "photographs", "REFERENCE TEST --marked 1/125 [options]",
    "one speed from two photographs of a lit panel through the camera",
    "Put the camera, its back open, before an evenly lit panel, and photograph the film gate with a digital camera.\n"
    "REFERENCE: shutter held open on B or T, a known exposure. TEST: in the dark, the digital shutter open for "
    "seconds,\n"
    "the film camera's shutter fired once. Same ISO and aperture, raw files (JPEG tells less).\n"
    "  --marked 1/125            the speed fired\n"
    "  --frame-mm 36             length of the frame along the travel\n"
    "  --travel right            which way the curtains run in the picture: right, left, down, up\n"
    "  --gate 0.1,0.12,0.9,0.88  the film gate in the picture; found by its light unless given\n"
    "  --reference-time 1/30     instead of what the file says\n"
    "  --dark FILE               a photograph like TEST without the shutter fired, taken off\n"
    "  --map FILE.png            a picture of the evenness, with a scale\n"
    "  --job, --when, --tolerance, --geometric, --json, --check    as for `shutter`\n",
    run_photographs};
