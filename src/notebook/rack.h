/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a bench keeps beside the notes: the rack of made and owned tools, hours and costs, checklists worked through,
 * film tests and reference levels. Manners: bench.h. */
#ifndef CW_NOTEBOOK_RACK_H
#define CW_NOTEBOOK_RACK_H

#include "notebook/bench.h"
#include "notebook/test.h"
#include "workshop/rack.h"

/* ---- tools ---- */

typedef struct {
    int64_t id, revision;
    const char *name; /* required */
    const char *kind; /* "flat-wrench", "two-pin driver", "screwdriver": the worksheet that makes it, or a word */
    bool made;        /* else bought */
    /* numbers by name, in mm; "" none. span, span_most, tip, tip_width, reach, clears decide whether a tool fits
     * (workshop/rack.h says what each is); other names are kept as they are. {"span":23.4,"tip_width":1.2} */
    const char *sizes_json;
    const char *drawing_svg; /* "" none; at most 2 MB */
    const char *inputs_json; /* of the worksheet, to make it again with other sizes; "" */
    int64_t made_for_job_id; /* 0 */
    const char *place;       /* where it hangs */
    const char *notes;
    const char *created_at;
    void *held;
} cw_tool;

typedef struct {
    size_t count;
    cw_tool *items; /* in lists without drawing and inputs: those are "" */
    int64_t total;
    void *held;
} cw_tool_list;

/* Sizes a tool must have: `key` between least and most, both included, mm. */
typedef struct {
    const char *key;
    double least_mm, most_mm;
} cw_size_range;

