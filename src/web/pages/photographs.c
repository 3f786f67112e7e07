/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two photographs (or one reference and several tests): given to the page, compared at once while they lie in the
 * incoming folder, and only the comparison kept; then worked out under a setup, and kept as a test. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "notebook/job.h"
#include "web/page.h"
#include "web/pages/pages.h"
#include "web/pages/photographs_parts.h"
#include "web/pages/plan_form.h"
#include "web/pages/shutter_parts.h"
#include "web/pages/stored_test.h"

/* ---- taking them in ---- */

static cw_status open_incoming(const cw_incoming *incoming, cw_frame **frame, cw_error *err)
{
    cw_status status = cw_frame_open(cw_incoming_path(incoming), frame, err);
    if (status != CW_OK)
        cw_context(err, "%s", cw_incoming_name(incoming));
    return status;
}

/* The tests one after the other, so that no more than two or three photographs are in memory at once. */
static cw_status compare_all(cw_request *request, const cw_incoming *reference_file, const cw_incoming *dark_file,
                             cw_photo_compared *compared, size_t *count, cw_error *err)
{
    cw_frame *reference = NULL, *dark = NULL, *test = NULL;
    cw_incoming *test_file;
    cw_status status = open_incoming(reference_file, &reference, err);
    if (status == CW_OK && dark_file != NULL)
        status = open_incoming(dark_file, &dark, err);
    while (status == CW_OK && (test_file = cw_request_take_upload(request, "test")) != NULL) {
        if (*count == CW_PHOTO_TESTS_MOST)
            status = cw_fail(err, CW_RANGE, "more than %d test photographs; keep them as several tests",
                             CW_PHOTO_TESTS_MOST);
        if (status == CW_OK)
            status = open_incoming(test_file, &test, err);
        if (status == CW_OK)
            status = cw_photo_compare(reference, test, dark, cw_incoming_name(test_file), &compared[*count], err);
        *count += status == CW_OK;
        cw_frame_close(test);
        test = NULL;
        cw_incoming_abandon(test_file);
    }
    cw_frame_close(reference);
    cw_frame_close(dark);
    return status;
}

static cw_status keep_compared(cw_bench *bench, const cw_photo_compared *compared, size_t count, int64_t *id,
                               cw_error *err)
{
    json_t *object = cw_photo_compared_json(compared, count);
    char *text = cw_json_written(object, CW_JSON_KEPT), name[120];
    cw_incoming *incoming = NULL;
    snprintf(name, sizeof name, "%.80s compared.json", compared[0].name);
    cw_status status = text != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory to keep the comparison");
    if (status == CW_OK)
        status = cw_incoming_open(bench, CW_INCOMING_RECORDING, name, &incoming, err);
    if (status == CW_OK) {
        status = cw_incoming_write(incoming, text, strlen(text), err);
        if (status == CW_OK)
            status = cw_incoming_keep_recording(incoming, id, err);
        else
            cw_incoming_abandon(incoming);
    }
    json_decref(object);
    free(text);
    return status;
}

cw_status post_photographs(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_incoming *reference = cw_request_take_upload(request, "reference"),
                *dark = cw_request_take_upload(request, "dark");
    cw_photo_compared *compared = calloc(CW_PHOTO_TESTS_MOST, sizeof *compared);
    size_t count = 0;
    int64_t id = 0;
    cw_status status = compared != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory to compare photographs");
    if (status == CW_OK && reference == NULL)
        status = cw_fail(err, CW_INPUT, "the reference photograph is missing; choose it first");
    if (status == CW_OK)
        status = compare_all(request, reference, dark, compared, &count, err);
    if (status == CW_OK && count == 0)
        status = cw_fail(err, CW_INPUT, "the test photograph is missing; choose one, or several");
    if (status == CW_OK)
        status = keep_compared(request->bench, compared, count, &id, err);
    if (status == CW_OK)
        cw_go(request, reply, NULL, "/photographs/%" PRId64 "?job=%" PRId64 "&when=%.10s", id,
              cw_row_id(request, "job"), cw_value(request, "when", "before"));
    cw_incoming_abandon(reference);
    cw_incoming_abandon(dark);
    free(compared);
    return status;
}

