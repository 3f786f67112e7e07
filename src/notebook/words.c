/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The words of every choice, as they stand in the database, in JSON and on the command line. */
#include "notebook/words.h"

#include <stdio.h>
#include <string.h>

const char *const words_stage[CW_STAGE_COUNT] = {"taken-in", "apart", "mended", "together", "proved", "handed-on"};
const char *const words_shutter[CW_JOB_SHUTTER_COUNT] = {"unknown", "leaf", "focal-plane"};
const char *const words_finder[CW_FINDER_COUNT] = {"unknown", "none", "viewfinder", "rangefinder", "reflex"};
const char *const words_meter[CW_METER_COUNT] = {"unknown", "none", "battery", "light-cell"};
const char *const words_fitted[CW_FITTED_COUNT] = {"unknown", "no", "yes"};
const char *const words_moment[CW_MOMENT_COUNT] = {"", "before", "during", "after"};
const char *const words_when[CW_WHEN_COUNT] = {"before", "during", "after"};
const char *const words_step_state[CW_STEP_STATE_COUNT] = {"planned", "done", "skipped"};
const char *const words_thread[CW_THREAD_COUNT] = {"", "right", "left"};
const char *const words_condition[CW_CONDITION_COUNT] = {"good", "clean", "replace", "make"};
const char *const words_part_state[CW_PART_STATE_COUNT] = {"expected", "out", "back", "replaced", "made", "left-out"};
const char *const words_answer[CW_ANSWER_COUNT] = {"open", "yes", "no", "not-applicable"};
const char *const words_hit[CW_HIT_COUNT] = {"job", "step", "part", "photo", "test", "tool"};

static const char *const stage_labels[CW_STAGE_COUNT] = {"Taken in", "Apart",  "Mended",
                                                         "Together", "Proved", "Handed on"};

static const char *word_at(const char *const *words, int count, int index)
{
    return index >= 0 && index < count ? words[index] : "";
}

cw_status words_parse(const char *what, const char *const *words, int count, const char *name, int *index,
                      cw_error *err)
{
    char list[200];
    size_t used = 0;
    for (int i = 0; i < count; i++) {
        if (strcmp(name, words[i]) == 0) {
            *index = i;
            return CW_OK;
        }
        int added =
            snprintf(list + used, sizeof list - used, "%s%s", i == 0 ? "" : ", ", words[i][0] ? words[i] : "(none)");
        used += added > 0 && (size_t)added < sizeof list - used ? (size_t)added : 0;
    }
    return cw_fail(err, CW_INPUT, "%s \"%.80s\" is not one of: %s", what, name, list);
}

#define NAME_OF(function, type, words)                                                                                 \
    const char *function(type value)                                                                                   \
    {                                                                                                                  \
        return word_at(words, (int)CW_COUNT(words), (int)value);                                                       \
    }
#define PARSE(function, type, words, what)                                                                             \
    cw_status function(const char *name, type *value, cw_error *err)                                                   \
    {                                                                                                                  \
        int index = 0;                                                                                                 \
        CW_TRY(words_parse(what, words, (int)CW_COUNT(words), name, &index, err));                                     \
        *value = (type)index;                                                                                          \
        return CW_OK;                                                                                                  \
    }

NAME_OF(cw_stage_name, cw_stage, words_stage)
NAME_OF(cw_stage_label, cw_stage, stage_labels)
NAME_OF(cw_job_shutter_name, cw_job_shutter, words_shutter)
NAME_OF(cw_finder_name, cw_finder, words_finder)
NAME_OF(cw_meter_fitted_name, cw_meter_fitted, words_meter)
NAME_OF(cw_fitted_name, cw_fitted, words_fitted)
NAME_OF(cw_moment_name, cw_moment, words_moment)
NAME_OF(cw_when_name, cw_when, words_when)
NAME_OF(cw_step_state_name, cw_step_state, words_step_state)
NAME_OF(cw_thread_direction_name, cw_thread_direction, words_thread)
NAME_OF(cw_condition_name, cw_condition, words_condition)
NAME_OF(cw_part_state_name, cw_part_state, words_part_state)
NAME_OF(cw_answer_name, cw_answer, words_answer)
NAME_OF(cw_hit_kind_name, cw_hit_kind, words_hit)

PARSE(cw_stage_parse, cw_stage, words_stage, "stage")
PARSE(cw_job_shutter_parse, cw_job_shutter, words_shutter, "shutter")
PARSE(cw_finder_parse, cw_finder, words_finder, "finder")
PARSE(cw_meter_fitted_parse, cw_meter_fitted, words_meter, "meter")
PARSE(cw_fitted_parse, cw_fitted, words_fitted, "answer")
PARSE(cw_moment_parse, cw_moment, words_moment, "time")
PARSE(cw_when_parse, cw_when, words_when, "time of a test")
PARSE(cw_thread_direction_parse, cw_thread_direction, words_thread, "thread")
PARSE(cw_condition_parse, cw_condition, words_condition, "condition")
PARSE(cw_part_state_parse, cw_part_state, words_part_state, "state of a part")
PARSE(cw_answer_parse, cw_answer, words_answer, "answer")
