/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One shot as the sensors saw it, drawn from its recording: at most a few thousand points, whatever its length. */
#ifndef CW_REPORT_SHOT_TRACE_H
#define CW_REPORT_SHOT_TRACE_H

#include <jansson.h>

#include "base/buf.h"
#include "notebook/test.h"
#include "shutter/evaluate.h"
#include "signal/source.h"

/* The part of the recording a shot takes up, with a margin. */
void cw_shot_span(const cw_shot *shot, double length_s, double *from_s, double *to_s);

/* Lanes with levels (from the result's "recording", may be NULL) and the instants of the shot, appended to svg. */
cw_status cw_shot_trace_svg(cw_source *source, const cw_shot *shot, const json_t *recording, double from_s, double to_s,
                            cw_buf *svg, cw_error *err) __attribute__((warn_unused_result));

/* The first shot of the fastest speed of a kept test. False where there is nothing to draw: no recording, one that is
 * gone, a sound. */
bool cw_stored_trace_svg(cw_bench *bench, const cw_test *stored, const cw_shutter_test *test, cw_buf *svg,
                         char *caption, size_t size);

#endif
