/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A kept shutter test: verdicts, plots with their tables, findings, every shot; what the sensors saw, zoomable. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/job.h"
#include "notebook/test.h"
#include "report/shot_trace.h"
#include "web/page.h"
#include "web/pages/pages.h"
#include "web/pages/photographs_parts.h"
#include "web/pages/recording_parts.h"
#include "web/pages/shutter_parts.h"
#include "web/pages/stored_test.h"

typedef struct {
    cw_job job;
    cw_test stored;
    cw_test_version version; /* shown in its place; id 0: the test as it stands */
    cw_shutter_test *test;
    int64_t other_id; /* what it is compared with, 0 */
    cw_shutter_test *other;
} view;

static void view_free(view *one)
{
    cw_shutter_test_free(one->test);
    cw_shutter_test_free(one->other);
    cw_test_free(&one->stored);
    cw_test_version_free(&one->version);
    cw_job_free(&one->job);
}

/* An earlier version takes the place of what stands there; the texts stay the version's. */
static cw_status take_version(cw_request *request, cw_test *test, cw_test_version *version, cw_error *err)
{
    int64_t asked = cw_row_id(request, "version");
    if (asked == 0)
        return CW_OK;
    CW_TRY(cw_test_version_get(request->bench, asked, version, err));
    if (version->test_id != test->id)
        return cw_fail(err, CW_NOT_FOUND, "test %" PRId64 " has no earlier version %" PRId64, test->id, asked);
    test->when = version->when;
    test->title = version->title;
    test->notes = version->notes;
    test->tested_on = version->tested_on;
    test->program_version = version->program_version;
    test->plan_json = version->plan_json;
    test->strikes_json = version->strikes_json;
    test->result_json = version->result_json;
    return CW_OK;
}

/* After against before and before against after, unless the address names another one. */
static cw_status find_other(cw_request *request, view *one, cw_error *err)
{
    int64_t asked = cw_row_id(request, "against");
    if (asked > 0 && asked != one->stored.id)
        one->other_id = asked;
    else if (one->stored.when != CW_WHEN_DURING)
        CW_TRY(cw_test_newest(request->bench, one->stored.job_id, "shutter",
                              one->stored.when == CW_WHEN_AFTER ? CW_WHEN_BEFORE : CW_WHEN_AFTER, &one->other_id, err));
    return one->other_id > 0 ? cw_stored_shutter(request->bench, one->other_id, &one->other, err) : CW_OK;
}

static cw_status view_get(cw_request *request, view *one, cw_error *err)
{
    *one = (view){0};
    CW_TRY(cw_test_get(request->bench, request->match.ids[0], &one->stored, err));
    cw_status status = cw_job_get(request->bench, one->stored.job_id, &one->job, err);
    if (status == CW_OK)
        status = take_version(request, &one->stored, &one->version, err);
    if (status == CW_OK)
        status = cw_stored_result(&one->stored, &one->test, err);
    if (status == CW_OK)
        status = find_other(request, one, err);
    if (status != CW_OK)
        view_free(one);
    return status;
}

static void write_title(cw_html *h, const view *one)
{
    html_markup(h, "<p class='trail'>");
    cw_link(h, "", one->job.camera, "/jobs/%" PRId64, one->job.id);
    html_markup(h, "</p><h1>");
    html_textf(h, "Shutter test, %s", cw_when_name(one->stored.when));
    html_markup(h, "</h1>\n");
    if (one->version.id > 0) {
        html_markup(h, "<p class='notice close'>");
        html_textf(h, "This is an earlier version. It was corrected on %.10s because: %s. ", one->version.corrected_at,
                   one->version.reason);
        cw_link(h, "", "See it as it stands now", "/tests/%" PRId64, one->stored.id);
        html_markup(h, "</p>\n");
    }
    html_markup(h, "<p class='lead'>");
    html_textf(h, "%s. %s", one->stored.tested_on, one->stored.title);
    html_markup(h, "</p>\n");
    if (one->stored.notes[0] != '\0') {
        html_markup(h, "<p class='words'>");
        html_text(h, one->stored.notes);
        html_markup(h, "</p>\n");
    }
}

