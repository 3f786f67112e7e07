/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measuring without a recording: what a timer showed, typed in; and the way to the other ways of measuring. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/job.h"
#include "notebook/test.h"
#include "web/page.h"
#include "web/pages/pages.h"
#include "web/pages/plan_form.h"
#include "web/pages/shutter_parts.h"
#include "web/pages/stored_test.h"
#include "web/readings.h"

/* Common practice, no source: the marks of most dials of the geometric series. A row may be overwritten. */
static const char *const usual_marks[] = {"1",    "1/2",   "1/4",   "1/8",   "1/15",  "1/30",
                                          "1/60", "1/125", "1/250", "1/500", "1/1000"};
enum { BLANK_ROWS = 2 };

static const cw_option_item units[] = {{"s", "seconds"}, {"ms", "milliseconds"}};
static const cw_option_item kinds[] = {{"focal-plane", "Focal plane"}, {"leaf", "Leaf"}};

static const char *kind_of_job(cw_request *request)
{
    cw_job job;
    cw_error ignored;
    const char *kind = "focal-plane";
    if (cw_row_id(request, "job") > 0 &&
        cw_job_get(request->bench, cw_row_id(request, "job"), &job, &ignored) == CW_OK) {
        if (job.shutter == CW_JOB_SHUTTER_LEAF)
            kind = "leaf";
        cw_job_free(&job);
    }
    return kind;
}

static void write_row(const cw_request *request, cw_html *h, size_t row, const char *mark)
{
    char name[32], label[64];
    snprintf(name, sizeof name, "mark.%zu", row);
    html_markup(h, "<div class='reading'><input type='text' autocomplete='off' aria-label='Marked speed'");
    html_attr(h, "name", name);
    html_attr(h, "value", cw_value(request, name, mark));
    html_markup(h, "><input type='text' autocomplete='off'");
    snprintf(name, sizeof name, "read.%zu", row);
    snprintf(label, sizeof label, "Readings at %s", mark[0] != '\0' ? mark : "another speed");
    html_attr(h, "aria-label", label);
    html_attr(h, "name", name);
    html_attr(h, "value", cw_value(request, name, ""));
    if (row == 8)
        html_markup(h, " placeholder='1/226 1/231'");
    html_markup(h, "></div>\n");
}

static void write_readings_form(cw_request *request, cw_html *h)
{
    size_t marks = CW_COUNT(usual_marks);
    html_markup(
        h, "<section class='panel' id='readings'><h2>Type what your timer shows</h2>"
           "<p class='soft'>As it stands there: 1/226, 4.43 ms or 0.00443. Several shots at one speed with a space "
           "between them. Leave out what you did not measure.</p><form method='get' action='/measure'>");
    if (cw_row_id(request, "job") > 0)
        cw_field_hidden(h, "job", cw_value(request, "job", ""));
    cw_field_hidden(h, "when", cw_value(request, "when", "before"));
    cw_field_choice(request, h, "shutter", "Shutter", kind_of_job(request), kinds, CW_COUNT(kinds), NULL);
    cw_field_choice(request, h, "unit", "Numbers without a unit are", "s", units, CW_COUNT(units), NULL);
    html_markup(
        h,
        "<div class='reading heads' aria-hidden='true'><span>Marked</span><span>What the timer showed</span></div>\n");
    for (size_t row = 0; row < marks + BLANK_ROWS; row++)
        write_row(request, h, row, row < marks ? usual_marks[row] : "");
    html_markup(h, "<details><summary>Tolerance and reference</summary>");
    cw_plan_write_fields(request, h, NULL, (const char *const[]){"geometric", "tolerance", NULL});
    cw_shutter_plan usual = cw_plan_default();
    cw_plan_write_own_tolerance(request, h, &usual);
    html_markup(h, "</details>");
    cw_submit(h, "Show the verdict");
    html_markup(h, "</form></section>\n");
}

/* A form that brings one file; where it goes and what it is called. */
static void write_file_form(cw_request *request, cw_html *h, const char *address, const cw_input *files, size_t count,
                            const char *label)
{
    cw_form_begin(request, h, true, "%s", address);
    if (cw_row_id(request, "job") > 0)
        cw_field_hidden(h, "job", cw_value(request, "job", ""));
    cw_field_hidden(h, "when", cw_value(request, "when", "before"));
    for (size_t i = 0; i < count; i++)
        cw_field_input(request, h, &files[i]);
    html_markup(h, "<div class='actions'><button class='button'>");
    html_text(h, label);
    html_markup(h, "</button></div>");
    cw_form_end(h);
}

