/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The materials a worksheet's inputs choose: the person's own beside the program's, and where their figures come from.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "worksheets/fields.h"
#include "worksheets/inside.h"

enum { OWN_MOST = 64, USED_MOST = 64 };

cw_own_use cw_field_takes(const cw_field *field)
{
    if (field->choices == cw_material_choices)
        return CW_TAKES_MATERIAL;
    if (field->choices == cw_friction_choices)
        return CW_TAKES_FRICTION;
    return field->choices == cw_spring_wire_choices ? CW_TAKES_WIRE : CW_TAKES_NONE;
}

bool cw_own_serves(cw_own_use use, const cw_own_material *material)
{
    return use == CW_TAKES_FRICTION ? !isnan(material->friction.value) : use != CW_TAKES_NONE;
}

bool cw_sheet_takes_materials(const cw_worksheet *sheet)
{
    for (size_t i = 0; i < sheet->input_count; i++) {
        const cw_field *field = &sheet->inputs[i];
        bool takes = cw_field_takes(field) != CW_TAKES_NONE;
        for (size_t c = 0; c < field->column_count; c++)
            takes = takes || cw_field_takes(&field->columns[c]) != CW_TAKES_NONE;
        if (takes)
            return true;
    }
    return false;
}

/* ---- the person's own ---- */

const cw_own_material *cw_sheet_own_named(const cw_sheet_in *in, const char *name)
{
    for (size_t i = 0; i < in->own_count; i++)
        if (strcmp(in->own[i].name, name) == 0)
            return &in->own[i].is;
    return NULL;
}

void cw_sheet_own_free(cw_sheet_in *in)
{
    for (size_t i = 0; i < in->own_count; i++) {
        free(in->own[i].name);
        free(in->own[i].kind);
        free(in->own[i].source);
    }
    free(in->own);
}

static cw_status copy_own(cw_sheet_in *in, const cw_own_material *material, cw_error *err)
{
    if (cw_sheet_own_named(in, material->name) != NULL)
        return CW_OK;
    CW_TRY(cw_grow(&in->own, &in->own_capacity, in->own_count + 1, sizeof *in->own, OWN_MOST, "materials", err));
    cw_sheet_own copy = {*material, strdup(material->name), strdup(material->kind), strdup(material->source)};
    copy.is.name = copy.name;
    copy.is.kind = copy.kind;
    copy.is.source = copy.source;
    in->own[in->own_count++] = copy;
    return copy.name != NULL && copy.kind != NULL && copy.source != NULL
               ? CW_OK
               : cw_fail(err, CW_MEMORY, "no memory for a material");
}

/* As typed, else with other capitals. */
static const cw_own_material *offered_named(const cw_sheet_in *in, const char *name)
{
    size_t count = in->offered != NULL ? in->offered->count : 0;
    for (size_t i = 0; i < count; i++)
        if (strcmp(in->offered->items[i].name, name) == 0)
            return &in->offered->items[i];
    for (size_t i = 0; i < count; i++)
        if (strcasecmp(in->offered->items[i].name, name) == 0)
            return &in->offered->items[i];
    return NULL;
}

cw_status cw_sheet_take_own(cw_sheet_in *in, const cw_field *field, const char *name, const char **kept, cw_error *err)
{
    cw_own_use use = cw_field_takes(field);
    const cw_own_material *found = use != CW_TAKES_NONE ? offered_named(in, name) : NULL;
    *kept = NULL;
    if (found == NULL)
        return CW_OK;
    if (!cw_own_serves(use, found))
        return cw_fail(err, CW_INPUT,
                       "your material \"%s\" has no friction, and this calculation needs it; add it on the page "
                       "Materials or with camerawright material change \"%s\" --friction 0.4",
                       found->name, found->name);
    CW_TRY(copy_own(in, found, err));
    *kept = cw_sheet_own_named(in, found->name)->name;
    return CW_OK;
}

