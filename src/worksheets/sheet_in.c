/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inputs of a worksheet: from texts or JSON, checked against the table, and read by key. */
#include <ctype.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "worksheets/inside.h"

static cw_status in_new(const cw_worksheet *sheet, cw_sheet_in **made, cw_error *err)
{
    cw_sheet_in *in = calloc(1, sizeof *in);
    if (in == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the worksheet \"%s\"", sheet->name);
    in->sheet = sheet;
    in->fields = calloc(sheet->input_count > 0 ? sheet->input_count : 1, sizeof *in->fields);
    in->slip = calloc(1, sizeof *in->slip);
    if (in->fields == NULL || in->slip == NULL) {
        cw_sheet_in_free(in);
        return cw_fail(err, CW_MEMORY, "no memory for the worksheet \"%s\"", sheet->name);
    }
    for (size_t i = 0; i < sheet->input_count; i++)
        in->fields[i].cell.number = (cw_quantity){NAN, NAN};
    *made = in;
    return CW_OK;
}

void cw_sheet_in_free(cw_sheet_in *in)
{
    if (in == NULL)
        return;
    cw_sheet_fields_free(in->sheet->inputs, in->fields, in->sheet->input_count);
    cw_sheet_own_free(in);
    free(in->slip);
    free(in);
}

static bool is_blank(const char *text)
{
    while (isspace((unsigned char)*text))
        text++;
    return *text == '\0';
}

static cw_status refuse_range(const cw_field *field, double si, cw_error *err)
{
    const cw_unit *unit = cw_unit_find(field->dimension, field->unit);
    const char *blank = *unit->name != '\0' ? " " : "";
    return cw_fail(err, CW_INPUT, "%.6g%s%s cannot be used; from %.6g to %.6g%s%s can", cw_to_unit(si, unit), blank,
                   unit->name, cw_to_unit(field->least, unit), cw_to_unit(field->most, unit), blank, unit->name);
}

static cw_status take_number(const cw_field *field, const char *text, cw_sheet_cell *cell, cw_error *err)
{
    double si;
    CW_TRY(cw_parse_measure(text, field->dimension, field->unit, &si, err));
    bool limited = field->least != 0 || field->most != 0;
    /* a limit typed in its own unit must not fail by the rounding of its conversion; each has its own slack, so that
     * a wide range does not let what lies below nothing pass as nothing */
    if (limited && !(si >= field->least - 1e-12 * fabs(field->least) && si <= field->most + 1e-12 * fabs(field->most)))
        return refuse_range(field, si, err);
    if (field->whole && si != round(si))
        return cw_fail(err, CW_INPUT, "%g cannot be used; a whole number can", si);
    cell->number = (cw_quantity){si, NAN};
    return CW_OK;
}

static cw_status take_text(const char *text, cw_sheet_cell *cell, cw_error *err)
{
    if (strlen(text) > CW_SHEET_TEXT_MOST)
        return cw_fail(err, CW_INPUT, "%zu characters; %d can be kept", strlen(text), CW_SHEET_TEXT_MOST);
    cell->text = strdup(text);
    return cell->text != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory");
}

static cw_status take_choice(cw_sheet_in *in, const cw_field *field, const char *text, cw_sheet_cell *cell,
                             cw_error *err)
{
    char offered[400];
    const char *own = NULL;
    size_t used = 0;
    CW_TRY(cw_sheet_take_own(in, field, text, &own, err));
    if (own != NULL)
        return take_text(own, cell, err);
    for (const cw_choice *choice = field->choices; choice->key != NULL; choice++) {
        if (strcmp(choice->key, text) == 0) {
            cell->text = strdup(text);
            return cell->text != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory");
        }
        if (used < sizeof offered) {
            int wrote = snprintf(offered + used, sizeof offered - used, "%s%s", used > 0 ? ", " : "", choice->key);
            used += wrote > 0 ? (size_t)wrote : 0;
        }
    }
    if (cw_field_takes(field) != CW_TAKES_NONE)
        return cw_sheet_refuse_material(in, field, text, err);
    return cw_fail(err, CW_INPUT, "\"%.60s\" is not one of: %s", text, offered);
}

