/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Radius of a lens face by spherometer or chord. */
#include <math.h>

#include "optics/bench_glass.h"
#include "worksheets/worksheet.h"

static const cw_choice method_choices[] = {{"feet", "spherometer on three feet"},
                                           {"ring", "spherometer on a ring"},
                                           {"chord", "height over a chord"},
                                           {NULL, NULL}};
static const cw_choice face_choices[] = {{"convex", "full (convex)"}, {"concave", "hollow (concave)"}, {NULL, NULL}};

static const cw_field inputs[] = {
    {.key = "method",
     .label = "Measured with",
     .kind = CW_KIND_CHOICE,
     .fallback = "feet",
     .choices = method_choices,
     .help = ""},
    {.key = "face",
     .label = "Face",
     .kind = CW_KIND_CHOICE,
     .fallback = "convex",
     .choices = face_choices,
     .help = "hollow or full"},
    {.key = "height",
     .label = "Height of the middle",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .required = true,
     .least = 1e-07,
     .most = 0.2,
     .help = "difference of the plunger against a flat, or depth under the chord"},
    {.key = "u-height",
     .label = "Uncertainty of the height",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .fallback = "0.005 mm",
     .least = 0,
     .most = 0.001,
     .help = "one standard deviation of repeated readings"},
    {.key = "span",
     .label = "Foot to foot, ring diameter, or chord",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .required = true,
     .least = 0.0001,
     .most = 0.5,
     .help = "three feet: side of their triangle; ring: diameter where it touches (inner edge on a full face, outer in "
             "a hollow one)"},
    {.key = "u-span",
     .label = "Uncertainty of that",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .fallback = "0.02 mm",
     .least = 0,
     .most = 0.005,
     .help = ""},
    {.key = "ball",
     .label = "Diameter of the foot balls",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .fallback = "0 mm",
     .least = 0,
     .most = 0.05,
     .help = "0 for points or a sharp ring"},
};

static const cw_field outputs[] = {
    {.key = "radius",
     .label = "Radius of curvature",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .required = true,
     .figures = 3,
     .help = "positive; a puzzle or lens file wants its sign"},
    {.key = "power",
     .label = "Power of this face in glass of 1.52",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_DIOPTRE,
     .unit = "D",
     .required = true,
     .figures = 3,
     .help = "0.52/R"},
    {.key = "relative",
     .label = "Relative uncertainty",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_FRACTION,
     .unit = "%",
     .required = true,
     .figures = 3,
     .help = "half a per cent is what the order search expects"},
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_quantity h = {1000 * cw_in_number(in, "height"), 1000 * cw_in_number(in, "u-height")}, radius;
    cw_quantity span = {1000 * cw_in_number(in, "span"), 1000 * cw_in_number(in, "u-span")};
    cw_quantity half = {span.value / 2, span.u / 2}, ball = {500 * cw_in_number(in, "ball"), 0};
    bool feet = cw_in_is(in, "method", "feet"), chord = cw_in_is(in, "method", "chord");
    if (chord)
        CW_TRY(cw_radius_by_chord(span, h, &radius, err));
    else
        CW_TRY(cw_radius_by_spherometer(feet ? cw_foot_circle_mm(span) : half, h, ball, cw_in_is(in, "face", "convex"),
                                        &radius, err));
    cw_out_quantity(out, "radius", (cw_quantity){radius.value / 1000, radius.u / 1000});
    double power = 520 / radius.value;
    cw_out_quantity(out, "power",
                    (cw_quantity){cw_in_is(in, "face", "convex") ? power : -power, power * radius.u / radius.value});
    cw_out_number(out, "relative", radius.u / radius.value);
    if (radius.u / radius.value > 0.01)
        cw_out_note(out, "that is coarse: use a wider foot circle or a finer gauge, and read it several times");
    return CW_OK;
}

static const char *const cautions[] = {"thoriated", NULL};
static const char *const sources[] = {
    "R = (r^2 + h^2)/(2 h) less or plus the ball radius; R = s^2/(8 h) + h/2: geometry of the circle", NULL};
static const char *const example[] = {"method", "feet",  "face", "convex", "height", "1.284 mm",
                                      "span",   "30 mm", "ball", "3 mm",   NULL};

extern const cw_worksheet cw_sheet_face_radius;
const cw_worksheet cw_sheet_face_radius = {
    .name = "face-radius",
    .title = "Radius of a glass face",
    .group = "Lens",
    .purpose = "The radius of curvature of a lens face from a spherometer (three feet or a ring and a plunger), or "
               "from the height over a straight edge or chord. Glass radii are where the order of loose elements is "
               "decided: take each three times.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
