/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Means, spreads, straight lines and linear least squares, with what the scatter says about each. */
#ifndef CW_BASE_STATS_H
#define CW_BASE_STATS_H

#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"

typedef struct {
    size_t count;
    double mean;
    double sd;              /* over n - 1; NaN for one value */
    double u_mean;          /* sd / sqrt(n); NaN for one value */
    double autocorrelation; /* lag 1, NIST StRD form; NaN for one value or no spread */
    double least, most;
} cw_summary;

/* n >= 1 finite values, which stay the caller's. Two passes, corrected for the rounding of the mean (Chan, Golub and
 * LeVeque 1983), so that a large common offset costs no digits. CW_RANGE for none or a value that is not finite. */
cw_status cw_summarise(size_t n, const double *values, cw_summary *summary, cw_error *err)
    __attribute__((warn_unused_result));

/* The middle value (mean of the two middle ones). Sorts `values` in place. NaN for none. */
double cw_median(size_t n, double *values);

/* Student's t for a two-sided interval with the given coverage (0.95, 0.9545) and degrees of freedom (> 0).
 * JCGM 100:2008, table G.2. */
double cw_student_t(double coverage, double degrees);

/* Effective degrees of freedom, JCGM 100:2008 G.4 (Welch-Satterthwaite). u[i]: contributions to the combined standard
 * uncertainty; degrees[i]: their degrees of freedom, INFINITY allowed. INFINITY when no contribution has a limit. */
double cw_effective_degrees(size_t n, const double *u, const double *degrees);

/* A straight line y = at_x0 + slope (x - x0), with what its scatter says about it. Any units; slope in y/x. */
typedef struct {
    double x0;
    cw_quantity at_x0, slope; /* .u: standard uncertainty, k = 1 */
    double correlation;       /* of at_x0 with slope, -1 to 1 */
    double residual_sd;
    size_t degrees; /* of freedom, n - 2 */
} cw_line;

/* Fits a line by least squares, all points of equal weight.
 *
 * n, x, y   n >= 3 points; x and y hold n finite values each and stay the caller's
 * x0        where the line's level is wanted; near the mean of x it is known best
 * fit       written only on CW_OK
 * CW_RANGE  fewer than 3 points, a value that is not finite, or all x the same
 *
 * JCGM 100:2008 H.3, sums taken about the means so that a large offset costs no digits. */
cw_status cw_line_fit(size_t n, const double *x, const double *y, double x0, cw_line *fit, cw_error *err)
    __attribute__((warn_unused_result));

cw_quantity cw_line_at(const cw_line *fit, double x);

/* Weighted linear least squares y = A p by orthogonal decomposition (GSL, SVD of the scaled matrix).
 *
 * rows, columns   rows >= columns >= 1
 * design          rows x columns, row by row
 * weights         1/u^2 of each y, or NULL for equal weights
 * parameters      columns values out
 * covariance      columns x columns out: with weights, from them alone; without, scaled by the residual variance
 *                 (rows > columns needed, otherwise it is filled with NaN)
 * chi_squared     the weighted sum of squared residuals
 * rank            what the data can tell apart; CW_RANGE when below `columns`, in words: the caller should drop
 *                 what cannot be told
 */
cw_status cw_least_squares(size_t rows, size_t columns, const double *design, const double *y, const double *weights,
                           double *parameters, double *covariance, double *chi_squared, cw_error *err)
    __attribute__((warn_unused_result));

#endif
