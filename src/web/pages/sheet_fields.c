/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A worksheet's form, from its table of inputs. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "notebook/material.h"
#include "web/page.h"
#include "web/pages/sheet_run.h"

/* What the fields of one form are written with. */
typedef struct {
    cw_html *h;
    const cw_worksheet *sheet;
    const cw_form *form;      /* what stands in them */
    const char *prefix;       /* of their names: "" or CW_OTHER_DESIGN */
    cw_own_material_list own; /* offered beside the program's */
} writing;

enum { SPARE_ROWS = 3, ROWS_AT_FIRST = 4 };

static const char *value_of(const cw_form *form, const char *name, const char *otherwise)
{
    const char *value = cw_form_get(form, name);
    return value != NULL ? value : otherwise;
}

static const char *unit_shown(const cw_field *field)
{
    return field->kind == CW_KIND_NUMBER ? field->unit : NULL;
}

static void write_option(cw_html *h, const char *value, const char *label, bool selected)
{
    html_markup(h, "<option");
    html_attr(h, "value", value);
    html_flag(h, "selected", selected);
    html_markup(h, ">");
    html_text(h, label);
    html_markup(h, "</option>");
}

/* The person's own materials, where the field takes them. */
static bool write_own_list(const writing *w, const cw_field *field, const char *now)
{
    cw_own_use use = cw_field_takes(field);
    bool found = false, any = false;
    for (size_t i = 0; i < w->own.count; i++) {
        const cw_own_material *material = &w->own.items[i];
        if (!cw_own_serves(use, material))
            continue;
        if (!any)
            html_markup(w->h, "<optgroup label='Your own'>");
        any = true;
        bool selected = strcasecmp(material->name, now) == 0;
        write_option(w->h, material->name, material->name, selected);
        found = found || selected;
    }
    if (any)
        html_markup(w->h, "</optgroup>");
    return found;
}

static void write_choice_list(const writing *w, const cw_field *field, const char *now, bool may_be_empty)
{
    bool known = now[0] == '\0';
    if (may_be_empty)
        html_markup(w->h, "<option value=''>not given</option>");
    for (const cw_choice *choice = field->choices; choice->key != NULL; choice++) {
        bool selected = strcmp(choice->key, now) == 0;
        write_option(w->h, choice->key, choice->label, selected);
        known = known || selected;
    }
    known = write_own_list(w, field, now) || known;
    if (!known && cw_field_takes(field) != CW_TAKES_NONE) /* removed since: it stays to be seen, and is refused */
        write_option(w->h, now, now, true);
}

static void write_label(const writing *w, const cw_field *field)
{
    cw_html *h = w->h;
    html_markup(h, "<label");
    html_attrf(h, "for", "in-%s%s", w->prefix, field->key);
    html_markup(h, ">");
    html_text(h, field->label);
    if (unit_shown(field) != NULL && unit_shown(field)[0] != '\0') {
        html_markup(h, " <span class='unit'>");
        html_text(h, unit_shown(field));
        html_markup(h, "</span>");
    }
    if (!field->required && field->fallback == NULL)
        html_markup(h, " <span class='unit'>if known</span>");
    html_markup(h, "</label>");
}

static void write_choice_field(const writing *w, const cw_field *field, const char *now)
{
    cw_html *h = w->h;
    html_markup(h, "<select");
    html_attrf(h, "id", "in-%s%s", w->prefix, field->key);
    html_attrf(h, "name", "%s%s", w->prefix, field->key);
    html_attrf(h, "aria-describedby", "help-%s%s", w->prefix, field->key);
    html_markup(h, ">");
    write_choice_list(w, field, now, !field->required && field->fallback == NULL);
    html_markup(h, "</select>");
}

/* Numbers are typed as text: "1/250", "0.92 in" and a decimal comma are welcome. */
static void write_text_field(const writing *w, const cw_field *field, const char *now)
{
    cw_html *h = w->h;
    html_markup(h, "<input type='text' autocomplete='off'");
    html_attrf(h, "id", "in-%s%s", w->prefix, field->key);
    html_attrf(h, "name", "%s%s", w->prefix, field->key);
    html_attr(h, "value", now);
    html_attr(h, "placeholder", cw_sheet_example(w->sheet, field->key));
    html_attrf(h, "aria-describedby", "help-%s%s", w->prefix, field->key);
    html_flag(h, "required", field->required && field->fallback == NULL);
    html_markup(h, ">");
}

static void write_help(const writing *w, const cw_field *field)
{
    cw_html *h = w->h;
    html_markup(h, "<span class='help'");
    html_attrf(h, "id", "help-%s%s", w->prefix, field->key);
    html_markup(h, ">");
    html_text(h, field->help);
    html_markup(h, "</span>");
}

