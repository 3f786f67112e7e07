/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Materials: the person's own, entered and changed here, beside the program's; every worksheet offers both. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "notebook/material.h"
#include "web/page.h"
#include "web/pages/pages.h"

enum { FEW = 4 }; /* figures asked for at once: yield, tensile, modulus, shear; the others unfold */

/* ---- the lists ---- */

static void write_figures(cw_html *h, const cw_own_material *material)
{
    size_t count;
    const cw_own_figure *figures = cw_own_figures(&count);
    html_markup(h, "<dl class='facts'>");
    for (size_t i = 0; i < count; i++) {
        cw_quantity q = cw_own_figure_get(material, &figures[i]);
        if (isnan(q.value))
            continue;
        html_markup(h, "<div><dt>");
        html_text(h, figures[i].label);
        html_markup(h, "</dt><dd>");
        html_quantity(h, q, cw_unit_find(figures[i].dimension, figures[i].unit), 3);
        html_markup(h, "</dd></div>");
    }
    html_markup(h, "<div><dt>from</dt><dd>");
    if (material->source[0] != '\0')
        html_text(h, material->source);
    else
        html_markup(h, "<span class='soft'>no source noted</span>");
    html_markup(h, "</dd></div></dl>");
}

static void write_own(cw_request *request, cw_html *h, const cw_material_entry *entry)
{
    html_markup(h, "<section class='panel'><h3>");
    html_text(h, entry->is.name);
    if (entry->is.kind[0] != '\0') {
        html_markup(h, " <span class='unit'>");
        html_text(h, entry->is.kind);
        html_markup(h, "</span>");
    }
    html_markup(h, "</h3>");
    write_figures(h, &entry->is);
    if (entry->notes[0] != '\0') {
        html_markup(h, "<p class='words'>");
        html_text(h, entry->notes);
        html_markup(h, "</p>");
    }
    html_markup(h, "<div class='actions tight'>");
    char label[CW_OWN_NAME_MOST + 16];
    snprintf(label, sizeof label, "Change %s", entry->is.name);
    cw_link(h, "button", label, "/materials/%" PRId64, entry->id);
    snprintf(label, sizeof label, "Remove %s", entry->is.name);
    cw_button_form(request, h, true, label, "/materials/%" PRId64 "/delete", entry->id);
    html_markup(h, "</div></section>\n");
}

static void write_program(cw_html *h)
{
    size_t count;
    const cw_material *table = cw_materials(&count);
    html_markup(h, "<section class='panel'><h2>The program's</h2>");
    for (size_t i = 0; i < count; i++) {
        cw_own_material m = cw_own_material_none();
        m.yield_pa = table[i].yield_pa;
        m.elastic_pa = table[i].elastic_pa;
        m.poisson.value = table[i].poisson;
        m.expansion_per_k.value = table[i].expansion_per_k;
        m.density_kg_m3.value = table[i].density_kg_m3;
        m.source = table[i].source;
        html_markup(h, "<details><summary>");
        html_text(h, table[i].label);
        html_markup(h, "</summary>");
        write_figures(h, &m);
        html_markup(h, "</details>\n");
    }
    html_markup(h, "<p>");
    cw_link(h, "", "Friction and spring wire", "/worksheets/materials?table=all");
    html_markup(h, "</p></section>\n");
}

/* What belongs to no job is taken back here: materials, the rack, levels, lists. */
static cw_status write_undo(cw_request *request, cw_html *h, cw_error *err)
{
    char undo[CW_LINE_MOST + 1], redo[CW_LINE_MOST + 1], label[CW_LINE_MOST + 32];
    CW_TRY(cw_undo_next(request->bench, CW_BENCH_OWN, undo, redo, err));
    if (undo[0] == '\0' && redo[0] == '\0')
        return CW_OK;
    html_markup(h, "<div class='actions'>");
    if (undo[0] != '\0') {
        snprintf(label, sizeof label, "Undo: %s", undo);
        cw_button_form(request, h, true, label, "/materials/undo");
    }
    if (redo[0] != '\0') {
        snprintf(label, sizeof label, "Do again: %s", redo);
        cw_button_form(request, h, true, label, "/materials/redo");
    }
    html_markup(h, "</div>\n");
    return CW_OK;
}

/* ---- the form ---- */

