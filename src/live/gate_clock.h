/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The gate's clock against the computer's: beats stamped by the gate, arrival times by the host. Least squares of
 * arrival on gate time; slope = host seconds per gate second. u = s / (T sqrt(N/12)) with s the scatter of the
 * arrivals, N beats evenly in T (variance of a slope over evenly spaced points, sum of squares N T^2 / 12). Running
 * sums: constant memory. */
#ifndef CW_LIVE_GATE_CLOCK_H
#define CW_LIVE_GATE_CLOCK_H

#include <stddef.h>

#include "base/quantity.h"

typedef struct {
    size_t count;
    double mean_x, mean_y, sxx, sxy, syy; /* about the means, updated as beats come (Welford) */
    double first_x, last_x;
} cw_gate_clock;

void cw_gate_clock_beat(cw_gate_clock *clock, double gate_s, double host_s);

/* Host seconds per nominal gate second; value 1 and u 0.003 (a ceramic resonator, 0.5 % rectangular) until eight beats
 * over at least five seconds are there. The host's own clock is taken as good to 50 ppm and that is in u. */
cw_quantity cw_gate_clock_rate(const cw_gate_clock *clock);

#endif
