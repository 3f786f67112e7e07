/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/hum.h"

#include <math.h>
static const double TWO_PI = 6.283185307179586;

/* Weighted least squares of a straight line and, for hz > 0, a sine, by the normal equations: four well-scaled
 * unknowns. False when they cannot be told apart. */
static bool fit(size_t n, const double *at_s, const double *values, const double *weights, double hz, double *p,
                double *variance_factor, double *chi)
{
    double a[4][5] = {{0}}, middle = (at_s[0] + at_s[n - 1]) / 2, half = (at_s[n - 1] - at_s[0]) / 2, squares = 0;
    int unknowns = hz > 0 ? 4 : 2;
    for (size_t i = 0; i < n; i++) {
        double row[5] = {1, (at_s[i] - middle) / half, 0, 0, values[i]}, angle = TWO_PI * hz * at_s[i];
        if (hz > 0)
            sincos(angle, &row[3], &row[2]);
        for (int r = 0; r < unknowns; r++) {
            for (int c = 0; c <= r; c++)
                a[r][c] += weights[i] * row[r] * row[c];
            a[r][4] += weights[i] * row[r] * row[4];
        }
        squares += weights[i] * row[4] * row[4];
    }
    double inverse = 0; /* mean variance factor of the sine's two parts, from the Cholesky factors */
    for (int r = 0; r < unknowns; r++)
        for (int c = 0; c <= r; c++) {
            double sum = a[r][c];
            for (int k = 0; k < c; k++)
                sum -= a[r][k] * a[c][k];
            if (r == c && !(sum > 1e-9 * a[r][r]))
                return false;
            a[r][c] = r == c ? sqrt(sum) : sum / a[c][c];
        }
    for (int r = 0; r < unknowns; r++) {
        for (int k = 0; k < r; k++)
            a[r][4] -= a[r][k] * a[k][4];
        a[r][4] /= a[r][r];
        squares -= a[r][4] * a[r][4];
    }
    for (int r = unknowns - 1; r >= 0; r--) {
        p[r] = a[r][4];
        for (int k = r + 1; k < unknowns; k++)
            p[r] -= a[k][r] * p[k];
        p[r] /= a[r][r];
    }
    if (hz > 0) {
        double last = 1 / (a[3][3] * a[3][3]), coupled = a[3][2] / a[3][3] / a[2][2];
        inverse = (1 / (a[2][2] * a[2][2]) + coupled * coupled + last) / 2;
    }
    *variance_factor = inverse;
    *chi = fmax(squares, 0);
    return true;
}

cw_status cw_hum_find(size_t n, const double *at_s, const double *values, const double *weights, size_t tried,
                      const double *hz, cw_hum *hum, cw_error *err)
{
    double slowest = INFINITY;
    for (size_t k = 0; k < tried; k++)
        slowest = fmin(slowest, hz[k]);
    if (n < 8 || !((at_s[n - 1] - at_s[0]) * slowest > 0.5))
        return cw_fail(err, CW_RANGE, "too short a stretch to find %g Hz in", slowest);
    double p[4], factor, plain = 0, least;
    if (!fit(n, at_s, values, weights, 0, p, &factor, &plain))
        return cw_fail(err, CW_RANGE, "%zu values at one instant hold no %g Hz", n, slowest);
    least = plain;
    double plain_sd = sqrt(plain / (double)(n - 2));
    cw_hum best = {.residual_sd = plain_sd, .plain_sd = plain_sd};
    for (size_t k = 0; k < tried; k++) {
        double chi = 0;
        if (!fit(n, at_s, values, weights, hz[k], p, &factor, &chi) || chi >= least)
            continue;
        double variance = chi / (double)(n - 4), amplitude = hypot(p[2], p[3]), u = sqrt(variance * factor);
        if (amplitude < 5 * u)
            continue;
        least = chi;
        best = (cw_hum){hz[k], p[2], p[3], amplitude, u, sqrt(variance), plain_sd};
    }
    *hum = best;
    return CW_OK;
}

double cw_hum_at(const cw_hum *hum, double at_s)
{
    return hum->hz > 0 ? hum->cosine * cos(TWO_PI * hum->hz * at_s) + hum->sine * sin(TWO_PI * hum->hz * at_s) : 0;
}
