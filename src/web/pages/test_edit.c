/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Correcting a kept shutter test: its plan, a reading that was typed wrong, a shot to leave out. It is worked out again
 * from the recording, the readings or the shots that were kept; what stood there before stays as an earlier version. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/test.h"
#include "shutter/tolerance.h"
#include "web/page.h"
#include "web/pages/pages.h"
#include "web/pages/plan_form.h"
#include "web/pages/recording_parts.h"
#include "web/pages/shutter_parts.h"
#include "web/pages/stored_test.h"
#include "web/readings.h"

enum { BLANK_ROWS = 3, FIELD_NAME = 32 };

typedef struct {
    cw_test stored;
    cw_shutter_plan plan;
    cw_shutter_test *test;    /* as it was evaluated */
    cw_reading_list readings; /* none: it came from a recording, or from shots measured another way */
    json_t *strikes;          /* why, by the number of the shot; NULL: no shot was left out with a reason */
} editing;

static void editing_free(editing *edit)
{
    json_decref(edit->strikes);
    cw_reading_list_free(&edit->readings);
    cw_shutter_test_free(edit->test);
    cw_test_free(&edit->stored);
}

static cw_status editing_get(cw_request *request, editing *edit, cw_error *err)
{
    *edit = (editing){0};
    CW_TRY(cw_test_get(request->bench, request->match.ids[0], &edit->stored, err));
    cw_status status = cw_stored_result(&edit->stored, &edit->test, err);
    if (status == CW_OK)
        status = cw_stored_plan(&edit->stored, &edit->plan, err);
    if (status == CW_OK)
        status = cw_reading_page(request->bench, edit->stored.id, &edit->readings, err);
    edit->strikes = json_loads(edit->stored.strikes_json, 0, NULL);
    if (status != CW_OK)
        editing_free(edit);
    return status;
}

/* ---- the form ---- */

static const char *const keys_typed[] = {"shutter", "geometric", "tolerance", "clock-ppm", NULL};
static const char *const keys_recorded[] = {
    "marked-list", "shots-per-speed", "shutter",   "beam",     "sensors-mm", "frame-mm",        "coupling", "tolerance",
    "geometric",   "contact-channel", "clock-ppm", "place-mm", "separator",  "sample-interval", NULL};
static const char *const keys_shots[] = {"marked-list", "shots-per-speed", "shutter",   "beam",
                                         "sensors-mm",  "frame-mm",        "tolerance", "geometric",
                                         "clock-ppm",   "place-mm",        NULL};

/* A recording of light is measured again; of a sound or photographs the shots as they were kept. */
static bool measures_again(const editing *edit)
{
    cw_exposure_method method = cw_test_method(edit->test);
    return edit->stored.recording_id > 0 && method != CW_METHOD_SOUND && method != CW_METHOD_PHOTO;
}

static const char *const *keys_of(const editing *edit)
{
    return edit->readings.count > 0 ? keys_typed : measures_again(edit) ? keys_recorded : keys_shots;
}

static void write_about(cw_request *request, cw_html *h, const editing *edit)
{
    static const cw_option_item whens[] = {{"before", "Before"}, {"during", "During"}, {"after", "After"}};
    const cw_test *test = &edit->stored;
    cw_field_choice(request, h, "when", "Measured", cw_when_name(test->when), whens, CW_COUNT(whens), NULL);
    cw_field_input(
        request, h,
        &(cw_input){.name = "tested-on", .label = "On", .type = "date", .value = test->tested_on, .narrow = true});
    cw_field_input(request, h, &(cw_input){.name = "title", .label = "A line about it", .value = test->title});
    cw_field_input(request, h,
                   &(cw_input){.name = "notes",
                               .label = "Circumstances",
                               .value = test->notes,
                               .rows = 3,
                               .help = "temperature, battery, how the camera was held"});
}

static const char *why_of(const editing *edit, size_t shot)
{
    char number[FIELD_NAME];
    snprintf(number, sizeof number, "%zu", shot);
    const char *why = json_string_value(json_object_get(edit->strikes, number));
    return why != NULL ? why : "";
}

static void text_cell(const cw_request *request, cw_html *h, const char *what, size_t row, const char *label,
                      const char *value)
{
    char name[FIELD_NAME];
    snprintf(name, sizeof name, "%s.%zu", what, row);
    html_markup(h, "<td");
    html_attr(h, "data-label", label);
    html_markup(h, "><input type='text' autocomplete='off'");
    html_attr(h, "name", name);
    html_attrf(h, "aria-label", "%s, shot %zu", label, row);
    html_attr(h, "value", cw_value(request, name, value));
    html_markup(h, "></td>");
}

