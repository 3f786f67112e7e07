/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two designs of one worksheet side by side. The first design's inputs stand in the address under their own names, the
 * other's changes under CW_OTHER_DESIGN; either may be a result that was kept in a job (_kept_a, _kept_b). */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "notebook/job.h"
#include "notebook/test.h"
#include "web/page.h"
#include "web/pages/pages.h"
#include "web/pages/sheet_run.h"
#include "worksheets/compare.h"

/* A longer text is advice, and stands on its design's own page. */
enum { KEPT_MOST = 200, SHOWN_TEXT = 1024, REMARK_MOST = 120 };

typedef struct {
    cw_form form; /* its inputs as typed */
    cw_saved_sheet saved;
    json_t *kept; /* of saved; NULL: it is no kept result */
    cw_sheet_page page;
} design;

typedef struct {
    const cw_worksheet *sheet;
    design first, other;
    bool asked;     /* another design is named */
    int64_t job_id; /* whose kept results are offered; 0: no job is known */
} compared;

static void design_free(design *d)
{
    cw_sheet_page_free(&d->page);
    json_decref(d->kept);
    cw_saved_sheet_free(&d->saved);
    cw_form_free(&d->form);
}

static void compared_free(compared *c)
{
    design_free(&c->first);
    design_free(&c->other);
}

/* ---- reading ---- */

static cw_status add(cw_form *form, const char *name, const char *value, cw_error *err)
{
    return cw_form_add(form, name, strlen(name), value, strlen(value), err);
}

static bool has_part_of(const cw_form *form, const cw_field *field)
{
    size_t length = strlen(field->key);
    for (size_t i = 0; i < form->count; i++)
        if (strncmp(form->entries[i].name, field->key, length) == 0 &&
            (form->entries[i].name[length] == '\0' || form->entries[i].name[length] == '.'))
            return true;
    return false;
}

/* The entries of the sheet's own inputs whose names begin with the prefix, without it. */
static cw_status take_inputs(const cw_worksheet *sheet, const cw_form *from, const char *prefix, cw_form *to,
                             cw_error *err)
{
    size_t length = strlen(prefix);
    for (size_t i = 0; i < from->count; i++) {
        const char *name = from->entries[i].name;
        if (strncmp(name, prefix, length) == 0 && cw_sheet_field_of(sheet, name + length) != NULL)
            CW_TRY(add(to, name + length, from->entries[i].value, err));
    }
    return CW_OK;
}

/* What the other design does not say is as in the first; a table of inputs is said whole. */
static cw_status fill_up(const cw_worksheet *sheet, const cw_form *from, cw_form *to, cw_error *err)
{
    size_t said = to->count;
    for (size_t k = 0; k < sheet->input_count; k++) {
        cw_form of_this = {.count = said, .entries = to->entries};
        if (has_part_of(&of_this, &sheet->inputs[k]))
            continue;
        for (size_t i = 0; i < from->count; i++)
            if (cw_sheet_field_of(sheet, from->entries[i].name) == &sheet->inputs[k])
                CW_TRY(add(to, from->entries[i].name, from->entries[i].value, err));
    }
    return CW_OK;
}

static cw_status add_kept_value(const char *name, const json_t *value, cw_form *form, cw_error *err)
{
    const json_t *number = json_is_object(value) ? json_object_get(value, "value") : value;
    const char *unit = json_is_object(value) ? json_string_value(json_object_get(value, "unit")) : NULL;
    char text[80];
    if (json_is_string(number))
        return add(form, name, json_string_value(number), err);
    if (!json_is_number(number))
        return CW_OK;
    snprintf(text, sizeof text, "%.10g%s%s", json_number_value(number), unit != NULL && unit[0] != '\0' ? " " : "",
             unit != NULL ? unit : "");
    return add(form, name, text, err);
}

/* Kept inputs as they would stand in a form. */
static cw_status form_of_kept(const json_t *inputs, cw_form *form, cw_error *err)
{
    const char *key, *column;
    json_t *value, *row, *cell;
    size_t index;
    char name[CW_FORM_NAME_MOST + 1];
    json_object_foreach((json_t *)inputs, key, value)
    {
        if (!json_is_array(value)) {
            CW_TRY(add_kept_value(key, value, form, err));
            continue;
        }
        json_array_foreach(value, index, row)
        {
            json_object_foreach(row, column, cell)
            {
                snprintf(name, sizeof name, "%s.%zu.%s", key, index, column);
                CW_TRY(add_kept_value(name, cell, form, err));
            }
        }
    }
    return CW_OK;
}

