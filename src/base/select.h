/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The value that would stand at a place if many were sorted, without sorting them. */
#ifndef CW_BASE_SELECT_H
#define CW_BASE_SELECT_H

#include <stddef.h>

typedef struct {
    double value, weight;
} cw_weighted;

/* The value at place `rank` (0: the least) of n >= 1 finite ones, rank < n. Uses up `values` and `room`, both of n. */
double cw_select(size_t n, double *values, size_t rank, double *room);

/* The least value that, with all below it, holds half of the weight or more; weights of 0 or more, n >= 1. Uses up
 * `items` and `room`, both of n. */
double cw_weighted_median(size_t n, cw_weighted *items, cw_weighted *room);

#endif
