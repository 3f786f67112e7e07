/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A bench for one test: made in a scratch folder, thrown away with it. */
#ifndef CW_TESTS_BENCH_BOX_H
#define CW_TESTS_BENCH_BOX_H

#include "support/check.h"

#include <ftw.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "notebook/job.h"

typedef struct {
    char scratch[512], folder[600];
    cw_bench *bench;
    cw_error err;
} bench_box;

static inline int box_remove_entry(const char *path, const struct stat *about, int kind, struct FTW *where)
{
    (void)about;
    (void)kind;
    (void)where;
    return remove(path);
}

static inline void box_remove(const char *folder)
{
    nftw(folder, box_remove_entry, 16, FTW_DEPTH | FTW_PHYS);
}

static inline int box_setup(void **state)
{
    bench_box *box = calloc(1, sizeof *box);
    if (box == NULL)
        return -1;
    check_folder("bench", box->scratch, sizeof box->scratch);
    snprintf(box->folder, sizeof box->folder, "%s/bench", box->scratch);
    *state = box;
    return cw_bench_open(box->folder, CW_BENCH_CREATE, &box->bench, &box->err) == CW_OK ? 0 : -1;
}

static inline int box_teardown(void **state)
{
    bench_box *box = *state;
    cw_bench_close(box->bench);
    box_remove(box->scratch);
    free(box);
    return 0;
}

static inline int64_t box_job(bench_box *box, const char *camera)
{
    cw_job job = {.camera = camera, .serial = "402187", .complaint = "slow speeds stick", .agreed_cost = NAN};
    int64_t id = 0;
    assert_ok(cw_job_add(box->bench, &job, &id, &box->err), &box->err);
    return id;
}

#define BOX_TEST(name) cmocka_unit_test_setup_teardown(name, box_setup, box_teardown)

#endif
