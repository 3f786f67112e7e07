/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The bench: every job with its stage, and taking a camera in. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "notebook/job.h"
#include "notebook/step.h"
#include "notebook/thread.h"
#include "web/page.h"
#include "web/pages/kind_parts.h"
#include "web/pages/pages.h"

enum { JOBS_A_PAGE = 24, KINDS_OFFERED = 200 };

static cw_status filter_of(const cw_request *request, cw_job_filter *filter, cw_error *err)
{
    *filter = (cw_job_filter){.most = JOBS_A_PAGE};
    const char *stage_name = cw_value(request, "stage", "");
    if (stage_name[0] != '\0') {
        cw_stage stage;
        CW_TRY(cw_stage_parse(stage_name, &stage, err));
        filter->stages = 1u << stage;
    }
    long first;
    CW_TRY(cw_whole(request, "first", 0, 100000000, 0, &first, err));
    filter->first = first;
    return CW_OK;
}

static void write_filter(cw_html *h, const char *label, const char *stage, int64_t count, bool chosen)
{
    html_markup(h, "<li><a href='/");
    if (stage != NULL) {
        html_markup(h, "?stage=");
        html_url_part(h, stage);
    }
    html_markup(h, "'");
    if (chosen)
        html_markup(h, " aria-current='true'");
    html_markup(h, ">");
    html_text(h, label);
    html_markup(h, " <span class='unit'>");
    html_textf(h, "%" PRId64, count);
    html_markup(h, "</span></a></li>");
}

static void write_filters(cw_html *h, const cw_job_filter *filter, const int64_t counts[CW_STAGE_COUNT])
{
    int64_t all = 0;
    for (size_t i = 0; i < CW_STAGE_COUNT; i++)
        all += counts[i];
    html_markup(h, "<ul class='filters' aria-label='Show only'>");
    write_filter(h, "All", NULL, all, filter->stages == 0);
    for (size_t i = 0; i < CW_STAGE_COUNT; i++)
        if (counts[i] > 0)
            write_filter(h, cw_stage_label((cw_stage)i), cw_stage_name((cw_stage)i), counts[i],
                         filter->stages == 1u << i);
    html_markup(h, "</ul>\n");
}

static void write_stage_bar(cw_html *h, cw_stage stage)
{
    html_markup(h, "<ol class='stages' aria-hidden='true'>");
    for (size_t i = 0; i < CW_STAGE_COUNT; i++) {
        html_markup(h, "<li");
        html_attr(h, "class", i < stage ? "past" : i == stage ? "now" : NULL);
        html_markup(h, "></li>");
    }
    html_markup(h, "</ol>");
}

/* The card leads to the job, where the one next action that it names is the main button. */
static void write_card(cw_html *h, const cw_job_card *job, const cw_next *next)
{
    html_markup(h, "<li><a class='card job'");
    html_attrf(h, "href", "/jobs/%" PRId64, job->id);
    html_markup(h, ">");
    if (job->cover_photo_id > 0) {
        html_markup(h, "<img class='shot' loading='lazy' width='80' height='80' alt=''");
        html_attrf(h, "src", "/photos/%" PRId64 "/small", job->cover_photo_id);
        html_markup(h, ">");
    } else {
        html_markup(h, "<span class='shot'></span>");
    }
    html_markup(h, "<strong>");
    html_text(h, job->camera);
    if (job->serial[0] != '\0') {
        html_markup(h, " <span class='unit'>");
        html_text(h, job->serial);
        html_markup(h, "</span>");
    }
    html_markup(h, "</strong><span>");
    html_text(h, job->complaint[0] != '\0' ? job->complaint : "no complaint noted");
    html_markup(h, "</span><span class='soft'>");
    html_text(h, cw_stage_label(job->stage));
    html_textf(h, ", since %s", job->taken_in_on);
    if (job->pieces_out > 0) {
        html_markup(h, " &middot; <span class='out'>");
        html_textf(h, "%" PRId64 " %s out", job->pieces_out, job->pieces_out == 1 ? "piece" : "pieces");
        html_markup(h, "</span>");
    }
    html_markup(h, "</span>");
    if (job->stage != CW_STAGE_HANDED_ON) {
        html_markup(h, "<span class='todo'>Next: <b>");
        html_text(h, next->action.label);
        html_markup(h, "</b></span>");
    }
    write_stage_bar(h, job->stage);
    html_markup(h, "</a></li>\n");
}

/* A first visit: what can be done here, each a tap away. */
static void write_empty(cw_html *h)
{
    html_markup(
        h, "<p class='lead'>Nothing is on the bench yet. Start with a camera, or look at a shutter right "
           "away.</p>\n<ul class='cards'>"
           "<li><a class='card' href='/jobs/new'><strong>Take a camera in</strong><span>Name it, note the "
           "complaint, and measure how it is before anything is touched.</span></a></li>"
           "<li><a class='card' href='/measure'><strong>Check a shutter now</strong><span>Type what your timer "
           "shows, such as 1/226 at a marked 1/250, or give it a recording. The verdict comes at once; keep it "
           "in a job afterwards if you like.</span></a></li>"
           "<li><a class='card' href='/live'><strong>Measure live</strong><span>A light gate or a sensor on the sound "
           "card: fire, read the number across the bench, set the next speed.</span></a></li>"
           "<li><a class='card' href='/worksheets'><strong>Work something out</strong><span>A wrench to make, a "
           "pin, a spring, a meter on a new cell.</span></a></li></ul>\n");
}

