/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench_box.h"

#include "notebook/step.h"
#include "notebook/store.h"

static int64_t add(bench_box *box, int64_t job_id, const char *title, int64_t after)
{
    cw_step step = {.job_id = job_id, .title = title, .state = CW_STEP_DONE, .duration_s = NAN};
    int64_t id = 0;
    assert_ok(cw_step_add(box->bench, &step, after, &id, &box->err), &box->err);
    return id;
}

/* The titles in order, as one text "abc"; also holds that the numbers count 1, 2, 3. */
static void expect_order(bench_box *box, int64_t job_id, cw_step_order order, const char *titles)
{
    cw_step_list list;
    char seen[200] = "";
    assert_ok(cw_step_page(box->bench, job_id, order, 0, 100, &list, &box->err), &box->err);
    for (size_t i = 0; i < list.count; i++) {
        strncat(seen, list.items[i].title, 1);
        if (order == CW_APART_ORDER)
            assert_int_equal(list.items[i].number, i + 1);
    }
    cw_step_list_free(&list);
    assert_string_equal(seen, titles);
}

static void a_step_comes_back_as_it_was_written(void **state)
{
    bench_box *box = *state;
    int64_t job_id = box_job(box, "Tarnbrook 35"), id;
    cw_step back, step = {.job_id = job_id,
                          .title = "Rewind shaft",
                          .came_off = "shaft, washer",
                          .held_by = "slotted ring",
                          .thread = CW_THREAD_LEFT,
                          .orientation = "scribed line to the dot",
                          .flies = "click spring under the shaft",
                          .tool = "flat wrench 23 mm",
                          .lubricant_found = "dry grease",
                          .lubricant_to_use = "a trace on the shaft, none on the click",
                          .torque = "snug",
                          .check_before_closing = "does the click work?",
                          .notes = "cap the hole first",
                          .duration_s = 412.5,
                          .state = CW_STEP_DONE};
    assert_ok(cw_step_add(box->bench, &step, 0, &id, &box->err), &box->err);
    assert_ok(cw_step_get(box->bench, id, &back, &box->err), &box->err);
    assert_string_equal(back.came_off, step.came_off);
    assert_string_equal(back.held_by, step.held_by);
    assert_int_equal(back.thread, CW_THREAD_LEFT);
    assert_string_equal(back.orientation, step.orientation);
    assert_string_equal(back.flies, step.flies);
    assert_string_equal(back.tool, step.tool);
    assert_string_equal(back.lubricant_found, step.lubricant_found);
    assert_string_equal(back.lubricant_to_use, step.lubricant_to_use);
    assert_string_equal(back.torque, step.torque);
    assert_string_equal(back.check_before_closing, step.check_before_closing);
    assert_string_equal(back.notes, step.notes);
    assert_true(back.duration_s == 412.5);
    assert_int_equal(back.state, CW_STEP_DONE);
    back.torque = "0.15 N m";
    back.duration_s = NAN;
    assert_ok(cw_step_update(box->bench, &back, &box->err), &box->err);
    assert_fails(cw_step_update(box->bench, &back, &box->err), CW_CONFLICT, &box->err, "changed by somebody else");
    cw_step_free(&back);
    assert_ok(cw_step_get(box->bench, id, &back, &box->err), &box->err);
    assert_string_equal(back.torque, "0.15 N m");
    assert_true(isnan(back.duration_s));
    cw_step_free(&back);
    cw_job job;
    assert_ok(cw_job_get(box->bench, job_id, &job, &box->err), &box->err);
    assert_int_equal(job.stage, CW_STAGE_APART);
    cw_job_free(&job);
    step.title = "";
    assert_fails(cw_step_add(box->bench, &step, 0, &id, &box->err), CW_INPUT, &box->err, "the title is missing");
    step.title = "x";
    assert_fails(cw_step_add(box->bench, &step, 999, &id, &box->err), CW_NOT_FOUND, &box->err, "no step 999");
    step.job_id = 77;
    assert_fails(cw_step_add(box->bench, &step, 0, &id, &box->err), CW_NOT_FOUND, &box->err, "no job 77");
}

