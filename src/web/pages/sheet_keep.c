/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A worksheet's result kept: in a job, as how a part is to be made, as a tool of the rack; and kept inputs as a link.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "notebook/job.h"
#include "notebook/rack.h"
#include "notebook/step.h"
#include "web/page.h"
#include "web/pages/pages.h"
#include "web/pages/sheet_run.h"

enum { JOBS_OFFERED = 50, WORDS_MOST = 8000 };

static void query_value(cw_html *h, const char *name, const char *column, size_t row, const json_t *value, bool *first)
{
    const json_t *number = json_is_object(value) ? json_object_get(value, "value") : value;
    const char *unit = json_is_object(value) ? json_string_value(json_object_get(value, "unit")) : NULL;
    char text[400];
    if (json_is_string(number))
        snprintf(text, sizeof text, "%s", json_string_value(number));
    else if (json_is_number(number))
        snprintf(text, sizeof text, "%.10g%s%s", json_number_value(number), unit != NULL && unit[0] != '\0' ? " " : "",
                 unit != NULL ? unit : "");
    else
        return;
    html_text(h, *first ? "?" : "&");
    *first = false;
    html_url_part(h, name);
    if (column != NULL) {
        html_textf(h, ".%zu.", row);
        html_url_part(h, column);
    }
    html_markup(h, "=");
    html_url_part(h, text);
}

void cw_write_inputs_link(cw_html *h, const cw_worksheet *sheet, const char *file, const json_t *inputs,
                          const char *label)
{
    bool first = true;
    const char *key, *column;
    json_t *value, *row, *cell;
    size_t index;
    html_markup(h, "<a class='button' href='/worksheets/");
    html_url_part(h, sheet->name);
    if (file[0] != '\0') {
        html_markup(h, "/");
        html_url_part(h, file);
    }
    json_object_foreach((json_t *)inputs, key, value)
    {
        if (!json_is_array(value)) {
            query_value(h, key, NULL, 0, value, &first);
            continue;
        }
        json_array_foreach(value, index, row)
        {
            json_object_foreach(row, column, cell)
            {
                query_value(h, key, column, index, cell, &first);
            }
        }
    }
    html_markup(h, "'>");
    html_text(h, label);
    html_markup(h, "</a>");
}

void cw_sheet_write_aim(const cw_request *request, cw_html *h)
{
    static const char *const names[] = {"_job", "_part"};
    for (size_t i = 0; i < CW_COUNT(names); i++)
        if (cw_row_id(request, names[i]) > 0)
            cw_field_hidden(h, names[i], cw_value(request, names[i], ""));
    if (cw_value(request, "_when", "")[0] != '\0')
        cw_field_hidden(h, "_when", cw_value(request, "_when", ""));
}

/* The inputs once more, hidden, so that what is kept is what is shown. */
static void write_hidden_inputs(cw_html *h, const cw_worksheet *sheet, const cw_form *form)
{
    for (size_t i = 0; i < form->count; i++)
        if (form->entries[i].value[0] != '\0' && cw_sheet_field_of(sheet, form->entries[i].name) != NULL)
            cw_field_hidden(h, form->entries[i].name, form->entries[i].value);
}

static void write_job_list(cw_request *request, cw_html *h, const char *id, const cw_job_list *jobs, bool may_be_none)
{
    int64_t chosen = cw_row_id(request, "_job");
    html_markup(h, "<div class='field'><label");
    html_attr(h, "for", id);
    html_markup(h, ">Job</label><select name='_job'");
    html_attr(h, "id", id);
    html_markup(h, ">");
    if (may_be_none)
        html_markup(h, "<option value=''>none</option>");
    for (size_t i = 0; i < jobs->count; i++) {
        html_markup(h, "<option");
        html_attrf(h, "value", "%" PRId64, jobs->items[i].id);
        html_flag(h, "selected", jobs->items[i].id == chosen);
        html_markup(h, ">");
        html_textf(h, "%s %s (%s)", jobs->items[i].camera, jobs->items[i].serial, cw_stage_label(jobs->items[i].stage));
        html_markup(h, "</option>");
    }
    html_markup(h, "</select></div>\n");
}

static void write_title_field(cw_request *request, cw_html *h, const char *id, const char *label, const char *example)
{
    html_markup(h, "<div class='field'><label");
    html_attr(h, "for", id);
    html_markup(h, ">");
    html_text(h, label);
    html_markup(h, "</label><input type='text' name='_title' autocomplete='off'");
    html_attr(h, "id", id);
    html_attr(h, "placeholder", example);
    html_attr(h, "value", cw_value(request, "_title", NULL));
    html_markup(h, "></div>\n");
}

