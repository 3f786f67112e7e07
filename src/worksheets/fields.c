/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "worksheets/fields.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "worksheets/inside.h"

/* The same keys and labels as the tables of the workshop; tests/worksheets/workshop.c holds them together. */
const cw_choice cw_material_choices[] = {
    {"mild-steel", "Mild steel, as bought"},
    {"tool-steel-annealed", "Tool steel, soft as bought (gauge plate, silver steel)"},
    {"spring-steel", "Spring steel, hardened and tempered strip"},
    {"driver-steel", "Screwdriver blade, hardened"},
    {"stainless-304", "Stainless steel 304, soft"},
    {"stainless-302", "Stainless steel 302, annealed"},
    {"brass-soft", "Brass C26800, annealed"},
    {"brass-half-hard", "Brass C26800, half hard"},
    {"brass-hard", "Brass C26800, hard"},
    {"phosphor-bronze", "Phosphor bronze C51000, half hard"},
    {"aluminium-6061-t6", "Aluminium 6061-T6"},
    {"aluminium-soft", "Aluminium 6061, annealed (or a soft casting)"},
    {"titanium", "Titanium alloy"},
    {"birch-plywood", "Birch plywood, face grain across the grip"},
    {"hardwood", "Beech or similar hardwood, along the grain"},
    {"printed-plastic", "Printed plastic (PLA), solid, load along the layers"},
    {"own", "Your own figures"},
    {NULL, NULL},
};

const cw_choice cw_friction_choices[] = {
    {"brass-steel", "Brass on steel, dry"},
    {"aluminium-steel", "Aluminium on mild steel, dry"},
    {"brass-brass-oiled", "Brass or bronze threads, a trace of old grease"},
    {"metal-dry", "Metal threads, clean and dry"},
    {"metal-corroded", "Threads white or green with corrosion"},
    {"steel-steel-oiled", "Steel pressed into steel, a trace of oil"},
    {"rubber-metal", "Clean rubber on dry anodised or painted metal"},
    {"rubber-greasy", "Rubber on metal with a film of oil"},
    {"leather-metal", "Leather lining on metal"},
    {"wood-metal", "Bare wood on metal"},
    {NULL, NULL},
};

const cw_choice cw_spring_wire_choices[] = {
    {"music", "Music wire"},
    {"hard-drawn", "Hard-drawn carbon steel"},
    {"oil-tempered", "Oil-tempered carbon steel"},
    {"chrome-vanadium", "Chrome-vanadium steel"},
    {"chrome-silicon", "Chrome-silicon steel"},
    {"stainless", "Stainless 302, cold drawn"},
    {"phosphor-bronze", "Phosphor bronze, spring hard"},
    {NULL, NULL},
};

const cw_choice cw_frame_choices[] = {
    {"24x36", "24 x 36 mm on 35 mm film"},
    {"18x24", "18 x 24 mm, half frame on 35 mm film"},
    {"24x24", "24 x 24 mm on 35 mm film"},
    {"24x32", "24 x 32 mm on 35 mm film"},
    {"24x65", "24 x 65 mm panorama on 35 mm film"},
    {"28x28", "28 x 28 mm on 126 film"},
    {"13x17", "13 x 17 mm on 110 film"},
    {"40x40", "40 x 40 mm on 127 film"},
    {"42x56", "6 x 4.5 on 120 film"},
    {"56x56", "6 x 6 on 120 film"},
    {"56x70", "6 x 7 on 120 film"},
    {"56x84", "6 x 9 on 120 film"},
    {"65x90", "6.5 x 9 cm plate"},
    {NULL, NULL},
};

cw_status cw_in_material(const cw_sheet_in *in, const char *key, unsigned needs, cw_material *material, cw_error *err)
{
    return cw_in_material_named(in, cw_in_text(in, key), needs, material, err);
}

