/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pieces of the notebook that several pages show. */
#ifndef CW_WEB_NOTEBOOK_PARTS_H
#define CW_WEB_NOTEBOOK_PARTS_H

#include "notebook/photo.h"
#include "notebook/step.h"
#include "web/request.h"

enum { CW_PHOTOS_SHOWN = 60, CW_PARTS_SHOWN = 400, CW_STEPS_A_PAGE = 40 };

/* Small pictures that lead to their page; nothing where there are none. */
cw_status cw_write_photos(cw_request *request, cw_html *h, const cw_photo_filter *filter, cw_error *err)
    __attribute__((warn_unused_result));

/* "3 screws M1.7 x 3.2 mm" */
void cw_write_part_name(cw_html *h, const cw_part *part);
/* ", tray 4, out" */
void cw_write_part_state(cw_html *h, const cw_part *part);
/* The parts of a step as lines that lead to their page. */
cw_status cw_write_parts(cw_request *request, cw_html *h, const cw_part_filter *filter, cw_error *err)
    __attribute__((warn_unused_result));

/* What is noted of a step, for taking apart or (together) for putting it back: only what is there. */
void cw_write_step_words(cw_html *h, const cw_step *step, bool together);

/* Keeps every photo that came in the field "photo" with a step (0: with the job). */
cw_status cw_keep_photos(cw_request *request, int64_t job_id, int64_t step_id, size_t *kept, cw_error *err)
    __attribute__((warn_unused_result));

/* The job's live count: out, back, replaced, made, left out. */
cw_status cw_write_count(cw_request *request, cw_html *h, int64_t job_id, cw_error *err)
    __attribute__((warn_unused_result));

/* The trail back to the job and its <h1>. */
cw_status cw_write_job_title(cw_request *request, cw_html *h, int64_t job_id, const char *title, cw_error *err)
    __attribute__((warn_unused_result));

#endif
