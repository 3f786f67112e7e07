/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Benches of every published schema version, frozen in tests/data/benches/vK.sql with rows in every table, are opened
 * by today's program: nothing is lost, the file is sound, and the schema is the one a fresh bench has. */
#include "bench_box.h"

#include <jansson.h>
#include <math.h>
#include <sqlite3.h>
#include <sys/stat.h>

#include "base/buf.h"
#include "notebook/prove.h"
#include "notebook/store.h"
#include "notebook/test.h"
#include "shutter/evaluate.h"

enum { TEXT_MOST = 4 << 20 };

/* The first column of every row, a line each. */
static void add_rows(cw_buf *out, sqlite3 *db, const char *sql)
{
    sqlite3_stmt *rows = NULL;
    int code = sqlite3_prepare_v2(db, sql, -1, &rows, NULL);
    if (code != SQLITE_OK)
        fail_msg("%s: %s", sql, sqlite3_errmsg(db));
    while ((code = sqlite3_step(rows)) == SQLITE_ROW)
        cw_buf_printf(out, "%s\n", (const char *)sqlite3_column_text(rows, 0));
    assert_int_equal(code, SQLITE_DONE);
    sqlite3_finalize(rows);
}

static char *taken(cw_buf *buf)
{
    cw_error err;
    char *text = NULL;
    assert_ok(cw_buf_take(buf, &text, &err), &err);
    return text;
}

static char *rows_of(sqlite3 *db, const char *sql)
{
    cw_buf out = cw_buf_new(TEXT_MOST);
    add_rows(&out, db, sql);
    return taken(&out);
}

/* Spaces are left out: ALTER TABLE writes its own. */
static char *schema_of(sqlite3 *db)
{
    return rows_of(db, "SELECT type || ' ' || name || ' ' || tbl_name || ' ' || replace(replace(coalesce(sql, ''), "
                       "' ', ''), char(10), '') FROM sqlite_schema ORDER BY type, name");
}

/* One query a line, each giving every row of one table, with the columns that the table has now: asked again after the
 * upgrade, it gives the same unless something was lost or altered. The index's own tables are left to searching. */
static char *questions_about(sqlite3 *db)
{
    return rows_of(db,
                   "SELECT 'SELECT ''' || t.name || ' '' || ' || (SELECT group_concat('quote(\"' || name || '\")', "
                   "' || '','' || ') FROM pragma_table_info(t.name)) || ' FROM \"' || t.name || '\" ORDER BY rowid' "
                   "FROM sqlite_schema t WHERE t.type = 'table' AND t.name NOT LIKE 'words%' AND t.name NOT LIKE "
                   "'sqlite_%' ORDER BY t.name");
}

static char *answers(sqlite3 *db, const char *questions, bool none_empty)
{
    cw_buf out = cw_buf_new(TEXT_MOST);
    char *copy = cw_copy_text(questions), *rest = copy, *question;
    assert_non_null(copy);
    while ((question = strsep(&rest, "\n")) != NULL && question[0] != '\0') {
        size_t before = strlen(cw_buf_string(&out));
        add_rows(&out, db, question);
        if (none_empty && strlen(cw_buf_string(&out)) == before)
            fail_msg("the frozen bench has an empty table: %s", question);
    }
    free(copy);
    return taken(&out);
}

static void frozen_bench(const char *path, int version)
{
    char name[64], source[600];
    sqlite3 *db;
    char *why = NULL;
    snprintf(name, sizeof name, "tests/data/benches/v%d.sql", version);
    check_path(name, source, sizeof source);
    FILE *file = fopen(source, "rb");
    if (file == NULL)
        fail_msg("%s is missing: a new schema version needs its frozen bench", name);
    cw_buf sql = cw_buf_new(TEXT_MOST);
    char piece[4096];
    size_t got;
    while ((got = fread(piece, 1, sizeof piece, file)) > 0)
        cw_buf_add(&sql, piece, got);
    fclose(file);
    char *text = taken(&sql);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    if (sqlite3_exec(db, text, NULL, NULL, &why) != SQLITE_OK)
        fail_msg("%s: %s", name, why);
    free(text);
    sqlite3_close(db);
}

static void same(char *now, char *expected)
{
    assert_string_equal(now, expected);
    free(now);
    free(expected);
}

static void published_versions_are_as_they_were(void **state)
{
    bench_box *box = *state;
    for (int version = 1; version <= cw_bench_schema_version(); version++) {
        char path[700];
        cw_bench today = {0};
        sqlite3 *frozen;
        snprintf(path, sizeof path, "%s/frozen-%d.db", box->scratch, version);
        frozen_bench(path, version);
        assert_int_equal(sqlite3_open(path, &frozen), SQLITE_OK);
        assert_int_equal(sqlite3_open(":memory:", &today.db), SQLITE_OK);
        assert_ok(store_migrate(&today, 0, version, &box->err), &box->err);
        same(schema_of(today.db), schema_of(frozen));
        sqlite3_close(today.db);
        sqlite3_close(frozen);
    }
}

