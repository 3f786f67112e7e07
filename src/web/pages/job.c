/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One job: where it stands, the one next thing to do, what was measured, taken apart, worked out and noted. */
#include "web/pages/job_parts.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "notebook/job_json.h"
#include "web/page.h"
#include "web/pages/kind_parts.h"
#include "web/pages/notebook_parts.h"
#include "web/pages/pages.h"
#include "web/pages/thread_parts.h"

static void write_title(cw_html *h, const cw_job *job)
{
    html_markup(h, "<p class='trail'><a href='/'>The bench</a></p><h1>");
    html_text(h, job->camera);
    if (job->serial[0] != '\0') {
        html_markup(h, " <span class='unit'>");
        html_text(h, job->serial);
        html_markup(h, "</span>");
    }
    html_markup(h, "</h1>\n");
    if (job->complaint[0] != '\0') {
        html_markup(h, "<p class='lead'>");
        html_text(h, job->complaint);
        html_markup(h, "</p>\n");
    }
}

static void write_thread(cw_html *h, cw_stage now)
{
    html_markup(h, "<ol class='thread' aria-label='Stages of the job'>");
    for (size_t i = 0; i < CW_STAGE_COUNT; i++) {
        html_markup(h, "<li");
        html_attr(h, "class", i < now ? "past" : i == now ? "now" : NULL);
        if (i == now)
            html_markup(h, " aria-current='step'");
        html_markup(h, ">");
        html_text(h, cw_stage_label((cw_stage)i));
        html_markup(h, "</li>");
    }
    html_markup(h, "</ol>\n");
}

/* Before anything is touched: each test this kind of camera is worth, a tap away. */
static void write_before_tests(cw_request *request, cw_html *h, const cw_job *job, const cw_proving *p)
{
    html_markup(h, "<section class='panel' id='before'><h2>Before it is touched</h2>\n<p class='soft'>");
    html_textf(h, "%zu of %zu tests worth doing on this kind of camera are there.", p->before_done, p->before_wanted);
    html_markup(h, "</p><dl class='facts'>");
    for (size_t k = 0; k < CW_PROOF_COUNT; k++) {
        const cw_proof *one = &p->items[k];
        if (!one->wanted_before)
            continue;
        html_markup(h, "<div><dt>");
        html_text(h, cw_proof_label(one->kind));
        html_markup(h, "</dt><dd>");
        cw_write_evidence(h, job->id, one->kind, &one->before);
        if (one->before.verdict < CW_PROVED_INSIDE) {
            char label[120];
            snprintf(label, sizeof label, "%s as it is", cw_proof_action(one->kind));
            html_markup(h, " ");
            cw_write_test_button(request, h, job, one, false, false, label);
        }
        html_markup(h, "</dd></div>");
    }
    html_markup(h, "</dl><div class='actions'>");
    cw_write_list_button(request, h, job->id, "as-it-came", "before", "Look it over: as it came", false);
    html_markup(h, "</div>");
    if (!p->kind_known) {
        html_markup(h, "<p class='soft'>Not all is known of this camera, so it may be worth more: ");
        cw_link(h, "", "say what kind it is", "/jobs/%" PRId64 "/edit", job->id);
        html_markup(h, ".</p>");
    }
    html_markup(h, "</section>\n");
}

static void write_proving(cw_html *h, const cw_job *job, const cw_proving *p)
{
    html_markup(h, "<section class='panel' id='proving'><h2>Proved</h2>\n<p class='count'><strong");
    html_attr(h, "class", p->settled == p->owed ? "verdict good" : "out");
    html_markup(h, ">");
    html_textf(h, "%zu of %zu settled", p->settled, p->owed);
    html_markup(h, "</strong></p><dl class='facts'>");
    for (size_t k = 0; k < CW_PROOF_COUNT; k++) {
        const cw_proof *one = &p->items[k];
        if (!one->owed)
            continue;
        html_markup(h, "<div><dt>");
        html_text(h, cw_proof_label(one->kind));
        html_markup(h, "</dt><dd>");
        if (one->left_out[0] != '\0')
            html_textf(h, "left out: %s", one->left_out);
        else
            cw_write_proof_verdict(h, one->after.verdict);
        if (one->film_objects)
            html_saidf(h, "; the film says otherwise: %s", one->film);
        html_markup(h, "</dd></div>");
    }
    html_markup(h, "</dl><div class='actions'>");
    cw_link(h, "button", "Proving sheet", "/jobs/%" PRId64 "/prove", job->id);
    cw_link(h, "button", "Test film", "/jobs/%" PRId64 "/film", job->id);
    html_markup(h, "</div></section>\n");
}

