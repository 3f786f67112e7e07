/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/thread.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "notebook/guide.h"
#include "notebook/prove_inside.h"
#include "notebook/tables.h"

static const char *const kind_names[CW_NEXT_COUNT] = {[CW_NEXT_NONE] = "none",
                                                      [CW_NEXT_TEST_BEFORE] = "test-before",
                                                      [CW_NEXT_FIRST_STEP] = "first-step",
                                                      [CW_NEXT_PLANNED_STEP] = "planned-step",
                                                      [CW_NEXT_STEP] = "step",
                                                      [CW_NEXT_TOGETHER] = "together",
                                                      [CW_NEXT_LIST] = "list",
                                                      [CW_NEXT_TEST_AFTER] = "test-after",
                                                      [CW_NEXT_FILM_LOG] = "film-log",
                                                      [CW_NEXT_MOVE] = "move",
                                                      [CW_NEXT_REPORT] = "report",
                                                      [CW_NEXT_SISTER] = "sister"};

const char *cw_next_kind_name(cw_next_kind kind)
{
    return (int)kind >= 0 && kind < CW_NEXT_COUNT ? kind_names[kind] : "";
}

static void set(cw_next_action *action, cw_next_kind kind, const char *label, const char *why)
{
    *action = (cw_next_action){.kind = kind, .list = ""};
    snprintf(action->label, sizeof action->label, "%s", label);
    snprintf(action->why, sizeof action->why, "%s", why);
}

static void set_move(cw_next_action *action, cw_stage to, const char *label, const char *why)
{
    set(action, CW_NEXT_MOVE, label, why);
    action->to = to;
}

/* ---- taken in ---- */

static void next_taken_in(const cw_proving *p, cw_next *next)
{
    bool any = false;
    for (size_t k = 0; k < CW_PROOF_COUNT; k++)
        any = any || p->items[k].before.verdict != CW_PROVED_NOT;
    for (size_t k = 0; k < CW_PROOF_COUNT; k++) {
        const cw_proof *one = &p->items[k];
        char label[CW_NEXT_LABEL];
        if (!one->wanted_before || one->before.verdict >= CW_PROVED_INSIDE)
            continue;
        snprintf(label, sizeof label, "%s as it is", cw_proof_action(one->kind));
        set(&next->action, CW_NEXT_TEST_BEFORE, label,
            any ? "One test more before anything is touched; or take it apart if the rest does not matter this time."
                : "Measure before anything is touched: nobody can say later what was improved otherwise.");
        next->action.proof = one->kind;
        next->action.checklist_id = one->before.checklist_id;
        set(&next->other, CW_NEXT_FIRST_STEP, "Take it apart now", "");
        return;
    }
    set(&next->action, CW_NEXT_FIRST_STEP, "Note the first step",
        "It is measured. Take it apart, a step at a time; a tray for each step's parts.");
}

/* ---- apart ---- */

static cw_status planned_step(cw_bench *bench, int64_t job_id, int64_t *step_id, cw_error *err)
{
    return store_number(bench, "SELECT id FROM step WHERE job_id = ?1 AND state = 'planned' ORDER BY rank LIMIT 1",
                        STORE_VALUES(store_int(job_id)), step_id, err);
}

static cw_status next_apart(cw_bench *bench, cw_next *next, cw_error *err)
{
    int64_t planned, to_mend;
    CW_TRY(planned_step(bench, next->job_id, &planned, err));
    CW_TRY(store_number(bench,
                        "SELECT coalesce(sum(pieces), 0) FROM part WHERE job_id = ?1 AND state = 'out' AND condition "
                        "<> 'good'",
                        STORE_VALUES(store_int(next->job_id)), &to_mend, err));
    if (planned != 0) {
        set(&next->action, CW_NEXT_PLANNED_STEP, "Open the next planned step",
            "The notes of the last such camera lead: tick each step, correct it, or leave it out.");
        next->action.step_id = planned;
    } else if (next->step_count == 0) {
        set(&next->action, CW_NEXT_FIRST_STEP, "Note the first step",
            "Take it apart, a step at a time; a tray for each step's parts.");
    } else {
        set(&next->action, CW_NEXT_STEP, "Note the next step", "");
        snprintf(next->action.why, sizeof next->action.why,
                 "Go on until you are where the fault is. %s%s Then say that it is mended.",
                 to_mend > 0 ? "" : "Clean, make and replace what needs it.",
                 to_mend > 0 ? "Some parts are noted as to be cleaned, made or replaced." : "");
    }
    set_move(&next->other, CW_STAGE_MENDED, "The fault is mended", "");
    return CW_OK;
}

/* ---- mended, together ---- */

static void next_mended(cw_next *next)
{
    if (next->pieces_out > 0) {
        set(&next->action, CW_NEXT_TOGETHER, "Put it together", "");
        snprintf(next->action.why, sizeof next->action.why,
                 "%" PRId64 " %s still out. The steps backwards, until every part is back or accounted for; look "
                 "through the list \"Before a cover closes\" before it does.",
                 next->pieces_out, next->pieces_out == 1 ? "piece is" : "pieces are");
        set(&next->other, CW_NEXT_LIST, "Before a cover closes", "");
        next->other.list = "before-closing";
    } else {
        set_move(&next->action, CW_STAGE_TOGETHER, "It is together",
                 "No part is out any more. Say that it is together, and prove it.");
    }
}

