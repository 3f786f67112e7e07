/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/gather.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "../draw/plot_data.h"
#include "material.h"
#include "notebook/job.h"
#include "notebook/photo.h"
#include "notebook/prove.h"
#include "notebook/rack.h"
#include "notebook/step.h"
#include "notebook/test.h"
#include "report/report_json.h"
#include "shutter/photo_pair.h"
#include "support/check.h"

static cw_bench *bench;
static int64_t job_id;
static plot_data before, after;

static void add_test(const plot_data *data, cw_when when, const char *day, const char *broken)
{
    cw_error err;
    int64_t id;
    json_t *object = cw_shutter_test_json(&data->test, NULL);
    char *text = json_dumps(object, 0);
    assert_non_null(text);
    const cw_test test = {.job_id = job_id,
                          .kind = "shutter",
                          .when = when,
                          .tested_on = day,
                          .notes = "19 degrees",
                          .program_version = CW_VERSION,
                          .result_json = broken != NULL ? broken : text};
    assert_ok(cw_test_add(bench, &test, &id, &err), &err);
    json_decref(object);
    free(text);
}

static void add_sheet(const char *worksheet, const char *version, const char *result)
{
    cw_error err;
    int64_t id;
    const cw_saved_sheet saved = {.job_id = job_id,
                                  .worksheet = worksheet,
                                  .title = "for the \"top\" ring",
                                  .program_version = version,
                                  .result_json = result};
    assert_ok(cw_saved_sheet_add(bench, &saved, &id, &err), &err);
}

/* What a bench keeps of a worksheet that was run with its own example. */
static char *example_result(const char *name)
{
    cw_error err;
    cw_sheet_in *in;
    cw_sheet_out *out;
    const cw_worksheet *sheet = cw_worksheet_find(name);
    assert_non_null(sheet);
    assert_ok(cw_sheet_in_from_pairs(sheet, sheet->example, &in, &err), &err);
    assert_ok(cw_sheet_run(sheet, in, &out, &err), &err);
    json_t *object = cw_sheet_json(sheet, in, out);
    char *text = json_dumps(object, 0);
    assert_non_null(text);
    json_decref(object);
    cw_sheet_in_free(in);
    cw_sheet_out_free(out);
    return text;
}

static void add_steps(const char *folder)
{
    char path[400];
    cw_error err;
    int64_t step, part, photo, mark, tray;
    assert_ok(cw_tray_numbered(bench, job_id, 4, &tray, &err), &err);
    snprintf(path, sizeof path, "%s/p.jpg", folder);
    material_jpeg(path, 400, 300, 6);
    for (int i = 0; i < 3; i++) {
        const cw_step made = {.job_id = job_id,
                              .title = i == 1 ? "Rewind crank" : "Cover",
                              .came_off = "three screws",
                              .thread = i == 1 ? CW_THREAD_LEFT : CW_THREAD_NONE,
                              .duration_s = i == 1 ? 90 : NAN,
                              .state = CW_STEP_DONE};
        assert_ok(cw_step_add(bench, &made, 0, &step, &err), &err);
        const cw_part one = {.job_id = job_id,
                             .step_id = step,
                             .tray_id = tray,
                             .kind = "screw",
                             .pieces = i + 1,
                             .size = "M1.7",
                             .condition = CW_CONDITION_CLEAN,
                             .state = CW_PART_OUT};
        assert_ok(cw_part_add(bench, &one, &part, &err), &err);
        if (i == 2)
            assert_ok(cw_part_move(bench, part, 0, CW_PART_LEFT_OUT, "stripped, glued instead", NULL, &err), &err);
        if (i == 0)
            assert_ok(cw_part_move(bench, part, 0, CW_PART_BACK, "", NULL, &err), &err);
        if (i != 1)
            continue;
        assert_ok(cw_photo_import(bench, path, job_id, step, 0, "Under the crank", &photo, &err), &err);
        const cw_photo_mark at = {.photo_id = photo, .x = 0.25, .y = 0.75, .text = "long screw", .hook_deg = 90};
        assert_ok(cw_photo_mark_add(bench, &at, &mark, &err), &err);
    }
}

