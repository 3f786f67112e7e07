/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the pages of one job share. */
#ifndef CW_WEB_JOB_PARTS_H
#define CW_WEB_JOB_PARTS_H

#include "notebook/job.h"
#include "shutter/evaluate.h"
#include "web/request.h"

typedef struct {
    cw_job job;
    int64_t before_id, after_id; /* the newest shutter tests, 0 none */
    int64_t step_count;
} cw_job_view;

cw_status cw_job_view_get(cw_bench *bench, int64_t id, cw_job_view *view, cw_error *err)
    __attribute__((warn_unused_result));
void cw_job_view_free(cw_job_view *view);

/* The shutter before and after, with plot and table; then every test. */
cw_status cw_job_write_tests(cw_request *request, cw_html *h, const cw_job_view *view, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_job_write_sheets(cw_request *request, cw_html *h, const cw_job_view *view, cw_error *err)
    __attribute__((warn_unused_result));

#endif
