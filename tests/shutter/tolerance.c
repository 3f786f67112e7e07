/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/tolerance.h"

#include <math.h>
#include <string.h>

#include "support/check.h"

static void the_common_table_has_two_rows(void **state)
{
    (void)state;
    cw_tolerance table;
    cw_error err;
    assert_ok(cw_tolerance_find("common", &table, &err), &err);
    assert_near(cw_tolerance_limit(&table, 1), 1.0 / 3, 1e-12);
    assert_near(cw_tolerance_limit(&table, 1.0 / 125), 1.0 / 3, 1e-12);
    assert_near(cw_tolerance_limit(&table, 0.008), 1.0 / 3, 1e-12);
    assert_near(cw_tolerance_limit(&table, 1.0 / 250), 0.5, 1e-12);
    assert_string_equal(table.source, "common practice, no source");
    assert_fails(cw_tolerance_find("mine", &table, &err), CW_NOT_FOUND, &err, "\"mine\"");
}

static const char plain[] = "camerawright.tolerance/1\r\n"
                            "# for the leaf shutters\n"
                            "name:  leaf, 1950s\n"
                            "source: own service sheet\n"
                            "\n"
                            "  1/30   0.25\n"
                            "1/250 1/3\n"
                            "faster\t0.6 EV\n";

static void a_table_of_ones_own_is_read_in_both_forms(void **state)
{
    (void)state;
    cw_tolerance table, again;
    cw_error err;
    assert_ok(cw_tolerance_parse(plain, strlen(plain), &table, &err), &err);
    assert_string_equal(table.name, "leaf, 1950s");
    assert_string_equal(table.source, "own service sheet");
    assert_near(cw_tolerance_limit(&table, 1.0 / 15), 0.25, 1e-12);
    assert_near(cw_tolerance_limit(&table, 1.0 / 60), 1.0 / 3, 1e-12);
    assert_near(cw_tolerance_limit(&table, 1.0 / 500), 0.6, 1e-12);
    json_t *json = cw_tolerance_json(&table);
    char *text = json_dumps(json, 0);
    assert_ok(cw_tolerance_parse(text, strlen(text), &again, &err), &err);
    assert_int_equal(again.row_count, table.row_count);
    for (size_t i = 0; i < table.row_count; i++) {
        assert_near(again.rows[i].from_s, table.rows[i].from_s, 1e-15);
        assert_near(again.rows[i].limit_ev, table.rows[i].limit_ev, 1e-15);
    }
    free(text);
    json_decref(json);
}

static void marks_below_the_last_row_have_no_limit(void **state)
{
    (void)state;
    static const char text[] = "camerawright.tolerance/1\nname: a\nsource: b\n1/60 0.3\n";
    cw_tolerance table;
    cw_error err;
    assert_ok(cw_tolerance_parse(text, strlen(text), &table, &err), &err);
    assert_true(isnan(cw_tolerance_limit(&table, 1.0 / 125)));
}

static void what_is_wrong_with_a_table_is_named_by_its_line(void **state)
{
    (void)state;
    static const struct {
        const char *text, *words;
    } rows[] = {
        {"", "empty"},
        {"hello\n1/60 0.3\n", "line 1 is \"hello\""},
        {"camerawright.tolerance/1\nname: a\nsource: b\n", "at least one row"},
        {"camerawright.tolerance/1\nsource: b\n1/60 0.3\n", "needs a name"},
        {"camerawright.tolerance/1\nname: a\n1/60 0.3\n", "needs a source"},
        {"camerawright.tolerance/1\nname: a\nsource: b\n1/60\n", "line 4: \"1/60\" is one word"},
        {"camerawright.tolerance/1\nname: a\nsource: b\n1/60 x\n", "line 4"},
        {"camerawright.tolerance/1\nname: a\nsource: b\n1/60 0.3\n1/30 0.2\n", "line 5: \"1/30\" is not faster"},
        {"camerawright.tolerance/1\nname: a\nsource: b\n1/60 0.3\n1/60 0.2\n", "not faster"},
        {"camerawright.tolerance/1\nname: a\nsource: b\n1/60 -0.3\n", "above 0"},
        {"camerawright.tolerance/1\nname: a\nsource: b\n1/60 9\n", "at most 5"},
        {"{\"format\":\"other\"}", "\"format\" is \"other\""},
        {"{\"format\":\"camerawright.tolerance/1\",\"name\":\"a\",\"source\":\"b\"}", "\"rows\" is missing"},
        {"{\"format\":\"camerawright.tolerance/1\",\"name\":\"a\",\"source\":\"b\",\"rows\":[{\"from\":\"1/60\"}]}",
         "row 1: \"limit_ev\" is missing"},
        {"{\"format\":\"camerawright.tolerance/1\",\"name\":\"a\",\"source\":\"b\",\"rows\":[{\"limit_ev\":1}]}",
         "row 1: \"from\" is missing"},
        {"{\"format\":", "line 1 of the tolerance table"},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        cw_tolerance table = {.row_count = 47};
        cw_error err;
        assert_fails(cw_tolerance_parse(rows[i].text, strlen(rows[i].text), &table, &err), CW_INPUT, &err,
                     rows[i].words);
        assert_int_equal(table.row_count, 47);
    }
    cw_tolerance table;
    cw_error err;
    assert_fails(cw_tolerance_parse("a\0b", 3, &table, &err), CW_INPUT, &err, "zero byte");
}

CHECK_MAIN(cmocka_unit_test(the_common_table_has_two_rows), cmocka_unit_test(a_table_of_ones_own_is_read_in_both_forms),
           cmocka_unit_test(marks_below_the_last_row_have_no_limit),
           cmocka_unit_test(what_is_wrong_with_a_table_is_named_by_its_line))
