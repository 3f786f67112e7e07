/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Radius of a lens face by spherometer or chord. */
#include <math.h>

#include "optics/bench_glass.h"
#include "worksheets/fields.h"

static const cw_choice method_choices[] = {{"feet", "spherometer on three feet"},
                                           {"ring", "spherometer on a ring"},
                                           {"chord", "height over a chord"},
                                           {NULL, NULL}};
static const cw_choice face_choices[] = {{"convex", "full (convex)"}, {"concave", "hollow (concave)"}, {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("method", "Measured with", method_choices, "feet", ""),
    CW_PICK("face", "Face", face_choices, "convex", "hollow or full"),
    CW_NEED("height", "Height of the middle", CW_LENGTH, "mm", 1e-07, 0.2,
            "difference of the plunger against a flat, or depth under the chord"),
    CW_USUAL("u-height", "Uncertainty of the height", CW_LENGTH, "mm", "0.005 mm", 0, 0.001,
             "one standard deviation of repeated readings"),
    CW_NEED("span", "Foot to foot, ring diameter, or chord", CW_LENGTH, "mm", 0.0001, 0.5,
            "three feet: side of their triangle; ring: diameter where it touches (inner edge on a full face, outer in "
            "a hollow one)"),
    CW_USUAL("u-span", "Uncertainty of that", CW_LENGTH, "mm", "0.02 mm", 0, 0.005, ""),
    CW_USUAL("ball", "Diameter of the foot balls", CW_LENGTH, "mm", "0 mm", 0, 0.05, "0 for points or a sharp ring"),
};

static const cw_field outputs[] = {
    CW_SHOW("radius", "Radius of curvature", CW_LENGTH, "mm", 3, "positive; a puzzle or lens file wants its sign"),
    CW_SHOW("power", "Power of this face in glass of 1.52", CW_DIOPTRE, "D", 3, "0.52/R"),
    CW_SHOW("relative", "Relative uncertainty", CW_FRACTION, "%", 3,
            "half a per cent is what the order search expects"),
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
