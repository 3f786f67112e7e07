/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An observed target to the register error and its shim. */
#include <math.h>

#include "optics/focus.h"
#include "worksheets/chart.h"
#include "worksheets/focus_fields.h"

static const cw_field inputs[] = {
    CW_FIELD_FOCAL,
    CW_FIELD_APERTURE,
    CW_FIELD_CIRCLE,
    CW_FIELD_FROM,
    CW_MAYBE("marked", "Scale reads", CW_LENGTH, "m", 0.05, 1000000.0,
             "what the focus scale or stop says; empty = infinity"),
    CW_MAYBE("true", "Target really stands at", CW_LENGTH, "m", 0.05, 1000000.0,
             "measured with a tape; empty = infinity"),
    CW_USUAL("u-true", "Uncertainty of the target distance", CW_LENGTH, "m", "0.005 m", 0, 10000.0,
             "one standard deviation; a tape is good to a few millimetres"),
    CW_USUAL("u-sharp", "Uncertainty of the sharpest place, on the film", CW_LENGTH, "mm", "0.02 mm", 0, 0.01,
             "spread of repeated settings, as travel of the lens"),
};

static const cw_field outputs[] = {
    CW_SHOW("error", "Register error", CW_LENGTH, "mm", 3,
            "positive: the lens sits too near the film, add a shim; negative: take away"),
    CW_SHOW("allowed", "Allowed either way", CW_LENGTH, "mm", 3, "half the depth of focus, N c"),
    CW_SHOW("blur", "Blur on the film from it", CW_LENGTH, "mm", 3, "at full aperture"),
    CW_JUDGE("verdict", "Verdict", "against the depth of focus at full aperture"),
    {.key = "infinity",
     .label = "With the scale at infinity",
     .kind = CW_KIND_TEXT,
     .required = true,
     .help = "what is sharp then"},
    {.key = "chart", .label = "Blur on the film", .kind = CW_KIND_DRAWING, .help = "against the register error"},
};

static void tell_infinity(const cw_focus_reading *r, double error_mm, cw_sheet_out *out)
{
    double distance_m;
    cw_error beyond;
    if (cw_subject_distance_m(r->focal_mm, r->focal_mm - error_mm, &distance_m, &beyond) != CW_OK)
        cw_out_text(out, "infinity", "nothing is quite sharp: the lens goes %.2f mm beyond infinity", error_mm);
    else if (isinf(distance_m) || distance_m > 1e5)
        cw_out_text(out, "infinity", "infinity is sharp, as it should be");
    else
        cw_out_text(out, "infinity", "a subject at %.3g m is sharp, not infinity", distance_m);
}

/* Blur against where the film stands: a V about the image, and the film's own place on it. */
static cw_status draw_blur(double error_mm, double number, double circle_mm, cw_sheet_out *out, cw_error *err)
{
    double reach = fmax(2 * number * circle_mm, 1.5 * fabs(error_mm)), film = error_mm,
           blur = cw_blur_mm(error_mm, number);
    const double x[] = {-reach, 0, reach}, y[] = {cw_blur_mm(reach, number), 0, cw_blur_mm(reach, number)};
    const cw_chart_series series[] = {{3, x, y, true, false, CW_LAYER_RAY},
                                      {1, &film, &blur, false, true, CW_LAYER_CUT}};
    const cw_chart chart = {.title = "Blur on the film at full aperture",
                            .description =
                                "Lines: diameter of the blur against how far the image stands from the film. "
                                "Circle: as measured. Dashed: blur still taken as sharp",
                            .x_label = "register error, mm",
                            .y_label = "blur, mm",
                            .series = series,
                            .series_count = CW_COUNT(series),
                            .band = circle_mm,
                            .one_sided = true,
                            .band_label = "still sharp"};
    cw_drawing *drawing;
    CW_TRY(cw_chart_draw(&chart, &drawing, err));
    cw_out_drawing(out, "chart", drawing);
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double number = cw_in_number(in, "aperture");
    double allowed = cw_depth_of_focus_mm(number, 1000 * cw_in_number(in, "circle"));
    cw_focus_reading r = {.focal_mm = 1000 * cw_in_number(in, "focal-length"),
                          .u_focal_relative = 0.01,
                          .marked_m = cw_distance_or_infinity(in, "marked"),
                          .true_m = cw_distance_or_infinity(in, "true"),
                          .u_true_m = cw_in_number(in, "u-true"),
                          .u_sharp_mm = 1000 * cw_in_number(in, "u-sharp"),
                          .from_film = cw_in_is(in, "from", "film")};
    cw_quantity e;
    CW_TRY(cw_register_error_mm(&r, &e, err));
    cw_out_quantity(out, "error", (cw_quantity){e.value / 1000, e.u / 1000});
    cw_out_number(out, "allowed", allowed / 1000);
    cw_out_number(out, "blur", cw_blur_mm(e.value, number) / 1000);
    cw_verdict verdict = cw_within(e.value, e.u, allowed);
    cw_out_verdict(out, "verdict", verdict, "%s %.2f mm of shim; that is %s the depth of focus at f/%.3g",
                   e.value >= 0 ? "add" : "take away", fabs(e.value), cw_verdict_word(verdict), number);
    tell_infinity(&r, e.value, out);
    cw_out_note(out, "the focal length is taken as good to 1 %%; read the scale three times, coming from both sides");
    return draw_blur(e.value, number, 1000 * cw_in_number(in, "circle"), out, err);
}

static const char *const sources[] = {"thin-lens formula v = f d/(d - f)",
                                      "W. J. Smith, Modern Optical Engineering, eq. 9.8: depth of focus +- N c",
                                      "register error = v(marked) - v(true): definition", NULL};
static const char *const example[] = {"focal-length", "50 mm", "aperture", "2", "marked",
                                      "3 m",          "true",  "3.25 m",   NULL};

extern const cw_worksheet cw_sheet_focus_error;
const cw_worksheet cw_sheet_focus_error = {
    .name = "focus-error",
    .title = "How far is the register off?",
    .group = "Focus",
    .purpose = "Sharpens a target of known distance on a ground glass or film laid on the rails, reads the focus "
               "scale, and turns the difference into the shim that puts it right. Leave a distance empty for infinity: "
               "a star, or something beyond the distance that infinity-target gives.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
