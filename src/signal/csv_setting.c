/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Settings above the numbers, in any order and spelling: how far apart the samples are, and in which units. */
#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "base/buf.h"
#include "signal/csv.h"

enum { WORDS_MOST = 64 };

static bool begins_with(const char *text, const char *word)
{
    size_t n = strlen(word);
    return strncmp(text, word, n) == 0 && !isalpha((unsigned char)text[n]);
}

/* Blanks between groups of three digits belong to the number, any other blank ends it. */
static bool is_group_blank(cw_csv_cell cell, size_t at)
{
    if (at == 0 || cell.text[at] != ' ' || !isdigit((unsigned char)cell.text[at - 1]) || at + 3 >= cell.length)
        return false;
    for (size_t i = 1; i <= 3; i++)
        if (!isdigit((unsigned char)cell.text[at + i]))
            return false;
    return at + 4 == cell.length || !isdigit((unsigned char)cell.text[at + 4]);
}

static size_t length_of_number(cw_csv_cell cell)
{
    size_t n = 0;
    if (cell.length > 2 && cell.text[0] == '0' && tolower((unsigned char)cell.text[1]) == 'x') {
        for (n = 2; n < cell.length && isxdigit((unsigned char)cell.text[n]);)
            n++;
        return n;
    }
    while (n < cell.length &&
           (isdigit((unsigned char)cell.text[n]) || strchr("+-.,'", cell.text[n]) != NULL || is_group_blank(cell, n)))
        n++;
    if (n > 0 && n + 1 < cell.length && (cell.text[n] == 'e' || cell.text[n] == 'E') &&
        (isdigit((unsigned char)cell.text[n + 1]) || cell.text[n + 1] == '-' || cell.text[n + 1] == '+')) {
        n += 2;
        while (n < cell.length && isdigit((unsigned char)cell.text[n]))
            n++;
    }
    return n;
}

/* A number at the front of a text, with what follows it in plain words: "4.0E-06 s", "100 kS/s", "1,5ms", "0x1F4". */
static bool number_and_unit(cw_csv_cell cell, char decimal, double *number, char *unit, size_t size)
{
    size_t n = length_of_number(cell);
    cw_csv_cell front = {cell.text, n};
    if (!cw_csv_any_number(front, decimal, true, number, NULL) && !cw_csv_any_number(front, '.', true, number, NULL) &&
        !cw_csv_any_number(front, ',', true, number, NULL))
        return false;
    size_t end = n;
    while (end < cell.length && strchr(",;(", cell.text[end]) == NULL) /* "(auto)" and other remarks */
        end++;
    cw_csv_plain_words((cw_csv_cell){cell.text + n, end - n}, unit, size);
    return true;
}

typedef enum { NO_KEY, INTERVAL, RATE, TIME_BASE, CLOCK, TIME_UNIT, SIGNAL_UNIT } setting;

/* Behind the name of the part of the instrument that some put before the key. */
static const char *behind_part(const char *words)
{
    static const char *const parts[] = {"horizontal ", "horiz ",    "hor ",    "acquisition ", "acq ",
                                        "acquire ",    "waveform ", "wfmpre ", "wfmoutpre "};
    for (size_t i = 0; i < CW_COUNT(parts); i++)
        if (strncmp(words, parts[i], strlen(parts[i])) == 0)
            return words + strlen(parts[i]);
    return words;
}

