/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The thread of a job: where it stands, and the one thing to do next, so that nobody has to wonder. Manners: bench.h.
 */
#ifndef CW_NOTEBOOK_THREAD_H
#define CW_NOTEBOOK_THREAD_H

#include "notebook/job.h"
#include "notebook/prove.h"

typedef enum {
    CW_NEXT_NONE,
    CW_NEXT_TEST_BEFORE,  /* `proof`, before anything is touched */
    CW_NEXT_FIRST_STEP,   /* note the first step of taking apart */
    CW_NEXT_PLANNED_STEP, /* `step_id`, of the earlier job's plan */
    CW_NEXT_STEP,         /* note the next step */
    CW_NEXT_TOGETHER,     /* the steps backwards */
    CW_NEXT_LIST,         /* the guided list `list`; `checklist_id` when it is begun */
    CW_NEXT_TEST_AFTER,   /* `proof`, after the work */
    CW_NEXT_FILM_LOG,     /* the film is planned: fill in the log when it is back */
    CW_NEXT_MOVE,         /* nothing is missing: move to `to` */
    CW_NEXT_REPORT,       /* look through the report, hand it on */
    CW_NEXT_SISTER,       /* it is handed on: the next camera of this kind */
    CW_NEXT_COUNT
} cw_next_kind;

const char *cw_next_kind_name(cw_next_kind kind); /* "test-before", "first-step" ...: in JSON */

enum { CW_NEXT_LABEL = 120, CW_NEXT_WHY = 400 };

typedef struct {
    cw_next_kind kind;
    cw_stage to;
    cw_proof_kind proof;
    const char *list; /* a kind of guide.h, a literal; "" */
    int64_t step_id, checklist_id;
    char label[CW_NEXT_LABEL]; /* of the button: "Measure the shutter as it is" */
    char why[CW_NEXT_WHY];     /* a sentence or two */
} cw_next_action;

typedef struct {
    int64_t job_id;
    cw_stage stage;
    cw_next_action action; /* never NONE */
    cw_next_action other;  /* a way past it; NONE where there is none */
    int64_t pieces_out, step_count;
} cw_next;

/* proving: of this job, or NULL to have as much of it read as the next action needs: cheap enough for a list of jobs.
 */
cw_status cw_job_next(cw_bench *bench, int64_t job_id, const cw_proving *proving, cw_next *next, cw_error *err)
    __attribute__((warn_unused_result));

#endif
