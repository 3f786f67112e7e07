/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reflex screen against film plane. */
#include <math.h>

#include "optics/focus.h"
#include "worksheets/focus_fields.h"

static const cw_field inputs[] = {
    CW_FIELD_FOCAL,
    CW_FIELD_APERTURE,
    CW_FIELD_CIRCLE,
    CW_FIELD_FROM,
    CW_MAYBE("screen", "Scale when the screen is sharp", CW_LENGTH, "m", 0.05, 1000000.0, "empty = infinity"),
    CW_MAYBE("film", "Scale when the film plane is sharp", CW_LENGTH, "m", 0.05, 1000000.0,
             "same target, same place; empty = infinity"),
    CW_USUAL("u-sharp", "Uncertainty of each sharpest place", CW_LENGTH, "mm", "0.02 mm", 0, 0.01,
             "spread of repeated settings, as travel of the lens"),
};

static const cw_field outputs[] = {
    CW_SHOW("shift", "Screen stands too far by", CW_LENGTH, "mm", 3, "along the light path; negative: too near"),
    CW_SHOW("allowed", "Allowed either way", CW_LENGTH, "mm", 3, "half the depth of focus, N c"),
    CW_JUDGE("verdict", "Verdict", "against the depth of focus at full aperture"),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double number = cw_in_number(in, "aperture"), allowed = 1000 * number * cw_in_number(in, "circle");
    cw_focus_reading r = {.focal_mm = 1000 * cw_in_number(in, "focal-length"),
                          .u_focal_relative = 0.01,
                          .marked_m = cw_distance_or_infinity(in, "film"),
                          .true_m = cw_distance_or_infinity(in, "screen"),
                          .u_sharp_mm = sqrt(2) * 1000 * cw_in_number(in, "u-sharp"),
                          .from_film = cw_in_is(in, "from", "film")};
    cw_quantity e; /* the path to the screen less the path to the film = v(film) - v(screen) */
    CW_TRY(cw_register_error_mm(&r, &e, err));
    cw_out_quantity(out, "shift", (cw_quantity){e.value / 1000, e.u / 1000});
    cw_out_number(out, "allowed", allowed / 1000);
    cw_verdict verdict = cw_within(e.value, e.u, allowed);
    cw_out_verdict(out, "verdict", verdict,
                   "bring the screen %.2f mm %s; the difference is %s the depth of focus at f/%.3g", fabs(e.value),
                   e.value >= 0 ? "nearer to the mirror" : "further from the mirror", cw_verdict_word(verdict), number);
    cw_out_note(
        out,
        "look at the mirror's rest first: a mirror that does not come down to 45 degrees moves the picture as well "
        "as the focus");
    return CW_OK;
}

static const char *const sources[] = {"thin-lens formula v = f d/(d - f)",
                                      "W. J. Smith, Modern Optical Engineering, eq. 9.8: depth of focus +- N c", NULL};
static const char *const example[] = {"focal-length", "50 mm", "aperture", "1.8", "screen",
                                      "2 m",          "film",  "2.05 m",   NULL};

extern const cw_worksheet cw_sheet_finder_screen;
const cw_worksheet cw_sheet_finder_screen = {
    .name = "finder-screen",
    .title = "Does the finder screen agree with the film?",
    .group = "Focus",
    .purpose = "In a reflex the screen must stand as far from the lens, by way of the mirror, as the film. Sharpen one "
               "target on the screen, then on a ground glass in the film plane, and read the scale both times.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