cw_status cw_in_material_named(const cw_sheet_in *in, const char *chosen, unsigned needs, cw_material *material,
                               cw_error *err)
{
    const cw_own_material *own = cw_sheet_own_named(in, chosen);
    if (own != NULL)
        return cw_own_material_as(own, needs, material, err);
    const cw_material *found = cw_material_find(chosen);
    if (found != NULL) {
        *material = *found;
        return CW_OK;
    }
    if (!cw_in_given(in, "own-yield") || !cw_in_given(in, "own-modulus"))
        return cw_fail(err, CW_INPUT,
                       "your own material needs its yield stress and its modulus; give own-yield and own-modulus");
    double yield = cw_in_number(in, "own-yield"), modulus = cw_in_number(in, "own-modulus");
    return cw_material_own((cw_quantity){modulus, 0.05 * modulus}, (cw_quantity){yield, 0.05 * yield},
                           cw_in_number(in, "own-poisson"), cw_in_number(in, "own-expansion"), material, err);
}

double cw_in_expansion_share(const cw_sheet_in *in, const char *key)
{
    /* alloys of one family differ by 5 % in expansion (Gere gives ranges of that order) */
    const cw_own_material *own = cw_sheet_own_named(in, cw_in_text(in, key));
    return own == NULL || isnan(own->expansion_per_k.u) ? 0.05 : own->expansion_per_k.u / own->expansion_per_k.value;
}

/* drawn wire: 2 % (judgement) where nobody stated it */
static double modulus_share(const cw_own_material *own, unsigned needs)
{
    cw_quantity shear = own->shear_pa, elastic = own->elastic_pa;
    cw_quantity used = (needs & CW_NEEDS_SHEAR) != 0 && !isnan(shear.value) ? shear : elastic;
    return isnan(used.u) ? 0.02 : used.u / used.value;
}

cw_status cw_in_wire(const cw_sheet_in *in, const char *key, unsigned needs, cw_wire_found *found, cw_error *err)
{
    const char *chosen = cw_in_text(in, key);
    const cw_own_material *own = cw_sheet_own_named(in, chosen);
    const cw_spring_wire *wire = cw_spring_wire_find(chosen);
    if (own == NULL) {
        *found = (cw_wire_found){*wire, 0.02};
        return CW_OK;
    }
    CW_TRY(cw_own_material_wire(own, needs, &found->wire, err));
    found->modulus_share = modulus_share(own, needs);
    return CW_OK;
}

cw_quantity cw_in_friction(const cw_sheet_in *in)
{
    const cw_own_material *own = cw_sheet_own_named(in, cw_in_text(in, "surfaces"));
    double measured = cw_in_number(in, "friction");
    if (!isnan(measured))
        return (cw_quantity){measured, 0.1 * measured};
    if (own != NULL) /* a fifth where nobody stated it, as the table's friction is known */
        return (cw_quantity){own->friction.value, isnan(own->friction.u) ? 0.2 * own->friction.value : own->friction.u};
    const cw_friction *found = cw_friction_find(cw_in_text(in, "surfaces"));
    return found != NULL ? found->mu : (cw_quantity){NAN, NAN};
}

double cw_in_or(const cw_sheet_in *in, const char *key, double otherwise)
{
    double value = cw_in_number(in, key);
    return isnan(value) ? otherwise : value;
}

void cw_out_stop(cw_sheet_out *out, double stop_n_m, const char *why, double windup_rad_n_m)
{
    char turned[80] = "";
    if (windup_rad_n_m > 0)
        snprintf(turned, sizeof turned, ", when the hands have turned %.2g degrees and the ring has not",
                 stop_n_m * windup_rad_n_m * 180 / M_PI);
    cw_out_text(
        out, "stop",
        "Stop at %.2g N m%s: %s. Before more force: penetrant and a night, warmth on the outer part, light taps "
        "while it is turned.",
        stop_n_m, turned, why);
}

double cw_finite(double value)
{
    return isfinite(value) ? value : NAN;
}

cw_verdict cw_at_least(cw_quantity value, double wanted)
{
    if (isnan(value.value) || isnan(wanted))
        return CW_VERDICT_UNKNOWN;
    double margin = value.value - wanted, u = isnan(value.u) ? 0 : value.u;
    return fabs(margin) <= 2 * u ? CW_VERDICT_TOO_CLOSE : margin > 0 ? CW_VERDICT_INSIDE : CW_VERDICT_OUTSIDE;
}
