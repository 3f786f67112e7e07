/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The light gate at work: finds or waits for the port, survives plugging and unplugging, hands over shots and
 * sentences. The one place in this room that reads the clock and the port; runs in the caller's thread until told to
 * stop. */
#ifndef CW_LIVE_GATE_LINK_H
#define CW_LIVE_GATE_LINK_H

#include "live/gate_session.h"

enum { CW_GATE_BAUD = 250000 };

typedef struct {
    const char *port; /* path; NULL: the only USB serial port there is, waited for */
    unsigned baud;    /* 0 = CW_GATE_BAUD */
    cw_gate_setup setup;
} cw_gate_link_options;

/* Called in the thread of cw_gate_link_run. */
typedef struct {
    void *context;
    void (*shot)(void *context, const cw_shot *shot);
    void (*say)(void *context, const char *sentence);            /* what goes on, for the person */
    bool (*stop)(void *context);                                 /* asked at least ten times a second */
    void (*idle)(void *context, const cw_gate_session *session); /* likewise; may be NULL */
    void (*line)(void *context, const cw_gate_line *line);       /* every good line as it comes; may be NULL */
} cw_gate_listener;

/* Runs until stop() says so: CW_OK. CW_DEVICE: two ports and none named, no permission, speed refused. A port that is
 * not there or vanishes is waited for, and said. */
cw_status cw_gate_link_run(const cw_gate_link_options *options, const cw_gate_listener *listener, cw_error *err)
    __attribute__((warn_unused_result));

/* Self-calibration of every placed sensor, with the shutter open and the gate's own lamp as the light: four widths, 32
 * pulses each, some fifteen seconds a sensor. Results go into setup->calibration and are told through say(). */
cw_status cw_gate_link_calibrate(const cw_gate_link_options *options, const cw_gate_listener *listener,
                                 cw_gate_setup *setup, cw_error *err) __attribute__((warn_unused_result));

#endif