cw_status cw_tool_add(cw_bench *bench, const cw_tool *tool, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_tool_get(cw_bench *bench, int64_t id, cw_tool *tool, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_tool_update(cw_bench *bench, const cw_tool *tool, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_tool_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
void cw_tool_free(cw_tool *tool);
/* kind NULL or "": every kind; ranges: all of them must hold (count 0: none). By name. */
cw_status cw_tool_page(cw_bench *bench, const char *kind, const cw_size_range *ranges, size_t range_count,
                       int64_t first, int64_t most, cw_tool_list *list, cw_error *err)
    __attribute__((warn_unused_result));
void cw_tool_list_free(cw_tool_list *list);

/* The tool's sizes for cw_rack_rank. False when its kind is none that sizes decide about, or its span is not noted. */
bool cw_tool_sizes(const cw_tool *tool, cw_rack_tool *sizes);

typedef struct {
    const cw_tool *tool; /* the answer's, without drawing and inputs */
    cw_rack_match match; /* its index means nothing here */
} cw_tool_match;

/* "Have I something for this ring?" over the whole rack. */
typedef struct {
    size_t count;
    cw_tool_match *items; /* tools of the kind asked for, best first; what cannot serve comes last, with the reason */
    size_t other_kinds;   /* of another kind: not in items */
    size_t unsized;       /* of no kind that sizes decide about, or without a noted span */
    void *held;
} cw_tool_answer;

/* CW_RANGE as cw_rack_rank says of the need. */
cw_status cw_tool_find(cw_bench *bench, const cw_rack_need *need, cw_tool_answer *answer, cw_error *err)
    __attribute__((warn_unused_result));
void cw_tool_answer_free(cw_tool_answer *answer);
/* One sentence that comes first: "Yes: \"gauge plate\" fits, 0.06 mm of play", "No ..., nearest is ...". */
void cw_tool_answer_words(const cw_tool_answer *answer, char *words, size_t size);

/* ---- a part to be made ---- */

/* Keeps the result in the part's job and says so on the part: its condition becomes "make", its notes gain `words`. One
 * change, one undo. sheet->job_id: 0, or the part's own job. */
cw_status cw_part_to_make(cw_bench *bench, int64_t part_id, const cw_saved_sheet *sheet, const char *words,
                          int64_t *saved_id, cw_error *err) __attribute__((warn_unused_result));

/* ---- hours and costs of a job ---- */

typedef struct {
    int64_t id, revision, job_id;
    const char *on;   /* day; "" when adding: today */
    const char *what; /* required: "new seals", "cleaning" */
    double worked_s;  /* NaN: a cost only */
    double amount;    /* in the job's currency; NaN: time only */
    const char *notes;
    void *held;
} cw_cost;

typedef struct {
    size_t count;
    cw_cost *items;          /* by day */
    double worked_s, amount; /* sums over all of the job */
    void *held;
} cw_cost_list;

cw_status cw_cost_add(cw_bench *bench, const cw_cost *cost, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_cost_update(cw_bench *bench, const cw_cost *cost, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_cost_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_cost_page(cw_bench *bench, int64_t job_id, cw_cost_list *list, cw_error *err)
    __attribute__((warn_unused_result)); /* all of a job, at most 2,000 */
void cw_cost_list_free(cw_cost_list *list);

/* ---- checklists ---- */

typedef enum { CW_ANSWER_OPEN, CW_ANSWER_YES, CW_ANSWER_NO, CW_ANSWER_NOT_APPLICABLE, CW_ANSWER_COUNT } cw_answer;

const char *cw_answer_name(cw_answer answer); /* "open", "yes", "no", "not-applicable" */
cw_status cw_answer_parse(const char *name, cw_answer *answer, cw_error *err) __attribute__((warn_unused_result));

/* A list being worked through in a job: made from a template of the program, or the person's own. */
typedef struct {
    int64_t id, revision, job_id;
    const char *kind;  /* "intake", "film-test" ...: a word of the faces */
    const char *title; /* required */
    cw_moment moment;  /* what it says: how the camera was before, or is after */
    const char *created_at;
    int64_t item_count, answered; /* computed */
    void *held;
} cw_checklist;

typedef struct {
    int64_t id, revision, checklist_id;
    const char *key;  /* for programs, "" */
    const char *text; /* the question; required */
    cw_answer answer;
    const char *value; /* a number or words where yes and no do not do */
    const char *remark;
    int64_t photo_id;        /* 0: none */
    const char *answered_by; /* who, or from where: "laptop" */
    const char *answered_at; /* instant, set when an answer is given; "" while open */
    void *held;
} cw_checklist_item;

typedef struct {
    size_t count;
    cw_checklist *items;
    void *held;
} cw_checklist_list;

typedef struct {
    size_t count;
    cw_checklist_item *items; /* in order */
    void *held;
} cw_checklist_item_list;

/* Yes: done, as it should be. No: something was found; the remark says what. */

/* With its items in one change; `items` use key and text (and answer, value, remark when known already). */
cw_status cw_checklist_add(cw_bench *bench, const cw_checklist *checklist, const cw_checklist_item *items,
                           size_t item_count, int64_t *id, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_checklist_item_update(cw_bench *bench, const cw_checklist_item *item, cw_error *err)
    __attribute__((warn_unused_result)); /* answer, value, remark, photo, who */
cw_status cw_checklist_item_get(cw_bench *bench, int64_t id, cw_checklist_item *item, cw_error *err)
    __attribute__((warn_unused_result));
void cw_checklist_item_free(cw_checklist_item *item);
cw_status cw_checklist_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_checklist_get(cw_bench *bench, int64_t id, cw_checklist *checklist, cw_error *err)
    __attribute__((warn_unused_result));
void cw_checklist_free(cw_checklist *checklist);
cw_status cw_checklist_page(cw_bench *bench, int64_t job_id, cw_checklist_list *list, cw_error *err)
    __attribute__((warn_unused_result)); /* all of a job, at most 500 */
void cw_checklist_list_free(cw_checklist_list *list);
cw_status cw_checklist_items(cw_bench *bench, int64_t checklist_id, cw_checklist_item_list *list, cw_error *err)
    __attribute__((warn_unused_result)); /* at most 500 */
void cw_checklist_item_list_free(cw_checklist_item_list *list);

/* ---- the person's own lists ---- */

typedef struct {
    int64_t id, revision;
    const char *title; /* required */
    const char *items; /* a line each; at least one */
    void *held;
} cw_own_list;

typedef struct {
    size_t count;
    cw_own_list *items; /* by title */
    void *held;
} cw_own_list_list;

cw_status cw_own_list_add(cw_bench *bench, const cw_own_list *list, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_own_list_get(cw_bench *bench, int64_t id, cw_own_list *list, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_own_list_update(cw_bench *bench, const cw_own_list *list, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_own_list_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
void cw_own_list_free(cw_own_list *list);
cw_status cw_own_list_page(cw_bench *bench, cw_own_list_list *list, cw_error *err)
    __attribute__((warn_unused_result)); /* all, at most 500 */
void cw_own_list_list_free(cw_own_list_list *list);

/* ---- film tests: frame by frame ---- */

typedef struct {
    int64_t id, revision, job_id;
    int64_t frame;      /* number on the film, 0 to 99 */
    const char *film;   /* "ISO 100 black and white" */
    double marked_s;    /* NaN: not noted */
    double f_number;    /* NaN */
    double distance_mm; /* set on the lens; INFINITY at the infinity mark; NaN not noted */
    const char *scene;
    const char *expected; /* what it is to show */
    const char *seen;     /* on the negative; "" until looked at */
    cw_answer right;      /* yes: as it should be */
    const char *proves;   /* a word of film.h: "speeds", "focus" ...; "" anything */
    int64_t photo_id;     /* 0: none */
    void *held;
} cw_film_frame;

typedef struct {
    size_t count;
    cw_film_frame *items; /* by film, frame */
    void *held;
} cw_film_frame_list;

cw_status cw_film_frame_add(cw_bench *bench, const cw_film_frame *frame, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_film_frame_update(cw_bench *bench, const cw_film_frame *frame, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_film_frame_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_film_frame_page(cw_bench *bench, int64_t job_id, cw_film_frame_list *list, cw_error *err)
    __attribute__((warn_unused_result)); /* all of a job, at most 2,000 */
void cw_film_frame_list_free(cw_film_frame_list *list);

/* ---- reference levels: light sources and targets of this bench that a meter is compared with ---- */

typedef struct {
    int64_t id, revision;
    const char *name;        /* required: "light box, first notch" */
    double value;            /* > 0, in `unit` */
    double u_value;          /* standard uncertainty; NaN: not known */
    const char *unit;        /* required: "cd/m2", "lx", "EV" */
    const char *source;      /* what it was compared with, and how */
    const char *measured_on; /* day; "" when adding: today */
    const char *notes;
    void *held;
} cw_level;

typedef struct {
    size_t count;
    cw_level *items; /* by name */
    void *held;
} cw_level_list;

cw_status cw_level_add(cw_bench *bench, const cw_level *level, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_level_update(cw_bench *bench, const cw_level *level, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_level_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_level_page(cw_bench *bench, cw_level_list *list, cw_error *err)
    __attribute__((warn_unused_result)); /* all, at most 500 */
void cw_level_list_free(cw_level_list *list);

#endif
