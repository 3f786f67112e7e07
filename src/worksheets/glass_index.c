/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Index from focal length, radii and thickness. */
#include <math.h>

#include "optics/puzzle.h"
#include "worksheets/fields.h"

static const cw_field inputs[] = {
    CW_MAYBE("front-radius", "Front radius", CW_LENGTH, "mm", -10, 10,
             "positive: bulges to the front; negative: hollow; empty: flat"),
    CW_MAYBE("rear-radius", "Rear radius", CW_LENGTH, "mm", -10, 10,
             "positive: hollow to the rear; negative: bulges to the rear; empty: flat"),
    CW_USUAL("u-radius", "Relative uncertainty of the radii", CW_FRACTION, "%", "0.5 %", 0, 0.1, ""),
    CW_NEED("thickness", "Thickness in the middle", CW_LENGTH, "mm", 1e-05, 0.2, ""),
    CW_USUAL("u-thickness", "Uncertainty of that", CW_LENGTH, "mm", "0.02 mm", 0, 0.005, ""),
    CW_NEED("focal-length", "Focal length", CW_LENGTH, "mm", -20, 20,
            "negative for a diverging element (measure it with a stronger positive one)"),
    CW_USUAL("u-focal-length", "Relative uncertainty of that", CW_FRACTION, "%", "1 %", 0, 0.2, ""),
};

static const cw_field outputs[] = {
    CW_SHOW("index", "Index", CW_PLAIN, NULL, 5, "at the light used"),
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
