/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the tests and worksheets of a job say about each thing that is owed. */
#include <inttypes.h>
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "notebook/prove_inside.h"
#include "shutter/evaluate.h"
#include "shutter/marks.h"

enum { LINE = CW_LINE_MOST };

/* The spread across the frame that counts as even: as in the findings of a shutter test; common practice, no source. */
#define EVEN_EV (1.0 / 3)

static cw_proof_verdict worse(cw_proof_verdict a, cw_proof_verdict b)
{
    static const int gravity[CW_PROVED_COUNT] = {
        [CW_PROVED_INSIDE] = 1, [CW_PROVED_UNKNOWN] = 2, [CW_PROVED_TOO_CLOSE] = 3, [CW_PROVED_OUTSIDE] = 4};
    return gravity[a] >= gravity[b] ? a : b;
}

static cw_status no_memory(cw_error *err)
{
    return cw_fail(err, CW_MEMORY, "no memory for what was proved");
}

/* ---- a shutter test ---- */

/* "6 of 8 speeds inside; outside: 1/500, 1/1000; too close to call: 1/250" */
static cw_proof_verdict say_speeds(const cw_shutter_test *test, char line[LINE + 1])
{
    static const struct {
        cw_speed_verdict verdict;
        const char *words;
    } named[] = {{CW_SPEED_OUTSIDE, "outside"}, {CW_SPEED_TOO_CLOSE, "too close to call"}};
    size_t inside = 0;
    cw_proof_verdict verdict = CW_PROVED_UNKNOWN;
    cw_buf text = cw_buf_new(65536);
    for (size_t i = 0; i < test->speed_count; i++) {
        cw_speed_verdict one = test->speeds[i].verdict;
        inside += one == CW_SPEED_INSIDE;
        if (one == CW_SPEED_OUTSIDE)
            verdict = CW_PROVED_OUTSIDE;
        else if (one == CW_SPEED_TOO_CLOSE && verdict != CW_PROVED_OUTSIDE)
            verdict = CW_PROVED_TOO_CLOSE;
    }
    if (verdict == CW_PROVED_UNKNOWN && inside > 0)
        verdict = CW_PROVED_INSIDE;
    cw_buf_printf(&text, "%zu of %zu speeds inside", inside, test->speed_count);
    for (size_t w = 0; w < CW_COUNT(named); w++) {
        const char *before = "; ";
        for (size_t i = 0; i < test->speed_count; i++) {
            char mark[CW_MARK_TEXT];
            if (test->speeds[i].verdict != named[w].verdict)
                continue;
            cw_mark_text(test->speeds[i].marked_s, mark, sizeof mark);
            if (*before == ';')
                cw_buf_printf(&text, "; %s: %s", named[w].words, mark);
            else
                cw_buf_printf(&text, ", %s", mark);
            before = ",";
        }
    }
    snprintf(line, LINE + 1, "%s", cw_buf_string(&text));
    cw_buf_free(&text);
    return verdict;
}

/* NOT where no speed tells anything about places across the frame. */
static cw_proof_verdict say_evenness(const cw_shutter_test *test, char line[LINE + 1])
{
    const cw_speed *worst = NULL;
    for (size_t i = 0; i < test->speed_count; i++)
        if (isfinite(test->speeds[i].evenness_ev) &&
            (worst == NULL || test->speeds[i].evenness_ev > worst->evenness_ev))
            worst = &test->speeds[i];
    if (worst == NULL)
        return CW_PROVED_NOT;
    char mark[CW_MARK_TEXT], interval[40] = "";
    double half = 2 * worst->u_evenness_ev, over = worst->evenness_ev - EVEN_EV;
    cw_mark_text(worst->marked_s, mark, sizeof mark);
    if (isfinite(half))
        snprintf(interval, sizeof interval, " \xc2\xb1 %.2f", half);
    snprintf(line, LINE + 1, "at most %.2f%s EV from end to end, at %s; %.2f EV counts as even", worst->evenness_ev,
             interval, mark, EVEN_EV);
    if (!isfinite(half))
        return CW_PROVED_UNKNOWN;
    return over > half ? CW_PROVED_OUTSIDE : over < -half ? CW_PROVED_INSIDE : CW_PROVED_TOO_CLOSE;
}

/* NOT where the contact was not recorded. */
static cw_proof_verdict say_contact(const cw_shutter_test *test, char line[LINE + 1])
{
    const cw_speed *seen = NULL; /* the fastest speed with a contact */
    for (size_t i = 0; i < test->speed_count; i++)
        if (isfinite(test->speeds[i].contact_delay_s.value))
            seen = &test->speeds[i];
    if (seen == NULL)
        return CW_PROVED_NOT;
    static const struct {
        const char *code, *words;
        cw_proof_verdict verdict;
    } said[] = {{"contact-early", "early", CW_PROVED_OUTSIDE},
                {"contact-late", "late", CW_PROVED_OUTSIDE},
                {"contact-misses", "not at every shot", CW_PROVED_OUTSIDE},
                {"flash-in-order", "in order", CW_PROVED_INSIDE}};
    for (size_t k = 0; k < CW_COUNT(said); k++)
        for (size_t i = 0; i < test->finding_count; i++)
            if (strcmp(test->findings[i].code, said[k].code) == 0) {
                snprintf(line, LINE + 1, "%s: %.250s", said[k].words, test->findings[i].evidence);
                return said[k].verdict;
            }
    char mark[CW_MARK_TEXT];
    cw_mark_text(seen->marked_s, mark, sizeof mark);
    snprintf(line, LINE + 1, "closes %.2f ms after the first opening at %s; where full opening lies is not known",
             1e3 * seen->contact_delay_s.value, mark);
    return CW_PROVED_UNKNOWN;
}

