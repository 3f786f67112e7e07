/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Seized threads: how much torque it may take, what warming gains, and what the warmth must not touch. SI units. */
#ifndef CW_WORKSHOP_SEIZED_H
#define CW_WORKSHOP_SEIZED_H

#include <stddef.h>

#include "base/error.h"
#include "workshop/material.h"

/* Torque of a single-start thread under an axial force: to tighten and to loosen. Shigley, power screws:
 * T = F d2/2 (l +- pi f d2 sec a)/(pi d2 -+ f l sec a) with f the friction and a half the flank angle; plus the seat,
 * f F D/2. Loosening may come out negative for a steep, slippery thread: it comes undone by itself. */
double cw_thread_tighten_n_m(double force_n, double pitch_diameter_m, double pitch_m, double flank_angle_rad, double mu,
                             double seat_diameter_m);
double cw_thread_loosen_n_m(double force_n, double pitch_diameter_m, double pitch_m, double flank_angle_rad, double mu,
                            double seat_diameter_m);

/* What holds the thread beside friction. */
typedef struct {
    const char *key, *label;
    double shear_least_pa, shear_most_pa; /* over the engaged thread */
    const char *first;                    /* what to try first against it */
    const char *source;
} cw_bond;

const cw_bond *cw_bonds(size_t *count);
const cw_bond *cw_bond_find(const char *key); /* NULL when there is none */

typedef struct {
    double pitch_diameter_m, pitch_m, flank_angle_rad;
    double engaged_m;         /* axial length of engaged thread */
    double seat_diameter_m;   /* mean diameter of the face it is tightened against; 0 for none */
    double tightened_n_m;     /* how tight it was made; 0 for a ring that only ran home */
    double mu_assembly;       /* then */
    double mu_least, mu_most; /* now */
    const cw_bond *bond;
} cw_seized;

typedef struct {
    double axial_n; /* force the tightening left in it */
    double friction_least_n_m, friction_most_n_m;
    double bond_least_n_m, bond_most_n_m;
    double least_n_m, most_n_m; /* break-loose range */
} cw_seized_result;

cw_status cw_seized_find(const cw_seized *seized, cw_seized_result *result, cw_error *err)
    __attribute__((warn_unused_result));

/* Warming. The outer part carries the female thread, the inner one the male. */
typedef struct {
    const cw_material *outer, *inner;
    double diameter_m;
    double outer_rise_k, inner_rise_k; /* above the room; the same after a soak, the outer more after a quick touch */
} cw_warming;

typedef struct {
    double gain_m;       /* clearance gained on the diameter; negative: it grips tighter */
    double gain_per_k_m; /* with both warmed alike */
    double quick_gain_m; /* with the outer part alone warmed by outer_rise_k */
} cw_warming_result;

/* gain = d (a_o dT_o - a_i dT_i). CW_RANGE: a material whose expansion is not known, rises outside -80 to 200 K. */
cw_status cw_warming_find(const cw_warming *warming, cw_warming_result *result, cw_error *err)
    __attribute__((warn_unused_result));

/* What the warmth may reach. */
typedef struct {
    const char *key, *label;
    double most_k; /* temperature, kelvin */
    const char *why, *source;
} cw_heat_limit;

const cw_heat_limit *cw_heat_limits(size_t *count); /* lowest temperature first */

#endif
