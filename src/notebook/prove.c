/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/prove.h"

#include <inttypes.h>
#include <string.h>

#include "notebook/prove_inside.h"
#include "notebook/tables.h"
#include "notebook/words.h"

static const struct {
    const char *name, *label, *action;
} kinds[CW_PROOF_COUNT] = {
    [CW_PROOF_SHUTTER] = {"shutter", "Shutter speeds", "Measure the shutter"},
    [CW_PROOF_EVENNESS] = {"evenness", "Evenness across the frame", "Measure it with two sensors or three"},
    [CW_PROOF_FLASH] = {"flash", "Flash contact", "Check the flash contact"},
    [CW_PROOF_FOCUS] = {"focus", "Focus at the film plane", "Check the focus"},
    [CW_PROOF_FINDER] = {"finder", "Finder against the film plane", "Check the finder"},
    [CW_PROOF_METER] = {"meter", "Light meter", "Check the meter"},
    [CW_PROOF_LEAKS] = {"leaks", "Light leaks", "Hunt for light leaks"},
    [CW_PROOF_FILM] = {"film", "Test film", "Plan the test film"},
};
static const char *const verdicts[CW_PROVED_COUNT] = {"none", "begun", "inside", "outside", "too-close", "unknown"};
static const char *const verdict_words[CW_PROVED_COUNT] = {"not done", "begun, not finished", "inside",
                                                           "outside",  "too close to call",   "done, no verdict"};

const char *cw_proof_name(cw_proof_kind kind)
{
    return (int)kind >= 0 && kind < CW_PROOF_COUNT ? kinds[kind].name : "";
}

const char *cw_proof_label(cw_proof_kind kind)
{
    return (int)kind >= 0 && kind < CW_PROOF_COUNT ? kinds[kind].label : "";
}

const char *cw_proof_action(cw_proof_kind kind)
{
    return (int)kind >= 0 && kind < CW_PROOF_COUNT ? kinds[kind].action : "";
}

cw_status cw_proof_parse(const char *name, cw_proof_kind *kind, cw_error *err)
{
    const char *names[CW_PROOF_COUNT];
    int index = 0;
    for (int i = 0; i < CW_PROOF_COUNT; i++)
        names[i] = kinds[i].name;
    CW_TRY(words_parse("test that is owed", names, CW_PROOF_COUNT, name, &index, err));
    *kind = (cw_proof_kind)index;
    return CW_OK;
}

const char *cw_proof_verdict_name(cw_proof_verdict verdict)
{
    return (int)verdict >= 0 && verdict < CW_PROVED_COUNT ? verdicts[verdict] : "";
}

const char *cw_proof_verdict_words(cw_proof_verdict verdict)
{
    return (int)verdict >= 0 && verdict < CW_PROVED_COUNT ? verdict_words[verdict] : "";
}

bool prove_say(cw_proving *proving, cw_evidence *evidence, cw_proof_verdict verdict, const char *on, const char *text)
{
    char line[CW_LINE_MOST + 1];
    snprintf(line, sizeof line, "%.*s", (int)store_cut(text, CW_LINE_MOST), text);
    evidence->verdict = verdict;
    evidence->on = store_keep(&proving->held, on);
    evidence->text = store_keep(&proving->held, line);
    return evidence->on != NULL && evidence->text != NULL;
}

/* ---- what is owed ---- */

static void owe(cw_proving *p, cw_proof_kind kind, bool owed, bool before, const char *why)
{
    p->items[kind].owed = owed;
    p->items[kind].wanted_before = owed && before;
    p->items[kind].why = why;
}

/* Which tests show what a camera of this kind can do wrong; common practice, no source. What is not known about the
 * camera is not demanded of it, and the sheet says so. */