static cw_status read_result(const cw_test *stored, cw_shutter_test **test, cw_error *err)
{
    json_error_t where;
    json_t *object = json_loads(stored->result_json, 0, &where);
    *test = NULL;
    if (object == NULL)
        return cw_fail(err, CW_STORE, "%s", where.text);
    cw_status status = cw_shutter_test_from_json(object, test, err);
    json_decref(object);
    return status;
}

typedef cw_proof_verdict (*sayer)(const cw_shutter_test *test, char line[LINE + 1]);

static cw_evidence *evidence_at(cw_proving *p, cw_proof_kind kind, cw_when when)
{
    return when == CW_WHEN_BEFORE ? &p->items[kind].before : &p->items[kind].after;
}

/* A result that cannot be read any more is a test without a verdict, not the end of the sheet. */
static bool take_test(cw_proving *p, const cw_test *stored, const char *how)
{
    static const struct {
        cw_proof_kind kind;
        sayer say;
    } said[] = {{CW_PROOF_SHUTTER, say_speeds}, {CW_PROOF_EVENNESS, say_evenness}, {CW_PROOF_FLASH, say_contact}};
    cw_error trouble;
    cw_shutter_test *test;
    bool read = read_result(stored, &test, &trouble) == CW_OK;
    for (size_t i = 0; i < CW_COUNT(said); i++) {
        char line[LINE + 1] = "the result cannot be read", whole[LINE + 40];
        cw_proof_verdict verdict = i == 0 ? CW_PROVED_UNKNOWN : CW_PROVED_NOT;
        cw_evidence *to = evidence_at(p, said[i].kind, stored->when);
        if (read)
            verdict = said[i].say(test, line);
        if (verdict == CW_PROVED_NOT || to->verdict != CW_PROVED_NOT)
            continue;
        snprintf(whole, sizeof whole, "%s%s", line, how);
        to->test_id = stored->id;
        if (!prove_say(p, to, verdict, stored->tested_on, whole)) {
            cw_shutter_test_free(test);
            return false;
        }
    }
    cw_shutter_test_free(test);
    return true;
}

/* True where a speed of the test has that figure; the database reads the text far faster than the result is made of it.
 */
static cw_status holds(cw_bench *bench, int64_t test_id, const char *figure, bool *found, cw_error *err)
{
    static const char sql[] = "SELECT EXISTS(SELECT 1 FROM test, json_each(CASE WHEN json_valid(result_json) THEN "
                              "result_json ELSE '{}' END, '$.speeds') AS speed WHERE test.id = ?1 AND "
                              "json_extract(speed.value, ?2) IS NOT NULL)";
    int64_t any;
    CW_TRY(store_number(bench, sql, STORE_VALUES(store_int(test_id), store_text(figure)), &any, err));
    *found = any != 0;
    return CW_OK;
}

static cw_status note_done(cw_proving *p, cw_proof_kind kind, int64_t test_id, cw_when when, cw_error *err)
{
    cw_evidence *to = evidence_at(p, kind, when);
    if (to->verdict != CW_PROVED_NOT)
        return CW_OK;
    to->test_id = test_id;
    return prove_say(p, to, CW_PROVED_UNKNOWN, "", "") ? CW_OK : no_memory(err);
}

/* What a test is about, without what it says. */
static cw_status note_test(cw_bench *bench, cw_proving *p, int64_t test_id, cw_when when, cw_error *err)
{
    static const struct {
        cw_proof_kind kind;
        const char *figure;
    } more[] = {{CW_PROOF_EVENNESS, "$.evenness_ev"}, {CW_PROOF_FLASH, "$.contact_delay_s"}};
    CW_TRY(note_done(p, CW_PROOF_SHUTTER, test_id, when, err));
    for (size_t i = 0; i < CW_COUNT(more); i++) {
        bool found = false;
        if (p->items[more[i].kind].owed)
            CW_TRY(holds(bench, test_id, more[i].figure, &found, err));
        if (found)
            CW_TRY(note_done(p, more[i].kind, test_id, when, err));
    }
    return CW_OK;
}

