/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/film.h"

#include <ctype.h>
#include <inttypes.h>
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "notebook/guide.h"
#include "notebook/job.h"
#include "notebook/step.h"
#include "notebook/tables.h"
#include "notebook/test.h"
#include "shutter/evaluate.h"

static const struct {
    const char *name, *label;
} things[CW_MENDED_COUNT] = {{"speeds", "Shutter speeds"},   {"focus", "Focus and finder"},
                             {"meter", "Light meter"},       {"aperture", "Aperture"},
                             {"seals", "Seals and bellows"}, {"transport", "Film transport"},
                             {"flash", "Flash contact"},     {"optics", "Lens, cleaned or taken apart"}};

const char *cw_mended_name(int bit)
{
    return bit >= 0 && bit < CW_MENDED_COUNT ? things[bit].name : "";
}

const char *cw_mended_label(int bit)
{
    return bit >= 0 && bit < CW_MENDED_COUNT ? things[bit].label : "";
}

static int bit_number(int bits)
{
    for (int bit = 0; bit < CW_MENDED_COUNT; bit++)
        if ((bits & 1 << bit) != 0)
            return bit;
    return -1;
}

/* ---- what was touched ---- */

/* What findings, worksheets and lists say by their codes is read first, whatever language the notes are in. Words of
 * the trade in the notes come last: English ones at the beginning of a word, German ones anywhere in it, for they join
 * together; common practice, no source. */
static const struct {
    const char *word;
    int bits;
} hints[] = {
    {"shutter", CW_MENDED_SPEEDS},      {"curtain", CW_MENDED_SPEEDS},
    {"blade", CW_MENDED_SPEEDS},        {"speed", CW_MENDED_SPEEDS},
    {"escapement", CW_MENDED_SPEEDS},   {"governor", CW_MENDED_SPEEDS},
    {"retard", CW_MENDED_SPEEDS},       {"lens", CW_MENDED_OPTICS | CW_MENDED_FOCUS},
    {"element", CW_MENDED_OPTICS},      {"fungus", CW_MENDED_OPTICS},
    {"haze", CW_MENDED_OPTICS},         {"helicoid", CW_MENDED_FOCUS},
    {"helical", CW_MENDED_FOCUS},       {"focus", CW_MENDED_FOCUS},
    {"rangefinder", CW_MENDED_FOCUS},   {"mirror", CW_MENDED_FOCUS},
    {"screen", CW_MENDED_FOCUS},        {"shim", CW_MENDED_FOCUS},
    {"mount", CW_MENDED_FOCUS},         {"infinity", CW_MENDED_FOCUS},
    {"meter", CW_MENDED_METER},         {"needle", CW_MENDED_METER},
    {"battery", CW_MENDED_METER},       {"galvanometer", CW_MENDED_METER},
    {"aperture", CW_MENDED_APERTURE},   {"diaphragm", CW_MENDED_APERTURE},
    {"iris", CW_MENDED_APERTURE},       {"seal", CW_MENDED_SEALS},
    {"foam", CW_MENDED_SEALS},          {"bellows", CW_MENDED_SEALS},
    {"leak", CW_MENDED_SEALS},          {"hinge", CW_MENDED_SEALS},
    {"wind", CW_MENDED_TRANSPORT},      {"sprocket", CW_MENDED_TRANSPORT},
    {"counter", CW_MENDED_TRANSPORT},   {"rewind", CW_MENDED_TRANSPORT},
    {"transport", CW_MENDED_TRANSPORT}, {"gear", CW_MENDED_TRANSPORT},
    {"spacing", CW_MENDED_TRANSPORT},   {"flash", CW_MENDED_FLASH},
    {"sync", CW_MENDED_FLASH},
};
/* These begin like one of them and mean something else. */
static const char *const not_hints[] = {"window", "lens cap"};

