/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/photo.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "notebook/archive.h"
#include "notebook/files.h"
#include "notebook/photo_file.h"
#include "notebook/picture.h"
#include "notebook/tables.h"

#define PLACE(field) offsetof(cw_photo, field)

static const char *const media_words[] = {"image/jpeg", "image/png"};

static const store_column photo_columns[] = {
    {"id", "number", PLACE(id), STORE_INT, 0, NULL, 0},
    {"revision", "revision", PLACE(revision), STORE_INT, 0, NULL, 0},
    {"job_id", "the job", PLACE(job_id), STORE_REF, STORE_ADD, NULL, 0},
    {"step_id", "the step", PLACE(step_id), STORE_REF, STORE_BOTH, NULL, 0},
    {"part_id", "the part", PLACE(part_id), STORE_REF, STORE_BOTH, NULL, 0},
    {"caption", "the caption", PLACE(caption), STORE_NOTE, STORE_BOTH, NULL, 0},
    {"hash", "the hash", PLACE(hash), STORE_LINE, STORE_ADD, NULL, 0},
    {"media", "the kind of picture", PLACE(media), STORE_LINE, STORE_ADD, NULL, 0},
    {"name", "the file name", PLACE(name), STORE_LINE, STORE_ADD, NULL, 0},
    {"bytes", "the size", PLACE(bytes), STORE_INT, STORE_ADD, NULL, 0},
    {"width_px", "the width", PLACE(width_px), STORE_INT, STORE_ADD, NULL, 0},
    {"height_px", "the height", PLACE(height_px), STORE_INT, STORE_ADD, NULL, 0},
    {"orientation", "the orientation", PLACE(orientation), STORE_INT, STORE_ADD, NULL, 0},
    {"taken_at", "when it was taken", PLACE(taken_at), STORE_LINE, STORE_ADD, NULL, 0},
    {"created_at", "instant", PLACE(created_at), STORE_INSTANT, STORE_ADD, NULL, 0},
    {"(SELECT count(*) FROM photo_mark WHERE photo_id = photo.id)", "", PLACE(mark_count), STORE_INT, 0, NULL, 0},
};
const store_table photo_table = {"photo",          "photo",   photo_columns,   CW_COUNT(photo_columns),
                                 sizeof(cw_photo), PLACE(id), PLACE(revision), PLACE(held)};

/* ---- the file ---- */

cw_status photo_file_open(const char *path, photo_file *file, cw_error *err)
{
    struct stat about;
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
    if (fd < 0)
        return cw_fail(err, CW_FILE, "the photo is not where it was kept (\"%s\": %s); go back to a backup", path,
                       strerror(errno));
    void *bytes = MAP_FAILED;
    bool empty = fstat(fd, &about) == 0 && about.st_size == 0;
    if (!empty)
        bytes = mmap(NULL, (size_t)about.st_size, PROT_READ, MAP_PRIVATE, fd, 0);
    close(fd);
    if (bytes == MAP_FAILED && !empty)
        return cw_fail(err, CW_FILE, "\"%s\" cannot be read: %s", path, strerror(errno));
    *file = (photo_file){empty ? NULL : bytes, empty ? 0 : (size_t)about.st_size};
    return CW_OK;
}

void photo_file_close(photo_file *file)
{
    if (file->size > 0)
        munmap((void *)(uintptr_t)file->bytes, file->size);
    *file = (photo_file){0};
}

static const char *extension_of(const char *media)
{
    return strcmp(media, media_words[1]) == 0 ? ".png" : ".jpg";
}

static cw_status photo_place(cw_bench *bench, const cw_photo *photo, char path[FILES_PATH], cw_error *err)
{
    if (!files_hash_ok(photo->hash))
        return cw_fail(err, CW_STORE, "photo %" PRId64 " has no proper hash; the bench is damaged", photo->id);
    files_path(bench, "photos", photo->hash, extension_of(photo->media), path);
    if (access(path, R_OK) != 0)
        return cw_fail(err, errno == ENOENT ? CW_NOT_FOUND : CW_FILE,
                       "photo %" PRId64 " is not where it was kept (\"%s\"): %s. Put it back from a backup; "
                       "`camerawright check` names all that is missing",
                       photo->id, path, strerror(errno));
    return CW_OK;
}

