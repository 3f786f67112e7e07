/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words and units as instruments spell them. */
#include <ctype.h>
#include <math.h>
#include <string.h>

#include "base/buf.h"
#include "signal/csv.h"

void cw_csv_plain_words(cw_csv_cell cell, char *out, size_t size)
{
    size_t n = 0;
    for (size_t i = 0; i < cell.length && n + 1 < size; i++) {
        unsigned char c = (unsigned char)cell.text[i];
        if (isalnum(c))
            out[n++] = (char)tolower(c);
        else if (c == '%')
            out[n++] = '%';
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

typedef struct {
    const char *name;
    double size;
} unit;

static double size_of(const char *word, const unit *units, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(word, units[i].name) == 0)
            return units[i].size;
    return 0;
}

double cw_csv_unit_of_time(const char *word)
{
    static const unit units[] = {{"s", 1},
                                 {"sec", 1},
                                 {"secs", 1},
                                 {"second", 1},
                                 {"seconds", 1},
                                 {"sekunden", 1},
                                 {"ms", 1e-3},
                                 {"millis", 1e-3},
                                 {"msec", 1e-3},
                                 {"msecs", 1e-3},
                                 {"millisec", 1e-3},
                                 {"millisecond", 1e-3},
                                 {"milliseconds", 1e-3},
                                 {"us", 1e-6},
                                 {"micros", 1e-6},
                                 {"usec", 1e-6},
                                 {"usecs", 1e-6},
                                 {"microsec", 1e-6},
                                 {"microsecond", 1e-6},
                                 {"microseconds", 1e-6},
                                 {"ns", 1e-9},
                                 {"nsec", 1e-9},
                                 {"nanos", 1e-9},
                                 {"nanosecond", 1e-9},
                                 {"nanoseconds", 1e-9},
                                 {"ps", 1e-12},
                                 {"picoseconds", 1e-12},
                                 {"min", 60},
                                 {"minute", 60},
                                 {"minutes", 60}};
    return size_of(word, units, CW_COUNT(units));
}

/* "sa", "k samples", "msa": a count of samples with its prefix. */
static double samples_of(const char *word)
{
    static const unit prefixes[] = {{"k", 1e3}, {"m", 1e6}, {"g", 1e9}};
    static const unit counts[] = {{"", 1},   {"s", 1},   {"sa", 1},    {"sample", 1}, {"samples", 1},
                                  {"pt", 1}, {"pts", 1}, {"point", 1}, {"points", 1}, {"1", 1}};
    double size = size_of(word, counts, CW_COUNT(counts));
    for (size_t i = 0; size == 0 && i < CW_COUNT(prefixes); i++)
        if (word[0] == prefixes[i].name[0])
            size = prefixes[i].size * size_of(word + (word[1] == ' ' ? 2 : 1), counts, CW_COUNT(counts));
    return size;
}

double cw_csv_unit_of_rate(const char *word)
{
    static const unit units[] = {{"hz", 1},  {"khz", 1e3},  {"mhz", 1e6},  {"ghz", 1e9},  {"k hz", 1e3}, {"m hz", 1e6},
                                 {"sps", 1}, {"ksps", 1e3}, {"msps", 1e6}, {"gsps", 1e9}, {"k", 1e3},    {"m", 1e6}};
    static const char *const a_second[] = {" per second", " per sec", " per s", " second", " sec", " s"};
    double size = size_of(word, units, CW_COUNT(units));
    for (size_t i = 0; size == 0 && i < CW_COUNT(a_second); i++) {
        char count[16];
        size_t n = strlen(word), tail = strlen(a_second[i]);
        if (n <= tail || n - tail >= sizeof count || strcmp(word + n - tail, a_second[i]) != 0)
            continue;
        memcpy(count, word, n - tail);
        count[n - tail] = '\0';
        size = samples_of(count);
    }
    return size;
}

double cw_csv_unit_of_interval(const char *word)
{
    static const char *const each[] = {" per sample", " per point", " sample", " point", " pt", " sa"};
    double size = cw_csv_unit_of_time(word);
    for (size_t i = 0; size == 0 && i < CW_COUNT(each); i++) {
        char time[16];
        size_t n = strlen(word), tail = strlen(each[i]);
        if (n <= tail || n - tail >= sizeof time || strcmp(word + n - tail, each[i]) != 0)
            continue;
        memcpy(time, word, n - tail);
        time[n - tail] = '\0';
        size = cw_csv_unit_of_time(time);
    }
    return size;
}

double cw_csv_unit_of_signal(const char *word, bool *is_volts)
{
    static const unit volts[] = {{"v", 1},     {"volt", 1},         {"volts", 1},
                                 {"mv", 1e-3}, {"millivolt", 1e-3}, {"millivolts", 1e-3},
                                 {"uv", 1e-6}, {"microvolt", 1e-6}, {"microvolts", 1e-6},
                                 {"nv", 1e-9}, {"kv", 1e3}};
    static const unit others[] = {{"a", 1},    {"ma", 1e-3}, {"ua", 1e-6}, {"na", 1e-9}, {"amp", 1},
                                  {"amps", 1}, {"w", 1},     {"mw", 1e-3}, {"uw", 1e-6}, {"nw", 1e-9},
                                  {"lx", 1},   {"lux", 1},   {"klx", 1e3}, {"%", 1}};
    double size = size_of(word, volts, CW_COUNT(volts));
    if (is_volts != NULL)
        *is_volts = size > 0;
    return size > 0 ? size : size_of(word, others, CW_COUNT(others));
}

double cw_csv_scaled(double value, double size)
{
    return size < 1 ? value / nearbyint(1 / size) : value * size;
}

const char *cw_csv_last_word(const char *words)
{
    const char *blank = strrchr(words, ' ');
    return blank != NULL ? blank + 1 : words;
}
