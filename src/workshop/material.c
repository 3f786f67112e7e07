/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/material.h"

#include <math.h>
#include <string.h>

#include "base/range.h"

#define GPA 1e9
#define MPA 1e6
#define KSI 6894757.293168361 /* NIST SP 811 */

/* u: half the span of the ranges printed for the alloy family where there is one, else a tenth or a fifth as marked. */
static const cw_material table[] = {
    {"mild-steel",
     "Mild steel, as bought",
     {205 * GPA, 5 * GPA},
     {250 * MPA, 25 * MPA},
     0.29,
     11.7e-6,
     7850,
     "yield: A36, Halliday, Resnick and Walker, table 13-1; modulus range: Gere, Mechanics of Materials; expansion and "
     "density from memory"},
    {"tool-steel-annealed",
     "Tool steel, soft as bought (gauge plate, silver steel)",
     {205 * GPA, 5 * GPA},
     {440 * MPA, 60 * MPA},
     0.29,
     11.7e-6,
     7850,
     "yield 380 to 510 MPa for annealed L6, S7, S1, L2: Shackelford, CRC Materials handbook, table 166; others of the "
     "same order; modulus: Gere; expansion from memory"},
    {"spring-steel",
     "Spring steel, hardened and tempered strip",
     {205 * GPA, 5 * GPA},
     {1200 * MPA, 150 * MPA},
     0.29,
     11.7e-6,
     7850,
     "yield from memory, tempered carbon-steel strip of about 45 HRC; modulus: Gere"},
    {"driver-steel",
     "Screwdriver blade, hardened",
     {205 * GPA, 5 * GPA},
     {1500 * MPA, 250 * MPA},
     0.29,
     11.7e-6,
     7850,
     "yield from memory, tempered alloy steel of 52 to 58 HRC; lost where grinding turned it blue; modulus: Gere"},
    {"stainless-304",
     "Stainless steel 304, soft",
     {193 * GPA, 4 * GPA},
     {205 * MPA, 20 * MPA},
     0.29,
     17.3e-6,
     8000,
     "least proof stress of ASTM A240, modulus and expansion, all from memory"},
    {"stainless-302",
     "Stainless steel 302, annealed",
     {193 * GPA, 4 * GPA},
     {262 * MPA, 26 * MPA},
     0.29,
     17.2e-6,
     8000,
     "yield 38 ksi and modulus 28e6 psi: ecoursesbook.com, appendix; expansion from memory"},
    {"brass-soft",
     "Brass C26800, annealed",
     {103 * GPA, 5 * GPA},
     {23 * KSI, 2.5 * KSI},
     0.34,
     20e-6,
     8470,
     "yield 23 ksi, modulus 15e6 psi: almetals.com, alloy 268; expansion: Gere, 19.1 to 21.2"},
    {"brass-half-hard",
     "Brass C26800, half hard",
     {103 * GPA, 5 * GPA},
     {44 * KSI, 4.4 * KSI},
     0.34,
     20e-6,
     8470,
     "yield 44 ksi, modulus 15e6 psi: almetals.com, alloy 268; expansion: Gere, 19.1 to 21.2"},
    {"brass-hard",
     "Brass C26800, hard",
     {103 * GPA, 5 * GPA},
     {57 * KSI, 5.7 * KSI},
     0.34,
     20e-6,
     8470,
     "yield 57 ksi, modulus 15e6 psi: almetals.com, alloy 268; expansion: Gere, 19.1 to 21.2"},
    {"phosphor-bronze",
     "Phosphor bronze C51000, half hard",
     {110 * GPA, 5 * GPA},
     {380 * MPA, 60 * MPA},
     0.34,
     18e-6,
     8860,
     "modulus 110 GPa and yield from memory; expansion: Gere, 18 to 21"},
    {"aluminium-6061-t6",
     "Aluminium 6061-T6",
     {70 * GPA, 1 * GPA},
     {276 * MPA, 14 * MPA},
     0.33,
     23e-6,
     2700,
     "yield 276 MPa, modulus 70 GPa: Callister, table B.4; expansion: Gere, 23"},
    {"aluminium-soft",
     "Aluminium 6061, annealed (or a soft casting)",
     {70 * GPA, 1 * GPA},
     {55 * MPA, 10 * MPA},
     0.33,
     23e-6,
     2700,
     "yield 55 MPa, modulus 70 GPa: Callister, table B.4; expansion: Gere, 23"},
    {"titanium",
     "Titanium alloy",
     {110 * GPA, 6 * GPA},
     {830 * MPA, 60 * MPA},
     0.33,
     8.6e-6,
     4430,
     "modulus 100 to 120 GPa: Gere; yield and expansion from memory, Ti-6Al-4V annealed"},
    {"birch-plywood",
     "Birch plywood, face grain across the grip",
     {7.452 * GPA, 0.7 * GPA},
     {34.1 * MPA, 5 * MPA},
     0.3,
     NAN,
     680,
     "18 mm, 13 plies, characteristic bending strength and modulus across: Handbook of Finnish Plywood, table "
     "3, from memory"},
    {"hardwood",
     "Beech or similar hardwood, along the grain",
     {12 * GPA, 2 * GPA},
     {60 * MPA, 15 * MPA},
     0.3,
     NAN,
     700,
     "from memory; a knot or short grain halves it"},
    {"printed-plastic",
     "Printed plastic (PLA), solid, load along the layers",
     {2.5 * GPA, 0.5 * GPA},
     {35 * MPA, 10 * MPA},
     0.35,
     70e-6,
     1240,
     "from memory; half of it across the layers; soft from 55 degrees Celsius"},
};

