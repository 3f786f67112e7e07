/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench_box.h"

#include "notebook/rack.h"
#include "notebook/search.h"
#include "notebook/store.h"

static int64_t hang_up(bench_box *box, const char *name, const char *kind, const char *sizes)
{
    int64_t id = 0;
    cw_tool tool = {
        .name = name, .kind = kind, .made = true, .sizes_json = sizes, .drawing_svg = "<svg/>", .place = "hook 4"};
    assert_ok(cw_tool_add(box->bench, &tool, &id, &box->err), &box->err);
    return id;
}

static void a_tool_is_found_by_its_sizes(void **state)
{
    bench_box *box = *state;
    cw_tool_list list;
    cw_tool back;
    int64_t wide = hang_up(box, "wide wrench", "flat-wrench", "{\"span\":31.2,\"tip_width\":1.5}");
    int64_t narrow = hang_up(box, "narrow wrench", "flat-wrench", "{\"span\":23.4,\"tip_width\":1.2}");
    hang_up(box, "driver", "screwdriver", "");
    cw_size_range span[] = {{"span", 23.4, 25}, {"tip_width", 1, 1.2}};
    assert_ok(cw_tool_page(box->bench, NULL, span, 2, 0, 10, &list, &box->err), &box->err);
    assert_int_equal(list.total, 1);
    assert_int_equal(list.items[0].id, narrow);
    assert_string_equal(list.items[0].drawing_svg, "");
    cw_tool_list_free(&list);
    span[1].most_mm = 1.19;
    assert_ok(cw_tool_page(box->bench, "", span, 2, 0, 10, &list, &box->err), &box->err);
    assert_int_equal(list.total, 0);
    cw_tool_list_free(&list);
    assert_ok(cw_tool_page(box->bench, "flat-wrench", NULL, 0, 0, 10, &list, &box->err), &box->err);
    assert_int_equal(list.total, 2);
    assert_string_equal(list.items[0].name, "narrow wrench");
    cw_tool_list_free(&list);
    assert_ok(cw_tool_get(box->bench, wide, &back, &box->err), &box->err);
    assert_string_equal(back.drawing_svg, "<svg/>");
    back.place = "lent out";
    assert_ok(cw_tool_update(box->bench, &back, &box->err), &box->err);
    cw_tool_free(&back);
    assert_ok(cw_tool_delete(box->bench, narrow, &box->err), &box->err);
    assert_fails(cw_tool_delete(box->bench, narrow, &box->err), CW_NOT_FOUND, &box->err, "no tool");
    cw_hit_list hits;
    assert_ok(cw_search(box->bench, "lent", 0, NULL, 0, 5, &hits, &box->err), &box->err);
    assert_int_equal(hits.count, 1);
    assert_int_equal(hits.items[0].kind, CW_HIT_TOOL);
    assert_int_equal(hits.items[0].id, wide);
    cw_hit_list_free(&hits);
    int64_t id;
    cw_tool bad = {.name = "x", .sizes_json = "{\"span\":\"wide\"}"};
    assert_fails(cw_tool_add(box->bench, &bad, &id, &box->err), CW_INPUT, &box->err, "\"span\" is not a number");
    bad.sizes_json = "[1]";
    assert_fails(cw_tool_add(box->bench, &bad, &id, &box->err), CW_INPUT, &box->err, "not a JSON object");
    span[0].most_mm = NAN;
    assert_fails(cw_tool_page(box->bench, "", span, 1, 0, 10, &list, &box->err), CW_INPUT, &box->err, "no range");
}

