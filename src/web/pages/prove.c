/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The proving sheet: which tests this kind of camera owes, before and after, and what is still owed. */
#include <inttypes.h>
#include <stdio.h>

#include "notebook/thread_json.h"
#include "web/page.h"
#include "web/pages/notebook_parts.h"
#include "web/pages/pages.h"
#include "web/pages/thread_parts.h"

static void write_leave_out(cw_request *request, cw_html *h, int64_t job_id, const cw_proof *proof)
{
    char id[32];
    snprintf(id, sizeof id, "why-%s", cw_proof_name(proof->kind));
    if (proof->left_out[0] != '\0') {
        html_markup(h, "<p class='notice close'>Left out: ");
        html_text(h, proof->left_out);
        html_markup(h, "</p>");
        cw_form_begin(request, h, false, "/jobs/%" PRId64 "/prove", job_id);
        cw_field_hidden(h, "test", cw_proof_name(proof->kind));
        cw_field_hidden(h, "owe", "1");
        html_markup(h, "<button class='button'>");
        html_textf(h, "Owe it again: %s", cw_proof_label(proof->kind));
        html_markup(h, "</button>");
        cw_form_end(h);
        return;
    }
    html_markup(h, "<details><summary>");
    html_textf(h, "Leave it out: %s", cw_proof_label(proof->kind));
    html_markup(h, "</summary>");
    cw_form_begin(request, h, false, "/jobs/%" PRId64 "/prove", job_id);
    cw_field_hidden(h, "test", cw_proof_name(proof->kind));
    html_markup(h, "<div class='field'><label");
    html_attr(h, "for", id);
    html_markup(h, ">Why? It goes into the report.</label><input type='text' name='reason' required autocomplete='off' "
                   "placeholder='the owner shoots the first roll'");
    html_attr(h, "id", id);
    html_markup(h, "></div><button class='button'>Leave it out</button>");
    cw_form_end(h);
    html_markup(h, "</details>\n");
}

static void write_side(cw_html *h, const char *label, int64_t job_id, const cw_proof *proof,
                       const cw_evidence *evidence)
{
    html_markup(h, "<div><dt>");
    html_text(h, label);
    html_markup(h, "</dt><dd>");
    cw_write_evidence(h, job_id, proof->kind, evidence);
    html_markup(h, "</dd></div>");
}

static void write_proof(cw_request *request, cw_html *h, const cw_job *job, const cw_proof *proof)
{
    bool before = job->stage <= CW_STAGE_APART && proof->wanted_before, again = proof->after.verdict != CW_PROVED_NOT;
    char label[120];
    html_markup(h, "<section");
    html_attr(h, "class", proof->settled ? "panel done" : "panel");
    html_attrf(h, "id", "%s", cw_proof_name(proof->kind));
    html_markup(h, "><h2>");
    html_text(h, cw_proof_label(proof->kind));
    html_markup(h, "</h2><p class='soft'>");
    html_sentence(h, proof->why);
    html_markup(h, "</p><dl class='facts'>");
    if (proof->kind != CW_PROOF_FILM)
        write_side(h, "Before", job->id, proof, &proof->before);
    write_side(h, "After", job->id, proof, &proof->after);
    if (proof->film[0] != '\0') {
        html_markup(h, "<div><dt>The film says</dt><dd");
        html_attr(h, "class", proof->film_objects ? "verdict bad" : NULL);
        html_markup(h, ">");
        html_said(h, proof->film);
        html_markup(h, "</dd></div>");
    }
    html_markup(h, "</dl><div class='actions'>");
    if (before) {
        snprintf(label, sizeof label, "%s as it is", cw_proof_action(proof->kind));
        cw_write_test_button(request, h, job, proof, false, false, label);
    }
    if (job->stage > CW_STAGE_TAKEN_IN || proof->kind == CW_PROOF_FILM) {
        snprintf(label, sizeof label, again ? "%s again" : "%s after the work", cw_proof_action(proof->kind));
        cw_write_test_button(request, h, job, proof, true, false,
                             proof->kind == CW_PROOF_FILM ? "The test film" : label);
    }
    html_markup(h, "</div>");
    write_leave_out(request, h, job->id, proof);
    html_markup(h, "</section>\n");
}

