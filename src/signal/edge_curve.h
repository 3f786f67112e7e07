/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The two families of edges that edge.c fits, of unit height: value at an instant, and how that changes with the
 * instant, the ramp and the blur. Without branches or calls, so that a loop over many instants runs in vectors. */
#ifndef CW_SIGNAL_EDGE_CURVE_H
#define CW_SIGNAL_EDGE_CURVE_H

#include <math.h>
#include <stdbool.h>

/* A ramp, and what rounds it: the sd of a bell curve, or the time constant of one pole. */
typedef struct {
    double ramp, blur, per_ramp, per_blur; /* the last two: 1 / ramp, 1 / blur */
} cw_edge_form;

typedef struct {
    double e, by_x, by_ramp, by_blur;
} cw_edge_point;

/* e^-y for y from 0 to 40: the 256th part by its series (to 5e-10 there), then squared eight times. */
static inline double cw_decay(double y)
{
    double t = y * (1. / 256);
    double e = 1 - t * (1 - t / 2 * (1 - t / 3 * (1 - t / 4 * (1 - t / 5 * (1 - t / 6)))));
    e *= e;
    e *= e;
    e *= e;
    e *= e;
    e *= e;
    e *= e;
    e *= e;
    return e * e;
}

/* Behind this the sum of the bell curve is 0 or 1 to 1e-7, and so is what one pole has left after as many time
 * constants. */
static const double CW_BELL_ENDS = 5.2, CW_POLE_ENDS = 16;

/* The bell curve at z and its sum up to there, which stays within 1e-7 of erfc for |z| < 8 (tried once in steps of
 * 1e-4; Abramowitz and Stegun, Handbook of Mathematical Functions, 7.1.26, coefficients from memory). One exponential
 * serves both. The tests draw their edges with erfc itself. */
static inline double cw_bell_sum(double z, double *bell)
{
    const double a1 = 0.254829592, a2 = -0.284496736, a3 = 1.421413741, a4 = -1.453152027, a5 = 1.061405429, far = 6;
    double off = fabs(z);
    off = off < far ? off : far;
    double e = cw_decay(0.5 * off * off), t = 1 / (1 + 0.3275911 * 0.7071067811865476 * off);
    double tail = 0.5 * e * t * (a1 + t * (a2 + t * (a3 + t * (a4 + t * a5))));
    *bell = 0.3989422804014327 * e;
    return z > 0 ? 1 - tail : tail;
}

/* A ramp blurred by a bell curve: with G(z) = z Phi(z) + phi(z), e = (G(a) - G(b)) blur / ramp at
 * a, b = (x +- ramp/2) / blur. x = 0 is its middle. */
static inline cw_edge_point cw_edge_symmetric(double x, const cw_edge_form *f)
{
    double a = (x + f->ramp / 2) * f->per_blur, b = (x - f->ramp / 2) * f->per_blur;
    double phi_a, phi_b, sum_a = cw_bell_sum(a, &phi_a), sum_b = cw_bell_sum(b, &phi_b);
    double e = (a * sum_a + phi_a - b * sum_b - phi_b) * f->blur * f->per_ramp;
    return (cw_edge_point){
        .e = e,
        .by_x = (sum_a - sum_b) * f->per_ramp,
        .by_ramp = ((sum_a + sum_b) / 2 - e) * f->per_ramp,
        .by_blur = (phi_a - phi_b) * f->per_ramp,
    };
}

/* A ramp through one pole. x = 0 is the middle of the ramp before the pole. `left`, `end`: what start and end of the
 * ramp have not yet caught up with. */
static inline cw_edge_point cw_edge_lagging(double x, const cw_edge_form *f)
{
    const double far = 40;
    double u = x + f->ramp / 2, v = u - f->ramp;
    u = u > 0 ? u : 0;
    v = v > 0 ? v : 0;
    double since_start = u * f->per_blur, since_end = v * f->per_blur;
    double left = cw_decay(since_start < far ? since_start : far), end = cw_decay(since_end < far ? since_end : far);
    double by_x = (end - left) * f->per_ramp, e = (u - v) * f->per_ramp - f->blur * by_x;
    return (cw_edge_point){
        .e = e,
        .by_x = by_x,
        .by_ramp = by_x / 2 + (1 - e - end) * f->per_ramp,
        .by_blur = (left * (1 + since_start) - end * (1 + since_end)) * f->per_ramp,
    };
}

#endif
