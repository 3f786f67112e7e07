/* SPDX-License-Identifier: GPL-3.0-or-later */
/* ISO 286: what to ream and what to turn. */
#include <math.h>

#include "worksheets/fields.h"
#include "workshop/limits.h"

static const cw_field inputs[] = {
    CW_NEED("diameter", "Nominal diameter", CW_LENGTH, "mm", 0.1e-3, 0.120,
            "the round figure both parts are called by"),
    {.key = "fit",
     .label = "Fit",
     .kind = CW_KIND_TEXT,
     .fallback = "H7/p6",
     .help = "hole and shaft: H7/g6 runs, H7/h6 slides by hand, H7/k6 taps in, H7/p6 is pressed"},
    CW_MAYBE("hole", "Measured hole", CW_LENGTH, "mm", 0.05e-3, 0.13, "left out: any within the limits"),
    CW_MAYBE("hole-u", "How far that can be off", CW_LENGTH, "um", 1e-7, 0.2e-3,
             "standard uncertainty; left out: 3 um"),
};

static const cw_field outputs[] = {
    CW_SHOW("hole-least", "Hole from", CW_LENGTH, "mm", 6, "ream or bore between these"),
    CW_SHOW("hole-most", "to", CW_LENGTH, "mm", 6, ""),
    CW_SHOW("shaft-least", "Pin from", CW_LENGTH, "mm", 6, "turn or grind between these"),
    CW_SHOW("shaft-most", "Pin to", CW_LENGTH, "mm", 6, ""),
    CW_SHOW("play-least", "Least play", CW_LENGTH, "um", 4, "negative: interference"),
    CW_SHOW("play-most", "Largest play", CW_LENGTH, "um", 4, ""),
    CW_SAY("kind", "Kind of fit", ""),
    CW_MAY_SHOW("for-hole-least", "For the measured hole: pin from", CW_LENGTH, "mm", 6, "keeps the same play"),
    CW_MAY_SHOW("for-hole-most", "For the measured hole: pin to", CW_LENGTH, "mm", 6, ""),
    CW_JUDGE("hole-in", "Is the measured hole within its limits?", ""),
};

static void judge_hole(const cw_sheet_in *in, cw_sheet_out *out, const cw_fit *fit)
{
    double hole = cw_in_number(in, "hole"), nominal = fit->hole.nominal_m, u = cw_in_or(in, "hole-u", 3e-6);
    if (isnan(hole)) {
        cw_out_verdict(out, "hole-in", CW_VERDICT_UNKNOWN, "no hole was measured");
        return;
    }
    double least = nominal + fit->hole.lower_m, most = nominal + fit->hole.upper_m;
    double inside = fmin(hole - least, most - hole);
    cw_verdict verdict = fabs(inside) <= 2 * u ? CW_VERDICT_TOO_CLOSE
                         : inside > 0          ? CW_VERDICT_INSIDE
                                               : CW_VERDICT_OUTSIDE;
    cw_out_verdict(out, "hole-in", verdict, "%.4f mm against %.4f to %.4f mm", hole * 1e3, least * 1e3, most * 1e3);
    /* the pin that gives the middle of the fit's play in this hole, with the shaft's own tolerance around it */
    double middle = hole - (fit->least_clearance_m + fit->most_clearance_m) / 2,
           half = (fit->shaft.upper_m - fit->shaft.lower_m) / 2;
    cw_out_quantity(out, "for-hole-least", (cw_quantity){middle - half, u});
    cw_out_quantity(out, "for-hole-most", (cw_quantity){middle + half, u});
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_fit fit;
    CW_TRY(cw_fit_find(cw_in_number(in, "diameter"), cw_in_text(in, "fit"), &fit, err));
    double nominal = fit.hole.nominal_m;
    cw_out_number(out, "hole-least", nominal + fit.hole.lower_m);
    cw_out_number(out, "hole-most", nominal + fit.hole.upper_m);
    cw_out_number(out, "shaft-least", nominal + fit.shaft.lower_m);
    cw_out_number(out, "shaft-most", nominal + fit.shaft.upper_m);
    cw_out_number(out, "play-least", fit.least_clearance_m);
    cw_out_number(out, "play-most", fit.most_clearance_m);
    cw_out_text(out, "kind", "%s",
                fit.kind == CW_FIT_CLEARANCE      ? "clearance: it turns or slides"
                : fit.kind == CW_FIT_INTERFERENCE ? "interference: it is pressed"
                                                  : "transition: loose or tight by chance; match the parts");
    judge_hole(in, out, &fit);
    return CW_OK;
}

static const char *const sources[] = {
    "ISO 286-1 and 286-2; rows seen in JIS B 0401 (1999) and an extract of DIN ISO 286-2, the rest from memory", NULL};
static const char *const example[] = {"diameter", "2mm", "fit", "H7/p6", "hole", "2.013mm", NULL};

extern const cw_worksheet cw_sheet_fit;
const cw_worksheet cw_sheet_fit = {
    .name = "fit",
    .title = "Limits and fits: what to ream, what to turn",
    .group = "Parts",
    .purpose = "For a pin, a bush or a pivot: the limits of hole and shaft by ISO 286, the play they leave, and the "
               "pin that suits a hole that is already there.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
