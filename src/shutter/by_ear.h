/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shutter times from the sound: which click opened and which closed. Always a proposal; a person moves what is wrong.
 *
 * With the speeds known, pairs of clicks are chosen that do not overlap, one a shot in order, so that the sum over
 * shots of loudness of both clicks (dB over the floor) - 20 dB * (log2 of their distance over the mark)^2 is greatest
 * (dynamic programming); ticks of the escapement are never taken. A pair is refused where the sound has not fallen by
 * 10 dB between its clicks: they run together, and no instant of the second can be told. */
#ifndef CW_SHUTTER_BY_EAR_H
#define CW_SHUTTER_BY_EAR_H

#include "shutter/marks.h"
#include "shutter/shot.h"
#include "signal/click.h"

/* How well a click stands for the light: the blades begin to move before the film sees light, and strike their stop
 * after it has gone. Common practice, no source; a standard uncertainty for each of the two. */
#define CW_BY_EAR_U_CLICK_S 1.5e-3

/* Clicks nearer than this are not told apart whatever the recording: the ring of a camera's body. Common practice, no
 * source. */
#define CW_BY_EAR_LEAST_S 20e-3

typedef struct {
    size_t opening, closing; /* indices into the clicks */
} cw_click_pair;

/* Proposes `pairs` for the marks, each `shots_per_speed` times (0: once). CW_RANGE with what is missing: fewer usable
 * clicks than are needed, or the speed whose clicks run together, and why. */
cw_status cw_by_ear_propose(const cw_click_list *clicks, const cw_mark_list *marks, size_t shots_per_speed,
                            cw_click_pair *pairs, size_t pair_most, size_t *pair_count, cw_error *err)
    __attribute__((warn_unused_result));

/* A shot from two instants, wherever they came from. u of each is widened by CW_BY_EAR_U_CLICK_S.
 * CW_RANGE: the closing is not after the opening, or nearer than CW_BY_EAR_LEAST_S. */
cw_status cw_by_ear_shot(cw_quantity open_s, cw_quantity close_s, double marked_s, cw_shot *shot, cw_error *err)
    __attribute__((warn_unused_result));

#endif