static cw_status read_kept(cw_bench *bench, const cw_worksheet *sheet, int64_t id, design *d, cw_error *err)
{
    CW_TRY(cw_saved_sheet_get(bench, id, &d->saved, err));
    if (strcmp(d->saved.worksheet, sheet->name) != 0)
        return cw_fail(err, CW_INPUT,
                       "the kept result %" PRId64 " is of the worksheet \"%.60s\"; two of one kind can be compared", id,
                       d->saved.worksheet);
    d->kept = json_loads(d->saved.result_json, 0, NULL);
    if (d->kept == NULL)
        return cw_fail(err, CW_STORE, "the kept worksheet %" PRId64 " cannot be read", id);
    return form_of_kept(json_object_get(d->kept, "inputs"), &d->form, err);
}

/* A kept result with the materials it had, anything else with those of the bench. */
static cw_status run_design(cw_bench *bench, const cw_worksheet *sheet, design *d, cw_error *err)
{
    if (d->kept == NULL)
        return cw_sheet_page_run(bench, sheet, &d->form, &d->page, err);
    d->page.sheet = sheet;
    d->page.saved_id = d->saved.id;
    CW_TRY(cw_sheet_in_from_kept(sheet, d->kept, &d->page.in, err));
    return cw_sheet_run(sheet, d->page.in, &d->page.out, err);
}

static cw_status read_designs(cw_request *request, compared *c, cw_error *err)
{
    const cw_form *query = &request->target.query;
    int64_t kept_first = cw_row_id(request, "_kept_a"), kept_other = cw_row_id(request, "_kept_b");
    if (kept_first > 0)
        CW_TRY(read_kept(request->bench, c->sheet, kept_first, &c->first, err));
    else
        CW_TRY(take_inputs(c->sheet, query, "", &c->first.form, err));
    CW_TRY(take_inputs(c->sheet, query, CW_OTHER_DESIGN, &c->other.form, err));
    c->asked = c->other.form.count > 0 || kept_other > 0;
    if (c->other.form.count == 0 && kept_other > 0)
        CW_TRY(read_kept(request->bench, c->sheet, kept_other, &c->other, err));
    else
        CW_TRY(fill_up(c->sheet, &c->first.form, &c->other.form, err));
    c->job_id = c->first.saved.job_id > 0 ? c->first.saved.job_id : cw_row_id(request, "_job");
    return CW_OK;
}

static cw_status run_designs(cw_request *request, compared *c, cw_error *err)
{
    if (run_design(request->bench, c->sheet, &c->first, err) != CW_OK) {
        cw_context(err, "the first design");
        return err->status;
    }
    if (c->asked && run_design(request->bench, c->sheet, &c->other, err) != CW_OK) {
        cw_context(err, "the other design");
        return err->status;
    }
    return CW_OK;
}

/* ---- the table ---- */

static void write_group(cw_html *h, const char *words)
{
    html_markup(h, "<tr><th colspan='3' scope='colgroup' class='group'>");
    html_text(h, words);
    html_markup(h, "</th></tr>\n");
}

static void write_cells(cw_html *h, const char *label, const char *a, const char *b, bool marked)
{
    html_markup(h, "<tr><th scope='row'>");
    html_text(h, label);
    html_markup(h, "</th><td>");
    html_text(h, a[0] != '\0' ? a : "-");
    html_markup(h, "</td><td>");
    if (marked)
        html_markup(h, "<strong>\xe2\x89\xa0 ");
    html_text(h, b[0] != '\0' ? b : "-");
    if (marked)
        html_markup(h, "</strong>");
    html_markup(h, "</td></tr>\n");
}

