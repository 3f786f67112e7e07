/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tables the other sheets calculate with. */
#include <math.h>

#include "worksheets/fields.h"
#include "workshop/material.h"
#include "workshop/spring.h"

static const cw_choice tables[] = {
    {"materials", "Materials"}, {"friction", "Friction"}, {"wire", "Spring wire"}, {"all", "All"}, {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("table", "Table", tables, "all", ""),
    CW_USUAL("wire", "Wire diameter for its strength", CW_LENGTH, "mm", "0.5 mm", 0.03e-3, 20e-3, ""),
};

static const cw_field material_columns[] = {
    CW_SAY("name", "Material", ""),
    CW_MAY_SHOW("yield", "Yield", CW_STRESS, "MPa", 3, "proof stress; bending strength of wood"),
    CW_MAY_SHOW("modulus", "Modulus", CW_STRESS, "GPa", 3, ""),
    CW_MAY_SHOW("poisson", "Poisson", CW_PLAIN, NULL, 2, ""),
    CW_MAY_SHOW("expansion", "Expansion", CW_EXPANSION, "1e-6/K", 3, ""),
    CW_SAY("source", "From", ""),
};
static const cw_field friction_columns[] = {
    CW_SAY("name", "What on what", ""),
    CW_MAY_SHOW("friction", "Friction", CW_PLAIN, NULL, 2, ""),
    CW_SAY("source", "From", ""),
};
static const cw_field wire_columns[] = {
    CW_SAY("name", "Wire", ""),
    CW_MAY_SHOW("tensile", "Tensile strength", CW_STRESS, "MPa", 4, "at the diameter given"),
    CW_MAY_SHOW("modulus", "E", CW_STRESS, "GPa", 3, ""),
    CW_MAY_SHOW("shear", "G", CW_STRESS, "GPa", 3, ""),
    CW_SAY("source", "From", ""),
};

static const cw_field outputs[] = {
    CW_TABLE("materials", "Materials", material_columns, ""),
    CW_TABLE("friction", "Friction", friction_columns, ""),
    CW_TABLE("wire-table", "Spring wire", wire_columns, ""),
    CW_SAY("own", "Your own", ""),
};

static void list_materials(cw_sheet_out *out)
{
    size_t count;
    const cw_material *m = cw_materials(&count);
    for (size_t i = 0; i < count; i++) {
        size_t row = cw_out_row(out, "materials");
        cw_out_cell_text(out, "materials", row, "name", "%s", m[i].label);
        cw_out_cell_quantity(out, "materials", row, "yield", m[i].yield_pa);
        cw_out_cell_quantity(out, "materials", row, "modulus", m[i].elastic_pa);
        cw_out_cell_number(out, "materials", row, "poisson", m[i].poisson);
        cw_out_cell_number(out, "materials", row, "expansion", m[i].expansion_per_k);
        cw_out_cell_text(out, "materials", row, "source", "%s", m[i].source);
    }
}

static void list_friction(cw_sheet_out *out)
{
    size_t count;
    const cw_friction *f = cw_frictions(&count);
    for (size_t i = 0; i < count; i++) {
        size_t row = cw_out_row(out, "friction");
        cw_out_cell_text(out, "friction", row, "name", "%s", f[i].label);
        cw_out_cell_quantity(out, "friction", row, "friction", f[i].mu);
        cw_out_cell_text(out, "friction", row, "source", "%s", f[i].source);
    }
}

static void list_wire(cw_sheet_out *out, double diameter_m)
{
    size_t count;
    const cw_spring_wire *w = cw_spring_wires(&count);
    for (size_t i = 0; i < count; i++) {
        size_t row = cw_out_row(out, "wire-table");
        cw_out_cell_text(out, "wire-table", row, "name", "%s", w[i].label);
        cw_out_cell_number(out, "wire-table", row, "tensile", cw_spring_tensile_pa(&w[i], diameter_m));
        cw_out_cell_number(out, "wire-table", row, "modulus", cw_spring_elastic_pa(&w[i], diameter_m));
        cw_out_cell_number(out, "wire-table", row, "shear", cw_spring_shear_pa(&w[i], diameter_m));
        cw_out_cell_text(out, "wire-table", row, "source", "%s", w[i].source);
    }
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    (void)err;
    bool all = cw_in_is(in, "table", "all");
    if (all || cw_in_is(in, "table", "materials"))
        list_materials(out);
    if (all || cw_in_is(in, "table", "friction"))
        list_friction(out);
    if (all || cw_in_is(in, "table", "wire"))
        list_wire(out, cw_in_number(in, "wire"));
    cw_out_text(
        out, "own",
        "In any sheet choose \"your own figures\" as the material and give yield and modulus from its data sheet; or "
        "keep them under a name, on the page Materials or with camerawright material add: every sheet then offers it.");
    return CW_OK;
}

static const char *const sources[] = {"each row names its own", NULL};
static const char *const example[] = {"table", "all", NULL};

extern const cw_worksheet cw_sheet_materials;
const cw_worksheet cw_sheet_materials = {
    .name = "materials",
    .title = "Materials, friction, spring wire",
    .group = "Materials",
    .purpose = "The figures every other sheet calculates with, how well each is known, and where it comes from.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