/* "Keep as a tool I made": it hangs in the rack with its sizes, drawing, inputs and job. */
static void write_tool_form(cw_request *request, cw_html *h, const cw_worksheet *sheet, const cw_form *form,
                            const cw_job_list *jobs)
{
    html_markup(h, "<details class='keep'");
    html_flag(h, "open", request->writes); /* it was refused: what was typed is in sight */
    html_markup(h, "><summary>Keep as a tool I made</summary>");
    cw_form_begin(request, h, false, "/worksheets/%s/tool", sheet->name);
    write_hidden_inputs(h, sheet, form);
    write_title_field(request, h, "in-tool-name", "Name", "wrench for the rear ring");
    html_markup(h, "<div class='field'><label for='in-tool-place'>Where it hangs</label><input type='text' "
                   "name='_place' id='in-tool-place' autocomplete='off'");
    html_attr(h, "value", cw_value(request, "_place", NULL));
    html_markup(h, "></div>\n");
    if (jobs->count > 0)
        write_job_list(request, h, "in-tool-job", jobs, true);
    cw_submit(h, "Hang it in the rack");
    cw_form_end(h);
    html_markup(h, "</details>\n");
}

/* For the part the sheet was opened for. */
static cw_status write_part_form(cw_request *request, cw_html *h, const cw_worksheet *sheet, const cw_form *form,
                                 cw_error *err)
{
    cw_part part;
    int64_t part_id = cw_row_id(request, "_part");
    CW_TRY(cw_part_get(request->bench, part_id, &part, err));
    html_markup(h, "<section class='keep'><h3>");
    html_textf(h, "For the part: %s %s %s", part.kind, part.size, part.length);
    html_markup(h, "</h3>");
    cw_form_begin(request, h, false, "/worksheets/%s/save", sheet->name);
    write_hidden_inputs(h, sheet, form);
    cw_sheet_write_aim(request, h);
    write_title_field(request, h, "in-part-title", "What it is for", "new pin for the lever");
    cw_submit(h, "This is how it is to be made");
    cw_form_end(h);
    html_markup(h, "</section>\n");
    cw_part_free(&part);
    return CW_OK;
}

static const cw_option_item moments[] = {
    {"", "Only worked out"}, {"before", "How it was before the work"}, {"after", "How it is after the work"}};

/* Came here from a job to test it: what is kept is that test. */
static void write_test_form(cw_request *request, cw_html *h, const cw_worksheet *sheet, const cw_form *form)
{
    bool after = strcmp(cw_value(request, "_when", ""), "after") == 0;
    html_markup(h, "<section class='keep'>");
    cw_form_begin(request, h, false, "/worksheets/%s/save", sheet->name);
    write_hidden_inputs(h, sheet, form);
    cw_sheet_write_aim(request, h);
    cw_submit(h, after ? "Keep it as the test after the work" : "Keep it as the test before the work");
    cw_form_end(h);
    html_markup(h, "</section>\n");
}

static void write_job_form(cw_request *request, cw_html *h, const cw_worksheet *sheet, const cw_form *form,
                           const cw_job_list *jobs)
{
    html_markup(h, "<details class='keep'");
    html_flag(h, "open", request->writes); /* it was refused: what was typed is in sight */
    html_markup(h, "><summary>Keep this in a job</summary>");
    cw_form_begin(request, h, false, "/worksheets/%s/save", sheet->name);
    write_hidden_inputs(h, sheet, form);
    write_job_list(request, h, "in-_job", jobs, false);
    write_title_field(request, h, "in-_title", "What it is for", "rear retaining ring");
    cw_field_choice(request, h, "_when", "What it says", "", moments, CW_COUNT(moments), NULL);
    cw_submit(h, "Keep in the job");
    cw_form_end(h);
    html_markup(h, "</details>\n");
}

/* Nothing to vary: no link. */
static void write_compare_link(const cw_request *request, cw_html *h, const cw_worksheet *sheet, const cw_form *form)
{
    if (sheet->input_count == 0)
        return;
    html_markup(h, "<div class='actions'><a class='button' href='/worksheets/");
    html_url_part(h, sheet->name);
    html_markup(h, "/compare");
    cw_sheet_write_query(h, sheet, form);
    if (cw_row_id(request, "_job") > 0)
        html_textf(h, "&_job=%" PRId64, cw_row_id(request, "_job"));
    html_markup(h, "'>Compare with another design</a></div>\n");
}

