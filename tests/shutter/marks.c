/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/marks.h"

#include <math.h>
#include <string.h>

#include "shutter/truth.h"

static void marks_are_read_as_people_write_them(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double seconds;
    } rows[] = {{"1/250", 0.004}, {" 1/250 s ", 0.004}, {"1", 1},
                {"1s", 1},        {"0.5", 0.5},         {"0,5", 0.5},
                {"1/2", 0.5},     {"4 ms", 0.004},      {"1/12000", 1.0 / 12000}};
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        double seconds = NAN;
        cw_error err;
        assert_ok(cw_mark_parse(rows[i].text, &seconds, &err), &err);
        assert_near(seconds, rows[i].seconds, 1e-12);
    }
}

static void what_is_no_mark_is_refused_with_the_word(void **state)
{
    (void)state;
    static const struct {
        const char *text, *words;
    } rows[] = {
        {"250", "write 1/250"},
        {"", "empty"},
        {"1/0", "not a shutter speed"},
        {"abc", "\"abc\""},
        {"-1", "longer than nothing"},
        {"0", "longer than nothing"},
        {"B", "not timed"},
        {"1/99999", "60 s to 1/20000 s"},
        {"1 1/2", "put a comma"},
        {"90 s", "60 s to 1/20000 s"},
        {"1/250 1/500", "put a comma"},
        {"a very very long text that nobody would call a shutter speed", "too long"},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        double seconds = 4711;
        cw_error err;
        assert_fails(cw_mark_parse(rows[i].text, &seconds, &err), CW_INPUT, &err, rows[i].words);
        assert_near(seconds, 4711, 0);
    }
}

static void lists_keep_their_order(void **state)
{
    (void)state;
    cw_mark_list list;
    cw_error err;
    assert_ok(cw_marks_parse("1,1/2, 1/4 , B,1/125 x3,", &list, &err), &err);
    assert_int_equal(list.count, 7);
    assert_near(list.marked_s[2], 0.25, 1e-12);
    assert_true(isnan(list.marked_s[3]));
    assert_near(list.marked_s[4], 0.008, 1e-12);
    assert_near(list.marked_s[6], 0.008, 1e-12);
    assert_ok(cw_marks_parse("0,5; 1/4;1/8", &list, &err), &err);
    assert_int_equal(list.count, 3);
    assert_near(list.marked_s[0], 0.5, 1e-12);
    assert_fails(cw_marks_parse("1,,1/4", &list, &err), CW_INPUT, &err, "speed number 2 of the list");
    assert_fails(cw_marks_parse("1,1/2,fast", &list, &err), CW_INPUT, &err, "speed number 3 of the list");
    assert_fails(cw_marks_parse("", &list, &err), CW_INPUT, &err, "empty");
    assert_fails(cw_marks_parse("1/125 x0", &list, &err), CW_INPUT, &err, "from 1 to");
    assert_fails(cw_marks_parse("1/125 x600", &list, &err), CW_INPUT, &err, "from 1 to");
    assert_fails(cw_marks_parse("1 x500, 1/2 x500", &list, &err), CW_INPUT, &err, "more than 512");
    assert_int_equal(list.count, 3); /* refusals leave the list alone */
}

static void marks_are_written_as_engraved(void **state)
{
    (void)state;
    static const struct {
        double seconds;
        const char *text;
    } rows[] = {{0.004, "1/250"}, {1.0 / 3, "1/3"},      {1, "1"}, {2, "2"}, {0.7, "0.7"},
                {NAN, "?"},       {1.0 / 8000, "1/8000"}};
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        char text[CW_MARK_TEXT];
        cw_mark_text(rows[i].seconds, text, sizeof text);
        assert_string_equal(text, rows[i].text);
    }
}

