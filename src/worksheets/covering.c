/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A blank for the covering of a camera body. */
#include <math.h>

#include "worksheets/fields.h"
#include "worksheets/plan.h"
#include "workshop/sheet.h"

static const cw_choice reaches[] = {
    {"front", "Front, and half of each round end"}, {"round", "All the way round"}, {NULL, NULL}};

enum { CUTS_MOST = 8 };

static const cw_field hole_columns[] = {
    CW_NEED("x", "From the middle, to the right", CW_LENGTH, "mm", -0.5, 0.5, "seen from the outside"),
    CW_NEED("y", "From the lower edge, up", CW_LENGTH, "mm", -0.1, 0.5, ""),
    CW_NEED("diameter", "Diameter", CW_LENGTH, "mm", 0.5e-3, 0.2, ""),
};

static const cw_field inputs[] = {
    CW_PICK("reach", "It covers", reaches, "front", ""),
    CW_NEED("straight", "Straight length of one side", CW_LENGTH, "mm", 0, 0.5, "between the round ends"),
    CW_USUAL("end-radius", "Radius of the ends", CW_LENGTH, "mm", "0", 0, 0.1,
             "half the body's depth where they are half rounds"),
    CW_NEED("height", "Height of the band", CW_LENGTH, "mm", 3e-3, 0.3, ""),
    CW_USUAL("thickness", "Thickness of the covering", CW_LENGTH, "mm", "0.7 mm", 0.05e-3, 5e-3, ""),
    CW_USUAL("overlap", "Overlap at the joint", CW_LENGTH, "mm", "0", 0, 30e-3, "to be cut through both layers"),
    {.key = "holes",
     .label = "Round openings",
     .kind = CW_KIND_ROWS,
     .columns = hole_columns,
     .column_count = CW_COUNT(hole_columns),
     .rows_most = CUTS_MOST,
     .help = "lens mount, self-timer: place and diameter"},
};

static const cw_field outputs[] = {
    CW_SHOW("length", "Length of the blank", CW_LENGTH, "mm", 4, "on the covering's middle layer"),
    CW_SHOW("blank-height", "Height", CW_LENGTH, "mm", 4, ""),
    CW_DRAWN("template", "Blank, 1:1", "try it in paper first"),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_covering c = {cw_in_number(in, "straight"),  cw_in_number(in, "end-radius"), cw_in_number(in, "height"),
                     cw_in_number(in, "thickness"), cw_in_number(in, "overlap"),    cw_in_is(in, "reach", "round")};
    double length, height;
    CW_TRY(cw_covering_find(&c, &length, &height, err));
    cw_drawing *d;
    CW_TRY(cw_drawing_new("Covering blank", "A long rectangle with round openings.", &d, err));
    cw_plan_box(d, CW_LAYER_CUT, 0, height / 2, length, height);
    cw_draw_line(d, CW_LAYER_CENTRE, cw_plan_at(0, -3e-3), cw_plan_at(0, height + 3e-3));
    if (c.end_radius_m > 0)
        for (int side = -1; side <= 1; side += 2)
            cw_draw_line(d, CW_LAYER_FOLD, cw_plan_at(side * c.flat_m / 2, 0), cw_plan_at(side * c.flat_m / 2, height));
    double lowest = 0, highest = height; /* openings may cut into the edges */
    for (size_t i = 0; i < cw_in_rows(in, "holes"); i++) {
        double x = cw_in_cell_number(in, "holes", i, "x"), y = cw_in_cell_number(in, "holes", i, "y"),
               diameter = cw_in_cell_number(in, "holes", i, "diameter");
        if (fabs(x) - diameter / 2 > length / 2 || y + diameter / 2 < 0 || y - diameter / 2 > height) {
            cw_drawing_free(d);
            return cw_fail(
                err, CW_RANGE,
                "opening %zu lies outside the blank of %.4g x %.4g mm; places count from its middle and lower edge",
                i + 1, length * 1e3, height * 1e3);
        }
        cw_plan_circle(d, CW_LAYER_CUT, x, y, diameter);
        cw_plan_cross(d, x, y, 6e-3);
        lowest = fmin(lowest, y - diameter / 2);
        highest = fmax(highest, y + diameter / 2);
    }
    cw_plan_size(d, -length / 2, height, length / 2, height, 6 + (highest - height) * CW_TO_MM);
    cw_plan_size(d, length / 2, height, length / 2, 0, 6);
    cw_plan_note(d, -length / 2, lowest - 8e-3,
                 "the outside of the covering is towards you; the rounds begin at the fold lines");
    for (size_t i = 0; i < cw_in_rows(in, "holes"); i++)
        cw_plan_note(d, -length / 2, lowest - (14e-3 + 6e-3 * (double)i),
                     "opening %zu: %.4g mm, %.4g mm from the middle, %.4g mm up", i + 1,
                     cw_in_cell_number(in, "holes", i, "diameter") * 1e3, cw_in_cell_number(in, "holes", i, "x") * 1e3,
                     cw_in_cell_number(in, "holes", i, "y") * 1e3);
    cw_out_drawing(out, "template", d);
    cw_out_number(out, "length", length);
    cw_out_number(out, "blank-height", height);
    return CW_OK;
}

static const char *const cautions[] = {"cutting", "solvent", NULL};
static const char *const sources[] = {"length on the middle layer: geometry", NULL};
static const char *const example[] = {"straight", "100mm", "end-radius",  "13mm", "height",
                                      "42mm",     "holes", "0,21mm,52mm", NULL};

extern const cw_worksheet cw_sheet_covering;
const cw_worksheet cw_sheet_covering = {
    .name = "covering",
    .title = "Covering blank",
    .group = "Sheet goods",
    .purpose = "A new covering of leather or leatherette: how long to cut it so that it meets behind the round ends, "
               "with the openings in their places.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
