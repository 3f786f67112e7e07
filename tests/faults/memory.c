/* SPDX-License-Identifier: GPL-3.0-or-later */
/* No memory, at every place in turn: allocation n fails, once or from there on. Every call must say so in words or do
 * its work without; nothing crashes, nothing leaks (the leak check of the sanitizer watches), and the bench stays
 * whole. */
#include "notebook/bench_box.h"
#include "notebook/pictures.h"

#define SQLITE_ENABLE_SESSION 1
#define SQLITE_ENABLE_PREUPDATE_HOOK 1
#include <sqlite3.h>

#include "notebook/archive.h"
#include "notebook/care.h"
#include "notebook/photo.h"
#include "notebook/search.h"
#include "notebook/step.h"
#include "notebook/store.h"
#include "notebook/test.h"
#include "notebook/way.h"

/* ---- failing on demand ---- */

typedef struct {
    bool armed, onwards;
    long left; /* allocations until the one that fails */
    bool hit;
} supply;

static supply ours, theirs;

static bool fails_now(supply *s)
{
    if (!s->armed)
        return false;
    s->left--;
    bool fails = s->left == 0 || (s->onwards && s->left < 0);
    s->hit |= fails;
    return fails;
}

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void *__real_reallocarray(void *old, size_t count, size_t size);
char *__real_strdup(const char *text);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *old, size_t size);
void *__wrap_reallocarray(void *old, size_t count, size_t size);
char *__wrap_strdup(const char *text);

void *__wrap_malloc(size_t size)
{
    return fails_now(&ours) ? NULL : __real_malloc(size);
}
void *__wrap_calloc(size_t count, size_t size)
{
    return fails_now(&ours) ? NULL : __real_calloc(count, size);
}
void *__wrap_realloc(void *old, size_t size)
{
    return fails_now(&ours) ? NULL : __real_realloc(old, size);
}
void *__wrap_reallocarray(void *old, size_t count, size_t size)
{
    return fails_now(&ours) ? NULL : __real_reallocarray(old, count, size);
}
char *__wrap_strdup(const char *text)
{
    return fails_now(&ours) ? NULL : __real_strdup(text);
}

static sqlite3_mem_methods real_sqlite;

static void *sqlite_malloc(int size)
{
    return fails_now(&theirs) ? NULL : real_sqlite.xMalloc(size);
}
static void *sqlite_realloc(void *old, int size)
{
    return fails_now(&theirs) ? NULL : real_sqlite.xRealloc(old, size);
}

/* ---- what is done while memory fails ---- */

typedef struct {
    char folder[700], picture[700], zip[700];
} errand;

/* Work on an open bench; the first refusal ends it. */
static cw_status work(cw_bench *bench, const errand *e, cw_error *err)
{
    int64_t job_id, step_id, part_id, photo_id, id, under, over;
    cw_job job = {.camera = "Tarnbrook 35", .complaint = "slow speeds stick", .agreed_cost = NAN};
    CW_TRY(cw_job_add(bench, &job, &job_id, err));
    cw_step step = {.job_id = job_id, .title = "Governor out", .state = CW_STEP_DONE, .duration_s = NAN};
    CW_TRY(cw_step_add(bench, &step, 0, &step_id, err));
    cw_part part = {.job_id = job_id, .step_id = step_id, .kind = "spring", .pieces = 2, .state = CW_PART_OUT};
    CW_TRY(cw_part_add(bench, &part, &part_id, err));
    CW_TRY(cw_part_move(bench, part_id, 1, CW_PART_BACK, "", &id, err));
    CW_TRY(cw_photo_import(bench, e->picture, job_id, step_id, 0, "", &photo_id, err));
    CW_TRY(cw_thing_named(bench, job_id, "shutter", &under, err));
    CW_TRY(cw_thing_named(bench, job_id, "lens", &over, err));
    CW_TRY(cw_block_add(bench, under, over, 1, &id, err));
    cw_way_list ways;
    CW_TRY(cw_way_in(bench, job_id, "shutter", &ways, err));
    cw_way_list_free(&ways);
    cw_hit_list hits;
    CW_TRY(cw_search(bench, "govenror spring", 0, NULL, 0, 10, &hits, err));
    cw_hit_list_free(&hits);
    cw_job_list jobs;
    CW_TRY(cw_job_page(bench, &(cw_job_filter){.most = 20}, &jobs, err));
    cw_job_list_free(&jobs);
    CW_TRY(cw_undo(bench, job_id, NULL, err));
    CW_TRY(cw_redo(bench, job_id, NULL, err));
    cw_difference_list differences;
    CW_TRY(cw_job_plan(bench, job_id, "", "", "", &id, err));
    CW_TRY(cw_job_differences(bench, id, &differences, err));
    cw_difference_list_free(&differences);
    CW_TRY(cw_job_export(bench, job_id, e->zip, NULL, err));
    return cw_job_import(bench, e->zip, &id, err);
}

