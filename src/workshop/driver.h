/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Screwdriver tips against slots and cross recesses. SI units. */
#ifndef CW_WORKSHOP_DRIVER_H
#define CW_WORKSHOP_DRIVER_H

#include <stddef.h>

#include "base/error.h"
#include "workshop/material.h"

typedef struct {
    double slot_m;  /* width of the slot */
    double depth_m; /* of the slot */
    double head_m;  /* diameter of the head, or length of the slot */
    double core_m;  /* minor diameter of the screw's thread, for its own strength; NaN: not looked at */
    double tip_m;   /* thickness of the tip at its end */
    double tip_width_m;
    double taper_rad; /* included angle of the tip's faces; 0 for a hollow-ground, parallel tip */
    double mu;        /* tip on slot */
    const cw_material *tip, *screw;
} cw_driver;

typedef struct {
    double best_tip_m; /* thickness to hone to */
    double best_width_m;
    double taper_most_rad;   /* the included angle at which the end and the slot's mouth touch together */
    double play_m;           /* slot less the tip's thickness where it seats */
    double tilt_rad;         /* the tip turns by this before both edges bear */
    double tip_torque_n_m;   /* twists the tip */
    double slot_torque_n_m;  /* crushes the slot's edges */
    double screw_torque_n_m; /* twists the screw's core off; NaN without a core */
    double press_per_torque; /* N of push for each N m so that the taper does not climb out; 0 when friction holds it */
} cw_driver_result;

/* CW_RANGE: a tip thicker than its slot ("... hone to ..."), a tip wider than the head by more than 2 %, absurd sizes.
 * Tip: torsion of the rectangle, exact series. Slot: force couple at two thirds of the tip's width on its outer halves
 * (linear pressure), edges at the screw's yield. Wedge: press = 2 F tan(taper/2 - friction angle). Own derivation. */
cw_status cw_driver_find(const cw_driver *driver, cw_driver_result *result, cw_error *err)
    __attribute__((warn_unused_result));

/* Which cross recess belongs to a thread. */
typedef struct {
    const char *thread;                     /* "M1.7", "#2" */
    int number;                             /* recess and driver number */
    double head_m, head_height_m, recess_m; /* pan head of JIS B 1012 type S; NaN where not given */
    const char *source;
} cw_recess;

const cw_recess *cw_recesses(size_t *count);
const cw_recess *cw_recess_find(const char *thread); /* NULL when there is none */

#endif
