/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was done in a job, newest first, and taking it back. */
#include <inttypes.h>
#include <stdio.h>

#include "notebook/job.h"
#include "web/page.h"
#include "web/pages/pages.h"

enum { CHANGES_A_PAGE = 50 };

static void write_undo(cw_request *request, cw_html *h, int64_t job_id, const char *undo, const char *redo)
{
    char label[CW_LINE_MOST + 32];
    html_markup(h, "<div class='actions'>");
    if (undo[0] != '\0') {
        snprintf(label, sizeof label, "Undo: %s", undo);
        cw_button_form(request, h, false, label, "/jobs/%" PRId64 "/undo", job_id);
    }
    if (redo[0] != '\0') {
        snprintf(label, sizeof label, "Do again: %s", redo);
        cw_button_form(request, h, true, label, "/jobs/%" PRId64 "/redo", job_id);
    }
    if (undo[0] == '\0' && redo[0] == '\0')
        html_markup(h, "<span class='soft'>There is nothing to undo.</span>");
    html_markup(h, "</div>\n");
}

static void write_changes(cw_html *h, const cw_change_list *changes)
{
    html_markup(h, "<table><thead><tr><th scope='col'>When (UTC)</th><th scope='col'>What</th></tr></thead><tbody>");
    for (size_t i = 0; i < changes->count; i++) {
        const cw_change *change = &changes->items[i];
        html_markup(h, "<tr><td class='soft'>");
        html_textf(h, "%.10s %.5s", change->at, change->at + 11);
        html_markup(h, "</td><td>");
        if (change->undone)
            html_markup(h, "<s>");
        html_said(h, change->words);
        if (change->undone)
            html_markup(h, "</s> (undone)");
        html_markup(h, "</td></tr>\n");
    }
    html_markup(h, "</tbody></table>\n");
}

cw_status page_history(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t job_id = request->match.ids[0];
    long first;
    char undo[CW_LINE_MOST + 1], redo[CW_LINE_MOST + 1], address[64];
    cw_job job;
    cw_change_list changes;
    CW_TRY(cw_whole(request, "first", 0, 100000000, 0, &first, err));
    CW_TRY(cw_undo_next(request->bench, job_id, undo, redo, err));
    CW_TRY(cw_job_get(request->bench, job_id, &job, err));
    cw_status status = cw_change_page(request->bench, job_id, first, CHANGES_A_PAGE, &changes, err);
    if (status == CW_OK) {
        cw_html *h = &reply->html;
        cw_page_begin(request, reply, CW_PLACE_BENCH, "History");
        html_markup(h, "<p class='trail'>");
        cw_link(h, "", job.camera, "/jobs/%" PRId64, job_id);
        html_markup(h, "</p><h1>History and undo</h1>\n");
        write_undo(request, h, job_id, undo, redo);
        write_changes(h, &changes);
        snprintf(address, sizeof address, "/jobs/%" PRId64 "/history", job_id);
        cw_pager(h, first, CHANGES_A_PAGE, changes.total, address);
        cw_page_end(reply);
        cw_change_list_free(&changes);
    }
    cw_job_free(&job);
    return status;
}

cw_status twin_history(cw_request *request, cw_reply *reply, cw_error *err)
{
    long first;
    cw_change_list changes;
    CW_TRY(cw_whole(request, "first", 0, 100000000, 0, &first, err));
    CW_TRY(cw_change_page(request->bench, request->match.ids[0], first, CHANGES_A_PAGE, &changes, err));
    json_t *list = json_array();
    for (size_t i = 0; i < changes.count; i++)
        json_array_append_new(list, json_pack("{s:I,s:s,s:s,s:b}", "id", (json_int_t)changes.items[i].id, "at",
                                              changes.items[i].at, "words", changes.items[i].words, "undone",
                                              (int)changes.items[i].undone));
    reply->json = json_pack("{s:s,s:I,s:I,s:o}", "format", "camerawright.history/1", "first", (json_int_t)first,
                            "total", (json_int_t)changes.total, "changes", list);
    cw_change_list_free(&changes);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the history");
}

/* Back to the page the button was on, when it said so and it is one of this job's. */
static void go_back(cw_request *request, cw_reply *reply, const char *verb, const char *words)
{
    char said[CW_LINE_MOST + 32];
    snprintf(said, sizeof said, "%s: %s", verb, words);
    int64_t job_id = request->match.ids[0];
    const char *to = cw_posted(request, "to");
    if (to[0] != '\0')
        cw_go(request, reply, said, "/jobs/%" PRId64 "/%.40s", job_id, to);
    else
        cw_go(request, reply, said, "/jobs/%" PRId64 "/history", job_id);
}

cw_status post_undo(cw_request *request, cw_reply *reply, cw_error *err)
{
    char words[CW_LINE_MOST + 1];
    CW_TRY(cw_undo(request->bench, request->match.ids[0], words, err));
    go_back(request, reply, "Undone", words);
    return CW_OK;
}

cw_status post_redo(cw_request *request, cw_reply *reply, cw_error *err)
{
    char words[CW_LINE_MOST + 1];
    CW_TRY(cw_redo(request->bench, request->match.ids[0], words, err));
    go_back(request, reply, "Done again", words);
    return CW_OK;
}
