/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A number copied from any timer becomes a shot like all others. */
#ifndef CW_SHUTTER_READING_H
#define CW_SHUTTER_READING_H

#include "base/error.h"
#include "shutter/evaluate.h"

/* Reads what the timer showed and how finely it showed it.
 *
 * text          "0.00443", "4.43 ms", "4430 us", "1/226", "2.1 s"; bare numbers are seconds
 * seconds       the time, 1 us to 1000 s
 * resolution_s  one step of the last digit: 0.00001 for 0.00443, 1/226^2 for 1/226
 * CW_INPUT      not a time, or outside that range */
cw_status cw_reading_parse(const char *text, double *seconds, double *resolution_s, cw_error *err)
    __attribute__((warn_unused_result));

/* One sensor, method "reading", no instants. The standard uncertainty is resolution/sqrt(12), JCGM 100:2008, F.2.2.1;
 * 0 where no resolution is given. The timer's own accuracy is not in it: that is the set-up's u_clock_relative. */
cw_shot cw_reading_shot(double marked_s, double seconds, double resolution_s);

/* One reading evaluated: the same test, and by cw_shutter_test_json the same JSON ("camerawright.shutter/1", one shot,
 * one sensor) as a recording gives. `setup` needs no frame and no places. CW_RANGE for a time that is not positive. */
cw_status cw_reading_evaluate(const cw_test_setup *setup, double marked_s, double seconds, double resolution_s,
                              cw_shutter_test **test, cw_error *err) __attribute__((warn_unused_result));

#endif