static const struct {
    const char *word;
    int bits;
} german_hints[] = {
    {"verschluss", CW_MENDED_SPEEDS},
    {"vorhang", CW_MENDED_SPEEDS},
    {"vorh\xc3\xa4nge", CW_MENDED_SPEEDS},
    {"lamelle", CW_MENDED_SPEEDS},
    {"hemmwerk", CW_MENDED_SPEEDS},
    {"objektiv", CW_MENDED_OPTICS | CW_MENDED_FOCUS},
    {"linse", CW_MENDED_OPTICS},
    {"glaspilz", CW_MENDED_OPTICS},
    {"schneckengang", CW_MENDED_FOCUS},
    {"entfernungsmesser", CW_MENDED_FOCUS},
    {"messsucher", CW_MENDED_FOCUS},
    {"mattscheibe", CW_MENDED_FOCUS},
    {"unendlich", CW_MENDED_FOCUS},
    {"belichtungsmesser", CW_MENDED_METER},
    {"batterie", CW_MENDED_METER},
    {"selenzelle", CW_MENDED_METER},
    {"blende", CW_MENDED_APERTURE},
    {"lichtdichtung", CW_MENDED_SEALS},
    {"schaumstoff", CW_MENDED_SEALS},
    {"balgen", CW_MENDED_SEALS},
    {"lichtleck", CW_MENDED_SEALS},
    {"filmtransport", CW_MENDED_TRANSPORT},
    {"z\xc3\xa4hlwerk", CW_MENDED_TRANSPORT},
    {"zahnrad", CW_MENDED_TRANSPORT},
    {"blitz", CW_MENDED_FLASH},
};

/* Findings that name what is mended after them; every other one that names a fault is the shutter's. */
static const struct {
    const char *code;
    int bits;
} finding_hints[] = {
    {"contact-early", CW_MENDED_FLASH},
    {"contact-late", CW_MENDED_FLASH},
    {"contact-misses", CW_MENDED_FLASH},
    {"flash-in-order", 0},
    {"sensor-idle", 0},
    {"places-reversed", 0},
    {"odd-shot", 0},
};

static const struct {
    const char *kind;
    int bits;
} list_hints[] = {{"light-leaks", CW_MENDED_SEALS}, {"bellows", CW_MENDED_SEALS}};

static const struct {
    const char *worksheet;
    int bits;
} sheet_hints[] = {
    {"focus-error", CW_MENDED_FOCUS},    {"rangefinder", CW_MENDED_FOCUS},
    {"mount-register", CW_MENDED_FOCUS}, {"collimator", CW_MENDED_FOCUS},
    {"finder-screen", CW_MENDED_FOCUS},  {"helicoid", CW_MENDED_FOCUS},
    {"shims", CW_MENDED_FOCUS},          {"element-order", CW_MENDED_OPTICS | CW_MENDED_FOCUS},
    {"meter-check", CW_MENDED_METER},    {"cell-substitute", CW_MENDED_METER},
    {"light-seal", CW_MENDED_SEALS},     {"curtain", CW_MENDED_SPEEDS},
    {"flash-contact", CW_MENDED_FLASH},  {"gear-identify", CW_MENDED_TRANSPORT},
    {"gear-mesh", CW_MENDED_TRANSPORT},
};

static bool same_beginning(const char *text, const char *word)
{
    for (; *word != '\0'; text++, word++)
        if (tolower((unsigned char)*text) != *word)
            return false;
    return true;
}

static int german_bits_of(const char *text)
{
    int bits = 0;
    for (const char *at = text; *at != '\0'; at++)
        for (size_t i = 0; i < CW_COUNT(german_hints); i++)
            if (same_beginning(at, german_hints[i].word))
                bits |= german_hints[i].bits;
    return bits;
}

static int bits_of(const char *text)
{
    int bits = 0;
    for (const char *at = text; *at != '\0'; at++) {
        bool starts = at == text || !isalpha((unsigned char)at[-1]);
        bool misleading = false;
        for (size_t i = 0; i < CW_COUNT(not_hints); i++)
            misleading = misleading || same_beginning(at, not_hints[i]);
        for (size_t i = 0; starts && !misleading && i < CW_COUNT(hints); i++)
            if (same_beginning(at, hints[i].word))
                bits |= hints[i].bits;
    }
    return bits | german_bits_of(text);
}

/* The first reason for each thing is kept. */
static bool propose(cw_mended *m, int bits, const char *why)
{
    char line[CW_LINE_MOST + 1];
    snprintf(line, sizeof line, "%.*s", (int)store_cut(why, CW_LINE_MOST), why);
    for (int bit = 0; bit < CW_MENDED_COUNT; bit++) {
        if ((bits & 1 << bit) == 0 || (m->mended & 1 << bit) != 0)
            continue;
        m->mended |= 1 << bit;
        m->why[bit] = store_keep(&m->held, line);
        if (m->why[bit] == NULL)
            return false;
    }
    return true;
}

