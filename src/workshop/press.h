/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Press fits of round parts (Lame), and pins against the load of a lever. SI units. */
#ifndef CW_WORKSHOP_PRESS_H
#define CW_WORKSHOP_PRESS_H

#include "base/error.h"
#include "workshop/material.h"

/* A pin or shaft pressed into a hub. */
typedef struct {
    double fit_diameter_m; /* common diameter */
    double pin_bore_m;     /* hole along the pin, 0 for a solid one */
    double hub_outer_m;    /* outside diameter of the hub, or twice the least distance from the axis to an edge */
    double interference_m; /* on diameter, >= 0; pin larger than hole */
    double length_m;       /* of engagement */
    double mu;             /* friction while pressing */
    const cw_material *pin, *hub;
} cw_press;

typedef struct {
    double pressure_pa;
    double force_n;             /* to press in: mu p pi d L */
    double torque_n_m;          /* it then holds: force d / 2 */
    double hub_hoop_pa;         /* tension at the hub's bore */
    double pin_hoop_pa;         /* at the pin's bore, or in the solid pin: negative, compression */
    double pin_contact_hoop_pa; /* round the pin where it touches the hub: -p of a solid pin */
    double hub_outer_hoop_pa;
    double hub_equivalent_pa; /* distortion energy at the hub's bore, thin hub in plane stress */
    double hub_reserve;       /* hub yield over that; below 1 the hub yields or splits; INFINITY without interference */
    double pin_reserve;       /* pin yield over the largest stress in the pin */
    double hub_warming_k; /* warming of the hub alone that makes the interference nothing; NaN: expansion not known */
} cw_press_result;

/* CW_RANGE names the size: hole along the pin not smaller than the pin, hub not larger than the pin (1.05 times at
 * least), interference above 2 % of the diameter, no length.
 * p = delta / [d/E_o ((D^2+d^2)/(D^2-d^2) + nu_o) + d/E_i ((d^2+b^2)/(d^2-b^2) - nu_i)], delta on diameter: Shigley,
 * Mechanical Engineering Design, press and shrink fits. Length effects at the hub's ends are left out: real force and
 * pressure near the faces are higher. */
cw_status cw_press_find(const cw_press *press, cw_press_result *result, cw_error *err)
    __attribute__((warn_unused_result));

/* How a pin carries a lever's torque. */
typedef enum {
    CW_PIN_CROSS, /* through a shaft and the hub around it, across the axis: two shear planes */
    CW_PIN_STUD   /* standing in a plate beside the axis, the load at its side: one shear plane and bending */
} cw_pin_kind;

typedef struct {
    cw_pin_kind kind;
    double pin_m;                    /* diameter */
    double torque_n_m;               /* about the axis: hand force times lever length */
    double shaft_m;                  /* cross pin: diameter of the shaft it passes through */
    double hub_wall_m;               /* cross pin: thickness of the hub's wall the pin bears on */
    double radius_m;                 /* stud: distance of the pin from the axis */
    double plate_m;                  /* stud: thickness of the plate it stands in */
    double overhang_m;               /* stud: height of the load above the plate */
    const cw_material *pin, *around; /* around: the softer of hub and shaft, or the plate */
} cw_pin;

typedef struct {
    double force_n; /* on one shear plane */
    double shear_pa, bearing_pa, bending_pa;
    double shear_reserve, bearing_reserve, bending_reserve; /* yield over stress; bending INFINITY for a cross pin */
    double least_reserve;
    const char *weakest; /* "shear of the pin", "bearing in the hub" ... */
    double torque_at_yield_n_m;
} cw_pin_result;

/* Cross pin: tau = T/(D pi d^2/4); in the shaft the pressure rises from the axis outwards, largest 6T/(d D^2); in the
 * hub T/(d w (D + w)). Stud: F = T/r, tau = F/(pi d^2/4), bending 32 F h/(pi d^3), bearing in the plate by F and F h
 * with linear pressure: F/(d t) + 6 F (h + t/2)/(d t^2). Statics; the forms are those of Niemann, Maschinenelemente,
 * from memory, each checked by an integral in tests/workshop/press.c. Bearing is held against the yield of what is
 * around it. */
cw_status cw_pin_find(const cw_pin *pin, cw_pin_result *result, cw_error *err) __attribute__((warn_unused_result));

/* A shoulder spread by staking or peening instead of a press fit. */
typedef struct {
    double pin_m; /* diameter of the neck */
    double lip_m; /* how far the spread rim stands out over the hole, on radius */
    double lip_height_m;
    double mu;            /* under the rim */
    double squeeze_share; /* of the yield stress that stays as clamping under the rim, 0.1 to 0.5 */
    const cw_material *pin;
} cw_stake;

typedef struct {
    double pull_out_n;  /* the rim shears off or is pressed through, whichever is less */
    double holding_n_m; /* friction under the rim; a keyed or square neck holds more */
    double staking_n;   /* static force that spreads the rim: flow stress over its area */
    double neck_m;      /* length to leave standing proud for the rim's volume */
} cw_stake_result;

cw_status cw_stake_find(const cw_stake *stake, cw_stake_result *result, cw_error *err)
    __attribute__((warn_unused_result));

#endif
