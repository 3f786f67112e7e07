/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <string.h>
#include <unistd.h>

#include "notebook/care.h"
#include "notebook/care_inside.h"
#include "notebook/files.h"

static cw_status remove_file(void *removed, const char *path, cw_error *err)
{
    if (unlink(path) != 0)
        return cw_fail(err, CW_FILE, "\"%s\" cannot be removed: %s", path, strerror(errno));
    ++*(int64_t *)removed;
    return CW_OK;
}

static cw_status make_index_again(cw_bench *bench, cw_error *err)
{
    static const char *const tables[] = {"job", "step", "part", "photo", "test", "tool"};
    /* First from what the index itself keeps, so that a broken index does not stand in the way of emptying it. */
    CW_TRY(store_run(bench, "INSERT INTO words(words) VALUES('rebuild')", STORE_NO_VALUES, err));
    CW_TRY(store_run(bench, "DELETE FROM words", STORE_NO_VALUES, err));
    for (size_t i = 0; i < CW_COUNT(tables); i++) {
        char sql[256];
        snprintf(
            sql, sizeof sql,
            "INSERT INTO words(rowid, camera, title, body, job_id) SELECT document, camera, title, body, job_id FROM "
            "%s_document",
            tables[i]);
        CW_TRY(store_run(bench, sql, STORE_NO_VALUES, err));
    }
    return store_run(bench, "INSERT INTO words(words) VALUES('optimize')", STORE_NO_VALUES, err);
}

static cw_status tidy(cw_bench *bench, cw_error *err)
{
    CW_TRY(make_index_again(bench, err));
    return care_forget_recordings(bench, err);
}

cw_status cw_care_tidy(cw_bench *bench, int64_t *removed, cw_error *err)
{
    int64_t gone = 0;
    CW_TRY(store_enter(bench, 0, err, "tidied"));
    CW_TRY(store_leave(bench, 0, tidy(bench, err), err));
    files_sweep_incoming(bench, &gone);
    CW_TRY(care_each_orphan(bench, remove_file, &gone, err));
    *removed = gone;
    return CW_OK;
}