static void a_forgotten_step_goes_where_it_belongs(void **state)
{
    bench_box *box = *state;
    int64_t job_id = box_job(box, "Tarnbrook 35"), other = box_job(box, "Ellory Reflex");
    int64_t a = add(box, job_id, "a", 0), b = add(box, job_id, "b", 0);
    add(box, job_id, "c", 0);
    add(box, job_id, "d", a);
    expect_order(box, job_id, CW_APART_ORDER, "adbc");
    expect_order(box, job_id, CW_TOGETHER_ORDER, "cbda");
    add(box, job_id, "e", -1);
    expect_order(box, job_id, CW_APART_ORDER, "eadbc");
    assert_ok(cw_step_reorder(box->bench, b, -1, &box->err), &box->err);
    expect_order(box, job_id, CW_APART_ORDER, "beadc");
    assert_ok(cw_step_reorder(box->bench, b, a, &box->err), &box->err);
    expect_order(box, job_id, CW_APART_ORDER, "eabdc");
    assert_ok(cw_step_reorder(box->bench, b, 0, &box->err), &box->err);
    expect_order(box, job_id, CW_APART_ORDER, "eadcb");
    assert_ok(cw_step_reorder(box->bench, b, b, &box->err), &box->err);
    expect_order(box, job_id, CW_APART_ORDER, "eadcb");
    int64_t foreign = add(box, other, "x", 0);
    assert_fails(cw_step_reorder(box->bench, b, foreign, &box->err), CW_NOT_FOUND, &box->err, "in this job");
    for (int i = 0; i < 2; i++) /* the last one changed nothing and left no line */
        assert_ok(cw_undo(box->bench, job_id, NULL, &box->err), &box->err);
    expect_order(box, job_id, CW_APART_ORDER, "beadc");
}

/* Always into the same gap: it is used up after ten, and has to be made again. */
static void gaps_never_run_out(void **state)
{
    bench_box *box = *state;
    int64_t job_id = box_job(box, "Tarnbrook 35"), first = add(box, job_id, "1", 0), id = 0;
    add(box, job_id, "2", 0);
    for (int i = 0; i < 40; i++)
        id = add(box, job_id, "n", first);
    cw_step_list list;
    assert_ok(cw_step_page(box->bench, job_id, CW_APART_ORDER, 0, 100, &list, &box->err), &box->err);
    assert_int_equal(list.total, 42);
    assert_int_equal(list.items[0].id, first);
    assert_int_equal(list.items[1].id, id);
    for (size_t i = 1; i + 2 < list.count; i++)
        assert_true(list.items[i].id > list.items[i + 1].id);
    assert_string_equal(list.items[41].title, "2");
    cw_step_list_free(&list);
    for (int i = 0; i < 40; i++)
        assert_ok(cw_undo(box->bench, job_id, NULL, &box->err), &box->err);
    expect_order(box, job_id, CW_APART_ORDER, "12");
}

static void a_step_is_split_with_its_parts(void **state)
{
    bench_box *box = *state;
    int64_t job_id = box_job(box, "Tarnbrook 35"), a = add(box, job_id, "a", 0), part_ids[2], second;
    add(box, job_id, "z", 0);
    for (int i = 0; i < 2; i++) {
        cw_part part = {.job_id = job_id, .step_id = a, .kind = "screw", .pieces = 1 + i, .state = CW_PART_OUT};
        assert_ok(cw_part_add(box->bench, &part, &part_ids[i], &box->err), &box->err);
    }
    assert_fails(cw_step_split(box->bench, a, "b", (int64_t[]){part_ids[0], 555}, 2, NULL, 0, &second, &box->err),
                 CW_NOT_FOUND, &box->err, "part 555 is not in the step");
    expect_order(box, job_id, CW_APART_ORDER, "az");
    assert_ok(cw_step_split(box->bench, a, "b", &part_ids[1], 1, NULL, 0, &second, &box->err), &box->err);
    expect_order(box, job_id, CW_APART_ORDER, "abz");
    cw_step step;
    assert_ok(cw_step_get(box->bench, second, &step, &box->err), &box->err);
    assert_int_equal(step.pieces_out, 2);
    cw_step_free(&step);
    assert_fails(cw_step_delete(box->bench, second, &box->err), CW_CONFLICT, &box->err, "2 pieces out");
    assert_ok(cw_step_back(box->bench, second, true, true, &box->err), &box->err);
    assert_ok(cw_step_delete(box->bench, second, &box->err), &box->err);
    cw_part part;
    assert_ok(cw_part_get(box->bench, part_ids[1], &part, &box->err), &box->err);
    assert_int_equal(part.step_id, 0);
    assert_int_equal(part.state, CW_PART_BACK);
    cw_part_free(&part);
    for (int i = 0; i < 3; i++)
        assert_ok(cw_undo(box->bench, job_id, NULL, &box->err), &box->err);
    expect_order(box, job_id, CW_APART_ORDER, "az");
    assert_ok(cw_step_get(box->bench, a, &step, &box->err), &box->err);
    assert_int_equal(step.pieces_out, 3);
    assert_int_equal(step.part_count, 2);
    cw_step_free(&step);
}