static void write_search(const cw_request *request, cw_html *h)
{
    html_markup(h,
                "<form method='get' action='/search' role='search' class='find'><label class='field'>"
                "<span class='soft'>Find in all notes</span><input type='search' name='q' placeholder='winding gear, "
                "sticky blades, M1.7'");
    html_attr(h, "value", cw_value(request, "q", NULL));
    html_markup(h, "></label><button class='button'>Search</button></form>\n");
}

static void write_jobs(const cw_request *request, cw_html *h, const cw_job_filter *filter, const cw_job_list *jobs,
                       const cw_next *next)
{
    html_markup(h, "<ul class='cards'>");
    for (size_t i = 0; i < jobs->count; i++)
        write_card(h, &jobs->items[i], &next[i]);
    html_markup(h, "</ul>\n");
    char address[64];
    snprintf(address, sizeof address, "/?stage=%.40s", filter->stages != 0 ? cw_value(request, "stage", "") : "");
    cw_pager(h, filter->first, filter->most, jobs->total, address);
}

/* What each of them asks for next. */
static cw_status read_next(cw_bench *bench, const cw_job_list *jobs, cw_next next[JOBS_A_PAGE], cw_error *err)
{
    for (size_t i = 0; i < jobs->count; i++)
        CW_TRY(cw_job_next(bench, jobs->items[i].id, NULL, &next[i], err));
    return CW_OK;
}

static void write_bench(cw_request *request, cw_html *h, const cw_job_filter *filter, const cw_job_list *jobs,
                        const int64_t counts[CW_STAGE_COUNT], const cw_next *next)
{
    html_markup(h, "<h1>The bench</h1>\n");
    if (jobs->total == 0 && filter->stages == 0) {
        write_empty(h);
        return;
    }
    html_markup(h, "<div class='actions'>");
    cw_link(h, "main", "Take a camera in", "/jobs/new");
    cw_link(h, "button", "From a file", "/import");
    html_markup(h, "</div>\n");
    write_search(request, h);
    write_filters(h, filter, counts);
    write_jobs(request, h, filter, jobs, next);
}

cw_status page_bench(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_job_filter filter;
    cw_job_list jobs;
    cw_next next[JOBS_A_PAGE];
    int64_t counts[CW_STAGE_COUNT];
    CW_TRY(filter_of(request, &filter, err));
    CW_TRY(cw_job_stage_counts(request->bench, counts, err));
    CW_TRY(cw_job_page(request->bench, &filter, &jobs, err));
    cw_status status = read_next(request->bench, &jobs, next, err);
    if (status == CW_OK) {
        cw_page_begin(request, reply, CW_PLACE_BENCH, "The bench");
        write_bench(request, &reply->html, &filter, &jobs, counts, next);
        cw_page_end(reply);
    }
    cw_job_list_free(&jobs);
    return status;
}

static json_t *card_json(const cw_job_card *job, const cw_next *next)
{
    return json_pack("{s:I,s:s,s:s,s:s,s:s,s:s,s:s,s:I,s:I,s:I,s:I,s:{s:s,s:s}}", "id", (json_int_t)job->id, "camera",
                     job->camera, "serial", job->serial, "complaint", job->complaint, "stage",
                     cw_stage_name(job->stage), "shutter", cw_job_shutter_name(job->shutter), "taken_in_on",
                     job->taken_in_on, "steps", (json_int_t)job->step_count, "photos", (json_int_t)job->photo_count,
                     "tests", (json_int_t)job->test_count, "pieces_out", (json_int_t)job->pieces_out, "next", "kind",
                     cw_next_kind_name(next->action.kind), "label", next->action.label);
}

cw_status twin_bench(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_job_filter filter;
    cw_job_list jobs;
    cw_next next[JOBS_A_PAGE];
    CW_TRY(filter_of(request, &filter, err));
    CW_TRY(cw_job_page(request->bench, &filter, &jobs, err));
    cw_status status = read_next(request->bench, &jobs, next, err);
    if (status == CW_OK) {
        json_t *list = json_array();
        for (size_t i = 0; i < jobs.count; i++)
            json_array_append_new(list, card_json(&jobs.items[i], &next[i]));
        reply->json = json_pack("{s:s,s:I,s:I,s:o}", "format", "camerawright.jobs/1", "total", (json_int_t)jobs.total,
                                "first", (json_int_t)filter.first, "jobs", list);
        if (reply->json == NULL)
            status = cw_fail(err, CW_MEMORY, "no memory for the list of jobs");
    }
    cw_job_list_free(&jobs);
    return status;
}

