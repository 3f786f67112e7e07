/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The light gate's serial line, protocol "clg/1" (docs/light-gate.md): bytes in, lines out. Pure; opens no port.
 *
 * A line is printable ASCII, at most 80 bytes, "type SP field ... *crc LF"; numbers are lower-case hexadecimal of fixed
 * width. CRC-16 with polynomial 0x1021, start 0xffff, not reflected, over every byte before the "*". */
#ifndef CW_LIVE_GATE_PROTOCOL_H
#define CW_LIVE_GATE_PROTOCOL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"

enum { CW_GATE_SENSORS = 3, CW_GATE_CONTACT = 3, CW_GATE_LINE_MOST = 80, CW_GATE_TEXT = 64 };

typedef enum {
    CW_GATE_HELLO,   /* H: after reset and on request */
    CW_GATE_EDGE,    /* E: pins changed */
    CW_GATE_BEAT,    /* T: once a second */
    CW_GATE_LOST,    /* O: the gate's own ring ran over */
    CW_GATE_ANSWER,  /* A: calibration command as understood */
    CW_GATE_PULSE,   /* P: a calibration pulse was made */
    CW_GATE_LEVELS,  /* L: analogue levels */
    CW_GATE_REFUSAL, /* X: a command was refused */
    CW_GATE_UNKNOWN  /* a type of a later version; to be passed over */
} cw_gate_kind;

/* Bits of state, changed and mask: 1 A, 2 B, 4 C, 8 X (contact). */
typedef struct {
    cw_gate_kind kind;
    uint16_t number;         /* E: its number; T, H: the next one; O: the first lost */
    uint16_t count;          /* O: how many were lost (0xffff: that many or more); A: pulses; P: which pulse */
    uint32_t ticks;          /* E, T, P: time of the event, gate clock, 32 bits, wraps */
    uint32_t width_ticks;    /* A, P */
    uint8_t state;           /* E: pins after; T, H: pins now */
    uint8_t changed;         /* E: 0 = a pulse too short to time */
    uint8_t mask;            /* A, P: channel */
    uint8_t beat;            /* T */
    uint8_t code;            /* X */
    uint16_t levels[4];      /* L: A, B, C, REF, 0 to 1023 */
    double tick_hz;          /* H: nominal */
    bool light_is_high;      /* H: pol=1 */
    char text[CW_GATE_TEXT]; /* H: firmware version; X: its words */
} cw_gate_line;

/* CRC-16 of the protocol; "123456789" gives 0x29b1. */
uint16_t cw_gate_crc(const char *bytes, size_t count);

/* Reads one line without its line end. CW_NOT_MINE: the CRC does not match, or there is none (garbage, wrong speed).
 * CW_INPUT: the gate speaks another version than clg/1, or a line with a right CRC has fields of the wrong form. */
cw_status cw_gate_parse(const char *line, size_t length, cw_gate_line *parsed, cw_error *err)
    __attribute__((warn_unused_result));

/* Cuts a byte stream into lines. Zero it to start. */
typedef struct {
    char held[CW_GATE_LINE_MOST + 2];
    size_t used;
    bool skipping;           /* inside an over-long line or garbage, until its end */
    uint64_t lines;          /* that were whole */
    uint64_t dropped;        /* over-long, not ASCII, wrong CRC */
    uint64_t dropped_in_row; /* since the last good line: many in a row = wrong speed */
    uint64_t bytes;
} cw_gate_reader;

/* Takes bytes in order; calls `take` for every good line. A bad one is counted and left out; the number gap will tell
 * if an event went with it. Returns the first status that is not CW_OK from `take` or a version refusal. */
cw_status cw_gate_feed(cw_gate_reader *reader, const char *bytes, size_t count,
                       cw_status (*take)(void *context, const cw_gate_line *line, cw_error *err), void *context,
                       cw_error *err) __attribute__((warn_unused_result));

/* Commands to the gate, each with its line end. */
enum { CW_GATE_COMMAND = 32 };
void cw_gate_hello_command(char out[static CW_GATE_COMMAND]);
void cw_gate_levels_command(char out[static CW_GATE_COMMAND]);
/* width 800 to 2^31 ticks, count 1 to 40, sensor 0 to 2. CW_RANGE otherwise. */
cw_status cw_gate_calibrate_command(uint32_t width_ticks, unsigned count, unsigned sensor,
                                    char out[static CW_GATE_COMMAND], cw_error *err)
    __attribute__((warn_unused_result));

#endif
