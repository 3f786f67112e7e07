/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writing a job's archive: the index first, so that a reader knows what follows, then the files. */
#include <archive.h>
#include <archive_entry.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/json.h"
#include "notebook/archive.h"
#include "notebook/archive_form.h"
#include "notebook/files.h"
#include "notebook/job.h"
#include "notebook/photo.h"
#include "notebook/photo_file.h"
#include "notebook/record_json.h"
#include "notebook/tables.h"
#include "notebook/test.h"

typedef struct {
    cw_bench *bench;
    int64_t job_id;
    cw_export_options options;
    store_rows rows[ARCHIVE_KIND_COUNT];
    json_t *index, *files; /* files belongs to index */
    struct archive *zip;
    time_t now;
} writing;

static int64_t id_of(const archive_kind *kind, const void *record)
{
    int64_t id;
    memcpy(&id, (const char *)record + kind->table->id_offset, sizeof id);
    return id;
}

static const void *row_at(const writing *w, archive_kind_name kind, size_t place)
{
    return (const char *)w->rows[kind].items + place * archive_kinds[kind].table->size;
}

/* ---- rows ---- */

/* The place of the row with this id in its list, counted from 1; 0 when it is not part of the job. */
static int64_t ref_of(const writing *w, archive_kind_name kind, int64_t id)
{
    for (size_t i = 0; i < w->rows[kind].count; i++)
        if (id_of(&archive_kinds[kind], row_at(w, kind, i)) == id)
            return (int64_t)i + 1;
    return 0;
}

static int set_ref(json_t *row, const char *key, int64_t ref)
{
    return json_object_set_new(row, key, ref == 0 ? json_null() : json_integer(ref));
}

static cw_status add_planned(const writing *w, const archive_kind *kind, const void *record, json_t *row, cw_error *err)
{
    char sql[100];
    sqlite3_stmt *st;
    snprintf(sql, sizeof sql, "SELECT planned_json FROM %s WHERE id = ?1", kind->table->name);
    CW_TRY(store_prepare(w->bench, sql, STORE_VALUES(store_int(id_of(kind, record))), &st, err));
    bool failed = sqlite3_step(st) != SQLITE_ROW ||
                  json_object_set_new(row, "planned_json", json_string((const char *)sqlite3_column_text(st, 0))) != 0;
    sqlite3_finalize(st);
    return failed ? cw_fail(err, CW_STORE, "what a plan said cannot be read") : CW_OK;
}

static cw_status row_json(const writing *w, archive_kind_name name, size_t place, json_t *list, cw_error *err)
{
    const archive_kind *kind = &archive_kinds[name];
    const void *record = row_at(w, name, place);
    json_t *row = record_json(kind->table, record);
    int failed = row == NULL || set_ref(row, "ref", (int64_t)place + 1) != 0 || json_array_append_new(list, row) != 0;
    for (size_t i = 0; !failed && i < kind->link_count; i++) {
        const archive_link *link = &kind->links[i];
        int64_t id;
        memcpy(&id, (const char *)record + archive_column(kind->table, link->column)->offset, sizeof id);
        failed = set_ref(row, link->column, ref_of(w, link->kind, id));
    }
    if (failed)
        return cw_fail(err, CW_MEMORY, "no memory for the index of the archive");
    return kind->planned ? add_planned(w, kind, record, row, err) : CW_OK;
}

static cw_status kind_json(writing *w, archive_kind_name name, cw_error *err)
{
    json_t *list = json_array();
    if (list == NULL || json_object_set_new(w->index, archive_kinds[name].key, list) != 0)
        return cw_fail(err, CW_MEMORY, "no memory for the index of the archive");
    for (size_t i = 0; i < w->rows[name].count; i++)
        CW_TRY(row_json(w, name, i, list, err));
    return CW_OK;
}

/* What stays on this bench: who the camera belongs to, and links to other jobs. */
static void leave_private_out(writing *w)
{
    json_t *job = json_array_get(json_object_get(w->index, archive_kinds[ARCHIVE_JOB].key), 0), *step;
    size_t i;
    if (!w->options.with_owner)
        json_object_set_new(job, "owner", json_string(""));
    json_object_set_new(job, "plan_of", json_null());
    json_array_foreach(json_object_get(w->index, archive_kinds[ARCHIVE_STEP].key), i, step)
        json_object_set_new(step, "from_step_id", json_null());
}

static cw_status load_rows(writing *w, cw_error *err)
{
    for (archive_kind_name kind = 0; kind < ARCHIVE_KIND_COUNT; kind++) {
        if (kind == ARCHIVE_RECORDING && !w->options.with_recordings)
            continue;
        CW_TRY(store_list_whole(w->bench, archive_kinds[kind].table, archive_kinds[kind].where,
                                STORE_VALUES(store_int(w->job_id)), &w->rows[kind], err));
    }
    return CW_OK;
}