static void costs_are_summed(void **state)
{
    bench_box *box = *state;
    int64_t job_id = box_job(box, "Tarnbrook 35"), id;
    cw_cost_list list;
    const cw_cost costs[] = {
        {.job_id = job_id, .on = "2026-11-02", .what = "cleaning", .worked_s = 5400, .amount = NAN},
        {.job_id = job_id, .on = "2026-11-01", .what = "seals", .worked_s = NAN, .amount = 4.75},
        {.job_id = job_id, .what = "lens", .worked_s = 1800, .amount = -2}};
    for (size_t i = 0; i < CW_COUNT(costs); i++)
        assert_ok(cw_cost_add(box->bench, &costs[i], &id, &box->err), &box->err);
    assert_ok(cw_cost_page(box->bench, job_id, &list, &box->err), &box->err);
    assert_int_equal(list.count, 3);
    assert_string_equal(list.items[0].what, "seals");
    assert_true(isnan(list.items[0].worked_s));
    assert_true(list.worked_s == 7200);
    assert_true(list.amount == 2.75);
    cw_cost edit = list.items[0];
    edit.amount = 5;
    assert_ok(cw_cost_update(box->bench, &edit, &box->err), &box->err);
    cw_cost_list_free(&list);
    assert_ok(cw_cost_delete(box->bench, id, &box->err), &box->err);
    assert_ok(cw_cost_page(box->bench, job_id, &list, &box->err), &box->err);
    assert_true(list.amount == 5);
    cw_cost_list_free(&list);
    cw_cost bad = {.job_id = job_id, .what = "x", .worked_s = -1};
    assert_fails(cw_cost_add(box->bench, &bad, &id, &box->err), CW_INPUT, &box->err, "less than nothing");
    bad = (cw_cost){.job_id = 9, .what = "x"};
    assert_fails(cw_cost_add(box->bench, &bad, &id, &box->err), CW_NOT_FOUND, &box->err, "no job 9");
}

static void a_checklist_is_worked_through(void **state)
{
    bench_box *box = *state;
    int64_t job_id = box_job(box, "Tarnbrook 35"), id;
    const cw_checklist_item items[] = {
        {.key = "fungus", .text = "Fungus in the lens?"},
        {.text = "Does every speed fire?", .answer = CW_ANSWER_NO, .remark = "1 s sticks"}};
    cw_checklist checklist = {.job_id = job_id, .kind = "intake", .title = "As it came"};
    cw_checklist_item_list list;
    assert_ok(cw_checklist_add(box->bench, &checklist, items, 2, &id, &box->err), &box->err);
    assert_ok(cw_checklist_items(box->bench, id, &list, &box->err), &box->err);
    assert_int_equal(list.count, 2);
    assert_string_equal(list.items[0].key, "fungus");
    assert_int_equal(list.items[1].answer, CW_ANSWER_NO);
    cw_checklist_item item = list.items[0];
    item.answer = CW_ANSWER_YES;
    item.value = "a trace at the edge";
    assert_ok(cw_checklist_item_update(box->bench, &item, &box->err), &box->err);
    assert_fails(cw_checklist_item_update(box->bench, &item, &box->err), CW_CONFLICT, &box->err, "somebody else");
    cw_checklist_item_list_free(&list);
    cw_checklist back;
    assert_ok(cw_checklist_get(box->bench, id, &back, &box->err), &box->err);
    assert_int_equal(back.item_count, 2);
    assert_int_equal(back.answered, 2);
    cw_checklist_free(&back);
    assert_ok(cw_checklist_delete(box->bench, id, &box->err), &box->err);
    assert_ok(cw_undo(box->bench, job_id, NULL, &box->err), &box->err);
    assert_ok(cw_checklist_items(box->bench, id, &list, &box->err), &box->err);
    assert_string_equal(list.items[0].value, "a trace at the edge");
    cw_checklist_item_list_free(&list);
    const cw_checklist_item empty = {.text = ""};
    assert_fails(cw_checklist_add(box->bench, &checklist, &empty, 1, &id, &box->err), CW_INPUT, &box->err,
                 "question is missing");
    cw_checklist_list lists;
    assert_ok(cw_checklist_page(box->bench, job_id, &lists, &box->err), &box->err);
    assert_int_equal(lists.count, 1);
    cw_checklist_list_free(&lists);
}

