/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Torsion springs: moment, wind-up, and room on their pin. */
#include <math.h>

#include "worksheets/fields.h"
#include "workshop/spring.h"

static const cw_field inputs[] = {
    CW_PICK("wire-of", "Wire", cw_spring_wire_choices, "music", ""),
    CW_NEED("wire", "Wire diameter", CW_LENGTH, "mm", 0.03e-3, 20e-3, ""),
    CW_USUAL("wire-u", "How far it can be off", CW_LENGTH, "mm", "0.005 mm", 0, 0.2e-3, "standard uncertainty"),
    CW_MAYBE("outside", "Outside diameter", CW_LENGTH, "mm", 0.2e-3, 0.5, "or the mean diameter below"),
    CW_MAYBE("mean", "Mean coil diameter", CW_LENGTH, "mm", 0.1e-3, 0.5, "outside less one wire"),
    CW_NEED("turns", "Turns of the body", CW_PLAIN, NULL, 0.5, 500, "parts of a turn count: 4.25"),
    CW_USUAL("leg1", "Length of one leg", CW_LENGTH, "mm", "0", 0, 1, "from the body to where it bears"),
    CW_USUAL("leg2", "Length of the other", CW_LENGTH, "mm", "0", 0, 1, ""),
    CW_NEED("torque", "Moment it works at", CW_TORQUE, "N mm", 0, 100, "force on a leg times its arm"),
    CW_MAYBE("modulus", "Modulus of this wire", CW_STRESS, "GPa", 1e9, 500e9, "left out: by the kind and diameter"),
    CW_MAYBE("tensile", "Tensile strength of this wire", CW_STRESS, "MPa", 50e6, 5e9,
             "left out: by the kind and diameter"),
    CW_USUAL("pin", "Pin inside", CW_LENGTH, "mm", "0", 0, 0.3, "0 for none"),
};

