/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the guided lists and the test film say about each thing that is owed. */
#include <inttypes.h>
#include <string.h>

#include "notebook/film.h"
#include "notebook/guide.h"
#include "notebook/prove_inside.h"
#include "notebook/tables.h"

/* ---- lists ---- */

/* "found: hinge side, a line of light"; the item itself where no line was written. */
static void say_found(const cw_checklist_item_list *items, cw_buf *text)
{
    for (size_t i = 0; i < items->count; i++) {
        const cw_checklist_item *item = &items->items[i];
        if (item->answer == CW_ANSWER_NO)
            cw_buf_printf(text, "%sfound: %s", text->length == 0 ? "" : "; ",
                          item->remark[0] != '\0' ? item->remark : item->text);
    }
}

/* Adds one list to the evidence: the worst of the lists is what counts. */
static cw_status take_list(cw_bench *bench, cw_proving *p, cw_evidence *to, int64_t id, cw_error *err)
{
    cw_checklist list;
    cw_checklist_item_list items;
    cw_list_count count;
    CW_TRY(cw_checklist_get(bench, id, &list, err));
    cw_status status = cw_checklist_count(bench, id, &count, err);
    if (status == CW_OK)
        status = cw_checklist_items(bench, id, &items, err);
    if (status != CW_OK) {
        cw_checklist_free(&list);
        return status;
    }
    cw_buf text = cw_buf_new(1 << 22);
    cw_proof_verdict verdict = count.found > 0  ? CW_PROVED_OUTSIDE
                               : count.open > 0 ? CW_PROVED_BEGUN
                                                : CW_PROVED_INSIDE;
    if (count.found > 0)
        say_found(&items, &text);
    else
        cw_buf_printf(&text, "%s: %" PRId64 " of %" PRId64 " looked at, nothing found", list.title,
                      count.items - count.open, count.items);
    static const int gravity[CW_PROVED_COUNT] = {
        [CW_PROVED_NOT] = 0, [CW_PROVED_INSIDE] = 1, [CW_PROVED_BEGUN] = 2, [CW_PROVED_OUTSIDE] = 3};
    char day[11];
    snprintf(day, sizeof day, "%.10s", list.created_at);
    status = cw_buf_check(&text, "what a list found", err);
    if (status == CW_OK && gravity[verdict] > gravity[to->verdict]) {
        to->checklist_id = id;
        if (!prove_say(p, to, verdict, day, cw_buf_string(&text)))
            status = cw_fail(err, CW_MEMORY, "no memory for what was proved");
    }
    cw_buf_free(&text);
    cw_checklist_item_list_free(&items);
    cw_checklist_free(&list);
    return status;
}

cw_status prove_from_lists(cw_bench *bench, const cw_job *job, cw_proving *proving, cw_error *err)
{
    static const struct {
        cw_moment moment;
        bool after;
    } times[] = {{CW_MOMENT_BEFORE, false}, {CW_MOMENT_AFTER, true}};
    for (size_t t = 0; t < CW_COUNT(times); t++) {
        int64_t leaks, folds = 0;
        cw_evidence *to =
            times[t].after ? &proving->items[CW_PROOF_LEAKS].after : &proving->items[CW_PROOF_LEAKS].before;
        CW_TRY(cw_checklist_newest(bench, job->id, "light-leaks", times[t].moment, &leaks, err));
        CW_TRY(cw_checklist_newest(bench, job->id, "bellows", times[t].moment, &folds, err));
        if (leaks != 0)
            CW_TRY(take_list(bench, proving, to, leaks, err));
        if (folds != 0)
            CW_TRY(take_list(bench, proving, to, folds, err));
        /* A folding camera owes both lists. */
        if (job->bellows == CW_FITTED_YES && to->verdict == CW_PROVED_INSIDE && (leaks == 0 || folds == 0) &&
            !prove_say(proving, to, CW_PROVED_BEGUN, to->on,
                       leaks == 0 ? "the bellows are looked at, the light-leak hunt is still owed"
                                  : "the light-leak hunt is done, the bellows are still owed"))
            return cw_fail(err, CW_MEMORY, "no memory for what was proved");
    }
    return CW_OK;
}

