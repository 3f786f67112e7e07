/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Worksheets: a calculation said once. A table of fields and one pure function; the command line, the web form, JSON in
 * and out, the saved result of a job, the report and the reference page all come from this table.
 *
 * A worksheet is one file in this folder that defines one `const cw_worksheet cw_sheet_NAME`, and one line in
 * registry.c. Its compute function reads inputs by key (already parsed to SI, checked against range and choices) and
 * writes outputs by key. A key that is not in the table is a programming error: it makes the run fail with CW_RANGE and
 * a sentence, and tests/worksheets runs every sheet. */
#ifndef CW_WORKSHEETS_WORKSHEET_H
#define CW_WORKSHEETS_WORKSHEET_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"
#include "base/unit.h"
#include "draw/drawing.h"
#include "draw/mesh.h"
#include "workshop/own_material.h"
#include "workshop/rack.h"

typedef enum {
    CW_KIND_NUMBER,
    CW_KIND_CHOICE,
    CW_KIND_TEXT,
    CW_KIND_ROWS,    /* a small table; input and output */
    CW_KIND_VERDICT, /* output: inside, outside, too close to call, or a plain yes/no answer with its sentence */
    CW_KIND_DRAWING, /* output */
    CW_KIND_MESH     /* output */
} cw_field_kind;

typedef struct {
    const char *key, *label;
} cw_choice;

/* One row of the table of inputs, or of outputs, or of the columns of a ROWS field (columns are never ROWS). */
typedef struct cw_field {
    const char *key;   /* command-line option, form name and JSON key: lower case with hyphens, "slot-width" */
    const char *label; /* as a person reads it */
    cw_field_kind kind;
    cw_dimension dimension;   /* NUMBER */
    const char *unit;         /* NUMBER: the unit shown and the unit of a bare number; NULL = SI */
    const char *fallback;     /* input: what stands when nothing is given, as typed ("0.1 mm"); NULL = none */
    bool required;            /* input: refuse when missing; otherwise, without a fallback, it is "not given" */
    double least, most;       /* input NUMBER: allowed range in SI, both ends included; both 0 = any finite number */
    bool whole;               /* input NUMBER: a count; a part of one is refused */
    const cw_choice *choices; /* CHOICE: ended by {NULL, NULL} */
    const struct cw_field *columns; /* ROWS */
    size_t column_count;
    size_t rows_most; /* ROWS input: the most rows accepted */
    int figures;      /* output NUMBER: significant figures where no uncertainty is known */
    const char *help; /* one line: what to measure and how, or what the figure means */
} cw_field;

typedef struct cw_sheet_in cw_sheet_in;
typedef struct cw_sheet_out cw_sheet_out;

/* What makes a sheet's result a tool for the rack. Lists are name, key, name, key ... NULL; a key is an output's or,
 * where there is none of it, an input's. */
typedef struct {
    cw_rack_kind kind;
    const char *const *sizes; /* names of cw_rack_tool as the rack keeps them: "span", "tip_width" ... */
    const char *const *need;  /* what the sheet's inputs ask a tool for: "span", "slot", "reach", "barrel" */
} cw_sheet_tool;

typedef struct cw_worksheet {
    const char *name;    /* the command: "flat-wrench" */
    const char *title;   /* "Flat wrench for a slotted ring" */
    const char *group;   /* where it is listed: "Tools", "Parts", "Focus", "Light", "Bench" ... */
    const char *purpose; /* two or three plain sentences: when one needs it and what it answers */
    const cw_field *inputs;
    size_t input_count;
    const cw_field *outputs;
    size_t output_count;
    const char *const *cautions; /* tags of cautions.h, ended by NULL; NULL = none */
    const char *const *sources;  /* where the formulas and constants come from, ended by NULL */
    cw_status (*compute)(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err);
    /* A worked example, as typed on the command line: key, value, key, value ... NULL. Shown as the filled-in form, run
     * by the tests and printed in the reference page. Required. */
    const char *const *example;
    const cw_sheet_tool *tool; /* NULL: what it works out is no tool */
} cw_worksheet;

/* ---- reading inputs, inside compute ---- */