/* ---- files in the index ---- */

static cw_status list_file(writing *w, const char *path, const char *hash, int64_t bytes, cw_error *err)
{
    size_t i;
    json_t *there;
    json_array_foreach(w->files, i,
                       there) if (strcmp(json_string_value(json_object_get(there, "path")), path) == 0) return CW_OK;
    json_t *file = json_pack("{s:s, s:s, s:I}", "path", path, "sha256", hash, "bytes", (json_int_t)bytes);
    if (file == NULL || json_array_append_new(w->files, file) != 0)
        return cw_fail(err, CW_MEMORY, "no memory for the index of the archive");
    return CW_OK;
}

typedef struct {
    char hash[FILES_HASH_TEXT];
    int64_t bytes;
} weighed;

static cw_status weigh(void *goal, const char *bytes, size_t size, cw_error *err)
{
    weighed *w = goal;
    unsigned char digest[32];
    if (gnutls_hash_fast(GNUTLS_DIG_SHA256, bytes, size, digest) != 0)
        return cw_fail(err, CW_MEMORY, "no memory to look at a photo");
    for (size_t i = 0; i < sizeof digest; i++)
        snprintf(w->hash + 2 * i, 3, "%02x", digest[i]);
    w->bytes = (int64_t)size;
    return CW_OK;
}

static const char *photo_extension(const cw_photo *photo)
{
    return strcmp(photo->media, "image/png") == 0 ? ".png" : ".jpg";
}

/* A photo goes out without its place: its hash and size in the index are those of what goes out. */
static cw_status index_photo(writing *w, size_t place, cw_error *err)
{
    const cw_photo *photo = row_at(w, ARCHIVE_PHOTO, place);
    json_t *row = json_array_get(json_object_get(w->index, archive_kinds[ARCHIVE_PHOTO].key), place);
    weighed out;
    char path[128];
    CW_TRY(photo_export_to(w->bench, photo->id, weigh, &out, err));
    archive_path(true, out.hash, photo_extension(photo), path);
    if (json_object_set_new(row, "hash", json_string(out.hash)) != 0 ||
        json_object_set_new(row, "bytes", json_integer(out.bytes)) != 0)
        return cw_fail(err, CW_MEMORY, "no memory for the index of the archive");
    return list_file(w, path, out.hash, out.bytes, err);
}

static cw_status index_files(writing *w, cw_error *err)
{
    for (size_t i = 0; i < w->rows[ARCHIVE_PHOTO].count; i++)
        CW_TRY(index_photo(w, i, err));
    for (size_t i = 0; i < w->rows[ARCHIVE_RECORDING].count; i++) {
        const cw_recording *recording = row_at(w, ARCHIVE_RECORDING, i);
        char extension[16], path[128];
        files_extension(recording->name, extension);
        archive_path(false, recording->hash, extension, path);
        CW_TRY(list_file(w, path, recording->hash, recording->bytes, err));
    }
    return CW_OK;
}

