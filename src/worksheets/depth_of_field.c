/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Depth of field and hyperfocal distance. */
#include <math.h>

#include "optics/focus.h"
#include "worksheets/focus_fields.h"

static const cw_field inputs[] = {
    CW_FIELD_FOCAL,
    CW_NEED("aperture", "Aperture (f-number)", CW_PLAIN, NULL, 0.5, 256, "the one set"),
    CW_FIELD_CIRCLE,
    CW_MAYBE("distance", "Focused at", CW_LENGTH, "m", 0.02, 1000000.0, "from the lens; empty = infinity"),
};

static const cw_field outputs[] = {
    CW_SHOW("near", "Near limit", CW_LENGTH, "m", 3, "sharp from here"),
    {.key = "far", .label = "Far limit", .kind = CW_KIND_TEXT, .required = true, .help = "sharp to here"},
    CW_SHOW("hyperfocal", "Hyperfocal distance", CW_LENGTH, "m", 4,
            "f^2/(N c) + f: focused here, sharp from half of it to infinity"),
    CW_SHOW("hyperfocal-short", "The same as many tables print it", CW_LENGTH, "m", 4,
            "f^2/(N c), one focal length less"),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_depth_of_field d;
    CW_TRY(cw_depth_of_field_m(1000 * cw_in_number(in, "focal-length"), cw_in_number(in, "aperture"),
                               1000 * cw_in_number(in, "circle"), cw_distance_or_infinity(in, "distance"), &d, err));
    cw_out_number(out, "near", d.near_m);
    if (isinf(d.far_m))
        cw_out_text(out, "far", "infinity");
    else
        cw_out_text(out, "far", "%.4g m", d.far_m);
    cw_out_number(out, "hyperfocal", d.hyperfocal_m);
    cw_out_number(out, "hyperfocal-short", d.hyperfocal_short_m);
    return CW_OK;
}

static const char *const sources[] = {
    "W. J. Smith, Modern Optical Engineering, eq. 9.9 to 9.11; here the exact thin-lens form", NULL};
static const char *const example[] = {"focal-length", "50 mm", "aperture", "8", "distance", "5 m", NULL};

extern const cw_worksheet cw_sheet_depth_of_field;
const cw_worksheet cw_sheet_depth_of_field = {
    .name = "depth-of-field",
    .title = "What is sharp from here to there?",
    .group = "Focus",
    .purpose = "Near and far limit of sharpness and the hyperfocal distance, to check a depth scale or to choose test "
               "distances.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
