/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench_box.h"

#include "notebook/step.h"
#include "notebook/store.h"

/* An earlier job of three steps with parts, the middle one with a left-hand thread. */
static int64_t earlier_job(bench_box *box)
{
    static const char *const titles[] = {"Bottom cover", "Rewind shaft", "Top cover"};
    int64_t job_id = box_job(box, "Tarnbrook 35");
    for (size_t i = 0; i < CW_COUNT(titles); i++) {
        int64_t step_id, part_id;
        cw_step step = {.job_id = job_id,
                        .title = titles[i],
                        .torque = "snug",
                        .thread = i == 1 ? CW_THREAD_LEFT : CW_THREAD_NONE,
                        .state = CW_STEP_DONE,
                        .duration_s = 60};
        assert_ok(cw_step_add(box->bench, &step, 0, &step_id, &box->err), &box->err);
        cw_part part = {.job_id = job_id, .step_id = step_id, .kind = "screw", .pieces = 3, .state = CW_PART_OUT};
        assert_ok(cw_part_add(box->bench, &part, &part_id, &box->err), &box->err);
    }
    return job_id;
}

static cw_step_list steps_of(bench_box *box, int64_t job_id)
{
    cw_step_list list;
    assert_ok(cw_step_page(box->bench, job_id, CW_APART_ORDER, 0, 100, &list, &box->err), &box->err);
    return list;
}

static void the_last_notes_lead_the_way(void **state)
{
    bench_box *box = *state;
    int64_t earlier = earlier_job(box), id;
    cw_job job;
    assert_ok(cw_job_plan(box->bench, earlier, "", "90210", "meter dead", &id, &box->err), &box->err);
    assert_ok(cw_job_get(box->bench, id, &job, &box->err), &box->err);
    assert_string_equal(job.camera, "Tarnbrook 35");
    assert_int_equal(job.plan_of, earlier);
    assert_int_equal(job.stage, CW_STAGE_TAKEN_IN);
    cw_job_free(&job);
    cw_step_list list = steps_of(box, id);
    assert_int_equal(list.count, 3);
    assert_string_equal(list.items[1].title, "Rewind shaft");
    assert_int_equal(list.items[1].thread, CW_THREAD_LEFT);
    assert_int_equal(list.items[1].state, CW_STEP_PLANNED);
    assert_true(isnan(list.items[1].duration_s));
    assert_int_equal(list.items[1].part_count, 1);
    assert_int_equal(list.items[1].pieces_out, 0);
    cw_step_list_free(&list);
    cw_part_count count;
    assert_ok(cw_part_counts(box->bench, id, &count, &box->err), &box->err);
    assert_int_equal(count.pieces[CW_PART_EXPECTED], 9);
    assert_int_equal(count.total, 0);
    assert_ok(cw_undo(box->bench, 0, NULL, &box->err), &box->err);
    assert_fails(cw_job_get(box->bench, id, &job, &box->err), CW_NOT_FOUND, &box->err, "no job");
    assert_fails(cw_job_plan(box->bench, 99, "", "", "", &id, &box->err), CW_NOT_FOUND, &box->err, "no job 99");
}

static void what_differed_is_kept_even_when_the_earlier_job_is_gone(void **state)
{
    bench_box *box = *state;
    int64_t earlier = earlier_job(box), id, tray, extra;
    cw_difference_list found;
    assert_ok(cw_job_plan(box->bench, earlier, "Tarnbrook 35 B", "", "", &id, &box->err), &box->err);
    assert_ok(cw_job_differences(box->bench, id, &found, &box->err), &box->err);
    assert_int_equal(found.count, 0);
    cw_difference_list_free(&found);

    cw_step_list list = steps_of(box, id);
    int64_t bottom = list.items[0].id, shaft = list.items[1].id, top = list.items[2].id;
    cw_step_list_free(&list);
    assert_ok(cw_tray_numbered(box->bench, id, 1, &tray, &box->err), &box->err);
    assert_ok(cw_step_tick(box->bench, bottom, tray, &box->err), &box->err);
    assert_fails(cw_step_tick(box->bench, bottom, 0, &box->err), CW_CONFLICT, &box->err, "done already");
    assert_ok(cw_step_skip(box->bench, shaft, &box->err), &box->err);
    assert_ok(cw_step_tick(box->bench, top, 0, &box->err), &box->err);
    cw_step step;
    assert_ok(cw_step_get(box->bench, top, &step, &box->err), &box->err);
    step.torque = "0.2 N m";
    assert_ok(cw_step_update(box->bench, &step, &box->err), &box->err);
    cw_step_free(&step);
    step = (cw_step){.job_id = id, .title = "Frame counter", .state = CW_STEP_DONE, .duration_s = NAN};
    assert_ok(cw_step_add(box->bench, &step, bottom, &extra, &box->err), &box->err);
    cw_part_list parts;
    cw_part_filter filter = {.step_id = bottom, .most = 10};
    assert_ok(cw_part_page(box->bench, &filter, &parts, &box->err), &box->err);
    assert_int_equal(parts.count, 1);
    assert_int_equal(parts.items[0].state, CW_PART_OUT);
    assert_int_equal(parts.items[0].tray_number, 1);
    cw_part part = parts.items[0];
    part.pieces = 4;
    assert_ok(cw_part_update(box->bench, &part, &box->err), &box->err);
    assert_ok(cw_part_move(box->bench, part.id, 1, CW_PART_BACK, "", NULL, &box->err), &box->err);
    cw_part_list_free(&parts);
    assert_ok(cw_job_delete(box->bench, earlier, &box->err), &box->err);

    assert_ok(cw_job_differences(box->bench, id, &found, &box->err), &box->err);
    static const char *const expected[] = {"screw: the number of pieces: 3, was 2", "was not in the plan",
                                           "was not needed here", "the torque: \"0.2 N m\", was \"snug\""};
    assert_int_equal(found.count, CW_COUNT(expected));
    for (size_t i = 0; i < CW_COUNT(expected); i++)
        assert_string_equal(found.items[i].text, expected[i]);
    cw_difference_list_free(&found);
    assert_ok(cw_job_differences(box->bench, id, &found, &box->err), &box->err);
    cw_difference_list_free(&found);
}

CHECK_MAIN(BOX_TEST(the_last_notes_lead_the_way), BOX_TEST(what_differed_is_kept_even_when_the_earlier_job_is_gone))
