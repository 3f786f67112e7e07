/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/gather.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "notebook/job.h"
#include "notebook/photo.h"
#include "notebook/step.h"
#include "notebook/test.h"
#include "worksheets/cautions.h"

enum { STEPS_MOST = 500, PARTS_MOST = 500, SHEETS_MOST = 200, PHOTO_PATH = 4200, STEP_PHOTOS_MOST = 8 };

/* Everything the report points into. */
typedef struct {
    cw_job job;
    cw_test tests[2];
    cw_shutter_test *results[2];
    char sources[2][400];
    char name[40];
    cw_step_list steps;
    cw_report_step *report_steps;
    cw_part_list parts;
    cw_report_part *report_parts;
    cw_saved_sheet_list saved;
    cw_sheet_in **ins;
    cw_sheet_out **outs;
    cw_report_sheet *report_sheets;
    char (*remarks)[200];
    cw_missing_list missing;
    const char **remaining;
    char **texts; /* captions and paths, owned */
    size_t text_count, text_capacity;
    cw_doc_photo **photo_rows;
    size_t photo_row_count;
    cw_doc_photo cover;
    const char *cautions[8];
} holder;

static void holder_free(holder *h)
{
    cw_job_free(&h->job);
    for (size_t i = 0; i < 2; i++) {
        cw_test_free(&h->tests[i]);
        cw_shutter_test_free(h->results[i]);
    }
    cw_step_list_free(&h->steps);
    cw_part_list_free(&h->parts);
    for (size_t i = 0; h->outs != NULL && i < h->saved.count; i++)
        cw_sheet_out_free(h->outs[i]);
    for (size_t i = 0; h->ins != NULL && i < h->saved.count; i++)
        cw_sheet_in_free(h->ins[i]);
    cw_saved_sheet_list_free(&h->saved);
    cw_missing_list_free(&h->missing);
    for (size_t i = 0; i < h->text_count; i++)
        free(h->texts[i]);
    for (size_t i = 0; i < h->photo_row_count; i++)
        free(h->photo_rows[i]);
    free(h->report_steps);
    free(h->report_parts);
    free(h->ins);
    free(h->outs);
    free(h->report_sheets);
    free(h->remarks);
    free(h->remaining);
    free(h->texts);
    free(h->photo_rows);
    free(h);
}

void cw_gathered_free(cw_gathered *gathered)
{
    if (gathered->held != NULL)
        holder_free(gathered->held);
    *gathered = (cw_gathered){0};
}

static cw_status no_memory(cw_error *err)
{
    return cw_fail(err, CW_MEMORY, "no memory for the report");
}

static cw_status keep_text(holder *h, const char *text, const char **kept, cw_error *err)
{
    CW_TRY(cw_grow(&h->texts, &h->text_capacity, h->text_count + 1, sizeof *h->texts, 100000, "texts", err));
    char *copy = strdup(text);
    if (copy == NULL)
        return no_memory(err);
    h->texts[h->text_count++] = copy;
    *kept = copy;
    return CW_OK;
}

/* ---- tests ---- */

static cw_status take_result(const cw_test *test, cw_shutter_test **result, cw_error *err)
{
    json_error_t where;
    json_t *json = json_loads(test->result_json, 0, &where);
    if (json == NULL)
        return cw_fail(err, CW_STORE, "the stored result of test %" PRId64 " is damaged: %s", test->id, where.text);
    cw_status status = cw_shutter_test_from_json(json, result, err);
    json_decref(json);
    return status;
}

static cw_status take_source(cw_bench *bench, const cw_test *test, char *source, size_t size, cw_error *err)
{
    if (test->recording_id == 0) {
        snprintf(source, size, "read from a timer or taken live");
        return CW_OK;
    }
    cw_recording recording;
    CW_TRY(cw_recording_get(bench, test->recording_id, &recording, err));
    snprintf(source, size, "recording %.300s", recording.name);
    cw_recording_free(&recording);
    return CW_OK;
}

