/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lens near its axis: focal length, planes, pupils, and the third-order sums. */
#ifndef CW_OPTICS_PARAXIAL_H
#define CW_OPTICS_PARAXIAL_H

#include "base/error.h"
#include "optics/lens.h"

typedef struct {
    double efl_mm;             /* positive for a converging lens */
    double bfl_mm;             /* last vertex to the rear focus, positive to the right */
    double ffl_mm;             /* first vertex to the front focus, positive when it stands in front (to the left) */
    double front_principal_mm; /* first vertex to the front principal plane, positive to the right */
    double rear_principal_mm;  /* last vertex to the rear principal plane, positive to the right */
    double petzval_sum_per_mm; /* sum of c (n' - n)/(n n'); the Petzval surface has radius -1/sum */
    double length_mm;          /* first to last vertex */
} cw_cardinal;

/* In air on both sides or not: efl is that of the image side, n'/power. Power = -C of the system matrix.
 * CW_RANGE when the power is below 1e-9 per mm (an afocal set has no focal length), or the line's indices are unknown.
 */
cw_status cw_lens_cardinal(const cw_lens *lens, cw_line_name line, cw_cardinal *out, cw_error *err)
    __attribute__((warn_unused_result));

/* One paraxial ray: y and n u before each surface onward. y[i]: height on surface i; u[i]: slope after it; both hold
 * lens->count values. */
void cw_paraxial_ray(const cw_lens *lens, cw_line_name line, double y0_mm, double u0, double *y, double *u);

typedef struct {
    double position_mm; /* entrance: from the first vertex; exit: from the last vertex; positive to the right */
    double diameter_mm;
    double magnification; /* of the pupil against the stop */
} cw_pupil;

typedef struct {
    cw_pupil entrance, exit;
    double stop_diameter_mm;
    bool stop_known; /* false: the stop was taken at the first surface */
} cw_pupils;

/* Images of the stop through the glass before and behind it, for an axial beam of beam_mm. CW_RANGE when an image of
 * the stop lies at infinity (a telecentric set). */
cw_status cw_lens_pupils(const cw_lens *lens, double beam_mm, cw_pupils *out, cw_error *err)
    __attribute__((warn_unused_result));

/* The beam the lens works with: beam_mm if known, otherwise efl / f-number, otherwise twice the stop-side clear radius
 * of the first surface. CW_RANGE when nothing tells. */
cw_status cw_lens_beam_mm(const cw_lens *lens, const cw_cardinal *cardinal, double *beam_mm, cw_error *err)
    __attribute__((warn_unused_result));

/* Third-order sums of Seidel as wavefront coefficients in mm (W040 = S1/8), Welford's notation:
 * S1 spherical, S2 coma, S3 astigmatism, S4 Petzval, S5 distortion; C1, C2 longitudinal and lateral colour, F to C.
 * S1 > 0: undercorrected. Transverse third order = S / (2 u') with u' the final marginal slope. */
typedef struct {
    double s1, s2, s3, s4, s5, c1, c2; /* c1, c2 are NaN without dispersion */
} cw_seidel_terms;

typedef struct {
    cw_seidel_terms sum, surface[CW_LENS_SURFACES];
    double lagrange_mm; /* n (ubar y - u ybar), the same behind every surface */
    double marginal_y[CW_LENS_SURFACES], marginal_u[CW_LENS_SURFACES];
    double chief_y[CW_LENS_SURFACES], chief_u[CW_LENS_SURFACES];
} cw_seidel;

/* Object at infinity, marginal height beam_mm/2, chief ray through the centre of the stop at half_field_deg.
 * W. T. Welford, Aberrations of Optical Systems, chapter 8 (from memory; held against two libraries in the tests). */
cw_status cw_lens_seidel(const cw_lens *lens, double beam_mm, double half_field_deg, cw_seidel *out, cw_error *err)
    __attribute__((warn_unused_result));

#endif
