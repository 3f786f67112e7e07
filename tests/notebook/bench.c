/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench_box.h"

#include <fcntl.h>
#include <sqlite3.h>
#include <sys/stat.h>
#include <sys/wait.h>

#include "notebook/store.h"

static void make_at_version(const char *folder, int version)
{
    cw_error err;
    cw_bench old = {0};
    char path[1400];
    assert_int_equal(mkdir(folder, 0755), 0);
    snprintf(path, sizeof path, "%s/bench.db", folder);
    assert_int_equal(sqlite3_open(path, &old.db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(old.db, "PRAGMA application_id = 1129792049", NULL, NULL, NULL), SQLITE_OK);
    assert_ok(store_migrate(&old, 0, version, &err), &err);
    const char *row = "INSERT INTO job(revision, camera, camera_key, serial, shutter, complaint, owner, notes, stage, "
                      "taken_in_on, handed_on_on, currency, created_at, changed_at) VALUES(1, 'Ellory Reflex', 'ellory "
                      "reflex', '77', 'focal-plane', 'capping at 1/1000', '', '', 'taken-in', '2026-10-02', '', '', "
                      "'2026-10-02T08:00:00Z', '2026-10-02T08:00:00Z')";
    assert_int_equal(sqlite3_exec(old.db, row, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(old.db);
}

static void every_earlier_version_is_brought_up_to_date(void **state)
{
    bench_box *box = *state;
    assert_true(cw_bench_schema_version() >= 2);
    for (int version = 1; version < cw_bench_schema_version(); version++) {
        char folder[700];
        cw_bench *bench;
        cw_job job;
        int64_t number, id;
        snprintf(folder, sizeof folder, "%s/old-%d", box->scratch, version);
        make_at_version(folder, version);
        assert_ok(cw_bench_open(folder, version % 2 == 1 ? CW_BENCH_READ : CW_BENCH_OPEN, &bench, &box->err),
                  &box->err);
        assert_int_equal(cw_bench_came_from(bench), version);
        assert_int_equal(cw_bench_read_only(bench), version % 2 == 1);
        cw_bench_close(bench);
        assert_ok(cw_bench_open(folder, CW_BENCH_OPEN, &bench, &box->err), &box->err);
        assert_int_equal(cw_bench_came_from(bench), 0);
        assert_ok(store_number(bench, "PRAGMA user_version", STORE_NO_VALUES, &number, &box->err), &box->err);
        assert_int_equal(number, cw_bench_schema_version());
        assert_ok(cw_job_get(bench, 1, &job, &box->err), &box->err);
        assert_string_equal(job.camera, "Ellory Reflex");
        assert_int_equal(job.shutter, CW_JOB_SHUTTER_FOCAL_PLANE);
        cw_job_free(&job);
        cw_job another = {.camera = "Ellory Reflex", .agreed_cost = NAN};
        assert_ok(cw_job_add(bench, &another, &id, &box->err), &box->err);
        cw_bench_close(bench);
    }
}

static void a_newer_bench_is_left_alone(void **state)
{
    bench_box *box = *state;
    int64_t version;
    cw_bench *bench = NULL;
    char sql[64];
    snprintf(sql, sizeof sql, "PRAGMA user_version = %d", cw_bench_schema_version() + 3);
    assert_ok(store_run(box->bench, sql, STORE_NO_VALUES, &box->err), &box->err);
    for (cw_bench_mode mode = CW_BENCH_OPEN; mode <= CW_BENCH_READ; mode++)
        assert_fails(cw_bench_open(box->folder, mode, &bench, &box->err), CW_INPUT, &box->err, "newer version");
    assert_null(bench);
    assert_ok(store_number(box->bench, "PRAGMA user_version", STORE_NO_VALUES, &version, &box->err), &box->err);
    assert_int_equal(version, cw_bench_schema_version() + 3);
}

static void folders_that_are_no_bench_are_refused(void **state)
{
    bench_box *box = *state;
    cw_bench *bench = NULL;
    char path[1400];
    snprintf(path, sizeof path, "%s/nothing", box->scratch);
    assert_fails(cw_bench_open(path, CW_BENCH_OPEN, &bench, &box->err), CW_NOT_FOUND, &box->err, "no bench");
    assert_fails(cw_bench_open(path, CW_BENCH_READ, &bench, &box->err), CW_NOT_FOUND, &box->err, "no bench");
    assert_fails(cw_bench_open("", CW_BENCH_CREATE, &bench, &box->err), CW_INPUT, &box->err, "empty");
    assert_fails(cw_bench_open(box->scratch, CW_BENCH_CREATE, &bench, &box->err), CW_INPUT, &box->err, "other things");
    snprintf(path, sizeof path, "%s/bench/bench.db", box->scratch);
    assert_fails(cw_bench_open(path, CW_BENCH_OPEN, &bench, &box->err), CW_INPUT, &box->err, "is a file");
    snprintf(path, sizeof path, "%s/missing/parent", box->scratch);
    assert_fails(cw_bench_open(path, CW_BENCH_CREATE, &bench, &box->err), CW_FILE, &box->err, "cannot be made");

    snprintf(path, sizeof path, "%s/foreign", box->scratch);
    assert_int_equal(mkdir(path, 0755), 0);
    snprintf(path, sizeof path, "%s/foreign/bench.db", box->scratch);
    sqlite3 *db;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "CREATE TABLE x(y); INSERT INTO x VALUES(5)", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
    snprintf(path, sizeof path, "%s/foreign", box->scratch);
    assert_fails(cw_bench_open(path, CW_BENCH_CREATE, &bench, &box->err), CW_INPUT, &box->err, "some other program's");

    snprintf(path, sizeof path, "%s/noise", box->scratch);
    assert_int_equal(mkdir(path, 0755), 0);
    snprintf(path, sizeof path, "%s/noise/bench.db", box->scratch);
    FILE *noise = fopen(path, "w");
    for (int i = 0; i < 4096; i++)
        fputc('A' + i % 23, noise);
    fclose(noise);
    snprintf(path, sizeof path, "%s/noise", box->scratch);
    assert_fails(cw_bench_open(path, CW_BENCH_OPEN, &bench, &box->err), CW_STORE, &box->err, "damaged");
    assert_null(bench);
}

static void an_interrupted_making_can_be_made_again(void **state)
{
    bench_box *box = *state;
    char folder[700], path[1400];
    cw_bench *bench = NULL;
    snprintf(folder, sizeof folder, "%s/half", box->scratch);
    assert_int_equal(mkdir(folder, 0755), 0);
    snprintf(path, sizeof path, "%s/bench.db", folder);
    fclose(fopen(path, "w"));
    assert_fails(cw_bench_open(folder, CW_BENCH_OPEN, &bench, &box->err), CW_NOT_FOUND, &box->err, "interrupted");
    assert_ok(cw_bench_open(folder, CW_BENCH_CREATE, &bench, &box->err), &box->err);
    cw_bench_close(bench);
    assert_ok(cw_bench_open(folder, CW_BENCH_OPEN, &bench, &box->err), &box->err);
    cw_bench_close(bench);
}

static void two_programs_work_on_one_bench(void **state)
{
    bench_box *box = *state;
    cw_bench *other;
    cw_job job;
    assert_ok(cw_bench_open(box->folder, CW_BENCH_OPEN, &other, &box->err), &box->err);
    int64_t here = box_job(box, "Tarnbrook 35");
    assert_ok(cw_job_get(other, here, &job, &box->err), &box->err);
    job.notes = "written by the other one";
    assert_ok(cw_job_update(other, &job, &box->err), &box->err);
    assert_fails(cw_job_update(other, &job, &box->err), CW_CONFLICT, &box->err, "changed by somebody else");
    cw_job_free(&job);
    assert_ok(cw_job_get(box->bench, here, &job, &box->err), &box->err);
    assert_string_equal(job.notes, "written by the other one");
    cw_job_free(&job);

    /* One in the middle of a change: the other reads what was there before, and is told when it waits too long. */
    assert_ok(cw_change_begin(box->bench, here, "a long edit", &box->err), &box->err);
    cw_job edit = {.id = here, .camera = "Tarnbrook 35", .notes = "in the middle", .agreed_cost = NAN};
    assert_ok(cw_job_update(box->bench, &edit, &box->err), &box->err);
    assert_ok(cw_job_get(other, here, &job, &box->err), &box->err);
    assert_string_equal(job.notes, "written by the other one");
    cw_job_free(&job);
    sqlite3_busy_timeout(other->db, 20);
    edit.notes = "too late";
    assert_fails(cw_job_update(other, &edit, &box->err), CW_CONFLICT, &box->err, "another program");
    cw_change_cancel(box->bench);
    assert_ok(cw_job_update(other, &edit, &box->err), &box->err);
    cw_bench_close(other);
}

/* Root may write everywhere: the child becomes nobody first. */
static void a_folder_that_cannot_be_written_says_so_and_can_be_read(void **state)
{
    bench_box *box = *state;
    box_job(box, "Tarnbrook 35");
    cw_bench_close(box->bench);
    box->bench = NULL;
    char path[1400];
    snprintf(path, sizeof path, "%s/bench.db", box->folder);
    assert_int_equal(chmod(path, 0444), 0);
    assert_int_equal(chmod(box->folder, 0555), 0);
    assert_int_equal(chmod(box->scratch, 0755), 0);
    pid_t child = fork();
    if (child == 0) {
        cw_bench *bench = NULL;
        cw_job job = {0};
        bool reachable = (getuid() != 0 || setresuid(65534, 65534, 65534) == 0) && access(box->folder, R_OK) == 0;
        if (!reachable)
            _exit(77);
        bool right = cw_bench_open(box->folder, CW_BENCH_OPEN, &bench, &box->err) == CW_FILE &&
                     strstr(box->err.text, "reading only") != NULL &&
                     cw_bench_open(box->folder, CW_BENCH_READ, &bench, &box->err) == CW_OK &&
                     cw_job_get(bench, 1, &job, &box->err) == CW_OK && strcmp(job.camera, "Tarnbrook 35") == 0 &&
                     cw_job_delete(bench, 1, &box->err) == CW_FILE && strstr(box->err.text, "nothing was") != NULL;
        cw_job_free(&job);
        cw_bench_close(bench);
        _exit(right ? 0 : 1);
    }
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    chmod(box->folder, 0755);
    assert_true(WIFEXITED(status));
    if (WEXITSTATUS(status) == 77)
        skip(); /* the build folder itself is closed to others here */
    assert_int_equal(WEXITSTATUS(status), 0);
}

static void changes_join_and_undo_as_one(void **state)
{
    bench_box *box = *state;
    char words[CW_LINE_MOST + 1], again[CW_LINE_MOST + 1];
    cw_change_list list;
    cw_job job;
    int64_t id = box_job(box, "Tarnbrook 35");
    assert_ok(cw_change_begin(box->bench, id, "two edits in one", &box->err), &box->err);
    cw_job edit = {.id = id, .camera = "Tarnbrook 35 M", .agreed_cost = 45.1, .currency = "EUR"};
    assert_ok(cw_job_update(box->bench, &edit, &box->err), &box->err);
    edit.camera = "";
    assert_fails(cw_job_update(box->bench, &edit, &box->err), CW_INPUT, &box->err, "the camera is missing");
    assert_ok(cw_job_move(box->bench, id, CW_STAGE_APART, NULL, &box->err), &box->err);
    assert_ok(cw_change_commit(box->bench, &box->err), &box->err);
    assert_fails(cw_change_commit(box->bench, &box->err), CW_CONFLICT, &box->err, "no open change");

    assert_ok(cw_undo_next(box->bench, id, words, again, &box->err), &box->err);
    assert_string_equal(words, "two edits in one");
    assert_string_equal(again, "");
    assert_ok(cw_undo(box->bench, id, words, &box->err), &box->err);
    assert_string_equal(words, "two edits in one");
    assert_ok(cw_job_get(box->bench, id, &job, &box->err), &box->err);
    assert_string_equal(job.camera, "Tarnbrook 35");
    assert_int_equal(job.stage, CW_STAGE_TAKEN_IN);
    assert_true(isnan(job.agreed_cost));
    cw_job_free(&job);

    /* A new handle is a new start of the program. */
    cw_bench_close(box->bench);
    assert_ok(cw_bench_open(box->folder, CW_BENCH_OPEN, &box->bench, &box->err), &box->err);
    assert_ok(cw_redo(box->bench, id, words, &box->err), &box->err);
    assert_ok(cw_job_get(box->bench, id, &job, &box->err), &box->err);
    assert_string_equal(job.camera, "Tarnbrook 35 M");
    assert_int_equal(job.stage, CW_STAGE_APART);
    assert_true(job.agreed_cost == 45.1);
    cw_job_free(&job);
    assert_fails(cw_redo(box->bench, id, words, &box->err), CW_NOT_FOUND, &box->err, "nothing to do again");
    assert_ok(cw_undo(box->bench, 0, NULL, &box->err), &box->err);
    assert_ok(cw_undo(box->bench, 0, words, &box->err), &box->err);
    assert_string_equal(words, "job \"Tarnbrook 35\" taken in");
    assert_fails(cw_job_get(box->bench, id, &job, &box->err), CW_NOT_FOUND, &box->err, "no job");
    assert_fails(cw_undo(box->bench, 0, NULL, &box->err), CW_NOT_FOUND, &box->err, "nothing to undo");
    assert_ok(cw_change_page(box->bench, 0, 0, 10, &list, &box->err), &box->err);
    assert_int_equal(list.count, 2);
    assert_true(list.items[0].undone && list.items[1].undone);
    cw_change_list_free(&list);
}

static void undo_of_one_job_leaves_the_others(void **state)
{
    bench_box *box = *state;
    cw_job job;
    int64_t first = box_job(box, "Tarnbrook 35"), second = box_job(box, "Ellory Reflex");
    cw_job edit = {.id = first, .camera = "Tarnbrook 35", .notes = "one", .agreed_cost = NAN};
    assert_ok(cw_job_update(box->bench, &edit, &box->err), &box->err);
    edit = (cw_job){.id = second, .camera = "Ellory Reflex", .notes = "two", .agreed_cost = NAN};
    assert_ok(cw_job_update(box->bench, &edit, &box->err), &box->err);
    assert_ok(cw_undo(box->bench, first, NULL, &box->err), &box->err);
    assert_ok(cw_job_get(box->bench, second, &job, &box->err), &box->err);
    assert_string_equal(job.notes, "two");
    cw_job_free(&job);
    /* A new change in one job ends only that job's redo. */
    edit.notes = "three";
    assert_ok(cw_job_update(box->bench, &edit, &box->err), &box->err);
    assert_ok(cw_redo(box->bench, first, NULL, &box->err), &box->err);
    assert_ok(cw_job_get(box->bench, first, &job, &box->err), &box->err);
    assert_string_equal(job.notes, "one");
    cw_job_free(&job);
}

CHECK_MAIN(BOX_TEST(every_earlier_version_is_brought_up_to_date), BOX_TEST(a_newer_bench_is_left_alone),
           BOX_TEST(folders_that_are_no_bench_are_refused), BOX_TEST(an_interrupted_making_can_be_made_again),
           BOX_TEST(two_programs_work_on_one_bench), BOX_TEST(a_folder_that_cannot_be_written_says_so_and_can_be_read),
           BOX_TEST(changes_join_and_undo_as_one), BOX_TEST(undo_of_one_job_leaves_the_others))
