/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Guided lists: those of a job, one being worked through, and the lists of the person's own. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/photo.h"
#include "notebook/thread_json.h"
#include "report/list_sheet.h"
#include "web/house.h"
#include "web/page.h"
#include "web/pages/film_parts.h"
#include "web/pages/notebook_parts.h"
#include "web/pages/pages.h"
#include "web/pages/thread_parts.h"
#include "worksheets/cautions.h"

enum { PDF_MOST = 64 * 1024 * 1024 };

/* ---- the lists of a job ---- */

static void write_started(cw_html *h, int64_t job_id, const cw_checklist_list *lists)
{
    html_markup(h, "<section class='panel'><h2>Begun in this job</h2>\n");
    if (lists->count == 0)
        html_markup(h, "<p class='soft'>None yet. A list leads through what to look at, item by item, and what you "
                       "find stays with the job and goes into its report.</p>");
    else
        html_markup(h, "<ul class='lines'>");
    for (size_t i = lists->count; i-- > 0;) {
        const cw_checklist *list = &lists->items[i];
        html_markup(h, "<li><a");
        html_attrf(h, "href", "/jobs/%" PRId64 "/lists/%" PRId64, job_id, list->id);
        html_markup(h, "><strong>");
        html_said(h, list->title);
        html_markup(h, "</strong> <span class='soft'>");
        html_textf(h, "%s%s%.10s, %" PRId64 " of %" PRId64 " answered", cw_moment_name(list->moment),
                   list->moment == CW_MOMENT_ANY ? "" : " the work, ", list->created_at, list->answered,
                   list->item_count);
        html_markup(h, "</span></a></li>\n");
    }
    if (lists->count > 0)
        html_markup(h, "</ul>");
    html_markup(h, "</section>\n");
}

static void write_guide(cw_request *request, cw_html *h, const cw_job *job, const cw_guide *guide, bool main_one)
{
    bool before = job->stage <= CW_STAGE_APART;
    char label[120];
    html_markup(h, "<li class='card'><h3>");
    html_text(h, guide->title);
    html_markup(h, "</h3><p>");
    html_text(h, guide->purpose);
    html_markup(h, "</p><div class='actions'>");
    if (!guide->is_proof) {
        snprintf(label, sizeof label, "Begin: %s", guide->title);
        cw_write_list_button(request, h, job->id, guide->kind, "", label, main_one);
    } else {
        snprintf(label, sizeof label, "%s, %s the work", guide->title, before ? "before" : "after");
        cw_write_list_button(request, h, job->id, guide->kind, before ? "before" : "after", label, main_one);
        snprintf(label, sizeof label, "%s the work", before ? "After" : "Before");
        cw_write_list_button(request, h, job->id, guide->kind, before ? "after" : "before", label, false);
    }
    html_markup(h, "</div></li>\n");
}

/* The list one most likely wants at this stage. */
static const char *likely_kind(cw_stage stage)
{
    static const char *const kinds[CW_STAGE_COUNT] = {"as-it-came",     "before-closing", "before-closing",
                                                      "after-assembly", "light-leaks",    "light-leaks"};
    return kinds[stage];
}

cw_status page_lists(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_job job;
    cw_checklist_list lists;
    cw_own_list_list own = {0};
    CW_TRY(cw_job_get(request->bench, request->match.ids[0], &job, err));
    cw_status status = cw_checklist_page(request->bench, job.id, &lists, err);
    if (status == CW_OK) {
        status = cw_own_list_page(request->bench, &own, err);
        cw_html *h = &reply->html;
        size_t count;
        const cw_guide *guides = cw_guides(&count);
        cw_page_begin(request, reply, CW_PLACE_BENCH, "Lists");
        if (status == CW_OK)
            status = cw_write_job_title(request, h, job.id, "Guided lists", err);
        write_started(h, job.id, &lists);
        html_markup(h, "<h2>Begin one</h2><ul class='cards'>");
        for (size_t i = 0; i < count; i++)
            write_guide(request, h, &job, &guides[i], strcmp(guides[i].kind, likely_kind(job.stage)) == 0);
        for (size_t i = 0; i < own.count; i++) {
            char kind[40], label[CW_LINE_MOST + 16];
            snprintf(kind, sizeof kind, "own:%" PRId64, own.items[i].id);
            snprintf(label, sizeof label, "Begin: %s", own.items[i].title);
            html_markup(h, "<li class='card'><h3>");
            html_text(h, own.items[i].title);
            html_markup(h, "</h3><p class='soft'>A list of your own.</p><div class='actions'>");
            cw_write_list_button(request, h, job.id, kind, "", label, false);
            html_markup(h, "</div></li>\n");
        }
        html_markup(h, "</ul>\n<div class='actions'>");
        cw_link(h, "button", "Write a list of your own", "/lists");
        html_markup(h, "</div>\n");
        cw_page_end(reply);
        cw_own_list_list_free(&own);
        cw_checklist_list_free(&lists);
    }
    cw_job_free(&job);
    return status;
}

