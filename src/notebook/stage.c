/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which stage a job may move to, and what stands in the way. */
#include <inttypes.h>
#include <string.h>

#include "notebook/guide.h"
#include "notebook/job.h"
#include "notebook/prove.h"
#include "notebook/tables.h"
#include "notebook/words.h"

enum { MISSING_MOST = 64, SENTENCE = 1200 };

typedef struct {
    size_t count;
    struct cw_missing items[MISSING_MOST];
    void *held;
    bool no_memory;
} missing_found;

static void note(missing_found *found, bool refused, const char *sentence)
{
    if (found->count == MISSING_MOST)
        return;
    const char *kept = store_keep(&found->held, sentence);
    found->no_memory |= kept == NULL;
    found->items[found->count++] = (struct cw_missing){refused, kept};
}

/* One sentence for each row of parts that is out: what, how many, which tray, which step. */
static cw_status find_parts_out(cw_bench *bench, int64_t id, missing_found *found, cw_error *err)
{
    static const char sql[] = "SELECT part.kind, part.pieces, part.size, tray.number, step.title, tray.label FROM part "
                              "LEFT JOIN tray ON tray.id = part.tray_id LEFT JOIN step ON step.id = part.step_id "
                              "WHERE part.job_id = ?1 AND part.state = 'out' ORDER BY step.rank, part.id LIMIT 65";
    sqlite3_stmt *st;
    CW_TRY(store_prepare(bench, sql, STORE_VALUES(store_int(id)), &st, err));
    int code;
    while ((code = sqlite3_step(st)) == SQLITE_ROW) {
        int64_t pieces = sqlite3_column_int64(st, 1);
        const char *size = (const char *)sqlite3_column_text(st, 2);
        const char *step = (const char *)sqlite3_column_text(st, 4);
        const char *label = (const char *)sqlite3_column_text(st, 5);
        char where[400], sentence[SENTENCE];
        if (sqlite3_column_type(st, 3) == SQLITE_NULL)
            snprintf(where, sizeof where, "in no tray");
        else
            snprintf(where, sizeof where, "in tray %" PRId64 "%s%s%s", (int64_t)sqlite3_column_int64(st, 3),
                     label[0] == '\0' ? "" : " (", label, label[0] == '\0' ? "" : ")");
        snprintf(sentence, sizeof sentence, "%" PRId64 " x %s%s%s %s still out, %s%s%s%s", pieces,
                 (const char *)sqlite3_column_text(st, 0), size[0] == '\0' ? "" : " ", size, pieces == 1 ? "is" : "are",
                 where, step == NULL ? "" : ", from the step \"", step == NULL ? "" : step, step == NULL ? "" : "\"");
        note(found, true, sentence);
    }
    cw_status status = code == SQLITE_DONE ? CW_OK : store_fail(bench, code, "counting the parts", err);
    sqlite3_finalize(st);
    return status;
}

typedef struct {
    const char *sql; /* counts; more than 0: the sentence applies */
    cw_stage from, to;
    const char *sentence;
} reminder;

static const reminder reminders[] = {
    {"SELECT count(*) FROM step WHERE job_id = ?1 AND state = 'done' AND NOT back_done", CW_STAGE_TOGETHER,
     CW_STAGE_HANDED_ON, "not every step is checked off on the way together"},
    {"SELECT count(*) FROM step WHERE job_id = ?1 AND state = 'planned'", CW_STAGE_TOGETHER, CW_STAGE_HANDED_ON,
     "the plan still has steps that were neither done nor skipped"},
    {"SELECT count(*) FROM part WHERE job_id = ?1 AND state = 'left-out'", CW_STAGE_TOGETHER, CW_STAGE_HANDED_ON,
     "parts were left out on purpose; the reasons are noted with them"},
    {"SELECT NOT EXISTS(SELECT 1 FROM test WHERE job_id = ?1 AND at_time = 'before')", CW_STAGE_APART, CW_STAGE_APART,
     "nothing was measured before it comes apart; nobody will know later what was improved"},
    {"SELECT EXISTS(SELECT 1 FROM step WHERE job_id = ?1) AND NOT EXISTS(SELECT 1 FROM checklist WHERE job_id = ?1 AND "
     "kind = 'before-closing')",
     CW_STAGE_TOGETHER, CW_STAGE_TOGETHER, "the list \"Before a cover closes\" was not looked through"},
};

static cw_status find_reminders(cw_bench *bench, int64_t id, cw_stage stage, missing_found *found, cw_error *err)
{
    for (size_t i = 0; i < CW_COUNT(reminders); i++) {
        int64_t applies;
        if (stage < reminders[i].from || stage > reminders[i].to)
            continue;
        CW_TRY(store_number(bench, reminders[i].sql, STORE_VALUES(store_int(id)), &applies, err));
        if (applies > 0)
            note(found, false, reminders[i].sentence);
    }
    return CW_OK;
}