static int make_bench(void **state)
{
    static char folder[300];
    char path[400];
    cw_error err;
    check_folder("gather", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/bench", folder);
    assert_ok(cw_bench_open(path, CW_BENCH_CREATE, &bench, &err), &err);
    const cw_job job = {.camera = "Tarnbrook 35",
                        .serial = "4711",
                        .shutter = CW_JOB_SHUTTER_LEAF,
                        .complaint = "Sticks at 1/15.",
                        .owner = "a friend",
                        .taken_in_on = "2026-01-12",
                        .agreed_cost = NAN};
    assert_ok(cw_job_add(bench, &job, &job_id, &err), &err);
    add_steps(folder);
    plot_data_fill(&before, false);
    plot_data_fill(&after, true);
    add_test(&before, CW_WHEN_BEFORE, "2026-01-12", NULL);
    add_test(&after, CW_WHEN_AFTER, "2026-03-01", NULL);
    *state = folder;
    return 0;
}

static int close_bench(void **state)
{
    char command[400];
    cw_bench_close(bench);
    snprintf(command, sizeof command, "rm -rf '%s'", (const char *)*state);
    return system(command);
}

static cw_gathered gather(cw_gather_options options)
{
    cw_error err;
    cw_gathered gathered;
    assert_ok(cw_gather(bench, job_id, &options, &gathered, &err), &err);
    return gathered;
}

/* What the thread adds: lists with what was found, the film, a tool made for it, hours, a test by ear. */
static void the_thread_goes_on_paper_too(void **state)
{
    (void)state;
    cw_error err;
    int64_t id;
    const cw_checklist_item items[] = {{.text = "Look at the hinge", .answer = CW_ANSWER_NO, .remark = "tarry foam"},
                                       {.text = "Look at the catch", .answer = CW_ANSWER_YES},
                                       {.text = "Look at the mount"}};
    const cw_checklist list = {
        .job_id = job_id, .kind = "light-leaks", .title = "Light-leak hunt", .moment = CW_MOMENT_BEFORE};
    assert_ok(cw_change_begin(bench, job_id, "the thread", &err), &err);
    assert_ok(cw_checklist_add(bench, &list, items, 3, &id, &err), &err);
    const cw_film_frame frame = {.job_id = job_id,
                                 .frame = 4,
                                 .film = "roll 1",
                                 .marked_s = 1 / 125.0,
                                 .f_number = 5.6,
                                 .distance_mm = INFINITY,
                                 .scene = "twigs",
                                 .seen = "soft",
                                 .right = CW_ANSWER_NO,
                                 .proves = "focus"};
    assert_ok(cw_film_frame_add(bench, &frame, &id, &err), &err);
    const cw_tool tool = {.name = "rear wrench",
                          .kind = "flat-wrench",
                          .made = true,
                          .sizes_json = "{\"span\":23.4,\"tip_width\":1.2}",
                          .made_for_job_id = job_id};
    assert_ok(cw_tool_add(bench, &tool, &id, &err), &err);
    const cw_cost cost = {.job_id = job_id, .on = "2026-02-01", .what = "cleaning", .worked_s = 5400, .amount = 12.5};
    assert_ok(cw_cost_add(bench, &cost, &id, &err), &err);
    assert_ok(cw_left_out_set(bench, job_id, CW_PROOF_FOCUS, "never came apart", &err), &err);
    json_t *object = cw_shutter_test_json(&after.test, NULL);
    char *result = json_dumps(object, 0);
    const cw_test heard = {.job_id = job_id, .kind = "sound", .when = CW_WHEN_BEFORE, .result_json = result};
    assert_ok(cw_test_add(bench, &heard, &id, &err), &err);
    free(result);
    json_decref(object);
    assert_ok(cw_change_commit(bench, &err), &err);

    cw_gathered gathered = gather((cw_gather_options){.paper = "A4", .made_on = "2026-03-02", .with_costs = true});
    const cw_report *r = &gathered.report;
    assert_int_equal(r->list_count, 1);
    assert_int_equal(r->lists[0].open, 1);
    assert_int_equal(r->lists[0].found_count, 1);
    assert_string_equal(r->lists[0].found[0].remark, "tarry foam");
    assert_string_equal(r->lists[0].when, "before the work");
    assert_int_equal(r->frame_count, 1);
    assert_string_equal(r->frames[0].settings, "1/125 s, f/5.6, infinity");
    assert_string_equal(r->frames[0].verdict, "NOT RIGHT");
    assert_int_equal(r->tool_count, 1);
    assert_string_equal(r->tools[0].sizes, "span 23.4 mm, tip width 1.2 mm");
    assert_int_equal(r->cost_count, 2); /* and the sum */
    assert_string_equal(r->costs[1].time, "1 h 30 min");
    assert_int_equal(r->other_count, 1);
    assert_non_null(r->others[0].test.test);
    bool focus = false, film = false;
    for (size_t i = 0; i < r->proof_count; i++) {
        focus = focus || (strcmp(r->proofs[i].left_out, "never came apart") == 0 && r->proofs[i].outside);
        film = film || strstr(r->proofs[i].after, "outside: frame 4: soft") != NULL;
    }
    assert_true(focus && film);
    json_t *json = cw_report_json(r);
    assert_non_null(json);
    assert_string_equal(json_string_value(json_object_get(json, "format")), "camerawright.report/1");
    assert_int_equal(json_array_size(json_object_get(json, "proved")), r->proof_count);
    json_decref(json);
    cw_document *document;
    cw_buf out = cw_buf_new(16 << 20);
    assert_ok(cw_report_make(r, &document, &err), &err);
    assert_ok(cw_document_pdf(document, &out, &err), &err);
    assert_true(out.length > 10000);
    cw_buf_free(&out);
    cw_document_free(document);
    cw_gathered_free(&gathered);
    gathered = gather((cw_gather_options){.paper = "A4", .made_on = "2026-03-02"});
    assert_int_equal(gathered.report.cost_count, 0); /* hours and costs only where they are wanted */
    cw_gathered_free(&gathered);
    assert_ok(cw_undo(bench, job_id, NULL, &err), &err); /* the other tests count what they find */
}

static void a_job_comes_out_as_it_was_noted(void **state)
{
    (void)state;
    cw_error err;
    cw_gathered gathered = gather((cw_gather_options){.paper = "A4", .made_on = "2026-03-02"});
    const cw_report *r = &gathered.report;
    assert_string_equal(r->camera, "Tarnbrook 35");
    assert_string_equal(r->complaint, "Sticks at 1/15.");
    assert_string_equal(r->shutter, "leaf");
    assert_string_equal(r->owner, ""); /* private unless asked for */
    assert_int_equal(r->step_count, 3);
    assert_string_equal(r->steps[1].title, "Rewind crank");
    assert_string_equal(r->steps[1].thread, "left-hand");
    assert_int_equal(r->steps[1].number, 2);
    assert_int_equal(r->steps[1].photo_count, 1);
    assert_int_equal(r->steps[0].photo_count, 0);
    assert_string_equal(r->steps[1].photos[0].caption, "Under the crank; 1: long screw");
    assert_int_equal(r->steps[1].photos[0].mark_count, 1);
    assert_near(r->steps[1].photos[0].marks[0].y, 0.75, 1e-12);
    assert_near(r->steps[1].photos[0].marks[0].hook_deg, 90, 1e-12);
    assert_int_equal(r->part_count, 3);
    assert_false(r->parts[0].out);
    assert_true(r->parts[1].out);
    assert_int_equal(r->parts[1].pieces, 2);
    assert_int_equal(r->parts[1].step_number, 2);
    assert_int_equal(r->parts[1].tray_number, 4);
    assert_string_equal(r->parts[2].state, "left out");
    assert_string_equal(r->parts[2].reason, "stripped, glued instead");
    for (size_t i = 0; r->before.test == NULL && i < r->remaining_count; i++)
        print_error("%s\n", r->remaining[i]);
    assert_non_null(r->before.test);
    assert_non_null(r->after.test);
    assert_string_equal(r->before.tested_on, "2026-01-12");
    assert_int_equal(r->after.test->speed_count, DATA_SPEEDS);
    assert_near(r->before.test->speeds[10].error_ev.value, before.test.speeds[10].error_ev.value, 1e-9);
    bool screws = false;
    for (size_t i = 0; i < r->remaining_count; i++)
        screws = screws || strstr(r->remaining[i], "tray 4") != NULL;
    assert_true(screws);
    cw_document *document;
    cw_buf out = cw_buf_new(16 << 20);
    assert_ok(cw_report_make(r, &document, &err), &err);
    assert_ok(cw_document_pdf(document, &out, &err), &err);
    assert_true(out.length > 20000);
    cw_document_free(document);
    cw_buf_free(&out);
    cw_gathered_free(&gathered);
}

/* A pair whose light doubles from the left edge of the gate to the right one, as a bench keeps it; the map against the
 * middle then runs from half a stop below to half a stop above, but for its rim. */
static void evenness_of_photographs_goes_on_paper(void **state)
{
    cw_error err;
    char path[400];
    int64_t recording, id;
    cw_photo_compared *pair = calloc(1, sizeof *pair);
    assert_non_null(pair);
    pair->reference = pair->test =
        (cw_frame_info){true, 480, 320, .exposure_s = 1.0 / 30, .f_number = 8, .iso = 100, .saturation = 16000};
    for (size_t i = 0; i < CW_PHOTO_CELLS; i++) {
        double u = ((double)(i % CW_PHOTO_COLUMNS) + 0.5) / CW_PHOTO_COLUMNS;
        pair->cells[i] = (cw_frame_cell){.ratio = 0.25 * exp2(u), .u_ratio = 1e-4, .reference = 0.6, .test = 0.2};
    }
    json_t *object = cw_photo_compared_json(pair, 1);
    snprintf(path, sizeof path, "%s/pair.json", (const char *)*state);
    assert_int_equal(json_dump_file(object, path, 0), 0);
    json_decref(object);
    free(pair);
    assert_ok(cw_recording_import(bench, path, &recording, &err), &err);
    cw_shot shot = {
        .marked_s = 0.008, .sensor_count = 1, .sensors = {{.method = CW_METHOD_PHOTO, .exposure_s = {0.0079, 0.0001}}}};
    cw_shutter_test by_photo = after.test;
    by_photo.shots = &shot;
    by_photo.shot_count = 1;
    object = cw_shutter_test_json(&by_photo, NULL);
    char *result = json_dumps(object, 0);
    json_decref(object);
    const cw_test seen = {.job_id = job_id,
                          .kind = "photographs",
                          .when = CW_WHEN_AFTER,
                          .recording_id = recording,
                          .result_json = result,
                          .trace_json = "{\"travel\":\"left\",\"gate\":\"0,0,1,1\",\"mark.1\":\"1/125\"}"};
    assert_ok(cw_test_add(bench, &seen, &id, &err), &err);
    free(result);
    cw_gathered gathered = gather((cw_gather_options){.paper = "A4"});
    const cw_report *r = &gathered.report;
    assert_int_equal(r->other_count, 1);
    assert_string_equal(r->others[0].title, "From photographs, after the work");
    assert_int_equal(r->others[0].test.map_count, 1);
    assert_contains(r->others[0].test.maps[0].svg, "<svg");
    /* a rim of a fiftieth is left out, which is the outermost cell: (1 - 3/48) / 2 = 0.469 */
    assert_contains(r->others[0].test.maps[0].caption,
                    "Evenness at 1/125: from \u22120.47 to +0.47 EV against the middle");
    assert_contains(r->others[0].test.maps[0].caption, "the curtains run to the left");
    cw_document *document;
    cw_buf out = cw_buf_new(16 << 20);
    assert_ok(cw_report_make(r, &document, &err), &err);
    assert_ok(cw_document_pdf(document, &out, &err), &err);
    cw_document_free(document);
    cw_buf_free(&out);
    cw_gathered_free(&gathered);

    /* a recording that is no such thing is named and stops nothing */
    assert_int_equal(unlink(path), 0);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs("time,a\n0,1\n", file) >= 0 && fclose(file) == 0);
    assert_ok(cw_recording_import(bench, path, &recording, &err), &err);
    cw_test changed;
    assert_ok(cw_test_get(bench, id, &changed, &err), &err);
    changed.recording_id = recording;
    assert_ok(cw_test_update(bench, &changed, &err), &err);
    cw_test_free(&changed);
    gathered = gather((cw_gather_options){.paper = "A4"});
    assert_int_equal(gathered.report.others[0].test.map_count, 0);
    bool named = false;
    for (size_t i = 0; i < gathered.report.remaining_count; i++)
        named =
            named || strstr(gathered.report.remaining[i], "cannot be drawn: this recording holds no compared") != NULL;
    assert_true(named);
    cw_gathered_free(&gathered);
    assert_ok(cw_test_delete(bench, id, &err), &err);
}

