/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measuring live in a terminal: the same desk as the page's, a line for each shot. */
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

#include "base/json.h"
#include "cli/bench_command.h"
#include "cli/print.h"
#include "cli/shutter_command.h"
#include "live/desk.h"

typedef struct {
    cw_desk *desk;
    cw_shutter_face face;
    FILE *out;
    uint64_t told;  /* the newest notice printed */
    size_t printed; /* shots */
    bool struck[CW_DESK_SHOTS_MOST];
    bool ends, is_terminal;
    struct termios before;
} live_face;

static volatile sig_atomic_t interrupted;

static void on_interrupt(int signal_number)
{
    (void)signal_number;
    interrupted = 1;
}

/* Keys come one by one, without Enter. */
static void open_keyboard(live_face *face)
{
    struct termios raw;
    face->is_terminal = isatty(STDIN_FILENO) && tcgetattr(STDIN_FILENO, &face->before) == 0;
    if (!face->is_terminal)
        return;
    raw = face->before;
    raw.c_lflag &= ~(tcflag_t)(ICANON | ECHO);
    tcsetattr(STDIN_FILENO, TCSANOW, &raw);
    cw_print(
        stderr,
        "fire the shutter. Space or Enter: next speed; b: the one before; r: one more at this speed; x: strike out "
        "the\n"
        "last shot, or take it back; q: end\n");
}

static void close_keyboard(const live_face *face)
{
    if (face->is_terminal)
        tcsetattr(STDIN_FILENO, TCSANOW, &face->before);
}

/* ---- what is printed ---- */

static void print_shot(const live_face *face, const cw_desk_view *view, size_t index)
{
    const cw_shot *shot = &view->shots[index].shot;
    cw_quantity reading = cw_desk_reading(&view->setup.plan, shot);
    double reference_s = view->setup.plan.geometric ? cw_mark_geometric(shot->marked_s, NULL) : shot->marked_s;
    double error_ev = cw_log2_ratio(reading.value, reference_s);
    char mark[CW_MARK_TEXT], next[CW_MARK_TEXT], time[CW_QUANTITY_TEXT], error[CW_QUANTITY_TEXT], words[80];
    cw_mark_text(shot->marked_s, mark, sizeof mark);
    cw_mark_text(view->next_s, next, sizeof next);
    cw_shutter_time_text(reading.value, time, sizeof time);
    cw_signed_ev_text(error_ev, error, sizeof error);
    cw_error_words(error_ev, words, sizeof words);
    fprintf(face->out, "%3zu  %-7s %10s  %9s  ", index + 1, mark, time, error);
    if (shot->struck || shot->incomplete)
        fprintf(face->out, "%s%s%s", shot->struck ? "struck out" : "left out", shot->remark[0] != '\0' ? ": " : "",
                shot->remark);
    else
        fprintf(face->out, "%s", words);
    if (isnan(view->next_s))
        fprintf(face->out, "   every speed is fired\n");
    else
        fprintf(face->out, "   set: %s\n", next);
    fflush(face->out);
}

static void print_line(const live_face *face, json_t *line)
{
    char *text = cw_json_written(line, CW_JSON_GIVEN_LINE);
    if (text != NULL) {
        fprintf(face->out, "%s\n", text);
        fflush(face->out);
    }
    free(text);
    json_decref(line);
}

static void print_shot_json(const live_face *face, const json_t *view, size_t index)
{
    print_line(face, json_pack("{s:s,s:O,s:O}", "event", "shot", "shot",
                               json_array_get(json_object_get(view, "shots"), index), "next_s",
                               json_object_get(view, "next_s")));
}

static void print_notices(live_face *face, const cw_desk_view *view)
{
    for (size_t i = view->notice_count; i-- > 0;) {
        const cw_desk_notice *notice = &view->notices[i];
        if (notice->number <= face->told)
            continue;
        face->told = notice->number;
        if (face->face.json)
            print_line(face, json_pack("{s:s,s:s,s:b}", "event", "notice", "text", notice->text, "trouble",
                                       (int)notice->is_trouble));
        else
            cw_print_told(stderr, "%s\n", notice->text);
    }
}

