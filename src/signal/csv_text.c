/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The text of a CSV, whatever its encoding: byte order marks taken off, UTF-16 turned into UTF-8, blanks and minus
 * signs made those of ASCII. */
#include <stdlib.h>
#include <string.h>

#include "signal/csv.h"

static bool begins(const char *bytes, size_t count, const char *mark, size_t length)
{
    return count >= length && memcmp(bytes, mark, length) == 0;
}

/* Without a mark: letters and digits have one of their two bytes zero, always the same one. */
static bool has_zeros_at(const unsigned char *bytes, size_t count, size_t odd)
{
    enum { LOOKED_AT = 64, LEAST = 16 };
    count = count < LOOKED_AT ? count & ~(size_t)1 : LOOKED_AT;
    size_t zeros = 0;
    for (size_t i = 0; i < count; i++) {
        if (i % 2 != odd && bytes[i] == 0)
            return false;
        zeros += bytes[i] == 0;
    }
    return count >= LEAST && zeros + 2 >= count / 2; /* a micro sign of Greek has none */
}

cw_csv_utf16 cw_csv_find_utf16(const unsigned char *bytes, size_t count)
{
    if (begins((const char *)bytes, count, "\xff\xfe", 2) || has_zeros_at(bytes, count, 1))
        return CW_CSV_UTF16_LE;
    if (begins((const char *)bytes, count, "\xfe\xff", 2) || has_zeros_at(bytes, count, 0))
        return CW_CSV_UTF16_BE;
    return CW_CSV_NO_UTF16;
}

/* At most three bytes. Halves of a character beyond U+FFFF become "?": no number or unit lies there. */
static size_t put(char *out, unsigned unit)
{
    if (unit < 0x80) {
        out[0] = (char)unit;
        return 1;
    }
    if (unit < 0x800) {
        out[0] = (char)(0xc0 | unit >> 6);
        out[1] = (char)(0x80 | (unit & 0x3f));
        return 2;
    }
    if (unit >= 0xd800 && unit < 0xe000) {
        out[0] = '?';
        return 1;
    }
    out[0] = (char)(0xe0 | unit >> 12);
    out[1] = (char)(0x80 | (unit >> 6 & 0x3f));
    out[2] = (char)(0x80 | (unit & 0x3f));
    return 3;
}

static cw_status from_utf16(char **bytes, size_t *count, size_t high, cw_error *err)
{
    const unsigned char *in = (const unsigned char *)*bytes;
    size_t n = 0;
    char *out = malloc(*count / 2 * 3 + 1);
    if (out == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to read text in UTF-16");
    for (size_t i = 0; i + 1 < *count; i += 2) {
        unsigned unit = (unsigned)in[i + high] << 8 | in[i + 1 - high];
        if (unit != 0xfeff)
            n += put(out + n, unit);
    }
    free(*bytes);
    *bytes = out;
    *count = n;
    return CW_OK;
}

/* What the bytes at text[at] stand for in ASCII ('-' or ' '), and how many they are; 0 for anything else. */
static size_t plain_sign(const unsigned char *text, size_t left, char *sign)
{
    static const struct {
        const char *bytes, *means;
    } signs[] = {{"\xe2\x88\x92", "-"}, /* U+2212 minus */
                 {"\xe2\x80\x89", " "}, /* U+2009 thin space, between groups of digits */
                 {"\xe2\x80\xaf", " "}, /* U+202F narrow no-break space */
                 {"\xc2\xa0", " "}};    /* U+00A0 no-break space */
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        size_t n = strlen(signs[i].bytes);
        if (left >= n && memcmp(text, signs[i].bytes, n) == 0) {
            *sign = signs[i].means[0];
            return n;
        }
    }
    *sign = ' ';
    return left > 0 && *text == 0xa0; /* the no-break space of ISO 8859-1 */
}

static void make_plain(char *text, size_t *count)
{
    size_t to = 0;
    for (size_t at = 0; at < *count;) {
        unsigned char c = (unsigned char)text[at];
        char sign;
        size_t n = c >= 0xa0 ? plain_sign((const unsigned char *)text + at, *count - at, &sign) : 0;
        /* a byte that goes on with a character of UTF-8 is none of ISO 8859-1 */
        if (n == 1 && at > 0 && (unsigned char)text[at - 1] >= 0x80)
            n = 0;
        text[to++] = n > 0 ? sign : text[at];
        at += n > 0 ? n : 1;
    }
    *count = to;
}

static bool is_ascii(const char *text, size_t count)
{
    unsigned char all = 0;
#pragma omp simd reduction(| : all)
    for (size_t i = 0; i < count; i++)
        all |= (unsigned char)text[i];
    return all < 0x80;
}

cw_status cw_csv_plain_text(char **bytes, size_t *count, cw_error *err)
{
    cw_csv_utf16 utf16 = cw_csv_find_utf16((const unsigned char *)*bytes, *count);
    if (utf16 != CW_CSV_NO_UTF16)
        CW_TRY(from_utf16(bytes, count, utf16 == CW_CSV_UTF16_LE ? 1 : 0, err));
    if (begins(*bytes, *count, "\xef\xbb\xbf", 3)) {
        *count -= 3;
        memmove(*bytes, *bytes + 3, *count);
    }
    /* old programs end a text with control-Z, some instruments fill up their last block */
    while (*count > 0 && ((*bytes)[*count - 1] == '\0' || (*bytes)[*count - 1] == 0x1a))
        --*count;
    if (!is_ascii(*bytes, *count))
        make_plain(*bytes, count);
    return CW_OK;
}
