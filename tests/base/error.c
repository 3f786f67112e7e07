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

/* What a person typed is quoted, and cut by its bytes: "%.2s" of two umlauts is half of the second. */
static void a_sentence_is_one_line_of_utf8(void **state)
{
    (void)state;
    cw_error err;
    assert_int_equal(cw_fail(&err, CW_INPUT, "\"%s\" is no size", "a\nb\x1b[2J\tc"), CW_INPUT);
    assert_string_equal(err.text, "\"a b [2J c\" is no size");
    assert_int_equal(cw_fail(&err, CW_INPUT, "\"%.3s\" is no size", "\xc3\xa4\xc3\xb6"), CW_INPUT);
    assert_string_equal(err.text, "\"\xc3\xa4?\" is no size");
    assert_int_equal(cw_fail(&err, CW_INPUT, "%s", "\xff\xc2\x85\xef\xbf\xbd\xe2\x82\xac"), CW_INPUT);
    assert_string_equal(err.text, "?  \xef\xbf\xbd\xe2\x82\xac"); /* what is whole stays */
    cw_context(&err, "%s", "page\r\n2\xc3");
    assert_string_equal(err.text, "page  2?: ?  \xef\xbf\xbd\xe2\x82\xac");
    char flood[CW_ERROR_TEXT + 1];
    memset(flood, '\xc3', sizeof flood);
    for (size_t i = 1; i < sizeof flood; i += 2)
        flood[i] = '\xa4';
    flood[CW_ERROR_TEXT] = '\0';
    assert_int_equal(cw_fail(&err, CW_INPUT, "x%s", flood), CW_INPUT);
    assert_string_equal(err.text + sizeof err.text - 6, "\xa4"
                                                        "?...");
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
           cmocka_unit_test(a_sentence_is_one_line_of_utf8), cmocka_unit_test(exit_status_tells_bad_input_from_failure))
