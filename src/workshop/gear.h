/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small gears: which module or pitch, how a pair meshes, what a worn or missing tooth does. SI units; modules in
 * metres. External spur gears, involute. */
#ifndef CW_WORKSHOP_GEAR_H
#define CW_WORKSHOP_GEAR_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"

/* A standard size the gear could be, best first. */
typedef struct {
    bool is_diametral;    /* .pitch in teeth per inch; otherwise a module */
    double module_m;      /* 0.0254 / pitch for diametral ones */
    double pitch;         /* per inch; NaN for modules */
    double outside_m;     /* the gear would have with standard teeth */
    double deviation_m;   /* measured - that */
    double probability;   /* over the table, equal beforehand, plus "none of these" */
    double profile_shift; /* x that would make the measured diameter exactly this module */
} cw_gear_size;

enum { CW_GEAR_SIZES_MOST = 6 };

typedef struct {
    cw_quantity module_m; /* outside / (z + 2) */
    cw_gear_size sizes[CW_GEAR_SIZES_MOST];
    size_t size_count;
    double none_probability; /* a profile shift, stub teeth or clock teeth (not an involute) */
} cw_gear_identity;

/* outside_m   measured over the tips, with its standard uncertainty > 0; 0.5 mm to 2 m
 * teeth       6 to 400
 * Outside diameter = m (z + 2): ISO 53/54; modules of ISO 54 series I and II from 0.1, diametral pitches in use.
 * Tips of real gears are turned 0 to 0.04 m small (common practice, no source): the measured diameter is compared with
 * that band. */
cw_status cw_gear_identify(cw_quantity outside_m, int teeth, cw_gear_identity *identity, cw_error *err)
    __attribute__((warn_unused_result));

/* A pair. */
typedef struct {
    int teeth1, teeth2;
    double module_m;
    double pressure_angle_rad;       /* of the cutter: 20 degrees usual, 14.5 in old work */
    double shift1, shift2;           /* profile shift coefficients x; 0 standard */
    double centre_m;                 /* centre distance in the camera; NaN: the one that meshes without backlash */
    double addendum;                 /* tip height over m, 1 usual */
    double clearance;                /* root clearance over m: 0.25 usual; 0.157 in old 14.5 degree work */
    double tip_wear1_m, tip_wear2_m; /* worn off each tip, on radius */
    int missing;                     /* neighbouring teeth missing in gear 1 */
} cw_gear_pair;

typedef struct {
    double pitch_diameter1_m, pitch_diameter2_m, base_diameter1_m, base_diameter2_m;
    double tip_diameter1_m, tip_diameter2_m, root_diameter1_m, root_diameter2_m;
    double working_angle_rad, working_diameter1_m, working_diameter2_m;
    double centre_m, free_centre_m; /* used; without backlash */
    double backlash_m;              /* along the working pitch circle; negative: the gears bind */
    double ratio;                   /* teeth2 / teeth1 */
    double contact_ratio;           /* with the wear */
    double fresh_contact_ratio;
    double lost_turn_rad; /* of gear 1, without drive at the gap of the missing teeth; 0 when none is missing */
    double circular_pitch_m, base_pitch_m, whole_depth_m;
    bool drives_smoothly; /* contact ratio >= 1 and no tooth missing */
} cw_gear_mesh;

/* CW_RANGE: teeth 6 to 400, module 0.05 to 50 mm, angle 10 to 30 degrees, a centre distance at which the teeth do not
 * reach each other or the base circles overlap, more wear than tooth.
 * Working angle from the centre distance or from inv(a_w) = inv(a) + 2 (x1+x2)/(z1+z2) tan(a); tips with the usual
 * addendum shortening y: the handbook worked example at bolsover.com, "Profile shifted external spur gears". */
cw_status cw_gear_mesh_find(const cw_gear_pair *pair, cw_gear_mesh *mesh, cw_error *err)
    __attribute__((warn_unused_result));

#endif
