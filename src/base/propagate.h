/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The uncertainty of a result from those of its inputs, by the law of JCGM 100:2008, 5.1.2, with the sensitivities
 * taken as half the change between each input raised and lowered by its standard uncertainty (5.1.3, note 2). */
#ifndef CW_BASE_PROPAGATE_H
#define CW_BASE_PROPAGATE_H

#include <stddef.h>

#include "base/quantity.h"

enum { CW_PROPAGATE_MOST = 24 };

/* The result for one set of input values; NaN where it cannot be computed. */
typedef double (*cw_model)(const double *values, const void *context);

/* inputs     up to CW_PROPAGATE_MOST independent quantities; .u 0 = exact, NaN = not known (then the result's u is NaN)
 * returns    the model at the input values, and its standard uncertainty. Where one side of an input cannot be
 *            computed, the one-sided change is taken; where neither can, u is NaN. */
cw_quantity cw_propagate(size_t count, const cw_quantity *inputs, cw_model model, const void *context);

#endif
