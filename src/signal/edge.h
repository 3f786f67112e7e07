/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The instant of one transition, as finely as the noise allows: a smooth edge is fitted to every sample of it, and its
 * mid-reference (50 %) instant is taken from the curve (terms of IEEE Std 181).
 *
 * Two families of edges, both of any steepness, the better one is kept:
 *   symmetric   a straight ramp blurred by a bell curve: a curtain edge crossing a beam
 *   lagging     a straight ramp through one pole: the same seen by a slow detector
 * The least variance any method can reach for a known edge s(t) in white noise sigma at f_s samples a second is
 * sigma^2 / (f_s * integral s'^2 dt) (Kay, Fundamentals of Statistical Signal Processing I, chapter 3). */
#ifndef CW_SIGNAL_EDGE_H
#define CW_SIGNAL_EDGE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"

typedef struct {
    size_t count;         /* bins in the order of time */
    const double *at_s;   /* middle of each */
    const double *frames; /* samples in each */
    const double *value;
    double interval_s;  /* of the samples */
    double noise;       /* sd of a single sample, above 0 */
    double colour;      /* how many times the noise of a mean exceeds noise / sqrt(n); 1 = white */
    cw_quantity before; /* level known from elsewhere; u = INFINITY: not known, `value` is then only a start */
    cw_quantity after;
    double near_s;  /* where the crossing is about */
    double about_s; /* its 10 to 90 % duration, about; above 0 */
} cw_edge_data;

typedef struct {
    cw_quantity mid_s;         /* 50 % instant */
    double t10_s, t90_s;       /* instants of 10 and 90 % of the way */
    double duration_s;         /* t90 - t10 */
    cw_quantity before, after; /* levels of the fitted edge */
    bool lagging;              /* the second family fitted better */
    double misfit;             /* chi-squared over its degrees of freedom; about 1 when the family describes the edge */
} cw_edge_fit;

/* CW_RANGE when there are fewer than 4 bins, or the samples hold no edge. */
cw_status cw_edge_find(const cw_edge_data *data, cw_edge_fit *fit, cw_error *err) __attribute__((warn_unused_result));

#endif