static cw_status next_list(cw_bench *bench, cw_next *next, const char *kind, bool *wanted, cw_error *err)
{
    int64_t id;
    cw_list_count count = {0};
    CW_TRY(cw_checklist_newest(bench, next->job_id, kind, CW_MOMENT_ANY, &id, err));
    if (id != 0)
        CW_TRY(cw_checklist_count(bench, id, &count, err));
    *wanted = id == 0 || count.open > 0;
    if (!*wanted)
        return CW_OK;
    const cw_guide *guide = cw_guide_find(kind);
    set(&next->action, CW_NEXT_LIST, id == 0 ? "Look it over by hand and eye" : "Go on with the list", guide->purpose);
    next->action.list = guide->kind;
    next->action.checklist_id = id;
    return CW_OK;
}

static void next_test(const cw_proving *p, const cw_proof *one, cw_next *next)
{
    char label[CW_NEXT_LABEL];
    bool film_planned = one->kind == CW_PROOF_FILM && one->after.verdict == CW_PROVED_BEGUN;
    if (film_planned) {
        set(&next->action, CW_NEXT_FILM_LOG, "Fill in the film log",
            "The film is planned. Print its log, shoot it, have it developed, and note what each frame shows.");
        return;
    }
    snprintf(label, sizeof label,
             one->kind == CW_PROOF_SHUTTER ? "%s again"
             : one->kind == CW_PROOF_FILM  ? "%s"
                                           : "%s now",
             cw_proof_action(one->kind));
    set(&next->action, CW_NEXT_TEST_AFTER, label, "");
    snprintf(next->action.why, sizeof next->action.why, "%zu of %zu tests are settled. %s: %s.", p->settled, p->owed,
             cw_proof_label(one->kind), one->why);
    next->action.proof = one->kind;
    next->action.checklist_id = one->after.checklist_id;
}

static cw_status next_together(cw_bench *bench, const cw_proving *p, cw_next *next, cw_error *err)
{
    bool any = false, wanted = false;
    for (size_t k = 0; k < CW_PROOF_COUNT; k++)
        any = any || (p->items[k].owed && p->items[k].settled);
    if (!any) /* whoever measures right away has gone past the list */
        CW_TRY(next_list(bench, next, "after-assembly", &wanted, err));
    if (wanted)
        return CW_OK;
    for (size_t k = 0; k < CW_PROOF_COUNT; k++)
        if (p->items[k].owed && !p->items[k].settled) {
            next_test(p, &p->items[k], next);
            return CW_OK;
        }
    set_move(&next->action, CW_STAGE_PROVED, "It is proved",
             "Every test that this kind of camera owes is done, or left out with a reason.");
    return CW_OK;
}

/* ---- all of it ---- */

static cw_status decide(cw_bench *bench, const cw_proving *p, cw_next *next, cw_error *err)
{
    switch (next->stage) {
    case CW_STAGE_TAKEN_IN:
        next_taken_in(p, next);
        return CW_OK;
    case CW_STAGE_APART:
        return next_apart(bench, next, err);
    case CW_STAGE_MENDED:
        next_mended(next);
        return CW_OK;
    case CW_STAGE_TOGETHER:
        return next_together(bench, p, next, err);
    case CW_STAGE_PROVED:
        set(&next->action, CW_NEXT_REPORT, "Look through the report",
            "Read it as the next owner will, print it, and hand the camera on.");
        set_move(&next->other, CW_STAGE_HANDED_ON, "It is handed on", "");
        return CW_OK;
    default:
        set(&next->action, CW_NEXT_SISTER, "Take in the next one of its kind",
            "This job is finished. Its notes stay here and lead the next camera of its kind.");
        set(&next->other, CW_NEXT_REPORT, "The report", "");
        return CW_OK;
    }
}

cw_status cw_job_next(cw_bench *bench, int64_t job_id, const cw_proving *proving, cw_next *next, cw_error *err)
{
    cw_next made = {.job_id = job_id, .other = {.list = ""}};
    cw_proving own = {0};
    cw_job job;
    CW_TRY(cw_job_get(bench, job_id, &job, err));
    made.stage = job.stage;
    cw_job_free(&job);
    CW_TRY(store_number(bench, "SELECT count(*) FROM step WHERE job_id = ?1", STORE_VALUES(store_int(job_id)),
                        &made.step_count, err));
    CW_TRY(store_number(bench, "SELECT coalesce(sum(pieces), 0) FROM part WHERE job_id = ?1 AND state = 'out'",
                        STORE_VALUES(store_int(job_id)), &made.pieces_out, err));
    bool asks = made.stage == CW_STAGE_TAKEN_IN || made.stage == CW_STAGE_TOGETHER;
    if (proving == NULL && asks)
        CW_TRY(prove_job(bench, job_id, made.stage == CW_STAGE_TAKEN_IN ? PROVE_BEFORE : PROVE_AFTER, &own, err));
    cw_status status = decide(bench, proving != NULL ? proving : &own, &made, err);
    cw_proving_free(&own);
    if (status == CW_OK)
        *next = made;
    return status;
}
