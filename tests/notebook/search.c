/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench_box.h"
#include "pictures.h"

#include "notebook/photo.h"
#include "notebook/search.h"
#include "notebook/step.h"
#include "notebook/store.h"
#include "notebook/test.h"

typedef struct {
    int64_t first, second, governor, cover, spring, photo, test;
} shelf;

static shelf fill(bench_box *box)
{
    shelf s;
    char path[600];
    cw_job job = {
        .camera = "Tarnbrook 35", .serial = "402187", .complaint = "slow speeds stick, Frau Ünal", .agreed_cost = NAN};
    assert_ok(cw_job_add(box->bench, &job, &s.first, &box->err), &box->err);
    job = (cw_job){.camera = "Ellory Reflex", .complaint = "mirror hangs; capping at 1/1000", .agreed_cost = NAN};
    assert_ok(cw_job_add(box->bench, &job, &s.second, &box->err), &box->err);
    cw_step step = {.job_id = s.first,
                    .title = "Governor out",
                    .came_off = "the escapement in one piece",
                    .state = CW_STEP_DONE,
                    .duration_s = NAN};
    assert_ok(cw_step_add(box->bench, &step, 0, &s.governor, &box->err), &box->err);
    step = (cw_step){.job_id = s.second,
                     .title = "Top cover",
                     .held_by = "three screws M1.7, one window",
                     .state = CW_STEP_DONE,
                     .duration_s = NAN};
    assert_ok(cw_step_add(box->bench, &step, 0, &s.cover, &box->err), &box->err);
    cw_part part = {.job_id = s.first,
                    .step_id = s.governor,
                    .kind = "click spring",
                    .pieces = 1,
                    .sat = "under the pallet",
                    .state = CW_PART_OUT};
    assert_ok(cw_part_add(box->bench, &part, &s.spring, &box->err), &box->err);
    snprintf(path, sizeof path, "%s/p.jpg", box->scratch);
    write_jpeg(path, 64, 48, 80, false);
    assert_ok(cw_photo_import(box->bench, path, s.first, s.governor, 0, "pallet from above", &s.photo, &box->err),
              &box->err);
    cw_test test = {.job_id = s.second, .kind = "shutter", .title = "curtains as found"};
    assert_ok(cw_test_add(box->bench, &test, &s.test, &box->err), &box->err);
    return s;
}

/* The kinds and ids of the hits, "step 1, part 3", in the order found. */
static void found(bench_box *box, const char *words, char out[400])
{
    cw_hit_list list;
    out[0] = '\0';
    assert_ok(cw_search(box->bench, words, 0, NULL, 0, 50, &list, &box->err), &box->err);
    assert_int_equal(list.total, list.count);
    for (size_t i = 0; i < list.count; i++)
        snprintf(out + strlen(out), 400 - strlen(out), "%s%s %lld", i == 0 ? "" : ", ",
                 cw_hit_kind_name(list.items[i].kind), (long long)list.items[i].id);
    cw_hit_list_free(&list);
}

static void expect_found(bench_box *box, const char *words, const char *hits)
{
    char seen[400];
    found(box, words, seen);
    if (strcmp(seen, hits) != 0)
        fail_msg("\"%s\" found \"%s\", expected \"%s\"", words, seen, hits);
}

static void words_are_found_by_beginning_ending_accent_and_case(void **state)
{
    bench_box *box = *state;
    shelf s = fill(box);
    assert_true(s.first == 1 && s.second == 2);
    expect_found(box, "governor", "step 1");
    expect_found(box, "GOVERN", "step 1");
    expect_found(box, "escapem", "step 1");
    expect_found(box, "unal", "job 1");
    expect_found(box, "ünal", "job 1");
    expect_found(box, "screw", "step 2");
    expect_found(box, "screwed", "step 2");
    expect_found(box, "sticking", "job 1");
    expect_found(box, "M1.7", "step 2");
    expect_found(box, "402187", "job 1");
    expect_found(box, "mirror reflex", "job 2");
    expect_found(box, "mirror tarnbrook", "");
    expect_found(box, "\"click spring\"", "part 1");
    expect_found(box, "\"spring click\"", "");
    expect_found(box, "spring click", "part 1");
    expect_found(box, "curtain found", "test 1");
    expect_found(box, "wind", "step 2"); /* a beginning: window */
    expect_found(box, "winding", "");    /* an ending that the window does not have */
}

static void a_slip_of_the_finger_is_forgiven_and_told(void **state)
{
    bench_box *box = *state;
    cw_hit_list list;
    fill(box);
    expect_found(box, "govenror", "step 1");
    expect_found(box, "escapmnt", "step 1");
    expect_found(box, "palllet", "photo 1, part 1");
    expect_found(box, "miror hangs", "job 2");
    expect_found(box, "xylophone", "");
    expect_found(box, "gxx", "");
    assert_ok(cw_search(box->bench, "govenror out", 0, NULL, 0, 10, &list, &box->err), &box->err);
    assert_true(list.corrected);
    assert_string_equal(list.told, "no \"govenror\", shown: governor");
    cw_hit_list_free(&list);
    assert_ok(cw_search(box->bench, "xylophone", 0, NULL, 0, 10, &list, &box->err), &box->err);
    assert_false(list.corrected);
    assert_string_equal(list.told, "no \"xylophone\"");
    cw_hit_list_free(&list);
}

