/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include <string.h>

static void context_goes_before_the_cause(void **state)
{
    (void)state;
    cw_error err;
    assert_int_equal(cw_fail(&err, CW_INPUT, "one column only"), CW_INPUT);
    cw_context(&err, "%s, line %d", "shot3.csv", 17);
    assert_string_equal(err.text, "shot3.csv, line 17: one column only");
    assert_int_equal(err.status, CW_INPUT);
}

static void a_long_sentence_is_cut_visibly(void **state)
{
    (void)state;
    cw_error err;
    char flood[3000];
    memset(flood, 'x', sizeof flood - 1);
    flood[sizeof flood - 1] = '\0';
    assert_int_equal(cw_fail(&err, CW_FILE, "%s", flood), CW_FILE);
    assert_int_equal(strlen(err.text), sizeof err.text - 1);
    assert_string_equal(err.text + sizeof err.text - 4, "...");
    cw_context(&err, "file");
    assert_string_equal(err.text + sizeof err.text - 4, "...");
}

static void exit_status_tells_bad_input_from_failure(void **state)
{
    (void)state;
    assert_int_equal(cw_exit_status(CW_OK), 0);
    assert_int_equal(cw_exit_status(CW_RANGE), 2);
    assert_int_equal(cw_exit_status(CW_NOT_FOUND), 2);
    assert_int_equal(cw_exit_status(CW_FILE), 3);
    assert_int_equal(cw_exit_status(CW_DEVICE), 3);
    assert_string_equal(cw_status_name(CW_NOT_MINE), "not-mine");
}

CHECK_MAIN(cmocka_unit_test(context_goes_before_the_cause), cmocka_unit_test(a_long_sentence_is_cut_visibly),
           cmocka_unit_test(exit_status_tells_bad_input_from_failure))
