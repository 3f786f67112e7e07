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
            sums.a[i][i] += shot[i].weight;
            sums.r[i] += shot[i].weight * d;
            sums.tt += shot[i].weight * d * d;
            for (size_t k = 0; k < block->sensors; k++)
                if (shot[k].known)
                    sums.a[i][k] -= shot[i].weight * shot[k].weight / weight;
        }
    }
    return sums;
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

/* Sum over the shots of g g', g being what one shot's residuals pull at each column. */
static void shot_scatter(const cw_delay_block *block, const cw_delay_result *fit, size_t columns,
                         double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST], double meat[CW_DELAY_COLUMNS][CW_DELAY_COLUMNS])
{
    memset(meat, 0, sizeof(double[CW_DELAY_COLUMNS][CW_DELAY_COLUMNS]));
    for (size_t j = 0; j < block->shots; j++) {
        const cw_delay *shot = block->items + j * block->sensors;
        double residual[CW_SENSORS_MOST], sum = 0, weight = 0, g[CW_DELAY_COLUMNS] = {0};
        for (size_t i = 0; i < block->sensors; i++) {
            if (!shot[i].known)
                continue;
            residual[i] = shot[i].value_s;
            for (size_t k = 0; k < columns; k++)
                residual[i] -= fit->p[k] * s[k][i];
            sum += shot[i].weight * residual[i];
            weight += shot[i].weight;
        }
        for (size_t i = 0; i < block->sensors; i++)
            for (size_t k = 0; shot[i].known && k < columns; k++)
                g[k] += shot[i].weight * (residual[i] - sum / weight) * s[k][i];
        for (size_t k = 0; k < columns; k++)
            for (size_t l = 0; l < columns; l++)
                meat[k][l] += g[k] * g[l];
    }
}

/* The sandwich of the inverse normal matrix about the scatter of whole shots, for few shots times J/(J - 1). */
static void widen_by_scatter(const cw_delay_block *block, size_t shots, cw_delay_result *fit, size_t columns,
                             double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST])
{
    double meat[CW_DELAY_COLUMNS][CW_DELAY_COLUMNS], seen[CW_DELAY_COLUMNS][CW_DELAY_COLUMNS] = {0};
    shot_scatter(block, fit, columns, s, meat);
    for (size_t k = 0; k < columns; k++)
        for (size_t l = 0; l < columns; l++)
            for (size_t m = 0; m < columns; m++)
                for (size_t n = 0; n < columns; n++)
                    seen[k][l] += fit->covariance[k][m] * meat[m][n] * fit->covariance[n][l];
    double few = (double)shots / (double)(shots - 1), grow[CW_DELAY_COLUMNS];
    for (size_t k = 0; k < columns; k++)
        grow[k] = sqrt(fmax(few * seen[k][k] / fit->covariance[k][k], 1));
    for (size_t k = 0; k < columns; k++)
        for (size_t l = 0; l < columns; l++)
            fit->covariance[k][l] *= grow[k] * grow[l];
}

cw_delay_result cw_delay_fit(const cw_delay_block *block, const cw_delay_sums *sums, size_t columns,
                             double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST])
{
    cw_delay_result fit = {.columns = columns};
    double right[CW_DELAY_COLUMNS] = {0};
    for (size_t k = 0; k < columns; k++)
        for (size_t i = 0; i < sums->sensors; i++) {
            right[k] += s[k][i] * sums->r[i];
            for (size_t l = 0; l < columns; l++)
                for (size_t m = 0; m < sums->sensors; m++)
                    fit.covariance[k][l] += s[k][i] * sums->a[i][m] * s[l][m];
        }
    if (!invert(columns, fit.covariance))
        return fit;
    fit.solved = true;
    fit.chi_squared = sums->tt;
    for (size_t k = 0; k < columns; k++) {
        for (size_t l = 0; l < columns; l++)
            fit.p[k] += fit.covariance[k][l] * right[l];
        fit.chi_squared -= fit.p[k] * right[k];
    }
    fit.chi_squared = fmax(fit.chi_squared, 0);
    if (sums->shots > 1)
        widen_by_scatter(block, sums->shots, &fit, columns, s);
    return fit;
}

double cw_delay_saturated(const cw_delay_sums *sums)
{
    /* Gaussian elimination of the (singular by one) Laplacian-like matrix: what is left of tt is the minimum. */
    double a[CW_SENSORS_MOST][CW_SENSORS_MOST], r[CW_SENSORS_MOST], left = sums->tt;
    size_t n = sums->sensors;
    memcpy(a, sums->a, sizeof a);
    memcpy(r, sums->r, sizeof r);
    for (size_t i = 0; i < n; i++) {
        if (!(a[i][i] > 1e-9 * sums->a[i][i]))
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