/* Reads one typed value into a cell; an empty text leaves it "not given". */
static cw_status take_cell(cw_sheet_in *in, const cw_field *field, const char *text, cw_sheet_cell *cell, cw_error *err)
{
    if (is_blank(text))
        return CW_OK;
    free(cell->text);
    cell->text = NULL;
    cw_status status = CW_OK;
    switch (field->kind) {
    case CW_KIND_NUMBER:
        status = take_number(field, text, cell, err);
        break;
    case CW_KIND_CHOICE:
        status = take_choice(in, field, text, cell, err);
        break;
    case CW_KIND_TEXT:
        status = take_text(text, cell, err);
        break;
    case CW_KIND_ROWS:
    case CW_KIND_VERDICT:
    case CW_KIND_DRAWING:
    case CW_KIND_MESH:
        status = cw_fail(err, CW_INPUT, "no value can be typed here");
        break;
    }
    if (status == CW_OK)
        cell->given = true;
    return status;
}

static cw_status fill_column(cw_sheet_in *in, const cw_field *field, size_t row, const cw_field *column,
                             const char *text, cw_sheet_cell *cell, cw_error *err)
{
    cw_status status = take_cell(in, column, text, cell, err);
    if (status != CW_OK)
        cw_context(err, "%s, row %zu, %s", field->label, row + 1, column->label);
    return status;
}

static cw_status need_row(const cw_field *field, cw_sheet_field *values, size_t row, cw_sheet_in *in, cw_error *err)
{
    size_t most = field->rows_most > 0 ? field->rows_most : CW_SHEET_ROWS_MOST;
    if (row >= most)
        return cw_fail(err, CW_INPUT, "%s: more than %zu rows", field->label, most);
    while (values->row_count <= row)
        if (cw_sheet_add_row(field, values, in->slip) == SIZE_MAX)
            return cw_fail(err, CW_MEMORY, "%s", in->slip->err.text);
    return CW_OK;
}

/* "a,b;c,d" or "a|b;c|d" */
static cw_status take_rows(const cw_field *field, const char *text, cw_sheet_field *values, cw_sheet_in *in,
                           cw_error *err)
{
    char *copy = strdup(text);
    if (copy == NULL)
        return cw_fail(err, CW_MEMORY, "no memory");
    const char *between = strchr(copy, '|') != NULL ? "|" : ",";
    cw_status status = CW_OK;
    size_t row = 0;
    for (char *rest = copy, *line; status == CW_OK && (line = strsep(&rest, ";\n")) != NULL;) {
        if (is_blank(line))
            continue;
        status = need_row(field, values, row, in, err);
        size_t column = 0;
        for (char *cell; status == CW_OK && (cell = strsep(&line, between)) != NULL; column++) {
            if (column >= field->column_count)
                status = cw_fail(err, CW_INPUT, "%s, row %zu: %zu values are wanted in a row, more came", field->label,
                                 row + 1, field->column_count);
            else
                status = fill_column(in, field, row, &field->columns[column], cell,
                                     &values->cells[row * field->column_count + column], err);
        }
        row++;
    }
    free(copy);
    return status;
}

/* "pairs.0.distance": row and column from a form's name. */
static cw_status take_indexed(const cw_field *field, const char *tail, const char *text, cw_sheet_field *values,
                              cw_sheet_in *in, cw_error *err)
{
    char *end;
    unsigned long row = strtoul(tail, &end, 10);
    size_t column = *end == '.' ? cw_sheet_field_index(field->columns, field->column_count, end + 1) : SIZE_MAX;
    if (!isdigit((unsigned char)*tail) || column >= field->column_count)
        return cw_fail(err, CW_INPUT, "%s has no place \"%.40s\"", field->label, tail);
    CW_TRY(need_row(field, values, row, in, err));
    return fill_column(in, field, row, &field->columns[column], text,
                       &values->cells[row * field->column_count + column], err);
}