static void write_speeds(cw_html *h, const view *one)
{
    bool is_before = one->stored.when == CW_WHEN_BEFORE;
    html_markup(h, "<section class='panel' id='speeds'><h2>The speeds</h2>\n");
    cw_write_summary(h, one->test);
    cw_write_speed_plot(h, is_before ? one->test : one->other, is_before ? one->other : one->test);
    cw_write_speed_table(h, one->test, true);
    html_markup(h, "</section>\n");
    if (one->other == NULL)
        return;
    html_markup(h, "<section class='panel' id='compared'><h2>Before against after</h2>\n");
    cw_write_compare_table(h, is_before ? one->test : one->other, is_before ? one->other : one->test);
    html_markup(h, "<p>");
    cw_link(h, "button", "Open the other test", "/tests/%" PRId64, one->other_id);
    html_markup(h, "</p></section>\n");
}

/* Sounds and photographs are looked at on their own pages. */
static bool has_trace(const view *one)
{
    cw_exposure_method method = cw_test_method(one->test);
    return one->stored.recording_id > 0 && method != CW_METHOD_SOUND && method != CW_METHOD_PHOTO;
}

/* Maps of photographs, from what was kept of them. */
static cw_status write_maps(cw_request *request, cw_html *h, const view *one, cw_error *err)
{
    static const cw_form nothing = {0};
    if (cw_test_method(one->test) != CW_METHOD_PHOTO || one->stored.recording_id == 0)
        return CW_OK;
    cw_photo_view *photographs = calloc(1, sizeof *photographs);
    if (photographs == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the photographs");
    cw_status status = cw_photo_view_load(request->bench, one->stored.recording_id, photographs, err);
    if (status == CW_OK)
        status = cw_photo_view_setup(&nothing, &one->stored, photographs, err);
    if (status == CW_OK)
        status = cw_photo_view_judge(photographs, err);
    if (status == CW_OK)
        cw_photo_write_maps(h, photographs);
    free(photographs);
    return status;
}

static void write_shot(cw_html *h, const view *one, size_t index)
{
    const cw_shot *shot = &one->test->shots[index];
    char mark[CW_MARK_TEXT];
    cw_mark_text(shot->marked_s, mark, sizeof mark);
    html_markup(h, "<tr><th scope='row'>");
    html_textf(h, "%zu", index + 1);
    html_markup(h, "</th><td>");
    html_text(h, mark);
    html_markup(h, "</td><td>");
    for (size_t k = 0; k < shot->sensor_count; k++) {
        if (k > 0)
            html_markup(h, ", ");
        html_shutter_time(h, shot->sensors[k].exposure_s.value);
    }
    html_markup(h, "</td><td>");
    html_text(h, shot->sensor_count > 0 ? cw_exposure_method_name(shot->sensors[0].method) : "");
    html_markup(h, "</td><td>");
    html_text(h, shot->struck ? "left out: " : shot->incomplete ? "incomplete. " : "");
    html_said(h, shot->remark);
    for (size_t k = 0; k < shot->sensor_count; k++)
        if (shot->sensors[k].remark[0] != '\0')
            html_saidf(h, " %s", shot->sensors[k].remark);
    html_markup(h, "</td>");
    if (has_trace(one)) {
        html_markup(h, "<td>");
        cw_link(h, "button", "Trace", "/tests/%" PRId64 "/trace?shot=%zu", one->stored.id, index + 1);
        html_markup(h, "</td>");
    }
    html_markup(h, "</tr>\n");
}

static void write_shots(cw_html *h, const view *one)
{
    html_markup(h, "<section class='panel' id='shots'><details><summary>");
    html_textf(h, "Every shot (%zu)", one->test->shot_count);
    html_markup(
        h, "</summary><div class='scroll' tabindex='0' role='region' aria-label='Shots'><table><thead><tr>"
           "<th scope='col'>Shot</th><th scope='col'>Marked</th><th scope='col'>Measured</th><th scope='col'>How</th>"
           "<th scope='col'>Remarks</th>");
    if (has_trace(one))
        html_markup(h, "<th scope='col'>See it</th>");
    html_markup(h, "</tr></thead><tbody>");
    for (size_t i = 0; i < one->test->shot_count; i++)
        write_shot(h, one, i);
    html_markup(h, "</tbody></table></div></details></section>\n");
}

/* The trace of the first shot comes by itself where scripts run; otherwise there is its link. */
static void write_trace_place(cw_html *h, const view *one)
{
    if (!has_trace(one))
        return;
    html_markup(h, "<section class='panel' id='trace' hx-trigger='revealed' hx-target='this' hx-select='#trace' "
                   "hx-swap='outerHTML'");
    html_attrf(h, "hx-get", "/tests/%" PRId64 "/trace", one->stored.id);
    html_markup(h, "><h2>What the sensors saw</h2>");
    cw_link(h, "button", "Show the trace", "/tests/%" PRId64 "/trace", one->stored.id);
    html_markup(h, "</section>\n");
}

/* The page the test was made on, and can be changed on. */
static const char *way_words(const view *one)
{
    switch (cw_test_method(one->test)) {
    case CW_METHOD_SOUND:
        return "sounds";
    case CW_METHOD_PHOTO:
        return "photographs";
    default:
        return "recordings";
    }
}

static void write_actions(cw_request *request, cw_html *h, const view *one)
{
    if (one->version.id > 0)
        return;
    html_markup(h, "<section class='panel'><h2>Change it</h2><div class='actions'>");
    cw_link(h, "button", "Correct readings, shots or plan", "/tests/%" PRId64 "/edit", one->stored.id);
    if (one->stored.recording_id > 0)
        cw_link(h, "button", "Try another plan on what was recorded", "/%s/%" PRId64 "?test=%" PRId64, way_words(one),
                one->stored.recording_id, one->stored.id);
    cw_button_form(request, h, true, "Take this test out of the job", "/tests/%" PRId64 "/delete", one->stored.id);
    html_markup(h, "</div></section>\n");
}

cw_status page_test(cw_request *request, cw_reply *reply, cw_error *err)
{
    view one;
    CW_TRY(view_get(request, &one, err));
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_BENCH, "Shutter test");
    write_title(h, &one);
    if (one.version.id == 0) {
        html_markup(h, "<div class='actions'>");
        cw_link(h, "main", "On with the job", "/jobs/%" PRId64 "#next", one.stored.job_id);
        html_markup(h, "</div>\n");
    }
    write_speeds(h, &one);
    cw_write_findings(h, one.test);
    cw_write_profiles(h, one.test);
    cw_status status = write_maps(request, h, &one, err);
    write_trace_place(h, &one);
    write_shots(h, &one);
    cw_write_method(h, one.test);
    if (status == CW_OK)
        status = cw_write_versions(request, h, one.stored.id, err);
    write_actions(request, h, &one);
    cw_page_end(reply);
    view_free(&one);
    return status;
}

