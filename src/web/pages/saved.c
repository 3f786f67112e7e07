/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A worksheet's result that was kept in a job. The figures are worked out again from the kept inputs; where an earlier
 * program version had found others, the page says so. */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "notebook/job.h"
#include "notebook/material.h"
#include "notebook/test.h"
#include "web/page.h"
#include "web/pages/pages.h"
#include "web/pages/sheet_run.h"

typedef struct {
    cw_saved_sheet saved;
    json_t *stored;
    cw_sheet_page page;
} kept;

static cw_status run_kept(kept *made, cw_error *err)
{
    made->page.sheet = cw_worksheet_find(made->saved.worksheet);
    if (made->page.sheet == NULL)
        return cw_fail(err, CW_NOT_FOUND, "this program has no worksheet \"%.60s\" any more", made->saved.worksheet);
    json_error_t where;
    made->stored = json_loads(made->saved.result_json, 0, &where);
    if (made->stored == NULL)
        return cw_fail(err, CW_STORE, "the kept worksheet cannot be read: %s", where.text);
    made->page.saved_id = made->saved.id;
    CW_TRY(cw_sheet_in_from_kept(made->page.sheet, made->stored, &made->page.in, err));
    return cw_sheet_run(made->page.sheet, made->page.in, &made->page.out, err);
}

static void free_kept(kept *one)
{
    cw_sheet_page_free(&one->page);
    json_decref(one->stored);
    cw_saved_sheet_free(&one->saved);
}

static cw_status get_kept(cw_request *request, kept *one, cw_error *err)
{
    *one = (kept){0};
    CW_TRY(cw_saved_sheet_get(request->bench, request->match.ids[0], &one->saved, err));
    cw_status status = run_kept(one, err);
    if (status != CW_OK)
        free_kept(one);
    return status;
}

static void write_inputs(cw_html *h, const kept *one)
{
    html_markup(h, "<details><summary>What it was worked out from</summary><dl class='results small'>");
    for (size_t i = 0; i < one->page.sheet->input_count; i++) {
        char text[1024];
        cw_sheet_in_shown(one->page.sheet, one->page.in, &one->page.sheet->inputs[i], text, sizeof text);
        if (text[0] == '\0')
            continue;
        html_markup(h, "<div><dt>");
        html_text(h, one->page.sheet->inputs[i].label);
        html_markup(h, "</dt><dd>");
        html_said(h, text);
        html_markup(h, "</dd></div>");
    }
    html_markup(h, "</dl></details>\n");
}

static bool differs(const kept *one)
{
    json_t *now = cw_sheet_json(one->page.sheet, one->page.in, one->page.out);
    bool other = !json_equal(json_object_get(now, "outputs"), json_object_get(one->stored, "outputs"));
    json_decref(now);
    return other;
}

static bool same_figures(const json_t *copy, const cw_material_entry *entry)
{
    size_t count;
    const cw_own_figure *figures = cw_own_figures(&count);
    json_t *now = cw_material_json(entry);
    bool same = true;
    for (size_t i = 0; i < count; i++) {
        const json_t *was = json_object_get(copy, figures[i].key), *is = json_object_get(now, figures[i].key);
        same = same && (was == NULL ? json_is_null(is) : json_equal(was, is));
    }
    json_decref(now);
    return same;
}

/* The entry form, filled with what the result has of it. */
static void write_enter_again(cw_html *h, const json_t *copy)
{
    static const char *const texts[] = {"name", "kind", "source"};
    size_t count;
    const cw_own_figure *figures = cw_own_figures(&count);
    html_markup(h, "<a class='button' href='/materials?");
    for (size_t i = 0; i < CW_COUNT(texts); i++) {
        html_textf(h, "%s%s=", i > 0 ? "&" : "", texts[i]);
        html_url_part(h, json_string_value(json_object_get(copy, texts[i])));
    }
    for (size_t i = 0; i < count; i++) {
        const json_t *figure = json_object_get(copy, figures[i].key), *u = json_object_get(figure, "u");
        const cw_unit *unit = cw_unit_find(figures[i].dimension, figures[i].unit);
        if (figure != NULL)
            html_textf(h, "&%s=%.9g", figures[i].key,
                       cw_to_unit(json_number_value(json_object_get(figure, "value")), unit));
        if (json_is_number(u))
            html_textf(h, "&%s-u=%.9g", figures[i].key, json_number_value(u) / unit->factor);
    }
    html_markup(h, "#new'>Enter it again</a>");
}

