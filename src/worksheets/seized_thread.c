/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What torque a stuck ring or screw may take. */
#include <math.h>

#include "worksheets/fields.h"
#include "workshop/seized.h"

static const cw_choice bonds[] = {{"none", "Nothing: it is only tight"},   {"grease", "Dried grease"},
                                  {"lacquer", "Locking lacquer or paint"}, {"corrosion", "Corrosion, white or green"},
                                  {"adhesive", "Thread-locking adhesive"}, {NULL, NULL}};

static const cw_field inputs[] = {
    CW_NEED("diameter", "Thread diameter", CW_LENGTH, "mm", 0.5e-3, 0.2, "over the crests of the male thread"),
    CW_NEED("pitch", "Pitch", CW_LENGTH, "mm", 0.05e-3, 6e-3, "length over ten turns, divided by ten"),
    CW_NEED("engaged", "Engaged length", CW_LENGTH, "mm", 0.2e-3, 0.1, "along the axis"),
    CW_USUAL("seat", "Mean diameter of the seat", CW_LENGTH, "mm", "0", 0, 0.25,
             "the face it is tightened against; 0 for none"),
    CW_USUAL("tightened", "Tightened with", CW_TORQUE, "N m", "0.5 N m", 0, 50,
             "guess: fingers on a 30 mm ring reach about 0.5 N m"),
    CW_USUAL("friction-then", "Friction then", CW_PLAIN, NULL, "0.18", 0.02, 1.5, "0.15 greased to 0.25 dry"),
    CW_USUAL("friction-least", "Least friction now", CW_PLAIN, NULL, "0.15", 0.02, 1.5, ""),
    CW_USUAL("friction-most", "Largest friction now", CW_PLAIN, NULL, "0.4", 0.02, 1.5,
             "0.45 to 0.6 in corroded threads"),
    CW_USUAL("flank", "Flank angle of the thread", CW_ANGLE, "deg", "60 deg", 0.1, 2,
             "included: 60 metric, 55 Whitworth form, 47.5 BA"),
    CW_PICK("held-by", "What else holds it", bonds, "none", ""),
    CW_MAYBE("tool", "Torque your tool passes", CW_TORQUE, "N m", 1e-4, 100,
             "from its sheet; answers whether it is enough"),
    CW_MAYBE("core", "Core of the screw", CW_LENGTH, "mm", 0.1e-3, 50e-3,
             "minor diameter, for a screw that could twist off"),
    CW_PICK("screw-of", "Material of the screw or ring", cw_material_choices, "brass-half-hard", ""),
    CW_OWN_MATERIAL_FIELDS,
};

static const cw_field outputs[] = {
    CW_SHOW("least", "Comes loose at the least at", CW_TORQUE, "N m", 2, "least friction, weakest bond"),
    CW_SHOW("most", "And at the most at", CW_TORQUE, "N m", 2, "largest friction, strongest bond"),
    CW_SHOW("friction-part", "Of the most, friction", CW_TORQUE, "N m", 2, ""),
    CW_SHOW("bond-part", "Of the most, what glues it", CW_TORQUE, "N m", 2, ""),
    CW_SHOW("axial", "Force it was pulled up with", CW_FORCE, "N", 2, ""),
    CW_JUDGE("tool-enough", "Is the tool enough?", "against the range above"),
    CW_MAY_SHOW("twists-off", "The screw twists off at", CW_TORQUE, "N m", 2, "yield in shear of its core"),
    CW_SAY("first", "What to try first", ""),
};

static void judge_tool(cw_sheet_out *out, double tool, const cw_seized_result *r)
{
    if (isnan(tool))
        cw_out_verdict(out, "tool-enough", CW_VERDICT_UNKNOWN, "give the torque your tool passes");
    else if (tool >= r->most_n_m)
        cw_out_verdict(out, "tool-enough", CW_VERDICT_INSIDE, "over the whole range");
    else if (tool < r->least_n_m)
        cw_out_verdict(out, "tool-enough", CW_VERDICT_OUTSIDE, "not even for the least; free it first");
    else
        cw_out_verdict(out, "tool-enough", CW_VERDICT_TOO_CLOSE, "stop at %.3g N m and free it first", tool);
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_material material;
    CW_TRY(cw_in_material(in, "screw-of", CW_NEEDS_YIELD, &material, err));
    double diameter = cw_in_number(in, "diameter"), pitch = cw_in_number(in, "pitch");
    if (pitch > diameter / 2)
        return cw_fail(err, CW_RANGE, "a pitch of %.3g mm on a thread of %.4g mm; up to half the diameter makes sense",
                       pitch * 1e3, diameter * 1e3);
    cw_seized s = {.pitch_diameter_m = diameter - 0.65 * pitch,
                   .pitch_m = pitch,
                   .flank_angle_rad = cw_in_number(in, "flank"),
                   .engaged_m = cw_in_number(in, "engaged"),
                   .seat_diameter_m = cw_in_number(in, "seat"),
                   .tightened_n_m = cw_in_number(in, "tightened"),
                   .mu_assembly = cw_in_number(in, "friction-then"),
                   .mu_least = cw_in_number(in, "friction-least"),
                   .mu_most = cw_in_number(in, "friction-most"),
                   .bond = cw_bond_find(cw_in_text(in, "held-by"))};
    cw_seized_result r;
    CW_TRY(cw_seized_find(&s, &r, err));
    cw_out_number(out, "least", r.least_n_m);
    cw_out_number(out, "most", r.most_n_m);
    cw_out_number(out, "friction-part", r.friction_most_n_m);
    cw_out_number(out, "bond-part", r.bond_most_n_m);
    cw_out_number(out, "axial", r.axial_n);
    judge_tool(out, cw_in_number(in, "tool"), &r);
    double core = cw_in_number(in, "core");
    if (!isnan(core)) {
        if (core >= diameter)
            return cw_fail(err, CW_RANGE, "a core of %.4g mm in a thread of %.4g mm; the core is the thinner",
                           core * 1e3, diameter * 1e3);
        double twist = cw_material_shear_yield_pa(&material) * M_PI * core * core * core / 16;
        cw_out_quantity(out, "twists-off", (cw_quantity){twist, twist * material.yield_pa.u / material.yield_pa.value});
        if (twist < r.most_n_m)
            cw_out_note(out,
                        "The screw can twist off before it comes loose: free it first, and never go near %.3g N m.",
                        twist);
    }
    cw_out_text(out, "first", "%s", s.bond->first);
    cw_out_note(out, "The two ends of the range are bounds, not a measurement: what was tightened, and what dried in "
                     "the thread, are guesses.");
    return CW_OK;
}

static const char *const cautions[] = {"force", "heat", "solvent", "fire", NULL};
static const char *const sources[] = {
    "power screw and seat friction: Shigley, Mechanical Engineering Design, power screws",
    "shear strength of what dries in a thread: common practice, no source; adhesives from memory", NULL};
static const char *const example[] = {"diameter", "30mm",    "pitch",   "0.5mm", "engaged", "2mm", "seat",
                                      "27mm",     "held-by", "lacquer", "tool",  "2.4 N m", NULL};

extern const cw_worksheet cw_sheet_seized_thread;
const cw_worksheet cw_sheet_seized_thread = {
    .name = "seized-thread",
    .title = "Torque to free a stuck thread",
    .group = "Tools",
    .purpose = "Before leaning on a stuck ring: what torque may it take, is the tool enough for it, and what should be "
               "tried first?",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
