/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cells that are no plain numbers and yet have one meaning: "1.23 mV", "1,234.5", "0x1F", "High", "12:33:04.5", "OVER".
 */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "signal/csv.h"

static bool is_one_of(const char *word, const char *const *words, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(word, words[i]) == 0)
            return true;
    return false;
}

/* The cell in small letters, "" when it does not fit. */
static void small_letters(cw_csv_cell cell, char *out, size_t size)
{
    size_t n = cell.length < size ? cell.length : 0;
    for (size_t i = 0; i < n; i++)
        out[i] = (char)tolower((unsigned char)cell.text[i]);
    out[n] = '\0';
}

bool cw_csv_is_missing(cw_csv_cell cell)
{
    static const char *const words[] = {"nan",   "-nan", "+nan", "1.#qnan", "-1.#ind", "n/a",    "#n/a",
                                        "na",    "null", "none", "-",       "--",      "---",    "----",
                                        "-----", "?",    "*",    "***",     "...",     "invalid"};
    char word[16];
    small_letters(cell, word, sizeof word);
    return cell.length == 0 || is_one_of(word, words, CW_COUNT(words));
}

/* Beyond the range, above (1) or below (-1); 0: neither. */
static int beyond_range(const char *word)
{
    static const char *const over[] = {"over", "ovr",     "overflow",     "over range", "overrange", "overload",
                                       "o.l",  "ovld",    "+over",        "ol",         "+ol",       "o.l.",
                                       "0l",   "inf",     "+inf",         "infinity",   "+infinity", "1.#inf",
                                       "clip", "clipped", "\xe2\x88\x9e", "+overflow"};
    static const char *const under[] = {"under",   "underflow", "under range",   "underrange",
                                        "-over",   "-ol",       "-inf",          "-infinity",
                                        "-1.#inf", "unr",       "-\xe2\x88\x9e", "-overflow"};
    return is_one_of(word, over, CW_COUNT(over)) ? 1 : is_one_of(word, under, CW_COUNT(under)) ? -1 : 0;
}

/* Words of a logic line: 0, 1, or -1 for none. */
static int level_of(const char *word)
{
    static const char *const lows[] = {"low", "l", "false", "off"}, *const highs[] = {"high", "h", "true", "on"};
    return is_one_of(word, lows, CW_COUNT(lows)) ? 0 : is_one_of(word, highs, CW_COUNT(highs)) ? 1 : -1;
}

/* Bytes of a mark between groups of three digits, 0 for none: "1,234.5", "1.234,5", "1'234.5", "1 234,5". */
static size_t group_mark(cw_csv_cell cell, size_t at, char decimal)
{
    char c = cell.text[at];
    if (c == '\'' || c == ' ' || (c == ',' && decimal == '.') || (c == '.' && decimal == ','))
        return 1;
    return cell.length - at > 3 && memcmp(cell.text + at, "\xe2\x80\x99", 3) == 0 ? 3 : 0;
}

static bool grouped_number(cw_csv_cell cell, char decimal, double *value, double *step)
{
    char text[48];
    size_t n = 0, at = 0, in_group = 0, groups = 0;
    while (at < cell.length && n + 1 < sizeof text && cell.text[at] != decimal &&
           tolower((unsigned char)cell.text[at]) != 'e') {
        size_t mark = in_group > 0 ? group_mark(cell, at, decimal) : 0;
        if (mark > 0 && (groups == 0 ? in_group > 3 : in_group != 3))
            return false;
        if (mark > 0 && groups == 0 && in_group == 1 && cell.text[at - 1] == '0')
            return false; /* "0,125" is less than one, not a hundred and twenty-five */
        if (mark > 0) {
            groups++;
            in_group = 0;
            at += mark;
            continue;
        }
        in_group += isdigit((unsigned char)cell.text[at]) != 0;
        text[n++] = cell.text[at++];
    }
    if (groups == 0 || in_group != 3 || n + (cell.length - at) >= sizeof text)
        return false;
    memcpy(text + n, cell.text + at, cell.length - at);
    return cw_csv_number((cw_csv_cell){text, n + cell.length - at}, decimal, value, step);
}