/* Inputs that differ, or those that do not. */
static size_t write_inputs(cw_html *h, const compared *c, bool differing)
{
    size_t written = 0;
    for (size_t i = 0; i < c->sheet->input_count; i++) {
        const cw_field *field = &c->sheet->inputs[i];
        char a[SHOWN_TEXT], b[SHOWN_TEXT];
        if (cw_sheet_input_differs(c->first.page.in, c->other.page.in, field) != differing)
            continue;
        if (field->kind == CW_KIND_ROWS) {
            snprintf(a, sizeof a, "%zu", cw_sheet_in_rows(c->first.page.in, field));
            snprintf(b, sizeof b, "%zu", cw_sheet_in_rows(c->other.page.in, field));
        } else {
            cw_sheet_in_shown(c->sheet, c->first.page.in, field, a, sizeof a);
            cw_sheet_in_shown(c->sheet, c->other.page.in, field, b, sizeof b);
        }
        if (a[0] == '\0' && b[0] == '\0')
            continue;
        write_cells(h, field->label, a, b, differing);
        written++;
    }
    return written;
}

static const cw_sheet_ranking *ranking_of(const cw_sheet_ranking *rankings, size_t count, const cw_field *output)
{
    for (size_t i = 0; i < count; i++)
        if (rankings[i].output == output)
            return &rankings[i];
    return NULL;
}

static void write_output_cell(cw_html *h, const design *d, const cw_field *field, const cw_sheet_ranking *ranking,
                              int which)
{
    static const char *const classes[] = {[CW_VERDICT_INSIDE] = "good",
                                          [CW_VERDICT_OUTSIDE] = "bad",
                                          [CW_VERDICT_TOO_CLOSE] = "close",
                                          [CW_VERDICT_UNKNOWN] = ""};
    char text[SHOWN_TEXT];
    cw_sheet_out_shown(d->page.sheet, d->page.out, field, text, sizeof text);
    html_markup(h, "<td>");
    if (field->kind == CW_KIND_VERDICT && text[0] != '\0') {
        html_markup(h, "<span");
        html_attrf(h, "class", "verdict sentence %s", classes[cw_sheet_out_verdict(d->page.out, field)]);
        html_markup(h, ">");
        html_text(h, text);
        html_markup(h, "</span>");
    } else {
        html_text(h, text[0] != '\0' ? text : "-");
    }
    if (ranking != NULL && ranking->better == which) {
        html_markup(h, "<br><strong class='better'>\xe2\x96\xb2 ");
        html_text(h, ranking->word);
        html_textf(h, ", %.3g times", ranking->ratio);
        html_markup(h, "</strong>");
        if (ranking->overlap)
            html_markup(h, "<br><span class='soft'>the uncertainties overlap</span>");
    }
    html_markup(h, "</td>");
}

static void write_outputs(cw_html *h, const compared *c)
{
    cw_sheet_ranking rankings[CW_RANKINGS_MOST];
    size_t count = cw_sheet_rank(c->sheet, c->first.page.out, c->other.page.out, rankings);
    for (size_t i = 0; i < c->sheet->output_count; i++) {
        const cw_field *field = &c->sheet->outputs[i];
        const cw_sheet_ranking *ranking = ranking_of(rankings, count, field);
        char a[SHOWN_TEXT], b[SHOWN_TEXT];
        if (field->kind != CW_KIND_NUMBER && field->kind != CW_KIND_VERDICT && field->kind != CW_KIND_TEXT)
            continue;
        cw_sheet_out_shown(c->sheet, c->first.page.out, field, a, sizeof a);
        cw_sheet_out_shown(c->sheet, c->other.page.out, field, b, sizeof b);
        bool advice = field->kind == CW_KIND_TEXT && (strlen(a) > REMARK_MOST || strlen(b) > REMARK_MOST);
        if (advice || (a[0] == '\0' && b[0] == '\0'))
            continue;
        html_markup(h, "<tr><th scope='row'>");
        html_text(h, field->label);
        html_markup(h, "</th>");
        write_output_cell(h, &c->first, field, ranking, 0);
        write_output_cell(h, &c->other, field, ranking, 1);
        html_markup(h, "</tr>\n");
    }
}

static void write_design_head(cw_html *h, const design *d, const char *plain)
{
    html_markup(h, "<th scope='col'>");
    html_text(h, plain);
    if (d->kept != NULL) {
        html_markup(h, "<br><span class='soft'>");
        if (d->saved.title[0] != '\0')
            html_text(h, d->saved.title);
        else
            html_textf(h, "kept result %" PRId64, d->saved.id);
        html_markup(h, "</span>");
    }
    html_markup(h, "</th>");
}