static cw_status make_index(writing *w, cw_error *err)
{
    char now[32];
    store_now(now);
    w->index = json_pack("{s:s, s:s, s:s, s:[]}", "format", ARCHIVE_FORMAT, "program_version", CW_VERSION,
                         "exported_at", now, "files");
    if (w->index == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the index of the archive");
    w->files = json_object_get(w->index, "files");
    CW_TRY(load_rows(w, err));
    for (archive_kind_name kind = 0; kind < ARCHIVE_KIND_COUNT; kind++)
        CW_TRY(kind_json(w, kind, err));
    leave_private_out(w);
    return index_files(w, err);
}

/* ---- the zip ---- */

static cw_status zip_failed(const writing *w, cw_error *err)
{
    const char *why = archive_error_string(w->zip);
    return cw_fail(err, CW_FILE, "the archive cannot be written: %s", why == NULL ? "no reason given" : why);
}

static cw_status begin_entry(writing *w, const char *path, int64_t bytes, bool squeeze, cw_error *err)
{
    struct archive_entry *entry = archive_entry_new();
    if (entry == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the archive");
    int code =
        squeeze ? archive_write_zip_set_compression_deflate(w->zip) : archive_write_zip_set_compression_store(w->zip);
    archive_entry_set_pathname(entry, path);
    archive_entry_set_size(entry, bytes);
    archive_entry_set_filetype(entry, AE_IFREG);
    archive_entry_set_perm(entry, 0644);
    archive_entry_set_mtime(entry, w->now, 0);
    if (code == ARCHIVE_OK)
        code = archive_write_header(w->zip, entry);
    archive_entry_free(entry);
    return code == ARCHIVE_OK ? CW_OK : zip_failed(w, err);
}

static cw_status add_bytes(const writing *w, const void *bytes, size_t size, cw_error *err)
{
    return archive_write_data(w->zip, bytes, size) == (la_ssize_t)size ? CW_OK : zip_failed(w, err);
}

static cw_status add_index(writing *w, cw_error *err)
{
    char *text = cw_json_written(w->index, CW_JSON_KEPT_LINES);
    if (text == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the index of the archive");
    cw_status status = begin_entry(w, "index.json", (int64_t)strlen(text), true, err);
    if (status == CW_OK)
        status = add_bytes(w, text, strlen(text), err);
    free(text);
    return status;
}

static cw_status to_zip(void *goal, const char *bytes, size_t size, cw_error *err)
{
    return add_bytes(goal, bytes, size, err);
}

static cw_status add_recording(writing *w, const cw_recording *recording, cw_error *err)
{
    char path[FILES_PATH], block[65536];
    CW_TRY(cw_recording_path(w->bench, recording->id, path, sizeof path, err));
    FILE *in = fopen(path, "rb");
    if (in == NULL)
        return cw_fail(err, CW_FILE, "\"%s\" cannot be read", path);
    size_t got;
    int64_t total = 0;
    cw_status status = CW_OK;
    while (status == CW_OK && (got = fread(block, 1, sizeof block, in)) > 0) {
        total += (int64_t)got;
        status = add_bytes(w, block, got, err);
    }
    if (status == CW_OK && (ferror(in) || total != recording->bytes))
        status = cw_fail(err, CW_STORE, "the recording \"%s\" is not as it was kept; run \"camerawright check\"",
                         recording->name);
    fclose(in);
    return status;
}

/* Each file once, in the order of the index: photos first. */
static cw_status add_files(writing *w, cw_error *err)
{
    size_t next = 0, count = json_array_size(w->files);
    for (size_t i = 0; next < count && i < w->rows[ARCHIVE_PHOTO].count + w->rows[ARCHIVE_RECORDING].count; i++) {
        bool is_photo = i < w->rows[ARCHIVE_PHOTO].count;
        size_t place = is_photo ? i : i - w->rows[ARCHIVE_PHOTO].count;
        json_t *row = json_array_get(
            json_object_get(w->index, archive_kinds[is_photo ? ARCHIVE_PHOTO : ARCHIVE_RECORDING].key), place);
        json_t *file = json_array_get(w->files, next);
        const char *path = json_string_value(json_object_get(file, "path"));
        if (strstr(path, json_string_value(json_object_get(row, "hash"))) == NULL)
            continue; /* the same content was written before */
        CW_TRY(begin_entry(w, path, json_integer_value(json_object_get(file, "bytes")), !is_photo, err));
        if (is_photo)
            CW_TRY(photo_export_to(w->bench, ((const cw_photo *)row_at(w, ARCHIVE_PHOTO, place))->id, to_zip, w, err));
        else
            CW_TRY(add_recording(w, row_at(w, ARCHIVE_RECORDING, place), err));
        next++;
    }
    return CW_OK;
}

static cw_status write_zip(writing *w, const char *path, cw_error *err)
{
    cw_new_file file;
    CW_TRY(cw_new_file_open(path, &file, err));
    w->zip = archive_write_new();
    cw_status status = CW_OK;
    if (w->zip == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory for the archive");
    else if (archive_write_set_format_zip(w->zip) != ARCHIVE_OK ||
             archive_write_set_options(w->zip, "zip:hdrcharset=UTF-8") != ARCHIVE_OK ||
             archive_write_open_FILE(w->zip, file.stream) != ARCHIVE_OK)
        status = zip_failed(w, err);
    if (status == CW_OK)
        status = add_index(w, err);
    if (status == CW_OK)
        status = add_files(w, err);
    if (status == CW_OK && archive_write_close(w->zip) != ARCHIVE_OK)
        status = zip_failed(w, err);
    archive_write_free(w->zip);
    if (status == CW_OK)
        return cw_new_file_commit(&file, err);
    cw_new_file_abandon(&file);
    return status;
}

cw_status cw_job_export(cw_bench *bench, int64_t job_id, const char *path, const cw_export_options *options,
                        cw_error *err)
{
    writing w = {.bench = bench, .job_id = job_id, .options = {.with_recordings = true}, .now = time(NULL)};
    if (options != NULL)
        w.options = *options;
    CW_TRY(store_job_of(bench, &job_table, job_id, NULL, err));
    bool own = bench->depth == 0; /* one moment of the bench, whoever else is writing */
    if (own)
        CW_TRY(store_run(bench, "BEGIN", STORE_NO_VALUES, err));
    cw_status status = make_index(&w, err);
    if (own)
        sqlite3_exec(bench->db, "ROLLBACK", NULL, NULL, NULL);
    if (status == CW_OK)
        status = write_zip(&w, path, err);
    for (archive_kind_name kind = 0; kind < ARCHIVE_KIND_COUNT; kind++)
        store_release(&w.rows[kind].held);
    json_decref(w.index);
    return status;
}
