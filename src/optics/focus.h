/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the image lies, how far off it may be, and what that says about a camera's register, screen or scale.
 * Lengths in mm, distances of subjects in m. A subject's distance counts from the lens (its front principal plane)
 * unless a function says film. INFINITY is a distance. */
#ifndef CW_OPTICS_FOCUS_H
#define CW_OPTICS_FOCUS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"

/* Image distance v = f d/(d - f), from the rear principal plane. CW_RANGE unless d > f > 0. */
cw_status cw_image_distance_mm(double focal_mm, double distance_m, double *image_mm, cw_error *err)
    __attribute__((warn_unused_result));

/* The same for a subject whose distance D is measured from the film, as focus scales are engraved: D = d + v, so
 * v = (D - sqrt(D^2 - 4 D f))/2, the principal planes taken together. CW_RANGE below 4 f (nearer cannot be imaged). */
cw_status cw_image_distance_from_film_mm(double focal_mm, double distance_m, double *image_mm, cw_error *err)
    __attribute__((warn_unused_result));

/* The subject distance that is sharp with the image at v: d = f v/(v - f); INFINITY at v = f. CW_RANGE for v < f: the
 * lens sits nearer than infinity needs, and nothing before it is sharp. */
cw_status cw_subject_distance_m(double focal_mm, double image_mm, double *distance_m, cw_error *err)
    __attribute__((warn_unused_result));

/* Half depth of focus, +- N c. W. J. Smith, Modern Optical Engineering, eq. 9.8. */
double cw_depth_of_focus_mm(double f_number, double circle_mm);

/* Diameter of the blur on the film when it lies `defocus_mm` from the image: |defocus| / N. */
double cw_blur_mm(double defocus_mm, double f_number);

/* How far the image moves away when it is seen through a plane glass: t (1 - 1/n); paraxial. */
double cw_glass_shift_mm(double thickness_mm, double index);

typedef struct {
    double near_m, far_m;      /* far INFINITY from the hyperfocal distance on */
    double hyperfocal_m;       /* f^2/(N c) + f */
    double hyperfocal_short_m; /* f^2/(N c), as many tables print it: Smith eq. 9.11 */
} cw_depth_of_field;

/* Sharp from near to far: s (H - f)/(H + s - 2 f) and s (H - f)/(H - s), H = f^2/(N c) + f (thin lens; the same as
 * Smith eq. 9.9 and 9.10 with his aperture f/N and blur c). distance_m may be INFINITY. CW_RANGE unless d > f. */
cw_status cw_depth_of_field_m(double focal_mm, double f_number, double circle_mm, double distance_m,
                              cw_depth_of_field *out, cw_error *err) __attribute__((warn_unused_result));

/* The distance from which a target is as good as infinity: its image is off by at most `part` of the depth of focus N
 * c: d = f + f^2/(part N c). */
double cw_infinity_distance_m(double focal_mm, double f_number, double circle_mm, double part);

/* What an observation says: the scale (or stop) stood at `marked`, the target that came out sharp on the film plane
 * stood at `true_m`. error = v(marked) - v(true): positive, the lens sits that much too near the film and wants a shim
 * of that thickness; negative, that much must come off. u of marked and true in m (0: exact); u_sharp_mm: how well the
 * sharpest position was found, at the film. from_film: both distances count from the film. */
typedef struct {
    double focal_mm, u_focal_relative;
    double marked_m, u_marked_m, true_m, u_true_m; /* INFINITY allowed */
    double u_sharp_mm;
    bool from_film;
} cw_focus_reading;

cw_status cw_register_error_mm(const cw_focus_reading *reading, cw_quantity *error_mm, cw_error *err)
    __attribute__((warn_unused_result));

#endif
