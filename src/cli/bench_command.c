/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/bench_command.h"

#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/unit.h"

cw_status cw_bench_place(const char *given, char *path, size_t size, cw_error *err)
{
    const char *set = given != NULL ? given : getenv("CAMERAWRIGHT_BENCH");
    const char *data = getenv("XDG_DATA_HOME"), *home = getenv("HOME");
    int wrote;
    if (set != NULL && *set != '\0')
        wrote = snprintf(path, size, "%s", set);
    else if (data != NULL && *data == '/')
        wrote = snprintf(path, size, "%s/camerawright/bench", data);
    else if (home != NULL && *home == '/')
        wrote = snprintf(path, size, "%s/.local/share/camerawright/bench", home);
    else
        return cw_fail(err, CW_INPUT, "no place for the bench is known; say --bench FOLDER");
    if (wrote < 0 || (size_t)wrote >= size)
        return cw_fail(err, CW_INPUT, "the path of the bench is longer than %zu characters", size);
    return CW_OK;
}

cw_status cw_bench_make_parents(const char *path, cw_error *err)
{
    char part[CW_BENCH_PATH];
    for (const char *slash = strchr(path + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/')) {
        size_t length = (size_t)(slash - path);
        memcpy(part, path, length);
        part[length] = '\0';
        if (mkdir(part, 0700) != 0 && errno != EEXIST)
            return cw_fail(err, CW_FILE, "the folder \"%s\" for the bench cannot be made: %s", part, strerror(errno));
    }
    return CW_OK;
}

cw_status cw_bench_from_option(const char *given, cw_bench_mode mode, cw_bench **bench, cw_error *err)
{
    char path[CW_BENCH_PATH];
    CW_TRY(cw_bench_place(given, path, sizeof path, err));
    if (mode == CW_BENCH_CREATE && given == NULL)
        CW_TRY(cw_bench_make_parents(path, err));
    CW_TRY(cw_bench_open(path, mode, bench, err));
    cw_bench_tell_upgrade(*bench);
    return CW_OK;
}

void cw_bench_tell_upgrade(const cw_bench *bench)
{
    int version = cw_bench_came_from(bench);
    if (version != 0)
        fprintf(stderr,
                "camerawright: this bench was written by an earlier version and is up to date now; what it was is kept "
                "in \"%s/bench-form-%d.db\"\n",
                cw_bench_folder(bench), version);
}

cw_status cw_id_parse(const char *text, const char *what, int64_t *id, cw_error *err)
{
    long number;
    cw_error inner;
    if (cw_parse_whole(*text == '#' ? text + 1 : text, 1, LONG_MAX, &number, &inner) != CW_OK)
        return cw_fail(err, CW_INPUT, "\"%.40s\" is not the number of a %s; `camerawright job list` shows the numbers",
                       text, what);
    *id = number;
    return CW_OK;
}