/* ---- the film ---- */

/* Which proof a frame speaks about. */
static bool speaks_of(cw_proof_kind kind, const char *proves)
{
    static const struct {
        const char *proves;
        cw_proof_kind kind;
    } pairs[] = {{"speeds", CW_PROOF_SHUTTER}, {"speeds", CW_PROOF_EVENNESS}, {"flash", CW_PROOF_FLASH},
                 {"focus", CW_PROOF_FOCUS},    {"optics", CW_PROOF_FOCUS},    {"focus", CW_PROOF_FINDER},
                 {"meter", CW_PROOF_METER},    {"seals", CW_PROOF_LEAKS}};
    for (size_t i = 0; i < CW_COUNT(pairs); i++)
        if (pairs[i].kind == kind && strcmp(pairs[i].proves, proves) == 0)
            return true;
    return false;
}

typedef struct {
    int64_t frames, open, right, wrong;
    cw_buf text;
} film_count;

static void count_frame(film_count *count, const cw_film_frame *frame)
{
    count->frames++;
    count->open += frame->right == CW_ANSWER_OPEN;
    count->right += frame->right == CW_ANSWER_YES;
    if (frame->right != CW_ANSWER_NO)
        return;
    count->wrong++;
    cw_buf_printf(&count->text, "%sframe %" PRId64 ": %s", count->text.length == 0 ? "" : "; ", frame->frame,
                  frame->seen[0] != '\0' ? frame->seen : "not right");
}

static cw_status say_film(cw_proving *p, const film_count *count, cw_proof *one, cw_error *err)
{
    char line[CW_LINE_MOST + 1];
    if (count->frames == 0)
        return CW_OK;
    if (count->wrong > 0)
        snprintf(line, sizeof line, "%.*s", (int)store_cut(count->text.text, CW_LINE_MOST), count->text.text);
    else if (count->open > 0)
        snprintf(line, sizeof line, "%" PRId64 " of %" PRId64 " frames looked at, none wrong",
                 count->frames - count->open, count->frames);
    else
        snprintf(line, sizeof line, "%" PRId64 " of %" PRId64 " frames as they should be", count->right, count->frames);
    cw_proof_verdict verdict = count->wrong > 0   ? CW_PROVED_OUTSIDE
                               : count->open > 0  ? CW_PROVED_BEGUN
                               : count->right > 0 ? CW_PROVED_INSIDE
                                                  : CW_PROVED_UNKNOWN;
    bool kept = true;
    if (one->kind == CW_PROOF_FILM) {
        kept = prove_say(p, &one->after, verdict, "", line);
    } else if (count->open < count->frames) { /* a film nobody has looked at says nothing */
        one->film = store_keep(&p->held, line);
        one->film_objects = count->wrong > 0;
        kept = one->film != NULL;
    }
    return kept ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for what the film says");
}

cw_status prove_from_film(cw_bench *bench, int64_t job_id, cw_proving *proving, cw_error *err)
{
    cw_film_frame_list frames;
    CW_TRY(cw_film_frame_page(bench, job_id, &frames, err));
    cw_status status = CW_OK;
    for (int k = 0; k < CW_PROOF_COUNT && status == CW_OK; k++) {
        film_count count = {.text = cw_buf_new(1 << 22)};
        for (size_t i = 0; i < frames.count; i++)
            if (k == CW_PROOF_FILM || speaks_of((cw_proof_kind)k, frames.items[i].proves))
                count_frame(&count, &frames.items[i]);
        status = cw_buf_check(&count.text, "what the film says", err);
        if (status == CW_OK)
            status = say_film(proving, &count, &proving->items[k], err);
        cw_buf_free(&count.text);
    }
    cw_film_frame_list_free(&frames);
    return status;
}
