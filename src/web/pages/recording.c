/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A recording given to the page: looked at under a plan, which is confirmed or changed, then kept as a test. */
#include "web/pages/recording_parts.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/test.h"
#include "web/page.h"
#include "web/pages/pages.h"
#include "web/pages/plan_form.h"
#include "web/pages/shutter_parts.h"
#include "web/pages/stored_test.h"

/* A person knows the file by the name it was sent under, not by the place where it is kept. */
static void call_by_name(cw_bench *bench, int64_t id, const char *path, cw_error *err)
{
    cw_recording recording;
    cw_error ignored;
    char rest[CW_ERROR_TEXT];
    size_t n = strlen(path);
    if (strncmp(err->text, path, n) != 0 || cw_recording_get(bench, id, &recording, &ignored) != CW_OK)
        return;
    memcpy(rest, err->text + n, strlen(err->text + n) + 1);
    snprintf(err->text, sizeof err->text, "\"%.120s\"%.800s", recording.name, rest);
    cw_recording_free(&recording);
}

cw_status cw_recording_open(cw_bench *bench, int64_t id, const cw_source_options *options, cw_source **source,
                            cw_error *err)
{
    char path[4096];
    CW_TRY(cw_recording_path(bench, id, path, sizeof path, err));
    cw_status status = cw_source_open(path, options, source, err);
    if (status != CW_OK)
        call_by_name(bench, id, path, err);
    return status;
}

cw_status post_recording(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_incoming *incoming = cw_request_take_upload(request, "recording");
    int64_t id;
    if (incoming == NULL)
        return cw_fail(err, CW_INPUT, "no recording came with it; choose the file first");
    CW_TRY(cw_incoming_keep_recording(incoming, &id, err));
    cw_go(request, reply, NULL, "/recordings/%" PRId64 "?job=%" PRId64 "&when=%.10s", id, cw_row_id(request, "job"),
          cw_value(request, "when", "before"));
    return CW_OK;
}

/* The test this plan is to change, or nothing. The caller frees *test. */
static cw_status test_to_change(cw_request *request, cw_test *test, cw_error *err)
{
    *test = (cw_test){0};
    if (cw_row_id(request, "test") == 0)
        return CW_OK;
    CW_TRY(cw_test_get(request->bench, cw_row_id(request, "test"), test, err));
    if (test->recording_id == request->match.ids[0])
        return CW_OK;
    cw_test_free(test);
    return cw_fail(err, CW_INPUT, "that test was not made from this recording");
}

/* The plan: of the test to be changed or the default, with what the form says over it. */
static cw_status plan_of(const cw_form *form, const cw_test *test, cw_shutter_plan *plan, cw_error *err)
{
    bool typed = cw_form_get(form, "shutter") != NULL;
    *plan = cw_plan_default();
    if (test->id > 0 && !typed)
        CW_TRY(cw_stored_plan(test, plan, err));
    return cw_plan_from_form(form, plan, err);
}

static cw_status run_plan(cw_request *request, const cw_shutter_plan *plan, cw_plan_result *result, cw_error *err)
{
    cw_source *source;
    CW_TRY(cw_recording_open(request->bench, request->match.ids[0], &plan->source, &source, err));
    cw_status status = cw_plan_run(plan, source, result, err);
    cw_source_close(source);
    return status;
}

/* ---- the page ---- */

static void write_facts(cw_request *request, cw_html *h)
{
    cw_source *source;
    cw_error err = {0};
    if (cw_recording_open(request->bench, request->match.ids[0], NULL, &source, &err) != CW_OK) {
        html_markup(h, "<p class='notice bad'>");
        html_sentence(h, err.text);
        html_markup(h, "</p>\n");
        return;
    }
    const cw_source_info *about = cw_source_about(source);
    html_markup(h, "<p class='lead'>");
    html_textf(h, "%zu %s, ", about->channels, about->channels == 1 ? "channel" : "channels");
    if (about->form == CW_SOURCE_SAMPLED)
        html_textf(h, "%.6g samples a second, ", about->rate_hz);
    html_textf(h, "%.3g s long.", about->length_s);
    html_markup(h, "</p>\n");
    cw_source_close(source);
}

static void write_warnings(cw_html *h, const json_t *recording)
{
    size_t index;
    json_t *warning;
    json_array_foreach(json_object_get(recording, "warnings"), index, warning)
    {
        html_markup(h, "<p class='notice close'>");
        html_sentence(h, json_string_value(warning));
        html_markup(h, "</p>\n");
    }
}

