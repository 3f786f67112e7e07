/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Flat wrenches side by side for one ring. */
#include <math.h>

#include "worksheets/fields.h"
#include "workshop/wrench.h"

static const cw_field design_columns[] = {
    {.key = "name",
     .label = "Name",
     .kind = CW_KIND_TEXT,
     .required = true,
     .help = "\"hacksaw blade\", \"gauge plate\""},
    CW_NEED("plate", "Plate", CW_LENGTH, "mm", 0.2e-3, 20e-3, "thickness"),
    CW_MAYBE("tip-width", "Tip width", CW_LENGTH, "mm", 0.3e-3, 30e-3, "left out: 2 mm"),
    CW_MAYBE("body", "Body", CW_LENGTH, "mm", 2e-3, 0.1, "height; left out: 15 mm"),
    CW_MAYBE("length", "Length", CW_LENGTH, "mm", 4e-3, 0.5, "over all; left out: 80 mm"),
    CW_PICK("steel", "Steel", cw_material_choices, "tool-steel-annealed", ""),
};

static const cw_field inputs[] = {
    CW_NEED("span", "Distance between slot middles", CW_LENGTH, "mm", 2e-3, 0.2, "across the ring, middle to middle"),
    CW_NEED("slot-width", "Slot width", CW_LENGTH, "mm", 0.2e-3, 10e-3, ""),
    CW_NEED("slot-depth", "Slot depth", CW_LENGTH, "mm", 0.1e-3, 10e-3, ""),
    CW_NEED("reach", "Reach below the body", CW_LENGTH, "mm", 0.2e-3, 0.1, ""),
    CW_PICK("ring", "Material of the ring", cw_material_choices, "brass-half-hard", ""),
    {.key = "designs",
     .label = "Designs",
     .kind = CW_KIND_ROWS,
     .columns = design_columns,
     .column_count = CW_COUNT(design_columns),
     .rows_most = 8,
     .required = true,
     .help = "one a row: name, plate, tip width, body, length, steel"},
    CW_OWN_MATERIAL_FIELDS,
};

static const cw_field result_columns[] = {
    CW_SAY("name", "Design", ""),
    CW_MAY_SHOW("torque", "Passes", CW_TORQUE, "N m", 2, ""),
    CW_MAY_SHOW("wind-up", "Wind-up", CW_WINDUP, "deg/(N m)", 2, ""),
    CW_MAY_SHOW("hand", "Each hand for 1 N m", CW_FORCE, "N", 2, ""),
    CW_SAY("first", "What gives first", ""),
};

static const cw_field outputs[] = {
    CW_TABLE("compared", "Side by side", result_columns, "all for the same ring"),
    CW_SAY("best", "Strongest, and stiffest", ""),
};

static cw_status one_design(const cw_sheet_in *in, size_t i, const cw_material *ring, cw_wrench_result *r,
                            cw_error *err)
{
    cw_material steel;
    CW_TRY(cw_in_material_named(in, cw_in_cell_text(in, "designs", i, "steel"),
                                CW_NEEDS_YIELD | CW_NEEDS_MODULUS | CW_NEEDS_SHEAR, &steel, err));
    double slot = cw_in_number(in, "slot-width"), plate = cw_in_cell_number(in, "designs", i, "plate"),
           depth = cw_in_number(in, "slot-depth");
    double tip_width = cw_in_cell_number(in, "designs", i, "tip-width"),
           body = cw_in_cell_number(in, "designs", i, "body");
    double length = cw_in_cell_number(in, "designs", i, "length"), reach = cw_in_number(in, "reach");
    cw_flat_wrench w = {.span_m = cw_in_number(in, "span"),
                        .slot_width_m = slot,
                        .slot_depth_m = depth,
                        .tip_m = fmin(plate, slot - fmin(0.05e-3, 0.1 * slot)),
                        .tip_width_m = isnan(tip_width) ? 2e-3 : tip_width,
                        .tip_length_m = fmin(depth + 0.3e-3, reach),
                        .reach_m = reach,
                        .plate_m = plate,
                        .body_height_m = isnan(body) ? 15e-3 : body,
                        .length_m = isnan(length) ? 80e-3 : length,
                        .steel = &steel,
                        .ring = ring};
    cw_flat_shape shape;
    return cw_flat_wrench_find(&w, &shape, r, err);
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_material ring;
    CW_TRY(cw_in_material(in, "ring", CW_NEEDS_YIELD, &ring, err));
    size_t count = cw_in_rows(in, "designs"), strongest = 0, stiffest = 0;
    double most = 0, least = INFINITY;
    for (size_t i = 0; i < count; i++) {
        cw_wrench_result r;
        const char *name = cw_in_cell_text(in, "designs", i, "name");
        cw_status status = one_design(in, i, &ring, &r, err);
        if (status != CW_OK) {
            cw_context(err, "%s", name);
            return status;
        }
        size_t row = cw_out_row(out, "compared");
        cw_out_cell_text(out, "compared", row, "name", "%s", name);
        cw_out_cell_quantity(out, "compared", row, "torque", (cw_quantity){r.limits[0].torque_n_m, r.limits[0].u_n_m});
        cw_out_cell_quantity(out, "compared", row, "wind-up", (cw_quantity){r.windup_rad_n_m, r.u_windup_rad_n_m});
        cw_out_cell_number(out, "compared", row, "hand", r.hand_force_per_n_m);
        cw_out_cell_text(out, "compared", row, "first", "%s", r.limits[0].what);
        if (r.limits[0].torque_n_m > most) {
            most = r.limits[0].torque_n_m;
            strongest = i;
        }
        if (r.windup_rad_n_m < least) {
            least = r.windup_rad_n_m;
            stiffest = i;
        }
    }
    if (count > 0)
        cw_out_text(out, "best", "strongest: %s (%.3g N m); stiffest: %s",
                    cw_in_cell_text(in, "designs", strongest, "name"), most,
                    cw_in_cell_text(in, "designs", stiffest, "name"));
    return CW_OK;
}

static const char *const cautions[] = {"cutting", "force", NULL};
static const char *const sources[] = {"as the flat wrench: beam theory and the exact torsion series",
                                      "materials: see the materials sheet", NULL};
static const char *const example[] = {
    "span",       "23.4mm",
    "slot-width", "1.2mm",
    "slot-depth", "0.8mm",
    "reach",      "6mm",
    "designs",    "steel rule,1mm,,,,spring-steel;gauge plate,2mm,,,,tool-steel-annealed;mild strip,3mm,,,,mild-steel",
    NULL};

extern const cw_worksheet cw_sheet_compare_wrenches;
const cw_worksheet cw_sheet_compare_wrenches = {
    .name = "compare-wrenches",
    .title = "Flat wrenches side by side",
    .group = "Tools",
    .purpose = "Which of the plates to hand makes the better wrench? Puts torque, wind-up and hand force of up to "
               "eight designs beside each other, for one "
               "ring.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
