/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A worksheet's result, from its table of outputs. */
#include <inttypes.h>
#include <string.h>

#include "web/page.h"
#include "web/pages/sheet_run.h"

enum { SHOWN_TEXT = 1024 };

static const char *verdict_class(cw_verdict verdict)
{
    switch (verdict) {
    case CW_VERDICT_INSIDE:
        return "verdict good";
    case CW_VERDICT_OUTSIDE:
        return "verdict bad";
    case CW_VERDICT_TOO_CLOSE:
        return "verdict close";
    case CW_VERDICT_UNKNOWN:
        return "verdict";
    }
    return "verdict";
}

static void write_line(cw_html *h, const cw_sheet_page *page, const cw_field *field)
{
    char text[SHOWN_TEXT];
    cw_sheet_out_shown(page->sheet, page->out, field, text, sizeof text);
    if (text[0] == '\0')
        return;
    html_markup(h, "<div><dt>");
    html_text(h, field->label);
    html_markup(h, "</dt><dd");
    if (field->kind == CW_KIND_VERDICT)
        html_attr(h, "class", verdict_class(cw_sheet_out_verdict(page->out, field)));
    html_markup(h, ">");
    html_said(h, text);
    html_markup(h, "</dd>");
    if (field->help != NULL) {
        html_markup(h, "<dd class='help'>");
        html_text(h, field->help);
        html_markup(h, "</dd>");
    }
    html_markup(h, "</div>\n");
}

/* whose: before its name where several stand on one page; NULL: alone */
static void write_table(cw_html *h, const cw_sheet_page *page, const cw_field *field, const char *whose)
{
    size_t rows = cw_sheet_out_rows(page->out, field);
    if (rows == 0)
        return;
    html_markup(h, "<div class='scroll' tabindex='0' role='region'");
    html_attrf(h, "aria-label", "%s%s%s", whose != NULL ? whose : "", whose != NULL ? ": " : "", field->label);
    html_markup(h, "><table><caption>");
    html_text(h, field->label);
    html_markup(h, "</caption><thead><tr>");
    for (size_t c = 0; c < field->column_count; c++) {
        html_markup(h, "<th scope='col'>");
        html_text(h, field->columns[c].label);
        html_markup(h, "</th>");
    }
    html_markup(h, "</tr></thead><tbody>");
    for (size_t row = 0; row < rows; row++) {
        html_markup(h, "<tr>");
        for (size_t c = 0; c < field->column_count; c++) {
            char text[SHOWN_TEXT];
            cw_sheet_out_cell_shown(page->out, field, row, &field->columns[c], text, sizeof text);
            html_markup(h, "<td>");
            html_said(h, text);
            html_markup(h, "</td>");
        }
        html_markup(h, "</tr>\n");
    }
    html_markup(h, "</tbody></table></div>\n");
}

void cw_sheet_write_tables(cw_html *h, const cw_sheet_page *page, const char *whose)
{
    for (size_t i = 0; i < page->sheet->output_count; i++)
        if (page->sheet->outputs[i].kind == CW_KIND_ROWS)
            write_table(h, page, &page->sheet->outputs[i], whose);
}

void cw_sheet_write_query(cw_html *h, const cw_worksheet *sheet, const cw_form *form)
{
    bool first = true;
    for (size_t i = 0; i < form->count; i++) {
        const cw_form_entry *entry = &form->entries[i];
        if (entry->value[0] == '\0' || cw_sheet_field_of(sheet, entry->name) == NULL)
            continue;
        html_text(h, first ? "?" : "&");
        html_url_part(h, entry->name);
        html_markup(h, "=");
        html_url_part(h, entry->value);
        first = false;
    }
}

static void write_download(const cw_request *request, cw_html *h, const cw_sheet_page *page, const cw_field *field,
                           const char *ending, const char *label)
{
    html_markup(h, "<a class='button' href='");
    if (page->saved_id > 0) {
        html_textf(h, "/saved/%" PRId64, page->saved_id);
    } else {
        html_markup(h, "/worksheets/");
        html_url_part(h, page->sheet->name);
    }
    html_markup(h, "/");
    html_url_part(h, field->key);
    html_text(h, ending);
    if (page->saved_id == 0)
        cw_sheet_write_query(h, page->sheet, request->writes ? &request->form : &request->target.query);
    html_markup(h, "'>");
    html_text(h, label);
    html_markup(h, "</a>");
}

static void write_drawing(const cw_request *request, cw_html *h, const cw_sheet_page *page, const cw_field *field)
{
    const cw_drawing *drawing = cw_sheet_out_drawing(page->out, field);
    if (drawing == NULL)
        return;
    html_markup(h, "<figure class='drawing'>");
    html_drawing(h, drawing);
    html_markup(h, "<figcaption>");
    html_text(h, field->label);
    html_markup(h, ". On paper: print the PDF at 100 %, without scaling, and check the 50 mm bar.</figcaption>"
                   "<div class='downloads'>");
    write_download(request, h, page, field, ".pdf", "PDF, true size");
    write_download(request, h, page, field, ".svg", "SVG");
    write_download(request, h, page, field, ".dxf", "DXF");
    html_markup(h, "</div></figure>\n");
}

static void write_mesh(const cw_request *request, cw_html *h, const cw_sheet_page *page, const cw_field *field)
{
    if (cw_sheet_out_mesh(page->out, field) == NULL)
        return;
    html_markup(h, "<div class='downloads'>");
    html_text(h, field->label);
    html_markup(h, ": ");
    write_download(request, h, page, field, ".stl", "STL");
    html_markup(h, "</div>\n");
}

void cw_sheet_write_materials(cw_html *h, const cw_sheet_in *in)
{
    char words[SHOWN_TEXT];
    bool own;
    if (!cw_sheet_in_material(in, 0, words, sizeof words, &own))
        return;
    html_markup(h, "<details><summary>The materials, and where their figures come from</summary><ul>");
    for (size_t i = 0; cw_sheet_in_material(in, i, words, sizeof words, &own); i++) {
        html_markup(h, "<li>");
        if (own)
            html_markup(h, "<strong>Your own:</strong> ");
        html_text(h, words);
        html_markup(h, "</li>");
    }
    html_markup(h, "</ul></details>\n");
}

void cw_sheet_write_result(const cw_request *request, cw_html *h, const cw_sheet_page *page)
{
    const cw_worksheet *sheet = page->sheet;
    html_markup(h, "<dl class='results'>");
    for (size_t i = 0; i < sheet->output_count; i++)
        if (sheet->outputs[i].kind < CW_KIND_ROWS || sheet->outputs[i].kind == CW_KIND_VERDICT)
            write_line(h, page, &sheet->outputs[i]);
    html_markup(h, "</dl>\n");
    for (size_t i = 0; i < cw_sheet_out_note_count(page->out); i++) {
        html_markup(h, "<p class='notice'>");
        html_said(h, cw_sheet_out_note(page->out, i));
        html_markup(h, "</p>\n");
    }
    for (size_t i = 0; i < sheet->output_count; i++) {
        const cw_field *field = &sheet->outputs[i];
        if (field->kind == CW_KIND_ROWS)
            write_table(h, page, field, NULL);
        else if (field->kind == CW_KIND_DRAWING)
            write_drawing(request, h, page, field);
        else if (field->kind == CW_KIND_MESH)
            write_mesh(request, h, page, field);
    }
    cw_sheet_write_materials(h, page->in);
}
