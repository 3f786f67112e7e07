/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Does the tooth of a gear stand its load? Lewis' beam. */
#include <math.h>

#include "worksheets/fields.h"
#include "workshop/tooth.h"

static const cw_choice finishes[] = {{"still", "By hand, or slow: speed adds nothing"},
                                     {"cast", "Cast teeth"},
                                     {"milled", "Cut or milled teeth"},
                                     {"hobbed", "Hobbed or shaped teeth"},
                                     {"ground", "Shaved or ground teeth"},
                                     {NULL, NULL}};

static const cw_field inputs[] = {
    CW_NEED_COUNT("teeth", "Teeth", 6, 1000, "of the gear that is looked at; the smaller is the weaker"),
    CW_MAYBE("module", "Module", CW_LENGTH, "mm", 0.05e-3, 0.05, "or the diametral pitch below"),
    CW_MAYBE("diametral-pitch", "Diametral pitch", CW_PLAIN, NULL, 0.5, 500, "teeth to the inch of pitch diameter"),
    CW_NEED("face", "Width of the tooth", CW_LENGTH, "mm", 0.05e-3, 1, "along the axis"),
    CW_USUAL("angle", "Pressure angle", CW_ANGLE, "deg", "20 deg", M_PI / 18, M_PI / 6, "20 usual, 14.5 in old work"),
    CW_USUAL("shift", "Profile shift", CW_PLAIN, NULL, "0", -1, 1.5, "x"),
    CW_MAYBE("factor", "Form factor Y", CW_PLAIN, NULL, 0.05, 1, "left out: the table's, or that of the outline"),
    CW_MAYBE("torque", "Torque on the gear", CW_TORQUE, "N m", 1e-6, 1e5, "or the force below"),
    CW_MAYBE("force", "Force along the pitch circle", CW_FORCE, "N", 1e-4, 1e6, ""),
    CW_USUAL("speed", "Speed", CW_FREQUENCY, "rpm", "0", 0, 2000, "turns of this gear"),
    CW_PICK("finish", "How it runs", finishes, "still", "what speed adds"),
    CW_USUAL("reserve-wanted", "Reserve wanted", CW_PLAIN, NULL, "2", 1, 10,
             "yield over stress; 2 for a hand that is not always gentle, common practice"),
    CW_PICK("gear-of", "Material of the gear", cw_material_choices, "brass-half-hard", ""),
    CW_OWN_MATERIAL_FIELDS,
};

static const cw_field outputs[] = {
    CW_JUDGE("holds", "Does the tooth hold?", "yield against the stress and the reserve wanted, at k = 2"),
    CW_SHOW("module-used", "Module", CW_LENGTH, "mm", 4, ""),
    CW_SHOW("pitch-diameter", "Pitch diameter", CW_LENGTH, "mm", 5, ""),
    CW_SHOW("factor-used", "Form factor Y", CW_PLAIN, NULL, 3, "Lewis"),
    CW_MAY_SHOW("factor-outline", "Y by the tooth's outline", CW_PLAIN, NULL, 3, "a second way to it"),
    CW_SHOW("velocity", "Speed at the pitch circle", CW_SPEED, "m/s", 3, ""),
    CW_SHOW("velocity-factor", "What speed adds, Kv", CW_PLAIN, NULL, 3, ""),
    CW_MAY_SHOW("force-used", "Force along the pitch circle", CW_FORCE, "N", 3, ""),
    CW_MAY_SHOW("stress", "Bending at the root", CW_STRESS, "MPa", 3, ""),
    CW_MAY_SHOW("reserve", "Yield over stress", CW_PLAIN, NULL, 2, ""),
    CW_SHOW("force-most", "Force it stands", CW_FORCE, "N", 3, "with the reserve wanted"),
    CW_SHOW("torque-most", "Torque it stands", CW_TORQUE, "N m", 3, "with the reserve wanted"),
    CW_MAY_SHOW("power-most", "Power it passes", CW_POWER, "W", 3, "at that force and speed"),
};

/* The factor to use, and how well it is known: half of what table and outline differ by. */
static cw_status find_factor(const cw_sheet_in *in, const cw_tooth *tooth, cw_quantity *factor, double *outline,
                             cw_error *err)
{
    cw_error ignored; /* an outline that cannot be drawn only leaves the table's figure without a second one */
    if (cw_tooth_form_factor(tooth, outline, &ignored) != CW_OK)
        *outline = NAN;
    double given = cw_in_number(in, "factor"), table = cw_tooth_table_factor(tooth->teeth);
    bool standard = fabs(tooth->pressure_angle_rad - M_PI / 9) < 1e-6 && fabs(tooth->shift) < 1e-9 && !isnan(table);
    if (!isnan(given)) {
        *factor = (cw_quantity){given, 0};
    } else if (standard) {
        *factor = (cw_quantity){table, isnan(*outline) ? 0.05 * table : fabs(table - *outline) / 2};
    } else if (!isnan(*outline)) {
        *factor = (cw_quantity){*outline, 0.05 * *outline};
    } else {
        *err = ignored;
        return err->status;
    }
    return CW_OK;
}