/* How far the exposures on one sensor reach over all shots, as a ratio; 1 when it saw nothing. */
static double range_of(const cw_shutter_test *test, size_t sensor)
{
    double least = INFINITY, most = 0;
    for (size_t i = 0; i < test->shot_count; i++) {
        double exposure_s =
            sensor < test->shots[i].sensor_count ? test->shots[i].sensors[sensor].exposure_s.value : NAN;
        least = fmin(least, exposure_s); /* fmin and fmax leave NaN out */
        most = fmax(most, exposure_s);
    }
    return least > 0 && most >= least ? most / least : 1;
}

/* A channel that lights for the same time at every speed is no sensor behind a shutter, but a flash contact. */
static void write_contact_hint(cw_request *request, cw_html *h, const cw_shutter_test *test)
{
    size_t sensors = test->shot_count > 0 ? test->shots[0].sensor_count : 0, contact = 0;
    double widest = 1;
    for (size_t k = 0; k < sensors; k++)
        widest = fmax(widest, range_of(test, k));
    for (size_t k = 0; k < sensors; k++)
        if (widest > 4 && range_of(test, k) < 1.1)
            contact = k + 1;
    if (contact == 0 || sensors < 2 || cw_value(request, "contact-channel", "")[0] != '\0')
        return;
    html_markup(h, "<div class='notice'><p>");
    html_textf(h, "Channel %zu shows the same time in every shot, whatever the speed. A flash contact looks like that.",
               contact);
    html_markup(h, "</p>");
    html_markup(h, "<p><button class='button' form='plan' name='contact-channel'");
    html_attrf(h, "value", "%zu", contact);
    html_markup(h, ">");
    html_textf(h, "Take channel %zu as the flash contact", contact);
    html_markup(h, "</button></p></div>\n");
}

static void write_shot_times(cw_html *h, const cw_shot *shot)
{
    for (size_t k = 0; k < shot->sensor_count; k++) {
        if (k > 0)
            html_markup(h, ", ");
        html_shutter_time(h, shot->sensors[k].exposure_s.value);
    }
}

/* Each shot with the speed it is taken for, to be left out by a tick. The ticks belong to the plan's form. */
static void write_shots(cw_request *request, cw_html *h, const cw_shutter_test *test)
{
    html_markup(
        h, "<section class='panel'><h2>Shots found</h2><p class='soft'>Tick what is to be left out, say why, "
           "and work it out again.</p>"
           "<div class='scroll' tabindex='0' role='region' aria-label='Shots'><table class='entry'>"
           "<thead><tr><th scope='col'>Shot</th><th scope='col'>At, s</th><th scope='col'>Taken for</th>"
           "<th scope='col'>Measured</th><th scope='col'>Leave out</th><th scope='col'>Why</th></tr></thead><tbody>");
    for (size_t i = 0; i < test->shot_count; i++) {
        const cw_shot *shot = &test->shots[i];
        char mark[CW_MARK_TEXT];
        cw_mark_text(shot->marked_s, mark, sizeof mark);
        html_markup(h, "<tr><th scope='row'>");
        html_textf(h, "%zu", i + 1);
        html_markup(h, "</th><td>");
        html_textf(h, "%.3f", shot->at_s);
        html_markup(h, "</td><td>");
        html_text(h, mark);
        html_markup(h, "</td><td>");
        write_shot_times(h, shot);
        html_markup(h, "</td><td><label class='tick'><input type='checkbox' value='1' form='plan'");
        html_attrf(h, "name", "strike.%zu", i + 1);
        html_attrf(h, "aria-label", "Leave out shot %zu", i + 1);
        html_flag(h, "checked", shot->struck);
        html_markup(h, "></label></td><td><input type='text' autocomplete='off' form='plan'");
        char why[32];
        snprintf(why, sizeof why, "why.%zu", i + 1);
        html_attr(h, "name", why);
        html_attrf(h, "aria-label", "Why shot %zu is left out", i + 1);
        html_attr(h, "value", cw_value(request, why, ""));
        html_markup(h, "></td></tr>\n");
    }
    html_markup(h, "</tbody></table></div></section>\n");
}