/* NUMBER in SI; NaN when not given. */
double cw_in_number(const cw_sheet_in *in, const char *key);
bool cw_in_given(const cw_sheet_in *in, const char *key);
/* CHOICE: the chosen key; TEXT: the text. "" when not given. Stays the sheet's. */
const char *cw_in_text(const cw_sheet_in *in, const char *key);
bool cw_in_is(const cw_sheet_in *in, const char *key, const char *choice);
size_t cw_in_rows(const cw_sheet_in *in, const char *key);
double cw_in_cell_number(const cw_sheet_in *in, const char *key, size_t row, const char *column);
const char *cw_in_cell_text(const cw_sheet_in *in, const char *key, size_t row, const char *column);

/* ---- writing outputs, inside compute; SI values ---- */

void cw_out_number(cw_sheet_out *out, const char *key, double value); /* exact or uncertainty not known */
void cw_out_quantity(cw_sheet_out *out, const char *key, cw_quantity value);
void cw_out_text(cw_sheet_out *out, const char *key, const char *format, ...) __attribute__((format(printf, 3, 4)));

typedef enum { CW_VERDICT_INSIDE, CW_VERDICT_OUTSIDE, CW_VERDICT_TOO_CLOSE, CW_VERDICT_UNKNOWN } cw_verdict;

