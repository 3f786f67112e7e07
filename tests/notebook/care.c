/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench_box.h"
#include "pictures.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <sys/wait.h>

#include "notebook/care.h"
#include "notebook/photo.h"
#include "notebook/search.h"
#include "notebook/step.h"
#include "notebook/store.h"
#include "notebook/test.h"
#include "notebook/way.h"

/* One job with a step, two photos of which one is deleted, a test with its recording, and a recording nobody uses. */
typedef struct {
    int64_t job_id, photo_id, gone_photo_id, recording_id, unused_id;
    char photo[4400], gone[4400], recording[4400], unused[4400];
} household;

static void make_old(const char *path)
{
    struct timespec long_ago[2] = {{1000000, 0}, {1000000, 0}};
    assert_int_equal(utimensat(AT_FDCWD, path, long_ago, 0), 0);
}

static household furnish(bench_box *box)
{
    household h = {.job_id = box_job(box, "Tarnbrook 35")};
    char path[600];
    int64_t step_id, test_id;
    cw_error *err = &box->err;
    cw_step step = {.job_id = h.job_id, .title = "Top cover", .state = CW_STEP_DONE, .duration_s = NAN};
    assert_ok(cw_step_add(box->bench, &step, 0, &step_id, err), err);
    snprintf(path, sizeof path, "%s/a.jpg", box->scratch);
    write_jpeg(path, 80, 60, 80, false);
    assert_ok(cw_photo_import(box->bench, path, h.job_id, step_id, 0, "", &h.photo_id, err), err);
    snprintf(path, sizeof path, "%s/b.png", box->scratch);
    write_png(path, 81, 60);
    assert_ok(cw_photo_import(box->bench, path, h.job_id, 0, 0, "", &h.gone_photo_id, err), err);
    const char *names[] = {"shots.wav", "unused.csv"};
    for (size_t i = 0; i < 2; i++) {
        snprintf(path, sizeof path, "%s/%s", box->scratch, names[i]);
        FILE *file = fopen(path, "w");
        fprintf(file, "recording %zu", i);
        fclose(file);
        assert_ok(cw_recording_import(box->bench, path, i == 0 ? &h.recording_id : &h.unused_id, err), err);
    }
    cw_test test = {.job_id = h.job_id, .kind = "shutter", .recording_id = h.recording_id};
    assert_ok(cw_test_add(box->bench, &test, &test_id, err), err);
    assert_ok(cw_photo_path(box->bench, h.photo_id, h.photo, sizeof h.photo, err), err);
    assert_ok(cw_photo_path(box->bench, h.gone_photo_id, h.gone, sizeof h.gone, err), err);
    assert_ok(cw_recording_path(box->bench, h.recording_id, h.recording, sizeof h.recording, err), err);
    assert_ok(cw_recording_path(box->bench, h.unused_id, h.unused, sizeof h.unused, err), err);
    assert_ok(cw_photo_delete(box->bench, h.gone_photo_id, err), err);
    return h;
}

/* Every trouble's sentence, one a line. */
static size_t troubles(bench_box *box, bool with_hashes, char out[4000])
{
    cw_trouble_list list;
    out[0] = '\0';
    assert_ok(cw_check(box->bench, with_hashes, &list, &box->err), &box->err);
    size_t count = list.count;
    for (size_t i = 0; i < count; i++)
        snprintf(out + strlen(out), 4000 - strlen(out), "%d %s\n", (int)list.items[i].kind, list.items[i].text);
    cw_trouble_list_free(&list);
    return count;
}

static void expect_trouble(bench_box *box, bool with_hashes, const char *words)
{
    char text[4000];
    size_t count = troubles(box, with_hashes, text);
    if (count != 1 || strstr(text, words) == NULL)
        fail_msg("expected one trouble with \"%s\", there are %zu: %s", words, count, text);
}

static void a_good_bench_has_no_trouble(void **state)
{
    bench_box *box = *state;
    char text[4000];
    cw_trouble_list list;
    furnish(box);
    if (troubles(box, true, text) != 0)
        fail_msg("%s", text);
    assert_ok(cw_check(box->bench, true, &list, &box->err), &box->err);
    assert_int_equal(list.jobs, 1);
    assert_int_equal(list.photos, 1);
    assert_int_equal(list.recordings, 2);
    cw_trouble_list_free(&list);
}

