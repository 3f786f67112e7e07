/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench_box.h"

#include <time.h>

#include "notebook/store.h"
#include "notebook/test.h"

static void a_job_comes_back_as_it_was_written(void **state)
{
    bench_box *box = *state;
    cw_job job = {.camera = "Tarnbrook 35",
                  .serial = "№ 402-187",
                  .shutter = CW_JOB_SHUTTER_LEAF,
                  .complaint = "slow speeds stick;\n\"B\" stays open <sometimes> & 'more'",
                  .owner = "Frau Ünal, no hurry",
                  .notes = "'; DROP TABLE job; --",
                  .taken_in_on = "2024-02-29",
                  .agreed_cost = 38.25,
                  .currency = "EUR"};
    cw_job back;
    int64_t id;
    assert_ok(cw_job_add(box->bench, &job, &id, &box->err), &box->err);
    assert_ok(cw_job_get(box->bench, id, &back, &box->err), &box->err);
    assert_string_equal(back.camera, job.camera);
    assert_string_equal(back.serial, job.serial);
    assert_int_equal(back.shutter, CW_JOB_SHUTTER_LEAF);
    assert_string_equal(back.complaint, job.complaint);
    assert_string_equal(back.owner, job.owner);
    assert_string_equal(back.notes, job.notes);
    assert_int_equal(back.stage, CW_STAGE_TAKEN_IN);
    assert_string_equal(back.taken_in_on, "2024-02-29");
    assert_string_equal(back.handed_on_on, "");
    assert_true(back.agreed_cost == 38.25);
    assert_int_equal(back.plan_of, 0);
    assert_int_equal(strlen(back.created_at), 20);
    cw_job_free(&back);
    cw_job_free(&back);
}

static void what_cannot_be_stored_is_refused_in_words(void **state)
{
    bench_box *box = *state;
    static char flood[CW_NOTE_MOST + 2];
    memset(flood, 'x', CW_NOTE_MOST + 1);
    const struct {
        cw_job job;
        const char *words;
    } bad[] = {
        {{.camera = ""}, "the camera is missing"},
        {{.camera = " \t "}, "one line"},
        {{.camera = "  "}, "the camera is missing"},
        {{.camera = "Tarn\nbrook"}, "in one line"},
        {{.camera = "\xc3("}, "UTF-8"},
        {{.camera = "\xed\xa0\x80"}, "UTF-8"},
        {{.camera = "\xc0\xaf"}, "UTF-8"},
        {{.camera = "A", .complaint = flood}, "20001 bytes long; 20000"},
        {{.camera = "A", .notes = "a\x02z"}, "the notes is not plain"},
        {{.camera = "A", .taken_in_on = "2023-02-29"}, "\"2023-02-29\" is no day"},
        {{.camera = "A", .taken_in_on = "25.11.2026"}, "is no day"},
        {{.camera = "A", .agreed_cost = INFINITY}, "not finite"},
        {{.camera = "A", .shutter = (cw_job_shutter)9}, "none of the 3 choices"},
        {{.camera = "A", .plan_of = 4711}, "not there"},
        {{.camera = "A", .plan_of = -1}, "no number -1"},
    };
    for (size_t i = 0; i < CW_COUNT(bad); i++) {
        int64_t id = -7;
        cw_status status = cw_job_add(box->bench, &bad[i].job, &id, &box->err);
        assert_true(status == CW_INPUT || status == CW_NOT_FOUND);
        assert_contains(box->err.text, bad[i].words);
        assert_int_equal(id, -7);
    }
    int64_t jobs, lines;
    assert_ok(store_number(box->bench, "SELECT count(*) FROM job", STORE_NO_VALUES, &jobs, &box->err), &box->err);
    assert_ok(store_number(box->bench, "SELECT count(*) FROM change", STORE_NO_VALUES, &lines, &box->err), &box->err);
    assert_int_equal(jobs, 0);
    assert_int_equal(lines, 0);
}

