/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/gate_link.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "live/serial.h"

enum { READ_MS = 5, GARBAGE_LINES = 40, BLOCK = 4096 };
static const double look_again_s = 0.5, greet_s = 1.0;

typedef struct {
    const cw_gate_link_options *options;
    const cw_gate_listener *listener;
    cw_gate_session *session;
    cw_gate_reader reader;
    int fd;
    char port[CW_PORT_NAME];
    bool waiting_told, garbage_told, answered;
    double opened_s, greeted_s;
} link_state;

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static void pause_s(double seconds)
{
    struct timespec wait = {(time_t)seconds, (long)((seconds - floor(seconds)) * 1e9)};
    nanosleep(&wait, NULL);
}

static cw_status take(void *context, const cw_gate_line *line, cw_error *err)
{
    (void)err;
    link_state *link = context;
    link->answered = link->answered || line->kind == CW_GATE_HELLO; /* only it tells which level means light */
    if (link->listener->line != NULL)
        link->listener->line(link->listener->context, line);
    cw_gate_session_take(link->session, line, now_s());
    return CW_OK;
}

static void hand_over(link_state *link)
{
    cw_gate_notice notice;
    cw_shot shot;
    while (cw_gate_session_next_notice(link->session, &notice))
        link->listener->say(link->listener->context, notice.text);
    while (cw_gate_session_next_shot(link->session, &shot))
        link->listener->shot(link->listener->context, &shot);
    if (link->listener->idle != NULL)
        link->listener->idle(link->listener->context, link->session);
}

/* The named port, or the only one there is. *found false: none yet. */
static cw_status choose_port(link_state *link, bool *found, cw_error *err)
{
    *found = true;
    if (link->options->port != NULL) {
        snprintf(link->port, sizeof link->port, "%s", link->options->port);
        *found = access(link->port, F_OK) == 0;
        return CW_OK;
    }
    cw_serial_port ports[CW_PORTS_MOST];
    size_t count = cw_serial_ports(ports, CW_PORTS_MOST);
    *found = count > 0;
    if (count > 1)
        return cw_fail(err, CW_DEVICE, "there are %zu serial ports (%s, %s ...); say which is the gate: --port %s",
                       count, ports[0].path, ports[1].path, ports[0].path);
    if (count == 1)
        snprintf(link->port, sizeof link->port, "%s", ports[0].path);
    return CW_OK;
}

static cw_status try_open(link_state *link, cw_error *err)
{
    bool found;
    CW_TRY(choose_port(link, &found, err));
    if (!found) {
        if (!link->waiting_told)
            link->listener->say(link->listener->context, link->options->port != NULL
                                                             ? "the gate's port is not there; plug the gate in"
                                                             : "no serial port is there; plug the gate in");
        link->waiting_told = true;
        pause_s(0.1);
        return CW_OK;
    }
    CW_TRY(cw_serial_open(link->port, link->options->baud != 0 ? link->options->baud : CW_GATE_BAUD, &link->fd, err));
    link->waiting_told = false;
    link->garbage_told = false;
    link->answered = false;
    link->reader = (cw_gate_reader){0};
    link->opened_s = now_s();
    link->greeted_s = 0;
    return CW_OK;
}

/* Opening the port resets many boards: a hello comes by itself, or is asked for every second until one comes. */
static cw_status greet(link_state *link, cw_error *err)
{
    double now = now_s();
    if (link->answered || now - link->opened_s < greet_s || now - link->greeted_s < greet_s)
        return CW_OK;
    char command[CW_GATE_COMMAND];
    cw_gate_hello_command(command);
    link->greeted_s = now;
    return cw_serial_write(link->fd, command, strlen(command), err);
}

static void watch_garbage(link_state *link)
{
    bool garbage = link->reader.dropped_in_row >= GARBAGE_LINES ||
                   (link->reader.lines == 0 && link->reader.bytes > 20 * CW_GATE_LINE_MOST);
    if (garbage && !link->garbage_told) {
        link->garbage_told = true;
        link->listener->say(link->listener->context,
                            "what comes over the line cannot be read: another speed, or another device on this port?");
    }
    if (!garbage)
        link->garbage_told = false;
}

/* One turn: read what is there, hand over what is finished. CW_DEVICE from the port means it is gone. */
static cw_status turn(link_state *link, cw_error *err)
{
    char block[BLOCK];
    size_t got;
    CW_TRY(greet(link, err));
    CW_TRY(cw_serial_read(link->fd, READ_MS, block, sizeof block, &got, err));
    cw_status status = cw_gate_feed(&link->reader, block, got, take, link, err);
    if (status != CW_OK && !link->garbage_told) { /* another version: say it, go on listening */
        link->garbage_told = true;
        link->listener->say(link->listener->context, err->text);
    }
    cw_gate_session_pass(link->session, now_s());
    watch_garbage(link);
    hand_over(link);
    return CW_OK;
}

