/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/pages/plan_form.h"

#include <inttypes.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "notebook/job.h"
#include "notebook/test.h"
#include "shutter/tolerance.h"
#include "web/page.h"

static cw_status take_strikes(const cw_form *form, cw_shutter_plan *plan, cw_error *err)
{
    for (size_t i = 0; i < form->count; i++) {
        const char *name = form->entries[i].name;
        if (strncmp(name, "strike.", 7) != 0)
            continue;
        long shot;
        CW_TRY(cw_parse_whole(name + 7, 1, CW_SHOTS_MOST, &shot, err));
        if (plan->strike_count >= CW_STRIKES_MOST)
            return cw_fail(err, CW_RANGE, "more than %d shots left out; record the test again", CW_STRIKES_MOST);
        plan->strikes[plan->strike_count++] = (size_t)shot;
    }
    return CW_OK;
}

cw_status cw_plan_from_form(const cw_form *form, cw_shutter_plan *plan, cw_error *err)
{
    size_t count;
    const cw_plan_field *fields = cw_plan_fields(&count);
    for (size_t i = 0; i < count; i++) {
        const char *value = cw_form_get(form, fields[i].key);
        if (value != NULL)
            CW_TRY(cw_plan_set(plan, fields[i].key, value, err));
    }
    const char *own = cw_form_get(form, "tolerance-own");
    if (own != NULL && own[strspn(own, " \t\r\n")] != '\0')
        CW_TRY(cw_tolerance_parse(own, strlen(own), &plan->tolerance, err));
    return take_strikes(form, plan, err);
}

enum { ITEMS_MOST = 6, ITEM_TEXT = 32 };

/* "leaf|focal-plane" as a choice. */
static void write_plan_choice(const cw_request *request, cw_html *h, const cw_plan_field *field, const char *value)
{
    char texts[ITEMS_MOST][ITEM_TEXT];
    cw_option_item items[ITEMS_MOST];
    size_t count = 0;
    for (const char *at = field->form; *at != '\0' && count < ITEMS_MOST;) {
        size_t length = strcspn(at, "|");
        snprintf(texts[count], ITEM_TEXT, "%.*s", (int)length, at);
        items[count] = (cw_option_item){texts[count], texts[count]};
        count++;
        at += length + (at[length] == '|');
    }
    cw_field_choice(request, h, field->key, field->label, value, items, count, field->help);
}

static const cw_plan_field *field_of(const char *key)
{
    size_t count;
    const cw_plan_field *fields = cw_plan_fields(&count);
    for (size_t i = 0; i < count; i++)
        if (strcmp(fields[i].key, key) == 0)
            return &fields[i];
    return NULL;
}

void cw_plan_write_fields(const cw_request *request, cw_html *h, const cw_shutter_plan *plan, const char *const *keys)
{
    json_t *typed = plan == NULL ? NULL : cw_plan_json(plan);
    for (; *keys != NULL; keys++) {
        const cw_plan_field *field = field_of(*keys);
        if (field == NULL)
            continue;
        const char *value = json_string_value(json_object_get(typed, *keys));
        if (value == NULL)
            value = field->fallback;
        if (strchr(field->form, '|') != NULL)
            write_plan_choice(request, h, field, value);
        else
            cw_field_input(request, h,
                           &(cw_input){.name = field->key,
                                       .label = field->label,
                                       .value = value,
                                       .example = field->form,
                                       .help = field->help});
    }
    json_decref(typed);
}

void cw_plan_write_own_tolerance(const cw_request *request, cw_html *h, const cw_shutter_plan *plan)
{
    cw_tolerance built_in;
    cw_error ignored;
    char *own = NULL;
    if (cw_tolerance_find(plan->tolerance.name, &built_in, &ignored) != CW_OK) {
        json_t *table = cw_tolerance_json(&plan->tolerance);
        own = cw_json_written(table, CW_JSON_GIVEN);
        json_decref(table);
    }
    cw_field_input(
        request, h,
        &(cw_input){
            .name = "tolerance-own",
            .label = "Or a table of your own",
            .rows = 5,
            .value = own,
            .example =
                "camerawright.tolerance/1\nname: my rangefinders\nsource: own experience\n1/30 0.25\nfaster 0.5"});
    free(own);
}

