/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A two-pin driver filed from an old screwdriver. */
#include <math.h>

#include "worksheets/fields.h"
#include "worksheets/plan.h"
#include "workshop/wrench.h"

static const cw_choice shapes[] = {
    {"square", "Square prongs, filed from the blade"}, {"round", "Round pins, set in"}, {NULL, NULL}};

static const cw_field inputs[] = {
    CW_NEED("span", "Distance between hole middles", CW_LENGTH, "mm", 1e-3, 0.1, "outer edges less one hole diameter"),
    CW_NEED("hole", "Hole diameter", CW_LENGTH, "mm", 0.3e-3, 10e-3, "try drill shanks in it"),
    CW_NEED("hole-depth", "Hole depth", CW_LENGTH, "mm", 0.2e-3, 20e-3, ""),
    CW_PICK("shape", "Shape of the pins", shapes, "square", ""),
    CW_MAYBE("pin", "Size of the pin", CW_LENGTH, "mm", 0.2e-3, 10e-3,
             "diameter, or side of the square; left out: what goes in with 3 % of play"),
    CW_MAYBE("pin-length", "Free length of the pins", CW_LENGTH, "mm", 0.2e-3, 30e-3,
             "left out: the hole's depth and 0.5 mm"),
    CW_USUAL("blade", "Thickness of the blade", CW_LENGTH, "mm", "1.5 mm", 0.3e-3, 10e-3,
             "of the old screwdriver, at the notch"),
    CW_MAYBE("blade-width", "Width of the blade", CW_LENGTH, "mm", 1e-3, 0.1, "left out: just the two prongs"),
    CW_USUAL("blade-length", "Length of the flat blade", CW_LENGTH, "mm", "8 mm", 0, 0.1, ""),
    CW_USUAL("shank", "Diameter of the shank", CW_LENGTH, "mm", "6 mm", 1e-3, 30e-3, ""),
    CW_USUAL("shank-length", "Length of the shank", CW_LENGTH, "mm", "80 mm", 5e-3, 0.5, ""),
    CW_USUAL("handle", "Diameter of the handle", CW_LENGTH, "mm", "28 mm", 3e-3, 0.1, ""),
    CW_MAYBE("torque", "Torque it should pass", CW_TORQUE, "N m", 1e-4, 50, "left out: only the limits"),
    CW_PICK("steel", "Steel of the driver", cw_material_choices, "driver-steel", ""),
    CW_PICK("ring", "Material of the ring", cw_material_choices, "brass-half-hard", "what the holes are drilled in"),
    CW_OWN_MATERIAL_FIELDS,
};

static const cw_field limit_columns[] = {
    CW_SAY("what", "What gives", ""),
    CW_MAY_SHOW("torque", "At a torque of", CW_TORQUE, "N m", 2, ""),
};

static const cw_field outputs[] = {
    CW_JUDGE("holds", "Does it hold?", "against the torque asked for, at k = 2"),
    CW_SHOW("torque-most", "Torque it passes", CW_TORQUE, "N m", 2, "use half of it"),
    CW_TABLE("limits", "What gives, and when", limit_columns, ""),
    CW_SHOW("wind-up", "Wind-up", CW_WINDUP, "deg/(N m)", 2, ""),
    CW_SHOW("pin-size", "Make the pins", CW_LENGTH, "mm", 3, "diameter, or side of the square"),
    CW_SHOW("notch", "Notch between the pins", CW_LENGTH, "mm", 3, "width to saw and file"),
    CW_SHOW("grip", "Friction force of the hand", CW_FORCE, "N", 2, "at the handle's rim, at half the limit"),
    CW_SAY("stop", "When to stop, and what first", ""),
    CW_DRAWN("template", "Template of the blade's end, 1:1", ""),
};