/* ---- the page ---- */

static const cw_option_item travels[] = {{"right", "right"}, {"left", "left"}, {"down", "down"}, {"up", "up"}};

static bool all_marked(const cw_photo_view *view)
{
    for (size_t i = 0; i < view->count; i++)
        if (isnan(view->marked_s[i]))
            return false;
    return true;
}

static void write_ask(cw_request *request, cw_html *h, const cw_photo_view *view, const char *gate,
                      const char *reference)
{
    static const char *const first[] = {"frame-mm", "shutter", NULL};
    static const char *const more[] = {"geometric", "tolerance", NULL};
    static const char *const carried[] = {"job", "when", "test"};
    html_markup(h, "<section class='ask'><h2>What was fired</h2><form method='get' id='plan'");
    html_attrf(h, "action", "/photographs/%" PRId64, request->match.ids[0]);
    html_markup(h, ">");
    for (size_t i = 0; i < CW_COUNT(carried); i++)
        if (cw_value(request, carried[i], "")[0] != '\0')
            cw_field_hidden(h, carried[i], cw_value(request, carried[i], ""));
    for (size_t i = 0; i < view->count; i++) {
        char name[32], label[140], mark[CW_MARK_TEXT] = "";
        snprintf(name, sizeof name, "mark.%zu", i + 1);
        snprintf(label, sizeof label, "Marked speed of %s", view->compared[i].name);
        if (!isnan(view->marked_s[i]))
            cw_mark_text(view->marked_s[i], mark, sizeof mark);
        cw_field_input(request, h,
                       &(cw_input){.name = name, .label = label, .value = mark, .example = "1/125", .required = true});
    }
    cw_field_choice(request, h, "travel", "In the picture the curtains run", cw_photo_travel_name(view->setup.travel),
                    travels, CW_COUNT(travels), NULL);
    cw_plan_write_fields(request, h, &view->plan, first);
    html_markup(h, "<details><summary>Gate, reference, tolerance</summary>");
    cw_field_input(request, h,
                   &(cw_input){.name = "gate",
                               .label = "Film gate in the picture",
                               .value = gate,
                               .example = "0.1,0.12,0.9,0.88",
                               .help = "left, top, right, bottom as parts of it; found by its light unless given"});
    cw_field_input(request, h,
                   &(cw_input){.name = "reference-time",
                               .label = "Exposure of the reference",
                               .value = reference,
                               .example = "1/30",
                               .help = "instead of what the file says, where you know it better"});
    cw_field_input(request, h,
                   &(cw_input){.name = "places", .label = "Places along the travel", .value = "", .example = "5"});
    cw_plan_write_fields(request, h, &view->plan, more);
    html_markup(h, "</details><div class='actions'><button class='button'>Work it out</button></div></form>"
                   "</section>\n");
}

static void hide_kept(cw_html *h, const cw_photo_view *view)
{
    static const char *const plan_keys[] = {"frame-mm", "shutter", "geometric", "tolerance"};
    json_t *typed = cw_plan_json(&view->plan);
    for (size_t i = 0; i < CW_COUNT(plan_keys); i++)
        if (json_is_string(json_object_get(typed, plan_keys[i])))
            cw_field_hidden(h, plan_keys[i], json_string_value(json_object_get(typed, plan_keys[i])));
    json_decref(typed);
    char *text = cw_photo_setup_text(view);
    json_t *setup = text == NULL ? NULL : json_loads(text, 0, NULL);
    const char *key;
    json_t *value;
    json_object_foreach(setup, key, value) if (strcmp(key, "format") != 0)
        cw_field_hidden(h, key, json_string_value(value));
    json_decref(setup);
    free(text);
}

static cw_status write_keep(cw_request *request, cw_html *h, const cw_photo_view *view, cw_error *err)
{
    html_markup(h, "<section class='panel next'><h2>Keep it</h2><p class='soft'>The figures and maps are kept, not the "
                   "photographs themselves: keep the files where you keep photographs.</p>\n");
    cw_form_begin(request, h, false, "/photographs/%" PRId64 "/keep", request->match.ids[0]);
    hide_kept(h, view);
    cw_status status = CW_OK;
    if (cw_row_id(request, "test") > 0) {
        cw_field_hidden(h, "test", cw_value(request, "test", ""));
        cw_submit(h, "Keep the changed test");
    } else {
        status = cw_keep_write_fields(request, h, err);
        cw_submit(h, "Keep it as a test");
    }
    cw_form_end(h);
    html_markup(h, "</section>\n");
    return status;
}