/* A photo of the camera that no step and no list shows is not lost. */
static void photos_that_belong_to_nothing_come_last(void **state)
{
    cw_error err;
    char path[400];
    int64_t id;
    snprintf(path, sizeof path, "%s/whole.jpg", (const char *)*state);
    material_jpeg(path, 300, 200, 0);
    assert_ok(cw_photo_import(bench, path, job_id, 0, 0, "As it came", &id, &err), &err);
    cw_gathered gathered = gather((cw_gather_options){.paper = "A4"});
    assert_int_equal(gathered.report.more_photo_count, 1);
    assert_string_equal(gathered.report.more_photos[0].caption, "As it came");
    assert_int_equal(gathered.report.more_photos[0].id, id);
    assert_int_equal(gathered.report.more_photos[0].width_px, 300);
    json_t *json = cw_report_json(&gathered.report);
    assert_int_equal(json_integer_value(json_object_get(json_array_get(json_object_get(json, "more_photos"), 0), "id")),
                     id);
    json_decref(json);
    cw_gathered_free(&gathered);
    gathered = gather((cw_gather_options){.paper = "A4", .without_photos = true});
    assert_int_equal(gathered.report.more_photo_count, 0);
    cw_gathered_free(&gathered);
    cw_job job; /* as the cover it is shown once */
    assert_ok(cw_job_get(bench, job_id, &job, &err), &err);
    job.cover_photo_id = id;
    assert_ok(cw_job_update(bench, &job, &err), &err);
    cw_job_free(&job);
    gathered = gather((cw_gather_options){.paper = "A4"});
    assert_int_equal(gathered.report.more_photo_count, 0);
    assert_int_equal(gathered.report.cover->id, id);
    cw_gathered_free(&gathered);
}

