/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which tests a camera of this kind owes, what the notebook knows of each before and after, and what was left out on
 * purpose. Manners: bench.h.
 *
 * The evidence is what was kept in the job: tests, worksheets that say "before" or "after", the light-leak and bellows
 * lists, the frames of the test film. Its verdict is the one that was kept with it; nothing is judged anew here. */
#ifndef CW_NOTEBOOK_PROVE_H
#define CW_NOTEBOOK_PROVE_H

#include "notebook/job.h"
#include "notebook/test.h"

typedef enum {
    CW_PROOF_SHUTTER,  /* the speeds */
    CW_PROOF_EVENNESS, /* across the frame, focal plane only */
    CW_PROOF_FLASH,    /* the contact against the opening */
    CW_PROOF_FOCUS,    /* lens and register at the film plane */
    CW_PROOF_FINDER,   /* rangefinder, or the screen of a reflex, against the film plane */
    CW_PROOF_METER,
    CW_PROOF_LEAKS, /* light leaks; the bellows with them */
    CW_PROOF_FILM,  /* the test film */
    CW_PROOF_COUNT
} cw_proof_kind;

const char *cw_proof_name(cw_proof_kind kind);  /* "shutter", "evenness", "flash" ...: in the database, JSON, options */
const char *cw_proof_label(cw_proof_kind kind); /* "Shutter speeds" */
/* What is done, as the label of a button: "Measure the shutter". */
const char *cw_proof_action(cw_proof_kind kind);
/* CW_INPUT with the names for anything else. */
cw_status cw_proof_parse(const char *name, cw_proof_kind *kind, cw_error *err) __attribute__((warn_unused_result));

typedef enum {
    CW_PROVED_NOT,   /* nothing is there */
    CW_PROVED_BEGUN, /* a list or a film that is not finished */
    CW_PROVED_INSIDE,
    CW_PROVED_OUTSIDE,
    CW_PROVED_TOO_CLOSE,
    CW_PROVED_UNKNOWN, /* done, but without a verdict */
    CW_PROVED_COUNT
} cw_proof_verdict;

const char *
cw_proof_verdict_name(cw_proof_verdict verdict); /* "none", "begun", "inside", "outside", "too-close", "unknown" */
const char *cw_proof_verdict_words(cw_proof_verdict verdict); /* "not done", "begun, not finished", "inside" ... */

/* What the notebook holds; at most one of the ids is not 0. */
typedef struct {
    cw_proof_verdict verdict;
    int64_t test_id, sheet_id, checklist_id;
    const char *on;   /* day; "" */
    const char *text; /* in a line: "7 of 8 speeds inside; outside: 1/1000"; "" */
} cw_evidence;

typedef struct {
    cw_proof_kind kind;
    bool owed;          /* by a camera of this kind, after the work */
    bool wanted_before; /* worth measuring before anything is touched */
    const char *why;    /* why it is owed, or not */
    cw_evidence before, after;
    const char *film;     /* what the test film says about it, in a line; "" nothing */
    bool film_objects;    /* a frame that should show it is not right */
    const char *left_out; /* the reason it is left out after the work; "" it is not */
    int64_t left_out_id;
    bool settled; /* there is a verdict after the work, or a reason why there is none */
} cw_proof;

typedef struct {
    cw_proof items[CW_PROOF_COUNT]; /* by kind */
    size_t owed, settled;           /* of those owed */
    size_t before_wanted, before_done;
    bool kind_known; /* shutter, finder, meter and flash of the camera are all noted */
    void *held;
} cw_proving;

/* Everything of one job. CW_NOT_FOUND: no such job. The caller frees. */
cw_status cw_job_proving(cw_bench *bench, int64_t job_id, cw_proving *proving, cw_error *err)
    __attribute__((warn_unused_result));
void cw_proving_free(cw_proving *proving);

/* Leaves an owed test out, with the reason (required), or changes the reason. */
cw_status cw_left_out_set(cw_bench *bench, int64_t job_id, cw_proof_kind kind, const char *reason, cw_error *err)
    __attribute__((warn_unused_result));
/* It is owed again. CW_NOT_FOUND: it was not left out. */
cw_status cw_left_out_clear(cw_bench *bench, int64_t job_id, cw_proof_kind kind, cw_error *err)
    __attribute__((warn_unused_result));

#endif
