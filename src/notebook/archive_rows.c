/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/archive_in.h"
#include "notebook/job.h"
#include "notebook/record_json.h"
#include "notebook/tables.h"

enum { RANK_GAP = 1024, RECORD_MOST = 1024 };

/* New ids of the rows added so far, by kind and place. */
typedef struct {
    const archive_reading *a;
    int64_t *ids[ARCHIVE_KIND_COUNT];
    size_t counts[ARCHIVE_KIND_COUNT];
} adding;

static const json_t *list_of(const archive_reading *a, archive_kind_name kind)
{
    return json_object_get(a->index, archive_kinds[kind].key);
}

cw_status archive_check_rows(const archive_reading *a, cw_error *err)
{
    for (archive_kind_name kind = 0; kind < ARCHIVE_KIND_COUNT; kind++) {
        const json_t *list = list_of(a, kind);
        if (list == NULL && kind >= ARCHIVE_LEFT_OUT)
            continue;
        if (!json_is_array(list) || json_array_size(list) > ARCHIVE_ROWS_MOST)
            return cw_fail(err, CW_INPUT, "the index of the archive holds no list \"%s\", or one of more than %d rows",
                           archive_kinds[kind].key, ARCHIVE_ROWS_MOST);
    }
    if (json_array_size(list_of(a, ARCHIVE_JOB)) != 1)
        return cw_fail(err, CW_INPUT, "the archive holds %zu jobs; one is expected",
                       json_array_size(list_of(a, ARCHIVE_JOB)));
    return CW_OK;
}

/* ---- links ---- */

static cw_status follow_link(const adding *add, const json_t *row, const archive_link *link, int64_t *id, cw_error *err)
{
    const json_t *ref = json_object_get(row, link->column);
    json_int_t place = json_integer_value(ref);
    *id = 0;
    if (ref == NULL || json_is_null(ref)) {
        if (link->required)
            return cw_fail(err, CW_INPUT, "\"%s\" is missing", link->column);
        return CW_OK;
    }
    if (!json_is_integer(ref) || place < 1 || (uint64_t)place > add->counts[link->kind])
        return cw_fail(err, CW_INPUT, "\"%s\" points to no row of \"%s\"", link->column, archive_kinds[link->kind].key);
    *id = add->ids[link->kind][place - 1];
    return CW_OK;
}

static cw_status set_links(const adding *add, const archive_kind *kind, const json_t *row, char *record, cw_error *err)
{
    for (size_t i = 0; i < kind->link_count; i++) {
        int64_t id = 0;
        if (!kind->links[i].later)
            CW_TRY(follow_link(add, row, &kind->links[i], &id, err));
        memcpy(record + archive_column(kind->table, kind->links[i].column)->offset, &id, sizeof id);
    }
    return CW_OK;
}

/* ---- one row ---- */

static const archive_file *file_with(const archive_reading *a, bool photo, const json_t *row)
{
    const char *hash = json_string_value(json_object_get(row, "hash"));
    for (size_t i = 0; hash != NULL && i < a->file_count; i++)
        if (a->files[i].photo == photo && strcmp(a->files[i].hash, hash) == 0)
            return &a->files[i];
    return NULL;
}

/* A photo's facts are those of the file that came, not those the index claims. */
static cw_status fill_photo(const archive_reading *a, const json_t *row, char *record, cw_error *err)
{
    const archive_file *file = file_with(a, true, row);
    if (file == NULL)
        return cw_fail(err, CW_INPUT, "its file is not in the archive");
    photo_fill((cw_photo *)(void *)record, &file->facts);
    return CW_OK;
}

/* Links to other jobs of the bench it came from mean nothing here. */
static void forget_elsewhere(archive_kind_name name, char *record)
{
    if (name == ARCHIVE_JOB)
        ((cw_job *)(void *)record)->plan_of = 0;
    if (name == ARCHIVE_STEP)
        ((cw_step *)(void *)record)->from_step_id = 0;
}

static cw_status planned_of(const json_t *row, const char **planned, cw_error *err)
{
    const json_t *said = json_object_get(row, "planned_json");
    const char *text = json_string_value(said);
    *planned = text == NULL ? "" : text;
    if (said != NULL && text == NULL && !json_is_null(said))
        return cw_fail(err, CW_INPUT, "\"planned_json\" is not a text");
    if (**planned == '\0')
        return CW_OK;
    json_error_t why;
    json_t *object = json_loads(*planned, 0, &why);
    bool right = json_is_object(object);
    json_decref(object);
    return right ? CW_OK : cw_fail(err, CW_INPUT, "\"planned_json\" is not JSON");
}

static cw_status add_record(const adding *add, const archive_kind *kind, const json_t *row, size_t place, char *record,
                            int64_t *id, cw_error *err)
{
    const char *planned;
    CW_TRY(planned_of(row, &planned, err));
    store_value extra[] = {store_text(planned), store_int((int64_t)(place + 1) * RANK_GAP)};
    const char *columns = kind->ranked ? ",planned_json,rank" : kind->planned ? ",planned_json" : "";
    size_t count = (kind->planned ? 1u : 0u) + (kind->ranked ? 1u : 0u);
    return store_add_with(add->a->bench, kind->table, record, columns, extra, count, id, err);
}

