/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The person's own materials, beside the program's table (workshop/material.h). A result that is kept holds a copy of
 * what it calculated with, so an entry may be changed or removed at any time. Manners: bench.h. */
#ifndef CW_NOTEBOOK_MATERIAL_H
#define CW_NOTEBOOK_MATERIAL_H

#include <jansson.h>

#include "notebook/bench.h"
#include "workshop/own_material.h"

typedef struct {
    int64_t id, revision;
    cw_own_material is; /* name required, and one on the bench whatever its capitals; a figure required */
    const char *notes;
    const char *changed_at; /* instant */
    void *held;
} cw_material_entry;

typedef struct {
    size_t count;
    cw_material_entry *items; /* by name */
    void *held;
} cw_material_entry_list;

enum { CW_MATERIALS_MOST = 200 }; /* of a bench */

/* CW_INPUT, CW_RANGE as cw_own_material_check says; CW_CONFLICT: the bench has a material of that name. */
cw_status cw_material_add(cw_bench *bench, const cw_material_entry *entry, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_material_get(cw_bench *bench, int64_t id, cw_material_entry *entry, cw_error *err)
    __attribute__((warn_unused_result));
/* By name, whatever its capitals. CW_NOT_FOUND names those there are. */
cw_status cw_material_get_named(cw_bench *bench, const char *name, cw_material_entry *entry, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_material_update(cw_bench *bench, const cw_material_entry *entry, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_material_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
void cw_material_entry_free(cw_material_entry *entry);
cw_status cw_material_page(cw_bench *bench, cw_material_entry_list *list, cw_error *err)
    __attribute__((warn_unused_result)); /* all */
void cw_material_entry_list_free(cw_material_entry_list *list);

/* The same for whoever calculates with them: the materials alone, one behind the other. */
typedef struct {
    size_t count;
    const cw_own_material *items;
    void *held;
} cw_own_material_list;
cw_status cw_material_all(cw_bench *bench, cw_own_material_list *list, cw_error *err)
    __attribute__((warn_unused_result));
void cw_own_material_list_free(cw_own_material_list *list);

/* {"format":"camerawright.materials/1","own":[{"id":..,"name":..,"kind":..,"yield":{"value":..,"u":..,"unit":"Pa"}..,
 * "source":..,"notes":..,"changed_at":..}],"program":[{"key":..,"name":..,..}]}: the person's and the program's, SI; a
 * figure that is not known is null. NULL without memory. */
json_t *cw_materials_json(const cw_material_entry_list *list);
/* One of its "own". */
json_t *cw_material_json(const cw_material_entry *entry);

#endif
