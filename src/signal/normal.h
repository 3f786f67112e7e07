/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Least squares of a few unknowns. In line, so that the loops are laid out for the number of unknowns of each caller.
 */
#ifndef CW_SIGNAL_NORMAL_H
#define CW_SIGNAL_NORMAL_H

#include <math.h>
#include <stdbool.h>

/* Solves normal equations of `n` unknowns by Cholesky's factors. Row r of `a` begins at a[r * stride]; the lower
 * triangle holds the matrix, well scaled, and the last of the `stride` columns the right side. Afterwards it holds the
 * factor there and the right side divided by it, whose squares sum to what the fit explains. False when the unknowns
 * cannot be told apart. */
static inline bool cw_normal_solve(int n, int stride, double *a, double *p)
{
    int right = stride - 1;
    for (int r = 0; r < n; r++) {
        double *row = a + r * stride;
        for (int c = 0; c <= r; c++) {
            const double *other = a + c * stride;
            double sum = row[c];
            for (int k = 0; k < c; k++)
                sum -= row[k] * other[k];
            if (r == c && !(sum > 1e-9 * row[r]))
                return false;
            row[c] = r == c ? sqrt(sum) : sum / other[c];
        }
        for (int k = 0; k < r; k++)
            row[right] -= row[k] * a[k * stride + right];
        row[right] /= row[r];
    }
    for (int r = n - 1; r >= 0; r--) {
        p[r] = a[r * stride + right];
        for (int k = r + 1; k < n; k++)
            p[r] -= a[k * stride + r] * p[k];
        p[r] /= a[r * stride + r];
    }
    return true;
}

#endif
