/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The test film of a job: what to shoot so that it shows each thing that was mended, and the log when it is back. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "notebook/thread_json.h"
#include "report/list_sheet.h"
#include "shutter/marks.h"
#include "web/page.h"
#include "web/pages/film_parts.h"
#include "web/pages/notebook_parts.h"
#include "web/pages/pages.h"
#include "web/pages/sheet_run.h"
#include "web/pages/thread_parts.h"
#include "worksheets/film_need.h"

/* ---- the plan ---- */

/* What the form shows at first: what was mended and which marks were tested, read from the job. */
static cw_status proposed_form(const cw_mended *mended, cw_form *form, cw_error *err)
{
    for (int bit = 0; bit < CW_MENDED_COUNT; bit++) {
        const char *key = cw_film_need_key(1 << bit), *word = (mended->mended & 1 << bit) != 0 ? "yes" : "no";
        CW_TRY(cw_form_add(form, key, strlen(key), word, strlen(word), err));
    }
    for (size_t i = 0; i < mended->mark_count; i++) {
        char name[32], mark[CW_MARK_TEXT];
        snprintf(name, sizeof name, "marks.%zu.mark", i);
        cw_mark_text(mended->marks_s[i], mark, sizeof mark);
        CW_TRY(cw_form_add(form, name, strlen(name), mark, strlen(mark), err));
    }
    return CW_OK;
}

static void write_reasons(cw_html *h, const cw_mended *mended)
{
    if (mended->mended == 0) {
        html_markup(h, "<p class='soft'>Nothing in the notes says what was mended; choose it below.</p>");
        return;
    }
    html_markup(h, "<p class='soft'>Proposed from the notes of this job:</p><ul>");
    for (int bit = 0; bit < CW_MENDED_COUNT; bit++)
        if (mended->why[bit][0] != '\0') {
            html_markup(h, "<li>");
            html_saidf(h, "%s: %s", cw_mended_label(bit), mended->why[bit]);
            html_markup(h, "</li>");
        }
    html_markup(h, "</ul>");
}

static cw_status write_plan_form(cw_request *request, cw_html *h, int64_t job_id, bool first, cw_error *err)
{
    const cw_worksheet *sheet = cw_worksheet_find("film-test-plan");
    cw_mended mended;
    cw_form proposed = {0};
    CW_TRY(cw_film_propose(request->bench, job_id, &mended, err));
    cw_status status = proposed_form(&mended, &proposed, err);
    if (status == CW_OK) {
        html_markup(h, "<section class='panel'><h2>Plan the roll</h2>\n");
        write_reasons(h, &mended);
        cw_form_begin(request, h, false, "/jobs/%" PRId64 "/film/plan", job_id);
        cw_field_input(request, h,
                       &(cw_input){.name = "_roll", .label = "Film", .value = "", .example = "ISO 100, roll 1"});
        status = cw_sheet_write_fields(request, h, sheet, request->writes ? &request->form : &proposed, "", err);
        html_markup(h, "<div class='actions'><button");
        html_attr(h, "class", first ? "main" : "button");
        html_markup(h, ">Plan the film</button></div>");
        cw_form_end(h);
        html_markup(h, "</section>\n");
    }
    cw_form_free(&proposed);
    cw_mended_free(&mended);
    return status;
}

/* ---- the log ---- */