cw_status twin_test(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_test stored;
    cw_test_version version = {0};
    CW_TRY(cw_test_get(request->bench, request->match.ids[0], &stored, err));
    cw_status status = take_version(request, &stored, &version, err);
    if (status != CW_OK) {
        cw_test_version_free(&version);
        cw_test_free(&stored);
        return status;
    }
    json_t *strikes = stored.strikes_json[0] == '\0' ? json_object() : json_loads(stored.strikes_json, 0, NULL);
    json_t *result = stored.result_json[0] == '\0' ? json_null() : json_loads(stored.result_json, 0, NULL);
    json_t *plan = stored.plan_json[0] == '\0' ? json_null() : json_loads(stored.plan_json, 0, NULL);
    reply->json = json_pack("{s:s,s:I,s:I,s:s,s:s,s:s,s:s,s:s,s:s,s:I,s:o,s:o,s:o}", "format", "camerawright.test/1",
                            "id", (json_int_t)stored.id, "job_id", (json_int_t)stored.job_id, "kind", stored.kind,
                            "when", cw_when_name(stored.when), "title", stored.title, "notes", stored.notes,
                            "tested_on", stored.tested_on, "program", stored.program_version, "recording_id",
                            (json_int_t)stored.recording_id, "plan", plan, "strikes", strikes, "result", result);
    cw_test_version_free(&version);
    cw_test_free(&stored);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the test");
}

cw_status post_test_delete(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_test stored;
    CW_TRY(cw_test_get(request->bench, request->match.ids[0], &stored, err));
    int64_t job_id = stored.job_id;
    cw_test_free(&stored);
    CW_TRY(cw_test_delete(request->bench, request->match.ids[0], err));
    cw_go(request, reply, "Taken out. \"History and undo\" brings it back.", "/jobs/%" PRId64, job_id);
    return CW_OK;
}

/* ---- the trace ---- */

typedef struct {
    size_t index; /* of the shot */
    double from_s, to_s, whole_from_s, whole_to_s;
} span;

static cw_status number_of(const cw_request *request, const char *name, double otherwise, double *value, cw_error *err)
{
    const char *text = cw_value(request, name, "");
    *value = otherwise;
    if (text[0] == '\0')
        return CW_OK;
    return cw_parse_measure(text, CW_TIME, "s", value, err);
}

