/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What inputs and outputs have in common. */
#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "worksheets/inside.h"

void cw_sheet_fields_free(const cw_field *declared, cw_sheet_field *fields, size_t count)
{
    if (fields == NULL)
        return;
    for (size_t i = 0; i < count; i++) {
        free(fields[i].cell.text);
        for (size_t k = 0; k < fields[i].row_count * declared[i].column_count; k++)
            free(fields[i].cells[k].text);
        free(fields[i].cells);
        cw_drawing_free(fields[i].drawing);
        cw_mesh_free(fields[i].mesh);
    }
    free(fields);
}

size_t cw_sheet_field_index(const cw_field *fields, size_t count, const char *key)
{
    size_t i = 0;
    while (i < count && strcmp(fields[i].key, key) != 0)
        i++;
    return i;
}

void cw_sheet_slip_note(cw_sheet_slip *slip, const char *format, ...)
{
    if (slip->happened)
        return; /* the first one is the cause */
    slip->happened = true;
    slip->err.status = CW_RANGE;
    va_list args;
    va_start(args, format);
    vsnprintf(slip->err.text, sizeof slip->err.text, format, args);
    va_end(args);
}

size_t cw_sheet_add_row(const cw_field *field, cw_sheet_field *values, cw_sheet_slip *slip)
{
    cw_error err;
    size_t columns = field->column_count;
    size_t need = (values->row_count + 1) * columns;
    if (cw_grow(&values->cells, &values->row_capacity, need, sizeof *values->cells, CW_SHEET_ROWS_MOST * columns,
                "cells", &err) != CW_OK) {
        cw_sheet_slip_note(slip, "%s: %s", field->label, err.text);
        return SIZE_MAX;
    }
    for (size_t c = need - columns; c < need; c++)
        values->cells[c] = (cw_sheet_cell){.number = {NAN, NAN}, .verdict = CW_VERDICT_UNKNOWN};
    values->cell.given = true;
    return values->row_count++;
}
