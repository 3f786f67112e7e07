/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench_box.h"

#include <fcntl.h>
#include <sys/stat.h>

#include "notebook/incoming.h"
#include "notebook/store.h"
#include "notebook/test.h"

static void a_test_comes_back_as_it_was_written(void **state)
{
    bench_box *box = *state;
    int64_t job_id = box_job(box, "Ellory Reflex"), id, newest;
    cw_test test = {.job_id = job_id,
                    .kind = "shutter",
                    .when = CW_WHEN_AFTER,
                    .title = "second curtain eased",
                    .tested_on = "2026-11-20",
                    .program_version = "0.1.0",
                    .plan_json = "{\"marked\":[0.004]}",
                    .result_json = "{\"format\":\"camerawright.shutter/1\",\"speeds\":[]}",
                    .trace_json = "[0.5,1]"};
    cw_test back;
    cw_test_list list;
    assert_ok(cw_test_add(box->bench, &test, &id, &box->err), &box->err);
    assert_ok(cw_test_get(box->bench, id, &back, &box->err), &box->err);
    assert_int_equal(back.when, CW_WHEN_AFTER);
    assert_string_equal(back.result_json, test.result_json);
    assert_string_equal(back.trace_json, "[0.5,1]");
    cw_test_free(&back);
    assert_ok(cw_test_page(box->bench, job_id, NULL, 0, 10, &list, &box->err), &box->err);
    assert_int_equal(list.count, 1);
    assert_string_equal(list.items[0].plan_json, test.plan_json);
    assert_string_equal(list.items[0].trace_json, "");
    cw_test_list_free(&list);
    assert_ok(cw_test_page(box->bench, job_id, "sound", 0, 10, &list, &box->err), &box->err);
    assert_int_equal(list.total, 0);
    cw_test_list_free(&list);
    assert_ok(cw_test_newest(box->bench, job_id, "shutter", CW_WHEN_AFTER, &newest, &box->err), &box->err);
    assert_int_equal(newest, id);
    assert_ok(cw_test_newest(box->bench, job_id, "shutter", CW_WHEN_BEFORE, &newest, &box->err), &box->err);
    assert_int_equal(newest, 0);

    test.result_json = "{\"format\":";
    assert_fails(cw_test_add(box->bench, &test, &id, &box->err), CW_INPUT, &box->err,
                 "the result of the test is not JSON");
    test.result_json = "";
    test.job_id = 99;
    assert_fails(cw_test_add(box->bench, &test, &id, &box->err), CW_NOT_FOUND, &box->err, "no job 99");
    test.job_id = job_id;
    test.recording_id = 12;
    assert_fails(cw_test_add(box->bench, &test, &id, &box->err), CW_NOT_FOUND, &box->err, "not there");
}

static void readings_are_kept_in_the_order_typed(void **state)
{
    bench_box *box = *state;
    int64_t job_id = box_job(box, "Tarnbrook 35"), test_id, id = 0;
    cw_reading_list list;
    cw_test test = {.job_id = job_id, .kind = "reading"};
    assert_ok(cw_test_add(box->bench, &test, &test_id, &box->err), &box->err);
    const double seconds[] = {0.00443, 0.0321, 1.07};
    for (size_t i = 0; i < CW_COUNT(seconds); i++) {
        cw_reading reading = {.test_id = test_id, .marked_s = 0.004, .exposure_s = seconds[i], .position_mm = 18};
        assert_ok(cw_reading_add(box->bench, &reading, &id, &box->err), &box->err);
    }
    assert_ok(cw_reading_delete(box->bench, id - 1, &box->err), &box->err);
    assert_fails(cw_reading_delete(box->bench, id - 1, &box->err), CW_NOT_FOUND, &box->err, "no reading");
    assert_ok(cw_undo(box->bench, job_id, NULL, &box->err), &box->err);
    assert_ok(cw_reading_page(box->bench, test_id, &list, &box->err), &box->err);
    assert_int_equal(list.count, 3);
    assert_true(list.items[1].exposure_s == 0.0321);
    cw_reading_list_free(&list);
    cw_reading bad = {.test_id = test_id, .marked_s = 0.004, .exposure_s = -1};
    assert_fails(cw_reading_add(box->bench, &bad, &id, &box->err), CW_INPUT, &box->err, "-1 s");
    bad.exposure_s = NAN;
    assert_fails(cw_reading_add(box->bench, &bad, &id, &box->err), CW_INPUT, &box->err, "more than 0 s");
}

