/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the mains puts into a recording: a sine of known frequency by least squares. 50 or 60 Hz as hum in the wires,
 * 100 or 120 Hz as flicker of a lamp. */
#ifndef CW_SIGNAL_HUM_H
#define CW_SIGNAL_HUM_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

typedef struct {
    double hz;           /* 0: none found */
    double cosine, sine; /* value = cosine cos(2 pi hz t) + sine sin(2 pi hz t), t from the start of the recording */
    double amplitude;    /* 0 for none */
    double u_amplitude;
    double residual_sd; /* of the values about the fit with it, per unit weight */
    double plain_sd;    /* about their straight line alone, per unit weight */
} cw_hum;

/* Tries each frequency on top of a straight line and keeps the one that explains most, if its amplitude exceeds five
 * times its own uncertainty; otherwise hz is 0.
 *
 * n, at_s, values, weights   weighted values; a value's variance is taken as 1 / weight
 * CW_RANGE                   fewer than 8 values, or they span less than half a period of the slowest frequency */
cw_status cw_hum_find(size_t n, const double *at_s, const double *values, const double *weights, size_t tried,
                      const double *hz, cw_hum *hum, cw_error *err) __attribute__((warn_unused_result));

/* Takes its sine out of n values; their instants are in order. */
void cw_hum_subtract(const cw_hum *hum, size_t n, const double *at_s, double *values);

#endif
