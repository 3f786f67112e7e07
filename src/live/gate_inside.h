/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of the gate session share. */
#ifndef CW_LIVE_GATE_INSIDE_H
#define CW_LIVE_GATE_INSIDE_H

#include "live/gate_session.h"

enum { GATE_SHOTS = 64, GATE_NOTICES = 64, GATE_PULSES = CW_BOUNCES_MOST + 1, GATE_CALIBRATION_PULSES = 200 };

typedef struct {
    double open_s, close_s;
    bool crowded; /* another stamp close by: coarser */
} cw_gate_light;

typedef struct {
    bool lit;
    double open_s;
    bool open_crowded;
    size_t pulse_count;
    cw_gate_light pulses[GATE_PULSES];
} cw_gate_channel;

typedef struct {
    double commanded_s, width_s; /* LED on at, for */
    double rise_s, fall_s;       /* as stamped; NaN until seen */
} cw_gate_calibration_shot;

struct cw_gate_session {
    cw_gate_setup setup;
    bool hello_seen, light_is_high;
    double tick_hz;

    bool epoch_known, number_known, pins_known;
    uint32_t last_ticks;
    int64_t ticks; /* since the epoch */
    uint16_t next_number;
    uint8_t pins;
    cw_gate_clock clock;
    bool levels_known;
    double levels[4];

    bool shot_open, spoilt, stuck_told;
    char spoilt_why[CW_REMARK_TEXT];
    cw_gate_channel channel[CW_GATE_SENSORS];
    bool contact_closed;
    double contact_s, contact_opens_s; /* NaN when not seen */
    double shot_began_s;
    double last_edge_host_s;

    double last_heard_s; /* host time; NaN: nothing yet */
    bool silent;
    double flicker_since_s;
    unsigned flicker_count;
    bool flicker_told;

    bool calibrating;
    unsigned calibrated_sensor;
    size_t calibration_count;
    cw_gate_calibration_shot calibration[GATE_CALIBRATION_PULSES];
    size_t loose_count; /* edges whose pulse line has not come yet */
    cw_gate_light loose[GATE_CALIBRATION_PULSES];

    size_t shot_begin, shot_end;
    cw_shot shots[GATE_SHOTS];
    size_t notice_begin, notice_end;
    cw_gate_notice notices[GATE_NOTICES];
};

void cw_gate_notice_add(cw_gate_session *session, cw_gate_notice_code code, double now_s, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* gate_shot.c */
void cw_gate_shot_edge(cw_gate_session *session, uint8_t changed, double gate_s, bool crowded, double now_s);
bool cw_gate_shot_lit(const cw_gate_session *session);
void cw_gate_shot_finish(cw_gate_session *session, double now_s); /* does nothing when no shot is open */

/* gate_calibration.c */
void cw_gate_calibration_pulse(cw_gate_session *session, double at_s, double width_s);
void cw_gate_calibration_light(cw_gate_session *session, cw_gate_light light);

#endif
