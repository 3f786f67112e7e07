/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/gate_session.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "live/gate_inside.h"

static const double silence_s = 3, flicker_window_s = 1, stuck_s = 120;
enum { FLICKER_EVENTS = 500, CROWDED_TICKS = 64 };

cw_status cw_gate_session_new(const cw_gate_setup *setup, cw_gate_session **session, cw_error *err)
{
    cw_gate_session *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a session with the light gate");
    made->setup = *setup;
    made->tick_hz = 16e6;
    made->light_is_high = true;
    made->last_heard_s = NAN;
    *session = made;
    return CW_OK;
}

void cw_gate_session_free(cw_gate_session *session)
{
    free(session);
}

void cw_gate_notice_add(cw_gate_session *session, cw_gate_notice_code code, double now_s, const char *format, ...)
{
    cw_gate_notice *notice = &session->notices[session->notice_end % GATE_NOTICES];
    if (session->notice_end - session->notice_begin == GATE_NOTICES)
        session->notice_begin++; /* nobody listened: the oldest goes */
    session->notice_end++;
    *notice = (cw_gate_notice){.code = code, .at_s = now_s};
    va_list args;
    va_start(args, format);
    vsnprintf(notice->text, sizeof notice->text, format, args);
    va_end(args);
}

bool cw_gate_session_next_notice(cw_gate_session *session, cw_gate_notice *notice)
{
    if (session->notice_begin == session->notice_end)
        return false;
    *notice = session->notices[session->notice_begin++ % GATE_NOTICES];
    return true;
}

bool cw_gate_session_next_shot(cw_gate_session *session, cw_shot *shot)
{
    if (session->shot_begin == session->shot_end)
        return false;
    *shot = session->shots[session->shot_begin++ % GATE_SHOTS];
    return true;
}

cw_quantity cw_gate_session_clock(const cw_gate_session *session)
{
    return cw_gate_clock_rate(&session->clock);
}

bool cw_gate_session_levels(const cw_gate_session *session, double levels[4])
{
    if (session->levels_known)
        memcpy(levels, session->levels, sizeof session->levels);
    return session->levels_known;
}

uint8_t cw_gate_session_pins(const cw_gate_session *session)
{
    return session->pins;
}

/* Seconds of gate time since the epoch; false when it ran backwards. */
static bool unwrap(cw_gate_session *session, uint32_t ticks, double *gate_s)
{
    if (!session->epoch_known) {
        session->epoch_known = true;
        session->last_ticks = ticks;
        session->ticks = 0;
    }
    int32_t step = (int32_t)(ticks - session->last_ticks);
    /* lines are composed in order, but a beat is stamped a moment before events that wait in the ring */
    const int32_t out_of_order = (int32_t)(0.3 * session->tick_hz);
    bool forwards = step >= -out_of_order;
    session->last_ticks = ticks;
    session->ticks += step;
    *gate_s = (double)session->ticks / session->tick_hz;
    return forwards;
}

/* Whatever shot is open can no longer be trusted whole. */
static void spoil(cw_gate_session *session, const char *why)
{
    if (!session->shot_open || session->spoilt)
        return;
    session->spoilt = true;
    snprintf(session->spoilt_why, sizeof session->spoilt_why, "%s", why);
}

/* Forgets edges under way, after a loss: levels are as the next line says. */
static void forget_pulses(cw_gate_session *session)
{
    for (size_t i = 0; i < CW_GATE_SENSORS; i++)
        session->channel[i].lit = false;
}

static void lost_on_line(cw_gate_session *session, unsigned count, double now_s)
{
    spoil(session, "events were lost on the serial line during this shot");
    cw_gate_notice_add(
        session, CW_GATE_SAYS_SERIAL_LOSS, now_s,
        count == 1 ? "the serial line lost %u event; the shot it fell into is marked incomplete. Is the cable sound, "
                     "and does nothing else use the port?"
                   : "the serial line lost %u events; the shot they fell into is marked incomplete. Is the cable "
                     "sound, and does nothing else use the port?",
        count);
    session->pins_known = false;
}

