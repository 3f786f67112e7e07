/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One speed from two photographs: reference and test, the exposure over the frame, an evenness map. */
#include <math.h>
#include <stdlib.h>

#include "base/file.h"
#include "cli/shutter_command.h"
#include "draw/photo_map.h"
#include "shutter/photo_pair.h"

static cw_status open_named(const char *path, cw_frame **frame, cw_error *err)
{
    cw_status status = cw_frame_open(path, frame, err);
    if (status != CW_OK)
        cw_context(err, "%s", path);
    return status;
}

static cw_status compare(const char *const *paths, const char *dark_path, cw_photo_compared *pair, cw_error *err)
{
    cw_frame *reference = NULL, *test = NULL, *dark = NULL;
    cw_status status = open_named(paths[0], &reference, err);
    if (status == CW_OK)
        status = open_named(paths[1], &test, err);
    if (status == CW_OK && dark_path != NULL)
        status = open_named(dark_path, &dark, err);
    if (status == CW_OK)
        status = cw_photo_compare(reference, test, dark, paths[1], pair, err);
    cw_frame_close(reference);
    cw_frame_close(test);
    cw_frame_close(dark);
    return status;
}

static cw_status write_map(const cw_photo_compared *pair, const cw_photo_result *result, const cw_photo_setup *setup,
                           const char *path, cw_error *err)
{
    double values[CW_PHOTO_CELLS];
    cw_map map;
    cw_photo_map(pair, result, setup, values, &map);
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
    for (size_t i = 0; i < CW_PHOTO_SETUP_KEYS; i++) {
        const char *key = cw_photo_setup_keys[i], *text = cw_option_value(options, n, key);
        cw_status status = text != NULL ? cw_photo_setup_set(setup, key, text, err) : CW_OK;
        if (status != CW_OK) {
            cw_context(err, "--%s", key);
            return status;
        }
    }
    return CW_OK;
}

static cw_status finish(const cw_shutter_plan *plan, const cw_photo_result *found, const cw_shutter_face *face,
                        FILE *out, bool *outside, cw_error *err)
{
    cw_plan_result result;
    CW_TRY(cw_photo_run(found, &plan->marks.marked_s[0], 1, plan, &result, err));
    cw_status status = cw_shutter_finish(plan, &result, face, "photographs", NULL, out, outside, err);
    cw_plan_result_free(&result);
    return status;
}

static cw_status run_photographs(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    cw_option options[CW_SHUTTER_OPTIONS + 6];
    const char *operand[2];
    size_t shared = cw_shutter_options(options), n = shared, operands;
    static const char *const own[] = {"dark", "travel", "gate", "reference-time", "places", "map"};
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
    cw_photo_compared *pair = malloc(sizeof *pair);
    cw_status status = found != NULL && pair != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory");
    if (status == CW_OK)
        status = compare(operand, cw_option_value(options, n, "dark"), pair, err);
    if (status == CW_OK)
        status = cw_photo_judge(pair, &setup, found, err);
    const char *map = cw_option_value(options, n, "map");
    if (status == CW_OK && map != NULL)
        status = write_map(pair, found, &setup, map, err);
    if (status == CW_OK)
        status = finish(&plan, found, &face, out, outside, err);
    free(found);
    free(pair);
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
    "  --places 5                places along the travel whose exposure is told\n"
    "  --dark FILE               a photograph like TEST without the shutter fired, taken off\n"
    "  --map FILE.png            a picture of the evenness, with a scale\n"
    "  --job, --when, --tolerance, --geometric, --json, --check    as for `shutter`\n",
    run_photographs};