/* Tables of outputs, drawings and notes stay with each design's own page. */
static void write_compared(cw_html *h, const compared *c)
{
    html_markup(h, "<section class='answer' aria-label='Both designs'><h2>Both designs</h2><table "
                   "class='both'><thead><tr><td></td>");
    write_design_head(h, &c->first, "First design");
    write_design_head(h, &c->other, "Other design");
    html_markup(h, "</tr></thead><tbody>\n");
    write_group(h, "Inputs that differ");
    if (write_inputs(h, c, true) == 0)
        html_markup(h, "<tr><td colspan='3'>None: the two are the same so far.</td></tr>\n");
    write_group(h, "What comes out");
    write_outputs(h, c);
    html_markup(h, "</tbody></table>\n<details><summary>Inputs that are the same</summary><table><tbody>");
    write_inputs(h, c, false);
    html_markup(h, "</tbody></table></details>\n");
}

static void write_tables(cw_html *h, const compared *c)
{
    bool any = false;
    for (size_t i = 0; i < c->sheet->output_count; i++)
        any = any || (c->sheet->outputs[i].kind == CW_KIND_ROWS &&
                      cw_sheet_out_rows(c->first.page.out, &c->sheet->outputs[i]) +
                              cw_sheet_out_rows(c->other.page.out, &c->sheet->outputs[i]) >
                          0);
    if (!any)
        return;
    html_markup(h, "<h3>First design</h3>\n");
    cw_sheet_write_tables(h, &c->first.page, "First design");
    html_markup(h, "<h3>Other design</h3>\n");
    cw_sheet_write_tables(h, &c->other.page, "Other design");
}

/* ---- links and forms ---- */

static void write_design_link(cw_html *h, const compared *c, const design *d, const char *label)
{
    if (d->kept != NULL) {
        cw_link(h, "button", label, "/saved/%" PRId64, d->saved.id);
        return;
    }
    html_markup(h, "<a class='button' href='/worksheets/");
    html_url_part(h, c->sheet->name);
    cw_sheet_write_query(h, c->sheet, &d->form);
    if (c->job_id > 0)
        html_textf(h, "&_job=%" PRId64, c->job_id);
    html_markup(h, "'>");
    html_text(h, label);
    html_markup(h, "</a>");
}

static void write_first_hidden(cw_html *h, const compared *c)
{
    char id[32];
    if (c->first.kept != NULL) {
        snprintf(id, sizeof id, "%" PRId64, c->first.saved.id);
        cw_field_hidden(h, "_kept_a", id);
    }
    for (size_t i = 0; c->first.kept == NULL && i < c->first.form.count; i++)
        if (c->first.form.entries[i].value[0] != '\0')
            cw_field_hidden(h, c->first.form.entries[i].name, c->first.form.entries[i].value);
    if (c->job_id > 0) {
        snprintf(id, sizeof id, "%" PRId64, c->job_id);
        cw_field_hidden(h, "_job", id);
    }
}

static cw_status write_form(cw_request *request, cw_html *h, const compared *c, cw_error *err)
{
    html_markup(h, "<section class='ask'><h2>The other design</h2><p class='soft'>It begins as the first; change what "
                   "is to differ.</p><form method='get'");
    html_attrf(h, "action", "/worksheets/%s/compare", c->sheet->name);
    html_markup(h, ">");
    write_first_hidden(h, c);
    CW_TRY(cw_sheet_write_fields(request, h, c->sheet, &c->other.form, CW_OTHER_DESIGN, err));
    html_markup(h, "<div class='actions'><button class='main'>Compare</button></div></form></section>\n");
    return CW_OK;
}

static void write_kept_link(cw_html *h, const compared *c, const cw_saved_sheet *saved)
{
    html_markup(h, "<a class='button' href='/worksheets/");
    html_url_part(h, c->sheet->name);
    html_markup(h, "/compare");
    if (c->first.kept != NULL) {
        html_textf(h, "?_kept_a=%" PRId64, c->first.saved.id);
    } else {
        cw_sheet_write_query(h, c->sheet, &c->first.form);
        html_textf(h, "&_job=%" PRId64, c->job_id);
    }
    html_textf(h, "&_kept_b=%" PRId64, saved->id);
    html_markup(h, "'>");
    if (saved->title[0] != '\0')
        html_text(h, saved->title);
    else
        html_textf(h, "kept result %" PRId64, saved->id);
    html_markup(h, "</a>");
}

