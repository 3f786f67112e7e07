/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The plan of a shutter test in a form, and where the result is to be kept. */
#ifndef CW_WEB_PLAN_FORM_H
#define CW_WEB_PLAN_FORM_H

#include "shutter/plan.h"
#include "web/request.h"

/* Sets what the form says over *plan: the keys of cw_plan_fields, "strike.N" ticks, and a tolerance of one's own in
 * "tolerance-own". */
cw_status cw_plan_from_form(const cw_form *form, cw_shutter_plan *plan, cw_error *err)
    __attribute__((warn_unused_result));

/* Fields of a plan with their keys, filled from the request or else from `plan` (NULL: fallbacks). `keys`: which, in
 * that order, ended by NULL. */
void cw_plan_write_fields(const cw_request *request, cw_html *h, const cw_shutter_plan *plan, const char *const *keys);
/* The field for a tolerance table of one's own; filled with the plan's when that is no built-in one. */
void cw_plan_write_own_tolerance(const cw_request *request, cw_html *h, const cw_shutter_plan *plan);
/* What the form says, hidden, so that what is kept is what is shown. */
void cw_write_hidden_form(cw_html *h, const cw_form *form, const char *const *but);

/* "Job", "When", "Title": where it is to be kept; with a field for a new camera. */
cw_status cw_keep_write_fields(cw_request *request, cw_html *h, cw_error *err) __attribute__((warn_unused_result));

/* The same with a job and a time that are known already; 0 and "" for neither. */
cw_status cw_keep_write_fields_for(cw_request *request, cw_html *h, int64_t job_id, const char *when, cw_error *err)
    __attribute__((warn_unused_result));

/* Where it was to be kept: the job chosen, or a new one for the camera typed. One change with what follows when the
 * caller has begun one. */
typedef struct {
    int64_t job_id;
    int when; /* cw_when */
    const char *title, *notes;
} cw_keep;
cw_status cw_keep_from_form(cw_request *request, cw_shutter_kind kind, cw_keep *keep, cw_error *err)
    __attribute__((warn_unused_result));

#endif
