/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/spring.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/range.h"

#define MM 1e-3
#define MPA 1e6

/* Shigley, Mechanical Engineering Design, tables 10-4 (strength), 10-5 (moduli by size, Mpsi there), 10-6 and 10-7
 * (share allowed, no set taken beforehand), from memory; 2211 and 0.145, 1783 and 0.190 stand in Jindal, Machine
 * Design, examples 8-6 and 8-9. */
#define SHIGLEY                                                                                                        \
    "Shigley, tables 10-4 to 10-6, from memory (music wire and hard-drawn constants also in Jindal, ex. 8-6, 8-9)"
#define IN 0.0254
#define MPSI 6894757293.168361
static const cw_spring_wire wires[] = {
    {"music",
     "Music wire",
     0.1e-3,
     {{6.5e-3, 2211, 0.145}},
     {{0.0325 * IN, 29.5 * MPSI, 12.0 * MPSI},
      {0.0635 * IN, 29.0 * MPSI, 11.85 * MPSI},
      {0.125 * IN, 28.5 * MPSI, 11.75 * MPSI},
      {1, 28.0 * MPSI, 11.6 * MPSI}},
     0.45,
     0.78,
     SHIGLEY},
    {"hard-drawn",
     "Hard-drawn carbon steel",
     0.7e-3,
     {{12.7e-3, 1783, 0.190}},
     {{0.0325 * IN, 28.8 * MPSI, 11.7 * MPSI},
      {0.0635 * IN, 28.7 * MPSI, 11.6 * MPSI},
      {0.125 * IN, 28.6 * MPSI, 11.5 * MPSI},
      {1, 28.5 * MPSI, 11.4 * MPSI}},
     0.45,
     0.78,
     SHIGLEY},
    {"oil-tempered",
     "Oil-tempered carbon steel",
     0.5e-3,
     {{12.7e-3, 1855, 0.187}},
     {{1, 28.5 * MPSI, 11.2 * MPSI}},
     0.50,
     0.87,
     SHIGLEY},
    {"chrome-vanadium",
     "Chrome-vanadium steel",
     0.8e-3,
     {{11.1e-3, 2005, 0.168}},
     {{1, 29.5 * MPSI, 11.2 * MPSI}},
     0.50,
     0.87,
     SHIGLEY},
    {"chrome-silicon",
     "Chrome-silicon steel",
     1.6e-3,
     {{9.5e-3, 1974, 0.108}},
     {{1, 29.5 * MPSI, 11.2 * MPSI}},
     0.50,
     0.87,
     SHIGLEY},
    {"stainless",
     "Stainless 302, cold drawn",
     0.3e-3,
     {{2.5e-3, 1867, 0.146}, {5e-3, 2065, 0.263}, {10e-3, 2911, 0.478}},
     {{1, 28 * MPSI, 10 * MPSI}},
     0.35,
     0.61,
     SHIGLEY},
    {"phosphor-bronze",
     "Phosphor bronze, spring hard",
     0.1e-3,
     {{0.6e-3, 1000, 0}, {2e-3, 913, 0.028}, {7.5e-3, 932, 0.064}},
     {{1, 15 * MPSI, 6 * MPSI}},
     0.35,
     0.61,
     SHIGLEY},
};

/* Sizes spring wire is sold in, mm; common practice, no source. */
static const double stock_mm[] = {0.10, 0.12, 0.15, 0.18, 0.20, 0.22, 0.25, 0.28, 0.30, 0.32, 0.35,
                                  0.38, 0.40, 0.45, 0.50, 0.55, 0.60, 0.65, 0.70, 0.75, 0.80, 0.85,
                                  0.90, 0.95, 1.00, 1.10, 1.20, 1.30, 1.40, 1.50, 1.60, 1.80, 2.00};

const cw_spring_wire *cw_spring_wires(size_t *count)
{
    *count = CW_COUNT(wires);
    return wires;
}

const cw_spring_wire *cw_spring_wire_find(const char *key)
{
    for (size_t i = 0; i < CW_COUNT(wires); i++)
        if (strcmp(wires[i].key, key) == 0)
            return &wires[i];
    return NULL;
}

