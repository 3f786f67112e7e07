/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two tests of one camera side by side: before the work and after it. */
#ifndef CW_SHUTTER_COMPARE_H
#define CW_SHUTTER_COMPARE_H

#include <jansson.h>

#include "base/buf.h"
#include "shutter/evaluate.h"

/* A smaller change shows on no film, however well it is known; common practice, no source. */
#define CW_CHANGE_LEAST_EV 0.05

/* Better and worse only where the sizes of the two errors differ by more than twice their combined uncertainty, and by
 * CW_CHANGE_LEAST_EV. */
typedef enum { CW_CHANGE_UNKNOWN, CW_CHANGE_BETTER, CW_CHANGE_SAME, CW_CHANGE_WORSE } cw_speed_change;

const char *cw_change_name(cw_speed_change change); /* "better", "same", "worse", "unknown" */

typedef struct {
    double marked_s;
    const cw_speed *before, *after; /* NULL: not measured then; they stay the tests' */
    cw_speed_change change;
} cw_speed_pair;

typedef struct {
    size_t count;
    cw_speed_pair pairs[2 * CW_SPEEDS_MOST]; /* slowest first; every mark of either test */
    size_t better, same, worse;
    size_t inside_before, inside_after, outside_before, outside_after, measured_before, measured_after;
} cw_comparison;

/* The two tests must outlive the comparison. Either may be NULL: then nothing is compared with. */
cw_comparison cw_shutter_compare(const cw_shutter_test *before, const cw_shutter_test *after);

/* {"format":"camerawright.comparison/1","speeds":[{"marked_s","before":{"exposure_s","error_ev","u_error_ev","verdict"},
 * "after":{..},"change"}],"better","same","worse"}; null for what was not measured. NULL without memory. */
json_t *cw_comparison_json(const cw_comparison *comparison);

/* The same as a text table of at most 80 columns, with a closing line. CW_MEMORY when it could not be held. */
cw_status cw_comparison_table(const cw_comparison *comparison, cw_buf *out, cw_error *err)
    __attribute__((warn_unused_result));

#endif