static cw_status take_pair(cw_sheet_in *in, const char *key, const char *text, cw_error *err)
{
    const cw_worksheet *sheet = in->sheet;
    const char *dot = strchr(key, '.');
    size_t length = dot != NULL ? (size_t)(dot - key) : strlen(key);
    for (size_t i = 0; i < sheet->input_count; i++) {
        const cw_field *field = &sheet->inputs[i];
        if (strlen(field->key) != length || strncmp(field->key, key, length) != 0)
            continue;
        if (dot != NULL && field->kind == CW_KIND_ROWS)
            return take_indexed(field, dot + 1, text, &in->fields[i], in, err);
        if (dot != NULL)
            break;
        if (field->kind == CW_KIND_ROWS)
            return take_rows(field, text, &in->fields[i], in, err);
        cw_status status = take_cell(in, field, text, &in->fields[i].cell, err);
        if (status != CW_OK)
            cw_context(err, "%s", field->label);
        return status;
    }
    return cw_fail(err, CW_INPUT, "the worksheet \"%s\" has no field \"%.40s\"", sheet->name, key);
}

/* A row of a form that was left empty is no row. */
static void drop_empty_rows(const cw_field *field, cw_sheet_field *values)
{
    size_t kept = 0, columns = field->column_count;
    for (size_t row = 0; row < values->row_count; row++) {
        cw_sheet_cell *cells = values->cells + row * columns;
        bool any = false;
        for (size_t c = 0; c < columns; c++)
            any = any || cells[c].given;
        if (!any)
            continue;
        if (kept != row)
            memcpy(values->cells + kept * columns, cells, columns * sizeof *cells);
        kept++;
    }
    values->row_count = kept;
}

static cw_status complete_rows(cw_sheet_in *in, const cw_field *field, cw_sheet_field *values, cw_error *err)
{
    drop_empty_rows(field, values);
    for (size_t row = 0; row < values->row_count; row++)
        for (size_t c = 0; c < field->column_count; c++) {
            const cw_field *column = &field->columns[c];
            cw_sheet_cell *cell = &values->cells[row * field->column_count + c];
            if (!cell->given && column->fallback != NULL)
                CW_TRY(fill_column(in, field, row, column, column->fallback, cell, err));
            if (!cell->given && column->required)
                return cw_fail(err, CW_INPUT, "%s, row %zu: %s is missing", field->label, row + 1, column->label);
        }
    values->cell.given = values->row_count > 0;
    return CW_OK;
}

/* Fallbacks, required fields. */
static cw_status complete(cw_sheet_in *in, cw_error *err)
{
    for (size_t i = 0; i < in->sheet->input_count; i++) {
        const cw_field *field = &in->sheet->inputs[i];
        cw_sheet_field *values = &in->fields[i];
        if (field->kind == CW_KIND_ROWS) {
            CW_TRY(complete_rows(in, field, values, err));
            if (!values->cell.given && field->fallback != NULL) {
                CW_TRY(take_rows(field, field->fallback, values, in, err));
                CW_TRY(complete_rows(in, field, values, err));
            }
        } else if (!values->cell.given && field->fallback != NULL) {
            CW_TRY(take_cell(in, field, field->fallback, &values->cell, err));
        }
        if (!values->cell.given && field->required)
            return cw_fail(err, CW_INPUT, "%s is missing; give --%s%s%s", field->label, field->key,
                           field->help != NULL ? ": " : "", field->help != NULL ? field->help : "");
    }
    return CW_OK;
}

/* Nothing is offered once the inputs are read: what was chosen has been copied. */
static cw_status settle(cw_sheet_in *made, cw_status status, cw_sheet_in **in, cw_error *err)
{
    if (status == CW_OK)
        status = complete(made, err);
    made->offered = NULL;
    if (status == CW_OK)
        *in = made;
    else
        cw_sheet_in_free(made);
    return status;
}

