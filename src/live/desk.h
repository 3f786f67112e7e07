/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The live desk: one test under way, from a light gate or a sound card, with a thread of its own that listens, finds
 * the shots, measures them by the same way as recordings, writes each to the journal and only then shows it. Every call
 * may come from any thread; what is shown carries a number that grows with every change. */
#ifndef CW_LIVE_DESK_H
#define CW_LIVE_DESK_H

#include <stdbool.h>
#include <stdint.h>

#include "live/activity.h"
#include "live/capture.h"
#include "live/serial.h"
#include "shutter/plan.h"

enum {
    CW_DESK_SHOTS_MOST = 500, /* one mark each has to fit the plan of the kept test */
    CW_DESK_NOTICES = 6,
    CW_DESK_NOTICE_TEXT = 320,
    CW_DESK_SOURCE_TEXT = 320,
    CW_DESK_TRACE = 96,   /* columns of a small trace */
    CW_DESK_HISTORY = 120 /* columns of the running trace of the level check, ten a second */
};

typedef enum { CW_DESK_GATE, CW_DESK_SOUND } cw_desk_source_kind;

/* Where the light comes in. */
typedef struct {
    cw_desk_source_kind kind;
    char port[CW_PORT_NAME];      /* gate: its port, "" the only one there is */
    double mask_mm;               /* gate: slit before each sensor along the travel; NaN not known */
    bool calibrate;               /* gate: first let it find the lag of its sensors, with the shutter open */
    char device[CW_CAPTURE_NAME]; /* sound: name of the input, "" the default one */
    double rate_hz;               /* sound: 0 the device's own */
    size_t channels;              /* sound: opened, 1 to CW_CHANNELS_MOST */
    size_t input_count;           /* sound: channels used, in the order of the plan's sensors; 0: all in their order */
    size_t inputs[CW_CHANNELS_MOST]; /* from 1; which channel of the card is sensor A, B, ... */
} cw_desk_source;

typedef struct {
    cw_desk_source source;
    cw_shutter_plan plan; /* marks: the speeds to fire, shots_per_speed each; at least one mark */
    int64_t job_id;       /* 0: none chosen yet */
    char when[8];         /* "before", "during", "after" */
} cw_desk_setup;

/* Reads "1,2,4" into inputs; "" is all in their order. CW_INPUT beyond `channels`, or twice the same. */
cw_status cw_desk_inputs_parse(const char *text, cw_desk_source *source, cw_error *err)
    __attribute__((warn_unused_result));

typedef enum {
    CW_DESK_FREE,    /* no test */
    CW_DESK_LISTENS, /* a test, its source is listened to */
    CW_DESK_RESTS    /* a test, nothing is listened to: found unfinished, stopped, or its source cannot be used */
} cw_desk_state;

/* A shot as it is shown. */
typedef struct {
    cw_shot shot;       /* with its marked speed, struck, incomplete, remark */
    bool provisional;   /* sound: may still change while its light is not over for good */
    size_t trace_count; /* sound: lanes of the small trace, 0 none */
    double trace_from_s, trace_to_s;
    float trace[CW_CHANNELS_MOST][CW_DESK_TRACE]; /* fraction of full scale, the value farthest from rest */
} cw_desk_shot;

typedef struct {
    char text[CW_DESK_NOTICE_TEXT];
    char at[12]; /* time of day, "14:03:07" */
    bool is_trouble;
    size_t shots;    /* that were there when it was said */
    uint64_t number; /* of the view that first had it */
} cw_desk_notice;

/* One speed of the plan. */
typedef struct {
    double marked_s;
    size_t wanted, good; /* good: fired, neither struck nor incomplete */
} cw_desk_speed;

typedef struct {
    uint64_t number;
    cw_desk_state state;
    bool found_unfinished; /* from before the program started; nobody has gone on with it yet */
    char began_at[24];     /* UTC, "2026-11-25T09:00:21Z" */
    cw_desk_setup setup;
    char listens_to[CW_DESK_SOURCE_TEXT]; /* in words: "light gate on /dev/ttyUSB0" */
    size_t shot_count;
    cw_desk_shot *shots; /* owned by the view, oldest first */
    size_t speed_count;
    cw_desk_speed speeds[CW_SPEEDS_MOST];
    double next_s;    /* the speed to set; NaN: none */
    bool is_chosen;   /* by the person, not by the plan */
    bool is_complete; /* every speed has its shots */
    size_t notice_count;
    cw_desk_notice notices[CW_DESK_NOTICES]; /* newest first */
    cw_shutter_test *test;    /* the figures so far; NULL before the first usable shot. Owned by the view */
    char told[CW_ERROR_TEXT]; /* why there are no figures, "" otherwise */
} cw_desk_view;