static cw_status propose_from_steps(cw_bench *bench, int64_t job_id, cw_mended *m, cw_error *err)
{
    enum { PAGE = 500 };
    for (int64_t first = 0;; first += PAGE) {
        cw_step_list list;
        CW_TRY(cw_step_page(bench, job_id, CW_APART_ORDER, first, PAGE, &list, err));
        bool kept = true;
        for (size_t i = 0; i < list.count && kept; i++) {
            const cw_step *step = &list.items[i];
            const char *const texts[] = {step->title, step->came_off, step->lubricant_to_use, step->notes};
            char why[CW_LINE_MOST * 2];
            if (step->state != CW_STEP_DONE)
                continue;
            snprintf(why, sizeof why, "step %" PRId64 " \"%s\"", step->number, step->title);
            for (size_t t = 0; t < CW_COUNT(texts) && kept; t++)
                kept = propose(m, bits_of(texts[t]), why);
        }
        bool last = list.count < PAGE;
        cw_step_list_free(&list);
        if (!kept)
            return cw_fail(err, CW_MEMORY, "no memory for what was mended");
        if (last)
            return CW_OK;
    }
}

static cw_status propose_from_sheets(cw_bench *bench, int64_t job_id, cw_mended *m, cw_error *err)
{
    cw_saved_sheet_list list;
    CW_TRY(cw_saved_sheet_page(bench, job_id, 0, 500, &list, err));
    bool kept = true;
    for (size_t i = 0; i < list.count && kept; i++)
        for (size_t h = 0; h < CW_COUNT(sheet_hints) && kept; h++)
            if (strcmp(list.items[i].worksheet, sheet_hints[h].worksheet) == 0) {
                char why[CW_LINE_MOST * 2];
                snprintf(why, sizeof why, "the worksheet \"%s\"", list.items[i].worksheet);
                kept = propose(m, sheet_hints[h].bits, why);
            }
    cw_saved_sheet_list_free(&list);
    return kept ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for what was mended");
}

static cw_status propose_from_lists(cw_bench *bench, int64_t job_id, cw_mended *m, cw_error *err)
{
    for (size_t h = 0; h < CW_COUNT(list_hints); h++) {
        cw_checklist_item_list items;
        int64_t id;
        bool found = false, kept = true;
        CW_TRY(cw_checklist_newest(bench, job_id, list_hints[h].kind, CW_MOMENT_BEFORE, &id, err));
        if (id == 0)
            continue;
        CW_TRY(cw_checklist_items(bench, id, &items, err));
        for (size_t i = 0; i < items.count; i++)
            found = found || items.items[i].answer == CW_ANSWER_NO;
        cw_checklist_item_list_free(&items);
        char why[CW_LINE_MOST];
        snprintf(why, sizeof why, "the list \"%s\"", list_hints[h].kind);
        if (found)
            kept = propose(m, list_hints[h].bits, why);
        if (!kept)
            return cw_fail(err, CW_MEMORY, "no memory for what was mended");
    }
    return CW_OK;
}

static int bits_of_finding(const char *code)
{
    for (size_t i = 0; i < CW_COUNT(finding_hints); i++)
        if (strcmp(code, finding_hints[i].code) == 0)
            return finding_hints[i].bits;
    return CW_MENDED_SPEEDS;
}