static void write_frame(cw_request *request, cw_html *h, const cw_film_frame *frame, bool is_next)
{
    static const char *const words[CW_ANSWER_COUNT] = {NULL, "right", "not right", "does not apply"};
    static const char *const classes[CW_ANSWER_COUNT] = {NULL, "verdict good", "verdict bad", "soft"};
    char settings[120], address[64], text[80];
    cw_frame_settings(frame, settings, sizeof settings);
    snprintf(address, sizeof address, "/jobs/%" PRId64 "/film", frame->job_id);
    snprintf(text, sizeof text, "frame %" PRId64, frame->frame);
    html_markup(h, "<li");
    html_attr(h, "class", frame->right == CW_ANSWER_OPEN ? "panel" : "panel done");
    html_attrf(h, "id", "frame-%" PRId64, frame->id);
    html_markup(h, "><h3>");
    html_saidf(h, "Frame %" PRId64 ": %s", frame->frame, settings);
    html_markup(h, "</h3><p>");
    html_said(h, frame->scene);
    html_markup(h, "</p><p class='soft'>Look for: ");
    html_said(h, frame->expected);
    html_markup(h, "</p>\n");
    if (frame->right != CW_ANSWER_OPEN) {
        html_markup(h, "<p><strong");
        html_attr(h, "class", classes[frame->right]);
        html_markup(h, ">");
        html_text(h, words[frame->right]);
        html_markup(h, "</strong> ");
        html_text(h, frame->seen);
        html_markup(h, "</p>\n");
    }
    if (frame->photo_id > 0) {
        html_markup(h, "<p><a");
        html_attrf(h, "href", "/photos/%" PRId64, frame->photo_id);
        html_markup(h, "><img loading='lazy' width='120' height='120' class='shot'");
        html_attrf(h, "src", "/photos/%" PRId64 "/small", frame->photo_id);
        html_attrf(h, "alt", "frame %" PRId64 " %s", frame->frame, frame->seen);
        html_markup(h, "></a></p>\n");
    }
    cw_write_answer_form(request, h,
                         &(cw_answer_form){.address = address,
                                           .id = frame->id,
                                           .text = text,
                                           .good = "Right",
                                           .bad = "Not right",
                                           .remark_label = "What it shows",
                                           .remark = frame->seen,
                                           .answer = frame->right,
                                           .is_next = is_next});
    html_markup(h, "</li>\n");
}

static void write_log(cw_request *request, cw_html *h, int64_t job_id, const cw_film_frame_list *frames)
{
    int64_t open = 0, wrong = 0;
    for (size_t i = 0; i < frames->count; i++) {
        open += frames->items[i].right == CW_ANSWER_OPEN;
        wrong += frames->items[i].right == CW_ANSWER_NO;
    }
    html_markup(h, "<p class='count'><strong>");
    html_textf(h, "%" PRId64 " of %zu frames looked at", (int64_t)frames->count - open, frames->count);
    html_markup(h, "</strong>");
    if (wrong > 0)
        html_textf(h, ", %" PRId64 " not right", wrong);
    html_markup(h, "</p>\n<div class='actions'>");
    if (open == 0)
        cw_link(h, "main", "Back to the job, it goes on there", "/jobs/%" PRId64 "#next", job_id);
    cw_link(h, "button", "Print the log", "/jobs/%" PRId64 "/film.pdf", job_id);
    html_markup(h, "</div>\n<p class='soft'>Print it and take it along. When the film is back, look at each frame and "
                   "say how it is; what is not right is told wherever it matters.</p>\n");
    bool next_written = false;
    for (size_t i = 0; i < frames->count; i++) {
        const cw_film_frame *frame = &frames->items[i];
        bool is_next = !next_written && frame->right == CW_ANSWER_OPEN;
        bool opens = i == 0 || strcmp(frame->film, frames->items[i - 1].film) != 0;
        next_written = next_written || is_next;
        if (opens) {
            html_markup(h, "<h2>");
            html_text(h, frame->film[0] != '\0' ? frame->film : "The film");
            html_markup(h, "</h2><ol class='plain'>");
        }
        write_frame(request, h, frame, is_next);
        if (i + 1 == frames->count || strcmp(frame->film, frames->items[i + 1].film) != 0)
            html_markup(h, "</ol>\n");
    }
    html_markup(h, "<div class='actions'>");
    html_markup(h, "<form method='post' class='inline'");
    html_attrf(h, "action", "/jobs/%" PRId64 "/undo", job_id);
    html_markup(h, ">");
    cw_field_hidden(h, "token", request->pass.token);
    cw_field_hidden(h, "to", "film");
    html_markup(h, "<button class='button'>Undo the last thing</button></form>");
    if (open > 0)
        cw_button_form(request, h, true, "Take out the frames nobody looked at", "/jobs/%" PRId64 "/film/drop", job_id);
    cw_link(h, "button", "Back to the job", "/jobs/%" PRId64, job_id);
    html_markup(h, "</div>\n");
}

