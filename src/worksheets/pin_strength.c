/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A replacement pin against the load of a winding lever. */
#include <math.h>

#include "worksheets/fields.h"
#include "worksheets/plan.h"
#include "workshop/press.h"

static const cw_choice kinds[] = {
    {"cross", "Cross pin, through shaft and hub"}, {"stud", "Stud, standing in a plate"}, {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("kind", "Kind of pin", kinds, "cross", ""),
    CW_NEED("pin", "Diameter of the pin", CW_LENGTH, "mm", 0.1e-3, 0.2, ""),
    CW_USUAL("force", "Force on the lever", CW_FORCE, "N", "20 N", 0.01, 1e5,
             "a thumb at the end of its stroke: 15 to 30 N"),
    CW_USUAL("lever", "Length of the lever", CW_LENGTH, "mm", "30 mm", 1e-3, 5, "axis to thumb"),
    CW_MAYBE("on-axis", "Torque on the axis", CW_TORQUE, "N m", 1e-5, 1e5, "instead of force and lever"),
    CW_USUAL("shock", "Shock", CW_PLAIN, NULL, "2", 1, 5,
             "how much more a careless stroke gives; common practice, no source"),
    CW_MAYBE("shaft", "Cross pin: shaft diameter", CW_LENGTH, "mm", 0.2e-3, 1, ""),
    CW_MAYBE("wall", "Cross pin: wall of the hub", CW_LENGTH, "mm", 0.1e-3, 1, ""),
    CW_MAYBE("radius", "Stud: distance from the axis", CW_LENGTH, "mm", 0.2e-3, 2, ""),
    CW_MAYBE("plate", "Stud: thickness of the plate", CW_LENGTH, "mm", 0.1e-3, 0.5, ""),
    CW_MAYBE("overhang", "Stud: height of the load over the plate", CW_LENGTH, "mm", 0, 0.1, ""),
    CW_PICK("pin-of", "Material of the pin", cw_material_choices, "tool-steel-annealed", ""),
    CW_PICK("around-of", "Softest material around it", cw_material_choices, "brass-half-hard", ""),
    CW_OWN_MATERIAL_FIELDS,
};

static const cw_field outputs[] = {
    CW_JUDGE("holds", "Does it hold?", "yield over stress at least 1, at k = 2"),
    CW_SHOW("torque", "Torque it sees", CW_TORQUE, "N m", 2, "force, lever and shock"),
    CW_SHOW("yields-at", "Gives way at", CW_TORQUE, "N m", 2, ""),
    CW_SAY("weakest", "By", ""),
    CW_SHOW("shear", "Shear of the pin", CW_STRESS, "MPa", 3, ""),
    CW_SHOW("bearing", "Bearing around it", CW_STRESS, "MPa", 3, ""),
    CW_SHOW("bending", "Bending of the pin", CW_STRESS, "MPa", 3, "0 for a cross pin"),
    CW_SHOW("least-pin", "Least diameter that holds", CW_LENGTH, "mm", 2, "in the same material"),
    CW_DRAWN("template", "The pin to turn, ten times size", "for the eye; sizes beside it"),
};

static double length_of(const cw_pin *p)
{
    return p->kind == CW_PIN_CROSS ? p->shaft_m + 2 * p->hub_wall_m : p->plate_m + 2 * p->overhang_m;
}

static cw_status draw(const cw_pin *p, cw_drawing **drawing, cw_error *err)
{
    cw_drawing *d;
    CW_TRY(cw_drawing_new("Replacement pin", "Side view of a plain pin with broken edges.", &d, err));
    double k = fmin(10, 0.15 / fmax(length_of(p), p->pin_m)), w = p->pin_m * k, l = length_of(p) * k, chamfer = w / 10;
    const cw_point outline[] = {cw_plan_at(0, -w / 2 + chamfer), cw_plan_at(chamfer, -w / 2),
                                cw_plan_at(l - chamfer, -w / 2), cw_plan_at(l, -w / 2 + chamfer),
                                cw_plan_at(l, w / 2 - chamfer),  cw_plan_at(l - chamfer, w / 2),
                                cw_plan_at(chamfer, w / 2),      cw_plan_at(0, w / 2 - chamfer)};
    cw_draw_path(d, CW_LAYER_CUT, outline, CW_COUNT(outline), true);
    cw_draw_line(d, CW_LAYER_CENTRE, cw_plan_at(-3e-3, 0), cw_plan_at(l + 3e-3, 0));
    cw_plan_note(d, 0, -w / 2 - 8e-3, "%.3g:1   diameter %.4g mm (limits: the fit sheet), length %.4g mm, edges broken",
                 k, p->pin_m * 1e3, length_of(p) * 1e3);
    *drawing = d;
    return CW_OK;
}

/* Smallest diameter with a reserve of 1, by halving; reserves rise with the diameter. */
static double least_diameter(const cw_pin *pin)
{
    cw_pin trial = *pin;
    double low = 0.1e-3, high = 0.2;
    if (pin->kind == CW_PIN_CROSS)
        high = 0.6 * pin->shaft_m;
    for (int i = 0; i < 50; i++) {
        trial.pin_m = (low + high) / 2;
        cw_pin_result r;
        cw_error ignored; /* too large a pin is refused: then the least is below it or there is none */
        bool holds = cw_pin_find(&trial, &r, &ignored) != CW_OK || r.least_reserve >= 1;
        *(holds ? &high : &low) = trial.pin_m;
    }
    trial.pin_m = high;
    cw_pin_result r;
    cw_error ignored;
    return cw_pin_find(&trial, &r, &ignored) == CW_OK && r.least_reserve >= 0.999 ? high : NAN;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_material pin_of, around;
    CW_TRY(cw_in_material(in, "pin-of", CW_NEEDS_YIELD, &pin_of, err));
    CW_TRY(cw_in_material(in, "around-of", CW_NEEDS_YIELD, &around, err));
    bool cross = cw_in_is(in, "kind", "cross");
    double torque =
        cw_in_or(in, "on-axis", cw_in_number(in, "force") * cw_in_number(in, "lever")) * cw_in_number(in, "shock");
    cw_pin pin = {.kind = cross ? CW_PIN_CROSS : CW_PIN_STUD,
                  .pin_m = cw_in_number(in, "pin"),
                  .torque_n_m = torque,
                  .shaft_m = cw_in_number(in, "shaft"),
                  .hub_wall_m = cw_in_number(in, "wall"),
                  .radius_m = cw_in_number(in, "radius"),
                  .plate_m = cw_in_number(in, "plate"),
                  .overhang_m = cw_in_number(in, "overhang"),
                  .pin = &pin_of,
                  .around = &around};
    cw_pin_result r;
    CW_TRY(cw_pin_find(&pin, &r, err));
    cw_drawing *drawing;
    CW_TRY(draw(&pin, &drawing, err));
    cw_out_drawing(out, "template", drawing);
    bool bearing = r.least_reserve == r.bearing_reserve;
    const cw_material *gives = bearing ? &around : &pin_of;
    double share = hypot(gives->yield_pa.u / gives->yield_pa.value, 0.1); /* a tenth for the statics of loose parts */
    cw_quantity reserve = {r.least_reserve, r.least_reserve * share};
    cw_out_verdict(out, "holds", cw_at_least(reserve, 1), "yield over stress %.2g, by %s", r.least_reserve, r.weakest);
    cw_out_number(out, "torque", torque);
    cw_out_quantity(out, "yields-at", (cw_quantity){r.torque_at_yield_n_m, r.torque_at_yield_n_m * share});
    cw_out_text(out, "weakest", "%s", r.weakest);
    cw_out_number(out, "shear", r.shear_pa);
    cw_out_number(out, "bearing", r.bearing_pa);
    cw_out_number(out, "bending", r.bending_pa);
    double least = least_diameter(&pin);
    if (isnan(least))
        return cw_fail(err, CW_RANGE,
                       "no pin that still leaves a shaft holds %.2g N m in these materials; a stronger one, or a "
                       "larger shaft, would",
                       torque);
    cw_out_number(out, "least-pin", least);
    return CW_OK;
}

static const char *const cautions[] = {"force", "spring", "cutting", NULL};
static const char *const sources[] = {"cross pin and stud by statics, forms as in Niemann, Maschinenelemente, from "
                                      "memory; each checked by its own integral",
                                      "shear yield = yield / sqrt(3): Shigley, 5-5", NULL};
static const char *const example[] = {"kind", "cross", "pin", "1.5mm", "shaft", "6mm", "wall", "2mm", NULL};

extern const cw_worksheet cw_sheet_pin_strength;
const cw_worksheet cw_sheet_pin_strength = {
    .name = "pin-strength",
    .title = "Replacement pin for a winding lever",
    .group = "Parts",
    .purpose = "The pin was sheared; will the new one hold? Shear, bearing and bending of a cross pin or a stud "
               "against the thumb on the lever, and the least "
               "diameter that holds.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