static cw_status write_answer(cw_request *request, cw_html *h, const cw_photo_view *view, const cw_plan_result *result,
                              cw_error *err)
{
    if (result->test == NULL)
        return CW_OK;
    bool is_after = strcmp(cw_value(request, "when", ""), "after") == 0;
    html_markup(h, "<section class='answer'><h2>What it says</h2>\n");
    cw_write_summary(h, result->test);
    cw_write_speed_plot(h, is_after ? NULL : result->test, is_after ? result->test : NULL);
    cw_write_speed_table(h, result->test, true);
    html_markup(h, "</section>\n");
    return write_keep(request, h, view, err);
}

/* The test to be changed, or none. */
static cw_status test_of(cw_request *request, cw_test *test, cw_error *err)
{
    *test = (cw_test){0};
    if (cw_row_id(request, "test") == 0)
        return CW_OK;
    CW_TRY(cw_test_get(request->bench, cw_row_id(request, "test"), test, err));
    if (test->recording_id == request->match.ids[0])
        return CW_OK;
    cw_test_free(test);
    *test = (cw_test){0};
    return cw_fail(err, CW_INPUT, "that test was not made from these photographs");
}

/* Everything up to the evaluation; result->test stays NULL while speeds are missing. */
static cw_status work_out(cw_request *request, const cw_form *form, const cw_test *test, cw_photo_view *view,
                          cw_plan_result *result, cw_error *err)
{
    CW_TRY(cw_photo_view_load(request->bench, request->match.ids[0], view, err));
    CW_TRY(cw_photo_view_setup(form, test->id > 0 ? test : NULL, view, err));
    CW_TRY(cw_photo_view_judge(view, err));
    return all_marked(view) ? cw_photo_run(view->results, view->marked_s, view->count, &view->plan, result, err)
                            : CW_OK;
}

static cw_status write_page(cw_request *request, cw_reply *reply, cw_photo_view *view, const cw_test *test,
                            cw_error *err)
{
    const cw_form *form = request->writes ? &request->form : &request->target.query;
    cw_plan_result result = {0};
    cw_error refused = {0};
    char gate[96] = "", reference[40] = "";
    if (work_out(request, form, test, view, &result, &refused) != CW_OK && request->problem.status == CW_OK) {
        request->problem = refused;
        reply->code = cw_http_status(&refused);
    }
    if (view->count == 0)
        return cw_fail(err, CW_INPUT, "%s", request->problem.text);
    if (view->setup.right > 0)
        snprintf(gate, sizeof gate, "%.4g,%.4g,%.4g,%.4g", view->setup.left, view->setup.top, view->setup.right,
                 view->setup.bottom);
    if (!isnan(view->setup.reference_s))
        snprintf(reference, sizeof reference, "%.9g s", view->setup.reference_s);
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_MEASURE, "Two photographs");
    html_markup(h, "<p class='trail'>");
    cw_link(h, "", "Measure a shutter", "/measure?job=%" PRId64, cw_row_id(request, "job"));
    html_markup(h, "</p><h1>Two photographs</h1><div class='sheet'><div class='answer-side'>\n");
    cw_status status = write_answer(request, h, view, &result, err);
    cw_photo_write_maps(h, view);
    cw_photo_write_facts(h, view);
    html_markup(h, "</div>\n");
    write_ask(request, h, view, gate, reference);
    html_markup(h, "</div>\n");
    cw_page_end(reply);
    cw_plan_result_free(&result);
    return status;
}

cw_status page_photographs(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_test test;
    CW_TRY(test_of(request, &test, err));
    cw_photo_view *view = calloc(1, sizeof *view);
    cw_status status = view != NULL ? write_page(request, reply, view, &test, err)
                                    : cw_fail(err, CW_MEMORY, "no memory for the photographs");
    free(view);
    cw_test_free(&test);
    return status;
}

