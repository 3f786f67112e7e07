/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Keeps what matters of an endless stream of samples: the shots with some quiet before and after. Idle time beyond a
 * few seconds is left out, so that an evening of shots stays a small recording and can be measured as a whole after
 * each one. Pure: samples in, a recording out. */
#ifndef CW_LIVE_ACTIVITY_H
#define CW_LIVE_ACTIVITY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "signal/source.h"

typedef struct cw_activity cw_activity;

/* channels 1 to CW_CHANNELS_MOST, rate 8 kHz to 1 MHz. `kept_most_s`: the most that is kept, seconds of recording. */
cw_status cw_activity_new(size_t channels, double rate_hz, double kept_most_s, cw_activity **activity, cw_error *err)
    __attribute__((warn_unused_result));
void cw_activity_free(cw_activity *activity); /* NULL is fine */

/* Takes `frames` interleaved frames. *ended becomes true when light came and went and it has been quiet since for
 * CW_ACTIVITY_QUIET_S: the recording is worth measuring now. CW_RANGE: more than kept_most_s of shots. */
#define CW_ACTIVITY_QUIET_S 0.06
cw_status cw_activity_feed(cw_activity *activity, const float *samples, size_t frames, bool *ended, cw_error *err)
    __attribute__((warn_unused_result));

/* Quiet that is kept behind light, 0.3 to 60 s; 4 s at first. Longer than the slowest exposure to come: a slow shot
 * through an AC input looks quiet in its middle. */
void cw_activity_keep_after(cw_activity *activity, double seconds);

/* Takes frames kept earlier (of a test that is gone on with) as if it had kept them itself; before the first feed. */
cw_status cw_activity_preload(cw_activity *activity, const float *samples, size_t frames, cw_error *err)
    __attribute__((warn_unused_result));

/* Marks a gap where the system dropped samples: what was under way is not bridged. */
void cw_activity_gap(cw_activity *activity);

/* Level of each channel over the last tenth of a second: least, most, fraction at full scale; for a level check. */
typedef struct {
    float least, most;
    bool clipped, lit;
} cw_activity_level;
void cw_activity_levels(const cw_activity *activity, cw_activity_level levels[CW_CHANNELS_MOST]);

/* What is kept so far as a recording; it lives no longer than the activity and is not changed by further feeding. The
 * caller closes *source. CW_INPUT: nothing was kept yet. */
cw_status cw_activity_source(const cw_activity *activity, cw_source **source, cw_error *err)
    __attribute__((warn_unused_result));

/* The kept frames, interleaved; they stay the activity's until the next feed. */
const float *cw_activity_frames(const cw_activity *activity, size_t *frames);
uint64_t cw_activity_taken(const cw_activity *activity); /* frames fed in all */

#endif