/* The piece for that diameter; the last goes on above its end. */
static const cw_wire_strength *strength_at(const cw_spring_wire *wire, double diameter_m)
{
    size_t i = 0;
    while (i + 1 < CW_WIRE_PIECES && wire->strength[i + 1].most_m > 0 && diameter_m > wire->strength[i].most_m)
        i++;
    return &wire->strength[i];
}

static const cw_wire_moduli *moduli_at(const cw_spring_wire *wire, double diameter_m)
{
    size_t i = 0;
    while (i + 1 < CW_WIRE_PIECES && wire->moduli[i + 1].most_m > 0 && diameter_m > wire->moduli[i].most_m)
        i++;
    return &wire->moduli[i];
}

double cw_spring_most_m(const cw_spring_wire *wire)
{
    return strength_at(wire, INFINITY)->most_m;
}

double cw_spring_tensile_pa(const cw_spring_wire *wire, double diameter_m)
{
    if (!(diameter_m >= wire->least_m / 2 && diameter_m <= cw_spring_most_m(wire) * 2))
        return NAN;
    const cw_wire_strength *piece = strength_at(wire, diameter_m);
    return piece->strength_mpa * MPA / pow(diameter_m / MM, piece->exponent);
}

double cw_spring_elastic_pa(const cw_spring_wire *wire, double diameter_m)
{
    return moduli_at(wire, diameter_m)->elastic_pa;
}

double cw_spring_shear_pa(const cw_spring_wire *wire, double diameter_m)
{
    return moduli_at(wire, diameter_m)->shear_pa;
}

static double tensile_of(const cw_spring *s)
{
    return s->own_tensile_pa > 0 ? s->own_tensile_pa : cw_spring_tensile_pa(s->wire, s->wire_m);
}

static double elastic_of(const cw_spring *s)
{
    return s->own_elastic_pa > 0 ? s->own_elastic_pa : cw_spring_elastic_pa(s->wire, s->wire_m);
}

static double shear_of(const cw_spring *s)
{
    return s->own_shear_pa > 0 ? s->own_shear_pa : cw_spring_shear_pa(s->wire, s->wire_m);
}

static double solid_coils_of(const cw_spring *s)
{
    return s->solid_coils > 0 ? s->solid_coils : s->total_coils;
}

static cw_status check_spring(const cw_spring *s, cw_error *err)
{
    CW_TRY(cw_check_within("wire diameter", s->wire_m, CW_LENGTH, "mm", 0.03e-3, 0.020, err));
    double index = s->mean_coil_m / s->wire_m;
    if (!(index >= 2.5 && index <= 40))
        return cw_fail(
            err, CW_RANGE,
            "a wire of %.3g mm on a mean coil of %.4g mm (mean coil = outside less one wire); mean coils of %.3g "
            "to %.4g mm, 2.5 to 40 wires, can be wound",
            s->wire_m / MM, s->mean_coil_m / MM, 2.5 * s->wire_m / MM, 40 * s->wire_m / MM);
    CW_TRY(cw_check_within("working coils", s->active_coils, CW_PLAIN, NULL, 0.5, 500, err));
    if (isnan(tensile_of(s)))
        return cw_fail(
            err, CW_RANGE,
            "%s is drawn from about %g to %g mm; a wire of %g mm is not covered. Another material, or its strength "
            "from the data sheet?",
            s->wire->label, s->wire->least_m / MM, cw_spring_most_m(s->wire) / MM, s->wire_m / MM);
    if (s->kind == CW_SPRING_TORSION) {
        CW_TRY(cw_check_within("leg length", fmin(s->leg1_m, s->leg2_m), CW_LENGTH, "mm", 0, 1, err));
        CW_TRY(cw_check_within("leg length", fmax(s->leg1_m, s->leg2_m), CW_LENGTH, "mm", 0, 1, err));
        return cw_check_within("torque", s->torque_n_m, CW_TORQUE, "N mm", 0, 100, err);
    }
    if (s->kind == CW_SPRING_COMPRESSION) {
        if (!(s->total_coils >= s->active_coils && s->total_coils <= 510))
            return cw_fail(err, CW_RANGE,
                           "%g coils in all with %g of them working; the working ones are part of all, two "
                           "fewer where the ends are closed",
                           s->total_coils, s->active_coils);
        if (!isnan(s->free_length_m) && !(s->free_length_m > solid_coils_of(s) * s->wire_m))
            return cw_fail(
                err, CW_RANGE, "a free length of %.4g mm is no longer than %g coils of %.3g mm lying solid, %.4g mm",
                s->free_length_m / MM, solid_coils_of(s), s->wire_m / MM, solid_coils_of(s) * s->wire_m / MM);
    }
    CW_TRY(cw_check_within("initial tension", s->initial_tension_n, CW_FORCE, "N", 0, 1e4, err));
    return cw_check_within("load", s->load_n, CW_FORCE, "N", 0, 1e5, err);
}

