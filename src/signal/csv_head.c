/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands above the numbers: settings in any order and spelling, names and units of the columns. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "signal/csv.h"

enum { WORDS_MOST = 64, PREAMBLE_ROWS_MOST = 512 };

/* A cell in small letters without anything but letters, digits and blanks between words: "Sample Interval [s]:" is
 * "sample interval s". */
static void plain_words(cw_csv_cell cell, char *out, size_t size)
{
    size_t n = 0;
    for (size_t i = 0; i < cell.length && n + 1 < size; i++) {
        unsigned char c = (unsigned char)cell.text[i];
        if (isalnum(c))
            out[n++] = (char)tolower(c);
        else if (i + 1 < cell.length && ((c == 0xc2 && (unsigned char)cell.text[i + 1] == 0xb5) ||  /* micro sign */
                                         (c == 0xce && (unsigned char)cell.text[i + 1] == 0xbc))) { /* Greek mu */
            out[n++] = 'u';
            i++;
        } else if (c == 0xb5) { /* the micro sign of ISO 8859-1 */
            out[n++] = 'u';
        } else if (n > 0 && out[n - 1] != ' ')
            out[n++] = ' ';
    }
    while (n > 0 && out[n - 1] == ' ')
        n--;
    out[n] = '\0';
}

static bool begins_with(const char *text, const char *word)
{
    size_t n = strlen(word);
    return strncmp(text, word, n) == 0 && !isalpha((unsigned char)text[n]);
}

/* "ms" in "time ms", "12 ms"; seconds; 0 for none. */
static double unit_of_time(const char *word)
{
    static const struct {
        const char *name;
        double seconds;
    } units[] = {{"s", 1},     {"sec", 1},       {"secs", 1},          {"second", 1},         {"seconds", 1},
                 {"ms", 1e-3}, {"millis", 1e-3}, {"msec", 1e-3},       {"millisecond", 1e-3}, {"milliseconds", 1e-3},
                 {"us", 1e-6}, {"micros", 1e-6}, {"usec", 1e-6},       {"microsecond", 1e-6}, {"microseconds", 1e-6},
                 {"ns", 1e-9}, {"nsec", 1e-9},   {"nanosecond", 1e-9}, {"nanoseconds", 1e-9}};
    for (size_t i = 0; i < CW_COUNT(units); i++)
        if (strcmp(word, units[i].name) == 0)
            return units[i].seconds;
    return 0;
}

static double unit_of_rate(const char *word)
{
    static const struct {
        const char *name;
        double hz;
    } units[] = {{"hz", 1},        {"khz", 1e3},       {"mhz", 1e6},         {"ghz", 1e9},  {"s s", 1},
                 {"ks s", 1e3},    {"ms s", 1e6},      {"gs s", 1e9},        {"sa s", 1},   {"ksa s", 1e3},
                 {"msa s", 1e6},   {"gsa s", 1e9},     {"sps", 1},           {"ksps", 1e3}, {"msps", 1e6},
                 {"samples s", 1}, {"samples sec", 1}, {"samples second", 1}};
    for (size_t i = 0; i < CW_COUNT(units); i++)
        if (strcmp(word, units[i].name) == 0)
            return units[i].hz;
    return 0;
}

static double unit_of_signal(const char *word)
{
    static const struct {
        const char *name;
        double volts;
    } units[] = {{"v", 1},     {"volt", 1}, {"volts", 1}, {"mv", 1e-3}, {"millivolt", 1e-3}, {"millivolts", 1e-3},
                 {"uv", 1e-6}, {"kv", 1e3}};
    for (size_t i = 0; i < CW_COUNT(units); i++)
        if (strcmp(word, units[i].name) == 0)
            return units[i].volts;
    return 0;
}

/* The last word of the text, which stands in brackets or behind a blank, slash or underscore: the unit. */
static const char *last_word(const char *words)
{
    const char *blank = strrchr(words, ' ');
    return blank != NULL ? blank + 1 : words;
}

/* A number at the front of a text, with what follows it in plain words: "4.0E-06 s", "100 kS/s", "1,5ms". */
static bool number_and_unit(cw_csv_cell cell, char decimal, double *number, char *unit, size_t size)
{
    size_t n = 0;
    while (n < cell.length && (isdigit((unsigned char)cell.text[n]) || strchr("+-.,", cell.text[n]) != NULL))
        n++;
    if (n > 0 && n + 1 < cell.length && (cell.text[n] == 'e' || cell.text[n] == 'E') &&
        (isdigit((unsigned char)cell.text[n + 1]) || cell.text[n + 1] == '-' || cell.text[n + 1] == '+')) {
        n += 2;
        while (n < cell.length && isdigit((unsigned char)cell.text[n]))
            n++;
    }
    cw_csv_cell front = {cell.text, n};
    if (!cw_csv_number(front, decimal, number, NULL) && !cw_csv_number(front, '.', number, NULL) &&
        !cw_csv_number(front, ',', number, NULL))
        return false;
    plain_words((cw_csv_cell){cell.text + n, cell.length - n}, unit, size);
    return true;
}

