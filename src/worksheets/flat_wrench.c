/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A flat two-blade wrench for a slotted ring: will it hold, and the template to file it by. */
#include <math.h>

#include "worksheets/fields.h"
#include "worksheets/plan.h"
#include "workshop/wrench.h"

static const cw_field inputs[] = {
    CW_NEED("span", "Distance between slot middles", CW_LENGTH, "mm", 2e-3, 0.2,
            "across the ring with calipers, middle to middle"),
    CW_NEED("slot-width", "Slot width", CW_LENGTH, "mm", 0.2e-3, 10e-3,
            "the narrow size; try drill shanks or feeler gauges in it"),
    CW_NEED("slot-depth", "Slot depth", CW_LENGTH, "mm", 0.1e-3, 10e-3, "with the tail of the caliper"),
    CW_MAYBE("tip", "Tip thickness", CW_LENGTH, "mm", 0.1e-3, 10e-3, "filed; left out: the slot less 0.05 mm"),
    CW_USUAL("tip-width", "Tip width", CW_LENGTH, "mm", "2 mm", 0.3e-3, 30e-3,
             "along the slot, as wide as slot and barrel allow"),
    CW_MAYBE("tip-length", "Filed length of the tip", CW_LENGTH, "mm", 0.1e-3, 50e-3,
             "left out: the slot's depth and 0.3 mm"),
    CW_NEED("reach", "Reach below the body", CW_LENGTH, "mm", 0.2e-3, 0.1,
            "how deep the slots' floor lies under what the body rests over"),
    CW_NEED("plate", "Plate thickness", CW_LENGTH, "mm", 0.2e-3, 20e-3, "of the steel to hand"),
    CW_USUAL("body", "Height of the body", CW_LENGTH, "mm", "15 mm", 2e-3, 0.1, "of the plate above the blades"),
    CW_USUAL("length", "Length over all", CW_LENGTH, "mm", "80 mm", 4e-3, 0.5, "where the hands push"),
    CW_USUAL("barrel", "Diameter of what stands inside the ring", CW_LENGTH, "mm", "0", 0, 0.2,
             "a lens barrel to clear; 0 for nothing"),
    CW_USUAL("barrel-height", "Its height above the slots' floor", CW_LENGTH, "mm", "0", 0, 0.1,
             "0 when it stays below the body"),
    CW_USUAL("well", "Diameter of the well around the ring", CW_LENGTH, "mm", "0", 0, 0.3,
             "0 when nothing stands around it"),
    CW_USUAL("well-depth", "Depth of the slots in the well", CW_LENGTH, "mm", "0", 0, 0.1, "rim to the slots' floor"),
    CW_USUAL("clearance", "Clearance all round", CW_LENGTH, "mm", "0.3 mm", 0, 5e-3, "to levers, barrel and well"),
    CW_MAYBE("torque", "Torque it should pass", CW_TORQUE, "N m", 1e-4, 50,
             "left out: only the limits; see the seized-thread sheet"),
    CW_PICK("steel", "Steel of the wrench", cw_material_choices, "tool-steel-annealed", ""),
    CW_PICK("ring", "Material of the ring", cw_material_choices, "brass-half-hard", "what the slots are cut in"),
    CW_OWN_MATERIAL_FIELDS,
};

static const cw_field limit_columns[] = {
    CW_SAY("what", "What gives", ""),
    CW_MAY_SHOW("torque", "At a torque of", CW_TORQUE, "N m", 2, ""),
};

static const cw_field outputs[] = {
    CW_JUDGE("holds", "Does it hold?", "against the torque asked for, at k = 2"),
    CW_SHOW("torque-most", "Torque it passes", CW_TORQUE, "N m", 2, "the first of the limits below; use half of it"),
    CW_TABLE("limits", "What gives, and when", limit_columns, "by beam theory and the material's yield"),
    CW_SHOW("wind-up", "Wind-up", CW_WINDUP, "deg/(N m)", 2, "the ring stands still while the hands turn by this"),
    CW_MAY_SHOW("hand", "Push of each hand", CW_FORCE, "N", 2,
                "at the ends, for the torque asked for, or for half the limit"),
    CW_SHOW("tip-force", "Force on each slot", CW_FORCE, "N", 2, "at that torque"),
    CW_SHOW("tip-thickness", "File the tips to", CW_LENGTH, "mm", 3, ""),
    CW_SHOW("play", "Play in the slot", CW_LENGTH, "mm", 2, "under 0.1 mm, or an eighth of the slot, is good"),
    CW_SHOW("bridge", "Bridge above the cutout", CW_LENGTH, "mm", 3, "what is left of the body"),
    CW_SAY("stop", "When to stop, and what first", ""),
    CW_DRAWN("template", "Template, 1:1", "stick it on the plate, centre-punch, saw, file to the line"),
};

