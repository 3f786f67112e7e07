/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Times copied from a timer, as typed: one marked speed a line, its readings behind it. */
#ifndef CW_WEB_READINGS_H
#define CW_WEB_READINGS_H

#include "shutter/plan.h"
#include "web/form.h"

enum { CW_READINGS_MOST = 400, CW_READING_TEXT = 48, CW_READING_ROWS = 24 };

typedef struct {
    double marked_s, seconds;
    double resolution_s;                /* one step of the last digit typed: shutter/reading.h */
    char as_typed[CW_READING_TEXT + 8]; /* "4.43 ms" */
} cw_typed_reading;

typedef struct {
    size_t count;
    cw_typed_reading items[CW_READINGS_MOST];
} cw_typed_readings;

/* The readings of one mark: "1/226 1/230", "4.43 ms; 4.5 ms", "0,00443". Bare numbers are in `bare_unit` ("s" or "ms");
 * a fraction is always of a second. Appends. CW_INPUT names the reading; also when a bare number is so far from its
 * mark that the unit must be another. CW_RANGE over the most. */
cw_status cw_readings_add(cw_typed_readings *readings, double marked_s, const char *text, const char *bare_unit,
                          cw_error *err) __attribute__((warn_unused_result));

/* Reads the form's rows mark.N and read.N and its "unit"; rows without readings are none. */
cw_status cw_readings_from_form(const cw_form *form, cw_typed_readings *readings, cw_error *err)
    __attribute__((warn_unused_result));
/* Some row has a reading in it. */
bool cw_readings_given(const cw_form *form);

/* One reading as the bench keeps it, "4.43 ms" (a bare number is in seconds). CW_INPUT as above. */
cw_status cw_reading_again(double marked_s, const char *as_typed, cw_typed_reading *reading, cw_error *err)
    __attribute__((warn_unused_result));

/* Evaluates them under the plan (kind, tolerance, geometric, strikes), one sensor, one shot a reading. */
cw_status cw_readings_run(const cw_typed_readings *readings, const cw_shutter_plan *plan, cw_plan_result *result,
                          cw_error *err) __attribute__((warn_unused_result));

#endif