static void strike_cells(const cw_request *request, cw_html *h, const editing *edit, size_t row)
{
    char name[FIELD_NAME];
    bool struck = row <= edit->test->shot_count && edit->test->shots[row - 1].struck;
    snprintf(name, sizeof name, "strike.%zu", row);
    html_markup(h, "<td data-label='Leave it out'><label class='tick'><input type='checkbox' value='1'");
    html_attr(h, "name", name);
    html_attrf(h, "aria-label", "Leave out shot %zu", row);
    html_flag(h, "checked", request->writes ? cw_ticked(request, name) : struck);
    html_markup(h, "></label></td>");
    text_cell(request, h, "why", row, "Why it is left out", why_of(edit, row));
}

static void typed_row(const cw_request *request, cw_html *h, const editing *edit, size_t row)
{
    const cw_reading *reading = row <= edit->readings.count ? &edit->readings.items[row - 1] : NULL;
    char mark[CW_MARK_TEXT] = "";
    if (reading != NULL)
        cw_mark_text(reading->marked_s, mark, sizeof mark);
    html_markup(h, "<tr><th scope='row'><span class='shotnumber'>Shot </span>");
    html_textf(h, "%zu", row);
    html_markup(h, "</th>");
    text_cell(request, h, "mark", row, "Marked speed", mark);
    text_cell(request, h, "reading", row, "What the timer showed", reading != NULL ? reading->as_typed : "");
    strike_cells(request, h, edit, row);
    html_markup(h, "</tr>\n");
}

static void measured_row(const cw_request *request, cw_html *h, const editing *edit, size_t row)
{
    const cw_shot *shot = &edit->test->shots[row - 1];
    char mark[CW_MARK_TEXT];
    cw_mark_text(shot->marked_s, mark, sizeof mark);
    html_markup(h, "<tr><th scope='row'><span class='shotnumber'>Shot </span>");
    html_textf(h, "%zu", row);
    html_markup(h, "</th><td data-label='Marked '>");
    html_text(h, mark);
    html_markup(h, "</td><td data-label='Measured '>");
    for (size_t k = 0; k < shot->sensor_count; k++) {
        if (k > 0)
            html_markup(h, ", ");
        html_shutter_time(h, shot->sensors[k].exposure_s.value);
    }
    html_markup(h, "</td>");
    strike_cells(request, h, edit, row);
    html_markup(h, "</tr>\n");
}

static void write_shots(const cw_request *request, cw_html *h, const editing *edit)
{
    bool typed = edit->readings.count > 0;
    size_t rows = typed ? edit->readings.count + BLANK_ROWS : edit->test->shot_count;
    if (typed)
        html_markup(h, "<p class='soft'>Write over what was typed wrong, with its unit. An empty line is no reading. "
                       "Better to leave a shot out with a reason than to take it away.</p>");
    html_markup(h, "<div class='scroll' tabindex='0' role='region' aria-label='Shots'><table class='entry'><thead><tr>"
                   "<th scope='col'>Shot</th><th scope='col'>Marked</th><th scope='col'>Measured</th>"
                   "<th scope='col'>Leave out</th><th scope='col'>Why</th></tr></thead><tbody>");
    for (size_t row = 1; row <= rows; row++)
        typed ? typed_row(request, h, edit, row) : measured_row(request, h, edit, row);
    html_markup(h, "</tbody></table></div>\n");
}

cw_status page_test_edit(cw_request *request, cw_reply *reply, cw_error *err)
{
    editing edit;
    char revision[FIELD_NAME];
    CW_TRY(editing_get(request, &edit, err));
    cw_html *h = &reply->html;
    snprintf(revision, sizeof revision, "%" PRId64, edit.stored.revision);
    cw_page_begin(request, reply, CW_PLACE_BENCH, "Correct the test");
    html_markup(h, "<p class='trail'>");
    cw_link(h, "", "Shutter test", "/tests/%" PRId64, edit.stored.id);
    html_markup(h,
                "</p><h1>Correct the test</h1>\n<p class='lead'>What stands there now is kept as an earlier version, "
                "with the reason.</p>\n");
    cw_form_begin(request, h, false, "/tests/%" PRId64 "/edit", edit.stored.id);
    cw_field_hidden(h, "revision", cw_value(request, "revision", revision));
    html_markup(h, "<section class='panel'><h2>");
    html_text(h, edit.readings.count > 0 ? "Readings" : "Shots");
    html_markup(h, "</h2>\n");
    write_shots(request, h, &edit);
    html_markup(h, "</section>\n<section class='panel'><h2>How it is worked out</h2>\n");
    cw_plan_write_fields(request, h, &edit.plan, keys_of(&edit));
    cw_plan_write_own_tolerance(request, h, &edit.plan);
    html_markup(h, "</section>\n<section class='panel'><h2>What is noted</h2>\n");
    write_about(request, h, &edit);
    html_markup(h, "</section>\n<section class='panel next'>");
    cw_field_input(request, h,
                   &(cw_input){.name = "reason",
                               .label = "Why it is corrected",
                               .required = true,
                               .value = "",
                               .example = "a digit slipped; the panel moved"});
    cw_submit(h, "Work it out again and keep it");
    html_markup(h, "</section>");
    cw_form_end(h);
    cw_page_end(reply);
    editing_free(&edit);
    return CW_OK;
}