cw_status cw_sheet_refuse_material(const cw_sheet_in *in, const cw_field *field, const char *name, cw_error *err)
{
    char keys[500] = "", own[300] = "";
    size_t used = 0;
    for (const cw_choice *choice = field->choices; choice->key != NULL && used < sizeof keys; choice++)
        used += (size_t)snprintf(keys + used, sizeof keys - used, "%s%s", used > 0 ? ", " : "", choice->key);
    used = 0;
    for (size_t i = 0; in->offered != NULL && i < in->offered->count && used < sizeof own; i++)
        used += (size_t)snprintf(own + used, sizeof own - used, "%s\"%s\"", used > 0 ? ", " : "",
                                 in->offered->items[i].name);
    return cw_fail(err, CW_INPUT, "\"%.80s\" is not one of: %s; nor of your own materials (%s)", name, keys,
                   own[0] != '\0' ? own : "none is entered: camerawright material add, or the page Materials");
}

/* ---- what was chosen, each once ---- */

typedef struct {
    cw_own_use use;
    const char *key;
    const cw_own_material *own;
} chosen;

static void note_choice(const cw_sheet_in *in, const cw_field *field, const cw_sheet_cell *cell, chosen *list,
                        size_t *count)
{
    cw_own_use use = cw_field_takes(field);
    if (use == CW_TAKES_NONE || !cell->given || strcmp(cell->text, "own") == 0)
        return;
    const cw_own_material *own = cw_sheet_own_named(in, cell->text);
    for (size_t i = 0; i < *count; i++)
        if (strcmp(list[i].key, cell->text) == 0 && (own != NULL || list[i].use == use))
            return;
    if (*count < USED_MOST)
        list[(*count)++] = (chosen){use, cell->text, own};
}

static size_t all_chosen(const cw_sheet_in *in, chosen list[USED_MOST])
{
    size_t count = 0;
    for (size_t i = 0; i < in->sheet->input_count; i++) {
        const cw_field *field = &in->sheet->inputs[i];
        const cw_sheet_field *values = &in->fields[i];
        note_choice(in, field, &values->cell, list, &count);
        for (size_t k = 0; k < values->row_count * field->column_count; k++)
            note_choice(in, &field->columns[k % field->column_count], &values->cells[k], list, &count);
    }
    return count;
}

/* The program's, with what figures its table has in the form of the person's own. */
static bool of_the_program(const chosen *one, cw_own_material *m)
{
    *m = cw_own_material_none();
    const cw_material *material = one->use == CW_TAKES_MATERIAL ? cw_material_find(one->key) : NULL;
    const cw_friction *friction = one->use == CW_TAKES_FRICTION ? cw_friction_find(one->key) : NULL;
    const cw_spring_wire *wire = one->use == CW_TAKES_WIRE ? cw_spring_wire_find(one->key) : NULL;
    if (material != NULL) {
        m->name = material->label;
        m->source = material->source;
        m->yield_pa = material->yield_pa;
        m->elastic_pa = material->elastic_pa;
        m->poisson.value = material->poisson;
        m->expansion_per_k.value = material->expansion_per_k;
        m->density_kg_m3.value = material->density_kg_m3;
    } else if (friction != NULL) {
        m->name = friction->label;
        m->source = friction->source;
        m->friction = friction->mu;
    } else if (wire != NULL) { /* its strength goes by its diameter */
        m->name = wire->label;
        m->source = wire->source;
    }
    return material != NULL || friction != NULL || wire != NULL;
}

static void add_figures(const cw_own_material *m, cw_buf *words)
{
    size_t count;
    const cw_own_figure *figures = cw_own_figures(&count);
    const char *between = ": ";
    for (size_t i = 0; i < count; i++) {
        cw_quantity q = cw_own_figure_get(m, &figures[i]);
        char text[CW_QUANTITY_TEXT];
        if (isnan(q.value))
            continue;
        cw_quantity_text(q, cw_unit_find(figures[i].dimension, figures[i].unit), 3, text, sizeof text);
        cw_buf_printf(words, "%s%s %s", between, figures[i].name, text);
        between = ", ";
    }
}

