/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shoulder spread by staking, where a press fit would split the part. */
#include "worksheets/fields.h"
#include <math.h>

#include "workshop/press.h"

static const cw_field inputs[] = {
    CW_NEED("neck", "Diameter of the neck", CW_LENGTH, "mm", 0.2e-3, 50e-3, "that goes through the hole"),
    CW_USUAL("rim", "Rim over the hole", CW_LENGTH, "mm", "0.2 mm", 0.02e-3, 5e-3, "how far it is spread, on radius"),
    CW_USUAL("rim-height", "Height of the rim", CW_LENGTH, "mm", "0.2 mm", 0.02e-3, 10e-3, ""),
    CW_USUAL("stays", "Share of the clamping that stays", CW_PLAIN, NULL, "0.2", 0.05, 0.8,
             "of the yield stress, under the rim; common practice, no source"),
    CW_MAYBE("torque", "Torque it should hold", CW_TORQUE, "N m", 1e-6, 100, ""),
    CW_FRICTION_FIELDS("brass-steel"),
    CW_PICK("pin-of", "Material of the pin", cw_material_choices, "mild-steel",
            "it must spread without cracking: soft"),
    CW_OWN_MATERIAL_FIELDS,
};

static const cw_field outputs[] = {
    CW_JUDGE("holds", "Does it hold the torque?", "by friction under the rim alone"),
    CW_SHOW("holding", "Torque it holds", CW_TORQUE, "N mm", 2, "a squared or notched hole holds more"),
    CW_SHOW("pull-out", "Pulls out at", CW_FORCE, "N", 2, ""),
    CW_SHOW("staking", "Steady force to spread it", CW_FORCE, "N", 2, "a small hammer does it in many light blows"),
    CW_SHOW("proud", "Leave standing proud", CW_LENGTH, "mm", 2, "the metal for the rim"),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_material pin;
    CW_TRY(cw_in_material(in, "pin-of", CW_NEEDS_YIELD, &pin, err));
    cw_quantity mu = cw_in_friction(in);
    cw_stake stake = {cw_in_number(in, "neck"),       cw_in_number(in, "rim"),
                      cw_in_number(in, "rim-height"), mu.value,
                      cw_in_number(in, "stays"),      &pin};
    cw_stake_result r;
    CW_TRY(cw_stake_find(&stake, &r, err));
    double yield_share = pin.yield_pa.u / pin.yield_pa.value,
           share = hypot(hypot(mu.u / mu.value, yield_share), 0.4); /* the clamping is a guess */
    cw_quantity holding = {r.holding_n_m, r.holding_n_m * share};
    cw_out_verdict(out, "holds", cw_at_least(holding, cw_in_number(in, "torque")), "about %.3g N mm by friction",
                   r.holding_n_m * 1e3);
    cw_out_quantity(out, "holding", holding);
    cw_out_quantity(out, "pull-out", (cw_quantity){r.pull_out_n, r.pull_out_n * yield_share});
    cw_out_quantity(out, "staking", (cw_quantity){r.staking_n, r.staking_n * yield_share});
    cw_out_number(out, "proud", r.neck_m);
    return CW_OK;
}

static const char *const cautions[] = {"force", "cutting", NULL};
static const char *const sources[] = {"ring of friction, shear of the rim, flow at the yield stress: own derivation",
                                      "clamping that stays after staking: common practice, no source", NULL};
static const char *const example[] = {"neck", "2mm", "rim", "0.3mm", "rim-height", "0.25mm", "torque", "20 N mm", NULL};

extern const cw_worksheet cw_sheet_staked_pin;
const cw_worksheet cw_sheet_staked_pin = {
    .name = "staked-pin",
    .title = "Staked shoulder instead of a press fit",
    .group = "Parts",
    .purpose = "Where a press fit would split a thin gear or plate, the pin's end is spread over the hole. Says what "
               "that holds, and how much to leave "
               "standing.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
