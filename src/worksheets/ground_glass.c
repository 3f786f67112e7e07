/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A ground glass on the rails against the film plane. */
#include <math.h>

#include "optics/focus.h"
#include "worksheets/focus_fields.h"

static const cw_choice rests_choices[] = {
    {"film-rails", "the film rails"}, {"outer-rails", "the outer rails"}, {NULL, NULL}};
static const cw_choice side_choices[] = {{"lens", "the lens"}, {"away", "away from the lens"}, {NULL, NULL}};

static const cw_field inputs[] = {
    CW_FIELD_APERTURE,
    CW_FIELD_CIRCLE,
    CW_PICK("rests-on", "The glass rests on", rests_choices, "film-rails",
            "the inner rails guide the film; the outer ones carry the pressure plate"),
    CW_MAYBE("step", "Outer rails stand behind the film rails by", CW_LENGTH, "mm", 0, 0.01,
             "depth gauge across the rails; needed on the outer rails"),
    CW_PICK("ground-side", "Ground side faces", side_choices, "lens", "it belongs towards the lens"),
    CW_NEED("thickness", "Thickness of the glass", CW_LENGTH, "mm", 0.0001, 0.03, "caliper"),
    CW_USUAL("index", "Index of the glass", CW_PLAIN, NULL, "1.52", 1.3, 2, "1.52 for window glass, 1.49 for acrylic"),
    CW_USUAL("tape", "Tape or paper between glass and rails", CW_LENGTH, "mm", "0 mm", 0, 0.005,
             "thickness of what lies under it"),
    CW_USUAL("film-behind", "Film really lies behind its rails by", CW_LENGTH, "mm", "0 mm", -0.001, 0.001,
             "half the play of the film channel, where it is known"),
};

static const cw_field outputs[] = {
    CW_SHOW("shift", "Image plane shown, behind the film", CW_LENGTH, "mm", 3,
            "positive: the glass shows a plane further from the lens than the film"),
    CW_SHOW("image-shift", "Of it, by looking through the glass", CW_LENGTH, "mm", 3,
            "t (1 - 1/n) towards the lens when the ground side is away"),
    CW_SHOW("allowed", "Allowed either way", CW_LENGTH, "mm", 3, "half the depth of focus, N c"),
    CW_JUDGE("verdict", "Verdict", "against the depth of focus at full aperture"),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double t = cw_in_number(in, "thickness"), shift = cw_in_number(in, "tape") - cw_in_number(in, "film-behind"),
           seen = 0;
    double number = cw_in_number(in, "aperture"), allowed = number * cw_in_number(in, "circle");
    if (cw_in_is(in, "rests-on", "outer-rails")) {
        if (!cw_in_given(in, "step"))
            return cw_fail(err, CW_INPUT,
                           "on the outer rails the glass stands back by the step between the rails; measure it "
                           "and give it as \"step\"");
        shift += cw_in_number(in, "step");
    }
    if (cw_in_is(in, "ground-side", "away")) {
        seen = cw_glass_shift_mm(1000 * t, cw_in_number(in, "index")) / 1000;
        shift += t - seen;
    }
    cw_out_number(out, "shift", shift);
    cw_out_number(out, "image-shift", -seen);
    cw_out_number(out, "allowed", allowed);
    cw_verdict verdict = cw_within(shift, 1e-5, allowed / 4);
    cw_out_verdict(out, "verdict", verdict,
                   "the glass shows a plane %.3f mm %s the film: %s a quarter of the depth of focus at "
                   "f/%.3g",
                   1000 * fabs(shift), shift >= 0 ? "behind" : "before", cw_verdict_word(verdict), number);
    if (verdict != CW_VERDICT_INSIDE)
        cw_out_note(
            out,
            "add %.3f mm, with its sign, to every register error found with this glass, or lay it ground side to the "
            "lens on the film rails",
            1000 * shift);
    return CW_OK;
}

static const char *const cautions[] = {"dust", NULL};
static const char *const sources[] = {
    "plane glass shifts an image by t (1 - 1/n), paraxial: textbook",
    "W. J. Smith, Modern Optical Engineering, eq. 9.8: depth of focus +- N c",
    "a quarter of the depth of focus as the limit for the measuring glass: common practice, no source", NULL};
static const char *const example[] = {"aperture", "2", "thickness", "2 mm", "ground-side", "away", NULL};

extern const cw_worksheet cw_sheet_ground_glass;
const cw_worksheet cw_sheet_ground_glass = {
    .name = "ground-glass",
    .title = "Does the ground glass stand where the film does?",
    .group = "Focus",
    .purpose = "A ground glass on the rails shows the image at its ground side. Laid on other rails, with the ground "
               "side away from the lens or over tape, it shows another plane than the film's: this gives the "
               "difference, to be allowed for or removed.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