/* The earlier job whose steps are to lead this one, if the address names one; camera receives its kind. */
static cw_status write_plan_of(cw_request *request, cw_html *h, char *camera, size_t size, cw_job *kind, cw_error *err)
{
    int64_t plan_of = cw_row_id(request, "plan");
    camera[0] = '\0';
    if (plan_of == 0)
        return CW_OK;
    cw_job earlier;
    CW_TRY(cw_job_get(request->bench, plan_of, &earlier, err));
    snprintf(camera, size, "%s", earlier.camera);
    *kind = (cw_job){.shutter = earlier.shutter,
                     .finder = earlier.finder,
                     .meter = earlier.meter,
                     .flash = earlier.flash,
                     .bellows = earlier.bellows};
    html_markup(h, "<p class='notice'>");
    html_textf(h, "The steps noted for %s %s lead this job: each is ticked, corrected or left out as you go.",
               earlier.camera, earlier.serial);
    html_markup(h, "</p>\n");
    cw_job_free(&earlier);
    return CW_OK;
}

cw_status page_new_job(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_camera_list kinds;
    CW_TRY(cw_camera_kinds(request->bench, KINDS_OFFERED, &kinds, err));
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_BENCH, "Take a camera in");
    html_markup(h, "<p class='trail'><a href='/'>The bench</a></p><h1>Take a camera in</h1>\n");
    char camera[CW_LINE_MOST + 1];
    cw_job kind = {0};
    cw_status status = write_plan_of(request, h, camera, sizeof camera, &kind, err);
    cw_form_begin(request, h, false, "/jobs/new");
    if (cw_row_id(request, "plan") > 0)
        cw_field_hidden(h, "plan", cw_value(request, "plan", ""));
    html_markup(h, "<datalist id='kinds'>");
    for (size_t i = 0; i < kinds.count; i++) {
        html_markup(h, "<option");
        html_attr(h, "value", kinds.items[i].camera);
        html_markup(h, "></option>");
    }
    html_markup(h, "</datalist>\n");
    cw_camera_list_free(&kinds);
    cw_field_input(
        request, h,
        &(cw_input){.name = "camera",
                    .label = "Camera",
                    .required = true,
                    .focus = true,
                    .list = "kinds",
                    .value = camera,
                    .help = "its kind, always spelt the same: notes of the last such camera are found by it"});
    cw_field_input(request, h,
                   &(cw_input){.name = "serial",
                               .label = "Serial number or label",
                               .help = "whatever tells this one from its sisters"});
    cw_field_input(request, h,
                   &(cw_input){.name = "complaint",
                               .label = "What is wrong with it",
                               .rows = 3,
                               .example = "slow speeds stick, light leak at the hinge"});
    cw_write_kind_fields(request, h, &kind);
    cw_field_input(request, h,
                   &(cw_input){.name = "owner",
                               .label = "Whose it is, and what they asked",
                               .rows = 2,
                               .help = "stays on the bench: left out of reports and exports unless you ask for it"});
    cw_submit(h, "Take it in");
    cw_form_end(h);
    cw_page_end(reply);
    return status;
}

/* A job led by an earlier one, with what the form adds to it. */
static cw_status plan_job(cw_request *request, const cw_job *wanted, int64_t *id, cw_error *err)
{
    cw_job made;
    CW_TRY(cw_job_plan(request->bench, cw_row_id(request, "plan"), wanted->camera, wanted->serial, wanted->complaint,
                       id, err));
    CW_TRY(cw_job_get(request->bench, *id, &made, err));
    made.owner = wanted->owner;
    made.shutter = wanted->shutter;
    made.finder = wanted->finder;
    made.meter = wanted->meter;
    made.flash = wanted->flash;
    made.bellows = wanted->bellows;
    cw_status status = cw_job_update(request->bench, &made, err);
    cw_job_free(&made);
    return status;
}

static cw_status plan_job_in_one(cw_request *request, const cw_job *wanted, int64_t *id, cw_error *err)
{
    CW_TRY(cw_change_begin(request->bench, 0, "a job led by an earlier one", err));
    cw_status status = plan_job(request, wanted, id, err);
    if (status == CW_OK)
        return cw_change_commit(request->bench, err);
    cw_change_cancel(request->bench);
    return status;
}

cw_status post_new_job(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_job job = {
        .camera = cw_posted(request, "camera"),
        .serial = cw_posted(request, "serial"),
        .complaint = cw_posted(request, "complaint"),
        .owner = cw_posted(request, "owner"),
        .agreed_cost = NAN,
    };
    CW_TRY(cw_read_kind_fields(request, &job, err));
    int64_t id;
    CW_TRY(cw_row_id(request, "plan") > 0 ? plan_job_in_one(request, &job, &id, err)
                                          : cw_job_add(request->bench, &job, &id, err));
    cw_go(request, reply, "The camera is on the bench. Measure it before anything is touched.", "/jobs/%" PRId64, id);
    return CW_OK;
}
