/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Index from focal length, radii and thickness. */
#include <math.h>

#include "optics/puzzle.h"
#include "worksheets/worksheet.h"

static const cw_field inputs[] = {
    {.key = "front-radius",
     .label = "Front radius",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .least = -10,
     .most = 10,
     .help = "positive: bulges to the front; negative: hollow; empty: flat"},
    {.key = "rear-radius",
     .label = "Rear radius",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .least = -10,
     .most = 10,
     .help = "positive: hollow to the rear; negative: bulges to the rear; empty: flat"},
    {.key = "u-radius",
     .label = "Relative uncertainty of the radii",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_FRACTION,
     .unit = "%",
     .fallback = "0.5 %",
     .least = 0,
     .most = 0.1,
     .help = ""},
    {.key = "thickness",
     .label = "Thickness in the middle",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .required = true,
     .least = 1e-05,
     .most = 0.2,
     .help = ""},
    {.key = "u-thickness",
     .label = "Uncertainty of that",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .fallback = "0.02 mm",
     .least = 0,
     .most = 0.005,
     .help = ""},
    {.key = "focal-length",
     .label = "Focal length",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .required = true,
     .least = -20,
     .most = 20,
     .help = "negative for a diverging element (measure it with a stronger positive one)"},
    {.key = "u-focal-length",
     .label = "Relative uncertainty of that",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_FRACTION,
     .unit = "%",
     .fallback = "1 %",
     .least = 0,
     .most = 0.2,
     .help = ""},
};

static const cw_field outputs[] = {
    {.key = "index",
     .label = "Index",
     .kind = CW_KIND_NUMBER,
     .required = true,
     .figures = 5,
     .help = "at the light used"},
    {.key = "glass",
     .label = "Which is",
     .kind = CW_KIND_TEXT,
     .required = true,
     .help = "by index alone; colour tells more"},
};

static cw_quantity curvature(const cw_sheet_in *in, const char *key)
{
    double c = cw_in_given(in, key) ? 1 / (1000 * cw_in_number(in, key)) : 0;
    return (cw_quantity){c, fabs(c) * cw_in_number(in, "u-radius")};
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    static const char *const keys[] = {"front-radius", "rear-radius", "focal-length"};
    for (size_t i = 0; i < CW_COUNT(keys); i++)
        if (cw_in_given(in, keys[i]) && fabs(cw_in_number(in, keys[i])) < 1e-4)
            return cw_fail(err, CW_INPUT, "\"%s\" is next to zero; leave a flat face empty", keys[i]);
    double f = 1000 * cw_in_number(in, "focal-length");
    cw_quantity t = {1000 * cw_in_number(in, "thickness"), 1000 * cw_in_number(in, "u-thickness")}, n;
    cw_quantity focal = {f, fabs(f) * cw_in_number(in, "u-focal-length")};
    CW_TRY(cw_index_from_focal_length(curvature(in, "front-radius"), curvature(in, "rear-radius"), t, focal, &n, err));
    cw_out_quantity(out, "index", n);
    if (n.value < 1.4 || n.value > 2.1)
        cw_out_text(out, "glass", "no optical glass: check the signs of the radii and the focal length");
    else
        cw_out_text(out, "glass", "%s",
                    n.value < 1.56   ? "a crown, most likely"
                    : n.value < 1.66 ? "a dense crown or a flint: a flint spreads colours about twice as much"
                                     : "a dense flint or a lanthanum (in old lenses thorium) crown");
    cw_out_note(out, "a relative error of the focal length shows in the index as about %.2f of it", n.value - 1);
    return CW_OK;
}

static const char *const cautions[] = {"thoriated", NULL};
static const char *const sources[] = {"thick-lens formula 1/f = (n-1)(c1 - c2 + (n-1) t c1 c2/n): textbook", NULL};
static const char *const example[] = {"front-radius", "37.4 mm",      "rear-radius", "-341.5 mm", "thickness",
                                      "5.9 mm",       "focal-length", "55.3 mm",     NULL};

extern const cw_worksheet cw_sheet_glass_index;
const cw_worksheet cw_sheet_glass_index = {
    .name = "glass-index",
    .title = "Index of an unknown element",
    .group = "Lens",
    .purpose =
        "The refractive index of a single element from its focal length, its two radii and its thickness, with how "
        "well it is known: a first guess at the glass, and what the order search needs when no index is known.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