static void write_not_owed(cw_html *h, const cw_proving *p, int64_t job_id)
{
    html_markup(h, "<section class='panel'><h2>Not owed by this kind of camera</h2><ul>");
    for (size_t k = 0; k < CW_PROOF_COUNT; k++)
        if (!p->items[k].owed) {
            html_markup(h, "<li>");
            html_saidf(h, "%s: %s", cw_proof_label((cw_proof_kind)k), p->items[k].why);
            html_markup(h, "</li>");
        }
    html_markup(h, "</ul><div class='actions'>");
    cw_link(h, "button", "Say what kind of camera it is", "/jobs/%" PRId64 "/edit", job_id);
    html_markup(h, "</div></section>\n");
}

static void write_sheet(cw_request *request, cw_html *h, const cw_job *job, const cw_proving *p, const cw_next *next)
{
    html_markup(h, "<p class='lead'>What this kind of camera owes before it is called proved. A test that is left out "
                   "needs a reason; the report tells it.</p><p class='count'><strong");
    html_attr(h, "class", p->settled == p->owed ? "verdict good" : "out");
    html_markup(h, ">");
    html_textf(h, "%zu of %zu settled", p->settled, p->owed);
    html_markup(h, "</strong>");
    html_textf(h, "; before the work %zu of %zu were measured", p->before_done, p->before_wanted);
    html_markup(h, "</p>\n");
    cw_write_next(request, h, job, next);
    if (!p->kind_known) {
        html_markup(h, "<p class='notice'>Not all is known of this camera, so it may owe more: ");
        cw_link(h, "", "say what kind it is", "/jobs/%" PRId64 "/edit", job->id);
        html_markup(h, ".</p>\n");
    }
    html_markup(h, "<div class='grid'>\n");
    for (size_t k = 0; k < CW_PROOF_COUNT; k++)
        if (p->items[k].owed)
            write_proof(request, h, job, &p->items[k]);
    html_markup(h, "</div>\n");
    if (p->owed < CW_PROOF_COUNT)
        write_not_owed(h, p, job->id);
}

cw_status page_prove(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_job job;
    cw_proving p;
    cw_next next;
    CW_TRY(cw_job_get(request->bench, request->match.ids[0], &job, err));
    cw_status status = cw_job_proving(request->bench, job.id, &p, err);
    if (status == CW_OK) {
        cw_html *h = &reply->html;
        status = cw_job_next(request->bench, job.id, &p, &next, err);
        cw_page_begin(request, reply, CW_PLACE_BENCH, "Proving sheet");
        if (status == CW_OK)
            status = cw_write_job_title(request, h, job.id, "Proving sheet", err);
        if (status == CW_OK)
            write_sheet(request, h, &job, &p, &next);
        cw_page_end(reply);
        cw_proving_free(&p);
    }
    cw_job_free(&job);
    return status;
}

cw_status twin_prove(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_proving p;
    CW_TRY(cw_job_proving(request->bench, request->match.ids[0], &p, err));
    reply->json = cw_proving_json(request->match.ids[0], &p);
    cw_proving_free(&p);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the proving sheet");
}

cw_status post_prove(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t job_id = request->match.ids[0];
    cw_proof_kind kind;
    bool owe = cw_posted(request, "owe")[0] != '\0';
    CW_TRY(cw_proof_parse(cw_posted(request, "test"), &kind, err));
    CW_TRY(owe ? cw_left_out_clear(request->bench, job_id, kind, err)
               : cw_left_out_set(request->bench, job_id, kind, cw_posted(request, "reason"), err));
    cw_go(request, reply, owe ? "It is owed again." : "Left out, and the report says why.", "/jobs/%" PRId64 "/prove",
          job_id);
    return CW_OK;
}

cw_status twin_next(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_next next;
    CW_TRY(cw_job_next(request->bench, request->match.ids[0], NULL, &next, err));
    return cw_next_json(request->bench, &next, &reply->json, err);
}
