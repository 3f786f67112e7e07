/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Starting a guided list in a job, and how it stands. */
#include "notebook/guide.h"

#include <inttypes.h>
#include <string.h>

#include "notebook/tables.h"
#include "notebook/words.h"

enum { ITEMS_MOST = 100 };

static const char *const answer_words[CW_ANSWER_COUNT] = {"open", "done", "found", "not-applicable"};

const char *cw_answer_word(cw_answer answer)
{
    return (int)answer >= 0 && answer < CW_ANSWER_COUNT ? answer_words[answer] : "";
}

cw_status cw_answer_word_parse(const char *word, cw_answer *answer, cw_error *err)
{
    int index = 0;
    CW_TRY(words_parse("answer", answer_words, CW_ANSWER_COUNT, word, &index, err));
    *answer = (cw_answer)index;
    return CW_OK;
}

const cw_guide *cw_guide_find(const char *kind)
{
    size_t count;
    const cw_guide *guides = cw_guides(&count);
    for (size_t i = 0; i < count; i++)
        if (strcmp(guides[i].kind, kind) == 0)
            return &guides[i];
    return NULL;
}

const cw_guide_item *cw_guide_item_find(const char *kind, const char *key)
{
    const cw_guide *guide = cw_guide_find(kind);
    for (size_t i = 0; guide != NULL && i < guide->count; i++)
        if (strcmp(guide->items[i].key, key) == 0)
            return &guide->items[i];
    return NULL;
}

static bool begins(const char *text, const char *with)
{
    return strncmp(text, with, strlen(with)) == 0;
}

/* A key says which cameras an item is for: "focal-plane.", "leaf.", "reflex.", "rangefinder.", "meter.", "battery.",
 * "flash.", "bellows."; without one, for all. What is not known of a camera is asked all the same. */
static bool concerns(const cw_job *job, const char *key)
{
    if (begins(key, "focal-plane."))
        return job->shutter != CW_JOB_SHUTTER_LEAF;
    if (begins(key, "leaf."))
        return job->shutter != CW_JOB_SHUTTER_FOCAL_PLANE;
    if (begins(key, "reflex."))
        return job->finder == CW_FINDER_REFLEX || job->finder == CW_FINDER_UNKNOWN;
    if (begins(key, "rangefinder."))
        return job->finder == CW_FINDER_RANGEFINDER || job->finder == CW_FINDER_UNKNOWN;
    if (begins(key, "meter."))
        return job->meter != CW_METER_NONE;
    if (begins(key, "battery."))
        return job->meter == CW_METER_BATTERY || job->meter == CW_METER_UNKNOWN;
    if (begins(key, "flash."))
        return job->flash != CW_FITTED_NO;
    if (begins(key, "bellows."))
        return job->bellows != CW_FITTED_NO;
    return true;
}

static cw_status unknown_kind(const char *kind, cw_error *err)
{
    char list[300] = "";
    size_t count, used = 0;
    const cw_guide *guides = cw_guides(&count);
    for (size_t i = 0; i < count; i++) {
        int added = snprintf(list + used, sizeof list - used, "%s%s", i == 0 ? "" : ", ", guides[i].kind);
        used += added > 0 && (size_t)added < sizeof list - used ? (size_t)added : 0;
    }
    return cw_fail(err, CW_INPUT, "there is no list \"%.60s\"; there are: %s", kind, list);
}

cw_status cw_guide_start(cw_bench *bench, int64_t job_id, const char *kind, cw_moment moment, int64_t *checklist_id,
                         cw_error *err)
{
    const cw_guide *guide = cw_guide_find(kind);
    cw_checklist_item items[ITEMS_MOST] = {{0}};
    size_t count = 0;
    cw_job job;
    if (guide == NULL)
        return unknown_kind(kind, err);
    CW_TRY(cw_job_get(bench, job_id, &job, err));
    for (size_t i = 0; i < guide->count && count < ITEMS_MOST; i++)
        if (concerns(&job, guide->items[i].key))
            items[count++] = (cw_checklist_item){.key = guide->items[i].key, .text = guide->items[i].text};
    cw_job_free(&job);
    const cw_checklist list = {.job_id = job_id,
                               .kind = guide->kind,
                               .title = guide->title,
                               .moment = guide->is_proof ? moment : CW_MOMENT_ANY};
    return cw_checklist_add(bench, &list, items, count, checklist_id, err);
}

/* ---- the person's own ---- */

