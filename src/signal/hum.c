/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/hum.h"

#include <math.h>
#include <stdlib.h>

#include "base/stats.h"

static const double TWO_PI = 6.283185307179586;

static void fill_design(size_t n, const double *at_s, double middle, double hz, size_t columns, double *design)
{
    for (size_t i = 0; i < n; i++) {
        double *row = design + i * columns;
        row[0] = 1;
        row[1] = at_s[i] - middle;
        if (columns == 4) {
            row[2] = cos(TWO_PI * hz * at_s[i]);
            row[3] = sin(TWO_PI * hz * at_s[i]);
        }
    }
}

cw_status cw_hum_find(size_t n, const double *at_s, const double *values, const double *weights, size_t tried,
                      const double *hz, cw_hum *hum, cw_error *err)
{
    double slowest = INFINITY;
    for (size_t k = 0; k < tried; k++)
        slowest = fmin(slowest, hz[k]);
    if (n < 8 || !((at_s[n - 1] - at_s[0]) * slowest > 0.5))
        return cw_fail(err, CW_RANGE, "too short a stretch to find %g Hz in", slowest);
    double *design = malloc(n * 4 * sizeof *design), middle = (at_s[0] + at_s[n - 1]) / 2;
    if (design == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a fit to %zu values", n);
    double p[4], covariance[16], plain = 0;
    fill_design(n, at_s, middle, 0, 2, design);
    cw_status status = cw_least_squares(n, 2, design, values, weights, p, covariance, &plain, err);
    cw_hum best = {.residual_sd = sqrt(plain / (double)(n - 2)), .plain_sd = sqrt(plain / (double)(n - 2))};
    double least = plain;
    for (size_t k = 0; k < tried && status == CW_OK; k++) {
        double chi = 0;
        fill_design(n, at_s, middle, hz[k], 4, design);
        status = cw_least_squares(n, 4, design, values, weights, p, covariance, &chi, err);
        if (status != CW_OK || chi >= least)
            continue;
        double variance = chi / (double)(n - 4), amplitude = hypot(p[2], p[3]);
        double u = sqrt(variance * (covariance[10] + covariance[15]) / 2);
        if (amplitude < 5 * u)
            continue;
        least = chi;
        best = (cw_hum){hz[k], p[2], p[3], amplitude, u, sqrt(variance), best.plain_sd};
    }
    free(design);
    if (status == CW_OK)
        *hum = best;
    return status;
}

double cw_hum_at(const cw_hum *hum, double at_s)
{
    return hum->hz > 0 ? hum->cosine * cos(TWO_PI * hum->hz * at_s) + hum->sine * sin(TWO_PI * hum->hz * at_s) : 0;
}
