/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Outputs of a worksheet: written by key inside compute, read by the faces. */
#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "worksheets/inside.h"

static cw_status out_new(const cw_worksheet *sheet, cw_sheet_out **made, cw_error *err)
{
    cw_sheet_out *out = calloc(1, sizeof *out);
    if (out != NULL)
        out->fields = calloc(sheet->output_count > 0 ? sheet->output_count : 1, sizeof *out->fields);
    if (out == NULL || out->fields == NULL) {
        free(out);
        return cw_fail(err, CW_MEMORY, "no memory for the worksheet \"%s\"", sheet->name);
    }
    out->sheet = sheet;
    for (size_t i = 0; i < sheet->output_count; i++) {
        out->fields[i].cell.number = (cw_quantity){NAN, NAN};
        out->fields[i].cell.verdict = CW_VERDICT_UNKNOWN;
    }
    *made = out;
    return CW_OK;
}

void cw_sheet_out_free(cw_sheet_out *out)
{
    if (out == NULL)
        return;
    cw_sheet_fields_free(out->sheet->outputs, out->fields, out->sheet->output_count);
    for (size_t i = 0; i < out->note_count; i++)
        free(out->notes[i]);
    free(out);
}

/* A required output must be there and be a number; what is not required may be "not known". */
static cw_status check_outputs(const cw_sheet_out *out, cw_error *err)
{
    for (size_t i = 0; i < out->sheet->output_count; i++) {
        const cw_field *field = &out->sheet->outputs[i];
        const cw_sheet_field *values = &out->fields[i];
        bool missing = !values->cell.given && values->drawing == NULL && values->mesh == NULL;
        bool no_number = field->kind == CW_KIND_NUMBER && !isfinite(values->cell.number.value);
        if (field->required && (missing || no_number))
            return cw_fail(err, CW_RANGE, "no %s comes out of these values; check them for a slip of a decimal place",
                           field->label);
        if (values->drawing != NULL)
            CW_TRY(cw_drawing_check(values->drawing, err));
        if (values->mesh != NULL)
            CW_TRY(cw_mesh_check(values->mesh, err));
    }
    return CW_OK;
}

cw_status cw_sheet_run(const cw_worksheet *sheet, const cw_sheet_in *in, cw_sheet_out **out, cw_error *err)
{
    cw_sheet_out *made = NULL;
    CW_TRY(out_new(sheet, &made, err));
    cw_status status = sheet->compute(in, made, err);
    const cw_sheet_slip *slip = in->slip->happened ? in->slip : &made->slip;
    if (status == CW_OK && slip->happened)
        status = cw_fail(err, slip->err.status, "%s", slip->err.text);
    if (status == CW_OK)
        status = check_outputs(made, err);
    if (status != CW_OK) {
        cw_sheet_out_free(made);
        return status;
    }
    *out = made;
    return CW_OK;
}

/* ---- writing ---- */

static cw_sheet_field *find(cw_sheet_out *out, const char *key, cw_field_kind kind, const cw_field **declared)
{
    size_t i = cw_sheet_field_index(out->sheet->outputs, out->sheet->output_count, key);
    if (i == out->sheet->output_count || out->sheet->outputs[i].kind != kind) {
        cw_sheet_slip_note(&out->slip, "the worksheet \"%s\" writes an output \"%s\" that it does not declare so",
                           out->sheet->name, key);
        return NULL;
    }
    if (declared != NULL)
        *declared = &out->sheet->outputs[i];
    return &out->fields[i];
}

static cw_sheet_cell *find_cell(cw_sheet_out *out, const char *key, size_t row, const char *column)
{
    const cw_field *field = NULL;
    cw_sheet_field *values = find(out, key, CW_KIND_ROWS, &field);
    if (values == NULL)
        return NULL;
    size_t c = cw_sheet_field_index(field->columns, field->column_count, column);
    if (c == field->column_count || row >= values->row_count) {
        cw_sheet_slip_note(&out->slip, "the worksheet \"%s\" writes \"%s\", row %zu, column \"%s\", which is not there",
                           out->sheet->name, key, row, column);
        return NULL;
    }
    return &values->cells[row * field->column_count + c];
}

static void set_number(cw_sheet_cell *cell, cw_quantity value)
{
    if (cell == NULL)
        return;
    cell->given = true;
    cell->number = value;
}

static char *formatted(cw_sheet_slip *slip, const char *format, va_list args)
{
    char *text = NULL;
    if (vasprintf(&text, format, args) < 0) {
        cw_sheet_slip_note(slip, "no memory for a text");
        return NULL;
    }
    return text;
}

static void set_text(cw_sheet_cell *cell, char *text)
{
    if (cell == NULL) {
        free(text);
        return;
    }
    free(cell->text);
    cell->text = text;
    cell->given = text != NULL;
}

void cw_out_number(cw_sheet_out *out, const char *key, double value)
{
    cw_out_quantity(out, key, (cw_quantity){value, NAN});
}