void cw_out_verdict(cw_sheet_out *out, const char *key, cw_verdict verdict, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* Adds a row to a ROWS output and returns its index; then fill its cells. */
size_t cw_out_row(cw_sheet_out *out, const char *key);
void cw_out_cell_number(cw_sheet_out *out, const char *key, size_t row, const char *column, double value);
void cw_out_cell_quantity(cw_sheet_out *out, const char *key, size_t row, const char *column, cw_quantity value);
void cw_out_cell_text(cw_sheet_out *out, const char *key, size_t row, const char *column, const char *format, ...)
    __attribute__((format(printf, 5, 6)));
/* The output takes the drawing or mesh over and frees it. */
void cw_out_drawing(cw_sheet_out *out, const char *key, cw_drawing *drawing);
void cw_out_mesh(cw_sheet_out *out, const char *key, cw_mesh *mesh);
/* A remark that belongs to this result ("the slot is shallow: press while turning"). */
void cw_out_note(cw_sheet_out *out, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* ---- running a sheet, for the faces ---- */

const cw_worksheet *const *cw_worksheets(size_t *count); /* every sheet, in the order of groups */
const cw_worksheet *cw_worksheet_find(const char *name); /* NULL when there is none */

/* Inputs as texts: a NULL-terminated list key, value, key, value ...; rows as "a,b;c,d" (cells by comma, or by a bar
 * when a decimal comma is meant) or as indexed keys from a form ("pairs.0.distance"). CW_INPUT names the field and
 * shows what came. The caller frees *in. */
cw_status cw_sheet_in_from_pairs(const cw_worksheet *sheet, const char *const *pairs, cw_sheet_in **in, cw_error *err)
    __attribute__((warn_unused_result));
/* Materials of the person's own, offered beside the program's in every choice of a material, a wire or what rubs on
 * what, by their names. They stay the caller's; what the inputs choose of them is copied. */
typedef struct {
    size_t count;
    const cw_own_material *items;
} cw_own_materials;

/* The same with those materials; own may be NULL. */
cw_status cw_sheet_in_with(const cw_worksheet *sheet, const char *const *pairs, const cw_own_materials *own,
                           cw_sheet_in **in, cw_error *err) __attribute__((warn_unused_result));
/* The inputs of a result as cw_sheet_json made it, with the person's own materials as they were then. */
cw_status cw_sheet_in_from_kept(const cw_worksheet *sheet, const json_t *result, cw_sheet_in **in, cw_error *err)
    __attribute__((warn_unused_result));
/* Inputs as a JSON object: numbers in the field's shown unit, or texts with a unit; rows as arrays of objects. */
cw_status cw_sheet_in_from_json(const cw_worksheet *sheet, const json_t *object, cw_sheet_in **in, cw_error *err)
    __attribute__((warn_unused_result));
void cw_sheet_in_free(cw_sheet_in *in);

/* What a CHOICE field takes beside its own choices. */
typedef enum { CW_TAKES_NONE, CW_TAKES_MATERIAL, CW_TAKES_FRICTION, CW_TAKES_WIRE } cw_own_use;
cw_own_use cw_field_takes(const cw_field *field);
/* Whether the material may be chosen there: what rubs needs a friction. */
bool cw_own_serves(cw_own_use use, const cw_own_material *material);
bool cw_sheet_takes_materials(const cw_worksheet *sheet); /* in any field or column */

/* The materials the inputs have chosen, each once, for the faces: "gauge plate: yield stress 412 MPa, ...; from its
 * wrapper". own tells the person's from the program's. False when there is no index-th. */
bool cw_sheet_in_material(const cw_sheet_in *in, size_t index, char *words, size_t size, bool *own);

/* Runs it: a NaN that reaches a required output is an error here, not on the page. The caller frees *out. */
cw_status cw_sheet_run(const cw_worksheet *sheet, const cw_sheet_in *in, cw_sheet_out **out, cw_error *err)
    __attribute__((warn_unused_result));
void cw_sheet_out_free(cw_sheet_out *out);

/* {"format":"camerawright.worksheet/1","worksheet":NAME,"inputs":{..},"outputs":{..},"notes":[..],"cautions":[..],
 * "materials":[{"name":..,"own":true,"source":..,"yield":{..}..}]}, the last where the inputs choose any.
 * Numbers in SI: {"value":..,"u":..,"unit":"m"}; u null when not known. NULL without memory. */
json_t *cw_sheet_json(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *out);

/* What the faces show: the output field's text with unit and uncertainty ("12.35 +- 0.08 mm"), "" when not set. */
void cw_sheet_out_shown(const cw_worksheet *sheet, const cw_sheet_out *out, const cw_field *field, char *text,
                        size_t size);
void cw_sheet_in_shown(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_field *field, char *text,
                       size_t size);
/* Rows of an input table, and a cell of it as it was typed. */
size_t cw_sheet_in_rows(const cw_sheet_in *in, const cw_field *field);
void cw_sheet_in_cell_shown(const cw_sheet_in *in, const cw_field *field, size_t row, const cw_field *column,
                            char *text, size_t size);
size_t cw_sheet_out_rows(const cw_sheet_out *out, const cw_field *field);
void cw_sheet_out_cell_shown(const cw_sheet_out *out, const cw_field *field, size_t row, const cw_field *column,
                             char *text, size_t size);
cw_verdict cw_sheet_out_verdict(const cw_sheet_out *out, const cw_field *field);
const cw_drawing *cw_sheet_out_drawing(const cw_sheet_out *out, const cw_field *field); /* NULL when not set */
const cw_mesh *cw_sheet_out_mesh(const cw_sheet_out *out, const cw_field *field);
size_t cw_sheet_out_note_count(const cw_sheet_out *out);
const char *cw_sheet_out_note(const cw_sheet_out *out, size_t index);

/* The SI value of an output NUMBER or, where there is no such output, of an input; NaN when neither is known. */
double cw_sheet_number(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *out, const char *key);

/* A result as a tool to hang in the rack: texts the caller frees with cw_sheet_made_free. */
typedef struct {
    char *sizes_json;  /* mm by name: {"span":23.4,"tip":1.15} */
    char *drawing_svg; /* true size, "" when there is none */
    char *inputs_json; /* of the sheet, to make it again with other sizes */
} cw_sheet_made;

/* CW_INPUT when the sheet's result is no tool. */
cw_status cw_sheet_make_tool(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *out,
                             cw_sheet_made *made, cw_error *err) __attribute__((warn_unused_result));
void cw_sheet_made_free(cw_sheet_made *made);

/* What the sheet's inputs ask of a tool; false when it is about no tool, or its span is not given. `out` may be NULL.
 */
bool cw_sheet_need(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *out, cw_rack_need *need);

/* The result in one line, for a note: its figures and answers, "Make the pins 1.16 mm; Notch ...". */
void cw_sheet_words(const cw_worksheet *sheet, const cw_sheet_out *out, char *words, size_t size);

/* The worst verdict of a result, for `--check`: OUTSIDE before TOO_CLOSE before INSIDE; UNKNOWN when there is none. */
cw_verdict cw_sheet_worst(const cw_worksheet *sheet, const cw_sheet_out *out);

#endif