cw_status cw_sheet_write_keep(cw_request *request, cw_html *h, const cw_sheet_page *page, const cw_form *form,
                              cw_error *err)
{
    cw_job_list jobs;
    write_compare_link(request, h, page->sheet, form);
    if (cw_row_id(request, "_part") > 0)
        CW_TRY(write_part_form(request, h, page->sheet, form, err));
    CW_TRY(cw_job_page(request->bench, &(cw_job_filter){.most = JOBS_OFFERED}, &jobs, err));
    if (page->sheet->tool != NULL)
        write_tool_form(request, h, page->sheet, form, &jobs);
    if (cw_row_id(request, "_job") > 0 && cw_value(request, "_when", "")[0] != '\0')
        write_test_form(request, h, page->sheet, form);
    else if (jobs.count > 0)
        write_job_form(request, h, page->sheet, form, &jobs);
    cw_job_list_free(&jobs);
    return CW_OK;
}

static cw_status keep_result(cw_request *request, const cw_sheet_page *page, int64_t job_id, int64_t part_id,
                             cw_error *err)
{
    int64_t saved_id;
    char words[WORDS_MOST];
    cw_moment moment;
    CW_TRY(cw_moment_parse(cw_posted(request, "_when"), &moment, err));
    json_t *result = cw_sheet_json(page->sheet, page->in, page->out);
    char *text = cw_json_written(result, CW_JSON_KEPT);
    json_decref(result);
    if (text == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to keep this worksheet");
    cw_saved_sheet saved = {.job_id = job_id,
                            .worksheet = page->sheet->name,
                            .moment = moment,
                            .title = cw_posted(request, "_title"),
                            .program_version = CW_VERSION,
                            .result_json = text};
    cw_sheet_words(page->sheet, page->out, words, sizeof words);
    cw_status status = part_id > 0 ? cw_part_to_make(request->bench, part_id, &saved, words, &saved_id, err)
                                   : cw_saved_sheet_add(request->bench, &saved, &saved_id, err);
    free(text);
    return status;
}

cw_status post_sheet_save(cw_request *request, cw_reply *reply, cw_error *err)
{
    const cw_worksheet *sheet;
    CW_TRY(cw_sheet_named(request, &sheet, err));
    int64_t job_id = cw_row_id(request, "_job"), part_id = cw_row_id(request, "_part");
    if (job_id == 0 && part_id == 0)
        return cw_fail(err, CW_INPUT, "choose the job this belongs to");
    cw_sheet_page page;
    CW_TRY(cw_sheet_page_run(request->bench, sheet, &request->form, &page, err));
    cw_status status = keep_result(request, &page, job_id, part_id, err);
    if (status == CW_OK && part_id > 0)
        cw_go(request, reply, "It says on the part how it is to be made.", "/parts/%" PRId64, part_id);
    else if (status == CW_OK && cw_posted(request, "_when")[0] != '\0')
        cw_go(request, reply, "The test is kept in the job.", "/jobs/%" PRId64 "#next", job_id);
    else if (status == CW_OK)
        cw_go(request, reply, "The worksheet is kept in the job.", "/jobs/%" PRId64 "#sheets", job_id);
    cw_sheet_page_free(&page);
    return status;
}

cw_status post_sheet_tool(cw_request *request, cw_reply *reply, cw_error *err)
{
    const cw_worksheet *sheet;
    cw_sheet_page page;
    cw_sheet_made made;
    int64_t id;
    CW_TRY(cw_sheet_named(request, &sheet, err));
    CW_TRY(cw_sheet_page_run(request->bench, sheet, &request->form, &page, err));
    cw_status status = cw_sheet_make_tool(sheet, page.in, page.out, &made, err);
    cw_sheet_page_free(&page);
    CW_TRY(status);
    const char *title = cw_posted(request, "_title");
    cw_tool tool = {.name = title[0] != '\0' ? title : sheet->title,
                    .kind = sheet->name,
                    .made = true,
                    .sizes_json = made.sizes_json,
                    .drawing_svg = made.drawing_svg,
                    .inputs_json = made.inputs_json,
                    .made_for_job_id = cw_row_id(request, "_job"),
                    .place = cw_posted(request, "_place")};
    status = cw_tool_add(request->bench, &tool, &id, err);
    if (status == CW_OK)
        cw_go(request, reply, "It hangs in the rack.", "/tools/%" PRId64, id);
    cw_sheet_made_free(&made);
    return status;
}
