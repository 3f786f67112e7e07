/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Depth of focus by f-number. */
#include <math.h>

#include "optics/focus.h"
#include "worksheets/focus_fields.h"

static const cw_field table_columns[] = {CW_MAY_SHOW("aperture", "f-number", CW_PLAIN, NULL, 3, "engraved"),
                                         CW_MAY_SHOW("allowed", "Either way", CW_LENGTH, "mm", 3, "N c")};

static const cw_field inputs[] = {
    CW_FIELD_APERTURE,
    CW_FIELD_CIRCLE,
};

static const cw_field outputs[] = {
    CW_SHOW("allowed", "Allowed either way", CW_LENGTH, "mm", 3, "N c"),
    {.key = "table",
     .label = "By f-number",
     .kind = CW_KIND_ROWS,
     .required = true,
     .columns = table_columns,
     .column_count = CW_COUNT(table_columns),
     .help = "at the same blur"},
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    (void)err;
    static const double stops[] = {1, 1.4, 2, 2.8, 4, 5.6, 8, 11, 16, 22};
    double circle = cw_in_number(in, "circle");
    cw_out_number(out, "allowed", cw_depth_of_focus_mm(cw_in_number(in, "aperture"), circle));
    for (size_t i = 0; i < CW_COUNT(stops); i++) {
        size_t row = cw_out_row(out, "table");
        cw_out_cell_number(out, "table", row, "aperture", stops[i]);
        cw_out_cell_number(out, "table", row, "allowed", cw_depth_of_focus_mm(stops[i], circle));
    }
    return CW_OK;
}

static const char *const sources[] = {"W. J. Smith, Modern Optical Engineering, eq. 9.8: depth of focus +- N c", NULL};
static const char *const example[] = {"aperture", "2.8", NULL};

extern const cw_worksheet cw_sheet_depth_of_focus;
const cw_worksheet cw_sheet_depth_of_focus = {
    .name = "depth-of-focus",
    .title = "How far off may the film be?",
    .group = "Focus",
    .purpose = "The distance the film may lie from the sharp image before the blur shows, for each f-number: the "
               "tolerance every register, screen and rangefinder figure here is held against.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
