/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A ground glass on the rails against the film plane. */
#include <math.h>

#include "optics/focus.h"
#include "worksheets/focus_fields.h"
#include "worksheets/worksheet.h"

static const cw_choice rests_choices[] = {
    {"film-rails", "the film rails"}, {"outer-rails", "the outer rails"}, {NULL, NULL}};
static const cw_choice side_choices[] = {{"lens", "the lens"}, {"away", "away from the lens"}, {NULL, NULL}};

static const cw_field inputs[] = {
    CW_FIELD_APERTURE,
    CW_FIELD_CIRCLE,
    {.key = "rests-on",
     .label = "The glass rests on",
     .kind = CW_KIND_CHOICE,
     .fallback = "film-rails",
     .choices = rests_choices,
     .help = "the inner rails guide the film; the outer ones carry the pressure plate"},
    {.key = "step",
     .label = "Outer rails stand behind the film rails by",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .least = 0,
     .most = 0.01,
     .help = "depth gauge across the rails; needed on the outer rails"},
    {.key = "ground-side",
     .label = "Ground side faces",
     .kind = CW_KIND_CHOICE,
     .fallback = "lens",
     .choices = side_choices,
     .help = "it belongs towards the lens"},
    {.key = "thickness",
     .label = "Thickness of the glass",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .required = true,
     .least = 0.0001,
     .most = 0.03,
     .help = "caliper"},
    {.key = "index",
     .label = "Index of the glass",
     .kind = CW_KIND_NUMBER,
     .fallback = "1.52",
     .least = 1.3,
     .most = 2,
     .help = "1.52 for window glass, 1.49 for acrylic"},
    {.key = "tape",
     .label = "Tape or paper between glass and rails",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .fallback = "0 mm",
     .least = 0,
     .most = 0.005,
     .help = "thickness of what lies under it"},
    {.key = "film-behind",
     .label = "Film really lies behind its rails by",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .fallback = "0 mm",
     .least = -0.001,
     .most = 0.001,
     .help = "half the play of the film channel, where it is known"},
};

static const cw_field outputs[] = {
    {.key = "shift",
     .label = "Image plane shown, behind the film",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .required = true,
     .figures = 3,
     .help = "positive: the glass shows a plane further from the lens than the film"},
    {.key = "image-shift",
     .label = "Of it, by looking through the glass",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .required = true,
     .figures = 3,
     .help = "t (1 - 1/n) towards the lens when the ground side is away"},
    {.key = "allowed",
     .label = "Allowed either way",
     .kind = CW_KIND_NUMBER,
     .dimension = CW_LENGTH,
     .unit = "mm",
     .required = true,
     .figures = 3,
     .help = "half the depth of focus, N c"},
    {.key = "verdict",
     .label = "Verdict",
     .kind = CW_KIND_VERDICT,
     .required = true,
     .help = "against the depth of focus at full aperture"},
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
