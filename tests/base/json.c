/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/json.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "support/check.h"

static void gives(json_t *json, cw_json_form form, const char *expected)
{
    char *text = cw_json_written(json, form);
    assert_non_null(text);
    assert_string_equal(text, expected);
    free(text);
}

static void nothing_has_no_sign(void **state)
{
    (void)state;
    json_t *json = json_pack("{s:f,s:[f,{s:f}],s:f,s:i}", "a", -0.0, "b", -0.0, "c", -0.0, "d", -1e-300, "e", 0);
    assert_true(signbit(json_real_value(json_object_get(json, "a"))));
    gives(json, CW_JSON_GIVEN_LINE, "{\"a\":0.0,\"b\":[0.0,{\"c\":0.0}],\"d\":-1e-300,\"e\":0}");
    json_decref(json);
}

static void digits_follow_the_purpose(void **state)
{
    (void)state;
    json_t *json = json_pack("{s:f}", "mm", 1e3 * 0.0234); /* 23.400000000000002 as a double */
    gives(json, CW_JSON_GIVEN_LINE, "{\"mm\":23.4}");
    gives(json, CW_JSON_KEPT, "{\"mm\":23.400000000000002}");
    gives(json, CW_JSON_GIVEN, "{\n \"mm\": 23.4\n}");
    gives(json, CW_JSON_KEPT_LINES, "{\n \"mm\": 23.400000000000002\n}");
    char *text = cw_json_written(json, CW_JSON_KEPT);
    json_t *again = json_loads(text, 0, NULL);
    assert_true(json_equal(again, json));
    free(text);
    json_decref(again);
    json_decref(json);
    assert_null(cw_json_written(NULL, CW_JSON_GIVEN));
}

CHECK_MAIN(cmocka_unit_test(nothing_has_no_sign), cmocka_unit_test(digits_follow_the_purpose))
