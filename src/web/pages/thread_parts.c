/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/pages/thread_parts.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "notebook/photo.h"
#include "web/house.h"
#include "web/page.h"

/* ---- actions ---- */

/* The worksheet that is the test of a kind for this camera; NULL where a page of its own does it. */
static const char *sheet_of(const cw_job *job, cw_proof_kind kind)
{
    switch (kind) {
    case CW_PROOF_FLASH:
        return "flash-contact";
    case CW_PROOF_FOCUS:
        return "focus-error";
    case CW_PROOF_FINDER:
        return job->finder == CW_FINDER_REFLEX ? "finder-screen" : "rangefinder";
    case CW_PROOF_METER:
        return "meter-check";
    default:
        return NULL;
    }
}

void cw_write_list_button(cw_request *request, cw_html *h, int64_t job_id, const char *list, const char *when,
                          const char *label, bool main_one)
{
    html_markup(h, "<form method='post' class='inline'");
    html_attrf(h, "action", "/jobs/%" PRId64 "/lists", job_id);
    html_markup(h, ">");
    cw_field_hidden(h, "token", request->pass.token);
    cw_field_hidden(h, "kind", list);
    cw_field_hidden(h, "when", when);
    html_markup(h, "<button");
    html_attr(h, "class", main_one ? "main" : "button");
    html_markup(h, ">");
    html_said(h, label);
    html_markup(h, "</button></form>");
}

void cw_write_test_button(cw_request *request, cw_html *h, const cw_job *job, const cw_proof *proof, bool after,
                          bool main_one, const char *label)
{
    const char *when = after ? "after" : "before", *kind = main_one ? "main" : "button",
               *sheet = sheet_of(job, proof->kind);
    const cw_evidence *evidence = after ? &proof->after : &proof->before;
    if (sheet != NULL)
        cw_link_said(h, kind, label, "/worksheets/%s?_job=%" PRId64 "&_when=%s", sheet, job->id, when);
    else if (proof->kind == CW_PROOF_FILM)
        cw_link_said(h, kind, label, "/jobs/%" PRId64 "/film", job->id);
    else if (proof->kind != CW_PROOF_LEAKS)
        cw_link_said(h, kind, label, "/measure?job=%" PRId64 "&when=%s", job->id, when);
    else if (evidence->checklist_id != 0 && evidence->verdict == CW_PROVED_BEGUN)
        cw_link_said(h, kind, label, "/jobs/%" PRId64 "/lists/%" PRId64, job->id, evidence->checklist_id);
    else
        cw_write_list_button(request, h, job->id, "light-leaks", when, label, main_one);
}

void cw_write_action(cw_request *request, cw_html *h, const cw_job *job, const cw_next_action *action, bool main_one)
{
    const char *kind = main_one ? "main" : "button";
    const cw_proof proof = {.kind = action->proof,
                            .before = {.verdict = action->checklist_id != 0 ? CW_PROVED_BEGUN : CW_PROVED_NOT,
                                       .checklist_id = action->checklist_id},
                            .after = {.verdict = action->checklist_id != 0 ? CW_PROVED_BEGUN : CW_PROVED_NOT,
                                      .checklist_id = action->checklist_id}};
    switch (action->kind) {
    case CW_NEXT_TEST_BEFORE:
    case CW_NEXT_TEST_AFTER:
        cw_write_test_button(request, h, job, &proof, action->kind == CW_NEXT_TEST_AFTER, main_one, action->label);
        break;
    case CW_NEXT_FIRST_STEP:
    case CW_NEXT_STEP:
    case CW_NEXT_PLANNED_STEP:
        cw_link_said(h, kind, action->label, "/jobs/%" PRId64 "/add", job->id);
        break;
    case CW_NEXT_TOGETHER:
        cw_link_said(h, kind, action->label, "/jobs/%" PRId64 "/together", job->id);
        break;
    case CW_NEXT_LIST:
        if (action->checklist_id != 0)
            cw_link_said(h, kind, action->label, "/jobs/%" PRId64 "/lists/%" PRId64, job->id, action->checklist_id);
        else
            cw_write_list_button(request, h, job->id, action->list, "after", action->label, main_one);
        break;
    case CW_NEXT_FILM_LOG:
        cw_link_said(h, kind, action->label, "/jobs/%" PRId64 "/film", job->id);
        break;
    case CW_NEXT_MOVE:
        html_markup(h, "<form method='post' class='inline'");
        html_attrf(h, "action", "/jobs/%" PRId64 "/stage", job->id);
        html_markup(h, ">");
        cw_field_hidden(h, "token", request->pass.token);
        cw_field_hidden(h, "stage", cw_stage_name(action->to));
        html_markup(h, "<button");
        html_attr(h, "class", kind);
        html_markup(h, ">");
        html_said(h, action->label);
        html_markup(h, "</button></form>");
        break;
    case CW_NEXT_REPORT:
        cw_link_said(h, kind, action->label, "/jobs/%" PRId64 "/report", job->id);
        break;
    case CW_NEXT_SISTER:
        cw_link_said(h, kind, action->label, "/jobs/new?plan=%" PRId64, job->id);
        break;
    case CW_NEXT_NONE:
    case CW_NEXT_COUNT:
        break;
    }
}

