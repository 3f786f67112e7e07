/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Evenness over the frame, from photographs that were compared and kept. */
#ifndef CW_REPORT_PHOTO_MAPS_H
#define CW_REPORT_PHOTO_MAPS_H

#include "notebook/test.h"
#include "shutter/photo_pair.h"

/* The pairs kept as that recording; `compared` has room for CW_PHOTO_TESTS_MOST. CW_INPUT: a recording of another kind,
 * or damaged. */
cw_status cw_stored_photographs(cw_bench *bench, int64_t recording_id, cw_photo_compared *compared, size_t *count,
                                cw_error *err) __attribute__((warn_unused_result));

#endif
