/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A clamp block of board to hold a barrel, with cutouts to miss its linkages. */
#include <math.h>

#include "worksheets/fields.h"
#include "worksheets/plan.h"
#include "workshop/grip.h"

static const cw_field cutout_columns[] = {
    CW_NEED("at", "Direction", CW_ANGLE, "deg", -2 * M_PI, 4 * M_PI,
            "from the middle; 0 = along the saw cut, 90 = across"),
    CW_NEED("width", "Width", CW_LENGTH, "mm", 0.2e-3, 0.2, ""),
    CW_NEED("depth", "Depth beyond the bore", CW_LENGTH, "mm", 0.1e-3, 0.2, ""),
};

static const cw_field inputs[] = {
    CW_NEED("held", "Diameter to hold", CW_LENGTH, "mm", 3e-3, 0.3, "of the barrel"),
    CW_USUAL("lining", "Thickness of the lining", CW_LENGTH, "mm", "1 mm", 0, 10e-3,
             "rubber or leather; 0 for bare wood"),
    CW_MAYBE("width", "Width of the block", CW_LENGTH, "mm", 10e-3, 0.5,
             "across the saw cut; left out: bore and 26 mm"),
    CW_MAYBE("length", "Length of the block", CW_LENGTH, "mm", 15e-3, 0.5, "along it; left out: bore and 66 mm"),
    CW_USUAL("board", "Thickness of the board", CW_LENGTH, "mm", "18 mm", 2e-3, 0.1, ""),
    CW_USUAL("kerf", "Saw cut", CW_LENGTH, "mm", "2 mm", 0.2e-3, 10e-3, "the halves need it to close"),
    CW_USUAL("screw", "Screw holes", CW_LENGTH, "mm", "5 mm", 2e-3, 15e-3, "clearance for the screws"),
    CW_MAYBE("screw-at", "Screws from the middle", CW_LENGTH, "mm", 3e-3, 0.25,
             "left out: half way between bore and end"),
    CW_USUAL("screw-force", "Force of each screw", CW_FORCE, "N", "200 N", 0.1, 20e3,
             "an M5 wing nut by fingers: about 200 N"),
    {.key = "cutouts",
     .label = "Cutouts",
     .kind = CW_KIND_ROWS,
     .columns = cutout_columns,
     .column_count = CW_COUNT(cutout_columns),
     .rows_most = CW_CUTOUTS_MOST,
     .help = "to miss levers and linkages: direction, width, depth"},
    CW_USUAL("lining-modulus", "Shear modulus of the lining", CW_STRESS, "MPa", "2 MPa", 1e5, 1e9,
             "rubber 0.4 to 2, leather 5 to 20, from memory"),
    CW_MAYBE("torque", "Torque it should hold", CW_TORQUE, "N m", 1e-4, 100, ""),
    CW_FRICTION_FIELDS("leather-metal"),
    CW_PICK("board-of", "Material of the board", cw_material_choices, "birch-plywood", ""),
    CW_OWN_MATERIAL_FIELDS,
};

static const cw_field outputs[] = {
    CW_JUDGE("holds", "Does it hold?", "against the torque asked for, by the lower figure"),
    CW_SHOW("torque-most", "Slips at", CW_TORQUE, "N m", 2, "pressure even over what is left of the bore"),
    CW_SHOW("torque-least", "Slips at the least at", CW_TORQUE, "N m", 2, "touching at the crowns only"),
    CW_SHOW("contact", "Arc that grips", CW_ANGLE, "deg", 3, "of 360"),
    CW_SHOW("pressure", "Pressure on the barrel", CW_STRESS, "kPa", 2,
            "a thin barrel goes oval: keep a lens group or a plug in it"),
    CW_SHOW("screw-most", "The board stands at each screw", CW_FORCE, "N", 2,
            "before a half cracks at its thinnest place"),
    CW_SHOW("wall", "Thinnest board", CW_LENGTH, "mm", 3, ""),
    CW_SHOW("bore", "Bore to cut", CW_LENGTH, "mm", 4, "lining included"),
    CW_SHOW("wind-up", "Wind-up", CW_WINDUP, "deg/(N m)", 2, "of the lining, in shear"),
    CW_MAY_SHOW("hand", "Push of each hand", CW_FORCE, "N", 2,
                "at the ends of the block, against the torque asked for"),
    CW_SAY("stop", "When to stop, and what first", ""),
    CW_DRAWN("template", "Template, 1:1", "stick it on the board, bore, cut out, saw last"),
};