void cw_write_next(cw_request *request, cw_html *h, const cw_job *job, const cw_next *next)
{
    html_markup(h, "<section class='panel next' id='next'><h2>Next</h2>\n<p>");
    html_said(h, next->action.why);
    html_markup(h, "</p>\n<div class='actions'>");
    cw_write_action(request, h, job, &next->action, true);
    bool test = next->action.kind == CW_NEXT_TEST_BEFORE || next->action.kind == CW_NEXT_TEST_AFTER;
    if (test && next->action.proof == CW_PROOF_SHUTTER)
        cw_link(h, "button", "Measure it live", "/live?job=%" PRId64 "&when=%s", job->id,
                next->action.kind == CW_NEXT_TEST_AFTER ? "after" : "before");
    cw_write_action(request, h, job, &next->other, false);
    html_markup(h, "</div></section>\n");
}

/* ---- verdicts ---- */

void cw_write_proof_verdict(cw_html *h, cw_proof_verdict verdict)
{
    static const char *const classes[CW_PROVED_COUNT] = {[CW_PROVED_INSIDE] = "verdict good",
                                                         [CW_PROVED_OUTSIDE] = "verdict bad",
                                                         [CW_PROVED_TOO_CLOSE] = "verdict close"};
    html_markup(h, "<span");
    html_attr(h, "class", classes[verdict] != NULL ? classes[verdict] : "soft");
    html_markup(h, ">");
    html_text(h, cw_proof_verdict_words(verdict));
    html_markup(h, "</span>");
}

void cw_write_evidence(cw_html *h, int64_t job_id, cw_proof_kind kind, const cw_evidence *evidence)
{
    cw_write_proof_verdict(h, evidence->verdict);
    if (evidence->verdict == CW_PROVED_NOT)
        return;
    html_markup(h, " ");
    if (evidence->test_id != 0)
        cw_link_said(h, "", evidence->text, "/tests/%" PRId64, evidence->test_id);
    else if (evidence->sheet_id != 0)
        cw_link_said(h, "", evidence->text, "/saved/%" PRId64, evidence->sheet_id);
    else if (evidence->checklist_id != 0)
        cw_link_said(h, "", evidence->text, "/jobs/%" PRId64 "/lists/%" PRId64, job_id, evidence->checklist_id);
    else if (kind == CW_PROOF_FILM)
        cw_link_said(h, "", evidence->text, "/jobs/%" PRId64 "/film", job_id);
    else
        html_said(h, evidence->text);
    if (evidence->on[0] != '\0') {
        html_markup(h, " <span class='unit'>");
        html_text(h, evidence->on);
        html_markup(h, "</span>");
    }
}

/* ---- answering with a tap ---- */

static void open_answer(cw_request *request, cw_html *h, const cw_answer_form *form, bool files)
{
    cw_form_begin(request, h, files, "%s", form->address);
    html_markup(h, "<input type='hidden' name='item'");
    html_attrf(h, "value", "%" PRId64, form->id);
    html_markup(h, ">");
}

