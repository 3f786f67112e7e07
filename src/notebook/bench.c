/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/bench.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "notebook/files.h"
#include "notebook/store.h"
#include "notebook/upgrade.h"
#include "notebook/vocabulary.h"

static void db_path(const cw_bench *bench, char out[STORE_PATH + 32])
{
    snprintf(out, STORE_PATH + 32, "%s/bench.db", bench->folder);
}

static bool is_empty_folder(const char *folder)
{
    DIR *dir = opendir(folder);
    if (dir == NULL)
        return false;
    bool empty = true;
    for (struct dirent *entry; empty && (entry = readdir(dir)) != NULL;)
        empty = strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0;
    closedir(dir);
    return empty;
}

/* The folder is there and may hold a bench; made when it may be. */
static cw_status prepare_folder(cw_bench *bench, cw_bench_mode mode, cw_error *err)
{
    struct stat about;
    char db[STORE_PATH + 32];
    db_path(bench, db);
    if (stat(bench->folder, &about) != 0) {
        if (errno != ENOENT)
            return cw_fail(err, CW_FILE, "the bench folder \"%s\" cannot be looked at: %s", bench->folder,
                           strerror(errno));
        if (mode != CW_BENCH_CREATE)
            return cw_fail(err, CW_NOT_FOUND, "there is no bench in \"%s\"; the first job you take in makes one",
                           bench->folder);
        if (mkdir(bench->folder, 0755) != 0 && errno != EEXIST)
            return cw_fail(err, CW_FILE, "the bench folder \"%s\" cannot be made: %s", bench->folder, strerror(errno));
        return CW_OK;
    }
    if (!S_ISDIR(about.st_mode))
        return cw_fail(err, CW_INPUT, "\"%s\" is a file; a bench is a folder", bench->folder);
    if (stat(db, &about) == 0)
        return CW_OK;
    if (mode != CW_BENCH_CREATE)
        return cw_fail(err, CW_NOT_FOUND, "the folder \"%s\" holds no bench (no bench.db); make one first",
                       bench->folder);
    if (!is_empty_folder(bench->folder))
        return cw_fail(err, CW_INPUT, "the folder \"%s\" holds other things and no bench; give a new or an empty one",
                       bench->folder);
    return CW_OK;
}

static cw_status run_pragmas(cw_bench *bench, cw_error *err)
{
    sqlite3_busy_timeout(bench->db, STORE_BUSY_MS);
    sqlite3_extended_result_codes(bench->db, 1);
    CW_TRY(store_run(bench, "PRAGMA foreign_keys = ON", STORE_NO_VALUES, err));
    CW_TRY(store_run(bench, "PRAGMA cache_size = -16000", STORE_NO_VALUES, err));
    return store_run(bench, "PRAGMA synchronous = FULL", STORE_NO_VALUES, err);
}

/* *version -1: an empty database that nothing was made in yet. */
static cw_status read_version(cw_bench *bench, int *version, cw_error *err)
{
    int64_t application, user, tables;
    CW_TRY(store_number(bench, "PRAGMA application_id", STORE_NO_VALUES, &application, err));
    CW_TRY(store_number(bench, "PRAGMA user_version", STORE_NO_VALUES, &user, err));
    CW_TRY(store_number(bench, "SELECT count(*) FROM sqlite_schema", STORE_NO_VALUES, &tables, err));
    if (application == 0 && user == 0 && tables == 0) {
        *version = -1;
        return CW_OK;
    }
    if (application != STORE_APPLICATION_ID || user < 1)
        return cw_fail(err, CW_INPUT, "bench.db in \"%s\" is some other program's database, not a bench",
                       bench->folder);
    if (user > cw_bench_schema_version())
        return cw_fail(err, CW_INPUT,
                       "the bench in \"%s\" was written by a newer version of this program (form %lld, this one knows "
                       "%d); nothing was touched. Use the newer program",
                       bench->folder, (long long)user, cw_bench_schema_version());
    *version = (int)user;
    return CW_OK;
}

/* Looks again inside the transaction: of two programs that start at once, one makes the bench and the other finds it.
 */
static cw_status bring_up_to_date(cw_bench *bench, cw_error *err)
{
    int version;
    CW_TRY(store_run(bench, "BEGIN IMMEDIATE", STORE_NO_VALUES, err));
    cw_status status = read_version(bench, &version, err);
    if (status == CW_OK && version < 0) {
        char sql[64];
        snprintf(sql, sizeof sql, "PRAGMA application_id = %d", STORE_APPLICATION_ID);
        status = store_run(bench, sql, STORE_NO_VALUES, err);
        version = 0;
    }
    if (status == CW_OK && version < cw_bench_schema_version())
        status = upgrade_bench(bench, version, err);
    if (status == CW_OK)
        status = store_run(bench, "COMMIT", STORE_NO_VALUES, err);
    if (status != CW_OK)
        sqlite3_exec(bench->db, "ROLLBACK", NULL, NULL, NULL);
    return status;
}

