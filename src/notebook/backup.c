/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A copy of the whole bench while it is in use. The database first, by SQLite's own means, at one instant; then every
 * file that this copy names. Files are never changed once they are there, so nothing can slip in between. */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "notebook/care.h"
#include "notebook/care_inside.h"
#include "notebook/files.h"

enum { COPY_BLOCK = 1 << 18 };

typedef struct {
    cw_bench *from, *to;
    cw_backup_report report;
} copying;

/* ---- files ---- */

static cw_status copy_bytes(const char *from, FILE *to, cw_error *err)
{
    FILE *in = fopen(from, "rb");
    if (in == NULL)
        return cw_fail(err, CW_FILE, "\"%s\" cannot be read: %s", from, strerror(errno));
    char *block = malloc(COPY_BLOCK);
    cw_status status = block == NULL ? cw_fail(err, CW_MEMORY, "no memory to copy a file") : CW_OK;
    size_t got;
    while (status == CW_OK && (got = fread(block, 1, COPY_BLOCK, in)) > 0)
        if (fwrite(block, 1, got, to) != got)
            status = cw_fail(err, CW_FILE, "the copy cannot be written: %s", strerror(errno));
    if (status == CW_OK && ferror(in))
        status = cw_fail(err, CW_FILE, "\"%s\" cannot be read: %s", from, strerror(errno));
    free(block);
    fclose(in);
    return status;
}

/* Written beside, read back and compared with its hash, and only then put in its place. */
static cw_status copy_one(const char *from, const char *to, const char *hash, cw_error *err)
{
    cw_new_file file;
    char copied[FILES_HASH_TEXT];
    int64_t bytes;
    CW_TRY(files_make_parent(to, err));
    CW_TRY(cw_new_file_open(to, &file, err));
    cw_status status = copy_bytes(from, file.stream, err);
    if (status == CW_OK && fflush(file.stream) != 0)
        status = cw_fail(err, CW_FILE, "\"%s\" cannot be written: %s", to, strerror(errno));
    if (status == CW_OK)
        status = files_hash(file.beside, copied, &bytes, err);
    if (status == CW_OK && strcmp(copied, hash) != 0)
        status = cw_fail(err, CW_STORE, "\"%s\" does not match its hash; run \"camerawright check\"", from);
    if (status == CW_OK)
        return cw_new_file_commit(&file, err);
    cw_new_file_abandon(&file);
    return status;
}

static cw_status copy_file(void *context, const care_file *file, cw_error *err)
{
    copying *c = context;
    char from[FILES_PATH], to[FILES_PATH], hash[FILES_HASH_TEXT];
    int64_t bytes;
    if (!files_hash_ok(file->hash))
        return cw_fail(err, CW_STORE, "%s has no proper hash; run \"camerawright check\"", file->what);
    files_path(c->from, file->folder, file->hash, file->extension, from);
    files_path(c->to, file->folder, file->hash, file->extension, to);
    if (access(to, F_OK) == 0) {
        CW_TRY(files_hash(to, hash, &bytes, err));
        if (strcmp(hash, file->hash) == 0) {
            c->report.files_kept++;
            return CW_OK;
        }
    }
    cw_status status = copy_one(from, to, file->hash, err);
    if (status != CW_OK) {
        cw_context(err, "%s", file->what);
        return status;
    }
    c->report.files++;
    c->report.bytes += file->bytes;
    return CW_OK;
}

/* ---- the database ---- */

/* VACUUM INTO makes one consistent copy and needs its goal not to exist. */
cw_status care_copy_database(cw_bench *bench, const char *beside, cw_error *err)
{
    unlink(beside);
    CW_TRY(store_run(bench, "VACUUM INTO ?1", STORE_VALUES(store_text(beside)), err));
    int fd = open(beside, O_RDONLY | O_CLOEXEC);
    int failed = fd < 0 || fsync(fd) != 0, reason = errno;
    if (fd >= 0)
        close(fd);
    return failed ? cw_fail(err, CW_FILE, "\"%s\" cannot be flushed to disk: %s", beside, strerror(reason)) : CW_OK;
}

