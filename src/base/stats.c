/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/stats.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit.h>
#include <gsl/gsl_sort.h>
#include <math.h>
#include <stdbool.h>

static cw_status all_finite(size_t n, const double *values, const char *what, cw_error *err)
{
    double none = 0; /* what is not finite is no 0 when taken from itself */
#pragma omp simd reduction(+ : none)
    for (size_t i = 0; i < n; i++)
        none += values[i] - values[i];
    for (size_t i = 0; i < n && none != 0; i++)
        if (!isfinite(values[i]))
            return cw_fail(err, CW_RANGE, "%s number %zu is not a finite number", what, i + 1);
    return CW_OK;
}

/* The mean, corrected by the mean of what is left over. */
static double careful_mean(size_t n, const double *values)
{
    double sum = 0, rest = 0;
#pragma omp simd reduction(+ : sum)
    for (size_t i = 0; i < n; i++)
        sum += values[i];
    double mean = sum / (double)n;
#pragma omp simd reduction(+ : rest)
    for (size_t i = 0; i < n; i++)
        rest += values[i] - mean;
    return mean + rest / (double)n;
}

cw_status cw_summarise(size_t n, const double *values, cw_summary *summary, cw_error *err)
{
    if (n == 0)
        return cw_fail(err, CW_RANGE, "no values to take a mean of");
    CW_TRY(all_finite(n, values, "value", err));

    double mean = careful_mean(n, values);
    double squares = 0, rest = 0, products = 0, least = values[0], most = values[0];
    for (size_t i = 0; i < n; i++) {
        double d = values[i] - mean;
        squares += d * d;
        rest += d;
        if (i + 1 < n)
            products += d * (values[i + 1] - mean);
        least = fmin(least, values[i]);
        most = fmax(most, values[i]);
    }
    double count = (double)n;
    double corrected = squares - rest * rest / count;
    double sd = n > 1 ? sqrt(corrected / (count - 1)) : NAN;
    *summary = (cw_summary){
        .count = n,
        .mean = mean,
        .sd = sd,
        .u_mean = sd / sqrt(count),
        .autocorrelation = n > 1 && corrected > 0 ? products / corrected : NAN,
        .least = least,
        .most = most,
    };
    return CW_OK;
}

double cw_median(size_t n, double *values)
{
    if (n == 0)
        return NAN;
    gsl_sort(values, 1, n);
    return n % 2 == 1 ? values[n / 2] : (values[n / 2 - 1] + values[n / 2]) / 2;
}

double cw_student_t(double coverage, double degrees)
{
    double tail = (1 - coverage) / 2;
    return isinf(degrees) ? gsl_cdf_ugaussian_Qinv(tail) : gsl_cdf_tdist_Qinv(tail, degrees);
}

double cw_effective_degrees(size_t n, const double *u, const double *degrees)
{
    double squares = 0, weighted = 0;
    for (size_t i = 0; i < n; i++) {
        double square = u[i] * u[i];
        squares += square;
        if (isfinite(degrees[i]))
            weighted += square * square / degrees[i];
    }
    return weighted > 0 ? squares * squares / weighted : INFINITY;
}

cw_status cw_line_fit(size_t n, const double *x, const double *y, double x0, cw_line *fit, cw_error *err)
{
    if (n < 3)
        return cw_fail(err, CW_RANGE, "%zu points; a line with its uncertainty needs at least 3", n);
    CW_TRY(all_finite(n, x, "x", err));
    CW_TRY(all_finite(n, y, "y", err));

    double mean_x = careful_mean(n, x), mean_y = careful_mean(n, y);
    double sxx = 0, sxy = 0;
#pragma omp simd reduction(+ : sxx, sxy)
    for (size_t i = 0; i < n; i++) {
        sxx += (x[i] - mean_x) * (x[i] - mean_x);
        sxy += (x[i] - mean_x) * (y[i] - mean_y);
    }
    if (sxx == 0)
        return cw_fail(err, CW_RANGE, "all %zu points stand at x = %g; a line needs two places", n, mean_x);

    double slope = sxy / sxx, squares = 0;
#pragma omp simd reduction(+ : squares)
    for (size_t i = 0; i < n; i++) {
        double residual = y[i] - mean_y - slope * (x[i] - mean_x);
        squares += residual * residual;
    }
    double variance = squares / (double)(n - 2), lever = x0 - mean_x;
    double spread = 1 / (double)n + lever * lever / sxx;
    *fit = (cw_line){
        .x0 = x0,
        .at_x0 = {mean_y + slope * lever, sqrt(variance * spread)},
        .slope = {slope, sqrt(variance / sxx)},
        .correlation = lever / sqrt(sxx * spread),
        .residual_sd = sqrt(variance),
        .degrees = n - 2,
    };
    return CW_OK;
}

cw_quantity cw_line_at(const cw_line *fit, double x)
{
    double d = x - fit->x0, u0 = fit->at_x0.u, u1 = fit->slope.u;
    double variance = u0 * u0 + d * d * u1 * u1 + 2 * d * fit->correlation * u0 * u1;
    return (cw_quantity){fit->at_x0.value + d * fit->slope.value, sqrt(fmax(variance, 0))};
}

cw_status cw_least_squares(size_t rows, size_t columns, const double *design, const double *y, const double *weights,
                           double *parameters, double *covariance, double *chi_squared, cw_error *err)
{
    if (columns == 0 || rows < columns)
        return cw_fail(err, CW_RANGE, "%zu observations cannot tell %zu unknowns", rows, columns);
    CW_TRY(all_finite(rows * columns, design, "design value", err));
    CW_TRY(all_finite(rows, y, "observation", err));
    if (weights != NULL)
        CW_TRY(all_finite(rows, weights, "weight", err));

    gsl_multifit_linear_workspace *work = gsl_multifit_linear_alloc(rows, columns);
    if (work == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a fit of %zu unknowns to %zu observations", columns, rows);
    gsl_matrix_const_view a = gsl_matrix_const_view_array(design, rows, columns);
    gsl_vector_const_view b = gsl_vector_const_view_array(y, rows);
    gsl_vector_view p = gsl_vector_view_array(parameters, columns);
    gsl_matrix_view c = gsl_matrix_view_array(covariance, columns, columns);
    size_t rank = 0;
    int failed;
    /* relative singular value below which two unknowns look the same in double precision */
    const double alike = 64 * 2.220446049250313e-16 * (double)rows;
    if (weights != NULL) {
        gsl_vector_const_view w = gsl_vector_const_view_array(weights, rows);
        failed = gsl_multifit_wlinear_tsvd(&a.matrix, &w.vector, &b.vector, alike, &p.vector, &c.matrix, chi_squared,
                                           &rank, work);
    } else {
        failed = gsl_multifit_linear_tsvd(&a.matrix, &b.vector, alike, &p.vector, &c.matrix, chi_squared, &rank, work);
    }
    gsl_multifit_linear_free(work);
    if (failed != 0)
        return cw_fail(err, CW_RANGE, "the fit of %zu unknowns to %zu observations failed: %s", columns, rows,
                       gsl_strerror(failed));
    if (rank < columns)
        return cw_fail(err, CW_RANGE, "%zu observations tell only %zu of %zu unknowns apart", rows, rank, columns);
    if (weights == NULL && rows == columns)
        for (size_t i = 0; i < columns * columns; i++)
            covariance[i] = NAN;
    return CW_OK;
}