/* Results of this worksheet that were kept in the same job. */
static cw_status write_kept_offer(cw_request *request, cw_html *h, const compared *c, cw_error *err)
{
    cw_saved_sheet_list list;
    bool any = false;
    if (c->job_id == 0)
        return CW_OK;
    CW_TRY(cw_saved_sheet_page(request->bench, c->job_id, 0, KEPT_MOST, &list, err));
    for (size_t i = 0; i < list.count; i++) {
        if (strcmp(list.items[i].worksheet, c->sheet->name) != 0 || list.items[i].id == c->first.saved.id)
            continue;
        if (!any)
            html_markup(h, "<section class='panel ask'><h2>Or one that is kept in the job</h2><div class='actions'>");
        any = true;
        write_kept_link(h, c, &list.items[i]);
    }
    if (any)
        html_markup(h, "</div></section>\n");
    cw_saved_sheet_list_free(&list);
    return CW_OK;
}

/* ---- the page ---- */

static void write_answer(cw_html *h, const compared *c)
{
    if (c->first.page.out == NULL || c->other.page.out == NULL)
        return;
    write_compared(h, c);
    write_tables(h, c);
    html_markup(h, "<div class='actions'>");
    write_design_link(h, c, &c->first, "Open the first design");
    write_design_link(h, c, &c->other, "Open the other design");
    html_markup(h, "</div></section>\n");
}

static void write_way_back(cw_html *h, const compared *c)
{
    html_markup(h, "<div class='actions'>");
    write_design_link(h, c, &c->first, "Open the first design");
    html_markup(h, "</div>\n");
}

cw_status page_compare(cw_request *request, cw_reply *reply, cw_error *err)
{
    compared c = {0};
    CW_TRY(cw_sheet_named(request, &c.sheet, err));
    cw_status status = read_designs(request, &c, err);
    cw_error refused = {0};
    if (status == CW_OK && run_designs(request, &c, &refused) != CW_OK) {
        request->problem = refused;
        reply->code = cw_http_status(&refused);
    }
    cw_html *h = &reply->html;
    if (status == CW_OK) {
        cw_page_begin(request, reply, CW_PLACE_SHEETS, "Two designs side by side");
        html_markup(h, "<p class='trail'><a href='/worksheets'>Worksheets</a></p><h1>Two designs side by side</h1>\n"
                       "<p class='lead'>");
        html_text(h, c.sheet->title);
        html_markup(h, "</p>\n");
        cw_cautions(h, c.sheet->cautions);
        html_markup(h, "<div class='sheet'>\n");
        if (c.first.page.out == NULL) /* it can only be mended on its own page */
            write_way_back(h, &c);
        write_answer(h, &c);
        status = write_form(request, h, &c, err);
        html_markup(h, "</div>\n");
    }
    if (status == CW_OK)
        status = write_kept_offer(request, h, &c, err);
    if (status == CW_OK)
        cw_page_end(reply);
    compared_free(&c);
    return status;
}

cw_status twin_compare(cw_request *request, cw_reply *reply, cw_error *err)
{
    compared c = {0};
    CW_TRY(cw_sheet_named(request, &c.sheet, err));
    cw_status status = read_designs(request, &c, err);
    if (status == CW_OK && !c.asked)
        status =
            cw_fail(err, CW_INPUT,
                    "say what differs in the other design, like %splate=3mm, or which kept result it is, _kept_b=3",
                    CW_OTHER_DESIGN);
    if (status == CW_OK)
        status = run_designs(request, &c, err);
    if (status == CW_OK) {
        reply->json =
            cw_sheet_compare_json(c.sheet, c.first.page.in, c.first.page.out, c.other.page.in, c.other.page.out);
        if (reply->json == NULL)
            status = cw_fail(err, CW_MEMORY, "no memory for the two designs");
    }
    compared_free(&c);
    return status;
}
