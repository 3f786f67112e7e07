/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Within this room: what many shots say about the shape of a curtain's run when each shot's own start is unknown.
 *
 * Every shot j gives instants t_ij at sensors i; the model is t_ij = start_j + sum_k p_k s_k(i) with the columns s
 * shared. Each start is eliminated exactly (the weighted mean of its shot is taken off both sides; Frisch-Waugh), which
 * leaves sums of the size sensors x sensors whatever the number of shots. */
#ifndef CW_SHUTTER_DELAYS_H
#define CW_SHUTTER_DELAYS_H

#include <stdbool.h>
#include <stddef.h>

#include "shutter/shot.h"

/* One instant (or exposure) of one shot at one sensor. */
typedef struct {
    bool known;
    double value_s, weight; /* weight > 0 */
} cw_delay;

/* shots x sensors, shot by shot; a block belongs to one curtain, or to the exposures. */
typedef struct {
    size_t shots, sensors;
    cw_delay *items;
} cw_delay_block;

/* Delays m of the sensors miss the data by tt - 2 m'r + m'a m. */
typedef struct {
    double a[CW_SENSORS_MOST][CW_SENSORS_MOST], r[CW_SENSORS_MOST], tt;
} cw_delay_normal;

typedef struct {
    size_t sensors, shots, rows; /* shots and rows that say anything: two sensors or more */
    cw_delay_normal plain;       /* as if every sensor stood exactly at its place */
    cw_delay_normal placed;      /* with what their places may be off by allowed for; the same until that is said */
} cw_delay_sums;

enum { CW_DELAY_COLUMNS = 2 };

typedef struct {
    size_t columns;
    double p[CW_DELAY_COLUMNS];
    double covariance[CW_DELAY_COLUMNS][CW_DELAY_COLUMNS]; /* s^2; see cw_delay_fit */
    double chi_squared;
    bool solved; /* false: the sensors do not tell the columns apart */
} cw_delay_result;

cw_delay_sums cw_delay_sum(const cw_delay_block *block);

/* Each sensor reads late or early by a time of its own, the same in every shot and of standard deviation late_s[sensor]
 * (0: none), because it stands a little off its place. Taken out exactly, as a normal prior on each. */
void cw_delay_allow_places(cw_delay_sums *sums, const double late_s[static CW_SENSORS_MOST]);

/* What these delays miss the data by, places allowed for: a chi-squared. */
double cw_delay_miss(const cw_delay_sums *sums, const double m[static CW_SENSORS_MOST]);

/* Least squares for `columns` (1 or 2) shapes s[k][sensor]. The covariance is that of the weights and
 * the places, for each shape by itself as much wider as whole shots scatter more than their weights say (each shot is
 * one draw: its sensors err together). */
cw_delay_result cw_delay_fit(const cw_delay_block *block, const cw_delay_sums *sums, size_t columns,
                             double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST]);

/* The least the sum of squares can be: each sensor with a delay of its own. */
double cw_delay_saturated(const cw_delay_sums *sums);

#endif
