/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Slow speeds by ear: a recording of the sound, the clicks proposed, a person's corrections, the same result. */
#include <math.h>
#include <sndfile.h>
#include <stdlib.h>
#include <string.h>

#include "base/unit.h"
#include "cli/shutter_command.h"
#include "shutter/by_ear.h"

enum { SHOTS_MOST = 200 };
static const double longest_s = 600;

/* One channel of a sound file in memory. */
static cw_status load_sound(const char *path, long channel, float **samples, size_t *count, double *rate_hz,
                            cw_error *err)
{
    SF_INFO info = {0};
    SNDFILE *file = sf_open(path, SFM_READ, &info);
    if (file == NULL)
        return cw_fail(err, CW_INPUT, "%s is no sound file that can be read: %s", path, sf_strerror(NULL));
    cw_status status = CW_OK;
    float *interleaved = NULL;
    size_t channels = info.channels > 0 ? (size_t)info.channels : 1;
    if (channel > info.channels || channels > 64)
        status = cw_fail(err, CW_INPUT, "%s has %d channels, no channel %ld", path, info.channels, channel);
    else if (info.frames <= 0 || (double)info.frames > longest_s * info.samplerate)
        status = cw_fail(err, CW_INPUT, "%s is %.1f s long; up to %.0f s can be listened to at once", path,
                         (double)info.frames / info.samplerate, longest_s);
    else if ((interleaved = malloc((size_t)info.frames * channels * sizeof *interleaved)) == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory for %s", path);
    if (status == CW_OK) {
        *count = (size_t)sf_readf_float(file, interleaved, info.frames);
        for (size_t i = 0; i < *count; i++)
            interleaved[i] = interleaved[i * channels + (size_t)channel - 1];
        *samples = interleaved;
        *rate_hz = info.samplerate;
    }
    sf_close(file);
    return status;
}

static void print_clicks(const cw_click_list *clicks, FILE *out)
{
    fprintf(out, "clicks, seconds from the start (dB over the quiet):\n");
    for (size_t i = 0; i < clicks->count; i++)
        if (!clicks->clicks[i].is_tick)
            fprintf(out, "  %9.4f  %5.1f dB\n", clicks->clicks[i].at_s.value, clicks->clicks[i].level_db);
}

/* "0.4055-1.4055;1.9124-2.41": what the person says instead. */
static cw_status moved_pairs(const char *text, const cw_mark_list *marks, size_t each, cw_shot *shots, size_t *count,
                             cw_error *err)
{
    char *copy = strdup(text);
    if (copy == NULL)
        return cw_fail(err, CW_MEMORY, "no memory");
    cw_status status = CW_OK;
    *count = 0;
    for (char *rest = copy, *item; status == CW_OK && (item = strsep(&rest, ";")) != NULL; ++*count) {
        char *dash = strchr(item, '-');
        double open_s, close_s;
        size_t mark = *count / each;
        if (dash == NULL || mark >= marks->count || *count == SHOTS_MOST) {
            status = cw_fail(err, CW_INPUT,
                             "\"%.40s\": one pair for each shot is wanted, opening-closing in seconds, such as "
                             "\"0.4055-1.4055;1.9124-2.4124\"",
                             item);
            break;
        }
        *dash = '\0';
        status = cw_parse_measure(item, CW_TIME, "s", &open_s, err);
        if (status == CW_OK)
            status = cw_parse_measure(dash + 1, CW_TIME, "s", &close_s, err);
        /* a person sets a cursor on the trace to about a millisecond */
        if (status == CW_OK)
            status = cw_by_ear_shot((cw_quantity){open_s, 1e-3}, (cw_quantity){close_s, 1e-3}, marks->marked_s[mark],
                                    &shots[*count], err);
    }
    free(copy);
    return status;
}

static cw_status proposed_pairs(const cw_click_list *clicks, const cw_shutter_plan *plan, size_t each, cw_shot *shots,
                                size_t *count, cw_error *err)
{
    cw_click_pair pairs[SHOTS_MOST];
    CW_TRY(cw_by_ear_propose(clicks, &plan->marks, each, pairs, SHOTS_MOST, count, err));
    for (size_t k = 0; k < *count; k++)
        CW_TRY(cw_by_ear_shot(clicks->clicks[pairs[k].opening].at_s, clicks->clicks[pairs[k].closing].at_s,
                              plan->marks.marked_s[k / each], &shots[k], err));
    return CW_OK;
}

static cw_status listen(const char *path, long channel, const char *moved, const cw_shutter_plan *plan, bool show,
                        cw_plan_result *result, FILE *out, cw_error *err)
{
    float *samples = NULL;
    size_t sample_count, count;
    double rate_hz;
    cw_click_list clicks = {0};
    size_t each = plan->shots_per_speed > 0 ? plan->shots_per_speed : 1;
    cw_shot *shots = calloc(SHOTS_MOST, sizeof *shots);
    if (shots == NULL)
        return cw_fail(err, CW_MEMORY, "no memory");
    cw_status status = load_sound(path, channel, &samples, &sample_count, &rate_hz, err);
    if (status == CW_OK)
        status = cw_clicks_find(samples, sample_count, rate_hz, &clicks, err);
    if (status == CW_OK && show)
        print_clicks(&clicks, out);
    if (status == CW_OK)
        status = moved != NULL ? moved_pairs(moved, &plan->marks, each, shots, &count, err)
                               : proposed_pairs(&clicks, plan, each, shots, &count, err);
    cw_shutter_plan marked = *plan;
    marked.marks.count = 0; /* each shot carries its mark already */
    if (status == CW_OK)
        status = cw_plan_run_shots(&marked, shots, count, NULL, result, err);
    cw_click_list_free(&clicks);
    free(samples);
    free(shots);
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
    long channel = 1;
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
    "  --channel 1               which channel of the file\n"
    "  --job JOB --when before|during|after [--title TEXT] [--bench FOLDER], --tolerance, --json, --check   as for "
    "`shutter`\n"
    "Speeds whose clicks run together are refused; light tells them. The shutter's own noise is not its light: the\n"
    "uncertainty includes 1.5 ms for each click.\n",
    run_sound};
