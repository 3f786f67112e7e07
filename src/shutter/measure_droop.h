/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What one high-pass pole leaves in a channel, from its blocks: y' = x' - (y - rest) / tau. */
#ifndef CW_SHUTTER_MEASURE_DROOP_H
#define CW_SHUTTER_MEASURE_DROOP_H

#include "base/error.h"
#include "base/quantity.h"
#include "signal/overview.h"

/* Values of one quantity, each with its own uncertainty. Starts as zeros. */
typedef struct {
    double sum, squares, weight;
    size_t count;
} cw_pool;

void cw_pool_add(cw_pool *pool, cw_quantity q);
/* Weighted mean, its u widened by the Birge ratio; 0 and infinity when nothing was added. */
cw_quantity cw_pool_mean(const cw_pool *pool);

/* The level a channel settles on and the rate at which it does, near 0 for a DC-coupled one; where that is nothing that
 * droops, `rest` is the level it was begun with. */
typedef struct {
    double rate, rest;
} cw_droop;

/* The rate and the level that make the restored signal move least in all. `level`: near rest; `span`: of the samples.
 */
cw_status cw_droop_roughly(const cw_overview *overview, size_t channel, double level, double span, cw_droop *droop,
                           cw_error *err) __attribute__((warn_unused_result));

/* From the stretches between the moves of the light, which *droop restores well enough to see them: adds what each says
 * of the rate to `runs`, and settles droop->rest, to which all of them fall whatever the light was. Recordings that
 * begin or end in the light have no other rest: their mean is off by what is missing. `noise`: the range of samples
 * over which nothing happens. */
cw_status cw_droop_of_stretches(const cw_overview *overview, size_t channel, double span, double noise, cw_droop *droop,
                                cw_pool *runs, cw_error *err) __attribute__((warn_unused_result));

#endif