void cw_out_quantity(cw_sheet_out *out, const char *key, cw_quantity value)
{
    cw_sheet_field *values = find(out, key, CW_KIND_NUMBER, NULL);
    set_number(values != NULL ? &values->cell : NULL, value);
}

void cw_out_text(cw_sheet_out *out, const char *key, const char *format, ...)
{
    cw_sheet_field *values = find(out, key, CW_KIND_TEXT, NULL);
    va_list args;
    va_start(args, format);
    char *text = formatted(&out->slip, format, args);
    va_end(args);
    set_text(values != NULL ? &values->cell : NULL, text);
}

void cw_out_verdict(cw_sheet_out *out, const char *key, cw_verdict verdict, const char *format, ...)
{
    cw_sheet_field *values = find(out, key, CW_KIND_VERDICT, NULL);
    va_list args;
    va_start(args, format);
    char *text = formatted(&out->slip, format, args);
    va_end(args);
    if (values != NULL)
        values->cell.verdict = verdict;
    set_text(values != NULL ? &values->cell : NULL, text);
}

size_t cw_out_row(cw_sheet_out *out, const char *key)
{
    const cw_field *field = NULL;
    cw_sheet_field *values = find(out, key, CW_KIND_ROWS, &field);
    return values != NULL ? cw_sheet_add_row(field, values, &out->slip) : SIZE_MAX;
}

void cw_out_cell_number(cw_sheet_out *out, const char *key, size_t row, const char *column, double value)
{
    set_number(find_cell(out, key, row, column), (cw_quantity){value, NAN});
}

void cw_out_cell_quantity(cw_sheet_out *out, const char *key, size_t row, const char *column, cw_quantity value)
{
    set_number(find_cell(out, key, row, column), value);
}

void cw_out_cell_text(cw_sheet_out *out, const char *key, size_t row, const char *column, const char *format, ...)
{
    cw_sheet_cell *cell = find_cell(out, key, row, column);
    va_list args;
    va_start(args, format);
    char *text = formatted(&out->slip, format, args);
    va_end(args);
    set_text(cell, text);
}

void cw_out_drawing(cw_sheet_out *out, const char *key, cw_drawing *drawing)
{
    cw_sheet_field *values = find(out, key, CW_KIND_DRAWING, NULL);
    if (values == NULL) {
        cw_drawing_free(drawing);
        return;
    }
    cw_drawing_free(values->drawing);
    values->drawing = drawing;
}

void cw_out_mesh(cw_sheet_out *out, const char *key, cw_mesh *mesh)
{
    cw_sheet_field *values = find(out, key, CW_KIND_MESH, NULL);
    if (values == NULL) {
        cw_mesh_free(mesh);
        return;
    }
    cw_mesh_free(values->mesh);
    values->mesh = mesh;
}

void cw_out_note(cw_sheet_out *out, const char *format, ...)
{
    if (out->note_count == CW_SHEET_NOTES_MOST) {
        cw_sheet_slip_note(&out->slip, "the worksheet \"%s\" has more than %d notes", out->sheet->name,
                           CW_SHEET_NOTES_MOST);
        return;
    }
    va_list args;
    va_start(args, format);
    char *text = formatted(&out->slip, format, args);
    va_end(args);
    if (text != NULL)
        out->notes[out->note_count++] = text;
}

/* ---- reading, for the faces ---- */

static const cw_sheet_field *values_of(const cw_sheet_out *out, const cw_field *field)
{
    return &out->fields[field - out->sheet->outputs];
}

size_t cw_sheet_out_rows(const cw_sheet_out *out, const cw_field *field)
{
    return values_of(out, field)->row_count;
}

cw_verdict cw_sheet_out_verdict(const cw_sheet_out *out, const cw_field *field)
{
    return values_of(out, field)->cell.verdict;
}

const cw_drawing *cw_sheet_out_drawing(const cw_sheet_out *out, const cw_field *field)
{
    return values_of(out, field)->drawing;
}

const cw_mesh *cw_sheet_out_mesh(const cw_sheet_out *out, const cw_field *field)
{
    return values_of(out, field)->mesh;
}

size_t cw_sheet_out_note_count(const cw_sheet_out *out)
{
    return out->note_count;
}

const char *cw_sheet_out_note(const cw_sheet_out *out, size_t index)
{
    return out->notes[index];
}

cw_verdict cw_sheet_worst(const cw_worksheet *sheet, const cw_sheet_out *out)
{
    cw_verdict worst = CW_VERDICT_UNKNOWN;
    static const int gravity[] = {
        [CW_VERDICT_UNKNOWN] = 0, [CW_VERDICT_INSIDE] = 1, [CW_VERDICT_TOO_CLOSE] = 2, [CW_VERDICT_OUTSIDE] = 3};
    for (size_t i = 0; i < sheet->output_count; i++) {
        if (sheet->outputs[i].kind != CW_KIND_VERDICT)
            continue;
        cw_verdict verdict = out->fields[i].cell.verdict;
        if (gravity[verdict] > gravity[worst])
            worst = verdict;
    }
    return worst;
}
