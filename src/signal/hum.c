/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/hum.h"

#include <math.h>
#include <string.h>

#include "signal/normal.h"

static const double TWO_PI = 6.283185307179586;

/* Normal equations of value = p0 + p1 x + p2 cos + p3 sin, x from -1 to 1: lower triangle, right side in column 4. */
typedef struct {
    double a[4][5], squares;
} normal;

/* Values handled at once. */
enum { CHUNK = 128 };

/* cos and sin of `hz` at instants in order, each turned on from the one before: a sine is only asked for where the step
 * between two instants changes. */
typedef struct {
    double hz, last_s, step_s, step_cosine, step_sine, cosine, sine;
} turning;

static turning turn_from(double hz, double at_s)
{
    turning t = {.hz = hz, .last_s = at_s, .step_cosine = 1};
    sincos(TWO_PI * hz * at_s, &t.sine, &t.cosine);
    return t;
}

static inline void turn_on(turning *t, double at_s)
{
    const double same_s = 1e-12;
    double step_s = at_s - t->last_s;
    if (fabs(step_s - t->step_s) > same_s) {
        t->step_s = step_s;
        sincos(TWO_PI * t->hz * step_s, &t->step_sine, &t->step_cosine);
    }
    double cosine = t->cosine * t->step_cosine - t->sine * t->step_sine;
    t->sine = t->sine * t->step_cosine + t->cosine * t->step_sine;
    t->cosine = cosine;
    t->last_s = at_s;
}

static normal line_sums(size_t n, const double *at_s, const double *values, const double *weights, double middle,
                        double half)
{
    double w = 0, wx = 0, wxx = 0, wv = 0, wxv = 0, wvv = 0, scale = 1 / half;
#pragma omp simd reduction(+ : w, wx, wxx, wv, wxv, wvv)
    for (size_t i = 0; i < n; i++) {
        double x = (at_s[i] - middle) * scale, of_x = weights[i] * x, of_v = weights[i] * values[i];
        w += weights[i];
        wx += of_x;
        wxx += of_x * x;
        wv += of_v;
        wxv += of_v * x;
        wvv += of_v * values[i];
    }
    return (normal){{{w, 0, 0, 0, wv}, {wx, wxx, 0, 0, wxv}}, wvv};
}

static void add_sine(size_t n, const double *at_s, const double *values, const double *weights, double middle,
                     double half, double hz, normal *sums)
{
    double c1 = 0, cx = 0, cc = 0, cv = 0, s1 = 0, sx = 0, sc = 0, ss = 0, sv = 0, scale = 1 / half;
    turning t = turn_from(hz, at_s[0]);
    for (size_t from = 0; from < n; from += CHUNK) {
        double cosine[CHUNK], sine[CHUNK];
        size_t now = n - from < CHUNK ? n - from : CHUNK;
        for (size_t i = 0; i < now; i++) {
            turn_on(&t, at_s[from + i]);
            cosine[i] = t.cosine;
            sine[i] = t.sine;
        }
#pragma omp simd reduction(+ : c1, cx, cc, cv, s1, sx, sc, ss, sv)
        for (size_t i = 0; i < now; i++) {
            double x = (at_s[from + i] - middle) * scale, v = values[from + i];
            double c = weights[from + i] * cosine[i], s = weights[from + i] * sine[i];
            c1 += c;
            cx += c * x;
            cc += c * cosine[i];
            cv += c * v;
            s1 += s;
            sx += s * x;
            sc += s * cosine[i];
            ss += s * sine[i];
            sv += s * v;
        }
    }
    memcpy(sums->a[2], (double[5]){c1, cx, cc, 0, cv}, sizeof sums->a[2]);
    memcpy(sums->a[3], (double[5]){s1, sx, sc, ss, sv}, sizeof sums->a[3]);
}

/* Weighted least squares of a straight line and, for four unknowns, a sine: all well scaled. False when they cannot be
 * told apart. */
static bool fit(const normal *sums, int unknowns, double *p, double *variance_factor, double *chi)
{
    double a[4][5], squares = sums->squares;
    memcpy(a, sums->a, sizeof a);
    double inverse = 0; /* mean variance factor of the sine's two parts, from the Cholesky factors */
    if (!cw_normal_solve(unknowns, 5, &a[0][0], p))
        return false;
    for (int r = 0; r < unknowns; r++)
        squares -= a[r][4] * a[r][4];
    if (unknowns == 4) {
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
    double p[4], factor, plain = 0, least, middle = (at_s[0] + at_s[n - 1]) / 2, half = (at_s[n - 1] - at_s[0]) / 2;
    normal sums = line_sums(n, at_s, values, weights, middle, half);
    if (!fit(&sums, 2, p, &factor, &plain))
        return cw_fail(err, CW_RANGE, "%zu values at one instant hold no %g Hz", n, slowest);
    least = plain;
    double plain_sd = sqrt(plain / (double)(n - 2));
    cw_hum best = {.residual_sd = plain_sd, .plain_sd = plain_sd};
    for (size_t k = 0; k < tried; k++) {
        double chi = 0;
        add_sine(n, at_s, values, weights, middle, half, hz[k], &sums);
        if (!fit(&sums, 4, p, &factor, &chi) || chi >= least)
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

void cw_hum_subtract(const cw_hum *hum, size_t n, const double *at_s, double *values)
{
    if (n == 0 || !(hum->hz > 0))
        return;
    turning t = turn_from(hum->hz, at_s[0]);
    for (size_t i = 0; i < n; i++) {
        turn_on(&t, at_s[i]);
        values[i] -= hum->cosine * t.cosine + hum->sine * t.sine;
    }
}
