/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "optics/rangefinder.h"

#include <math.h>

#include "base/stats.h"

static cw_status vergence(double distance_m, double *per_m, const char *which, size_t row, cw_error *err)
{
    if (!(distance_m > 0))
        return cw_fail(err, CW_RANGE, "pair %zu: the %s distance is %g m; it must be above zero", row + 1, which,
                       distance_m);
    *per_m = isinf(distance_m) ? 0 : 1 / distance_m;
    return CW_OK;
}

cw_status cw_rangefinder_fit(size_t count, const cw_range_pair *pairs, double u_per_m, cw_rangefinder *fit,
                             cw_error *err)
{
    double design[2 * CW_RANGE_PAIRS], y[CW_RANGE_PAIRS], p[2], covariance[4], chi2;
    if (count < 2 || count > CW_RANGE_PAIRS)
        return cw_fail(err, CW_RANGE, "%zu pairs; two distances at least (three to see the scatter), %d at most", count,
                       CW_RANGE_PAIRS);
    if (count == 2 && isnan(u_per_m))
        return cw_fail(err, CW_RANGE,
                       "two pairs say nothing about how well they were read; give the reading's uncertainty or "
                       "a third pair");
    double least = INFINITY, most = 0;
    for (size_t i = 0; i < count; i++) {
        CW_TRY(vergence(pairs[i].true_m, &design[2 * i + 1], "true", i, err));
        CW_TRY(vergence(pairs[i].indicated_m, &y[i], "indicated", i, err));
        design[2 * i] = 1;
        least = fmin(least, design[2 * i + 1]);
        most = fmax(most, design[2 * i + 1]);
    }
    if (most - least < 0.02) /* 1 m against 1.02 m, or 50 m against infinity: the two adjusters cannot be told apart */
        return cw_fail(err, CW_RANGE, "all pairs stand at nearly the same true distance; read one far and one near");
    CW_TRY(cw_least_squares(count, 2, design, y, NULL, p, covariance, &chi2, err));
    cw_rangefinder made = {.degrees = count - 2};
    double scatter2 = count > 2 ? chi2 / (double)(count - 2) : NAN, mean = 0, spread = 0;
    for (size_t i = 0; i < count; i++)
        mean += design[2 * i + 1] / (double)count;
    for (size_t i = 0; i < count; i++) {
        spread += (design[2 * i + 1] - mean) * (design[2 * i + 1] - mean);
        made.left_per_m[i] = y[i] - p[0] - p[1] * design[2 * i + 1];
    }
    double variance = fmax(isnan(scatter2) ? 0 : scatter2, isnan(u_per_m) ? 0 : u_per_m * u_per_m);
    made.scatter_per_m = sqrt(scatter2);
    made.beta = (cw_quantity){p[1], sqrt(variance / spread)};
    made.alpha_per_m = (cw_quantity){p[0], sqrt(variance * (1 / (double)count + mean * mean / spread))};
    made.correlation = -mean / sqrt(spread / (double)count + mean * mean);
    *fit = made;
    return CW_OK;
}

cw_status cw_range_defocus_mm(double focal_mm, double true_per_m, double indicated_per_m, double *defocus_mm,
                              cw_error *err)
{
    double f = focal_mm / 1000; /* v = f/(1 - f x), so v(y) - v(x) = f^2 (y - x)/((1 - f y)(1 - f x)) */
    if (!(f > 0 && f * true_per_m < 1 && f * indicated_per_m < 1))
        return cw_fail(err, CW_RANGE,
                       "%g and %g dioptres with a lens of %g mm: a subject inside the focal length has no image "
                       "on film",
                       true_per_m, indicated_per_m, focal_mm);
    *defocus_mm = 1000 * f * f * (indicated_per_m - true_per_m) / ((1 - f * indicated_per_m) * (1 - f * true_per_m));
    return CW_OK;
}

double cw_effective_base_mm(double base_mm, double magnification)
{
    return base_mm * magnification;
}

double cw_base_needed_mm(double focal_mm, double f_number, double circle_mm, double acuity_rad)
{
    return focal_mm * focal_mm * acuity_rad / (f_number * circle_mm);
}
