/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The thread of a job for paper: what it owes and what came of it, lists, film, tools made, hours and costs. */
#include <inttypes.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/film.h"
#include "notebook/guide.h"
#include "report/gather_inside.h"
#include "report/list_sheet.h"

enum { ROWS_MOST = 4000 };

/* ---- what is owed ---- */

/* "inside, 2026-11-25: 8 of 8 speeds inside" */
static cw_status keep_evidence(material *m, const cw_evidence *evidence, const char **kept, cw_error *err)
{
    char text[2 * CW_LINE_MOST] = "";
    if (evidence->verdict != CW_PROVED_NOT)
        snprintf(text, sizeof text, "%s%s%s%s%s", cw_proof_verdict_words(evidence->verdict),
                 evidence->on[0] != '\0' ? ", " : "", evidence->on, evidence->text[0] != '\0' ? ": " : "",
                 evidence->text);
    return gather_keep(m, text, kept, err);
}

static cw_status fill_proofs(cw_bench *bench, material *m, int64_t job_id, cw_error *err)
{
    cw_proving p;
    CW_TRY(cw_job_proving(bench, job_id, &p, err));
    cw_status status = CW_OK;
    m->report.proofs = m->proofs;
    for (size_t k = 0; k < CW_PROOF_COUNT && status == CW_OK; k++) {
        const cw_proof *one = &p.items[k];
        if (!one->owed)
            continue;
        cw_report_proof *to = &m->proofs[m->report.proof_count++];
        *to = (cw_report_proof){.label = cw_proof_label(one->kind),
                                .why = one->why,
                                .outside = one->after.verdict == CW_PROVED_OUTSIDE || one->film_objects};
        status = keep_evidence(m, &one->before, &to->before, err);
        if (status == CW_OK)
            status = keep_evidence(m, &one->after, &to->after, err);
        if (status == CW_OK)
            status = gather_keep(m, one->film, &to->film, err);
        if (status == CW_OK)
            status = gather_keep(m, one->left_out, &to->left_out, err);
    }
    cw_proving_free(&p);
    return status;
}

/* ---- tests by ear and from photographs ---- */

static cw_status fill_others(cw_bench *bench, material *m, int64_t job_id, cw_error *err)
{
    static const struct {
        const char *kind, *title;
        cw_when when;
    } wanted[] = {{"sound", "By ear, before the work (an estimate)", CW_WHEN_BEFORE},
                  {"sound", "By ear, after the work (an estimate)", CW_WHEN_AFTER},
                  {"photographs", "From photographs, before the work", CW_WHEN_BEFORE},
                  {"photographs", "From photographs, after the work", CW_WHEN_AFTER}};
    for (size_t i = 0; i < CW_COUNT(wanted); i++) {
        int64_t id;
        cw_test stored;
        cw_shutter_test *test;
        CW_TRY(cw_test_newest(bench, job_id, wanted[i].kind, wanted[i].when, &id, err));
        if (id == 0)
            continue;
        CW_TRY(cw_grow(&m->others, &m->other_capacity, m->other_count + 1, sizeof *m->others, ROWS_MOST,
                       "tests of a report", err));
        CW_TRY(cw_test_get(bench, id, &stored, err));
        cw_report_other *to = &m->others[m->other_count++];
        *to = (cw_report_other){.title = wanted[i].title};
        cw_status status = gather_test(bench, m, &stored, &to->test, &test, err);
        cw_test_free(&stored);
        CW_TRY(status);
    }
    return CW_OK;
}

/* ---- lists ---- */

static cw_status fill_photo_of(cw_bench *bench, material *m, int64_t photo_id, cw_doc_photo *to, cw_error *err)
{
    cw_photo photo;
    *to = (cw_doc_photo){0};
    if (photo_id == 0 || m->without_photos)
        return CW_OK;
    CW_TRY(cw_photo_get(bench, photo_id, &photo, err));
    cw_status status = gather_photo(bench, m, &photo, to, err);
    cw_photo_free(&photo);
    return status;
}

