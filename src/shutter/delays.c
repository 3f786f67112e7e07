/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/delays.h"

#include <math.h>
#include <string.h>

#define SMALLEST_PIVOT 1e-12

/* The weighted mean of a shot and the sum of its weights; 0 sensors or 1 say nothing about delays. */
static size_t shot_mean(const cw_delay *shot, size_t sensors, double *mean, double *weight)
{
    size_t n = 0;
    double sum = 0, w = 0;
    for (size_t i = 0; i < sensors; i++)
        if (shot[i].known) {
            sum += shot[i].weight * shot[i].value_s;
            w += shot[i].weight;
            n++;
        }
    *mean = w > 0 ? sum / w : 0;
    *weight = w;
    return n;
}

cw_delay_sums cw_delay_sum(const cw_delay_block *block)
{
    cw_delay_sums sums = {.sensors = block->sensors};
    for (size_t j = 0; j < block->shots; j++) {
        const cw_delay *shot = block->items + j * block->sensors;
        double mean, weight;
        size_t n = shot_mean(shot, block->sensors, &mean, &weight);
        if (n < 2)
            continue;
        sums.shots++;
        sums.rows += n;
        for (size_t i = 0; i < block->sensors; i++) {
            if (!shot[i].known)
                continue;
            double d = shot[i].value_s - mean;
            sums.plain.a[i][i] += shot[i].weight;
            sums.plain.r[i] += shot[i].weight * d;
            sums.plain.tt += shot[i].weight * d * d;
            for (size_t k = 0; k < block->sensors; k++)
                if (shot[k].known)
                    sums.plain.a[i][k] -= shot[i].weight * shot[k].weight / weight;
        }
    }
    sums.placed = sums.plain;
    return sums;
}

/* 1 + s a s, s being the diagonal of late_s, as its lower Cholesky factor: never singular. */
static void factor_places(size_t n, const double a[CW_SENSORS_MOST][CW_SENSORS_MOST], const double *late_s,
                          double l[CW_SENSORS_MOST][CW_SENSORS_MOST])
{
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k <= i; k++) {
            double sum = (i == k ? 1 : 0) + late_s[i] * a[i][k] * late_s[k];
            for (size_t m = 0; m < k; m++)
                sum -= l[i][m] * l[k][m];
            l[i][k] = i == k ? sqrt(sum) : sum / l[k][k];
        }
}

void cw_delay_allow_places(cw_delay_sums *sums, const double late_s[static CW_SENSORS_MOST])
{
    /* With b = (a + s^-2)^-1 the least over what each sensor may be late by: a - a b a, r - a b r, tt - r'b r. */
    double l[CW_SENSORS_MOST][CW_SENSORS_MOST], columns[CW_SENSORS_MOST + 1][CW_SENSORS_MOST];
    size_t n = sums->sensors;
    const cw_delay_normal *plain = &sums->plain;
    factor_places(n, plain->a, late_s, l);
    for (size_t c = 0; c <= n; c++) /* l^-1 s times each column of a, and r as the last */
        for (size_t i = 0; i < n; i++) {
            double sum = late_s[i] * (c < n ? plain->a[i][c] : plain->r[i]);
            for (size_t m = 0; m < i; m++)
                sum -= l[i][m] * columns[c][m];
            columns[c][i] = sum / l[i][i];
        }
    sums->placed = *plain;
    for (size_t m = 0; m < n; m++) {
        sums->placed.tt -= columns[n][m] * columns[n][m];
        for (size_t i = 0; i < n; i++) {
            sums->placed.r[i] -= columns[i][m] * columns[n][m];
            for (size_t k = 0; k < n; k++)
                sums->placed.a[i][k] -= columns[i][m] * columns[k][m];
        }
    }
}

double cw_delay_miss(const cw_delay_sums *sums, const double m[static CW_SENSORS_MOST])
{
    double miss = sums->placed.tt;
    for (size_t i = 0; i < sums->sensors; i++) {
        miss -= 2 * m[i] * sums->placed.r[i];
        for (size_t k = 0; k < sums->sensors; k++)
            miss += m[i] * sums->placed.a[i][k] * m[k];
    }
    return fmax(miss, 0);
}

/* Inverse of a symmetric 1 x 1 or 2 x 2 matrix; false when it has none to speak of. */
static bool invert(size_t n, double m[CW_DELAY_COLUMNS][CW_DELAY_COLUMNS])
{
    if (n == 1) {
        bool fine = m[0][0] > 0;
        m[0][0] = 1 / m[0][0];
        return fine;
    }
    double determinant = m[0][0] * m[1][1] - m[0][1] * m[1][0];
    if (!(m[0][0] > 0 && m[1][1] > 0 && determinant > SMALLEST_PIVOT * m[0][0] * m[1][1]))
        return false;
    double first = m[0][0];
    m[0][0] = m[1][1] / determinant;
    m[1][1] = first / determinant;
    m[0][1] = m[1][0] = -m[0][1] / determinant;
    return true;
}

