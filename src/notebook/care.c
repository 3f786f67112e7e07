/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Is the bench whole? Looks at the database, the index, the files and the rules that hold between them. */
#include "notebook/care.h"

#include <dirent.h>
#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "notebook/care_inside.h"
#include "notebook/files.h"

enum { TROUBLES_MOST = 10000 };

typedef struct {
    cw_bench *bench;
    struct cw_trouble *items;
    size_t count, capacity;
    void *held;
    bool with_hashes;
} looking;

static cw_status note(looking *l, cw_trouble_kind kind, cw_error *err, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* Beyond the most there is nothing new to learn: the sentences end there, and say so. */
static cw_status note(looking *l, cw_trouble_kind kind, cw_error *err, const char *format, ...)
{
    char text[2000];
    if (l->count >= TROUBLES_MOST)
        return CW_OK;
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    if (l->count == TROUBLES_MOST - 1)
        snprintf(text, sizeof text, "there is more trouble than is listed here");
    CW_TRY(cw_grow(&l->items, &l->capacity, l->count + 1, sizeof *l->items, TROUBLES_MOST, "troubles", err));
    const char *kept = store_keep(&l->held, text);
    if (kept == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to list what is wrong");
    l->items[l->count++] = (struct cw_trouble){kind, kept};
    return CW_OK;
}

/* ---- the database ---- */

/* Runs a statement whose every row is a trouble; its first column is the sentence. */
static cw_status each_row_is_trouble(looking *l, const char *sql, cw_trouble_kind kind, const char *before,
                                     cw_error *err)
{
    sqlite3_stmt *st;
    CW_TRY(store_prepare(l->bench, sql, STORE_NO_VALUES, &st, err));
    cw_status status = CW_OK;
    int code = SQLITE_DONE;
    while (status == CW_OK && (code = sqlite3_step(st)) == SQLITE_ROW) {
        const char *text = (const char *)sqlite3_column_text(st, 0);
        if (text != NULL && strcmp(text, "ok") != 0)
            status = note(l, kind, err, "%s%s", before, text);
    }
    if (status == CW_OK && code != SQLITE_DONE)
        status =
            note(l, CW_TROUBLE_DATABASE, err, "the database cannot be read whole: %s", sqlite3_errmsg(l->bench->db));
    sqlite3_finalize(st);
    return status;
}

static cw_status look_at_database(looking *l, cw_error *err)
{
    CW_TRY(each_row_is_trouble(l, "PRAGMA integrity_check(100)", CW_TROUBLE_DATABASE,
                               "the database is damaged, go back to a backup: ", err));
    return each_row_is_trouble(
        l,
        "SELECT 'row ' || coalesce(rowid, '?') || ' of ' || \"table\" || ' points to a row of ' || "
        "parent || ' that is not there' FROM pragma_foreign_key_check",
        CW_TROUBLE_DATABASE, "", err);
}

/* The index, without writing: each document against what it should hold. */
static cw_status look_at_index(looking *l, cw_error *err)
{
    static const char *const tables[] = {"job", "step", "part", "photo", "test", "tool"};
    for (size_t i = 0; i < CW_COUNT(tables); i++) {
        char sql[700];
        int64_t wrong;
        snprintf(
            sql, sizeof sql,
            "SELECT (SELECT count(*) FROM %s_document AS d LEFT JOIN words ON words.rowid = d.document WHERE "
            "words.title "
            "IS NOT d.title OR words.body IS NOT d.body OR words.camera IS NOT d.camera) + (SELECT count(*) FROM words "
            "WHERE rowid %% 8 = %zu AND NOT EXISTS(SELECT 1 FROM %s WHERE id = words.rowid / 8))",
            tables[i], i, tables[i]);
        CW_TRY(store_number(l->bench, sql, STORE_NO_VALUES, &wrong, err));
        if (wrong > 0)
            CW_TRY(note(l, CW_TROUBLE_INDEX, err,
                        "the search index is wrong for %" PRId64 " %ss; \"camerawright check --tidy\" makes it again",
                        wrong, tables[i]));
    }
    return CW_OK;
}

/* FTS5 checks itself by a command that counts as writing: done on a copy that is thrown away, so that nobody has to
 * wait and a bench opened for reading can be checked too. */
static cw_status look_inside_index(looking *l, cw_error *err)
{
    sqlite3 *copy = NULL;
    int code = sqlite3_open("", &copy);
    sqlite3_backup *backup = code == SQLITE_OK ? sqlite3_backup_init(copy, "main", l->bench->db, "main") : NULL;
    if (backup != NULL) {
        code = sqlite3_backup_step(backup, -1);
        sqlite3_backup_finish(backup);
    }
    cw_status status = CW_OK;
    if (backup == NULL || code != SQLITE_DONE)
        status = cw_fail(err, CW_FILE, "no room for a copy of the database, on which the search index is checked: %s",
                         sqlite3_errmsg(copy));
    else if (sqlite3_exec(copy, "INSERT INTO words(words, rank) VALUES('integrity-check', 1)", NULL, NULL, NULL) !=
             SQLITE_OK)
        status = note(l, CW_TROUBLE_INDEX, err,
                      "the search index is damaged inside (%s); \"camerawright check --tidy\" makes it again",
                      sqlite3_errmsg(copy));
    sqlite3_close(copy);
    return status;
}

/* ---- rules between rows ---- */

static cw_status look_at_rules(looking *l, cw_error *err)
{
    CW_TRY(each_row_is_trouble(l,
                               "SELECT 'job ' || job.id || ' \"' || camera || '\" is ' || stage || ', but ' || "
                               "sum(pieces) || ' pieces are out' "
                               "FROM job JOIN part ON part.job_id = job.id WHERE state = 'out' AND stage IN "
                               "('together', 'proved', 'handed-on') "
                               "GROUP BY job.id",
                               CW_TROUBLE_CIRCLE, "", err));
    CW_TRY(each_row_is_trouble(l,
                               "WITH RECURSIVE over(start, now) AS (SELECT under_id, over_id FROM block UNION SELECT "
                               "start, over_id FROM over JOIN "
                               "block ON under_id = now) SELECT 'in job ' || job_id || ' \"' || name || '\" lies under "
                               "itself' FROM over JOIN thing "
                               "ON thing.id = start WHERE start = now",
                               CW_TROUBLE_CIRCLE, "", err));
    return each_row_is_trouble(l,
                               "SELECT 'photo ' || photo.id || ' of job ' || photo.job_id || ' belongs to a step of "
                               "another job' FROM photo JOIN "
                               "step ON step.id = step_id WHERE step.job_id <> photo.job_id UNION ALL SELECT 'part ' "
                               "|| part.id || ' of job ' || "
                               "part.job_id || ' belongs to a step of another job' FROM part JOIN step ON step.id = "
                               "step_id WHERE step.job_id <> "
                               "part.job_id UNION ALL SELECT 'part ' || part.id || ' of job ' || part.job_id || ' lies "
                               "in a tray of another job' "
                               "FROM part JOIN tray ON tray.id = tray_id WHERE tray.job_id <> part.job_id",
                               CW_TROUBLE_DATABASE, "", err);
}

/* ---- files ---- */

static cw_status look_at_file(looking *l, const care_file *file, cw_error *err)
{
    char path[FILES_PATH], hash[FILES_HASH_TEXT];
    struct stat about;
    int64_t bytes;
    if (!files_hash_ok(file->hash))
        return note(l, CW_TROUBLE_DATABASE, err, "%s has no proper hash", file->what);
    files_path(l->bench, file->folder, file->hash, file->extension, path);
    if (stat(path, &about) != 0)
        return note(l, CW_TROUBLE_MISSING, err, "%s is missing (\"%s\"); go back to a backup", file->what, path);
    if (about.st_size != file->bytes)
        return note(l, CW_TROUBLE_CHANGED, err,
                    "%s was changed: it has %lld bytes and had %" PRId64 " (\"%s\"); go back to a backup", file->what,
                    (long long)about.st_size, file->bytes, path);
    if (!l->with_hashes)
        return CW_OK;
    cw_status status = files_hash(path, hash, &bytes, err);
    if (status == CW_FILE || status == CW_NOT_FOUND)
        return note(l, CW_TROUBLE_MISSING, err, "%s: %s", file->what, err->text);
    CW_TRY(status);
    if (strcmp(hash, file->hash) != 0)
        return note(l, CW_TROUBLE_CHANGED, err, "%s was changed since it was kept (\"%s\"); go back to a backup",
                    file->what, path);
    return CW_OK;
}

static cw_status look_at_one(void *looking_at, const care_file *file, cw_error *err)
{
    return look_at_file(looking_at, file, err);
}

static cw_status orphan(void *looking_at, const char *path, cw_error *err)
{
    return note(looking_at, CW_TROUBLE_ORPHAN, err,
                "nothing names the file \"%s\"; \"camerawright check --tidy\" removes it", path);
}

/* ---- all of it ---- */

static cw_status look(looking *l, cw_trouble_list *list, cw_error *err)
{
    CW_TRY(store_number(l->bench, "SELECT count(*) FROM job", STORE_NO_VALUES, &list->jobs, err));
    CW_TRY(store_number(l->bench, "SELECT count(*) FROM photo", STORE_NO_VALUES, &list->photos, err));
    CW_TRY(store_number(l->bench, "SELECT count(*) FROM recording", STORE_NO_VALUES, &list->recordings, err));
    CW_TRY(look_at_database(l, err));
    CW_TRY(look_at_index(l, err));
    CW_TRY(look_inside_index(l, err));
    CW_TRY(look_at_rules(l, err));
    CW_TRY(care_each_file(l->bench, look_at_one, l, err));
    return care_each_orphan(l->bench, orphan, l, err);
}

cw_status cw_check(cw_bench *bench, bool with_hashes, cw_trouble_list *list, cw_error *err)
{
    looking l = {.bench = bench, .with_hashes = with_hashes};
    cw_trouble_list made = {0};
    cw_status status = look(&l, &made, err);
    made.items = store_keep_items(&l.held, l.count, sizeof *made.items);
    if (status == CW_OK && made.items == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory to list what is wrong");
    if (status == CW_OK && l.count > 0)
        memcpy(made.items, l.items, l.count * sizeof *l.items);
    free(l.items);
    if (status != CW_OK) {
        store_release(&l.held);
        return status;
    }
    made.count = l.count;
    made.held = l.held;
    *list = made;
    return CW_OK;
}

void cw_trouble_list_free(cw_trouble_list *list)
{
    if (list == NULL)
        return;
    store_release(&list->held);
    *list = (cw_trouble_list){0};
}
