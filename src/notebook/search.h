/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Search over every job. Manners: bench.h. */
#ifndef CW_NOTEBOOK_SEARCH_H
#define CW_NOTEBOOK_SEARCH_H

#include "notebook/bench.h"

typedef enum { CW_HIT_JOB, CW_HIT_STEP, CW_HIT_PART, CW_HIT_PHOTO, CW_HIT_TEST, CW_HIT_TOOL, CW_HIT_COUNT } cw_hit_kind;

const char *cw_hit_kind_name(cw_hit_kind kind); /* "job", "step", "part", "photo", "test", "tool" */

/* Marks in `snippet` around a word that was found; everything else in it is the person's own text. */
#define CW_HIT_ON '\x02'
#define CW_HIT_OFF '\x03'

typedef struct {
    cw_hit_kind kind;
    int64_t id;       /* of the job, step, part, photo, test or tool */
    int64_t job_id;   /* 0 for a tool */
    int64_t step_id;  /* the step it is or belongs to, 0 */
    int64_t photo_id; /* one to show with it, 0 */
    const char *camera, *title;
    const char *snippet;
} cw_hit;

typedef struct {
    size_t count;
    cw_hit *items; /* best first */
    int64_t total;
    bool corrected;   /* some word was not found as typed and near ones were taken */
    const char *told; /* "" or which: "no \"escapment\"; shown: escapement" */
    void *held;
} cw_hit_list;

/* words: anything a person types; every word must be found, as a beginning of a word, diacritics and case ignored,
 * endings folded. "words in quotes" belong together. A word that is not found counts as its nearest neighbours (one
 * letter off from four letters on, two from eight). No character is special to the person. CW_INPUT: no word in it.
 * kinds: bits 1u << cw_hit_kind, 0 = all; camera: only this kind, NULL or "" = every. */
cw_status cw_search(cw_bench *bench, const char *words, unsigned kinds, const char *camera, int64_t first, int64_t most,
                    cw_hit_list *list, cw_error *err) __attribute__((warn_unused_result));
void cw_hit_list_free(cw_hit_list *list);

#endif
