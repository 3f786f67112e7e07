/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Module or diametral pitch from outside diameter and teeth. */
#include <math.h>

#include "worksheets/fields.h"
#include "workshop/gear.h"

static const cw_field inputs[] = {
    CW_NEED("outside", "Outside diameter", CW_LENGTH, "mm", 0.5e-3, 2,
            "over the tips; with an odd number of teeth turn it for the largest reading"),
    CW_USUAL("outside-u", "How far it can be off", CW_LENGTH, "mm", "0.02 mm", 1e-6, 2e-3, "standard uncertainty"),
    CW_NEED_COUNT("teeth", "Teeth", 6, 400, "counted, missing ones too"),
    CW_MAYBE("centre", "Centre distance to its partner", CW_LENGTH, "mm", 1e-3, 5, "a second way to the module"),
    CW_USUAL("centre-u", "How far that can be off", CW_LENGTH, "mm", "0.05 mm", 1e-6, 2e-3, "standard uncertainty"),
    CW_MAYBE_COUNT("partner-teeth", "Teeth of the partner", 6, 400, ""),
};

static const cw_field size_columns[] = {
    CW_SAY("size", "Size", ""),
    CW_MAY_SHOW("probability", "Chance", CW_FRACTION, "%", 2, ""),
    CW_MAY_SHOW("module", "Module", CW_LENGTH, "mm", 4, ""),
    CW_MAY_SHOW("outside", "Would measure", CW_LENGTH, "mm", 5, "with standard teeth"),
    CW_MAY_SHOW("shift", "Or profile shift", CW_PLAIN, NULL, 2, "x, if it is this size after all"),
};

static const cw_field outputs[] = {
    CW_SHOW("module", "Module by the diameter", CW_LENGTH, "mm", 4, "outside diameter over teeth + 2"),
    CW_MAY_SHOW("module-centre", "Module by the centre distance", CW_LENGTH, "mm", 4,
                "twice the distance over all teeth; shifts cancel or hide here"),
    CW_TABLE("sizes", "It could be", size_columns, "likeliest first"),
    CW_SHOW("none", "None of the listed", CW_FRACTION, "%", 2, "shifted, stub or clock teeth"),
    CW_JUDGE("agree", "Do both ways agree?", "at k = 2"),
};

static void by_centre(const cw_sheet_in *in, cw_sheet_out *out, cw_quantity module, int teeth)
{
    double centre = cw_in_number(in, "centre"), partner = cw_in_number(in, "partner-teeth");
    if (isnan(centre) || isnan(partner)) {
        cw_out_verdict(out, "agree", CW_VERDICT_UNKNOWN, "give centre distance and partner's teeth for a second way");
        return;
    }
    double both = teeth + partner;
    cw_quantity second = {2 * centre / both, 2 * cw_in_number(in, "centre-u") / both};
    cw_out_quantity(out, "module-centre", second);
    double apart = fabs(second.value - module.value), u = hypot(second.u, module.u);
    cw_out_verdict(out, "agree", apart <= 2 * u ? CW_VERDICT_INSIDE : CW_VERDICT_OUTSIDE,
                   apart <= 2 * u
                       ? "standard teeth are likely"
                       : "the gear has a profile shift or stub teeth, the tips are worn, or the count is wrong");
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    int teeth = (int)cw_in_number(in, "teeth");
    cw_gear_identity id;
    CW_TRY(
        cw_gear_identify((cw_quantity){cw_in_number(in, "outside"), cw_in_number(in, "outside-u")}, teeth, &id, err));
    cw_out_quantity(out, "module", id.module_m);
    for (size_t i = 0; i < id.size_count; i++) {
        const cw_gear_size *s = &id.sizes[i];
        size_t row = cw_out_row(out, "sizes");
        if (s->is_diametral)
            cw_out_cell_text(out, "sizes", row, "size", "%g to the inch (DP)", s->pitch);
        else
            cw_out_cell_text(out, "sizes", row, "size", "module %g", s->module_m * 1e3);
        cw_out_cell_number(out, "sizes", row, "probability", s->probability);
        cw_out_cell_number(out, "sizes", row, "module", s->module_m);
        cw_out_cell_number(out, "sizes", row, "outside", s->outside_m);
        cw_out_cell_number(out, "sizes", row, "shift", s->profile_shift);
    }
    cw_out_number(out, "none", id.none_probability);
    by_centre(in, out, id.module_m, teeth);
    return CW_OK;
}

static const char *const sources[] = {
    "outside diameter m (z + 2): ISO 53/54; metrication.com, \"Metric gears\"",
    "list of modules (ISO 54) and diametral pitches: from memory",
    "tips turned up to 0.04 m small, one gear in five not standard: common practice, no source", NULL};
static const char *const example[] = {"outside", "12.98mm",       "teeth", "24", "centre",
                                      "18.02mm", "partner-teeth", "48",    NULL};

extern const cw_worksheet cw_sheet_gear_identify;
const cw_worksheet cw_sheet_gear_identify = {
    .name = "gear-identify",
    .title = "Which module has this gear?",
    .group = "Parts",
    .purpose = "From outside diameter and teeth: the module or diametral pitch it could have, with chances, and "
               "whether the centre distance agrees.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
