/* SPDX-License-Identifier: GPL-3.0-or-later */
/* kill -9 at random moments. A child writes and says over a pipe what the bench has acknowledged; after the kill
 * everything it said must be there, whole, and nothing half. CW_KILL_ROUNDS sets the number of rounds (25 here, 300 by
 * hand). */
#include "notebook/bench_box.h"
#include "notebook/pictures.h"

#include <fcntl.h>
#include <signal.h>
#include <sys/wait.h>
#include <time.h>

#include "notebook/archive.h"
#include "notebook/care.h"
#include "notebook/photo.h"
#include "notebook/step.h"
#include "notebook/store.h"
#include "notebook/test.h"

enum { ACKNOWLEDGED_MOST = 200000 };

/* One thing the bench has said yes to. kind: j job, g grouped step and part, p photo, r recording, n notes of job 1. */
typedef struct {
    char kind;
    int64_t id, token;
} acknowledged;

static void say(int pipe_fd, char kind, int64_t id, int64_t token)
{
    acknowledged one = {kind, id, token};
    if (write(pipe_fd, &one, sizeof one) != sizeof one)
        _exit(2);
}

static void insist(cw_status status)
{
    if (status != CW_OK)
        _exit(3);
}

/* A picture of its own for every token: the same JPEG with another number in a comment behind the first segment. */
static void numbered_picture(const char *jpeg, size_t size, int64_t token, cw_bench *bench, int64_t job_id, int64_t *id,
                             cw_error *err)
{
    cw_incoming *incoming;
    char comment[32] = "\xff\xfe\0\x1c";
    snprintf(comment + 4, sizeof comment - 4, "number %017lld", (long long)token);
    insist(cw_incoming_open(bench, CW_INCOMING_PHOTO, "p.jpg", &incoming, err));
    insist(cw_incoming_write(incoming, jpeg, 2, err));
    insist(cw_incoming_write(incoming, comment, 30, err));
    for (size_t at = 2; at < size; at += 4096)
        insist(cw_incoming_write(incoming, jpeg + at, size - at < 4096 ? size - at : 4096, err));
    insist(cw_photo_keep(incoming, job_id, 0, 0, "", id, err));
}

static void grouped(cw_bench *bench, int64_t job_id, int64_t token, int64_t *id, cw_error *err)
{
    char title[40];
    int64_t tray_id, part_id;
    snprintf(title, sizeof title, "g%lld", (long long)token);
    cw_step step = {.job_id = job_id, .title = title, .state = CW_STEP_DONE, .duration_s = NAN};
    insist(cw_change_begin(bench, job_id, title, err));
    insist(cw_step_add(bench, &step, 0, id, err));
    insist(cw_tray_numbered(bench, job_id, 1 + token % 9, &tray_id, err));
    cw_part part = {
        .job_id = job_id, .step_id = *id, .tray_id = tray_id, .kind = title, .pieces = 2, .state = CW_PART_OUT};
    insist(cw_part_add(bench, &part, &part_id, err));
    insist(cw_change_commit(bench, err));
}

