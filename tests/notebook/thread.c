/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The thread of a job: what a kind of camera owes, what settles it, and the one next thing at each stage. */
#include "bench_box.h"

#include "notebook/film.h"
#include "notebook/guide.h"
#include "notebook/step.h"
#include "notebook/test.h"
#include "notebook/thread.h"
#include "notebook/thread_json.h"
#include "shutter/plan.h"
#include "shutter/reading.h"

static int64_t camera(bench_box *box, cw_job job)
{
    int64_t id = 0;
    job.agreed_cost = NAN;
    assert_ok(cw_job_add(box->bench, &job, &id, &box->err), &box->err);
    return id;
}

static const cw_job leaf_rangefinder = {.camera = "Tarnbrook 35",
                                        .shutter = CW_JOB_SHUTTER_LEAF,
                                        .finder = CW_FINDER_RANGEFINDER,
                                        .meter = CW_METER_NONE,
                                        .flash = CW_FITTED_YES};
static const cw_job cloth_reflex = {.camera = "Ellory Reflex",
                                    .shutter = CW_JOB_SHUTTER_FOCAL_PLANE,
                                    .finder = CW_FINDER_REFLEX,
                                    .meter = CW_METER_BATTERY,
                                    .flash = CW_FITTED_NO};

static void owes(bench_box *box, int64_t job_id, const char *expected)
{
    char list[200] = "";
    cw_proving p;
    assert_ok(cw_job_proving(box->bench, job_id, &p, &box->err), &box->err);
    for (int k = 0; k < CW_PROOF_COUNT; k++) {
        assert_string_not_equal(p.items[k].why, "");
        if (p.items[k].owed)
            snprintf(list + strlen(list), sizeof list - strlen(list), "%s%s", list[0] == '\0' ? "" : " ",
                     cw_proof_name((cw_proof_kind)k));
    }
    assert_string_equal(list, expected);
    cw_proving_free(&p);
}

static void each_kind_of_camera_owes_its_tests(void **state)
{
    bench_box *box = *state;
    owes(box, camera(box, leaf_rangefinder), "shutter flash focus finder leaks film");
    owes(box, camera(box, cloth_reflex), "shutter evenness focus finder meter leaks film");
    owes(box, camera(box, (cw_job){.camera = "Box", .finder = CW_FINDER_VIEWFINDER}), "shutter focus leaks film");
    cw_proving p;
    assert_fails(cw_job_proving(box->bench, 99, &p, &box->err), CW_NOT_FOUND, &box->err, "no job 99");
    assert_ok(cw_job_proving(box->bench, 3, &p, &box->err), &box->err);
    assert_false(p.kind_known);
    cw_proving_free(&p);
    assert_ok(cw_job_proving(box->bench, 1, &p, &box->err), &box->err);
    assert_true(p.kind_known);
    assert_int_equal(p.owed, 6);
    assert_int_equal(p.settled, 0);
    assert_int_equal(p.before_wanted, 5); /* all but the film */
    cw_proving_free(&p);
}

/* Readings at a marked 1/60 and 1/125, evaluated and kept as the faces do it. The usual tolerance lets 1/125 be off by
 * up to half a stop: 1/121 s is inside, 1/60 s is a whole stop slow. */
static void keep_test(bench_box *box, int64_t job_id, const char *kind, cw_when when, double exposure_125_s)
{
    cw_shutter_plan plan = cw_plan_default();
    cw_test_setup setup = cw_plan_setup(&plan);
    cw_shutter_test *test;
    int64_t id;
    const cw_shot shots[] = {cw_reading_shot(1 / 60.0, 1 / 61.0, 1e-6),
                             cw_reading_shot(1 / 125.0, exposure_125_s, 1e-6)};
    assert_ok(cw_shutter_evaluate(&setup, shots, 2, &test, &box->err), &box->err);
    json_t *object = cw_shutter_test_json(test, NULL);
    char *text = json_dumps(object, JSON_COMPACT);
    assert_non_null(text);
    const cw_test kept = {.job_id = job_id, .kind = kind, .when = when, .result_json = text};
    assert_ok(cw_test_add(box->bench, &kept, &id, &box->err), &box->err);
    free(text);
    json_decref(object);
    cw_shutter_test_free(test);
}

