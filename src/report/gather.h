/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A job of the notebook as what goes on paper. */
#ifndef CW_REPORT_GATHER_H
#define CW_REPORT_GATHER_H

#include <stdint.h>

#include "notebook/bench.h"
#include "report/report.h"

typedef struct {
    const char *paper;   /* "A4" or "Letter" */
    const char *made_on; /* day, "2026-11-25" */
    bool with_owner;     /* the private owner note too */
} cw_gather_options;

typedef struct {
    cw_report report; /* its pointers live as long as this */
    void *held;
} cw_gathered;

/* Reads all of a job that belongs in its report: the newest shutter test before and after, saved worksheets (computed
 * again from their inputs, and said when the program has changed since), steps with their photos, parts, what remains
 * before the next stage. CW_NOT_FOUND: no such job. The caller frees with cw_gathered_free. */
cw_status cw_gather(cw_bench *bench, int64_t job_id, const cw_gather_options *options, cw_gathered *gathered,
                    cw_error *err) __attribute__((warn_unused_result));
void cw_gathered_free(cw_gathered *gathered);

#endif
