/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Helical springs of round wire: rate, stress, and what wire replaces a tired one. SI units. */
#ifndef CW_WORKSHOP_SPRING_H
#define CW_WORKSHOP_SPRING_H

#include <stddef.h>

#include "base/error.h"

/* Tensile strength of wire up to a diameter: strength_mpa (d in mm)^-exponent. */
typedef struct {
    double most_m, strength_mpa, exponent;
} cw_wire_strength;

/* Moduli of wire up to a diameter. */
typedef struct {
    double most_m, elastic_pa, shear_pa;
} cw_wire_moduli;

enum { CW_WIRE_PIECES = 4 };

/* Spring wire; its pieces run from least_m on, finest first, and end with the first of most_m 0. */
typedef struct {
    const char *key, *label;
    double least_m;
    cw_wire_strength strength[CW_WIRE_PIECES];
    cw_wire_moduli moduli[CW_WIRE_PIECES];
    double shear_share;   /* allowable torsional stress over tensile, static */
    double bending_share; /* allowable bending stress over tensile, static */
    const char *source;
} cw_spring_wire;

const cw_spring_wire *cw_spring_wires(size_t *count);
const cw_spring_wire *cw_spring_wire_find(const char *key); /* NULL when there is none */
/* NaN for a diameter far outside the wire's range (half the least to twice the most); carried on by the formula
 * between. */
double cw_spring_tensile_pa(const cw_spring_wire *wire, double diameter_m);
double cw_spring_most_m(const cw_spring_wire *wire); /* the thickest the formula stands for */
double cw_spring_elastic_pa(const cw_spring_wire *wire, double diameter_m);
double cw_spring_shear_pa(const cw_spring_wire *wire, double diameter_m);

typedef enum { CW_SPRING_COMPRESSION, CW_SPRING_EXTENSION, CW_SPRING_TORSION } cw_spring_kind;

typedef struct {
    cw_spring_kind kind;
    double wire_m, mean_coil_m; /* mean coil diameter = outside - wire */
    double active_coils;        /* torsion: body turns */
    double total_coils;         /* compression: with the dead end coils */
    double solid_coils;         /* compression: wires in the solid length, total_coils where the ends are ground flat,
                                   one more where they are not; 0: total_coils */
    double free_length_m;       /* compression; NaN elsewhere */
    double leg1_m, leg2_m;      /* torsion: lengths of the straight legs to where they bear; 0 elsewhere */
    double initial_tension_n;   /* extension: force that just opens it; 0 elsewhere */
    double hook_radius_m;       /* extension: mean radius of the hook's bend; NaN: not looked at */
    double load_n;              /* compression, extension: force it works at */
    double torque_n_m;          /* torsion: moment it works at */
    const cw_spring_wire *wire;
    double own_tensile_pa, own_elastic_pa, own_shear_pa; /* figures of this very wire; 0: those of its kind */
} cw_spring;

typedef struct {
    double index;                         /* mean coil over wire */
    double wahl, bergstraesser;           /* Kw; KB = (4C + 2)/(4C - 3) */
    double shear_factor, inner_factor;    /* direct shear Ks = 1 + 0.5/C; Ki of torsion springs */
    double rate_n_m;                      /* N/m; NaN for torsion springs */
    double rate_n_m_rad;                  /* N m/rad, of a torsion spring with its legs; NaN otherwise */
    double body_turn_rad, total_turn_rad; /* torsion: wind-up of the body, and with the legs */
    double wound_mean_m;                  /* torsion: mean coil diameter when wound */
    double deflection_m;
    double stress_pa;                       /* Wahl-corrected shear, or Ki bending for torsion springs */
    double allowed_pa, tensile_pa, reserve; /* allowed over stress */
    double hook_stress_pa;                  /* extension hook, bending with the inside of the bend; NaN elsewhere */
    double solid_m, solid_force_n, solid_stress_pa; /* compression */
    double outer_m, inner_m;
} cw_spring_result;

/* CW_RANGE names it: wire 0.03 to 20 mm, index (mean coil over wire) 2.5 to 40, coils 0.5 to 500, loads below 0.
 * k = d^4 G/(8 D^3 N); tau = Kw 8 F D/(pi d^3), Kw = (4C-1)/(4C-4) + 0.615/C; torsion: k' = d^4 E/(10.8 D N) per turn
 * with the legs as (L1+L2)/(3 pi D) turns; sigma = Ki 32 M/(pi d^3), Ki = (4C^2-C-1)/(4C(C-1)): Shigley, mechanical
 * springs. */
cw_status cw_spring_find(const cw_spring *spring, cw_spring_result *result, cw_error *err)
    __attribute__((warn_unused_result));

/* A replacement made of stock wire for a compression or extension spring. */
typedef struct {
    double wire_m, mean_coil_m, active_coils;
    double rate_n_m, stress_pa, reserve, solid_m, index;
    double misfit; /* 0 best: what the ranking goes by */
} cw_spring_choice;

typedef struct {
    cw_spring_kind kind;  /* compression or extension */
    double rate_n_m;      /* wanted */
    double load_n;        /* largest working force */
    double outer_most_m;  /* must pass in this hole */
    double inner_least_m; /* must pass over this rod; 0 for none */
    double length_most_m; /* compression: solid at the shortest space, extension: body closed */
    const cw_spring_wire *wire;
} cw_spring_need;

/* Goes through the stock diameters; for each takes the widest coil that fits and the coils that give the rate; keeps
 * those that are strong enough and fit the length. choices: best first, `most` at most; *count 0 is no error: nothing
 * fits. */
cw_status cw_spring_replace(const cw_spring_need *need, cw_spring_choice *choices, size_t most, size_t *count,
                            cw_error *err) __attribute__((warn_unused_result));

#endif
