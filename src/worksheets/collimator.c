/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a collimator's own error does on the film. */
#include <math.h>

#include "optics/focus.h"
#include "worksheets/focus_fields.h"

static const cw_choice method_choices[] = {
    {"collimator", "a collimator before the lens"}, {"auto", "auto-collimation with a mirror"}, {NULL, NULL}};

static const cw_field inputs[] = {
    CW_FIELD_FOCAL,
    CW_FIELD_APERTURE,
    CW_FIELD_CIRCLE,
    CW_PICK("method", "How", method_choices, "collimator", ""),
    CW_MAYBE("collimator-focal-length", "Focal length of the collimator", CW_LENGTH, "mm", 0.01, 5,
             "a longer lens than the one tested is better; not used for auto-collimation"),
    CW_USUAL("setting", "Its cross stands off its focus by", CW_LENGTH, "mm", "0.1 mm", -0.02, 0.02,
             "or its uncertainty"),
    CW_MAYBE("set-on", "Or it was set on a target at", CW_LENGTH, "m", 1, 1000000.0,
             "then the cross is off by f^2/distance"),
    CW_MAYBE("seen", "Auto-collimation: sharp return at", CW_LENGTH, "mm", -0.02, 0.02,
             "distance of the sharp return image from the film plane"),
};

static const cw_field outputs[] = {
    CW_SHOW("error", "Error on the film", CW_LENGTH, "mm", 3, "infinity of the camera is set wrong by this"),
    CW_MAY_SHOW("scale", "One division of the cross, on the film", CW_FRACTION, NULL, 3,
                "focal length over collimator focal length"),
    CW_SHOW("allowed", "Allowed either way", CW_LENGTH, "mm", 3, "half the depth of focus, N c"),
    CW_JUDGE("verdict", "Verdict", "against a quarter of the depth of focus"),
};

static cw_status collimator_error(const cw_sheet_in *in, double f, double *error, cw_sheet_out *out, cw_error *err)
{
    double fc = cw_in_number(in, "collimator-focal-length"), off = cw_in_number(in, "setting");
    if (!cw_in_given(in, "collimator-focal-length"))
        return cw_fail(err, CW_INPUT, "give the collimator's focal length");
    if (cw_in_given(in, "set-on")) {
        double d = cw_in_number(in, "set-on");
        if (d <= fc)
            return cw_fail(err, CW_INPUT, "a target at %.2f m is inside the collimator's focal length", d);
        off = fc * fc / (d - fc);
    }
    *error = off * (f / fc) * (f / fc); /* vergence off/fc^2, seen by f as f^2 times that */
    cw_out_number(out, "scale", f / fc);
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double f = cw_in_number(in, "focal-length"), number = cw_in_number(in, "aperture"), error = NAN;
    double allowed = number * cw_in_number(in, "circle");
    if (cw_in_is(in, "method", "collimator")) {
        CW_TRY(collimator_error(in, f, &error, out, err));
    } else {
        if (!cw_in_given(in, "seen"))
            return cw_fail(err, CW_INPUT, "give where the sharp return image stands, as \"seen\"");
        error = cw_in_number(in, "seen") / 2;
    }
    cw_out_number(out, "error", error);
    cw_out_number(out, "allowed", allowed);
    cw_verdict verdict = cw_within(error, 0, allowed / 4);
    cw_out_verdict(out, "verdict", verdict, "%.3f mm on the film, %s a quarter of the depth of focus at f/%.3g",
                   1000 * fabs(error), cw_verdict_word(verdict), number);
    return CW_OK;
}

static const char *const cautions[] = {"laser", NULL};
static const char *const sources[] = {"Newton x x' = f^2 on both lenses: off/fc^2 = error/f^2",
                                      "auto-collimation doubles the error, by reflection: textbook",
                                      "W. J. Smith, Modern Optical Engineering, eq. 9.8: depth of focus +- N c", NULL};
static const char *const example[] = {"focal-length", "50 mm",   "aperture", "2", "collimator-focal-length",
                                      "135 mm",       "setting", "0.1 mm",   NULL};

extern const cw_worksheet cw_sheet_collimator;
const cw_worksheet cw_sheet_collimator = {
    .name = "collimator",
    .title = "Infinity on the bench: collimator and auto-collimation",
    .group = "Focus",
    .purpose = "A lens with a lit cross in its focus makes infinity on the bench. Its own setting error shows on the "
               "film in the square of the focal lengths' ratio; with a mirror and the camera's own light "
               "(auto-collimation) what is seen is twice the error.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
