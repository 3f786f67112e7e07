/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shutter tests between the bench and a page. */
#ifndef CW_WEB_STORED_TEST_H
#define CW_WEB_STORED_TEST_H

#include "notebook/test.h"
#include "shutter/plan.h"
#include "web/request.h"

/* The result of a kept shutter test; CW_INPUT when it is a test of another kind. The caller frees *test. */
cw_status cw_stored_shutter(cw_bench *bench, int64_t test_id, cw_shutter_test **test, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_stored_result(const cw_test *stored, cw_shutter_test **test, cw_error *err)
    __attribute__((warn_unused_result));

/* How the exposures of a test were had: that of its first measured sensor; CW_METHOD_NONE when nothing was. */
cw_exposure_method cw_test_method(const cw_shutter_test *test);

/* The plan of a kept test, the default where it has none. */
cw_status cw_stored_plan(const cw_test *stored, cw_shutter_plan *plan, cw_error *err)
    __attribute__((warn_unused_result));

/* Keeps a result as a new test: plan and result become JSON. test->plan_json and ->result_json are ignored. */
cw_status cw_store_shutter(cw_bench *bench, cw_test *test, const cw_shutter_plan *plan, const cw_plan_result *result,
                           int64_t *id, cw_error *err) __attribute__((warn_unused_result));

/* The same as a correction of a kept test: cw_test_correct. test->strikes_json is written as it is. */
cw_status cw_correct_shutter(cw_bench *bench, cw_test *test, const cw_shutter_plan *plan, const cw_plan_result *result,
                             const cw_reading *readings, size_t reading_count, const char *reason, cw_error *err)
    __attribute__((warn_unused_result));

/* Why shots were left out, for every shot the plan strikes: the form's "why.N", else what `old` (an earlier
 * strikes_json, or "") says, else `otherwise`; "" is no reason. It goes into the shots' own remarks, so that every face
 * shows it, and into *text, the new strikes_json, for free(). rows: in which row N of the form each shot stands; NULL:
 * in the row of its own number. */
cw_status cw_strikes_from_form(const cw_form *form, const size_t *rows, const char *old, const char *otherwise,
                               const cw_shutter_plan *plan, cw_shutter_test *test, char **text, cw_error *err)
    __attribute__((warn_unused_result));

/* The earlier versions of a test as a list of links; nothing when there is none. */
cw_status cw_write_versions(cw_request *request, cw_html *h, int64_t test_id, cw_error *err)
    __attribute__((warn_unused_result));

#endif
