/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What tools and parts are made of. Every figure carries how well it is known: a table value stands for a bar of
 * unknown origin, not for the one in the hand, so the spread of the alloy's usual states is part of the answer. */
#ifndef CW_WORKSHOP_MATERIAL_H
#define CW_WORKSHOP_MATERIAL_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"

/* SI units throughout; NaN where no figure is known. */
typedef struct {
    const char *key;        /* "mild-steel" */
    const char *label;      /* "Mild steel" */
    cw_quantity elastic_pa; /* modulus of elasticity */
    cw_quantity yield_pa;   /* yield or 0.2 % proof stress; for wood the bending strength */
    double poisson;
    double expansion_per_k;
    double density_kg_m3;
    const char *source; /* of the figures, "from memory" where so */
} cw_material;

/* The table, in the order shown to a person. */
const cw_material *cw_materials(size_t *count);

/* NULL when there is none of that key. */
const cw_material *cw_material_find(const char *key);

/* The person's own entry. yield_pa 1 MPa to 4 GPa, elastic_pa 1 MPa to 700 GPa, poisson 0 to 0.5; expansion may be NaN.
 * u is what the person states, 0 when they call it exact. CW_RANGE names the value that cannot be. */
cw_status cw_material_own(cw_quantity elastic_pa, cw_quantity yield_pa, double poisson, double expansion_per_k,
                          cw_material *material, cw_error *err) __attribute__((warn_unused_result));

/* G = E / (2 (1 + nu)), isotropic. */
double cw_material_shear_modulus_pa(const cw_material *material);
/* Yield in shear by the distortion energy rule, yield / sqrt(3) (Shigley, 5-5). */
double cw_material_shear_yield_pa(const cw_material *material);

/* Friction between two surfaces: coefficient and how well it is known. */
typedef struct {
    const char *key, *label;
    cw_quantity mu;
    const char *source;
} cw_friction;

const cw_friction *cw_frictions(size_t *count);
const cw_friction *cw_friction_find(const char *key); /* NULL when there is none */

#endif
