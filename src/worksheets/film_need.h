/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The inputs of the worksheet "film-test-plan" as what the film plan needs, for the faces that keep the plan as a log.
 */
#ifndef CW_WORKSHEETS_FILM_NEED_H
#define CW_WORKSHEETS_FILM_NEED_H

#include "exposure/film_plan.h"
#include "worksheets/worksheet.h"

enum { CW_FILM_MARKS_MOST = 24 };

/* need->marks_s points into `marks`, which has to live as long. CW_RANGE: too many marks. */
cw_status cw_film_need_read(const cw_sheet_in *in, double marks[CW_FILM_MARKS_MOST], cw_plan_need *need, cw_error *err)
    __attribute__((warn_unused_result));

/* The input of that worksheet that says whether a thing was mended: "speeds", ..., "diaphragm" for the aperture. NULL
 * for what is no single bit CW_MENDED_.... */
const char *cw_film_need_key(int bit_value);

#endif
