/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A worksheet's result kept on the bench: as a tool of the rack, in a job, as the part to make. */
#ifndef CW_CLI_SHEET_KEEP_H
#define CW_CLI_SHEET_KEEP_H

#include "cli/bench_command.h"
#include "worksheets/worksheet.h"

typedef struct {
    bool as_tool, in_job;
    const char *bench, *job, *part, *title, *when; /* as typed; NULL: not given */
} cw_sheet_keep;

/* Refuses what does not go together before anything is worked out. */
cw_status cw_sheet_keep_check(const cw_worksheet *sheet, const cw_sheet_keep *keep, cw_error *err)
    __attribute__((warn_unused_result));
/* Keeps it and says on `out` where. */
cw_status cw_sheet_keep_run(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *result,
                            const cw_sheet_keep *keep, FILE *out, cw_error *err) __attribute__((warn_unused_result));

#endif
