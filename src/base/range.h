/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The refusal of a size that cannot be used, always in the same words: what it is, what came, what would do. */
#ifndef CW_BASE_RANGE_H
#define CW_BASE_RANGE_H

#include "base/error.h"
#include "base/unit.h"

/* CW_RANGE unless least <= si <= most, all three in SI: "slot width 0 mm; 0.1 mm to 10 mm can be used". NaN is refused.
 * what       the thing's name as it begins a sentence part
 * dimension  with `unit`, a unit of it, what the figures are shown in */
cw_status cw_check_within(const char *what, double si, cw_dimension dimension, const char *unit, double least,
                          double most, cw_error *err) __attribute__((warn_unused_result));

#endif
