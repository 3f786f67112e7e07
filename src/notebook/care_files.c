/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The files a bench names. What undo could still bring back counts as named: the changesets of the history are read for
 * the photos and recordings in them. */
#include <dirent.h>
#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "notebook/care_inside.h"
#include "notebook/files.h"

/* ---- files that rows name ---- */

static const char every_file[] = "SELECT 'photos', hash, CASE media WHEN 'image/png' THEN '.png' ELSE '.jpg' END, "
                                 "bytes, 'photo ' || min(id) || ' of job ' "
                                 "|| job_id, '' FROM photo GROUP BY hash UNION ALL SELECT 'recordings', hash, '', "
                                 "bytes, 'recording ' || id || ' \"' || "
                                 "name || '\"', name FROM recording";

cw_status care_each_file(cw_bench *bench, cw_status (*see)(void *context, const care_file *file, cw_error *err),
                         void *context, cw_error *err)
{
    sqlite3_stmt *st;
    CW_TRY(store_prepare(bench, every_file, STORE_NO_VALUES, &st, err));
    cw_status status = CW_OK;
    int code = SQLITE_DONE;
    while (status == CW_OK && (code = sqlite3_step(st)) == SQLITE_ROW) {
        char extension[16];
        const char *name = (const char *)sqlite3_column_text(st, 5);
        snprintf(extension, sizeof extension, "%s", (const char *)sqlite3_column_text(st, 2));
        if (name[0] != '\0')
            files_extension(name, extension);
        care_file file = {.folder = (const char *)sqlite3_column_text(st, 0),
                          .hash = (const char *)sqlite3_column_text(st, 1),
                          .extension = extension,
                          .bytes = sqlite3_column_int64(st, 3),
                          .what = (const char *)sqlite3_column_text(st, 4)};
        status = see(context, &file, err);
    }
    if (status == CW_OK && code != SQLITE_DONE)
        status = store_fail(bench, code, "listing the files", err);
    sqlite3_finalize(st);
    return status;
}

/* ---- what undo could bring back ---- */

static cw_status note_value(cw_bench *bench, const char *table, sqlite3_value *value, cw_error *err)
{
    if (value == NULL || sqlite3_value_type(value) == SQLITE_NULL)
        return CW_OK;
    if (strcmp(table, "photo") == 0)
        return store_run(bench, "INSERT OR IGNORE INTO temp.kept(hash) VALUES(?1)",
                         STORE_VALUES(store_text((const char *)sqlite3_value_text(value))), err);
    return store_run(bench, "INSERT OR IGNORE INTO temp.kept(hash) SELECT hash FROM recording WHERE id = ?1",
                     STORE_VALUES(store_int(sqlite3_value_int64(value))), err);
}

static cw_status note_row(cw_bench *bench, sqlite3_changeset_iter *rows, int hash_column, int recording_column,
                          cw_error *err)
{
    const char *table;
    int columns, operation;
    sqlite3_value *before = NULL, *after = NULL;
    if (sqlite3changeset_op(rows, &table, &columns, &operation, NULL) != SQLITE_OK)
        return CW_OK;
    bool photo = strcmp(table, "photo") == 0, test = strcmp(table, "test") == 0;
    int column = photo ? hash_column : recording_column;
    if ((!photo && !test) || column >= columns)
        return CW_OK;
    if (operation != SQLITE_INSERT)
        sqlite3changeset_old(rows, column, &before);
    if (operation != SQLITE_DELETE)
        sqlite3changeset_new(rows, column, &after);
    CW_TRY(note_value(bench, table, before, err));
    return note_value(bench, table, after, err);
}

static cw_status note_change(cw_bench *bench, const void *blob, int size, int hash_column, int recording_column,
                             cw_error *err)
{
    sqlite3_changeset_iter *rows;
    if (sqlite3changeset_start(&rows, size, (void *)(uintptr_t)blob) != SQLITE_OK)
        return cw_fail(err, CW_STORE, "the history cannot be read; nothing was removed");
    cw_status status = CW_OK;
    int code = SQLITE_DONE;
    while (status == CW_OK && (code = sqlite3changeset_next(rows)) == SQLITE_ROW)
        status = note_row(bench, rows, hash_column, recording_column, err);
    if (sqlite3changeset_finalize(rows) != SQLITE_OK && status == CW_OK)
        status = cw_fail(err, CW_STORE, "the history cannot be read; nothing was removed");
    return status;
}

