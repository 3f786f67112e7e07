/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far off a speed may be, and the verdict against it. The tolerances of ISO 516:2019 are targets, not an inspection
 * limit (its scope), and their figures were not to hand: the table "common" is common practice, no source. */
#ifndef CW_SHUTTER_TOLERANCE_H
#define CW_SHUTTER_TOLERANCE_H

#include <jansson.h>

#include "base/error.h"
#include "shutter/evaluate.h"

/* "common": +-1/3 EV for marks of 1/125 s and slower, +-1/2 EV for faster ones. Common practice, no source. */
cw_tolerance cw_tolerance_common(void);

/* The built-in table of that name. CW_NOT_FOUND names those there are. */
cw_status cw_tolerance_find(const char *name, cw_tolerance *tolerance, cw_error *err)
    __attribute__((warn_unused_result));

/* A person's own table, `length` bytes of either form:
 *
 *   camerawright.tolerance/1            {"format":"camerawright.tolerance/1",
 *   name: my rangefinders                "name":"my rangefinders",
 *   source: service sheet                "source":"service sheet",
 *   1/30    0.25                         "rows":[{"from":"1/30","limit_ev":0.25},
 *   1/250   1/3                                  {"from":"1/250","limit_ev":"1/3"},
 *   faster  0.5                                  {"from":"faster","limit_ev":0.5}]}
 *
 * A row holds for its mark and slower ones up to the row before; "faster" for all the rest. Slowest first. Lines that
 * begin with # are remarks. Without a "faster" row, faster marks have no limit and so no verdict. CW_INPUT with the
 * line or row, what stood there and what would be understood. */
cw_status cw_tolerance_parse(const char *text, size_t length, cw_tolerance *tolerance, cw_error *err)
    __attribute__((warn_unused_result));

/* The JSON form above; NULL without memory. */
json_t *cw_tolerance_json(const cw_tolerance *tolerance);
cw_status cw_tolerance_from_json(const json_t *object, cw_tolerance *tolerance, cw_error *err)
    __attribute__((warn_unused_result));

/* The limit for a mark, EV; NaN when no row holds for it. */
double cw_tolerance_limit(const cw_tolerance *tolerance, double marked_s);

/* JCGM 106:2012, with a guard band of the expanded uncertainty (2 u) on both sides of the limit: inside when the whole
 * interval error +- 2 u lies within +-limit, outside when none of it does, else too close to call. Unknown when the
 * error, its uncertainty or the limit is not known. */
cw_speed_verdict cw_verdict(cw_quantity error_ev, double limit_ev);

/* The chance that the true error lies outside +-limit, from a normal distribution about the measured one: 0 to 1. NaN
 * when not known. JCGM 106:2012, clause 7. */
double cw_chance_outside(cw_quantity error_ev, double limit_ev);

#endif
