/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Turning a loosened focus scale to the truth. */
#include <math.h>

#include "optics/focus.h"
#include "worksheets/focus_fields.h"

static const cw_field inputs[] = {
    CW_FIELD_FOCAL,
    CW_FIELD_FROM,
    CW_NEED("lead", "Lead of the helicoid", CW_LENGTH, "mm", 0.0001, 0.5,
            "axial travel in one full turn; see the helicoid sheet"),
    CW_MAYBE("read", "Scale reads", CW_LENGTH, "m", 0.05, 1000000.0, "with the target sharp; empty = infinity"),
    CW_MAYBE("true", "Target stands at", CW_LENGTH, "m", 0.05, 1000000.0, "empty = infinity"),
    CW_USUAL("u-sharp", "Uncertainty of the sharpest place", CW_LENGTH, "mm", "0.02 mm", 0, 0.01,
             "spread of repeated settings, as travel of the lens"),
};

static const cw_field outputs[] = {
    CW_SHOW("travel", "Lens travel between the two marks", CW_LENGTH, "mm", 3,
            "positive: the scale claims more extension than there is"),
    CW_SHOW("turn", "Turn the scale by", CW_ANGLE, "deg", 3, "on the ring, without moving the helicoid"),
    {.key = "advice", .label = "What to do", .kind = CW_KIND_TEXT, .required = true, .help = "which way"},
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double lead = cw_in_number(in, "lead"), turn = 2 * 3.14159265358979323846 / lead;
    cw_focus_reading r = {.focal_mm = 1000 * cw_in_number(in, "focal-length"),
                          .u_focal_relative = 0.01,
                          .marked_m = cw_distance_or_infinity(in, "read"),
                          .true_m = cw_distance_or_infinity(in, "true"),
                          .u_sharp_mm = 1000 * cw_in_number(in, "u-sharp"),
                          .from_film = cw_in_is(in, "from", "film")};
    cw_quantity e;
    CW_TRY(cw_register_error_mm(&r, &e, err));
    cw_out_quantity(out, "travel", (cw_quantity){e.value / 1000, e.u / 1000});
    cw_out_quantity(out, "turn", (cw_quantity){fabs(e.value) / 1000 * turn, e.u / 1000 * turn});
    if (fabs(e.value) <= 2 * e.u)
        cw_out_text(out, "advice", "the scale is right as well as this can be seen; leave it");
    else
        cw_out_text(out, "advice",
                    "hold the helicoid, loosen the scale ring, and turn it until the %s distance stands at the "
                    "mark; then tighten and look again",
                    e.value > 0 ? "farther" : "nearer");
    return CW_OK;
}

static const char *const sources[] = {"thin-lens formula v = f d/(d - f)", "angle = travel / lead", NULL};
static const char *const example[] = {"focal-length", "50 mm", "lead", "18 mm", "read", "15 m", NULL};

extern const cw_worksheet cw_sheet_focus_scale;
const cw_worksheet cw_sheet_focus_scale = {
    .name = "focus-scale",
    .title = "Set the focus scale again",
    .group = "Focus",
    .purpose = "With the lens sharp on a known target the scale should read that distance. This gives the angle by "
               "which the scale ring, loosened, must be turned on the helicoid so that it does.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
