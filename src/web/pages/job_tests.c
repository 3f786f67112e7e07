/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tests and worksheets in a job's page. */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/step.h"
#include "notebook/test.h"
#include "web/page.h"
#include "web/pages/job_parts.h"
#include "web/pages/shutter_parts.h"
#include "web/pages/stored_test.h"
#include "worksheets/worksheet.h"

enum { TESTS_SHOWN = 100, SHEETS_SHOWN = 100 };

cw_status cw_job_view_get(cw_bench *bench, int64_t id, cw_job_view *view, cw_error *err)
{
    cw_job_view made = {0};
    CW_TRY(cw_job_get(bench, id, &made.job, err));
    cw_status status = cw_test_newest(bench, id, "shutter", CW_WHEN_BEFORE, &made.before_id, err);
    if (status == CW_OK)
        status = cw_test_newest(bench, id, "shutter", CW_WHEN_AFTER, &made.after_id, err);
    cw_step_list steps;
    if (status == CW_OK)
        status = cw_step_page(bench, id, CW_APART_ORDER, 0, 1, &steps, err);
    if (status == CW_OK) {
        made.step_count = steps.total;
        cw_step_list_free(&steps);
    }
    if (status != CW_OK) {
        cw_job_free(&made.job);
        return status;
    }
    *view = made;
    return CW_OK;
}

void cw_job_view_free(cw_job_view *view)
{
    cw_job_free(&view->job);
}

static void write_shutter(cw_html *h, const cw_shutter_test *before, const cw_shutter_test *after)
{
    if (before == NULL && after == NULL)
        return;
    html_markup(h, "<section class='panel' id='shutter'><h2>The shutter</h2>\n");
    cw_write_summary(h, after != NULL ? after : before);
    cw_write_speed_plot(h, before, after);
    if (before != NULL && after != NULL)
        cw_write_compare_table(h, before, after);
    else
        cw_write_speed_table(h, after != NULL ? after : before, false);
    html_markup(h, "</section>\n");
}

static void write_list(cw_html *h, const cw_job_view *view, const cw_test_list *tests)
{
    html_markup(h, "<section class='panel' id='tests'><h2>Tests</h2>\n");
    if (tests->count == 0)
        html_markup(h, "<p class='soft'>None yet. A test takes two minutes with a timer, a sound card or a logic "
                       "analyser.</p>");
    else
        html_markup(h, "<ul class='lines'>");
    for (size_t i = 0; i < tests->count; i++) {
        const cw_test *test = &tests->items[i];
        html_markup(h, "<li>");
        html_markup(h, "<a");
        html_attrf(h, "href", "/tests/%" PRId64, test->id);
        html_markup(h, "><strong>");
        html_textf(h, "%s, %s", test->kind, cw_when_name(test->when));
        html_markup(h, "</strong> <span class='soft'>");
        html_textf(h, "%s %s", test->tested_on, test->title);
        html_markup(h, "</span></a></li>\n");
    }
    if (tests->count > 0)
        html_markup(h, "</ul>");
    html_markup(h, "<div class='actions'>");
    cw_link(h, "button", "Add a test", "/measure?job=%" PRId64 "&when=%s", view->job.id,
            view->job.stage >= CW_STAGE_TOGETHER ? "after"
            : view->before_id == 0               ? "before"
                                                 : "during");
    html_markup(h, "</div></section>\n");
}

/* A result that cannot be read any more is said; the rest of the job stays open. */
static cw_status read_result(cw_request *request, cw_html *h, int64_t id, cw_shutter_test **test, cw_error *err)
{
    cw_error trouble;
    if (id == 0)
        return CW_OK;
    cw_status status = cw_stored_shutter(request->bench, id, test, &trouble);
    if (status == CW_MEMORY) {
        *err = trouble;
        return status;
    }
    if (status != CW_OK) {
        html_markup(h, "<p class='notice close'>");
        html_sentence(h, trouble.text);
        html_markup(h, "</p>\n");
    }
    return CW_OK;
}

cw_status cw_job_write_tests(cw_request *request, cw_html *h, const cw_job_view *view, cw_error *err)
{
    cw_test_list tests;
    cw_shutter_test *before = NULL, *after = NULL;
    CW_TRY(cw_test_page(request->bench, view->job.id, NULL, 0, TESTS_SHOWN, &tests, err));
    cw_status status = read_result(request, h, view->before_id, &before, err);
    if (status == CW_OK)
        status = read_result(request, h, view->after_id, &after, err);
    if (status == CW_OK) {
        write_shutter(h, before, after);
        write_list(h, view, &tests);
    }
    cw_shutter_test_free(before);
    cw_shutter_test_free(after);
    cw_test_list_free(&tests);
    return status;
}

static void write_sheet(cw_request *request, cw_html *h, const cw_saved_sheet *saved)
{
    const cw_worksheet *sheet = cw_worksheet_find(saved->worksheet);
    html_markup(h, "<li><a");
    html_attrf(h, "href", "/saved/%" PRId64, saved->id);
    html_markup(h, "><strong>");
    html_text(h, saved->title[0] != '\0' ? saved->title : sheet != NULL ? sheet->title : saved->worksheet);
    html_markup(h, "</strong>");
    if (saved->moment != CW_MOMENT_ANY) {
        html_markup(h, " <span class='soft'>");
        html_textf(h, "%s the work", cw_moment_name(saved->moment));
        html_markup(h, "</span>");
    }
    if (saved->title[0] != '\0' && sheet != NULL) {
        html_markup(h, " <span class='soft'>");
        html_text(h, sheet->title);
        html_markup(h, "</span>");
    }
    html_markup(h, "</a></li>\n");
    (void)request;
}

cw_status cw_job_write_sheets(cw_request *request, cw_html *h, const cw_job_view *view, cw_error *err)
{
    cw_saved_sheet_list saved;
    CW_TRY(cw_saved_sheet_page(request->bench, view->job.id, 0, SHEETS_SHOWN, &saved, err));
    html_markup(h, "<section class='panel' id='sheets'><h2>Worked out for it</h2>\n");
    if (saved.count > 0) {
        html_markup(h, "<ul class='lines'>");
        for (size_t i = 0; i < saved.count; i++)
            write_sheet(request, h, &saved.items[i]);
        html_markup(h, "</ul>");
    } else {
        html_markup(h, "<p class='soft'>Nothing yet: tools, pins, springs, a meter on a new cell.</p>");
    }
    html_markup(h, "<div class='actions'>");
    cw_link(h, "button", "Open the worksheets", "/worksheets?_job=%" PRId64, view->job.id);
    html_markup(h, "</div></section>\n");
    cw_saved_sheet_list_free(&saved);
    return CW_OK;
}
