/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Slow speeds by ear: a recording of the sound, the clicks proposed, a person's corrections, the same result. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/unit.h"
#include "cli/print.h"
#include "cli/shutter_command.h"
#include "shutter/by_ear.h"
#include "signal/sound_load.h"

static void print_clicks(const cw_click_list *clicks, FILE *out)
{
    cw_print(out, "clicks, seconds from the start (dB over the quiet):\n");
    for (size_t i = 0; i < clicks->count; i++)
        if (!clicks->clicks[i].is_tick)
            cw_print(out, "  %9.4f  %5.1f dB\n", clicks->clicks[i].at_s.value, clicks->clicks[i].level_db);
}

/* "0.4055-1.4055;1.9124-2.41": what the person says instead. */
static cw_status moved_pairs(const char *text, const cw_mark_list *marks, size_t each, cw_heard_shot *heard,
                             size_t *count, cw_error *err)
{
    char *copy = strdup(text);
    if (copy == NULL)
        return cw_fail(err, CW_MEMORY, "no memory");
    cw_status status = CW_OK;
    *count = 0;
    for (char *rest = copy, *item; status == CW_OK && (item = strsep(&rest, ";")) != NULL; ++*count) {
        char *dash = strchr(item, '-');
        size_t mark = *count / each;
        if (dash == NULL || mark >= marks->count || *count == CW_BY_EAR_SHOTS_MOST) {
            status = cw_fail(err, CW_INPUT,
                             "\"%.40s\": one pair for each shot is wanted, opening-closing in seconds, such as "
                             "\"0.4055-1.4055;1.9124-2.4124\"",
                             item);
            break;
        }
        *dash = '\0';
        cw_heard_shot *one = &heard[*count];
        *one = (cw_heard_shot){.marked_s = marks->marked_s[mark]};
        status = cw_parse_measure(item, CW_TIME, "s", &one->open_s, err);
        if (status == CW_OK)
            status = cw_parse_measure(dash + 1, CW_TIME, "s", &one->close_s, err);
    }
    free(copy);
    return status;
}

static cw_status proposed_pairs(const cw_click_list *clicks, const cw_shutter_plan *plan, cw_heard_shot *heard,
                                size_t *count, json_t *warnings, cw_error *err)
{
    cw_by_ear_proposal proposal;
    CW_TRY(cw_by_ear_propose(clicks, &plan->marks, plan->shots_per_speed, &proposal, err));
    *count = proposal.pair_count;
    for (size_t k = 0; k < *count; k++)
        heard[k] = (cw_heard_shot){.open_s = clicks->clicks[proposal.pairs[k].opening].at_s.value,
                                   .close_s = clicks->clicks[proposal.pairs[k].closing].at_s.value,
                                   .marked_s = proposal.pairs[k].marked_s};
    for (size_t i = 0; i < proposal.refusal_count; i++)
        json_array_append_new(warnings, json_string(proposal.refusals[i]));
    return CW_OK;
}

static cw_status judge(const cw_sound *sound, const cw_click_list *clicks, const char *moved,
                       const cw_shutter_plan *plan, cw_plan_result *result, cw_error *err)
{
    cw_heard_shot heard[CW_BY_EAR_SHOTS_MOST];
    size_t count = 0, each = plan->shots_per_speed > 0 ? plan->shots_per_speed : 1;
    json_t *recording = cw_by_ear_recording_json(sound, clicks);
    if (recording == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the result");
    cw_status status = moved != NULL
                           ? moved_pairs(moved, &plan->marks, each, heard, &count, err)
                           : proposed_pairs(clicks, plan, heard, &count, json_object_get(recording, "warnings"), err);
    if (status != CW_OK) {
        json_decref(recording);
        return status;
    }
    return cw_by_ear_run(clicks, heard, count, plan, recording, result, err);
}

static cw_status listen(const char *path, long channel, const char *moved, const cw_shutter_plan *plan, bool show,
                        cw_plan_result *result, FILE *out, cw_error *err)
{
    cw_sound sound;
    cw_click_list clicks = {0};
    cw_status status = cw_sound_load(path, (size_t)channel, &sound, err);
    if (status != CW_OK) {
        cw_context(err, "%s", path);
        return status;
    }
    status = cw_clicks_find(sound.samples, sound.count, sound.rate_hz, &clicks, err);
    if (status == CW_OK && show)
        print_clicks(&clicks, out);
    if (status == CW_OK)
        status = judge(&sound, &clicks, moved, plan, result, err);
    cw_click_list_free(&clicks);
    cw_sound_free(&sound);
    return status;
}

static cw_status run_sound(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    cw_option options[CW_SHUTTER_OPTIONS + 2];
    const char *operand[1];
    size_t shared = cw_shutter_options(options), n = shared, operands;
    options[n++] = (cw_option){.key = "pairs"};
    options[n++] = (cw_option){.key = "channel"};
    CW_TRY(cw_options_read(count, args, options, n, operand, 1, &operands, err));
    if (operands == 0)
        return cw_fail(err, CW_INPUT, "say which recording: camerawright sound clicks.wav --marked-list 1,1/2,1/4");
    cw_shutter_plan plan;
    cw_shutter_face face;
    cw_plan_result result;
    long channel = 0;
    CW_TRY(cw_shutter_options_take(options, shared, &plan, &face, err));
    const char *channel_text = cw_option_value(options, n, "channel");
    if (channel_text != NULL)
        CW_TRY(cw_parse_whole(channel_text, 1, 64, &channel, err));
    CW_TRY(listen(operand[0], channel, cw_option_value(options, n, "pairs"), &plan, !face.json, &result, out, err));
    cw_status status = cw_shutter_finish(&plan, &result, &face, "sound", operand[0], out, outside, err);
    cw_plan_result_free(&result);
    return status;
}

const cw_command cw_cmd_sound = {
    "sound", "FILE --marked-list 1,1/2,... [options]",
    "slow speeds by ear: from click to click in a recording of the sound",
    "FILE is a sound file. The clicks are proposed; say --pairs where one is wrong.\n"
    "  --marked-list 1,1/2,1/4   the speeds in the order fired; --marked 1 for one\n"
    "  --shots-per-speed 3       so many shots at each\n"
    "  --pairs 0.41-1.41;1.9-2.4 opening and closing of each shot, seconds, instead of the proposal\n"
    "  --channel 1               which channel of the file; the loudest unless said\n"
    "  --job JOB --when before|during|after [--title TEXT] [--bench FOLDER], --tolerance, --json, --check   as for "
    "`shutter`\n"
    "Speeds whose clicks run together are refused; light tells them. The shutter's own noise is not its light: the\n"
    "uncertainty includes 1.5 ms for each click.\n",
    run_sound};
