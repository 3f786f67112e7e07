/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Url-encoded bodies as they arrive, in pieces of every size. Multipart ones need the real server: hostile.py. */
#include "support/check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "web/body.h"

static cw_body_goal goal_of(cw_form *form, uint64_t bytes_most)
{
    return (cw_body_goal){.form = form, .bytes_most = bytes_most};
}

static void pieces_of_any_size_make_the_same_form(void **state)
{
    (void)state;
    static const char sent[] = "camera=Ellory+Reflex&note=50%25&empty=&%C3%A4=%C3%B6";
    for (size_t piece = 1; piece <= sizeof sent; piece++) {
        cw_form form = {0};
        cw_error err = {0};
        cw_body *body;
        cw_body_goal goal = goal_of(&form, 1000);
        assert_ok(cw_body_new(NULL, "application/x-www-form-urlencoded; charset=utf-8", &goal, &body, &err), &err);
        for (size_t at = 0; at < sizeof sent - 1; at += piece)
            assert_true(cw_body_feed(body, sent + at, at + piece < sizeof sent - 1 ? piece : sizeof sent - 1 - at));
        assert_ok(cw_body_end(body, &err), &err);
        assert_int_equal(form.count, 4);
        assert_string_equal(cw_form_get(&form, "note"), "50%");
        cw_body_free(body);
        cw_form_free(&form);
    }
}

static void what_is_no_form_is_refused(void **state)
{
    (void)state;
    cw_form form = {0};
    cw_error err = {0};
    cw_body *body = NULL;
    cw_body_goal goal = goal_of(&form, 1000);
    assert_fails(cw_body_new(NULL, "text/plain", &goal, &body, &err), CW_INPUT, &err, "\"text/plain\"");
    assert_fails(cw_body_new(NULL, NULL, &goal, &body, &err), CW_INPUT, &err, "nothing said");
    assert_fails(cw_body_new(NULL, "application/x-www-form-urlencodedx", &goal, &body, &err), CW_INPUT, &err,
                 "has to come as a form");
    assert_null(body);
}

/* Too much is read and dropped up to a bound, so that the answer can say so; then the line is cut. */
static void too_much_is_dropped_then_cut(void **state)
{
    (void)state;
    cw_form form = {0};
    cw_error err = {0};
    cw_body *body;
    cw_body_goal goal = goal_of(&form, 100);
    char *block = calloc(1, 1 << 20);
    assert_non_null(block);
    assert_ok(cw_body_new(NULL, "application/x-www-form-urlencoded", &goal, &body, &err), &err);
    size_t taken = 0;
    while (cw_body_feed(body, block, 1 << 20))
        taken++;
    assert_int_equal(taken, CW_BODY_DROP_MOST >> 20);
    assert_fails(cw_body_end(body, &err), CW_RANGE, &err, "the most that is taken");
    assert_int_equal(form.count, 0);
    cw_body_free(body);
    free(block);
}

static void a_field_over_its_limit_is_named(void **state)
{
    (void)state;
    cw_form form = {0};
    cw_error err = {0};
    cw_body *body;
    cw_body_goal goal = goal_of(&form, CW_BODY_FORM_MOST);
    char *text = malloc(CW_FORM_VALUE_MOST + 16);
    assert_non_null(text);
    memcpy(text, "notes=", 6);
    memset(text + 6, 'x', CW_FORM_VALUE_MOST + 1);
    assert_ok(cw_body_new(NULL, "application/x-www-form-urlencoded", &goal, &body, &err), &err);
    assert_true(cw_body_feed(body, text, 6 + CW_FORM_VALUE_MOST + 1));
    assert_fails(cw_body_end(body, &err), CW_RANGE, &err, "\"notes\" holds 65537 bytes");
    cw_body_free(body);
    cw_form_free(&form);
    free(text);
}

CHECK_MAIN(cmocka_unit_test(pieces_of_any_size_make_the_same_form), cmocka_unit_test(what_is_no_form_is_refused),
           cmocka_unit_test(too_much_is_dropped_then_cut), cmocka_unit_test(a_field_over_its_limit_is_named))
