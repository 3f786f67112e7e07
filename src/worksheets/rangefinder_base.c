/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Effective base length against what a lens needs. */
#include <math.h>

#include "optics/rangefinder.h"
#include "worksheets/focus_fields.h"

static const cw_field inputs[] = {
    CW_FIELD_FOCAL,
    CW_FIELD_APERTURE,
    CW_FIELD_CIRCLE,
    CW_NEED("base", "Base", CW_LENGTH, "mm", 0.003, 1, "between the middles of the two windows"),
    CW_USUAL("magnification", "Magnification of the finder", CW_PLAIN, NULL, "1", 0.1, 10,
             "1 is life size; with a magnifier its factor times that"),
    CW_USUAL("acuity", "The eye aligns to", CW_ANGLE, "arcmin", "1 arcmin", 1e-05, 0.01,
             "one minute is usual for a coincident image, half for a split one (from memory)"),
};

static const cw_field outputs[] = {
    CW_SHOW("effective", "Effective base", CW_LENGTH, "mm", 3, "base x magnification"),
    CW_SHOW("needed", "Needed by this lens", CW_LENGTH, "mm", 3, "f^2 x angle / (N c)"),
    CW_SHOW("film-error", "Setting error on the film", CW_LENGTH, "mm", 3, "what one alignment is good to, far away"),
    CW_JUDGE("verdict", "Verdict", ""),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    (void)err;
    double f = 1000 * cw_in_number(in, "focal-length"), number = cw_in_number(in, "aperture");
    double circle = 1000 * cw_in_number(in, "circle"), acuity = cw_in_number(in, "acuity");
    double base = cw_effective_base_mm(1000 * cw_in_number(in, "base"), cw_in_number(in, "magnification"));
    double needed = cw_base_needed_mm(f, number, circle, acuity), film = f * f * acuity / base;
    cw_out_number(out, "effective", base / 1000);
    cw_out_number(out, "needed", needed / 1000);
    cw_out_number(out, "film-error", film / 1000);
    cw_verdict v = base >= needed ? CW_VERDICT_INSIDE : CW_VERDICT_OUTSIDE;
    cw_out_verdict(out, "verdict", v, "%.1f mm of effective base, %.1f mm needed at f/%.3g: %s", base, needed, number,
                   base >= needed ? "long enough" : "too short at full aperture; stop down or trust the ground glass");
    return CW_OK;
}

static const char *const sources[] = {"f^2 x angle/(N c): geometry of the range triangle and the thin lens",
                                      "acuity: from memory", NULL};
static const char *const example[] = {"focal-length", "50 mm",         "aperture", "1.5", "base",
                                      "38 mm",        "magnification", "0.6",      NULL};

extern const cw_worksheet cw_sheet_rangefinder_base;
const cw_worksheet cw_sheet_rangefinder_base = {
    .name = "rangefinder-base",
    .title = "Is the rangefinder long enough for this lens?",
    .group = "Focus",
    .purpose = "The base between the two windows times the finder magnification must be long enough for the lens's "
               "depth of focus, or the eye cannot set it finely enough however well it is adjusted.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
