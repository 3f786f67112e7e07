/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Does the screwdriver fit its slot, and how to hone it. */
#include <math.h>

#include "worksheets/fields.h"
#include "worksheets/plan.h"
#include "workshop/driver.h"

static const cw_field inputs[] = {
    CW_NEED("slot", "Slot width", CW_LENGTH, "mm", 0.1e-3, 5e-3, "feeler gauges"),
    CW_NEED("depth", "Slot depth", CW_LENGTH, "mm", 0.1e-3, 10e-3, ""),
    CW_NEED("head", "Head diameter", CW_LENGTH, "mm", 0.5e-3, 50e-3, "or the length of the slot"),
    CW_NEED("tip", "Tip thickness", CW_LENGTH, "mm", 0.05e-3, 5e-3, "at its very end"),
    CW_NEED("tip-width", "Tip width", CW_LENGTH, "mm", 0.2e-3, 50e-3, ""),
    CW_USUAL("taper", "Taper of the tip's faces", CW_ANGLE, "deg", "0", 0, M_PI / 3,
             "included angle; 0 for a hollow-ground, parallel tip"),
    CW_MAYBE("core", "Core of the screw", CW_LENGTH, "mm", 0.1e-3, 50e-3, "minor diameter of its thread"),
    CW_USUAL("friction", "Friction of tip in slot", CW_PLAIN, NULL, "0.2", 0, 1.5, ""),
    CW_PICK("tip-of", "Steel of the tip", cw_material_choices, "driver-steel", ""),
    CW_PICK("screw-of", "Material of the screw", cw_material_choices, "mild-steel", ""),
    CW_OWN_MATERIAL_FIELDS,
};

static const cw_field outputs[] = {
    CW_JUDGE("fits", "Does it fit?", "play under a tenth of the slot, taper within the slot's depth"),
    CW_SHOW("hone-to", "Hone the tip to", CW_LENGTH, "mm", 3, "thickness"),
    CW_SHOW("width-to", "And to a width of", CW_LENGTH, "mm", 3, ""),
    CW_SHOW("taper-most", "Largest taper", CW_ANGLE, "deg", 2,
            "at which end and mouth of the slot bear together; parallel is best"),
    CW_SHOW("play", "Play where it seats", CW_LENGTH, "mm", 2, ""),
    CW_SHOW("slot-torque", "The slot stands", CW_TORQUE, "N mm", 2, "before its edges give"),
    CW_SHOW("tip-torque", "The tip stands", CW_TORQUE, "N mm", 2, "before it twists"),
    CW_MAY_SHOW("screw-torque", "The screw stands", CW_TORQUE, "N mm", 2, "before its core twists"),
    CW_SHOW("press", "Push needed at the slot's limit", CW_FORCE, "N", 2, "so that the taper does not climb out"),
    CW_DRAWN("template", "Tip and slot, ten times size", "for the eye, not for cutting"),
};