cw_status cw_photo_path(cw_bench *bench, int64_t id, char *path, size_t size, cw_error *err)
{
    cw_photo photo;
    char full[FILES_PATH];
    CW_TRY(cw_photo_get(bench, id, &photo, err));
    cw_status status = photo_place(bench, &photo, full, err);
    cw_photo_free(&photo);
    CW_TRY(status);
    if (strlen(full) >= size)
        return cw_fail(err, CW_RANGE, "the path of a photo does not fit in %zu bytes", size);
    memcpy(path, full, strlen(full) + 1);
    return CW_OK;
}

/* ---- taking in ---- */

static cw_status check_links(cw_bench *bench, int64_t job_id, int64_t step_id, int64_t part_id, cw_error *err)
{
    int64_t found;
    CW_TRY(store_job_of(bench, &job_table, job_id, NULL, err));
    if (step_id != 0)
        CW_TRY(step_of_job(bench, step_id, job_id, err));
    if (part_id == 0)
        return CW_OK;
    CW_TRY(store_number(bench, "SELECT count(*) FROM part WHERE id = ?1 AND job_id = ?2",
                        STORE_VALUES(store_int(part_id), store_int(job_id)), &found, err));
    if (found == 0)
        return cw_fail(err, CW_NOT_FOUND, "this job has no part with the id %" PRId64, part_id);
    return CW_OK;
}

static cw_status look_at(const files_arrived *arrived, picture_info *info, cw_error *err)
{
    photo_file file;
    CW_TRY(photo_file_open(arrived->path, &file, err));
    cw_status status = picture_inspect(file.bytes, file.size, info, err);
    photo_file_close(&file);
    return status;
}

cw_status photo_settle(cw_incoming *incoming, photo_file_facts *facts, cw_error *err)
{
    picture_info info;
    if (!files_is_photo(incoming))
        return cw_fail(err, CW_INPUT, "this was taken in as a recording, not as a photo");
    CW_TRY(files_arrive(incoming, &facts->arrived, err));
    cw_status status = look_at(&facts->arrived, &info, err);
    if (status != CW_OK) {
        cw_context(err, "%s", facts->arrived.name);
        return status;
    }
    facts->media = media_words[info.png];
    facts->width_px = info.width_px;
    facts->height_px = info.height_px;
    facts->orientation = info.orientation;
    memcpy(facts->taken_at, info.taken_at, sizeof facts->taken_at);
    return files_settle(incoming, "photos", extension_of(facts->media), err);
}

void photo_fill(cw_photo *photo, const photo_file_facts *facts)
{
    photo->hash = facts->arrived.hash;
    photo->media = facts->media;
    photo->bytes = facts->arrived.bytes;
    photo->width_px = facts->width_px;
    photo->height_px = facts->height_px;
    photo->orientation = facts->orientation;
    photo->taken_at = facts->taken_at;
}

static cw_status keep_photo(cw_incoming *incoming, cw_photo *photo, int64_t *id, cw_error *err)
{
    cw_bench *bench = files_bench(incoming);
    photo_file_facts facts;
    char now[32];
    photo->hash = photo->media = photo->taken_at = "";
    CW_TRY(store_check(&photo_table, photo, STORE_ADD, err));
    CW_TRY(check_links(bench, photo->job_id, photo->step_id, photo->part_id, err));
    CW_TRY(photo_settle(incoming, &facts, err));
    store_now(now);
    photo_fill(photo, &facts);
    photo->name = facts.arrived.name;
    photo->created_at = now;
    CW_TRY(store_enter(bench, photo->job_id, err, "photo \"%s\" added", photo->name));
    return store_leave(bench, photo->job_id, store_add(bench, &photo_table, photo, id, err), err);
}

cw_status cw_photo_keep(cw_incoming *incoming, int64_t job_id, int64_t step_id, int64_t part_id, const char *caption,
                        int64_t *photo_id, cw_error *err)
{
    cw_photo photo = {.job_id = job_id, .step_id = step_id, .part_id = part_id, .caption = caption};
    int64_t made = 0;
    cw_status status = keep_photo(incoming, &photo, &made, err);
    cw_incoming_abandon(incoming);
    if (status == CW_OK)
        *photo_id = made;
    return status;
}

