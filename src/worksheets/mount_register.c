/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Registers by mount, and a measured body against them. */
#include <math.h>

#include "optics/bench_glass.h"
#include "worksheets/focus_fields.h"

static const cw_choice mount_choices[] = {{"m39x26tpi", "M39x26tpi"},
                                          {"m-mount", "M-mount"},
                                          {"m42", "M42"},
                                          {"k-mount", "K-mount"},
                                          {"f-mount", "F-mount"},
                                          {"sr-mount", "SR/MD-mount"},
                                          {"fd-mount", "FD-mount"},
                                          {"om-mount", "OM-mount"},
                                          {"cy-mount", "C/Y-mount"},
                                          {"r-mount", "R-mount"},
                                          {"a-mount", "A-mount"},
                                          {"ef-mount", "EF-mount"},
                                          {"ar-mount", "AR-mount"},
                                          {"m39x1", "M39x1 (reflex)"},
                                          {"t2", "T2 (M42x0.75)"},
                                          {"e-mount", "E-mount"},
                                          {"four-thirds", "Four-thirds"},
                                          {"c-mount", "C-mount"},
                                          {NULL, NULL}};
static const cw_field table_columns[] = {CW_SAY("mount", "Mount", "trade designation"),
                                         CW_MAY_SHOW("register", "Register", CW_LENGTH, "mm", 5, "flange to film")};

static const cw_field inputs[] = {
    {.key = "mount",
     .label = "Mount",
     .kind = CW_KIND_CHOICE,
     .required = true,
     .choices = mount_choices,
     .help = "trade designation"},
    CW_MAYBE("measured", "Measured, flange to film rails", CW_LENGTH, "mm", 0.005, 0.3,
             "depth gauge at four places, their mean"),
    CW_USUAL("u-measured", "Uncertainty of that", CW_LENGTH, "mm", "0.01 mm", 0, 0.001, "one standard deviation"),
    CW_USUAL("limit", "Allowed either way", CW_LENGTH, "mm", "0.02 mm", 1e-06, 0.001,
             "0.02 mm is usual for fast lenses (common practice, no source)"),
};

static const cw_field outputs[] = {
    CW_SHOW("register", "Register", CW_LENGTH, "mm", 5, "trade figure"),
    {.key = "source", .label = "Source", .kind = CW_KIND_TEXT, .required = true, .help = "where it is from"},
    CW_MAY_SHOW("error", "Measured less register", CW_LENGTH, "mm", 3,
                "positive: the body is too deep, take shims away"),
    {.key = "verdict", .label = "Verdict", .kind = CW_KIND_VERDICT, .help = ""},
    {.key = "table",
     .label = "All mounts",
     .kind = CW_KIND_ROWS,
     .required = true,
     .columns = table_columns,
     .column_count = CW_COUNT(table_columns),
     .help = "trade figures"},
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    size_t count;
    const cw_mount *mounts = cw_mounts(&count), *mount = NULL;
    for (size_t i = 0; i < count; i++) {
        size_t row = cw_out_row(out, "table");
        cw_out_cell_text(out, "table", row, "mount", "%s", mounts[i].name);
        cw_out_cell_number(out, "table", row, "register", mounts[i].register_mm / 1000);
        if (cw_in_is(in, "mount", mounts[i].key))
            mount = &mounts[i];
    }
    if (mount == NULL)
        return cw_fail(err, CW_RANGE, "no register is known for \"%s\"", cw_in_text(in, "mount"));
    cw_out_number(out, "register", mount->register_mm / 1000);
    cw_out_text(out, "source", "%s", mount->source);
    if (!cw_in_given(in, "measured"))
        return CW_OK;
    double u = cw_in_number(in, "u-measured"), limit = cw_in_number(in, "limit");
    double error = cw_in_number(in, "measured") - mount->register_mm / 1000;
    cw_out_quantity(out, "error", (cw_quantity){error, u});
    cw_verdict v = cw_within(error, u, limit);
    cw_out_verdict(out, "verdict", v, "%s %.3f mm of shim under the mount; that is %s the limit",
                   error > 0 ? "take away" : "add", 1000 * fabs(error), cw_verdict_word(v));
    cw_out_note(out, "the film does not lie quite on its rails; a body that gives sharp film is the better reference");
    return CW_OK;
}

static const char *const sources[] = {"trade table seen at camerabilia.blogspot.com, Flange Focal Distances (one wrong "
                                      "row of it left out); C-mount from memory",
                                      NULL};
static const char *const example[] = {"mount", "m42", "measured", "45.49 mm", NULL};

extern const cw_worksheet cw_sheet_mount_register;
const cw_worksheet cw_sheet_mount_register = {
    .name = "mount-register",
    .title = "Register by mount",
    .group = "Focus",
    .purpose = "The distance from the mount's flange to the film, by trade designation, to check a body with a depth "
               "gauge. What stands here are trade figures, not drawings: where a body is known good, trust it more.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
