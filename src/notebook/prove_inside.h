/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only: reading the evidence of each kind. Texts are kept in *held. */
#ifndef CW_NOTEBOOK_PROVE_INSIDE_H
#define CW_NOTEBOOK_PROVE_INSIDE_H

#include "notebook/prove.h"
#include "notebook/store.h"

/* How much of it is asked. */
typedef enum {
    PROVE_ALL,    /* verdicts and words, of both times */
    PROVE_BEFORE, /* only what is done and what is not, before the work ... */
    PROVE_AFTER   /* ... and after it */
} prove_depth;

/* The newest tests of the shutter: speeds, evenness and flash contact. */
cw_status prove_from_tests(cw_bench *bench, int64_t job_id, prove_depth depth, cw_proving *proving, cw_error *err)
    __attribute__((warn_unused_result));
/* The newest worksheet of each kind and time; a better source already there stays. */
cw_status prove_from_sheets(cw_bench *bench, int64_t job_id, cw_proving *proving, cw_error *err)
    __attribute__((warn_unused_result));
cw_status prove_from_lists(cw_bench *bench, const cw_job *job, cw_proving *proving, cw_error *err)
    __attribute__((warn_unused_result));
cw_status prove_from_film(cw_bench *bench, int64_t job_id, cw_proving *proving, cw_error *err)
    __attribute__((warn_unused_result));

/* cw_job_proving to that depth: settled and done are the same for the time asked, the words may be missing. */
cw_status prove_job(cw_bench *bench, int64_t job_id, prove_depth depth, cw_proving *proving, cw_error *err)
    __attribute__((warn_unused_result));

/* Fills in place; false without memory. */
bool prove_say(cw_proving *proving, cw_evidence *evidence, cw_proof_verdict verdict, const char *on, const char *text);

#endif
