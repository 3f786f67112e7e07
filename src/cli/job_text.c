/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/job_text.h"

#include <inttypes.h>

#include "cli/print.h"
#include "notebook/step.h"
#include "notebook/test.h"
#include "shutter/compare.h"

enum { SHOWN_MOST = 500 };

void cw_job_list_print(const cw_job_list *list, int64_t first, FILE *out)
{
    if (list->count == 0)
        cw_print(out, "no job here yet; take a camera in: camerawright job new --camera \"Tarnbrook 35\"\n");
    for (size_t i = 0; i < list->count; i++) {
        const cw_job_card *card = &list->items[i];
        cw_print(out, "%5" PRId64 "  %-10s  %-22s %-14s %s\n", card->id, cw_stage_label(card->stage), card->camera,
                 card->serial, card->complaint);
    }
    int64_t shown = first + (int64_t)list->count;
    if (list->total > shown)
        cw_print_told(out, "%" PRId64 " more: camerawright job list --first %" PRId64 "\n", list->total - shown, shown);
}

static void print_line(const char *label, const char *text, FILE *out)
{
    if (*text != '\0')
        cw_print(out, "%-14s %s\n", label, text);
}

static cw_status print_missing(cw_bench *bench, const cw_job *job, FILE *out, cw_error *err)
{
    if (job->stage + 1 >= CW_STAGE_COUNT)
        return CW_OK;
    cw_missing_list list;
    cw_stage next = (cw_stage)(job->stage + 1);
    CW_TRY(cw_job_missing(bench, job->id, next, &list, err));
    if (list.count > 0)
        cw_print(out, "\nbefore it is \"%s\":\n", cw_stage_label(next));
    for (size_t i = 0; i < list.count; i++)
        cw_print_told(out, "  %s %s\n", list.items[i].refused ? "!" : "-", list.items[i].text);
    cw_missing_list_free(&list);
    return CW_OK;
}

static cw_status print_tests(cw_bench *bench, int64_t id, FILE *out, cw_error *err)
{
    cw_test_list list;
    CW_TRY(cw_test_page(bench, id, NULL, 0, SHOWN_MOST, &list, err));
    if (list.count > 0)
        cw_print(out, "\ntests:\n");
    for (size_t i = 0; i < list.count; i++)
        cw_print(out, "  %5" PRId64 "  %s  %-7s %-10s %s\n", list.items[i].id, list.items[i].tested_on,
                 cw_when_name(list.items[i].when), list.items[i].kind, list.items[i].title);
    if (list.total > (int64_t)list.count)
        cw_print(out, "  and %" PRId64 " more\n", list.total - (int64_t)list.count);
    cw_test_list_free(&list);
    return CW_OK;
}

/* The newest shutter test of that time; *test NULL when there is none. */
static cw_status shutter_test(cw_bench *bench, int64_t job_id, cw_when when, cw_shutter_test **test, cw_error *err)
{
    int64_t id;
    cw_test stored;
    *test = NULL;
    CW_TRY(cw_test_newest(bench, job_id, "shutter", when, &id, err));
    if (id == 0)
        return CW_OK;
    CW_TRY(cw_test_get(bench, id, &stored, err));
    json_t *result = json_loads(stored.result_json, 0, NULL);
    cw_test_free(&stored);
    cw_status status = result == NULL ? CW_OK : cw_shutter_test_from_json(result, test, err);
    if (status != CW_OK)
        cw_context(err, "the result of test %" PRId64, id);
    json_decref(result);
    return status;
}

static cw_status print_table(const cw_shutter_test *before, const cw_shutter_test *after, FILE *out, cw_error *err)
{
    cw_comparison comparison = cw_shutter_compare(before, after);
    cw_buf table = cw_buf_new(64 * 1024);
    const cw_manner *before_it = cw_manner_use(cw_print_manner());
    cw_status status = cw_comparison_table(&comparison, &table, err);
    cw_manner_use(before_it);
    if (status == CW_OK)
        fprintf(out, "\n%s", cw_buf_string(&table));
    cw_buf_free(&table);
    return status;
}

cw_status cw_job_comparison_print(cw_bench *bench, int64_t job_id, FILE *out, cw_error *err)
{
    cw_shutter_test *before = NULL, *after = NULL;
    cw_status status = shutter_test(bench, job_id, CW_WHEN_BEFORE, &before, err);
    if (status == CW_OK)
        status = shutter_test(bench, job_id, CW_WHEN_AFTER, &after, err);
    if (status == CW_OK && before != NULL && after != NULL)
        status = print_table(before, after, out, err);
    cw_shutter_test_free(before);
    cw_shutter_test_free(after);
    return status;
}

static cw_status print_steps(cw_bench *bench, int64_t id, FILE *out, cw_error *err)
{
    cw_step_list list;
    CW_TRY(cw_step_page(bench, id, CW_APART_ORDER, 0, SHOWN_MOST, &list, err));
    if (list.count > 0)
        cw_print(out, "\nsteps:\n");
    for (size_t i = 0; i < list.count; i++) {
        const cw_step *step = &list.items[i];
        cw_print(out, "  %4" PRId64 "  %s%s%s%s\n", step->number, step->title,
                 step->thread == CW_THREAD_LEFT ? "  [left-hand thread]" : "", *step->flies != '\0' ? "  flies: " : "",
                 *step->flies != '\0' ? step->flies : "");
    }
    if (list.total > (int64_t)list.count)
        cw_print(out, "  and %" PRId64 " more\n", list.total - (int64_t)list.count);
    cw_step_list_free(&list);
    return CW_OK;
}

cw_status cw_job_print(cw_bench *bench, int64_t id, FILE *out, cw_error *err)
{
    cw_job job;
    CW_TRY(cw_job_get(bench, id, &job, err));
    cw_print(out, "job %" PRId64 ": %s %s\n\n", job.id, job.camera, job.serial);
    print_line("stage", cw_stage_label(job.stage), out);
    print_line("complaint", job.complaint, out);
    print_line("taken in", job.taken_in_on, out);
    print_line("handed on", job.handed_on_on, out);
    print_line("notes", job.notes, out);
    cw_status status = print_missing(bench, &job, out, err);
    if (status == CW_OK)
        status = print_tests(bench, id, out, err);
    if (status == CW_OK)
        status = cw_job_comparison_print(bench, id, out, err);
    if (status == CW_OK)
        status = print_steps(bench, id, out, err);
    cw_job_free(&job);
    return status;
}
