/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bringing a bench of an earlier version up to date, with a copy of what it was. */
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "notebook/care_inside.h"
#include "notebook/files.h"
#include "notebook/upgrade.h"

/* Through a handle of its own, for reading only: the caller's holds the writing lock, so that nothing changes
 * meanwhile.
 */
static cw_status copy_as_it_is(const cw_bench *bench, const char *beside, cw_error *err)
{
    char path[FILES_PATH];
    cw_bench reader = {0};
    snprintf(reader.folder, sizeof reader.folder, "%s", bench->folder);
    snprintf(path, sizeof path, "%s/bench.db", bench->folder);
    int code = sqlite3_open_v2(path, &reader.db, SQLITE_OPEN_READONLY, NULL);
    cw_status status = code == SQLITE_OK ? care_copy_database(&reader, beside, err)
                                         : store_fail(&reader, code, "opening the bench once more", err);
    sqlite3_close(reader.db);
    return status;
}

static cw_status keep_copy(cw_bench *bench, int version, cw_error *err)
{
    char goal[FILES_PATH], beside[FILES_PATH + 8];
    snprintf(goal, sizeof goal, "%s/bench-form-%d.db", bench->folder, version);
    snprintf(beside, sizeof beside, "%s.new", goal);
    cw_status status = copy_as_it_is(bench, beside, err);
    if (status == CW_OK && rename(beside, goal) != 0)
        status = cw_fail(err, CW_FILE, "\"%s\" cannot be put in its place: %s", goal, strerror(errno));
    if (status == CW_OK)
        return files_sync_folder(bench->folder, err);
    unlink(beside);
    cw_context(err, "keeping a copy of the bench before it is brought up to date");
    return status;
}

cw_status upgrade_bench(cw_bench *bench, int version, cw_error *err)
{
    if (version > 0)
        CW_TRY(keep_copy(bench, version, err));
    CW_TRY(store_migrate(bench, version, cw_bench_schema_version(), err));
    bench->came_from = version;
    return CW_OK;
}
