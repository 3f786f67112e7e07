/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/shutter_command.h"

static cw_status analyse(const char *path, const cw_shutter_plan *plan, cw_plan_result *result, cw_error *err)
{
    cw_source *source;
    CW_TRY(cw_source_open(path, &plan->source, &source, err));
    cw_status status = cw_plan_run(plan, source, result, err);
    if (status != CW_OK)
        cw_context(err, "%s", path);
    cw_source_close(source);
    return status;
}

static cw_status run_shutter(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    cw_option options[CW_SHUTTER_OPTIONS];
    const char *operand[1];
    size_t option_count = cw_shutter_options(options), operands;
    CW_TRY(cw_options_read(count, args, options, option_count, operand, 1, &operands, err));
    if (operands == 0)
        return cw_fail(err, CW_INPUT, "say which recording: camerawright shutter shots.wav --marked 1/250");
    cw_shutter_plan plan;
    cw_shutter_face face;
    cw_plan_result result;
    CW_TRY(cw_shutter_options_take(options, option_count, &plan, &face, err));
    CW_TRY(analyse(operand[0], &plan, &result, err));
    cw_status status = cw_shutter_finish(&plan, &result, &face, "shutter", operand[0], out, outside, err);
    cw_plan_result_free(&result);
    return status;
}

const cw_command cw_cmd_shutter = {
    "shutter", "FILE --marked 1/250 | --marked-list 1,1/2,... [options]",
    "a recording of the light through the shutter: every speed, the curtains, what is wrong",
    "FILE is a recording: WAV or FLAC from a sound card, CSV from an oscilloscope, VCD from a logic analyser.\n"
    "  --marked 1/250            every shot was fired at this speed\n"
    "  --marked-list 1,1/2,1/4   the speeds in the order fired; without either the program proposes\n"
    "  --shots-per-speed 3       so many shots at each speed of the list\n"
    "  --shutter focal-plane|leaf\n"
    "  --beam point|diffuse      narrow beam, or a sensor that sees the whole opening\n"
    "  --sensors-mm 4,18,32      where the sensors are, along the travel, from the edge that opens first\n"
    "  --frame-mm 36             length of the frame along the travel\n"
    "  --coupling auto|dc|ac     ac: a microphone or line socket\n"
    "  --contact-channel 4       this channel is the flash contact\n"
    "  --tolerance NAME|FILE     how far off a speed may be; \"common\" unless given\n"
    "  --geometric               compare with 1/128, 1/1024 ... behind the marks\n"
    "  --strike 3,7              leave these shots out\n"
    "  --clock-ppm 100, --place-mm 0.2    standard uncertainties of the recorder's clock and of the sensor places\n"
    "  --separator C, --sample-interval 10us    for a CSV that does not say\n"
    "  --job JOB --when before|during|after [--title TEXT] [--bench FOLDER]    keep it in a job\n"
    "  --json                    the result as JSON (docs/file-formats.md)\n"
    "  --check                   exit status 1 when a speed is outside its limit\n",
    run_shutter};
