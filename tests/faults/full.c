/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A disk that fills up: a file size limit everywhere, and where the machine allows it a tiny disk of its own (tmpfs in
 * a mount namespace of the test's own). What was stored stays, the sentence says why, and writing goes on once there is
 * room. */
#include "notebook/bench_box.h"
#include "notebook/pictures.h"

#include <errno.h>
#include <fcntl.h>
#include <sched.h>
#include <signal.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>

#include "notebook/archive.h"
#include "notebook/care.h"
#include "notebook/photo.h"
#include "notebook/store.h"
#include "notebook/test.h"

static char note[CW_NOTE_MOST + 1];

static void fill_note(void)
{
    for (size_t i = 0; i < CW_NOTE_MOST; i++)
        note[i] = (char)('a' + i * i % 23);
}

/* Adds jobs until the disk says no; returns how many were acknowledged. */
static int64_t add_until_refused(bench_box *box)
{
    int64_t id, added = 0;
    cw_status status;
    do {
        cw_job job = {.camera = "Tarnbrook 35", .notes = note, .agreed_cost = NAN};
        status = cw_job_add(box->bench, &job, &id, &box->err);
        added += status == CW_OK;
    } while (status == CW_OK && added < 5000);
    assert_int_equal(status, CW_FILE);
    return added;
}

static void expect_jobs(bench_box *box, int64_t expected)
{
    int64_t jobs;
    cw_trouble_list list;
    assert_ok(store_number(box->bench, "SELECT count(*) FROM job", STORE_NO_VALUES, &jobs, &box->err), &box->err);
    assert_int_equal(jobs, expected);
    assert_ok(cw_check(box->bench, true, &list, &box->err), &box->err);
    for (size_t i = 0; i < list.count; i++)
        print_error("%s\n", list.items[i].text);
    assert_int_equal(list.count, 0);
    cw_trouble_list_free(&list);
}

static void limit_files(rlim_t bytes)
{
    struct rlimit limit = {bytes, RLIM_INFINITY};
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
}

static void a_file_that_may_not_grow_is_said_and_nothing_is_lost(void **state)
{
    bench_box *box = *state;
    char path[600], out[600];
    int64_t id;
    fill_note();
    signal(SIGXFSZ, SIG_IGN);
    snprintf(path, sizeof path, "%s/big.jpg", box->scratch);
    write_jpeg(path, 2400, 1600, 95, false);
    limit_files(600000);
    int64_t added = add_until_refused(box);
    assert_contains(box->err.text, "nothing was changed");
    limit_files(RLIM_INFINITY);
    expect_jobs(box, added);
    assert_int_equal(box_job(box, "Ellory Reflex"), added + 1);

    limit_files(30000);
    assert_fails(cw_photo_import(box->bench, path, 1, 0, 0, "", &id, &box->err), CW_FILE, &box->err,
                 "nothing of it was kept");
    limit_files(RLIM_INFINITY);
    assert_ok(cw_photo_import(box->bench, path, 1, 0, 0, "", &id, &box->err), &box->err);
    limit_files(30000);
    snprintf(out, sizeof out, "%s/out.zip", box->scratch);
    assert_fails(cw_job_export(box->bench, 1, out, NULL, &box->err), CW_FILE, &box->err, "");
    assert_int_equal(access(out, F_OK), -1);
    cw_backup_report report;
    snprintf(out, sizeof out, "%s/stick", box->scratch);
    cw_status status = cw_backup(box->bench, out, &report, &box->err);
    assert_int_equal(status, CW_FILE);
    limit_files(RLIM_INFINITY);
    assert_ok(cw_backup(box->bench, out, &report, &box->err), &box->err);
    expect_jobs(box, added + 1);
}

/* In a child, because the namespace and the disk end with it. */
static void on_a_tiny_disk(const char *mount_point)
{
    bench_box box = {0};
    char ballast[600], path[600];
    int64_t id;
    fill_note();
    assert_true(strlen(mount_point) < 400);
    snprintf(box.scratch, sizeof box.scratch, "%.400s", mount_point);
    snprintf(box.folder, sizeof box.folder, "%.400s/bench", mount_point);
    snprintf(ballast, sizeof ballast, "%.400s/ballast", mount_point);
    snprintf(path, sizeof path, "%.400s/p.jpg", mount_point);
    write_jpeg(path, 900, 600, 95, false);
    int fd = open(ballast, O_CREAT | O_WRONLY, 0644);
    assert_true(fd >= 0 && posix_fallocate(fd, 0, 1500000) == 0);
    close(fd);
    assert_ok(cw_bench_open(box.folder, CW_BENCH_CREATE, &box.bench, &box.err), &box.err);
    int64_t added = add_until_refused(&box);
    assert_contains(box.err.text, "is full; nothing was changed");
    assert_fails(cw_photo_import(box.bench, path, 1, 0, 0, "", &id, &box.err), CW_FILE, &box.err, "");
    /* Read while full, and after a new start while full. */
    cw_job job;
    assert_ok(cw_job_get(box.bench, added, &job, &box.err), &box.err);
    assert_string_equal(job.notes, note);
    cw_job_free(&job);
    cw_bench_close(box.bench);
    assert_ok(cw_bench_open(box.folder, CW_BENCH_OPEN, &box.bench, &box.err), &box.err);
    assert_int_equal(unlink(ballast), 0);
    expect_jobs(&box, added);
    assert_ok(cw_photo_import(box.bench, path, 1, 0, 0, "", &id, &box.err), &box.err);
    assert_true(box_job(&box, "Ellory Reflex") > added);
    cw_bench_close(box.bench);
}

static void a_full_disk_is_said_and_nothing_is_lost(void **state)
{
    bench_box *box = *state;
    char mount_point[600];
    int status;
    snprintf(mount_point, sizeof mount_point, "%s/disk", box->scratch);
    assert_int_equal(mkdir(mount_point, 0755), 0);
    pid_t child = fork();
    if (child == 0) {
        if (unshare(CLONE_NEWNS) != 0 || mount(NULL, "/", NULL, MS_REC | MS_PRIVATE, NULL) != 0 ||
            mount("tmpfs", mount_point, "tmpfs", 0, "size=4m") != 0)
            _exit(77);
        on_a_tiny_disk(mount_point);
        _exit(0);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    if (WEXITSTATUS(status) == 77) {
        print_message("this machine does not let a test have a disk of its own; the file size limit stands in\n");
        skip();
    }
    assert_int_equal(WEXITSTATUS(status), 0);
}

CHECK_MAIN(BOX_TEST(a_file_that_may_not_grow_is_said_and_nothing_is_lost),
           BOX_TEST(a_full_disk_is_said_and_nothing_is_lost))
