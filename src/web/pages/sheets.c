/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The worksheets: the list, a sheet with its form and result, its files, its place in a job. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "web/page.h"
#include "web/pages/levels_parts.h"
#include "web/pages/pages.h"
#include "web/pages/rack_parts.h"
#include "web/pages/sheet_run.h"

/* The groups to jump to, and the rack of tools. */
static void write_groups(cw_html *h, const cw_worksheet *const *sheets, size_t count)
{
    html_markup(h, "<ul class='filters' aria-label='Groups'>");
    for (size_t i = 0; i < count; i++) {
        if (i > 0 && strcmp(sheets[i]->group, sheets[i - 1]->group) == 0)
            continue;
        html_markup(h, "<li><a");
        html_attrf(h, "href", "#group-%zu", i);
        html_markup(h, ">");
        html_text(h, sheets[i]->group);
        html_markup(h, "</a></li>");
    }
    html_markup(h,
                "<li><a href='/tools'>The rack of tools</a></li><li><a href='/levels'>Reference levels</a></li><li><a "
                "href='/materials'>Your own materials</a></li></ul>\n");
}

cw_status page_sheets(cw_request *request, cw_reply *reply, cw_error *err)
{
    (void)err;
    cw_html *h = &reply->html;
    size_t count;
    const cw_worksheet *const *sheets = cw_worksheets(&count);
    cw_page_begin(request, reply, CW_PLACE_SHEETS, "Worksheets");
    html_markup(h,
                "<h1>Worksheets</h1>\n<p class='lead'>A calculation each: fill in what you measured, get the figure, "
                "the drawing to cut after, and its uncertainty.</p>\n");
    write_groups(h, sheets, count);
    for (size_t i = 0; i < count; i++) {
        bool opens = i == 0 || strcmp(sheets[i]->group, sheets[i - 1]->group) != 0;
        bool closes = i + 1 == count || strcmp(sheets[i]->group, sheets[i + 1]->group) != 0;
        if (opens) {
            html_markup(h, "<section class='group'");
            html_attrf(h, "id", "group-%zu", i);
            html_markup(h, "><h2>");
            html_text(h, sheets[i]->group);
            html_markup(h, "</h2><ul class='cards'>");
        }
        html_markup(h, "<li><a class='card' href='/worksheets/");
        html_url_part(h, sheets[i]->name);
        html_markup(h, "'><strong>");
        html_text(h, sheets[i]->title);
        html_markup(h, "</strong><span>");
        html_text(h, sheets[i]->purpose);
        html_markup(h, "</span></a></li>\n");
        if (closes)
            html_markup(h, "</ul></section>\n");
    }
    cw_page_end(reply);
    return CW_OK;
}

cw_status twin_sheets(cw_request *request, cw_reply *reply, cw_error *err)
{
    (void)request;
    size_t count;
    const cw_worksheet *const *sheets = cw_worksheets(&count);
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++)
        json_array_append_new(list, json_pack("{s:s,s:s,s:s,s:s}", "name", sheets[i]->name, "title", sheets[i]->title,
                                              "group", sheets[i]->group, "purpose", sheets[i]->purpose));
    reply->json = json_pack("{s:s,s:o}", "format", "camerawright.worksheets/1", "worksheets", list);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the list of worksheets");
}

static void write_sources(cw_html *h, const cw_worksheet *sheet)
{
    if (sheet->sources == NULL || sheet->sources[0] == NULL)
        return;
    html_markup(h, "<details><summary>Where the formulas come from</summary><ul>");
    for (const char *const *source = sheet->sources; *source != NULL; source++) {
        html_markup(h, "<li>");
        html_text(h, *source);
        html_markup(h, "</li>");
    }
    html_markup(h, "</ul></details>\n");
}

static void write_example_link(const cw_request *request, cw_html *h, const cw_worksheet *sheet)
{
    if (sheet->example == NULL)
        return;
    html_markup(h, "<a class='button' href='/worksheets/");
    html_url_part(h, sheet->name);
    for (const char *const *pair = sheet->example; pair[0] != NULL && pair[1] != NULL; pair += 2) {
        html_text(h, pair == sheet->example ? "?" : "&");
        html_url_part(h, pair[0]);
        html_markup(h, "=");
        html_url_part(h, pair[1]);
    }
    static const char *const aims[] = {"_job", "_part"};
    for (size_t i = 0; i < CW_COUNT(aims); i++)
        if (cw_row_id(request, aims[i]) > 0)
            html_textf(h, "&%s=%" PRId64, aims[i], cw_row_id(request, aims[i]));
    html_markup(h, "'>Show a worked example</a>");
}

static cw_status write_form(cw_request *request, cw_html *h, const cw_worksheet *sheet, const cw_form *form,
                            cw_error *err)
{
    html_markup(h, "<section class='ask'><h2>What you measured</h2><form method='get'");
    html_attrf(h, "action", "/worksheets/%s", sheet->name);
    html_markup(h, ">");
    cw_sheet_write_aim(request, h);
    CW_TRY(cw_sheet_write_fields(request, h, sheet, form, "", err));
    if (cw_sheet_takes_materials(sheet) || strcmp(sheet->name, "materials") == 0)
        html_markup(h, "<p><a href='/materials'>Materials of your own</a> are offered in the lists.</p>");
    html_markup(h, "<div class='actions'><button class='main'>Work it out</button>");
    write_example_link(request, h, sheet);
    html_markup(h, "</div></form></section>\n");
    return CW_OK;
}

