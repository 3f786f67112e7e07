/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A split collar that grips the edge of a flush round cap. */
#include <math.h>

#include "worksheets/fields.h"
#include "worksheets/plan.h"
#include "workshop/grip.h"

static const cw_field inputs[] = {
    CW_NEED("cap", "Diameter to grip", CW_LENGTH, "mm", 3e-3, 0.3, "of the cap's edge"),
    CW_NEED("edge", "Height of the edge", CW_LENGTH, "mm", 0.2e-3, 50e-3, "what a jaw can hold of it"),
    CW_USUAL("wall", "Wall of the cap", CW_LENGTH, "mm", "0", 0, 20e-3, "0 for a solid one; a thin cap is crushed"),
    CW_USUAL("play", "Bore larger than the cap by", CW_LENGTH, "mm", "0.1 mm", 0, 5e-3, "on diameter, collar open"),
    CW_USUAL("collar", "Thickness of the collar", CW_LENGTH, "mm", "2 mm", 0.3e-3, 50e-3, "radially"),
    CW_USUAL("split", "Width of the split", CW_LENGTH, "mm", "3 mm", 0.1e-3, 30e-3, "open"),
    CW_MAYBE("closing", "Force across the split", CW_FORCE, "N", 0.1, 20e3, "left out: from the screw below"),
    CW_USUAL("screw", "Diameter of the closing screw", CW_LENGTH, "mm", "3 mm", 1e-3, 12e-3, ""),
    CW_USUAL("screw-torque", "Tightened with", CW_TORQUE, "N m", "0.3 N m", 1e-3, 20, "an M3 by hand: about 0.3 N m"),
    CW_USUAL("lever", "Lever", CW_LENGTH, "mm", "60 mm", 2e-3, 0.5, "from the middle to where the hand pushes"),
    CW_USUAL("rod", "Diameter of the handle", CW_LENGTH, "mm", "5 mm", 1e-3, 50e-3,
             "a round rod, of the collar's material"),
    CW_MAYBE("torque", "Torque it should pass", CW_TORQUE, "N m", 1e-4, 50, ""),
    CW_FRICTION_FIELDS("leather-metal"),
    CW_PICK("collar-of", "Material of the collar", cw_material_choices, "brass-hard", ""),
    CW_PICK("cap-of", "Material of the cap", cw_material_choices, "aluminium-6061-t6", ""),
    CW_OWN_MATERIAL_FIELDS,
};

static const cw_field outputs[] = {
    CW_JUDGE("holds", "Does it hold?", "against the torque asked for, by the lower figure"),
    CW_SHOW("torque-most", "Slips at", CW_TORQUE, "N m", 2, "pressure even all round"),
    CW_SHOW("torque-least", "Slips at the least at", CW_TORQUE, "N m", 2,
            "two stiff halves that touch at their crowns only"),
    CW_SHOW("closing-force", "Force across the split", CW_FORCE, "N", 2, ""),
    CW_SHOW("bend", "Of it lost in bending the collar", CW_FORCE, "N", 2,
            "make the bore fit better where this is large"),
    CW_MAY_SHOW("closing-most", "The cap stands", CW_FORCE, "N", 2,
                "across the split, before its wall yields; not shown for a solid cap"),
    CW_MAY_SHOW("hand", "Push of the hand", CW_FORCE, "N", 2, "for the torque asked for"),
    CW_SHOW("handle-most", "The handle bends at", CW_TORQUE, "N m", 2, "take a thicker rod where this is the least"),
    CW_SHOW("wind-up", "Wind-up", CW_WINDUP, "deg/(N m)", 2, "of the handle"),
    CW_SAY("stop", "When to stop, and what first", ""),
    CW_DRAWN("template", "Collar, 1:1", ""),
};

