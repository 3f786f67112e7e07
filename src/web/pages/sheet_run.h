/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A worksheet filled from a request. */
#ifndef CW_WEB_SHEET_RUN_H
#define CW_WEB_SHEET_RUN_H

#include "web/request.h"
#include "worksheets/worksheet.h"

typedef struct {
    const cw_worksheet *sheet;
    int64_t saved_id; /* kept in a job: its files hang there; 0: from the address' own inputs */
    cw_sheet_in *in;
    cw_sheet_out *out; /* NULL unless it ran */
} cw_sheet_page;

/* The sheet named by the first word of the address. CW_NOT_FOUND otherwise. */
cw_status cw_sheet_named(const cw_request *request, const cw_worksheet **sheet, cw_error *err)
    __attribute__((warn_unused_result));
/* Reads inputs from `form` (a query or a posted form) and runs the sheet with the materials of the bench (NULL: with
 * the program's alone). The caller frees *page on CW_OK. */
cw_status cw_sheet_page_run(cw_bench *bench, const cw_worksheet *sheet, const cw_form *form, cw_sheet_page *page,
                            cw_error *err) __attribute__((warn_unused_result));
void cw_sheet_page_free(cw_sheet_page *page);

/* True when the form holds any input of the sheet. */
bool cw_sheet_is_filled(const cw_worksheet *sheet, const cw_form *form);
/* The sheet's own field that a form entry belongs to ("pairs.0.distance" belongs to "pairs"), NULL for none. */
const cw_field *cw_sheet_field_of(const cw_worksheet *sheet, const char *entry_name);
/* The value in the sheet's example, NULL when it has none for that key. */
const char *cw_sheet_example(const cw_worksheet *sheet, const char *key);

/* What the names of the other design's inputs begin with, where two stand in one form (sheet_compare.c). */
#define CW_OTHER_DESIGN "_b."

/* Writes the form's fields, filled from `form` or else with fallbacks, and with the bench's own materials in their
 * lists. prefix: "", or CW_OTHER_DESIGN. */
cw_status cw_sheet_write_fields(cw_request *request, cw_html *h, const cw_worksheet *sheet, const cw_form *form,
                                const char *prefix, cw_error *err) __attribute__((warn_unused_result));
/* Its tables alone; whose: "First design", said with each. */
void cw_sheet_write_tables(cw_html *h, const cw_sheet_page *page, const char *whose);
/* "?span=23.4mm&plate=2mm": the inputs that are given, as a query. */
void cw_sheet_write_query(cw_html *h, const cw_worksheet *sheet, const cw_form *form);
/* The materials a result was worked out with, and where their figures come from. */
void cw_sheet_write_materials(cw_html *h, const cw_sheet_in *in);
/* Writes the result: outputs, drawings with their downloads, notes. */
void cw_sheet_write_result(const cw_request *request, cw_html *h, const cw_sheet_page *page);

/* The forms that keep the result: in a job, as how a part is to be made, as a tool of the rack. */
cw_status cw_sheet_write_keep(cw_request *request, cw_html *h, const cw_sheet_page *page, const cw_form *form,
                              cw_error *err) __attribute__((warn_unused_result));
/* What the result is for, carried on from page to page: _job, _part. */
void cw_sheet_write_aim(const cw_request *request, cw_html *h);

/* A button to the sheet's own page (file "") or to one of its files, with kept inputs ({"span":{"value":..,"unit":..}})
 * as the query. */
void cw_write_inputs_link(cw_html *h, const cw_worksheet *sheet, const char *file, const json_t *inputs,
                          const char *label);

/* "KEY.svg", ".pdf", ".dxf" of a drawing, ".stl" of a solid, as a download. CW_NOT_FOUND when it has none. */
cw_status cw_sheet_reply_file(const cw_sheet_page *page, const char *name, const char *paper, cw_reply *reply,
                              cw_error *err) __attribute__((warn_unused_result));

#endif