/* As exact as it was typed; "" where there is none. */
static void figure_text(const cw_own_figure *figure, double si, bool step, char *text, size_t size)
{
    const cw_unit *unit = cw_unit_find(figure->dimension, figure->unit);
    snprintf(text, size, "%s", "");
    if (!isnan(si))
        snprintf(text, size, "%.9g", step ? si / unit->factor : cw_to_unit(si, unit));
}

static void write_figure(cw_request *request, cw_html *h, const cw_own_figure *figure, cw_quantity now)
{
    char name[40], value[40], u[40];
    html_markup(h, "<div class='with-u'>");
    figure_text(figure, now.value, false, value, sizeof value);
    figure_text(figure, now.u, true, u, sizeof u);
    cw_field_input(request, h,
                   &(cw_input){.name = figure->key,
                               .label = figure->label,
                               .unit = figure->unit,
                               .value = value,
                               .mode = "decimal",
                               .help = figure->help});
    snprintf(name, sizeof name, "%s-u", figure->key);
    cw_field_input(request, h, &(cw_input){.name = name, .label = figure->u_label, .value = u, .mode = "decimal"});
    html_markup(h, "</div>");
}

static bool any_given(const cw_request *request, const cw_own_figure *figures, size_t count,
                      const cw_own_material *material)
{
    bool any = false;
    for (size_t i = 0; i < count; i++)
        any = any || !isnan(cw_own_figure_get(material, &figures[i]).value) ||
              cw_value(request, figures[i].key, "")[0] != '\0';
    return any;
}

static void write_fields(cw_request *request, cw_html *h, const cw_material_entry *entry)
{
    size_t count;
    const cw_own_figure *figures = cw_own_figures(&count);
    cw_field_input(request, h,
                   &(cw_input){.name = "name",
                               .label = "Name",
                               .required = true,
                               .value = entry->is.name,
                               .example = "gauge plate from the drawer",
                               .help = "worksheets offer it under this name"});
    cw_field_input(
        request, h,
        &(cw_input){.name = "kind", .label = "Kind", .value = entry->is.kind, .narrow = true, .example = "steel"});
    html_markup(h, "<p class='help'>What is not known is left empty; a worksheet that needs it says so. A unit may be "
                   "typed behind a number: 36 ksi, 2.7 g/cm3. Give or take: the standard uncertainty, in the same "
                   "unit; left empty, a usual one is taken, 5 % of most figures.</p>");
    for (size_t i = 0; i < FEW; i++)
        write_figure(request, h, &figures[i], cw_own_figure_get(&entry->is, &figures[i]));
    html_markup(h, "<details");
    html_flag(h, "open", any_given(request, figures + FEW, count - FEW, &entry->is));
    html_markup(h, "><summary>Poisson's ratio, expansion, friction, density</summary>");
    for (size_t i = FEW; i < count; i++)
        write_figure(request, h, &figures[i], cw_own_figure_get(&entry->is, &figures[i]));
    html_markup(h, "</details>");
    cw_field_input(request, h,
                   &(cw_input){.name = "source",
                               .label = "Where the figures come from",
                               .value = entry->is.source,
                               .rows = 2,
                               .example = "data sheet of the supplier; bent a strip on the bench"});
    cw_field_input(request, h, &(cw_input){.name = "notes", .label = "Notes", .value = entry->notes, .rows = 2});
}

cw_status page_materials(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_material_entry_list list;
    const cw_material_entry empty = {.is = cw_own_material_none(), .notes = ""};
    CW_TRY(cw_material_page(request->bench, &list, err));
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_SHEETS, "Materials");
    html_markup(h, "<p class='trail'><a href='/worksheets'>Worksheets</a></p><h1>Materials</h1>\n<p class='lead'>Your "
                   "own bars, plates and wires, with what is known of them. Every worksheet offers them beside the "
                   "program's, and a result that is kept goes on with what it had of them.</p>\n");
    cw_status status = write_undo(request, h, err);
    html_markup(h, "<h2>Your own</h2>\n");
    if (list.count == 0)
        html_markup(h, "<p class='soft'>None yet.</p>\n");
    html_markup(h, "<div class='grid'>");
    for (size_t i = 0; i < list.count; i++)
        write_own(request, h, &list.items[i]);
    html_markup(h, "</div>\n<section class='ask' id='new'><h2>Note one</h2>");
    cw_form_begin(request, h, false, "/materials");
    write_fields(request, h, &empty);
    cw_submit(h, "Keep this material");
    cw_form_end(h);
    html_markup(h, "</section>\n");
    write_program(h);
    cw_page_end(reply);
    cw_material_entry_list_free(&list);
    return status;
}

