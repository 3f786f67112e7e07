/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/utf8.h"

#include <string.h>

#include "support/check.h"

/* The Unicode Standard 15.0, table 3-7 (well-formed byte sequences): first and last of each row, and what lies outside.
 */
static void well_formed_sequences_are_read_and_others_are_not(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        size_t length;
        uint32_t code;
    } rows[] = {
        {"A", 1, 0x41},
        {"\x7f", 1, 0x7f},
        {"\xc2\x80", 2, 0x80},
        {"\xdf\xbf", 2, 0x7ff},
        {"\xe0\xa0\x80", 3, 0x800},
        {"\xed\x9f\xbf", 3, 0xd7ff},
        {"\xee\x80\x80", 3, 0xe000},
        {"\xef\xbf\xbf", 3, 0xffff},
        {"\xf0\x90\x80\x80", 4, 0x10000},
        {"\xf4\x8f\xbf\xbf", 4, 0x10ffff},
        {"\x80", 1, 0xfffd},             /* a trail alone */
        {"\xc0\xaf", 1, 0xfffd},         /* overlong */
        {"\xc1\xbf", 1, 0xfffd},         /* overlong */
        {"\xe0\x9f\xbf", 1, 0xfffd},     /* overlong */
        {"\xf0\x8f\xbf\xbf", 1, 0xfffd}, /* overlong */
        {"\xed\xa0\x80", 1, 0xfffd},     /* a surrogate */
        {"\xf4\x90\x80\x80", 1, 0xfffd}, /* above the last character */
        {"\xf8\x88\x80\x80\x80", 1, 0xfffd},
        {"\xe2\x82", 1, 0xfffd},     /* cut by the end */
        {"\xe2\x41\x82", 1, 0xfffd}, /* cut by a letter */
        {"\xff", 1, 0xfffd},
        {"", 0, 0},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        uint32_t code;
        size_t length = cw_utf8_next(rows[i].bytes, &code);
        if (length != rows[i].length || code != rows[i].code)
            fail_msg("row %zu: length %zu, code %x", i, length, (unsigned)code);
    }
    assert_int_equal(cw_utf8_length("a\xc3\xa9\xff\xf0\x9f\x94\xa7"), 4);
}

static void texts_are_made_safe(void **state)
{
    (void)state;
    cw_buf out = cw_buf_new(1000);
    cw_utf8_clean(&out, "a\nb\t\x1b[1m\x7f\xc2\x85 \xe2\x82|\xef\xbf\xbe");
    assert_string_equal(out.text, "a b  [1m   \xef\xbf\xbd\xef\xbf\xbd| ");
    cw_buf_free(&out);
    cw_utf8_clean_lines(&out, "a\nb\r\n");
    assert_string_equal(out.text, "a\nb \n");
    cw_buf_free(&out);
    cw_xml_text(&out, "<a href='x'>\"&\xff");
    assert_string_equal(out.text, "&lt;a href=&#39;x&#39;&gt;&quot;&amp;\xef\xbf\xbd");
    cw_buf_free(&out);
    cw_utf8_clean(&out, NULL);
    assert_int_equal(out.length, 0);
    cw_buf small = cw_buf_new(4);
    cw_xml_text(&small, "too long");
    assert_true(small.failed);
    cw_buf_free(&small);
}

CHECK_MAIN(cmocka_unit_test(well_formed_sequences_are_read_and_others_are_not), cmocka_unit_test(texts_are_made_safe))