static void write_one(const writing *w, const cw_field *field)
{
    const char *now = value_of(w->form, field->key, field->fallback != NULL ? field->fallback : "");
    html_markup(w->h, "<div class='field'>");
    write_label(w, field);
    if (field->kind == CW_KIND_CHOICE)
        write_choice_field(w, field, now);
    else
        write_text_field(w, field, now);
    write_help(w, field);
    html_markup(w->h, "</div>\n");
}

/* ---- rows ---- */

static size_t rows_typed(const cw_field *field, const cw_form *form)
{
    size_t most = 0, length = strlen(field->key);
    for (size_t i = 0; i < form->count; i++) {
        const char *name = form->entries[i].name;
        if (strncmp(name, field->key, length) != 0 || name[length] != '.' || form->entries[i].value[0] == '\0')
            continue;
        unsigned long row = strtoul(name + length + 1, NULL, 10);
        if (row < field->rows_most && row + 1 > most)
            most = row + 1;
    }
    return most;
}

static void write_cell(const writing *w, const cw_field *field, const cw_field *column, size_t row)
{
    cw_html *h = w->h;
    char name[CW_FORM_NAME_MOST + 1], label[256];
    snprintf(name, sizeof name, "%s.%zu.%s", field->key, row, column->key);
    snprintf(label, sizeof label, "%s, row %zu", column->label, row + 1);
    const char *now = value_of(w->form, name, "");
    html_markup(h, "<td");
    html_attr(h, "data-label", column->label);
    html_markup(h, ">");
    if (column->kind == CW_KIND_CHOICE) {
        html_markup(h, "<select");
        html_attrf(h, "name", "%s%s", w->prefix, name);
        html_attr(h, "aria-label", label);
        html_markup(h, ">");
        write_choice_list(w, column, now, true);
        html_markup(h, "</select>");
    } else {
        html_markup(h, "<input type='text' autocomplete='off'");
        html_attrf(h, "name", "%s%s", w->prefix, name);
        html_attr(h, "aria-label", label);
        html_attr(h, "value", now);
        html_markup(h, ">");
    }
    html_markup(h, "</td>");
}

static void write_column_heads(cw_html *h, const cw_field *field)
{
    html_markup(h, "<thead><tr>");
    for (size_t c = 0; c < field->column_count; c++) {
        html_markup(h, "<th scope='col'>");
        html_text(h, field->columns[c].label);
        if (unit_shown(&field->columns[c]) != NULL) {
            html_markup(h, " <span class='unit'>");
            html_text(h, unit_shown(&field->columns[c]));
            html_markup(h, "</span>");
        }
        html_markup(h, "</th>");
    }
    html_markup(h, "</tr></thead>");
}

/* A table of inputs. What came in one piece ("a,b;c,d", as on the command line) is shown in one line as it came. */
static void write_rows(const writing *w, const cw_field *field)
{
    cw_html *h = w->h;
    const char *whole = cw_form_get(w->form, field->key);
    html_markup(h, "<fieldset class='field rows'><legend>");
    html_text(h, field->label);
    html_markup(h, "</legend>");
    write_help(w, field);
    if (whole != NULL) {
        html_markup(h, "<input type='text' autocomplete='off'");
        html_attrf(h, "name", "%s%s", w->prefix, field->key);
        html_attr(h, "aria-label", field->label);
        html_attr(h, "value", whole);
        html_markup(h, "></fieldset>\n");
        return;
    }
    size_t typed = rows_typed(field, w->form), shown = typed == 0 ? ROWS_AT_FIRST : typed + SPARE_ROWS;
    if (shown > field->rows_most)
        shown = field->rows_most;
    html_markup(h, "<table class='entry'>");
    write_column_heads(h, field);
    html_markup(h, "<tbody>");
    for (size_t row = 0; row < shown; row++) {
        html_markup(h, "<tr>");
        for (size_t c = 0; c < field->column_count; c++)
            write_cell(w, field, &field->columns[c], row);
        html_markup(h, "</tr>\n");
    }
    html_markup(h, "</tbody></table>");
    html_textf(h, "Empty rows are left out; more appear when these are full, up to %zu.", field->rows_most);
    html_markup(h, "</fieldset>\n");
}

cw_status cw_sheet_write_fields(cw_request *request, cw_html *h, const cw_worksheet *sheet, const cw_form *form,
                                const char *prefix, cw_error *err)
{
    writing w = {h, sheet, form, prefix, {0}};
    if (cw_sheet_takes_materials(sheet))
        CW_TRY(cw_material_all(request->bench, &w.own, err));
    for (size_t i = 0; i < sheet->input_count; i++) {
        if (sheet->inputs[i].kind == CW_KIND_ROWS)
            write_rows(&w, &sheet->inputs[i]);
        else
            write_one(&w, &sheet->inputs[i]);
    }
    cw_own_material_list_free(&w.own);
    return CW_OK;
}