/* What is owed stands in the way of "proved" until it is settled. A camera may be handed on as it is: then it is said.
 */
static cw_status find_unproved(cw_bench *bench, int64_t id, cw_stage stage, missing_found *found, cw_error *err)
{
    cw_proving proving;
    CW_TRY(cw_job_proving(bench, id, &proving, err));
    for (size_t k = 0; k < CW_PROOF_COUNT; k++) {
        const cw_proof *one = &proving.items[k];
        const char *label = cw_proof_label(one->kind);
        char sentence[SENTENCE];
        if (one->owed && !one->settled) {
            snprintf(sentence, sizeof sentence, "%s: %s. Do it, or leave it out and say why", label,
                     cw_proof_verdict_words(one->after.verdict));
            note(found, stage == CW_STAGE_PROVED, sentence);
        } else if (one->owed && one->left_out[0] != '\0') {
            snprintf(sentence, sizeof sentence, "%s: left out, %s", label, one->left_out);
            note(found, false, sentence);
        } else if (one->owed && one->after.verdict >= CW_PROVED_OUTSIDE) {
            snprintf(sentence, sizeof sentence, "%s: %s (%s)", label, cw_proof_verdict_words(one->after.verdict),
                     one->after.text);
            note(found, false, sentence);
        }
        if (one->film_objects) {
            snprintf(sentence, sizeof sentence, "%s: the test film says otherwise: %s", label, one->film);
            note(found, false, sentence);
        }
    }
    cw_proving_free(&proving);
    return CW_OK;
}

cw_status cw_job_missing(cw_bench *bench, int64_t id, cw_stage stage, cw_missing_list *list, cw_error *err)
{
    if ((int)stage < 0 || stage >= CW_STAGE_COUNT)
        return cw_fail(err, CW_INPUT, "there is no stage %d", (int)stage);
    CW_TRY(store_job_of(bench, &job_table, id, NULL, err));
    missing_found found = {0};
    cw_status status = CW_OK;
    if (stage >= CW_STAGE_TOGETHER)
        status = find_parts_out(bench, id, &found, err);
    if (status == CW_OK && stage >= CW_STAGE_PROVED)
        status = find_unproved(bench, id, stage, &found, err);
    bool allowed = true;
    for (size_t i = 0; i < found.count; i++)
        allowed = allowed && !found.items[i].refused;
    if (status == CW_OK)
        status = find_reminders(bench, id, stage, &found, err);
    struct cw_missing *items = store_keep_items(&found.held, found.count, sizeof *items);
    if (status == CW_OK && (items == NULL || found.no_memory))
        status = cw_fail(err, CW_MEMORY, "no memory to list what is missing");
    if (status != CW_OK) {
        store_release(&found.held);
        return status;
    }
    memcpy(items, found.items, found.count * sizeof *items);
    *list = (cw_missing_list){found.count, items, allowed, found.held};
    return CW_OK;
}

void cw_missing_list_free(cw_missing_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_missing_list){0};
}

static cw_status refuse(cw_stage stage, const cw_missing_list *missing, cw_error *err)
{
    const char *first = "";
    size_t refused = 0;
    for (size_t i = 0; i < missing->count; i++)
        if (missing->items[i].refused && refused++ == 0)
            first = missing->items[i].text;
    return cw_fail(err, CW_CONFLICT, "this job is not %s yet: %s%s", words_stage[stage], first,
                   refused > 1 ? "; and more" : "");
}

static cw_status move_job(cw_bench *bench, int64_t id, cw_stage stage, const char *on, cw_error *err)
{
    cw_missing_list missing;
    char today[16];
    CW_TRY(cw_job_missing(bench, id, stage, &missing, err));
    cw_status status = CW_OK;
    if (!missing.allowed)
        status = refuse(stage, &missing, err);
    cw_missing_list_free(&missing);
    if (status != CW_OK)
        return status;
    cw_today(today);
    const char *day = stage != CW_STAGE_HANDED_ON ? "" : on == NULL || on[0] == '\0' ? today : on;
    return store_run(
        bench, "UPDATE job SET stage = ?1, handed_on_on = ?2, revision = ?3 WHERE id = ?4",
        STORE_VALUES(store_text(words_stage[stage]), store_text(day), store_int(bench->change_id), store_int(id)), err);
}

cw_status cw_job_move(cw_bench *bench, int64_t id, cw_stage stage, const char *on, cw_error *err)
{
    if (on != NULL && on[0] != '\0' && !store_day_ok(on))
        return cw_fail(err, CW_INPUT, "\"%.40s\" is no day; write it as 2026-11-25", on);
    CW_TRY(store_enter(bench, id, err, "moved to \"%s\"", cw_stage_label(stage)));
    return store_leave(bench, id, move_job(bench, id, stage, on, err), err);
}