static cw_status gather_test(cw_bench *bench, holder *h, cw_when when, size_t slot, cw_report_test *out, cw_error *err)
{
    int64_t id;
    CW_TRY(cw_test_newest(bench, h->job.id, "shutter", when, &id, err));
    if (id == 0)
        return CW_OK;
    cw_test *test = &h->tests[slot];
    CW_TRY(cw_test_get(bench, id, test, err));
    CW_TRY(take_result(test, &h->results[slot], err));
    CW_TRY(take_source(bench, test, h->sources[slot], sizeof h->sources[slot], err));
    *out = (cw_report_test){h->results[slot], test->tested_on, h->sources[slot], test->notes};
    return CW_OK;
}

/* ---- steps and photos ---- */

/* The photos of a step, at most so many: the first ones. */
static cw_status gather_photos(cw_bench *bench, holder *h, int64_t step_id, cw_report_step *out, cw_error *err)
{
    cw_photo_list list;
    cw_photo_filter filter = {.job_id = h->job.id, .step_id = step_id, .most = STEP_PHOTOS_MOST};
    CW_TRY(cw_photo_page(bench, &filter, &list, err));
    cw_doc_photo *row = calloc(list.count > 0 ? list.count : 1, sizeof *row);
    cw_status status = row != NULL ? CW_OK : no_memory(err);
    if (row != NULL)
        h->photo_rows[h->photo_row_count++] = row;
    for (size_t i = 0; status == CW_OK && i < list.count; i++) {
        char path[PHOTO_PATH];
        status = cw_photo_path(bench, list.items[i].id, path, sizeof path, err);
        if (status == CW_OK)
            status = keep_text(h, path, &row[i].path, err);
        if (status == CW_OK)
            status = keep_text(h, list.items[i].caption, &row[i].caption, err);
    }
    out->photos = row;
    out->photo_count = status == CW_OK ? list.count : 0;
    cw_photo_list_free(&list);
    return status;
}

static const char *thread_words(cw_thread_direction thread)
{
    return thread == CW_THREAD_LEFT ? "left-hand" : thread == CW_THREAD_RIGHT ? "right-hand" : "";
}

static cw_status gather_steps(cw_bench *bench, holder *h, cw_report *report, cw_error *err)
{
    CW_TRY(cw_step_page(bench, h->job.id, CW_APART_ORDER, 0, STEPS_MOST, &h->steps, err));
    h->report_steps = calloc(h->steps.count + 1, sizeof *h->report_steps);
    h->photo_rows = calloc(h->steps.count + 1, sizeof *h->photo_rows);
    if (h->report_steps == NULL || h->photo_rows == NULL)
        return no_memory(err);
    for (size_t i = 0; i < h->steps.count; i++) {
        const cw_step *s = &h->steps.items[i];
        h->report_steps[i] = (cw_report_step){
            .number = (long)s->number,
            .title = s->title,
            .came_off = s->came_off,
            .held_by = s->held_by,
            .thread = thread_words(s->thread),
            .orientation = s->orientation,
            .flies = s->flies,
            .tool = s->tool,
            .lubricant_found = s->lubricant_found,
            .lubricant_to_use = s->lubricant_to_use,
            .torque = s->torque,
            .check_before_closing = s->check_before_closing,
            .notes = s->notes,
            .duration_s = s->duration_s,
            .done = s->state == CW_STEP_DONE,
            .back = s->back_done,
        };
        if (s->photo_count > 0)
            CW_TRY(gather_photos(bench, h, s->id, &h->report_steps[i], err));
    }
    report->steps = h->report_steps;
    report->step_count = h->steps.count;
    return CW_OK;
}

/* ---- parts ---- */

static const char *condition_words(cw_condition condition)
{
    static const char *const words[] = {[CW_CONDITION_GOOD] = "good",
                                        [CW_CONDITION_CLEAN] = "to be cleaned",
                                        [CW_CONDITION_REPLACE] = "to be replaced",
                                        [CW_CONDITION_MAKE] = "to be made"};
    return words[condition];
}

static const char *state_words(cw_part_state state)
{
    static const char *const words[] = {
        [CW_PART_EXPECTED] = "expected", [CW_PART_OUT] = "out",   [CW_PART_BACK] = "back",
        [CW_PART_REPLACED] = "replaced", [CW_PART_MADE] = "made", [CW_PART_LEFT_OUT] = "left out"};
    return words[state];
}

