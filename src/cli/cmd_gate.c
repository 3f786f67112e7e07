/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The light gate in a terminal: fire, read the number, set the next speed. */
#include <errno.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/buf.h"
#include "cli/print.h"
#include "cli/shutter_command.h"
#include "live/gate_link.h"
#include "live/serial.h"

typedef struct {
    cw_shutter_plan plan;
    FILE *out;
    size_t wanted, shot_count, shot_capacity; /* wanted 0: until the person ends it */
    cw_shot *shots;
    cw_status status;
    cw_error err;
    bool quiet;
} gate_desk;

/* Ctrl-C ends the test and prints the whole; a second one ends the program. */
static volatile sig_atomic_t interrupted;

static void on_interrupt(int signal_number)
{
    (void)signal_number;
    interrupted = 1;
    signal(SIGINT, SIG_DFL);
}

/* The mark of the shot with this index, NaN when the list does not say. */
static double mark_of(const cw_shutter_plan *plan, size_t shot)
{
    size_t each = plan->shots_per_speed > 0 ? plan->shots_per_speed : 1;
    if (plan->marks.count == 1)
        return plan->marks.marked_s[0];
    return shot / each < plan->marks.count ? plan->marks.marked_s[shot / each] : NAN;
}

static void print_shot(const gate_desk *desk, const cw_shot *shot)
{
    double marked_s = mark_of(&desk->plan, desk->shot_count - 1);
    fprintf(desk->out, "%3zu ", desk->shot_count);
    for (size_t i = 0; i < shot->sensor_count; i++) {
        char time[CW_QUANTITY_TEXT] = "dark", error[CW_QUANTITY_TEXT] = "";
        const cw_sensor_shot *sensor = &shot->sensors[i];
        if (sensor->seen)
            cw_shutter_time_text(sensor->exposure_s.value, time, sizeof time);
        if (sensor->seen && marked_s > 0)
            cw_signed_ev_text(cw_log2_ratio(sensor->exposure_s.value, marked_s), error, sizeof error);
        fprintf(desk->out, "  %12s %10s", time, error);
    }
    if (shot->incomplete)
        fprintf(desk->out, "  left out: %s", shot->remark);
    double next_s = mark_of(&desk->plan, desk->shot_count);
    char next[CW_MARK_TEXT];
    cw_mark_text(next_s, next, sizeof next);
    if (next_s > 0 && desk->plan.marks.count > 1)
        fprintf(desk->out, "   next: %s", next);
    fputc('\n', desk->out);
    fflush(desk->out);
}

static void on_shot(void *context, const cw_shot *shot)
{
    gate_desk *desk = context;
    if (desk->status != CW_OK)
        return;
    desk->status = cw_grow(&desk->shots, &desk->shot_capacity, desk->shot_count + 1, sizeof *desk->shots, CW_SHOTS_MOST,
                           "shots", &desk->err);
    if (desk->status != CW_OK)
        return;
    desk->shots[desk->shot_count++] = *shot;
    if (!desk->quiet)
        print_shot(desk, shot);
}

static void on_say(void *context, const char *sentence)
{
    (void)context;
    cw_print(stderr, "%s\n", sentence);
}

/* Enter ends the test where a person sits before it. */
static bool on_stop(void *context)
{
    gate_desk *desk = context;
    struct pollfd input = {.fd = STDIN_FILENO, .events = POLLIN};
    if (isatty(STDIN_FILENO) && poll(&input, 1, 0) == 1)
        return true;
    return interrupted || desk->status != CW_OK || (desk->wanted > 0 && desk->shot_count >= desk->wanted);
}

static size_t shots_wanted(const cw_shutter_plan *plan)
{
    size_t each = plan->shots_per_speed > 0 ? plan->shots_per_speed : 1;
    return plan->marks.count > 1 || plan->shots_per_speed > 0 ? plan->marks.count * each : 0;
}