cw_status twin_lists(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_checklist_list lists;
    CW_TRY(cw_checklist_page(request->bench, request->match.ids[0], &lists, err));
    json_t *rows = json_array();
    for (size_t i = 0; i < lists.count; i++)
        json_array_append_new(rows, json_pack("{s:I,s:s,s:s,s:s,s:I,s:I}", "id", (json_int_t)lists.items[i].id, "kind",
                                              lists.items[i].kind, "title", lists.items[i].title, "when",
                                              cw_moment_name(lists.items[i].moment), "items",
                                              (json_int_t)lists.items[i].item_count, "answered",
                                              (json_int_t)lists.items[i].answered));
    reply->json = json_pack("{s:s,s:I,s:o}", "format", "camerawright.checklists/1", "job",
                            (json_int_t)request->match.ids[0], "checklists", rows);
    cw_checklist_list_free(&lists);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the lists");
}

cw_status post_list_start(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t job_id = request->match.ids[0], id;
    const char *kind = cw_posted(request, "kind");
    cw_moment moment;
    CW_TRY(cw_moment_parse(cw_posted(request, "when"), &moment, err));
    if (strncmp(kind, "own:", 4) == 0) {
        char *end;
        int64_t own = strtoll(kind + 4, &end, 10);
        CW_TRY(cw_own_list_start(request->bench, job_id, *end == '\0' ? own : 0, &id, err));
    } else {
        CW_TRY(cw_guide_start(request->bench, job_id, kind, moment, &id, err));
    }
    cw_go(request, reply, NULL, "/jobs/%" PRId64 "/lists/%" PRId64, job_id, id);
    return CW_OK;
}

/* ---- one list ---- */

static void write_answer(cw_html *h, const cw_checklist_item *item)
{
    static const char *const classes[CW_ANSWER_COUNT] = {NULL, "verdict good", "verdict close", "soft"};
    static const char *const words[CW_ANSWER_COUNT] = {NULL, "done", "found", "does not apply"};
    html_markup(h, "<p><strong");
    html_attr(h, "class", classes[item->answer]);
    html_markup(h, ">");
    html_text(h, words[item->answer]);
    html_markup(h, "</strong>");
    if (item->remark[0] != '\0') {
        html_markup(h, " ");
        html_text(h, item->remark);
    }
    html_markup(h, " <span class='unit'>");
    html_textf(h, "%s%s%.10s", item->answered_by, item->answered_by[0] != '\0' ? ", " : "", item->answered_at);
    html_markup(h, "</span></p>\n");
}

static void write_item(cw_request *request, cw_html *h, const cw_checklist *list, const cw_checklist_item *item,
                       bool is_next)
{
    const cw_guide_item *guide = cw_guide_item_find(list->kind, item->key);
    char address[80];
    snprintf(address, sizeof address, "/jobs/%" PRId64 "/lists/%" PRId64, list->job_id, list->id);
    html_markup(h, "<li");
    html_attr(h, "class", item->answer == CW_ANSWER_OPEN ? "panel" : "panel done");
    html_attrf(h, "id", "item-%" PRId64, item->id);
    html_markup(h, "><h2>");
    html_said(h, item->text);
    html_markup(h, "</h2>\n");
    if (guide != NULL && guide->how[0] != '\0') {
        html_markup(h, "<p class='soft'>");
        html_text(h, guide->how);
        html_markup(h, "</p>\n");
    }
    if (guide != NULL && guide->caution != NULL)
        cw_cautions(h, (const char *const[]){guide->caution, NULL});
    if (item->photo_id > 0) {
        html_markup(h, "<p><a");
        html_attrf(h, "href", "/photos/%" PRId64, item->photo_id);
        html_markup(h, "><img loading='lazy' width='120' height='120' class='shot'");
        html_attrf(h, "src", "/photos/%" PRId64 "/small", item->photo_id);
        html_attrf(h, "alt", "%s", item->remark);
        html_markup(h, "></a></p>\n");
    }
    if (item->answer != CW_ANSWER_OPEN)
        write_answer(h, item);
    cw_write_answer_form(request, h,
                         &(cw_answer_form){.address = address,
                                           .id = item->id,
                                           .text = item->text,
                                           .good = "Done, as it should be",
                                           .bad = "Found something",
                                           .remark_label = "What was found",
                                           .remark = item->remark,
                                           .answer = item->answer,
                                           .is_next = is_next});
    html_markup(h, "</li>\n");
}