cw_status page_film(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t job_id = request->match.ids[0];
    cw_film_frame_list frames;
    CW_TRY(cw_film_frame_page(request->bench, job_id, &frames, err));
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_BENCH, "Test film");
    cw_status status = cw_write_job_title(request, h, job_id, "Test film", err);
    if (frames.count == 0)
        html_markup(h,
                    "<p class='lead'>One roll that shows each thing that was mended. Say what that was, and what the "
                    "camera can do; every frame then says what to photograph and what to look for.</p>\n");
    else
        write_log(request, h, job_id, &frames);
    if (status == CW_OK && frames.count > 0)
        html_markup(h, "<details><summary>Plan more frames</summary>");
    if (status == CW_OK)
        status = write_plan_form(request, h, job_id, frames.count == 0, err);
    if (frames.count > 0)
        html_markup(h, "</details>\n");
    cw_page_end(reply);
    cw_film_frame_list_free(&frames);
    return status;
}

cw_status twin_film(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_job job;
    cw_film_frame_list frames;
    CW_TRY(cw_job_get(request->bench, request->match.ids[0], &job, err));
    cw_job_free(&job);
    CW_TRY(cw_film_frame_page(request->bench, request->match.ids[0], &frames, err));
    reply->json = cw_film_json(request->match.ids[0], &frames);
    cw_film_frame_list_free(&frames);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the film");
}

cw_status get_film_paper(cw_request *request, cw_reply *reply, cw_error *err)
{
    return cw_reply_list_document(request, reply, true, err);
}

static cw_status plan_from_form(const cw_form *form, cw_plan *plan, cw_error *err)
{
    const cw_worksheet *sheet = cw_worksheet_find("film-test-plan");
    cw_sheet_page page;
    double marks[CW_FILM_MARKS_MOST];
    cw_plan_need need;
    CW_TRY(cw_sheet_page_run(NULL, sheet, form, &page, err));
    cw_status status = cw_film_need_read(page.in, marks, &need, err);
    if (status == CW_OK)
        status = cw_film_plan(&need, plan, err);
    cw_sheet_page_free(&page);
    return status;
}

cw_status post_film_plan(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t job_id = request->match.ids[0];
    cw_plan plan;
    char said[160];
    CW_TRY(plan_from_form(&request->form, &plan, err));
    CW_TRY(cw_film_keep_plan(request->bench, job_id, cw_posted(request, "_roll"), &plan, err));
    snprintf(said, sizeof said, "%zu frames are planned%s.", plan.frame_count,
             plan.dropped > 0 ? "; not all that was wanted fits on the roll" : "");
    cw_go(request, reply, said, "/jobs/%" PRId64 "/film", job_id);
    return CW_OK;
}

cw_status post_film_drop(cw_request *request, cw_reply *reply, cw_error *err)
{
    CW_TRY(cw_film_drop_open(request->bench, request->match.ids[0], err));
    cw_go(request, reply, "They are out. \"History and undo\" brings them back.", "/jobs/%" PRId64 "/film",
          request->match.ids[0]);
    return CW_OK;
}

static cw_status answer_frame(cw_request *request, cw_film_frame *frame, cw_error *err)
{
    int64_t photo_id;
    CW_TRY(cw_read_answer(request, frame->job_id, &frame->right, &frame->seen, &photo_id, err));
    if (photo_id != 0)
        frame->photo_id = photo_id;
    return cw_film_frame_update(request->bench, frame, err);
}

cw_status post_film_frame(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t job_id = request->match.ids[0];
    cw_film_frame frame;
    CW_TRY(cw_film_frame_get(request->bench, cw_row_id(request, "item"), &frame, err));
    cw_status status = CW_OK;
    if (frame.job_id != job_id)
        status = cw_fail(err, CW_NOT_FOUND, "job %" PRId64 " has no frame %" PRId64, job_id, frame.id);
    if (status == CW_OK)
        status = cw_change_begin(request->bench, job_id, "a frame of the film looked at", err);
    if (status == CW_OK) {
        status = answer_frame(request, &frame, err);
        if (status == CW_OK)
            status = cw_change_commit(request->bench, err);
        else
            cw_change_cancel(request->bench);
    }
    if (status == CW_OK)
        cw_go(request, reply, NULL, "/jobs/%" PRId64 "/film#frame-%" PRId64, job_id, frame.id);
    cw_film_frame_free(&frame);
    return status;
}
