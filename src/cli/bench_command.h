/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the commands that work on the bench share: where it is, and how an id is typed. */
#ifndef CW_CLI_BENCH_COMMAND_H
#define CW_CLI_BENCH_COMMAND_H

#include "cli/command.h"
#include "notebook/bench.h"

enum { CW_BENCH_PATH = 4096 };

/* The bench folder: `given` (--bench) when not NULL, else $CAMERAWRIGHT_BENCH, else camerawright/bench in the person's
 * data folder ($XDG_DATA_HOME or ~/.local/share). CW_INPUT when none of them says a place. */
cw_status cw_bench_place(const char *given, char *path, size_t size, cw_error *err) __attribute__((warn_unused_result));
/* Makes every folder above the last part of the path. CW_FILE when one cannot be made. */
cw_status cw_bench_make_parents(const char *path, cw_error *err) __attribute__((warn_unused_result));

/* Opens it; in CREATE mode the folders above the default place are made too. The caller closes *bench. */
cw_status cw_bench_from_option(const char *given, cw_bench_mode mode, cw_bench **bench, cw_error *err)
    __attribute__((warn_unused_result));

/* Says on standard error that this opening brought the bench up to date, and where the copy of what it was lies. */
void cw_bench_tell_upgrade(const cw_bench *bench);

/* "7" or "#7". CW_INPUT with `what` ("job") in the sentence. */
cw_status cw_id_parse(const char *text, const char *what, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));

#endif
