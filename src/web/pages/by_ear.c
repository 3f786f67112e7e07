/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Slow speeds by ear: a recording of the sound, its clicks proposed as openings and closings, corrected by hand, and
 * kept as a test by the same path as a recording of the light. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/test.h"
#include "web/page.h"
#include "web/pages/by_ear_form.h"
#include "web/pages/pages.h"
#include "web/pages/plan_form.h"
#include "web/pages/shutter_parts.h"
#include "web/pages/stored_test.h"

cw_status post_sound(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_incoming *incoming = cw_request_take_upload(request, "sound");
    int64_t id;
    if (incoming == NULL)
        incoming = cw_request_take_upload(request, "sound-now");
    if (incoming == NULL)
        return cw_fail(err, CW_INPUT, "no sound came with it; choose the file, or record one, first");
    CW_TRY(cw_incoming_keep_recording(incoming, &id, err));
    cw_go(request, reply, NULL, "/sounds/%" PRId64 "?job=%" PRId64 "&when=%.10s", id, cw_row_id(request, "job"),
          cw_value(request, "when", "before"));
    return CW_OK;
}

static const cw_form *form_of(const cw_request *request)
{
    return request->writes ? &request->form : &request->target.query;
}

static cw_status judge(const cw_listening *one, cw_plan_result *result, cw_error *err)
{
    json_t *recording = cw_by_ear_recording_json(&one->sound, &one->clicks);
    if (recording == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the result");
    for (size_t i = 0; i < one->proposal.refusal_count; i++)
        json_array_append_new(json_object_get(recording, "warnings"), json_string(one->proposal.refusals[i]));
    return cw_by_ear_run(&one->clicks, one->shots, one->count, &one->plan, recording, result, err);
}

/* ---- the page ---- */

static void write_facts(cw_html *h, const cw_listening *one)
{
    size_t ticks = 0;
    for (size_t i = 0; i < one->clicks.count; i++)
        ticks += one->clicks.clicks[i].is_tick;
    html_markup(h, "<p class='lead'>");
    html_textf(h, "%.3g s of sound at %.6g samples a second. %zu clicks heard", one->sound.length_s, one->sound.rate_hz,
               one->clicks.count - ticks);
    if (ticks > 0)
        html_textf(h, ", and %zu ticks of an escapement or self-timer, which are no closing", ticks);
    html_markup(h, ".");
    if (one->sound.channels > 1)
        html_textf(h, " Channel %zu of %zu, the loudest.", one->sound.channel, one->sound.channels);
    html_markup(h, "</p>\n");
}

static void write_warnings(cw_html *h, const cw_plan_result *result)
{
    size_t index;
    json_t *warning;
    json_array_foreach(json_object_get(result->recording, "warnings"), index, warning)
    {
        html_markup(h, "<p class='notice close'>");
        html_sentence(h, json_string_value(warning));
        html_markup(h, "</p>\n");
    }
}

static void write_ask(cw_request *request, cw_html *h, const cw_listening *one)
{
    static const char *const first[] = {"marked-list", "shots-per-speed", "shutter", NULL};
    static const char *const more[] = {"geometric", "tolerance", NULL};
    bool asked = one->count > 0;
    if (asked)
        html_markup(h, "<section class='ask'><details><summary>Other speeds, tolerance</summary>\n");
    else
        html_markup(h, "<section class='ask'><h2>Which speeds were fired?</h2>\n");
    cw_plan_write_fields(request, h, &one->plan, first);
    cw_plan_write_fields(request, h, &one->plan, more);
    html_markup(h, "<p class='soft'>By ear 1/30 and slower can be told, in a quiet room with the microphone "
                   "a hand's breadth away. Leave two seconds between shots.</p><div class='actions'>");
    html_markup(h, "<button class='button' name='again' value='1'>Listen for these speeds</button></div>");
    if (asked)
        html_markup(h, "</details>");
    html_markup(h, "</section>\n");
}

static void row_input(cw_html *h, const char *what, size_t row, const char *value, const char *label)
{
    html_markup(h, "<input type='text' autocomplete='off'");
    html_attrf(h, "name", "%s.%zu", what, row + 1);
    html_attrf(h, "aria-label", "%s of shot %zu", label, row + 1);
    html_attr(h, "value", value);
    if (strcmp(what, "mark") != 0)
        html_markup(h, " inputmode='decimal'");
    html_markup(h, ">");
}

static void instant_input(cw_html *h, const char *what, size_t row, double at_s, const char *label)
{
    char text[32] = "";
    if (!isnan(at_s))
        snprintf(text, sizeof text, "%.4f", at_s);
    row_input(h, what, row, text, label);
}

static void write_time(cw_html *h, const cw_shot *shot)
{
    if (shot == NULL)
        return;
    if (shot->incomplete) {
        html_sentence(h, shot->remark);
        return;
    }
    html_shutter_time(h, shot->sensors[0].exposure_s.value);
    html_textf(h, " \u00B1 %.1f ms", 2e3 * shot->sensors[0].exposure_s.u);
}

static void write_row(cw_html *h, const cw_listening *one, size_t row, const cw_shot *shot)
{
    const cw_heard_shot *heard = &one->shots[row];
    char mark[CW_MARK_TEXT], spoken[48];
    cw_mark_text(heard->marked_s, mark, sizeof mark);
    html_markup(h, "<tr><th scope='row'>");
    html_textf(h, "%zu", row + 1);
    html_markup(h, "</th><td data-label='Marked'>");
    row_input(h, "mark", row, mark, "Marked speed");
    html_markup(h, "</td><td data-label='Opens, s'>");
    instant_input(h, "open", row, heard->open_s, "Opening");
    html_markup(h, "</td><td data-label='Closes, s'>");
    instant_input(h, "close", row, heard->close_s, "Closing");
    html_markup(h, "</td><td data-label='Measured'>");
    write_time(h, shot);
    html_markup(h, "</td><td data-label='Leave out'><label class='tick'><input type='checkbox' value='1'");
    html_attrf(h, "name", "strike.%zu", row + 1);
    html_attrf(h, "aria-label", "Leave out shot %zu", row + 1);
    html_flag(h, "checked", heard->struck);
    html_markup(h, "></label></td><td data-label='See it'>");
    snprintf(spoken, sizeof spoken, "Look at shot %zu from near", row + 1);
    cw_ear_look_button(h, one, row + 1, "Look", spoken);
    html_markup(h, "</td></tr>\n");
}

static void write_rows(cw_html *h, const cw_listening *one, const cw_plan_result *result)
{
    html_markup(h, "<section class='panel' id='shots'><h2>Shots</h2><p class='soft'>Each from click to click, seconds "
                   "from the start of the sound. Change a number where the wrong click was taken, or look at the shot "
                   "from near.</p><div class='scroll' tabindex='0' role='region' aria-label='Shots'>"
                   "<table class='entry paired'><thead><tr><th scope='col'>Shot</th><th scope='col'>Marked</th>"
                   "<th scope='col'>Opens, s</th><th scope='col'>Closes, s</th><th scope='col'>Measured (k = 2)</th>"
                   "<th scope='col'>Leave out</th><th scope='col'>See it</th></tr></thead><tbody>\n");
    for (size_t i = 0; i < one->count; i++)
        write_row(h, one, i, result->test != NULL && i < result->test->shot_count ? &result->test->shots[i] : NULL);
    html_markup(h, "</tbody></table></div><div class='actions'><button class='main'>Work it out with these</button>");
    if (one->count < CW_BY_EAR_SHOTS_MOST) {
        html_markup(h, "<button class='button' name='add' value='1'");
        html_attrf(h, "formaction", "/sounds/%" PRId64 "#look", one->recording_id);
        html_markup(h, ">Add a shot</button>");
    }
    html_markup(h, "</div></section>\n");
}

/* What was heard, hidden, so that what is kept is what is shown. */
static void write_hidden_rows(cw_html *h, const cw_listening *one)
{
    char name[32], text[32];
    snprintf(text, sizeof text, "%zu", one->count);
    cw_field_hidden(h, "count", text);
    for (size_t i = 0; i < one->count; i++) {
        const double instants[] = {one->shots[i].open_s, one->shots[i].close_s};
        static const char *const names[] = {"open", "close"};
        for (size_t k = 0; k < 2; k++) {
            snprintf(name, sizeof name, "%s.%zu", names[k], i + 1);
            snprintf(text, sizeof text, "%.4f", instants[k]);
            cw_field_hidden(h, name, isnan(instants[k]) ? "" : text);
        }
        snprintf(name, sizeof name, "mark.%zu", i + 1);
        cw_mark_text(one->shots[i].marked_s, text, sizeof text);
        cw_field_hidden(h, name, text);
        snprintf(name, sizeof name, "strike.%zu", i + 1);
        if (one->shots[i].struck)
            cw_field_hidden(h, name, "1");
    }
}

static cw_status write_keep(cw_request *request, cw_html *h, const cw_listening *one, cw_error *err)
{
    static const char *const plan_keys[] = {"marked-list", "shots-per-speed", "shutter", "geometric", "tolerance"};
    json_t *typed = cw_plan_json(&one->plan);
    html_markup(h, "<section class='panel next'><h2>Keep it</h2>\n");
    cw_form_begin(request, h, false, "/sounds/%" PRId64 "/keep", request->match.ids[0]);
    for (size_t i = 0; i < CW_COUNT(plan_keys); i++)
        if (json_is_string(json_object_get(typed, plan_keys[i])))
            cw_field_hidden(h, plan_keys[i], json_string_value(json_object_get(typed, plan_keys[i])));
    json_decref(typed);
    write_hidden_rows(h, one);
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

static void write_answer(cw_request *request, cw_html *h, const cw_plan_result *result)
{
    bool is_after = strcmp(cw_value(request, "when", ""), "after") == 0;
    html_markup(h, "<section class='panel'><h2>What it says</h2>\n");
    write_warnings(h, result);
    cw_write_summary(h, result->test);
    cw_write_speed_plot(h, is_after ? NULL : result->test, is_after ? result->test : NULL);
    cw_write_speed_table(h, result->test, true);
    html_markup(h,
                "<p class='soft'>From click to click, which is not from light to dark: the blades move a little "
                "before the film sees light. The uncertainty counts 1.5 ms for each click, and 1 ms more for one set "
                "by hand.</p></section>\n");
}

static void begin_form(cw_request *request, cw_html *h, const cw_listening *one)
{
    static const char *const carried[] = {"job", "when", "test"};
    char text[32];
    html_markup(h, "<form method='get' id='heard'");
    html_attrf(h, "action", "/sounds/%" PRId64, request->match.ids[0]);
    html_markup(h, ">");
    for (size_t i = 0; i < CW_COUNT(carried); i++)
        if (cw_value(request, carried[i], "")[0] != '\0')
            cw_field_hidden(h, carried[i], cw_value(request, carried[i], ""));
    snprintf(text, sizeof text, "%zu", one->count);
    cw_field_hidden(h, "count", text);
    snprintf(text, sizeof text, "%.4g", one->span_s);
    cw_field_hidden(h, "span", text);
    snprintf(text, sizeof text, "%zu", one->look);
    cw_field_hidden(h, "look", text);
}

static cw_status write_body(cw_request *request, cw_html *h, const cw_listening *one, const cw_plan_result *result,
                            cw_error *err)
{
    cw_status status = CW_OK;
    write_facts(h, one);
    if (result->test != NULL)
        write_answer(request, h, result);
    begin_form(request, h, one);
    if (status == CW_OK)
        status = cw_ear_write_look(h, one, err);
    if (one->count > 0)
        write_rows(h, one, result);
    write_ask(request, h, one);
    html_markup(h, "</form>\n");
    if (status == CW_OK && result->test != NULL)
        status = write_keep(request, h, one, err);
    html_markup(h, "<section class='panel'><h2>The whole sound</h2>\n");
    if (status == CW_OK && one->sound.samples != NULL)
        status = cw_ear_write_whole(h, one, err);
    html_markup(h, "</section>\n");
    return status;
}

static void refuse_on_page(cw_request *request, cw_reply *reply, const cw_error *refused)
{
    if (request->problem.status != CW_OK)
        return;
    request->problem = *refused;
    reply->code = cw_http_status(refused);
}

static cw_status write_page(cw_request *request, cw_reply *reply, const cw_recording *recording, cw_listening *one,
                            cw_error *err)
{
    cw_plan_result result = {0};
    cw_error refused = {0};
    if (cw_listening_begin(request, form_of(request), recording->id, one, &refused) != CW_OK ||
        (one->count > 0 && judge(one, &result, &refused) != CW_OK))
        refuse_on_page(request, reply, &refused);
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_MEASURE, recording->name);
    html_markup(h, "<p class='trail'>");
    cw_link(h, "", "Measure a shutter", "/measure?job=%" PRId64, cw_row_id(request, "job"));
    html_markup(h, "</p><h1>");
    html_textf(h, "By ear: %s", recording->name);
    html_markup(h, "</h1>\n");
    cw_status status = one->sound.samples != NULL ? write_body(request, h, one, &result, err) : CW_OK;
    cw_page_end(reply);
    cw_plan_result_free(&result);
    return status;
}

cw_status page_sound(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_recording recording;
    CW_TRY(cw_recording_get(request->bench, request->match.ids[0], &recording, err));
    cw_listening *one = calloc(1, sizeof *one);
    cw_status status =
        one != NULL ? write_page(request, reply, &recording, one, err) : cw_fail(err, CW_MEMORY, "no memory to listen");
    if (one != NULL)
        cw_listening_free(one);
    free(one);
    cw_recording_free(&recording);
    return status;
}

/* ---- twin and keeping ---- */

/* The clicks alone while no speeds are said; the contract of a shutter test afterwards. */
static cw_status answer_json(const cw_listening *one, json_t **json, cw_error *err)
{
    cw_plan_result result = {0};
    if (one->count == 0) {
        *json = json_pack("{s:s,s:o}", "format", "camerawright.sound/1", "recording",
                          cw_by_ear_recording_json(&one->sound, &one->clicks));
    } else {
        CW_TRY(judge(one, &result, err));
        *json = cw_plan_result_json(&result);
        cw_plan_result_free(&result);
    }
    return *json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the result");
}

cw_status twin_sound(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_listening *one = calloc(1, sizeof *one);
    if (one == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to listen");
    cw_status status = cw_listening_begin(request, &request->target.query, request->match.ids[0], one, err);
    if (status == CW_OK)
        status = answer_json(one, &reply->json, err);
    cw_listening_free(one);
    free(one);
    return status;
}

static cw_status store(cw_request *request, const cw_listening *one, const cw_plan_result *result, int64_t *id,
                       cw_error *err)
{
    cw_test test;
    if (cw_row_id(request, "test") > 0) {
        CW_TRY(cw_test_get(request->bench, cw_row_id(request, "test"), &test, err));
        cw_test changed = test;
        cw_status status = cw_correct_shutter(request->bench, &changed, &one->plan, result, NULL, 0,
                                              "listened to again, clicks or speeds moved", err);
        *id = test.id;
        cw_test_free(&test);
        return status;
    }
    cw_keep to;
    CW_TRY(cw_keep_from_form(request, one->plan.measure.kind, &to, err));
    test = (cw_test){.job_id = to.job_id,
                     .when = (cw_when)to.when,
                     .title = to.title,
                     .notes = to.notes,
                     .recording_id = request->match.ids[0]};
    return cw_store_shutter(request->bench, &test, &one->plan, result, id, err);
}

static cw_status keep(cw_request *request, cw_listening *one, int64_t *id, cw_error *err)
{
    cw_plan_result result = {0};
    CW_TRY(cw_listening_begin(request, &request->form, request->match.ids[0], one, err));
    if (one->count == 0)
        return cw_fail(err, CW_INPUT, "there is no shot to keep; say which speeds were fired first");
    CW_TRY(judge(one, &result, err));
    cw_status status = cw_change_begin(request->bench, cw_row_id(request, "job"), "a shutter test by ear", err);
    if (status == CW_OK) {
        status = store(request, one, &result, id, err);
        if (status == CW_OK)
            status = cw_change_commit(request->bench, err);
        else
            cw_change_cancel(request->bench);
    }
    cw_plan_result_free(&result);
    return status;
}

cw_status post_sound_keep(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t id;
    cw_listening *one = calloc(1, sizeof *one);
    if (one == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to listen");
    cw_status status = keep(request, one, &id, err);
    cw_listening_free(one);
    free(one);
    if (status == CW_OK)
        cw_go(request, reply, "The test is kept.", "/tests/%" PRId64, id);
    return status;
}
