/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The end of a live test: kept as a test like any other, or thrown away. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/json.h"
#include "notebook/test.h"
#include "web/page.h"
#include "web/pages/live_parts.h"
#include "web/pages/pages.h"
#include "web/pages/plan_form.h"
#include "web/pages/stored_test.h"

cw_status cw_live_write_keep(cw_request *request, cw_html *h, const cw_desk_view *view, cw_error *err)
{
    if (view->shot_count > 0) {
        html_markup(h, "<section class='panel next'><h2>Keep it</h2>");
        cw_form_begin(request, h, false, "/live/keep");
        CW_TRY(cw_keep_write_fields_for(request, h, view->setup.job_id, view->setup.when, err));
        cw_submit(h, "Keep as a test");
        cw_form_end(h);
        html_markup(h, "</section>\n");
    }
    html_markup(h, "<section class='panel'><details><summary>Throw it away</summary>");
    cw_form_begin(request, h, false, "/live/discard");
    cw_field_tick(request, h, "sure", "These shots are of no use to me; they cannot be brought back", false);
    html_markup(h, "<button class='button danger'>Throw this live test away</button>");
    cw_form_end(h);
    html_markup(h, "</details></section>\n");
    return CW_OK;
}

typedef struct {
    cw_shutter_plan plan;
    cw_plan_result result;
    bool has_wav;
    char wav[4200];
    char *trace; /* JSON text, NULL none */
} outcome;

static void outcome_free(outcome *one)
{
    cw_plan_result_free(&one->result);
    if (one->wav[0] != '\0')
        unlink(one->wav);
    free(one->trace);
}

static cw_status outcome_get(cw_request *request, cw_desk *desk, outcome *one, cw_error *err)
{
    json_t *trace = NULL;
    snprintf(one->wav, sizeof one->wav, "%s/live/live-test.wav", cw_bench_folder(request->bench));
    CW_TRY(cw_desk_outcome(desk, one->wav, &one->plan, &one->result, &one->has_wav, &trace, err));
    if (trace == NULL)
        return CW_OK;
    one->trace = cw_json_written(trace, CW_JSON_KEPT);
    json_decref(trace);
    return one->trace != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the traces of the test");
}

static cw_status store(cw_request *request, const outcome *one, int64_t *test_id, cw_error *err)
{
    cw_keep keep;
    CW_TRY(cw_keep_from_form(request, one->plan.measure.kind, &keep, err));
    cw_test test = {.job_id = keep.job_id,
                    .when = (cw_when)keep.when,
                    .title = keep.title,
                    .notes = keep.notes,
                    .trace_json = one->trace};
    if (one->has_wav)
        CW_TRY(cw_recording_import(request->bench, one->wav, &test.recording_id, err));
    return cw_store_shutter(request->bench, &test, &one->plan, &one->result, test_id, err);
}

static cw_status keep_all(cw_request *request, const outcome *one, int64_t *test_id, cw_error *err)
{
    CW_TRY(cw_change_begin(request->bench, cw_row_id(request, "job"), "a shutter test, measured live", err));
    cw_status status = store(request, one, test_id, err);
    if (status == CW_OK)
        return cw_change_commit(request->bench, err);
    cw_change_cancel(request->bench);
    return status;
}

cw_status post_live_keep(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_desk *desk;
    int64_t test_id = 0;
    CW_TRY(cw_live_of(request, &desk, err));
    outcome *one = calloc(1, sizeof *one);
    if (one == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the test");
    cw_status status = outcome_get(request, desk, one, err);
    if (status == CW_OK)
        status = keep_all(request, one, &test_id, err);
    outcome_free(one);
    free(one);
    if (status == CW_OK)
        status = cw_desk_clear(desk, err); /* only now: the test is in the bench */
    if (status == CW_OK)
        cw_go(request, reply, "The test is kept.", "/tests/%" PRId64, test_id);
    return status;
}

cw_status post_live_discard(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_desk *desk;
    CW_TRY(cw_live_of(request, &desk, err));
    if (cw_posted(request, "sure")[0] == '\0')
        return cw_fail(err, CW_INPUT, "tick that you are sure: the shots cannot be brought back");
    CW_TRY(cw_desk_clear(desk, err));
    cw_go(request, reply, "Thrown away.", "/live");
    return CW_OK;
}