static cw_status write_lists(cw_request *request, cw_html *h, int64_t job_id, cw_error *err)
{
    cw_checklist_list lists;
    CW_TRY(cw_checklist_page(request->bench, job_id, &lists, err));
    html_markup(h, "<section class='panel' id='lists'><h2>Guided lists</h2>\n");
    if (lists.count == 0)
        html_markup(h,
                    "<p class='soft'>As it came, light-leak hunt, bellows, before a cover closes, and your own: what "
                    "to look at, item by item.</p>");
    else
        html_markup(h, "<ul class='lines'>");
    for (size_t i = 0; i < lists.count; i++) {
        const cw_checklist *list = &lists.items[i];
        html_markup(h, "<li><a");
        html_attrf(h, "href", "/jobs/%" PRId64 "/lists/%" PRId64, job_id, list->id);
        html_markup(h, "><strong>");
        html_text(h, list->title);
        html_markup(h, "</strong> <span class='soft'>");
        html_textf(h, "%s%" PRId64 " of %" PRId64,
                   list->moment == CW_MOMENT_BEFORE  ? "before, "
                   : list->moment == CW_MOMENT_AFTER ? "after, "
                                                     : "",
                   list->answered, list->item_count);
        html_markup(h, "</span></a></li>\n");
    }
    if (lists.count > 0)
        html_markup(h, "</ul>");
    html_markup(h, "<div class='actions'>");
    cw_link(h, "button", "Guided lists", "/jobs/%" PRId64 "/lists", job_id);
    html_markup(h, "</div></section>\n");
    cw_checklist_list_free(&lists);
    return CW_OK;
}

static cw_status write_move_on(cw_request *request, cw_html *h, const cw_job *job, cw_error *err)
{
    if (job->stage + 1 >= CW_STAGE_COUNT)
        return CW_OK;
    cw_stage next = (cw_stage)(job->stage + 1);
    cw_missing_list missing;
    CW_TRY(cw_job_missing(request->bench, job->id, next, &missing, err));
    html_markup(h, "<section class='panel'><h2>");
    html_textf(h, "Before it is called \"%s\"", cw_stage_label(next));
    html_markup(h, "</h2>\n");
    if (missing.count == 0)
        html_markup(h, "<p>Nothing is missing.</p>");
    else
        html_markup(h, "<ul>");
    for (size_t i = 0; i < missing.count; i++) {
        html_markup(h, "<li");
        html_attr(h, "class", missing.items[i].refused ? "out" : NULL);
        html_markup(h, ">");
        html_sentence(h, missing.items[i].text);
        html_markup(h, "</li>");
    }
    if (missing.count > 0)
        html_markup(h, "</ul>");
    char label[64];
    snprintf(label, sizeof label, "Call it %s", cw_stage_label(next));
    if (!missing.allowed && next == CW_STAGE_PROVED) {
        html_markup(h, "<div class='actions'>");
        cw_link(h, "button", "Proving sheet", "/jobs/%" PRId64 "/prove", job->id);
        html_markup(h, "</div>");
    }
    if (missing.allowed) {
        cw_form_begin(request, h, false, "/jobs/%" PRId64 "/stage", job->id);
        cw_field_hidden(h, "stage", cw_stage_name(next));
        html_markup(h, "<button class='button'>");
        html_text(h, label);
        html_markup(h, "</button>");
        cw_form_end(h);
    }
    html_markup(h, "</section>\n");
    cw_missing_list_free(&missing);
    return CW_OK;
}

