/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "web/form.h"

static void decode(cw_form *form, const char *text)
{
    cw_error err = {0};
    *form = (cw_form){0};
    assert_ok(cw_form_decode(form, text, strlen(text), &err), &err);
}

/* WHATWG URL Standard, 5.1: plus is a space, %XX a byte, a bare name has an empty value, empty parts are none. */
static void a_form_is_decoded(void **state)
{
    (void)state;
    cw_form form;
    decode(&form, "camera=Ellory+Reflex&mark=1%2F250&&flag&note=50%&x=%zz&%C3%A4=%C3%B6&a=1&a=2&eq=a=b");
    assert_int_equal(form.count, 9);
    assert_string_equal(cw_form_get(&form, "camera"), "Ellory Reflex");
    assert_string_equal(cw_form_get(&form, "mark"), "1/250");
    assert_string_equal(cw_form_get(&form, "flag"), "");
    assert_string_equal(cw_form_get(&form, "note"), "50%");
    assert_string_equal(cw_form_get(&form, "x"), "%zz");
    assert_string_equal(cw_form_get(&form, "\xC3\xA4"), "\xC3\xB6");
    assert_string_equal(cw_form_get(&form, "a"), "1");
    assert_string_equal(cw_form_get(&form, "eq"), "a=b");
    assert_null(cw_form_get(&form, "missing"));
    cw_form_free(&form);
    assert_int_equal(form.count, 0);
}

static void line_ends_are_plain(void **state)
{
    (void)state;
    cw_form form;
    decode(&form, "note=one%0D%0Atwo%0D%0A%0D%0Athree%0Dfour%0A");
    assert_string_equal(cw_form_get(&form, "note"), "one\ntwo\n\nthree\rfour\n");
    cw_form_free(&form);
}

static void nothing_is_an_empty_form(void **state)
{
    (void)state;
    cw_form form;
    decode(&form, "");
    assert_int_equal(form.count, 0);
    decode(&form, "&&&");
    assert_int_equal(form.count, 0);
    cw_form_free(&form);
}

static void what_is_no_text_is_refused_by_name(void **state)
{
    (void)state;
    cw_form form = {0};
    cw_error err = {0};
    assert_fails(cw_form_decode(&form, "note=a%00b", 10, &err), CW_INPUT, &err, "\"note\" is not readable");
    assert_fails(cw_form_decode(&form, "note=%FF", 8, &err), CW_INPUT, &err, "\"note\" is not readable");
    assert_fails(cw_form_decode(&form, "%FF=1", 5, &err), CW_INPUT, &err, "field name is not readable");
    assert_int_equal(form.count, 0);
    cw_form_free(&form);
}

static char *filled(size_t length)
{
    char *text = malloc(length + 1);
    assert_non_null(text);
    memset(text, 'x', length);
    text[length] = '\0';
    return text;
}

static void each_limit_holds_at_its_edge(void **state)
{
    (void)state;
    cw_form form = {0};
    cw_error err = {0};
    char *long_value = filled(CW_FORM_VALUE_MOST + 1), *long_name = filled(CW_FORM_NAME_MOST + 1);
    assert_ok(cw_form_add(&form, "v", 1, long_value, CW_FORM_VALUE_MOST, &err), &err);
    assert_fails(cw_form_add(&form, "v", 1, long_value, CW_FORM_VALUE_MOST + 1, &err), CW_RANGE, &err,
                 "\"v\" holds 65537 bytes");
    assert_ok(cw_form_add(&form, long_name, CW_FORM_NAME_MOST, "", 0, &err), &err);
    assert_fails(cw_form_add(&form, long_name, CW_FORM_NAME_MOST + 1, "", 0, &err), CW_RANGE, &err, "97 bytes");
    cw_status status = CW_OK;
    for (size_t added = 2; status == CW_OK && added < 100; added++)
        status = cw_form_add(&form, "v", 1, long_value, CW_FORM_VALUE_MOST, &err);
    assert_int_equal(status, CW_RANGE); /* the sum of all */
    assert_true(form.bytes <= CW_FORM_BYTES_MOST);
    cw_form_free(&form);
    free(long_value);
    free(long_name);
}

static void too_many_fields_are_refused(void **state)
{
    (void)state;
    cw_form form = {0};
    cw_error err = {0};
    for (size_t i = 0; i < CW_FORM_FIELDS_MOST; i++)
        assert_ok(cw_form_add(&form, "a", 1, "", 0, &err), &err);
    assert_fails(cw_form_add(&form, "a", 1, "", 0, &err), CW_RANGE, &err, "more than 2048 fields");
    cw_form_free(&form);
}

CHECK_MAIN(cmocka_unit_test(a_form_is_decoded), cmocka_unit_test(line_ends_are_plain),
           cmocka_unit_test(nothing_is_an_empty_form), cmocka_unit_test(what_is_no_text_is_refused_by_name),
           cmocka_unit_test(each_limit_holds_at_its_edge), cmocka_unit_test(too_many_fields_are_refused))
