/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/material.h"

#include <inttypes.h>
#include <math.h>

#include "notebook/tables.h"

#define MATERIAL(field) offsetof(cw_material_entry, field)
#define FIGURE(column, said, field)                                                                                    \
    {column, said, MATERIAL(is.field.value), STORE_REAL, STORE_BOTH, NULL, 0},                                         \
    {                                                                                                                  \
        "u_" column, said ", its uncertainty", MATERIAL(is.field.u), STORE_REAL, STORE_BOTH, NULL, 0                   \
    }
static const store_column columns[] = {
    {"id", "number", MATERIAL(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", MATERIAL(revision), STORE_INT, 0, NULL, 0},
    {"name", "the name", MATERIAL(is.name), STORE_LINE, STORE_BOTH | STORE_REQUIRED, NULL, 0},
    {"name_key", "the name", MATERIAL(is.name), STORE_FOLDED, STORE_BOTH, NULL, 0},
    {"kind", "the kind", MATERIAL(is.kind), STORE_LINE, STORE_BOTH, NULL, 0},
    FIGURE("yield_pa", "the yield stress", yield_pa),
    FIGURE("tensile_pa", "the tensile strength", tensile_pa),
    FIGURE("elastic_pa", "the modulus", elastic_pa),
    FIGURE("shear_pa", "the shear modulus", shear_pa),
    FIGURE("poisson", "Poisson's ratio", poisson),
    FIGURE("expansion_per_k", "the expansion", expansion_per_k),
    FIGURE("friction", "the friction", friction),
    FIGURE("density_kg_m3", "the density", density_kg_m3),
    {"source", "where the figures come from", MATERIAL(is.source), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"notes", "the notes", MATERIAL(notes), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"changed_at", "instant", MATERIAL(changed_at), STORE_INSTANT, STORE_BOTH, NULL, 0},
};
const store_table material_table = {
    "material",   "material",         columns,       CW_COUNT(columns), sizeof(cw_material_entry),
    MATERIAL(id), MATERIAL(revision), MATERIAL(held)};

static cw_status check(cw_bench *bench, const cw_material_entry *entry, cw_error *err)
{
    int64_t same;
    char key[CW_LINE_MOST + 1];
    CW_TRY(cw_own_material_check(&entry->is, err));
    store_fold(entry->is.name, key);
    CW_TRY(store_number(bench, "SELECT id FROM material WHERE name_key = ?1 AND id <> ?2",
                        STORE_VALUES(store_text(key), store_int(entry->id)), &same, err));
    if (same > 0)
        return cw_fail(err, CW_CONFLICT,
                       "this bench has a material \"%s\" already (number %" PRId64
                       "); change that one, or add a word to the name",
                       entry->is.name, same);
    return CW_OK;
}

static cw_status add_material(cw_bench *bench, const cw_material_entry *entry, int64_t *id, cw_error *err)
{
    int64_t there;
    char now[32];
    cw_material_entry row = *entry;
    row.id = 0;
    store_now(now);
    row.changed_at = now;
    CW_TRY(check(bench, &row, err));
    CW_TRY(store_number(bench, "SELECT count(*) FROM material", STORE_NO_VALUES, &there, err));
    if (there >= CW_MATERIALS_MOST)
        return cw_fail(err, CW_RANGE, "this bench has %d materials of its own already, the most it can have",
                       CW_MATERIALS_MOST);
    return store_add(bench, &material_table, &row, id, err);
}

cw_status cw_material_add(cw_bench *bench, const cw_material_entry *entry, int64_t *id, cw_error *err)
{
    int64_t made = 0;
    CW_TRY(store_enter(bench, 0, err, "material \"%.80s\" noted", entry->is.name == NULL ? "" : entry->is.name));
    CW_TRY(store_leave(bench, 0, add_material(bench, entry, &made, err), err));
    *id = made;
    return CW_OK;
}

cw_status cw_material_get(cw_bench *bench, int64_t id, cw_material_entry *entry, cw_error *err)
{
    return store_get(bench, &material_table, id, entry, err);
}

static cw_status nothing_named(cw_bench *bench, const char *name, cw_error *err)
{
    cw_material_entry_list list;
    char there[400] = "";
    size_t used = 0;
    CW_TRY(cw_material_page(bench, &list, err));
    for (size_t i = 0; i < list.count && used < sizeof there; i++)
        used += (size_t)snprintf(there + used, sizeof there - used, "%s\"%s\"", used > 0 ? ", " : "",
                                 list.items[i].is.name);
    cw_material_entry_list_free(&list);
    return cw_fail(err, CW_NOT_FOUND, "this bench has no material \"%.80s\" of its own; it has %s", name,
                   there[0] != '\0' ? there : "none");
}

cw_status cw_material_get_named(cw_bench *bench, const char *name, cw_material_entry *entry, cw_error *err)
{
    int64_t id;
    char key[CW_LINE_MOST + 1];
    store_fold(name, key);
    CW_TRY(store_number(bench, "SELECT id FROM material WHERE name_key = ?1", STORE_VALUES(store_text(key)), &id, err));
    return id > 0 ? cw_material_get(bench, id, entry, err) : nothing_named(bench, name, err);
}

static cw_status update_material(cw_bench *bench, const cw_material_entry *entry, cw_error *err)
{
    char now[32];
    cw_material_entry row = *entry;
    store_now(now);
    row.changed_at = now;
    CW_TRY(check(bench, &row, err));
    return store_update(bench, &material_table, &row, err);
}

cw_status cw_material_update(cw_bench *bench, const cw_material_entry *entry, cw_error *err)
{
    CW_TRY(store_enter(bench, 0, err, "material \"%.80s\" changed", entry->is.name == NULL ? "" : entry->is.name));
    return store_leave(bench, 0, update_material(bench, entry, err), err);
}

cw_status cw_material_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    cw_material_entry entry;
    CW_TRY(cw_material_get(bench, id, &entry, err));
    cw_status status = store_enter(bench, 0, err, "material \"%.80s\" removed", entry.is.name);
    cw_material_entry_free(&entry);
    CW_TRY(status);
    return store_leave(bench, 0, store_delete(bench, &material_table, id, err), err);
}

void cw_material_entry_free(cw_material_entry *entry)
{
    if (entry == NULL)
        return;
    store_release(&entry->held);
    *entry = (cw_material_entry){0};
}

cw_status cw_material_page(cw_bench *bench, cw_material_entry_list *list, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_list(bench, &material_table, "ORDER BY name_key, id", STORE_NO_VALUES, &rows, err));
    *list = (cw_material_entry_list){rows.count, rows.items, rows.held};
    return CW_OK;
}

