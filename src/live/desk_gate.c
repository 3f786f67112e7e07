/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The desk listening to a light gate. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "live/desk_inside.h"
#include "live/gate_inside.h"
#include "live/gate_link.h"

enum { LINES_KEPT = 240 };
static const double lit_s = 8, column_s = 0.1;

typedef struct {
    cw_desk *desk;
    const cw_gate_link_options *options;
    size_t line_count;
    char lines[LINES_KEPT][40]; /* edges since the last shot, newest last */
    desk_lit_watch watch;
    double column_at_s;
    uint8_t seen_lit; /* since the last column */
    bool calibrating;
} gate_ear;

static void on_line(void *context, const cw_gate_line *line)
{
    gate_ear *ear = context;
    if (line->kind != CW_GATE_EDGE)
        return;
    if (ear->line_count == LINES_KEPT) {
        memmove(ear->lines, ear->lines + 1, (LINES_KEPT - 1) * sizeof *ear->lines);
        ear->line_count--;
    }
    snprintf(ear->lines[ear->line_count++], sizeof *ear->lines, "E %04x %08x %x %x", line->number, line->ticks,
             line->state, line->changed);
}

static void on_shot(void *context, const cw_shot *shot)
{
    gate_ear *ear = context;
    if (ear->calibrating)
        return; /* lit by the lamp, no shot */
    json_t *lines = json_array();
    for (size_t i = 0; i < ear->line_count; i++)
        json_array_append_new(lines, json_string(ear->lines[i]));
    ear->line_count = 0;
    cw_desk_shot shown = {.shot = *shot};
    pthread_mutex_lock(&ear->desk->lock);
    desk_put_shot(ear->desk, SIZE_MAX, &shown, lines);
    pthread_mutex_unlock(&ear->desk->lock);
}

static void on_say(void *context, const char *sentence)
{
    gate_ear *ear = context;
    bool is_news = strncmp(sentence, "light gate found", 16) == 0 || strstr(sentence, "heard again") != NULL ||
                   strncmp(sentence, "sensor ", 7) == 0;
    desk_say(ear->desk, !is_news, "%s", sentence);
}

static bool on_stop(void *context)
{
    return atomic_load(&((gate_ear *)context)->desk->stopping);
}

void desk_watch_lit(cw_desk *desk, desk_lit_watch *watch, uint8_t lit, double now_s)
{
    size_t placed = 0, stays = 0;
    char letter = 'A';
    for (size_t i = 0; i < CW_GATE_SENSORS; i++) {
        bool is_lit = (lit >> i & 1) != 0;
        if (!is_lit)
            watch->lit_since_s[i] = NAN;
        else if (isnan(watch->lit_since_s[i]))
            watch->lit_since_s[i] = now_s;
        bool is_placed = desk->setup.plan.measure.sensor_count == 0 || i < desk->setup.plan.measure.sensor_count;
        placed += is_placed;
        if (is_placed && is_lit && now_s - watch->lit_since_s[i] > lit_s) {
            stays++;
            letter = (char)('A' + i);
        }
    }
    if (lit == 0)
        watch->told = false;
    pthread_mutex_lock(&desk->lock);
    bool is_chosen, is_complete;
    double next_s = desk_next(desk, &is_chosen, &is_complete);
    pthread_mutex_unlock(&desk->lock);
    if (stays == 0 || watch->told || next_s > lit_s / 2) /* a long exposure is no fault */
        return;
    watch->told = true;
    if (stays == placed)
        desk_say(
            desk, true,
            "every sensor has been lit for %.0f seconds: is the shutter open on B or T, or does sunlight or another "
            "lamp fall on the gate? No shot can be seen until it is dark",
            lit_s);
    else
        desk_say(
            desk, true,
            "sensor %c has been lit for %.0f seconds while another is dark: does it look past the frame, does stray "
            "light reach it, or is it stuck? Its times cannot be had until it is dark",
            letter, lit_s);
}

static void show_levels(gate_ear *ear, uint8_t lit, double now_s)
{
    ear->seen_lit |= lit;
    if (now_s - ear->column_at_s < column_s)
        return;
    cw_desk_level level = {.is_digital = true, .lane_count = CW_GATE_SENSORS, .rate_hz = {NAN, NAN}};
    for (size_t i = 0; i < CW_GATE_SENSORS; i++) {
        snprintf(level.lanes[i].name, sizeof level.lanes[i].name, "sensor %c", (char)('A' + i));
        level.lanes[i].lit = (lit >> i & 1) != 0;
        level.lanes[i].least = level.lanes[i].lit ? 1.0f : 0.0f;
        level.lanes[i].most = (ear->seen_lit >> i & 1) != 0 ? 1.0f : 0.0f;
    }
    ear->column_at_s = now_s;
    ear->seen_lit = 0;
    desk_level_column(ear->desk, &level);
}

static void on_idle(void *context, const cw_gate_session *session)
{
    gate_ear *ear = context;
    double now_s = desk_now_s();
    uint8_t pins = cw_gate_session_pins(session);
    uint8_t lit = session->pins_known ? (uint8_t)((session->light_is_high ? pins : ~pins) & 7) : 0;
    desk_watch_lit(ear->desk, &ear->watch, lit, now_s);
    if (session->hello_seen)
        desk_watch_dark(ear->desk, now_s);
    show_levels(ear, lit, now_s);
}

static cw_status run(gate_ear *ear, cw_gate_link_options *options, const cw_gate_listener *listener, cw_error *err)
{
    if (ear->desk->setup.source.calibrate) {
        desk_say(ear->desk, false, "calibrating: leave the shutter open on B or T, with the gate's own lamp before it");
        ear->calibrating = true;
        CW_TRY(cw_gate_link_calibrate(options, listener, &options->setup, err));
        ear->calibrating = false;
        ear->line_count = 0;
        desk_say(ear->desk, false, "calibrated; close the shutter, and fire");
    }
    return cw_gate_link_run(options, listener, err);
}

cw_status desk_run_gate(cw_desk *desk, cw_error *err)
{
    const cw_desk_source *source = &desk->setup.source;
    const cw_measure_setup *measure = &desk->setup.plan.measure;
    cw_gate_link_options options = {.port = source->port[0] != '\0' ? source->port : NULL,
                                    .setup = {.mask_slit_mm = source->mask_mm, .threshold = {NAN, NAN, NAN}}};
    for (size_t i = 0; i < CW_GATE_SENSORS; i++)
        options.setup.sensors_mm[i] = i < measure->sensor_count ? measure->sensors_mm[i] : NAN;
    gate_ear ear = {.desk = desk, .options = &options, .watch.lit_since_s = {NAN, NAN, NAN}};
    cw_gate_listener listener = {
        .context = &ear, .shot = on_shot, .say = on_say, .stop = on_stop, .idle = on_idle, .line = on_line};
    pthread_mutex_lock(&desk->lock);
    snprintf(desk->listens_to, sizeof desk->listens_to, "light gate%s%s", source->port[0] != '\0' ? " on " : "",
             source->port);
    pthread_mutex_unlock(&desk->lock);
    return run(&ear, &options, &listener, err);
}