cw_status cw_photo_import(cw_bench *bench, const char *path, int64_t job_id, int64_t step_id, int64_t part_id,
                          const char *caption, int64_t *photo_id, cw_error *err)
{
    cw_incoming *incoming;
    CW_TRY(cw_incoming_open(bench, CW_INCOMING_PHOTO, path, &incoming, err));
    cw_status status = files_copy_in(incoming, path, err);
    if (status == CW_OK)
        return cw_photo_keep(incoming, job_id, step_id, part_id, caption, photo_id, err);
    cw_incoming_abandon(incoming);
    return status;
}

/* ---- rows ---- */

cw_status cw_photo_get(cw_bench *bench, int64_t id, cw_photo *photo, cw_error *err)
{
    return store_get(bench, &photo_table, id, photo, err);
}

static cw_status update_photo(cw_bench *bench, const cw_photo *photo, int64_t job_id, cw_error *err)
{
    CW_TRY(check_links(bench, job_id, photo->step_id, photo->part_id, err));
    return store_update(bench, &photo_table, photo, err);
}

cw_status cw_photo_update(cw_bench *bench, const cw_photo *photo, cw_error *err)
{
    int64_t job_id;
    CW_TRY(store_job_of(bench, &photo_table, photo->id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "photo %" PRId64 " edited", photo->id));
    return store_leave(bench, job_id, update_photo(bench, photo, job_id, err), err);
}

static cw_status delete_photo(cw_bench *bench, int64_t id, cw_error *err)
{
    CW_TRY(store_run(bench, "DELETE FROM photo_mark WHERE photo_id = ?1", STORE_VALUES(store_int(id)), err));
    CW_TRY(store_run(bench, "UPDATE job SET cover_photo_id = NULL, revision = ?2 WHERE cover_photo_id = ?1",
                     STORE_VALUES(store_int(id), store_int(bench->change_id)), err));
    CW_TRY(store_run(bench, "UPDATE checklist_item SET photo_id = NULL, revision = ?2 WHERE photo_id = ?1",
                     STORE_VALUES(store_int(id), store_int(bench->change_id)), err));
    CW_TRY(store_run(bench, "UPDATE film_frame SET photo_id = NULL, revision = ?2 WHERE photo_id = ?1",
                     STORE_VALUES(store_int(id), store_int(bench->change_id)), err));
    return store_delete(bench, &photo_table, id, err);
}

cw_status cw_photo_delete(cw_bench *bench, int64_t id, cw_error *err)
{
    int64_t job_id;
    CW_TRY(store_job_of(bench, &photo_table, id, &job_id, err));
    CW_TRY(store_enter(bench, job_id, err, "photo %" PRId64 " taken out", id));
    return store_leave(bench, job_id, delete_photo(bench, id, err), err);
}

void cw_photo_free(cw_photo *photo)
{
    if (photo == NULL)
        return;
    store_release(&photo->held);
    *photo = (cw_photo){0};
}

cw_status cw_photo_page(cw_bench *bench, const cw_photo_filter *filter, cw_photo_list *list, cw_error *err)
{
    store_value values[] = {store_int(filter->job_id), store_int(filter->step_id), store_int(filter->part_id),
                            store_int(filter->most), store_int(filter->first)};
    char where[200], sql[300];
    int64_t total;
    store_rows rows;
    CW_TRY(store_paging(filter->first, filter->most, 500, err));
    if (filter->job_id == 0 && filter->step_id == 0 && filter->part_id == 0)
        return cw_fail(err, CW_INPUT, "photos are listed by job, step or part; none is named");
    snprintf(where, sizeof where, "WHERE ?1 = ?1 AND ?2 = ?2 AND ?3 = ?3%s%s%s",
             filter->job_id == 0 ? "" : " AND job_id = ?1", filter->step_id == 0 ? "" : " AND step_id = ?2",
             filter->part_id == 0 ? "" : " AND part_id = ?3");
    snprintf(sql, sizeof sql, "SELECT count(*) FROM photo %s", where);
    CW_TRY(store_number(bench, sql, values, 3, &total, err));
    snprintf(sql, sizeof sql, "%s ORDER BY id LIMIT ?4 OFFSET ?5", where);
    CW_TRY(store_list(bench, &photo_table, sql, values, CW_COUNT(values), &rows, err));
    *list = (cw_photo_list){rows.count, rows.items, total, rows.held};
    return CW_OK;
}