static void write_foot(cw_request *request, cw_html *h, const cw_checklist *list, bool finished)
{
    html_markup(h, "<div class='actions'>");
    cw_link(h, finished ? "main" : "button", finished ? "Back to the job, it goes on there" : "Back to the job",
            "/jobs/%" PRId64 "#next", list->job_id);
    cw_link(h, "button", "Print it", "/jobs/%" PRId64 "/lists/%" PRId64 "/paper.pdf", list->job_id, list->id);
    html_markup(h, "<form method='post' class='inline'");
    html_attrf(h, "action", "/jobs/%" PRId64 "/undo", list->job_id);
    html_markup(h, ">");
    cw_field_hidden(h, "token", request->pass.token);
    html_markup(h, "<input type='hidden' name='to'");
    html_attrf(h, "value", "lists/%" PRId64, list->id);
    html_markup(h, "><button class='button'>Undo the last thing</button></form>");
    cw_button_form(request, h, true, "Take this list out", "/jobs/%" PRId64 "/lists/%" PRId64 "/delete", list->job_id,
                   list->id);
    html_markup(h, "</div>\n");
}

static cw_status list_of_job(cw_request *request, cw_checklist *list, cw_error *err)
{
    CW_TRY(cw_checklist_get(request->bench, request->match.ids[1], list, err));
    if (list->job_id == request->match.ids[0])
        return CW_OK;
    cw_checklist_free(list);
    return cw_fail(err, CW_NOT_FOUND, "job %" PRId64 " has no list %" PRId64, request->match.ids[0],
                   request->match.ids[1]);
}

static void write_list(cw_request *request, cw_html *h, const cw_checklist *list, const cw_checklist_item_list *items)
{
    const cw_guide *guide = cw_guide_find(list->kind);
    bool next_written = false;
    html_markup(h, "<p class='lead'>");
    if (guide != NULL)
        html_text(h, guide->purpose);
    html_markup(h, "</p>\n<p class='count'><strong>");
    html_textf(h, "%" PRId64 " of %" PRId64 " answered", list->answered, list->item_count);
    html_markup(h, "</strong>");
    if (list->moment != CW_MOMENT_ANY)
        html_textf(h, ", %s the work", cw_moment_name(list->moment));
    html_markup(h, "</p>\n<ol class='plain'>");
    for (size_t i = 0; i < items->count; i++) {
        bool is_next = !next_written && items->items[i].answer == CW_ANSWER_OPEN;
        next_written = next_written || is_next;
        write_item(request, h, list, &items->items[i], is_next);
    }
    html_markup(h, "</ol>\n");
    write_foot(request, h, list, list->answered == list->item_count);
    if (guide != NULL) {
        html_markup(h, "<p class='soft'>What to look at: ");
        html_text(h, guide->source);
        html_markup(h, ".</p>\n");
    }
}

cw_status page_list(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_checklist list;
    cw_checklist_item_list items;
    CW_TRY(list_of_job(request, &list, err));
    cw_status status = cw_checklist_items(request->bench, list.id, &items, err);
    if (status == CW_OK) {
        cw_html *h = &reply->html;
        cw_page_begin(request, reply, CW_PLACE_BENCH, list.title);
        status = cw_write_job_title(request, h, list.job_id, list.title, err);
        if (status == CW_OK)
            write_list(request, h, &list, &items);
        cw_page_end(reply);
        cw_checklist_item_list_free(&items);
    }
    cw_checklist_free(&list);
    return status;
}