/* ---- twin and keeping ---- */

static json_t *pair_json(const cw_photo_view *view, size_t i)
{
    const cw_photo_result *result = &view->results[i];
    json_t *map = json_array();
    for (size_t k = 0; k < CW_PHOTO_CELLS; k++)
        json_array_append_new(map, isfinite(result->evenness_ev[k]) ? json_real(result->evenness_ev[k]) : json_null());
    return json_pack("{s:s,s:f,s:f,s:[f,f,f,f],s:f,s:f,s:i,s:i,s:o}", "name", view->compared[i].name, "middle_s",
                     result->middle_s.value, "u_middle_s", result->middle_s.u, "gate", result->left, result->top,
                     result->right, result->bottom, "clipped", result->clipped, "dark", result->dark, "columns",
                     CW_PHOTO_COLUMNS, "rows", CW_PHOTO_ROWS, "evenness_ev", map);
}

static json_t *view_json(const cw_photo_view *view, const cw_plan_result *result)
{
    json_t *pairs = json_array();
    json_t *object = result->test != NULL ? cw_plan_result_json(result)
                                          : json_pack("{s:s}", "format", "camerawright.photographs-view/1");
    for (size_t i = 0; i < view->count; i++)
        json_array_append_new(pairs, pair_json(view, i));
    json_object_set_new(object, "photographs", pairs);
    return object;
}

cw_status twin_photographs(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_test test;
    cw_plan_result result = {0};
    CW_TRY(test_of(request, &test, err));
    cw_photo_view *view = calloc(1, sizeof *view);
    cw_status status = view != NULL ? work_out(request, &request->target.query, &test, view, &result, err)
                                    : cw_fail(err, CW_MEMORY, "no memory for the photographs");
    if (status == CW_OK) {
        reply->json = view_json(view, &result);
        if (reply->json == NULL)
            status = cw_fail(err, CW_MEMORY, "no memory for the result");
    }
    cw_plan_result_free(&result);
    free(view);
    cw_test_free(&test);
    return status;
}

static cw_status store(cw_request *request, const cw_photo_view *view, const cw_test *old, const cw_plan_result *result,
                       int64_t *id, cw_error *err)
{
    char *setup = cw_photo_setup_text(view);
    cw_keep to;
    cw_test test = *old;
    cw_status status = setup != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory to keep the test");
    if (status == CW_OK && old->id == 0) {
        status = cw_keep_from_form(request, view->plan.measure.kind, &to, err);
        if (status == CW_OK)
            test = (cw_test){.job_id = to.job_id,
                             .when = (cw_when)to.when,
                             .title = to.title,
                             .notes = to.notes,
                             .recording_id = request->match.ids[0]};
    }
    test.trace_json = setup;
    if (status == CW_OK)
        status = cw_store_shutter(request->bench, &test, &view->plan, result, id, err);
    free(setup);
    return status;
}

static cw_status keep(cw_request *request, const cw_test *old, cw_photo_view *view, int64_t *id, cw_error *err)
{
    cw_plan_result result = {0};
    CW_TRY(work_out(request, &request->form, old, view, &result, err));
    if (result.test == NULL)
        return cw_fail(err, CW_INPUT, "say which speed each photograph was fired at first");
    cw_status status = cw_change_begin(request->bench, cw_row_id(request, "job"), "a shutter test by photographs", err);
    if (status == CW_OK) {
        status = store(request, view, old, &result, id, err);
        if (status == CW_OK)
            status = cw_change_commit(request->bench, err);
        else
            cw_change_cancel(request->bench);
    }
    cw_plan_result_free(&result);
    return status;
}

cw_status post_photographs_keep(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_test test;
    int64_t id;
    CW_TRY(test_of(request, &test, err));
    cw_photo_view *view = calloc(1, sizeof *view);
    cw_status status =
        view != NULL ? keep(request, &test, view, &id, err) : cw_fail(err, CW_MEMORY, "no memory for the photographs");
    free(view);
    cw_test_free(&test);
    if (status == CW_OK)
        cw_go(request, reply, "The test is kept.", "/tests/%" PRId64, id);
    return status;
}