/* A long random walk of changes, undone to the beginning and done again to the end: the same rows at every stop. */
static void fingerprint(bench_box *box, char out[64])
{
    sqlite3_stmt *st;
    uint64_t sum = 1469598103934665603u; /* FNV-1a, 64 bit */
    int64_t rows = 0;
    const char *sql =
        "SELECT 's', id, revision, rank, title, state, back_done, NULL FROM step UNION ALL SELECT 'p', id, "
        "revision, step_id, kind, state, pieces, tray_id FROM part UNION ALL SELECT 't', id, revision, "
        "job_id, label, number, put_away, NULL FROM tray ORDER BY 1, 2";
    assert_ok(store_prepare(box->bench, sql, STORE_NO_VALUES, &st, &box->err), &box->err);
    for (; sqlite3_step(st) == SQLITE_ROW; rows++)
        for (int i = 0; i < sqlite3_column_count(st); i++) {
            const unsigned char *text = sqlite3_column_text(st, i);
            for (const unsigned char *c = text == NULL ? (const unsigned char *)"-" : text; *c != '\0'; c++)
                sum = (sum ^ *c) * 1099511628211u;
        }
    sqlite3_finalize(st);
    snprintf(out, 64, "%lld rows %016llx", (long long)rows, (unsigned long long)sum);
}

static int64_t any_row(bench_box *box, const char *table, check_random *random)
{
    char sql[100];
    int64_t count, id;
    snprintf(sql, sizeof sql, "SELECT count(*) FROM %s", table);
    assert_ok(store_number(box->bench, sql, STORE_NO_VALUES, &count, &box->err), &box->err);
    snprintf(sql, sizeof sql, "SELECT id FROM %s ORDER BY id LIMIT 1 OFFSET ?1", table);
    int64_t offset = (int64_t)(check_uniform(random) * (double)count);
    assert_ok(store_number(box->bench, sql, STORE_VALUES(store_int(offset)), &id, &box->err), &box->err);
    return id;
}

static cw_status one_change(bench_box *box, int64_t job_id, check_random *random)
{
    cw_error *err = &box->err;
    int64_t step_id = any_row(box, "step", random), part_id = any_row(box, "part", random), id;
    cw_step step = {.job_id = job_id, .title = "walk", .state = CW_STEP_DONE, .duration_s = NAN};
    cw_part part = {.job_id = job_id, .step_id = step_id, .kind = "screw", .pieces = 3, .state = CW_PART_OUT};
    switch ((int)(check_uniform(random) * 9)) {
    case 0:
        return cw_step_add(box->bench, &step, step_id, &id, err);
    case 1:
        return cw_step_reorder(box->bench, step_id, any_row(box, "step", random), err);
    case 2:
    case 3:
        return cw_part_add(box->bench, &part, &id, err);
    case 4:
        return cw_part_move(box->bench, part_id, 1, CW_PART_BACK, "", NULL, err);
    case 5:
        return cw_step_back(box->bench, step_id, true, true, err);
    case 6:
        return cw_step_split(box->bench, step_id, "half", &part_id, 1, NULL, 0, &id, err);
    case 7:
        return cw_tray_add(box->bench, &(cw_tray){.job_id = job_id, .label = "lid"}, &id, err);
    default:
        return cw_step_delete(box->bench, step_id, err);
    }
}

static void undo_and_redo_walk_the_whole_way(void **state)
{
    enum { CHANGES = 60 };
    bench_box *box = *state;
    check_random random = {.state = 20261125};
    static char stops[CHANGES + 1][64];
    int64_t job_id = box_job(box, "Tarnbrook 35");
    add(box, job_id, "first", 0);
    fingerprint(box, stops[0]);
    int done = 0;
    for (int tries = 0; done < CHANGES && tries < 20 * CHANGES; tries++) {
        if (one_change(box, job_id, &random) != CW_OK)
            continue;
        char now[64];
        fingerprint(box, now);
        if (strcmp(now, stops[done]) != 0)
            memcpy(stops[++done], now, sizeof now);
    }
    assert_int_equal(done, CHANGES);
    char now[64];
    for (int round = 0; round < 2; round++) {
        for (int i = CHANGES - 1; i >= 0; i--) {
            assert_ok(cw_undo(box->bench, job_id, NULL, &box->err), &box->err);
            fingerprint(box, now);
            assert_string_equal(now, stops[i]);
        }
        for (int i = 1; i <= CHANGES; i++) {
            assert_ok(cw_redo(box->bench, job_id, NULL, &box->err), &box->err);
            fingerprint(box, now);
            assert_string_equal(now, stops[i]);
        }
    }
}

CHECK_MAIN(BOX_TEST(a_step_comes_back_as_it_was_written), BOX_TEST(a_forgotten_step_goes_where_it_belongs),
           BOX_TEST(gaps_never_run_out), BOX_TEST(a_step_is_split_with_its_parts),
           BOX_TEST(undo_and_redo_walk_the_whole_way))
