/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What must come off before what, and from that the way in to a part and out again. Manners: bench.h. */
#ifndef CW_NOTEBOOK_WAY_H
#define CW_NOTEBOOK_WAY_H

#include "notebook/bench.h"

enum { CW_WAYS_MOST = 8 };

/* A thing that comes off as one, or is to be reached: "top cover", "winding gear". */
typedef struct {
    int64_t id, revision, job_id;
    const char *name;    /* required; one of a name in a job, case folded */
    int64_t step_id;     /* the step it comes off in, 0: not taken off so far */
    int64_t block_count; /* computed: blocks it is under */
    void *held;
} cw_thing;

typedef struct {
    size_t count;
    cw_thing *items; /* by name */
    void *held;
} cw_thing_list;

cw_status cw_thing_add(cw_bench *bench, const cw_thing *thing, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
/* The thing of that name in the job, made when it is not there. */
cw_status cw_thing_named(cw_bench *bench, int64_t job_id, const char *name, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_thing_update(cw_bench *bench, const cw_thing *thing, cw_error *err) __attribute__((warn_unused_result));
/* With its blocks. */
cw_status cw_thing_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_thing_page(cw_bench *bench, int64_t job_id, cw_thing_list *list, cw_error *err)
    __attribute__((warn_unused_result)); /* all of a job, at most 2,000 */
void cw_thing_list_free(cw_thing_list *list);

/* "`under` is under `over`": over must come off first. way 0: always. Ways 1 to CW_WAYS_MOST are alternatives: all
 * blocks of one way, whichever, must be off; "the shutter comes out through the front (way 1: lens) or through the back
 * (way 2: pressure plate, film gate)". */
typedef struct {
    int64_t id, job_id, under_id, over_id;
    int64_t way;
    const char *under, *over; /* names; computed */
} cw_block;

typedef struct {
    size_t count;
    cw_block *items;
    void *held;
} cw_block_list;

/* CW_CONFLICT when that would close a circle, which is named: "the top cover is under the rewind knob, which is under
 * the top cover". A circle is one over ways of any number together: what is under itself one way is wrong all ways. */
cw_status cw_block_add(cw_bench *bench, int64_t under_id, int64_t over_id, int way, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_block_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_block_page(cw_bench *bench, int64_t job_id, cw_block_list *list, cw_error *err)
    __attribute__((warn_unused_result)); /* all of a job, at most 10,000 */
void cw_block_list_free(cw_block_list *list);

/* One way to reach the target. */
typedef struct {
    size_t count;
    struct cw_way_step {
        const char *name;
        int64_t step_id; /* where it is described, in this or an earlier job; 0 */
        int64_t job_id;  /* whose record says how it is blocked */
        bool is_off;     /* it is off already in the job asked about */
    } * items;           /* in an order that works; the target is the last. Backwards it is the way together. */
} cw_way;

typedef struct {
    size_t count;
    cw_way *items;    /* the shortest first, then the alternatives, each minimal: nothing in it could stay on */
    bool complete;    /* false: there may be more alternatives than these */
    bool proven;      /* the first is certainly a shortest one; false: too many possibilities to try them all */
    const char *told; /* "" or what a person should know: which earlier job it leans on, what is not recorded */
    void *held;
} cw_way_list;

enum { CW_WAY_ALTERNATIVES = 8 };

/* The way in to the thing `target` (a name, case folded) of a job: from its own blocks, and for things it has none for
 * yet from the newest other job of the same camera that has. CW_NOT_FOUND: nothing of that name is recorded; the
 * sentence lists names like it. */
cw_status cw_way_in(cw_bench *bench, int64_t job_id, const char *target, cw_way_list *list, cw_error *err)
    __attribute__((warn_unused_result));
/* The same before there is a job, from the records of a camera kind. */
cw_status cw_way_in_camera(cw_bench *bench, const char *camera, const char *target, cw_way_list *list, cw_error *err)
    __attribute__((warn_unused_result));
void cw_way_list_free(cw_way_list *list);

#endif
