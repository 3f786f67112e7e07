/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A worksheet's form, from its table of inputs. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "web/page.h"
#include "web/pages/sheet_run.h"

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

static void write_choice_list(cw_html *h, const cw_choice *choices, const char *now, bool may_be_empty)
{
    if (may_be_empty)
        html_markup(h, "<option value=''>not given</option>");
    for (const cw_choice *choice = choices; choice->key != NULL; choice++) {
        html_markup(h, "<option");
        html_attr(h, "value", choice->key);
        html_flag(h, "selected", strcmp(choice->key, now) == 0);
        html_markup(h, ">");
        html_text(h, choice->label);
        html_markup(h, "</option>");
    }
}

static void write_label(cw_html *h, const cw_field *field)
{
    html_markup(h, "<label");
    html_attrf(h, "for", "in-%s", field->key);
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

static void write_choice_field(cw_html *h, const cw_field *field, const char *now)
{
    html_markup(h, "<select");
    html_attrf(h, "id", "in-%s", field->key);
    html_attr(h, "name", field->key);
    html_attrf(h, "aria-describedby", "help-%s", field->key);
    html_markup(h, ">");
    write_choice_list(h, field->choices, now, !field->required && field->fallback == NULL);
    html_markup(h, "</select>");
}

/* Numbers are typed as text: "1/250", "0.92 in" and a decimal comma are welcome. */
static void write_text_field(cw_html *h, const cw_worksheet *sheet, const cw_field *field, const char *now)
{
    html_markup(h, "<input type='text' autocomplete='off'");
    html_attrf(h, "id", "in-%s", field->key);
    html_attr(h, "name", field->key);
    html_attr(h, "value", now);
    html_attr(h, "placeholder", cw_sheet_example(sheet, field->key));
    html_attrf(h, "aria-describedby", "help-%s", field->key);
    html_flag(h, "required", field->required && field->fallback == NULL);
    html_markup(h, ">");
}

static void write_help(cw_html *h, const cw_field *field)
{
    html_markup(h, "<span class='help'");
    html_attrf(h, "id", "help-%s", field->key);
    html_markup(h, ">");
    html_text(h, field->help);
    html_markup(h, "</span>");
}

static void write_one(cw_html *h, const cw_worksheet *sheet, const cw_field *field, const cw_form *form)
{
    const char *now = value_of(form, field->key, field->fallback != NULL ? field->fallback : "");
    html_markup(h, "<div class='field'>");
    write_label(h, field);
    if (field->kind == CW_KIND_CHOICE)
        write_choice_field(h, field, now);
    else
        write_text_field(h, sheet, field, now);
    write_help(h, field);
    html_markup(h, "</div>\n");
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

static void write_cell(cw_html *h, const cw_field *field, const cw_field *column, size_t row, const cw_form *form)
{
    char name[CW_FORM_NAME_MOST + 1], label[256];
    snprintf(name, sizeof name, "%s.%zu.%s", field->key, row, column->key);
    snprintf(label, sizeof label, "%s, row %zu", column->label, row + 1);
    const char *now = value_of(form, name, "");
    html_markup(h, "<td");
    html_attr(h, "data-label", column->label);
    html_markup(h, ">");
    if (column->kind == CW_KIND_CHOICE) {
        html_markup(h, "<select");
        html_attr(h, "name", name);
        html_attr(h, "aria-label", label);
        html_markup(h, ">");
        write_choice_list(h, column->choices, now, true);
        html_markup(h, "</select>");
    } else {
        html_markup(h, "<input type='text' autocomplete='off'");
        html_attr(h, "name", name);
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
static void write_rows(cw_html *h, const cw_field *field, const cw_form *form)
{
    const char *whole = cw_form_get(form, field->key);
    html_markup(h, "<fieldset class='field rows'><legend>");
    html_text(h, field->label);
    html_markup(h, "</legend>");
    write_help(h, field);
    if (whole != NULL) {
        html_markup(h, "<input type='text' autocomplete='off'");
        html_attr(h, "name", field->key);
        html_attr(h, "aria-label", field->label);
        html_attr(h, "value", whole);
        html_markup(h, "></fieldset>\n");
        return;
    }
    size_t typed = rows_typed(field, form), shown = typed == 0 ? ROWS_AT_FIRST : typed + SPARE_ROWS;
    if (shown > field->rows_most)
        shown = field->rows_most;
    html_markup(h, "<table class='entry'>");
    write_column_heads(h, field);
    html_markup(h, "<tbody>");
    for (size_t row = 0; row < shown; row++) {
        html_markup(h, "<tr>");
        for (size_t c = 0; c < field->column_count; c++)
            write_cell(h, field, &field->columns[c], row, form);
        html_markup(h, "</tr>\n");
    }
    html_markup(h, "</tbody></table>");
    html_textf(h, "Empty rows are left out; more appear when these are full, up to %zu.", field->rows_most);
    html_markup(h, "</fieldset>\n");
}

void cw_sheet_write_fields(const cw_request *request, cw_html *h, const cw_worksheet *sheet, const cw_form *form)
{
    (void)request;
    for (size_t i = 0; i < sheet->input_count; i++) {
        if (sheet->inputs[i].kind == CW_KIND_ROWS)
            write_rows(h, &sheet->inputs[i], form);
        else
            write_one(h, sheet, &sheet->inputs[i], form);
    }
}
