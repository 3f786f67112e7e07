/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/sheets_section.h"

#include "base/say.h"
#include "report/cells.h"
#include "worksheets/cautions.h"

enum { SHOWN_TEXT = 2048 };

static void inputs(cw_document *document, const cw_report_sheet *kept)
{
    cw_cells cells = {.narrow = true};
    cw_cells_column(&cells, "given", CW_CELL_START);
    cw_cells_column(&cells, "", CW_CELL_START);
    for (size_t i = 0; i < kept->sheet->input_count; i++) {
        char text[SHOWN_TEXT];
        cw_sheet_in_shown(kept->sheet, kept->in, &kept->sheet->inputs[i], text, sizeof text);
        if (*text == '\0')
            continue;
        cw_cells_text(&cells, kept->sheet->inputs[i].label);
        cw_cells_told(&cells, text, false);
    }
    cw_cells_finish(&cells, document);
}

/* Inputs that are small tables: the levels of a meter check, the distances of a rangefinder. */
static void input_rows(cw_document *document, const cw_report_sheet *kept, const cw_field *field)
{
    size_t count = cw_sheet_in_rows(kept->in, field);
    if (field->kind != CW_KIND_ROWS || count == 0)
        return;
    cw_doc_heading(document, 3, field->label);
    cw_cells cells = {.narrow = true};
    for (size_t c = 0; c < field->column_count; c++)
        cw_cells_column(&cells, field->columns[c].label,
                        field->columns[c].kind == CW_KIND_NUMBER ? CW_CELL_END : CW_CELL_START);
    for (size_t r = 0; r < count; r++)
        for (size_t c = 0; c < field->column_count && c < CW_CELLS_COLUMNS; c++) {
            char text[SHOWN_TEXT];
            cw_sheet_in_cell_shown(kept->in, field, r, &field->columns[c], text, sizeof text);
            cw_cells_told(&cells, text, false);
        }
    cw_cells_finish(&cells, document);
}

static bool is_figure(const cw_field *field)
{
    return field->kind != CW_KIND_ROWS && field->kind != CW_KIND_DRAWING && field->kind != CW_KIND_MESH;
}

static void figures(cw_document *document, const cw_report_sheet *kept)
{
    cw_cells cells = {.narrow = true};
    cw_cells_column(&cells, "result", CW_CELL_START);
    cw_cells_column(&cells, "", CW_CELL_START);
    for (size_t i = 0; i < kept->sheet->output_count; i++) {
        const cw_field *field = &kept->sheet->outputs[i];
        char text[SHOWN_TEXT];
        if (!is_figure(field))
            continue;
        cw_sheet_out_shown(kept->sheet, kept->out, field, text, sizeof text);
        if (*text == '\0')
            continue;
        cw_cells_text(&cells, field->label);
        cw_cells_told(&cells, text, true);
    }
    cw_cells_finish(&cells, document);
}

static void rows(cw_document *document, const cw_report_sheet *kept, const cw_field *field)
{
    size_t count = cw_sheet_out_rows(kept->out, field);
    if (count == 0)
        return;
    cw_doc_heading(document, 3, field->label);
    cw_cells cells = {0};
    for (size_t c = 0; c < field->column_count; c++)
        cw_cells_column(&cells, field->columns[c].label,
                        field->columns[c].kind == CW_KIND_NUMBER ? CW_CELL_END : CW_CELL_START);
    for (size_t r = 0; r < count; r++) {
        for (size_t c = 0; c < field->column_count && c < CW_CELLS_COLUMNS; c++) {
            char text[SHOWN_TEXT];
            cw_sheet_out_cell_shown(kept->out, field, r, &field->columns[c], text, sizeof text);
            cw_cells_told(&cells, text, false);
        }
    }
    cw_cells_finish(&cells, document);
}

/* The person's own, as they were when it was kept; the program's stand in its tables. */
static void own_materials(cw_document *document, const cw_report_sheet *kept)
{
    char words[SHOWN_TEXT], text[SHOWN_TEXT + 16];
    bool own;
    for (size_t i = 0; cw_sheet_in_material(kept->in, i, words, sizeof words, &own); i++) {
        snprintf(text, sizeof text, "Material: %s", words);
        if (own)
            cw_doc_small(document, text);
    }
}

void cw_sheet_section(cw_document *document, const cw_report_sheet *kept)
{
    cw_doc_heading(document, 2, kept->sheet->title);
    cw_doc_labelled(document, "For", kept->title);
    cw_doc_labelled(document, "Says how it was", kept->when);
    inputs(document, kept);
    for (size_t i = 0; i < kept->sheet->input_count; i++)
        input_rows(document, kept, &kept->sheet->inputs[i]);
    figures(document, kept);
    for (size_t i = 0; i < kept->sheet->output_count; i++) {
        const cw_field *field = &kept->sheet->outputs[i];
        if (field->kind == CW_KIND_ROWS)
            rows(document, kept, field);
        if (field->kind == CW_KIND_DRAWING && cw_sheet_out_drawing(kept->out, field) != NULL)
            cw_doc_drawing(document, cw_sheet_out_drawing(kept->out, field), field->label);
    }
    for (size_t i = 0; i < cw_sheet_out_note_count(kept->out); i++)
        cw_doc_item_told(document, cw_sheet_out_note(kept->out, i));
    for (const char *const *tag = kept->sheet->cautions; tag != NULL && *tag != NULL; tag++)
        cw_doc_caution(document, cw_caution(*tag));
    cw_doc_small_told(document, kept->remark);
    for (const char *const *source = kept->sheet->sources; source != NULL && *source != NULL; source++) {
        cw_buf text = cw_buf_new(SHOWN_TEXT);
        cw_say(&text, "Source: %s", *source);
        cw_doc_small(document, cw_buf_string(&text));
        cw_buf_free(&text);
    }
    own_materials(document, kept);
}
