/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The plan of a shutter test: what the person said about camera, set-up and speeds, under the same keys in every face
 * (options, form fields, stored JSON), and the whole way from a recording to a result. */
#ifndef CW_SHUTTER_PLAN_H
#define CW_SHUTTER_PLAN_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "shutter/evaluate.h"
#include "shutter/marks.h"
#include "shutter/measure.h"

enum { CW_STRIKES_MOST = 64 };

typedef struct {
    cw_measure_setup measure; /* kind, beam, coupling, sensors, contact channel */
    double frame_mm;          /* length of the frame along the travel */
    bool geometric;           /* compare with the geometric series */
    double u_clock_relative;  /* 0: not stated */
    double u_positions_mm;    /* 0: not stated */
    cw_tolerance tolerance;
    cw_mark_list marks;     /* none: the program proposes */
    size_t shots_per_speed; /* 0: not said */
    size_t strike_count;
    size_t strikes[CW_STRIKES_MOST]; /* shots struck out by the person, from 1 */
    cw_source_options source;
} cw_shutter_plan;

/* One field of the plan, for help and forms. */
typedef struct {
    const char *key;      /* "sensors-mm" */
    const char *label;    /* "Sensor positions along the travel, mm" */
    const char *form;     /* what is typed: "4,18,32", or the choices "leaf|focal-plane" */
    const char *fallback; /* what stands when nothing is given; "" = nothing */
    const char *help;
    bool is_flag;
} cw_plan_field;

/* Keys: marked, marked-list, shots-per-speed, shutter, beam, sensors-mm, frame-mm, coupling, tolerance,
 * contact-channel, geometric, strike, clock-ppm, place-mm, separator, sample-interval. */
const cw_plan_field *cw_plan_fields(size_t *count);

/* Focal plane, point beam, coupling found out, frame 36 mm, tolerance "common", speeds proposed. */
cw_shutter_plan cw_plan_default(void);

/* Sets a field from what was typed; "" is as if nothing was given. `tolerance` takes a built-in name here; a table of
 * the person's own goes into plan->tolerance by cw_tolerance_parse. CW_INPUT with the field's label in the sentence. */
cw_status cw_plan_set(cw_shutter_plan *plan, const char *key, const char *text, cw_error *err)
    __attribute__((warn_unused_result));

/* As the bench keeps it; every key as text as it would be typed, tolerance as its own JSON. */
json_t *cw_plan_json(const cw_shutter_plan *plan);
cw_status cw_plan_from_json(const json_t *object, cw_shutter_plan *plan, cw_error *err)
    __attribute__((warn_unused_result));

/* What cw_evaluate wants, from the plan. */
cw_test_setup cw_plan_setup(const cw_shutter_plan *plan);

typedef struct {
    cw_shutter_test *test;
    json_t *recording;         /* the contract's "recording" object */
    cw_mark_proposal proposal; /* only when proposed */
    bool proposed;             /* the speeds are the program's reading: a person confirms them */
} cw_plan_result;

/* Measures the recording, assigns the speeds, strikes what is struck and evaluates. The source stays the caller's; the
 * result is freed by cw_plan_result_free. */
cw_status cw_plan_run(const cw_shutter_plan *plan, cw_source *source, cw_plan_result *result, cw_error *err)
    __attribute__((warn_unused_result));
/* The same from shots that came another way (gate, sound, photographs, readings); recording may be NULL, and is taken.
 */
cw_status cw_plan_run_shots(const cw_shutter_plan *plan, const cw_shot *shots, size_t shot_count, json_t *recording,
                            cw_plan_result *result, cw_error *err) __attribute__((warn_unused_result));
void cw_plan_result_free(cw_plan_result *result);

/* The contract "camerawright.shutter/1" of the whole. NULL without memory. */
json_t *cw_plan_result_json(const cw_plan_result *result);

#endif
