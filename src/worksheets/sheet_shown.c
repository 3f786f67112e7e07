/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Values as a person reads them, and as JSON. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "worksheets/cautions.h"
#include "worksheets/inside.h"

static const char *choice_label(const cw_field *field, const char *key)
{
    for (const cw_choice *choice = field->choices; choice != NULL && choice->key != NULL; choice++)
        if (strcmp(choice->key, key) == 0)
            return choice->label;
    return key;
}

/* An error in EV carries its sign, with or without an uncertainty behind it. */
static void show_step(cw_quantity step, char *text, size_t size)
{
    if (!(step.u > 0)) {
        cw_signed_ev_text(step.value, text, size);
        return;
    }
    char bare[CW_QUANTITY_TEXT];
    cw_quantity_text(step, cw_unit_find(CW_EXPOSURE_STEP, NULL), 3, bare, sizeof bare);
    snprintf(text, size, "%s%s", step.value > 0 ? "+" : "", bare);
}

static void show_cell(const cw_field *field, const cw_sheet_cell *cell, char *text, size_t size)
{
    if (!cell->given)
        snprintf(text, size, "%s", "");
    else if (field->kind == CW_KIND_NUMBER && field->dimension == CW_EXPOSURE_STEP)
        show_step(cell->number, text, size);
    else if (field->kind == CW_KIND_NUMBER)
        cw_quantity_text(cell->number, cw_unit_find(field->dimension, field->unit),
                         field->figures > 0 ? field->figures : 3, text, size);
    else if (field->kind == CW_KIND_CHOICE)
        snprintf(text, size, "%s", choice_label(field, cell->text));
    else
        snprintf(text, size, "%s", cell->text != NULL ? cell->text : "");
}

void cw_sheet_out_shown(const cw_worksheet *sheet, const cw_sheet_out *out, const cw_field *field, char *text,
                        size_t size)
{
    show_cell(field, &out->fields[field - sheet->outputs].cell, text, size);
}

/* An input is shown as exact as it was typed, not rounded to the output's figures. */
static void show_input(const cw_field *field, const cw_sheet_cell *cell, char *text, size_t size)
{
    if (cell->given && field->kind == CW_KIND_NUMBER) {
        const cw_unit *unit = cw_unit_find(field->dimension, field->unit);
        snprintf(text, size, "%.9g%s%s", cw_to_unit(cell->number.value, unit), *unit->name != '\0' ? " " : "",
                 unit->name);
    } else {
        show_cell(field, cell, text, size);
    }
}

void cw_sheet_in_shown(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_field *field, char *text, size_t size)
{
    show_input(field, &in->fields[field - sheet->inputs].cell, text, size);
}

size_t cw_sheet_in_rows(const cw_sheet_in *in, const cw_field *field)
{
    return in->fields[field - in->sheet->inputs].row_count;
}

void cw_sheet_in_cell_shown(const cw_sheet_in *in, const cw_field *field, size_t row, const cw_field *column,
                            char *text, size_t size)
{
    const cw_sheet_field *values = &in->fields[field - in->sheet->inputs];
    show_input(column, &values->cells[row * field->column_count + (size_t)(column - field->columns)], text, size);
}

void cw_sheet_out_cell_shown(const cw_sheet_out *out, const cw_field *field, size_t row, const cw_field *column,
                             char *text, size_t size)
{
    const cw_sheet_field *values = &out->fields[field - out->sheet->outputs];
    show_cell(column, &values->cells[row * field->column_count + (size_t)(column - field->columns)], text, size);
}

void cw_sheet_words(const cw_worksheet *sheet, const cw_sheet_out *out, char *words, size_t size)
{
    cw_buf buf = cw_buf_new(size - 1);
    cw_buf_printf(&buf, "%s:", sheet->title);
    for (size_t i = 0; i < sheet->output_count; i++) {
        const cw_field *field = &sheet->outputs[i];
        char text[CW_ERROR_TEXT];
        if (field->kind != CW_KIND_NUMBER && field->kind != CW_KIND_VERDICT)
            continue;
        show_cell(field, &out->fields[i].cell, text, sizeof text);
        if (text[0] != '\0')
            cw_buf_printf(&buf, "%s %s %s", buf.text[buf.length - 1] == ':' ? "" : ";", field->label, text);
    }
    snprintf(words, size, "%s", cw_buf_string(&buf)); /* a sheet with very much to say ends where the room ends */
    cw_buf_free(&buf);
}