static cw_status draw(const cw_collar *c, double play_m, double screw_m, cw_drawing **drawing, cw_error *err)
{
    cw_drawing *d;
    CW_TRY(cw_drawing_new("Split collar", "A ring with a split, ears for a screw, and a handle.", &d, err));
    double bore = c->bore_m + play_m, outer = bore + 2 * c->collar_m, gap = asin(fmin(1, c->gap_m / bore)),
           ear = 3 * screw_m;
    double ear_y = c->gap_m / 2, reach = outer / 2 + ear;
    cw_draw_arc(d, CW_LAYER_CUT, cw_plan_at(0, 0), bore / 2 * CW_TO_MM, gap, 2 * M_PI - gap);
    double outer_gap = asin(fmin(0.95, (ear_y + 2 * screw_m) / (outer / 2))); /* where the ears grow out of the ring */
    cw_draw_arc(d, CW_LAYER_CUT, cw_plan_at(0, 0), outer / 2 * CW_TO_MM, outer_gap, 2 * M_PI - outer_gap);
    for (int side = -1; side <= 1; side += 2) {
        const cw_point ear_line[] = {cw_plan_at(bore / 2 * cos(gap), side * ear_y), cw_plan_at(reach, side * ear_y),
                                     cw_plan_at(reach, side * (ear_y + 2 * screw_m)),
                                     cw_plan_at(outer / 2 * cos(outer_gap), side * outer / 2 * sin(outer_gap))};
        cw_draw_path(d, CW_LAYER_CUT, ear_line, CW_COUNT(ear_line), false);
    }
    cw_draw_line(d, CW_LAYER_CENTRE, cw_plan_at(outer / 2 + ear / 2, -ear_y - 3 * screw_m),
                 cw_plan_at(outer / 2 + ear / 2, ear_y + 3 * screw_m));
    cw_plan_cross(d, 0, 0, outer + 6e-3);
    cw_plan_circle(d, CW_LAYER_HIDDEN, 0, 0, c->bore_m);
    cw_draw_line(d, CW_LAYER_HIDDEN, cw_plan_at(-outer / 2, 0), cw_plan_at(-c->lever_m, 0));
    cw_plan_size(d, -bore / 2, 0, bore / 2, 0, outer / 2 * CW_TO_MM + 8);
    cw_plan_size(d, -outer / 2, 0, outer / 2, 0, outer / 2 * CW_TO_MM + 14);
    cw_plan_size(d, reach, -ear_y, reach, ear_y, -6);
    cw_plan_note(d, -outer / 2, -outer / 2 - 14e-3, "split %.3g mm wide, wall %.3g mm, ears %.3g mm out",
                 c->gap_m * 1e3, c->collar_m * 1e3, ear * 1e3);
    cw_plan_note(d, -outer / 2, -outer / 2 - 8e-3,
                 "bore %.4g mm, jaw %.3g mm high, screw M%.2g through the ears, handle to %.3g mm", bore * 1e3,
                 c->edge_m * 1e3, screw_m * 1e3, c->lever_m * 1e3);
    *drawing = d;
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_material collar, cap;
    CW_TRY(cw_in_material(in, "collar-of", CW_NEEDS_YIELD | CW_NEEDS_MODULUS, &collar, err));
    CW_TRY(cw_in_material(in, "cap-of", CW_NEEDS_YIELD, &cap, err));
    cw_quantity mu = cw_in_friction(in);
    double play = cw_in_number(in, "play"), screw = cw_in_number(in, "screw");
    double closing = cw_in_or(in, "closing", cw_screw_force_n(cw_in_number(in, "screw-torque"), screw, 0.2));
    cw_collar c = {cw_in_number(in, "cap"),
                   cw_in_number(in, "edge"),
                   cw_in_number(in, "wall"),
                   cw_in_number(in, "collar"),
                   cw_in_number(in, "split"),
                   closing,
                   cw_in_number(in, "lever"),
                   mu.value,
                   &collar,
                   &cap};
    cw_collar_result r;
    CW_TRY(cw_collar_find(&c, play, &r, err));
    cw_drawing *drawing;
    CW_TRY(draw(&c, play, screw, &drawing, err));
    cw_out_drawing(out, "template", drawing);
    /* friction is known to u_mu; a screw's force to a quarter (Shigley: nut factors scatter so) where it is not
     * measured */
    double share = hypot(mu.u / mu.value, cw_in_given(in, "closing") ? 0.05 : 0.25);
    cw_quantity least = {r.torque_least_n_m, r.torque_least_n_m * share};
    double asked = cw_in_number(in, "torque");
    bool crushed = r.cap_reserve < 1;
    double rod = cw_in_number(in, "rod"), bends = cw_lever_yield_n_m(rod, collar.yield_pa.value),
           u_bends = bends * collar.yield_pa.u / collar.yield_pa.value;
    cw_quantity passes = bends < least.value ? (cw_quantity){bends, u_bends} : least;
    cw_out_verdict(out, "holds", crushed ? CW_VERDICT_OUTSIDE : cw_at_least(passes, asked),
                   crushed               ? "the cap's wall yields first, at %.4g N across the split"
                   : bends < least.value ? "the handle bends first, at %.3g N m"
                                         : "slips at %.3g N m or a little more",
                   crushed ? r.closing_most_n : passes.value);
    cw_out_quantity(out, "handle-most", (cw_quantity){bends, u_bends});
    cw_out_quantity(out, "torque-most", (cw_quantity){r.torque_n_m, r.torque_n_m * share});
    cw_out_quantity(out, "torque-least", least);
    double windup = cw_lever_windup_rad_n_m(c.lever_m, rod, collar.elastic_pa.value);
    cw_out_quantity(out, "wind-up", (cw_quantity){windup, 0.1 * windup});
    cw_out_stop(out, fmin(r.torque_least_n_m, bends / 2),
                bends / 2 < r.torque_least_n_m ? "that is half of what the handle stands"
                                               : "from there on it slips, and the finish suffers",
                windup);
    cw_out_number(out, "closing-force", closing);
    cw_out_number(out, "bend", r.bend_n);
    cw_out_number(out, "closing-most", cw_finite(r.closing_most_n));
    if (!isnan(asked))
        cw_out_number(out, "hand", r.hand_force_per_n_m * asked);
    cw_out_note(out,
                "The gap closes the bore by at most %.2g mm on diameter. Line the jaw with thin rubber or leather "
                "where the finish matters.",
                r.closes_m * 1e3);
    return CW_OK;
}

static const char *const cautions[] = {"cutting", "force", NULL};
static const char *const sources[] = {
    "even pressure on a belt or band: 2 pi mu P r; two point contacts: 4 mu P r; own derivation",
    "closing a cut ring: 3 pi P R^3/(E I), Roark, curved beams, from memory",
    "screw force T/(0.2 d): Shigley, bolt torque, from memory", NULL};
static const char *const example[] = {"cap", "28mm", "edge", "2.5mm", "wall", "1.2mm", "torque", "0.8 N m", NULL};

static const char *const tool_sizes[] = {"span", "cap", NULL};
static const char *const tool_need[] = {"span", "cap", NULL};
static const cw_sheet_tool tool = {CW_RACK_COLLAR, tool_sizes, tool_need};

extern const cw_worksheet cw_sheet_split_collar;
const cw_worksheet cw_sheet_split_collar = {
    .name = "split-collar",
    .title = "Split collar for a flush round cap",
    .group = "Tools",
    .purpose = "For a hatch or cap without slots that offers only its edge. Says at what torque the collar slips, "
               "whether the cap is crushed first, and "
               "draws it.",
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