static cw_status draw(const cw_clamp *c, cw_drawing **drawing, cw_error *err)
{
    cw_drawing *d;
    CW_TRY(cw_drawing_new(
        "Clamp block",
        "A block with a bore, sawn along its length, two screw holes across the cut and cutouts round the bore.", &d,
        err));
    double r = c->bore_m / 2, L = c->length_m / 2, W = c->width_m / 2;
    cw_plan_box(d, CW_LAYER_CUT, 0, 0, c->length_m, c->width_m);
    cw_plan_circle(d, CW_LAYER_DRILL, 0, 0, c->bore_m);
    if (c->lining_m > 0)
        cw_plan_circle(d, CW_LAYER_HIDDEN, 0, 0, c->held_m);
    for (size_t i = 0; i < c->cutout_count; i++) {
        const cw_cutout *cut = &c->cutouts[i];
        double half = cut->width_m / 2, from = sqrt(fmax(0, r * r - half * half)), to = r + cut->depth_m,
               co = cos(cut->at_rad), si = sin(cut->at_rad);
        const cw_point outline[] = {cw_plan_at(from * co + half * si, from * si - half * co),
                                    cw_plan_at(to * co + half * si, to * si - half * co),
                                    cw_plan_at(to * co - half * si, to * si + half * co),
                                    cw_plan_at(from * co - half * si, from * si + half * co)};
        cw_draw_path(d, CW_LAYER_CUT, outline, 4, false);
    }
    for (int side = -1; side <= 1; side += 2) {
        cw_draw_line(d, CW_LAYER_CUT, cw_plan_at(side * L, c->kerf_m / 2), cw_plan_at(side * r, c->kerf_m / 2));
        cw_draw_line(d, CW_LAYER_CUT, cw_plan_at(side * L, -c->kerf_m / 2), cw_plan_at(side * r, -c->kerf_m / 2));
        for (int edge = -1; edge <= 1; edge += 2)
            cw_draw_line(d, CW_LAYER_HIDDEN, cw_plan_at(side * c->screw_at_m + edge * c->screw_m / 2, -W),
                         cw_plan_at(side * c->screw_at_m + edge * c->screw_m / 2, W));
        cw_draw_line(d, CW_LAYER_CENTRE, cw_plan_at(side * c->screw_at_m, -W - 3e-3),
                     cw_plan_at(side * c->screw_at_m, W + 3e-3));
    }
    cw_draw_line(d, CW_LAYER_CENTRE, cw_plan_at(0, -W - 3e-3), cw_plan_at(0, W + 3e-3));
    cw_plan_size(d, -L, W, L, W, 12);
    cw_plan_size(d, L, W, L, -W, 6);
    cw_plan_size(d, -c->screw_at_m, W, c->screw_at_m, W, 6);
    cw_plan_note(d, -L, -W - 8e-3,
                 "board %.3g mm; bore %.4g mm; drill %.3g mm through the edge at the dashed lines, before sawing",
                 c->thickness_m * 1e3, c->bore_m * 1e3, c->screw_m * 1e3);
    *drawing = d;
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_material board;
    CW_TRY(cw_in_material(in, "board-of", CW_NEEDS_YIELD, &board, err));
    cw_quantity mu = cw_in_friction(in);
    cw_cutout cutouts[CW_CUTOUTS_MOST];
    size_t count = cw_in_rows(in, "cutouts");
    if (count > CW_CUTOUTS_MOST)
        return cw_fail(err, CW_RANGE, "%zu cutouts; %d can be drawn", count, CW_CUTOUTS_MOST);
    for (size_t i = 0; i < count; i++)
        cutouts[i] =
            (cw_cutout){cw_in_cell_number(in, "cutouts", i, "at"), cw_in_cell_number(in, "cutouts", i, "width"),
                        cw_in_cell_number(in, "cutouts", i, "depth")};
    double lining = cw_in_number(in, "lining"), bore = cw_in_number(in, "held") + 2 * lining,
           length = cw_in_or(in, "length", bore + 66e-3);
    cw_clamp c = {.length_m = length,
                  .width_m = cw_in_or(in, "width", bore + 26e-3),
                  .thickness_m = cw_in_number(in, "board"),
                  .bore_m = bore,
                  .lining_m = lining,
                  .held_m = cw_in_number(in, "held"),
                  .kerf_m = cw_in_number(in, "kerf"),
                  .screw_m = cw_in_number(in, "screw"),
                  .screw_at_m = cw_in_or(in, "screw-at", (bore / 2 + length / 2) / 2),
                  .screw_n = cw_in_number(in, "screw-force"),
                  .mu = mu.value,
                  .cutouts = cutouts,
                  .cutout_count = count,
                  .board = &board};
    cw_clamp_result r;
    CW_TRY(cw_clamp_find(&c, &r, err));
    cw_drawing *drawing;
    CW_TRY(draw(&c, &drawing, err));
    cw_out_drawing(out, "template", drawing);
    double share = hypot(mu.u / mu.value, 0.25); /* a wing nut's force is known to a quarter */
    cw_quantity least = {r.torque_least_n_m, r.torque_least_n_m * share};
    bool cracks = r.bending_reserve < 1;
    cw_out_verdict(out, "holds", cracks ? CW_VERDICT_OUTSIDE : cw_at_least(least, cw_in_number(in, "torque")),
                   cracks ? "the board cracks first, at %.3g N a screw" : "slips at %.3g N m at the least",
                   cracks ? r.screw_most_n : r.torque_least_n_m);
    cw_out_quantity(out, "torque-most", (cw_quantity){r.torque_n_m, r.torque_n_m * share});
    cw_out_quantity(out, "torque-least", least);
    double windup = cw_lining_windup_rad_n_m(r.held_m / 2, c.thickness_m, r.contact_rad, lining,
                                             cw_in_number(in, "lining-modulus"));
    double asked = cw_in_number(in, "torque");
    cw_out_quantity(out, "wind-up", (cw_quantity){windup, 0.4 * windup});
    if (!isnan(asked))
        cw_out_number(out, "hand", asked / c.length_m);
    cw_out_stop(out, r.torque_least_n_m * fmin(1, r.bending_reserve), "from there on it slips, and the finish suffers",
                windup);
    cw_out_number(out, "contact", r.contact_rad);
    cw_out_number(out, "pressure", r.pressure_pa);
    cw_out_quantity(out, "screw-most",
                    (cw_quantity){r.screw_most_n, r.screw_most_n * board.yield_pa.u / board.yield_pa.value});
    cw_out_number(out, "wall", r.least_wall_m);
    cw_out_number(out, "bore", bore);
    return CW_OK;
}

static const char *const cautions[] = {"cutting", "force", NULL};
static const char *const sources[] = {"even pressure balanced against two screws, summed over the arcs left by "
                                      "cutouts; two point contacts 4 mu P r; own derivation",
                                      "board: see the materials sheet", NULL};
static const char *const example[] = {"held", "42mm", "cutouts", "90,10mm,5mm;200,8mm,4mm", "torque", "3 N m", NULL};

static const char *const tool_sizes[] = {"span", "held", NULL};
static const char *const tool_need[] = {"span", "held", NULL};
static const cw_sheet_tool tool = {CW_RACK_CLAMP, tool_sizes, tool_need};

extern const cw_worksheet cw_sheet_clamp_block;
const cw_worksheet cw_sheet_clamp_block = {
    .name = "clamp-block",
    .title = "Clamp block from board",
    .group = "Tools",
    .purpose = "Holds a lens barrel or shutter while its ring is turned, without touching its levers. Says at what "
               "torque the barrel slips and what force "
               "the board stands, and prints the block at true size.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
    .tool = &tool,
};
