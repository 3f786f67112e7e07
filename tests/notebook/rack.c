/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench_box.h"

#include "notebook/rack.h"
#include "notebook/search.h"
#include "notebook/step.h"
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

/* The question the rack is there for, asked of what is stored; sizes typed with a hyphen count too. */
static void the_rack_answers_for_a_ring(void **state)
{
    bench_box *box = *state;
    cw_tool_answer answer;
    char words[CW_ERROR_TEXT];
    cw_rack_need need = {CW_RACK_TWO_BLADE, 23.4e-3, 1.2e-3, NAN, 4e-3, NAN};
    assert_ok(cw_tool_find(box->bench, &need, &answer, &box->err), &box->err);
    cw_tool_answer_words(&answer, words, sizeof words);
    assert_string_equal(words, "No: the rack is empty");
    cw_tool_answer_free(&answer);

    hang_up(box, "driver", "screwdriver", "{\"tip\":1.2}");
    hang_up(box, "pins", "pin-driver", "{\"span\":23.4,\"tip\":1.1}");
    hang_up(box, "thick", "Two-blade wrench", "{\"span\":23.4,\"tip\":1.5,\"tip-width\":2.4,\"reach\":6}");
    int64_t right = hang_up(box, "gauge plate", "flat-wrench", "{\"span\":23.35,\"tip\":1.14,\"reach\":7}");
    hang_up(box, "short", "flat-wrench", "{\"span\":23.4,\"tip\":1.14,\"reach\":2.5}");
    assert_ok(cw_tool_find(box->bench, &need, &answer, &box->err), &box->err);
    assert_int_equal(answer.count, 3);
    assert_int_equal(answer.other_kinds, 1);
    assert_int_equal(answer.unsized, 1);
    assert_int_equal(answer.items[0].tool->id, right);
    assert_int_equal(answer.items[0].match.state, CW_RACK_FITS);
    assert_string_equal(answer.items[1].tool->name, "thick");
    assert_contains(answer.items[1].match.words, "file both tips from 1.5 to 1.15 mm");
    assert_int_equal(answer.items[2].match.state, CW_RACK_CANNOT);
    cw_tool_answer_words(&answer, words, sizeof words);
    assert_string_equal(words, "Yes: \"gauge plate\" (hook 4), fits, 0.06 mm of play");
    cw_tool_answer_free(&answer);

    need.span_m = NAN;
    assert_fails(cw_tool_find(box->bench, &need, &answer, &box->err), CW_RANGE, &box->err, "the size looked for");
}

static void a_part_is_to_be_made_by_a_result(void **state)
{
    bench_box *box = *state;
    int64_t job = box_job(box, "Tarnbrook 35"), other = box_job(box, "Ellory Reflex"), part_id, saved_id = 0;
    cw_part part = {.job_id = job, .kind = "pin", .pieces = 1, .notes = "sheared", .state = CW_PART_OUT};
    assert_ok(cw_part_add(box->bench, &part, &part_id, &box->err), &box->err);
    cw_saved_sheet sheet = {
        .worksheet = "fit", .program_version = "1", .result_json = "{\"inputs\":{}}", .job_id = other};
    assert_fails(cw_part_to_make(box->bench, part_id, &sheet, "turn 2.5 m6", &saved_id, &box->err), CW_INPUT, &box->err,
                 "not to job");
    sheet.job_id = 0;
    assert_ok(cw_part_to_make(box->bench, part_id, &sheet, "turn 2.5 m6", &saved_id, &box->err), &box->err);
    assert_ok(cw_part_get(box->bench, part_id, &part, &box->err), &box->err);
    assert_int_equal(part.condition, CW_CONDITION_MAKE);
    assert_contains(part.notes, "sheared\nTo make (worksheet result");
    assert_contains(part.notes, "turn 2.5 m6");
    cw_part_free(&part);
    cw_saved_sheet kept;
    assert_ok(cw_saved_sheet_get(box->bench, saved_id, &kept, &box->err), &box->err);
    assert_int_equal(kept.job_id, job);
    cw_saved_sheet_free(&kept);
    char undone[CW_LINE_MOST + 1]; /* one undo takes both back */
    assert_ok(cw_undo(box->bench, job, undone, &box->err), &box->err);
    assert_fails(cw_saved_sheet_get(box->bench, saved_id, &kept, &box->err), CW_NOT_FOUND, &box->err, "no");
    assert_ok(cw_part_get(box->bench, part_id, &part, &box->err), &box->err);
    assert_string_equal(part.notes, "sheared");
    cw_part_free(&part);
    /* a note without room for more is the person's to shorten, not a failure of the program */
    char full[CW_NOTE_MOST + 1];
    memset(full, 'x', CW_NOTE_MOST);
    full[CW_NOTE_MOST] = '\0';
    cw_part crowded = {.job_id = job, .kind = "pin", .pieces = 1, .notes = full, .state = CW_PART_OUT};
    assert_ok(cw_part_add(box->bench, &crowded, &part_id, &box->err), &box->err);
    assert_fails(cw_part_to_make(box->bench, part_id, &sheet, "turn 2.5 m6", &saved_id, &box->err), CW_INPUT, &box->err,
                 "20000 is the most");
    cw_saved_sheet_list none;
    assert_ok(cw_saved_sheet_page(box->bench, job, 0, 10, &none, &box->err), &box->err);
    assert_int_equal(none.count, 0);
    cw_saved_sheet_list_free(&none);
}

CHECK_MAIN(BOX_TEST(a_tool_is_found_by_its_sizes), BOX_TEST(the_rack_answers_for_a_ring),
           BOX_TEST(a_part_is_to_be_made_by_a_result), BOX_TEST(costs_are_summed),
           BOX_TEST(a_checklist_is_worked_through), BOX_TEST(a_test_film_is_noted_frame_by_frame),
           BOX_TEST(reference_levels_belong_to_the_bench))