static json_t *readings_json(const cw_reading_list *list)
{
    json_t *rows = json_array();
    for (size_t i = 0; i < list->count; i++)
        json_array_append_new(rows, json_pack("{s:f,s:f,s:s}", "marked_s", list->items[i].marked_s, "exposure_s",
                                              list->items[i].exposure_s, "as_typed", list->items[i].as_typed));
    return rows;
}

static json_t *versions_json(const cw_test_version_list *list)
{
    json_t *rows = json_array();
    for (size_t i = 0; i < list->count; i++)
        json_array_append_new(rows, json_pack("{s:I,s:s,s:s}", "id", (json_int_t)list->items[i].id, "corrected_at",
                                              list->items[i].corrected_at, "reason", list->items[i].reason));
    return rows;
}

cw_status twin_test_edit(cw_request *request, cw_reply *reply, cw_error *err)
{
    editing edit;
    cw_test_version_list versions;
    CW_TRY(editing_get(request, &edit, err));
    cw_status status = cw_test_version_page(request->bench, edit.stored.id, &versions, err);
    if (status == CW_OK) {
        reply->json = json_pack("{s:s,s:I,s:I,s:o,s:o,s:o,s:o}", "format", "camerawright.test-plan/1", "test_id",
                                (json_int_t)edit.stored.id, "revision", (json_int_t)edit.stored.revision, "plan",
                                cw_plan_json(&edit.plan), "readings", readings_json(&edit.readings), "strikes",
                                edit.strikes != NULL ? json_incref(edit.strikes) : json_object(), "versions",
                                versions_json(&versions));
        cw_test_version_list_free(&versions);
        if (reply->json == NULL)
            status = cw_fail(err, CW_MEMORY, "no memory for the plan of the test");
    }
    editing_free(&edit);
    return status;
}

/* ---- working it out again ---- */

static const char *cell(const cw_form *form, const char *what, size_t row)
{
    char name[FIELD_NAME];
    snprintf(name, sizeof name, "%s.%zu", what, row);
    const char *value = cw_form_get(form, name);
    return value == NULL ? "" : value + strspn(value, " \t\r\n");
}

/* What the form says, on its way to a corrected test. */
typedef struct {
    cw_shutter_plan plan;
    cw_plan_result result;
    cw_typed_readings typed;
    size_t rows[CW_READINGS_MOST]; /* the row of the form each typed reading stood in */
} again;

static cw_status read_typed(const cw_form *form, const editing *edit, again *now, cw_error *err)
{
    for (size_t row = 1; row <= edit->readings.count + BLANK_ROWS; row++) {
        const char *typed = cell(form, "reading", row), *mark = cell(form, "mark", row);
        double marked_s;
        if (typed[0] == '\0')
            continue;
        if (now->typed.count >= CW_READINGS_MOST)
            return cw_fail(err, CW_RANGE, "more than %d readings; keep them as several tests", CW_READINGS_MOST);
        if (mark[0] == '\0')
            return cw_fail(err, CW_INPUT, "the reading \"%.40s\" stands without its marked speed", typed);
        CW_TRY(cw_mark_parse(mark, &marked_s, err));
        cw_status status = cw_reading_again(marked_s, typed, &now->typed.items[now->typed.count], err);
        if (status != CW_OK) {
            cw_context(err, "shot %zu", row);
            return status;
        }
        now->rows[now->typed.count++] = row;
    }
    return now->typed.count > 0 ? CW_OK : cw_fail(err, CW_INPUT, "no reading is left; take the whole test out instead");
}

/* Shots are struck by their number, which after a reading was taken away is not that of its row. */
static void renumber_strikes(again *now)
{
    size_t count = 0;
    for (size_t i = 0; i < now->plan.strike_count; i++)
        for (size_t shot = 0; shot < now->typed.count; shot++)
            if (now->rows[shot] == now->plan.strikes[i])
                now->plan.strikes[count++] = shot + 1;
    now->plan.strike_count = count;
}