static void nothing_is_lost_on_the_way_up(void **state)
{
    bench_box *box = *state;
    const char *index =
        "SELECT rowid || ' ' || quote(camera) || quote(title) || quote(body) || job_id FROM words WHERE "
        "rowid % 8 < 5 ORDER BY rowid";
    char *found_first = NULL;
    for (int version = 1; version <= cw_bench_schema_version(); version++) {
        char folder[700], path[800];
        cw_bench *bench;
        sqlite3 *old;
        snprintf(folder, sizeof folder, "%s/v%d", box->scratch, version);
        snprintf(path, sizeof path, "%s/bench.db", folder);
        assert_int_equal(mkdir(folder, 0755), 0);
        frozen_bench(path, version);
        assert_int_equal(sqlite3_open(path, &old), SQLITE_OK);
        char *questions = questions_about(old), *before = answers(old, questions, true);
        sqlite3_close(old);

        assert_ok(cw_bench_open(folder, CW_BENCH_OPEN, &bench, &box->err), &box->err);
        same(answers(bench->db, questions, false), before);
        same(schema_of(bench->db), schema_of(box->bench->db));
        same(rows_of(bench->db, "PRAGMA integrity_check"), cw_copy_text("ok\n"));
        same(rows_of(bench->db, "PRAGMA foreign_key_check"), cw_copy_text(""));
        assert_int_equal(
            sqlite3_exec(bench->db, "INSERT INTO words(words) VALUES('integrity-check')", NULL, NULL, NULL), SQLITE_OK);
        /* What a search can find: of version 1 the job and its tests; from 2 on the same, whether the triggers wrote
         * it or the upgrade did. */
        char *found = rows_of(bench->db, index);
        assert_contains(found, "slow speeds stick");
        if (version == 2)
            found_first = found;
        else if (version > 2)
            same(found, cw_copy_text(found_first));
        else
            free(found);
        free(questions);
        cw_bench_close(bench);
    }
    free(found_first);
}

static void an_upgraded_bench_is_worked_on(void **state)
{
    bench_box *box = *state;
    for (int version = 1; version <= cw_bench_schema_version(); version++) {
        char folder[700], path[800];
        cw_job job;
        snprintf(folder, sizeof folder, "%s/v%d", box->scratch, version);
        snprintf(path, sizeof path, "%s/bench.db", folder);
        assert_int_equal(mkdir(folder, 0755), 0);
        frozen_bench(path, version);
        bench_box old = {0};
        assert_ok(cw_bench_open(folder, CW_BENCH_OPEN, &old.bench, &old.err), &old.err);
        assert_ok(cw_job_get(old.bench, 1, &job, &old.err), &old.err);
        assert_string_equal(job.serial, "402187");
        assert_int_equal(job.shutter, CW_JOB_SHUTTER_LEAF);
        assert_near(job.agreed_cost, 45.5, 0);
        cw_job_free(&job);
        int64_t id = box_job(&old, "Ellory Reflex");
        assert_int_equal(id, 3);
        assert_ok(cw_undo(old.bench, id, NULL, &old.err), &old.err);
        assert_fails(cw_job_get(old.bench, id, &job, &old.err), CW_NOT_FOUND, &old.err, "3");
        cw_bench_close(old.bench);
    }
}

static void says(const cw_evidence *evidence, cw_proof_verdict verdict, const char *words)
{
    assert_int_equal(evidence->verdict, verdict);
    assert_contains(evidence->text, words);
}

/* The newest bench was written by the program itself: a shutter of the simulator (1/500 at +0.51 EV, 1/1000 at +0.72),
 * a timer's figure and a worksheet. What they prove is read from them as it was then. */
static void kept_results_are_read_back(void **state)
{
    bench_box *box = *state;
    char folder[700], path[800];
    int version = 7;
    cw_proving p;
    cw_test test;
    cw_shutter_test *read;
    snprintf(folder, sizeof folder, "%s/v%d", box->scratch, version);
    snprintf(path, sizeof path, "%s/bench.db", folder);
    assert_int_equal(mkdir(folder, 0755), 0);
    frozen_bench(path, version);
    bench_box old = {0};
    assert_ok(cw_bench_open(folder, CW_BENCH_OPEN, &old.bench, &old.err), &old.err);
    assert_ok(cw_job_proving(old.bench, 1, &p, &old.err), &old.err);
    says(&p.items[CW_PROOF_SHUTTER].before, CW_PROVED_OUTSIDE,
         "0 of 2 speeds inside; outside: 1/1000; too close to call: 1/500");
    says(&p.items[CW_PROOF_EVENNESS].before, CW_PROVED_TOO_CLOSE, "EV from end to end, at 1/1000");
    says(&p.items[CW_PROOF_FOCUS].before, CW_PROVED_TOO_CLOSE, "0.030 mm");
    cw_proving_free(&p);
    assert_ok(cw_test_get(old.bench, 2, &test, &old.err), &old.err);
    json_t *object = json_loads(test.result_json, 0, NULL);
    assert_ok(cw_shutter_test_from_json(object, &read, &old.err), &old.err);
    assert_near(read->speeds[0].exposure_s.value, 0.00443, 1e-12);
    assert_near(read->speeds[0].error_ev.value, log2(0.00443 / 0.004), 1e-12);
    cw_shutter_test_free(read);
    json_decref(object);
    cw_test_free(&test);
    cw_bench_close(old.bench);
}

CHECK_MAIN(BOX_TEST(published_versions_are_as_they_were), BOX_TEST(nothing_is_lost_on_the_way_up),
           BOX_TEST(an_upgraded_bench_is_worked_on), BOX_TEST(kept_results_are_read_back))