static cw_status add_row(const adding *add, archive_kind_name name, const json_t *row, size_t place, int64_t *id,
                         cw_error *err)
{
    const archive_kind *kind = &archive_kinds[name];
    union {
        char bytes[RECORD_MOST];
        max_align_t aligned;
    } record = {{0}};
    void *held = NULL;
    if (name == ARCHIVE_RECORDING) {
        const archive_file *file = file_with(add->a, false, row);
        *id = file == NULL ? 0 : file->recording_id;
        return file == NULL ? cw_fail(err, CW_INPUT, "its file is not in the archive") : CW_OK;
    }
    if (kind->table->size > sizeof record)
        return cw_fail(err, CW_RANGE, "a %s does not fit in %d bytes", kind->table->label, RECORD_MOST);
    cw_status status = record_from_json(kind->table, row, record.bytes, &held, err);
    forget_elsewhere(name, record.bytes);
    if (status == CW_OK)
        status = set_links(add, kind, row, record.bytes, err);
    if (status == CW_OK && name == ARCHIVE_PHOTO)
        status = fill_photo(add->a, row, record.bytes, err);
    if (status == CW_OK)
        status = add_record(add, kind, row, place, record.bytes, id, err);
    store_release(&held);
    return status;
}

/* ---- all rows ---- */

static cw_status add_kind(adding *add, archive_kind_name kind, cw_error *err)
{
    const json_t *list = list_of(add->a, kind);
    size_t count = json_array_size(list);
    add->ids[kind] = calloc(count + 1, sizeof *add->ids[kind]);
    if (add->ids[kind] == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to take a job in");
    for (size_t i = 0; i < count; i++) {
        cw_status status = add_row(add, kind, json_array_get(list, i), i, &add->ids[kind][i], err);
        if (status != CW_OK) {
            cw_context(err, "row %zu of \"%s\" in the archive", i + 1, archive_kinds[kind].key);
            if (status == CW_STORE || status == CW_CONFLICT) /* a rule of the database that the index breaks */
                err->status = CW_INPUT;
            return err->status;
        }
        add->counts[kind] = i + 1;
    }
    return CW_OK;
}

static cw_status set_cover(const adding *add, cw_error *err)
{
    const archive_link *cover = &archive_kinds[ARCHIVE_JOB].links[0];
    int64_t photo_id;
    CW_TRY(follow_link(add, json_array_get(list_of(add->a, ARCHIVE_JOB), 0), cover, &photo_id, err));
    return store_run(add->a->bench, "UPDATE job SET cover_photo_id = ?1 WHERE id = ?2",
                     STORE_VALUES(store_ref(photo_id), store_int(add->ids[ARCHIVE_JOB][0])), err);
}

/* The index could hold blocks in a circle; nothing else of the program would ever let them in. */
static cw_status refuse_circles(const adding *add, cw_error *err)
{
    int64_t circles;
    CW_TRY(store_number(
        add->a->bench,
        "WITH RECURSIVE over(start, now) AS (SELECT under_id, over_id FROM block WHERE job_id = ?1 UNION "
        "SELECT start, over_id FROM over JOIN block ON under_id = now) SELECT count(*) FROM over WHERE start "
        "= now",
        STORE_VALUES(store_int(add->ids[ARCHIVE_JOB][0])), &circles, err));
    return circles == 0 ? CW_OK : cw_fail(err, CW_INPUT, "the blocks in the archive run in a circle");
}

static cw_status add_all(adding *add, cw_error *err)
{
    for (archive_kind_name kind = 0; kind < ARCHIVE_KIND_COUNT; kind++) {
        CW_TRY(add_kind(add, kind, err));
        if (kind == ARCHIVE_JOB)
            store_belongs_to(add->a->bench, add->ids[ARCHIVE_JOB][0]);
    }
    CW_TRY(set_cover(add, err));
    return refuse_circles(add, err);
}

cw_status archive_add_rows(const archive_reading *a, int64_t *job_id, cw_error *err)
{
    adding add = {.a = a};
    const char *camera = json_string_value(json_object_get(json_array_get(list_of(a, ARCHIVE_JOB), 0), "camera"));
    cw_status status =
        store_enter(a->bench, 0, err, "job \"%s\" taken in from an archive", camera == NULL ? "" : camera);
    if (status == CW_OK)
        status = store_leave(a->bench, 0, add_all(&add, err), err);
    if (status == CW_OK)
        *job_id = add.ids[ARCHIVE_JOB][0];
    for (archive_kind_name kind = 0; kind < ARCHIVE_KIND_COUNT; kind++)
        free(add.ids[kind]);
    return status;
}
