/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/html.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "base/manner.h"
#include "base/say.h"
#include "base/utf8.h"
#include "web/html_words.h"

cw_html cw_html_new(void)
{
    return (cw_html){.buf = cw_buf_new(CW_HTML_MOST)};
}

void cw_html_free(cw_html *h)
{
    if (h != NULL)
        cw_buf_free(&h->buf);
}

void cw_html_literal(cw_html *h, const char *literal, size_t length)
{
    if (cw_manner_now()->words != NULL)
        cw_html_words(h, literal, length);
    else
        cw_buf_add(&h->buf, literal, length);
}

static const char *escape_of(uint32_t code)
{
    switch (code) {
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '&':
        return "&amp;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    default:
        return NULL;
    }
}

void cw_html_escaped(cw_html *h, const char *text)
{
    const char *plain = text, *at = text;
    while (*at != '\0') {
        uint32_t code;
        size_t length = cw_utf8_next(at, &code);
        bool broken = code == 0xFFFD && length == 1;
        bool control = (code < 0x20 && code != '\t' && code != '\n' && code != '\r') || code == 0x7f;
        const char *instead = broken || control ? "\xEF\xBF\xBD" : escape_of(code);
        if (instead != NULL) {
            cw_buf_add(&h->buf, plain, (size_t)(at - plain));
            cw_buf_text(&h->buf, instead);
            at += length;
            plain = at;
        } else {
            at += length;
        }
    }
    cw_buf_add(&h->buf, plain, (size_t)(at - plain));
}

void html_text(cw_html *h, const char *text)
{
    if (text == NULL)
        return;
    char date[32];
    cw_html_escaped(h, cw_date_text(text, date, sizeof date) ? date : cw_words_of(text));
}

void html_said(cw_html *h, const char *text)
{
    cw_buf told = cw_buf_new(CW_HTML_MOST);
    if (text != NULL && cw_words_of(text) == text && cw_sentence_of(text, &told))
        cw_html_escaped(h, cw_buf_string(&told));
    else
        html_text(h, text);
    h->buf.failed = h->buf.failed || told.failed;
    cw_buf_free(&told);
}

static void write_sentence(cw_html *h, const char *text)
{
    char first[2] = {text[0], '\0'};
    if (first[0] >= 'a' && first[0] <= 'z')
        first[0] = (char)(first[0] - 'a' + 'A');
    if ((unsigned char)text[0] < 0x80 && text[0] != '\0') {
        cw_html_escaped(h, first);
        cw_html_escaped(h, text + 1);
    } else {
        cw_html_escaped(h, text);
    }
    size_t length = strlen(text);
    if (length > 0 && strchr(".?!:", text[length - 1]) == NULL)
        html_markup(h, ".");
}

void html_sentence(cw_html *h, const char *text)
{
    cw_buf told = cw_buf_new(CW_HTML_MOST);
    const char *own = cw_words_of(text);
    write_sentence(h, own == text && cw_sentence_of(text, &told) ? cw_buf_string(&told) : own);
    cw_buf_free(&told);
}

static void text_of(cw_html *h, bool told, const char *format, va_list args)
{
    cw_buf text = cw_buf_new(CW_HTML_MOST);
    cw_vsay(&text, told, format, args);
    cw_html_escaped(h, cw_buf_string(&text));
    h->buf.failed = h->buf.failed || text.failed;
    cw_buf_free(&text);
}

static void attribute_of(cw_html *h, const char *format, va_list args)
{
    cw_buf text = cw_buf_new(CW_HTML_MOST);
    cw_buf_vprintf(&text, format, args);
    cw_html_escaped(h, cw_buf_string(&text));
    h->buf.failed = h->buf.failed || text.failed;
    cw_buf_free(&text);
}

void html_textf(cw_html *h, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    text_of(h, false, format, args);
    va_end(args);
}

void html_saidf(cw_html *h, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    text_of(h, true, format, args);
    va_end(args);
}

/* The attributes that a person reads or hears. */
static bool is_read(const char *name, size_t length)
{
    static const char *const names[] = {"aria-label", "title", "alt", "placeholder"};
    for (size_t i = 0; i < CW_COUNT(names); i++)
        if (strlen(names[i]) == length && strncmp(names[i], name, length) == 0)
            return true;
    return false;
}

void cw_html_attribute(cw_html *h, const char *name, size_t length, const char *value)
{
    if (value == NULL)
        return;
    cw_buf_char(&h->buf, ' ');
    cw_buf_add(&h->buf, name, length);
    cw_buf_text(&h->buf, "='");
    cw_html_escaped(h, is_read(name, length) ? cw_words_of(value) : value);
    cw_buf_char(&h->buf, '\'');
}

void cw_html_attributef(cw_html *h, const char *name, size_t length, const char *format, ...)
{
    cw_buf_char(&h->buf, ' ');
    cw_buf_add(&h->buf, name, length);
    cw_buf_text(&h->buf, "='");
    va_list args;
    va_start(args, format);
    if (is_read(name, length))
        text_of(h, false, format, args);
    else
        attribute_of(h, format, args);
    va_end(args);
    cw_buf_char(&h->buf, '\'');
}

void html_url_part(cw_html *h, const char *text)
{
    static const char digits[] = "0123456789ABCDEF";
    for (const char *at = text; *at != '\0'; at++) {
        unsigned char c = (unsigned char)*at;
        bool plain =
            (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || strchr("-._~", c) != NULL;
        if (plain) {
            cw_buf_char(&h->buf, *at);
        } else {
            cw_buf_char(&h->buf, '%');
            cw_buf_char(&h->buf, digits[c >> 4]);
            cw_buf_char(&h->buf, digits[c & 15]);
        }
    }
}

void html_ev(cw_html *h, double ev)
{
    char text[CW_QUANTITY_TEXT];
    cw_signed_ev_text(ev, text, sizeof text);
    html_text(h, text);
}

void html_shutter_time(cw_html *h, double seconds)
{
    char text[CW_QUANTITY_TEXT];
    cw_shutter_time_text(seconds, text, sizeof text);
    html_text(h, text);
}

void html_quantity(cw_html *h, cw_quantity q, const cw_unit *unit, int figures)
{
    char text[CW_QUANTITY_TEXT];
    cw_quantity_text(q, unit, figures, text, sizeof text);
    html_text(h, text);
}

void html_number(cw_html *h, double value, int figures)
{
    char text[CW_QUANTITY_TEXT];
    cw_number_text(value, figures, text, sizeof text);
    html_text(h, text);
}

cw_status cw_html_take(cw_html *h, char **text, size_t *length, cw_error *err)
{
    if (h->trouble.status != CW_OK) {
        *err = h->trouble;
        return err->status;
    }
    size_t written = h->buf.length;
    CW_TRY(cw_buf_take(&h->buf, text, err));
    *length = written;
    return CW_OK;
}