/* Sum over the shots of g g', g being what one shot's residuals pull at each column more than the mean shot's do. */
static void shot_scatter(const cw_delay_block *block, const cw_delay_result *fit, size_t columns,
                         double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST], double meat[CW_DELAY_COLUMNS][CW_DELAY_COLUMNS])
{
    double mean[CW_DELAY_COLUMNS] = {0};
    size_t shots = 0;
    memset(meat, 0, sizeof(double[CW_DELAY_COLUMNS][CW_DELAY_COLUMNS]));
    for (size_t j = 0; j < block->shots; j++) {
        const cw_delay *shot = block->items + j * block->sensors;
        double residual[CW_SENSORS_MOST], sum = 0, weight = 0, g[CW_DELAY_COLUMNS] = {0};
        size_t known = 0;
        for (size_t i = 0; i < block->sensors; i++) {
            if (!shot[i].known)
                continue;
            residual[i] = shot[i].value_s;
            for (size_t k = 0; k < columns; k++)
                residual[i] -= fit->p[k] * s[k][i];
            sum += shot[i].weight * residual[i];
            weight += shot[i].weight;
            known++;
        }
        if (known < 2)
            continue;
        shots++;
        for (size_t i = 0; i < block->sensors; i++)
            for (size_t k = 0; shot[i].known && k < columns; k++)
                g[k] += shot[i].weight * (residual[i] - sum / weight) * s[k][i];
        for (size_t k = 0; k < columns; k++) {
            mean[k] += g[k];
            for (size_t l = 0; l < columns; l++)
                meat[k][l] += g[k] * g[l];
        }
    }
    for (size_t k = 0; k < columns; k++)
        for (size_t l = 0; l < columns; l++)
            meat[k][l] -= mean[k] * mean[l] / (double)shots;
}

/* The normal matrix of the columns inverted: their covariance by the weights. */
static bool covariance_of(const cw_delay_sums *sums, const cw_delay_normal *normal, size_t columns,
                          double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST],
                          double covariance[CW_DELAY_COLUMNS][CW_DELAY_COLUMNS])
{
    memset(covariance, 0, sizeof(double[CW_DELAY_COLUMNS][CW_DELAY_COLUMNS]));
    for (size_t k = 0; k < columns; k++)
        for (size_t l = 0; l < columns; l++)
            for (size_t i = 0; i < sums->sensors; i++)
                for (size_t m = 0; m < sums->sensors; m++)
                    covariance[k][l] += s[k][i] * normal->a[i][m] * s[l][m];
    return invert(columns, covariance);
}

/* The sandwich of the inverse normal matrix about the scatter of whole shots, for few shots times J/(J - 1); what it is
 * wider by than that matrix is added. */
static void widen_by_scatter(const cw_delay_block *block, const cw_delay_sums *sums, cw_delay_result *fit,
                             size_t columns, double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST])
{
    double meat[CW_DELAY_COLUMNS][CW_DELAY_COLUMNS], seen[CW_DELAY_COLUMNS][CW_DELAY_COLUMNS] = {0};
    double plain[CW_DELAY_COLUMNS][CW_DELAY_COLUMNS];
    if (!covariance_of(sums, &sums->plain, columns, s, plain))
        return;
    shot_scatter(block, fit, columns, s, meat);
    for (size_t k = 0; k < columns; k++)
        for (size_t l = 0; l < columns; l++)
            for (size_t m = 0; m < columns; m++)
                for (size_t n = 0; n < columns; n++)
                    seen[k][l] += plain[k][m] * meat[m][n] * plain[n][l];
    double few = (double)sums->shots / (double)(sums->shots - 1), grow[CW_DELAY_COLUMNS];
    for (size_t k = 0; k < columns; k++)
        grow[k] = sqrt(fmax(few * seen[k][k] / plain[k][k], 1));
    for (size_t k = 0; k < columns; k++)
        for (size_t l = 0; l < columns; l++)
            fit->covariance[k][l] += plain[k][l] * (grow[k] * grow[l] - 1);
}

cw_delay_result cw_delay_fit(const cw_delay_block *block, const cw_delay_sums *sums, size_t columns,
                             double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST])
{
    cw_delay_result fit = {.columns = columns};
    double right[CW_DELAY_COLUMNS] = {0};
    if (!covariance_of(sums, &sums->placed, columns, s, fit.covariance))
        return fit;
    fit.solved = true;
    fit.chi_squared = sums->placed.tt;
    for (size_t k = 0; k < columns; k++)
        for (size_t i = 0; i < sums->sensors; i++)
            right[k] += s[k][i] * sums->placed.r[i];
    for (size_t k = 0; k < columns; k++) {
        for (size_t l = 0; l < columns; l++)
            fit.p[k] += fit.covariance[k][l] * right[l];
        fit.chi_squared -= fit.p[k] * right[k];
    }
    fit.chi_squared = fmax(fit.chi_squared, 0);
    if (sums->shots > 1)
        widen_by_scatter(block, sums, &fit, columns, s);
    return fit;
}

double cw_delay_saturated(const cw_delay_sums *sums)
{
    /* Gaussian elimination of the (singular by one) Laplacian-like matrix: what is left of tt is the minimum. */
    double a[CW_SENSORS_MOST][CW_SENSORS_MOST], r[CW_SENSORS_MOST], left = sums->plain.tt;
    size_t n = sums->sensors;
    memcpy(a, sums->plain.a, sizeof a);
    memcpy(r, sums->plain.r, sizeof r);
    for (size_t i = 0; i < n; i++) {
        if (!(a[i][i] > 1e-9 * sums->plain.a[i][i]))
            continue;
        left -= r[i] * r[i] / a[i][i];
        for (size_t k = i + 1; k < n; k++) {
            double factor = a[k][i] / a[i][i];
            r[k] -= factor * r[i];
            for (size_t m = i; m < n; m++)
                a[k][m] -= factor * a[i][m];
        }
    }
    return fmax(left, 0);
}
