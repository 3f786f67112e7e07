/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers copied from any timer: the same evaluation, the same JSON, the same place in the job as a recording. */
#include <stdlib.h>
#include <string.h>

#include "cli/shutter_command.h"
#include "shutter/reading.h"

enum { READINGS_MOST = 100 };

/* "4.43 ms; 4.51 ms": each becomes a shot at the same mark. */
static cw_status read_times(const char *text, double marked_s, cw_shot *shots, size_t *count, cw_error *err)
{
    char *copy = strdup(text);
    if (copy == NULL)
        return cw_fail(err, CW_MEMORY, "no memory");
    cw_status status = CW_OK;
    *count = 0;
    for (char *rest = copy, *item; status == CW_OK && (item = strsep(&rest, ";")) != NULL;) {
        double seconds, resolution_s;
        if (*count == READINGS_MOST)
            status = cw_fail(err, CW_INPUT, "more than %d readings at one speed", READINGS_MOST);
        else
            status = cw_reading_parse(item, &seconds, &resolution_s, err);
        if (status == CW_OK)
            shots[(*count)++] = cw_reading_shot(marked_s, seconds, resolution_s);
    }
    free(copy);
    return status;
}

static cw_status evaluate(const char *times, const cw_shutter_plan *plan, cw_plan_result *result, cw_error *err)
{
    size_t count = 0;
    cw_shot *shots = calloc(READINGS_MOST, sizeof *shots);
    if (shots == NULL)
        return cw_fail(err, CW_MEMORY, "no memory");
    cw_status status = read_times(times, plan->marks.marked_s[0], shots, &count, err);
    if (status == CW_OK)
        status = cw_plan_run_shots(plan, shots, count, NULL, result, err);
    free(shots);
    return status;
}

static cw_status run_reading(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    cw_option options[CW_SHUTTER_OPTIONS + 1];
    size_t option_count = cw_shutter_options(options), operands;
    options[option_count++] = (cw_option){.key = "seconds"};
    CW_TRY(cw_options_read(count, args, options, option_count, NULL, 0, &operands, err));
    const char *times = cw_option_value(options, option_count, "seconds");
    if (times == NULL)
        return cw_fail(err, CW_INPUT,
                       "say what the timer showed: --seconds 0.00443, --seconds 1/226 or --seconds 4.43ms");
    cw_shutter_plan plan;
    cw_shutter_face face;
    cw_plan_result result;
    CW_TRY(cw_shutter_options_take(options, option_count - 1, &plan, &face, err));
    if (plan.marks.count != 1)
        return cw_fail(err, CW_INPUT, "say which speed was set: --marked 1/250");
    CW_TRY(evaluate(times, &plan, &result, err));
    cw_status status = cw_shutter_finish(&plan, &result, &face, "shutter", NULL, out, outside, err);
    cw_plan_result_free(&result);
    return status;
}

const cw_command cw_cmd_reading = {
    "reading", "--marked 1/250 --seconds 0.00443 [options]", "a number copied from any timer: how far off is it?",
    "  --marked 1/250            the engraved speed\n"
    "  --seconds 0.00443         what the timer showed: seconds, 4.43ms or 1/226; several with semicolons between\n"
    "  --shutter focal-plane|leaf, --tolerance NAME|FILE, --geometric, --clock-ppm 100   as for `shutter`\n"
    "  --job JOB --when before|during|after [--title TEXT] [--bench FOLDER]    keep it in a job\n"
    "  --json, --check\n",
    run_reading};