static setting which_setting(const char *words)
{
    static const struct {
        const char *word;
        setting is;
    } keys[] = {{"sample interval", INTERVAL},
                {"sampling interval", INTERVAL},
                {"sample spacing", INTERVAL},
                {"sample period", INTERVAL},
                {"sampling period", INTERVAL},
                {"sample time", INTERVAL},
                {"sampling time", INTERVAL},
                {"increment", INTERVAL},
                {"x increment", INTERVAL},
                {"xincrement", INTERVAL},
                {"xincr", INTERVAL},
                {"xinc", INTERVAL},
                {"x incr", INTERVAL},
                {"x inc", INTERVAL},
                {"x interval", INTERVAL},
                {"x step", INTERVAL},
                {"time increment", INTERVAL},
                {"horizontal increment", INTERVAL},
                {"horizontal interval", INTERVAL},
                {"horizontal resolution", INTERVAL},
                {"horizontal step", INTERVAL},
                {"horiz interval", INTERVAL},
                {"time interval", INTERVAL},
                {"time resolution", INTERVAL},
                {"interval", INTERVAL},
                {"time step", INTERVAL},
                {"timestep", INTERVAL},
                {"delta t", INTERVAL},
                {"delta time", INTERVAL},
                {"deltat", INTERVAL},
                {"dt", INTERVAL},
                {"delta x", INTERVAL},
                {"dx", INTERVAL},
                {"xdelta", INTERVAL},
                {"x delta", INTERVAL},
                {"delta", INTERVAL},
                {"tinc", INTERVAL},
                {"tinterval", INTERVAL},
                {"tsample", INTERVAL},
                {"abtastintervall", INTERVAL},
                {"time per sample", INTERVAL},
                {"time per point", INTERVAL},
                {"seconds per sample", INTERVAL},
                {"seconds sample", INTERVAL},
                {"seconds per point", INTERVAL},
                {"time sample", INTERVAL},
                {"time point", INTERVAL},
                {"s sample", INTERVAL},
                {"sec sample", INTERVAL},
                {"hresolution", INTERVAL},
                {"period", INTERVAL},
                {"sample rate", RATE},
                {"sampling rate", RATE},
                {"samplerate", RATE},
                {"samplingrate", RATE},
                {"sample frequency", RATE},
                {"sampling frequency", RATE},
                {"sample freq", RATE},
                {"sampling freq", RATE},
                {"samples per second", RATE},
                {"samples per sec", RATE},
                {"samples s", RATE},
                {"samples sec", RATE},
                {"points per second", RATE},
                {"abtastrate", RATE},
                {"rate", RATE},
                {"fs", RATE},
                {"acquisition rate", RATE},
                {"clock", CLOCK},
                {"sample clock", CLOCK},
                {"sampling clock", CLOCK},
                {"time base", TIME_BASE},
                {"timebase", TIME_BASE},
                {"time div", TIME_BASE},
                {"time scale", TIME_BASE},
                {"horizontal scale", TIME_BASE},
                {"sec div", TIME_BASE},
                {"time per div", TIME_BASE},
                {"horizontal unit", TIME_UNIT},
                {"horizontal units", TIME_UNIT},
                {"time unit", TIME_UNIT},
                {"time units", TIME_UNIT},
                {"x unit", TIME_UNIT},
                {"x units", TIME_UNIT},
                {"xunit", TIME_UNIT},
                {"xunits", TIME_UNIT},
                {"vertical unit", SIGNAL_UNIT},
                {"vertical units", SIGNAL_UNIT},
                {"y unit", SIGNAL_UNIT},
                {"y units", SIGNAL_UNIT},
                {"yunit", SIGNAL_UNIT},
                {"yunits", SIGNAL_UNIT}};
    for (size_t i = 0; i < CW_COUNT(keys); i++)
        if (begins_with(words, keys[i].word))
            return keys[i].is;
    const char *rest = behind_part(words);
    return rest != words ? which_setting(rest) : NO_KEY;
}

bool cw_csv_is_setting(const char *words)
{
    return which_setting(words) != NO_KEY;
}

/* Kept for the refusal: what stood there and could not be told. */
static void say_unclear(const char *key, cw_csv_cell raw, cw_csv_header *h)
{
    if (h->unclear[0] == '\0')
        snprintf(h->unclear, sizeof h->unclear, "%.24s %.*s", key, (int)(raw.length < 32 ? raw.length : 32), raw.text);
}

/* One value of a setting, its unit beside it, in the next cell or in the key itself. A clock of 25 us or of 40 kHz says
 * what it is; a clock of 0x1F4 may be counts, nanoseconds or hertz, and words in the place of a unit may be anything.
 */
static void take_setting(setting is, cw_csv_cell raw, double number, const char *unit, const char *key,
                         const char *next, cw_csv_header *h)
{
    const char *last = cw_csv_last_word(key), *given = unit[0] != '\0' ? unit : next[0] != '\0' ? next : last;
    double seconds = cw_csv_unit_of_interval(given), hz = cw_csv_unit_of_rate(given);
    if (!(number > 0))
        return;
    if (is == TIME_BASE && hz == 0) {
        h->only_time_base = true;
        return;
    }
    if (is == CLOCK || is == TIME_BASE)
        is = seconds > 0 ? INTERVAL : hz > 0 ? RATE : NO_KEY;
    bool strange = unit[0] != '\0' && (is == RATE ? hz : seconds) == 0;
    if (is == NO_KEY || strange) {
        say_unclear(key, raw, h);
        return;
    }
    if (is == RATE && hz == 0)
        hz = cw_csv_unit_of_rate(last);
    if (is == INTERVAL && seconds == 0)
        seconds = cw_csv_unit_of_interval(last);
    double interval_s =
        is == RATE ? 1 / (number * (hz > 0 ? hz : 1)) : cw_csv_scaled(number, seconds > 0 ? seconds : 1);
    if ((is == RATE || is == INTERVAL) && h->interval_s == 0)
        h->interval_s = interval_s;
}