cw_status twin_materials(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_material_entry_list list;
    CW_TRY(cw_material_page(request->bench, &list, err));
    reply->json = cw_materials_json(&list);
    cw_material_entry_list_free(&list);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the materials");
}

cw_status page_material(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_material_entry entry;
    char revision[32];
    CW_TRY(cw_material_get(request->bench, request->match.ids[0], &entry, err));
    snprintf(revision, sizeof revision, "%" PRId64, entry.revision);
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_SHEETS, entry.is.name);
    html_markup(h, "<p class='trail'><a href='/materials'>Materials</a></p><h1>");
    html_text(h, entry.is.name);
    html_markup(h, "</h1>\n<section class='ask'>");
    cw_form_begin(request, h, false, "/materials/%" PRId64 "/edit", entry.id);
    cw_field_hidden(h, "revision", revision);
    write_fields(request, h, &entry);
    cw_submit(h, "Keep the change");
    cw_form_end(h);
    html_markup(h, "</section>\n");
    cw_page_end(reply);
    cw_material_entry_free(&entry);
    return CW_OK;
}

cw_status twin_material(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_material_entry entry;
    CW_TRY(cw_material_get(request->bench, request->match.ids[0], &entry, err));
    reply->json = cw_material_json(&entry);
    cw_material_entry_free(&entry);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the material");
}

/* ---- actions ---- */

static cw_status read_measure(const cw_request *request, const char *name, const cw_own_figure *figure, double *value,
                              cw_error *err)
{
    const char *typed = cw_posted(request, name);
    *value = NAN;
    if (typed[strspn(typed, " ")] == '\0')
        return CW_OK;
    cw_status status = cw_parse_measure(typed, figure->dimension, figure->unit, value, err);
    if (status != CW_OK)
        cw_context(err, "%s", figure->name);
    return status;
}

static cw_status read_entry(const cw_request *request, cw_material_entry *entry, cw_error *err)
{
    size_t count;
    char name[40];
    const cw_own_figure *figures = cw_own_figures(&count);
    *entry = (cw_material_entry){.is = cw_own_material_none(), .notes = cw_posted(request, "notes")};
    entry->is.name = cw_posted(request, "name");
    entry->is.kind = cw_posted(request, "kind");
    entry->is.source = cw_posted(request, "source");
    for (size_t i = 0; i < count; i++) {
        cw_quantity *q = cw_own_figure_of(&entry->is, &figures[i]);
        snprintf(name, sizeof name, "%s-u", figures[i].key);
        CW_TRY(read_measure(request, figures[i].key, &figures[i], &q->value, err));
        CW_TRY(read_measure(request, name, &figures[i], &q->u, err));
    }
    return CW_OK;
}

cw_status post_material(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_material_entry entry;
    int64_t id;
    CW_TRY(read_entry(request, &entry, err));
    CW_TRY(cw_material_add(request->bench, &entry, &id, err));
    cw_go(request, reply, "Kept. Every worksheet that takes a material offers it.", "/materials");
    return CW_OK;
}

cw_status post_material_edit(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_material_entry entry;
    CW_TRY(read_entry(request, &entry, err));
    entry.id = request->match.ids[0];
    entry.revision = cw_row_id(request, "revision");
    CW_TRY(cw_material_update(request->bench, &entry, err));
    cw_go(request, reply, "Kept. Results that are kept already stay as they are.", "/materials");
    return CW_OK;
}

cw_status post_material_delete(cw_request *request, cw_reply *reply, cw_error *err)
{
    CW_TRY(cw_material_delete(request->bench, request->match.ids[0], err));
    cw_go(request, reply, "Removed. Results that are kept go on with what they had of it; \"Undo\" brings it back.",
          "/materials");
    return CW_OK;
}

cw_status post_material_undo(cw_request *request, cw_reply *reply, cw_error *err)
{
    CW_TRY(cw_undo(request->bench, CW_BENCH_OWN, NULL, err));
    cw_go(request, reply, "Undone.", "/materials");
    return CW_OK;
}

cw_status post_material_redo(cw_request *request, cw_reply *reply, cw_error *err)
{
    CW_TRY(cw_redo(request->bench, CW_BENCH_OWN, NULL, err));
    cw_go(request, reply, "Done again.", "/materials");
    return CW_OK;
}