static cw_status errand_run(const errand *e, cw_error *err)
{
    cw_bench *bench;
    CW_TRY(cw_bench_open(e->folder, CW_BENCH_CREATE, &bench, err));
    cw_status status = work(bench, e, err);
    cw_bench_close(bench);
    return status;
}

static void expect_whole(bench_box *box)
{
    cw_trouble_list list;
    cw_bench *bench;
    assert_ok(cw_bench_open(box->folder, CW_BENCH_OPEN, &bench, &box->err), &box->err);
    assert_ok(cw_check(bench, true, &list, &box->err), &box->err);
    for (size_t i = 0; i < list.count; i++)
        print_error("%s\n", list.items[i].text);
    assert_int_equal(list.count, 0);
    cw_trouble_list_free(&list);
    cw_bench_close(bench);
}

static errand prepare(bench_box *box)
{
    errand e;
    cw_bench_close(box->bench);
    box->bench = NULL;
    snprintf(e.folder, sizeof e.folder, "%s", box->folder);
    snprintf(e.picture, sizeof e.picture, "%s/p.jpg", box->scratch);
    snprintf(e.zip, sizeof e.zip, "%s/job.zip", box->scratch);
    write_jpeg(e.picture, 32, 24, 80, false);
    return e;
}

/* A refusal is about memory, or of a library that could not say more; never an empty sentence. */
static void expect_said(cw_status status, const cw_error *err)
{
    if (status == CW_OK)
        return;
    assert_int_equal(status, err->status);
    assert_true(strlen(err->text) > 10);
}

static void our_allocations_fail_one_by_one(void **state)
{
    bench_box *box = *state;
    errand e = prepare(box);
    long tried = 0;
    int refused = 0;
    for (bool onwards = false;; onwards = true) {
        for (long n = 1;; n += n < 150 ? 1 : onwards ? 13 : 3) {
            ours = (supply){true, onwards, n, false};
            cw_status status = errand_run(&e, &box->err);
            ours.armed = false;
            expect_said(status, &box->err);
            refused += status != CW_OK;
            tried++;
            if (!ours.hit)
                break;
        }
        if (onwards)
            break;
    }
    expect_whole(box);
    print_message("%ld places tried, %d refusals\n", tried, refused);
    assert_true(tried > 60 && refused > 50);
}

static void allocations_of_the_database_fail_one_by_one(void **state)
{
    bench_box *box = *state;
    errand e = prepare(box);
    long tried = 0;
    int refused = 0;
    for (long n = 1;; n += 1 + n / 29) {
        theirs = (supply){true, n % 2 == 0, n, false};
        cw_status status = errand_run(&e, &box->err);
        theirs.armed = false;
        expect_said(status, &box->err);
        refused += status != CW_OK;
        tried++;
        if (!theirs.hit)
            break;
    }
    expect_whole(box);
    print_message("%ld places tried, %d refusals\n", tried, refused);
    assert_true(tried > 60 && refused > 50);
}

int main(void)
{
    sqlite3_mem_methods failing;
    sqlite3_config(SQLITE_CONFIG_GETMALLOC, &real_sqlite);
    failing = real_sqlite;
    failing.xMalloc = sqlite_malloc;
    failing.xRealloc = sqlite_realloc;
    sqlite3_config(SQLITE_CONFIG_MALLOC, &failing);
    const struct CMUnitTest tests[] = {BOX_TEST(our_allocations_fail_one_by_one),
                                       BOX_TEST(allocations_of_the_database_fail_one_by_one)};
    return check_main(__FILE__, tests, sizeof tests / sizeof tests[0]);
}