static void keep_sheet(bench_box *box, int64_t job_id, const char *worksheet, cw_moment moment, const char *outputs)
{
    char result[400];
    int64_t id;
    snprintf(result, sizeof result, "{\"outputs\":{%s}}", outputs);
    const cw_saved_sheet kept = {.job_id = job_id, .worksheet = worksheet, .moment = moment, .result_json = result};
    assert_ok(cw_saved_sheet_add(box->bench, &kept, &id, &box->err), &box->err);
}

static void proof_is(bench_box *box, int64_t job_id, cw_proof_kind kind, bool after, cw_proof_verdict verdict,
                     const char *words)
{
    cw_proving p;
    assert_ok(cw_job_proving(box->bench, job_id, &p, &box->err), &box->err);
    const cw_evidence *evidence = after ? &p.items[kind].after : &p.items[kind].before;
    assert_string_equal(cw_proof_verdict_name(evidence->verdict), cw_proof_verdict_name(verdict));
    if (strstr(evidence->text, words) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", evidence->text, words);
    cw_proving_free(&p);
}

static void tests_worksheets_and_lists_are_the_evidence(void **state)
{
    bench_box *box = *state;
    int64_t job_id = camera(box, cloth_reflex), list_id;
    cw_checklist_item_list items;
    proof_is(box, job_id, CW_PROOF_SHUTTER, false, CW_PROVED_NOT, "");
    keep_test(box, job_id, "sound", CW_WHEN_BEFORE, 1 / 121.0);
    proof_is(box, job_id, CW_PROOF_SHUTTER, false, CW_PROVED_INSIDE, "by ear, an estimate");
    keep_test(box, job_id, "shutter", CW_WHEN_BEFORE, 1 / 60.0); /* light is better than sound */
    proof_is(box, job_id, CW_PROOF_SHUTTER, false, CW_PROVED_OUTSIDE, "1 of 2 speeds inside; outside: 1/125");
    proof_is(box, job_id, CW_PROOF_SHUTTER, true, CW_PROVED_NOT, "");
    keep_test(box, job_id, "shutter", CW_WHEN_AFTER, 1 / 121.0);
    proof_is(box, job_id, CW_PROOF_SHUTTER, true, CW_PROVED_INSIDE, "2 of 2 speeds inside");
    proof_is(box, job_id, CW_PROOF_EVENNESS, true, CW_PROVED_NOT, ""); /* one sensor tells nothing of it */

    /* what only works something out proves nothing; what says how it will be once set proves nothing either */
    keep_sheet(box, job_id, "meter-check", CW_MOMENT_ANY, "\"right\":{\"verdict\":\"inside\",\"text\":\"x\"}");
    proof_is(box, job_id, CW_PROOF_METER, true, CW_PROVED_NOT, "");
    keep_sheet(box, job_id, "meter-check", CW_MOMENT_AFTER, "\"right\":{\"verdict\":\"outside\",\"text\":\"-0.7 EV\"}");
    proof_is(box, job_id, CW_PROOF_METER, true, CW_PROVED_OUTSIDE, "-0.7 EV");
    keep_sheet(box, job_id, "meter-check", CW_MOMENT_AFTER, "\"right\":{\"verdict\":\"inside\",\"text\":\"-0.1 EV\"}");
    proof_is(box, job_id, CW_PROOF_METER, true, CW_PROVED_INSIDE, "-0.1 EV");
    keep_sheet(
        box, job_id, "rangefinder", CW_MOMENT_AFTER,
        "\"now\":{\"verdict\":\"too-close\",\"text\":\"now\"},\"after\":{\"verdict\":\"inside\",\"text\":\"later\"}");
    proof_is(box, job_id, CW_PROOF_FINDER, true, CW_PROVED_TOO_CLOSE, "now");
    /* of two worksheets on one thing the worse one counts */
    keep_sheet(box, job_id, "mount-register", CW_MOMENT_AFTER,
               "\"verdict\":{\"verdict\":\"outside\",\"text\":\"low\"}");
    keep_sheet(box, job_id, "focus-error", CW_MOMENT_AFTER, "\"verdict\":{\"verdict\":\"inside\",\"text\":\"fine\"}");
    proof_is(box, job_id, CW_PROOF_FOCUS, true, CW_PROVED_OUTSIDE, "low");

    assert_ok(cw_guide_start(box->bench, job_id, "light-leaks", CW_MOMENT_AFTER, &list_id, &box->err), &box->err);
    proof_is(box, job_id, CW_PROOF_LEAKS, true, CW_PROVED_BEGUN, "0 of ");
    assert_ok(cw_checklist_items(box->bench, list_id, &items, &box->err), &box->err);
    for (size_t i = 0; i < items.count; i++) {
        cw_checklist_item item = items.items[i];
        assert_null(strstr(item.key, "leaf.")); /* it has curtains */
        item.answer = i == 2 ? CW_ANSWER_NO : CW_ANSWER_YES;
        item.remark = i == 2 ? "a line of light at the hinge" : "";
        item.answered_by = "laptop";
        assert_ok(cw_checklist_item_update(box->bench, &item, &box->err), &box->err);
    }
    proof_is(box, job_id, CW_PROOF_LEAKS, true, CW_PROVED_OUTSIDE, "found: a line of light at the hinge");
    cw_checklist_item again;
    assert_ok(cw_checklist_item_get(box->bench, items.items[2].id, &again, &box->err), &box->err);
    assert_string_equal(again.answered_by, "laptop");
    assert_int_equal(strlen(again.answered_at), 20);
    again.answer = CW_ANSWER_YES;
    assert_ok(cw_checklist_item_update(box->bench, &again, &box->err), &box->err);
    cw_checklist_item_free(&again);
    cw_checklist_item_list_free(&items);
    proof_is(box, job_id, CW_PROOF_LEAKS, true, CW_PROVED_INSIDE, "nothing found");
    assert_ok(cw_undo(box->bench, job_id, NULL, &box->err), &box->err);
    proof_is(box, job_id, CW_PROOF_LEAKS, true, CW_PROVED_OUTSIDE, "hinge");
}

static void a_damaged_result_is_a_test_without_a_verdict(void **state)
{
    bench_box *box = *state;
    int64_t job_id = camera(box, cloth_reflex), id;
    const cw_test damaged = {.job_id = job_id, .kind = "shutter", .when = CW_WHEN_AFTER, .result_json = "{\"x\":1}"};
    assert_ok(cw_test_add(box->bench, &damaged, &id, &box->err), &box->err);
    proof_is(box, job_id, CW_PROOF_SHUTTER, true, CW_PROVED_UNKNOWN, "cannot be read");
    keep_sheet(box, job_id, "meter-check", CW_MOMENT_AFTER, "");
    proof_is(box, job_id, CW_PROOF_METER, true, CW_PROVED_UNKNOWN, "cannot be read");
}

static void a_folding_camera_owes_both_lists(void **state)
{
    bench_box *box = *state;
    cw_job folder = leaf_rangefinder;
    folder.bellows = CW_FITTED_YES;
    int64_t job_id = camera(box, folder), list_id;
    const char *const kinds[] = {"bellows", "light-leaks"};
    for (size_t k = 0; k < 2; k++) {
        cw_checklist_item_list items;
        assert_ok(cw_guide_start(box->bench, job_id, kinds[k], CW_MOMENT_BEFORE, &list_id, &box->err), &box->err);
        assert_ok(cw_checklist_items(box->bench, list_id, &items, &box->err), &box->err);
        for (size_t i = 0; i < items.count; i++) {
            items.items[i].answer = CW_ANSWER_YES;
            assert_ok(cw_checklist_item_update(box->bench, &items.items[i], &box->err), &box->err);
        }
        cw_checklist_item_list_free(&items);
        proof_is(box, job_id, CW_PROOF_LEAKS, false, k == 0 ? CW_PROVED_BEGUN : CW_PROVED_INSIDE,
                 k == 0 ? "hunt is still owed" : "nothing found");
    }
}

/* The same with all of the proving sheet read as with no more of it than the action needs. */
static void next_is(bench_box *box, int64_t job_id, cw_next_kind kind, const char *label)
{
    cw_next next, from_all;
    cw_proving p;
    assert_ok(cw_job_proving(box->bench, job_id, &p, &box->err), &box->err);
    assert_ok(cw_job_next(box->bench, job_id, &p, &from_all, &box->err), &box->err);
    cw_proving_free(&p);
    assert_ok(cw_job_next(box->bench, job_id, NULL, &next, &box->err), &box->err);
    assert_string_equal(next.action.label, label);
    assert_int_equal(next.action.kind, kind);
    assert_string_not_equal(next.action.why, "");
    assert_int_equal(from_all.action.kind, kind);
    assert_string_equal(from_all.action.label, label);
    assert_string_equal(from_all.action.why, next.action.why);
    assert_int_equal(from_all.action.checklist_id, next.action.checklist_id);
    assert_int_equal(from_all.other.kind, next.other.kind);
}

static void part_out(bench_box *box, int64_t job_id, int64_t *part_id)
{
    cw_part part = {.job_id = job_id, .kind = "screw", .pieces = 2, .state = CW_PART_OUT};
    assert_ok(cw_part_add(box->bench, &part, part_id, &box->err), &box->err);
}

static void leave_the_rest_out(bench_box *box, int64_t job_id)
{
    cw_proving p;
    assert_ok(cw_job_proving(box->bench, job_id, &p, &box->err), &box->err);
    for (int k = 0; k < CW_PROOF_COUNT; k++)
        if (p.items[k].owed && !p.items[k].settled)
            assert_ok(cw_left_out_set(box->bench, job_id, (cw_proof_kind)k, "the owner does it", &box->err), &box->err);
    cw_proving_free(&p);
}

/* Taken in to handed on; a person who always presses the main button never meets a dead end. */
static void the_thread_leads_from_taken_in_to_handed_on(void **state)
{
    bench_box *box = *state;
    int64_t job_id = camera(box, leaf_rangefinder), step_id, part_id, list_id;
    next_is(box, job_id, CW_NEXT_TEST_BEFORE, "Measure the shutter as it is");
    keep_test(box, job_id, "shutter", CW_WHEN_BEFORE, 1 / 60.0);
    next_is(box, job_id, CW_NEXT_TEST_BEFORE, "Check the flash contact as it is");
    cw_step step = {.job_id = job_id, .title = "Top cover", .state = CW_STEP_DONE, .duration_s = NAN};
    assert_ok(cw_step_add(box->bench, &step, 0, &step_id, &box->err), &box->err);
    next_is(box, job_id, CW_NEXT_STEP, "Note the next step"); /* the first step made it "apart" */
    part_out(box, job_id, &part_id);
    assert_ok(cw_job_move(box->bench, job_id, CW_STAGE_MENDED, NULL, &box->err), &box->err);
    next_is(box, job_id, CW_NEXT_TOGETHER, "Put it together");
    assert_fails(cw_job_move(box->bench, job_id, CW_STAGE_TOGETHER, NULL, &box->err), CW_CONFLICT, &box->err,
                 "still out");
    assert_ok(cw_part_move(box->bench, part_id, 2, CW_PART_BACK, "", NULL, &box->err), &box->err);
    next_is(box, job_id, CW_NEXT_MOVE, "It is together");
    assert_ok(cw_job_move(box->bench, job_id, CW_STAGE_TOGETHER, NULL, &box->err), &box->err);
    next_is(box, job_id, CW_NEXT_LIST, "Look it over by hand and eye");
    assert_ok(cw_guide_start(box->bench, job_id, "after-assembly", CW_MOMENT_AFTER, &list_id, &box->err), &box->err);
    next_is(box, job_id, CW_NEXT_LIST, "Go on with the list");
    keep_test(box, job_id, "shutter", CW_WHEN_AFTER, 1 / 121.0); /* past the list */
    next_is(box, job_id, CW_NEXT_TEST_AFTER, "Check the flash contact now");
    assert_fails(cw_job_move(box->bench, job_id, CW_STAGE_PROVED, NULL, &box->err), CW_CONFLICT, &box->err,
                 "Flash contact: not done. Do it, or leave it out and say why; and more");
    leave_the_rest_out(box, job_id);
    next_is(box, job_id, CW_NEXT_MOVE, "It is proved");
    assert_ok(cw_job_move(box->bench, job_id, CW_STAGE_PROVED, NULL, &box->err), &box->err);
    next_is(box, job_id, CW_NEXT_REPORT, "Look through the report");
    assert_ok(cw_job_move(box->bench, job_id, CW_STAGE_HANDED_ON, NULL, &box->err), &box->err);
    next_is(box, job_id, CW_NEXT_SISTER, "Take in the next one of its kind");
}

static void nothing_is_left_out_without_a_reason(void **state)
{
    bench_box *box = *state;
    int64_t job_id = camera(box, leaf_rangefinder);
    cw_proving p;
    assert_fails(cw_left_out_set(box->bench, job_id, CW_PROOF_FILM, "  \t", &box->err), CW_INPUT, &box->err, "say why");
    assert_fails(cw_left_out_set(box->bench, 99, CW_PROOF_FILM, "x", &box->err), CW_NOT_FOUND, &box->err, "no job 99");
    assert_fails(cw_left_out_clear(box->bench, job_id, CW_PROOF_FILM, &box->err), CW_NOT_FOUND, &box->err,
                 "was not left out");
    assert_ok(cw_left_out_set(box->bench, job_id, CW_PROOF_FILM, "no film in the house", &box->err), &box->err);
    assert_ok(cw_left_out_set(box->bench, job_id, CW_PROOF_FILM, "the owner shoots one", &box->err), &box->err);
    assert_ok(cw_job_proving(box->bench, job_id, &p, &box->err), &box->err);
    assert_string_equal(p.items[CW_PROOF_FILM].left_out, "the owner shoots one");
    assert_true(p.items[CW_PROOF_FILM].settled);
    assert_int_equal(p.settled, 1);
    cw_proving_free(&p);
    assert_ok(cw_left_out_clear(box->bench, job_id, CW_PROOF_FILM, &box->err), &box->err);
    assert_ok(cw_undo(box->bench, job_id, NULL, &box->err), &box->err);
    assert_ok(cw_job_proving(box->bench, job_id, &p, &box->err), &box->err);
    assert_string_equal(p.items[CW_PROOF_FILM].left_out, "the owner shoots one");
    cw_proving_free(&p);
    cw_proof_kind kind;
    assert_fails(cw_proof_parse("everything", &kind, &box->err), CW_INPUT, &box->err, "shutter, evenness, flash");
    assert_ok(cw_job_delete(box->bench, job_id, &box->err), &box->err);
}

/* A camera that goes back as it is may be handed on; the paper says what was not proved. */
static void handing_on_unproved_is_allowed_and_said(void **state)
{
    bench_box *box = *state;
    int64_t job_id = camera(box, leaf_rangefinder);
    cw_missing_list missing;
    assert_ok(cw_job_missing(box->bench, job_id, CW_STAGE_HANDED_ON, &missing, &box->err), &box->err);
    assert_true(missing.allowed);
    assert_true(missing.count >= 6);
    assert_non_null(strstr(missing.items[0].text, "Shutter speeds: not done"));
    cw_missing_list_free(&missing);
    assert_ok(cw_job_move(box->bench, job_id, CW_STAGE_HANDED_ON, NULL, &box->err), &box->err);
}

/* ---- lists ---- */

static void the_lists_are_whole(void **state)
{
    (void)state;
    size_t count;
    const cw_guide *guides = cw_guides(&count);
    assert_true(count >= 5);
    for (size_t g = 0; g < count; g++) {
        assert_ptr_equal(cw_guide_find(guides[g].kind), &guides[g]);
        assert_string_not_equal(guides[g].source, "");
        assert_true(guides[g].count >= 8);
        for (size_t i = 0; i < guides[g].count; i++) /* a key is there once */
            assert_ptr_equal(cw_guide_item_find(guides[g].kind, guides[g].items[i].key), &guides[g].items[i]);
    }
    assert_null(cw_guide_find("nonsense"));
}

static void own_lists_are_written_started_and_kept(void **state)
{
    bench_box *box = *state;
    int64_t job_id = camera(box, leaf_rangefinder), id, list_id;
    cw_own_list own = {.title = "My last look",
                       .items = "Strap lugs\r\n\n  Ever-ready case fits  \nInvoice in the box"};
    cw_checklist_item_list items;
    cw_checklist list;
    cw_own_list_list all;
    assert_ok(cw_own_list_add(box->bench, &own, &id, &box->err), &box->err);
    assert_ok(cw_own_list_start(box->bench, job_id, id, &list_id, &box->err), &box->err);
    assert_ok(cw_checklist_items(box->bench, list_id, &items, &box->err), &box->err);
    assert_int_equal(items.count, 3);
    assert_string_equal(items.items[1].text, "Ever-ready case fits");
    cw_checklist_item_list_free(&items);
    assert_ok(cw_checklist_get(box->bench, list_id, &list, &box->err), &box->err);
    assert_string_equal(list.title, "My last look");
    cw_checklist_free(&list);
    assert_ok(cw_own_list_page(box->bench, &all, &box->err), &box->err);
    assert_int_equal(all.count, 1);
    all.items[0].items = "Only this";
    assert_ok(cw_own_list_update(box->bench, &all.items[0], &box->err), &box->err);
    cw_own_list_list_free(&all);
    assert_ok(cw_own_list_delete(box->bench, id, &box->err), &box->err);
    assert_fails(cw_own_list_delete(box->bench, id, &box->err), CW_NOT_FOUND, &box->err, "there is no list");
    assert_ok(cw_undo(box->bench, 0, NULL, &box->err), &box->err);
    assert_ok(cw_own_list_get(box->bench, id, &own, &box->err), &box->err);
    assert_string_equal(own.items, "Only this");
    cw_own_list_free(&own);
    own = (cw_own_list){.title = "Nothing", .items = " \n\t\n"};
    assert_fails(cw_own_list_add(box->bench, &own, &id, &box->err), CW_INPUT, &box->err, "0 items");
    assert_fails(cw_guide_start(box->bench, job_id, "own", CW_MOMENT_ANY, &id, &box->err), CW_INPUT, &box->err,
                 "as-it-came, light-leaks, bellows");
}

/* ---- film ---- */

static void the_film_is_proposed_planned_and_speaks(void **state)
{
    bench_box *box = *state;
    int64_t job_id = camera(box, cloth_reflex), step_id;
    const char *const titles[] = {"Window of the frame counter", "New foam for the hinge", "LENS block off"};
    for (size_t i = 0; i < CW_COUNT(titles); i++) {
        cw_step step = {.job_id = job_id, .title = titles[i], .state = CW_STEP_DONE, .duration_s = NAN};
        assert_ok(cw_step_add(box->bench, &step, 0, &step_id, &box->err), &box->err);
    }
    cw_mended mended;
    assert_ok(cw_film_propose(box->bench, job_id, &mended, &box->err), &box->err);
    assert_int_equal(mended.mended, CW_MENDED_SEALS | CW_MENDED_OPTICS | CW_MENDED_FOCUS | CW_MENDED_TRANSPORT);
    assert_non_null(strstr(mended.why[4], "New foam for the hinge"));
    assert_int_equal(mended.mark_count, 0);
    cw_mended_free(&mended);
    keep_test(box, job_id, "shutter", CW_WHEN_BEFORE, 1 / 60.0);
    assert_ok(cw_film_propose(box->bench, job_id, &mended, &box->err), &box->err);
    assert_int_equal(mended.mark_count, 2);
    assert_near(mended.marks_s[0], 1 / 60.0, 1e-9);
    assert_true((mended.mended & CW_MENDED_SPEEDS) != 0);
    const cw_plan_need need = {.mended = CW_MENDED_FOCUS | CW_MENDED_SPEEDS | CW_MENDED_SEALS,
                               .frames = 24,
                               .film_speed = 100,
                               .light_ev = 15,
                               .f_number_wide = 2,
                               .f_number_small = 16,
                               .focal_m = 0.05,
                               .nearest_m = 0.9,
                               .blur_m = 30e-6,
                               .marks_s = mended.marks_s,
                               .mark_count = mended.mark_count};
    cw_plan plan;
    assert_ok(cw_film_plan(&need, &plan, &box->err), &box->err);
    assert_ok(cw_film_keep_plan(box->bench, job_id, "roll 1", &plan, &box->err), &box->err);
    assert_ok(cw_film_keep_plan(box->bench, job_id, "roll 1", &plan, &box->err), &box->err);
    cw_mended_free(&mended);
    cw_film_frame_list frames;
    assert_ok(cw_film_frame_page(box->bench, job_id, &frames, &box->err), &box->err);
    assert_int_equal(frames.count, 2 * plan.frame_count);
    assert_int_equal(frames.items[plan.frame_count].frame, (int64_t)plan.frame_count + 1);
    assert_string_equal(frames.items[0].proves, "focus");
    assert_true(isinf(frames.items[0].distance_mm));
    proof_is(box, job_id, CW_PROOF_FILM, true, CW_PROVED_BEGUN, "none wrong");
    cw_film_frame frame = frames.items[0];
    frame.right = CW_ANSWER_NO;
    frame.seen = "sharp behind the tree";
    assert_ok(cw_film_frame_update(box->bench, &frame, &box->err), &box->err);
    cw_film_frame_list_free(&frames);
    proof_is(box, job_id, CW_PROOF_FILM, true, CW_PROVED_OUTSIDE, "frame 1: sharp behind the tree");
    cw_proving p;
    assert_ok(cw_job_proving(box->bench, job_id, &p, &box->err), &box->err);
    assert_true(p.items[CW_PROOF_FOCUS].film_objects);
    assert_true(p.items[CW_PROOF_FINDER].film_objects);
    assert_false(p.items[CW_PROOF_LEAKS].film_objects);
    assert_string_equal(p.items[CW_PROOF_LEAKS].film, ""); /* nobody has looked at its frames yet */
    json_t *json = cw_proving_json(job_id, &p);
    assert_string_equal(json_string_value(json_object_get(json, "format")), "camerawright.proving/1");
    json_decref(json);
    cw_proving_free(&p);
    assert_ok(cw_film_drop_open(box->bench, job_id, &box->err), &box->err);
    assert_ok(cw_film_frame_page(box->bench, job_id, &frames, &box->err), &box->err);
    assert_int_equal(frames.count, 1);
    assert_fails(cw_film_frame_get(box->bench, 999, &frame, &box->err), CW_NOT_FOUND, &box->err, "999");
    cw_film_frame_list_free(&frames);
}

CHECK_MAIN(BOX_TEST(each_kind_of_camera_owes_its_tests), BOX_TEST(tests_worksheets_and_lists_are_the_evidence),
           BOX_TEST(a_damaged_result_is_a_test_without_a_verdict), BOX_TEST(a_folding_camera_owes_both_lists),
           BOX_TEST(the_thread_leads_from_taken_in_to_handed_on), BOX_TEST(nothing_is_left_out_without_a_reason),
           BOX_TEST(handing_on_unproved_is_allowed_and_said), cmocka_unit_test(the_lists_are_whole),
           BOX_TEST(own_lists_are_written_started_and_kept), BOX_TEST(the_film_is_proposed_planned_and_speaks))