static void wishes_are_kept(void **state)
{
    (void)state;
    cw_gathered gathered = gather((cw_gather_options){.paper = "Letter", .with_owner = true, .without_photos = true});
    assert_string_equal(gathered.report.owner, "a friend");
    assert_string_equal(gathered.report.paper, "Letter");
    assert_int_equal(gathered.report.steps[1].photo_count, 0);
    cw_gathered_free(&gathered);
}

static void what_cannot_be_read_is_named_and_stops_nothing(void **state)
{
    (void)state;
    char *kept = example_result("light-value");
    add_sheet("light-value", "0.0.9", kept);
    free(kept);
    add_sheet("light-value", CW_VERSION, "{\"inputs\":{\"wrong\":1}}");
    add_sheet("gone-sheet", CW_VERSION, "{\"inputs\":{}}");
    add_test(&after, CW_WHEN_AFTER, "2026-03-02", "{\"format\":\"something else\"}");
    cw_gathered gathered = gather((cw_gather_options){.paper = "A4"});
    const cw_report *r = &gathered.report;
    size_t gone = 0, tests = 0, wrong = 0;
    for (size_t i = 0; i < r->remaining_count; i++) {
        gone += strstr(r->remaining[i], "\"gone-sheet\" cannot be shown: this program has no such worksheet") != NULL;
        wrong += strstr(r->remaining[i], "\"light-value\" cannot be shown") != NULL;
        tests += strstr(r->remaining[i], "The shutter test after (2026-03-02) cannot be read") != NULL;
    }
    assert_int_equal(gone, 1);
    assert_int_equal(tests, 1);
    assert_int_equal(wrong, 1);
    assert_int_equal(r->sheet_count, 1);
    assert_contains(r->sheets[0].remark, "Kept by version 0.0.9, worked out again");
    assert_string_equal(r->sheets[0].title, "for the \"top\" ring");
    assert_null(r->after.test);
    assert_non_null(r->before.test);
    cw_gathered_free(&gathered);
}