static cw_status write_notebook(cw_request *request, cw_html *h, const cw_job_view *view, cw_error *err)
{
    int64_t id = view->job.id;
    html_markup(h, "<section class='panel' id='steps'><h2>Taken apart</h2>\n");
    CW_TRY(cw_write_count(request, h, id, err));
    html_markup(h, "<div class='actions'>");
    char label[40];
    snprintf(label, sizeof label, "Steps (%" PRId64 ")", view->step_count);
    cw_link_said(h, "button", label, "/jobs/%" PRId64 "/steps", id);
    cw_link(h, "button", "Trays", "/jobs/%" PRId64 "/trays", id);
    cw_link(h, "button", "The way in", "/jobs/%" PRId64 "/way", id);
    if (view->step_count > 0)
        cw_link(h, "button", "Put it together", "/jobs/%" PRId64 "/together", id);
    html_markup(h, "</div></section>\n<section class='panel' id='photos'><h2>Photos</h2>\n");
    CW_TRY(cw_write_photos(request, h, &(cw_photo_filter){.job_id = id}, err));
    cw_form_begin(request, h, true, "/jobs/%" PRId64 "/photos", id);
    html_markup(
        h, "<div class='field'><label for='in-photo'>Add photos</label><input id='in-photo' type='file' name='photo' "
           "accept='image/*' multiple required></div><button class='button'>Keep the photos</button>");
    cw_form_end(h);
    html_markup(h, "</section>\n");
    return CW_OK;
}

static void write_words(cw_html *h, const char *heading, const char *text)
{
    if (text[0] == '\0')
        return;
    html_markup(h, "<h3>");
    html_text(h, heading);
    html_markup(h, "</h3><p class='words'>");
    html_text(h, text);
    html_markup(h, "</p>\n");
}

static void write_notes(cw_html *h, const cw_job *job)
{
    html_markup(h, "<section class='panel' id='notes'><h2>Notes</h2>\n");
    html_markup(h, "<p class='soft'>");
    html_textf(h, "Taken in on %s", job->taken_in_on);
    if (job->handed_on_on[0] != '\0')
        html_textf(h, ", handed on on %s", job->handed_on_on);
    html_markup(h, "</p>\n");
    write_words(h, "Notes", job->notes);
    write_words(h, "Whose it is (stays on this bench)", job->owner);
    html_markup(h, "<div class='actions'>");
    cw_link(h, "button", "Change what is noted", "/jobs/%" PRId64 "/edit", job->id);
    cw_link(h, "button", "Hours and costs", "/jobs/%" PRId64 "/costs", job->id);
    cw_link(h, "button", "Report", "/jobs/%" PRId64 "/report", job->id);
    cw_link(h, "button", "Paper and files", "/jobs/%" PRId64 "/paper", job->id);
    cw_link(h, "button", "History and undo", "/jobs/%" PRId64 "/history", job->id);
    cw_link(h, "button", "The next camera of this kind", "/jobs/new?plan=%" PRId64, job->id);
    html_markup(h, "</div></section>\n");
}

static cw_status write_left(cw_request *request, cw_html *h, const cw_job_view *view, const cw_proving *p,
                            cw_error *err)
{
    html_markup(h, "<div>\n");
    if (view->job.stage == CW_STAGE_TAKEN_IN)
        write_before_tests(request, h, &view->job, p);
    if (view->job.stage >= CW_STAGE_TOGETHER)
        write_proving(h, &view->job, p);
    cw_status status = cw_job_write_tests(request, h, view, err);
    html_markup(h, "</div>");
    return status;
}

static cw_status write_right(cw_request *request, cw_html *h, const cw_job_view *view, cw_error *err)
{
    html_markup(h, "<div>\n");
    cw_status status = write_move_on(request, h, &view->job, err);
    if (status == CW_OK)
        status = write_notebook(request, h, view, err);
    if (status == CW_OK)
        status = write_lists(request, h, view->job.id, err);
    if (status == CW_OK)
        status = cw_job_write_sheets(request, h, view, err);
    write_notes(h, &view->job);
    html_markup(h, "</div>\n");
    return status;
}

