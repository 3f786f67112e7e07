/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench_box.h"

#include "notebook/step.h"
#include "notebook/store.h"

typedef struct {
    int64_t job_id, step_id, tray_id, screws, spring;
} teardown;

/* Four screws in tray 3 and a spring in no tray, from one step. */
static teardown take_apart(bench_box *box)
{
    teardown t = {.job_id = box_job(box, "Tarnbrook 35")};
    cw_step step = {.job_id = t.job_id, .title = "Top cover", .state = CW_STEP_DONE, .duration_s = NAN};
    assert_ok(cw_step_add(box->bench, &step, 0, &t.step_id, &box->err), &box->err);
    assert_ok(cw_tray_numbered(box->bench, t.job_id, 3, &t.tray_id, &box->err), &box->err);
    cw_part part = {.job_id = t.job_id,
                    .step_id = t.step_id,
                    .tray_id = t.tray_id,
                    .kind = "screw",
                    .pieces = 4,
                    .size = "M1.7",
                    .state = CW_PART_OUT};
    assert_ok(cw_part_add(box->bench, &part, &t.screws, &box->err), &box->err);
    part =
        (cw_part){.job_id = t.job_id, .step_id = t.step_id, .kind = "click spring", .pieces = 1, .state = CW_PART_OUT};
    assert_ok(cw_part_add(box->bench, &part, &t.spring, &box->err), &box->err);
    return t;
}

static void a_job_is_not_together_while_a_part_is_out(void **state)
{
    bench_box *box = *state;
    teardown t = take_apart(box);
    cw_missing_list missing;
    cw_part_count count;
    assert_fails(cw_job_move(box->bench, t.job_id, CW_STAGE_TOGETHER, NULL, &box->err), CW_CONFLICT, &box->err,
                 "4 x screw M1.7 are still out, in tray 3, from the step \"Top cover\"");
    assert_fails(cw_job_move(box->bench, t.job_id, CW_STAGE_HANDED_ON, NULL, &box->err), CW_CONFLICT, &box->err,
                 "not handed-on yet");
    assert_ok(cw_job_move(box->bench, t.job_id, CW_STAGE_MENDED, NULL, &box->err), &box->err);
    assert_ok(cw_job_missing(box->bench, t.job_id, CW_STAGE_TOGETHER, &missing, &box->err), &box->err);
    assert_false(missing.allowed);
    assert_true(missing.items[0].refused && missing.items[1].refused);
    assert_string_equal(missing.items[1].text,
                        "1 x click spring is still out, in no tray, from the step \"Top cover\"");
    assert_contains(missing.items[2].text, "checked off");
    cw_missing_list_free(&missing);

    int64_t moved;
    assert_ok(cw_part_move(box->bench, t.screws, 3, CW_PART_BACK, NULL, &moved, &box->err), &box->err);
    assert_true(moved != t.screws);
    assert_ok(cw_part_counts(box->bench, t.job_id, &count, &box->err), &box->err);
    assert_int_equal(count.pieces[CW_PART_OUT], 2);
    assert_int_equal(count.pieces[CW_PART_BACK], 3);
    assert_int_equal(count.total, 5);
    assert_int_equal(count.rows_out, 2);
    assert_false(count.all_accounted);
    assert_fails(cw_job_move(box->bench, t.job_id, CW_STAGE_TOGETHER, NULL, &box->err), CW_CONFLICT, &box->err,
                 "1 x screw M1.7 is still out, in tray 3");
    assert_fails(cw_part_move(box->bench, t.screws, 0, CW_PART_LEFT_OUT, " ", NULL, &box->err), CW_INPUT, &box->err,
                 "with a reason");
    assert_ok(cw_part_move(box->bench, t.screws, 0, CW_PART_LEFT_OUT, "head sheared, hole plugged", NULL, &box->err),
              &box->err);
    assert_ok(cw_part_move(box->bench, t.spring, 1, CW_PART_MADE, "0.3 mm wire", &moved, &box->err), &box->err);
    assert_int_equal(moved, t.spring);
    assert_ok(cw_job_move(box->bench, t.job_id, CW_STAGE_TOGETHER, NULL, &box->err), &box->err);

    /* And nothing comes out of a job that is together. */
    cw_part late = {.job_id = t.job_id, .kind = "washer", .pieces = 1, .state = CW_PART_OUT};
    assert_fails(cw_part_add(box->bench, &late, &moved, &box->err), CW_CONFLICT, &box->err, "set it back to apart");
    assert_fails(cw_part_move(box->bench, t.spring, 0, CW_PART_OUT, NULL, NULL, &box->err), CW_CONFLICT, &box->err,
                 "together already");
    assert_fails(cw_step_back(box->bench, t.step_id, false, true, &box->err), CW_CONFLICT, &box->err,
                 "together already");
    assert_ok(cw_job_move(box->bench, t.job_id, CW_STAGE_APART, NULL, &box->err), &box->err);
    assert_ok(cw_part_add(box->bench, &late, &moved, &box->err), &box->err);
}

