/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The thread of a job as JSON, the same for page and command line. What is not there is null. NULL without memory. */
#ifndef CW_NOTEBOOK_THREAD_JSON_H
#define CW_NOTEBOOK_THREAD_JSON_H

#include <jansson.h>

#include "notebook/film.h"
#include "notebook/guide.h"
#include "notebook/thread.h"

/* "camerawright.proving/1" */
json_t *cw_proving_json(int64_t job_id, const cw_proving *proving);
/* "camerawright.next/1", with what is missing for the stage that comes */
cw_status cw_next_json(cw_bench *bench, const cw_next *next, json_t **json, cw_error *err)
    __attribute__((warn_unused_result));
/* "camerawright.checklist/1"; answers are "open", "done", "found", "not-applicable" */
json_t *cw_checklist_json(const cw_checklist *list, const cw_checklist_item_list *items);
/* "camerawright.film/1"; verdicts are "open", "right", "wrong", "not-applicable" */
json_t *cw_film_json(int64_t job_id, const cw_film_frame_list *frames);

#endif