/* Numbers run on by one; a gap that no overflow line announced was lost on the way here. */
static void check_number(cw_gate_session *session, uint16_t number, double now_s)
{
    uint16_t gap = (uint16_t)(number - session->next_number);
    if (session->number_known && gap != 0 && gap < 0x8000)
        lost_on_line(session, gap, now_s);
    session->number_known = true;
    session->next_number = number;
}

static void take_hello(cw_gate_session *session, const cw_gate_line *line, double now_s)
{
    bool asked_again = session->hello_seen && session->number_known && line->number == session->next_number;
    if (session->hello_seen && !asked_again) {
        spoil(session, "the gate was reset during this shot");
        cw_gate_shot_finish(session, now_s);
        cw_gate_notice_add(session, CW_GATE_SAYS_RESET, now_s,
                           "the gate was reset (power or cable?); what was under way is marked incomplete");
    }
    if (!asked_again) {
        session->epoch_known = false;
        session->number_known = false;
        session->clock = (cw_gate_clock){0};
        forget_pulses(session);
        check_number(session, line->number, now_s);
    }
    if (!session->hello_seen)
        cw_gate_notice_add(session, CW_GATE_SAYS_HELLO, now_s, "light gate found, firmware %s", line->text);
    session->hello_seen = true;
    session->tick_hz = line->tick_hz;
    session->light_is_high = line->light_is_high;
    session->pins = line->state;
    session->pins_known = true;
}

/* Counts events by the second of host time; says it once per burst. */
static void watch_flicker(cw_gate_session *session, double now_s)
{
    if (now_s - session->flicker_since_s > flicker_window_s) {
        session->flicker_since_s = now_s;
        session->flicker_told = session->flicker_told && session->flicker_count > FLICKER_EVENTS;
        session->flicker_count = 0;
    }
    session->flicker_count++;
    if (session->flicker_count > FLICKER_EVENTS && !session->flicker_told) {
        session->flicker_told = true;
        cw_gate_notice_add(session, CW_GATE_SAYS_FLICKER, now_s,
                           "the light flickers (over 500 changes a second): a mains lamp or a dimmed LED? Use a steady "
                           "light");
    }
}

static void take_edge(cw_gate_session *session, const cw_gate_line *line, double now_s)
{
    check_number(session, line->number, now_s);
    session->next_number = (uint16_t)(line->number + 1);
    int64_t before = session->ticks;
    double gate_s;
    if (!unwrap(session, line->ticks, &gate_s)) {
        spoil(session, "the gate's clock jumped during this shot");
        cw_gate_notice_add(session, CW_GATE_SAYS_FAULT, now_s,
                           "the gate's clock ran backwards; its numbers cannot be trusted: unplug it, and if it comes "
                           "again load its firmware anew");
        session->epoch_known = false;
        return;
    }
    bool crowded = llabs(session->ticks - before) < CROWDED_TICKS;
    if (line->changed == 0) {
        if (!crowded)
            cw_gate_notice_add(session, CW_GATE_SAYS_TOO_SHORT, now_s,
                               "a pulse too short to time (under 1.25 us) came: electrical noise?");
        session->pins = line->state;
        return;
    }
    watch_flicker(session, now_s);
    uint8_t changed = session->pins_known ? (uint8_t)(session->pins ^ line->state) : line->changed;
    if (session->pins_known && changed != line->changed)
        spoil(session, "the gate's pins do not agree with the events that came");
    session->pins = line->state;
    session->pins_known = true;
    cw_gate_shot_edge(session, changed, gate_s, crowded, now_s);
}