static void pages_filter_and_order(void **state)
{
    bench_box *box = *state;
    cw_job_list list;
    int64_t counts[CW_STAGE_COUNT];
    for (int i = 0; i < 7; i++) {
        char day[16];
        snprintf(day, sizeof day, "2026-03-%02d", 20 - i);
        cw_job job = {.camera = i % 3 == 0 ? "ELLORY  Reflex" : "Tarnbrook 35", .taken_in_on = day, .agreed_cost = NAN};
        int64_t id;
        assert_ok(cw_job_add(box->bench, &job, &id, &box->err), &box->err);
        if (i == 2 || i == 3)
            assert_ok(cw_job_move(box->bench, id, CW_STAGE_APART, "", &box->err), &box->err);
    }
    cw_job_filter filter = {.most = 4, .order = CW_JOBS_TAKEN_IN};
    assert_ok(cw_job_page(box->bench, &filter, &list, &box->err), &box->err);
    assert_int_equal(list.count, 4);
    assert_int_equal(list.total, 7);
    assert_string_equal(list.items[0].taken_in_on, "2026-03-20");
    assert_string_equal(list.items[3].taken_in_on, "2026-03-17");
    cw_job_list_free(&list);
    filter.first = 4;
    assert_ok(cw_job_page(box->bench, &filter, &list, &box->err), &box->err);
    assert_int_equal(list.count, 3);
    cw_job_list_free(&list);
    filter = (cw_job_filter){.most = 50, .camera = "ellory reflex", .order = CW_JOBS_CAMERA};
    assert_ok(cw_job_page(box->bench, &filter, &list, &box->err), &box->err);
    assert_int_equal(list.total, 3);
    cw_job_list_free(&list);
    filter = (cw_job_filter){.most = 50, .stages = 1u << CW_STAGE_APART | 1u << CW_STAGE_PROVED};
    assert_ok(cw_job_page(box->bench, &filter, &list, &box->err), &box->err);
    assert_int_equal(list.total, 2);
    assert_int_equal(list.items[0].stage, CW_STAGE_APART);
    cw_job_list_free(&list);
    filter.camera = "no such";
    assert_ok(cw_job_page(box->bench, &filter, &list, &box->err), &box->err);
    assert_int_equal(list.count, 0);
    cw_job_list_free(&list);
    filter.most = 0;
    assert_fails(cw_job_page(box->bench, &filter, &list, &box->err), CW_INPUT, &box->err, "1 to 500 rows");
    assert_ok(cw_job_stage_counts(box->bench, counts, &box->err), &box->err);
    assert_int_equal(counts[CW_STAGE_TAKEN_IN], 5);
    assert_int_equal(counts[CW_STAGE_APART], 2);
    cw_camera_list kinds;
    assert_ok(cw_camera_kinds(box->bench, 10, &kinds, &box->err), &box->err);
    assert_int_equal(kinds.count, 2);
    assert_string_equal(kinds.items[0].camera, "Tarnbrook 35");
    assert_int_equal(kinds.items[0].jobs, 4);
    cw_camera_list_free(&kinds);
}

static void names_are_the_same_whatever_their_case(void **state)
{
    (void)state;
    const char *const pairs[][2] = {{" Tarnbrook  35 ", "tarnbrook 35"},
                                    {"ÜBERGANG Ø", "übergang ø"},
                                    {"ЁЖИК ЗЕНИТ", "ёжик зенит"},
                                    {"ΑΓΩΝ", "αγων"},
                                    {"ŁÓDŹ Šž", "łódź šž"}};
    for (size_t i = 0; i < CW_COUNT(pairs); i++) {
        char key[CW_LINE_MOST + 1];
        store_fold(pairs[i][0], key);
        assert_string_equal(key, pairs[i][1]);
    }
}

static void a_deleted_job_comes_back_whole(void **state)
{
    bench_box *box = *state;
    cw_job job;
    cw_reading_list readings;
    int64_t id = box_job(box, "Tarnbrook 35"), test_id, reading_id;
    cw_test test = {.job_id = id, .kind = "reading", .when = CW_WHEN_BEFORE};
    assert_ok(cw_test_add(box->bench, &test, &test_id, &box->err), &box->err);
    cw_reading reading = {.test_id = test_id, .marked_s = 0.004, .exposure_s = 0.00443, .position_mm = NAN};
    assert_ok(cw_reading_add(box->bench, &reading, &reading_id, &box->err), &box->err);
    assert_ok(cw_job_delete(box->bench, id, &box->err), &box->err);
    assert_fails(cw_job_get(box->bench, id, &job, &box->err), CW_NOT_FOUND, &box->err, "there is no job 1");
    assert_fails(cw_job_delete(box->bench, id, &box->err), CW_NOT_FOUND, &box->err, "no job");
    assert_ok(cw_undo(box->bench, 0, NULL, &box->err), &box->err);
    assert_ok(cw_job_get(box->bench, id, &job, &box->err), &box->err);
    assert_string_equal(job.serial, "402187");
    cw_job_free(&job);
    assert_ok(cw_reading_page(box->bench, test_id, &readings, &box->err), &box->err);
    assert_int_equal(readings.count, 1);
    assert_true(readings.items[0].exposure_s == 0.00443);
    cw_reading_list_free(&readings);
}

CHECK_MAIN(BOX_TEST(a_job_comes_back_as_it_was_written), BOX_TEST(what_cannot_be_stored_is_refused_in_words),
           BOX_TEST(pages_filter_and_order), cmocka_unit_test(names_are_the_same_whatever_their_case),
           BOX_TEST(a_deleted_job_comes_back_whole))