/* The level check: what comes in now. */
typedef struct {
    uint64_t number;
    bool is_digital; /* lanes are dark or lit, nothing between */
    size_t lane_count;
    struct {
        char name[32];
        float least, most; /* last tenth of a second, fraction of full scale; gate: 0 dark, 1 light */
        bool lit, clipped;
    } lanes[CW_CHANNELS_MOST];
    size_t column_count; /* running trace, oldest first */
    float low[CW_CHANNELS_MOST][CW_DESK_HISTORY], high[CW_CHANNELS_MOST][CW_DESK_HISTORY];
    cw_quantity rate_hz; /* sound: by the computer's clock; NaN otherwise */
} cw_desk_level;

typedef struct cw_desk cw_desk;

/* A desk that keeps its journal in `folder`/live (made when first needed; NULL: no journal, for a test that is not to
 * be kept). An unfinished test found there is loaded and rests. CW_FILE when the journal cannot be read. */
cw_status cw_desk_new(const char *folder, cw_desk **desk, cw_error *err) __attribute__((warn_unused_result));
/* Stops listening; the test stays in the journal. NULL is fine. */
void cw_desk_free(cw_desk *desk);

/* Begins a test and listens. CW_CONFLICT: one is there already, or another program measures on this bench. CW_INPUT: a
 * plan without speeds, inputs that are not there. */
cw_status cw_desk_begin(cw_desk *desk, const cw_desk_setup *setup, cw_error *err) __attribute__((warn_unused_result));
/* Listens (again); `source` may be NULL: where it was. */
cw_status cw_desk_go_on(cw_desk *desk, const cw_desk_source *source, cw_error *err) __attribute__((warn_unused_result));
/* Stops listening; the test rests. */
void cw_desk_rest(cw_desk *desk);

/* The speed that is set now, whatever the plan says; it holds until it has its shots (one more when it has them).
 * NaN: the plan decides again. */
cw_status cw_desk_choose(cw_desk *desk, double marked_s, cw_error *err) __attribute__((warn_unused_result));
/* The speed before (-1) or behind (+1) the one set now in the plan. */
cw_status cw_desk_step(cw_desk *desk, int step, cw_error *err) __attribute__((warn_unused_result));
/* Strikes shot `number` (from 1) out or takes that back; a reason is kept with it. CW_NOT_FOUND: no such shot.
 * CW_RANGE: more struck out than a test keeps. */
cw_status cw_desk_strike(cw_desk *desk, size_t number, const char *reason, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_desk_unstrike(cw_desk *desk, size_t number, cw_error *err) __attribute__((warn_unused_result));
/* The shot was fired at another speed than noted. */
cw_status cw_desk_remark(cw_desk *desk, size_t number, double marked_s, cw_error *err)
    __attribute__((warn_unused_result));

/* What is to be kept, once it rests: the plan with a mark for each shot and what is struck, and the figures. For sound
 * the samples go into a WAV file at `wav` (NULL: not wanted) so that the test can be worked out again; *has_wav says
 * whether there is one. *trace: JSON of what the gate said, shot by shot; NULL for none. The caller frees result (with
 * cw_plan_result_free) and *trace. CW_RANGE: no usable shot. */
cw_status cw_desk_outcome(cw_desk *desk, const char *wav, cw_shutter_plan *plan, cw_plan_result *result, bool *has_wav,
                          json_t **trace, cw_error *err) __attribute__((warn_unused_result));
/* The test is over: kept or thrown away. Its journal is removed. */
cw_status cw_desk_clear(cw_desk *desk, cw_error *err) __attribute__((warn_unused_result));

/* What is to be shown. The caller frees the view with cw_desk_view_free. */
cw_status cw_desk_look(cw_desk *desk, cw_desk_view **view, cw_error *err) __attribute__((warn_unused_result));
void cw_desk_view_free(cw_desk_view *view); /* NULL is fine */
void cw_desk_levels(cw_desk *desk, cw_desk_level *level);
uint64_t cw_desk_number(cw_desk *desk);

/* Waits until the view's or the level's number is another, or `wait_s` has passed; true when one is. CW_DESK_ANY_LEVEL:
 * only for the view. */
#define CW_DESK_ANY_LEVEL UINT64_MAX
bool cw_desk_wait(cw_desk *desk, uint64_t view_number, uint64_t level_number, double wait_s);

/* The sound inputs there are; while one is listened to, none are looked for and *count is 0. CW_DEVICE. */
cw_status cw_desk_inputs(cw_desk *desk, cw_capture_device *devices, size_t most, size_t *count, cw_error *err)
    __attribute__((warn_unused_result));

/* The contract "camerawright.live/1": state, source, next speed, speeds, shots, figures, notices. NULL without memory.
 */
json_t *cw_desk_view_json(const cw_desk_view *view);

/* "slow by a third of a stop", "fast by two thirds of a stop", "as marked": for reading aloud and across a bench. */
void cw_error_words(double error_ev, char *out, size_t size);
/* The exposure shown for a shot: the sensor nearest to the middle of the frame for a focal plane, the mean of the
 * sensors for a leaf. NaN: nothing usable. */
cw_quantity cw_desk_reading(const cw_shutter_plan *plan, const cw_shot *shot);

#endif