static cw_status measure(gate_desk *desk, const cw_gate_link_options *asked, bool calibrate, cw_error *err)
{
    cw_gate_link_options options = *asked;
    cw_gate_listener listener = {.context = desk, .shot = on_shot, .say = on_say, .stop = on_stop};
    struct sigaction action = {.sa_handler = on_interrupt};
    sigaction(SIGINT, &action, NULL);
    if (calibrate) {
        cw_print(stderr, "open the shutter on B or T, with the gate's own lamp before it\n");
        CW_TRY(cw_gate_link_calibrate(&options, &listener, &options.setup, err));
        desk->shot_count = 0; /* what the calibration lit was no shot */
    }
    if (isatty(STDIN_FILENO))
        cw_print(stderr, "fire the shutter; Enter ends the test\n");
    CW_TRY(cw_gate_link_run(&options, &listener, err));
    if (desk->status != CW_OK)
        return cw_fail(err, desk->status, "%s", desk->err.text);
    return desk->shot_count > 0 ? CW_OK : cw_fail(err, CW_INPUT, "no shot was seen");
}

static cw_status run_gate(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    cw_option options[CW_SHUTTER_OPTIONS + 3];
    size_t shared = cw_shutter_options(options), n = shared, operands;
    options[n++] = (cw_option){.key = "port"};
    options[n++] = (cw_option){.key = "mask-mm"};
    options[n++] = (cw_option){.key = "calibrate", .is_flag = true};
    CW_TRY(cw_options_read(count, args, options, n, NULL, 0, &operands, err));
    gate_desk desk = {.out = out};
    cw_shutter_face face;
    CW_TRY(cw_shutter_options_take(options, shared, &desk.plan, &face, err));
    if (desk.plan.marks.count == 0)
        return cw_fail(err, CW_INPUT, "say which speeds will be fired: --marked 1/250 or --marked-list 1,1/2,1/4");
    cw_gate_link_options link = {.port = cw_option_value(options, n, "port"),
                                 .setup = {.mask_slit_mm = NAN, .threshold = {NAN, NAN, NAN}}};
    const char *mask = cw_option_value(options, n, "mask-mm");
    double mask_m;
    if (mask != NULL) {
        CW_TRY(cw_parse_measure(mask, CW_LENGTH, "mm", &mask_m, err));
        link.setup.mask_slit_mm = mask_m * 1e3;
    }
    for (size_t i = 0; i < CW_GATE_SENSORS; i++)
        link.setup.sensors_mm[i] = i < desk.plan.measure.sensor_count ? desk.plan.measure.sensors_mm[i] : NAN;
    desk.wanted = shots_wanted(&desk.plan);
    desk.quiet = face.json;

    cw_plan_result result;
    cw_status status = measure(&desk, &link, cw_option_given(options, n, "calibrate"), err);
    if (status == CW_OK)
        status = cw_plan_run_shots(&desk.plan, desk.shots, desk.shot_count, NULL, &result, err);
    if (status == CW_OK) {
        status = cw_shutter_finish(&desk.plan, &result, &face, "shutter", NULL, out, outside, err);
        cw_plan_result_free(&result);
    }
    free(desk.shots);
    return status;
}

const cw_command cw_cmd_gate = {
    "gate", "--marked-list 1,1/2,... --sensors-mm 4,18,32 [options]",
    "measure with the light gate: fire, read, next speed",
    "  --port /dev/ttyUSB0       the gate's serial port; the only one there is unless given\n"
    "  --marked-list, --shots-per-speed    ends by itself when all are fired; --marked 1/250 until Enter or Ctrl-C\n"
    "  --sensors-mm 4,18,32      places of the sensors A, B, C\n"
    "  --mask-mm 0.3             slit before each sensor, along the travel: corrects the threshold where it can\n"
    "  --calibrate               first let the gate find the lag of its own sensors\n"
    "  --shutter, --frame-mm, --tolerance, --geometric, --job, --when, --json, --check    as for `shutter`\n",
    run_gate};