#define PLACE(field) offsetof(cw_own_list, field)
static const store_column own_columns[] = {
    {"id", "number", PLACE(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", PLACE(revision), STORE_INT, 0, NULL, 0},
    {"title", "the title", PLACE(title), STORE_LINE, STORE_BOTH | STORE_REQUIRED, NULL, 0},
    {"items", "the items of the list", PLACE(items), STORE_NOTE, STORE_BOTH | STORE_REQUIRED, NULL, 0},
};
const store_table own_list_table = {"own_list",          "list",    own_columns,     CW_COUNT(own_columns),
                                    sizeof(cw_own_list), PLACE(id), PLACE(revision), PLACE(held)};

enum { OWN_MOST = 500 };

/* The next line that is not blank, trimmed; false at the end. */
static bool next_line(const char **rest, const char **line, size_t *length)
{
    while (**rest != '\0') {
        size_t whole = strcspn(*rest, "\r\n"), from = strspn(*rest, " \t");
        const char *start = *rest;
        *rest += whole;
        *rest += strspn(*rest, "\r\n");
        while (whole > from && (start[whole - 1] == ' ' || start[whole - 1] == '\t'))
            whole--;
        if (whole > from) {
            *line = start + from;
            *length = whole - from;
            return true;
        }
    }
    return false;
}

static cw_status check_own(const cw_own_list *list, cw_error *err)
{
    const char *rest = list->items == NULL ? "" : list->items, *line;
    size_t length, count = 0;
    while (next_line(&rest, &line, &length))
        count++;
    if (count == 0 || count > ITEMS_MOST)
        return cw_fail(err, CW_INPUT, "the list has %zu items; 1 to %d, a line each", count, ITEMS_MOST);
    return CW_OK;
}

static cw_status add_own(cw_bench *bench, const cw_own_list *list, int64_t *id, cw_error *err)
{
    int64_t there;
    CW_TRY(store_number(bench, "SELECT count(*) FROM own_list", STORE_NO_VALUES, &there, err));
    if (there >= OWN_MOST)
        return cw_fail(err, CW_RANGE, "this bench has %d lists of your own already, the most it can have", OWN_MOST);
    return store_add(bench, &own_list_table, list, id, err);
}

cw_status cw_own_list_add(cw_bench *bench, const cw_own_list *list, int64_t *id, cw_error *err)
{
    int64_t made = 0;
    CW_TRY(check_own(list, err));
    CW_TRY(store_enter(bench, 0, err, "list \"%s\" written", list->title == NULL ? "" : list->title));
    CW_TRY(store_leave(bench, 0, add_own(bench, list, &made, err), err));
    *id = made;
    return CW_OK;
}

cw_status cw_own_list_get(cw_bench *bench, int64_t id, cw_own_list *list, cw_error *err)
{
    return store_get(bench, &own_list_table, id, list, err);
}

cw_status cw_own_list_update(cw_bench *bench, const cw_own_list *list, cw_error *err)
{
    CW_TRY(check_own(list, err));
    CW_TRY(store_enter(bench, 0, err, "list \"%s\" edited", list->title == NULL ? "" : list->title));
    return store_leave(bench, 0, store_update(bench, &own_list_table, list, err), err);
}

cw_status cw_own_list_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    CW_TRY(store_job_of(bench, &own_list_table, id, NULL, err));
    CW_TRY(store_enter(bench, 0, err, "list %" PRId64 " of your own taken out", id));
    return store_leave(bench, 0, store_delete(bench, &own_list_table, id, err), err);
}

void cw_own_list_free(cw_own_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_own_list){0};
}

cw_status cw_own_list_page(cw_bench *bench, cw_own_list_list *list, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_list(bench, &own_list_table, "ORDER BY title, id", STORE_NO_VALUES, &rows, err));
    *list = (cw_own_list_list){rows.count, rows.items, rows.held};
    return CW_OK;
}

void cw_own_list_list_free(cw_own_list_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_own_list_list){0};
}

cw_status cw_own_list_start(cw_bench *bench, int64_t job_id, int64_t own_list_id, int64_t *checklist_id, cw_error *err)
{
    cw_own_list own;
    cw_checklist_item items[ITEMS_MOST] = {{0}};
    void *held = NULL;
    size_t count = 0, length;
    CW_TRY(cw_own_list_get(bench, own_list_id, &own, err));
    const char *rest = own.items, *line;
    cw_status status = CW_OK;
    while (status == CW_OK && count < ITEMS_MOST && next_line(&rest, &line, &length)) {
        char text[CW_NOTE_MOST + 1];
        snprintf(text, sizeof text, "%.*s", (int)length, line);
        items[count] = (cw_checklist_item){.key = "", .text = store_keep(&held, text)};
        if (items[count++].text == NULL)
            status = cw_fail(err, CW_MEMORY, "no memory to start a list");
    }
    const cw_checklist list = {.job_id = job_id, .kind = "own", .title = own.title};
    if (status == CW_OK)
        status = cw_checklist_add(bench, &list, items, count, checklist_id, err);
    store_release(&held);
    cw_own_list_free(&own);
    return status;
}

/* ---- how a list stands ---- */

cw_status cw_checklist_count(cw_bench *bench, int64_t checklist_id, cw_list_count *count, cw_error *err)
{
    int64_t counts[CW_ANSWER_COUNT];
    for (int i = 0; i < CW_ANSWER_COUNT; i++)
        CW_TRY(store_number(bench, "SELECT count(*) FROM checklist_item WHERE checklist_id = ?1 AND answer = ?2",
                            STORE_VALUES(store_int(checklist_id), store_text(words_answer[i])), &counts[i], err));
    *count = (cw_list_count){.open = counts[CW_ANSWER_OPEN],
                             .done = counts[CW_ANSWER_YES],
                             .found = counts[CW_ANSWER_NO],
                             .not_applicable = counts[CW_ANSWER_NOT_APPLICABLE]};
    count->items = count->open + count->done + count->found + count->not_applicable;
    return CW_OK;
}

cw_status cw_checklist_newest(cw_bench *bench, int64_t job_id, const char *kind, cw_moment moment, int64_t *id,
                              cw_error *err)
{
    return store_number(bench,
                        "SELECT id FROM checklist WHERE job_id = ?1 AND kind = ?2 AND (?3 = '' OR at_time = ?3) ORDER "
                        "BY id DESC LIMIT 1",
                        STORE_VALUES(store_int(job_id), store_text(kind), store_text(cw_moment_name(moment))), id, err);
}