static void each_trouble_is_named(void **state)
{
    bench_box *box = *state;
    household h = furnish(box);
    char text[4000], kept[4500], path[700];
    FILE *file = fopen(h.recording, "r+");
    fputs("R", file);
    fclose(file);
    expect_trouble(box, true, "recording 1 \"shots.wav\" was changed");
    assert_int_equal(troubles(box, false, text), 0); /* the size is still right */
    file = fopen(h.recording, "w");
    fclose(file);
    expect_trouble(box, false, "has 0 bytes and had 11");
    file = fopen(h.recording, "w");
    fputs("recording 0", file);
    fclose(file);
    assert_int_equal(troubles(box, true, text), 0);

    snprintf(kept, sizeof kept, "%s.kept", h.photo);
    assert_int_equal(rename(h.photo, kept), 0);
    make_old(kept);
    assert_int_equal(troubles(box, false, text), 1); /* the moved one still bears the hash at the front of its name */
    assert_contains(text, "photo 1 of job 1 is missing");
    assert_int_equal(rename(kept, h.photo), 0);

    snprintf(path, sizeof path, "%s/photos/stranger.jpg", box->folder);
    fclose(fopen(path, "w"));
    assert_int_equal(troubles(box, false, text), 0); /* it may be on its way in */
    make_old(path);
    expect_trouble(box, false, "nothing names the file");
    assert_int_equal(unlink(path), 0);

    assert_ok(store_run(box->bench, "DELETE FROM words WHERE rowid = 9", STORE_NO_VALUES, &box->err), &box->err);
    expect_trouble(box, false, "search index is wrong for 1 steps");
    int64_t removed;
    assert_ok(cw_care_tidy(box->bench, &removed, &box->err), &box->err);
    assert_int_equal(removed, 0);
    assert_int_equal(troubles(box, false, text), 0);

    assert_ok(store_run(box->bench, "DELETE FROM words_data WHERE id > 10", STORE_NO_VALUES, &box->err), &box->err);
    troubles(box, false, text);
    assert_contains(text, "search index is damaged inside");
    assert_ok(cw_care_tidy(box->bench, &removed, &box->err), &box->err);
    assert_int_equal(troubles(box, false, text), 0);

    assert_ok(store_run(box->bench, "PRAGMA foreign_keys = OFF", STORE_NO_VALUES, &box->err), &box->err);
    assert_ok(store_run(box->bench, "UPDATE test SET job_id = 99", STORE_NO_VALUES, &box->err), &box->err);
    troubles(box, false, text);
    assert_contains(text, "row 1 of test points to a row of job that is not there");
    assert_ok(store_run(box->bench, "UPDATE test SET job_id = 1", STORE_NO_VALUES, &box->err), &box->err);
    assert_ok(
        store_run(box->bench,
                  "INSERT INTO thing(revision, job_id, name, name_key) VALUES(1, 1, 'cover', 'cover'), (1, 1, 'lens', "
                  "'lens')",
                  STORE_NO_VALUES, &box->err),
        &box->err);
    assert_ok(store_run(box->bench,
                        "INSERT INTO block(job_id, under_id, over_id, way) VALUES(1, 1, 2, 0), (1, 2, 1, 0)",
                        STORE_NO_VALUES, &box->err),
              &box->err);
    troubles(box, false, text);
    assert_contains(text, "in job 1 \"cover\" lies under itself");
}

static void tidying_keeps_what_undo_could_bring_back(void **state)
{
    bench_box *box = *state;
    household h = furnish(box);
    int64_t removed;
    make_old(h.gone);
    make_old(h.unused);
    make_old(h.photo);
    assert_ok(
        store_run(box->bench, "UPDATE recording SET added_at = '2020-01-01T00:00:00Z'", STORE_NO_VALUES, &box->err),
        &box->err);
    assert_ok(cw_care_tidy(box->bench, &removed, &box->err), &box->err);
    assert_int_equal(removed, 1);
    assert_int_equal(access(h.unused, F_OK), -1);
    assert_int_equal(access(h.gone, F_OK), 0);
    assert_ok(cw_undo(box->bench, h.job_id, NULL, &box->err), &box->err);
    char text[4000];
    assert_int_equal(troubles(box, true, text), 0);
    assert_ok(cw_photo_delete(box->bench, h.gone_photo_id, &box->err), &box->err);
    assert_ok(store_run(box->bench, "DELETE FROM change", STORE_NO_VALUES, &box->err), &box->err);
    assert_ok(cw_care_tidy(box->bench, &removed, &box->err), &box->err);
    assert_int_equal(removed, 1);
    assert_int_equal(access(h.gone, F_OK), -1);
    assert_int_equal(access(h.photo, F_OK), 0);
    assert_int_equal(access(h.recording, F_OK), 0);
}