static void find_owed(const cw_job *job, cw_proving *p)
{
    owe(p, CW_PROOF_SHUTTER, true, true, "every camera has a shutter to be proved");
    owe(p, CW_PROOF_EVENNESS, job->shutter == CW_JOB_SHUTTER_FOCAL_PLANE, false,
        job->shutter == CW_JOB_SHUTTER_FOCAL_PLANE ? "a focal-plane shutter exposes the frame piece by piece"
        : job->shutter == CW_JOB_SHUTTER_LEAF      ? "a leaf shutter lights the whole frame at once"
                                                   : "not known which shutter it has");
    owe(p, CW_PROOF_FLASH, job->flash == CW_FITTED_YES, true,
        job->flash == CW_FITTED_YES  ? "it has a flash contact"
        : job->flash == CW_FITTED_NO ? "it has no flash contact"
                                     : "not known whether it has a flash contact");
    owe(p, CW_PROOF_FOCUS, true, true, "the image has to lie on the film");
    owe(p, CW_PROOF_FINDER, job->finder == CW_FINDER_RANGEFINDER || job->finder == CW_FINDER_REFLEX, true,
        job->finder == CW_FINDER_RANGEFINDER ? "its rangefinder sets the distance"
        : job->finder == CW_FINDER_REFLEX    ? "what is sharp on its screen has to be sharp on the film"
        : job->finder == CW_FINDER_UNKNOWN   ? "not known which finder it has"
                                             : "its finder does not focus");
    owe(p, CW_PROOF_METER, job->meter == CW_METER_BATTERY || job->meter == CW_METER_LIGHT_CELL, true,
        job->meter == CW_METER_BATTERY      ? "it has a meter on a battery"
        : job->meter == CW_METER_LIGHT_CELL ? "it has a meter"
        : job->meter == CW_METER_NONE       ? "it has no meter"
                                            : "not known whether it has a meter");
    owe(p, CW_PROOF_LEAKS, true, true,
        job->bellows == CW_FITTED_YES ? "back, seals and bellows keep the light out"
                                      : "back and seals keep the light out");
    owe(p, CW_PROOF_FILM, true, false, "only a film shows everything together");
    p->kind_known = job->shutter != CW_JOB_SHUTTER_UNKNOWN && job->finder != CW_FINDER_UNKNOWN &&
                    job->meter != CW_METER_UNKNOWN && job->flash != CW_FITTED_UNKNOWN;
}

/* ---- what was left out ---- */

typedef struct {
    int64_t id, revision, job_id;
    const char *what, *reason, *on;
    void *held;
} left_out;

