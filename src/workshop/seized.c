/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/seized.h"

#include <math.h>
#include <string.h>

#include "base/range.h"

#define MM 1e-3
#define MPA 1e6
#define CELSIUS 273.15

double cw_thread_tighten_n_m(double force_n, double pitch_diameter_m, double pitch_m, double flank_angle_rad, double mu,
                             double seat_diameter_m)
{
    double f = mu / cos(flank_angle_rad / 2), d = pitch_diameter_m;
    return force_n * d / 2 * (pitch_m + M_PI * f * d) / (M_PI * d - f * pitch_m) + mu * force_n * seat_diameter_m / 2;
}

double cw_thread_loosen_n_m(double force_n, double pitch_diameter_m, double pitch_m, double flank_angle_rad, double mu,
                            double seat_diameter_m)
{
    double f = mu / cos(flank_angle_rad / 2), d = pitch_diameter_m;
    return force_n * d / 2 * (M_PI * f * d - pitch_m) / (M_PI * d + f * pitch_m) + mu * force_n * seat_diameter_m / 2;
}

/* Shear strength of what sits in the thread, wide on purpose. */
static const cw_bond bonds[] = {
    {"none", "Nothing: it is only tight", 0, 0,
     "a tool that fits, a steady pull; then warmth, then a tap while pulling", "by definition"},
    {"grease", "Dried grease", 0.005 * MPA, 0.1 * MPA, "warmth and a drop of solvent, then small turns both ways",
     "common practice, no source"},
    {"lacquer", "Locking lacquer or paint", 0.3 * MPA, 3 * MPA,
     "a drop of the lacquer's solvent, an hour, again; keep it from glass and paint",
     "common practice, no source; softens in acetone or alcohol"},
    {"corrosion", "Corrosion, white or green", 0.5 * MPA, 8 * MPA,
     "penetrant on a pin point and a night, warmth, taps; small turns both ways", "common practice, no source"},
    {"adhesive", "Thread-locking adhesive", 4 * MPA, 15 * MPA,
     "warmth first: locking adhesive gives way when hot, within the limits of what is near",
     "order of data sheets, from memory; softens with warmth"},
};

const cw_bond *cw_bonds(size_t *count)
{
    *count = CW_COUNT(bonds);
    return bonds;
}

const cw_bond *cw_bond_find(const char *key)
{
    for (size_t i = 0; i < CW_COUNT(bonds); i++)
        if (strcmp(bonds[i].key, key) == 0)
            return &bonds[i];
    return NULL;
}

cw_status cw_seized_find(const cw_seized *s, cw_seized_result *result, cw_error *err)
{
    CW_TRY(cw_check_within("thread diameter", s->pitch_diameter_m, CW_LENGTH, "mm", 0.3e-3, 0.2, err));
    CW_TRY(cw_check_within("pitch", s->pitch_m, CW_LENGTH, "mm", 0.05e-3, fmin(6e-3, s->pitch_diameter_m / 2), err));
    CW_TRY(cw_check_within("engaged length", s->engaged_m, CW_LENGTH, "mm", 0.2e-3, 0.1, err));
    CW_TRY(cw_check_within("diameter of the seat", s->seat_diameter_m, CW_LENGTH, "mm", 0, 0.25, err));
    CW_TRY(cw_check_within("tightening torque", s->tightened_n_m, CW_TORQUE, "N m", 0, 50, err));
    CW_TRY(cw_check_within("friction when it was tightened", s->mu_assembly, CW_PLAIN, NULL, 0.02, 1.5, err));
    CW_TRY(cw_check_within("least friction now", s->mu_least, CW_PLAIN, NULL, 0.02, 1.5, err));
    CW_TRY(cw_check_within("largest friction now", s->mu_most, CW_PLAIN, NULL, s->mu_least, 1.5, err));
    double per_n = cw_thread_tighten_n_m(1, s->pitch_diameter_m, s->pitch_m, s->flank_angle_rad, s->mu_assembly,
                                         s->seat_diameter_m);
    cw_seized_result r = {.axial_n = s->tightened_n_m / per_n};
    r.friction_least_n_m = fmax(0, cw_thread_loosen_n_m(r.axial_n, s->pitch_diameter_m, s->pitch_m, s->flank_angle_rad,
                                                        s->mu_least, s->seat_diameter_m));
    r.friction_most_n_m = fmax(0, cw_thread_loosen_n_m(r.axial_n, s->pitch_diameter_m, s->pitch_m, s->flank_angle_rad,
                                                       s->mu_most, s->seat_diameter_m));
    double bond_lever = M_PI * s->pitch_diameter_m * s->engaged_m * s->pitch_diameter_m / 2;
    r.bond_least_n_m = s->bond->shear_least_pa * bond_lever;
    r.bond_most_n_m = s->bond->shear_most_pa * bond_lever;
    r.least_n_m = r.friction_least_n_m + r.bond_least_n_m;
    r.most_n_m = r.friction_most_n_m + r.bond_most_n_m;
    *result = r;
    return CW_OK;
}