static bool take_unit(setting is, const char *word, cw_csv_header *h)
{
    bool is_volts;
    double seconds = cw_csv_unit_of_time(word), signal = cw_csv_unit_of_signal(word, &is_volts);
    if (is == TIME_UNIT && seconds > 0)
        h->time_unit_above_s = seconds;
    else if (is == SIGNAL_UNIT && signal > 0 && is_volts)
        h->volts_above = signal;
    else
        return false;
    return true;
}

static cw_csv_cell behind(cw_csv_cell cell, size_t at)
{
    while (at < cell.length && isspace((unsigned char)cell.text[at]))
        at++;
    return (cw_csv_cell){cell.text + at, cell.length - at};
}

/* Between blanks alone a number is a setting only with its unit or of a likely size: "interval 10 us", "xincr 1e-5",
 * not "rate 2". */
static bool is_likely(setting is, double number, const char *unit)
{
    const double interval_most_s = 0.01, rate_least_hz = 100;
    if (unit[0] != '\0')
        return cw_csv_unit_of_interval(unit) > 0 || cw_csv_unit_of_rate(unit) > 0;
    return (is == INTERVAL && number <= interval_most_s) || (is == RATE && number >= rate_least_hz);
}

bool cw_csv_setting_in_cell(cw_csv_cell cell, char decimal, cw_csv_header *h)
{
    char key[WORDS_MOST], unit[WORDS_MOST];
    for (size_t i = 1; i < cell.length; i++) {
        bool marked = cell.text[i] == ':' || cell.text[i] == '=';
        if (!marked && !isblank((unsigned char)cell.text[i]))
            continue;
        cw_csv_cell value = behind(cell, i + 1);
        double number;
        cw_csv_plain_words((cw_csv_cell){cell.text, i}, key, sizeof key);
        setting is = which_setting(key);
        if (is == NO_KEY || (!marked && strpbrk(key, "0123456789") != NULL))
            continue;
        if (number_and_unit(value, decimal, &number, unit, sizeof unit)) {
            if (!marked && !is_likely(is, number, unit))
                continue;
            take_setting(is, value, number, unit, key, "", h);
            return true;
        }
        cw_csv_plain_words(value, unit, sizeof unit);
        if (marked && take_unit(is, unit, h))
            return true;
    }
    return false;
}

void cw_csv_read_settings(const cw_csv_row *row, const cw_csv_row *below, char decimal, cw_csv_header *h)
{
    char key[WORDS_MOST], unit[WORDS_MOST], next[WORDS_MOST];
    for (size_t c = 0; c < row->count; c++) {
        if (cw_csv_setting_in_cell(row->cells[c], decimal, h))
            continue;
        cw_csv_plain_words(row->cells[c], key, sizeof key);
        setting is = which_setting(key);
        double number;
        if (is == NO_KEY)
            continue;
        next[0] = '\0';
        if (c + 1 < row->count)
            cw_csv_plain_words(row->cells[c + 1], next, sizeof next);
        if (take_unit(is, next, h))
            continue;
        next[0] = '\0';
        if (c + 2 < row->count)
            cw_csv_plain_words(row->cells[c + 2], next, sizeof next);
        if (cw_csv_unit_of_time(next) == 0 && cw_csv_unit_of_rate(next) == 0)
            next[0] = '\0';
        if (c + 1 < row->count && number_and_unit(row->cells[c + 1], decimal, &number, unit, sizeof unit))
            take_setting(is, row->cells[c + 1], number, unit, key, next, h);
        else if (c < below->count && number_and_unit(below->cells[c], decimal, &number, unit, sizeof unit))
            take_setting(is, below->cells[c], number, unit, key, "", h);
    }
}
