/* SPDX-License-Identifier: GPL-3.0-or-later */
/* ISO 286: what to ream and what to turn. */
#include <math.h>
#include <string.h>

#include "worksheets/fields.h"
#include "workshop/limits.h"

static const cw_field inputs[] = {
    CW_NEED("diameter", "Nominal diameter", CW_LENGTH, "mm", 0.1e-3, 0.5, "the round figure both parts are called by"),
    {.key = "fit",
     .label = "Fit",
     .kind = CW_KIND_TEXT,
     .fallback = "H7/p6",
     .help = "hole and shaft: H7/g6 runs, H7/h6 slides by hand, H7/k6 taps in, H7/p6 is pressed; one alone (k5) gives "
             "its limits"},
    CW_MAYBE("hole", "Measured hole", CW_LENGTH, "mm", 0.05e-3, 0.51, "left out: any within the limits"),
    CW_MAYBE("hole-u", "How far that can be off", CW_LENGTH, "um", 1e-7, 0.2e-3,
             "standard uncertainty; left out: 3 um"),
};

static const cw_field outputs[] = {
    CW_MAY_SHOW("hole-least", "Hole from", CW_LENGTH, "mm", 6, "ream or bore between these"),
    CW_MAY_SHOW("hole-most", "Hole to", CW_LENGTH, "mm", 6, ""),
    CW_MAY_SHOW("shaft-least", "Pin from", CW_LENGTH, "mm", 6, "turn or grind between these"),
    CW_MAY_SHOW("shaft-most", "Pin to", CW_LENGTH, "mm", 6, ""),
    CW_MAY_SHOW("hole-upper", "Hole, upper deviation (ES)", CW_LENGTH, "um", 4, "from the nominal size"),
    CW_MAY_SHOW("hole-lower", "Hole, lower deviation (EI)", CW_LENGTH, "um", 4, ""),
    CW_MAY_SHOW("shaft-upper", "Pin, upper deviation (es)", CW_LENGTH, "um", 4, ""),
    CW_MAY_SHOW("shaft-lower", "Pin, lower deviation (ei)", CW_LENGTH, "um", 4, ""),
    CW_MAY_SHOW("play-least", "Least play", CW_LENGTH, "um", 4, "negative: interference"),
    CW_MAY_SHOW("play-most", "Largest play", CW_LENGTH, "um", 4, "negative: interference"),
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

static void show_limits(cw_sheet_out *out, const cw_limits *limits)
{
    static const char *const keys[2][4] = {{"shaft-least", "shaft-most", "shaft-lower", "shaft-upper"},
                                           {"hole-least", "hole-most", "hole-lower", "hole-upper"}};
    const char *const *key = keys[limits->is_hole];
    cw_out_number(out, key[0], limits->nominal_m + limits->lower_m);
    cw_out_number(out, key[1], limits->nominal_m + limits->upper_m);
    cw_out_number(out, key[2], limits->lower_m);
    cw_out_number(out, key[3], limits->upper_m);
}

/* Printed tables give js7 to js11 in whole micrometres. */
static void note_js(cw_sheet_out *out, const cw_limits *limits)
{
    if (fabs(limits->upper_m + limits->lower_m) < 1e-12 && fabs(remainder(limits->upper_m * 1e6, 1)) > 0.1)
        cw_out_note(out, "js is half the tolerance either way, %.4g um; printed tables round it down to %.4g um.",
                    limits->upper_m * 1e6, floor(limits->upper_m * 1e6));
}

static cw_status one_zone(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_limits limits;
    CW_TRY(cw_limits_find(cw_in_number(in, "diameter"), cw_in_text(in, "fit"), &limits, err));
    show_limits(out, &limits);
    note_js(out, &limits);
    cw_out_text(out, "kind", "%s alone", limits.is_hole ? "a hole" : "a shaft");
    cw_out_verdict(out, "hole-in", CW_VERDICT_UNKNOWN, "a fit of hole and shaft is needed for that");
    return CW_OK;
}

static cw_status fit_or_zone(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_fit fit;
    if (strpbrk(cw_in_text(in, "fit"), "/ ") == NULL)
        return one_zone(in, out, err);
    CW_TRY(cw_fit_find(cw_in_number(in, "diameter"), cw_in_text(in, "fit"), &fit, err));
    show_limits(out, &fit.hole);
    show_limits(out, &fit.shaft);
    note_js(out, &fit.hole);
    note_js(out, &fit.shaft);
    cw_out_number(out, "play-least", fit.least_clearance_m);
    cw_out_number(out, "play-most", fit.most_clearance_m);
    cw_out_text(out, "kind", "%s",
                fit.kind == CW_FIT_CLEARANCE      ? "clearance: it turns or slides"
                : fit.kind == CW_FIT_INTERFERENCE ? "interference: it is pressed"
                                                  : "transition: loose or tight by chance; match the parts");
    judge_hole(in, out, &fit);
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_status status = fit_or_zone(in, out, err);
    if (status != CW_OK)
        cw_context(err, "Fit");
    return status;
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