static cw_status span_of(const cw_request *request, const cw_shutter_test *test, double length_s, span *part,
                         cw_error *err)
{
    long shot;
    CW_TRY(cw_whole(request, "shot", 1, (long)test->shot_count, 1, &shot, err));
    part->index = (size_t)shot - 1;
    cw_shot_span(&test->shots[part->index], length_s, &part->whole_from_s, &part->whole_to_s);
    CW_TRY(number_of(request, "from", part->whole_from_s, &part->from_s, err));
    CW_TRY(number_of(request, "to", part->whole_to_s, &part->to_s, err));
    if (!(part->from_s < part->to_s && part->from_s >= 0 && part->to_s - part->from_s <= length_s + 1))
        return cw_fail(err, CW_INPUT, "there is nothing between %.6g s and %.6g s; the recording is %.3g s long",
                       part->from_s, part->to_s, length_s);
    return CW_OK;
}

static void write_zoom(cw_html *h, int64_t test_id, const span *part, const char *label, double from_s, double to_s)
{
    if (from_s < 0) {
        to_s -= from_s;
        from_s = 0;
    }
    char address[160];
    snprintf(address, sizeof address, "/tests/%" PRId64 "/trace?shot=%zu&from=%.7f&to=%.7f", test_id, part->index + 1,
             from_s, to_s);
    html_markup(h, "<a class='button' hx-target='#trace' hx-select='#trace' hx-swap='outerHTML'");
    html_attr(h, "href", address);
    html_attr(h, "hx-get", address);
    html_markup(h, ">");
    html_text(h, label);
    html_markup(h, "</a>");
}

static void write_zooms(cw_html *h, int64_t test_id, const span *part, size_t shot_count)
{
    double width = part->to_s - part->from_s, middle = (part->from_s + part->to_s) / 2;
    html_markup(h, "<div class='downloads'>");
    write_zoom(h, test_id, part, "Closer", middle - width / 4, middle + width / 4);
    write_zoom(h, test_id, part, "Wider", middle - width, middle + width);
    write_zoom(h, test_id, part, "Earlier", part->from_s - width / 2, part->to_s - width / 2);
    write_zoom(h, test_id, part, "Later", part->from_s + width / 2, part->to_s + width / 2);
    write_zoom(h, test_id, part, "Whole shot", part->whole_from_s, part->whole_to_s);
    html_markup(h, "</div><div class='downloads'>");
    if (part->index > 0)
        cw_link(h, "button", "Shot before", "/tests/%" PRId64 "/trace?shot=%zu", test_id, part->index);
    if (part->index + 1 < shot_count)
        cw_link(h, "button", "Next shot", "/tests/%" PRId64 "/trace?shot=%zu", test_id, part->index + 2);
    html_markup(h, "</div>\n");
}

static void instant(cw_html *h, double at_s, double zero_s)
{
    html_markup(h, "<td class='n'>");
    if (isfinite(at_s))
        html_textf(h, "%.3f", 1e3 * (at_s - zero_s));
    else
        html_markup(h, "not seen");
    html_markup(h, "</td>");
}

static void write_instants(cw_html *h, const cw_shot *shot)
{
    html_markup(
        h, "<div class='scroll' tabindex='0' role='region' aria-label='Instants'><table><caption>Instants, ms from "
           "first light</caption><thead><tr><th scope='col'>Sensor</th><th scope='col' class='n'>Opens</th>"
           "<th scope='col' class='n'>Closes</th><th scope='col'>Exposure</th><th scope='col'>How</th></tr></thead>"
           "<tbody>");
    for (size_t k = 0; k < shot->sensor_count; k++) {
        const cw_sensor_shot *sensor = &shot->sensors[k];
        html_markup(h, "<tr><th scope='row'>");
        if (isfinite(sensor->position_mm))
            html_textf(h, "at %.3g mm", sensor->position_mm);
        else
            html_textf(h, "%zu", k + 1);
        html_markup(h, "</th>");
        instant(h, sensor->open_s.value, shot->at_s);
        instant(h, sensor->close_s.value, shot->at_s);
        html_markup(h, "<td>");
        html_shutter_time(h, sensor->exposure_s.value);
        html_markup(h, "</td><td>");
        html_text(h, cw_exposure_method_name(sensor->method));
        html_markup(h, "</td></tr>\n");
    }
    if (shot->contact_seen) {
        html_markup(h, "<tr><th scope='row'>flash contact</th>");
        instant(h, shot->contact_s.value, shot->at_s);
        instant(h, shot->contact_opens_s, shot->at_s);
        html_markup(h, "<td></td><td></td></tr>");
    }
    html_markup(h, "</tbody></table></div>\n");
}