static void no_such_job_is_said(void **state)
{
    (void)state;
    cw_error err;
    cw_gathered gathered;
    cw_buf out = cw_buf_new(1 << 20);
    assert_fails(cw_gather(bench, 999, &(cw_gather_options){.paper = "A4"}, &gathered, &err), CW_NOT_FOUND, &err,
                 "999");
    const cw_label_sheet sheet = {"A4", 30, NULL, 0};
    assert_fails(cw_tray_labels_pdf(bench, 999, &sheet, NULL, &out, &err), CW_NOT_FOUND, &err, "999");
    assert_ok(cw_tray_labels_pdf(bench, job_id, &sheet, "http://127.0.0.1:8421", &out, &err), &err);
    assert_memory_equal(out.text, "%PDF-", 5);
    cw_buf_free(&out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_thread_goes_on_paper_too),
                                       cmocka_unit_test(a_job_comes_out_as_it_was_noted),
                                       cmocka_unit_test(evenness_of_photographs_goes_on_paper),
                                       cmocka_unit_test(photos_that_belong_to_nothing_come_last),
                                       cmocka_unit_test(wishes_are_kept),
                                       cmocka_unit_test(no_such_job_is_said),
                                       cmocka_unit_test(what_cannot_be_read_is_named_and_stops_nothing)};
    return cmocka_run_group_tests_name(__FILE__, tests, make_bench, close_bench);
}
