/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/figure.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/manner.h"
#include "base/unit.h"

enum { NUMBER_MOST = 40 };
#define MM_PER_INCH 25.4
static const char minus[] = "\xe2\x88\x92";

static size_t digits_at(const char *text, size_t length)
{
    size_t n = 0;
    while (n < length && isdigit((unsigned char)text[n]))
        n++;
    return n;
}

static size_t sign_at(const char *text, size_t length)
{
    if (length > 0 && (text[0] == '-' || text[0] == '+'))
        return 1;
    return length >= sizeof minus - 1 && memcmp(text, minus, sizeof minus - 1) == 0 ? sizeof minus - 1 : 0;
}

static bool begins(const char *text, size_t length, const char *with)
{
    return length >= strlen(with) && memcmp(text, with, strlen(with)) == 0;
}

size_t cw_figure_span(const char *text, size_t length, bool real)
{
    size_t at = sign_at(text, length), whole = digits_at(text + at, length - at);
    if (real && (begins(text + at, length - at, "nan") || begins(text + at, length - at, "inf")))
        return at + 3;
    if (whole == 0)
        return 0;
    at += whole;
    if (real && at + 1 < length && (text[at] == '.' || text[at] == ',') && isdigit((unsigned char)text[at + 1]))
        at += 1 + digits_at(text + at + 1, length - at - 1);
    if (real && at + 1 < length && text[at] == 'e') {
        size_t sign = text[at + 1] == '-' || text[at + 1] == '+';
        size_t power = digits_at(text + at + 1 + sign, length - at - 1 - sign);
        at += power > 0 ? 1 + sign + power : 0;
    }
    return at;
}

size_t cw_figure_hex_span(const char *text, size_t length)
{
    size_t n = 0;
    while (n < length && isxdigit((unsigned char)text[n]))
        n++;
    return n;
}

bool cw_figure_is_number(const char *text, size_t length)
{
    return length > 0 && cw_figure_span(text, length, true) == length;
}

/* The number in mm as one in inches, with its sign as it was. */
static void put_inches(const char *text, size_t length, char *out, size_t size)
{
    char plain[NUMBER_MOST];
    size_t sign = sign_at(text, length), decimals = 0, used = length - sign;
    memcpy(plain, text + sign, used);
    plain[used] = '\0';
    char *point = strpbrk(plain, ".,");
    if (point != NULL) {
        *point = '.';
        decimals = digits_at(point + 1, strlen(point + 1));
    }
    snprintf(out, size, "%.*s%.*f", (int)sign, text, (int)decimals + 2, strtod(plain, NULL) / MM_PER_INCH);
}

void cw_figure_number(const char *text, size_t length, bool comma, bool from_mm, cw_buf *out)
{
    char number[2 * NUMBER_MOST];
    size_t spaces = 0;
    while (spaces < length && text[spaces] == ' ')
        spaces++;
    cw_buf_add(out, text, spaces);
    text += spaces;
    length -= spaces;
    if (length >= NUMBER_MOST || digits_at(text + sign_at(text, length), length - sign_at(text, length)) == 0) {
        cw_buf_add(out, text, length);
        return;
    }
    if (from_mm)
        put_inches(text, length, number, sizeof number);
    else
        snprintf(number, sizeof number, "%.*s", (int)length, text);
    for (char *at = number; comma && *at != '\0'; at++)
        *at = *at == '.' ? ',' : *at;
    cw_buf_text(out, number);
}

/* A unit at the end of a figure: any the program knows. */
static bool is_unit(const char *text, size_t length)
{
    char name[16];
    if (length == 0 || length >= sizeof name)
        return false;
    memcpy(name, text, length);
    name[length] = '\0';
    if (strcmp(name, "%") == 0)
        return true;
    for (int dimension = 0; dimension < CW_DIMENSION_COUNT; dimension++)
        if (cw_unit_find((cw_dimension)dimension, name) != NULL)
            return true;
    return false;
}

/* What may stand between two numbers of one figure. */
static size_t joint_at(const char *text, size_t length)
{
    static const char *const joints[] = {" \xc2\xb1 ", " / ", " x ", " \xc3\x97 ", "/", "-", "x", "\xc3\x97", ":", " "};
    for (size_t i = 0; i < CW_COUNT(joints); i++)
        if (begins(text, length, joints[i]))
            return strlen(joints[i]);
    return 0;
}

/* The end of the numbers, and in `mm` whether a unit of mm follows; 0: no figure. */
static size_t numbers_end(const char *text, size_t length, bool *mm)
{
    size_t at = cw_figure_span(text, length, true);
    while (at > 0 && at < length) {
        size_t joint = joint_at(text + at, length - at);
        size_t next = joint > 0 ? cw_figure_span(text + at + joint, length - at - joint, true) : 0;
        if (next == 0)
            break;
        at += joint + next;
    }
    size_t unit = at + (at < length && text[at] == ' ');
    *mm = length - unit == 2 && memcmp(text + unit, "mm", 2) == 0;
    bool whole = at == length || is_unit(text + unit, length - unit);
    return at > 0 && whole ? at : 0;
}

static bool put_date(const char *text, size_t length, cw_buf *out)
{
    char plain[24], date[32];
    if (length < 10 || length >= sizeof plain)
        return false;
    memcpy(plain, text, length);
    plain[length] = '\0';
    if (!cw_date_text(plain, date, sizeof date))
        return false;
    cw_buf_text(out, date);
    return true;
}

bool cw_figure_put(const char *text, size_t length, bool comma, bool inches, cw_buf *out)
{
    if (length == 0 || put_date(text, length, out))
        return true;
    bool mm;
    size_t end = numbers_end(text, length, &mm);
    if (end == 0)
        return false;
    for (size_t at = 0; at < end;) {
        size_t number = cw_figure_span(text + at, end - at, true);
        if (number > 0) {
            cw_figure_number(text + at, number, comma, mm && inches, out);
            at += number;
        } else {
            cw_buf_char(out, text[at++]);
        }
    }
    if (mm && inches)
        cw_buf_text(out, " in");
    else
        cw_buf_add(out, text + end, length - end);
    return true;
}