/* Names of half and third stops, and marks of the old series: powers of two by arithmetic. */
static void odd_marks_take_the_nearest_power_or_stand_for_themselves(void **state)
{
    (void)state;
    static const struct {
        double inverse, exact_inverse;
        cw_series series;
    } rows[] = {
        {45, 45.2548, CW_SERIES_HALF},    {90, 90.5097, CW_SERIES_HALF},   {350, 362.039, CW_SERIES_HALF},
        {5, 5.03968, CW_SERIES_THIRD},    {10, 10.0794, CW_SERIES_THIRD},  {25, 25.3984, CW_SERIES_THIRD},
        {50, 50.7968, CW_SERIES_THIRD},   {100, 101.594, CW_SERIES_THIRD}, {200, 203.187, CW_SERIES_THIRD},
        {300, 300, CW_SERIES_NONE},       {150, 150, CW_SERIES_NONE},      {75, 75, CW_SERIES_NONE},
        {0.0625, 0.0625, CW_SERIES_FULL},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        cw_series series;
        assert_near(1 / cw_mark_geometric(1 / rows[i].inverse, &series), rows[i].exact_inverse,
                    1e-5 * rows[i].exact_inverse);
        assert_int_equal(series, rows[i].series);
    }
    char text[120];
    cw_mark_reference_text(1.0 / 125, true, text, sizeof text);
    assert_string_equal(text, "1/128 s, the whole-stop value behind 1/125");
    cw_mark_reference_text(1.0 / 300, true, text, sizeof text);
    assert_contains(text, "no power of two");
    cw_mark_reference_text(1.0 / 125, false, text, sizeof text);
    assert_string_equal(text, "the mark, 1/125 s");
}

static void blank_shots(cw_shot *shots, size_t count)
{
    for (size_t i = 0; i < count; i++)
        shots[i] = truth_blank(0.5 + 2 * (double)i, NAN);
}

static void shots_take_their_marks_from_the_list(void **state)
{
    (void)state;
    cw_shot shots[6];
    cw_mark_list list;
    cw_error err;
    blank_shots(shots, 6);
    assert_ok(cw_marks_parse("1/60,1/125", &list, &err), &err);
    assert_ok(cw_marks_assign(&list, 3, shots, 6, &err), &err);
    assert_near(shots[2].marked_s, 1.0 / 60, 1e-12);
    assert_near(shots[3].marked_s, 0.008, 1e-12);
    assert_fails(cw_marks_assign(&list, 3, shots, 5, &err), CW_INPUT, &err,
                 "2 marked speeds with 3 shots each make 6 shots, but 5 were found (the first at 0.500 s, the last at "
                 "8.500 s)");
    assert_fails(cw_marks_assign(&list, 0, shots, 6, &err), CW_INPUT, &err, "2 marked speeds do not match 6 shots");
    assert_fails(cw_marks_assign(&list, 0, shots, 0, &err), CW_INPUT, &err, "no shots");
    assert_ok(cw_marks_parse("1/250", &list, &err), &err);
    assert_ok(cw_marks_assign(&list, 0, shots, 6, &err), &err);
    assert_near(shots[5].marked_s, 0.004, 1e-12);
}

/* A run through the dial with the camera's own errors, `each` shots at every mark. */
static size_t run_through(const double *marks, const double *off_ev, size_t count, size_t each, cw_shot *shots)
{
    check_random random = {2385};
    size_t n = 0;
    for (size_t k = 0; k < count; k++)
        for (size_t j = 0; j < each; j++) {
            double exposure_s = marks[k] * exp2(off_ev[k] + 0.03 * check_gaussian(&random));
            shots[n] = truth_blank((double)n, NAN);
            shots[n].sensor_count = 1;
            shots[n++].sensors[0] = truth_sensor(NAN, 0, exposure_s, 1e-6);
        }
    return n;
}

static void marks_are_proposed_from_the_times(void **state)
{
    (void)state;
    static const double dial[] = {1,        1.0 / 2,   1.0 / 4,   1.0 / 8,   1.0 / 15,  1.0 / 30,
                                  1.0 / 60, 1.0 / 125, 1.0 / 250, 1.0 / 500, 1.0 / 1000};
    static const double off[] = {0.3, 0.35, 0.2, 0.1, 0.05, -0.1, 0.05, 0.1, 0.15, 0.3, 0.6};
    cw_shot shots[64];
    cw_mark_proposal proposal;
    cw_error err;
    size_t n = run_through(dial, off, 11, 3, shots);
    assert_ok(cw_marks_propose(NULL, shots, n, &proposal, &err), &err);
    for (size_t j = 0; j < n; j++)
        assert_near(shots[j].marked_s, dial[j / 3], 1e-12);
    assert_int_equal(proposal.speeds, 11);
    assert_int_equal(proposal.repeats, 3);
    assert_false(proposal.certain); /* the fastest is 0.6 EV off: a person has to say so */
    assert_near(proposal.farthest_ev, 0.6, 0.1);
    assert_contains(proposal.text, "to be confirmed: 11 speeds, 3 shots at each, 1 to 1/1000");

    static const double fine[] = {0.05, -0.05, 0.1, 0, 0.1};
    n = run_through(dial + 5, fine, 5, 2, shots); /* a part of the dial */
    assert_ok(cw_marks_propose(NULL, shots, n, &proposal, &err), &err);
    for (size_t j = 0; j < n; j++)
        assert_near(shots[j].marked_s, dial[5 + j / 2], 1e-12);
    assert_true(proposal.certain);
    assert_contains(proposal.text, "No other run through the dial comes near");
}