cw_status cw_sheet_in_with(const cw_worksheet *sheet, const char *const *pairs, const cw_own_materials *own,
                           cw_sheet_in **in, cw_error *err)
{
    cw_sheet_in *made;
    CW_TRY(in_new(sheet, &made, err));
    made->offered = own;
    cw_status status = CW_OK;
    for (size_t i = 0; status == CW_OK && pairs[i] != NULL && pairs[i + 1] != NULL; i += 2)
        status = take_pair(made, pairs[i], pairs[i + 1], err);
    return settle(made, status, in, err);
}

cw_status cw_sheet_in_from_pairs(const cw_worksheet *sheet, const char *const *pairs, cw_sheet_in **in, cw_error *err)
{
    return cw_sheet_in_with(sheet, pairs, NULL, in, err);
}

/* A JSON value of a field or cell as the text a person would have typed. */
static cw_status json_text(const cw_field *field, const json_t *value, char *out, size_t size, cw_error *err)
{
    const json_t *number = json_is_object(value) ? json_object_get(value, "value") : value;
    const json_t *named = json_is_object(value) ? json_object_get(value, "unit") : NULL;
    const char *unit = json_is_string(named) ? json_string_value(named) : "";
    int wrote = 0;
    if (json_is_string(number))
        wrote = snprintf(out, size, "%s %s", json_string_value(number), unit);
    else if (json_is_number(number))
        wrote = snprintf(out, size, "%.17g %s", json_number_value(number), unit);
    else if (json_is_null(number))
        out[0] = '\0';
    else
        return cw_fail(err, CW_INPUT, "%s: a number or a text is wanted in the JSON", field->label);
    if (wrote < 0 || (size_t)wrote >= size)
        return cw_fail(err, CW_INPUT, "%s: longer than %zu characters", field->label, size);
    while (wrote > 0 && out[wrote - 1] == ' ')
        out[--wrote] = '\0';
    return CW_OK;
}

static cw_status take_json_rows(cw_sheet_in *in, const cw_field *field, cw_sheet_field *values, const json_t *rows,
                                cw_error *err)
{
    char text[CW_SHEET_TEXT_MOST + 64];
    size_t index;
    const json_t *row;
    if (!json_is_array(rows))
        return cw_fail(err, CW_INPUT, "%s: an array of objects is wanted in the JSON", field->label);
    json_array_foreach(rows, index, row)
    {
        const char *key;
        json_t *value;
        if (!json_is_object(row))
            return cw_fail(err, CW_INPUT, "%s, row %zu: an object is wanted", field->label, index + 1);
        CW_TRY(need_row(field, values, index, in, err));
        json_object_foreach((json_t *)row, key, value)
        {
            size_t c = cw_sheet_field_index(field->columns, field->column_count, key);
            if (c == field->column_count)
                return cw_fail(err, CW_INPUT, "%s, row %zu: there is no column \"%.40s\"", field->label, index + 1,
                               key);
            CW_TRY(json_text(&field->columns[c], value, text, sizeof text, err));
            CW_TRY(fill_column(in, field, index, &field->columns[c], text,
                               &values->cells[index * field->column_count + c], err));
        }
    }
    return CW_OK;
}

static cw_status take_json(cw_sheet_in *in, const json_t *object, cw_error *err)
{
    const char *key;
    json_t *value;
    if (!json_is_object(object))
        return cw_fail(err, CW_INPUT, "the inputs are not a JSON object");
    json_object_foreach((json_t *)object, key, value)
    {
        char text[CW_SHEET_TEXT_MOST + 64];
        size_t i = cw_sheet_field_index(in->sheet->inputs, in->sheet->input_count, key);
        if (i < in->sheet->input_count && in->sheet->inputs[i].kind == CW_KIND_ROWS && !json_is_string(value)) {
            CW_TRY(take_json_rows(in, &in->sheet->inputs[i], &in->fields[i], value, err));
            continue;
        }
        if (i < in->sheet->input_count)
            CW_TRY(json_text(&in->sheet->inputs[i], value, text, sizeof text, err));
        CW_TRY(take_pair(in, key, i < in->sheet->input_count ? text : "", err));
    }
    return CW_OK;
}

