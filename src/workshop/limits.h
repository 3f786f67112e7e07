/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Limits and fits of ISO 286 up to 500 mm: what to ream, what to turn.
 *
 * Standard tolerance grades IT1 to IT18 and fundamental deviations by the size steps of ISO 286-1, from memory; the
 * rows tests/workshop/limits.c quotes from JIS B 0401 and DIN ISO 286-2 agree, and the grades agree with the formula of
 * the standard (i = 0.45 D^(1/3) + 0.001 D) to its rounding, and so do the deviations with theirs. Holes above H follow
 * the rule ES = -ei + IT(n) - IT(n-1).
 */
#ifndef CW_WORKSHOP_LIMITS_H
#define CW_WORKSHOP_LIMITS_H

#include <stdbool.h>

#include "base/error.h"

/* Deviations from the nominal size, in metres (the tables print micrometres). */
typedef struct {
    bool is_hole;
    double nominal_m;
    double upper_m, lower_m; /* deviations; upper > lower */
} cw_limits;

/* nominal_m   0.1 mm to 500 mm
 * zone        letter and grade: shafts a b c cd d e ef f fg g h js j k m n p r s t u v x y z za zb zc, holes in
 *             capitals; grades 1 to 18. js is exactly half the tolerance either way; printed tables round js7 to js11
 *             down to whole micrometres.
 * CW_INPUT    a zone that is not read, or that the standard does not give at that size; CW_RANGE a size outside */
cw_status cw_limits_find(double nominal_m, const char *zone, cw_limits *limits, cw_error *err)
    __attribute__((warn_unused_result));

/* Standard tolerance IT of a grade 1 to 18, in metres; NaN outside the table. */
double cw_limits_grade_m(double nominal_m, int grade);

typedef enum { CW_FIT_CLEARANCE, CW_FIT_TRANSITION, CW_FIT_INTERFERENCE } cw_fit_kind;

typedef struct {
    cw_limits hole, shaft;
    double most_clearance_m, least_clearance_m; /* negative: interference */
    cw_fit_kind kind;
} cw_fit;

/* "H7/p6", as written on a drawing, or "H7 p6". */
cw_status cw_fit_find(double nominal_m, const char *fit_name, cw_fit *fit, cw_error *err)
    __attribute__((warn_unused_result));

#endif