static void a_backup_is_a_bench_and_is_brought_up_to_date(void **state)
{
    bench_box *box = *state;
    household h = furnish(box);
    cw_backup_report report;
    char into[700], text[4000];
    snprintf(into, sizeof into, "%s/stick", box->scratch);
    assert_ok(cw_backup(box->bench, into, &report, &box->err), &box->err);
    assert_int_equal(report.jobs, 1);
    assert_int_equal(report.files, 3);
    assert_int_equal(report.files_kept, 0);
    box_job(box, "Ellory Reflex");
    assert_ok(cw_backup(box->bench, into, &report, &box->err), &box->err);
    assert_int_equal(report.jobs, 2);
    assert_int_equal(report.files, 0);
    assert_int_equal(report.files_kept, 3);

    bench_box copy = {0};
    assert_ok(cw_bench_open(into, CW_BENCH_OPEN, &copy.bench, &copy.err), &copy.err);
    if (troubles(&copy, true, text) != 0)
        fail_msg("%s", text);
    cw_job job;
    assert_ok(cw_job_get(copy.bench, 2, &job, &copy.err), &copy.err);
    assert_string_equal(job.camera, "Ellory Reflex");
    cw_job_free(&job);
    cw_bench_close(copy.bench);

    /* A damaged copy of a file is mended by the next backup; a damaged original is told and not copied. */
    char there[6000];
    snprintf(there, sizeof there, "%s%s", into, h.photo + strlen(box->folder));
    assert_int_equal(truncate(there, 10), 0);
    assert_ok(cw_backup(box->bench, into, &report, &box->err), &box->err);
    assert_int_equal(report.files, 1);
    assert_int_equal(unlink(there), 0);
    assert_int_equal(truncate(h.photo, 10), 0);
    assert_fails(cw_backup(box->bench, into, &report, &box->err), CW_STORE, &box->err, "does not match its hash");

    assert_fails(cw_backup(box->bench, box->folder, &report, &box->err), CW_INPUT, &box->err, "into itself");
    assert_fails(cw_backup(box->bench, box->scratch, &report, &box->err), CW_INPUT, &box->err, "other things");
    snprintf(into, sizeof into, "%s/other", box->scratch);
    assert_ok(cw_bench_open(into, CW_BENCH_CREATE, &copy.bench, &copy.err), &copy.err);
    box_job(&copy, "Somebody else's");
    cw_bench_close(copy.bench);
    assert_fails(cw_backup(box->bench, into, &report, &box->err), CW_INPUT, &box->err, "another bench");
}

/* While another program writes without pause: every copy passes its check and holds only whole changes. */
static void a_backup_while_somebody_writes_is_whole(void **state)
{
    bench_box *box = *state;
    char into[700], text[4000];
    pid_t child = fork();
    if (child == 0) {
        cw_bench *bench;
        cw_error err;
        if (cw_bench_open(box->folder, CW_BENCH_OPEN, &bench, &err) != CW_OK)
            _exit(1);
        for (int i = 0;; i++) {
            int64_t id, step_id;
            cw_job job = {.camera = "Tarnbrook 35", .agreed_cost = NAN};
            if (cw_change_begin(bench, 0, "a job with its step", &err) != CW_OK ||
                cw_job_add(bench, &job, &id, &err) != CW_OK)
                _exit(1);
            cw_step step = {.job_id = id, .title = "Top cover", .state = CW_STEP_DONE, .duration_s = NAN};
            if (cw_step_add(bench, &step, 0, &step_id, &err) != CW_OK || cw_change_commit(bench, &err) != CW_OK)
                _exit(1);
        }
    }
    for (int round = 0; round < 4; round++) {
        bench_box copy = {0};
        cw_backup_report report;
        int64_t jobs, steps;
        usleep(30000);
        snprintf(into, sizeof into, "%s/copy-%d", box->scratch, round);
        assert_ok(cw_backup(box->bench, into, &report, &box->err), &box->err);
        assert_ok(cw_bench_open(into, CW_BENCH_READ, &copy.bench, &copy.err), &copy.err);
        assert_int_equal(troubles(&copy, true, text), 0);
        assert_ok(store_number(copy.bench, "SELECT count(*) FROM job", STORE_NO_VALUES, &jobs, &copy.err), &copy.err);
        assert_ok(store_number(copy.bench, "SELECT count(*) FROM step", STORE_NO_VALUES, &steps, &copy.err), &copy.err);
        assert_int_equal(jobs, steps);
        assert_int_equal(jobs, report.jobs);
        cw_bench_close(copy.bench);
    }
    kill(child, SIGKILL);
    int status;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status));
}

CHECK_MAIN(BOX_TEST(a_good_bench_has_no_trouble), BOX_TEST(each_trouble_is_named),
           BOX_TEST(tidying_keeps_what_undo_could_bring_back), BOX_TEST(a_backup_is_a_bench_and_is_brought_up_to_date),
           BOX_TEST(a_backup_while_somebody_writes_is_whole))