static void read_wrench(const cw_sheet_in *in, const cw_material *steel, const cw_material *ring, cw_flat_wrench *w)
{
    double slot = cw_in_number(in, "slot-width"), depth = cw_in_number(in, "slot-depth");
    double plate = cw_in_number(in, "plate");
    *w = (cw_flat_wrench){
        .span_m = cw_in_number(in, "span"),
        .slot_width_m = slot,
        .slot_depth_m = depth,
        .tip_m = cw_in_or(in, "tip", fmin(plate, slot - fmin(0.05e-3, 0.1 * slot))),
        .tip_width_m = cw_in_number(in, "tip-width"),
        .tip_length_m = cw_in_or(in, "tip-length", fmin(depth + 0.3e-3, cw_in_number(in, "reach"))),
        .reach_m = cw_in_number(in, "reach"),
        .plate_m = plate,
        .body_height_m = cw_in_number(in, "body"),
        .length_m = cw_in_number(in, "length"),
        .barrel_m = cw_in_number(in, "barrel"),
        .barrel_height_m = cw_in_number(in, "barrel-height"),
        .well_m = cw_in_number(in, "well"),
        .well_depth_m = cw_in_number(in, "well-depth"),
        .clearance_m = cw_in_number(in, "clearance"),
        .steel = steel,
        .ring = ring,
    };
}

/* The plate seen from its broad side, tips down; x from the middle, y from the tips' ends up. */
static cw_status draw(const cw_flat_wrench *w, const cw_flat_shape *s, cw_drawing **drawing, cw_error *err)
{
    cw_drawing *d;
    CW_TRY(cw_drawing_new("Flat wrench for a slotted ring",
                          "Outline of a plate with two blades and the cutout between them.", &d, err));
    double L = w->length_m / 2, out = (w->span_m + w->tip_width_m) / 2, in = s->inside_m / 2,
           top = w->reach_m + w->body_height_m;
    double roof_corner = fmin(1.5e-3, in / 2); /* a sharp inside corner is where a plate cracks */
    const cw_point left[] = {cw_plan_at(-in + roof_corner, s->roof_m), cw_plan_at(in - roof_corner, s->roof_m)};
    cw_draw_path(d, CW_LAYER_CUT, left, 2, false);
    cw_draw_arc(d, CW_LAYER_CUT, cw_plan_at(in - roof_corner, s->roof_m - roof_corner), roof_corner * CW_TO_MM, 0,
                M_PI / 2);
    cw_draw_arc(d, CW_LAYER_CUT, cw_plan_at(-in + roof_corner, s->roof_m - roof_corner), roof_corner * CW_TO_MM,
                M_PI / 2, M_PI);
    const cw_point outline[] = {cw_plan_at(in, s->roof_m - roof_corner),
                                cw_plan_at(in, 0),
                                cw_plan_at(out, 0),
                                cw_plan_at(out, w->reach_m),
                                cw_plan_at(L, w->reach_m),
                                cw_plan_at(L, top),
                                cw_plan_at(-L, top),
                                cw_plan_at(-L, w->reach_m),
                                cw_plan_at(-out, w->reach_m),
                                cw_plan_at(-out, 0),
                                cw_plan_at(-in, 0),
                                cw_plan_at(-in, s->roof_m - roof_corner)};
    cw_draw_path(d, CW_LAYER_CUT, outline, CW_COUNT(outline), false);
    for (int side = -1; side <= 1; side += 2) /* where filing thin begins */
        cw_draw_line(d, CW_LAYER_HIDDEN, cw_plan_at(side * in, w->tip_length_m),
                     cw_plan_at(side * out, w->tip_length_m));
    cw_draw_line(d, CW_LAYER_CENTRE, cw_plan_at(0, -2e-3), cw_plan_at(0, top + 2e-3));
    if (w->barrel_m > 0 && w->barrel_height_m > 0)
        cw_plan_box(d, CW_LAYER_HIDDEN, 0, w->barrel_height_m / 2, w->barrel_m, w->barrel_height_m);
    cw_plan_size(d, -w->span_m / 2, 0, w->span_m / 2, 0, -8);
    cw_plan_size(d, in, 0, out, 0, -14);
    cw_plan_size(d, -L, top, L, top, 6);
    cw_plan_size(d, L, w->reach_m, L, top, -6);
    cw_plan_size(d, -out, 0, -out, w->reach_m, 6);
    cw_plan_note(d, -L, -22e-3, "plate %.3g mm; tips filed to %.3g mm over %.3g mm, below the dashed line",
                 w->plate_m * 1e3, w->tip_m * 1e3, w->tip_length_m * 1e3);
    *drawing = d;
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_material steel, ring;
    CW_TRY(cw_in_material(in, "steel", CW_NEEDS_YIELD | CW_NEEDS_MODULUS | CW_NEEDS_SHEAR, &steel, err));
    CW_TRY(cw_in_material(in, "ring", CW_NEEDS_YIELD, &ring, err));
    cw_flat_wrench w;
    read_wrench(in, &steel, &ring, &w);
    cw_flat_shape shape;
    cw_wrench_result r;
    CW_TRY(cw_flat_wrench_find(&w, &shape, &r, err));
    cw_drawing *drawing;
    CW_TRY(draw(&w, &shape, &drawing, err));
    cw_out_drawing(out, "template", drawing);

    cw_quantity most = {r.limits[0].torque_n_m, r.limits[0].u_n_m};
    double asked = cw_in_number(in, "torque"), at = isnan(asked) ? most.value / 2 : asked;
    cw_verdict verdict = cw_at_least(most, asked);
    if (isnan(asked))
        cw_out_verdict(out, "holds", verdict, "up to about %.3g N m; first %s", most.value, r.limits[0].what);
    else
        cw_out_verdict(out, "holds", verdict, "%s at %.3g N m: %s at about %.3g N m",
                       verdict == CW_VERDICT_INSIDE    ? "it holds"
                       : verdict == CW_VERDICT_OUTSIDE ? "it gives way"
                                                       : "too close to say",
                       asked, r.limits[0].what, most.value);
    cw_out_quantity(out, "torque-most", most);
    for (size_t i = 0; i < r.limit_count; i++) {
        size_t row = cw_out_row(out, "limits");
        cw_out_cell_text(out, "limits", row, "what", "%s", r.limits[i].what);
        cw_out_cell_quantity(out, "limits", row, "torque", (cw_quantity){r.limits[i].torque_n_m, r.limits[i].u_n_m});
    }
    cw_out_quantity(out, "wind-up", (cw_quantity){r.windup_rad_n_m, r.u_windup_rad_n_m});
    cw_out_number(out, "hand", r.hand_force_per_n_m * at);
    cw_out_number(out, "tip-force", r.tip_force_per_n_m * at);
    cw_out_number(out, "tip-thickness", w.tip_m);
    cw_out_number(out, "play", shape.tip_play_m);
    cw_out_number(out, "bridge", shape.bridge_m);
    cw_out_stop(out, most.value / 2, "that is half of what the weakest place stands", r.windup_rad_n_m);
    if (shape.tip_play_m > fmax(0.1e-3, w.slot_width_m / 8))
        cw_out_note(out, "The tip is %.2g mm thinner than the slot: it tilts, bears on its edges and chews the slot.",
                    shape.tip_play_m * 1e3);
    if (w.slot_depth_m < 0.6e-3)
        cw_out_note(out, "The slot is shallow: press down while turning, and square the tips' ends.");
    return CW_OK;
}

