/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Meter batteries: what a substitute makes the meter read, and what a diode in series does about it. SI units. */
#ifndef CW_EXPOSURE_CELL_H
#define CW_EXPOSURE_CELL_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"

/* Cells by IEC designation. */
typedef struct {
    const char *key, *label;
    double voltage_v, u_voltage_v; /* in use; u covers fresh to nearly spent */
    double end_v;                  /* when it is spent */
    double diameter_m, height_m;
    double capacity_c; /* coulomb; 1 mAh = 3.6 C; of the order */
    const char *notes, *source;
} cw_cell;

const cw_cell *cw_cells(size_t *count);
const cw_cell *cw_cell_find(const char *key); /* NULL when there is none */

typedef enum {
    CW_METER_BRIDGE, /* needle nulls, or both sides of a comparator see the same cell: reads the same with any cell */
    CW_METER_SERIES  /* cell, photoresistor and needle in a row: the needle follows the voltage */
} cw_meter_circuit;

typedef struct {
    cw_meter_circuit circuit;
    cw_quantity made_for_v; /* 1.35 for mercury */
    cw_quantity cell_v;     /* of the substitute */
    cw_quantity gamma;      /* of the photoresistor: resistance falls as light^-gamma; 0.6 to 1, 0.8 is usual */
    double fixed_share;     /* needle and fixed resistance over the whole at the level looked at, 0 to 0.6 */
} cw_cell_swap;

/* What the film gets: exposure error in EV, + = more light. A higher voltage makes a series meter see more light than
 * there is, so the film gets less. I = V/(R_fixed + R_photo); the needle's mark is right when I is as on the scale made
 * with made_for_v: R_shown = (V0/V)(R_fixed + R_photo) - R_fixed; error = log2(R_shown/R_photo)/gamma. Own derivation
 * from Ohm's law. CW_RANGE: voltages 0.5 to 12 V, gamma 0.3 to 1.5, or a swap so large that the needle leaves its
 * scale. */
cw_status cw_cell_swap_error(const cw_cell_swap *swap, cw_quantity *error_ev, cw_error *err)
    __attribute__((warn_unused_result));

/* A diode by the law of Shockley: V = n (kT/q) ln(1 + I/Is). */
typedef struct {
    const char *key, *label;
    double saturation_a; /* Is at 25 degrees C */
    double ideality;     /* n */
    const char *source;
} cw_diode;

const cw_diode *cw_diodes(size_t *count);
const cw_diode *cw_diode_find(const char *key); /* NULL when there is none */

double cw_diode_drop_v(double saturation_a, double ideality, double current_a, double temperature_k);

/* The diode's constant from one measured drop, which is what a person can do: Is = I/(exp(V/(n kT/q)) - 1). */
double cw_diode_saturation_a(double drop_v, double current_a, double ideality, double temperature_k);

typedef struct {
    double current_a;
    double drop_v;
    double meter_v;    /* cell less diode */
    double error_ev;   /* exposure error with cell and diode, + = more light */
    double without_ev; /* without the diode */
} cw_diode_point;

/* Along the meter's currents: n logarithmic steps between the two, both ends included. points: room for n >= 2. */
cw_status cw_diode_along(const cw_cell_swap *swap, double saturation_a, double ideality, double temperature_k,
                         double least_a, double most_a, size_t n, cw_diode_point *points, cw_error *err)
    __attribute__((warn_unused_result));

#endif