bool cw_sheet_in_material(const cw_sheet_in *in, size_t index, char *words, size_t size, bool *own)
{
    chosen list[USED_MOST];
    cw_own_material m;
    if (index >= all_chosen(in, list))
        return false;
    if (list[index].own != NULL)
        m = *list[index].own;
    else if (!of_the_program(&list[index], &m))
        m.name = list[index].key;
    *own = list[index].own != NULL;
    cw_buf buf = cw_buf_new(size - 1);
    cw_buf_text(&buf, m.name);
    add_figures(&m, &buf);
    cw_buf_printf(&buf, "; from: %s", m.source[0] != '\0' ? m.source : "no source noted");
    snprintf(words, size, "%s", cw_buf_string(&buf)); /* a source of many words ends where the room ends */
    cw_buf_free(&buf);
    return true;
}

/* ---- JSON ---- */

static json_t *material_json(const cw_own_material *m, const char *key, bool own)
{
    size_t count;
    const cw_own_figure *figures = cw_own_figures(&count);
    json_t *object = json_pack("{s:s,s:s,s:b,s:s,s:s}", "name", m->name, "key", key, "own", (int)own, "kind", m->kind,
                               "source", m->source);
    for (size_t i = 0; i < count; i++) {
        cw_quantity q = cw_own_figure_get(m, &figures[i]);
        if (!isnan(q.value))
            json_object_set_new(object, figures[i].key,
                                json_pack("{s:f,s:o,s:s}", "value", q.value, "u",
                                          isfinite(q.u) ? json_real(q.u) : json_null(), "unit",
                                          cw_unit_find(figures[i].dimension, NULL)->name));
    }
    return object;
}

json_t *cw_sheet_materials_json(const cw_sheet_in *in)
{
    chosen list[USED_MOST];
    size_t count = all_chosen(in, list);
    json_t *materials = count > 0 ? json_array() : NULL;
    for (size_t i = 0; i < count; i++) {
        cw_own_material m;
        if (list[i].own != NULL)
            m = *list[i].own;
        else if (!of_the_program(&list[i], &m))
            continue;
        json_array_append_new(materials, material_json(&m, list[i].key, list[i].own != NULL));
    }
    return materials;
}

static const char *text_at(const json_t *object, const char *key)
{
    const char *text = json_string_value(json_object_get(object, key));
    return text != NULL ? text : "";
}

cw_status cw_sheet_kept_materials(const json_t *result, cw_own_material **items, size_t *count, cw_error *err)
{
    const json_t *list = json_object_get(result, "materials"), *one;
    size_t index, figure_count, used = 0;
    const cw_own_figure *figures = cw_own_figures(&figure_count);
    cw_own_material *made = calloc(json_array_size(list) + 1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the kept materials");
    json_array_foreach(list, index, one)
    {
        if (!json_is_true(json_object_get(one, "own")) || text_at(one, "name")[0] == '\0')
            continue;
        cw_own_material m = cw_own_material_none();
        m.name = text_at(one, "name");
        m.kind = text_at(one, "kind");
        m.source = text_at(one, "source");
        for (size_t i = 0; i < figure_count; i++) {
            const json_t *figure = json_object_get(one, figures[i].key), *u = json_object_get(figure, "u");
            if (json_is_number(json_object_get(figure, "value")))
                *cw_own_figure_of(&m, &figures[i]) = (cw_quantity){json_number_value(json_object_get(figure, "value")),
                                                                   json_is_number(u) ? json_number_value(u) : NAN};
        }
        made[used++] = m;
        cw_status status = cw_own_material_check_figures(&m, err);
        if (status != CW_OK) {
            cw_context(err, "the kept material \"%.80s\"", m.name);
            free(made);
            return status;
        }
    }
    *items = made;
    *count = used;
    return CW_OK;
}