static cw_status fill_found(cw_bench *bench, material *m, const cw_checklist_item_list *items, cw_report_list *to,
                            cw_error *err)
{
    cw_report_found *found = calloc(items->count + 1, sizeof *found);
    if (found == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for what a list found");
    to->found = found;
    for (size_t i = 0; i < items->count; i++) {
        const cw_checklist_item *item = &items->items[i];
        to->items++;
        to->open += item->answer == CW_ANSWER_OPEN;
        to->done += item->answer == CW_ANSWER_YES;
        to->not_applicable += item->answer == CW_ANSWER_NOT_APPLICABLE;
        if (item->answer != CW_ANSWER_NO)
            continue;
        cw_report_found *one = &found[to->found_count++];
        CW_TRY(gather_keep(m, item->text, &one->text, err));
        CW_TRY(gather_keep(m, item->remark, &one->remark, err));
        CW_TRY(fill_photo_of(bench, m, item->photo_id, &one->photo, err));
    }
    return CW_OK;
}

static cw_status fill_list(cw_bench *bench, material *m, const cw_checklist *list, cw_error *err)
{
    static const char *const whens[CW_MOMENT_COUNT] = {"", "before the work", "during the work", "after the work"};
    cw_checklist_item_list items;
    char day[11];
    CW_TRY(cw_grow(&m->lists, &m->list_capacity, m->list_count + 1, sizeof *m->lists, ROWS_MOST, "lists of a report",
                   err));
    cw_report_list *to = &m->lists[m->list_count++];
    *to = (cw_report_list){.when = whens[list->moment]};
    snprintf(day, sizeof day, "%.10s", list->created_at);
    CW_TRY(gather_keep(m, list->title, &to->title, err));
    CW_TRY(gather_keep(m, day, &to->on, err));
    CW_TRY(cw_checklist_items(bench, list->id, &items, err));
    cw_status status = fill_found(bench, m, &items, to, err);
    cw_checklist_item_list_free(&items);
    return status;
}

static cw_status fill_lists(cw_bench *bench, material *m, int64_t job_id, cw_error *err)
{
    cw_checklist_list lists;
    CW_TRY(cw_checklist_page(bench, job_id, &lists, err));
    cw_status status = CW_OK;
    for (size_t i = 0; i < lists.count && status == CW_OK; i++)
        status = fill_list(bench, m, &lists.items[i], err);
    cw_checklist_list_free(&lists);
    return status;
}

/* ---- the film ---- */

static cw_status fill_frame(cw_bench *bench, material *m, const cw_film_frame *from, cw_error *err)
{
    static const char *const verdicts[CW_ANSWER_COUNT] = {"not looked at", "right", "NOT RIGHT", "does not apply"};
    char settings[120];
    CW_TRY(cw_grow(&m->frames, &m->frame_capacity, m->frame_count + 1, sizeof *m->frames, ROWS_MOST,
                   "frames of a report", err));
    cw_report_frame *to = &m->frames[m->frame_count++];
    *to = (cw_report_frame){.frame = (long)from->frame, .verdict = verdicts[from->right]};
    cw_frame_settings(from, settings, sizeof settings);
    CW_TRY(gather_keep(m, from->film, &to->film, err));
    CW_TRY(gather_keep(m, settings, &to->settings, err));
    CW_TRY(gather_keep(m, from->scene, &to->scene, err));
    CW_TRY(gather_keep(m, from->seen, &to->seen, err));
    return fill_photo_of(bench, m, from->photo_id, &to->photo, err);
}

static cw_status fill_film(cw_bench *bench, material *m, int64_t job_id, cw_error *err)
{
    cw_film_frame_list frames;
    CW_TRY(cw_film_frame_page(bench, job_id, &frames, err));
    cw_status status = CW_OK;
    for (size_t i = 0; i < frames.count && status == CW_OK; i++)
        status = fill_frame(bench, m, &frames.items[i], err);
    cw_film_frame_list_free(&frames);
    return status;
}

/* ---- tools made for it ---- */

/* {"span":23.4,"tip_width":1.2} as "span 23.4 mm, tip width 1.2 mm" */
static void size_words(const char *sizes_json, char *text, size_t size)
{
    json_t *sizes = json_loads(sizes_json, 0, NULL), *value;
    const char *key;
    cw_buf words = cw_buf_new(65536);
    json_object_foreach(sizes, key, value)
    {
        cw_buf_text(&words, words.length > 0 ? ", " : "");
        for (const char *c = key; *c != '\0'; c++)
            cw_buf_char(&words, *c == '_' || *c == '-' ? ' ' : *c);
        cw_buf_printf(&words, " %.6g mm", json_number_value(value));
    }
    snprintf(text, size, "%s", cw_buf_string(&words));
    cw_buf_free(&words);
    json_decref(sizes);
}

static cw_status fill_tool(material *m, const cw_tool *tool, cw_error *err)
{
    char sizes[1000];
    CW_TRY(cw_grow(&m->tools, &m->tool_capacity, m->tool_count + 1, sizeof *m->tools, ROWS_MOST, "tools of a report",
                   err));
    cw_report_tool *to = &m->tools[m->tool_count++];
    *to = (cw_report_tool){0};
    size_words(tool->sizes_json, sizes, sizeof sizes);
    CW_TRY(gather_keep(m, tool->name, &to->name, err));
    CW_TRY(gather_keep(m, tool->kind, &to->kind, err));
    return gather_keep(m, sizes, &to->sizes, err);
}

static cw_status fill_tools(cw_bench *bench, material *m, int64_t job_id, cw_error *err)
{
    enum { PAGE_OF_TOOLS = 500 };
    for (int64_t first = 0;; first += PAGE_OF_TOOLS) {
        cw_tool_list list;
        CW_TRY(cw_tool_page(bench, NULL, NULL, 0, first, PAGE_OF_TOOLS, &list, err));
        cw_status status = CW_OK;
        for (size_t i = 0; i < list.count && status == CW_OK; i++)
            if (list.items[i].made_for_job_id == job_id && list.items[i].made)
                status = fill_tool(m, &list.items[i], err);
        bool last = list.count < PAGE_OF_TOOLS;
        cw_tool_list_free(&list);
        if (status != CW_OK || last)
            return status;
    }
}

/* ---- hours and costs ---- */

static cw_status add_cost(material *m, const char *on, const char *what, double worked_s, double amount,
                          const char *currency, cw_error *err)
{
    char time[64] = "", money[400] = "";
    CW_TRY(cw_grow(&m->costs, &m->cost_capacity, m->cost_count + 1, sizeof *m->costs, ROWS_MOST, "costs of a report",
                   err));
    cw_report_cost *to = &m->costs[m->cost_count++];
    *to = (cw_report_cost){0};
    if (isfinite(worked_s) && worked_s > 0)
        snprintf(time, sizeof time, "%.0f h %02.0f min", floor(worked_s / 3600), fmod(floor(worked_s / 60), 60));
    if (isfinite(amount))
        snprintf(money, sizeof money, "%.2f %s", amount, currency);
    CW_TRY(gather_keep(m, on, &to->on, err));
    CW_TRY(gather_keep(m, what, &to->what, err));
    CW_TRY(gather_keep(m, time, &to->time, err));
    return gather_keep(m, money, &to->amount, err);
}

static cw_status fill_costs(cw_bench *bench, material *m, int64_t job_id, cw_error *err)
{
    cw_cost_list list;
    cw_job job;
    CW_TRY(cw_job_get(bench, job_id, &job, err));
    cw_status status = cw_cost_page(bench, job_id, &list, err);
    if (status == CW_OK) {
        for (size_t i = 0; i < list.count && status == CW_OK; i++)
            status = add_cost(m, list.items[i].on, list.items[i].what, list.items[i].worked_s, list.items[i].amount,
                              job.currency, err);
        if (status == CW_OK && list.count > 0)
            status = add_cost(m, "", "Together", list.worked_s, list.amount, job.currency, err);
        if (status == CW_OK && isfinite(job.agreed_cost))
            status = add_cost(m, "", "Agreed", NAN, job.agreed_cost, job.currency, err);
        cw_cost_list_free(&list);
    }
    cw_job_free(&job);
    return status;
}

cw_status gather_thread(cw_bench *bench, material *m, int64_t job_id, const cw_gather_options *options, cw_error *err)
{
    CW_TRY(fill_proofs(bench, m, job_id, err));
    CW_TRY(fill_others(bench, m, job_id, err));
    CW_TRY(fill_lists(bench, m, job_id, err));
    CW_TRY(fill_film(bench, m, job_id, err));
    CW_TRY(fill_tools(bench, m, job_id, err));
    if (options->with_costs)
        CW_TRY(fill_costs(bench, m, job_id, err));
    cw_report *r = &m->report;
    r->others = m->others;
    r->other_count = m->other_count;
    r->lists = m->lists;
    r->list_count = m->list_count;
    r->frames = m->frames;
    r->frame_count = m->frame_count;
    r->tools = m->tools;
    r->tool_count = m->tool_count;
    r->costs = m->costs;
    r->cost_count = m->cost_count;
    return CW_OK;
}

void gather_thread_free(material *m)
{
    for (size_t i = 0; i < m->other_count; i++) {
        cw_shutter_test_free((cw_shutter_test *)m->others[i].test.test);
        free((void *)m->others[i].test.maps);
    }
    for (size_t i = 0; i < m->list_count; i++) {
        for (size_t k = 0; k < m->lists[i].found_count; k++)
            gather_free_photo(&m->lists[i].found[k].photo);
        free((void *)m->lists[i].found);
    }
    for (size_t i = 0; i < m->frame_count; i++)
        gather_free_photo(&m->frames[i].photo);
    free(m->others);
    free(m->lists);
    free(m->frames);
    free(m->tools);
    free(m->costs);
}
