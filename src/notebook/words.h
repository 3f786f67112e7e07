/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only: the words of every choice. */
#ifndef CW_NOTEBOOK_WORDS_H
#define CW_NOTEBOOK_WORDS_H

#include "notebook/job.h"
#include "notebook/rack.h"
#include "notebook/search.h"
#include "notebook/step.h"
#include "notebook/test.h"

extern const char *const words_stage[CW_STAGE_COUNT];
extern const char *const words_shutter[CW_JOB_SHUTTER_COUNT];
extern const char *const words_finder[CW_FINDER_COUNT];
extern const char *const words_meter[CW_METER_COUNT];
extern const char *const words_fitted[CW_FITTED_COUNT];
extern const char *const words_moment[CW_MOMENT_COUNT];
extern const char *const words_when[CW_WHEN_COUNT];
extern const char *const words_step_state[CW_STEP_STATE_COUNT];
extern const char *const words_thread[CW_THREAD_COUNT];
extern const char *const words_condition[CW_CONDITION_COUNT];
extern const char *const words_part_state[CW_PART_STATE_COUNT];
extern const char *const words_answer[CW_ANSWER_COUNT];
extern const char *const words_hit[CW_HIT_COUNT];

/* The place of `name` among the words. CW_INPUT with `what` and all of them. */
cw_status words_parse(const char *what, const char *const *words, int count, const char *name, int *index,
                      cw_error *err) __attribute__((warn_unused_result));

#endif