static void child_writes(const char *folder, const char *scratch, const char *jpeg, size_t jpeg_size, int pipe_fd,
                         uint64_t seed)
{
    cw_error err;
    cw_bench *bench;
    check_random random = {.state = seed};
    insist(cw_bench_open(folder, CW_BENCH_OPEN, &bench, &err));
    for (int64_t token = (int64_t)seed * 100000;; token++) {
        int64_t id = 0;
        char text[700];
        double dice = check_uniform(&random);
        if (dice < 0.2) {
            snprintf(text, sizeof text, "j%lld", (long long)token);
            cw_job job = {.camera = text, .agreed_cost = NAN};
            insist(cw_job_add(bench, &job, &id, &err));
            say(pipe_fd, 'j', id, token);
        } else if (dice < 0.5) {
            grouped(bench, 1, token, &id, &err);
            say(pipe_fd, 'g', id, token);
        } else if (dice < 0.8) {
            numbered_picture(jpeg, jpeg_size, token, bench, 1, &id, &err);
            say(pipe_fd, 'p', id, token);
        } else if (dice < 0.87) {
            cw_incoming *incoming;
            insist(cw_incoming_open(bench, CW_INCOMING_RECORDING, "r.csv", &incoming, &err));
            insist(cw_incoming_write(incoming, &token, sizeof token, &err));
            insist(cw_incoming_keep_recording(incoming, &id, &err));
            say(pipe_fd, 'r', id, token);
        } else if (dice < 0.97) {
            snprintf(text, sizeof text, "%lld", (long long)token);
            cw_job job = {.id = 1, .camera = "Tarnbrook 35", .notes = text, .agreed_cost = NAN};
            insist(cw_job_update(bench, &job, &err));
            say(pipe_fd, 'n', 1, token);
        } else {
            cw_backup_report report;
            snprintf(text, sizeof text, "%s/stick", scratch);
            insist(cw_backup(bench, text, &report, &err));
        }
    }
}

/* ---- afterwards ---- */

static void expect_count(bench_box *box, const char *sql, const char *text, int64_t id, int64_t expected)
{
    int64_t count;
    assert_ok(store_number(box->bench, sql, STORE_VALUES(store_int(id), store_text(text)), &count, &box->err),
              &box->err);
    if (count != expected)
        fail_msg("acknowledged and not there: %s with %lld, \"%s\"", sql, (long long)id, text);
}

static void expect_there(bench_box *box, const acknowledged *one)
{
    char text[40];
    snprintf(text, sizeof text, "%c%lld", one->kind, (long long)one->token);
    switch (one->kind) {
    case 'j':
        expect_count(box, "SELECT count(*) FROM job WHERE id = ?1 AND camera = ?2", text, one->id, 1);
        break;
    case 'g':
        expect_count(box, "SELECT count(*) FROM step WHERE id = ?1 AND title = ?2", text, one->id, 1);
        expect_count(box, "SELECT count(*) FROM part WHERE step_id = ?1 AND kind = ?2", text, one->id, 1);
        break;
    case 'p':
        expect_count(box, "SELECT count(*) FROM photo WHERE id = ?1", text, one->id, 1);
        break;
    case 'r':
        expect_count(box, "SELECT count(*) FROM recording WHERE id = ?1", text, one->id, 1);
        break;
    default:
        break;
    }
}

static void expect_whole(bench_box *box)
{
    cw_trouble_list list;
    int64_t halves;
    assert_ok(cw_check(box->bench, true, &list, &box->err), &box->err);
    for (size_t i = 0; i < list.count; i++)
        print_error("%s\n", list.items[i].text);
    assert_int_equal(list.count, 0);
    cw_trouble_list_free(&list);
    assert_ok(store_number(
                  box->bench,
                  "SELECT (SELECT count(*) FROM step WHERE NOT EXISTS(SELECT 1 FROM part WHERE step_id = step.id)) + "
                  "(SELECT count(*) FROM change WHERE rows IS NULL)",
                  STORE_NO_VALUES, &halves, &box->err),
              &box->err);
    assert_int_equal(halves, 0);
}

typedef struct {
    acknowledged *items;
    size_t count;
    int64_t notes;
} witness;

static void one_round(bench_box *box, const char *jpeg, size_t jpeg_size, uint64_t seed, double wait_s, witness *w)
{
    int ends[2], status;
    assert_int_equal(pipe(ends), 0);
    pid_t child = fork();
    if (child == 0) {
        close(ends[0]);
        child_writes(box->folder, box->scratch, jpeg, jpeg_size, ends[1], seed);
    }
    close(ends[1]);
    struct timespec wait = {0, (long)(wait_s * 1e9)};
    nanosleep(&wait, NULL);
    kill(child, SIGKILL);
    assert_int_equal(waitpid(child, &status, 0), child);
    if (!WIFSIGNALED(status))
        fail_msg("the writer stopped by itself with %d", WEXITSTATUS(status));
    while (w->count < ACKNOWLEDGED_MOST && read(ends[0], &w->items[w->count], sizeof *w->items) == sizeof *w->items) {
        if (w->items[w->count].kind == 'n')
            w->notes = w->items[w->count].token;
        w->count++;
    }
    close(ends[0]);
}