void cw_material_entry_list_free(cw_material_entry_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_material_entry_list){0};
}

cw_status cw_material_all(cw_bench *bench, cw_own_material_list *list, cw_error *err)
{
    cw_material_entry_list entries;
    CW_TRY(cw_material_page(bench, &entries, err));
    cw_own_material *items = store_keep_items(&entries.held, entries.count, sizeof *items);
    if (items == NULL) {
        cw_material_entry_list_free(&entries);
        return cw_fail(err, CW_MEMORY, "no memory for the materials of this bench");
    }
    for (size_t i = 0; i < entries.count; i++)
        items[i] = entries.items[i].is;
    *list = (cw_own_material_list){entries.count, items, entries.held};
    return CW_OK;
}

void cw_own_material_list_free(cw_own_material_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_own_material_list){0};
}

/* ---- JSON ---- */

static json_t *figure_json(const cw_own_figure *figure, cw_quantity q)
{
    if (isnan(q.value))
        return json_null();
    return json_pack("{s:f,s:o,s:s}", "value", q.value, "u", isnan(q.u) ? json_null() : json_real(q.u), "unit",
                     cw_unit_find(figure->dimension, NULL)->name);
}

static void add_figures(json_t *object, const cw_own_material *material)
{
    size_t count;
    const cw_own_figure *figures = cw_own_figures(&count);
    for (size_t i = 0; i < count; i++)
        json_object_set_new(object, figures[i].key, figure_json(&figures[i], cw_own_figure_get(material, &figures[i])));
}

json_t *cw_material_json(const cw_material_entry *entry)
{
    json_t *object =
        json_pack("{s:I,s:s,s:s,s:s,s:s,s:s}", "id", (json_int_t)entry->id, "name", entry->is.name, "kind",
                  entry->is.kind, "source", entry->is.source, "notes", entry->notes, "changed_at", entry->changed_at);
    add_figures(object, &entry->is);
    return object;
}

static json_t *program_json(const cw_material *m)
{
    json_t *object = json_pack("{s:s,s:s,s:s}", "key", m->key, "name", m->label, "source", m->source);
    cw_own_material figures = cw_own_material_none();
    figures.yield_pa = m->yield_pa;
    figures.elastic_pa = m->elastic_pa;
    figures.poisson.value = m->poisson;
    figures.expansion_per_k.value = m->expansion_per_k;
    figures.density_kg_m3.value = m->density_kg_m3;
    add_figures(object, &figures);
    return object;
}

json_t *cw_materials_json(const cw_material_entry_list *list)
{
    size_t count;
    const cw_material *table = cw_materials(&count);
    json_t *own = json_array(), *program = json_array();
    for (size_t i = 0; i < list->count; i++)
        json_array_append_new(own, cw_material_json(&list->items[i]));
    for (size_t i = 0; i < count; i++)
        json_array_append_new(program, program_json(&table[i]));
    return json_pack("{s:s,s:o,s:o}", "format", "camerawright.materials/1", "own", own, "program", program);
}
