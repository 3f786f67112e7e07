/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Discharging a flash capacitor through a resistor. */
#include <math.h>

#include "exposure/flash.h"
#include "worksheets/fields.h"

static const cw_field inputs[] = {
    CW_NEED("capacitance", "Capacitance", CW_CAPACITANCE, "uF", 1e-9, 0.1, "printed on it"),
    CW_NEED("voltage", "Voltage", CW_VOLTAGE, "V", 1, 2000,
            "measured; take the printed one when it cannot be measured"),
    CW_USUAL("resistor", "Resistor", CW_RESISTANCE, "ohm", "2 kohm", 10, 100e6, ""),
    CW_USUAL("rating", "Its rating", CW_POWER, "W", "5 W", 0.05, 1000, "wire-wound"),
    CW_USUAL("safe", "Down to", CW_VOLTAGE, "V", "30 V", 1, 60, ""),
};

static const cw_field outputs[] = {
    CW_JUDGE("resistor-stands", "Does the resistor stand it?",
             "one pulse; a wire-wound part takes five times its rating for five seconds, from memory"),
    CW_SHOW("energy", "Energy stored", CW_ENERGY, "J", 2, ""),
    CW_SHOW("time", "Hold it across for", CW_TIME, "s", 2, "to fall to the voltage wanted; then measure"),
    CW_SHOW("first-power", "Power at first", CW_POWER, "W", 2, ""),
    CW_SHOW("first-current", "Current at first", CW_CURRENT, "mA", 2, ""),
    CW_MAY_SHOW("best", "Resistor for about three seconds", CW_RESISTANCE, "kohm", 2, "nearest of the E12 series"),
    CW_SAY("then", "Then", ""),
};

/* IEC 60063, E12. */
static double nearest_e12(double ohm)
{
    static const double series[] = {1, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2, 10};
    double decade = pow(10, floor(log10(ohm))), best = series[0];
    for (size_t i = 1; i < CW_COUNT(series); i++)
        if (fabs(log(series[i] * decade / ohm)) < fabs(log(best * decade / ohm)))
            best = series[i];
    return best * decade;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_bleed bleed = {cw_in_number(in, "capacitance"), cw_in_number(in, "voltage"), cw_in_number(in, "resistor"),
                      cw_in_number(in, "rating"), cw_in_number(in, "safe")};
    cw_bleed_result r;
    CW_TRY(cw_bleed_find(&bleed, &r, err));
    cw_out_verdict(out, "resistor-stands", r.resistor_stands ? CW_VERDICT_INSIDE : CW_VERDICT_OUTSIDE,
                   "%.3g J against about %.0f J it takes in one pulse", r.energy_j, r.pulse_most_j);
    /* electrolytics are made to -10 to +30 % (from memory) */
    cw_out_quantity(out, "energy", (cw_quantity){r.energy_j, 0.15 * r.energy_j});
    cw_out_quantity(out, "time", (cw_quantity){r.time_s, 0.15 * r.time_s});
    cw_out_number(out, "first-power", r.first_power_w);
    cw_out_number(out, "first-current", r.first_current_a);
    if (isfinite(r.resistance_best_ohm))
        cw_out_number(out, "best", nearest_e12(r.resistance_best_ohm));
    cw_out_text(out, "then",
                "Hold it at least five times as long, measure, and leave a wire across it: a capacitor wins back some "
                "of its charge by itself.");
    if (r.energy_j > 10)
        cw_out_note(out, "%.3g J can stop a heart. If you have not done this before, leave it to a qualified person.",
                    r.energy_j);
    return CW_OK;
}

static const char *const cautions[] = {"capacitor", NULL};
static const char *const sources[] = {"V = V0 exp(-t/RC), E = C V^2/2",
                                      "regained charge: DOE-HDBK-1092 as quoted (rich.report)",
                                      "pulse a wire-wound part takes: from memory", NULL};
static const char *const example[] = {"capacitance", "100uF", "voltage", "320V", NULL};

extern const cw_worksheet cw_sheet_capacitor_bleed;
const cw_worksheet cw_sheet_capacitor_bleed = {
    .name = "capacitor-bleed",
    .title = "Discharge a flash capacitor",
    .group = "Light",
    .purpose = "What is stored in it, which resistor takes it out, and how long that must be held across before "
               "anything is touched.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
