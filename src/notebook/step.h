/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Steps of a teardown in order, the parts that came off, and the trays they lie in. Manners: bench.h. */
#ifndef CW_NOTEBOOK_STEP_H
#define CW_NOTEBOOK_STEP_H

#include "notebook/bench.h"

typedef enum {
    CW_STEP_PLANNED, /* led by an earlier job, not done yet */
    CW_STEP_DONE,
    CW_STEP_SKIPPED, /* planned, and found not to be needed on this camera */
    CW_STEP_STATE_COUNT
} cw_step_state;

typedef enum { CW_THREAD_NONE, CW_THREAD_RIGHT, CW_THREAD_LEFT, CW_THREAD_COUNT } cw_thread_direction;

const char *cw_step_state_name(cw_step_state state);              /* "planned", "done", "skipped" */
const char *cw_thread_direction_name(cw_thread_direction thread); /* "", "right", "left" */
cw_status cw_thread_direction_parse(const char *name, cw_thread_direction *thread, cw_error *err)
    __attribute__((warn_unused_result));

typedef struct {
    int64_t id, revision, job_id;
    int64_t number;    /* 1, 2, 3 ... in the order taken apart; computed, never written */
    const char *title; /* required */
    const char *came_off;
    const char *held_by; /* how it was held: "3 screws and a dab of lacquer" */
    cw_thread_direction thread;
    const char *orientation;      /* which way round, scribed marks */
    const char *flies;            /* springs or detents that can fly; "" none */
    const char *tool;             /* used to open */
    const char *lubricant_found;  /* on taking apart */
    const char *lubricant_to_use; /* what, where and how little, on putting together */
    const char *torque;           /* "0.15 N m" or "snug" */
    const char *check_before_closing;
    const char *notes;
    double duration_s; /* NaN: not noted */
    cw_step_state state;
    bool back_done;       /* checked off on the way together */
    int64_t from_step_id; /* the earlier job's step that led it, 0 */
    const char *created_at, *changed_at;
    int64_t photo_count, part_count; /* rows; computed */
    int64_t pieces_out;              /* computed */
    void *held;
} cw_step;

/* Adds at the end of the job, or after step `after_step_id` (a forgotten step goes where it belongs). after_step_id 0:
 * at the end; -1: before all. A done step takes a job that is "taken in" apart. */
