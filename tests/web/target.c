/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include <stdio.h>
#include <string.h>

#include "web/target.h"

static void a_target_is_taken_apart(void **state)
{
    (void)state;
    cw_target target;
    cw_error err = {0};
    assert_ok(cw_target_parse("/jobs/7/photos/12.json?first=24&q=a+b", &target, &err), &err);
    assert_int_equal(target.count, 4);
    assert_string_equal(target.segments[3], "12");
    assert_true(target.json);
    assert_string_equal(cw_form_get(&target.query, "q"), "a b");
    cw_match match;
    assert_true(cw_target_matches(&target, "/jobs/#/photos/#", &match));
    assert_int_equal(match.id_count, 2);
    assert_int_equal(match.ids[0], 7);
    assert_int_equal(match.ids[1], 12);
    assert_false(cw_target_matches(&target, "/jobs/#/photos", &match));
    assert_false(cw_target_matches(&target, "/jobs/#/photos/#/small", &match));
    assert_false(cw_target_matches(&target, "/jobs/#/steps/#", &match));
    cw_target_free(&target);
}

static void the_root_and_a_trailing_slash(void **state)
{
    (void)state;
    cw_target target;
    cw_error err = {0};
    cw_match match;
    assert_ok(cw_target_parse("/", &target, &err), &err);
    assert_int_equal(target.count, 0);
    assert_true(cw_target_matches(&target, "/", &match));
    cw_target_free(&target);
    assert_ok(cw_target_parse("/worksheets/flat-wrench/", &target, &err), &err);
    assert_true(cw_target_matches(&target, "/worksheets/*", &match));
    assert_string_equal(match.words[0], "flat-wrench");
    cw_target_free(&target);
}

static void only_row_numbers_are_row_numbers(void **state)
{
    (void)state;
    static const char *const none[] = {"/jobs/0",  "/jobs/-1",   "/jobs/1x", "/jobs/1234567890123456",
                                       "/jobs/+1", "/jobs/%201", "/jobs/0x1"};
    for (size_t i = 0; i < CW_COUNT(none); i++) {
        cw_target target;
        cw_error err = {0};
        cw_match match;
        assert_ok(cw_target_parse(none[i], &target, &err), &err);
        if (cw_target_matches(&target, "/jobs/#", &match))
            fail_msg("%s was taken as a row", none[i]);
        cw_target_free(&target);
    }
}

static void nothing_climbs_out(void **state)
{
    (void)state;
    static const char *const hostile[] = {
        "/../etc/passwd",
        "/photos/..",
        "/photos/%2e%2e/door.json",
        "/photos/..%2fbench.db",
        "/a//b",
        "/photos/%2e",
        "/photos/a%5cb",
        "/photos/%00",
        "/photos/%0d%0a",
        "http://other/jobs",
        "*",
        "",
        "/photos/%ff",
        "/1/2/3/4/5/6/7/8/9",
        "/%7f",
        "//jobs",
        "/photos/...json",
    };
    for (size_t i = 0; i < CW_COUNT(hostile); i++) {
        cw_target target;
        cw_error err = {0};
        if (cw_target_parse(hostile[i], &target, &err) != CW_INPUT)
            fail_msg("\"%s\" was not refused", hostile[i]);
        cw_target_free(&target);
    }
}

static void long_addresses_are_refused(void **state)
{
    (void)state;
    static char raw[CW_TARGET_MOST + 2];
    cw_target target;
    cw_error err = {0};
    memset(raw, 'a', CW_TARGET_MOST + 1);
    raw[0] = '/';
    assert_fails(cw_target_parse(raw, &target, &err), CW_INPUT, &err, "longer than 32768");
    cw_target_free(&target);
    raw[CW_SEGMENT_TEXT + 1] = '\0';
    assert_fails(cw_target_parse(raw, &target, &err), CW_INPUT, &err, "128 bytes long");
    cw_target_free(&target);
    raw[CW_SEGMENT_TEXT] = '\0';
    assert_ok(cw_target_parse(raw, &target, &err), &err);
    cw_target_free(&target);
}

CHECK_MAIN(cmocka_unit_test(a_target_is_taken_apart), cmocka_unit_test(the_root_and_a_trailing_slash),
           cmocka_unit_test(only_row_numbers_are_row_numbers), cmocka_unit_test(nothing_climbs_out),
           cmocka_unit_test(long_addresses_are_refused))