/* What the person has changed or removed since does not change what was kept; it is only said. */
static cw_status write_own_materials(cw_request *request, cw_html *h, const kept *one, cw_error *err)
{
    const json_t *material;
    size_t index;
    json_array_foreach(json_object_get(one->stored, "materials"), index, material)
    {
        const char *name = json_string_value(json_object_get(material, "name"));
        cw_material_entry entry;
        if (!json_is_true(json_object_get(material, "own")) || name == NULL)
            continue;
        cw_status status = cw_material_get_named(request->bench, name, &entry, err);
        if (status != CW_OK && status != CW_NOT_FOUND)
            return status;
        bool same = status == CW_OK && same_figures(material, &entry);
        if (!same) {
            html_markup(h, "<p class='notice'>");
            html_textf(h,
                       status == CW_OK ? "Your material \"%s\" has other figures now; this result goes on with what it "
                                         "had of it."
                                       : "\"%s\" is not among your materials; this result goes on with what it had of "
                                         "it.",
                       name);
            html_markup(h, "</p>\n");
        }
        if (status == CW_OK) {
            cw_material_entry_free(&entry);
        } else {
            html_markup(h, "<div class='actions'>");
            write_enter_again(h, material);
            html_markup(h, "</div>\n");
        }
    }
    return CW_OK;
}

cw_status page_saved(cw_request *request, cw_reply *reply, cw_error *err)
{
    kept one;
    cw_job job;
    CW_TRY(get_kept(request, &one, err));
    cw_status status = cw_job_get(request->bench, one.saved.job_id, &job, err);
    if (status != CW_OK) {
        free_kept(&one);
        return status;
    }
    cw_html *h = &reply->html;
    const char *title = one.saved.title[0] != '\0' ? one.saved.title : one.page.sheet->title;
    cw_page_begin(request, reply, CW_PLACE_BENCH, title);
    html_markup(h, "<p class='trail'>");
    cw_link(h, "", job.camera, "/jobs/%" PRId64 "#sheets", job.id);
    html_markup(h, "</p><h1>");
    html_text(h, title);
    html_markup(h, "</h1>\n<p class='lead'>");
    html_text(h, one.page.sheet->title);
    html_markup(h, "</p>\n");
    cw_cautions(h, one.page.sheet->cautions);
    if (differs(&one)) {
        html_markup(h, "<p class='notice close'>");
        html_textf(h,
                   "When this was kept, version %s of the program found other figures; these are worked out anew from "
                   "the same inputs.",
                   one.saved.program_version);
        html_markup(h, "</p>\n");
    }
    status = write_own_materials(request, h, &one, err);
    html_markup(h, "<section class='answer'>\n");
    cw_sheet_write_result(request, h, &one.page);
    write_inputs(h, &one);
    html_markup(h, "<div class='actions'>");
    char aim[64];
    snprintf(aim, sizeof aim, "%" PRId64, one.saved.job_id);
    json_t *inputs = json_copy(json_object_get(one.stored, "inputs"));
    json_object_set_new(inputs, "_job", json_string(aim));
    cw_write_inputs_link(h, one.page.sheet, "", inputs, "Change the numbers");
    json_decref(inputs);
    cw_link(h, "button", "Compare with another design", "/worksheets/%s/compare?_kept_a=%" PRId64, one.page.sheet->name,
            one.saved.id);
    cw_button_form(request, h, true, "Take it out of the job", "/saved/%" PRId64 "/delete", one.saved.id);
    html_markup(h, "</div></section>\n");
    cw_page_end(reply);
    cw_job_free(&job);
    free_kept(&one);
    return status;
}

cw_status twin_saved(cw_request *request, cw_reply *reply, cw_error *err)
{
    kept one;
    CW_TRY(get_kept(request, &one, err));
    reply->json = json_incref(one.stored);
    free_kept(&one);
    return CW_OK;
}

cw_status get_saved_file(cw_request *request, cw_reply *reply, cw_error *err)
{
    kept one;
    CW_TRY(get_kept(request, &one, err));
    cw_status status =
        cw_sheet_reply_file(&one.page, request->match.words[0], cw_value(request, "_paper", "A4"), reply, err);
    free_kept(&one);
    return status;
}

cw_status post_saved_delete(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_saved_sheet saved;
    CW_TRY(cw_saved_sheet_get(request->bench, request->match.ids[0], &saved, err));
    int64_t job_id = saved.job_id;
    cw_saved_sheet_free(&saved);
    CW_TRY(cw_saved_sheet_delete(request->bench, request->match.ids[0], err));
    cw_go(request, reply, "Taken out. \"History and undo\" brings it back.", "/jobs/%" PRId64, job_id);
    return CW_OK;
}