static void a_hit_shows_where_and_a_photo(void **state)
{
    bench_box *box = *state;
    shelf s = fill(box);
    cw_hit_list list;
    assert_ok(cw_search(box->bench, "pallet", 1u << CW_HIT_PART, NULL, 0, 10, &list, &box->err), &box->err);
    assert_int_equal(list.count, 1);
    const cw_hit *hit = &list.items[0];
    assert_int_equal(hit->job_id, s.first);
    assert_int_equal(hit->step_id, s.governor);
    assert_int_equal(hit->photo_id, s.photo);
    assert_string_equal(hit->camera, "Tarnbrook 35");
    assert_string_equal(hit->title, "click spring");
    assert_contains(hit->snippet, "under the \x02pallet\x03");
    cw_hit_list_free(&list);
    assert_ok(cw_search(box->bench, "screws", 0, "ellory REFLEX", 0, 10, &list, &box->err), &box->err);
    assert_int_equal(list.count, 1);
    cw_hit_list_free(&list);
    assert_ok(cw_search(box->bench, "screws", 0, "Tarnbrook 35", 0, 10, &list, &box->err), &box->err);
    assert_int_equal(list.count, 0);
    cw_hit_list_free(&list);
    assert_fails(cw_search(box->bench, "a", 1u << 20, NULL, 0, 10, &list, &box->err), CW_INPUT, &box->err, "kinds");
}

static void nothing_a_person_types_breaks_the_query(void **state)
{
    static const char *const odd[] = {"\"",
                                      "\"\"",
                                      "'",
                                      "screw\"",
                                      "\"screw",
                                      "screw AND",
                                      "OR",
                                      "NOT gear",
                                      "(gear",
                                      "gear)",
                                      "gear*",
                                      "*gear",
                                      "^gear",
                                      "camera:x",
                                      "{a b}:c",
                                      "a + b",
                                      "NEAR(a b)",
                                      "-screw",
                                      "a\\b",
                                      "%s%n",
                                      "a\"\"b",
                                      "\x22\x22\x22 x",
                                      "1/1000",
                                      "M1.7x3",
                                      "a;DROP TABLE job",
                                      "screw\tgear",
                                      "é\xcc\x81"};
    bench_box *box = *state;
    cw_hit_list list;
    fill(box);
    for (size_t i = 0; i < CW_COUNT(odd); i++) {
        cw_status status = cw_search(box->bench, odd[i], 0, NULL, 0, 10, &list, &box->err);
        if (status != CW_OK && strstr(box->err.text, "no word to look for") == NULL)
            fail_msg("\"%s\": %s", odd[i], box->err.text);
        if (status == CW_OK)
            cw_hit_list_free(&list);
    }
    static const char *const empty[] = {"", "  ", "-", "\"\"", "…—", "!?", NULL};
    for (size_t i = 0; i < CW_COUNT(empty); i++)
        assert_fails(cw_search(box->bench, empty[i], 0, NULL, 0, 10, &list, &box->err), CW_INPUT, &box->err, "no word");
    assert_fails(cw_search(box->bench, "\xff\xfe", 0, NULL, 0, 10, &list, &box->err), CW_INPUT, &box->err,
                 "plain text");
    check_random random = {.state = 5};
    for (int round = 0; round < 400; round++) {
        static const char letters[] = "\"'*()^:+-{}AaNORDTsxé%\\ ;,.";
        char text[24];
        for (size_t i = 0; i < sizeof text - 1; i++)
            text[i] = letters[(size_t)(check_uniform(&random) * (sizeof letters - 1))];
        text[sizeof text - 1] = '\0';
        cw_status status = cw_search(box->bench, text, 0, NULL, 0, 10, &list, &box->err);
        if (status == CW_OK)
            cw_hit_list_free(&list);
        else
            assert_int_equal(status, CW_INPUT);
    }
}

