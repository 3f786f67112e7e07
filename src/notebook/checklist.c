/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <inttypes.h>

#include "notebook/rack.h"
#include "notebook/tables.h"
#include "notebook/words.h"

enum { LISTS_MOST = 500, ITEMS_MOST = 500 };

#define LIST(field) offsetof(cw_checklist, field)
static const store_column checklist_columns[] = {
    {"id", "number", LIST(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", LIST(revision), STORE_INT, 0, NULL, 0},
    {"job_id", "the job", LIST(job_id), STORE_REF, STORE_ADD, NULL, 0},
    {"kind", "the kind of checklist", LIST(kind), STORE_LINE, STORE_ADD, NULL, 0},
    {"title", "the title", LIST(title), STORE_LINE, STORE_ADD | STORE_REQUIRED, NULL, 0},
    {"at_time", "before or after", LIST(moment), STORE_WORD, STORE_ADD, words_moment, CW_MOMENT_COUNT},
    {"created_at", "instant", LIST(created_at), STORE_INSTANT, STORE_ADD, NULL, 0},
    {"(SELECT count(*) FROM checklist_item WHERE checklist_id = checklist.id)", "", LIST(item_count), STORE_INT, 0,
     NULL, 0},
    {"(SELECT count(*) FROM checklist_item WHERE checklist_id = checklist.id AND answer <> 'open')", "", LIST(answered),
     STORE_INT, 0, NULL, 0},
};
const store_table checklist_table = {"checklist",          "checklist", checklist_columns, CW_COUNT(checklist_columns),
                                     sizeof(cw_checklist), LIST(id),    LIST(revision),    LIST(held)};

#define ITEM(field) offsetof(cw_checklist_item, field)
static const store_column item_columns[] = {
    {"id", "number", ITEM(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", ITEM(revision), STORE_INT, 0, NULL, 0},
    {"checklist_id", "the checklist", ITEM(checklist_id), STORE_REF, STORE_ADD, NULL, 0},
    {"key", "the key", ITEM(key), STORE_LINE, STORE_ADD, NULL, 0},
    {"text", "the question", ITEM(text), STORE_NOTE, STORE_ADD | STORE_REQUIRED, NULL, 0},
    {"answer", "the answer", ITEM(answer), STORE_WORD, STORE_BOTH, words_answer, CW_ANSWER_COUNT},
    {"value", "the value", ITEM(value), STORE_LINE, STORE_BOTH, NULL, 0},
    {"remark", "the remark", ITEM(remark), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"photo_id", "the photo", ITEM(photo_id), STORE_REF, STORE_BOTH, NULL, 0},
    {"answered_by", "who answered", ITEM(answered_by), STORE_LINE, STORE_BOTH, NULL, 0},
    {"answered_at", "instant", ITEM(answered_at), STORE_INSTANT, STORE_BOTH, NULL, 0},
};
const store_table checklist_item_table = {
    "checklist_item",          "checklist item", item_columns,   CW_COUNT(item_columns),
    sizeof(cw_checklist_item), ITEM(id),         ITEM(revision), ITEM(held)};

static cw_status add_checklist(cw_bench *bench, const cw_checklist *checklist, const cw_checklist_item *items,
                               size_t item_count, int64_t *id, cw_error *err)
{
    char now[32];
    int64_t there, item_id;
    store_now(now);
    cw_checklist row = *checklist;
    row.created_at = now;
    CW_TRY(store_job_of(bench, &job_table, row.job_id, NULL, err));
    CW_TRY(store_number(bench, "SELECT count(*) FROM checklist WHERE job_id = ?1", STORE_VALUES(store_int(row.job_id)),
                        &there, err));
    if (there >= LISTS_MOST || item_count > ITEMS_MOST)
        return cw_fail(err, CW_RANGE, "a job holds %d checklists of %d items at most", LISTS_MOST, ITEMS_MOST);
    CW_TRY(store_add(bench, &checklist_table, &row, id, err));
    for (size_t i = 0; i < item_count; i++) {
        cw_checklist_item item = items[i];
        item.checklist_id = *id;
        item.answered_at = item.answer == CW_ANSWER_OPEN ? "" : now;
        CW_TRY(store_add(bench, &checklist_item_table, &item, &item_id, err));
    }
    return CW_OK;
}

cw_status cw_checklist_add(cw_bench *bench, const cw_checklist *checklist, const cw_checklist_item *items,
                           size_t item_count, int64_t *id, cw_error *err)
{
    int64_t made = 0;
    CW_TRY(store_enter(bench, checklist->job_id, err, "checklist \"%s\" begun",
                       checklist->title == NULL ? "" : checklist->title));
    CW_TRY(store_leave(bench, checklist->job_id, add_checklist(bench, checklist, items, item_count, &made, err), err));
    *id = made;
    return CW_OK;
}

static cw_status job_of_item(cw_bench *bench, int64_t item_id, int64_t *job_id, cw_error *err)
{
    int64_t checklist_id;
    CW_TRY(store_number(bench, "SELECT checklist_id FROM checklist_item WHERE id = ?1",
                        STORE_VALUES(store_int(item_id)), &checklist_id, err));
    if (checklist_id == 0)
        return cw_fail(err, CW_NOT_FOUND, "there is no checklist item %" PRId64 " on this bench", item_id);
    return store_job_of(bench, &checklist_table, checklist_id, job_id, err);
}

cw_status cw_checklist_item_update(cw_bench *bench, const cw_checklist_item *item, cw_error *err)
{
    int64_t job_id;
    char now[32];
    cw_checklist_item row = *item;
    CW_TRY(job_of_item(bench, item->id, &job_id, err));
    store_now(now);
    row.answered_at = row.answer == CW_ANSWER_OPEN ? "" : now;
    if (row.answer == CW_ANSWER_OPEN)
        row.answered_by = "";
    CW_TRY(store_enter(bench, job_id, err, "\"%.200s\" answered", item->text == NULL ? "" : item->text));
    return store_leave(bench, job_id, store_update(bench, &checklist_item_table, &row, err), err);
}

cw_status cw_checklist_item_get(cw_bench *bench, int64_t id, cw_checklist_item *item, cw_error *err)
{
    return store_get(bench, &checklist_item_table, id, item, err);
}

void cw_checklist_item_free(cw_checklist_item *item)
{
    if (item == NULL)
        return;
    store_release(&item->held);
    *item = (cw_checklist_item){0};
}

static cw_status delete_checklist(cw_bench *bench, int64_t id, cw_error *err)
{
    CW_TRY(store_run(bench, "DELETE FROM checklist_item WHERE checklist_id = ?1", STORE_VALUES(store_int(id)), err));
    return store_delete(bench, &checklist_table, id, err);
}

cw_status cw_checklist_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    int64_t job_id;
    CW_TRY(store_job_of(bench, &checklist_table, id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "a checklist taken out"));
    return store_leave(bench, job_id, delete_checklist(bench, id, err), err);
}

cw_status cw_checklist_get(cw_bench *bench, int64_t id, cw_checklist *checklist, cw_error *err)
{
    return store_get(bench, &checklist_table, id, checklist, err);
}

void cw_checklist_free(cw_checklist *checklist)
{
    if (checklist == NULL)
        return;
    store_release(&checklist->held);
    *checklist = (cw_checklist){0};
}

cw_status cw_checklist_page(cw_bench *bench, int64_t job_id, cw_checklist_list *list, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_list(bench, &checklist_table, "WHERE job_id = ?1 ORDER BY id", STORE_VALUES(store_int(job_id)), &rows,
                      err));
    *list = (cw_checklist_list){rows.count, rows.items, rows.held};
    return CW_OK;
}

void cw_checklist_list_free(cw_checklist_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_checklist_list){0};
}

cw_status cw_checklist_items(cw_bench *bench, int64_t checklist_id, cw_checklist_item_list *list, cw_error *err)
{
    store_rows rows;
    CW_TRY(store_list(bench, &checklist_item_table, "WHERE checklist_id = ?1 ORDER BY id",
                      STORE_VALUES(store_int(checklist_id)), &rows, err));
    *list = (cw_checklist_item_list){rows.count, rows.items, rows.held};
    return CW_OK;
}

void cw_checklist_item_list_free(cw_checklist_item_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_checklist_item_list){0};
}
