/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/own_material.h"

#include <ctype.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>
#include <strings.h>

#include "base/range.h"

#define STATED_SHARE 0.05 /* standard uncertainty of a figure nobody stated one for; judgement */
#define FITS_SHARE 0.15   /* by how much E, G and nu of an isotropic material may disagree; judgement */

#define FIGURE(field) offsetof(cw_own_material, field)
static const cw_own_figure figures[] = {
    {"yield", "yield or proof stress", "Yield or proof stress", "Yield: give or take", CW_STRESS, "MPa", 1e6, 4e9,
     FIGURE(yield_pa), "where it stays bent; of wood the bending strength"},
    {"tensile", "tensile strength", "Tensile strength", "Strength: give or take", CW_STRESS, "MPa", 1e6, 6e9,
     FIGURE(tensile_pa), "where it breaks; spring sheets calculate with it, at your wire's diameter"},
    {"modulus", "modulus of elasticity", "Modulus of elasticity", "Modulus: give or take", CW_STRESS, "GPa", 1e6, 700e9,
     FIGURE(elastic_pa), "E; about 205 GPa for steel"},
    {"shear", "shear modulus", "Shear modulus", "Shear modulus: give or take", CW_STRESS, "GPa", 1e5, 300e9,
     FIGURE(shear_pa), "G; about 79 GPa for steel"},
    {"poisson", "Poisson's ratio", "Poisson's ratio", "Ratio: give or take", CW_PLAIN, NULL, 0, 0.5, FIGURE(poisson),
     "0.3 for most metals"},
    {"expansion", "expansion", "Expansion", "Expansion: give or take", CW_EXPANSION, "1e-6/K", 0, 300e-6,
     FIGURE(expansion_per_k), "linear, for each kelvin; 11 to 24 for metals"},
    {"friction", "friction", "Friction", "Friction: give or take", CW_PLAIN, NULL, 0.02, 3, FIGURE(friction),
     "against what it rubs on: tilt it till it slides, the tangent of that angle"},
    {"density", "density", "Density", "Density: give or take", CW_DENSITY, "kg/m3", 5, 25000, FIGURE(density_kg_m3),
     "7850 for steel, 8500 for brass"},
};

const cw_own_figure *cw_own_figures(size_t *count)
{
    *count = CW_COUNT(figures);
    return figures;
}

cw_quantity *cw_own_figure_of(cw_own_material *material, const cw_own_figure *figure)
{
    return (cw_quantity *)(void *)((char *)material + figure->offset);
}

cw_quantity cw_own_figure_get(const cw_own_material *material, const cw_own_figure *figure)
{
    return *(const cw_quantity *)(const void *)((const char *)material + figure->offset);
}

cw_own_material cw_own_material_none(void)
{
    cw_own_material none = {.name = "", .kind = "", .source = ""};
    for (size_t i = 0; i < CW_COUNT(figures); i++)
        *cw_own_figure_of(&none, &figures[i]) = (cw_quantity){NAN, NAN};
    return none;
}

/* ---- checks ---- */

static bool is_taken(const char *name)
{
    size_t materials, frictions, wires;
    const cw_material *m = cw_materials(&materials);
    const cw_friction *f = cw_frictions(&frictions);
    const cw_spring_wire *w = cw_spring_wires(&wires);
    bool taken = strcasecmp(name, "own") == 0 || strcasecmp(name, "Your own figures") == 0;
    for (size_t i = 0; i < materials; i++)
        taken = taken || strcasecmp(name, m[i].key) == 0 || strcasecmp(name, m[i].label) == 0;
    for (size_t i = 0; i < frictions; i++)
        taken = taken || strcasecmp(name, f[i].key) == 0 || strcasecmp(name, f[i].label) == 0;
    for (size_t i = 0; i < wires; i++)
        taken = taken || strcasecmp(name, w[i].key) == 0 || strcasecmp(name, w[i].label) == 0;
    return taken;
}

