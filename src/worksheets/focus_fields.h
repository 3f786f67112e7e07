/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fields and small steps the focus sheets share. A distance left out is infinity. */
#ifndef CW_WORKSHEETS_FOCUS_FIELDS_H
#define CW_WORKSHEETS_FOCUS_FIELDS_H

#include <math.h>

#include "worksheets/fields.h"

#define CW_FIELD_FOCAL CW_NEED("focal-length", "Focal length", CW_LENGTH, "mm", 0.003, 2, "as engraved, or measured")
#define CW_FIELD_APERTURE                                                                                              \
    CW_NEED("aperture", "Full aperture (f-number)", CW_PLAIN, NULL, 0.5, 256,                                          \
            "the widest the lens opens: that is where focus errors show")
#define CW_FIELD_CIRCLE                                                                                                \
    CW_USUAL("circle", "Blur still taken as sharp", CW_LENGTH, "mm", "0.03 mm", 1e-6, 1e-3,                            \
             "diameter on the film; 0.03 or 0.033 mm is usual for 24 x 36 mm (common practice)")
#define CW_FIELD_FROM                                                                                                  \
    CW_PICK("from", "Distances are measured from", cw_from_choices, "film", "focus scales count from the film")

static const cw_choice cw_from_choices[] = {{"film", "the film"}, {"lens", "the lens"}, {NULL, NULL}};

/* Metres, INFINITY when the field was left empty. */
static inline double cw_distance_or_infinity(const cw_sheet_in *in, const char *key)
{
    return cw_in_given(in, key) ? cw_in_number(in, key) : INFINITY;
}

/* |error| against its limit, with k = 2. */
static inline cw_verdict cw_within(double error, double u, double limit)
{
    double size = fabs(error);
    if (size + 2 * u <= limit)
        return CW_VERDICT_INSIDE;
    return size - 2 * u > limit ? CW_VERDICT_OUTSIDE : CW_VERDICT_TOO_CLOSE;
}

static inline const char *cw_verdict_word(cw_verdict verdict)
{
    return verdict == CW_VERDICT_INSIDE    ? "inside"
           : verdict == CW_VERDICT_OUTSIDE ? "outside"
           : verdict == CW_VERDICT_UNKNOWN ? "not known"
                                           : "too close to call against";
}

#endif