/* Body and legs of a torsion spring; the legs bend as beams built in at the coil. */
static void torsion(const cw_spring *s, cw_spring_result *r)
{
    double C = r->index, d = s->wire_m, D = s->mean_coil_m, M = s->torque_n_m;
    r->inner_factor = (4 * C * C - C - 1) / (4 * C * (C - 1));
    double leg_turns = (s->leg1_m + s->leg2_m) / (3 * M_PI * D);
    double per_turn = pow(d, 4) * elastic_of(s) / (10.8 * D); /* one body turn, N m per turn */
    double body = M * s->active_coils / per_turn, total = M * (s->active_coils + leg_turns) / per_turn;
    r->body_turn_rad = 2 * M_PI * body;
    r->total_turn_rad = 2 * M_PI * total;
    r->rate_n_m_rad = per_turn / (s->active_coils + leg_turns) / (2 * M_PI);
    r->wound_mean_m = s->active_coils * D / (s->active_coils + body);
    r->stress_pa = r->inner_factor * 32 * M / (M_PI * d * d * d);
    r->allowed_pa = s->wire->bending_share * r->tensile_pa;
}

static void helical(const cw_spring *s, cw_spring_result *r)
{
    double d = s->wire_m, D = s->mean_coil_m;
    double stress_per_n = r->wahl * 8 * D / (M_PI * d * d * d);
    r->rate_n_m = pow(d, 4) * shear_of(s) / (8 * pow(D, 3) * s->active_coils);
    r->stress_pa = stress_per_n * s->load_n;
    r->allowed_pa = s->wire->shear_share * r->tensile_pa;
    r->deflection_m = fmax(0, s->load_n - s->initial_tension_n) / r->rate_n_m;
    if (s->kind == CW_SPRING_COMPRESSION) {
        r->solid_m = solid_coils_of(s) * d;
        r->solid_force_n = (s->free_length_m - r->solid_m) * r->rate_n_m;
        r->solid_stress_pa = stress_per_n * r->solid_force_n;
    } else if (!isnan(s->hook_radius_m)) {
        /* bending at the inside of the bend: 32 F r_m^2 / (pi d^3 r_i), Jindal, Machine Design, ex. 8-3 */
        double inside = s->hook_radius_m - d / 2;
        r->hook_stress_pa = 32 * s->load_n * s->hook_radius_m * s->hook_radius_m / (M_PI * d * d * d * inside);
    }
}

cw_status cw_spring_find(const cw_spring *spring, cw_spring_result *result, cw_error *err)
{
    CW_TRY(check_spring(spring, err));
    if (spring->kind == CW_SPRING_EXTENSION && !isnan(spring->hook_radius_m) &&
        !(spring->hook_radius_m > 0.75 * spring->wire_m))
        return cw_fail(err, CW_RANGE, "a hook bent to a mean radius of %.3g mm in %.3g mm wire; %.3g mm is the least",
                       spring->hook_radius_m / MM, spring->wire_m / MM, 0.75 * spring->wire_m / MM);
    double C = spring->mean_coil_m / spring->wire_m;
    cw_spring_result r = {
        .index = C,
        .wahl = (4 * C - 1) / (4 * C - 4) + 0.615 / C,
        .bergstraesser = (4 * C + 2) / (4 * C - 3),
        .shear_factor = 1 + 0.5 / C,
        .inner_factor = NAN,
        .rate_n_m = NAN,
        .rate_n_m_rad = NAN,
        .body_turn_rad = NAN,
        .total_turn_rad = NAN,
        .wound_mean_m = NAN,
        .deflection_m = NAN,
        .tensile_pa = tensile_of(spring),
        .hook_stress_pa = NAN,
        .solid_m = NAN,
        .solid_force_n = NAN,
        .solid_stress_pa = NAN,
        .outer_m = spring->mean_coil_m + spring->wire_m,
        .inner_m = spring->mean_coil_m - spring->wire_m,
    };
    if (spring->kind == CW_SPRING_TORSION)
        torsion(spring, &r);
    else
        helical(spring, &r);
    r.reserve = r.allowed_pa / r.stress_pa; /* INFINITY without a load */
    *result = r;
    return CW_OK;
}

