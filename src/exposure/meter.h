/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A light meter against a reference at several light levels. */
#ifndef CW_EXPOSURE_METER_H
#define CW_EXPOSURE_METER_H

#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"

enum { CW_METER_POINTS_MOST = 32, CW_METER_ADVICE = 480 };

/* Both readings as light values, EV at ISO 100. */
typedef struct {
    cw_quantity reference; /* .u of the reference at this level, > 0 */
    double shown;
} cw_meter_point;

typedef enum { CW_METER_GOOD, CW_METER_OFFSET, CW_METER_SLOPE, CW_METER_CURVED } cw_meter_fault;

typedef struct {
    /* Exposure errors, + = more light on the film: the meter shows less light than there is. */
    double error_ev[CW_METER_POINTS_MOST], u_error_ev[CW_METER_POINTS_MOST];
    double middle_ev;      /* mean of the reference levels */
    cw_quantity offset_ev; /* exposure error at middle_ev */
    cw_quantity slope;     /* shown EV per true EV; 1 is right; NaN with one level */
    cw_quantity
        linearity_ev; /* largest departure from the straight line, and its u; NaN with fewer than three levels */
    double linearity_at_ev;
    double worst_ev, worst_at_ev; /* largest exposure error of the points */
    cw_meter_fault fault;
    char advice[CW_METER_ADVICE]; /* general terms, for any meter */
} cw_meter_result;

/* n         1 to CW_METER_POINTS_MOST levels
 * limit_ev  what counts as right, > 0; 1/3 is usual (common practice, no source)
 * u_shown   standard uncertainty of reading the meter itself, EV; > 0 (a sixth of a stop for a needle)
 * CW_RANGE  no points, a level outside -10 to 25 EV, an uncertainty that is not positive
 *
 * A weighted line; where the points scatter more than their uncertainties say, its covariance is raised by the scatter
 * (JCGM 100, E.5 in spirit; the ratio of Birge). A fault is named only where it is larger than its k = 2 interval. */
cw_status cw_meter_check(size_t n, const cw_meter_point *points, double u_shown, double limit_ev,
                         cw_meter_result *result, cw_error *err) __attribute__((warn_unused_result));

#endif