/* What a shutter test found, and which marks the dial has. */
static bool take_test(cw_mended *m, const cw_shutter_test *test)
{
    bool kept = true;
    for (size_t i = 0; i < test->finding_count && kept; i++) {
        char why[CW_LINE_MOST];
        snprintf(why, sizeof why, "the finding \"%s\"", test->findings[i].code);
        kept = propose(m, bits_of_finding(test->findings[i].code), why);
    }
    bool first = m->mark_count == 0;
    for (size_t i = 0; first && i < test->speed_count && m->mark_count < CW_COUNT(m->marks_s); i++)
        if (test->speeds[i].marked_s > 0)
            m->marks_s[m->mark_count++] = test->speeds[i].marked_s;
    return kept;
}
/* The newest shutter test of each time, those after the work first. One that cannot be read says nothing. */
static cw_status propose_from_tests(cw_bench *bench, int64_t job_id, cw_mended *m, cw_error *err)
{
    static const cw_when times[] = {CW_WHEN_AFTER, CW_WHEN_DURING, CW_WHEN_BEFORE};
    for (size_t t = 0; t < CW_COUNT(times); t++) {
        int64_t id;
        cw_test stored;
        cw_shutter_test *test = NULL;
        cw_error ignored;
        CW_TRY(cw_test_newest(bench, job_id, "shutter", times[t], &id, err));
        if (id == 0)
            continue;
        CW_TRY(cw_test_get(bench, id, &stored, err));
        json_t *object = json_loads(stored.result_json, 0, NULL);
        bool read = object != NULL && cw_shutter_test_from_json(object, &test, &ignored) == CW_OK;
        bool kept = !read || take_test(m, test);
        cw_shutter_test_free(test);
        json_decref(object);
        cw_test_free(&stored);
        if (!kept)
            return cw_fail(err, CW_MEMORY, "no memory for what was mended");
    }
    if (m->mark_count > 0 && !propose(m, CW_MENDED_SPEEDS, "the test of the shutter"))
        return cw_fail(err, CW_MEMORY, "no memory for what was mended");
    return CW_OK;
}

cw_status cw_film_propose(cw_bench *bench, int64_t job_id, cw_mended *mended, cw_error *err)
{
    cw_mended made = {0};
    cw_job job;
    for (int bit = 0; bit < CW_MENDED_COUNT; bit++)
        made.why[bit] = "";
    CW_TRY(cw_job_get(bench, job_id, &job, err));
    cw_status status = propose_from_tests(bench, job_id, &made, err);
    if (status == CW_OK)
        status = propose_from_sheets(bench, job_id, &made, err);
    if (status == CW_OK)
        status = propose_from_lists(bench, job_id, &made, err);
    if (status == CW_OK)
        status = propose_from_steps(bench, job_id, &made, err);
    if (status == CW_OK && !propose(&made, bits_of(job.complaint), "the complaint"))
        status = cw_fail(err, CW_MEMORY, "no memory for what was mended");
    cw_job_free(&job);
    if (status != CW_OK) {
        store_release(&made.held);
        return status;
    }
    *mended = made;
    return CW_OK;
}

void cw_mended_free(cw_mended *mended)
{
    if (mended == NULL)
        return;
    store_release(&mended->held);
    *mended = (cw_mended){0};
}

/* ---- the plan as a log ---- */

static cw_status add_frames(cw_bench *bench, int64_t job_id, const char *film, const cw_plan *plan, cw_error *err)
{
    int64_t last, id;
    CW_TRY(store_number(bench, "SELECT max(frame) FROM film_frame WHERE job_id = ?1 AND film = ?2",
                        STORE_VALUES(store_int(job_id), store_text(film)), &last, err));
    for (size_t i = 0; i < plan->frame_count; i++) {
        const cw_plan_frame *from = &plan->frames[i];
        const cw_film_frame frame = {.job_id = job_id,
                                     .frame = last + from->number,
                                     .film = film,
                                     .marked_s = from->time_s,
                                     .f_number = from->aperture,
                                     .distance_mm = from->distance_m * 1e3,
                                     .scene = from->proves,
                                     .expected = from->look_for,
                                     .proves = cw_mended_name(bit_number(from->shows))};
        CW_TRY(cw_film_frame_add(bench, &frame, &id, err));
    }
    return CW_OK;
}

cw_status cw_film_keep_plan(cw_bench *bench, int64_t job_id, const char *film, const cw_plan *plan, cw_error *err)
{
    CW_TRY(store_enter(bench, job_id, err, "a test film of %zu frames planned", plan->frame_count));
    return store_leave(bench, job_id, add_frames(bench, job_id, film == NULL ? "" : film, plan, err), err);
}

cw_status cw_film_drop_open(cw_bench *bench, int64_t job_id, cw_error *err)
{
    CW_TRY(store_job_of(bench, &job_table, job_id, NULL, err));
    CW_TRY(store_enter(bench, job_id, err, "planned frames taken out"));
    return store_leave(bench, job_id,
                       store_run(bench, "DELETE FROM film_frame WHERE job_id = ?1 AND right = 'open' AND seen = ''",
                                 STORE_VALUES(store_int(job_id)), err),
                       err);
}
