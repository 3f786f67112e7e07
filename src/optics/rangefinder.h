/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rangefinders: from what they indicate to their two adjusters, and whether their base is long enough. */
#ifndef CW_OPTICS_RANGEFINDER_H
#define CW_OPTICS_RANGEFINDER_H

#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"

enum { CW_RANGE_PAIRS = 64 };

typedef struct {
    double true_m, indicated_m; /* INFINITY allowed for both */
} cw_range_pair;

typedef struct {
    cw_quantity alpha_per_m; /* dioptres: what it reads at infinity; 0 when right. The infinity adjuster. */
    cw_quantity beta;        /* gain; 1 when right. The near (arm or cam) adjuster. */
    double correlation;
    double scatter_per_m;              /* of the pairs about the line, standard deviation; NaN for two pairs */
    size_t degrees;                    /* of freedom: pairs - 2 */
    double left_per_m[CW_RANGE_PAIRS]; /* of each pair: what remains after both adjusters are right, dioptres */
} cw_rangefinder;

/* Fits 1/indicated = alpha + beta/true to the pairs, all weighted alike.
 *
 * u_per_m   standard uncertainty of one indicated reading, in dioptres (NaN: not known; the scatter then gives it, and
 *           three pairs are needed). With both the larger is used.
 * CW_RANGE  fewer than two pairs, all at one true distance, a distance that is not above zero. */
cw_status cw_rangefinder_fit(size_t count, const cw_range_pair *pairs, double u_per_m, cw_rangefinder *fit,
                             cw_error *err) __attribute__((warn_unused_result));

/* Defocus at the film when the rangefinder is trusted for a subject whose true vergence is x = 1/true (1/m) and the
 * lens follows the indicated y: v(y) - v(x), in mm; exact thin lens, from the lens. Positive: the lens stands too far
 * out, focused too near. CW_RANGE when y asks for a subject inside the focal length. */
cw_status cw_range_defocus_mm(double focal_mm, double true_per_m, double indicated_per_m, double *defocus_mm,
                              cw_error *err) __attribute__((warn_unused_result));

/* Effective base: base x magnification. */
double cw_effective_base_mm(double base_mm, double magnification);

/* The effective base a lens asks for: the eye aligns the two images to `acuity_rad` (seen angle), which is an error of
 * acuity/base in 1/distance and f^2 times that at the film, to stay below N c: base >= f^2 acuity/(N c). */
double cw_base_needed_mm(double focal_mm, double f_number, double circle_mm, double acuity_rad);

#endif