static cw_status run_recorded(cw_request *request, const editing *edit, again *now, cw_error *err)
{
    cw_source *source;
    CW_TRY(cw_recording_open(request->bench, edit->stored.recording_id, &now->plan.source, &source, err));
    cw_status status = cw_plan_run(&now->plan, source, &now->result, err);
    cw_source_close(source);
    return status;
}

/* From the shots as they were kept; their places are those of the plan, where it names as many. */
static cw_status run_shots(const editing *edit, again *now, cw_error *err)
{
    for (size_t i = 0; i < edit->test->shot_count; i++) {
        cw_shot *shot = &edit->test->shots[i];
        if (shot->struck)
            shot->remark[0] = '\0';
        shot->struck = false;
        for (size_t k = 0; k < shot->sensor_count && now->plan.measure.sensor_count == shot->sensor_count; k++)
            shot->sensors[k].position_mm = now->plan.measure.sensors_mm[k];
    }
    return cw_plan_run_shots(&now->plan, edit->test->shots, edit->test->shot_count, NULL, &now->result, err);
}

static cw_status work_out(cw_request *request, const editing *edit, again *now, cw_error *err)
{
    now->plan = cw_plan_default();
    CW_TRY(cw_plan_from_form(&request->form, &now->plan, err));
    if (edit->readings.count == 0)
        return measures_again(edit) ? run_recorded(request, edit, now, err) : run_shots(edit, now, err);
    CW_TRY(read_typed(&request->form, edit, now, err));
    renumber_strikes(now);
    return cw_readings_run(&now->typed, &now->plan, &now->result, err);
}

static cw_status keep(cw_request *request, const editing *edit, again *now, cw_error *err)
{
    cw_reading *readings = calloc(now->typed.count + 1, sizeof *readings);
    cw_test test = edit->stored;
    char *strikes = NULL;
    if (readings == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the readings");
    for (size_t i = 0; i < now->typed.count; i++)
        readings[i] = (cw_reading){.marked_s = now->typed.items[i].marked_s,
                                   .exposure_s = now->typed.items[i].seconds,
                                   .position_mm = NAN,
                                   .as_typed = now->typed.items[i].as_typed};
    test.revision = cw_row_id(request, "revision");
    test.title = cw_posted(request, "title");
    test.notes = cw_posted(request, "notes");
    test.tested_on = cw_posted(request, "tested-on");
    cw_status status = cw_when_parse(cw_value(request, "when", "before"), &test.when, err);
    if (status == CW_OK)
        status = cw_strikes_from_form(&request->form, now->typed.count > 0 ? now->rows : NULL, "",
                                      cw_posted(request, "reason"), &now->plan, now->result.test, &strikes, err);
    test.strikes_json = strikes;
    if (status == CW_OK)
        status = cw_correct_shutter(request->bench, &test, &now->plan, &now->result, readings, now->typed.count,
                                    cw_posted(request, "reason"), err);
    free(strikes);
    free(readings);
    return status;
}

cw_status post_test_edit(cw_request *request, cw_reply *reply, cw_error *err)
{
    editing edit;
    CW_TRY(editing_get(request, &edit, err));
    again *now = calloc(1, sizeof *now);
    cw_status status = now != NULL ? work_out(request, &edit, now, err) : cw_fail(err, CW_MEMORY, "no memory");
    if (status == CW_OK)
        status = keep(request, &edit, now, err);
    if (status == CW_OK)
        cw_go(request, reply, "The test is corrected. What stood there before is under \"Earlier versions\".",
              "/tests/%" PRId64, edit.stored.id);
    if (now != NULL)
        cw_plan_result_free(&now->result);
    free(now);
    editing_free(&edit);
    return status;
}

/* ---- earlier versions ---- */

cw_status cw_write_versions(cw_request *request, cw_html *h, int64_t test_id, cw_error *err)
{
    cw_test_version_list list;
    CW_TRY(cw_test_version_page(request->bench, test_id, &list, err));
    if (list.count > 0)
        html_markup(h, "<section class='panel' id='versions'><h2>Earlier versions</h2><ul class='lines'>");
    for (size_t i = 0; i < list.count; i++) {
        const cw_test_version *version = &list.items[i];
        html_markup(h, "<li><a");
        html_attrf(h, "href", "/tests/%" PRId64 "?version=%" PRId64, test_id, version->id);
        html_markup(h, "><strong>");
        html_text(h, i == 0 ? "As kept at first" : "As corrected then");
        html_markup(h, "</strong> <span class='soft'>");
        html_textf(h, "until %.10s %.5s UTC. Corrected because: %s", version->corrected_at, version->corrected_at + 11,
                   version->reason);
        html_markup(h, "</span></a></li>\n");
    }
    if (list.count > 0)
        html_markup(h, "</ul></section>\n");
    cw_test_version_list_free(&list);
    return CW_OK;
}