static void expect_readings(bench_box *box, int64_t test_id, const char *words)
{
    char all[200] = "";
    cw_reading_list list;
    assert_ok(cw_reading_page(box->bench, test_id, &list, &box->err), &box->err);
    for (size_t i = 0; i < list.count; i++) {
        size_t used = strlen(all);
        snprintf(all + used, sizeof all - used, "%s%s", i > 0 ? ", " : "", list.items[i].as_typed);
    }
    assert_string_equal(all, words);
    cw_reading_list_free(&list);
}

/* A test of two typed readings. */
static int64_t typed_test(bench_box *box, int64_t job_id)
{
    cw_test test = {.job_id = job_id,
                    .kind = "shutter",
                    .title = "as it came",
                    .notes = "19 degrees",
                    .tested_on = "2026-11-24",
                    .plan_json = "{\"tolerance\":\"common\"}",
                    .result_json = "{\"format\":\"camerawright.shutter/1\"}"};
    cw_reading readings[] = {
        {.marked_s = 0.004, .exposure_s = 0.00433, .position_mm = NAN, .as_typed = "4.33 ms"},
        {.marked_s = 0.004, .exposure_s = 0.0442, .position_mm = 18, .as_typed = "44.2 ms"},
    };
    int64_t test_id, id;
    assert_ok(cw_test_add(box->bench, &test, &test_id, &box->err), &box->err);
    for (size_t i = 0; i < CW_COUNT(readings); i++) {
        readings[i].test_id = test_id;
        assert_ok(cw_reading_add(box->bench, &readings[i], &id, &box->err), &box->err);
    }
    return test_id;
}

static void a_correction_puts_aside_what_stood_there(void **state)
{
    bench_box *box = *state;
    int64_t job_id = box_job(box, "Tarnbrook 35"), test_id = typed_test(box, job_id);
    cw_test test;
    cw_test_version_list versions;
    cw_test_version first;
    char said[CW_LINE_MOST + 1];
    assert_ok(cw_test_get(box->bench, test_id, &test, &box->err), &box->err);
    cw_test changed = test;
    changed.title = "as it came, panel steadied";
    changed.strikes_json = "{\"2\":\"the panel moved\"}";
    cw_reading right = {.marked_s = 0.004, .exposure_s = 0.00442, .position_mm = NAN, .as_typed = "4.42 ms"};
    assert_fails(cw_test_correct(box->bench, &changed, &right, 1, " ", &box->err), CW_INPUT, &box->err, "say why");
    assert_fails(cw_test_correct(box->bench, &changed, &right, 1, "a line\nand another", &box->err), CW_INPUT,
                 &box->err, "in one line");
    expect_readings(box, test_id, "4.33 ms, 44.2 ms");
    assert_ok(cw_test_correct(box->bench, &changed, &right, 1, "a digit slipped", &box->err), &box->err);
    expect_readings(box, test_id, "4.42 ms");
    /* Read before the correction: somebody else was quicker. */
    assert_fails(cw_test_correct(box->bench, &changed, &right, 1, "again", &box->err), CW_CONFLICT, &box->err,
                 "changed by somebody else");
    changed.revision = 0;
    assert_ok(cw_test_correct(box->bench, &changed, NULL, 0, "all of it was another camera", &box->err), &box->err);

    assert_ok(cw_test_version_page(box->bench, test_id, &versions, &box->err), &box->err);
    assert_int_equal(versions.count, 2);
    assert_string_equal(versions.items[0].reason, "a digit slipped");
    assert_ok(cw_test_version_get(box->bench, versions.items[0].id, &first, &box->err), &box->err);
    assert_string_equal(first.title, "as it came");
    assert_string_equal(first.tested_on, "2026-11-24");
    assert_string_equal(first.plan_json, test.plan_json);
    assert_string_equal(first.result_json, test.result_json);
    assert_string_equal(first.strikes_json, "");
    assert_contains(first.readings_json, "\"as_typed\":\"4.33 ms\"");
    assert_contains(first.readings_json, "\"position_mm\":18.0");
    cw_test_version_free(&first);
    cw_test_version_list_free(&versions);

    for (int i = 0; i < 2; i++)
        assert_ok(cw_undo(box->bench, job_id, said, &box->err), &box->err);
    assert_string_equal(said, "shutter test before corrected: a digit slipped");
    expect_readings(box, test_id, "4.33 ms, 44.2 ms");
    assert_ok(cw_test_version_page(box->bench, test_id, &versions, &box->err), &box->err);
    assert_int_equal(versions.count, 0);
    cw_test_version_list_free(&versions);
    assert_ok(cw_redo(box->bench, job_id, NULL, &box->err), &box->err);
    expect_readings(box, test_id, "4.42 ms");
    /* With the test its earlier versions go, and come again. */
    assert_ok(cw_test_delete(box->bench, test_id, &box->err), &box->err);
    assert_ok(cw_undo(box->bench, job_id, NULL, &box->err), &box->err);
    assert_ok(cw_test_version_page(box->bench, test_id, &versions, &box->err), &box->err);
    assert_int_equal(versions.count, 1);
    cw_test_version_list_free(&versions);
    assert_ok(cw_job_delete(box->bench, job_id, &box->err), &box->err);
    cw_test_free(&test);
}

