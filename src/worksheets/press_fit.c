/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A pin pressed into a hub: pressure, force, what it holds, and whether the hub splits. */
#include <math.h>

#include "base/propagate.h"
#include "worksheets/fields.h"
#include "workshop/press.h"

static const cw_field inputs[] = {
    CW_NEED("hole", "Measured hole", CW_LENGTH, "mm", 0.1e-3, 1, ""),
    CW_MAYBE("pin", "Measured pin", CW_LENGTH, "mm", 0.1e-3, 1, "or the interference below"),
    CW_MAYBE("given-interference", "Interference", CW_LENGTH, "um", 0, 20e-3,
             "on diameter: pin less hole; twice one on radius"),
    CW_USUAL("measured-u", "How far each can be off", CW_LENGTH, "um", "2 um", 0, 0.1e-3,
             "standard uncertainty of one measurement"),
    CW_NEED("hub", "Outside of the hub", CW_LENGTH, "mm", 0.2e-3, 10,
            "or twice the distance from the hole's middle to the nearest edge"),
    CW_NEED("length", "Length pressed", CW_LENGTH, "mm", 0.05e-3, 1, ""),
    CW_USUAL("pin-bore", "Hole along the pin", CW_LENGTH, "mm", "0", 0, 1, "0 for a solid pin"),
    CW_MAYBE("torque", "Torque it should hold", CW_TORQUE, "N m", 1e-6, 1000, ""),
    CW_FRICTION_FIELDS("steel-steel-oiled"),
    CW_PICK("pin-of", "Material of the pin", cw_material_choices, "tool-steel-annealed", ""),
    CW_PICK("hub-of", "Material of the hub", cw_material_choices, "brass-half-hard", ""),
    CW_OWN_MATERIAL_FIELDS,
    CW_MAYBE("pin-modulus", "Pin: modulus", CW_STRESS, "GPa", 1e6, 700e9, "instead of its material's"),
    CW_MAYBE("pin-poisson", "Pin: Poisson's ratio", CW_PLAIN, NULL, 0, 0.5, "instead of its material's"),
    CW_MAYBE("hub-modulus", "Hub: modulus", CW_STRESS, "GPa", 1e6, 700e9, "instead of its material's"),
    CW_MAYBE("hub-poisson", "Hub: Poisson's ratio", CW_PLAIN, NULL, 0, 0.5, "instead of its material's"),
    CW_MAYBE("hub-yield", "Hub: yield", CW_STRESS, "MPa", 1e6, 4e9, "instead of its material's"),
};

static const cw_field outputs[] = {
    CW_JUDGE("hub-stands", "Does the hub stand it?", "distortion energy at its bore, at k = 2"),
    CW_SHOW("interference", "Interference", CW_LENGTH, "um", 2, "on diameter"),
    CW_SHOW("pressure", "Pressure", CW_STRESS, "MPa", 2, ""),
    CW_SHOW("force", "Force to press it in", CW_FORCE, "N", 2, ""),
    CW_SHOW("holds", "Torque it holds", CW_TORQUE, "N m", 2, ""),
    CW_JUDGE("torque-enough", "Is that enough?", "against the torque asked for"),
    CW_SHOW("hoop", "Tension in the hub at its bore", CW_STRESS, "MPa", 3, ""),
    CW_SHOW("hub-outer-hoop", "Tension in the hub outside", CW_STRESS, "MPa", 3, ""),
    CW_SHOW("pin-hoop", "Stress round the pin where it touches", CW_STRESS, "MPa", 3, "negative: compression"),
    CW_SHOW("pin-hoop-bore", "Largest stress round the pin", CW_STRESS, "MPa", 3, "at its bore when it has one"),
    CW_SHOW("pin-reserve", "Pin's yield over its stress", CW_PLAIN, NULL, 2, "below 1 the pin gives"),
    CW_SHOW("reserve", "Hub's yield over its stress", CW_PLAIN, NULL, 2, "below 1 it yields; a thin gear splits"),
    CW_MAY_SHOW("warming", "Warm the hub by", CW_TEMPERATURE_STEP, "K", 2, "for the pin to drop in"),
};

typedef struct {
    cw_press press;
    int wanted;
} model_context;

enum { PRESSURE, FORCE, HOLDS, RESERVE };

/* values: hole, pin, friction, modulus of the hub, yield of the hub */
static double model(const double *v, const void *context)
{
    const model_context *c = context;
    cw_press press = c->press;
    cw_material hub = *press.hub;
    hub.elastic_pa.value = v[3];
    hub.yield_pa.value = v[4];
    press.hub = &hub;
    press.fit_diameter_m = v[0];
    press.interference_m = fmax(0, v[1] - v[0]);
    press.mu = v[2];
    cw_press_result r;
    cw_error ignored; /* the middle values have been checked; a refusal here is only a side that cannot be reached */
    if (cw_press_find(&press, &r, &ignored) != CW_OK)
        return NAN;
    const double results[] = {r.pressure_pa, r.force_n, r.torque_n_m, 1 / r.hub_reserve};
    return results[c->wanted];
}

/* What its material must say, where this very piece's figures do not. */
static unsigned needs_of(const cw_sheet_in *in, const char *modulus, const char *poisson, const char *yield)
{
    return (cw_in_given(in, modulus) ? 0u : (unsigned)CW_NEEDS_MODULUS) |
           (cw_in_given(in, poisson) ? 0u : (unsigned)CW_NEEDS_POISSON) |
           (yield != NULL && cw_in_given(in, yield) ? 0u : (unsigned)CW_NEEDS_YIELD);
}

