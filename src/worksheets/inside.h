/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of the mechanism share; worksheets themselves include worksheet.h only. */
#ifndef CW_WORKSHEETS_INSIDE_H
#define CW_WORKSHEETS_INSIDE_H

#include "worksheets/worksheet.h"

enum { CW_SHEET_TEXT_MOST = 4000, CW_SHEET_ROWS_MOST = 500, CW_SHEET_NOTES_MOST = 40 };

/* A value of a field or a cell. */
typedef struct {
    bool given;
    cw_quantity number; /* SI; u NaN: not known */
    char *text;         /* CHOICE, TEXT, and the sentence of a VERDICT */
    cw_verdict verdict;
} cw_sheet_cell;

/* All values of one field. */
typedef struct {
    cw_sheet_cell cell;
    size_t row_count, row_capacity;
    cw_sheet_cell *cells; /* ROWS: row by row, field->column_count each */
    cw_drawing *drawing;
    cw_mesh *mesh;
} cw_sheet_field;

/* A slip of the worksheet's author, or memory that ran out: remembered, told when the run ends. */
typedef struct {
    bool happened;
    cw_error err;
} cw_sheet_slip;

struct cw_sheet_in {
    const cw_worksheet *sheet;
    cw_sheet_field *fields; /* one an input */
    cw_sheet_slip *slip;    /* apart, so that a reader of a const sheet can report */
};

struct cw_sheet_out {
    const cw_worksheet *sheet;
    cw_sheet_field *fields; /* one an output */
    size_t note_count;
    char *notes[CW_SHEET_NOTES_MOST];
    cw_sheet_slip slip;
};

void cw_sheet_fields_free(const cw_field *declared, cw_sheet_field *fields, size_t count);
/* The field of that key; `count` when there is none. */
size_t cw_sheet_field_index(const cw_field *fields, size_t count, const char *key);
void cw_sheet_slip_note(cw_sheet_slip *slip, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Another row of empty cells; the index, or SIZE_MAX with the slip noted. */
size_t cw_sheet_add_row(const cw_field *field, cw_sheet_field *values, cw_sheet_slip *slip);

#endif