static void old_dials_and_other_directions_are_proposed_too(void **state)
{
    (void)state;
    static const double old[] = {1, 1.0 / 2, 1.0 / 5, 1.0 / 10, 1.0 / 25, 1.0 / 50, 1.0 / 100, 1.0 / 300};
    static const double off[] = {0.1, 0.1, 0.05, -0.1, 0.1, 0, 0.1, 0.2};
    cw_shot shots[64], back[64];
    cw_mark_proposal proposal;
    cw_error err;
    size_t n = run_through(old, off, 8, 2, shots);
    assert_ok(cw_marks_propose(NULL, shots, n, &proposal, &err), &err);
    for (size_t j = 0; j < n; j++)
        assert_near(shots[j].marked_s, old[j / 2], 1e-12);
    for (size_t j = 0; j < n; j++)
        back[j] = shots[n - 1 - j];
    assert_ok(cw_marks_propose(NULL, back, n, &proposal, &err), &err);
    for (size_t j = 0; j < n; j++)
        assert_near(back[j].marked_s, old[7 - j / 2], 1e-12);
    assert_contains(proposal.text, "1/300 to 1");
}

static void unequal_repeats_and_unmeasured_shots_are_borne(void **state)
{
    (void)state;
    static const double marks[] = {1.0 / 60, 1.0 / 60, 1.0 / 60, 1.0 / 125, 1.0 / 250, 1.0 / 250, 1.0 / 500};
    static const double off[7] = {0.02, 0, 0.1, 0.1, 0.15, 0.1, 0.2};
    cw_shot shots[8];
    cw_mark_proposal proposal;
    cw_error err;
    size_t n = run_through(marks, off, 7, 1, shots);
    shots[1].sensors[0].seen = false;
    assert_ok(cw_marks_propose(NULL, shots, n, &proposal, &err), &err);
    for (size_t j = 0; j < n; j++)
        assert_near(shots[j].marked_s, marks[j], 1e-12);
    assert_int_equal(proposal.repeats, 0);
    assert_false(proposal.certain);
    for (size_t j = 0; j < n; j++)
        shots[j].sensors[0].seen = false;
    assert_fails(cw_marks_propose(NULL, shots, n, &proposal, &err), CW_RANGE, &err, "none of the 7 shots");
    assert_fails(cw_marks_propose(NULL, shots, 0, &proposal, &err), CW_RANGE, &err, "0 shots");
}

/* With the dial known, a shutter that is a whole stop slow everywhere still cannot be told: the proposal must not be
 * certain; a dial with gaps settles it. */
static void the_dial_of_the_camera_narrows_it_down(void **state)
{
    (void)state;
    static const double marks[] = {1.0 / 25, 1.0 / 75, 1.0 / 200};
    static const double off[3] = {0.7, 0.7, 0.7};
    cw_shot shots[6];
    cw_mark_list dial;
    cw_mark_proposal proposal;
    cw_error err;
    size_t n = run_through(marks, off, 3, 2, shots);
    assert_ok(cw_marks_parse("1/25,1/75,1/200,B", &dial, &err), &err);
    assert_ok(cw_marks_propose(&dial, shots, n, &proposal, &err), &err);
    for (size_t j = 0; j < n; j++)
        assert_near(shots[j].marked_s, marks[j / 2], 1e-12);
    assert_false(proposal.certain);
    assert_ok(cw_marks_parse("B,T", &dial, &err), &err);
    assert_fails(cw_marks_propose(&dial, shots, n, &proposal, &err), CW_INPUT, &err, "no timed mark");
}

CHECK_MAIN(cmocka_unit_test(marks_are_read_as_people_write_them),
           cmocka_unit_test(what_is_no_mark_is_refused_with_the_word), cmocka_unit_test(lists_keep_their_order),
           cmocka_unit_test(marks_are_written_as_engraved),
           cmocka_unit_test(odd_marks_take_the_nearest_power_or_stand_for_themselves),
           cmocka_unit_test(shots_take_their_marks_from_the_list), cmocka_unit_test(marks_are_proposed_from_the_times),
           cmocka_unit_test(old_dials_and_other_directions_are_proposed_too),
           cmocka_unit_test(unequal_repeats_and_unmeasured_shots_are_borne),
           cmocka_unit_test(the_dial_of_the_camera_narrows_it_down))
