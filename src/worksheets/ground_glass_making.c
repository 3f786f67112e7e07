/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Grits to grind a focusing glass with. */
#include <string.h>

#include "optics/bench_glass.h"
#include "worksheets/fields.h"

static const cw_choice grit_choices[] = {{"F80", "F80"},   {"F120", "F120"}, {"F180", "F180"}, {"F220", "F220"},
                                         {"F240", "F240"}, {"F280", "F280"}, {"F320", "F320"}, {"F400", "F400"},
                                         {"F500", "F500"}, {"F600", "F600"}, {"F800", "F800"}, {"F1000", "F1000"},
                                         {NULL, NULL}};
static const cw_field step_columns[] = {CW_SAY("grit", "Grit", "FEPA"),
                                        CW_MAY_SHOW("grain", "Grain", CW_LENGTH, "um", 3, "median"),
                                        CW_SAY("until", "Until", "when to change")};

static const cw_field inputs[] = {
    CW_PICK("from", "Coarsest grit", grit_choices, "F240",
            "start no coarser than needed to flatten: F240 for clear plate"),
    CW_PICK("to", "Last grit", grit_choices, "F600",
            "F500 or F600 for focusing under a magnifier; finer is brighter but shows a bright middle"),
};

static const cw_field outputs[] = {
    {.key = "steps",
     .label = "Grits in order",
     .kind = CW_KIND_ROWS,
     .required = true,
     .columns = step_columns,
     .column_count = CW_COUNT(step_columns),
     .help = ""},
    CW_SHOW("grain", "Grain of the finished glass", CW_LENGTH, "um", 3,
            "compare it with the blur that is to be seen, usually 30 um"),
    {.key = "advice", .label = "How", .kind = CW_KIND_TEXT, .required = true, .help = ""},
};

static size_t grit_index(const char *name)
{
    size_t count;
    const cw_grit *all = cw_grits(&count);
    for (size_t i = 0; i < count; i++)
        if (strcmp(all[i].grit, name) == 0)
            return i;
    return count;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    size_t count, steps, at[32];
    const cw_grit *all = cw_grits(&count);
    CW_TRY(cw_grit_steps(grit_index(cw_in_text(in, "from")), grit_index(cw_in_text(in, "to")), at, &steps, err));
    for (size_t i = 0; i < steps; i++) {
        size_t row = cw_out_row(out, "steps");
        cw_out_cell_text(out, "steps", row, "grit", "%s", all[at[i]].grit);
        cw_out_cell_number(out, "steps", row, "grain", all[at[i]].grain_um * 1e-6);
        if (i == 0)
            cw_out_cell_text(out, "steps", row, "until", "an even grey from edge to edge");
        else
            cw_out_cell_text(out, "steps", row, "until",
                             "no pit of %s is left under a 10x magnifier, then as long again", all[at[i - 1]].grit);
    }
    cw_out_number(out, "grain", all[at[steps - 1]].grain_um * 1e-6);
    cw_out_text(out, "advice",
                "a spoonful of grit and a little water between two plates, figures of eight, turning both often; "
                "chamfer the edges first; wash everything, brush and hands between grits; one stray grain scratches");
    return CW_OK;
}

static const char *const cautions[] = {"dust", "cutting", NULL};
static const char *const sources[] = {"FEPA 42 median grain sizes, from memory",
                                      "no grit under 0.4 of the grain before, and twice as long as it takes to remove "
                                      "its pits: common practice, no source",
                                      NULL};
static const char *const example[] = {"from", "F240", "to", "F600", NULL};

extern const cw_worksheet cw_sheet_ground_glass_making;
const cw_worksheet cw_sheet_ground_glass_making = {
    .name = "ground-glass-making",
    .title = "Make a ground glass",
    .group = "Focus",
    .purpose = "A piece of thin plate ground on one side with wet grit, from coarse to fine, makes the measuring glass "
               "for the film plane. This lists the grits to go through and when to change.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