typedef enum { NO_KEY, INTERVAL, RATE, TIME_BASE } setting;

static setting which_setting(const char *words)
{
    static const struct {
        const char *word;
        setting is;
    } keys[] = {{"sample interval", INTERVAL},
                {"sampling interval", INTERVAL},
                {"sample period", INTERVAL},
                {"sampling period", INTERVAL},
                {"sample time", INTERVAL},
                {"sampling time", INTERVAL},
                {"increment", INTERVAL},
                {"x increment", INTERVAL},
                {"xincrement", INTERVAL},
                {"xincr", INTERVAL},
                {"x incr", INTERVAL},
                {"time increment", INTERVAL},
                {"horizontal increment", INTERVAL},
                {"horizontal interval", INTERVAL},
                {"horiz interval", INTERVAL},
                {"time interval", INTERVAL},
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
                {"abtastintervall", INTERVAL},
                {"time per sample", INTERVAL},
                {"seconds per sample", INTERVAL},
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
                {"samples s", RATE},
                {"abtastrate", RATE},
                {"rate", RATE},
                {"fs", RATE},
                {"acquisition rate", RATE},
                {"time base", TIME_BASE},
                {"timebase", TIME_BASE},
                {"time div", TIME_BASE},
                {"time scale", TIME_BASE},
                {"horizontal scale", TIME_BASE},
                {"sec div", TIME_BASE},
                {"time per div", TIME_BASE}};
    for (size_t i = 0; i < CW_COUNT(keys); i++)
        if (begins_with(words, keys[i].word))
            return keys[i].is;
    return NO_KEY;
}

/* One value of a setting, its unit beside it, in the next cell or in the key itself. */
static void take_setting(setting is, double number, const char *unit, const char *key, const char *next,
                         cw_csv_header *h)
{
    const char *given = unit[0] != '\0' ? unit : next[0] != '\0' ? next : last_word(key);
    if (!(number > 0))
        return;
    double interval_s = 0;
    if (is == RATE) {
        double hz = unit_of_rate(given);
        if (hz == 0 && unit_of_rate(last_word(key)) > 0)
            hz = unit_of_rate(last_word(key));
        interval_s = 1 / (number * (hz > 0 ? hz : 1));
    } else {
        double seconds = unit_of_time(given);
        if (seconds == 0)
            seconds = unit_of_time(last_word(key));
        if (is == TIME_BASE && seconds == 0 && unit_of_rate(given) > 0)
            interval_s = 1 / (number * unit_of_rate(given));
        else if (is == TIME_BASE)
            h->only_time_base = true;
        else
            interval_s = number * (seconds > 0 ? seconds : 1);
    }
    if (interval_s > 0 && h->interval_s == 0)
        h->interval_s = interval_s;
}

/* "Key: value unit" or "key = value" within one cell. */
static bool setting_in_cell(cw_csv_cell cell, char decimal, cw_csv_header *h)
{
    char key[WORDS_MOST], unit[WORDS_MOST];
    for (size_t i = 1; i < cell.length; i++) {
        if (cell.text[i] != ':' && cell.text[i] != '=')
            continue;
        cw_csv_cell value = {cell.text + i + 1, cell.length - i - 1};
        while (value.length > 0 && isspace((unsigned char)*value.text)) {
            value.text++;
            value.length--;
        }
        double number;
        plain_words((cw_csv_cell){cell.text, i}, key, sizeof key);
        setting is = which_setting(key);
        if (is != NO_KEY && number_and_unit(value, decimal, &number, unit, sizeof unit)) {
            take_setting(is, number, unit, key, "", h);
            return true;
        }
    }
    return false;
}

/* Settings of one row; `below` is the row under it, where some instruments put the value. */
static void read_settings(const cw_csv_row *row, const cw_csv_row *below, char decimal, cw_csv_header *h)
{
    char key[WORDS_MOST], unit[WORDS_MOST], next[WORDS_MOST];
    for (size_t c = 0; c < row->count; c++) {
        if (setting_in_cell(row->cells[c], decimal, h))
            continue;
        plain_words(row->cells[c], key, sizeof key);
        setting is = which_setting(key);
        double number;
        if (is == NO_KEY)
            continue;
        next[0] = '\0';
        if (c + 2 < row->count)
            plain_words(row->cells[c + 2], next, sizeof next);
        if (unit_of_time(next) == 0 && unit_of_rate(next) == 0)
            next[0] = '\0';
        if (c + 1 < row->count && number_and_unit(row->cells[c + 1], decimal, &number, unit, sizeof unit))
            take_setting(is, number, unit, key, next, h);
        else if (c < below->count && number_and_unit(below->cells[c], decimal, &number, unit, sizeof unit))
            take_setting(is, number, unit, key, "", h);
    }
}

