/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tests of a job (before, during, after), the readings typed by hand, the recordings behind them, and worksheet results
 * kept with a job. Manners: bench.h. */
#ifndef CW_NOTEBOOK_TEST_H
#define CW_NOTEBOOK_TEST_H

#include "notebook/bench.h"

typedef enum { CW_WHEN_BEFORE, CW_WHEN_DURING, CW_WHEN_AFTER, CW_WHEN_COUNT } cw_when;

const char *cw_when_name(cw_when when); /* "before", "during", "after" */
cw_status cw_when_parse(const char *name, cw_when *when, cw_error *err) __attribute__((warn_unused_result));

typedef struct {
    int64_t id, revision, job_id;
    const char *kind; /* what was tested, a word of the faces: "shutter", "sound", "focus" ...; required */
    cw_when when;
    const char *title;           /* "" or a line: "after cleaning the governor" */
    const char *notes;           /* circumstances: temperature, battery, how it was held */
    const char *tested_on;       /* day; "" when adding: today */
    const char *program_version; /* that computed the result */
    int64_t recording_id;        /* cw_recording, 0: none */
    const char *plan_json;       /* how it was evaluated (marks, sensors, tolerance), so that it can be run again; "" */
    const char *result_json;     /* the contract "camerawright.shutter/1" or another named in "format"; "" */
    const char *trace_json;      /* thinned traces kept for redrawing; "" */
    const char *strikes_json;    /* why shots were left out, by their number from 1: {"3":"the panel moved"}; "" */
    const char *created_at;
    void *held;
} cw_test;

