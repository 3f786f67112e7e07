/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From shots to what a repairer wants to know: each speed's exposure and error with its uncertainty and verdict, the
 * curtains, and findings in words. Pure: structs in, structs out. */
#ifndef CW_SHUTTER_EVALUATE_H
#define CW_SHUTTER_EVALUATE_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"
#include "shutter/shot.h"

typedef enum { CW_SHUTTER_FOCAL_PLANE, CW_SHUTTER_LEAF } cw_shutter_kind;
typedef enum { CW_BEAM_POINT, CW_BEAM_DIFFUSE } cw_beam;
typedef enum { CW_COUPLING_AUTO, CW_COUPLING_DC, CW_COUPLING_AC } cw_coupling;

/* A limit that depends on the marked speed: the row with the longest `from_s` not above the mark applies. */
typedef struct {
    double from_s; /* marked time, seconds; rows in falling order */
    double limit_ev;
} cw_tolerance_row;

typedef struct {
    char name[64];    /* "common", or the person's own */
    char source[200]; /* the standard, or "common practice, no source" */
    size_t row_count;
    cw_tolerance_row rows[CW_SPEEDS_MOST];
} cw_tolerance;

/* What the person said about camera and set-up. */
typedef struct {
    cw_shutter_kind kind;
    cw_beam beam;
    double frame_mm; /* length of the frame along the travel; leaf: not used */
    size_t sensor_count;
    double sensors_mm[CW_SENSORS_MOST]; /* NaN: place not given */
    bool geometric;                     /* compare with the geometric series (1/128 ...) instead of the marks */
    double u_clock_relative; /* of the time base, k = 1; 0: not stated, CW_CLOCK_ASSUMED is taken, said in the budget */
    double u_positions_mm;   /* of each sensor's place, k = 1; 0: not stated, CW_PLACE_ASSUMED_MM is taken, said */
    cw_tolerance tolerance;
} cw_test_setup;

/* What is taken where the person states nothing: a crystal of ordinary quality, a ruler (common practice, no source).
 */
#define CW_CLOCK_ASSUMED 1e-4
#define CW_PLACE_ASSUMED_MM 0.2

typedef enum { CW_SPEED_INSIDE, CW_SPEED_OUTSIDE, CW_SPEED_TOO_CLOSE, CW_SPEED_UNKNOWN } cw_speed_verdict;

/* One engraved speed. Uncertainties of exposure_s and error_ev are half the 95.45 % interval of JCGM 100, G.4: the
 * combined standard uncertainty times t(effective degrees)/2, so that plus or minus 2 u covers 95 % with few shots too.
 */
typedef struct {
    double marked_s, reference_s;
    size_t shots; /* used in the figures */
    cw_quantity
        exposure_s;       /* mean over shots at the middle of the frame (or over the one sensor); leaf: over sensors */
    double spread_ev;     /* sd of single shots, EV; NaN for one shot */
    cw_quantity error_ev; /* log2(exposure/reference); + is more light */
    double degrees;       /* effective degrees of freedom behind u (Welch-Satterthwaite); INFINITY: bounds only */
    double evenness_ev;   /* longest over shortest exposure across the frame; NaN where it cannot be told */
    double u_evenness_ev;
    double limit_ev; /* NaN: the table has no row for this speed */
    cw_speed_verdict verdict;
    cw_quantity travel1_s, travel2_s; /* at this speed alone; NaN where not known */
    double efficiency;   /* leaf, diffuse light: effective over total time, ISO 516; NaN: not known, or not a leaf */
    cw_quantity slit_mm; /* between the curtains at the middle of the frame; NaN: not known, or wider */
    cw_quantity contact_delay_s;      /* contact after the first opening; NaN when not seen */
    cw_quantity contact_after_full_s; /* contact after full opening; negative: too early; NaN: not known */
    cw_quantity open_after_contact_s; /* how long the whole frame stays open after the contact; NaN: not known */
    double fully_open_s;              /* time the whole frame is open at once; negative: never by that much; NaN */
    double u_fully_open_s;
} cw_speed;

typedef struct {
    double x_mm, marked_s;
    cw_quantity exposure_s;
} cw_profile_point;

enum { CW_FINDING_TEXT = 640, CW_FINDINGS_MOST = 24, CW_PROFILE_MOST = CW_SPEEDS_MOST * 25 };

typedef enum { CW_CURTAINS_NONE, CW_CURTAINS_STRAIGHT, CW_CURTAINS_BOWED, CW_CURTAINS_PHYSICAL } cw_curtain_form;

typedef struct {
    cw_curtain_form form;
    cw_quantity travel1_s, travel2_s; /* over the whole frame; NaN: not known */
    cw_quantity bow1_s, bow2_s;       /* c of the quadratic form; NaN: too few sensors to tell */
    cw_quantity mismatch_s;           /* b2 - b1: the second curtain takes longer by this; NaN: not known */
    cw_quantity drag_s; /* c2 - c1; negative: the second curtain falls behind towards the end; NaN: not known */
    double chi_squared; /* of the chosen form over both curtains, against the scatter from shot to shot */
    size_t degrees;
    size_t profile_count;
    cw_profile_point *profile;  /* owned by the result */
    char told[CW_FINDING_TEXT]; /* in words: what this many sensors can and cannot tell */
} cw_curtains;

typedef struct {
    char code[32];
    char text[CW_FINDING_TEXT];     /* what it is and what to look at first, deferring to the camera's service notes */
    char evidence[CW_FINDING_TEXT]; /* the numbers behind it */
} cw_finding;

/* One line of the uncertainty budget of a speed, JCGM 100. */
typedef struct {
    char source[64];
    double u_ev;
    double degrees; /* of freedom; INFINITY for a bound */
} cw_budget_line;

enum { CW_BUDGET_MOST = 8 };

typedef struct {
    cw_test_setup setup;
    size_t shot_count;
    cw_shot *shots; /* own copy, in the order fired */
    size_t speed_count;
    cw_speed speeds[CW_SPEEDS_MOST]; /* slowest first */
    size_t budget_count[CW_SPEEDS_MOST];
    cw_budget_line budget[CW_SPEEDS_MOST][CW_BUDGET_MOST];
    cw_curtains curtains;
    size_t finding_count;
    cw_finding findings[CW_FINDINGS_MOST];
} cw_shutter_test;

/* The decision rule behind a verdict, in words, for the page, the report and the terminal. */
const char *cw_verdict_rule(void);
const char *cw_speed_verdict_name(cw_speed_verdict verdict); /* "inside", "outside", "too-close"; "unknown" */

/* Evaluates the shots, which stay the caller's. The caller frees *test.
 * CW_RANGE: no usable shot, more than CW_SHOTS_MOST, sensors outside the frame, no speed assigned. */
cw_status cw_shutter_evaluate(const cw_test_setup *setup, const cw_shot *shots, size_t shot_count,
                              cw_shutter_test **test, cw_error *err) __attribute__((warn_unused_result));
void cw_shutter_test_free(cw_shutter_test *test); /* NULL is fine */

/* The contract "camerawright.shutter/1": shots, speeds, curtains, findings. `recording` (may be NULL) goes in under
 * "recording" and stays the caller's. NULL without memory. Every key is there; null where a thing cannot be known. */
json_t *cw_shutter_test_json(const cw_shutter_test *test, json_t *recording);

/* Back from that JSON (the bench stores it). CW_INPUT with the key that is wrong. */
cw_status cw_shutter_test_from_json(const json_t *object, cw_shutter_test **test, cw_error *err)
    __attribute__((warn_unused_result));

#endif