enum { RACK_SHOWN = 3 };

/* Before another tool is made: what hangs in the rack for these sizes already. */
static cw_status write_rack(cw_request *request, cw_html *h, const cw_sheet_page *page, cw_error *err)
{
    cw_rack_need need;
    cw_tool_answer answer;
    if (page->out == NULL || !cw_sheet_need(page->sheet, page->in, page->out, &need))
        return CW_OK;
    CW_TRY(cw_tool_find(request->bench, &need, &answer, err));
    if (answer.count > 0) {
        html_markup(h, "<section class='panel' aria-label='The rack'><h2>In the rack for these sizes</h2>\n");
        cw_write_rack_answer(h, &answer, RACK_SHOWN);
        html_markup(h, "</section>\n");
    }
    cw_tool_answer_free(&answer);
    return CW_OK;
}

cw_status page_sheet(cw_request *request, cw_reply *reply, cw_error *err)
{
    const cw_worksheet *sheet;
    CW_TRY(cw_sheet_named(request, &sheet, err));
    const cw_form *form = request->writes ? &request->form : &request->target.query;
    cw_sheet_page page = {.sheet = sheet};
    bool filled = cw_sheet_is_filled(sheet, form);
    if (filled) { /* also where keeping the result was refused: it is still the result */
        cw_error refused = {0};
        if (cw_sheet_page_run(request->bench, sheet, form, &page, &refused) != CW_OK &&
            request->problem.status == CW_OK) {
            request->problem = refused;
            reply->code = cw_http_status(&refused);
        }
    }
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_SHEETS, sheet->title);
    html_markup(h, "<p class='trail'><a href='/worksheets'>Worksheets</a></p><h1>");
    html_text(h, sheet->title);
    html_markup(h, "</h1>\n<p class='lead'>");
    html_text(h, sheet->purpose);
    html_markup(h, "</p>\n");
    cw_status status = write_rack(request, h, &page, err);
    cw_cautions(h, sheet->cautions);
    html_markup(h, "<div class='sheet'>\n");
    if (status == CW_OK && page.out != NULL) {
        html_markup(h, "<section class='answer' aria-label='Result'><h2>Result</h2>\n");
        cw_sheet_write_result(request, h, &page);
        status = cw_sheet_write_keep(request, h, &page, form, err);
        html_markup(h, "</section>\n");
    }
    cw_form levels = {0};
    bool takes_levels = strcmp(sheet->name, "meter-check") == 0;
    if (status == CW_OK && takes_levels && !filled)
        status = cw_levels_form(request->bench, cw_value(request, "_levels", ""), &levels, err);
    if (status == CW_OK)
        status = write_form(request, h, sheet, levels.count > 0 ? &levels : form, err);
    cw_form_free(&levels);
    html_markup(h, "</div>\n");
    if (takes_levels && !filled)
        cw_write_levels_offer(request, h);
    write_sources(h, sheet);
    cw_page_end(reply);
    cw_sheet_page_free(&page);
    return status;
}

static json_t *field_json(const cw_field *field)
{
    static const char *const kinds[] = {"number", "choice", "text", "rows", "verdict", "drawing", "mesh"};
    return json_pack("{s:s,s:s,s:s,s:s?,s:s?,s:b,s:s?}", "key", field->key, "label", field->label, "kind",
                     kinds[field->kind], "unit", field->unit, "fallback", field->fallback, "required",
                     (int)field->required, "help", field->help);
}

static json_t *fields_json(const cw_field *fields, size_t count)
{
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++) {
        json_t *one = field_json(&fields[i]);
        if (fields[i].kind == CW_KIND_ROWS && one != NULL)
            json_object_set_new(one, "columns", fields_json(fields[i].columns, fields[i].column_count));
        json_array_append_new(list, one);
    }
    return list;
}

/* With inputs: the result. Without: what it asks for. */
cw_status twin_sheet(cw_request *request, cw_reply *reply, cw_error *err)
{
    const cw_worksheet *sheet;
    CW_TRY(cw_sheet_named(request, &sheet, err));
    if (cw_sheet_is_filled(sheet, &request->target.query)) {
        cw_sheet_page page;
        CW_TRY(cw_sheet_page_run(request->bench, sheet, &request->target.query, &page, err));
        reply->json = cw_sheet_json(sheet, page.in, page.out);
        cw_sheet_page_free(&page);
    } else {
        reply->json = json_pack("{s:s,s:s,s:s,s:s,s:s,s:o,s:o}", "format", "camerawright.worksheet-form/1", "name",
                                sheet->name, "title", sheet->title, "group", sheet->group, "purpose", sheet->purpose,
                                "inputs", fields_json(sheet->inputs, sheet->input_count), "outputs",
                                fields_json(sheet->outputs, sheet->output_count));
    }
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for this worksheet");
}

cw_status get_sheet_file(cw_request *request, cw_reply *reply, cw_error *err)
{
    const cw_worksheet *sheet;
    CW_TRY(cw_sheet_named(request, &sheet, err));
    cw_sheet_page page;
    CW_TRY(cw_sheet_page_run(request->bench, sheet, &request->target.query, &page, err));
    cw_status status =
        cw_sheet_reply_file(&page, request->match.words[1], cw_value(request, "_paper", "A4"), reply, err);
    cw_sheet_page_free(&page);
    return status;
}
