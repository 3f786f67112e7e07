/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A flat or round bar twisted: how far, how stressed. */
#include <math.h>

#include "worksheets/fields.h"
#include "workshop/bar.h"

static const cw_choice shapes[] = {{"flat", "Flat or square"}, {"round", "Round"}, {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("shape", "Section", shapes, "flat", ""),
    CW_NEED("width", "Width, or diameter", CW_LENGTH, "mm", 0.05e-3, 1, "the longer side; of a round bar its diameter"),
    CW_MAYBE("thickness", "Thickness", CW_LENGTH, "mm", 0.02e-3, 1, "of a flat bar; left out: square"),
    CW_NEED("length", "Length that twists", CW_LENGTH, "mm", 0.1e-3, 100, ""),
    CW_MAYBE("torque", "Torque", CW_TORQUE, "N m", 1e-9, 1e7, "left out: only what it stands"),
    CW_PICK("bar-of", "Material", cw_material_choices, "tool-steel-annealed", ""),
    CW_OWN_MATERIAL_FIELDS,
    CW_MAYBE("shear-modulus", "Shear modulus", CW_STRESS, "GPa", 1e6, 400e9, "left out: E/(2 (1 + Poisson's ratio))"),
};

static const cw_field outputs[] = {
    CW_JUDGE("holds", "Does it hold?", "against yield in shear, at k = 2"),
    CW_MAY_SHOW("stress", "Largest shear stress", CW_STRESS, "MPa", 3, "at the middle of the longer side"),
    CW_MAY_SHOW("twist", "Twists by", CW_ANGLE, "deg", 3, "over its length"),
    CW_SHOW("wind-up", "Wind-up", CW_WINDUP, "deg/(N m)", 3, ""),
    CW_SHOW("torque-most", "Torque at yield", CW_TORQUE, "N m", 3, "use half of it"),
    CW_SHOW("alpha", "Stress coefficient", CW_PLAIN, NULL, 3, "alpha: stress = T/(alpha b t^2)"),
    CW_SHOW("beta", "Twist coefficient", CW_PLAIN, NULL, 3, "beta: twist = T L/(beta b t^3 G)"),
    CW_SHOW("constant", "Torsion constant", CW_PLAIN, NULL, 4, "J in mm^4"),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_material material;
    CW_TRY(cw_in_material(in, "bar-of",
                          CW_NEEDS_YIELD | (cw_in_given(in, "shear-modulus") ? 0u : (unsigned)CW_NEEDS_SHEAR),
                          &material, err));
    bool round = cw_in_is(in, "shape", "round");
    double b = cw_in_number(in, "width"), t = cw_in_or(in, "thickness", b), length = cw_in_number(in, "length");
    if (round && cw_in_given(in, "thickness") && fabs(t - b) > 1e-9)
        return cw_fail(err, CW_INPUT, "a round bar has no thickness beside its diameter of %.4g mm; leave it out",
                       b * 1e3);
    double wide = fmax(b, t), thin = fmin(b, t);
    double constant = round ? cw_round_torsion_constant(b) : cw_bar_torsion_constant(b, t);
    double per_torque = round ? cw_round_torsion_stress_per_torque(b) : cw_bar_torsion_stress_per_torque(b, t);
    double shear = cw_in_or(in, "shear-modulus", cw_material_shear_modulus_pa(&material));
    double windup = length / (shear * constant), yield = cw_material_shear_yield_pa(&material);
    double share = material.yield_pa.u / material.yield_pa.value, torque = cw_in_number(in, "torque");
    double u_windup = cw_in_given(in, "shear-modulus") ? 0 : material.elastic_pa.u / material.elastic_pa.value;
    cw_quantity most = {yield / per_torque, yield / per_torque * share};
    if (isnan(torque)) {
        cw_out_verdict(out, "holds", CW_VERDICT_UNKNOWN, "no torque was given; below is what it stands");
    } else {
        cw_out_verdict(out, "holds", cw_at_least(most, torque), "it yields at about %.3g N m", most.value);
        cw_out_number(out, "stress", per_torque * torque);
        cw_out_quantity(out, "twist", (cw_quantity){windup * torque, windup * torque * u_windup});
    }
    cw_out_quantity(out, "wind-up", (cw_quantity){windup, windup * u_windup});
    cw_out_quantity(out, "torque-most", most);
    cw_out_number(out, "alpha", 1 / (per_torque * wide * thin * thin));
    cw_out_number(out, "beta", constant / (wide * thin * thin * thin));
    cw_out_number(out, "constant", constant * 1e12);
    return CW_OK;
}

static const char *const sources[] = {
    "rectangle by the exact series: Timoshenko and Goodier, Theory of Elasticity, art. 109; round: pi d^4/32",
    "yield in shear = yield/sqrt(3): Shigley, 5-5", "materials: see the materials sheet", NULL};
static const char *const example[] = {"width", "6mm",    "thickness", "1.5mm", "length",
                                      "80mm",  "torque", "0.5 N m",   NULL};

extern const cw_worksheet cw_sheet_bar_twist;
const cw_worksheet cw_sheet_bar_twist = {
    .name = "bar-twist",
    .title = "How far does a bar twist?",
    .group = "Tools",
    .purpose =
        "A blade, a tommy bar or a torsion bar under torque: how far it twists, how much it stands, before it is "
        "trusted with a stuck ring.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
