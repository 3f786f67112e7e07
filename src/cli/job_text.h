/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Jobs as text for a terminal of 80 columns. */
#ifndef CW_CLI_JOB_TEXT_H
#define CW_CLI_JOB_TEXT_H

#include <stdio.h>

#include "notebook/job.h"

void cw_job_list_print(const cw_job_list *list, int64_t first, FILE *out);
cw_status cw_job_print(cw_bench *bench, int64_t id, FILE *out, cw_error *err) __attribute__((warn_unused_result));

/* The newest shutter test before against the newest after, as a table behind an empty line; nothing unless there are
 * both. */
cw_status cw_job_comparison_print(cw_bench *bench, int64_t job_id, FILE *out, cw_error *err)
    __attribute__((warn_unused_result));

#endif