/* "0x1F": as an instrument writes what its converter counted. */
static bool hex_number(cw_csv_cell cell, double *value)
{
    if (cell.length < 3 || cell.length > 15 || cell.text[0] != '0' || tolower((unsigned char)cell.text[1]) != 'x')
        return false;
    double sum = 0;
    for (size_t i = 2; i < cell.length; i++) {
        char c = (char)tolower((unsigned char)cell.text[i]);
        if (!isxdigit((unsigned char)c))
            return false;
        sum = sum * 16 + (isdigit((unsigned char)c) ? c - '0' : c - 'a' + 10);
    }
    *value = sum;
    return true;
}

/* "1.25D-05", as Fortran writes it. */
static bool d_exponent(cw_csv_cell cell, char decimal, double *value, double *step)
{
    char text[48];
    if (cell.length >= sizeof text || cell.length < 3 ||
        (memchr(cell.text, 'D', cell.length) == NULL && memchr(cell.text, 'd', cell.length) == NULL))
        return false;
    size_t letters = 0;
    for (size_t i = 0; i < cell.length; i++) {
        bool is_d = cell.text[i] == 'D' || cell.text[i] == 'd';
        letters += is_d;
        text[i] = is_d ? 'e' : cell.text[i];
    }
    return letters == 1 && cw_csv_number((cw_csv_cell){text, cell.length}, decimal, value, step);
}

bool cw_csv_any_number(cw_csv_cell cell, char decimal, bool groups, double *value, double *step)
{
    if (cw_csv_number(cell, decimal, value, step) || (groups && grouped_number(cell, decimal, value, step)) ||
        d_exponent(cell, decimal, value, step))
        return true;
    if (!hex_number(cell, value))
        return false;
    if (step != NULL)
        *step = 1;
    return true;
}

/* A number with a unit behind it. */
static bool number_with_unit(cw_csv_cell cell, const cw_csv_layout *layout, cw_csv_value *v)
{
    size_t n = cell.length;
    while (n > 0 && !isdigit((unsigned char)cell.text[n - 1]) && cell.text[n - 1] != layout->decimal)
        n--;
    char unit[16];
    cw_csv_cell front = {cell.text, n};
    cw_csv_plain_words((cw_csv_cell){cell.text + n, cell.length - n}, unit, sizeof unit);
    if (n == 0 || unit[0] == '\0' || cell.length - n + 1 > sizeof unit ||
        !cw_csv_any_number(front, layout->decimal, layout->groups, &v->value, &v->step))
        return false;
    double seconds = cw_csv_unit_of_time(unit), signal = cw_csv_unit_of_signal(unit, &v->is_volts);
    if (seconds == 0 && signal == 0)
        return false;
    v->kind = seconds > 0 ? CW_CSV_SECONDS : CW_CSV_SIGNAL;
    v->value = cw_csv_scaled(v->value, seconds > 0 ? seconds : signal);
    v->step *= seconds > 0 ? seconds : signal;
    return true;
}

/* At most two digits at the front, as a number below `limit`. */
static bool take_two(cw_csv_cell *cell, int limit, int *number)
{
    size_t n = 0;
    *number = 0;
    while (n < cell->length && n < 3 && isdigit((unsigned char)cell->text[n]))
        *number = *number * 10 + (cell->text[n++] - '0');
    *cell = (cw_csv_cell){cell->text + n, cell->length - n};
    return n >= 1 && n <= 2 && *number < limit;
}

static bool take_mark(cw_csv_cell *cell, char mark)
{
    if (cell->length == 0 || *cell->text != mark)
        return false;
    *cell = (cw_csv_cell){cell->text + 1, cell->length - 1};
    return true;
}

/* ".123456" or ",123456" behind the seconds. */
static double take_fraction(cw_csv_cell *cell, double *step)
{
    double fraction = 0;
    *step = 1;
    if (cell->length < 2 || (*cell->text != '.' && *cell->text != ',') || !isdigit((unsigned char)cell->text[1]))
        return 0;
    size_t n = 1;
    while (n < cell->length && isdigit((unsigned char)cell->text[n]))
        n++;
    cw_csv_cell digits = {cell->text, n};
    if (!cw_csv_number(digits, *cell->text, &fraction, step))
        fraction = 0;
    *cell = (cw_csv_cell){cell->text + n, cell->length - n};
    return fraction;
}