static const cw_field outputs[] = {
    CW_JUDGE("stands", "Does it stand that?", "bending stress against what the wire is allowed, at k = 2"),
    CW_SHOW("rate", "Rate, legs included", CW_TORSION_STIFFNESS, "N mm/deg", 3, ""),
    CW_SHOW("turn", "Winds up by", CW_ANGLE, "deg", 3, "legs included, at that moment"),
    CW_SHOW("body-turn", "Of it the body", CW_ANGLE, "deg", 3, ""),
    CW_SHOW("stress", "Stress", CW_STRESS, "MPa", 3, "bending, at the inside of the coil"),
    CW_SHOW("allowed", "Allowed", CW_STRESS, "MPa", 3, ""),
    CW_SHOW("index", "Index", CW_PLAIN, NULL, 3, "mean coil over wire"),
    CW_SHOW("inner-factor", "Factor for the inside of the coil", CW_PLAIN, NULL, 4, "Ki"),
    CW_SHOW("wound-inside", "Inside diameter when wound", CW_LENGTH, "mm", 4, ""),
    CW_JUDGE("pin-free", "Is the pin still free?", "a tenth of its diameter is usual"),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double wire = cw_in_number(in, "wire"), outside = cw_in_number(in, "outside"), pin = cw_in_number(in, "pin");
    if (isnan(outside) == isnan(cw_in_number(in, "mean")))
        return cw_fail(err, CW_INPUT, "%s; give one of outside and mean diameter",
                       isnan(outside) ? "no diameter of the coil is given" : "two diameters of the coil are given");
    if (isnan(outside))
        outside = cw_in_number(in, "mean") + wire;
    if (outside <= wire)
        return cw_fail(err, CW_RANGE, "an outside of %.3g mm wound from wire of %.3g mm; it must be the larger",
                       outside * 1e3, wire * 1e3);
    double bore = outside - 2 * wire; /* none: too thick a wire for the coil, which the spring itself is refused for */
    if (bore > 0 && pin >= bore)
        return cw_fail(err, CW_RANGE,
                       "a pin of %.4g mm does not go through a coil of %.4g mm inside; %.4g mm (a tenth less) would "
                       "turn freely",
                       pin * 1e3, bore * 1e3, 0.9 * bore * 1e3);
    cw_wire_found kind;
    CW_TRY(cw_in_wire(in, "wire-of",
                      (cw_in_given(in, "tensile") ? 0u : (unsigned)CW_NEEDS_TENSILE) |
                          (cw_in_given(in, "modulus") ? 0u : (unsigned)CW_NEEDS_MODULUS),
                      &kind, err));
    cw_spring s = {.kind = CW_SPRING_TORSION,
                   .wire_m = wire,
                   .mean_coil_m = outside - wire,
                   .active_coils = cw_in_number(in, "turns"),
                   .leg1_m = cw_in_number(in, "leg1"),
                   .leg2_m = cw_in_number(in, "leg2"),
                   .free_length_m = NAN,
                   .hook_radius_m = NAN,
                   .torque_n_m = cw_in_number(in, "torque"),
                   .own_elastic_pa = cw_in_or(in, "modulus", 0),
                   .own_tensile_pa = cw_in_or(in, "tensile", 0),
                   .wire = &kind.wire};
    cw_spring_result r;
    CW_TRY(cw_spring_find(&s, &r, err));
    double wire_share = cw_in_number(in, "wire-u") / wire, rate_share = hypot(4 * wire_share, kind.modulus_share),
           stress_share = hypot(3 * wire_share, 0.1);
    double used = r.stress_pa / r.allowed_pa;
    cw_out_verdict(out, "stands", cw_at_least((cw_quantity){1 - used, used * stress_share}, 0),
                   "%.0f %% of what the wire is allowed", 100 * used);
    cw_out_quantity(out, "rate", (cw_quantity){r.rate_n_m_rad, r.rate_n_m_rad * rate_share});
    cw_out_quantity(out, "turn", (cw_quantity){r.total_turn_rad, r.total_turn_rad * rate_share});
    cw_out_number(out, "body-turn", r.body_turn_rad);
    cw_out_quantity(out, "stress", (cw_quantity){r.stress_pa, r.stress_pa * 3 * wire_share});
    cw_out_number(out, "allowed", r.allowed_pa);
    cw_out_number(out, "index", r.index);
    cw_out_number(out, "inner-factor", r.inner_factor);
    double inside = r.wound_mean_m - wire;
    cw_out_number(out, "wound-inside", inside);
    if (pin > 0)
        cw_out_verdict(out, "pin-free",
                       inside > 1.02 * pin ? CW_VERDICT_INSIDE
                       : inside > pin      ? CW_VERDICT_TOO_CLOSE
                                           : CW_VERDICT_OUTSIDE,
                       "%.3g mm of play on diameter when wound", (inside - pin) * 1e3);
    else
        cw_out_verdict(out, "pin-free", CW_VERDICT_UNKNOWN, "no pin was given");
    return CW_OK;
}

static const char *const cautions[] = {"spring", NULL};
static const char *const sources[] = {"k' = d^4 E/(10.8 D N), Ki, legs: Shigley, Mechanical Engineering Design, "
                                      "torsion springs; Jindal, Machine Design, ex. 8-9",
                                      NULL};
static const char *const example[] = {"wire", "0.4mm", "outside", "5mm",    "turns", "4.25", "leg1", "6mm",
                                      "leg2", "6mm",   "torque",  "6 N mm", "pin",   "3mm",  NULL};

extern const cw_worksheet cw_sheet_torsion_spring;
const cw_worksheet cw_sheet_torsion_spring = {
    .name = "torsion-spring",
    .title = "Torsion spring",
    .group = "Parts",
    .purpose = "What moment has this spring, how far does it wind up, does it stand that, and does it still turn on "
               "its pin when wound?",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