cw_status page_job(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_job_view view;
    cw_proving proving = {0};
    cw_next next;
    CW_TRY(cw_job_view_get(request->bench, request->match.ids[0], &view, err));
    cw_status status = cw_job_proving(request->bench, view.job.id, &proving, err);
    if (status == CW_OK)
        status = cw_job_next(request->bench, view.job.id, &proving, &next, err);
    if (status == CW_OK) {
        cw_html *h = &reply->html;
        cw_page_begin(request, reply, CW_PLACE_BENCH, view.job.camera);
        write_title(h, &view.job);
        write_thread(h, view.job.stage);
        cw_write_next(request, h, &view.job, &next);
        html_markup(h, "<div class='two'>");
        status = write_left(request, h, &view, &proving, err);
        if (status == CW_OK)
            status = write_right(request, h, &view, err);
        html_markup(h, "</div>\n");
        cw_page_end(reply);
    }
    cw_proving_free(&proving);
    cw_job_view_free(&view);
    return status;
}

cw_status twin_job(cw_request *request, cw_reply *reply, cw_error *err)
{
    return cw_job_json(request->bench, request->match.ids[0], &reply->json, err);
}

/* ---- changing what is noted ---- */

cw_status page_job_edit(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_job job;
    CW_TRY(cw_job_get(request->bench, request->match.ids[0], &job, err));
    cw_html *h = &reply->html;
    char revision[32];
    snprintf(revision, sizeof revision, "%" PRId64, job.revision);
    cw_page_begin(request, reply, CW_PLACE_BENCH, "What is noted");
    html_markup(h, "<p class='trail'>");
    cw_link(h, "", job.camera, "/jobs/%" PRId64, job.id);
    html_markup(h, "</p><h1>What is noted about it</h1>\n");
    cw_form_begin(request, h, false, "/jobs/%" PRId64 "/edit", job.id);
    cw_field_hidden(h, "revision", cw_value(request, "revision", revision));
    cw_field_input(request, h, &(cw_input){.name = "camera", .label = "Camera", .value = job.camera, .required = true});
    cw_field_input(request, h, &(cw_input){.name = "serial", .label = "Serial number or label", .value = job.serial});
    cw_write_kind_fields(request, h, &job);
    cw_field_input(
        request, h,
        &(cw_input){.name = "complaint", .label = "What is wrong with it", .value = job.complaint, .rows = 3});
    cw_field_input(request, h, &(cw_input){.name = "notes", .label = "Notes", .value = job.notes, .rows = 8});
    cw_field_input(request, h,
                   &(cw_input){.name = "owner",
                               .label = "Whose it is, and what they asked",
                               .value = job.owner,
                               .rows = 2,
                               .help = "stays on the bench: left out of reports and exports unless you ask for it"});
    cw_field_input(
        request, h,
        &(cw_input){
            .name = "taken-in", .label = "Taken in on", .type = "date", .value = job.taken_in_on, .narrow = true});
    cw_submit(h, "Keep");
    cw_form_end(h);
    cw_page_end(reply);
    cw_job_free(&job);
    return CW_OK;
}

cw_status post_job_edit(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_job job;
    CW_TRY(cw_job_get(request->bench, request->match.ids[0], &job, err));
    cw_job changed = job;
    changed.revision = cw_row_id(request, "revision");
    changed.camera = cw_posted(request, "camera");
    changed.serial = cw_posted(request, "serial");
    changed.complaint = cw_posted(request, "complaint");
    changed.notes = cw_posted(request, "notes");
    changed.owner = cw_posted(request, "owner");
    changed.taken_in_on = cw_posted(request, "taken-in");
    cw_status status = cw_read_kind_fields(request, &changed, err);
    if (status == CW_OK)
        status = cw_job_update(request->bench, &changed, err);
    if (status == CW_OK)
        cw_go(request, reply, "Kept.", "/jobs/%" PRId64, job.id);
    cw_job_free(&job);
    return status;
}

cw_status post_job_stage(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_stage stage;
    CW_TRY(cw_stage_parse(cw_posted(request, "stage"), &stage, err));
    CW_TRY(cw_job_move(request->bench, request->match.ids[0], stage, NULL, err));
    char said[100];
    snprintf(said, sizeof said, "The job is now \"%s\".", cw_stage_label(stage));
    cw_go(request, reply, said, "/jobs/%" PRId64, request->match.ids[0]);
    return CW_OK;
}