/* One stock size: the widest coil that fits, the coils that give the rate. False when it cannot serve. */
static bool try_wire(const cw_spring_need *need, double wire_m, cw_spring_choice *choice)
{
    double mean =
        need->outer_most_m * 0.97 - wire_m; /* 3 % play: the coil of a compression spring grows when pressed */
    double inner = mean - wire_m, C = mean / wire_m;
    if (!(inner >= need->inner_least_m * 1.03) || !(C >= 4 && C <= 16) ||
        isnan(cw_spring_tensile_pa(need->wire, wire_m)))
        return false;
    double active = pow(wire_m, 4) * cw_spring_shear_pa(need->wire, wire_m) / (8 * pow(mean, 3) * need->rate_n_m);
    double total = active + (need->kind == CW_SPRING_COMPRESSION ? 2 : 0);
    double body = (total + (need->kind == CW_SPRING_EXTENSION ? 1 : 0)) * wire_m;
    if (active < 2 || active > 500 || body > need->length_most_m)
        return false;
    cw_spring spring = {.kind = need->kind,
                        .wire_m = wire_m,
                        .mean_coil_m = mean,
                        .active_coils = active,
                        .total_coils = total,
                        .free_length_m = NAN,
                        .hook_radius_m = mean / 2,
                        .load_n = need->load_n,
                        .wire = need->wire};
    cw_spring_result r;
    cw_error ignored; /* a wire that cannot be computed is only one that does not serve */
    if (cw_spring_find(&spring, &r, &ignored) != CW_OK)
        return false;
    double reserve = r.reserve;
    if (need->kind == CW_SPRING_EXTENSION)
        reserve = fmin(reserve, need->wire->bending_share * r.tensile_pa / r.hook_stress_pa);
    if (reserve < 1.1)
        return false;
    /* best: comfortably strong (about 1.6) at an index that winds easily (about 9) */
    *choice = (cw_spring_choice){
        wire_m, mean, active, r.rate_n_m, r.stress_pa, reserve, body, C, fabs(log(reserve / 1.6)) + fabs(log(C / 9))};
    return true;
}

cw_status cw_spring_replace(const cw_spring_need *need, cw_spring_choice *choices, size_t most, size_t *count,
                            cw_error *err)
{
    if (need->kind == CW_SPRING_TORSION)
        return cw_fail(err, CW_RANGE, "a replacement is looked for among compression and extension springs only");
    CW_TRY(cw_check_within("wanted rate", need->rate_n_m, CW_STIFFNESS, "N/mm", 0.1, 1e6, err));
    CW_TRY(cw_check_within("largest load", need->load_n, CW_FORCE, "N", 1e-3, 1e4, err));
    CW_TRY(cw_check_within("room for the outside", need->outer_most_m, CW_LENGTH, "mm", 0.5e-3, 0.1, err));
    CW_TRY(cw_check_within("rod inside", need->inner_least_m, CW_LENGTH, "mm", 0, 0.1, err));
    CW_TRY(cw_check_within("length it may take closed", need->length_most_m, CW_LENGTH, "mm", 0.5e-3, 1, err));
    if (need->inner_least_m >= need->outer_most_m)
        return cw_fail(err, CW_RANGE,
                       "no spring goes over a rod of %.4g mm and into a hole of %.4g mm; the hole must be larger",
                       need->inner_least_m / MM, need->outer_most_m / MM);
    size_t found = 0;
    for (size_t i = 0; i < CW_COUNT(stock_mm); i++) {
        cw_spring_choice choice;
        if (!try_wire(need, stock_mm[i] * MM, &choice))
            continue;
        size_t at = found;
        while (at > 0 && choices[at - 1].misfit > choice.misfit)
            at--;
        if (at >= most)
            continue;
        size_t keep = found < most ? found : most - 1;
        memmove(choices + at + 1, choices + at, (keep - at) * sizeof *choices);
        choices[at] = choice;
        found = keep + 1;
    }
    *count = found;
    return CW_OK;
}