static void a_test_film_is_noted_frame_by_frame(void **state)
{
    bench_box *box = *state;
    int64_t job_id = box_job(box, "Tarnbrook 35"), id;
    cw_film_frame_list list;
    cw_film_frame frame = {.job_id = job_id,
                           .frame = 7,
                           .film = "ISO 100",
                           .marked_s = 0.008,
                           .f_number = 5.6,
                           .distance_mm = INFINITY,
                           .scene = "church tower",
                           .expected = "sharp"};
    assert_ok(cw_film_frame_add(box->bench, &frame, &id, &box->err), &box->err);
    frame.frame = 2;
    frame.distance_mm = NAN;
    assert_ok(cw_film_frame_add(box->bench, &frame, &id, &box->err), &box->err);
    assert_ok(cw_film_frame_page(box->bench, job_id, &list, &box->err), &box->err);
    assert_int_equal(list.items[0].frame, 2);
    assert_true(isnan(list.items[0].distance_mm));
    assert_true(isinf(list.items[1].distance_mm));
    frame = list.items[1];
    frame.seen = "soft to the right";
    frame.right = CW_ANSWER_NO;
    frame.distance_mm = 2500;
    assert_ok(cw_film_frame_update(box->bench, &frame, &box->err), &box->err);
    cw_film_frame_list_free(&list);
    assert_ok(cw_film_frame_delete(box->bench, id, &box->err), &box->err);
    assert_ok(cw_film_frame_page(box->bench, job_id, &list, &box->err), &box->err);
    assert_int_equal(list.count, 1);
    assert_true(list.items[0].distance_mm == 2500);
    assert_int_equal(list.items[0].right, CW_ANSWER_NO);
    cw_film_frame_list_free(&list);
    frame = (cw_film_frame){.id = frame.id, .frame = 100, .marked_s = 0.01, .f_number = 4, .distance_mm = NAN};
    assert_fails(cw_film_frame_update(box->bench, &frame, &box->err), CW_INPUT, &box->err, "no frame 100");
    frame.frame = 3;
    frame.f_number = 0;
    assert_fails(cw_film_frame_update(box->bench, &frame, &box->err), CW_INPUT, &box->err, "more than 0");
}

static void reference_levels_belong_to_the_bench(void **state)
{
    bench_box *box = *state;
    int64_t id;
    cw_level_list list;
    cw_level level = {.name = "light box, first notch", .value = 412.5, .u_value = NAN, .unit = "cd/m2"};
    assert_ok(cw_level_add(box->bench, &level, &id, &box->err), &box->err);
    assert_ok(cw_level_page(box->bench, &list, &box->err), &box->err);
    assert_int_equal(list.count, 1);
    assert_true(list.items[0].value == 412.5 && isnan(list.items[0].u_value));
    level = list.items[0];
    level.u_value = 20;
    assert_ok(cw_level_update(box->bench, &level, &box->err), &box->err);
    level.value = 0;
    assert_fails(cw_level_add(box->bench, &level, &id, &box->err), CW_INPUT, &box->err, "more than 0");
    level.value = NAN;
    assert_fails(cw_level_update(box->bench, &level, &box->err), CW_INPUT, &box->err, "more than 0");
    cw_level_list_free(&list);
    assert_ok(cw_level_delete(box->bench, id, &box->err), &box->err);
    assert_fails(cw_level_delete(box->bench, id, &box->err), CW_NOT_FOUND, &box->err, "no level");
}

CHECK_MAIN(BOX_TEST(a_tool_is_found_by_its_sizes), BOX_TEST(costs_are_summed), BOX_TEST(a_checklist_is_worked_through),
           BOX_TEST(a_test_film_is_noted_frame_by_frame), BOX_TEST(reference_levels_belong_to_the_bench))
