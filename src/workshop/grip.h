/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tools that hold by friction: a split collar round an edge, a ring of rubber pressed on a face, a clamp block of
 * board. SI units. */
#ifndef CW_WORKSHOP_GRIP_H
#define CW_WORKSHOP_GRIP_H

#include <stddef.h>

#include "base/error.h"
#include "workshop/material.h"

/* Torque of a ring of rubber pressed on a face by an axial force. Shigley, disc clutches:
 * even pressure (new, soft rubber) 2/3 mu F (R^3 - r^3)/(R^2 - r^2); even wear mu F (R + r)/2. */
double cw_ring_torque_even_pressure_n_m(double mu, double force_n, double inner_m, double outer_m); /* radii */
double cw_ring_torque_even_wear_n_m(double mu, double force_n, double inner_m, double outer_m);

typedef struct {
    double inner_m, outer_m; /* diameters of the rubber ring */
    double rubber_m;         /* thickness of the sheet */
    double squash;           /* how far it is pressed together, 0.05 to 0.5 of its thickness */
    double glass_m;          /* diameter of glass that must stay free of it; 0 for none */
    double glass_rise_m;     /* how high the glass stands over the face the ring presses on */
    double grip_m;           /* diameter of the holder, where the hand turns it */
    double push_n;           /* what the hand presses */
    double mu;
} cw_friction_ring;

typedef struct {
    double torque_n_m;      /* before the rubber slips, even pressure */
    double torque_worn_n_m; /* even wear, a little less: the lower bound */
    double pressure_pa;
    double push_per_n_m;       /* N of push for a torque of 1 N m, by the lower bound */
    double hand_force_per_n_m; /* at the holder's rim */
    double recess_m;           /* depth the holder must be hollowed over the glass */
    double bore_m;             /* of that hollow */
} cw_friction_ring_result;

/* CW_RANGE: ring without width, ring that lies on the glass, a push beyond a hand. */
cw_status cw_friction_ring_find(const cw_friction_ring *ring, cw_friction_ring_result *result, cw_error *err)
    __attribute__((warn_unused_result));

/* A split collar that grips the edge of a round hatch or cap. */
typedef struct {
    double bore_m;    /* diameter it grips */
    double edge_m;    /* height of the edge it can hold */
    double wall_m;    /* wall of the gripped cap; 0: solid, never crushed */
    double collar_m;  /* radial thickness of the collar */
    double gap_m;     /* width of the split, open */
    double closing_n; /* force across the split */
    double lever_m;   /* radius at which the hand turns it */
    double mu;
    const cw_material *collar, *cap;
} cw_collar;

typedef struct {
    double torque_n_m;       /* pressure even all round: 2 pi mu P r */
    double torque_least_n_m; /* two stiff halves touching at their crowns only: 4 mu P r */
    double pressure_pa;
    double cap_hoop_pa, cap_reserve; /* compression of a thin-walled cap; reserve INFINITY when solid */
    double closing_most_n;           /* that its wall stands, INFINITY when solid */
    double hand_force_per_n_m;
    double closes_m; /* how much smaller the bore becomes when the gap closes */
    double bend_n;   /* force that only bends the collar round, by the play given up; wasted */
} cw_collar_result;

/* CW_RANGE names the size. play_m: by how much the open bore is larger than the cap, on diameter; 0 to gap / pi.
 * The bending loss: a ring cut once, closed by a force P across the cut, moves by 3 pi P R^3/(E I) (Roark, curved
 * beams). */
cw_status cw_collar_find(const cw_collar *collar, double play_m, cw_collar_result *result, cw_error *err)
    __attribute__((warn_unused_result));

/* A cutout in a clamp block, seen along the bore: it starts at the bore and runs straight outwards. */
typedef struct {
    double at_rad;  /* direction from the bore's middle; 0 = along the block's length to the right, counter-clockwise */
    double width_m; /* across that direction */
    double depth_m; /* outwards from the bore's edge */
} cw_cutout;

enum { CW_CUTOUTS_MOST = 8 };

/* A block of board with a bore, sawn in two along its length through the bore's middle and closed by two screws. */
typedef struct {
    double length_m, width_m, thickness_m; /* along the saw cut, across it, along the bore */
    double bore_m;
    double lining_m;   /* thickness of a rubber or leather lining; 0 for none */
    double held_m;     /* diameter of what it holds = bore - 2 lining */
    double kerf_m;     /* of the saw */
    double screw_m;    /* diameter of the screw holes */
    double screw_at_m; /* distance of each screw from the bore's middle */
    double screw_n;    /* force of each screw */
    double mu;
    const cw_cutout *cutouts;
    size_t cutout_count;
    const cw_material *board;
} cw_clamp;

typedef struct {
    double held_m;
    double torque_n_m;       /* even pressure over what is left of the bore */
    double torque_least_n_m; /* touching at the crowns only: 4 mu P r, P on each side */
    double contact_rad;      /* arc that grips, of 2 pi */
    double pressure_pa;
    double least_wall_m;                /* least board left between a cutout or the bore and an edge or a screw hole */
    double bending_pa, bending_reserve; /* of a half between its screws, at the bore, where it is thinnest */
    double screw_most_n;                /* at which the half bends by yield */
} cw_clamp_result;

/* CW_RANGE: "the cutout at 90 degrees, 30 mm deep, cuts the clamp in two; 12.5 mm leaves 4 mm of board", screw holes
 * that meet the bore or the edge, no contact left. */
cw_status cw_clamp_find(const cw_clamp *clamp, cw_clamp_result *result, cw_error *err)
    __attribute__((warn_unused_result));

/* Wind-up of what gives between hand and ring, rad per N m:
 * a rubber ring of that height, bonded or held by friction on both faces, in torsion: t/(G pi/2 (R^4 - r^4)), radii;
 * a lining sheared round a barrel: t/(G r^3 b arc), r the barrel's radius, b the height held, arc the part that grips;
 * a lever built in at the collar: L/(3 E I), I = pi d^4/64 for a round one. */
double cw_rubber_ring_windup_rad_n_m(double inner_m, double outer_m, double height_m, double shear_modulus_pa);
double cw_lining_windup_rad_n_m(double radius_m, double height_m, double arc_rad, double lining_m,
                                double shear_modulus_pa);
double cw_lever_windup_rad_n_m(double length_m, double diameter_m, double elastic_pa);

/* Torque at which a round lever bends for good where it is built in: yield pi d^3/32. */
double cw_lever_yield_n_m(double diameter_m, double yield_pa);

/* Force of a screw tightened by a torque: P = T / (K d), K about 0.2 (Shigley, bolt torque, from memory). */
double cw_screw_force_n(double torque_n_m, double diameter_m, double k);

#endif