static cw_status open_for_writing(cw_bench *bench, cw_bench_mode mode, cw_error *err)
{
    char path[STORE_PATH + 32];
    db_path(bench, path);
    if (access(bench->folder, W_OK) != 0 || (access(path, F_OK) == 0 && access(path, W_OK) != 0))
        return cw_fail(err, CW_FILE, "the bench in \"%s\" cannot be written: %s; it can be opened for reading only",
                       bench->folder, strerror(errno));
    int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOFOLLOW | (mode == CW_BENCH_CREATE ? SQLITE_OPEN_CREATE : 0);
    char resolved[STORE_PATH];
    if (realpath(bench->folder, resolved) != NULL)
        snprintf(path, sizeof path, "%s/bench.db", resolved);
    int code = sqlite3_open_v2(path, &bench->db, flags, NULL);
    if (code != SQLITE_OK)
        return store_fail(bench, code, "opening the bench", err);
    CW_TRY(run_pragmas(bench, err));
    int version;
    CW_TRY(read_version(bench, &version, err));
    if (version < 0 && mode != CW_BENCH_CREATE)
        return cw_fail(err, CW_NOT_FOUND,
                       "bench.db in \"%s\" is empty: making the bench was interrupted. Make it again", bench->folder);
    CW_TRY(store_run(bench, "PRAGMA journal_mode = WAL", STORE_NO_VALUES, err));
    if (version < cw_bench_schema_version())
        CW_TRY(bring_up_to_date(bench, err));
    return files_make_folders(bench, err);
}

/* On a disk that cannot be written SQLite cannot keep its shared index of the log; without a log left over, the file
 * alone is the whole truth and may be opened as one that never changes. */
static cw_status look_for_reading(cw_bench *bench, int *version, cw_error *err)
{
    char resolved[STORE_PATH], path[STORE_PATH * 3 + 64];
    if (realpath(bench->folder, resolved) == NULL)
        return cw_fail(err, CW_FILE, "the bench folder \"%s\" cannot be opened: %s", bench->folder, strerror(errno));
    snprintf(path, sizeof path, "%s/bench.db-wal", resolved);
    struct stat log;
    bool frozen = access(resolved, W_OK) != 0 && (stat(path, &log) != 0 || log.st_size == 0);
    size_t used = (size_t)snprintf(path, sizeof path, "file:");
    for (const unsigned char *s = (const unsigned char *)resolved; *s != '\0' && used < sizeof path - 48; s++)
        used += (size_t)snprintf(path + used, sizeof path - used, *s == '%' || *s == '?' || *s == '#' ? "%%%02x" : "%c",
                                 *s);
    snprintf(path + used, sizeof path - used, "/bench.db%s", frozen ? "?immutable=1" : "");
    int code = sqlite3_open_v2(path, &bench->db, SQLITE_OPEN_READONLY | SQLITE_OPEN_URI, NULL);
    if (code != SQLITE_OK)
        return store_fail(bench, code, "opening the bench", err);
    CW_TRY(run_pragmas(bench, err));
    return read_version(bench, version, err);
}

/* For reading an older bench is brought up to date first, as for writing. */
static cw_status open_for_reading(cw_bench *bench, cw_error *err)
{
    int version;
    CW_TRY(look_for_reading(bench, &version, err));
    if (version == cw_bench_schema_version())
        return CW_OK;
    sqlite3_close(bench->db);
    bench->db = NULL;
    cw_status status = open_for_writing(bench, CW_BENCH_OPEN, err);
    sqlite3_close(bench->db);
    bench->db = NULL;
    if (status != CW_OK) {
        cw_context(err, "the bench was written by an older version of this program and has to be brought up to date");
        return status;
    }
    return look_for_reading(bench, &version, err);
}

cw_status cw_bench_open(const char *folder, cw_bench_mode mode, cw_bench **bench, cw_error *err)
{
    size_t length = strlen(folder);
    while (length > 1 && folder[length - 1] == '/')
        length--;
    if (length == 0 || length >= STORE_PATH - 200)
        return cw_fail(err, CW_INPUT, "the path of the bench folder is %s", length == 0 ? "empty" : "too long");
    cw_bench *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to open a bench");
    memcpy(made->folder, folder, length);
    made->read_only = mode == CW_BENCH_READ;
    cw_status status = prepare_folder(made, mode, err);
    if (status == CW_OK)
        status = mode == CW_BENCH_READ ? open_for_reading(made, err) : open_for_writing(made, mode, err);
    if (status == CW_OK)
        status = store_keep_statements(made, err);
    if (status != CW_OK) {
        cw_bench_close(made);
        return status;
    }
    *bench = made;
    return CW_OK;
}

void cw_bench_close(cw_bench *bench)
{
    if (bench == NULL)
        return;
    cw_change_cancel(bench);
    vocabulary_free(bench->vocabulary);
    store_forget_statements(bench);
    sqlite3_close(bench->db);
    free(bench);
}

const char *cw_bench_folder(const cw_bench *bench)
{
    return bench->folder;
}

int cw_bench_came_from(const cw_bench *bench)
{
    return bench->came_from;
}

bool cw_bench_read_only(const cw_bench *bench)
{
    return bench->read_only;
}
