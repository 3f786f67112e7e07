/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A stack of shims from what is to hand. */
#include <math.h>
#include <stdio.h>

#include "base/buf.h"
#include "worksheets/fields.h"
#include "worksheets/plan.h"
#include "workshop/sheet.h"

static const cw_field kind_columns[] = {
    CW_NEED("thickness", "Thickness", CW_LENGTH, "mm", 0.005e-3, 10e-3, ""),
    CW_USUAL_COUNT("pieces", "Pieces", "4", 0, 1000, "to hand"),
};

static const cw_field inputs[] = {
    CW_NEED("wanted", "Thickness wanted", CW_LENGTH, "mm", 0.005e-3, 20e-3, ""),
    {.key = "kinds",
     .label = "Shims to hand",
     .kind = CW_KIND_ROWS,
     .columns = kind_columns,
     .column_count = CW_COUNT(kind_columns),
     .rows_most = CW_SHIMS_MOST,
     .required = true,
     .help = "one thickness a row, and how many"},
    CW_USUAL("piece-u", "How far each can be off", CW_LENGTH, "um", "1 um", 0, 0.1e-3,
             "standard uncertainty of one shim"),
    CW_MAYBE("limit", "May be off by", CW_LENGTH, "um", 1e-7, 1e-3, "for the verdict; left out: no verdict"),
    CW_MAYBE("outer", "Outside of the ring", CW_LENGTH, "mm", 1e-3, 0.3, "give both to get a template"),
    CW_MAYBE("inner", "Inside of the ring", CW_LENGTH, "mm", 0.5e-3, 0.3, ""),
};

static const cw_field stack_columns[] = {
    CW_SAY("stack", "Stack", ""),
    CW_MAY_SHOW("total", "Total", CW_LENGTH, "mm", 4, ""),
    CW_MAY_SHOW("off", "Off by", CW_LENGTH, "um", 2, "total less wanted"),
    CW_SAY("pieces", "Pieces", ""),
};

static const cw_field outputs[] = {
    CW_JUDGE("near", "Near enough?", "the best stack against the limit, at k = 2"),
    CW_TABLE("stacks", "Nearest stacks", stack_columns, ""),
    {.key = "template", .label = "Shim, 1:1", .kind = CW_KIND_DRAWING, .help = "when outside and inside are given"},
};

static void name_stack(const cw_shim *kinds, size_t count, const cw_shim_stack *stack, char *text, size_t size)
{
    cw_buf words = cw_buf_new(size - 1);
    for (size_t k = 0; k < count; k++)
        if (stack->pieces[k] > 0)
            cw_buf_printf(&words, "%s%d x %.4g", words.length > 0 ? " + " : "", stack->pieces[k],
                          kinds[k].thickness_m * 1e3);
    snprintf(text, size, "%s mm", cw_buf_string(&words));
    cw_buf_free(&words);
}

static cw_status draw(double outer_m, double inner_m, cw_drawing **drawing, cw_error *err)
{
    if (!(inner_m < outer_m - 0.5e-3))
        return cw_fail(
            err, CW_RANGE,
            "a shim from %.4g to %.4g mm has no width; an inside of %.4g mm leaves a quarter of a millimetre",
            inner_m * 1e3, outer_m * 1e3, outer_m * 1e3 - 0.5);
    cw_drawing *d;
    CW_TRY(cw_drawing_new("Shim", "A flat ring.", &d, err));
    cw_plan_circle(d, CW_LAYER_CUT, 0, 0, outer_m);
    cw_plan_circle(d, CW_LAYER_CUT, 0, 0, inner_m);
    cw_plan_cross(d, 0, 0, outer_m + 6e-3);
    cw_plan_size(d, -outer_m / 2, 0, outer_m / 2, 0, outer_m / 2 * CW_TO_MM + 6);
    cw_plan_size(d, -inner_m / 2, 0, inner_m / 2, 0, -outer_m / 2 * CW_TO_MM - 6);
    *drawing = d;
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_shim kinds[CW_SHIMS_MOST];
    size_t kind_count = cw_in_rows(in, "kinds"), count;
    if (kind_count > CW_SHIMS_MOST)
        return cw_fail(err, CW_RANGE, "%zu thicknesses; %d can be combined", kind_count, CW_SHIMS_MOST);
    for (size_t i = 0; i < kind_count; i++)
        kinds[i] =
            (cw_shim){cw_in_cell_number(in, "kinds", i, "thickness"), (int)cw_in_cell_number(in, "kinds", i, "pieces")};
    double wanted = cw_in_number(in, "wanted"), outer = cw_in_number(in, "outer"), inner = cw_in_number(in, "inner"),
           limit = cw_in_number(in, "limit");
    cw_shim_stack stacks[CW_SHIM_STACKS_MOST];
    CW_TRY(cw_shims_find(wanted, kinds, kind_count, stacks, &count, err));
    if (!isnan(outer) && !isnan(inner)) {
        cw_drawing *drawing = NULL;
        CW_TRY(draw(outer, inner, &drawing, err));
        cw_out_drawing(out, "template", drawing);
    }
    double u = cw_in_number(in, "piece-u");
    for (size_t i = 0; i < count; i++) {
        char text[200];
        name_stack(kinds, kind_count, &stacks[i], text, sizeof text);
        size_t row = cw_out_row(out, "stacks");
        cw_out_cell_text(out, "stacks", row, "stack", "%s", text);
        double u_stack = u * sqrt(stacks[i].piece_count);
        cw_out_cell_quantity(out, "stacks", row, "total", (cw_quantity){stacks[i].total_m, u_stack});
        cw_out_cell_quantity(out, "stacks", row, "off", (cw_quantity){stacks[i].off_m, u_stack});
        cw_out_cell_text(out, "stacks", row, "pieces", "%d", stacks[i].piece_count);
    }
    cw_quantity margin = {limit - fabs(stacks[0].off_m), u * sqrt(stacks[0].piece_count)};
    cw_out_verdict(out, "near", cw_at_least(margin, 0), "the best is off by %.3g um", stacks[0].off_m * 1e6);
    return CW_OK;
}

static const char *const cautions[] = {"cutting", NULL};
static const char *const sources[] = {
    "every stack of up to eight pieces is tried; uncertainties add as squares, JCGM 100", NULL};
static const char *const example[] = {"wanted", "0.27mm", "kinds", "0.02mm,3;0.05mm,2;0.10mm,2;0.20mm,1",
                                      "limit",  "10 um",  "outer", "32mm",
                                      "inner",  "29mm",   NULL};

extern const cw_worksheet cw_sheet_shims;
const cw_worksheet cw_sheet_shims = {
    .name = "shims",
    .title = "Stack of shims",
    .group = "Sheet goods",
    .purpose = "Which of the shims to hand, laid together, come nearest to the thickness a register or a gap needs?",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
