/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "web/form.h"
#include "web/html.h"

static void page_is(cw_html *h, const char *expected)
{
    cw_error err = {0};
    char *text = NULL;
    size_t length = 0;
    assert_ok(cw_html_take(h, &text, &length, &err), &err);
    assert_string_equal(text, expected);
    assert_int_equal(length, strlen(expected));
    free(text);
}

static void text_is_always_escaped(void **state)
{
    (void)state;
    cw_html h = cw_html_new();
    html_markup(&h, "<p>");
    html_text(&h, "<script>alert(\"1\" & '2')</script>");
    html_markup(&h, "</p>");
    page_is(&h, "<p>&lt;script&gt;alert(&quot;1&quot; &amp; &#39;2&#39;)&lt;/script&gt;</p>");
}

static void an_attribute_cannot_be_left(void **state)
{
    (void)state;
    cw_html h = cw_html_new();
    html_markup(&h, "<a");
    html_attr(&h, "title", "x' onclick='go()");
    html_attr(&h, "missing", NULL);
    html_attrf(&h, "href", "/jobs/%d?q=%s", 7, "\"'>");
    html_flag(&h, "hidden", true);
    html_flag(&h, "inert", false);
    html_markup(&h, ">");
    page_is(&h, "<a title='x&#39; onclick=&#39;go()' href='/jobs/7?q=&quot;&#39;&gt;' hidden>");
}

static void formatted_text_is_escaped_after_formatting(void **state)
{
    (void)state;
    cw_html h = cw_html_new();
    html_textf(&h, "%s %d", "<b>", 3);
    page_is(&h, "&lt;b&gt; 3");
}

static void what_is_no_text_becomes_a_replacement(void **state)
{
    (void)state;
    cw_html h = cw_html_new();
    html_text(&h, "a\x01z \xC3\x28 \xED\xA0\x80 \xC3\xA4\n\x7f");
    page_is(&h, "a\xEF\xBF\xBDz \xEF\xBF\xBD( \xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD \xC3\xA4\n\xEF\xBF\xBD");
}

static void a_url_part_holds_no_separator(void **state)
{
    (void)state;
    cw_html h = cw_html_new();
    html_url_part(&h, "a b/c?d&e=f#\xC3\xA4~-._");
    page_is(&h, "a%20b%2Fc%3Fd%26e%3Df%23%C3%A4~-._");
}

static void numbers_are_written_for_people(void **state)
{
    (void)state;
    cw_html h = cw_html_new();
    html_ev(&h, 0.147);
    html_markup(&h, "|");
    html_ev(&h, NAN);
    html_markup(&h, "|");
    html_shutter_time(&h, 0.00443);
    page_is(&h, "+0.15 EV|not known|1/226 s");
}

static void an_error_is_a_sentence_on_the_page(void **state)
{
    (void)state;
    cw_html h = cw_html_new();
    html_sentence(&h, "the field \"a\" is <too> long");
    html_markup(&h, "|");
    html_sentence(&h, "1/0 is no time; what is it?");
    html_markup(&h, "|");
    html_sentence(&h, "\xC3\xA4 b.");
    html_sentence(&h, "");
    page_is(&h, "The field &quot;a&quot; is &lt;too&gt; long.|1/0 is no time; what is it?|\xC3\xA4 b.");
}

static void a_page_over_its_ceiling_is_an_error_not_a_piece(void **state)
{
    (void)state;
    cw_html h = cw_html_new();
    h.buf.ceiling = 10;
    cw_error err = {0};
    char *text = NULL;
    size_t length;
    html_text(&h, "eleven long");
    html_text(&h, "x");
    assert_fails(cw_html_take(&h, &text, &length, &err), CW_MEMORY, &err, "does not fit");
    assert_null(text);
    cw_html_free(&h);
}

/* RFC 3629, section 4: the edges of each row of the table of well-formed sequences, and their neighbours. */
static void utf8_keeps_to_rfc_3629(void **state)
{
    (void)state;
    static const char *const good[] = {"\x7F",         "\xC2\x80",         "\xDF\xBF",
                                       "\xE0\xA0\x80", "\xED\x9F\xBF",     "\xEE\x80\x80",
                                       "\xEF\xBF\xBF", "\xF0\x90\x80\x80", "\xF4\x8F\xBF\xBF"};
    static const char *const bad[] = {"\x80",
                                      "\xC1\xBF",
                                      "\xC2",
                                      "\xC2\x7F",
                                      "\xE0\x9F\xBF",
                                      "\xED\xA0\x80",
                                      "\xF0\x8F\xBF\xBF",
                                      "\xF4\x90\x80\x80",
                                      "\xF5\x80\x80\x80",
                                      "\xE2\x82"};
    for (size_t i = 0; i < CW_COUNT(good); i++)
        assert_true(cw_is_text(good[i]));
    for (size_t i = 0; i < CW_COUNT(bad); i++)
        assert_false(cw_is_text(bad[i]));
    assert_true(cw_is_text(""));
}

CHECK_MAIN(cmocka_unit_test(text_is_always_escaped), cmocka_unit_test(an_attribute_cannot_be_left),
           cmocka_unit_test(formatted_text_is_escaped_after_formatting),
           cmocka_unit_test(what_is_no_text_becomes_a_replacement), cmocka_unit_test(a_url_part_holds_no_separator),
           cmocka_unit_test(numbers_are_written_for_people), cmocka_unit_test(an_error_is_a_sentence_on_the_page),
           cmocka_unit_test(a_page_over_its_ceiling_is_an_error_not_a_piece), cmocka_unit_test(utf8_keeps_to_rfc_3629))
