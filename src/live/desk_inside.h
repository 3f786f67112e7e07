/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of the desk share. "Locked": the caller holds desk->lock. */
#ifndef CW_LIVE_DESK_INSIDE_H
#define CW_LIVE_DESK_INSIDE_H

#include <pthread.h>
#include <stdatomic.h>

#include "live/desk.h"
#include "live/gate_session.h"
#include "live/journal.h"

typedef struct {
    cw_desk_shot show;
    json_t *lines; /* what the gate said, an array of texts; NULL for sound */
} desk_shot;

struct cw_desk {
    pthread_mutex_t control; /* one begin, rest, go on, clear at a time; taken before lock */
    pthread_mutex_t lock;    /* over all that follows */
    pthread_cond_t changed;
    char folder[4096]; /* "" no journal */
    cw_journal *journal;
    bool has_thread;
    pthread_t thread;
    atomic_bool stopping;

    uint64_t number, level_number;
    cw_desk_state state;
    bool found_unfinished;
    char began_at[24];
    cw_desk_setup setup;
    char listens_to[CW_DESK_SOURCE_TEXT];
    size_t shot_count;
    desk_shot *shots; /* CW_DESK_SHOTS_MOST */
    double chosen_s;
    size_t chosen_left; /* 0: the plan decides */
    size_t notice_count;
    cw_desk_notice notices[CW_DESK_NOTICES];
    cw_desk_level level;
    uint64_t samples; /* of the journal, that its log names */
    size_t gap_count;
    uint64_t gaps[64]; /* sound: kept frames at which the system dropped some */

    double listening_since_s; /* monotonic; no shot seen since */
    bool dark_told;
};

/* ---- desk.c ---- */
double desk_now_s(void);
void desk_changed(cw_desk *desk); /* locked */
void desk_say(cw_desk *desk, bool is_trouble, const char *format, ...) __attribute__((format(printf, 3, 4)));
void desk_say_locked(cw_desk *desk, bool is_trouble, const char *format, ...) __attribute__((format(printf, 3, 4)));
/* Locked. A line into the journal, where there is one; takes `line`. */
cw_status desk_note(cw_desk *desk, json_t *line, cw_error *err) __attribute__((warn_unused_result));
/* Locked. A shot of the gate, or a new or measured-again one of the sound at `index`: into the journal, then shown.
 * What cannot be written is said and not shown. `lines` is taken. Marked speed, strike and reason stay with the index.
 */
void desk_put_shot(cw_desk *desk, size_t index, const cw_desk_shot *shot, json_t *lines);
/* Locked. Only the first `count` shots are left. */
void desk_drop_shots(cw_desk *desk, size_t count);
/* Says once that nothing has been seen for long; called while listening. */
void desk_watch_dark(cw_desk *desk, double now_s);
/* One column of the running trace; lanes' low and high of the last tenth of a second are in level->lanes. */
void desk_level_column(cw_desk *desk, const cw_desk_level *level);

/* ---- desk_plan.c ---- */
/* Locked. The speeds of the plan, then others that were fired; each once. */
size_t desk_speeds(const cw_desk *desk, cw_desk_speed speeds[CW_SPEEDS_MOST]);
double desk_next(const cw_desk *desk, bool *is_chosen, bool *is_complete); /* locked */

/* ---- desk_restore.c ---- */
json_t *desk_begin_line(const cw_desk *desk);
json_t *desk_shot_line(const cw_desk *desk, size_t index, const cw_desk_shot *shot, const json_t *lines);
/* Locked. What the journal holds, into an empty desk. */
cw_status desk_restore(cw_desk *desk, cw_error *err) __attribute__((warn_unused_result));

/* ---- desk_gate.c, desk_sound.c: run in the desk's thread until desk->stopping ---- */
cw_status desk_run_gate(cw_desk *desk, cw_error *err) __attribute__((warn_unused_result));
cw_status desk_run_sound(cw_desk *desk, cw_error *err) __attribute__((warn_unused_result));

/* The ear of a sound test without its device, so that tests can feed it. */
typedef struct desk_ear desk_ear;
cw_status desk_ear_new(cw_desk *desk, size_t channels, double rate_hz, desk_ear **ear, cw_error *err)
    __attribute__((warn_unused_result));
void desk_ear_free(desk_ear *ear);
/* Frames of the card, all its channels; `dropped` before them. CW_RANGE: no more can be kept. */
cw_status desk_ear_feed(desk_ear *ear, const float *frames, size_t count, uint64_t dropped, cw_error *err)
    __attribute__((warn_unused_result));
/* The gate's watch over sensors that stay lit. */
typedef struct {
    double lit_since_s[CW_GATE_SENSORS]; /* NaN: dark */
    bool told;
} desk_lit_watch;
void desk_watch_lit(cw_desk *desk, desk_lit_watch *watch, uint8_t lit, double now_s);

#endif