static cw_status write_trace(cw_request *request, cw_html *h, const view *one, cw_source *source, cw_error *err)
{
    span part;
    CW_TRY(span_of(request, one->test, cw_source_about(source)->length_s, &part, err));
    const cw_shot *shot = &one->test->shots[part.index];
    json_t *result = json_loads(one->stored.result_json, 0, NULL);
    char mark[CW_MARK_TEXT];
    cw_mark_text(shot->marked_s, mark, sizeof mark);
    html_markup(h, "<section class='panel' id='trace'><h2>");
    html_textf(h, "What the sensors saw: shot %zu, marked %s", part.index + 1, mark);
    html_markup(h, "</h2>\n");
    cw_status status =
        cw_write_trace(h, source, shot, json_object_get(result, "recording"), part.from_s, part.to_s, err);
    json_decref(result);
    write_zooms(h, one->stored.id, &part, one->test->shot_count);
    write_instants(h, shot);
    html_markup(h, "</section>\n");
    return status;
}

cw_status page_trace(cw_request *request, cw_reply *reply, cw_error *err)
{
    view one;
    cw_shutter_plan plan;
    cw_source *source = NULL;
    CW_TRY(view_get(request, &one, err));
    cw_status status = CW_OK;
    if (one.stored.recording_id == 0)
        status = cw_fail(err, CW_NOT_FOUND, "this test has no recording, so there is no trace of it");
    if (status == CW_OK)
        status = cw_stored_plan(&one.stored, &plan, err);
    if (status == CW_OK)
        status = cw_recording_open(request->bench, one.stored.recording_id, &plan.source, &source, err);
    if (status == CW_OK) {
        cw_html *h = &reply->html;
        cw_page_begin(request, reply, CW_PLACE_BENCH, "What the sensors saw");
        html_markup(h, "<p class='trail'>");
        cw_link(h, "", "Shutter test", "/tests/%" PRId64, one.stored.id);
        html_markup(h, "</p><h1>One shot</h1>\n");
        status = write_trace(request, h, &one, source, err);
        cw_page_end(reply);
    }
    cw_source_close(source);
    view_free(&one);
    return status;
}

static json_t *instant_json(double at_s)
{
    return isfinite(at_s) ? json_real(at_s) : json_null();
}

/* The instants of one shot; the samples themselves are in the recording, whose original the bench keeps. */
cw_status twin_trace(cw_request *request, cw_reply *reply, cw_error *err)
{
    view one;
    span part;
    CW_TRY(view_get(request, &one, err));
    cw_status status = CW_OK;
    if (one.stored.recording_id == 0)
        status = cw_fail(err, CW_NOT_FOUND, "this test has no recording, so there is no trace of it");
    if (status == CW_OK)
        status = span_of(request, one.test, INFINITY, &part, err);
    if (status == CW_OK) {
        const cw_shot *shot = &one.test->shots[part.index];
        json_t *sensors = json_array();
        for (size_t k = 0; k < shot->sensor_count; k++)
            json_array_append_new(sensors, json_pack("{s:o,s:o,s:o,s:o}", "position_mm",
                                                     instant_json(shot->sensors[k].position_mm), "open_s",
                                                     instant_json(shot->sensors[k].open_s.value), "close_s",
                                                     instant_json(shot->sensors[k].close_s.value), "exposure_s",
                                                     instant_json(shot->sensors[k].exposure_s.value)));
        reply->json =
            json_pack("{s:s,s:I,s:I,s:I,s:I,s:o,s:f,s:f,s:f,s:o,s:o}", "format", "camerawright.trace/1", "test_id",
                      (json_int_t)one.stored.id, "recording_id", (json_int_t)one.stored.recording_id, "shot",
                      (json_int_t)part.index + 1, "shots", (json_int_t)one.test->shot_count, "marked_s",
                      instant_json(shot->marked_s), "from_s", part.from_s, "to_s", part.to_s, "first_light_s",
                      shot->at_s, "contact_s", instant_json(shot->contact_s.value), "sensors", sensors);
        if (reply->json == NULL)
            status = cw_fail(err, CW_MEMORY, "no memory for the trace");
    }
    view_free(&one);
    return status;
}