/* temp.kept: every hash that a row names or the history could bring back. */
static cw_status gather_kept(cw_bench *bench, cw_error *err)
{
    int64_t hash_column, recording_column;
    sqlite3_stmt *st;
    CW_TRY(store_run(bench, "DROP TABLE IF EXISTS temp.kept", STORE_NO_VALUES, err));
    CW_TRY(store_run(bench, "CREATE TEMP TABLE kept(hash TEXT PRIMARY KEY) WITHOUT ROWID", STORE_NO_VALUES, err));
    CW_TRY(
        store_run(bench,
                  "INSERT OR IGNORE INTO temp.kept(hash) SELECT hash FROM photo UNION SELECT hash FROM recording WHERE "
                  "EXISTS(SELECT 1 FROM test WHERE recording_id = recording.id)",
                  STORE_NO_VALUES, err));
    CW_TRY(store_number(bench, "SELECT cid FROM pragma_table_info('photo') WHERE name = 'hash'", STORE_NO_VALUES,
                        &hash_column, err));
    CW_TRY(store_number(bench, "SELECT cid FROM pragma_table_info('test') WHERE name = 'recording_id'", STORE_NO_VALUES,
                        &recording_column, err));
    CW_TRY(store_prepare(bench, "SELECT rows FROM change WHERE rows IS NOT NULL", STORE_NO_VALUES, &st, err));
    cw_status status = CW_OK;
    int code = SQLITE_DONE;
    while (status == CW_OK && (code = sqlite3_step(st)) == SQLITE_ROW)
        status = note_change(bench, sqlite3_column_blob(st, 0), sqlite3_column_bytes(st, 0), (int)hash_column,
                             (int)recording_column, err);
    if (status == CW_OK && code != SQLITE_DONE)
        status = store_fail(bench, code, "reading the history", err);
    sqlite3_finalize(st);
    return status;
}

/* A recording is young for an hour: the test that will name it may be about to be stored. */
static const char forgettable[] = "NOT EXISTS(SELECT 1 FROM temp.kept WHERE kept.hash = recording.hash) AND added_at < "
                                  "strftime('%Y-%m-%dT%H:%M:%SZ', 'now', '-1 hour')";

cw_status care_forget_recordings(cw_bench *bench, cw_error *err)
{
    char sql[400];
    CW_TRY(gather_kept(bench, err));
    snprintf(sql, sizeof sql, "DELETE FROM recording WHERE %s", forgettable);
    return store_run(bench, sql, STORE_NO_VALUES, err);
}

/* ---- files that nothing names ---- */

/* What belongs to a file's name: 64 digits, then its ending. */
static bool is_kept(cw_bench *bench, const char *name, bool *kept, cw_error *err, cw_status *status)
{
    char hash[FILES_HASH_TEXT] = "";
    int64_t found;
    memcpy(hash, name, strnlen(name, sizeof hash - 1));
    *kept = false;
    if (files_hash_ok(hash)) {
        *status = store_number(bench, "SELECT count(*) FROM temp.kept WHERE hash = ?1", STORE_VALUES(store_text(hash)),
                               &found, err);
        *kept = found > 0;
    }
    return *status == CW_OK;
}

enum { YOUNG_S = 3600 };

static cw_status each_in(cw_bench *bench, const char *folder,
                         cw_status (*see)(void *context, const char *path, cw_error *err), void *context, cw_error *err)
{
    DIR *dir = opendir(folder);
    if (dir == NULL)
        return errno == ENOENT || errno == ENOTDIR
                   ? CW_OK
                   : cw_fail(err, CW_FILE, "the folder \"%s\" cannot be read: %s", folder, strerror(errno));
    cw_status status = CW_OK;
    for (struct dirent *entry; status == CW_OK && (entry = readdir(dir)) != NULL;) {
        char path[FILES_PATH + 256];
        struct stat about;
        bool kept;
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (entry->d_name[0] == '.' || lstat(path, &about) != 0)
            continue;
        bool young = time(NULL) - about.st_mtime < YOUNG_S && S_ISREG(about.st_mode);
        if (is_kept(bench, entry->d_name, &kept, err, &status) && !kept && !young && !S_ISDIR(about.st_mode))
            status = see(context, path, err);
    }
    closedir(dir);
    return status;
}

cw_status care_each_orphan(cw_bench *bench, cw_status (*see)(void *context, const char *path, cw_error *err),
                           void *context, cw_error *err)
{
    static const char *const folders[] = {"photos", "recordings", "thumbs"};
    CW_TRY(gather_kept(bench, err));
    CW_TRY(store_run(bench, "INSERT OR IGNORE INTO temp.kept(hash) SELECT hash FROM recording", STORE_NO_VALUES, err));
    for (size_t i = 0; i < CW_COUNT(folders); i++) {
        char path[FILES_PATH];
        snprintf(path, sizeof path, "%s/%s", bench->folder, folders[i]);
        CW_TRY(each_in(bench, path, see, context, err));
        for (int pair = 0; pair < 256; pair++) {
            snprintf(path, sizeof path, "%s/%s/%02x", bench->folder, folders[i], pair);
            CW_TRY(each_in(bench, path, see, context, err));
        }
    }
    return CW_OK;
}
