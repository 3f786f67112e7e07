/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/job_json.h"

#include <math.h>

#include "notebook/photo.h"
#include "notebook/step.h"
#include "notebook/test.h"

enum { PAGE = 500 };

static json_t *number_or_null(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

/* A stored JSON text as JSON; what was stored empty is null. */
static json_t *stored(const char *text)
{
    json_t *value = *text != '\0' ? json_loads(text, JSON_DECODE_ANY, NULL) : NULL;
    return value != NULL ? value : json_null();
}

json_t *cw_job_list_json(const cw_job_list *list, int64_t first)
{
    json_t *jobs = json_array();
    for (size_t i = 0; i < list->count; i++) {
        const cw_job_card *card = &list->items[i];
        json_array_append_new(
            jobs, json_pack("{s:I,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:I,s:I,s:I,s:I}", "id", card->id, "camera", card->camera,
                            "serial", card->serial, "shutter", cw_job_shutter_name(card->shutter), "stage",
                            cw_stage_name(card->stage), "complaint", card->complaint, "taken_in_on", card->taken_in_on,
                            "changed_at", card->changed_at, "steps", card->step_count, "photos", card->photo_count,
                            "tests", card->test_count, "pieces_out", card->pieces_out));
    }
    return json_pack("{s:s,s:I,s:I,s:o}", "format", "camerawright.jobs/1", "first", first, "total", list->total, "jobs",
                     jobs);
}

static json_t *part_json(const cw_part *part)
{
    return json_pack("{s:I,s:I,s:I,s:s,s:I,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:s}", "id", part->id, "step_id", part->step_id,
                     "tray", part->tray_number, "kind", part->kind, "pieces", part->pieces, "size", part->size,
                     "length", part->length, "sat", part->sat, "orientation", part->orientation, "condition",
                     cw_condition_name(part->condition), "state", cw_part_state_name(part->state), "reason",
                     part->reason, "notes", part->notes);
}

static json_t *photo_json(const cw_photo *photo)
{
    return json_pack("{s:I,s:I,s:I,s:s,s:s,s:s,s:I,s:I,s:s}", "id", photo->id, "step_id", photo->step_id, "part_id",
                     photo->part_id, "caption", photo->caption, "hash", photo->hash, "media", photo->media, "width_px",
                     photo->width_px, "height_px", photo->height_px, "taken_at", photo->taken_at);
}

static json_t *step_json(const cw_step *step)
{
    return json_pack("{s:I,s:I,s:s,s:s,s:b,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:o}", "id", step->id, "number",
                     step->number, "state", cw_step_state_name(step->state), "title", step->title, "back",
                     step->back_done, "came_off", step->came_off, "held_by", step->held_by, "thread",
                     cw_thread_direction_name(step->thread), "orientation", step->orientation, "flies", step->flies,
                     "tool", step->tool, "lubricant_found", step->lubricant_found, "lubricant_to_use",
                     step->lubricant_to_use, "torque", step->torque, "check_before_closing", step->check_before_closing,
                     "notes", step->notes, "duration_s", number_or_null(step->duration_s));
}

/* ---- lists, a page at a time ---- */

/* Which rows: of a job, or of one step or part in it. */
typedef struct {
    int64_t job_id, step_id, part_id;
} rows_of;

/* Appends the rows from `first` on, at most PAGE, and says how many there are in all. */
typedef cw_status (*page_adder)(cw_bench *bench, const rows_of *of, int64_t first, json_t *rows, int64_t *total,
                                cw_error *err);

static cw_status add_list(cw_bench *bench, const rows_of *of, page_adder add_page, json_t *object, const char *key,
                          cw_error *err)
{
    json_t *rows = json_array();
    int64_t total = 1;
    json_object_set_new(object, key, rows);
    for (int64_t first = 0; first < total; first += PAGE)
        CW_TRY(add_page(bench, of, first, rows, &total, err));
    return CW_OK;
}

static cw_status page_of_steps(cw_bench *bench, const rows_of *of, int64_t first, json_t *rows, int64_t *total,
                               cw_error *err)
{
    cw_step_list list;
    CW_TRY(cw_step_page(bench, of->job_id, CW_APART_ORDER, first, PAGE, &list, err));
    for (size_t i = 0; i < list.count; i++)
        json_array_append_new(rows, step_json(&list.items[i]));
    *total = list.total;
    cw_step_list_free(&list);
    return CW_OK;
}

static cw_status page_of_parts(cw_bench *bench, const rows_of *of, int64_t first, json_t *rows, int64_t *total,
                               cw_error *err)
{
    cw_part_list list;
    cw_part_filter filter = {.job_id = of->job_id, .step_id = of->step_id, .first = first, .most = PAGE};
    CW_TRY(cw_part_page(bench, &filter, &list, err));
    for (size_t i = 0; i < list.count; i++)
        json_array_append_new(rows, part_json(&list.items[i]));
    *total = list.total;
    cw_part_list_free(&list);
    return CW_OK;
}

static cw_status page_of_photos(cw_bench *bench, const rows_of *of, int64_t first, json_t *rows, int64_t *total,
                                cw_error *err)
{
    cw_photo_list list;
    cw_photo_filter filter = {
        .job_id = of->job_id, .step_id = of->step_id, .part_id = of->part_id, .first = first, .most = PAGE};
    CW_TRY(cw_photo_page(bench, &filter, &list, err));
    for (size_t i = 0; i < list.count; i++)
        json_array_append_new(rows, photo_json(&list.items[i]));
    *total = list.total;
    cw_photo_list_free(&list);
    return CW_OK;
}

static cw_status page_of_tests(cw_bench *bench, const rows_of *of, int64_t first, json_t *rows, int64_t *total,
                               cw_error *err)
{
    cw_test_list list;
    CW_TRY(cw_test_page(bench, of->job_id, NULL, first, PAGE, &list, err));
    for (size_t i = 0; i < list.count; i++) {
        const cw_test *test = &list.items[i];
        json_array_append_new(rows, json_pack("{s:I,s:s,s:s,s:s,s:s,s:s,s:s,s:o}", "id", test->id, "kind", test->kind,
                                              "when", cw_when_name(test->when), "title", test->title, "notes",
                                              test->notes, "tested_on", test->tested_on, "program",
                                              test->program_version, "result", stored(test->result_json)));
    }
    *total = list.total;
    cw_test_list_free(&list);
    return CW_OK;
}

static cw_status page_of_sheets(cw_bench *bench, const rows_of *of, int64_t first, json_t *rows, int64_t *total,
                                cw_error *err)
{
    cw_saved_sheet_list list;
    CW_TRY(cw_saved_sheet_page(bench, of->job_id, first, PAGE, &list, err));
    for (size_t i = 0; i < list.count; i++) {
        const cw_saved_sheet *sheet = &list.items[i];
        json_array_append_new(rows, json_pack("{s:I,s:s,s:s,s:s,s:s,s:s,s:o}", "id", sheet->id, "worksheet",
                                              sheet->worksheet, "when", cw_moment_name(sheet->moment), "title",
                                              sheet->title, "notes", sheet->notes, "created_at", sheet->created_at,
                                              "result", stored(sheet->result_json)));
    }
    *total = list.total;
    cw_saved_sheet_list_free(&list);
    return CW_OK;
}

static cw_status add_trays(cw_bench *bench, int64_t id, json_t *job, cw_error *err)
{
    cw_tray_list list;
    CW_TRY(cw_tray_page(bench, id, &list, err));
    json_t *trays = json_array();
    for (size_t i = 0; i < list.count; i++)
        json_array_append_new(trays, json_pack("{s:I,s:s,s:b,s:I}", "number", list.items[i].number, "label",
                                               list.items[i].label, "put_away", list.items[i].put_away, "pieces_out",
                                               list.items[i].pieces_out));
    json_object_set_new(job, "trays", trays);
    cw_tray_list_free(&list);
    return CW_OK;
}

static cw_status add_counts(cw_bench *bench, const cw_job *job, json_t *json, cw_error *err)
{
    cw_part_count counts;
    CW_TRY(cw_part_counts(bench, job->id, &counts, err));
    json_t *count = json_object();
    for (int state = 0; state < CW_PART_STATE_COUNT; state++)
        json_object_set_new(count, cw_part_state_name((cw_part_state)state), json_integer(counts.pieces[state]));
    json_object_set_new(json, "count", count);

    json_t *missing = json_array();
    json_object_set_new(json, "missing", missing);
    if (job->stage + 1 >= CW_STAGE_COUNT)
        return CW_OK;
    cw_missing_list list;
    CW_TRY(cw_job_missing(bench, job->id, (cw_stage)(job->stage + 1), &list, err));
    for (size_t i = 0; i < list.count; i++)
        json_array_append_new(missing,
                              json_pack("{s:s,s:b}", "text", list.items[i].text, "refused", list.items[i].refused));
    cw_missing_list_free(&list);
    return CW_OK;
}

static json_t *head_json(const cw_job *job)
{
    return json_pack("{s:s,s:I,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:s,s:o,s:s}", "format",
                     "camerawright.job/1", "id", job->id, "camera", job->camera, "serial", job->serial, "shutter",
                     cw_job_shutter_name(job->shutter), "finder", cw_finder_name(job->finder), "meter",
                     cw_meter_fitted_name(job->meter), "flash", cw_fitted_name(job->flash), "bellows",
                     cw_fitted_name(job->bellows), "stage", cw_stage_name(job->stage), "complaint", job->complaint,
                     "notes", job->notes, "taken_in_on", job->taken_in_on, "handed_on_on", job->handed_on_on,
                     "created_at", job->created_at, "changed_at", job->changed_at, "agreed_cost",
                     number_or_null(job->agreed_cost), "currency", job->currency);
}

static cw_status fill(cw_bench *bench, const cw_job *job, json_t *json, cw_error *err)
{
    CW_TRY(add_counts(bench, job, json, err));
    CW_TRY(add_trays(bench, job->id, json, err));
    rows_of of = {.job_id = job->id};
    CW_TRY(add_list(bench, &of, page_of_steps, json, "steps", err));
    CW_TRY(add_list(bench, &of, page_of_parts, json, "parts", err));
    CW_TRY(add_list(bench, &of, page_of_photos, json, "photos", err));
    CW_TRY(add_list(bench, &of, page_of_tests, json, "tests", err));
    return add_list(bench, &of, page_of_sheets, json, "worksheets", err);
}

cw_status cw_job_json(cw_bench *bench, int64_t id, json_t **json, cw_error *err)
{
    cw_job job;
    CW_TRY(cw_job_get(bench, id, &job, err));
    json_t *made = head_json(&job);
    cw_status status = made != NULL ? fill(bench, &job, made, err) : cw_fail(err, CW_MEMORY, "no memory for the JSON");
    cw_job_free(&job);
    if (status != CW_OK) {
        json_decref(made);
        return status;
    }
    *json = made;
    return CW_OK;
}

/* The object with its format and job in front; released when a list cannot be read. */
static cw_status finish(cw_status status, json_t *made, const char *format, int64_t job_id, json_t **json,
                        cw_error *err)
{
    if (status == CW_OK && made == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory for the JSON");
    if (status != CW_OK) {
        json_decref(made);
        return status;
    }
    json_object_set_new(made, "format", json_string(format));
    json_object_set_new(made, "job_id", json_integer(job_id));
    *json = made;
    return CW_OK;
}

cw_status cw_step_json(cw_bench *bench, int64_t id, json_t **json, cw_error *err)
{
    cw_step step;
    CW_TRY(cw_step_get(bench, id, &step, err));
    json_t *made = step_json(&step);
    rows_of of = {.job_id = step.job_id, .step_id = id};
    cw_step_free(&step);
    cw_status status = add_list(bench, &of, page_of_parts, made, "parts", err);
    if (status == CW_OK)
        status = add_list(bench, &of, page_of_photos, made, "photos", err);
    return finish(status, made, "camerawright.step/1", of.job_id, json, err);
}

cw_status cw_part_json(cw_bench *bench, int64_t id, json_t **json, cw_error *err)
{
    cw_part part;
    CW_TRY(cw_part_get(bench, id, &part, err));
    json_t *made = part_json(&part);
    rows_of of = {.job_id = part.job_id, .part_id = id};
    cw_part_free(&part);
    cw_status status = add_list(bench, &of, page_of_photos, made, "photos", err);
    return finish(status, made, "camerawright.part/1", of.job_id, json, err);
}