static void write_plan(cw_request *request, cw_html *h, const cw_shutter_plan *plan)
{
    static const char *const first[] = {"marked-list", "shots-per-speed", "shutter", "sensors-mm", "frame-mm", NULL};
    static const char *const more[] = {"beam", "contact-channel", "coupling", "geometric", "tolerance", NULL};
    static const char *const rare[] = {"clock-ppm", "place-mm", "separator", "sample-interval", NULL};
    html_markup(h, "<section class='ask'><h2>The plan of the test</h2><form method='get' id='plan'");
    html_attrf(h, "action", "/recordings/%" PRId64, request->match.ids[0]);
    html_markup(h, ">");
    static const char *const carried[] = {"job", "when", "test"};
    for (size_t i = 0; i < CW_COUNT(carried); i++)
        if (cw_value(request, carried[i], "")[0] != '\0')
            cw_field_hidden(h, carried[i], cw_value(request, carried[i], ""));
    cw_plan_write_fields(request, h, plan, first);
    html_markup(h, "<details><summary>Light, contact, tolerance</summary>");
    cw_plan_write_fields(request, h, plan, more);
    cw_plan_write_own_tolerance(request, h, plan);
    html_markup(h, "</details><details><summary>Recorder and file</summary>");
    cw_plan_write_fields(request, h, plan, rare);
    html_markup(h, "</details><div class='actions'><button class='button'>Work it out with this plan</button></div>"
                   "</form></section>\n");
}

static cw_status write_keep(cw_request *request, cw_html *h, const cw_test *test, bool proposed, cw_error *err)
{
    static const char *const own[] = {"job", "when", "camera", "title", "test", "reason", "revision", NULL};
    const cw_form *form = request->writes ? &request->form : &request->target.query;
    html_markup(h, "<section class='panel next'><h2>");
    html_text(h, proposed ? "Are these the speeds you fired?" : "Keep it");
    html_markup(h, "</h2>\n");
    if (proposed)
        html_markup(h, "<p>If not, write the list you fired into the plan, and work it out again.</p>\n");
    cw_form_begin(request, h, false, "/recordings/%" PRId64 "/keep", request->match.ids[0]);
    cw_write_hidden_form(h, form, own);
    if (test->id > 0) {
        char revision[32];
        snprintf(revision, sizeof revision, "%" PRId64, test->revision);
        cw_field_hidden(h, "test", cw_value(request, "test", ""));
        cw_field_hidden(h, "revision", cw_value(request, "revision", revision));
        cw_field_input(request, h,
                       &(cw_input){.name = "reason", .label = "Why it is corrected", .required = true, .value = ""});
        cw_submit(h, "Keep the changed test");
    } else {
        CW_TRY(cw_keep_write_fields(request, h, err));
        cw_submit(h, proposed ? "Yes, keep it as a test" : "Keep it as a test");
    }
    cw_form_end(h);
    html_markup(h, "</section>\n");
    return CW_OK;
}

static cw_status write_result(cw_request *request, cw_html *h, const cw_test *test, const cw_plan_result *result,
                              cw_error *err)
{
    html_markup(h, "<section class='answer'><h2>What it says</h2>\n");
    write_warnings(h, result->recording);
    if (result->proposed) {
        html_markup(h, "<p class='notice'>");
        html_sentence(h, result->proposal.text);
        html_markup(h, "</p>\n");
    }
    cw_write_summary(h, result->test);
    write_contact_hint(request, h, result->test);
    bool is_after = strcmp(cw_value(request, "when", ""), "after") == 0;
    cw_write_speed_plot(h, is_after ? NULL : result->test, is_after ? result->test : NULL);
    cw_write_speed_table(h, result->test, false);
    html_markup(h, "</section>\n");
    CW_TRY(write_keep(request, h, test, result->proposed, err));
    write_shots(request, h, result->test);
    return CW_OK;
}

