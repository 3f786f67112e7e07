/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Focusing threads of several starts: on which one is it, and what should the scale say. */
#ifndef CW_OPTICS_HELICOID_H
#define CW_OPTICS_HELICOID_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"

/* lead: axial travel in one turn; pitch: from one thread to its neighbour; lead = starts x pitch. Lengths in mm. */
typedef struct {
    double lead_mm;
    size_t starts; /* 1 to 64 */
    bool left_hand;
} cw_helicoid;

typedef struct {
    double pitch_mm;
    double step_deg;     /* between starts: 360/starts */
    int starts_off;      /* positive: it sits that many starts too far out and must go deeper */
    cw_quantity left_mm; /* infinity error that remains on the right start; the stop, shims or scale take it up */
    double chance_wrong; /* that the neighbouring start is meant, from the uncertainty */
} cw_helicoid_start;

/* error_mm: how far the lens stands out too far with its scale at infinity (positive: too far out, it focuses nearer
 * than the scale says; negative: beyond infinity), with its uncertainty. Another start changes the axial place at the
 * same angle by one pitch. CW_RANGE for a lead that is not above zero or starts outside 1 to 64; an error larger than
 * half the whole lead is refused: more than half of the starts away nothing can be said from one reading. */
cw_status cw_helicoid_find_start(const cw_helicoid *thread, cw_quantity error_mm, cw_helicoid_start *out, cw_error *err)
    __attribute__((warn_unused_result));

/* Axial travel of a turn. */
double cw_helicoid_travel_mm(const cw_helicoid *thread, double angle_deg);
double cw_helicoid_angle_deg(const cw_helicoid *thread, double travel_mm);

/* How the parts must stand when the threads take hold, against now, to come out starts_off starts deeper; a sentence.
 */
void cw_helicoid_advice(const cw_helicoid *thread, const cw_helicoid_start *found, char *out, size_t size);

#endif
