/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A target good enough for infinity. */
#include <math.h>

#include "optics/focus.h"
#include "worksheets/focus_fields.h"

static const cw_field inputs[] = {
    CW_FIELD_FOCAL,
    CW_FIELD_APERTURE,
    CW_FIELD_CIRCLE,
    CW_USUAL("part", "Part of the depth of focus allowed", CW_PLAIN, NULL, "0.25", 0.001, 1,
             "a quarter leaves room for the other errors"),
    CW_MAYBE("distance", "Target at hand", CW_LENGTH, "m", 0.05, 1000000.0, "to see its error; may be left out"),
};

static const cw_field outputs[] = {
    CW_SHOW("needed", "Far enough from", CW_LENGTH, "m", 3, "f + f^2/(part N c)"),
    CW_MAY_SHOW("error", "The target at hand is off by", CW_LENGTH, "mm", 3,
                "set the lens with it and infinity is off by this on the film"),
    {.key = "verdict",
     .label = "Target at hand",
     .kind = CW_KIND_VERDICT,
     .help = "against that part of the depth of focus"},
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double f = 1000 * cw_in_number(in, "focal-length"), number = cw_in_number(in, "aperture"), v;
    double circle = 1000 * cw_in_number(in, "circle"), part = cw_in_number(in, "part");
    cw_out_number(out, "needed", cw_infinity_distance_m(f, number, circle, part));
    if (!cw_in_given(in, "distance"))
        return CW_OK;
    CW_TRY(cw_image_distance_mm(f, cw_in_number(in, "distance"), &v, err));
    cw_out_number(out, "error", (v - f) / 1000);
    cw_verdict verdict = cw_within(v - f, 0, part * number * circle);
    cw_out_verdict(out, "verdict", verdict, "%.3f mm on the film, %s the part allowed", v - f,
                   cw_verdict_word(verdict));
    return CW_OK;
}

static const char *const sources[] = {"thin-lens formula v = f d/(d - f)",
                                      "W. J. Smith, Modern Optical Engineering, eq. 9.8: depth of focus +- N c", NULL};
static const char *const example[] = {"focal-length", "50 mm", "aperture", "2", "distance", "80 m", NULL};

extern const cw_worksheet cw_sheet_infinity_target;
const cw_worksheet cw_sheet_infinity_target = {
    .name = "infinity-target",
    .title = "How far is far enough for infinity?",
    .group = "Focus",
    .purpose = "The distance from which a target is as good as infinity for setting a lens, and what a nearer one "
               "costs. Where nothing stands that far, use a collimator.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