/* What may stand behind a time of day: nothing, a zone, before or after noon. */
static bool take_zone(cw_csv_cell rest, int *hour)
{
    char word[16];
    while (rest.length > 0 && isblank((unsigned char)*rest.text))
        rest = (cw_csv_cell){rest.text + 1, rest.length - 1};
    small_letters(rest, word, sizeof word);
    bool am = strcmp(word, "am") == 0, pm = strcmp(word, "pm") == 0;
    if (am || pm) {
        *hour = *hour % 12 + (pm ? 12 : 0);
        return true;
    }
    if (rest.length == 0 || strcmp(word, "z") == 0 || strcmp(word, "utc") == 0 || strcmp(word, "gmt") == 0)
        return true;
    return (word[0] == '+' || word[0] == '-') && strspn(word + 1, "0123456789:") == strlen(word + 1);
}

/* A date and nothing else that could be: "2024-05-06T", "06.05.2024 ". */
static bool is_date(const char *text, size_t length)
{
    size_t digits = 0, marks = 0;
    for (size_t i = 0; i < length; i++) {
        char c = text[i];
        bool last = i + 1 == length;
        digits += isdigit((unsigned char)c) != 0;
        marks += c == '-' || c == '/' || c == '.';
        if (!isdigit((unsigned char)c) && strchr("-/.,", c) == NULL && !(c == ' ' && i > 5) && !(last && c == 'T'))
            return false;
    }
    return digits >= 4 && digits <= 8 && marks == 2;
}

/* Time of day, a date before it or not. The date itself is left: a recording is shorter than half a day, so midnight is
 * told by the time of day alone. Minutes and seconds alone are taken when they have a fraction. */
static bool time_of_day(cw_csv_cell cell, cw_csv_value *v)
{
    const char *colon = memchr(cell.text, ':', cell.length);
    if (colon == NULL || cell.length > 48)
        return false;
    const char *front = colon;
    while (front > cell.text && isdigit((unsigned char)front[-1]))
        front--;
    if (front > cell.text && !is_date(cell.text, (size_t)(front - cell.text)))
        return false;
    cw_csv_cell rest = {front, cell.length - (size_t)(front - cell.text)};
    int hour, minute, second;
    if (!take_two(&rest, 60, &hour) || !take_mark(&rest, ':') || !take_two(&rest, 60, &minute))
        return false;
    bool has_hours = take_mark(&rest, ':');
    if (has_hours ? !take_two(&rest, 61, &second) || hour > 24
                  : rest.length < 2 || (*rest.text != '.' && *rest.text != ',')) /* 33:04.000123 */
        return false;
    double fraction = take_fraction(&rest, &v->step);
    if (!take_zone(rest, &hour))
        return false;
    v->kind = CW_CSV_CLOCK;
    v->wraps_at_s = has_hours ? 86400 : 3600;
    v->value = (has_hours ? hour * 3600 + minute * 60 + second : hour * 60 + minute) + fraction;
    return true;
}

/* Over, under, high, low and the like. */
static bool read_word(cw_csv_cell cell, cw_csv_value *v)
{
    char word[16];
    small_letters(cell, word, sizeof word);
    int beyond = beyond_range(word), level = level_of(word);
    if (beyond == 0 && level < 0)
        return false;
    v->kind = beyond > 0 ? CW_CSV_OVER : beyond < 0 ? CW_CSV_UNDER : CW_CSV_NUMBER;
    v->value = beyond == 0 ? level : 0;
    return true;
}

bool cw_csv_read_value(cw_csv_cell cell, const cw_csv_layout *layout, cw_csv_value *value)
{
    enum { LONGEST = 48 };
    cw_csv_value v = {.kind = CW_CSV_NUMBER, .step = 1};
    if (cell.length == 0 || cell.length > LONGEST)
        return false;
    /* asked of every cell with every separator that might be: so what cannot be is not tried */
    bool ends_in_digit = isdigit((unsigned char)cell.text[cell.length - 1]) != 0;
    bool is_value = cw_csv_any_number(cell, layout->decimal, layout->groups, &v.value, &v.step) ||
                    (!ends_in_digit && number_with_unit(cell, layout, &v)) || time_of_day(cell, &v) ||
                    (!ends_in_digit && read_word(cell, &v));
    if (is_value)
        *value = v;
    return is_value;
}