cw_status cw_warming_find(const cw_warming *w, cw_warming_result *result, cw_error *err)
{
    CW_TRY(cw_check_within("diameter", w->diameter_m, CW_LENGTH, "mm", 0.3e-3, 0.3, err));
    CW_TRY(cw_check_within("warming of the outer part", w->outer_rise_k, CW_TEMPERATURE_STEP, "K", -80, 200, err));
    CW_TRY(cw_check_within("warming of the inner part", w->inner_rise_k, CW_TEMPERATURE_STEP, "K", -80, 200, err));
    const cw_material *unknown = isnan(w->outer->expansion_per_k)   ? w->outer
                                 : isnan(w->inner->expansion_per_k) ? w->inner
                                                                    : NULL;
    if (unknown != NULL)
        return cw_fail(err, CW_RANGE,
                       "how %s expands is not known here; give it as your own material with its expansion, in 1e-6/K",
                       unknown->label);
    double outer = w->outer->expansion_per_k, inner = w->inner->expansion_per_k;
    *result = (cw_warming_result){
        .gain_m = w->diameter_m * (outer * w->outer_rise_k - inner * w->inner_rise_k),
        .gain_per_k_m = w->diameter_m * (outer - inner),
        .quick_gain_m = w->diameter_m * outer * w->outer_rise_k,
    };
    return CW_OK;
}

static const cw_heat_limit heat_limits[] = {
    {"grease", "Focusing grease and oils", CELSIUS + 50, "thins and creeps onto blades and glass",
     "common practice, no source"},
    {"celluloid", "Celluloid, old film and old coverings", CELSIUS + 50, "softens, and burns fiercely",
     "common practice, no source"},
    {"balsam", "Glass cemented with balsam", CELSIUS + 55,
     "the cement softens and the elements shift; change slowly, 1 K a minute", "from memory"},
    {"glue", "Covering glue, foam seals", CELSIUS + 60, "lets go, or turns to tar", "common practice, no source"},
    {"acrylic", "Acrylic windows and plastic lenses", CELSIUS + 70, "distort", "from memory"},
    {"synthetic-cement", "Glass cemented with synthetic cement", CELSIUS + 75, "strains and separates", "from memory"},
    {"abs", "ABS and polystyrene parts", CELSIUS + 75, "warp", "from memory"},
    {"paint", "Lacquer and filled engravings", CELSIUS + 80, "blister", "common practice, no source"},
    {"coating", "Coated and large glass, by shock", CELSIUS + 80,
     "cracks when one side is hot; keep glass out of it, change slowly", "common practice, no source"},
    {"polycarbonate", "Polycarbonate, nylon, acetal", CELSIUS + 100, "distort", "from memory"},
    {"solder", "Soldered joints", CELSIUS + 180, "melt", "183 degrees Celsius, tin-lead eutectic, from memory"},
};

const cw_heat_limit *cw_heat_limits(size_t *count)
{
    *count = CW_COUNT(heat_limits);
    return heat_limits;
}