void cw_photo_list_free(cw_photo_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_photo_list){0};
}

/* ---- small versions ---- */

static cw_status make_thumb(const char *original, int side, const char *goal, cw_error *err)
{
    photo_file file;
    unsigned char *jpeg;
    size_t size;
    CW_TRY(photo_file_open(original, &file, err));
    cw_status status = picture_thumb(file.bytes, file.size, side, &jpeg, &size, err);
    photo_file_close(&file);
    CW_TRY(status);
    status = files_make_parent(goal, err);
    if (status == CW_OK)
        status = cw_write_file(goal, jpeg, size, err);
    free(jpeg);
    return status;
}

static cw_status thumb_place(cw_bench *bench, const cw_photo *photo, cw_thumb_size side, char path[FILES_PATH],
                             cw_error *err)
{
    char original[FILES_PATH], ending[32];
    if (side != CW_THUMB_SMALL && side != CW_THUMB_MIDDLE && side != CW_THUMB_LARGE)
        return cw_fail(err, CW_INPUT, "small pictures are %d, %d or %d pixels long, not %d", CW_THUMB_SMALL,
                       CW_THUMB_MIDDLE, CW_THUMB_LARGE, (int)side);
    CW_TRY(photo_place(bench, photo, original, err));
    snprintf(ending, sizeof ending, "-%d.jpg", (int)side);
    files_path(bench, "thumbs", photo->hash, ending, path);
    if (access(path, R_OK) == 0)
        return CW_OK;
    if (bench->read_only) {
        memcpy(path, original, sizeof original);
        return CW_OK;
    }
    cw_status status = make_thumb(original, (int)side, path, err);
    if (status != CW_OK)
        cw_context(err, "photo %" PRId64, photo->id);
    return status;
}

cw_status cw_photo_thumb(cw_bench *bench, int64_t id, cw_thumb_size side, char *path, size_t size, cw_error *err)
{
    cw_photo photo;
    char full[FILES_PATH];
    CW_TRY(cw_photo_get(bench, id, &photo, err));
    cw_status status = thumb_place(bench, &photo, side, full, err);
    cw_photo_free(&photo);
    CW_TRY(status);
    if (strlen(full) >= size)
        return cw_fail(err, CW_RANGE, "the path of a photo does not fit in %zu bytes", size);
    memcpy(path, full, strlen(full) + 1);
    return CW_OK;
}

/* ---- without its place ---- */

cw_status photo_export_to(cw_bench *bench, int64_t photo_id, photo_sink sink, void *goal, cw_error *err)
{
    char path[FILES_PATH];
    photo_file file;
    CW_TRY(cw_photo_path(bench, photo_id, path, sizeof path, err));
    CW_TRY(photo_file_open(path, &file, err));
    cw_buf clean = cw_buf_new(file.size + 1);
    cw_status status = picture_without_place(file.bytes, file.size, &clean, err);
    if (status == CW_OK)
        status = clean.length > 0 ? sink(goal, clean.text, clean.length, err)
                                  : sink(goal, (const char *)file.bytes, file.size, err);
    if (status != CW_OK)
        cw_context(err, "photo %" PRId64, photo_id);
    cw_buf_free(&clean);
    photo_file_close(&file);
    return status;
}

static cw_status to_file(void *path, const char *bytes, size_t size, cw_error *err)
{
    return cw_write_file(path, bytes, size, err);
}

cw_status cw_photo_export(cw_bench *bench, int64_t photo_id, const char *path, cw_error *err)
{
    return photo_export_to(bench, photo_id, to_file, (void *)(uintptr_t)path, err);
}