static void write_live(cw_request *request, cw_html *h)
{
    html_markup(h,
                "<section class='panel' id='live-way'><h2>Measure live</h2><p class='soft'>A light gate or a sensor on "
                "the sound card: fire, and the number is there a moment later, beside the speed to set next.</p>");
    int64_t job_id = cw_row_id(request, "job");
    if (job_id > 0)
        cw_link(h, "button", "Measure live", "/live?job=%" PRId64 "&when=%.10s", job_id,
                cw_value(request, "when", "before"));
    else
        cw_link(h, "button", "Measure live", "/live");
    html_markup(h, "</section>\n");
}

static void write_upload(cw_request *request, cw_html *h)
{
    html_markup(
        h, "<section class='panel' id='recording'><h2>Or give it a recording</h2><p class='soft'>The light through "
           "the open back, from one to four sensors: WAV or FLAC of a sound card, CSV of an oscilloscope, VCD of a "
           "logic analyser.</p>");
    write_file_form(request, h, "/recordings",
                    &(cw_input){.name = "recording", .label = "Recording", .type = "file", .required = true}, 1,
                    "Look at it");
    html_markup(h, "</section>\n");
}

static void write_by_ear(cw_request *request, cw_html *h)
{
    html_markup(h, "<section class='panel' id='by-ear'><h2>Or only the sound</h2><p class='soft'>For 1/30 and slower, "
                   "with nothing but a microphone: the clicks of opening and closing are found, and you correct "
                   "them.</p>");
    static const cw_input files[] = {
        {.name = "sound", .label = "Sound", .type = "file", .accept = "audio/*", .help = "WAV, FLAC, Ogg or MP3"},
        {.name = "sound-now",
         .label = "Or record it now",
         .type = "file",
         .accept = "audio/*",
         .capture = true,
         .help = "on a phone this starts its recorder; set it to WAV if it lets you"}};
    write_file_form(request, h, "/sounds", files, CW_COUNT(files), "Listen to it");
    html_markup(h, "</section>\n");
}

static void write_photographs(cw_request *request, cw_html *h)
{
    static const cw_input files[] = {
        {.name = "reference",
         .label = "Reference",
         .type = "file",
         .required = true,
         .help = "the film camera's shutter held open on B or T, the exposure by the digital camera"},
        {.name = "test",
         .label = "Test, one or several",
         .type = "file",
         .required = true,
         .several = true,
         .help = "in the dark: the digital shutter open for seconds, the film camera's fired once"},
        {.name = "dark",
         .label = "Dark frame",
         .type = "file",
         .help = "if you have one: as long as the test, nothing fired; the sensor's own glow is taken off"}};
    html_markup(h, "<section class='panel' id='photographs'><h2>Or two photographs</h2><p class='soft'>An evenly lit "
                   "panel, seen by a digital camera through the open back and shutter. Same ISO and aperture for all; "
                   "raw files, up to 60 megapixels and more. JPEG works, but its tone curve is not known: the time is "
                   "then good to a tenth or worse.</p>");
    write_file_form(request, h, "/photographs", files, CW_COUNT(files), "Compare them");
    html_markup(h, "</section>\n");
}

/* Readings from the form, evaluated. *result is only there on CW_OK. */
static cw_status run_readings(const cw_form *form, cw_typed_readings *readings, cw_shutter_plan *plan,
                              cw_plan_result *result, cw_error *err)
{
    *plan = cw_plan_default();
    CW_TRY(cw_plan_from_form(form, plan, err));
    CW_TRY(cw_readings_from_form(form, readings, err));
    return cw_readings_run(readings, plan, result, err);
}

static cw_status write_keep(cw_request *request, cw_html *h, const cw_form *form, cw_error *err)
{
    html_markup(h, "<section class='panel next'><h2>Keep it</h2>");
    cw_form_begin(request, h, false, "/measure/keep");
    cw_write_hidden_form(h, form, (const char *const[]){"job", "when", "camera", "title", NULL});
    CW_TRY(cw_keep_write_fields(request, h, err));
    cw_submit(h, "Keep as a test");
    cw_form_end(h);
    html_markup(h, "</section>\n");
    return CW_OK;
}