static void check_notes(bench_box *box, int64_t acknowledged_notes)
{
    cw_job job;
    assert_ok(cw_job_get(box->bench, 1, &job, &box->err), &box->err);
    assert_true(strtoll(job.notes, NULL, 10) >= acknowledged_notes);
    cw_job_free(&job);
}

static void nothing_acknowledged_is_ever_lost(void **state)
{
    bench_box *box = *state;
    const char *asked = getenv("CW_KILL_ROUNDS");
    long rounds = asked != NULL ? strtol(asked, NULL, 10) : 25;
    check_random random = {.state = 99};
    char path[600];
    box_job(box, "Tarnbrook 35");
    snprintf(path, sizeof path, "%s/p.jpg", box->scratch);
    write_jpeg(path, 400, 300, 90, false);
    FILE *file = fopen(path, "rb");
    static char jpeg[1 << 20];
    size_t size = fread(jpeg, 1, sizeof jpeg, file);
    fclose(file);
    cw_bench_close(box->bench);
    box->bench = NULL;
    witness w = {.items = calloc(ACKNOWLEDGED_MOST, sizeof *w.items)};
    for (long round = 0; round < rounds; round++) {
        one_round(box, jpeg, size, (uint64_t)round + 1, 0.02 + 0.13 * check_uniform(&random), &w);
        assert_ok(cw_bench_open(box->folder, CW_BENCH_OPEN, &box->bench, &box->err), &box->err);
        check_notes(box, w.notes);
        bool every = round % 25 == 24 || round == rounds - 1;
        for (size_t i = 0; every && i < w.count; i++)
            expect_there(box, &w.items[i]);
        if (every)
            expect_whole(box);
        cw_bench_close(box->bench);
        box->bench = NULL;
    }
    /* The backup that was killed at any moment is an older whole one, or this one whole. */
    snprintf(path, sizeof path, "%s/stick", box->scratch);
    if (access(path, F_OK) == 0 && cw_bench_open(path, CW_BENCH_OPEN, &box->bench, &box->err) == CW_OK)
        expect_whole(box);
    print_message("%ld kills, %zu acknowledged changes, all there\n", rounds, w.count);
    assert_true(w.count > (size_t)rounds);
    free(w.items);
}

static void a_kill_while_the_bench_is_made_leaves_one_that_can_be_made(void **state)
{
    bench_box *box = *state;
    check_random random = {.state = 4};
    for (int round = 0; round < 12; round++) {
        char folder[700];
        int status;
        cw_bench *bench;
        snprintf(folder, sizeof folder, "%s/new-%d", box->scratch, round);
        pid_t child = fork();
        if (child == 0) {
            insist(cw_bench_open(folder, CW_BENCH_CREATE, &bench, &box->err));
            pause();
        }
        struct timespec wait = {0, (long)(0.03e9 * check_uniform(&random))};
        nanosleep(&wait, NULL);
        kill(child, SIGKILL);
        assert_int_equal(waitpid(child, &status, 0), child);
        assert_true(WIFSIGNALED(status));
        assert_ok(cw_bench_open(folder, CW_BENCH_CREATE, &bench, &box->err), &box->err);
        cw_bench *kept = box->bench;
        box->bench = bench;
        box_job(box, "Ellory Reflex");
        expect_count(box, "SELECT count(*) FROM job", "", 0, 1);
        box->bench = kept;
        cw_bench_close(bench);
    }
}

CHECK_MAIN(BOX_TEST(nothing_acknowledged_is_ever_lost),
           BOX_TEST(a_kill_while_the_bench_is_made_leaves_one_that_can_be_made))