/* New shots, and those whose strike has changed. */
static void print_news(live_face *face, const cw_desk_view *view)
{
    json_t *json = face->face.json ? cw_desk_view_json(view) : NULL;
    print_notices(face, view);
    for (size_t i = 0; i < view->shot_count; i++) {
        bool is_new = i >= face->printed || face->struck[i] != view->shots[i].shot.struck;
        face->struck[i] = view->shots[i].shot.struck;
        if (is_new && json != NULL)
            print_shot_json(face, json, i);
        else if (is_new)
            print_shot(face, view, i);
    }
    face->printed = view->shot_count;
    json_decref(json);
}

/* ---- what is done ---- */

static cw_status strike_last(live_face *face, cw_error *err)
{
    if (face->printed == 0)
        return CW_OK;
    return face->struck[face->printed - 1] ? cw_desk_unstrike(face->desk, face->printed, err)
                                           : cw_desk_strike(face->desk, face->printed, "", err);
}

static cw_status one_more(live_face *face, cw_error *err)
{
    cw_desk_view *view;
    CW_TRY(cw_desk_look(face->desk, &view, err));
    double marked_s = view->shot_count > 0 ? view->shots[view->shot_count - 1].shot.marked_s : NAN;
    cw_desk_view_free(view);
    return cw_desk_choose(face->desk, marked_s, err);
}

static cw_status press(live_face *face, char key, cw_error *err)
{
    switch (key) {
    case ' ':
    case '\n':
        return face->is_terminal || key == ' ' ? cw_desk_step(face->desk, 1, err) : CW_OK;
    case 'b':
        return cw_desk_step(face->desk, -1, err);
    case 'r':
        return one_more(face, err);
    case 'x':
        return strike_last(face, err);
    case 'q':
        face->ends = true;
        return CW_OK;
    default:
        return CW_OK;
    }
}

static void take_keys(live_face *face, bool *there)
{
    struct pollfd input = {.fd = STDIN_FILENO, .events = POLLIN};
    while (*there && poll(&input, 1, 0) == 1) {
        char key;
        cw_error err;
        *there = read(STDIN_FILENO, &key, 1) == 1; /* the end of a pipe ends nothing but the keys */
        if (*there && press(face, key, &err) != CW_OK)
            cw_print_told(stderr, "%s\n", err.text);
    }
}

/* Until every speed has its shots, the person ends it, or the source cannot be used. */
static cw_status watch(live_face *face, cw_error *err)
{
    bool keys = true;
    for (uint64_t seen = 0;;) {
        cw_desk_view *view;
        take_keys(face, &keys);
        if (!cw_desk_wait(face->desk, seen, CW_DESK_ANY_LEVEL, 0.05) && cw_desk_number(face->desk) == seen &&
            !face->ends && !interrupted)
            continue;
        CW_TRY(cw_desk_look(face->desk, &view, err));
        seen = view->number;
        print_news(face, view);
        bool stopped = view->state != CW_DESK_LISTENS, empty = view->shot_count == 0;
        bool over = face->ends || interrupted || view->is_complete;
        cw_status status = stopped && empty ? cw_fail(err, CW_DEVICE, "nothing could be listened to: %.300s",
                                                      view->notice_count > 0 ? view->notices[0].text : "")
                                            : CW_OK;
        cw_desk_view_free(view);
        if (status != CW_OK || over || stopped)
            return status;
    }
}

static cw_status finish(live_face *face, const char *bench, bool *outside, cw_error *err)
{
    cw_shutter_plan plan;
    cw_plan_result result;
    bool has_wav;
    json_t *trace;
    char wav[CW_BENCH_PATH + 32];
    cw_desk_rest(face->desk);
    snprintf(wav, sizeof wav, "%s/live/live-test.wav", bench != NULL ? bench : "");
    CW_TRY(cw_desk_outcome(face->desk, bench != NULL ? wav : NULL, &plan, &result, &has_wav, &trace, err));
    char *trace_text = cw_json_written(trace, CW_JSON_KEPT);
    json_decref(trace);
    face->face.trace = trace_text;
    face->face.compact = true;
    cw_status status =
        cw_shutter_finish(&plan, &result, &face->face, "shutter", has_wav ? wav : NULL, face->out, outside, err);
    cw_plan_result_free(&result);
    free(trace_text);
    if (has_wav)
        unlink(wav);
    if (status == CW_OK)
        return cw_desk_clear(face->desk, err);
    cw_context(err, "the shots stay in the bench's journal; --go-on finds them again");
    return status;
}

