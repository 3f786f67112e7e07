/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Clicks in a recorded sound: where each begins, how strong it is, and which of them are the ticks of an escapement.
 *
 * The sound is differenced (a click is broad, voices and hum are not), its energy followed in windows of 0.5 ms, and a
 * click is proposed where the energy rises by 8 dB or more over the 10 ms before. Each is then placed on the samples by
 * the Akaike criterion of an onset between two stretches of noise: the k that makes
 *   k ln var(x_1..k) + (n - k) ln var(x_k+1..n)
 * smallest (Maeda 1985, as used for picking earthquake arrivals; from memory). */
#ifndef CW_SIGNAL_CLICK_H
#define CW_SIGNAL_CLICK_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"

enum { CW_CLICKS_MOST = 4096 };

typedef struct {
    cw_quantity at_s; /* onset, from the first sample; u of the picking alone */
    double rise_db;   /* over the 10 ms before */
    double level_db;  /* peak energy, over the quietest tenth of the recording */
    double fall_db; /* how far the sound had fallen again before this click, below the click before; 0 for the first */
    double decay_s; /* until it has fallen by 10 dB; NaN: not before the next click */
    bool is_tick;   /* one of a regular run: escapement or self-timer */
} cw_click;

typedef struct {
    size_t count;
    cw_click *clicks; /* in order of time */
    double floor_rms; /* the quietest tenth, in the unit of the samples */
} cw_click_list;

/* Finds the clicks. samples: `count` values of one channel, which stay the caller's; rate 8 kHz to 400 kHz.
 * CW_RANGE: a rate outside, more than CW_CLICKS_MOST clicks; CW_INPUT: shorter than 50 ms, silence, not finite.
 * The caller frees *list with cw_click_list_free. */
cw_status cw_clicks_find(const float *samples, size_t count, double rate_hz, cw_click_list *list, cw_error *err)
    __attribute__((warn_unused_result));
void cw_click_list_free(cw_click_list *list);

#endif
