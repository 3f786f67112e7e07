/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Compression and extension springs: rate, stress, and what the coils do. */
#include <math.h>

#include "base/propagate.h"
#include "worksheets/fields.h"
#include "workshop/spring.h"

static const cw_choice kinds[] = {{"compression", "Compression"}, {"extension", "Extension, with hooks"}, {NULL, NULL}};
static const cw_choice ends[] = {{"closed", "Closed (squared) at both ends: two dead coils"},
                                 {"ground", "Closed and ground flat: two dead coils"},
                                 {"plain", "Plain: none dead"},
                                 {"plain-ground", "Plain, ground flat: one dead coil"},
                                 {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("kind", "Kind", kinds, "compression", ""),
    CW_PICK("wire-of", "Wire", cw_spring_wire_choices, "music", ""),
    CW_NEED("wire", "Wire diameter", CW_LENGTH, "mm", 0.03e-3, 20e-3, "with a micrometer, on a clean coil"),
    CW_USUAL("wire-u", "How far it can be off", CW_LENGTH, "mm", "0.005 mm", 0, 0.2e-3,
             "standard uncertainty; the rate goes with its fourth power"),
    CW_MAYBE("outside", "Outside diameter", CW_LENGTH, "mm", 0.2e-3, 0.5, "or one of the next two"),
    CW_MAYBE("mean", "Mean coil diameter", CW_LENGTH, "mm", 0.1e-3, 0.5, "outside less one wire"),
    CW_MAYBE("inside", "Inside diameter", CW_LENGTH, "mm", 0.1e-3, 0.5, "outside less two wires"),
    CW_USUAL("outside-u", "How far that can be off", CW_LENGTH, "mm", "0.02 mm", 0, 1e-3, "standard uncertainty"),
    CW_MAYBE("coils", "Coils, all of them", CW_PLAIN, NULL, 1, 510,
             "counted at one side; of an extension spring those of its body, its hooks are added"),
    CW_MAYBE("active", "Working coils", CW_PLAIN, NULL, 0.5, 500, "instead of all of them"),
    CW_PICK("ends", "Ends of a compression spring", ends, "closed", ""),
    CW_MAYBE("free", "Free length", CW_LENGTH, "mm", 0.2e-3, 2, "of a compression spring"),
    CW_USUAL("tension", "Force that just opens an extension spring", CW_FORCE, "N", "0", 0, 1e4, "initial tension"),
    CW_MAYBE("hook", "Mean radius of the hook's bend", CW_LENGTH, "mm", 0.05e-3, 0.1, "left out: half the mean coil"),
    CW_NEED("load", "Force it works at", CW_FORCE, "N", 0, 1e5, ""),
    CW_MAYBE("shear-modulus", "Shear modulus of this wire", CW_STRESS, "GPa", 1e9, 300e9,
             "from its data sheet; left out: by the kind and diameter"),
    CW_MAYBE("tensile", "Tensile strength of this wire", CW_STRESS, "MPa", 50e6, 5e9,
             "from its data sheet; left out: by the kind and diameter"),
};

static const cw_field outputs[] = {
    CW_JUDGE("stands", "Does it stand the load?", "stress against what the wire is allowed, at k = 2"),
    CW_SHOW("rate", "Rate", CW_STIFFNESS, "N/mm", 3, ""),
    CW_SHOW("deflection", "Deflection under the load", CW_LENGTH, "mm", 3, ""),
    CW_SHOW("stress", "Stress", CW_STRESS, "MPa", 3, "shear, with Wahl's factor"),
    CW_SHOW("allowed", "Allowed", CW_STRESS, "MPa", 3, "for rest or a few thousand strokes"),
    CW_SHOW("tensile-used", "Tensile strength", CW_STRESS, "MPa", 4, "of wire of that diameter"),
    CW_SHOW("mean-used", "Mean coil diameter", CW_LENGTH, "mm", 4, ""),
    CW_SHOW("active-used", "Working coils", CW_PLAIN, NULL, 4, ""),
    CW_SHOW("index", "Index", CW_PLAIN, NULL, 3, "mean coil over wire; 5 to 12 winds well"),
    CW_SHOW("wahl", "Wahl's factor", CW_PLAIN, NULL, 4, "for the bend of the coil and direct shear"),
    CW_SHOW("bergstraesser", "Bergstraesser's factor", CW_PLAIN, NULL, 4, "for the same, within 1 %"),
    CW_SHOW("shear-factor", "Direct shear alone", CW_PLAIN, NULL, 4, "1 + 0.5/index, for rest and ductile wire"),
    CW_MAY_SHOW("solid", "Solid length", CW_LENGTH, "mm", 4, ""),
    CW_MAY_SHOW("solid-force", "Force when solid", CW_FORCE, "N", 3, ""),
    CW_MAY_SHOW("solid-stress", "Stress when solid", CW_STRESS, "MPa", 3,
                "above what is allowed it comes back shorter"),
    CW_MAY_SHOW("hook-stress", "Bending in the hook", CW_STRESS, "MPa", 3, ""),
};

/* The mean coil from whichever diameter is given. */
static cw_status read_mean(const cw_sheet_in *in, double wire, double *mean, cw_error *err)
{
    double outside = cw_in_number(in, "outside"), middle = cw_in_number(in, "mean"),
           inside = cw_in_number(in, "inside");
    int given = !isnan(outside) + !isnan(middle) + !isnan(inside);
    if (given != 1)
        return cw_fail(err, CW_INPUT, "%d of outside, mean and inside diameter are given; give one of them", given);
    *mean = !isnan(outside) ? outside - wire : !isnan(inside) ? inside + wire : middle;
    if (*mean <= wire)
        return cw_fail(err, CW_RANGE,
                       "an outside of %.3g mm wound from wire of %.3g mm; it must be the larger, 3.5 wires at least",
                       (*mean + wire) * 1e3, wire * 1e3);
    return CW_OK;
}

/* What the two hooks of an extension spring give with its body, in coils: G/E. Shigley, 10-11; from memory. */
static double coils_of_hooks(const cw_spring *s)
{
    double shear = s->own_shear_pa > 0 ? s->own_shear_pa : cw_spring_shear_pa(s->wire, s->wire_m);
    double share = shear / cw_spring_elastic_pa(s->wire, s->wire_m);
    return share > 0.2 && share < 0.6 ? share : 0.4; /* 0.4: of any metal, where the modulus is not known */
}

/* Dead coils and wires in the solid length by the ends: Shigley, table 10-1. */
static cw_status read_coils(const cw_sheet_in *in, bool compression, cw_spring *s, cw_error *err)
{
    double all = cw_in_number(in, "coils"), active = cw_in_number(in, "active");
    bool closed = cw_in_is(in, "ends", "closed"), ground = cw_in_is(in, "ends", "ground");
    double dead = !compression ? 0 : closed || ground ? 2 : cw_in_is(in, "ends", "plain-ground") ? 1 : 0;
    if (isnan(all) == isnan(active))
        return cw_fail(err, CW_INPUT, "%s; give one of all coils and working coils",
                       isnan(all) ? "neither all coils nor working coils are given" : "both counts of coils are given");
    if (!isnan(all) && all <= dead)
        return cw_fail(err, CW_RANGE, "%g coils with such ends leave none that works; %g at least", all, dead + 0.5);
    s->active_coils = !isnan(active) ? active : compression ? all - dead : all + coils_of_hooks(s);
    s->total_coils = s->active_coils + dead;
    s->solid_coils = s->total_coils + (closed || cw_in_is(in, "ends", "plain") ? 1 : 0);
    return CW_OK;
}

static unsigned needs_of(const cw_sheet_in *in)
{
    return (cw_in_given(in, "tensile") ? 0u : (unsigned)CW_NEEDS_TENSILE) |
           (cw_in_given(in, "shear-modulus") ? 0u : (unsigned)CW_NEEDS_SHEAR);
}

static cw_status read_all(const cw_sheet_in *in, const cw_spring_wire *kind, cw_spring *spring, cw_error *err)
{
    bool compression = cw_in_is(in, "kind", "compression");
    double wire = cw_in_number(in, "wire"), mean = NAN;
    CW_TRY(read_mean(in, wire, &mean, err));
    cw_spring s = {.kind = compression ? CW_SPRING_COMPRESSION : CW_SPRING_EXTENSION,
                   .wire_m = wire,
                   .mean_coil_m = mean,
                   .free_length_m = compression ? cw_in_number(in, "free") : NAN,
                   .initial_tension_n = compression ? 0 : cw_in_number(in, "tension"),
                   .hook_radius_m = compression ? NAN : cw_in_or(in, "hook", mean / 2),
                   .load_n = cw_in_number(in, "load"),
                   .own_tensile_pa = cw_in_or(in, "tensile", 0),
                   .own_shear_pa = cw_in_or(in, "shear-modulus", 0),
                   .wire = kind};
    CW_TRY(read_coils(in, compression, &s, err));
    *spring = s;
    return CW_OK;
}

/* values: wire, outside, shear modulus; context: the spring */
static double rate_model(const double *v, const void *context)
{
    const cw_spring *s = context;
    return pow(v[0], 4) * v[2] / (8 * pow(v[1] - v[0], 3) * s->active_coils);
}

static void show_verdict(cw_sheet_out *out, const cw_spring *s, const cw_spring_result *r, double stress_share)
{
    bool compression = s->kind == CW_SPRING_COMPRESSION;
    double worst =
        compression || isnan(r->hook_stress_pa) ? 0 : r->hook_stress_pa / (s->wire->bending_share * r->tensile_pa);
    double used = fmax(r->stress_pa / r->allowed_pa, worst),
           u_used = used * hypot(stress_share, 0.1); /* a tenth for the wire's strength */
    bool solid = compression && !isnan(r->solid_force_n) && s->load_n > r->solid_force_n;
    cw_out_verdict(out, "stands", solid ? CW_VERDICT_OUTSIDE : cw_at_least((cw_quantity){1 - used, u_used}, 0),
                   solid ? "it lies solid before that force: %.3g N is the most it gives"
                         : "%.0f %% of what the wire is allowed",
                   solid ? r->solid_force_n : 100 * used);
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_spring s;
    cw_spring_result r;
    cw_wire_found kind;
    CW_TRY(cw_in_wire(in, "wire-of", needs_of(in), &kind, err));
    CW_TRY(read_all(in, &kind.wire, &s, err));
    CW_TRY(cw_spring_find(&s, &r, err));
    double shear = s.own_shear_pa > 0 ? s.own_shear_pa : cw_spring_shear_pa(s.wire, s.wire_m);
    /* no uncertainty where the wire's data sheet says its modulus */
    const cw_quantity values[] = {{s.wire_m, cw_in_number(in, "wire-u")},
                                  {s.mean_coil_m + s.wire_m, cw_in_number(in, "outside-u")},
                                  {shear, s.own_shear_pa > 0 ? 0 : kind.modulus_share * shear}};
    cw_quantity rate = cw_propagate(3, values, rate_model, &s);
    double rate_share = rate.u / rate.value,
           stress_share = hypot(3 * values[0].u / s.wire_m, values[1].u / s.mean_coil_m);
    show_verdict(out, &s, &r, stress_share);
    cw_out_quantity(out, "rate", rate);
    cw_out_quantity(out, "deflection", (cw_quantity){r.deflection_m, r.deflection_m * rate_share});
    cw_out_quantity(out, "stress", (cw_quantity){r.stress_pa, r.stress_pa * stress_share});
    cw_out_number(out, "allowed", r.allowed_pa);
    cw_out_number(out, "tensile-used", r.tensile_pa);
    cw_out_number(out, "mean-used", s.mean_coil_m);
    cw_out_number(out, "active-used", s.active_coils);
    cw_out_number(out, "index", r.index);
    cw_out_number(out, "wahl", r.wahl);
    cw_out_number(out, "bergstraesser", r.bergstraesser);
    cw_out_number(out, "shear-factor", r.shear_factor);
    if (s.kind == CW_SPRING_COMPRESSION) {
        cw_out_number(out, "solid", r.solid_m);
        cw_out_number(out, "solid-force", r.solid_force_n);
        cw_out_number(out, "solid-stress", r.solid_stress_pa);
    } else {
        cw_out_number(out, "hook-stress", r.hook_stress_pa);
    }
    return CW_OK;
}

static const char *const cautions[] = {"spring", NULL};
static const char *const sources[] = {
    "rate, Wahl factor, hook: Shigley, Mechanical Engineering Design, mechanical springs; Jindal, Machine Design, ex. "
    "8-3",
    "ends, dead coils and solid length: Shigley, table 10-1, from memory",
    "wire strength and moduli: Shigley, tables 10-4 to 10-7, from memory; constants of music and hard-drawn wire also "
    "in Jindal",
    NULL};
static const char *const example[] = {"wire", "0.3mm", "outside", "3mm",  "coils", "9",
                                      "free", "10mm",  "load",    "1.2N", NULL};

extern const cw_worksheet cw_sheet_coil_spring;
const cw_worksheet cw_sheet_coil_spring = {
    .name = "coil-spring",
    .title = "Compression or extension spring",
    .group = "Parts",
    .purpose = "What rate has this spring, does it stand its load, when does it lie solid? From wire, coil, count and "
               "material.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