/* ---- options ---- */

static cw_status list_devices(FILE *out, cw_error *err)
{
    cw_serial_port ports[CW_PORTS_MOST];
    cw_capture_device devices[CW_CAPTURE_DEVICES_MOST];
    size_t port_count = cw_serial_ports(ports, CW_PORTS_MOST), device_count;
    cw_print(out, "serial ports, for the light gate:\n%s", port_count == 0 ? "  none\n" : "");
    for (size_t i = 0; i < port_count; i++)
        cw_print_told(out, "  %s  %s\n", ports[i].path, ports[i].words);
    CW_TRY(cw_capture_devices(devices, CW_COUNT(devices), &device_count, err));
    cw_print(out, "sound inputs:\n%s", device_count == 0 ? "  none\n" : "");
    for (size_t i = 0; i < device_count; i++)
        cw_print(out, "  \"%s\"  up to %zu channels, %.0f Hz%s%s\n", devices[i].name, devices[i].channels_most,
                 devices[i].rate_hz, devices[i].is_direct ? ", the hardware itself" : "",
                 devices[i].is_default ? ", the usual one" : "");
    return CW_OK;
}

static cw_status take_number(const cw_option *options, size_t n, const char *key, long least, long most, long usual,
                             long *value, cw_error *err)
{
    const char *text = cw_option_value(options, n, key);
    *value = usual;
    if (text == NULL)
        return CW_OK;
    cw_status status = cw_parse_whole(text, least, most, value, err);
    if (status != CW_OK)
        cw_context(err, "--%s", key);
    return status;
}

static cw_status copy_name(const char *text, const char *key, char *out, size_t size, cw_error *err)
{
    if (text != NULL && strlen(text) >= size)
        return cw_fail(err, CW_INPUT, "--%s: the name is too long", key);
    if (text != NULL)
        memcpy(out, text, strlen(text) + 1);
    return CW_OK;
}

static cw_status take_source(const cw_option *options, size_t n, cw_desk_source *source, cw_error *err)
{
    const char *kind = cw_option_value(options, n, "source"), *mask = cw_option_value(options, n, "mask-mm");
    const char *inputs = cw_option_value(options, n, "inputs");
    long channels, rate;
    if (kind != NULL && strcmp(kind, "gate") != 0 && strcmp(kind, "sound") != 0)
        return cw_fail(err, CW_INPUT, "--source is gate or sound, not \"%.40s\"", kind);
    *source = (cw_desk_source){.mask_mm = NAN, .calibrate = cw_option_given(options, n, "calibrate")};
    source->kind = kind != NULL && strcmp(kind, "sound") == 0 ? CW_DESK_SOUND : CW_DESK_GATE;
    CW_TRY(take_number(options, n, "channels", 1, CW_CHANNELS_MOST, 1, &channels, err));
    CW_TRY(take_number(options, n, "rate", 8000, 1000000, 0, &rate, err));
    source->channels = (size_t)channels;
    source->rate_hz = (double)rate;
    CW_TRY(copy_name(cw_option_value(options, n, "port"), "port", source->port, sizeof source->port, err));
    CW_TRY(copy_name(cw_option_value(options, n, "device"), "device", source->device, sizeof source->device, err));
    if (mask != NULL) {
        double mask_m;
        CW_TRY(cw_parse_measure(mask, CW_LENGTH, "mm", &mask_m, err));
        if (!(mask_m > 0 && mask_m <= 0.01))
            return cw_fail(err, CW_RANGE, "--mask-mm: %g mm cannot be; above 0 to 10 mm can", mask_m * 1e3);
        source->mask_mm = mask_m * 1e3;
    }
    return inputs != NULL ? cw_desk_inputs_parse(inputs, source, err) : CW_OK;
}

/* The bench's path where the test is to be kept in a job, or one is gone on with; "" otherwise. */
static cw_status bench_of(const cw_shutter_face *face, bool go_on, char *path, size_t size, cw_error *err)
{
    path[0] = '\0';
    if (face->job == NULL && face->bench == NULL && !go_on)
        return CW_OK;
    cw_bench *bench;
    CW_TRY(cw_bench_place(face->bench, path, size, err));
    CW_TRY(cw_bench_from_option(face->bench, CW_BENCH_OPEN, &bench, err)); /* is it one? */
    cw_bench_close(bench);
    return CW_OK;
}