static void lose_port(link_state *link)
{
    close(link->fd);
    link->fd = -1;
    cw_gate_session_unplugged(link->session, now_s());
    link->listener->say(link->listener->context,
                        "the gate was unplugged; every shot shown so far is kept. Plug it in again "
                        "to go on");
    link->waiting_told = true;
    hand_over(link);
    pause_s(look_again_s);
}

static cw_status run(link_state *link, cw_error *err)
{
    while (!link->listener->stop(link->listener->context)) {
        if (link->fd < 0) {
            CW_TRY(try_open(link, err));
            continue;
        }
        if (turn(link, err) != CW_OK)
            lose_port(link);
    }
    return CW_OK;
}

cw_status cw_gate_link_run(const cw_gate_link_options *options, const cw_gate_listener *listener, cw_error *err)
{
    link_state link = {.options = options, .listener = listener, .fd = -1};
    CW_TRY(cw_gate_session_new(&options->setup, &link.session, err));
    cw_status status = run(&link, err);
    if (link.fd >= 0)
        close(link.fd);
    cw_gate_session_free(link.session);
    return status;
}

/* ---- self-calibration ---- */

/* Turns until `seconds` have passed; a port that goes away ends it. */
static cw_status turns_for(link_state *link, double seconds, cw_error *err)
{
    double until = now_s() + seconds;
    while (now_s() < until) {
        if (link->listener->stop(link->listener->context))
            return cw_fail(err, CW_DEVICE, "the calibration was stopped");
        CW_TRY(turn(link, err));
    }
    return CW_OK;
}

static cw_status open_and_wait(link_state *link, cw_error *err)
{
    for (double until = now_s() + 10; now_s() < until && !link->answered;) {
        if (link->fd < 0)
            CW_TRY(try_open(link, err));
        else
            CW_TRY(turn(link, err));
    }
    if (!link->answered)
        return cw_fail(err, CW_DEVICE, "no gate answered within ten seconds; is it plugged in?");
    return CW_OK;
}

static cw_status calibrate_sensor(link_state *link, unsigned sensor, cw_gate_sensor_calibration *found, cw_error *err)
{
    static const uint32_t widths[] = {0xfa0, 0x3e80, 0xfa00, 0x3e800}; /* 0.25, 1, 4 and 16 ms at 16 MHz */
    enum { PULSES = 32 };
    cw_gate_calibration_begin(link->session, sensor);
    for (size_t i = 0; i < CW_COUNT(widths); i++) {
        char command[CW_GATE_COMMAND];
        CW_TRY(cw_gate_calibrate_command(widths[i], PULSES, sensor, command, err));
        CW_TRY(cw_serial_write(link->fd, command, strlen(command), err));
        CW_TRY(turns_for(link, 0.5 + PULSES * (0.03 + 2 * widths[i] / 16e6), err));
    }
    return cw_gate_calibration_end(link->session, found, err);
}

static cw_status calibrate_all(link_state *link, cw_gate_setup *setup, cw_error *err)
{
    CW_TRY(open_and_wait(link, err));
    for (unsigned i = 0; i < CW_GATE_SENSORS; i++) {
        char words[300], amount[CW_QUANTITY_TEXT];
        if (isnan(setup->sensors_mm[i]))
            continue;
        cw_gate_sensor_calibration *found = &setup->calibration[i];
        cw_status status = calibrate_sensor(link, i, found, err);
        if (status != CW_OK) {
            cw_context(err, "sensor %c", 'A' + (int)i);
            return status;
        }
        cw_quantity_text(found->asymmetry_s, cw_unit_find(CW_TIME, "us"), 3, amount, sizeof amount);
        snprintf(words, sizeof words, "sensor %c: every exposure comes out %s too long; this is taken off%s",
                 'A' + (int)i, amount,
                 found->uneven ? " (it depends on the length: the detector is slow or too bright)" : "");
        link->listener->say(link->listener->context, words);
    }
    return CW_OK;
}

cw_status cw_gate_link_calibrate(const cw_gate_link_options *options, const cw_gate_listener *listener,
                                 cw_gate_setup *setup, cw_error *err)
{
    link_state link = {.options = options, .listener = listener, .fd = -1};
    CW_TRY(cw_gate_session_new(&options->setup, &link.session, err));
    cw_status status = calibrate_all(&link, setup, err);
    if (link.fd >= 0)
        close(link.fd);
    cw_gate_session_free(link.session);
    return status;
}
