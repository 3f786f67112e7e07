/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small things about glass on a bench: radii by spherometer or over a chord, magnifiers, grit, registers by mount. */
#ifndef CW_OPTICS_BENCH_GLASS_H
#define CW_OPTICS_BENCH_GLASS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"

/* Radius from a spherometer: foot circle of radius r, height h of the middle over it, feet that are balls of radius b
 * (0: a sharp ring or points): R = (r^2 + h^2)/(2 h) - b on a convex face, + b on a concave one. h is positive for
 * both; the result is positive. CW_RANGE: h not above 0 (a plane has no radius), h > r (beyond a hemisphere). */
cw_status cw_radius_by_spherometer(cw_quantity foot_radius_mm, cw_quantity height_mm, cw_quantity ball_radius_mm,
                                   bool convex, cw_quantity *radius_mm, cw_error *err)
    __attribute__((warn_unused_result));

/* Foot circle of three feet that stand `side` apart from each other: side/sqrt 3. */
cw_quantity cw_foot_circle_mm(cw_quantity side_mm);

/* Radius from the height h over (or depth under) a chord of length s: R = s^2/(8 h) + h/2. Same refusals. */
cw_status cw_radius_by_chord(cw_quantity chord_mm, cw_quantity height_mm, cw_quantity *radius_mm, cw_error *err)
    __attribute__((warn_unused_result));

typedef struct {
    double power_per_m;         /* P1 + P2 - d P1 P2 */
    double working_distance_m;  /* from the pair nearest the work to the work, relaxed eye */
    double relaxed, near_point; /* angular magnification: P x 0.25 m, and that + 1 */
    double convergence_deg;     /* the turn between the two eyes at that distance */
} cw_magnifier;

/* Reading glasses on top of each other, thin. powers in dioptres, the pair nearest the work first; gap between
 * neighbours in mm; pupils_mm: between the eyes. CW_RANGE when the powers do not add to a magnifier. */
cw_status cw_stack_glasses(size_t count, const double *powers_per_m, double gap_mm, double pupils_mm, cw_magnifier *out,
                           cw_error *err) __attribute__((warn_unused_result));

typedef struct {
    const char *grit; /* FEPA macro and micro grits */
    double grain_um;  /* median */
} cw_grit;

/* Coarse to fine, *count of them. FEPA 42 median grain sizes, from memory. */
const cw_grit *cw_grits(size_t *count);

/* Grits to go through from one to another: each at least 0.4 of the grain before, so that its pits come out soon; the
 * coarsest first. indices holds at least the whole table. Returns how many. CW_RANGE when the last is coarser. */
cw_status cw_grit_steps(size_t from, size_t to, size_t *indices, size_t *steps, cw_error *err)
    __attribute__((warn_unused_result));

typedef struct {
    const char *key, *name;
    double register_mm;
    const char *source;
} cw_mount;

/* Flange to film by mount, trade designations. */
const cw_mount *cw_mounts(size_t *count);

#endif