/* Figures of this very piece in place of its material's. */
static void take_own(const cw_sheet_in *in, const char *modulus, const char *poisson, const char *yield,
                     cw_material *material)
{
    if (cw_in_given(in, modulus))
        material->elastic_pa = (cw_quantity){cw_in_number(in, modulus), 0};
    if (cw_in_given(in, poisson))
        material->poisson = cw_in_number(in, poisson);
    if (yield != NULL && cw_in_given(in, yield))
        material->yield_pa = (cw_quantity){cw_in_number(in, yield), 0};
}

static cw_status read_pin(const cw_sheet_in *in, double hole, double *pin, cw_error *err)
{
    double interference = cw_in_number(in, "given-interference");
    *pin = cw_in_number(in, "pin");
    if (isnan(*pin) == isnan(interference))
        return cw_fail(err, CW_INPUT, "%s; give one of pin and interference",
                       isnan(*pin) ? "neither the pin nor the interference is given"
                                   : "pin and interference are both given");
    if (isnan(*pin))
        *pin = hole + interference;
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_material pin, hub;
    CW_TRY(cw_in_material(in, "pin-of", needs_of(in, "pin-modulus", "pin-poisson", NULL), &pin, err));
    CW_TRY(cw_in_material(in, "hub-of", needs_of(in, "hub-modulus", "hub-poisson", "hub-yield"), &hub, err));
    take_own(in, "pin-modulus", "pin-poisson", NULL, &pin);
    take_own(in, "hub-modulus", "hub-poisson", "hub-yield", &hub);
    cw_quantity mu = cw_in_friction(in);
    double hole = cw_in_number(in, "hole"), shaft, u = cw_in_number(in, "measured-u");
    CW_TRY(read_pin(in, hole, &shaft, err));
    if (shaft < hole)
        return cw_fail(
            err, CW_RANGE,
            "the pin, %.4f mm, is smaller than its hole, %.4f mm: it is loose. Turn a pin of %.4f mm or more",
            shaft * 1e3, hole * 1e3, hole * 1.001e3);
    model_context c = {{hole, cw_in_number(in, "pin-bore"), cw_in_number(in, "hub"), shaft - hole,
                        cw_in_number(in, "length"), mu.value, &pin, &hub},
                       0};
    cw_press_result r;
    CW_TRY(cw_press_find(&c.press, &r, err));
    const cw_quantity values[] = {{hole, u}, {shaft, u}, mu, hub.elastic_pa, hub.yield_pa};
    cw_quantity results[4];
    for (c.wanted = PRESSURE; c.wanted <= RESERVE; c.wanted++)
        results[c.wanted] = cw_propagate(CW_COUNT(values), values, model, &c);
    cw_quantity used = results[RESERVE]; /* share of the yield that is used */
    cw_out_verdict(out, "hub-stands",
                   isnan(used.value) ? CW_VERDICT_UNKNOWN : cw_at_least((cw_quantity){1 - used.value, used.u}, 0),
                   "its bore is stressed to %.0f %% of yield", used.value * 100);
    cw_out_quantity(out, "interference", (cw_quantity){shaft - hole, u * M_SQRT2});
    cw_out_quantity(out, "pressure", results[PRESSURE]);
    cw_out_quantity(out, "force", results[FORCE]);
    cw_out_quantity(out, "holds", results[HOLDS]);
    cw_out_verdict(out, "torque-enough", cw_at_least(results[HOLDS], cw_in_number(in, "torque")),
                   "it holds about %.3g N m", results[HOLDS].value);
    cw_out_number(out, "hoop", r.hub_hoop_pa);
    cw_out_number(out, "hub-outer-hoop", r.hub_outer_hoop_pa);
    cw_out_number(out, "pin-hoop", r.pin_contact_hoop_pa);
    cw_out_number(out, "pin-hoop-bore", r.pin_hoop_pa);
    cw_out_number(out, "pin-reserve", fmin(r.pin_reserve, 1e6));
    if (r.pin_reserve < 1)
        cw_out_note(out, "The pin itself yields before the hub: take a harder one, or less interference.");
    double reserve = used.value > 0 ? 1 / used.value : 1e6;
    cw_out_quantity(out, "reserve",
                    (cw_quantity){fmin(reserve, 1e6), used.value > 0 ? used.u / (used.value * used.value) : NAN});
    cw_out_number(out, "warming", cw_finite(r.hub_warming_k));
    return CW_OK;
}

static const char *const cautions[] = {"force", "heat", "cutting", NULL};
static const char *const sources[] = {
    "thick cylinders (Lame): Shigley, Mechanical Engineering Design, press and shrink fits",
    "materials and friction: see the materials sheet", NULL};
static const char *const example[] = {"hole",   "2.006mm", "pin",    "2.009mm", "hub", "6mm",
                                      "length", "3mm",     "torque", "0.1 N m", NULL};

extern const cw_worksheet cw_sheet_press_fit;
const cw_worksheet cw_sheet_press_fit = {
    .name = "press-fit",
    .title = "Press fit of a pin",
    .group = "Parts",
    .purpose = "Too loose and the pin turns, too tight and the gear splits. From the measured pin and hole: the "
               "pressure, the force to press it in, the torque "
               "it holds and the stress in the hub.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