static const char *const cautions[] = {"cutting", "force", "spring", NULL};
static const char *const sources[] = {
    "beam bending, shear and torsion, energy method (Castigliano), own derivation",
    "torsion of the rectangular bridge: exact series, Timoshenko and Goodier, Theory of Elasticity, art. 109",
    "materials: see the materials sheet",
    "play, and the tenth allowed for filing and short beams: common practice, no source", NULL};
static const char *const example[] = {"span", "23.4mm", "slot-width", "1.2mm",  "slot-depth", "0.8mm",         "reach",
                                      "6mm",  "plate",  "2mm",        "barrel", "19mm",       "barrel-height", "8mm",
                                      "well", "28mm",   "well-depth", "4.7mm",  "torque",     "1.5 N m",       NULL};

static const char *const tool_sizes[] = {"span",  "span",  "tip", "tip-thickness", "tip_width", "tip-width",
                                         "reach", "reach", NULL};
static const char *const tool_need[] = {"span",  "span",   "slot",   "slot-width", "reach",
                                        "reach", "barrel", "barrel", NULL};
static const cw_sheet_tool tool = {CW_RACK_TWO_BLADE, tool_sizes, tool_need};

extern const cw_worksheet cw_sheet_flat_wrench;
const cw_worksheet cw_sheet_flat_wrench = {
    .name = "flat-wrench",
    .title = "Flat wrench for a slotted ring",
    .group = "Tools",
    .purpose = "The wrench for a retaining ring with two slots is not for sale, or flexes and slips. Says whether one "
               "filed from plate will hold, "
               "how far it winds up, and prints its outline at true size.",
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
