/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Materials of the person's own: a bar whose data sheet they have, a wire they measured. What is not known is left out,
 * and whoever calculates with it says which figure is missing. */
#ifndef CW_WORKSHOP_OWN_MATERIAL_H
#define CW_WORKSHOP_OWN_MATERIAL_H

#include "workshop/material.h"
#include "workshop/spring.h"

enum { CW_OWN_NAME_MOST = 80 }; /* bytes */

/* SI. A figure's value is NaN where it is not given, its u NaN where nobody said how well it is known. */
typedef struct {
    const char *name;   /* as worksheets are told: "gauge plate from the drawer" */
    const char *kind;   /* a word: "steel", "wood"; "" */
    const char *source; /* where the figures come from; "" */
    cw_quantity yield_pa, tensile_pa, elastic_pa, shear_pa, poisson, expansion_per_k, friction, density_kg_m3;
} cw_own_material;

/* Its figures, said once for forms, options and JSON. */
typedef struct {
    const char *key;  /* "yield" */
    const char *name; /* in a sentence: "yield or proof stress" */
    const char *label,
        *u_label; /* of its field, and of its uncertainty's: "Yield or proof stress", "Yield: give or take" */
    cw_dimension dimension;
    const char *unit;   /* shown, and of a bare number; NULL: none */
    double least, most; /* SI */
    size_t offset;      /* of its cw_quantity in cw_own_material */
    const char *help;
} cw_own_figure;

const cw_own_figure *cw_own_figures(size_t *count);
cw_quantity *cw_own_figure_of(cw_own_material *material, const cw_own_figure *figure);
cw_quantity cw_own_figure_get(const cw_own_material *material, const cw_own_figure *figure);
/* No name, and no figure given. */
cw_own_material cw_own_material_none(void);

/* CW_INPUT for a name that is empty, too long, holds ; or | (they part values on the command line) or is taken by the
 * program's tables; CW_RANGE for a figure that cannot be, figures that contradict each other, and no figure at all. */
cw_status cw_own_material_check(const cw_own_material *material, cw_error *err) __attribute__((warn_unused_result));
/* The figures alone. */
cw_status cw_own_material_check_figures(const cw_own_material *material, cw_error *err)
    __attribute__((warn_unused_result));

/* What a calculation needs of a material. */
enum {
    CW_NEEDS_YIELD = 1,
    CW_NEEDS_MODULUS = 2,
    CW_NEEDS_SHEAR = 4,   /* cw_material_shear_modulus_pa */
    CW_NEEDS_POISSON = 8, /* of an isotropic material, 0 to 0.5 */
    CW_NEEDS_EXPANSION = 16,
    CW_NEEDS_TENSILE = 32 /* of a wire */
};

/* As a row of the table, its texts those of `own`. What is needed and can be worked out from other figures is (E = 2 G
 * (1 + nu), isotropic); an uncertainty that nobody stated is taken as 5 % (judgement). CW_INPUT: a figure that is
 * needed is missing; the sentence says which to add. */
cw_status cw_own_material_as(const cw_own_material *own, unsigned needs, cw_material *material, cw_error *err)
    __attribute__((warn_unused_result));

/* As a spring wire of one strength and modulus at every diameter; what is allowed of its strength is the least of the
 * table's wires. Needs: MODULUS, SHEAR, TENSILE. */
cw_status cw_own_material_wire(const cw_own_material *own, unsigned needs, cw_spring_wire *wire, cw_error *err)
    __attribute__((warn_unused_result));

#endif
