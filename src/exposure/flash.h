/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Flash contact against the shutter's opening, and the capacitor behind it. SI units; instants in seconds from the
 * moment the shutter starts to open. */
#ifndef CW_EXPOSURE_FLASH_H
#define CW_EXPOSURE_FLASH_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/quantity.h"

/* Flash sources. */
typedef struct {
    const char *key, *label;
    double start_s, peak_s, end_s; /* from the contact: light above half its peak from start to end */
    const char *source;
} cw_flash_source;

const cw_flash_source *cw_flash_sources(size_t *count);
const cw_flash_source *cw_flash_source_find(const char *key); /* NULL when there is none */

/* When the whole frame is uncovered: leaf, blades fully open; focal plane, first curtain home and second not yet
 * started. */
typedef struct {
    cw_quantity contact_s; /* closing of the contact; negative: before the shutter starts to open (bulb delay) */
    cw_quantity full_open_s, full_close_s;
    double source_start_s, source_end_s; /* of the flash, from the contact */
} cw_flash_timing;

typedef struct {
    cw_quantity
        early_s;        /* light begins after the frame is open by this; negative: part of the frame or light is lost */
    cw_quantity late_s; /* light is over before the frame closes by this */
    double window_s;
    double share;          /* of the flash that falls into the window, taking it as even between start and end */
    double contact_best_s; /* closing that puts the flash in the middle of the window */
    int verdict;           /* 1 inside, 0 too close to call (k = 2), -1 outside */
} cw_flash_result;

/* CW_RANGE: an opening that ends before it begins, times beyond 10 s, uncertainties below 0. */
cw_status cw_flash_check(const cw_flash_timing *timing, cw_flash_result *result, cw_error *err)
    __attribute__((warn_unused_result));

/* A charged capacitor and a resistor across it: V = V0 exp(-t/RC). */
typedef struct {
    double capacitance_f, voltage_v;
    double resistance_ohm, rating_w; /* of the resistor */
    double safe_v;                   /* below which it may be touched; 30 V here */
} cw_bleed;

typedef struct {
    double energy_j, time_s, first_power_w, first_current_a, time_constant_s;
    double
        pulse_most_j; /* a wire-wound part of that rating stands: five times its rating for five seconds, from memory */
    bool resistor_stands;
    double resistance_best_ohm; /* reaches safe_v in about three seconds */
} cw_bleed_result;

cw_status cw_bleed_find(const cw_bleed *bleed, cw_bleed_result *result, cw_error *err)
    __attribute__((warn_unused_result));

#endif