/* The copy, opened as a database of its own: the files it names are the ones to copy. */
static cw_status open_copy(const char *beside, const char *folder, cw_bench *copy, cw_error *err)
{
    int64_t right;
    snprintf(copy->folder, sizeof copy->folder, "%s", folder);
    int code = sqlite3_open_v2(beside, &copy->db, SQLITE_OPEN_READONLY, NULL);
    if (code != SQLITE_OK)
        return store_fail(copy, code, "looking at the copy", err);
    CW_TRY(store_number(copy, "SELECT count(*) = 1 AND max(integrity_check) = 'ok' FROM pragma_integrity_check",
                        STORE_NO_VALUES, &right, err));
    if (right != 1)
        return cw_fail(err, CW_STORE, "the copy does not pass its check; run \"camerawright check\" on this bench");
    return CW_OK;
}

static cw_status finish(copying *c, const char *beside, const char *goal, cw_error *err)
{
    char log[FILES_PATH + 8];
    CW_TRY(care_each_file(c->to, copy_file, c, err));
    CW_TRY(store_number(c->to, "SELECT count(*) FROM job", STORE_NO_VALUES, &c->report.jobs, err));
    /* A log left beside the old copy belongs to the old copy. */
    snprintf(log, sizeof log, "%s-wal", goal);
    unlink(log);
    snprintf(log, sizeof log, "%s-shm", goal);
    unlink(log);
    if (rename(beside, goal) != 0)
        return cw_fail(err, CW_FILE, "\"%s\" cannot be put in its place: %s", goal, strerror(errno));
    return files_sync_folder(c->to->folder, err);
}

/* ---- where to ---- */

static bool same_place(const char *first, const char *second)
{
    struct stat a, b;
    return stat(first, &a) == 0 && stat(second, &b) == 0 && a.st_dev == b.st_dev && a.st_ino == b.st_ino;
}

/* The goal is made a bench first, by the same rules as any: an empty or new folder, or a bench that is not in use by a
 * newer program. It is then a copy of this one, or it is refused. */
static cw_status prepare_goal(cw_bench *bench, const char *into, cw_error *err)
{
    cw_bench *goal;
    int64_t jobs, strangers;
    if (same_place(bench->folder, into))
        return cw_fail(err, CW_INPUT, "a bench cannot be backed up into itself; give another folder");
    CW_TRY(cw_bench_open(into, CW_BENCH_CREATE, &goal, err));
    cw_status status = store_number(goal, "SELECT count(*) FROM job", STORE_NO_VALUES, &jobs, err);
    cw_bench_close(goal);
    CW_TRY(status);
    if (jobs == 0)
        return CW_OK;
    char path[FILES_PATH];
    snprintf(path, sizeof path, "%s/bench.db", into);
    CW_TRY(store_run(bench, "ATTACH ?1 AS goal", STORE_VALUES(store_text(path)), err));
    status = store_number(
        bench, "SELECT count(*) FROM goal.bench_identity WHERE name NOT IN (SELECT name FROM main.bench_identity)",
        STORE_NO_VALUES, &strangers, err);
    cw_status detached = store_run(bench, "DETACH goal", STORE_NO_VALUES, err);
    CW_TRY(status);
    CW_TRY(detached);
    if (strangers > 0)
        return cw_fail(err, CW_INPUT, "\"%s\" holds another bench, not a backup of this one; give another folder",
                       into);
    return CW_OK;
}

cw_status cw_backup(cw_bench *bench, const char *into, cw_backup_report *report, cw_error *err)
{
    char beside[FILES_PATH], goal[FILES_PATH];
    if (bench->depth > 0)
        return cw_fail(err, CW_CONFLICT, "a change is still open; end it before a backup");
    if (strlen(into) == 0 || strlen(into) >= STORE_PATH - 200)
        return cw_fail(err, CW_INPUT, "the path of the backup folder is %s", into[0] == '\0' ? "empty" : "too long");
    CW_TRY(prepare_goal(bench, into, err));
    snprintf(beside, sizeof beside, "%s/bench.db.new", into);
    snprintf(goal, sizeof goal, "%s/bench.db", into);
    cw_bench copy = {0};
    copying c = {.from = bench, .to = &copy};
    cw_status status = care_copy_database(bench, beside, err);
    if (status == CW_OK)
        status = open_copy(beside, into, &copy, err);
    if (status == CW_OK)
        status = finish(&c, beside, goal, err);
    sqlite3_close(copy.db);
    if (status != CW_OK) {
        unlink(beside);
        return status;
    }
    *report = c.report;
    return CW_OK;
}
