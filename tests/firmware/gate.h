/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The light gate on the desk: its firmware in the AVR simulator (simavr 1.6), pins driven at known cycles, bytes in and
 * out. One cycle is 62.5 ns, and so is one tick of the gate. Not a model of silicon: the pins' synchroniser and
 * everything analog are missing. */
#ifndef CW_TESTS_FIRMWARE_GATE_H
#define CW_TESTS_FIRMWARE_GATE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { GATE_PINS = 4, GATE_HZ = 16000000 };

typedef struct {
    uint64_t cycle;
    uint8_t pin; /* 0 to 3: A, B, C, X */
    uint8_t level;
} gate_edge;

typedef struct gate gate;

/* Runs the firmware of $CW_GATE_ELF, strapped for `pol` (0 or 1), all four pins at `pins`, from reset until its hello
 * is out. Fails the test when there is no such file. `fast`: skip over cycles in which nothing can happen. */
gate *gate_new(unsigned pol, unsigned pins, bool fast);
void gate_free(gate *g);

uint64_t gate_cycle(const gate *g);
/* The cycle at which the gate's 32-bit clock stood at 0. */
uint64_t gate_epoch(const gate *g);

/* Adds edges in order of their cycle, none before what is already there or before now. The array is copied. */
void gate_add(gate *g, const gate_edge *edges, size_t count);
void gate_run(gate *g, uint64_t until_cycle);
void gate_run_s(gate *g, double seconds);
void gate_send(gate *g, const char *bytes);

/* The lamp output wired back to one input: lamp on and off show at the pin `rise` and `fall` cycles later. */
void gate_loop_lamp(gate *g, unsigned pin, unsigned rise, unsigned fall);
/* Volts at the four analog inputs: A, B, C, REF; the supply is 5 V. */
void gate_volts(gate *g, const double volts[4]);
/* Cycles at which the lamp output changed, oldest first. */
size_t gate_lamp_changes(const gate *g, const uint64_t **cycles);

/* Bytes that came since the last call; they stay the gate's until the next. For the bridge. */
size_t gate_take(gate *g, const char **bytes);

/* One line that came, taken apart; the sum is checked by the bit, on its own, not with the firmware's table. */
typedef struct {
    char type;
    bool sum_is_right;
    unsigned field_count;
    char fields[12][24]; /* as text; no more than 12 fields in any line */
    uint32_t number[12]; /* the same read as hex; 0 where it is none */
    char text[96];
    uint64_t cycle; /* when its last byte was given to the line */
} gate_line;

/* Takes one line apart, without its end of line; `cycle` stays 0. */
void gate_line_read(const char *text, gate_line *line);

/* The next line not yet taken, in order; false when there is none. */
bool gate_next(gate *g, gate_line *line);
/* Runs until a line of this type comes (skipping others) or `seconds` are over. */
bool gate_wait(gate *g, char type, double seconds, gate_line *line);

/* Highest number of cycles the overflow flag was seen pending; what main's polling must keep below 32768. */
uint64_t gate_worst_overflow(const gate *g);

#endif
