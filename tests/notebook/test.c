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
    assert_fails(cw_recording_path(box->bench, first, where, sizeof where, &box->err), CW_FILE, &box->err, "not where");
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
           BOX_TEST(sheets_are_kept_with_the_job), BOX_TEST(a_recording_is_stored_once_under_its_hash),
           BOX_TEST(an_abandoned_upload_leaves_nothing), BOX_TEST(dead_uploads_are_swept_living_ones_stay))
