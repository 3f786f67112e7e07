/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lists the program brings along: what to look at, item by item, with the caution where the risk is. A list is
 * started in a job as a checklist (rack.h) of its own texts; the person's own lists (cw_own_list) are started the same
 * way. */
#ifndef CW_NOTEBOOK_GUIDE_H
#define CW_NOTEBOOK_GUIDE_H

#include "notebook/job.h"
#include "notebook/rack.h"

typedef struct {
    const char *key;     /* stays the same when the words change */
    const char *text;    /* what to do */
    const char *how;     /* how, and what a fault looks like; "" */
    const char *caution; /* a tag of worksheets/cautions.h; NULL none */
} cw_guide_item;

typedef struct {
    const char *kind; /* of the checklist: "light-leaks" */
    const char *title;
    const char *purpose; /* when one needs it, in a sentence or two */
    const char *source;  /* "common practice, no source" */
    bool is_proof;       /* its result says how the camera is, before or after */
    size_t count;
    const cw_guide_item *items;
} cw_guide;

const cw_guide *cw_guides(size_t *count);
const cw_guide *cw_guide_find(const char *kind); /* NULL: none, or one of the person's own */
const cw_guide_item *cw_guide_item_find(const char *kind, const char *key);

/* Starts a list in a job. Items that a camera of this kind cannot have (bellows, a mirror) are left away. CW_INPUT: no
 * such kind, with those there are. */
cw_status cw_guide_start(cw_bench *bench, int64_t job_id, const char *kind, cw_moment moment, int64_t *checklist_id,
                         cw_error *err) __attribute__((warn_unused_result));
/* The same from a list of the person's own; kind "own". */
cw_status cw_own_list_start(cw_bench *bench, int64_t job_id, int64_t own_list_id, int64_t *checklist_id, cw_error *err)
    __attribute__((warn_unused_result));

/* The words of an answer in a list: "open", "done", "found", "not-applicable". */
const char *cw_answer_word(cw_answer answer);
cw_status cw_answer_word_parse(const char *word, cw_answer *answer, cw_error *err) __attribute__((warn_unused_result));

/* How a list stands. */
typedef struct {
    int64_t items, open, done, found, not_applicable;
} cw_list_count;

cw_status cw_checklist_count(cw_bench *bench, int64_t checklist_id, cw_list_count *count, cw_error *err)
    __attribute__((warn_unused_result));
/* The newest list of a kind in a job, moment CW_MOMENT_ANY: of any time; *id 0: none. */
cw_status cw_checklist_newest(cw_bench *bench, int64_t job_id, const char *kind, cw_moment moment, int64_t *id,
                              cw_error *err) __attribute__((warn_unused_result));

#endif