/* The JSON texts must parse as JSON objects or arrays; at most 8 MB each. CW_INPUT says which does not. */
cw_status cw_test_add(cw_bench *bench, const cw_test *test, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_test_get(cw_bench *bench, int64_t id, cw_test *test, cw_error *err) __attribute__((warn_unused_result));
/* Writes every field but id, job_id, created_at. */
cw_status cw_test_update(cw_bench *bench, const cw_test *test, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_test_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
void cw_test_free(cw_test *test);

typedef struct {
    size_t count;
    cw_test *items; /* as above, without the trace: trace_json is "" */
    int64_t total;
    void *held;
} cw_test_list;

/* A job's tests, oldest first. kind NULL or "": every kind. */
cw_status cw_test_page(cw_bench *bench, int64_t job_id, const char *kind, int64_t first, int64_t most,
                       cw_test_list *list, cw_error *err) __attribute__((warn_unused_result));
void cw_test_list_free(cw_test_list *list);

/* The newest test of a kind at that time; *id 0 when there is none. */
cw_status cw_test_newest(cw_bench *bench, int64_t job_id, const char *kind, cw_when when, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));

/* A number copied from a timer, kept as typed and as read. */
typedef struct {
    int64_t id, test_id;
    double marked_s;      /* the engraved speed, seconds, > 0 */
    double exposure_s;    /* seconds, > 0 */
    double position_mm;   /* sensor place, NaN: not given */
    const char *as_typed; /* "1/250 4.43 ms" */
} cw_reading;

typedef struct {
    size_t count;
    cw_reading *items; /* in the order typed */
    void *held;
} cw_reading_list;

/* Adds at the end. id of the struct is not used. */
cw_status cw_reading_add(cw_bench *bench, const cw_reading *reading, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_reading_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_reading_page(cw_bench *bench, int64_t test_id, cw_reading_list *list, cw_error *err)
    __attribute__((warn_unused_result)); /* all of them; at most 4096 in one test */
void cw_reading_list_free(cw_reading_list *list);

/* A test as it stood before it was corrected. */
typedef struct {
    int64_t id, revision, test_id;
    const char *reason;       /* why it was corrected */
    const char *corrected_at; /* instant */
    cw_when when;             /* from here on as in cw_test */
    const char *title, *notes, *tested_on, *program_version, *plan_json, *strikes_json, *result_json;
    const char *readings_json; /* [{"marked_s":0.004,"position_mm":null,"as_typed":"4.43 ms"}]; "" without readings */
    void *held;
} cw_test_version;

typedef struct {
    size_t count;
    cw_test_version *items; /* oldest first: the first is what was kept at first; JSON texts "" */
    void *held;
} cw_test_version_list;

enum { CW_TEST_VERSIONS_MOST = 200 };

/* Corrects a test: as it stands it is put aside as a version, with its readings and the reason, and the new content
 * takes its place; one change, one line of history, one undo. Writes what cw_test_update writes.
 *
 * readings  take the place of the readings there are (their id and test_id are not used); count 0: none are left
 * reason    why, a line; required
 * CW_INPUT  no reason; CW_RANGE: corrected CW_TEST_VERSIONS_MOST times already; CW_CONFLICT: by revision, bench.h */
cw_status cw_test_correct(cw_bench *bench, const cw_test *test, const cw_reading *readings, size_t count,
                          const char *reason, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_test_version_page(cw_bench *bench, int64_t test_id, cw_test_version_list *list, cw_error *err)
    __attribute__((warn_unused_result)); /* all of them */
void cw_test_version_list_free(cw_test_version_list *list);
cw_status cw_test_version_get(cw_bench *bench, int64_t id, cw_test_version *version, cw_error *err)
    __attribute__((warn_unused_result));
void cw_test_version_free(cw_test_version *version);

/* A recording's original, kept by the hash of its content: the same file twice is stored once. */
typedef struct {
    int64_t id;
    const char *hash; /* SHA-256, 64 lower-case hexadecimal digits */
    const char *name; /* the file name it came with, without folders */
    int64_t bytes;
    const char *added_at;
    void *held;
} cw_recording;

enum { CW_RECORDING_MB_MOST = 4096 };

/* Copies the file at `path` in. Not part of undo: an unused recording is removed by cw_care_tidy. */
cw_status cw_recording_import(cw_bench *bench, const char *path, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_recording_get(cw_bench *bench, int64_t id, cw_recording *recording, cw_error *err)
    __attribute__((warn_unused_result));
void cw_recording_free(cw_recording *recording);
/* Where the original lies, for reading only. CW_NOT_FOUND when it is missing, in words. */
cw_status cw_recording_path(cw_bench *bench, int64_t id, char *path, size_t size, cw_error *err)
    __attribute__((warn_unused_result));

/* Whether a kept worksheet or list says how the camera was, or is; most only work something out. */
typedef enum { CW_MOMENT_ANY, CW_MOMENT_BEFORE, CW_MOMENT_DURING, CW_MOMENT_AFTER, CW_MOMENT_COUNT } cw_moment;

const char *cw_moment_name(cw_moment moment); /* "", "before", "during", "after" */
cw_status cw_moment_parse(const char *name, cw_moment *moment, cw_error *err) __attribute__((warn_unused_result));

/* A worksheet's result kept with a job. */
typedef struct {
    int64_t id, revision, job_id;
    const char *worksheet; /* its name: "flat-wrench"; required */
    cw_moment moment;
    const char *title; /* "" or a line of the person's own */
    const char *program_version;
    const char *result_json; /* {"format":"camerawright.worksheet/1","inputs":..,"outputs":..}; required */
    const char *notes;
    const char *created_at;
    void *held;
} cw_saved_sheet;

typedef struct {
    size_t count;
    cw_saved_sheet *items; /* oldest first */
    int64_t total;
    void *held;
} cw_saved_sheet_list;

cw_status cw_saved_sheet_add(cw_bench *bench, const cw_saved_sheet *sheet, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_saved_sheet_get(cw_bench *bench, int64_t id, cw_saved_sheet *sheet, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_saved_sheet_update(cw_bench *bench, const cw_saved_sheet *sheet, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_saved_sheet_delete(cw_bench *bench, int64_t id, cw_error *err) __attribute__((warn_unused_result));
void cw_saved_sheet_free(cw_saved_sheet *sheet);
cw_status cw_saved_sheet_page(cw_bench *bench, int64_t job_id, int64_t first, int64_t most, cw_saved_sheet_list *list,
                              cw_error *err) __attribute__((warn_unused_result));
void cw_saved_sheet_list_free(cw_saved_sheet_list *list);

#endif
