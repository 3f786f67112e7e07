/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cleaning up after a leaked cell. */
#include "worksheets/fields.h"
#include "workshop/chemistry.h"

static const cw_choice cells[] = {{"alkaline", "Alkaline"},
                                  {"silver", "Silver oxide"},
                                  {"mercury", "Mercury"},
                                  {"zinc-carbon", "Zinc-carbon"},
                                  {"nicd", "Nickel-cadmium"},
                                  {"lithium", "Lithium"},
                                  {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("cell", "Kind of cell", cells, "alkaline",
            "not known: read the cell, and take mercury when a 1.35 V button is from before 1996"),
};

static const cw_field outputs[] = {
    CW_SAY("residue", "What lies there", ""),
    CW_SAY("step1", "First", ""),
    CW_SAY("step2", "Then", ""),
    CW_SAY("step3", "Last", ""),
    CW_SAY("never", "Never", ""),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    const cw_leak *leak = cw_leak_find(cw_in_text(in, "cell"));
    if (leak == NULL)
        return cw_fail(err, CW_NOT_FOUND, "no clean-up is known for \"%s\"", cw_in_text(in, "cell"));
    cw_out_text(out, "residue", "%s", leak->residue);
    cw_out_text(out, "step1", "%s", leak->step1);
    cw_out_text(out, "step2", "%s", leak->step2);
    cw_out_text(out, "step3", "%s", leak->step3);
    cw_out_text(out, "never", "%s", leak->never);
    return CW_OK;
}

static const char *const cautions[] = {"battery", "mercury", "solvent", "mixing", NULL};
static const char *const sources[] = {
    "common practice, from memory; the cell's safety data sheet and local rules decide", NULL};
static const char *const example[] = {"cell", "alkaline", NULL};

extern const cw_worksheet cw_sheet_battery_leak;
const cw_worksheet cw_sheet_battery_leak = {
    .name = "battery-leak",
    .title = "Clean up after a leaked cell",
    .group = "Chemistry",
    .purpose = "What a leaked cell leaves, what takes it off, and what makes it worse. By kind of cell.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