static void sheets_are_kept_with_the_job(void **state)
{
    bench_box *box = *state;
    int64_t job_id = box_job(box, "Tarnbrook 35"), id;
    cw_saved_sheet_list list;
    cw_saved_sheet back, sheet = {.job_id = job_id, .worksheet = "flat-wrench", .result_json = "{\"outputs\":{}}"};
    assert_ok(cw_saved_sheet_add(box->bench, &sheet, &id, &box->err), &box->err);
    assert_ok(cw_saved_sheet_get(box->bench, id, &back, &box->err), &box->err);
    back.title = "for the front ring";
    assert_ok(cw_saved_sheet_update(box->bench, &back, &box->err), &box->err);
    cw_saved_sheet_free(&back);
    assert_ok(cw_saved_sheet_page(box->bench, job_id, 0, 5, &list, &box->err), &box->err);
    assert_int_equal(list.count, 1);
    assert_string_equal(list.items[0].title, "for the front ring");
    cw_saved_sheet_list_free(&list);
    assert_ok(cw_saved_sheet_delete(box->bench, id, &box->err), &box->err);
    sheet.result_json = "";
    assert_fails(cw_saved_sheet_add(box->bench, &sheet, &id, &box->err), CW_INPUT, &box->err, "the result is missing");
}

/* FIPS 180-2, appendix B.1: the SHA-256 of "abc". */
static void a_recording_is_stored_once_under_its_hash(void **state)
{
    bench_box *box = *state;
    char path[700], where[4400];
    int64_t first, second, third;
    cw_recording recording;
    cw_incoming *incoming;
    snprintf(path, sizeof path, "%s/shot 3.WAV", box->scratch);
    FILE *file = fopen(path, "w");
    fputs("abc", file);
    fclose(file);
    assert_ok(cw_recording_import(box->bench, path, &first, &box->err), &box->err);
    assert_ok(cw_recording_get(box->bench, first, &recording, &box->err), &box->err);
    assert_string_equal(recording.hash, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    assert_string_equal(recording.name, "shot 3.WAV");
    assert_int_equal(recording.bytes, 3);
    cw_recording_free(&recording);
    assert_ok(cw_incoming_open(box->bench, CW_INCOMING_RECORDING, "C:\\x\\other.csv", &incoming, &box->err), &box->err);
    assert_ok(cw_incoming_write(incoming, "a", 1, &box->err), &box->err);
    assert_ok(cw_incoming_write(incoming, "bc", 2, &box->err), &box->err);
    assert_ok(cw_incoming_keep_recording(incoming, &second, &box->err), &box->err);
    assert_int_equal(second, first);
    assert_ok(cw_recording_path(box->bench, first, where, sizeof where, &box->err), &box->err);
    assert_contains(where, "/recordings/ba/ba7816bf");
    assert_contains(where, ".wav");
    assert_fails(cw_recording_path(box->bench, first, where, 20, &box->err), CW_RANGE, &box->err, "20 bytes");
    assert_int_equal(unlink(where), 0);
    assert_fails(cw_recording_path(box->bench, first, where, sizeof where, &box->err), CW_NOT_FOUND, &box->err,
                 "not where");
    /* Kept again, it is mended. */
    assert_ok(cw_recording_import(box->bench, path, &third, &box->err), &box->err);
    assert_int_equal(third, first);
    assert_ok(cw_recording_path(box->bench, first, where, sizeof where, &box->err), &box->err);

    assert_ok(cw_incoming_open(box->bench, CW_INCOMING_RECORDING, "../../", &incoming, &box->err), &box->err);
    assert_fails(cw_incoming_keep_recording(incoming, &third, &box->err), CW_INPUT, &box->err, "\"file\" is empty");
    assert_fails(cw_recording_import(box->bench, box->scratch, &third, &box->err), CW_INPUT, &box->err,
                 "is not a file");
    assert_fails(cw_recording_import(box->bench, "/no/such/file.wav", &third, &box->err), CW_INPUT, &box->err,
                 "cannot be read");
}

static void an_abandoned_upload_leaves_nothing(void **state)
{
    bench_box *box = *state;
    cw_incoming *incoming;
    char folder[700];
    snprintf(folder, sizeof folder, "%s/incoming", box->folder);
    assert_ok(cw_incoming_open(box->bench, CW_INCOMING_PHOTO, "a.jpg", &incoming, &box->err), &box->err);
    assert_ok(cw_incoming_write(incoming, "half a picture", 14, &box->err), &box->err);
    cw_incoming_abandon(incoming);
    assert_int_equal(rmdir(folder), 0); /* only an empty folder can be removed */
    assert_fails(cw_incoming_open(box->bench, CW_INCOMING_PHOTO, "a.jpg", &incoming, &box->err), CW_FILE, &box->err,
                 "cannot be stored");
}

static void dead_uploads_are_swept_living_ones_stay(void **state)
{
    bench_box *box = *state;
    cw_incoming *incoming;
    cw_bench *other;
    int64_t id;
    char path[700];
    snprintf(path, sizeof path, "%s/incoming/dead01", box->folder);
    fclose(fopen(path, "w"));
    struct timespec long_ago[2] = {{1000000, 0}, {1000000, 0}};
    assert_int_equal(utimensat(AT_FDCWD, path, long_ago, 0), 0);
    assert_ok(cw_incoming_open(box->bench, CW_INCOMING_RECORDING, "slow.wav", &incoming, &box->err), &box->err);
    assert_ok(cw_incoming_write(incoming, "x", 1, &box->err), &box->err);
    assert_ok(cw_bench_open(box->folder, CW_BENCH_OPEN, &other, &box->err), &box->err);
    cw_bench_close(other);
    assert_int_equal(access(path, F_OK), -1);
    assert_ok(cw_incoming_keep_recording(incoming, &id, &box->err), &box->err);
}

CHECK_MAIN(BOX_TEST(a_test_comes_back_as_it_was_written), BOX_TEST(readings_are_kept_in_the_order_typed),
           BOX_TEST(a_correction_puts_aside_what_stood_there), BOX_TEST(sheets_are_kept_with_the_job),
           BOX_TEST(a_recording_is_stored_once_under_its_hash), BOX_TEST(an_abandoned_upload_leaves_nothing),
           BOX_TEST(dead_uploads_are_swept_living_ones_stay))