/* Undoing in an odd order must not bring a part out of a job that is together. */
static void undo_cannot_break_the_count(void **state)
{
    bench_box *box = *state;
    teardown t = take_apart(box);
    assert_ok(cw_change_begin(box->bench, 0, "all back, noted as the bench's own", &box->err), &box->err);
    assert_ok(cw_step_back(box->bench, t.step_id, true, true, &box->err), &box->err);
    assert_ok(cw_change_commit(box->bench, &box->err), &box->err);
    assert_ok(cw_job_move(box->bench, t.job_id, CW_STAGE_TOGETHER, NULL, &box->err), &box->err);
    int64_t changes;
    assert_ok(store_number(box->bench, "UPDATE change SET job_id = 4711 WHERE words LIKE 'all back%' RETURNING id",
                           STORE_NO_VALUES, &changes, &box->err),
              &box->err);
    assert_fails(cw_undo(box->bench, 4711, NULL, &box->err), CW_CONFLICT, &box->err, "something later rests on it");
    cw_part_count count;
    assert_ok(cw_part_counts(box->bench, t.job_id, &count, &box->err), &box->err);
    assert_true(count.all_accounted);
}

static void pieces_are_never_lost_or_made_by_splitting(void **state)
{
    bench_box *box = *state;
    teardown t = take_apart(box);
    check_random random = {.state = 7};
    for (int i = 0; i < 60; i++) {
        cw_part_list list;
        cw_part_filter filter = {.job_id = t.job_id, .most = 100};
        assert_ok(cw_part_page(box->bench, &filter, &list, &box->err), &box->err);
        const cw_part *part = &list.items[(size_t)(check_uniform(&random) * (double)list.count)];
        int64_t pieces = (int64_t)(check_uniform(&random) * 6);
        cw_status status =
            cw_part_move(box->bench, part->id, pieces, (cw_part_state)(1 + i % 5), "why not", NULL, &box->err);
        assert_int_equal(status, pieces <= part->pieces ? CW_OK : CW_INPUT);
        cw_part_list_free(&list);
        cw_part_count count;
        assert_ok(cw_part_counts(box->bench, t.job_id, &count, &box->err), &box->err);
        assert_int_equal(count.total, 5);
    }
}

static void trays_are_numbered_over_all_open_jobs(void **state)
{
    bench_box *box = *state;
    teardown t = take_apart(box);
    int64_t other = box_job(box, "Ellory Reflex"), id, again;
    cw_tray tray;
    cw_tray_list list;
    const int64_t expected[] = {1, 2, 4};
    for (size_t i = 0; i < CW_COUNT(expected); i++) {
        assert_ok(cw_tray_add(box->bench, &(cw_tray){.job_id = other}, &id, &box->err), &box->err);
        assert_ok(cw_tray_get(box->bench, id, &tray, &box->err), &box->err);
        assert_int_equal(tray.number, expected[i]);
        cw_tray_free(&tray);
    }
    assert_fails(cw_tray_add(box->bench, &(cw_tray){.job_id = other, .number = 2}, &id, &box->err), CW_CONFLICT,
                 &box->err, "a tray 2 already");
    assert_fails(cw_tray_numbered(box->bench, other, 10000, &id, &box->err), CW_INPUT, &box->err, "1 to 9999");
    assert_fails(cw_tray_numbered(box->bench, other, 0, &id, &box->err), CW_INPUT, &box->err, "number 0");
    assert_ok(cw_tray_numbered(box->bench, other, 2, &again, &box->err), &box->err);
    assert_ok(cw_tray_page(box->bench, t.job_id, &list, &box->err), &box->err);
    assert_int_equal(list.count, 1);
    assert_int_equal(list.items[0].part_count, 1);
    assert_int_equal(list.items[0].pieces_out, 4);
    cw_tray_list_free(&list);
    assert_fails(cw_tray_delete(box->bench, t.tray_id, &box->err), CW_CONFLICT, &box->err,
                 "4 pieces still lie in tray 3");
    assert_ok(cw_tray_get(box->bench, t.tray_id, &tray, &box->err), &box->err);
    tray.put_away = true;
    tray.label = "blue lid";
    assert_ok(cw_tray_update(box->bench, &tray, &box->err), &box->err);
    cw_tray_free(&tray);
    assert_fails(cw_part_into_tray(box->bench, t.spring, again, &box->err), CW_NOT_FOUND, &box->err,
                 "this job has no tray");
    assert_ok(cw_part_into_tray(box->bench, t.spring, t.tray_id, &box->err), &box->err);
    assert_fails(cw_job_move(box->bench, t.job_id, CW_STAGE_TOGETHER, NULL, &box->err), CW_CONFLICT, &box->err,
                 "in tray 3 (blue lid)");
}