static cw_status check_name(const char *name, cw_error *err)
{
    size_t length = name == NULL ? 0 : strlen(name);
    if (length == 0 || strspn(name, " ") == length)
        return cw_fail(err, CW_INPUT, "the material has no name; give it the one you would look for it under");
    if (length > CW_OWN_NAME_MOST)
        return cw_fail(err, CW_INPUT,
                       "the name \"%.30s...\" has %zu bytes; %d can be kept, the rest belongs in the notes", name,
                       length, CW_OWN_NAME_MOST);
    if (isspace((unsigned char)name[0]) || isspace((unsigned char)name[length - 1]))
        return cw_fail(err, CW_INPUT, "the name \"%s\" begins or ends with a space; leave it out", name);
    if (strpbrk(name, ";|") != NULL)
        return cw_fail(err, CW_INPUT,
                       "the name \"%s\" holds ; or |, which part values on the command line; leave it out", name);
    if (is_taken(name))
        return cw_fail(err, CW_INPUT,
                       "\"%s\" is one of the program's own materials; add a word that tells yours from it", name);
    return CW_OK;
}

static cw_status check_figure(const cw_own_figure *figure, cw_quantity q, cw_error *err)
{
    if (isnan(q.value) && isnan(q.u))
        return CW_OK;
    if (isnan(q.value))
        return cw_fail(err, CW_RANGE, "the %s has an uncertainty but no value; give both, or none", figure->name);
    CW_TRY(cw_check_within(figure->name, q.value, figure->dimension, figure->unit, figure->least, figure->most, err));
    if (isnan(q.u) || (q.u >= 0 && q.u <= q.value))
        return CW_OK;
    const cw_unit *unit = cw_unit_find(figure->dimension, figure->unit);
    return cw_fail(err, CW_RANGE,
                   "the %s is %g%s%s give or take %g%s%s; an uncertainty from nothing to the value itself can be used",
                   figure->name, cw_to_unit(q.value, unit), *unit->name != '\0' ? " " : "", unit->name,
                   q.u / unit->factor, *unit->name != '\0' ? " " : "", unit->name);
}

static cw_status check_together(const cw_own_material *m, cw_error *err)
{
    double yield = m->yield_pa.value, tensile = m->tensile_pa.value, E = m->elastic_pa.value, G = m->shear_pa.value,
           nu = m->poisson.value;
    if (yield >= E || tensile >= E)
        return cw_fail(
            err, CW_RANGE,
            "it %s at %g MPa with a modulus of %g MPa; the modulus is the larger figure, by a factor of 50 or "
            "more in metals. Are the two exchanged?",
            yield >= E ? "yields" : "breaks", (yield >= E ? yield : tensile) / 1e6, E / 1e6);
    if (yield > tensile)
        return cw_fail(err, CW_RANGE, "it yields at %g MPa and breaks at %g MPa; the strength is the larger of the two",
                       yield / 1e6, tensile / 1e6);
    if (G >= E)
        return cw_fail(
            err, CW_RANGE,
            "a shear modulus of %g GPa with a modulus of %g GPa; the shear modulus is the smaller, about two "
            "fifths in metals. Are the two exchanged?",
            G / 1e9, E / 1e9);
    if (fabs(2 * G * (1 + nu) / E - 1) > FITS_SHARE)
        return cw_fail(err, CW_RANGE,
                       "a modulus of %g GPa, a shear modulus of %g GPa and a Poisson's ratio of %g do not go together: "
                       "E = 2 G (1 + nu). Leave one of them out; of wood, the ratio",
                       E / 1e9, G / 1e9, nu);
    return CW_OK;
}

cw_status cw_own_material_check(const cw_own_material *material, cw_error *err)
{
    CW_TRY(check_name(material->name, err));
    return cw_own_material_check_figures(material, err);
}

cw_status cw_own_material_check_figures(const cw_own_material *material, cw_error *err)
{
    size_t given = 0;
    for (size_t i = 0; i < CW_COUNT(figures); i++) {
        cw_quantity q = cw_own_figure_get(material, &figures[i]);
        CW_TRY(check_figure(&figures[i], q, err));
        given += isnan(q.value) ? 0 : 1;
    }
    if (given == 0)
        return cw_fail(err, CW_RANGE, "the material \"%s\" has no figure; give one at least, such as its yield stress",
                       material->name);
    return check_together(material, err);
}

/* ---- as the tables have them ---- */

static cw_status missing(const cw_own_material *own, const char *what, const char *option, cw_error *err)
{
    return cw_fail(
        err, CW_INPUT,
        "your material \"%s\" has no %s, and this calculation needs it; add it on the page Materials or with "
        "camerawright material change \"%s\" %s",
        own->name, what, own->name, option);
}

static cw_quantity with_u(cw_quantity q)
{
    return (cw_quantity){q.value, isnan(q.u) ? STATED_SHARE * q.value : q.u};
}