static cw_status draw(const cw_pin_driver *p, double width_m, cw_drawing **drawing, cw_error *err)
{
    cw_drawing *d;
    CW_TRY(cw_drawing_new(
        "Two-pin driver",
        "The end of a screwdriver blade with a notch that leaves two prongs, and the same from below.", &d, err));
    double out = width_m / 2, half = p->pin_m / 2, x = p->span_m / 2, body = fmax(p->blade_length_m, 4e-3),
           top = p->pin_length_m + body;
    const cw_point outline[] = {cw_plan_at(-out, top),
                                cw_plan_at(-out, p->pin_length_m),
                                cw_plan_at(-x - half, p->pin_length_m),
                                cw_plan_at(-x - half, 0),
                                cw_plan_at(-x + half, 0),
                                cw_plan_at(-x + half, p->pin_length_m),
                                cw_plan_at(x - half, p->pin_length_m),
                                cw_plan_at(x - half, 0),
                                cw_plan_at(x + half, 0),
                                cw_plan_at(x + half, p->pin_length_m),
                                cw_plan_at(out, p->pin_length_m),
                                cw_plan_at(out, top)};
    cw_draw_path(d, CW_LAYER_CUT, outline, CW_COUNT(outline), true);
    cw_draw_line(d, CW_LAYER_CENTRE, cw_plan_at(0, -1e-3), cw_plan_at(0, top + 1e-3));
    double below = -16e-3 - p->blade_m; /* the face seen from below */
    cw_plan_box(d, CW_LAYER_HIDDEN, 0, below, width_m, fmax(p->blade_m, p->pin_m));
    for (int side = -1; side <= 1; side += 2) {
        if (p->square)
            cw_plan_box(d, CW_LAYER_CUT, side * x, below, p->pin_m, p->pin_m);
        else
            cw_plan_circle(d, CW_LAYER_DRILL, side * x, below, p->pin_m);
        cw_plan_circle(d, CW_LAYER_HIDDEN, side * x, below, p->hole_m);
    }
    cw_plan_size(d, -x, 0, x, 0, -8);
    if (p->pin_length_m > 6e-3) /* a shorter one has no room for its size, which stands in the note */
        cw_plan_size(d, out, p->pin_length_m, out, 0, 6);
    cw_plan_note(d, out + 12e-3, top / 2, "pins %.3g mm %s, %.3g mm long", p->pin_m * 1e3,
                 p->square ? "square" : "round", p->pin_length_m * 1e3);
    *drawing = d;
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_material steel, ring;
    CW_TRY(cw_in_material(in, "steel", CW_NEEDS_YIELD | CW_NEEDS_MODULUS | CW_NEEDS_SHEAR, &steel, err));
    CW_TRY(cw_in_material(in, "ring", CW_NEEDS_YIELD, &ring, err));
    bool square = cw_in_is(in, "shape", "square");
    double hole = cw_in_number(in, "hole"), span = cw_in_number(in, "span");
    double pin = cw_in_or(in, "pin", 0.97 * hole / (square ? M_SQRT2 : 1)),
           width = cw_in_or(in, "blade-width", span + pin);
    cw_pin_driver p = {
        .span_m = span,
        .hole_m = hole,
        .hole_depth_m = cw_in_number(in, "hole-depth"),
        .pin_m = pin,
        .square = square,
        .pin_length_m = cw_in_or(in, "pin-length", cw_in_number(in, "hole-depth") + 0.5e-3),
        .shank_m = cw_in_number(in, "shank"),
        .shank_length_m = cw_in_number(in, "shank-length"),
        .blade_width_m = width,
        .blade_m = cw_in_number(in, "blade"),
        .blade_length_m = cw_in_number(in, "blade-length"),
        .handle_m = cw_in_number(in, "handle"),
        .steel = &steel,
        .ring = &ring,
    };
    cw_wrench_result r;
    CW_TRY(cw_pin_driver_find(&p, &r, err));
    cw_drawing *drawing;
    CW_TRY(draw(&p, width, &drawing, err));
    cw_out_drawing(out, "template", drawing);
    cw_quantity most = {r.limits[0].torque_n_m, r.limits[0].u_n_m};
    double asked = cw_in_number(in, "torque");
    cw_out_verdict(out, "holds", cw_at_least(most, asked), "%s at about %.3g N m", r.limits[0].what, most.value);
    cw_out_quantity(out, "torque-most", most);
    for (size_t i = 0; i < r.limit_count; i++) {
        size_t row = cw_out_row(out, "limits");
        cw_out_cell_text(out, "limits", row, "what", "%s", r.limits[i].what);
        cw_out_cell_quantity(out, "limits", row, "torque", (cw_quantity){r.limits[i].torque_n_m, r.limits[i].u_n_m});
    }
    cw_out_quantity(out, "wind-up", (cw_quantity){r.windup_rad_n_m, r.u_windup_rad_n_m});
    cw_out_stop(out, most.value / 2, "that is half of what the weakest place stands", r.windup_rad_n_m);
    cw_out_number(out, "pin-size", pin);
    cw_out_number(out, "notch", span - pin);
    cw_out_number(out, "grip", r.hand_force_per_n_m * most.value / 2);
    if (steel.yield_pa.value > 1e9)
        cw_out_note(out, "A hardened blade is ground, not filed: dip it in water often, and stop before it shows blue, "
                         "or it is soft from there on.");
    return CW_OK;
}

static const char *const cautions[] = {"cutting", "force", "dust", NULL};
static const char *const sources[] = {
    "beam bending and shear, torsion of round and rectangular bars (exact series, Timoshenko and Goodier)",
    "materials: see the materials sheet", NULL};
static const char *const example[] = {"span",  "8.1mm",  "hole",     "1.05mm", "hole-depth",
                                      "0.9mm", "torque", "0.15 N m", NULL};

static const char *const tool_sizes[] = {"span", "span", "tip", "pin-size", "reach", "pin-length", NULL};
static const char *const tool_need[] = {"span", "span", "slot", "hole", NULL};
static const cw_sheet_tool tool = {CW_RACK_TWO_PIN, tool_sizes, tool_need};

extern const cw_worksheet cw_sheet_pin_driver;
const cw_worksheet cw_sheet_pin_driver = {
    .name = "pin-driver",
    .title = "Two-pin driver from an old screwdriver",
    .group = "Tools",
    .purpose = "For rings and caps with two small holes. Says how thick the prongs may be, what torque they pass and "
               "how far the driver winds up, and "
               "prints the blade's end at true size.",
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