static void parts_of_other_jobs_are_refused(void **state)
{
    bench_box *box = *state;
    teardown t = take_apart(box);
    int64_t other = box_job(box, "Ellory Reflex"), id;
    cw_part part = {.job_id = other, .kind = "pin", .pieces = 1, .step_id = t.step_id, .state = CW_PART_OUT};
    assert_fails(cw_part_add(box->bench, &part, &id, &box->err), CW_NOT_FOUND, &box->err, "no step with the id");
    part = (cw_part){.job_id = other, .kind = "pin", .pieces = 1, .tray_id = t.tray_id, .state = CW_PART_OUT};
    assert_fails(cw_part_add(box->bench, &part, &id, &box->err), CW_NOT_FOUND, &box->err, "no tray with the id");
    part = (cw_part){.job_id = other, .kind = "pin", .pieces = 0, .state = CW_PART_OUT};
    assert_fails(cw_part_add(box->bench, &part, &id, &box->err), CW_INPUT, &box->err, "0 pieces");
    part = (cw_part){.job_id = other, .kind = "pin", .pieces = 1, .state = CW_PART_BACK};
    assert_fails(cw_part_add(box->bench, &part, &id, &box->err), CW_INPUT, &box->err, "not as \"back\"");
    cw_part_filter filter = {.most = 10};
    cw_part_list list;
    assert_fails(cw_part_page(box->bench, &filter, &list, &box->err), CW_INPUT, &box->err, "none is named");
    filter = (cw_part_filter){.tray_id = t.tray_id, .states = 1u << CW_PART_OUT, .most = 10};
    assert_ok(cw_part_page(box->bench, &filter, &list, &box->err), &box->err);
    assert_int_equal(list.total, 1);
    assert_int_equal(list.items[0].tray_number, 3);
    cw_part_list_free(&list);
    assert_ok(cw_part_delete(box->bench, t.spring, &box->err), &box->err);
    assert_fails(cw_part_delete(box->bench, t.spring, &box->err), CW_NOT_FOUND, &box->err, "no part");
}

static void the_bench_page_counts_what_is_out(void **state)
{
    bench_box *box = *state;
    teardown t = take_apart(box);
    cw_job_list list;
    cw_job_filter filter = {.most = 10};
    assert_ok(cw_job_page(box->bench, &filter, &list, &box->err), &box->err);
    assert_int_equal(list.items[0].id, t.job_id);
    assert_int_equal(list.items[0].pieces_out, 5);
    assert_int_equal(list.items[0].step_count, 1);
    assert_int_equal(list.items[0].stage, CW_STAGE_APART);
    cw_job_list_free(&list);
}

CHECK_MAIN(BOX_TEST(a_job_is_not_together_while_a_part_is_out), BOX_TEST(undo_cannot_break_the_count),
           BOX_TEST(pieces_are_never_lost_or_made_by_splitting), BOX_TEST(trays_are_numbered_over_all_open_jobs),
           BOX_TEST(parts_of_other_jobs_are_refused), BOX_TEST(the_bench_page_counts_what_is_out))
