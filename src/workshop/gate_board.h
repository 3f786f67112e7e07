/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The light gate's circuit on strip board: its parts by electrical value, in which hole each lead goes, and a check
 * that the strips, cuts and wires join exactly what the circuit joins. Pins of the controller as in
 * firmware/light-gate. */
#ifndef CW_WORKSHOP_GATE_BOARD_H
#define CW_WORKSHOP_GATE_BOARD_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Holes 2.54 mm (0.1 inch) apart; strips run along the columns' direction, one a row. Column 0 is the left edge seen
 * from the side of the parts, row 0 the upper one. */
enum { CW_GATE_COLUMNS = 33, CW_GATE_ROWS = 20, CW_GATE_PINS_MOST = 14 };

typedef enum {
    CW_GATE_RESISTOR,
    CW_GATE_CAPACITOR,
    CW_GATE_POLAR, /* first pin + */
    CW_GATE_DIODE, /* first pin anode */
    CW_GATE_TRIMMER,
    CW_GATE_COMPARATOR, /* four in a package of 14, pins as numbered from above */
    CW_GATE_WIRE,       /* insulated where it passes other leads */
    CW_GATE_PAD         /* a wire off the board */
} cw_gate_kind;

typedef struct {
    int column, row;
} cw_gate_hole;

typedef struct {
    cw_gate_kind kind;
    const char *name, *value; /* "R3", "100k"; a pad's name is what it goes to, "PD4" */
    size_t pin_count;
    cw_gate_hole holes[CW_GATE_PINS_MOST];
    const char *nets[CW_GATE_PINS_MOST]; /* what the circuit joins this pin to; "" for nothing */
} cw_gate_part;

const cw_gate_part *cw_gate_parts(size_t *count);
/* Holes where the strip is cut through. */
const cw_gate_hole *cw_gate_cuts(size_t *count);

/* The first and last hole of the stretch of strip that a hole lies on, between cuts and edges. */
void cw_gate_stretch(cw_gate_hole hole, int *first, int *last);
/* Two holes are joined by strips and wires. */
bool cw_gate_joined(cw_gate_hole a, cw_gate_hole b);

/* CW_RANGE: a lead off the board, on a cut or in a hole that is taken, two pins of one net not joined, or pins of two
 * nets joined; the sentence names them. */
cw_status cw_gate_check(cw_error *err) __attribute__((warn_unused_result));

#endif