/* E, or what G and nu say of it. */
static cw_quantity elastic_of(const cw_own_material *own)
{
    cw_quantity shear = with_u(own->shear_pa), E = with_u(own->elastic_pa);
    double factor = 2 * (1 + own->poisson.value);
    return isnan(E.value) ? (cw_quantity){factor * shear.value, factor * shear.u} : E;
}

/* Poisson's ratio of an isotropic material, from E and G where it is not stated; NaN where they say something that no
 * isotropic material has. */
static double poisson_of(const cw_own_material *own)
{
    double nu = own->poisson.value, of_moduli = own->elastic_pa.value / (2 * own->shear_pa.value) - 1;
    if (!isnan(nu))
        return nu;
    return of_moduli >= 0 && of_moduli <= 0.5 ? of_moduli : NAN;
}

/* The table's form carries E and nu, from which it works out G. A G that is stated must come out again: nu is what it
 * makes of E, whatever that is (wood is not isotropic); and where E is not known, any pair that gives G will do, for
 * nobody asked for E. */
static void carry_shear(const cw_own_material *own, cw_material *m)
{
    if (isnan(own->shear_pa.value))
        return;
    if (isnan(m->elastic_pa.value)) {
        cw_quantity G = with_u(own->shear_pa);
        m->poisson = 0.3;
        m->elastic_pa = (cw_quantity){2 * (1 + m->poisson) * G.value, 2 * (1 + m->poisson) * G.u};
    } else {
        m->poisson = m->elastic_pa.value / (2 * own->shear_pa.value) - 1;
    }
}

cw_status cw_own_material_as(const cw_own_material *own, unsigned needs, cw_material *material, cw_error *err)
{
    cw_material made = {.key = own->name,
                        .label = own->name,
                        .elastic_pa = elastic_of(own),
                        .yield_pa = with_u(own->yield_pa),
                        .poisson = poisson_of(own),
                        .expansion_per_k = own->expansion_per_k.value,
                        .density_kg_m3 = own->density_kg_m3.value,
                        .source = own->source};
    if ((needs & CW_NEEDS_YIELD) != 0 && isnan(made.yield_pa.value))
        return missing(own, "yield stress", "--yield \"250 MPa\"", err);
    if ((needs & CW_NEEDS_MODULUS) != 0 && isnan(made.elastic_pa.value))
        return missing(own, "modulus of elasticity", "--modulus \"205 GPa\"", err);
    if ((needs & CW_NEEDS_POISSON) != 0 && isnan(made.poisson))
        return missing(own, "Poisson's ratio", "--poisson 0.3", err);
    if ((needs & CW_NEEDS_EXPANSION) != 0 && isnan(made.expansion_per_k))
        return missing(own, "expansion", "--expansion \"12 1e-6/K\"", err);
    if ((needs & CW_NEEDS_SHEAR) != 0 && (needs & CW_NEEDS_POISSON) == 0)
        carry_shear(own, &made);
    if ((needs & CW_NEEDS_SHEAR) != 0 && isnan(cw_material_shear_modulus_pa(&made)))
        return missing(own, "shear modulus, and no modulus with a Poisson's ratio to work it out from",
                       "--shear \"79 GPa\"", err);
    *material = made;
    return CW_OK;
}

cw_status cw_own_material_wire(const cw_own_material *own, unsigned needs, cw_spring_wire *wire, cw_error *err)
{
    cw_material bar;
    size_t count;
    const cw_spring_wire *wires = cw_spring_wires(&count);
    CW_TRY(cw_own_material_as(own, needs & (CW_NEEDS_MODULUS | CW_NEEDS_SHEAR), &bar, err));
    if ((needs & CW_NEEDS_TENSILE) != 0 && isnan(own->tensile_pa.value))
        return missing(own, "tensile strength", "--tensile \"1800 MPa\"", err);
    cw_spring_wire made = {.key = own->name,
                           .label = own->name,
                           .least_m = wires[0].least_m,
                           .strength = {{20e-3, own->tensile_pa.value / 1e6, 0}},
                           .moduli = {{1, elastic_of(own).value, cw_material_shear_modulus_pa(&bar)}},
                           .shear_share = INFINITY,
                           .bending_share = INFINITY,
                           .source = own->source};
    for (size_t i = 0; i < count; i++) {
        made.least_m = fmin(made.least_m, wires[i].least_m);
        made.shear_share = fmin(made.shear_share, wires[i].shear_share);
        made.bending_share = fmin(made.bending_share, wires[i].bending_share);
    }
    *wire = made;
    return CW_OK;
}