static long number_of_step(const holder *h, int64_t step_id)
{
    for (size_t i = 0; i < h->steps.count; i++)
        if (h->steps.items[i].id == step_id)
            return (long)h->steps.items[i].number;
    return 0;
}

static cw_status gather_parts(cw_bench *bench, holder *h, cw_report *report, cw_error *err)
{
    cw_part_filter filter = {.job_id = h->job.id, .most = PARTS_MOST};
    CW_TRY(cw_part_page(bench, &filter, &h->parts, err));
    h->report_parts = calloc(h->parts.count + 1, sizeof *h->report_parts);
    if (h->report_parts == NULL)
        return no_memory(err);
    for (size_t i = 0; i < h->parts.count; i++) {
        const cw_part *p = &h->parts.items[i];
        h->report_parts[i] = (cw_report_part){
            .kind = p->kind,
            .pieces = (long)p->pieces,
            .size = p->size,
            .length = p->length,
            .sat = p->sat,
            .orientation = p->orientation,
            .condition = condition_words(p->condition),
            .state = state_words(p->state),
            .reason = p->reason,
            .tray_number = (long)p->tray_number,
            .step_number = number_of_step(h, p->step_id),
            .out = p->state == CW_PART_OUT,
        };
    }
    report->parts = h->report_parts;
    report->part_count = h->parts.count;
    return CW_OK;
}

/* ---- worksheets ---- */

/* Runs a saved worksheet again from its inputs; one that no longer can is left out and named under what remains. */
static cw_status rerun(const cw_saved_sheet *saved, holder *h, size_t slot, cw_report_sheet *out, bool *done)
{
    cw_error err;
    const cw_worksheet *sheet = cw_worksheet_find(saved->worksheet);
    json_t *stored = json_loads(saved->result_json, 0, NULL);
    *done = false;
    if (sheet != NULL && stored != NULL &&
        cw_sheet_in_from_json(sheet, json_object_get(stored, "inputs"), &h->ins[slot], &err) == CW_OK &&
        cw_sheet_run(sheet, h->ins[slot], &h->outs[slot], &err) == CW_OK) {
        if (strcmp(saved->program_version, CW_VERSION) != 0)
            snprintf(h->remarks[slot], sizeof h->remarks[slot], "computed again with version %s; saved with %.60s",
                     CW_VERSION, saved->program_version);
        *out = (cw_report_sheet){sheet, h->ins[slot], h->outs[slot], saved->title, h->remarks[slot]};
        *done = true;
    }
    json_decref(stored);
    return CW_OK;
}

static cw_status gather_sheets(cw_bench *bench, holder *h, cw_report *report, cw_error *err)
{
    CW_TRY(cw_saved_sheet_page(bench, h->job.id, 0, SHEETS_MOST, &h->saved, err));
    size_t room = h->saved.count + 1;
    h->ins = calloc(room, sizeof *h->ins);
    h->outs = calloc(room, sizeof *h->outs);
    h->report_sheets = calloc(room, sizeof *h->report_sheets);
    h->remarks = calloc(room, sizeof *h->remarks);
    if (h->ins == NULL || h->outs == NULL || h->report_sheets == NULL || h->remarks == NULL)
        return no_memory(err);
    for (size_t i = 0; i < h->saved.count; i++) {
        bool done;
        CW_TRY(rerun(&h->saved.items[i], h, i, &h->report_sheets[report->sheet_count], &done));
        report->sheet_count += done;
    }
    report->sheets = h->report_sheets;
    return CW_OK;
}

/* ---- what remains ---- */

static cw_status add_remaining(holder *h, cw_report *report, const char *text, cw_error *err)
{
    CW_TRY(keep_text(h, text, &h->remaining[report->remaining_count], err));
    report->remaining_count++;
    return CW_OK;
}

