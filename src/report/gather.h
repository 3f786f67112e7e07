/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A job of the notebook as what goes on paper: one call for every face. */
#ifndef CW_REPORT_GATHER_H
#define CW_REPORT_GATHER_H

#include <stdbool.h>
#include <stdint.h>

#include "notebook/bench.h"
#include "report/labels.h"
#include "report/report.h"

typedef struct {
    const char *paper;   /* "A4" or "Letter" */
    const char *made_on; /* day, "2026-11-25", by the caller's clock */
    bool with_owner;     /* the private owner note too */
    bool without_photos;
    bool with_costs; /* hours and costs too */
} cw_gather_options;

typedef struct {
    cw_report report; /* its pointers live as long as this */
    void *held;
} cw_gathered;

/* Reads all of a job that belongs on paper: the newest shutter test before and after with the trace of one shot, tests
 * by ear and from photographs, what the camera owes and what came of it, lists and the film, tools made for it, kept
 * worksheets (worked out again from their inputs, and said so where another program version had kept them), steps with
 * photos and their marks (those that were skipped are no work done), parts, and what stands between the job and being
 * handed on. A kept result that cannot be read any more is named under what remains instead of stopping the report.
 * CW_NOT_FOUND: no such job. The caller frees with cw_gathered_free. */
cw_status cw_gather(cw_bench *bench, int64_t job_id, const cw_gather_options *options, cw_gathered *gathered,
                    cw_error *err) __attribute__((warn_unused_result));
void cw_gathered_free(cw_gathered *gathered); /* a zeroed one is fine */

/* A label for each tray of the job; `site` is what the phone opens, "http://192.168.1.20:8421", and gets
 * "/jobs/7/trays/3" behind it; NULL or "": labels without a code. CW_NOT_FOUND: no job, or it has no tray. */
cw_status cw_tray_labels_pdf(cw_bench *bench, int64_t job_id, const cw_label_sheet *sheet, const char *site,
                             cw_buf *out, cw_error *err) __attribute__((warn_unused_result));

#endif
