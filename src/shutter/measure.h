/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From a recording to its shots: where light came and went on every channel, and how long each exposure was.
 *
 * Exposure by area is the integral of the light over the full-open level of that channel; by mid level, the time
 * between the two 50 % instants. The rule that chooses:
 *   1. A shot that reaches the full-open level and stays on it gives both. Focal plane: the one with the smaller
 *      standard uncertainty. Leaf: area, which is the effective time of ISO 516, unless a poor baseline makes it more
 *      than twice as uncertain as the mid-level time and worse than 1 %.
 *   2. A shot that does not reach the full-open level (slit narrower than the beam, blades that turn back before they
 *      are open) gives only the area; the level comes from the other shots of the same channel in the recording. Where
 *      none of them rests on it either, it is worked out from how the light of slits spreads with the exposure
 *      (measure_slit.h).
 *   3. Without such a level the exposure is not known. It is left out and the remark gives the bound that is known.
 * When both ways differ by more than three of their combined standard uncertainties, the remark says so and half of the
 * difference is added to the uncertainty.
 *
 * Instants: of a shot that reaches the full level, the fitted 50 % instants; of one that does not, the centroid of its
 * light less and plus half the exposure, which is when the slit's two edges pass the middle of the beam. */
#ifndef CW_SHUTTER_MEASURE_H
#define CW_SHUTTER_MEASURE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"
#include "shutter/evaluate.h"
#include "shutter/shot.h"
#include "signal/source.h"

typedef struct {
    cw_shutter_kind kind;
    cw_beam beam;
    cw_coupling coupling;
    size_t sensor_count;                /* light channels, in the order of the file; 0: all but the contact's */
    double sensors_mm[CW_SENSORS_MOST]; /* NaN: place not given */
    size_t contact_channel;             /* 1 to channels: a flash contact, not a sensor; 0: none */
} cw_measure_setup;

/* What one channel of the recording was found to be. Levels in the unit of the recording. */
typedef struct {
    bool is_contact, is_idle, is_inverted, is_ac, is_clipped;
    double rest;                /* level without light */
    bool is_told;               /* that level was never seen but worked out from all shots together */
    cw_quantity full;           /* full-open level above rest, with its shot-to-shot spread; NaN: never reached */
    double noise;               /* sd of one sample; NaN: not known */
    cw_quantity tau_s;          /* AC: time constant of the input; NaN for DC */
    double hum_hz, hum;         /* mains hum, amplitude; 0: none found */
    double flicker_hz, flicker; /* lamp, amplitude over level; 0: none found */
    size_t shots;               /* with light on this channel */
} cw_channel_found;

typedef struct {
    size_t shot_count;
    cw_shot *shots; /* in the order fired; marked_s is NaN */
    size_t channel_count;
    cw_channel_found channels[CW_CHANNELS_MOST];
    size_t warning_count;
    char warnings[CW_WARNINGS_MOST][CW_WARNING_TEXT];
} cw_measurement;

/* CW_INPUT  no event (the sentence says what was looked for and what the file held), or damaged data
 * CW_RANGE  more sensors than channels, a contact channel that is not there, positions that are not numbers
 * The caller frees *measurement. */
cw_status cw_measure(cw_source *source, const cw_measure_setup *setup, cw_measurement **measurement, cw_error *err)
    __attribute__((warn_unused_result));
void cw_measurement_free(cw_measurement *measurement); /* NULL is fine */

#endif