static cw_status measure(live_face *face, const char *bench, const cw_desk_setup *setup, bool go_on, bool *outside,
                         cw_error *err)
{
    struct sigaction action = {.sa_handler = on_interrupt, .sa_flags = SA_RESTART}; /* no output is cut */
    sigaction(SIGINT, &action, NULL);
    CW_TRY(cw_desk_new(bench, &face->desk, err));
    cw_status status = go_on ? cw_desk_go_on(face->desk, NULL, err) : cw_desk_begin(face->desk, setup, err);
    if (status == CW_OK) {
        open_keyboard(face);
        status = watch(face, err);
        close_keyboard(face);
        if (status == CW_OK)
            status = finish(face, bench, outside, err);
    }
    cw_desk_free(face->desk);
    return status;
}

static cw_status run_live(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    static const char *const own[] = {"source", "port", "mask-mm", "device", "rate", "channels", "inputs"};
    static const char *const flags[] = {"calibrate", "devices", "go-on"};
    cw_option options[CW_SHUTTER_OPTIONS + CW_COUNT(own) + CW_COUNT(flags)];
    size_t shared = cw_shutter_options(options), n = shared, operands;
    for (size_t i = 0; i < CW_COUNT(own); i++)
        options[n++] = (cw_option){.key = own[i]};
    for (size_t i = 0; i < CW_COUNT(flags); i++)
        options[n++] = (cw_option){.key = flags[i], .is_flag = true};
    CW_TRY(cw_options_read(count, args, options, n, NULL, 0, &operands, err));
    if (cw_option_given(options, n, "devices"))
        return list_devices(out, err);
    live_face *face = calloc(1, sizeof *face);
    if (face == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a live test");
    face->out = out;
    cw_desk_setup setup = {.when = "before"};
    char bench[CW_BENCH_PATH];
    bool go_on = cw_option_given(options, n, "go-on");
    cw_status status = cw_shutter_options_take(options, shared, &setup.plan, &face->face, err);
    if (status == CW_OK)
        status = take_source(options, n, &setup.source, err);
    if (status == CW_OK && face->face.job != NULL)
        status = cw_id_parse(face->face.job, "job", &setup.job_id, err);
    if (status == CW_OK)
        status = bench_of(&face->face, go_on, bench, sizeof bench, err);
    if (status == CW_OK && face->face.when != NULL)
        snprintf(setup.when, sizeof setup.when, "%.7s", face->face.when);
    if (status == CW_OK)
        status = measure(face, bench[0] != '\0' ? bench : NULL, &setup, go_on, outside, err);
    free(face);
    return status;
}

const cw_command cw_cmd_live = {
    "live", "--marked-list 1,1/2,... [--source gate|sound] [options]",
    "measure live with gate or sound card: fire, read, next speed",
    "  --source gate|sound       where the light comes in (default gate)\n"
    "  --devices                 list serial ports and sound inputs, and end\n"
    "  --port /dev/ttyUSB0       the gate's serial port; the only one there is unless given\n"
    "  --mask-mm 0.3             gate: slit before each sensor, along the travel\n"
    "  --calibrate               gate: first let it find the lag of its own sensors\n"
    "  --device NAME             the sound input as --devices names it; the usual one unless given\n"
    "  --rate HZ, --channels N   sound: samples a second (its own), channels to listen to (1)\n"
    "  --inputs 1,3              sound: which channel is which sensor, in the order of --sensors-mm\n"
    "  --marked-list, --shots-per-speed    the plan; it ends by itself when all are fired. Before that: Space or "
    "Enter\n"
    "                            for the next speed, b the one before, r one more at this speed, x strikes the last\n"
    "                            shot out or takes it back, q or Ctrl-C ends\n"
    "  --bench FOLDER --job N --when before    keep it as a test of the job; each shot is on the disk before it is "
    "shown\n"
    "  --go-on                   go on with the test that was not finished on this bench\n"
    "  --json                    a JSON object a line: shots and notices as they come, the result last\n"
    "  --sensors-mm, --shutter, --frame-mm, --tolerance, --geometric, --check    as for `shutter`\n",
    run_live};