#define PLACE(field) offsetof(left_out, field)
static const store_column left_out_columns[] = {
    {"id", "number", PLACE(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", PLACE(revision), STORE_INT, 0, NULL, 0},
    {"job_id", "the job", PLACE(job_id), STORE_REF, STORE_ADD, NULL, 0},
    {"what", "what is left out", PLACE(what), STORE_LINE, STORE_ADD | STORE_REQUIRED, NULL, 0},
    {"reason", "the reason", PLACE(reason), STORE_LINE, STORE_BOTH | STORE_REQUIRED, NULL, 0},
    {"on_day", "the day", PLACE(on), STORE_DAY, STORE_BOTH | STORE_TODAY, NULL, 0},
};
const store_table left_out_table = {"left_out",       "test left out", left_out_columns, CW_COUNT(left_out_columns),
                                    sizeof(left_out), PLACE(id),       PLACE(revision),  PLACE(held)};

static cw_status read_left_out(cw_bench *bench, int64_t job_id, cw_proving *p, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_list(bench, &left_out_table, "WHERE job_id = ?1 ORDER BY id LIMIT 100",
                      STORE_VALUES(store_int(job_id)), &rows, err));
    const left_out *list = rows.items;
    bool kept = true;
    for (size_t i = 0; i < rows.count; i++)
        for (size_t k = 0; k < CW_PROOF_COUNT; k++)
            if (strcmp(list[i].what, kinds[k].name) == 0) {
                p->items[k].left_out = store_keep(&p->held, list[i].reason);
                p->items[k].left_out_id = list[i].id;
                kept = kept && p->items[k].left_out != NULL;
            }
    store_release(&rows.held);
    return kept ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for what was left out");
}

static cw_status find_left_out(cw_bench *bench, int64_t job_id, cw_proof_kind kind, int64_t *id, cw_error *err)
{
    CW_TRY(store_job_of(bench, &job_table, job_id, NULL, err));
    return store_number(bench, "SELECT id FROM left_out WHERE job_id = ?1 AND what = ?2",
                        STORE_VALUES(store_int(job_id), store_text(cw_proof_name(kind))), id, err);
}

cw_status cw_left_out_set(cw_bench *bench, int64_t job_id, cw_proof_kind kind, const char *reason, cw_error *err)
{
    int64_t id;
    if (reason == NULL || reason[strspn(reason, " \t\r\n")] == '\0')
        return cw_fail(err, CW_INPUT, "say why \"%s\" is left out: whoever gets the camera wants to know",
                       cw_proof_label(kind));
    CW_TRY(find_left_out(bench, job_id, kind, &id, err));
    const left_out row = {.id = id, .job_id = job_id, .what = cw_proof_name(kind), .reason = reason, .on = ""};
    CW_TRY(store_enter(bench, job_id, err, "\"%s\" left out", cw_proof_label(kind)));
    return store_leave(bench, job_id,
                       id == 0 ? store_add(bench, &left_out_table, &row, &id, err)
                               : store_update(bench, &left_out_table, &row, err),
                       err);
}

cw_status cw_left_out_clear(cw_bench *bench, int64_t job_id, cw_proof_kind kind, cw_error *err)
{
    int64_t id;
    CW_TRY(find_left_out(bench, job_id, kind, &id, err));
    if (id == 0)
        return cw_fail(err, CW_NOT_FOUND, "\"%s\" was not left out of this job", cw_proof_label(kind));
    CW_TRY(store_enter(bench, job_id, err, "\"%s\" is owed again", cw_proof_label(kind)));
    return store_leave(bench, job_id, store_delete(bench, &left_out_table, id, err), err);
}

/* ---- all of it ---- */

static void count(cw_proving *p)
{
    for (size_t k = 0; k < CW_PROOF_COUNT; k++) {
        cw_proof *one = &p->items[k];
        one->settled = one->left_out[0] != '\0' || one->after.verdict >= CW_PROVED_INSIDE;
        p->owed += one->owed;
        p->settled += one->owed && one->settled;
        p->before_wanted += one->wanted_before;
        p->before_done += one->wanted_before && one->before.verdict >= CW_PROVED_INSIDE;
    }
}

cw_status cw_job_proving(cw_bench *bench, int64_t job_id, cw_proving *proving, cw_error *err)
{
    return prove_job(bench, job_id, PROVE_ALL, proving, err);
}

cw_status prove_job(cw_bench *bench, int64_t job_id, prove_depth depth, cw_proving *proving, cw_error *err)
{
    cw_job job;
    cw_proving made = {0};
    CW_TRY(cw_job_get(bench, job_id, &job, err));
    for (int k = 0; k < CW_PROOF_COUNT; k++)
        made.items[k] = (cw_proof){.kind = (cw_proof_kind)k,
                                   .before = {.on = "", .text = ""},
                                   .after = {.on = "", .text = ""},
                                   .film = "",
                                   .left_out = ""};
    find_owed(&job, &made);
    cw_status status = read_left_out(bench, job_id, &made, err);
    if (status == CW_OK)
        status = prove_from_tests(bench, job_id, depth, &made, err);
    if (status == CW_OK)
        status = prove_from_sheets(bench, job_id, &made, err);
    if (status == CW_OK)
        status = prove_from_lists(bench, &job, &made, err);
    if (status == CW_OK)
        status = prove_from_film(bench, job_id, &made, err);
    cw_job_free(&job);
    if (status != CW_OK) {
        store_release(&made.held);
        return status;
    }
    count(&made);
    *proving = made;
    return CW_OK;
}

void cw_proving_free(cw_proving *proving)
{
    if (proving == NULL)
        return;
    store_release(&proving->held);
    *proving = (cw_proving){0};
}
