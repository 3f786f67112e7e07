/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/gather.h"

#include <inttypes.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "notebook/job.h"
#include "notebook/photo.h"
#include "notebook/step.h"
#include "notebook/test.h"
#include "report/gather_inside.h"
#include "report/shot_trace.h"
#include "worksheets/cautions.h"

cw_status gather_keep(material *m, const char *text, const char **kept, cw_error *err)
{
    CW_TRY(cw_grow(&m->texts, &m->text_capacity, m->text_count + 1, sizeof *m->texts, TEXTS_MOST, "texts of a report",
                   err));
    char *copy = cw_copy_text(text != NULL ? text : "");
    if (copy == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the report");
    m->texts[m->text_count++] = copy;
    *kept = copy;
    return CW_OK;
}

/* ---- steps and parts ---- */

static cw_status fill_step(cw_bench *bench, material *m, const cw_step *from, cw_report_step *to, cw_error *err)
{
    static const char *const threads[] = {
        [CW_THREAD_NONE] = "", [CW_THREAD_RIGHT] = "right-hand", [CW_THREAD_LEFT] = "left-hand"};
    *to = (cw_report_step){.number = (long)from->number,
                           .duration_s = from->duration_s,
                           .done = from->state == CW_STEP_DONE,
                           .back = from->back_done,
                           .thread = threads[from->thread]};
    const struct {
        const char *text, **kept;
    } texts[] = {
        {from->title, &to->title},
        {from->came_off, &to->came_off},
        {from->held_by, &to->held_by},
        {from->orientation, &to->orientation},
        {from->flies, &to->flies},
        {from->tool, &to->tool},
        {from->lubricant_found, &to->lubricant_found},
        {from->lubricant_to_use, &to->lubricant_to_use},
        {from->torque, &to->torque},
        {from->check_before_closing, &to->check_before_closing},
        {from->notes, &to->notes},
    };
    for (size_t i = 0; i < CW_COUNT(texts); i++)
        CW_TRY(gather_keep(m, texts[i].text, texts[i].kept, err));
    return m->without_photos ? CW_OK : gather_step_photos(bench, m, from->id, to, err);
}

/* Skipped steps were found not to be needed: they are no work done. */
static cw_status fill_steps(cw_bench *bench, material *m, int64_t job_id, cw_error *err)
{
    for (int64_t first = 0;; first += PAGE) {
        cw_step_list list;
        CW_TRY(cw_step_page(bench, job_id, CW_APART_ORDER, first, PAGE, &list, err));
        cw_status status = CW_OK;
        for (size_t i = 0; i < list.count && status == CW_OK; i++) {
            if (list.items[i].state == CW_STEP_SKIPPED)
                continue;
            status = cw_grow(&m->steps, &m->step_capacity, m->step_count + 1, sizeof *m->steps, STEPS_MOST,
                             "steps of a report", err);
            if (status == CW_OK)
                status = fill_step(bench, m, &list.items[i], &m->steps[m->step_count++], err);
        }
        bool last = list.count < PAGE;
        cw_step_list_free(&list);
        if (status != CW_OK || last)
            return status;
    }
}

static long step_number(cw_bench *bench, int64_t step_id)
{
    cw_step step;
    cw_error ignored; /* a part whose step is gone belongs to none */
    if (step_id == 0 || cw_step_get(bench, step_id, &step, &ignored) != CW_OK)
        return 0;
    long number = (long)step.number;
    cw_step_free(&step);
    return number;
}

static cw_status fill_part(cw_bench *bench, material *m, const cw_part *from, cw_report_part *to, cw_error *err)
{
    static const char *const conditions[] = {[CW_CONDITION_GOOD] = "good",
                                             [CW_CONDITION_CLEAN] = "to be cleaned",
                                             [CW_CONDITION_REPLACE] = "to be replaced",
                                             [CW_CONDITION_MAKE] = "to be made"};
    static const char *const states[] = {
        [CW_PART_EXPECTED] = "expected", [CW_PART_OUT] = "out",   [CW_PART_BACK] = "back",
        [CW_PART_REPLACED] = "replaced", [CW_PART_MADE] = "made", [CW_PART_LEFT_OUT] = "left out"};
    *to = (cw_report_part){.pieces = (long)from->pieces,
                           .condition = conditions[from->condition],
                           .state = states[from->state],
                           .tray_number = (long)from->tray_number,
                           .step_number = step_number(bench, from->step_id),
                           .out = from->state == CW_PART_OUT};
    CW_TRY(gather_keep(m, from->kind, &to->kind, err));
    CW_TRY(gather_keep(m, from->size, &to->size, err));
    CW_TRY(gather_keep(m, from->length, &to->length, err));
    CW_TRY(gather_keep(m, from->sat, &to->sat, err));
    CW_TRY(gather_keep(m, from->orientation, &to->orientation, err));
    return gather_keep(m, from->reason, &to->reason, err);
}

static cw_status fill_parts(cw_bench *bench, material *m, int64_t job_id, cw_error *err)
{
    for (int64_t first = 0;; first += PAGE) {
        cw_part_list list;
        CW_TRY(cw_part_page(bench, &(cw_part_filter){.job_id = job_id, .first = first, .most = PAGE}, &list, err));
        cw_status status = CW_OK;
        for (size_t i = 0; i < list.count && status == CW_OK; i++) {
            status = cw_grow(&m->parts, &m->part_capacity, m->part_count + 1, sizeof *m->parts, PARTS_MOST,
                             "parts of a report", err);
            if (status == CW_OK)
                status = fill_part(bench, m, &list.items[i], &m->parts[m->part_count++], err);
        }
        bool last = list.count < PAGE;
        cw_part_list_free(&list);
        if (status != CW_OK || last)
            return status;
    }
}

/* ---- tests ---- */

cw_status gather_remain(material *m, const char *text, cw_error *err)
{
    CW_TRY(cw_grow(&m->remaining, &m->remaining_capacity, m->remaining_count + 1, sizeof *m->remaining, TEXTS_MOST,
                   "lines of what remains", err));
    return gather_keep(m, text, &m->remaining[m->remaining_count++], err);
}

static cw_status parse_test(const cw_test *stored, cw_shutter_test **test, cw_error *err)
{
    json_error_t where;
    json_t *object = json_loads(stored->result_json, 0, &where);
    if (object == NULL)
        return cw_fail(err, CW_STORE, "%s", where.text);
    cw_status status = cw_shutter_test_from_json(object, test, err);
    json_decref(object);
    return status;
}

static cw_status source_words(cw_bench *bench, material *m, const cw_test *stored, const char **kept, cw_error *err)
{
    cw_recording recording;
    cw_error trouble;
    char text[600] = "read from a timer or taken live";
    if (stored->recording_id != 0 && cw_recording_get(bench, stored->recording_id, &recording, &trouble) == CW_OK) {
        snprintf(text, sizeof text, "recording %.500s", recording.name);
        cw_recording_free(&recording);
    } else if (stored->recording_id != 0) {
        snprintf(text, sizeof text, "a recording that cannot be found any more (%.400s)", trouble.text);
    }
    return gather_keep(m, text, kept, err);
}

/* One shot as the sensors saw it: the first at the fastest speed, where the errors are largest. A recording that is
 * gone, or a test without one, has no picture. */
static cw_status fill_trace(cw_bench *bench, material *m, const cw_test *stored, const cw_shutter_test *test,
                            cw_report_test *to, cw_error *err)
{
    cw_buf svg = cw_buf_new(16 << 20);
    char caption[200];
    cw_status status = CW_OK;
    if (test->shot_count > 0 && cw_stored_trace_svg(bench, stored, test, &svg, caption, sizeof caption)) {
        status = gather_keep(m, cw_buf_string(&svg), &to->trace_svg, err);
        if (status == CW_OK)
            status = gather_keep(m, caption, &to->trace_caption, err);
    }
    cw_buf_free(&svg);
    return status;
}

static bool by_photographs(const cw_shutter_test *test)
{
    for (size_t i = 0; i < test->shot_count; i++)
        for (size_t s = 0; s < test->shots[i].sensor_count; s++)
            if (test->shots[i].sensors[s].method == CW_METHOD_PHOTO)
                return true;
    return false;
}

cw_status gather_test(cw_bench *bench, material *m, const cw_test *stored, cw_report_test *to, cw_shutter_test **test,
                      cw_error *err)
{
    cw_error trouble;
    *test = NULL;
    if (*stored->result_json != '\0' && parse_test(stored, test, &trouble) != CW_OK) {
        char text[CW_ERROR_TEXT + 200];
        *test = NULL;
        snprintf(text, sizeof text, "The %.60s test %s (%s) cannot be read and is not in this report: %s", stored->kind,
                 cw_when_name(stored->when), stored->tested_on, trouble.text);
        CW_TRY(gather_remain(m, text, err));
    }
    to->test = *test;
    CW_TRY(gather_keep(m, stored->tested_on, &to->tested_on, err));
    CW_TRY(gather_keep(m, stored->notes, &to->notes, err));
    CW_TRY(source_words(bench, m, stored, &to->source, err));
    if (*test == NULL || stored->recording_id == 0)
        return CW_OK;
    return by_photographs(*test) ? gather_maps(bench, m, stored, to, err)
                                 : fill_trace(bench, m, stored, *test, to, err);
}

static cw_status fill_test(cw_bench *bench, material *m, int64_t job_id, cw_when when, cw_report_test *to,
                           cw_error *err)
{
    int64_t id;
    cw_test stored;
    CW_TRY(cw_test_newest(bench, job_id, "shutter", when, &id, err));
    if (id == 0)
        return CW_OK;
    CW_TRY(cw_test_get(bench, id, &stored, err));
    cw_status status = gather_test(bench, m, &stored, to, &m->tests[when == CW_WHEN_AFTER], err);
    cw_test_free(&stored);
    return status;
}

/* ---- worksheets ---- */

/* Works a kept worksheet out again; a sentence in `trouble` where that cannot be done any more. */
static cw_status rerun(const cw_saved_sheet *saved, cw_sheet_in **in, cw_sheet_out **out, cw_error *trouble)
{
    const cw_worksheet *sheet = cw_worksheet_find(saved->worksheet);
    json_error_t where;
    if (sheet == NULL)
        return cw_fail(trouble, CW_NOT_FOUND, "this program has no such worksheet");
    json_t *stored = json_loads(saved->result_json, 0, &where);
    if (stored == NULL)
        return cw_fail(trouble, CW_STORE, "%s", where.text);
    cw_status status = cw_sheet_in_from_kept(sheet, stored, in, trouble);
    if (status == CW_OK)
        status = cw_sheet_run(sheet, *in, out, trouble);
    json_decref(stored);
    return status;
}

static cw_status fill_sheet(material *m, const cw_saved_sheet *saved, cw_error *err)
{
    cw_sheet_in *in = NULL;
    cw_sheet_out *out = NULL;
    cw_error trouble;
    char text[CW_ERROR_TEXT + 400] = "";
    if (rerun(saved, &in, &out, &trouble) != CW_OK) {
        cw_sheet_in_free(in);
        snprintf(text, sizeof text, "The kept worksheet \"%.100s\" cannot be shown: %s", saved->worksheet,
                 trouble.text);
        return gather_remain(m, text, err);
    }
    cw_status status = cw_grow(&m->sheets, &m->sheet_capacity, m->sheet_count + 1, sizeof *m->sheets, SHEETS_MOST,
                               "worksheets of a report", err);
    if (status != CW_OK) {
        cw_sheet_in_free(in);
        cw_sheet_out_free(out);
        return status;
    }
    cw_report_sheet *made = &m->sheets[m->sheet_count++];
    *made = (cw_report_sheet){.sheet = cw_worksheet_find(saved->worksheet), .in = in, .out = out};
    if (strcmp(saved->program_version, CW_VERSION) != 0)
        snprintf(text, sizeof text,
                 "Kept by version %.40s, worked out again from the same inputs by version " CW_VERSION ".",
                 saved->program_version);
    made->when = saved->moment == CW_MOMENT_BEFORE  ? "before the work"
                 : saved->moment == CW_MOMENT_AFTER ? "after the work"
                                                    : "";
    CW_TRY(gather_keep(m, saved->title, &made->title, err));
    return gather_keep(m, text, &made->remark, err);
}

static cw_status fill_sheets(cw_bench *bench, material *m, int64_t job_id, cw_error *err)
{
    cw_saved_sheet_list list;
    CW_TRY(cw_saved_sheet_page(bench, job_id, 0, PAGE, &list, err));
    cw_status status = CW_OK;
    for (size_t i = 0; i < list.count && status == CW_OK; i++)
        status = fill_sheet(m, &list.items[i], err);
    cw_saved_sheet_list_free(&list);
    return status;
}

/* ---- the job ---- */

static cw_status fill_missing(cw_bench *bench, material *m, const cw_job *job, cw_error *err)
{
    cw_missing_list list;
    if (job->stage == CW_STAGE_HANDED_ON)
        return CW_OK;
    CW_TRY(cw_job_missing(bench, job->id, CW_STAGE_HANDED_ON, &list, err));
    cw_status status = CW_OK;
    for (size_t i = 0; i < list.count && status == CW_OK; i++)
        status = gather_remain(m, list.items[i].text, err);
    cw_missing_list_free(&list);
    return status;
}

static cw_status fill_job(material *m, const cw_job *job, const cw_gather_options *options, cw_error *err)
{
    static const char *const shutters[] = {
        [CW_JOB_SHUTTER_UNKNOWN] = "", [CW_JOB_SHUTTER_LEAF] = "leaf", [CW_JOB_SHUTTER_FOCAL_PLANE] = "focal plane"};
    cw_report *r = &m->report;
    char name[64];
    snprintf(name, sizeof name, "Job %" PRId64, job->id);
    r->shutter = shutters[job->shutter];
    r->stage = cw_stage_label(job->stage);
    CW_TRY(gather_keep(m, options->paper, &r->paper, err));
    CW_TRY(gather_keep(m, options->made_on, &r->made_on, err));
    CW_TRY(gather_keep(m, name, &r->job, err));
    CW_TRY(gather_keep(m, job->camera, &r->camera, err));
    CW_TRY(gather_keep(m, job->serial, &r->serial, err));
    CW_TRY(gather_keep(m, job->taken_in_on, &r->taken_in_on, err));
    CW_TRY(gather_keep(m, job->handed_on_on, &r->handed_on_on, err));
    CW_TRY(gather_keep(m, job->complaint, &r->complaint, err));
    CW_TRY(gather_keep(m, options->with_owner ? job->owner : "", &r->owner, err));
    return gather_keep(m, job->notes, &r->notes, err);
}

static cw_status fill(cw_bench *bench, material *m, const cw_job *job, const cw_gather_options *options, cw_error *err)
{
    m->without_photos = options->without_photos;
    CW_TRY(fill_job(m, job, options, err));
    CW_TRY(gather_cover(bench, m, job->cover_photo_id, err));
    CW_TRY(fill_test(bench, m, job->id, CW_WHEN_BEFORE, &m->report.before, err));
    CW_TRY(fill_test(bench, m, job->id, CW_WHEN_AFTER, &m->report.after, err));
    CW_TRY(fill_sheets(bench, m, job->id, err));
    CW_TRY(fill_steps(bench, m, job->id, err));
    CW_TRY(fill_parts(bench, m, job->id, err));
    CW_TRY(gather_thread(bench, m, job->id, options, err));
    CW_TRY(gather_more_photos(bench, m, job->id, err));
    CW_TRY(fill_missing(bench, m, job, err));
    cw_report *r = &m->report;
    for (size_t i = 0; i < m->step_count && r->caution_count == 0; i++)
        if (*m->steps[i].flies != '\0')
            m->cautions[r->caution_count++] = cw_caution("spring");
    r->cautions = m->cautions;
    r->steps = m->steps;
    r->step_count = m->step_count;
    r->parts = m->parts;
    r->part_count = m->part_count;
    r->sheets = m->sheets;
    r->sheet_count = m->sheet_count;
    r->remaining = m->remaining;
    r->remaining_count = m->remaining_count;
    return CW_OK;
}

static void material_free(material *m)
{
    if (m == NULL)
        return;
    for (size_t i = 0; i < m->step_count; i++) {
        for (size_t k = 0; k < m->steps[i].photo_count; k++)
            gather_free_photo(&m->steps[i].photos[k]);
        free((void *)m->steps[i].photos);
    }
    gather_free_photo(&m->cover);
    for (size_t i = 0; i < m->more_count; i++)
        gather_free_photo(&m->more[i]);
    free(m->more);
    gather_thread_free(m);
    for (size_t i = 0; i < m->sheet_count; i++) {
        cw_sheet_in_free((cw_sheet_in *)m->sheets[i].in);
        cw_sheet_out_free((cw_sheet_out *)m->sheets[i].out);
    }
    for (int i = 0; i < 2; i++)
        cw_shutter_test_free(m->tests[i]);
    free((void *)m->report.before.maps);
    free((void *)m->report.after.maps);
    for (size_t i = 0; i < m->text_count; i++)
        free(m->texts[i]);
    free(m->texts);
    free(m->steps);
    free(m->parts);
    free(m->sheets);
    free(m->remaining);
    free(m);
}

cw_status cw_gather(cw_bench *bench, int64_t job_id, const cw_gather_options *options, cw_gathered *gathered,
                    cw_error *err)
{
    cw_job job;
    CW_TRY(cw_job_get(bench, job_id, &job, err));
    material *m = calloc(1, sizeof *m);
    cw_status status =
        m != NULL ? fill(bench, m, &job, options, err) : cw_fail(err, CW_MEMORY, "no memory for the report");
    cw_job_free(&job);
    if (status != CW_OK) {
        material_free(m);
        return status;
    }
    *gathered = (cw_gathered){m->report, m};
    return CW_OK;
}

void cw_gathered_free(cw_gathered *gathered)
{
    material_free(gathered->held);
    *gathered = (cw_gathered){0};
}