static void the_index_follows_every_change_and_undo(void **state)
{
    bench_box *box = *state;
    shelf s = fill(box);
    cw_step step;
    cw_photo_mark mark = {.photo_id = s.photo, .x = 0.5, .y = 0.5, .text = "hooked anticlockwise", .hook_deg = NAN};
    int64_t id;
    assert_ok(cw_step_get(box->bench, s.governor, &step, &box->err), &box->err);
    step.title = "Retarder out";
    assert_ok(cw_step_update(box->bench, &step, &box->err), &box->err);
    cw_step_free(&step);
    expect_found(box, "governor", "");
    expect_found(box, "retarder", "step 1");
    assert_ok(cw_undo(box->bench, s.first, NULL, &box->err), &box->err);
    expect_found(box, "governor", "step 1");
    assert_ok(cw_photo_mark_add(box->bench, &mark, &id, &box->err), &box->err);
    expect_found(box, "anticlockwise", "photo 1");
    assert_ok(cw_photo_mark_delete(box->bench, id, &box->err), &box->err);
    expect_found(box, "anticlockwise", "");
    cw_job job;
    assert_ok(cw_job_get(box->bench, s.first, &job, &box->err), &box->err);
    job.camera = "Millbeck 35";
    assert_ok(cw_job_update(box->bench, &job, &box->err), &box->err);
    cw_job_free(&job);
    expect_found(box, "tarnbrook", "");
    expect_found(box, "millbeck spring", "part 1");
    assert_ok(cw_job_delete(box->bench, s.first, &box->err), &box->err);
    expect_found(box, "millbeck", "");
    assert_ok(cw_undo(box->bench, 0, NULL, &box->err), &box->err);
    expect_found(box, "millbeck spring", "part 1");
    int64_t wrong;
    assert_ok(store_run(box->bench, "INSERT INTO words(words, rank) VALUES('integrity-check', 1)", STORE_NO_VALUES,
                        &box->err),
              &box->err);
    assert_ok(
        store_number(box->bench,
                     "SELECT (SELECT count(*) FROM words) - (SELECT count(*) FROM job) - (SELECT count(*) FROM step) "
                     "- (SELECT count(*) FROM part) - (SELECT count(*) FROM photo) - (SELECT count(*) FROM test)",
                     STORE_NO_VALUES, &wrong, &box->err),
        &box->err);
    assert_int_equal(wrong, 0);
}

static void better_hits_come_first(void **state)
{
    bench_box *box = *state;
    int64_t job_id = box_job(box, "Ellory Reflex"), id;
    cw_step step = {.job_id = job_id,
                    .title = "Bottom cover",
                    .notes = "do not touch the prism; a long note with many "
                             "other words in it about covers, leather, glue and a strap lug",
                    .duration_s = NAN};
    assert_ok(cw_step_add(box->bench, &step, 0, &id, &box->err), &box->err);
    step = (cw_step){.job_id = job_id, .title = "Prism", .duration_s = NAN};
    assert_ok(cw_step_add(box->bench, &step, 0, &id, &box->err), &box->err);
    expect_found(box, "prism", "step 2, step 1");
}

/* Many hits, asked for in pages: together the list asked for at once, each with its own words around what was found. */
static void pages_together_are_the_whole_list(void **state)
{
    enum { STEPS = 40, A_PAGE = 7 };
    bench_box *box = *state;
    int64_t job_id[2] = {box_job(box, "Ellory Reflex"), box_job(box, "Tarnbrook 35")}, id;
    for (int i = 0; i < STEPS; i++) {
        char notes[200];
        snprintf(notes, sizeof notes, "%.*s n%d winding gear", i * 3,
                 "a longer and longer word before it, so "
                 "that no two rank alike, a longer and longer word before it, so that no two rank alike",
                 i);
        cw_step step = {.job_id = job_id[i % 2], .title = "Gear", .notes = notes, .duration_s = NAN};
        assert_ok(cw_step_add(box->bench, &step, 0, &id, &box->err), &box->err);
    }
    static const char *const cameras[] = {NULL, "Tarnbrook 35"};
    for (size_t k = 0; k < CW_COUNT(cameras); k++) {
        cw_hit_list all, page;
        size_t seen = 0;
        assert_ok(cw_search(box->bench, "wind gears", 1u << CW_HIT_STEP, cameras[k], 0, 100, &all, &box->err),
                  &box->err);
        assert_int_equal(all.count, k == 0 ? STEPS : STEPS / 2);
        do {
            assert_ok(cw_search(box->bench, "wind gears", 1u << CW_HIT_STEP, cameras[k], (int64_t)seen, A_PAGE, &page,
                                &box->err),
                      &box->err);
            assert_int_equal(page.total, all.count);
            for (size_t i = 0; i < page.count; i++, seen++) {
                char own[40];
                const cw_hit *hit = &page.items[i];
                snprintf(own, sizeof own, " n%d \x02winding\x03 \x02gear\x03", (int)hit->id - 1);
                assert_int_equal(hit->id, all.items[seen].id);
                assert_int_equal(hit->step_id, hit->id);
                assert_int_equal(hit->job_id, job_id[(hit->id - 1) % 2]);
                assert_string_equal(hit->snippet, all.items[seen].snippet);
                assert_contains(hit->snippet, own);
            }
            cw_hit_list_free(&page);
        } while (seen % A_PAGE == 0 && seen < all.count);
        assert_int_equal(seen, all.count);
        cw_hit_list_free(&all);
    }
}

CHECK_MAIN(BOX_TEST(words_are_found_by_beginning_ending_accent_and_case),
           BOX_TEST(a_slip_of_the_finger_is_forgiven_and_told), BOX_TEST(a_hit_shows_where_and_a_photo),
           BOX_TEST(nothing_a_person_types_breaks_the_query), BOX_TEST(the_index_follows_every_change_and_undo),
           BOX_TEST(better_hits_come_first), BOX_TEST(pages_together_are_the_whole_list))