static cw_status write_page(cw_request *request, cw_reply *reply, const cw_recording *recording, const cw_test *test,
                            cw_error *err)
{
    const cw_form *form = request->writes ? &request->form : &request->target.query;
    cw_shutter_plan plan = cw_plan_default();
    cw_plan_result result = {0};
    cw_error refused = {0};
    cw_status ran = plan_of(form, test, &plan, &refused);
    if (ran == CW_OK)
        ran = run_plan(request, &plan, &result, &refused);
    if (ran != CW_OK && request->problem.status == CW_OK) {
        request->problem = refused;
        reply->code = cw_http_status(&refused);
    }
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_MEASURE, recording->name);
    html_markup(h, "<p class='trail'>");
    cw_link(h, "", "Measure a shutter", "/measure?job=%" PRId64, cw_row_id(request, "job"));
    html_markup(h, "</p><h1>");
    html_text(h, recording->name);
    html_markup(h, "</h1>\n");
    write_facts(request, h);
    html_markup(h, "<div class='sheet'><div class='answer-side'>\n");
    cw_status status = ran == CW_OK ? write_result(request, h, test, &result, err) : CW_OK;
    html_markup(h, "</div>\n");
    write_plan(request, h, &plan);
    html_markup(h, "</div>\n");
    cw_page_end(reply);
    cw_plan_result_free(&result);
    return status;
}

cw_status page_recording(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_recording recording;
    cw_test test;
    CW_TRY(cw_recording_get(request->bench, request->match.ids[0], &recording, err));
    cw_status status = test_to_change(request, &test, err);
    if (status == CW_OK) {
        status = write_page(request, reply, &recording, &test, err);
        cw_test_free(&test);
    }
    cw_recording_free(&recording);
    return status;
}

cw_status twin_recording(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_test test;
    cw_shutter_plan plan;
    cw_plan_result result = {0};
    CW_TRY(test_to_change(request, &test, err));
    cw_status status = plan_of(&request->target.query, &test, &plan, err);
    cw_test_free(&test);
    if (status != CW_OK)
        return status;
    CW_TRY(run_plan(request, &plan, &result, err));
    reply->json = cw_plan_result_json(&result);
    cw_plan_result_free(&result);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the result");
}

/* ---- keeping it ---- */

static cw_status keep_new(cw_request *request, const char *strikes, const cw_shutter_plan *plan,
                          const cw_plan_result *result, int64_t *id, cw_error *err)
{
    cw_keep to;
    CW_TRY(cw_keep_from_form(request, plan->measure.kind, &to, err));
    cw_test made = {.job_id = to.job_id,
                    .when = (cw_when)to.when,
                    .title = to.title,
                    .notes = to.notes,
                    .recording_id = request->match.ids[0],
                    .strikes_json = strikes};
    return cw_store_shutter(request->bench, &made, plan, result, id, err);
}

static cw_status keep_changed(cw_request *request, const cw_test *test, const char *strikes,
                              const cw_shutter_plan *plan, const cw_plan_result *result, cw_error *err)
{
    cw_test changed = *test;
    changed.revision = cw_row_id(request, "revision");
    changed.strikes_json = strikes;
    return cw_correct_shutter(request->bench, &changed, plan, result, NULL, 0, cw_posted(request, "reason"), err);
}

static cw_status keep(cw_request *request, cw_test *test, const cw_shutter_plan *plan, const cw_plan_result *result,
                      int64_t *id, cw_error *err)
{
    char *strikes;
    const char *old = test->id > 0 ? test->strikes_json : "";
    CW_TRY(cw_strikes_from_form(&request->form, NULL, old, cw_posted(request, "reason"), plan, result->test, &strikes,
                                err));
    cw_status status = CW_OK;
    if (test->id > 0)
        status = keep_changed(request, test, strikes, plan, result, err);
    else
        status = keep_new(request, strikes, plan, result, id, err);
    if (test->id > 0)
        *id = test->id;
    free(strikes);
    return status;
}

static cw_status keep_in_one(cw_request *request, cw_test *test, int64_t *id, cw_error *err)
{
    cw_shutter_plan plan;
    cw_plan_result result = {0};
    CW_TRY(plan_of(&request->form, test, &plan, err));
    CW_TRY(run_plan(request, &plan, &result, err));
    cw_status status =
        cw_change_begin(request->bench, cw_row_id(request, "job"), "a shutter test from a recording", err);
    if (status == CW_OK) {
        status = keep(request, test, &plan, &result, id, err);
        if (status == CW_OK)
            status = cw_change_commit(request->bench, err);
        else
            cw_change_cancel(request->bench);
    }
    cw_plan_result_free(&result);
    return status;
}

cw_status post_recording_keep(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_test test;
    int64_t id;
    CW_TRY(test_to_change(request, &test, err));
    cw_status status = keep_in_one(request, &test, &id, err);
    cw_test_free(&test);
    if (status == CW_OK)
        cw_go(request, reply, "The test is kept.", "/tests/%" PRId64, id);
    return status;
}