static void take_beat(cw_gate_session *session, const cw_gate_line *line, double now_s)
{
    check_number(session, line->number, now_s);
    double gate_s;
    bool fresh = !session->epoch_known;
    if (!unwrap(session, line->ticks, &gate_s)) {
        session->epoch_known = false;
        cw_gate_notice_add(session, CW_GATE_SAYS_FAULT, now_s, "the gate's clock ran backwards; a reset went unheard?");
        return;
    }
    if (fresh)
        session->clock = (cw_gate_clock){0};
    cw_gate_clock_beat(&session->clock, gate_s, now_s);
    session->pins = line->state;
    session->pins_known = true;
}

static void take_loss(cw_gate_session *session, const cw_gate_line *line, double now_s)
{
    check_number(session, line->number, now_s);
    session->next_number = (uint16_t)(line->number + line->count);
    spoil(session, "the gate could not keep up with the events of this shot");
    session->pins_known = false;
    cw_gate_notice_add(
        session, CW_GATE_SAYS_OVERFLOW, now_s,
        "the gate lost %u%s events by itself: more came than it can send. A flickering light, or a loose "
        "contact?",
        line->count, line->count == 0xffff ? " or more" : "");
}

void cw_gate_session_take(cw_gate_session *session, const cw_gate_line *line, double now_s)
{
    if (session->silent) {
        session->silent = false;
        cw_gate_notice_add(session, CW_GATE_SAYS_ALIVE, now_s, "the gate is heard again");
    }
    session->last_heard_s = now_s;
    switch (line->kind) {
    case CW_GATE_HELLO:
        take_hello(session, line, now_s);
        break;
    case CW_GATE_EDGE:
        take_edge(session, line, now_s);
        break;
    case CW_GATE_BEAT:
        take_beat(session, line, now_s);
        break;
    case CW_GATE_LOST:
        take_loss(session, line, now_s);
        break;
    case CW_GATE_PULSE: {
        double gate_s;
        if (unwrap(session, line->ticks, &gate_s))
            cw_gate_calibration_pulse(session, gate_s, (double)line->width_ticks / session->tick_hz);
        break;
    }
    case CW_GATE_LEVELS:
        for (size_t i = 0; i < CW_COUNT(session->levels); i++)
            session->levels[i] = line->levels[i] / 1023.0;
        session->levels_known = true;
        break;
    case CW_GATE_REFUSAL:
        cw_gate_notice_add(session, CW_GATE_SAYS_REFUSED, now_s, "the gate refused a command: %s", line->text);
        break;
    case CW_GATE_ANSWER:
    case CW_GATE_UNKNOWN:
        break;
    }
    cw_gate_session_pass(session, now_s);
}

void cw_gate_session_pass(cw_gate_session *session, double now_s)
{
    if (session->shot_open && !cw_gate_shot_lit(session) && now_s - session->last_edge_host_s >= CW_GATE_SETTLE_S)
        cw_gate_shot_finish(session, now_s);
    if (session->shot_open && cw_gate_shot_lit(session) && !session->stuck_told &&
        now_s - session->last_edge_host_s > stuck_s) {
        session->stuck_told = true;
        cw_gate_notice_add(
            session, CW_GATE_SAYS_STUCK, now_s,
            "a sensor has been lit for two minutes: is the shutter open on B or T, does daylight fall on "
            "the gate, or is a sensor stuck?");
    }
    if (!isnan(session->last_heard_s) && !session->silent && now_s - session->last_heard_s > silence_s) {
        session->silent = true;
        spoil(session, "the gate fell silent during this shot");
        cw_gate_notice_add(session, CW_GATE_SAYS_SILENCE, now_s,
                           "no sign of life from the gate for three seconds: is it plugged in?");
    }
}

void cw_gate_session_unplugged(cw_gate_session *session, double now_s)
{
    spoil(session, "the cable was pulled during this shot");
    cw_gate_shot_finish(session, now_s);
    session->hello_seen = false;
    session->epoch_known = false;
    session->number_known = false;
    session->pins_known = false;
    session->last_heard_s = NAN;
    session->silent = false;
    forget_pulses(session);
}
