/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Wrenches for slotted and drilled rings: what torque they pass before something gives, and how far they wind up.
 * SI units. All by beam theory, from the energy stored (Castigliano); the tests integrate the same beams another way.
 */
#ifndef CW_WORKSHOP_WRENCH_H
#define CW_WORKSHOP_WRENCH_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "workshop/material.h"

/* One way in which it ends. */
typedef struct {
    const char *what;  /* "the tip yields where it is filed", "the ring's slots are crushed" ... */
    double torque_n_m; /* at which it happens, by the material's yield stress */
    double u_n_m; /* from how well that stress is known, and a tenth for filing and for beam theory on short beams */
} cw_wrench_limit;

enum { CW_WRENCH_LIMITS_MOST = 8 };

typedef struct {
    cw_wrench_limit limits[CW_WRENCH_LIMITS_MOST]; /* the lowest first */
    size_t limit_count;
    double windup_rad_n_m;     /* hand against ring, per N m */
    double u_windup_rad_n_m;   /* from the modulus, and a tenth as above (common practice, no source) */
    double tip_force_per_n_m;  /* on each slot or hole */
    double hand_force_per_n_m; /* each hand on a bar, or the grip's friction force on a handle */
} cw_wrench_result;

/* A flat plate standing on edge across the ring, filed to two blades. Seen from the side:
 *
 *      +---------------------------------------+   ^ body height
 *      |              bridge                   |   |
 *      +----+   +---------------------+   +----+   v  (cutout between the blades, its roof may rise into the body)
 *           |   |      cutout         |   |        ^ reach
 *           +-+-+                     +-+-+        v
 *             tip (filed thinner over tip_length)
 */
typedef struct {
    double span_m;       /* between the middles of the slots */
    double slot_width_m; /* the narrow size, across the turning direction */
    double slot_depth_m;
    double tip_m;        /* filed thickness of the tip */
    double tip_width_m;  /* radial, along the slot */
    double tip_length_m; /* filed length, >= slot depth */
    double reach_m;      /* from the body's lower edge to the tip's end */
    double plate_m;      /* thickness of the plate */
    double body_height_m;
    double length_m;        /* over all; the hands push at its ends */
    double barrel_m;        /* diameter of what stands up inside the ring; 0 for nothing */
    double barrel_height_m; /* above the slots' floor */
    double well_m;          /* inside diameter of the well the ring lies in; 0 for none */
    double well_depth_m;    /* of the slots' floor below the well's rim */
    double clearance_m;     /* to be kept all round */
    const cw_material *steel, *ring;
} cw_flat_wrench;

/* Where the cutout ends, for the drawing. */
typedef struct {
    double inside_m;   /* width of the cutout between the blades */
    double roof_m;     /* its height above the tips' ends */
    double bridge_m;   /* what is left of the body above it */
    double tip_play_m; /* slot less tip */
    double engaged_m;  /* of the tip in the slot */
} cw_flat_shape;

/* CW_RANGE names the size and what would work: a tip thicker than its slot, a barrel that does not pass between the
 * blades, blades that do not go into the well, a reach shorter than the well, a cutout that eats the body.
 *
 * Force on each tip F = T / span, taken at half the engaged depth. Tip and leg bend as cantilevers across the plate;
 * the bridge bends by T x (1/span - 1/length) and is twisted by F (height of its middle above the force); the arms
 * outside bend. Bridge stress: distortion energy of both. Slot wall: F / (tip width * engaged depth) against the ring's
 * yield. */
cw_status cw_flat_wrench_find(const cw_flat_wrench *wrench, cw_flat_shape *shape, cw_wrench_result *result,
                              cw_error *err) __attribute__((warn_unused_result));

/* A driver with two pins, filed from an old screwdriver: the blade is notched so that two prongs are left. */
typedef struct {
    double span_m; /* between the middles of the holes */
    double hole_m, hole_depth_m;
    double pin_m;          /* diameter of a round pin, or side of a square prong */
    bool square;           /* square prong filed from the blade: its diagonal has to pass the hole */
    double pin_length_m;   /* free length */
    double shank_m;        /* diameter of the shank */
    double shank_length_m; /* from the prongs to the handle */
    double blade_width_m, blade_m, blade_length_m; /* flat part between prongs and shank; length 0 for none */
    double handle_m;                               /* diameter of the handle */
    const cw_material *steel, *ring;
} cw_pin_driver;

cw_status cw_pin_driver_find(const cw_pin_driver *driver, cw_wrench_result *result, cw_error *err)
    __attribute__((warn_unused_result));

#endif
