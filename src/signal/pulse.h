/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Terms of IEEE Std 181 for one positive pulse: state levels by histogram, reference level instants, transition
 * durations, pulse duration, overshoot. */
#ifndef CW_SIGNAL_PULSE_H
#define CW_SIGNAL_PULSE_H

#include <stddef.h>

#include "base/error.h"

typedef struct {
    double low, high;
} cw_states;

/* State levels: the modes of the lower and of the upper half of the amplitude histogram (IEEE Std 181-2011, histogram
 * method; from memory), each refined to the mean of the values in the mode's bin and its two neighbours.
 *
 * n, values   n >= 2 finite values, the caller's
 * weights     how much time each stands for, above 0; NULL: all the same
 * CW_RANGE    fewer than 2 values, or all the same */
cw_status cw_state_levels(size_t n, const double *values, const double *weights, cw_states *states, cw_error *err)
    __attribute__((warn_unused_result));

typedef struct {
    double rise10_s, rise50_s, rise90_s; /* reference level instants of the first transition */
    double fall90_s, fall50_s, fall10_s; /* and of the last */
    double rise_s, fall_s;               /* transition durations, 10 to 90 % */
    double duration_s;                   /* pulse duration, mid-reference to mid-reference */
    double flat_s;                       /* from 90 % to 90 % */
    double overshoot, undershoot; /* beyond the states over their difference: above high between the 90 % instants;
                                     below low before and after the pulse */
} cw_pulse_terms;

/* The pulse that passes the middle of the states: its first rise to its last fall. Instants by straight interpolation.
 * CW_RANGE when it does not rise from below 10 % and fall below 10 % again within the values. */
cw_status cw_pulse_measure(size_t n, const double *at_s, const double *values, const cw_states *states,
                           cw_pulse_terms *terms, cw_error *err) __attribute__((warn_unused_result));

#endif
