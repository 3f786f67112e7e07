/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading a job's archive. Nothing in it is believed: paths must be of our form, every file is weighed and hashed
 * against the index, pictures are looked at again, rows pass the same checks as typed ones. Files never go to a path of
 * the archive's choosing. */
#include <archive.h>
#include <archive_entry.h>
#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/archive.h"
#include "notebook/archive_in.h"
#include "notebook/files.h"
#include "notebook/test.h"

enum { FILES_MOST = 20000, ENTRIES_MOST = 100000, READ_BLOCK = 65536 };

/* ---- the zip, entry by entry ---- */

typedef struct {
    struct archive *zip;
    const char *path; /* of the archive */
} reading;

static cw_status zip_damaged(const reading *r, cw_error *err)
{
    const char *why = archive_error_string(r->zip);
    return cw_fail(err, CW_INPUT, "the archive is damaged: %s", why == NULL ? "it ends too early" : why);
}

static cw_status open_zip(const char *path, reading *r, cw_error *err)
{
    *r = (reading){archive_read_new(), path};
    if (r->zip == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to read an archive");
    archive_read_support_format_zip(r->zip);
    if (archive_read_open_filename(r->zip, path, READ_BLOCK) == ARCHIVE_OK)
        return CW_OK;
    FILE *there = fopen(path, "rb");
    cw_status status = there == NULL ? cw_fail(err, CW_INPUT, "\"%s\" cannot be opened: %s", path, strerror(errno))
                                     : cw_fail(err, CW_INPUT, "\"%s\" is not a zip archive", path);
    if (there != NULL)
        fclose(there);
    archive_read_free(r->zip);
    return status;
}

/* Relative, without "..", one kind of slash: what could lead out of a folder has no business in here. */
static bool path_is_tame(const char *path)
{
    if (path[0] == '\0' || path[0] == '/' || strchr(path, '\\') != NULL || strchr(path, ':') != NULL)
        return false;
    for (const char *at = path; at != NULL; at = strchr(at, '/')) {
        at += *at == '/';
        if (at[0] == '.' && at[1] == '.' && (at[2] == '/' || at[2] == '\0'))
            return false;
    }
    return true;
}

/* The next file; *entry NULL at the end. */
static cw_status next_file(const reading *r, size_t *seen, struct archive_entry **entry, cw_error *err)
{
    for (;;) {
        int code = archive_read_next_header(r->zip, entry);
        if (code == ARCHIVE_EOF) {
            *entry = NULL;
            return CW_OK;
        }
        if (code != ARCHIVE_OK && code != ARCHIVE_WARN) {
            if (*seen == 0 && code == ARCHIVE_FATAL)
                return cw_fail(err, CW_INPUT, "\"%s\" is not a zip archive, or a damaged one", r->path);
            return zip_damaged(r, err);
        }
        const char *path = archive_entry_pathname(*entry);
        if (++*seen > ENTRIES_MOST)
            return cw_fail(err, CW_INPUT, "the archive holds more than %d entries", ENTRIES_MOST);
        if (path == NULL || !path_is_tame(path))
            return cw_fail(err, CW_INPUT,
                           "the archive holds the entry \"%.120s\", which leads elsewhere; nothing was taken in",
                           path == NULL ? "(no name)" : path);
        if (archive_entry_filetype(*entry) == AE_IFREG)
            return CW_OK;
        if (archive_entry_filetype(*entry) != AE_IFDIR)
            return cw_fail(err, CW_INPUT,
                           "the archive holds \"%.120s\", which is a link or a device; nothing was taken in", path);
    }
}

/* ---- the index ---- */

static cw_status read_text(const reading *r, cw_buf *text, cw_error *err)
{
    char block[READ_BLOCK];
    la_ssize_t got;
    while ((got = archive_read_data(r->zip, block, sizeof block)) > 0)
        cw_buf_add(text, block, (size_t)got);
    if (got < 0)
        return zip_damaged(r, err);
    if (text->failed)
        return cw_fail(err, CW_INPUT, "the index of the archive is larger than %d MB", ARCHIVE_INDEX_MOST >> 20);
    return CW_OK;
}

static cw_status parse_index(const cw_buf *text, json_t **index, cw_error *err)
{
    json_error_t why;
    json_t *made = json_loads(cw_buf_string(text), JSON_REJECT_DUPLICATES, &why);
    if (made == NULL)
        return cw_fail(err, CW_INPUT, "the index of the archive is not JSON: %s (line %d)", why.text, why.line);
    const char *format = json_string_value(json_object_get(made, "format"));
    cw_status status = CW_OK;
    if (format == NULL || strncmp(format, ARCHIVE_FORMAT_BEFORE, sizeof ARCHIVE_FORMAT_BEFORE - 1) != 0)
        status = cw_fail(err, CW_INPUT, "this is no archive of a job: its index does not say so");
    else if (strcmp(format, ARCHIVE_FORMAT) != 0)
        status = cw_fail(err, CW_INPUT,
                         "the archive is of the form \"%.60s\", this program reads \"%s\"; use a newer program", format,
                         ARCHIVE_FORMAT);
    if (status == CW_OK)
        *index = made;
    else
        json_decref(made);
    return status;
}

static cw_status find_index(const char *path, json_t **index, cw_error *err)
{
    reading r;
    struct archive_entry *entry;
    size_t seen = 0;
    CW_TRY(open_zip(path, &r, err));
    cw_buf text = cw_buf_new(ARCHIVE_INDEX_MOST);
    cw_status status;
    do
        status = next_file(&r, &seen, &entry, err);
    while (status == CW_OK && entry != NULL && strcmp(archive_entry_pathname(entry), "index.json") != 0);
    if (status == CW_OK && entry == NULL)
        status = cw_fail(err, CW_INPUT, "the zip file holds no index.json; it is no archive of a job");
    if (status == CW_OK)
        status = read_text(&r, &text, err);
    if (status == CW_OK)
        status = parse_index(&text, index, err);
    cw_buf_free(&text);
    archive_read_free(r.zip);
    return status;
}

/* ---- files ---- */

static cw_status wanted_file(const json_t *said, archive_file *file, cw_error *err)
{
    const char *path = json_string_value(json_object_get(said, "path"));
    const char *hash = json_string_value(json_object_get(said, "sha256"));
    json_int_t bytes = json_integer_value(json_object_get(said, "bytes"));
    char in_path[65];
    if (path == NULL || hash == NULL || !archive_path_ok(path, &file->photo, in_path) || strcmp(hash, in_path) != 0)
        return cw_fail(err, CW_INPUT, "the index names the file \"%.120s\", which is not of the form of this archive",
                       path == NULL ? "(none)" : path);
    if (bytes < 0)
        return cw_fail(err, CW_INPUT, "the index gives \"%.120s\" no size", path);
    snprintf(file->path, sizeof file->path, "%s", path);
    memcpy(file->hash, in_path, sizeof file->hash);
    file->bytes = bytes;
    return CW_OK;
}

static cw_status wanted_files(archive_reading *a, cw_error *err)
{
    const json_t *list = json_object_get(a->index, "files");
    a->file_count = json_array_size(list);
    if (!json_is_array(list) || a->file_count > FILES_MOST)
        return cw_fail(err, CW_INPUT, "the index lists no files, or more than %d", FILES_MOST);
    a->files = calloc(a->file_count + 1, sizeof *a->files);
    if (a->files == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to read an archive");
    for (size_t i = 0; i < a->file_count; i++)
        CW_TRY(wanted_file(json_array_get(list, i), &a->files[i], err));
    return CW_OK;
}

/* More bytes than the index says are not even unpacked. */
static cw_status unpack(const reading *r, const archive_file *file, cw_incoming *incoming, cw_error *err)
{
    char block[READ_BLOCK];
    la_ssize_t got;
    int64_t total = 0;
    while ((got = archive_read_data(r->zip, block, sizeof block)) > 0) {
        total += got;
        if (total > file->bytes)
            return cw_fail(err, CW_INPUT, "it is larger than the %" PRId64 " bytes the index says", file->bytes);
        CW_TRY(cw_incoming_write(incoming, block, (size_t)got, err));
    }
    if (got < 0)
        return zip_damaged(r, err);
    if (total != file->bytes)
        return cw_fail(err, CW_INPUT, "it has %" PRId64 " bytes, the index says %" PRId64, total, file->bytes);
    return CW_OK;
}

static const char *recording_name(const archive_reading *a, const char *hash)
{
    json_t *list = json_object_get(a->index, archive_kinds[ARCHIVE_RECORDING].key), *row;
    size_t i;
    json_array_foreach(list, i, row)
    {
        const char *its = json_string_value(json_object_get(row, "hash"));
        const char *name = json_string_value(json_object_get(row, "name"));
        if (its != NULL && name != NULL && strcmp(its, hash) == 0)
            return name;
    }
    return hash;
}

static cw_status settle(cw_incoming *incoming, archive_file *file, cw_error *err)
{
    files_arrived arrived;
    CW_TRY(files_arrive(incoming, &arrived, err));
    if (strcmp(arrived.hash, file->hash) != 0)
        return cw_fail(err, CW_INPUT, "its content does not match its hash; it was changed or damaged on the way");
    return file->photo ? photo_settle(incoming, &file->facts, err) : CW_OK;
}

static cw_status take_file(archive_reading *a, const reading *r, archive_file *file, cw_error *err)
{
    cw_incoming *incoming;
    if (file->taken)
        return cw_fail(err, CW_INPUT, "it is in the archive twice");
    CW_TRY(cw_incoming_open(a->bench, file->photo ? CW_INCOMING_PHOTO : CW_INCOMING_RECORDING,
                            file->photo ? file->path : recording_name(a, file->hash), &incoming, err));
    cw_status status = unpack(r, file, incoming, err);
    if (status == CW_OK)
        status = settle(incoming, file, err);
    file->taken = status == CW_OK;
    if (status == CW_OK && !file->photo)
        return cw_incoming_keep_recording(incoming, &file->recording_id, err);
    cw_incoming_abandon(incoming);
    return status;
}

static archive_file *file_at(archive_reading *a, const char *path)
{
    for (size_t i = 0; i < a->file_count; i++)
        if (strcmp(a->files[i].path, path) == 0)
            return &a->files[i];
    return NULL;
}

static cw_status take_files(archive_reading *a, const char *path, cw_error *err)
{
    reading r;
    struct archive_entry *entry;
    size_t seen = 0;
    CW_TRY(open_zip(path, &r, err));
    cw_status status;
    while ((status = next_file(&r, &seen, &entry, err)) == CW_OK && entry != NULL) {
        archive_file *file = file_at(a, archive_entry_pathname(entry));
        if (file == NULL)
            continue; /* somebody's note beside ours does no harm */
        status = take_file(a, &r, file, err);
        if (status != CW_OK) {
            cw_context(err, "\"%s\" in the archive", file->path);
            if (status == CW_RANGE) /* too large to be kept: the archive is what is wrong */
                status = err->status = CW_INPUT;
            break;
        }
    }
    archive_read_free(r.zip);
    for (size_t i = 0; status == CW_OK && i < a->file_count; i++)
        if (!a->files[i].taken)
            status =
                cw_fail(err, CW_INPUT, "the archive does not hold \"%s\", which its index names", a->files[i].path);
    return status;
}

cw_status cw_job_import(cw_bench *bench, const char *path, int64_t *job_id, cw_error *err)
{
    archive_reading a = {.bench = bench};
    if (bench->read_only)
        return cw_fail(err, CW_FILE, "the bench in \"%s\" is open for reading only; nothing was taken in",
                       bench->folder);
    CW_TRY(find_index(path, &a.index, err));
    cw_status status = archive_check_rows(&a, err);
    if (status == CW_OK)
        status = wanted_files(&a, err);
    if (status == CW_OK)
        status = take_files(&a, path, err);
    if (status == CW_OK)
        status = archive_add_rows(&a, job_id, err);
    free(a.files);
    json_decref(a.index);
    return status;
}

cw_status cw_job_import_incoming(cw_incoming *incoming, int64_t *job_id, cw_error *err)
{
    files_arrived arrived;
    cw_status status = files_arrive(incoming, &arrived, err);
    if (status == CW_OK)
        status = cw_job_import(files_bench(incoming), arrived.path, job_id, err);
    cw_incoming_abandon(incoming);
    return status;
}