void cw_write_hidden_form(cw_html *h, const cw_form *form, const char *const *but)
{
    for (size_t i = 0; i < form->count; i++) {
        bool left_out = strcmp(form->entries[i].name, "token") == 0;
        for (const char *const *name = but; *name != NULL; name++)
            left_out = left_out || strcmp(form->entries[i].name, *name) == 0;
        if (!left_out)
            cw_field_hidden(h, form->entries[i].name, form->entries[i].value);
    }
}

static const cw_option_item whens[] = {{"before", "Before"}, {"during", "During"}, {"after", "After"}};

enum { JOBS_OFFERED = 50 };

static cw_status write_jobs(cw_request *request, cw_html *h, cw_error *err)
{
    cw_job_list jobs;
    CW_TRY(cw_job_page(request->bench, &(cw_job_filter){.most = JOBS_OFFERED}, &jobs, err));
    int64_t chosen = cw_row_id(request, "job");
    html_markup(h, "<div class='field'><label for='in-job'>Job</label><select id='in-job' name='job'>"
                   "<option value=''>a new one, for the camera below</option>");
    for (size_t i = 0; i < jobs.count; i++) {
        html_markup(h, "<option");
        html_attrf(h, "value", "%" PRId64, jobs.items[i].id);
        html_flag(h, "selected", jobs.items[i].id == chosen);
        html_markup(h, ">");
        html_textf(h, "%s %s (%s)", jobs.items[i].camera, jobs.items[i].serial, cw_stage_label(jobs.items[i].stage));
        html_markup(h, "</option>");
    }
    html_markup(h, "</select></div>\n");
    cw_job_list_free(&jobs);
    return CW_OK;
}

cw_status cw_keep_write_fields(cw_request *request, cw_html *h, cw_error *err)
{
    return cw_keep_write_fields_for(request, h, cw_row_id(request, "job"), "before", err);
}

cw_status cw_keep_write_fields_for(cw_request *request, cw_html *h, int64_t job_id, const char *when, cw_error *err)
{
    if (job_id > 0) {
        cw_job job;
        CW_TRY(cw_job_get(request->bench, job_id, &job, err));
        char id[32];
        snprintf(id, sizeof id, "%" PRId64, job_id);
        cw_field_hidden(h, "job", id);
        html_markup(h, "<p>In the job <strong>");
        html_textf(h, "%s %s", job.camera, job.serial);
        html_markup(h, "</strong></p>\n");
        cw_job_free(&job);
    } else {
        CW_TRY(write_jobs(request, h, err));
        cw_field_input(
            request, h,
            &(cw_input){
                .name = "camera", .label = "Or a new camera", .value = "", .help = "its kind; a job is opened for it"});
    }
    cw_field_choice(request, h, "when", "Measured", when, whens, CW_COUNT(whens), NULL);
    cw_field_input(
        request, h,
        &(cw_input){
            .name = "title", .label = "A line about it", .value = "", .example = "after cleaning the slow speeds"});
    return CW_OK;
}

cw_status cw_keep_from_form(cw_request *request, cw_shutter_kind kind, cw_keep *keep, cw_error *err)
{
    cw_when when;
    CW_TRY(cw_when_parse(cw_value(request, "when", "before"), &when, err));
    cw_keep made = {.job_id = cw_row_id(request, "job"),
                    .when = (int)when,
                    .title = cw_posted(request, "title"),
                    .notes = cw_posted(request, "notes")};
    if (made.job_id == 0) {
        const char *camera = cw_posted(request, "camera");
        if (camera[strspn(camera, " \t\r\n")] == '\0')
            return cw_fail(err, CW_INPUT, "choose the job it belongs to, or name the camera for a new one");
        cw_job job = {.camera = camera,
                      .shutter = kind == CW_SHUTTER_LEAF ? CW_JOB_SHUTTER_LEAF : CW_JOB_SHUTTER_FOCAL_PLANE,
                      .agreed_cost = NAN};
        CW_TRY(cw_job_add(request->bench, &job, &made.job_id, err));
    }
    *keep = made;
    return CW_OK;
}