const cw_material *cw_materials(size_t *count)
{
    *count = CW_COUNT(table);
    return table;
}

const cw_material *cw_material_find(const char *key)
{
    for (size_t i = 0; i < CW_COUNT(table); i++)
        if (strcmp(table[i].key, key) == 0)
            return &table[i];
    return NULL;
}

cw_status cw_material_own(cw_quantity elastic_pa, cw_quantity yield_pa, double poisson, double expansion_per_k,
                          cw_material *material, cw_error *err)
{
    CW_TRY(cw_check_within("your material's modulus", elastic_pa.value, CW_STRESS, "GPa", 1e6, 700e9, err));
    CW_TRY(cw_check_within("your material's yield stress", yield_pa.value, CW_STRESS, "MPa", 1e6, 4e9, err));
    CW_TRY(cw_check_within("your material's Poisson's ratio", poisson, CW_PLAIN, NULL, 0, 0.5, err));
    if (yield_pa.value >= elastic_pa.value)
        return cw_fail(
            err, CW_RANGE,
            "your material yields at %g MPa with a modulus of %g MPa; the modulus is the larger figure, by a "
            "factor of 50 or more in metals. Are the two exchanged?",
            yield_pa.value / MPA, elastic_pa.value / MPA);
    *material =
        (cw_material){"own", "Your own entry", elastic_pa, yield_pa, poisson, expansion_per_k, NAN, "your own figures"};
    return CW_OK;
}

double cw_material_shear_modulus_pa(const cw_material *material)
{
    return material->elastic_pa.value / (2 * (1 + material->poisson));
}

double cw_material_shear_yield_pa(const cw_material *material)
{
    return material->yield_pa.value / sqrt(3);
}

static const cw_friction frictions[] = {
    {"brass-steel", "Brass on steel, dry", {0.51, 0.08}, "0.51 static: schneider-company.com, reference chart"},
    {"aluminium-steel",
     "Aluminium on mild steel, dry",
     {0.61, 0.10},
     "0.61 static: schneider-company.com, reference chart"},
    {"brass-brass-oiled",
     "Brass or bronze threads, a trace of old grease",
     {0.15, 0.04},
     "from memory, lubricated metal"},
    {"metal-dry", "Metal threads, clean and dry", {0.25, 0.07}, "from memory, range of dry fastener tests"},
    {"metal-corroded", "Threads white or green with corrosion", {0.45, 0.15}, "common practice, no source"},
    {"steel-steel-oiled",
     "Steel pressed into steel, a trace of oil",
     {0.12, 0.03},
     "from memory, press-fit design values"},
    {"rubber-metal",
     "Clean rubber on dry anodised or painted metal",
     {0.8, 0.2},
     "no handbook figure found; common practice. Measure it: slope at which the piece slides, mu = tan(angle)"},
    {"rubber-greasy",
     "Rubber on metal with a film of oil",
     {0.25, 0.1},
     "no handbook figure found; common practice. Clean it first"},
    {"leather-metal", "Leather lining on metal", {0.5, 0.1}, "from memory"},
    {"wood-metal", "Bare wood on metal", {0.4, 0.1}, "from memory"},
};

const cw_friction *cw_frictions(size_t *count)
{
    *count = CW_COUNT(frictions);
    return frictions;
}

const cw_friction *cw_friction_find(const char *key)
{
    for (size_t i = 0; i < CW_COUNT(frictions); i++)
        if (strcmp(frictions[i].key, key) == 0)
            return &frictions[i];
    return NULL;
}