cw_status prove_from_tests(cw_bench *bench, int64_t job_id, prove_depth depth, cw_proving *proving, cw_error *err)
{
    /* best first: what was measured with light goes before what was heard */
    static const struct {
        const char *kind, *how;
    } sources[] = {{"shutter", ""}, {"photographs", " (from photographs)"}, {"sound", " (by ear, an estimate)"}};
    static const cw_when times[] = {CW_WHEN_BEFORE, CW_WHEN_AFTER};
    for (size_t s = 0; s < CW_COUNT(sources); s++)
        for (size_t t = 0; t < CW_COUNT(times); t++) {
            int64_t id;
            cw_test stored;
            if (depth != PROVE_ALL && times[t] != (depth == PROVE_BEFORE ? CW_WHEN_BEFORE : CW_WHEN_AFTER))
                continue;
            CW_TRY(cw_test_newest(bench, job_id, sources[s].kind, times[t], &id, err));
            if (id == 0)
                continue;
            if (depth != PROVE_ALL) {
                CW_TRY(note_test(bench, proving, id, times[t], err));
                continue;
            }
            CW_TRY(cw_test_get(bench, id, &stored, err));
            bool kept = take_test(proving, &stored, sources[s].how);
            cw_test_free(&stored);
            if (!kept)
                return no_memory(err);
        }
    return CW_OK;
}

/* ---- worksheets ---- */

/* The output of a worksheet that says how the camera is (another may say how it will be once it is set). */
static const struct {
    const char *worksheet, *output;
    cw_proof_kind kind;
} judges[] = {
    {"flash-contact", "synchronised", CW_PROOF_FLASH}, {"focus-error", "verdict", CW_PROOF_FOCUS},
    {"mount-register", "verdict", CW_PROOF_FOCUS},     {"collimator", "verdict", CW_PROOF_FOCUS},
    {"rangefinder", "now", CW_PROOF_FINDER},           {"finder-screen", "verdict", CW_PROOF_FINDER},
    {"meter-check", "right", CW_PROOF_METER},
};

static cw_proof_verdict verdict_of(const json_t *judged)
{
    static const struct {
        const char *name;
        cw_proof_verdict verdict;
    } names[] = {{"inside", CW_PROVED_INSIDE}, {"outside", CW_PROVED_OUTSIDE}, {"too-close", CW_PROVED_TOO_CLOSE}};
    const char *name = json_string_value(json_object_get(judged, "verdict"));
    for (size_t i = 0; name != NULL && i < CW_COUNT(names); i++)
        if (strcmp(name, names[i].name) == 0)
            return names[i].verdict;
    return CW_PROVED_UNKNOWN;
}

/* Newest sheets come first; of one thing judged by two worksheets (focus-error, mount-register) the worse one counts,
 * each in its newest form. */
static bool take_sheet(cw_proving *p, const cw_saved_sheet *saved, unsigned *seen)
{
    cw_when when = saved->moment == CW_MOMENT_BEFORE ? CW_WHEN_BEFORE : CW_WHEN_AFTER;
    for (size_t i = 0; i < CW_COUNT(judges); i++) {
        unsigned bit = 1u << (2 * i + (when == CW_WHEN_AFTER));
        if (strcmp(judges[i].worksheet, saved->worksheet) != 0 || (*seen & bit) != 0)
            continue;
        *seen |= bit;
        cw_evidence *to = evidence_at(p, judges[i].kind, when);
        json_t *result = json_loads(saved->result_json, 0, NULL);
        const json_t *judged = json_object_get(json_object_get(result, "outputs"), judges[i].output);
        const char *text = json_string_value(json_object_get(judged, "text"));
        cw_proof_verdict verdict = verdict_of(judged);
        char day[11] = "";
        snprintf(day, sizeof day, "%.10s", saved->created_at);
        bool better_known = to->test_id != 0 && to->verdict != CW_PROVED_UNKNOWN;
        bool takes =
            !better_known && (to->sheet_id == 0 || (verdict != to->verdict && worse(verdict, to->verdict) == verdict));
        bool kept = true;
        if (takes) {
            kept = prove_say(p, to, verdict, day, text != NULL ? text : "the result cannot be read");
            to->sheet_id = saved->id;
            to->test_id = 0;
        }
        json_decref(result);
        return kept;
    }
    return true;
}

cw_status prove_from_sheets(cw_bench *bench, int64_t job_id, cw_proving *proving, cw_error *err)
{
    enum { PAGE = 500 };
    unsigned seen = 0;
    cw_saved_sheet_list list;
    int64_t total = 1;
    CW_TRY(cw_saved_sheet_page(bench, job_id, 0, 1, &list, err));
    total = list.total;
    cw_saved_sheet_list_free(&list);
    for (int64_t end = total; end > 0; end -= PAGE) { /* from the newest back */
        int64_t first = end > PAGE ? end - PAGE : 0;
        CW_TRY(cw_saved_sheet_page(bench, job_id, first, end - first, &list, err));
        bool kept = true;
        for (size_t i = list.count; kept && i-- > 0;)
            if (list.items[i].moment == CW_MOMENT_BEFORE || list.items[i].moment == CW_MOMENT_AFTER)
                kept = take_sheet(proving, &list.items[i], &seen);
        cw_saved_sheet_list_free(&list);
        if (!kept)
            return no_memory(err);
    }
    return CW_OK;
}