/* Lists longer than a report are cut, and that is said; worksheets that could not be run again too. */
static cw_status say_what_is_left_out(holder *h, cw_report *report, cw_error *err)
{
    char text[200];
    if (h->steps.total > (int64_t)h->steps.count) {
        snprintf(text, sizeof text, "%" PRId64 " further steps are in the notebook and not on this paper",
                 h->steps.total - (int64_t)h->steps.count);
        CW_TRY(add_remaining(h, report, text, err));
    }
    if (h->parts.total > (int64_t)h->parts.count) {
        snprintf(text, sizeof text, "%" PRId64 " further parts are in the notebook and not on this paper",
                 h->parts.total - (int64_t)h->parts.count);
        CW_TRY(add_remaining(h, report, text, err));
    }
    if (h->saved.total > (int64_t)report->sheet_count) {
        snprintf(text, sizeof text,
                 "%" PRId64 " saved worksheets could not be computed again and are not on this paper",
                 h->saved.total - (int64_t)report->sheet_count);
        CW_TRY(add_remaining(h, report, text, err));
    }
    return CW_OK;
}

static cw_status gather_remaining(cw_bench *bench, holder *h, cw_report *report, cw_error *err)
{
    bool last = h->job.stage + 1 >= CW_STAGE_COUNT;
    if (!last)
        CW_TRY(cw_job_missing(bench, h->job.id, (cw_stage)(h->job.stage + 1), &h->missing, err));
    h->remaining = calloc(h->missing.count + 4, sizeof *h->remaining);
    if (h->remaining == NULL)
        return no_memory(err);
    report->remaining = h->remaining;
    for (size_t i = 0; i < h->missing.count; i++)
        CW_TRY(add_remaining(h, report, h->missing.items[i].text, err));
    return say_what_is_left_out(h, report, err);
}

/* Cautions that this job calls for: springs where a step says something flies. */
static void gather_cautions(holder *h, cw_report *report)
{
    for (size_t i = 0; i < h->steps.count && report->caution_count == 0; i++)
        if (*h->steps.items[i].flies != '\0')
            h->cautions[report->caution_count++] = cw_caution("spring");
    report->cautions = h->cautions;
}

static cw_status gather_cover(cw_bench *bench, holder *h, cw_report *report, cw_error *err)
{
    char path[PHOTO_PATH];
    if (h->job.cover_photo_id == 0)
        return CW_OK;
    CW_TRY(cw_photo_path(bench, h->job.cover_photo_id, path, sizeof path, err));
    CW_TRY(keep_text(h, path, &h->cover.path, err));
    report->cover = &h->cover;
    return CW_OK;
}

static cw_status fill(cw_bench *bench, int64_t job_id, const cw_gather_options *options, holder *h, cw_report *report,
                      cw_error *err)
{
    CW_TRY(cw_job_get(bench, job_id, &h->job, err));
    snprintf(h->name, sizeof h->name, "Job %" PRId64, job_id);
    *report = (cw_report){
        .paper = options->paper,
        .made_on = options->made_on,
        .job = h->name,
        .camera = h->job.camera,
        .serial = h->job.serial,
        .stage = cw_stage_label(h->job.stage),
        .shutter = h->job.shutter == CW_JOB_SHUTTER_LEAF          ? "leaf"
                   : h->job.shutter == CW_JOB_SHUTTER_FOCAL_PLANE ? "focal plane"
                                                                  : "",
        .taken_in_on = h->job.taken_in_on,
        .handed_on_on = h->job.handed_on_on,
        .complaint = h->job.complaint,
        .owner = options->with_owner ? h->job.owner : "",
        .notes = h->job.notes,
    };
    CW_TRY(gather_cover(bench, h, report, err));
    CW_TRY(gather_test(bench, h, CW_WHEN_BEFORE, 0, &report->before, err));
    CW_TRY(gather_test(bench, h, CW_WHEN_AFTER, 1, &report->after, err));
    CW_TRY(gather_steps(bench, h, report, err));
    CW_TRY(gather_parts(bench, h, report, err));
    CW_TRY(gather_sheets(bench, h, report, err));
    gather_cautions(h, report);
    return gather_remaining(bench, h, report, err);
}

cw_status cw_gather(cw_bench *bench, int64_t job_id, const cw_gather_options *options, cw_gathered *gathered,
                    cw_error *err)
{
    holder *h = calloc(1, sizeof *h);
    if (h == NULL)
        return no_memory(err);
    cw_report report;
    cw_status status = fill(bench, job_id, options, h, &report, err);
    if (status != CW_OK) {
        holder_free(h);
        return status;
    }
    *gathered = (cw_gathered){report, h};
    return CW_OK;
}
