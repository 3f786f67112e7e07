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

/* A copy of a material of the person's own. */
typedef struct {
    cw_own_material is;
    char *name, *kind, *source; /* what its texts point to */
} cw_sheet_own;

struct cw_sheet_in {
    const cw_worksheet *sheet;
    cw_sheet_field *fields;          /* one an input */
    const cw_own_materials *offered; /* while the inputs are read; NULL afterwards */
    size_t own_count, own_capacity;
    cw_sheet_own *own;   /* those that were chosen */
    cw_sheet_slip *slip; /* apart, so that a reader of a const sheet can report */
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
/* The offered material of that name, copied into `in`: its name in *kept. NULL: none, or the field takes none.
 * CW_INPUT: it cannot serve there. */
cw_status cw_sheet_take_own(cw_sheet_in *in, const cw_field *field, const char *name, const char **kept, cw_error *err)
    __attribute__((warn_unused_result));
/* The refusal of a material that is neither the program's nor offered. */
cw_status cw_sheet_refuse_material(const cw_sheet_in *in, const cw_field *field, const char *name, cw_error *err)
    __attribute__((warn_unused_result));
/* The chosen material of that name; NULL when it is none of the person's own. */
const cw_own_material *cw_sheet_own_named(const cw_sheet_in *in, const char *name);
void cw_sheet_own_free(cw_sheet_in *in);
/* "materials" of a result; NULL when none is chosen. */
json_t *cw_sheet_materials_json(const cw_sheet_in *in);
/* What a result's "materials" say of the person's own; the texts are the JSON's. The caller frees *items. */
cw_status cw_sheet_kept_materials(const json_t *result, cw_own_material **items, size_t *count, cw_error *err)
    __attribute__((warn_unused_result));
/* Another row of empty cells; the index, or SIZE_MAX with the slip noted. */
size_t cw_sheet_add_row(const cw_field *field, cw_sheet_field *values, cw_sheet_slip *slip);

#endif
