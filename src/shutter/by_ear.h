/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shutter times from the sound: which click opened and which closed. Always a proposal; a person moves what is wrong.
 *
 * With the speeds known, pairs of clicks are chosen that do not overlap, one a shot in order, so that the sum over
 * shots of loudness (dB over the floor) of closing and 1.5 times opening - 20 dB * (log2 of their distance over the
 * mark)^2 is greatest (dynamic programming); ticks of the escapement are never taken. A pair is marked where the sound
 * has not fallen by 10 dB between its clicks: they run together, and no instant of the second can be told. */
#ifndef CW_SHUTTER_BY_EAR_H
#define CW_SHUTTER_BY_EAR_H

#include "shutter/marks.h"
#include "shutter/plan.h"
#include "signal/click.h"
#include "signal/sound_load.h"

/* How well a click stands for the light: the blades begin to move before the film sees light, and strike their stop
 * after it has gone. Common practice, no source; a standard uncertainty for each of the two. */
#define CW_BY_EAR_U_CLICK_S 1.5e-3

/* Clicks nearer than this are not told apart whatever the recording: the ring of a camera's body. Common practice, no
 * source. */
#define CW_BY_EAR_LEAST_S 20e-3

/* An instant set by hand on the trace, standard uncertainty. */
#define CW_BY_EAR_U_HAND_S 1e-3

enum { CW_BY_EAR_SHOTS_MOST = 128, CW_BY_EAR_REFUSALS_MOST = 8, CW_BY_EAR_TEXT = 240 };

typedef struct {
    size_t opening, closing; /* indices into the clicks */
    double marked_s;
    double fall_db; /* how far the sound falls between the two */
    bool together;  /* they run together: the shot is shown, its time is not */
} cw_click_pair;

typedef struct {
    size_t pair_count;
    cw_click_pair pairs[CW_BY_EAR_SHOTS_MOST]; /* in order of time */
    double shortest_s;                         /* nothing faster can be heard in this recording */
    size_t refusal_count;
    char refusals[CW_BY_EAR_REFUSALS_MOST][CW_BY_EAR_TEXT]; /* speeds and shots that cannot be told, and why */
} cw_by_ear_proposal;

/* The shortest time between two clicks that can be told apart in this recording: twice the ring of its loud clicks
 * (their median), at least CW_BY_EAR_LEAST_S. */
double cw_by_ear_shortest_s(const cw_click_list *clicks);

/* Proposes pairs for the marks, each `shots_per_speed` times (0: once). Speeds too fast for this recording are refused
 * one by one; pairs whose clicks run together are marked. CW_RANGE with what is missing: fewer usable clicks than are
 * needed, or no speed left that can be heard, and why. */
cw_status cw_by_ear_propose(const cw_click_list *clicks, const cw_mark_list *marks, size_t shots_per_speed,
                            cw_by_ear_proposal *proposal, cw_error *err) __attribute__((warn_unused_result));

/* A shot from two instants, wherever they came from. u of each is widened by CW_BY_EAR_U_CLICK_S.
 * CW_RANGE: the closing is not after the opening, or nearer than CW_BY_EAR_LEAST_S. */
cw_status cw_by_ear_shot(cw_quantity open_s, cw_quantity close_s, double marked_s, cw_shot *shot, cw_error *err)
    __attribute__((warn_unused_result));

/* One shot as a person or the program has set it. */
typedef struct {
    double open_s, close_s; /* NaN: not set yet */
    double marked_s;
    bool struck;
} cw_heard_shot;

/* The instant with its uncertainty: that of the click it lies on (within 0.1 ms), else that of a hand. */
cw_quantity cw_by_ear_instant(const cw_click_list *clicks, double at_s);

/* Shots for cw_plan_run_shots. A shot whose instants are not set, lie on clicks that run together, or cannot be stays
 * as incomplete, with the reason as its remark. shots: `count` of them. */
void cw_by_ear_shots(const cw_click_list *clicks, const cw_heard_shot *heard, size_t count, cw_shot *shots);

/* The contract's "recording" object of a sound, with "clicks": [{"at_s","u_at_s","level_db","tick"}] beside and
 * warnings of what is wrong with it (clipped, low rate). NULL without memory. */
json_t *cw_by_ear_recording_json(const cw_sound *sound, const cw_click_list *clicks);

/* The one path: shots from what was heard, evaluated under the plan (its marks are not assigned again). recording may
 * be NULL, and is taken. */
cw_status cw_by_ear_run(const cw_click_list *clicks, const cw_heard_shot *heard, size_t count,
                        const cw_shutter_plan *plan, json_t *recording, cw_plan_result *result, cw_error *err)
    __attribute__((warn_unused_result));

#endif
