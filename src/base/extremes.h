/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The least and the most of many values, NaN left out. Four running extremes side by side, which the compiler keeps in
 * vectors: several times as fast as one. */
#ifndef CW_BASE_EXTREMES_H
#define CW_BASE_EXTREMES_H

#include <stddef.h>

enum { CW_SIDE_BY_SIDE = 4 };

/* The most of the n values and of `most`. */
static inline double cw_most_of(size_t n, const double *values, double most)
{
    double part[CW_SIDE_BY_SIDE] = {most, most, most, most};
    size_t i = 0;
    for (; i + CW_SIDE_BY_SIDE <= n; i += CW_SIDE_BY_SIDE) {
#pragma omp simd
        for (size_t j = 0; j < CW_SIDE_BY_SIDE; j++)
            part[j] = values[i + j] > part[j] ? values[i + j] : part[j];
    }
    for (; i < n; i++)
        part[0] = values[i] > part[0] ? values[i] : part[0];
    for (size_t j = 0; j < CW_SIDE_BY_SIDE; j++)
        most = part[j] > most ? part[j] : most;
    return most;
}

/* The least of the n values and of `least`. */
static inline double cw_least_of(size_t n, const double *values, double least)
{
    double part[CW_SIDE_BY_SIDE] = {least, least, least, least};
    size_t i = 0;
    for (; i + CW_SIDE_BY_SIDE <= n; i += CW_SIDE_BY_SIDE) {
#pragma omp simd
        for (size_t j = 0; j < CW_SIDE_BY_SIDE; j++)
            part[j] = values[i + j] < part[j] ? values[i + j] : part[j];
    }
    for (; i < n; i++)
        part[0] = values[i] < part[0] ? values[i] : part[0];
    for (size_t j = 0; j < CW_SIDE_BY_SIDE; j++)
        least = part[j] < least ? part[j] : least;
    return least;
}

#endif
