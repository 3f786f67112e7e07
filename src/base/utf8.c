/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/utf8.h"

#include <string.h>

static const uint32_t REPLACEMENT = 0xfffd;

static int is_trail(unsigned char byte)
{
    return (byte & 0xc0) == 0x80;
}

size_t cw_utf8_next(const char *text, uint32_t *code)
{
    const unsigned char *b = (const unsigned char *)text;
    *code = b[0];
    if (b[0] == 0)
        return 0;
    if (b[0] < 0x80)
        return 1;
    static const struct {
        unsigned char lead, mask;
        uint32_t least; /* below it the form is overlong */
    } forms[] = {{0xc0, 0x1f, 0x80}, {0xe0, 0x0f, 0x800}, {0xf0, 0x07, 0x10000}};
    for (size_t i = 0; i < CW_COUNT(forms); i++) {
        if ((b[0] & (unsigned char)~forms[i].mask) != forms[i].lead)
            continue;
        uint32_t value = b[0] & forms[i].mask;
        size_t length = i + 2;
        for (size_t k = 1; k < length; k++) {
            if (!is_trail(b[k])) {
                *code = REPLACEMENT;
                return 1;
            }
            value = value << 6 | (b[k] & 0x3f);
        }
        if (value < forms[i].least || value > 0x10ffff || (value >= 0xd800 && value <= 0xdfff))
            break;
        *code = value;
        return length;
    }
    *code = REPLACEMENT;
    return 1;
}

size_t cw_utf8_length(const char *text)
{
    size_t count = 0, step;
    for (uint32_t code; (step = cw_utf8_next(text, &code)) > 0; text += step)
        count++;
    return count;
}

/* C0 and C1 controls, and what XML 1.0 has no place for. */
static int is_control(uint32_t code)
{
    return code < 0x20 || (code >= 0x7f && code <= 0x9f) || code == 0xfffe || code == 0xffff;
}

static void clean(cw_buf *out, const char *text, int keep_lines)
{
    if (text == NULL)
        return;
    size_t step;
    for (uint32_t code; (step = cw_utf8_next(text, &code)) > 0; text += step) {
        if (code == '\n' && keep_lines)
            cw_buf_char(out, '\n');
        else if (is_control(code))
            cw_buf_char(out, ' ');
        else if (code == REPLACEMENT)
            cw_buf_text(out, "\xef\xbf\xbd");
        else
            cw_buf_add(out, text, step);
    }
}

void cw_utf8_clean(cw_buf *out, const char *text)
{
    clean(out, text, 0);
}

void cw_utf8_clean_lines(cw_buf *out, const char *text)
{
    clean(out, text, 1);
}

void cw_xml_text(cw_buf *out, const char *text)
{
    cw_buf tidy = cw_buf_new(out->ceiling);
    cw_utf8_clean(&tidy, text);
    if (tidy.failed)
        out->failed = true;
    for (const char *at = cw_buf_string(&tidy); *at != '\0'; at++) {
        switch (*at) {
        case '<':
            cw_buf_text(out, "&lt;");
            break;
        case '>':
            cw_buf_text(out, "&gt;");
            break;
        case '&':
            cw_buf_text(out, "&amp;");
            break;
        case '"':
            cw_buf_text(out, "&quot;");
            break;
        case '\'':
            cw_buf_text(out, "&#39;");
            break;
        default:
            cw_buf_char(out, *at);
        }
    }
    cw_buf_free(&tidy);
}