static void answer_button(cw_html *h, const char *kind, const char *value, const char *label, const char *text)
{
    html_markup(h, "<button name='answer'");
    html_attr(h, "class", kind);
    html_attr(h, "value", value);
    html_attrf(h, "aria-label", "%s: %s", label, text);
    html_markup(h, ">");
    html_text(h, label);
    html_markup(h, "</button>");
}

static void write_bad(cw_request *request, cw_html *h, const cw_answer_form *form)
{
    const char *refused = cw_row_id(request, "item") == form->id ? cw_form_get(&request->form, "remark") : NULL;
    html_markup(h, "<details");
    html_flag(h, "open", refused != NULL);
    html_markup(h, "><summary>");
    html_said(h, form->bad);
    html_markup(h, "</summary>");
    open_answer(request, h, form, true);
    html_markup(h, "<div class='field'><label");
    html_attrf(h, "for", "remark-%" PRId64, form->id);
    html_markup(h, ">");
    html_text(h, form->remark_label);
    html_markup(h, "</label><input type='text' name='remark' autocomplete='off' required");
    html_attrf(h, "id", "remark-%" PRId64, form->id);
    html_attr(h, "value", refused != NULL ? refused : form->remark);
    html_markup(h, "></div><div class='field'><label");
    html_attrf(h, "for", "photo-%" PRId64, form->id);
    html_markup(h, ">Photo <span class='unit'>if you like</span></label><input type='file' name='photo' "
                   "accept='image/*' capture='environment'");
    html_attrf(h, "id", "photo-%" PRId64, form->id);
    html_markup(h, "></div>");
    answer_button(h, "button", "found", "Note it", form->text);
    cw_form_end(h);
    html_markup(h, "</details>\n");
}

void cw_write_answer_form(cw_request *request, cw_html *h, const cw_answer_form *form)
{
    if (form->answer != CW_ANSWER_OPEN)
        html_markup(h, "<details><summary>Change it</summary>");
    open_answer(request, h, form, false);
    html_markup(h, "<div class='actions tight'>");
    answer_button(h, form->is_next ? "main" : "button", "done", form->good, form->text);
    answer_button(h, "button", "not-applicable", "Does not apply", form->text);
    if (form->answer != CW_ANSWER_OPEN)
        answer_button(h, "button", "open", "Not looked at", form->text);
    html_markup(h, "</div>");
    cw_form_end(h);
    write_bad(request, h, form);
    if (form->answer != CW_ANSWER_OPEN)
        html_markup(h, "</details>\n");
}

cw_status cw_read_answer(cw_request *request, int64_t job_id, cw_answer *answer, const char **remark, int64_t *photo_id,
                         cw_error *err)
{
    static const struct {
        const char *word;
        cw_answer answer;
    } words[] = {{"open", CW_ANSWER_OPEN},
                 {"done", CW_ANSWER_YES},
                 {"found", CW_ANSWER_NO},
                 {"not-applicable", CW_ANSWER_NOT_APPLICABLE}};
    const char *posted = cw_posted(request, "answer");
    size_t i = 0;
    while (i < CW_COUNT(words) && strcmp(words[i].word, posted) != 0)
        i++;
    if (i == CW_COUNT(words))
        return cw_fail(err, CW_INPUT, "\"%.40s\" is no answer; press one of the buttons", posted);
    *answer = words[i].answer;
    *remark = cw_posted(request, "remark");
    *photo_id = 0;
    if (*answer == CW_ANSWER_NO && (*remark)[strspn(*remark, " \t\r\n")] == '\0')
        return cw_fail(err, CW_INPUT, "say in a line what it is");
    cw_incoming *incoming = cw_request_take_upload(request, "photo");
    return incoming == NULL ? CW_OK : cw_photo_keep(incoming, job_id, 0, 0, *remark, photo_id, err);
}

void cw_who_answers(cw_request *request, char *who, size_t size)
{
    cw_device devices[CW_DEVICES_MOST];
    snprintf(who, size, "%s", request->pass.laptop ? "laptop" : "phone");
    if (request->pass.laptop)
        return;
    size_t count = cw_door_devices(request->house->door, &request->pass, devices);
    for (size_t i = 0; i < count; i++)
        if (devices[i].current)
            snprintf(who, size, "%s", devices[i].name);
}
