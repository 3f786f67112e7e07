/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the gate's lines to shots, and to sentences about what goes wrong on the way. Pure: the caller says when each
 * line arrived and what time it is; opens no port, reads no clock.
 *
 * A shot begins with the first light after darkness on all sensors and ends CW_GATE_SETTLE_S after the last change,
 * when all are dark again. Losses are never bridged: a shot during which an event was lost is kept and marked
 * incomplete. */
#ifndef CW_LIVE_GATE_SESSION_H
#define CW_LIVE_GATE_SESSION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "live/gate_clock.h"
#include "live/gate_protocol.h"
#include "shutter/shot.h"

/* Late light within this time is bounce; a shot is told this long after its last edge. Slow enough for the travel of
 * any curtain between two sensors (16 ms), fast enough that the number follows the click. */
#define CW_GATE_SETTLE_S 0.06

/* Standard uncertainty of one stamped edge: alone, and with another stamp within 64 ticks (docs/light-gate.md,
 * measured in the simulator; a margin is added for the input synchroniser). */
#define CW_GATE_U_EDGE_ALONE_S 0.1e-6
#define CW_GATE_U_EDGE_CROWDED_S 0.6e-6

/* What self-calibration learnt about one sensor, for one light level. */
typedef struct {
    bool known;
    double open_delay_s;     /* mean of r: how late an opening is stamped */
    cw_quantity asymmetry_s; /* b: what every exposure comes out too long by */
    bool uneven;             /* b depends on the pulse width: the detector is slow or saturated */
} cw_gate_sensor_calibration;

typedef struct {
    double sensors_mm[CW_GATE_SENSORS]; /* along the travel; NaN: not placed, not used */
    double mask_slit_mm;                /* width of the slit before each sensor along the travel; NaN: not known */
    double threshold[CW_GATE_SENSORS];  /* f: threshold over full-open level; NaN: not known */
    cw_gate_sensor_calibration calibration[CW_GATE_SENSORS];
} cw_gate_setup;

typedef enum {
    CW_GATE_SAYS_HELLO,
    CW_GATE_SAYS_RESET,       /* a hello in mid-stream */
    CW_GATE_SAYS_SERIAL_LOSS, /* the line lost events */
    CW_GATE_SAYS_OVERFLOW,    /* the gate itself did */
    CW_GATE_SAYS_FAULT,       /* time ran backwards: the numbers cannot be trusted */
    CW_GATE_SAYS_SILENCE,     /* no beat for three seconds */
    CW_GATE_SAYS_ALIVE,       /* heard again */
    CW_GATE_SAYS_FLICKER,     /* more than 500 events a second */
    CW_GATE_SAYS_STUCK,       /* a sensor stays lit */
    CW_GATE_SAYS_NO_LIGHT,    /* the contact closed and no sensor saw light */
    CW_GATE_SAYS_TOO_SHORT,   /* a pulse too short to time */
    CW_GATE_SAYS_REFUSED      /* the gate refused a command */
} cw_gate_notice_code;

typedef struct {
    cw_gate_notice_code code;
    double at_s; /* host time */
    char text[240];
} cw_gate_notice;

typedef struct cw_gate_session cw_gate_session;

cw_status cw_gate_session_new(const cw_gate_setup *setup, cw_gate_session **session, cw_error *err)
    __attribute__((warn_unused_result));
void cw_gate_session_free(cw_gate_session *session); /* NULL is fine */

/* A good line that arrived at host time `now_s` (monotonic seconds, never falling). */
void cw_gate_session_take(cw_gate_session *session, const cw_gate_line *line, double now_s);
/* Time passing without a line: ends shots, notices silence. Call at least every 20 ms while lines are expected. */
void cw_gate_session_pass(cw_gate_session *session, double now_s);
/* The port was closed or pulled: an open shot becomes incomplete. */
void cw_gate_session_unplugged(cw_gate_session *session, double now_s);

/* The next finished shot or notice, oldest first; false when there is none. A shot's instants are seconds from the
 * session's first event. */
bool cw_gate_session_next_shot(cw_gate_session *session, cw_shot *shot);
bool cw_gate_session_next_notice(cw_gate_session *session, cw_gate_notice *notice);

/* The gate clock against the host's. */
cw_quantity cw_gate_session_clock(const cw_gate_session *session); /* real tick rate over nominal, 1 = exact */
/* The newest levels, 0 to 1 of the converter's range, for A, B, C and the reference; false before any came. */
bool cw_gate_session_levels(const cw_gate_session *session, double levels[4]);
uint8_t cw_gate_session_pins(const cw_gate_session *session); /* as last told */

/* What a self-calibration of one sensor gives, from the pulses and edges the session saw since
 * cw_gate_calibration_begin. `widths_s` and `width_count` as commanded. CW_RANGE: fewer than 8 pulses came back at some
 * width. */
void cw_gate_calibration_begin(cw_gate_session *session, unsigned sensor);
cw_status cw_gate_calibration_end(cw_gate_session *session, cw_gate_sensor_calibration *calibration, cw_error *err)
    __attribute__((warn_unused_result));

#endif
