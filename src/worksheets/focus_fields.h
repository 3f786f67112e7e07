/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fields and small steps the focus sheets share. A distance left out is infinity. */
#ifndef CW_WORKSHEETS_FOCUS_FIELDS_H
#define CW_WORKSHEETS_FOCUS_FIELDS_H

#include <math.h>

#include "worksheets/worksheet.h"

#define CW_FIELD_FOCAL                                                                                                 \
    {                                                                                                                  \
        .key = "focal-length", .label = "Focal length", .kind = CW_KIND_NUMBER, .dimension = CW_LENGTH, .unit = "mm",  \
        .required = true, .least = 0.003, .most = 2, .help = "as engraved, or measured"                                \
    }
#define CW_FIELD_APERTURE                                                                                              \
    {                                                                                                                  \
        .key = "aperture", .label = "Full aperture (f-number)", .kind = CW_KIND_NUMBER, .required = true,              \
        .least = 0.5, .most = 256, .help = "the widest the lens opens: that is where focus errors show"                \
    }
#define CW_FIELD_CIRCLE                                                                                                \
    {                                                                                                                  \
        .key = "circle", .label = "Blur still taken as sharp", .kind = CW_KIND_NUMBER, .dimension = CW_LENGTH,         \
        .unit = "mm", .fallback = "0.03 mm", .least = 1e-6, .most = 1e-3,                                              \
        .help = "diameter on the film; 0.03 or 0.033 mm is usual for 24 x 36 mm (common practice)"                     \
    }
#define CW_FIELD_FROM                                                                                                  \
    {                                                                                                                  \
        .key = "from", .label = "Distances are measured from", .kind = CW_KIND_CHOICE, .fallback = "film",             \
        .choices = cw_from_choices, .help = "focus scales count from the film"                                         \
    }

static const cw_choice cw_from_choices[] = {{"film", "the film"}, {"lens", "the lens"}, {NULL, NULL}};

/* Metres, INFINITY when the field was left empty. */
static inline double cw_distance_or_infinity(const cw_sheet_in *in, const char *key)
{
    return cw_in_given(in, key) ? cw_in_number(in, key) : INFINITY;
}

static inline double cw_number_or(const cw_sheet_in *in, const char *key, double otherwise)
{
    return cw_in_given(in, key) ? cw_in_number(in, key) : otherwise;
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