static cw_status read_tooth(const cw_sheet_in *in, cw_tooth *tooth, cw_error *err)
{
    double module = cw_in_number(in, "module"), pitch = cw_in_number(in, "diametral-pitch");
    if (isnan(module) == isnan(pitch))
        return cw_fail(err, CW_INPUT, "%s; give one of module and diametral pitch",
                       isnan(module) ? "neither module nor diametral pitch is given"
                                     : "module and diametral pitch are both given");
    *tooth = (cw_tooth){.teeth = (int)cw_in_number(in, "teeth"),
                        .module_m = isnan(module) ? 0.0254 / pitch : module,
                        .pressure_angle_rad = cw_in_number(in, "angle"),
                        .shift = cw_in_number(in, "shift"),
                        .addendum = 1,
                        .dedendum = 1.25,
                        .tip_radius = 0.3};
    return CW_OK;
}

static void judge(cw_sheet_out *out, cw_quantity reserve, double wanted, double force)
{
    if (isnan(force)) {
        cw_out_verdict(out, "holds", CW_VERDICT_UNKNOWN, "no load was given; below is what it stands");
        return;
    }
    cw_out_number(out, "force-used", force);
    cw_out_quantity(out, "reserve", reserve);
    cw_out_verdict(out, "holds", cw_at_least(reserve, wanted), "yield over stress is %.2g; %.2g is wanted",
                   reserve.value, wanted);
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    static const char *const names[] = {"still", "cast", "milled", "hobbed", "ground"};
    cw_material material;
    cw_tooth tooth;
    cw_quantity factor;
    double outline;
    CW_TRY(cw_in_material(in, "gear-of", CW_NEEDS_YIELD, &material, err));
    CW_TRY(read_tooth(in, &tooth, err));
    CW_TRY(find_factor(in, &tooth, &factor, &outline, err));
    double diameter = tooth.module_m * tooth.teeth, face = cw_in_number(in, "face");
    double torque = cw_in_number(in, "torque"), force = cw_in_number(in, "force");
    if (!isnan(torque) && !isnan(force))
        return cw_fail(err, CW_INPUT, "torque and force are both given; give one, the other follows");
    if (!isnan(torque))
        force = 2 * torque / diameter;
    double velocity = M_PI * diameter * cw_in_number(in, "speed");
    cw_tooth_finish finish = CW_TOOTH_STILL;
    for (size_t i = 0; i < CW_COUNT(names); i++)
        if (cw_in_is(in, "finish", names[i]))
            finish = (cw_tooth_finish)i;
    double kv = cw_tooth_velocity_factor(finish, velocity), wanted = cw_in_number(in, "reserve-wanted");
    double stress_per_n = cw_tooth_stress_pa(1, face, tooth.module_m, factor.value, kv);
    double share = hypot(factor.u / factor.value, material.yield_pa.u / material.yield_pa.value);
    double most = material.yield_pa.value / wanted / stress_per_n, stress = stress_per_n * force;
    cw_quantity reserve = {material.yield_pa.value / stress, material.yield_pa.value / stress * share};
    judge(out, reserve, wanted, force);
    if (!isnan(force))
        cw_out_quantity(out, "stress", (cw_quantity){stress, stress * factor.u / factor.value});
    cw_out_number(out, "module-used", tooth.module_m);
    cw_out_number(out, "pitch-diameter", diameter);
    cw_out_quantity(out, "factor-used", factor);
    cw_out_number(out, "factor-outline", outline);
    cw_out_number(out, "velocity", velocity);
    cw_out_number(out, "velocity-factor", kv);
    cw_out_quantity(out, "force-most", (cw_quantity){most, most * share});
    cw_out_quantity(out, "torque-most", (cw_quantity){most * diameter / 2, most * diameter / 2 * share});
    if (velocity > 0)
        cw_out_quantity(out, "power-most", (cw_quantity){most * velocity, most * velocity * share});
    cw_out_note(out,
                "One tooth is taken to carry all, at its tip. A notch, a casting flaw or a worn root breaks sooner.");
    return CW_OK;
}

static const char *const sources[] = {
    "W = b m Y stress/Kv, Y of the table for 20 degrees full depth (table 14-2), Kv (equations 14-4, 14-6): Shigley, "
    "Mechanical Engineering Design, spur gears, from memory",
    "Y by the tooth's outline, for other angles and shifts: own derivation, 2 to 8 % below the table where both are "
    "there",
    "materials: see the materials sheet", NULL};
static const char *const example[] = {"teeth", "18", "module", "0.4mm", "face", "1.5mm", "torque", "0.02 N m", NULL};

extern const cw_worksheet cw_sheet_gear_strength;
const cw_worksheet cw_sheet_gear_strength = {
    .name = "gear-strength",
    .title = "Does the tooth of a gear hold?",
    .group = "Parts",
    .purpose =
        "A tooth broke, or the new gear is of another metal. Bending at the root of a tooth by its module, width "
        "and load, and what it stands.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