static cw_status write_result(cw_request *request, cw_html *h, const cw_form *form, const cw_plan_result *result,
                              cw_error *err)
{
    html_markup(h, "<section class='panel' id='result'><h2>Verdict</h2>\n");
    cw_write_summary(h, result->test);
    cw_write_speed_table(h, result->test, true);
    bool is_after = strcmp(cw_value(request, "when", ""), "after") == 0;
    cw_write_speed_plot(h, is_after ? NULL : result->test, is_after ? result->test : NULL);
    html_markup(h, "</section>\n");
    cw_write_findings(h, result->test);
    CW_TRY(write_keep(request, h, form, err));
    cw_write_method(h, result->test);
    return CW_OK;
}

cw_status page_measure(cw_request *request, cw_reply *reply, cw_error *err)
{
    const cw_form *form = request->writes ? &request->form : &request->target.query;
    cw_plan_result result = {0};
    cw_typed_readings *readings = malloc(sizeof *readings);
    cw_shutter_plan plan;
    if (readings == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the readings");
    if (cw_readings_given(form)) {
        cw_error refused = {0};
        if (run_readings(form, readings, &plan, &result, &refused) != CW_OK && request->problem.status == CW_OK) {
            request->problem = refused;
            reply->code = cw_http_status(&refused);
        }
    }
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_MEASURE, "Measure a shutter");
    html_markup(h, "<h1>Measure a shutter</h1>\n");
    cw_status status = CW_OK;
    if (result.test != NULL)
        status = write_result(request, h, form, &result, err);
    html_markup(h, "<div class='two'>\n");
    write_readings_form(request, h);
    html_markup(h, "<div>\n");
    write_live(request, h);
    write_upload(request, h);
    write_by_ear(request, h);
    write_photographs(request, h);
    html_markup(h, "</div></div>\n");
    cw_page_end(reply);
    cw_plan_result_free(&result);
    free(readings);
    return status;
}

cw_status twin_measure(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_typed_readings *readings = malloc(sizeof *readings);
    cw_plan_result result = {0};
    cw_shutter_plan plan;
    if (readings == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the readings");
    cw_status status = run_readings(&request->target.query, readings, &plan, &result, err);
    free(readings);
    if (status != CW_OK)
        return status;
    reply->json = cw_plan_result_json(&result);
    cw_plan_result_free(&result);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the result");
}

static cw_status keep_readings(cw_bench *bench, int64_t test_id, const cw_typed_readings *readings, cw_error *err)
{
    for (size_t i = 0; i < readings->count; i++) {
        const cw_typed_reading *typed = &readings->items[i];
        cw_reading reading = {.test_id = test_id,
                              .marked_s = typed->marked_s,
                              .exposure_s = typed->seconds,
                              .position_mm = NAN,
                              .as_typed = typed->as_typed};
        int64_t id;
        CW_TRY(cw_reading_add(bench, &reading, &id, err));
    }
    return CW_OK;
}

static cw_status keep_all(cw_request *request, const cw_typed_readings *readings, const cw_shutter_plan *plan,
                          const cw_plan_result *result, int64_t *test_id, cw_error *err)
{
    cw_keep keep;
    CW_TRY(cw_keep_from_form(request, plan->measure.kind, &keep, err));
    cw_test test = {.job_id = keep.job_id, .when = (cw_when)keep.when, .title = keep.title, .notes = keep.notes};
    CW_TRY(cw_store_shutter(request->bench, &test, plan, result, test_id, err));
    return keep_readings(request->bench, *test_id, readings, err);
}

cw_status post_measure_keep(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_typed_readings *readings = malloc(sizeof *readings);
    cw_plan_result result = {0};
    cw_shutter_plan plan;
    if (readings == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the readings");
    int64_t test_id = 0;
    cw_status status = run_readings(&request->form, readings, &plan, &result, err);
    if (status == CW_OK)
        status = cw_change_begin(request->bench, cw_row_id(request, "job"), "a shutter test from typed readings", err);
    if (status == CW_OK) {
        status = keep_all(request, readings, &plan, &result, &test_id, err);
        if (status == CW_OK)
            status = cw_change_commit(request->bench, err);
        else
            cw_change_cancel(request->bench);
    }
    if (status == CW_OK)
        cw_go(request, reply, "The test is kept.", "/tests/%" PRId64, test_id);
    cw_plan_result_free(&result);
    free(readings);
    return status;
}