cw_status cw_step_add(cw_bench *bench, const cw_step *step, int64_t after_step_id, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_step_get(cw_bench *bench, int64_t id, cw_step *step, cw_error *err) __attribute__((warn_unused_result));
/* Writes the texts, thread, duration_s. */
cw_status cw_step_update(cw_bench *bench, const cw_step *step, cw_error *err) __attribute__((warn_unused_result));
/* Puts it behind `after_step_id` of the same job; -1: before all. */
cw_status cw_step_reorder(cw_bench *bench, int64_t id, int64_t after_step_id, cw_error *err)
    __attribute__((warn_unused_result));
/* Splits in two: a new step right behind it, titled `title`, takes over the named parts and photos. */
cw_status cw_step_split(cw_bench *bench, int64_t id, const char *title, const int64_t *part_ids, size_t part_count,
                        const int64_t *photo_ids, size_t photo_count, int64_t *new_id, cw_error *err)
    __attribute__((warn_unused_result));
/* CW_CONFLICT while a part of it is still out: its parts would be forgotten. Photos stay with the job. */
cw_status cw_step_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
void cw_step_free(cw_step *step);

/* A planned step: done as planned (its expected parts come out, into tray_id when that is not 0), or not needed here.
 */
cw_status cw_step_tick(cw_bench *bench, int64_t id, int64_t tray_id, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_step_skip(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
/* On the way together: checked off, or not. Parts are put back one by one (cw_part_move) or all at once. */
cw_status cw_step_back(cw_bench *bench, int64_t id, bool done, bool with_parts, cw_error *err)
    __attribute__((warn_unused_result));

typedef struct {
    size_t count;
    cw_step *items;
    int64_t total;
    void *held;
} cw_step_list;

typedef enum { CW_APART_ORDER, CW_TOGETHER_ORDER /* backwards, without skipped and planned ones */ } cw_step_order;

cw_status cw_step_page(cw_bench *bench, int64_t job_id, cw_step_order order, int64_t first, int64_t most,
                       cw_step_list *list, cw_error *err) __attribute__((warn_unused_result));
void cw_step_list_free(cw_step_list *list);

/* What differs between a step and the earlier one that led it, one line each: "torque: \"snug\", was \"0.15 N m\"". */
typedef struct {
    size_t count;
    struct cw_difference {
        int64_t step_id;
        const char *title, *text;
    } * items;
    void *held;
} cw_difference_list;

/* Of a whole job that was started from an earlier one: corrected, added and skipped steps, and other parts. */
cw_status cw_job_differences(cw_bench *bench, int64_t job_id, cw_difference_list *list, cw_error *err)
    __attribute__((warn_unused_result));
void cw_difference_list_free(cw_difference_list *list);

/* ---- trays ---- */

typedef struct {
    int64_t id, revision, job_id;
    int64_t number; /* on the label, 1 to 9999, one tray of a number in a job; 0 when adding: the lowest number that no
                       job still apart uses */
    const char *label;              /* "" or a line */
    bool put_away;                  /* else on the bench */
    int64_t part_count, pieces_out; /* computed: rows in it, single pieces out */
    void *held;
} cw_tray;

typedef struct {
    size_t count;
    cw_tray *items; /* by number */
    void *held;
} cw_tray_list;

cw_status cw_tray_add(cw_bench *bench, const cw_tray *tray, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_tray_get(cw_bench *bench, int64_t id, cw_tray *tray, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_tray_update(cw_bench *bench, const cw_tray *tray, cw_error *err) __attribute__((warn_unused_result));
/* CW_CONFLICT while something lies in it. */
cw_status cw_tray_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
void cw_tray_free(cw_tray *tray);
/* All trays of a job (at most 500). */
cw_status cw_tray_page(cw_bench *bench, int64_t job_id, cw_tray_list *list, cw_error *err)
    __attribute__((warn_unused_result));
void cw_tray_list_free(cw_tray_list *list);
/* The tray of that number in the job, made when it is not there: "four screws into tray 3" in one go. */
cw_status cw_tray_numbered(cw_bench *bench, int64_t job_id, int64_t number, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));

/* ---- parts ---- */

typedef enum {
    CW_CONDITION_GOOD,
    CW_CONDITION_CLEAN,
    CW_CONDITION_REPLACE,
    CW_CONDITION_MAKE,
    CW_CONDITION_COUNT
} cw_condition;

typedef enum {
    CW_PART_EXPECTED, /* of a planned step: not seen yet */
    CW_PART_OUT,
    CW_PART_BACK,
    CW_PART_REPLACED, /* another one is in its place */
    CW_PART_MADE,     /* one made for it is in its place */
    CW_PART_LEFT_OUT, /* on purpose, with a reason */
    CW_PART_STATE_COUNT
} cw_part_state;

const char *cw_condition_name(cw_condition condition); /* "good", "clean", "replace", "make" */
cw_status cw_condition_parse(const char *name, cw_condition *condition, cw_error *err)
    __attribute__((warn_unused_result));
const char *cw_part_state_name(cw_part_state state); /* "expected", "out", "back", "replaced", "made", "left-out" */
cw_status cw_part_state_parse(const char *name, cw_part_state *state, cw_error *err)
    __attribute__((warn_unused_result));

typedef struct {
    int64_t id, revision, job_id;
    int64_t step_id;     /* that it came off in, 0: none */
    int64_t tray_id;     /* 0: in no tray */
    int64_t tray_number; /* computed */
    const char *kind;    /* required: "screw", "click spring" */
    int64_t pieces;      /* how many of the same, 1 to 9999 */
    const char *size;    /* "M1.7" */
    const char *length;  /* "3.2 mm" */
    const char *sat;     /* where it sat */
    const char *orientation;
    cw_condition condition;
    cw_part_state state;
    const char *reason; /* for left out; what replaced it */
    const char *notes;
    void *held;
} cw_part;

typedef struct {
    size_t count;
    cw_part *items;
    int64_t total;
    void *held;
} cw_part_list;

typedef struct {
    int64_t job_id;  /* required, unless tray_id or step_id says it */
    int64_t step_id; /* 0: any */
    int64_t tray_id; /* 0: any */
    unsigned states; /* bits 1u << cw_part_state; 0: any */
    int64_t first, most;
} cw_part_filter;

/* state may be EXPECTED or OUT only. CW_CONFLICT when the job is together already: it has to be apart again first. */
cw_status cw_part_add(cw_bench *bench, const cw_part *part, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_part_get(cw_bench *bench, int64_t id, cw_part *part, cw_error *err) __attribute__((warn_unused_result));
/* Writes every field but id, job_id, state, reason. */
cw_status cw_part_update(cw_bench *bench, const cw_part *part, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_part_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
void cw_part_free(cw_part *part);
/* By step, then in the order noted. */
cw_status cw_part_page(cw_bench *bench, const cw_part_filter *filter, cw_part_list *list, cw_error *err)
    __attribute__((warn_unused_result));
void cw_part_list_free(cw_part_list *list);

/* `pieces` of them (0: all) into a state. Fewer than there are splits the row; *moved_id (may be NULL) is the row that
 * now holds the moved ones. LEFT_OUT needs a reason. */
cw_status cw_part_move(cw_bench *bench, int64_t id, int64_t pieces, cw_part_state state, const char *reason,
                       int64_t *moved_id, cw_error *err) __attribute__((warn_unused_result));
/* Into a tray; 0: out of any. */
cw_status cw_part_into_tray(cw_bench *bench, int64_t id, int64_t tray_id, cw_error *err)
    __attribute__((warn_unused_result));

/* The live count, in single pieces. */
typedef struct {
    int64_t pieces[CW_PART_STATE_COUNT];
    int64_t total;      /* without expected ones */
    int64_t rows_out;   /* rows that still have pieces out */
    bool all_accounted; /* nothing is out */
} cw_part_count;

cw_status cw_part_counts(cw_bench *bench, int64_t job_id, cw_part_count *counts, cw_error *err)
    __attribute__((warn_unused_result));

/* Starts a job from an earlier one: its done steps as planned steps, their parts as expected ones, its things and
 * blocks. camera NULL or "": the same kind. */
cw_status cw_job_plan(cw_bench *bench, int64_t earlier_job_id, const char *camera, const char *serial,
                      const char *complaint, int64_t *id, cw_error *err) __attribute__((warn_unused_result));

#endif
