/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/say.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/conversion.h"
#include "base/manner.h"
#include "base/utf8.h"

enum { FIELD_MOST = 512, SAY_MOST = 64 * 1024 };

typedef union {
    long long whole;
    double real;
    const char *text;
} argument;

static long long take_whole(const char *type, va_list *args)
{
    size_t length = strlen(type);
    bool is_signed = strchr("dic", type[length - 1]) != NULL;
    if (length > 1 && (type[0] == 'l' || type[0] == 'j' || type[0] == 'z' || type[0] == 't')) {
        _Static_assert(sizeof(long) == sizeof(long long) && sizeof(size_t) == sizeof(long),
                       "one size of wide argument");
        return va_arg(*args, long long);
    }
    return is_signed ? va_arg(*args, int) : (long long)va_arg(*args, unsigned);
}

static void take_arguments(int count, char types[][4], argument taken[], va_list *args)
{
    for (int i = 0; i < count; i++) {
        char letter = types[i][strlen(types[i]) - 1];
        if (letter == 's')
            taken[i].text = va_arg(*args, const char *);
        else if (strchr("eEfFgG", letter) != NULL)
            taken[i].real = va_arg(*args, double);
        else
            taken[i].whole = take_whole(types[i], args);
    }
}

void cw_tell(cw_buf *out, const char *text)
{
    if (!cw_sentence_of(text, out))
        cw_buf_text(out, text);
}

/* Flags, width and precision of a text field; -1: none. */
static void read_spec(const cw_conversion *c, bool *left, int *width, int *precision)
{
    const char *at = c->spec;
    size_t flags = strspn(at, "-+#0'");
    *left = memchr(at, '-', flags) != NULL;
    at += flags;
    *width = *precision = -1;
    int used = 0;
    if (sscanf(at, "%d%n", width, &used) == 1)
        at += used;
    if (*at == '.')
        (void)sscanf(at + 1, "%d", precision);
}

static void put_field(cw_buf *out, const cw_conversion *c, const char *text, bool told)
{
    bool left;
    int width, precision;
    read_spec(c, &left, &width, &precision);
    cw_buf field = cw_buf_new(SAY_MOST);
    char date[32];
    const char *own = text == NULL ? "" : cw_words_of(text);
    if (told && own == text)
        cw_tell(&field, text);
    else
        cw_buf_text(&field, own == text && cw_date_text(text, date, sizeof date) ? date : own);
    const char *whole = cw_buf_string(&field);
    size_t bytes = field.length;
    if (precision >= 0 && (size_t)precision < bytes)
        for (bytes = (size_t)precision; bytes > 0 && ((unsigned char)whole[bytes] & 0xc0) == 0x80;)
            bytes--;
    size_t long_is = cw_utf8_length(whole);
    for (size_t i = long_is; !left && width > 0 && i < (size_t)width; i++)
        cw_buf_char(out, ' ');
    cw_buf_add(out, whole, bytes);
    for (size_t i = long_is; left && width > 0 && i < (size_t)width; i++)
        cw_buf_char(out, ' ');
    cw_buf_free(&field);
}

/* The format is built here of flags, width and precision that were read, and a letter that fits the argument. */
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
static void put_number(cw_buf *out, const cw_conversion *c, argument arg)
{
    char format[32], text[FIELD_MOST];
    size_t spec = (size_t)(c->end - c->spec) - strlen(c->type);
    if (spec + 6 > sizeof format)
        return;
    char letter = c->type[strlen(c->type) - 1];
    if (c->converts == CW_CONVERTS_REAL) {
        snprintf(format, sizeof format, "%%%.*s%c", (int)spec, c->spec, letter);
        snprintf(text, sizeof text, format, arg.real);
        cw_comma_digits(text);
    } else if (c->converts == CW_CONVERTS_LETTER) {
        snprintf(text, sizeof text, "%c", (char)arg.whole);
    } else {
        snprintf(format, sizeof format, "%%%.*sll%c", (int)spec, c->spec, letter);
        snprintf(text, sizeof text, format, arg.whole);
    }
    cw_buf_text(out, text);
}
#pragma GCC diagnostic pop

/* The catalogue has formats without the space and line ends around them. NULL: there are none, or nothing was found. */
static char *translated_within_space(const char *format)
{
    size_t length = strlen(format), before = strspn(format, " \n"), after = 0;
    while (after < length - before && strchr(" \n", format[length - 1 - after]) != NULL)
        after++;
    if (before + after == 0 || before + after >= length || cw_words_of(format) != format)
        return NULL;
    const char *found = cw_words_find(cw_manner_now()->words, format + before, length - before - after);
    char *made = NULL;
    if (found == NULL || asprintf(&made, "%.*s%s%s", (int)before, format, found, format + length - after) < 0)
        return NULL;
    if (cw_words_same_arguments(format, made))
        return made;
    free(made);
    return NULL;
}

void cw_vsay(cw_buf *out, bool told, const char *format, va_list args)
{
    char types[CW_CONVERSIONS_MOST][4];
    argument taken[CW_CONVERSIONS_MOST];
    int count = cw_manner_is_plain() ? -1 : cw_format_arguments(format, types);
    if (count < 0) { /* no reader, or a star */
        cw_buf_vprintf(out, format, args);
        return;
    }
    va_list own;
    va_copy(own, args);
    take_arguments(count, types, taken, &own);
    va_end(own);
    char *made = translated_within_space(format);
    int in_order = 0;
    cw_conversion c;
    for (const char *at = made != NULL ? made : cw_words_format(format); *at != '\0';) {
        if (!cw_conversion_read(at, &c)) {
            at += at[0] == '%' && at[1] == '%';
            cw_buf_char(out, *at++);
            continue;
        }
        argument arg = taken[c.position > 0 ? c.position - 1 : in_order++];
        if (c.converts == CW_CONVERTS_TEXT)
            put_field(out, &c, arg.text, told);
        else
            put_number(out, &c, arg);
        at = c.end;
    }
    free(made);
}

void cw_say(cw_buf *out, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    cw_vsay(out, false, format, args);
    va_end(args);
}

void cw_say_told(cw_buf *out, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    cw_vsay(out, true, format, args);
    va_end(args);
}
