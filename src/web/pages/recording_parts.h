/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef CW_WEB_RECORDING_PARTS_H
#define CW_WEB_RECORDING_PARTS_H

#include "shutter/evaluate.h"
#include "signal/source.h"
#include "web/request.h"

/* A recording of the bench, opened. The caller closes *source. */
cw_status cw_recording_open(cw_bench *bench, int64_t id, const cw_source_options *options, cw_source **source,
                            cw_error *err) __attribute__((warn_unused_result));

/* What the sensors saw from from_s to to_s as a figure: lanes with levels (from the result's "recording", may be NULL)
 * and the instants of the shot. */
cw_status cw_write_trace(cw_html *h, cw_source *source, const cw_shot *shot, const json_t *recording, double from_s,
                         double to_s, cw_error *err) __attribute__((warn_unused_result));

#endif
