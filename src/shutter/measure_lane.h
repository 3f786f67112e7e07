/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One shot on one channel, between measure_rest.c, which makes its rest a level of zero, and measure_pulse.c. */
#ifndef CW_SHUTTER_MEASURE_LANE_H
#define CW_SHUTTER_MEASURE_LANE_H

#include "shutter/measure_parts.h"

/* The light on one channel, in bins; the arrays are those of a cw_lane_room. */
typedef struct {
    const cw_trace *trace; /* of this channel alone, its single samples near its own edges only */
    size_t count;
    double *x;            /* above rest, light positive: in place of the trace's values */
    const double *smooth; /* x averaged over `smooth_s`; x itself where that is 0 */
    const double *sum;    /* of x * frames before each bin, count + 1 long; NULL where nothing needs it */
    const double *frames; /* the same of frames */
    double smooth_s, interval_s;
    double noise, colour; /* sd of one sample; how much worse means of many are */
    double u_digit;       /* of any level, from the last digit of the recorder */
    double u_rest;        /* of the level of rest */
    double wander;        /* how far rest wanders by itself */
    double hum_left;      /* amplitude of hum that is still in it */
    double rest_error;    /* rest after less rest before */
    double pre_s, post_s; /* rest ends here, and begins again */
    double highest;       /* of smooth */
} cw_lane;

/* Sum of the light over bins [first, end), each as often as it has samples, and their samples. */
double cw_lane_sum(const cw_lane *lane, size_t first, size_t end, double *frames);

/* The light restored, its rest and hum taken off, its noise measured. `trace` holds all channels, [from_s, to_s] is
 * where this one is restless, `before` the level of rest there. `lane` has its trace. Fills in `found` what is known of
 * noise, hum and clipping. */
cw_status cw_lane_rest(const cw_measuring *m, const cw_trace *trace, size_t channel, double from_s, double to_s,
                       double before, cw_lane *lane, cw_lane_found *found, cw_error *err)
    __attribute__((warn_unused_result));

#endif