static cw_status draw(const cw_driver *t, cw_drawing **drawing, cw_error *err)
{
    cw_drawing *d;
    CW_TRY(cw_drawing_new("Screwdriver tip in its slot, 10:1",
                          "Section across the slot with the tip standing in it, ten times true size.", &d, err));
    double k = 10, s = t->slot_m / 2 * k, depth = t->depth_m * k, wall = 2 * s + 5e-3, tip = t->tip_m / 2 * k,
           up = depth + 8e-3;
    double at_top = fmin(tip + up * tan(t->taper_rad / 2), tip + 12e-3);
    const cw_point head[] = {cw_plan_at(-wall, depth), cw_plan_at(-s, depth), cw_plan_at(-s, 0),
                             cw_plan_at(s, 0),         cw_plan_at(s, depth),  cw_plan_at(wall, depth)};
    cw_draw_path(d, CW_LAYER_HIDDEN, head, CW_COUNT(head), false);
    double seat =
        t->taper_rad > 0 && tip + depth * tan(t->taper_rad / 2) > s ? depth - (s - tip) / tan(t->taper_rad / 2) : 0;
    const cw_point blade[] = {cw_plan_at(-at_top, seat + up), cw_plan_at(-tip, seat), cw_plan_at(tip, seat),
                              cw_plan_at(at_top, seat + up)};
    cw_draw_path(d, CW_LAYER_CUT, blade, CW_COUNT(blade), false);
    cw_draw_line(d, CW_LAYER_CENTRE, cw_plan_at(0, -2e-3), cw_plan_at(0, seat + up + 2e-3));
    cw_plan_note(d, -wall, -8e-3, "10:1   slot %.3g x %.3g mm deep, tip %.3g mm", t->slot_m * 1e3, t->depth_m * 1e3,
                 t->tip_m * 1e3);
    *drawing = d;
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_material tip, screw;
    CW_TRY(cw_in_material(in, "tip-of", CW_NEEDS_YIELD, &tip, err));
    CW_TRY(cw_in_material(in, "screw-of", CW_NEEDS_YIELD, &screw, err));
    cw_driver t = {cw_in_number(in, "slot"),
                   cw_in_number(in, "depth"),
                   cw_in_number(in, "head"),
                   cw_in_number(in, "core"),
                   cw_in_number(in, "tip"),
                   cw_in_number(in, "tip-width"),
                   cw_in_number(in, "taper"),
                   cw_in_number(in, "friction"),
                   &tip,
                   &screw};
    cw_driver_result r;
    CW_TRY(cw_driver_find(&t, &r, err));
    cw_drawing *drawing;
    CW_TRY(draw(&t, &drawing, err));
    cw_out_drawing(out, "template", drawing);
    bool climbs = t.taper_rad > r.taper_most_rad + 1e-9, slack = r.play_m > 0.1 * t.slot_m,
         narrow = t.tip_width_m < 0.7 * t.head_m;
    if (climbs)
        cw_out_verdict(out, "fits", CW_VERDICT_OUTSIDE,
                       "its taper bears on the slot's mouth only and climbs out; hone it below %.2g degrees",
                       r.taper_most_rad * 180 / M_PI);
    else if (slack)
        cw_out_verdict(out, "fits", CW_VERDICT_OUTSIDE,
                       "%.2g mm of play: it tilts by %.2g degrees and chews the slot; take a thicker tip",
                       r.play_m * 1e3, r.tilt_rad * 180 / M_PI);
    else if (narrow)
        cw_out_verdict(out, "fits", CW_VERDICT_OUTSIDE,
                       "it fills the slot but not its length; %.3g mm wide would pass more", r.best_width_m * 1e3);
    else
        cw_out_verdict(out, "fits", CW_VERDICT_INSIDE, "it fits");
    cw_out_number(out, "hone-to", r.best_tip_m);
    cw_out_number(out, "width-to", r.best_width_m);
    cw_out_number(out, "taper-most", r.taper_most_rad);
    cw_out_number(out, "play", r.play_m);
    cw_out_quantity(
        out, "slot-torque",
        (cw_quantity){r.slot_torque_n_m, r.slot_torque_n_m * hypot(0.2, screw.yield_pa.u / screw.yield_pa.value)});
    cw_out_quantity(out, "tip-torque",
                    (cw_quantity){r.tip_torque_n_m, r.tip_torque_n_m * tip.yield_pa.u / tip.yield_pa.value});
    cw_out_quantity(out, "screw-torque",
                    (cw_quantity){r.screw_torque_n_m, r.screw_torque_n_m * screw.yield_pa.u / screw.yield_pa.value});
    cw_out_number(out, "press", r.press_per_torque * fmin(r.slot_torque_n_m, r.tip_torque_n_m));
    return CW_OK;
}

static const char *const cautions[] = {"cutting", "force", "dust", NULL};
static const char *const sources[] = {
    "torsion of the tip: exact series; pressure in the slot linear from the middle: own derivation",
    "play of a tenth, honing to 96 % of the slot: common practice, no source", NULL};
static const char *const example[] = {"slot",   "0.4mm",     "depth", "0.5mm", "head",  "3mm", "tip",
                                      "0.37mm", "tip-width", "2.8mm", "core",  "1.2mm", NULL};

extern const cw_worksheet cw_sheet_driver_tip;
const cw_worksheet cw_sheet_driver_tip = {
    .name = "driver-tip",
    .title = "Screwdriver tip for a slot",
    .group = "Tools",
    .purpose = "A tip that fits saves the slot. Says whether it does, what to hone it to, and what slot, tip and screw "
               "each stand.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