static bool is_name_of_time(const char *words)
{
    static const char *const names[] = {"time",    "t",      "zeit", "temps", "tiempo", "tempo", "timestamp",
                                        "seconds", "second", "sec",  "tid",   "tijd",   "czas"};
    for (size_t i = 0; i < CW_COUNT(names); i++)
        if (begins_with(words, names[i]))
            return true;
    return false;
}

static bool is_name_of_count(const char *words)
{
    static const char *const names[] = {"x",      "index", "sample", "samples", "sequence", "no",
                                        "number", "point", "n",      "row",     "nr"};
    for (size_t i = 0; i < CW_COUNT(names); i++)
        if (strcmp(words, names[i]) == 0)
            return true;
    return strcmp(words, "sample number") == 0 || strcmp(words, "sample index") == 0;
}

static void read_column_words(size_t c, const char *words, cw_csv_header *h)
{
    if (which_setting(words) != NO_KEY)
        return; /* a setting that happens to stand above the column */
    const char *unit = last_word(words);
    double seconds = unit_of_time(unit), volts = unit_of_signal(unit);
    bool is_time = is_name_of_time(words);
    if ((is_time || seconds > 0) && h->time_column == CW_CSV_COLUMNS_MOST)
        h->time_column = c;
    if (h->time_column == c && seconds > 0)
        h->time_unit_s = seconds;
    if ((is_time || seconds > 0) && h->time_column != c)
        h->time_again[c] = true;
    if (c == 0 && is_name_of_count(words) && seconds == 0)
        h->counts_samples = true;
    if (volts > 0 && !is_time) {
        h->scale[c] = volts;
        h->has_unit[c] = true;
    }
}

/* Without the mark that some programs put before lines that are no numbers. */
static cw_csv_cell without_mark(cw_csv_cell line)
{
    while (line.length > 0 && (strchr("#%", *line.text) != NULL || isblank((unsigned char)*line.text))) {
        line.text++;
        line.length--;
    }
    return line;
}

/* Names and units of the columns: rows of at most three above the numbers that have words in their columns. */
static void read_columns(const cw_csv_row *row, const cw_csv_layout *layout, cw_csv_header *h)
{
    size_t worded = 0, wanted = 0;
    double value;
    for (size_t c = 0; c < layout->columns; c++) {
        if (!layout->numeric[c])
            continue;
        wanted++;
        worded +=
            c < row->count && row->cells[c].length > 0 && !cw_csv_number(row->cells[c], layout->decimal, &value, NULL);
    }
    if (worded * 2 <= wanted && worded < 2)
        return;
    for (size_t c = 0; c < layout->columns && c < row->count; c++) {
        char words[WORDS_MOST];
        if (!layout->numeric[c] || row->cells[c].length == 0)
            continue;
        plain_words(row->cells[c], words, sizeof words);
        read_column_words(c, words, h);
        bool only_unit = unit_of_time(words) > 0 || unit_of_signal(words) > 0;
        if (!only_unit) {
            size_t n = row->cells[c].length < CW_CHANNEL_NAME - 1 ? row->cells[c].length : CW_CHANNEL_NAME - 1;
            memcpy(h->names[c], row->cells[c].text, n);
            h->names[c][n] = '\0';
        }
    }
}

/* A line above the numbers. Where those stand in one column, or between blanks, they do not show what separates the
 * settings. */
static void split_above(cw_csv_cell line, const cw_csv_layout *layout, cw_csv_row *row)
{
    static const char separators[] = {';', '\t', ','};
    char separator = layout->separator;
    line = without_mark(line);
    cw_csv_split(line, separator, row);
    bool unseen = layout->columns == 1 || separator == ' ';
    for (size_t i = 0; unseen && i < CW_COUNT(separators); i++)
        if (memchr(line.text, separators[i], line.length) != NULL) {
            cw_csv_split(line, separators[i], row);
            return;
        }
}

void cw_csv_read_header(const char *text, size_t length, const cw_csv_layout *layout, cw_csv_header *header)
{
    cw_csv_header h = {.time_column = CW_CSV_COLUMNS_MOST};
    for (size_t c = 0; c < CW_CSV_COLUMNS_MOST; c++)
        h.scale[c] = 1;
    cw_csv_lines walk = {.text = text, .length = length};
    cw_csv_cell line;
    cw_csv_row row = {.count = 0}, below = {.count = 0};
    bool has_row = cw_csv_line(&walk, &line);
    if (has_row)
        split_above(line, layout, &row);
    /* Settings may also stand beside the first rows of numbers; further down nobody writes any. */
    for (size_t n = 1; has_row && n < layout->first_line + 32 && n < PREAMBLE_ROWS_MOST; n++) {
        cw_csv_cell this_line = without_mark(line);
        bool has_below = cw_csv_line(&walk, &line);
        below.count = 0;
        if (has_below)
            split_above(line, layout, &below);
        if (!setting_in_cell(this_line, layout->decimal, &h))
            read_settings(&row, &below, layout->decimal, &h);
        if (n < layout->first_line && n + 4 > layout->first_line)
            read_columns(&row, layout, &h);
        row = below;
        has_row = has_below;
    }
    *header = h;
}