cw_status cw_sheet_in_from_json(const cw_worksheet *sheet, const json_t *object, cw_sheet_in **in, cw_error *err)
{
    cw_sheet_in *made;
    CW_TRY(in_new(sheet, &made, err));
    return settle(made, take_json(made, object, err), in, err);
}

cw_status cw_sheet_in_from_kept(const cw_worksheet *sheet, const json_t *result, cw_sheet_in **in, cw_error *err)
{
    cw_sheet_in *made;
    cw_own_material *items = NULL;
    cw_own_materials own = {0};
    CW_TRY(in_new(sheet, &made, err));
    cw_status status = cw_sheet_kept_materials(result, &items, &own.count, err);
    own.items = items;
    made->offered = &own;
    if (status == CW_OK)
        status = take_json(made, json_object_get(result, "inputs"), err);
    status = settle(made, status, in, err);
    free(items);
    return status;
}

/* ---- reading ---- */

static const cw_sheet_field *find(const cw_sheet_in *in, const char *key, const cw_field **declared)
{
    size_t i = cw_sheet_field_index(in->sheet->inputs, in->sheet->input_count, key);
    if (i == in->sheet->input_count) {
        cw_sheet_slip_note(in->slip, "the worksheet \"%s\" reads an input \"%s\" that it does not declare",
                           in->sheet->name, key);
        return NULL;
    }
    if (declared != NULL)
        *declared = &in->sheet->inputs[i];
    return &in->fields[i];
}

static const cw_sheet_cell *find_cell(const cw_sheet_in *in, const char *key, size_t row, const char *column)
{
    const cw_field *field = NULL;
    const cw_sheet_field *values = find(in, key, &field);
    if (values == NULL)
        return NULL;
    size_t c = cw_sheet_field_index(field->columns, field->column_count, column);
    if (c == field->column_count || row >= values->row_count) {
        cw_sheet_slip_note(in->slip, "the worksheet \"%s\" reads \"%s\", row %zu, column \"%s\", which is not there",
                           in->sheet->name, key, row, column);
        return NULL;
    }
    return &values->cells[row * field->column_count + c];
}

double cw_in_number(const cw_sheet_in *in, const char *key)
{
    const cw_sheet_field *values = find(in, key, NULL);
    return values != NULL ? values->cell.number.value : NAN;
}

bool cw_in_given(const cw_sheet_in *in, const char *key)
{
    const cw_sheet_field *values = find(in, key, NULL);
    return values != NULL && values->cell.given;
}

const char *cw_in_text(const cw_sheet_in *in, const char *key)
{
    const cw_sheet_field *values = find(in, key, NULL);
    return values != NULL && values->cell.text != NULL ? values->cell.text : "";
}

bool cw_in_is(const cw_sheet_in *in, const char *key, const char *choice)
{
    return strcmp(cw_in_text(in, key), choice) == 0;
}

size_t cw_in_rows(const cw_sheet_in *in, const char *key)
{
    const cw_sheet_field *values = find(in, key, NULL);
    return values != NULL ? values->row_count : 0;
}

double cw_in_cell_number(const cw_sheet_in *in, const char *key, size_t row, const char *column)
{
    const cw_sheet_cell *cell = find_cell(in, key, row, column);
    return cell != NULL ? cell->number.value : NAN;
}

const char *cw_in_cell_text(const cw_sheet_in *in, const char *key, size_t row, const char *column)
{
    const cw_sheet_cell *cell = find_cell(in, key, row, column);
    return cell != NULL && cell->text != NULL ? cell->text : "";
}