static json_t *number_or_null(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static const char *verdict_name(cw_verdict verdict)
{
    static const char *const names[] = {[CW_VERDICT_INSIDE] = "inside",
                                        [CW_VERDICT_OUTSIDE] = "outside",
                                        [CW_VERDICT_TOO_CLOSE] = "too-close",
                                        [CW_VERDICT_UNKNOWN] = "unknown"};
    return names[verdict];
}

static json_t *output_cell_json(const cw_field *field, const cw_sheet_cell *cell)
{
    char shown[CW_QUANTITY_TEXT];
    if (!cell->given)
        return json_null();
    if (field->kind == CW_KIND_NUMBER) {
        show_cell(field, cell, shown, sizeof shown);
        return json_pack("{s:o,s:o,s:s,s:s}", "value", number_or_null(cell->number.value), "u",
                         number_or_null(cell->number.u), "unit", cw_unit_find(field->dimension, NULL)->name, "shown",
                         shown);
    }
    if (field->kind == CW_KIND_VERDICT)
        return json_pack("{s:s,s:s}", "verdict", verdict_name(cell->verdict), "text", cell->text);
    return json_string(cell->text);
}

/* In the unit the field shows, so that what was typed comes back. */
static json_t *input_cell_json(const cw_field *field, const cw_sheet_cell *cell)
{
    if (!cell->given)
        return json_null();
    if (field->kind != CW_KIND_NUMBER)
        return json_string(cell->text);
    const cw_unit *unit = cw_unit_find(field->dimension, field->unit);
    return json_pack("{s:f,s:s}", "value", cw_to_unit(cell->number.value, unit), "unit", unit->name);
}

static json_t *field_json(const cw_field *field, const cw_sheet_field *values,
                          json_t *(*cell_json)(const cw_field *, const cw_sheet_cell *))
{
    if (field->kind == CW_KIND_DRAWING)
        return json_boolean(values->drawing != NULL);
    if (field->kind == CW_KIND_MESH)
        return json_boolean(values->mesh != NULL);
    if (field->kind != CW_KIND_ROWS)
        return cell_json(field, &values->cell);
    json_t *rows = json_array();
    for (size_t r = 0; r < values->row_count; r++) {
        json_t *row = json_object();
        for (size_t c = 0; c < field->column_count; c++)
            json_object_set_new(row, field->columns[c].key,
                                cell_json(&field->columns[c], &values->cells[r * field->column_count + c]));
        json_array_append_new(rows, row);
    }
    return rows;
}

json_t *cw_sheet_json(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *out)
{
    json_t *inputs = json_object(), *outputs = json_object(), *notes = json_array(), *cautions = json_array();
    for (size_t i = 0; i < sheet->input_count; i++)
        json_object_set_new(inputs, sheet->inputs[i].key,
                            field_json(&sheet->inputs[i], &in->fields[i], input_cell_json));
    for (size_t i = 0; i < sheet->output_count; i++)
        json_object_set_new(outputs, sheet->outputs[i].key,
                            field_json(&sheet->outputs[i], &out->fields[i], output_cell_json));
    for (size_t i = 0; i < out->note_count; i++)
        json_array_append_new(notes, json_string(out->notes[i]));
    for (size_t i = 0; sheet->cautions != NULL && sheet->cautions[i] != NULL; i++)
        json_array_append_new(cautions, json_string(cw_caution(sheet->cautions[i])));
    json_t *materials = cw_sheet_materials_json(in);
    json_t *result =
        json_pack("{s:s,s:s,s:s,s:o,s:o,s:o,s:o}", "format", "camerawright.worksheet/1", "worksheet", sheet->name,
                  "program", CW_VERSION, "inputs", inputs, "outputs", outputs, "notes", notes, "cautions", cautions);
    if (materials != NULL)
        json_object_set_new(result, "materials", materials);
    return result;
}
