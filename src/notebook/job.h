/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Jobs: one camera on the bench, from taken in to handed on. Manners: bench.h. */
#ifndef CW_NOTEBOOK_JOB_H
#define CW_NOTEBOOK_JOB_H

#include "notebook/bench.h"

typedef enum {
    CW_STAGE_TAKEN_IN,
    CW_STAGE_APART,
    CW_STAGE_MENDED,
    CW_STAGE_TOGETHER,
    CW_STAGE_PROVED,
    CW_STAGE_HANDED_ON,
    CW_STAGE_COUNT
} cw_stage;

const char *cw_stage_name(cw_stage stage);  /* "taken-in", "apart", "mended" ...: in the database, JSON, options */
const char *cw_stage_label(cw_stage stage); /* "Taken in", "Apart" ... */
/* CW_INPUT with the six names for anything else. */
cw_status cw_stage_parse(const char *name, cw_stage *stage, cw_error *err) __attribute__((warn_unused_result));

typedef enum {
    CW_JOB_SHUTTER_UNKNOWN,
    CW_JOB_SHUTTER_LEAF,
    CW_JOB_SHUTTER_FOCAL_PLANE,
    CW_JOB_SHUTTER_COUNT
} cw_job_shutter;

const char *cw_job_shutter_name(cw_job_shutter shutter); /* "unknown", "leaf", "focal-plane" */
cw_status cw_job_shutter_parse(const char *name, cw_job_shutter *shutter, cw_error *err)
    __attribute__((warn_unused_result));

/* What kind of camera it is, beside its shutter: what it has decides which tests it owes (prove.h). */
typedef enum {
    CW_FINDER_UNKNOWN,
    CW_FINDER_NONE,       /* or a ground glass only */
    CW_FINDER_VIEWFINDER, /* distance is set by scale */
    CW_FINDER_RANGEFINDER,
    CW_FINDER_REFLEX, /* one lens or two */
    CW_FINDER_COUNT
} cw_finder;

typedef enum {
    CW_METER_UNKNOWN,
    CW_METER_NONE,
    CW_METER_BATTERY,
    CW_METER_LIGHT_CELL, /* makes its own current from the light */
    CW_METER_COUNT
} cw_meter_fitted;

typedef enum { CW_FITTED_UNKNOWN, CW_FITTED_NO, CW_FITTED_YES, CW_FITTED_COUNT } cw_fitted;

const char *cw_finder_name(cw_finder finder);            /* "unknown", "none", "viewfinder", "rangefinder", "reflex" */
const char *cw_meter_fitted_name(cw_meter_fitted meter); /* "unknown", "none", "battery", "light-cell" */
const char *cw_fitted_name(cw_fitted fitted);            /* "unknown", "no", "yes" */
cw_status cw_finder_parse(const char *name, cw_finder *finder, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_meter_fitted_parse(const char *name, cw_meter_fitted *meter, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_fitted_parse(const char *name, cw_fitted *fitted, cw_error *err) __attribute__((warn_unused_result));

typedef struct {
    int64_t id, revision;
    const char *camera; /* its kind, free text, required: "Tarnbrook 35" */
    const char *serial; /* or a label: whatever tells this one from its sisters */
    cw_job_shutter shutter;
    cw_finder finder;
    cw_meter_fitted meter;
    cw_fitted flash, bellows;
    const char *complaint; /* what it was brought in for */
    const char *owner;     /* whose it is and what they asked, private: left out of reports and exports unless wanted */
    const char *notes;
    cw_stage stage;           /* changed by cw_job_move only */
    const char *taken_in_on;  /* day; "" when adding: today */
    const char *handed_on_on; /* day; "" until then */
    int64_t plan_of;          /* the earlier job whose steps lead this one, 0 */
    int64_t cover_photo_id;   /* 0: none chosen */
    double agreed_cost;       /* in the person's own currency; NaN: none */
    const char *currency;     /* "" or what they write: "EUR" */
    const char *created_at, *changed_at;
    void *held;
} cw_job;

cw_status cw_job_add(cw_bench *bench, const cw_job *job, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_job_get(cw_bench *bench, int64_t id, cw_job *job, cw_error *err) __attribute__((warn_unused_result));
/* Writes every field but id, stage, created_at, changed_at. */
cw_status cw_job_update(cw_bench *bench, const cw_job *job, cw_error *err) __attribute__((warn_unused_result));
/* With everything in it; can be undone. Photo and recording files stay until cw_care_tidy. */
cw_status cw_job_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
void cw_job_free(cw_job *job);

/* What a list of jobs shows. */
typedef struct {
    int64_t id;
    const char *camera, *serial, *complaint, *taken_in_on, *changed_at;
    cw_stage stage;
    cw_job_shutter shutter;
    int64_t step_count, photo_count, test_count;
    int64_t pieces_out;     /* single pieces still out */
    int64_t cover_photo_id; /* the chosen one, else the job's first; 0 */
} cw_job_card;

typedef struct {
    size_t count;
    cw_job_card *items;
    int64_t total; /* that match, beyond this page */
    void *held;
} cw_job_list;

typedef enum {
    CW_JOBS_NEWEST_CHANGE, /* changed last comes first */
    CW_JOBS_TAKEN_IN,      /* newest day first */
    CW_JOBS_CAMERA         /* by camera, then serial */
} cw_job_order;

typedef struct {
    unsigned stages;    /* bits 1u << cw_stage; 0 = every stage */
    const char *camera; /* exactly this kind, case folded; NULL or "" = every kind */
    cw_job_order order;
    int64_t first, most; /* from 0; 1 to 500 */
} cw_job_filter;

cw_status cw_job_page(cw_bench *bench, const cw_job_filter *filter, cw_job_list *list, cw_error *err)
    __attribute__((warn_unused_result));
void cw_job_list_free(cw_job_list *list);

/* How many jobs are in each stage. */
cw_status cw_job_stage_counts(cw_bench *bench, int64_t counts[CW_STAGE_COUNT], cw_error *err)
    __attribute__((warn_unused_result));

/* Camera kinds seen so far, for suggestions: the most used first. */
typedef struct {
    size_t count;
    struct cw_camera_kind {
        const char *camera;
        int64_t jobs;
    } * items;
    void *held;
} cw_camera_list;

cw_status cw_camera_kinds(cw_bench *bench, int64_t most, cw_camera_list *list, cw_error *err)
    __attribute__((warn_unused_result));
void cw_camera_list_free(cw_camera_list *list);

/* What stands between a job and a stage, each a sentence: "2 screws are still out, in tray 4 (from step 7 \"Top
 * cover\")". `refused` ones forbid the move, the others are reminders. */
typedef struct {
    size_t count;
    struct cw_missing {
        bool refused;
        const char *text;
    } * items;
    bool allowed; /* none is refused */
    void *held;
} cw_missing_list;

cw_status cw_job_missing(cw_bench *bench, int64_t id, cw_stage stage, cw_missing_list *list, cw_error *err)
    __attribute__((warn_unused_result));
void cw_missing_list_free(cw_missing_list *list);

/* Moves the job to a stage, forwards or back. `on`: the day, NULL or "" = today (kept for handed on). CW_CONFLICT with
 * the first refused sentence: a job with a part unaccounted for is not together, proved or handed on. */
cw_status cw_job_move(cw_bench *bench, int64_t id, cw_stage stage, const char *on, cw_error *err)
    __attribute__((warn_unused_result));

#endif