cw_status twin_list(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_checklist list;
    cw_checklist_item_list items;
    CW_TRY(list_of_job(request, &list, err));
    cw_status status = cw_checklist_items(request->bench, list.id, &items, err);
    if (status == CW_OK) {
        reply->json = cw_checklist_json(&list, &items);
        cw_checklist_item_list_free(&items);
        if (reply->json == NULL)
            status = cw_fail(err, CW_MEMORY, "no memory for the list");
    }
    cw_checklist_free(&list);
    return status;
}

/* Answer and photo in one change, so that one undo takes both back. */
static cw_status answer_item(cw_request *request, const cw_checklist *list, cw_checklist_item *item, cw_error *err)
{
    char who[CW_LINE_MOST + 1];
    int64_t photo_id;
    CW_TRY(cw_read_answer(request, list->job_id, &item->answer, &item->remark, &photo_id, err));
    cw_who_answers(request, who, sizeof who);
    item->answered_by = who;
    if (photo_id != 0)
        item->photo_id = photo_id;
    return cw_checklist_item_update(request->bench, item, err);
}

static cw_status next_open(cw_bench *bench, int64_t list_id, int64_t after, int64_t *next, cw_error *err)
{
    cw_checklist_item_list items;
    CW_TRY(cw_checklist_items(bench, list_id, &items, err));
    *next = after;
    for (size_t i = items.count; i-- > 0;)
        if (items.items[i].answer == CW_ANSWER_OPEN && (items.items[i].id > after || *next == after))
            *next = items.items[i].id;
    cw_checklist_item_list_free(&items);
    return CW_OK;
}

cw_status post_list_answer(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_checklist list;
    cw_checklist_item item;
    int64_t next = 0;
    CW_TRY(list_of_job(request, &list, err));
    cw_status status = cw_checklist_item_get(request->bench, cw_row_id(request, "item"), &item, err);
    if (status == CW_OK) {
        if (item.checklist_id != list.id)
            status = cw_fail(err, CW_NOT_FOUND, "this list has no item %" PRId64, item.id);
        if (status == CW_OK)
            status = cw_change_begin(request->bench, list.job_id, "an item of a list answered", err);
        if (status == CW_OK) {
            status = answer_item(request, &list, &item, err);
            if (status == CW_OK)
                status = cw_change_commit(request->bench, err);
            else
                cw_change_cancel(request->bench);
        }
        if (status == CW_OK)
            status = next_open(request->bench, list.id, item.id, &next, err);
        cw_checklist_item_free(&item);
    }
    if (status == CW_OK)
        cw_go(request, reply, NULL, "/jobs/%" PRId64 "/lists/%" PRId64 "#item-%" PRId64, list.job_id, list.id, next);
    cw_checklist_free(&list);
    return status;
}

cw_status post_list_delete(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_checklist list;
    CW_TRY(list_of_job(request, &list, err));
    cw_status status = cw_checklist_delete(request->bench, list.id, err);
    if (status == CW_OK)
        cw_go(request, reply, "The list is out. \"History and undo\" brings it back.", "/jobs/%" PRId64 "/lists",
              list.job_id);
    cw_checklist_free(&list);
    return status;
}

/* ---- on paper ---- */

cw_status cw_reply_list_document(cw_request *request, cw_reply *reply, bool film, cw_error *err)
{
    char day[CW_DAY_TEXT], addresses[1][CW_ADDRESS_TEXT];
    cw_document *document;
    bool scan = request->house->lan && cw_house_addresses(request->house, addresses, 1) == 1;
    cw_today(day);
    const cw_list_look look = {
        .paper = cw_value(request, "paper", "A4"), .made_on = day, .site = scan ? addresses[0] : NULL};
    CW_TRY(film ? cw_film_log_make(request->bench, request->match.ids[0], &look, &document, err)
                : cw_list_sheet_make(request->bench, request->match.ids[1], &look, &document, err));
    cw_buf pdf = cw_buf_new(PDF_MOST);
    cw_status status = cw_document_pdf(document, &pdf, err);
    if (status == CW_OK)
        status = cw_reply_buffer(reply, &pdf, "application/pdf", film ? "film-log.pdf" : "list.pdf", err);
    cw_buf_free(&pdf);
    cw_document_free(document);
    return status;
}

cw_status get_list_paper(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_checklist list;
    CW_TRY(list_of_job(request, &list, err));
    cw_checklist_free(&list);
    return cw_reply_list_document(request, reply, false, err);
}
