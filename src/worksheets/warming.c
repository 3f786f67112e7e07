/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What warming a ring or barrel gains, and what the warmth must not reach. */
#include <math.h>

#include "base/propagate.h"
#include "worksheets/fields.h"
#include "workshop/seized.h"

static const cw_field inputs[] = {
    CW_NEED("diameter", "Diameter of the joint", CW_LENGTH, "mm", 0.3e-3, 0.3, ""),
    CW_PICK("outer", "Outer part", cw_material_choices, "aluminium-6061-t6", "carries the female thread or the bore"),
    CW_PICK("inner", "Inner part", cw_material_choices, "brass-half-hard", "carries the male thread"),
    CW_USUAL("room", "Room", CW_TEMPERATURE, "degC", "20 degC", 253, 323, ""),
    CW_NEED("outer-at", "Outer part warmed to", CW_TEMPERATURE, "degC", 200, 473,
            "measure it; a hair dryer gives 60 to 80"),
    CW_MAYBE("inner-at", "Inner part then at", CW_TEMPERATURE, "degC", 200, 473,
             "left out: as warm as the outer part, after a soak"),
    CW_OWN_MATERIAL_FIELDS,
};

static const cw_field limit_columns[] = {
    CW_SAY("what", "Near the joint", ""),
    CW_MAY_SHOW("most", "Stays below", CW_TEMPERATURE, "degC", 3, ""),
    CW_SAY("why", "Because", ""),
    CW_SAY("source", "Source", ""),
};

static const cw_field outputs[] = {
    CW_JUDGE("loosens", "Does it loosen?", ""),
    CW_SHOW("gain", "Clearance gained", CW_LENGTH, "um", 2, "on the diameter; negative: it grips tighter"),
    CW_SHOW("gain-per-10k", "For each 10 K, both alike", CW_LENGTH, "um", 2, ""),
    CW_SHOW("quick", "With the outer part alone warm", CW_LENGTH, "um", 2, "quickly, before the warmth gets through"),
    CW_TABLE("limits", "What must not get so warm", limit_columns, "those the outer part's temperature exceeds"),
    CW_SAY("lowest", "Lowest limit", ""),
};

static double gain(const double *v, const void *context)
{
    const double *rises = context;
    return v[0] * (v[1] * rises[0] - v[2] * rises[1]);
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_material outer, inner;
    CW_TRY(cw_in_material(in, "outer", CW_NEEDS_EXPANSION, &outer, err));
    CW_TRY(cw_in_material(in, "inner", CW_NEEDS_EXPANSION, &inner, err));
    double room = cw_in_number(in, "room"), outer_at = cw_in_number(in, "outer-at"),
           inner_at = cw_in_or(in, "inner-at", outer_at);
    cw_warming w = {&outer, &inner, cw_in_number(in, "diameter"), outer_at - room, inner_at - room};
    cw_warming_result r;
    CW_TRY(cw_warming_find(&w, &r, err));
    const double rises[2] = {w.outer_rise_k, w.inner_rise_k};
    const cw_quantity values[] = {{w.diameter_m, 0},
                                  {outer.expansion_per_k, cw_in_expansion_share(in, "outer") * outer.expansion_per_k},
                                  {inner.expansion_per_k, cw_in_expansion_share(in, "inner") * inner.expansion_per_k}};
    cw_quantity gained = cw_propagate(3, values, gain, rises);
    cw_verdict verdict = cw_at_least(gained, 0);
    cw_out_verdict(out, "loosens", verdict, "%s",
                   verdict == CW_VERDICT_INSIDE ? "the outer part opens more than the inner one"
                   : verdict == CW_VERDICT_OUTSIDE
                       ? "it grips tighter: cool it, or warm the other part"
                       : "too little difference to count on; the shock of a quick warming may still crack the bond");
    cw_out_quantity(out, "gain", gained);
    cw_out_number(out, "gain-per-10k", 10 * r.gain_per_k_m);
    cw_out_number(out, "quick", r.quick_gain_m);
    size_t count;
    const cw_heat_limit *limits = cw_heat_limits(&count);
    double hottest = fmax(outer_at, inner_at);
    for (size_t i = 0; i < count; i++) {
        if (limits[i].most_k >= hottest)
            continue;
        size_t row = cw_out_row(out, "limits");
        cw_out_cell_text(out, "limits", row, "what", "%s", limits[i].label);
        cw_out_cell_number(out, "limits", row, "most", limits[i].most_k);
        cw_out_cell_text(out, "limits", row, "why", "%s", limits[i].why);
        cw_out_cell_text(out, "limits", row, "source", "%s", limits[i].source);
    }
    cw_out_text(out, "lowest", "%s: %.0f degrees Celsius, %s", limits[0].label, limits[0].most_k - 273.15,
                limits[0].why);
    return CW_OK;
}

static const char *const cautions[] = {"heat", "fire", NULL};
static const char *const sources[] = {"gain = d (a_outer dT_outer - a_inner dT_inner)",
                                      "expansion: Gere, Mechanics of Materials, ranges; see the materials sheet",
                                      "limits: common practice, no source, and from memory, as marked", NULL};
static const char *const example[] = {"diameter", "40mm", "outer-at", "60 degC", NULL};

extern const cw_worksheet cw_sheet_warming;
const cw_worksheet cw_sheet_warming = {
    .name = "warming",
    .title = "What warming gains at a stuck joint",
    .group = "Tools",
    .purpose = "Warmth opens a joint only where the outer part grows more than the inner one. Says by how much, and "
               "what near it must not get so warm.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
