/* SPDX-License-Identifier: GPL-3.0-or-later */
/* CSV in odd hands: units in cells, clock times, remarks below, overflow marks, digits in groups. Each row of a table
 * is a template, so that the file as an instrument writes it can be read here; all hold the same pulse of 40 rows, 25
 * us apart. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "signal/source.h"
#include "support/check.h"

enum { ROWS = 40, TEXT_MOST = 1 << 16 };
static const double INTERVAL_S = 25e-6;

static double pulse(size_t i)
{
    return i >= 12 && i < 29 ? 2.875 : 0.125;
}

/* One value of a row by its name; `digits` behind the point. */
static void put_named(char *out, size_t size, const char *name, int digits, size_t i)
{
    double t = (double)i * INTERVAL_S, v = pulse(i);
    static const struct {
        const char *name;
        double per_second;
    } times[] = {{"s", 1}, {"ms", 1e3}, {"us", 1e6}, {"ns", 1e9}, {"min", 1.0 / 60}};
    for (size_t k = 0; k < CW_COUNT(times); k++)
        if (strcmp(name, times[k].name) == 0)
            snprintf(out, size, "%.*f", digits, t * times[k].per_second);
    if (strcmp(name, "v") == 0)
        snprintf(out, size, "%.*f", digits, v);
    else if (strcmp(name, "mv") == 0)
        snprintf(out, size, "%.*f", digits, v * 1e3);
    else if (strcmp(name, "adc") == 0)
        snprintf(out, size, "0x%X", (unsigned)(v * 1e3));
    else if (strcmp(name, "i") == 0)
        snprintf(out, size, "%zu", i);
    else if (strcmp(name, "micros") == 0) /* of a counter of 32 bits that runs over in row 20 */
        snprintf(out, size, "%u", (unsigned)(4294966796u + 25 * i));
    else if (strcmp(name, "epoch") == 0) /* 19 digits */
        snprintf(out, size, "1715000000%09zu", i * 25000);
    else if (strcmp(name, "groups") == 0) /* nanoseconds */
        snprintf(out, size, "%zu,%03zu,000", 1 + i * 25 / 1000, i * 25 % 1000);
    else if (strcmp(name, "hms") == 0) { /* midnight is in row 16 */
        unsigned long at = 86399999600ul + 25ul * i;
        snprintf(out, size, "%02lu:%02lu:%02lu.%06lu", at / 3600000000 % 24, at / 60000000 % 60, at / 1000000 % 60,
                 at % 1000000);
    }
}

/* "{us.1}" and the like replaced. */
static size_t expand(char *out, size_t size, const char *row, size_t i, char decimal)
{
    size_t n = 0;
    for (const char *at = row; *at != '\0' && n + 64 < size; at++) {
        if (*at != '{') {
            out[n++] = *at;
            continue;
        }
        char name[16], value[64] = "";
        const char *end = strchr(at, '}'), *point = memchr(at, '.', (size_t)(end - at));
        snprintf(name, sizeof name, "%.*s", (int)((point != NULL ? point : end) - at - 1), at + 1);
        put_named(value, sizeof value, name, point != NULL ? (int)strtol(point + 1, NULL, 10) : 0, i);
        for (char *c = value; *c != '\0'; c++)
            out[n++] = *c == '.' ? decimal : *c;
        at = end;
    }
    return n;
}

typedef struct {
    const char *what, *head, *row, *tail;
    char decimal; /* 0: '.' */
    double u_value;
    const char *unit, *warning;
} odd;

static const odd FILES[] = {
    {"units in the cells", "Time,CH1\n", "{us.1} us,{mv.1} mV\n", "", 0, 1e-6, "V", NULL},
    {"units right behind the numbers", "Time,CH1\n", "{ms.3}ms,{v.4}V\n", "", 0, 1e-6, "V", NULL},
    {"units between blanks", "Time CH1\n", "{ms.3} ms  {v.4} V\n", "", 0, 1e-6, "V", NULL},
    {"units in the cells, decimal comma", "Time;CH1\n", "{ms.3} ms;{mv.1} mV\n", "", ',', 1e-6, "V", NULL},
    {"minutes", "Time (min);CH1 (V)\n", "{min.16};{v.4}\n", "", 0, 1e-6, "V", NULL},
    {"a unit of the preamble", "Horizontal Units,ms\nVertical Units,mV\nTime,CH1\n", "{ms.3},{mv.1}\n", "", 0, 1e-6,
     "V", NULL},
    {"names, blank line, units, blank line", "Bench\n\nDate,2024-05-06\n\nTime,CH1\n\nus,mV\n\n", "{us.0},{mv.1}\n", "",
     0, 1e-6, "V", NULL},
    {"units above names", "s,V\nTime,CH1\n", "{s.6},{v.3}\n", "", 0, 1e-6, "V", NULL},
    {"clock times over midnight", "Time,CH1 (V)\n", "{hms},{v.3}\n", "", 0, 1e-6, "V", NULL},
    {"clock times, decimal comma", "Zeit;CH1 (V)\n", "{hms};{v.3}\n", "", ',', 1e-6, "V", NULL},
    {"minutes and seconds", "Time,CH1 (V)\n", "07:0{s.6},{v.3}\n", "", 0, 1e-6, "V", NULL},
    {"ISO 8601", "time,CH1 (V)\n", "2024-05-06T{hms}Z,{v.3}\n", "", 0, 1e-6, "V", NULL},
    {"ISO 8601 with a blank and a zone", "time,CH1 (V)\n", "\"2024-05-06 {hms}+02:00\",{v.3}\n", "", 0, 1e-6, "V",
     NULL},
    {"day first", "time;CH1 (V)\n", "06.05.2024 {hms};{v.3}\n", "", ',', 1e-6, "V", NULL},
    {"date and time in two columns", "Date,Time,CH1 (V)\n", "06/05/2024,{hms} ,{v.3}\n", "", 0, 1e-6, "V", NULL},
    {"date and time between blanks", "", "2024-05-06 {hms} {v.3}\n", "", 0, 1e-6, "units", NULL},
    {"nanoseconds since 1970", "timestamp_ns,CH1 (V)\n", "{epoch},{v.3}\n", "", 0, 1e-6, "V", NULL},
    {"a counter of 32 bits that runs over", "micros,CH1 (V)\n", "{micros},{v.3}\n", "", 0, 1e-6, "V", NULL},
    {"bars", "Time (us)|CH1 (V)\n", "{us.1}|{v.3}\n", "", 0, 1e-6, "V", NULL},
    {"a table of bars", "| Time (us) | CH1 (V) |\n|---|---|\n", "| {us.1} | {v.3} |\n", "", 0, 1e-6, "V", NULL},
    {"digits in groups, quoted", "Time (ns),CH1 (mV)\n", "\"{groups}\",\"{mv.1}\"\n", "", 0, 1e-6, "V", NULL},
    {"a remark below", "Time (us),CH1 (V)\n", "{us.1},{v.3}\n", "End of data\n", 0, 1e-6, "V",
     "from line 42 on (\"End of data\")"},
    {"a summary below", "Time (us),CH1 (V)\n", "{us.1},{v.3}\n", "\nRows,40\nMax,2.875\n", 0, 1e-6, "V",
     "from line 43 on (\"Rows,40\")"},
    {"a comment below", "Time (us),CH1 (V)\n", "{us.1},{v.3}\n", "# 40 rows, 2 columns\n", 0, 1e-6, "V", NULL},
    {"blank in every other line", "Time (us),CH1 (V)\n\n", "{us.1},{v.3}\n\n", "", 0, 1e-6, "V", NULL},
    {"a clock with its unit", "#CLOCK=25.0uS\n#SIZE=40\n", "{v.3}\n", "", 0, 1e-6, "units", NULL},
    {"a clock as a rate", "#CLOCK=4.0E+01kHz\n#UNITS=V\n", "{v.3}\n", "", 0, 1e-6, "V", NULL},
    {"a hexadecimal interval", "Sample Interval (us),0x19\n", "{v.3}\n", "", 0, 1e-6, "units", NULL},
    {"a rate in groups", "Sample rate,40 000 Hz\nCH1 (V)\n", "{v.3}\n", "", 0, 1e-6, "V", NULL},
    {"a rate in groups, decimal comma", "Rate;40.000,0;Hz\nCH1 (V)\n", "{v.3}\n", "", ',', 1e-6, "V", NULL},
    {"an interval in a remark", "Sample,CH1 (V)\n# interval 25 us\n", "{i},{v.3}\n", "", 0, 1e-6, "V", NULL},
    {"samples counted beside the time", "Sample,Time (us),CH1 (V)\n", "{i},{us.1},{v.3}\n", "", 0, 1e-6, "V", NULL},
    {"samples counted beside the time, no names", "", "{i},{s.6},{v.3}\n", "", 0, 1e-6, "units", NULL},
    {"time behind the values", "CH1 (V),Time (us)\n", "{v.3},{us.1}\n", "", 0, 1e-6, "V", NULL},
    {"an unused channel", "Time (us),CH1 (V),CH2\n", "{us.1},{v.3},---\n", "", 0, 1e-6, "V", NULL},
    {"an unused channel, not a number", "Time (us),CH1 (V),CH2\n", "{us.1},{v.3},NaN\n", "", 0, 1e-6, "V", NULL},
    {"counts of a converter", "Time (us),ADC\n", "{us.0},{adc}\n", "", 0, 3000, NULL, NULL},
    {"cells as formulas of a sheet", "Time (us),CH1 (V)\n", "=\"{us.1}\",=\"{v.3}\"\n", "", 0, 1e-6, "V", NULL},
    {"exponents with D", "Time (us),CH1 (V)\n", "{us.1}D+00,{v.3}D0\n", "", 0, 1e-6, "V", NULL},
    {"a comment between", "Time (us),CH1 (V)\n", "{us.1},{v.3}\n#\n", "", 0, 1e-6, "V", NULL},
};

static cw_status open_bytes(const char *text, size_t length, cw_source **source, cw_error *err)
{
    char folder[200], path[256];
    check_folder("csv-odd", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/odd.csv", folder);
    assert_ok(cw_write_file(path, text, length, err), err);
    cw_status status = cw_source_open(path, NULL, source, err);
    unlink(path);
    rmdir(folder);
    return status;
}

static size_t write_odd(const odd *file, char *text)
{
    size_t n = (size_t)snprintf(text, TEXT_MOST, "%s", file->head);
    for (size_t i = 0; i < ROWS; i++)
        n += expand(text + n, TEXT_MOST - n, file->row, i, file->decimal != 0 ? file->decimal : '.');
    return n + (size_t)snprintf(text + n, TEXT_MOST - n, "%s", file->tail);
}

static void every_odd_file_gives_the_same_pulse(void **state)
{
    (void)state;
    static char text[TEXT_MOST];
    for (size_t k = 0; k < CW_COUNT(FILES); k++) {
        const odd *file = &FILES[k];
        cw_error err;
        cw_source *source = NULL;
        print_message("%s\n", file->what);
        assert_ok(open_bytes(text, write_odd(file, text), &source, &err), &err);
        const cw_source_info *info = cw_source_about(source);
        assert_int_equal(info->form, CW_SOURCE_SAMPLED);
        assert_int_equal(info->channels, 1);
        assert_int_equal(info->frames, ROWS);
        assert_near(1 / info->rate_hz, INTERVAL_S, 1e-9 * INTERVAL_S);
        if (file->unit != NULL)
            assert_string_equal(info->unit, file->unit);
        float values[ROWS];
        size_t got = 0;
        assert_ok(cw_source_read(source, ROWS, values, &got, &err), &err);
        assert_int_equal(got, ROWS);
        for (size_t i = 0; i < ROWS && file->u_value < 1; i++)
            assert_near((double)values[i], pulse(i), file->u_value);
        if (file->warning != NULL)
            assert_contains(info->warnings[0], file->warning);
        else
            assert_int_equal(info->warning_count, 0);
        cw_source_close(source);
    }
}

/* How one instrument says that samples are 25 us apart. */
static void settings_of_many_spellings_are_understood(void **state)
{
    (void)state;
    static const char *const settings[] = {
        "Sample Interval,2.5e-05",
        "Sample Interval,25,us",
        "Sample interval (us),25",
        "Interval [\xb5s],25",
        "dt = 25 us",
        "#dt 2.5e-5 s",
        "Increment,2.5E-5",
        "X Increment = 2.5e-05",
        "XINCR,2.5E-5",
        "WFMPRE:XINCR 2.5E-5",
        "Horizontal Interval 2.500e-05",
        "Tsample = 25 us",
        "Time/Sample: 25us",
        "Period: 25 us/sample",
        "Sampling Interval: 25 microseconds",
        "Time Resolution,25 us",
        "Seconds/Sample,2.5E-05",
        "Sample Period (s),2.5E-05",
        "Sample interval;0,025;ms",
        "Sample Rate,40000",
        "Sample Rate: 40 kHz (auto)",
        "Sample Rate(Sa/s): 4.00E+04",
        "SAMPLE_RATE=40000",
        "SampleRate (MHz): 0.04",
        "Samples/Sec: 40K",
        "Sample rate: 40k samples/s",
        "Sample rate: 0.04 MS/sec",
        "Sample rate,\"40,000\"",
        "fs: 40e3",
        "HORIZONTAL:SAMPLERATE,40000",
        "Sampling Freq (Hz) = 4e4",
        "samples per second: 40 000",
        "Rate [kHz]\t40",
        "Clock;40;kHz",
    };
    char text[4096];
    for (size_t k = 0; k < CW_COUNT(settings); k++) {
        cw_error err;
        cw_source *source = NULL;
        print_message("%s\n", settings[k]);
        size_t n = (size_t)snprintf(text, sizeof text, "Bench\n%s\nCH1\n", settings[k]);
        for (size_t i = 0; i < ROWS; i++)
            n += (size_t)snprintf(text + n, sizeof text - n, "%.3f\n", pulse(i));
        assert_ok(open_bytes(text, n, &source, &err), &err);
        assert_near(1 / cw_source_about(source)->rate_hz, INTERVAL_S, 1e-12 * INTERVAL_S);
        assert_int_equal(cw_source_about(source)->channels, 1);
        assert_string_equal(cw_source_about(source)->names[0], "CH1");
        cw_source_close(source);
    }
}

/* --- Refusals: head, row template, tail, words of the sentence ------------------------------------------------------
 */

static void what_stays_unclear_is_refused_with_the_way_out(void **state)
{
    (void)state;
    static const struct {
        odd file;
        const char *words, *more;
    } refused[] = {
        {{"a clock without a unit", "#CLOCK=0x186A0\n#SIZE=40\n", "{v.3}\n", "", 0, 0, NULL, NULL},
         "\"clock 0x186A0\" has no unit that is understood: it may be an interval, a rate or a count",
         "--sample-interval"},
        {{"a unit nobody knows", "Sample Rate: 40 kilobaud\n", "{v.3}\n", "", 0, 0, NULL, NULL},
         "\"sample rate 40 kilobaud\" has no unit that is understood",
         "--sample-interval"},
        {{"a decimal comma beside commas", "Time,A\n", "{s.6},{v.3}\n", "", ',', 0, NULL, NULL},
         "line 2: time stands still at 0 s",
         "semicolons between the cells"},
        {{"a time per division", "Horizontal Scale,0.01\nRecord Length,40\n", "{v.3}\n", "", 0, 0, NULL, NULL},
         "time per division",
         "--sample-interval"},
        {{"counted samples", "Sample,CH1\n", "{i},{v.3}\n", "", 0, 0, NULL, NULL},
         "first column only counts the samples",
         "--sample-interval"},
        {{"a hole", "Time,A,B\n", "{s.6},{v.3},2\n", "0.001,1,---\n0.001025,1,2\n", 0, 0, NULL, NULL},
         "line 42: \"---\" in column 3 is no value",
         "every channel at every sample"},
        {{"an empty cell", "Time,A,B\n", "{s.6},{v.3},2\n", "0.001,,1.5\n0.001025,1,2\n", 0, 0, NULL, NULL},
         "line 42: \"\" in column 2 is no value",
         "every channel at every sample"},
        {{"a lone mark", "Time,A\n", "{s.6},{v.3}\n", "0.001,OVER\n0.001025,0.125\n", 0, 0, NULL, NULL},
         "line 42: a mark for beyond the range in column 2",
         "Export"},
        {{"no value by the standard's number", "Time,A\n", "{s.6},{v.3}\n", "0.001,9.91E37\n0.001025,0.125\n", 0, 0,
          NULL, NULL},
         "line 42: \"9.91E37\" in column 2 is no value",
         "wider"},
        {{"a second recording", "Time,A\n", "{s.6},{v.3}\n", "\nTime,A\n0,0.125\n0.000025,0.125\n", 0, 0, NULL, NULL},
         "line 43 is blank but numbers or text follow",
         "Split the file"},
        {{"time that runs back", "", "{s.6},{v.3}\n", "0.0005,0.125\n0.000525,0.125\n", 0, 0, NULL, NULL},
         "line 41: time runs back",
         "joined"},
        {{"words among the numbers", "Time,A\n", "{s.6},{v.3}\n", "trigger,1\n0.001025,0.125\n", 0, 0, NULL, NULL},
         "line 42: \"trigger\" in column 1 is not a finite number",
         "mend or remove"},
        {{"a voltage where time should be", "Time,A\n", "{s.6},{v.3}\n", "3 mV,1\n", 0, 0, NULL, NULL},
         "line 42",
         "unit is in the wrong column"},
        {{"nine channels", "t,1,2,3,4,5,6,7,8,9\n", "{s.6},{v.1},{v.1},{v.1},{v.1},{v.1},{v.1},{v.1},{v.1},{v.1}\n", "",
          0, 0, NULL, NULL},
         "more than 8 columns of values",
         "sensors"},
        {{"levels at instants of their own", "Time (us),A,Time (us),B\n", "{us.0},1,{us.0}3,0\n", "", 0, 0, NULL, NULL},
         "times of its own in column 3",
         "one time column"},
    };
    static char text[TEXT_MOST];
    for (size_t k = 0; k < CW_COUNT(refused); k++) {
        cw_error err;
        cw_source *source = NULL;
        print_message("%s\n", refused[k].file.what);
        assert_fails(open_bytes(text, write_odd(&refused[k].file, text), &source, &err), CW_INPUT, &err,
                     refused[k].words);
        assert_contains(err.text, refused[k].more);
    }
}

/* Lists of changes of two lines, as logic analysers write them: the first line is up from 0.1000001 to 0.10405 s, the
 * second goes down at 0.103 s. */
static void lists_of_changes_give_their_instants(void **state)
{
    (void)state;
    static const char *const lists[] = {
        "Time [s],D0,D1\n0,0,1\n0.1000001,1,1\n0.103,1,0\n0.10405,0,0\n",
        "Time [s],D0,D1\n0.000000000,0,1\n0.100000100,1,\n0.103000000,,0\n0.104050000,0,\n",
        "Time [s],D0,D1\n0,Low,High\n0.1000001,High,High\n0.103,High,Low\n0.10405,Low,Low\n",
        "Time [s];D0;D1\n0,0;L;H\n0,1000001;H;H\n0,103;H;L\n0,10405;L;L\n",
        "Time (us),D0,D1\n0,false,true\n100000.1,true,true\n103000,true,false\n104050,false,false\n",
        "Time,D0,D1\n0 s,0,1\n100.0001 ms,1,1\n103 ms,1,0\n104.05 ms,0,0\n",
        "Time,D0,D1\n23:59:59.9000000,0,1\n00:00:00.0000001,1,1\n00:00:00.0030000,1,0\n00:00:00.0040500,0,0\n",
        "time,D0,D1\n2024-05-06T12:00:00Z,0,1\n2024-05-06T12:00:00.1000001Z,1,1\n2024-05-06T12:00:00.103Z,1,0\n"
        "2024-05-06T12:00:00.10405Z,0,0\n",
        "time_ns,D0,D1\n1715000000900000000,0,1\n1715000001000000100,1,1\n1715000001003000000,1,0\n"
        "1715000001004050000,0,0\n",
        "timestamp,D0,D1\n1715000000.9,0,1\n1715000001.0000001,1,1\n1715000001.003,1,0\n1715000001.00405,0,0\n",
        "Time [s],D0,D1\n0,0,1\n0.1000001,1,1\n0.103,1,1\n0.103,1,0\n0.10405,0,0\n",
    };
    for (size_t k = 0; k < CW_COUNT(lists); k++) {
        cw_error err;
        cw_source *source = NULL;
        size_t count;
        print_message("%s\n", lists[k]);
        assert_ok(open_bytes(lists[k], strlen(lists[k]), &source, &err), &err);
        assert_int_equal(cw_source_about(source)->form, CW_SOURCE_EDGES);
        assert_int_equal(cw_source_about(source)->channels, 2);
        const cw_edge *edges = cw_source_edges(source, 0, &count);
        assert_int_equal(count, 3);
        assert_int_equal(edges[0].level, 0);
        assert_near(edges[1].at_s, 0.1000001, 2e-11); /* the digits of a day of seconds in a double */
        assert_near(edges[2].at_s, 0.10405, 2e-11);
        edges = cw_source_edges(source, 1, &count);
        assert_int_equal(count, 2);
        assert_int_equal(edges[0].level, 1);
        assert_near(edges[1].at_s, 0.103, 2e-11);
        cw_source_close(source);
    }
}

static void read_all(const char *text, size_t channels, float *values, size_t frames, char *warning, size_t size)
{
    cw_error err;
    cw_source *source = NULL;
    size_t got = 0;
    assert_ok(open_bytes(text, strlen(text), &source, &err), &err);
    const cw_source_info *info = cw_source_about(source);
    assert_int_equal(info->channels, channels);
    assert_int_equal(info->frames, frames);
    assert_int_equal(info->warning_count, 1);
    snprintf(warning, size, "%s", info->warnings[0]);
    assert_ok(cw_source_read(source, frames, values, &got, &err), &err);
    assert_int_equal(got, frames);
    cw_source_close(source);
}

static void marks_beyond_the_range_are_its_end(void **state)
{
    (void)state;
    static const char *const marks[] = {"OVER", "Inf", "9.9E37", "\xe2\x88\x9e", "O.L", "overflow"};
    for (size_t k = 0; k < CW_COUNT(marks); k++) {
        char text[4096], warning[CW_WARNING_TEXT];
        float values[20];
        size_t n = (size_t)snprintf(text, sizeof text, "Time (us),A (mV)\n");
        for (size_t i = 0; i < 20; i++) {
            char value[16];
            snprintf(value, sizeof value, "%zu.5", i == 8 ? 900 : i == 12 ? 875 : i);
            n += (size_t)snprintf(text + n, sizeof text - n, "%zu,%s\n", 10 * i, i > 8 && i < 12 ? marks[k] : value);
        }
        read_all(text, 1, values, 20, warning, sizeof warning);
        for (size_t i = 9; i < 12; i++)
            assert_near((double)values[i], 0.9005, 1e-7);
        assert_near((double)values[12], 0.8755, 1e-7);
        assert_near((double)values[0], 0.0005, 1e-7);
        assert_contains(warning, "beyond the range of the instrument in 3 rows, the first in line 11");
    }
}

static void a_channel_that_ends_early_keeps_its_last_value(void **state)
{
    (void)state;
    char text[4096], warning[CW_WARNING_TEXT];
    float values[40];
    size_t n = (size_t)snprintf(text, sizeof text, "Time (us),A,B\n");
    for (size_t i = 0; i < 20; i++)
        n += (size_t)snprintf(text + n, sizeof text - n, i < 15 ? "%zu,0.%zu,0.75\n" : "%zu,0.%zu,\n", 10 * i, 10 + i);
    read_all(text, 2, values, 20, warning, sizeof warning);
    assert_near((double)values[38], 0.29, 1e-7);
    assert_near((double)values[39], 0.75, 1e-7);
    assert_contains(warning, "channel 2 (\"B\") ends at line 17");
}

/* B is a straight line of its own times, which stand 4 us later: carried over it must lie on that line. */
static void times_of_its_own_are_carried_over(void **state)
{
    (void)state;
    char text[4096], warning[CW_WARNING_TEXT];
    float values[40];
    size_t n = (size_t)snprintf(text, sizeof text, "Time (us),A,Time (us),B\n");
    for (size_t i = 0; i < 20; i++)
        n += (size_t)snprintf(text + n, sizeof text - n, "%zu,0.%zu,%zu,%zu.5\n", 10 * i, i % 3, 10 * i + 4, i);
    read_all(text, 2, values, 20, warning, sizeof warning);
    for (size_t i = 1; i < 20; i++)
        assert_near((double)values[2 * i + 1], (double)i - 0.4 + 0.5, 1e-6);
    assert_contains(warning, "channel 2 (\"B\") has times of its own, up to 4e-06 s");
}

static void the_latest_row_first_is_turned_round(void **state)
{
    (void)state;
    char text[4096], warning[CW_WARNING_TEXT];
    float values[20];
    size_t n = (size_t)snprintf(text, sizeof text, "Time (us),A\n");
    for (size_t i = 20; i-- > 0;)
        n += (size_t)snprintf(text + n, sizeof text - n, "%zu,%zu.5\n", 10 * i, i * i);
    read_all(text, 1, values, 20, warning, sizeof warning);
    for (size_t i = 0; i < 20; i++)
        assert_near((double)values[i], (double)(i * i) + 0.5, 1e-4);
    assert_contains(warning, "the latest first");
}

/* A channel a line: with a time line, and with an interval above. */
static void samples_side_by_side_are_read(void **state)
{
    (void)state;
    enum { SAMPLES = 90 };
    for (int timed = 0; timed < 2; timed++) {
        char text[8192];
        cw_error err;
        cw_source *source = NULL;
        float values[2 * SAMPLES];
        size_t got,
            n = (size_t)snprintf(text, sizeof text, "Bench,3\n%s", timed ? "Time (us)" : "Sample interval,25,us\n");
        for (size_t i = 0; timed && i < SAMPLES; i++)
            n += (size_t)snprintf(text + n, sizeof text - n, ",%zu", 25 * i);
        n += (size_t)snprintf(text + n, sizeof text - n, "%sA (mV)", timed ? "\n" : "");
        for (size_t i = 0; i < SAMPLES; i++)
            n += (size_t)snprintf(text + n, sizeof text - n, ",%zu.5", i % 7);
        n += (size_t)snprintf(text + n, sizeof text - n, "\nB (V)");
        for (size_t i = 0; i < SAMPLES; i++)
            n += (size_t)snprintf(text + n, sizeof text - n, ",0.%zu", i % 9);
        assert_ok(open_bytes(text, n, &source, &err), &err);
        const cw_source_info *info = cw_source_about(source);
        assert_int_equal(info->channels, 2);
        assert_int_equal(info->frames, SAMPLES);
        assert_near(1 / info->rate_hz, INTERVAL_S, 1e-9 * INTERVAL_S);
        assert_string_equal(info->names[1], "B (V)");
        assert_ok(cw_source_read(source, SAMPLES, values, &got, &err), &err);
        for (size_t i = 0; i < SAMPLES; i++) {
            assert_near((double)values[2 * i], ((double)(i % 7) + 0.5) * 1e-3, 1e-9);
            assert_near((double)values[2 * i + 1], 0.1 * (double)(i % 9), 1e-7);
        }
        cw_source_close(source);
    }
}

/* 700 lines of remarks, and 512 zero bytes behind the last row. */
static void a_long_preamble_and_a_filled_up_end_are_passed(void **state)
{
    (void)state;
    static char text[TEXT_MOST];
    size_t n = 0, got;
    for (int i = 0; i < 700; i++)
        n += (size_t)snprintf(text + n, TEXT_MOST - n, "Remark %d,channel %d of 2\n", i, i % 2);
    n += (size_t)snprintf(text + n, TEXT_MOST - n, "Time (us),CH1 (V)\n");
    for (int i = 0; i < 3000; i++)
        n += (size_t)snprintf(text + n, TEXT_MOST - n, "%d,0.%d\n", i * 10, i % 10);
    memset(text + n, 0, 512);
    cw_error err;
    cw_source *source = NULL;
    static float values[3000];
    assert_ok(open_bytes(text, n + 512, &source, &err), &err);
    assert_near(1 / cw_source_about(source)->rate_hz, 1e-5, 1e-14);
    assert_string_equal(cw_source_about(source)->names[0], "CH1 (V)");
    assert_ok(cw_source_read(source, 3000, values, &got, &err), &err);
    assert_int_equal(got, 3000);
    assert_near((double)values[2897], 0.7, 1e-7);
    cw_source_close(source);
}

CHECK_MAIN(cmocka_unit_test(every_odd_file_gives_the_same_pulse),
           cmocka_unit_test(settings_of_many_spellings_are_understood),
           cmocka_unit_test(the_latest_row_first_is_turned_round), cmocka_unit_test(samples_side_by_side_are_read),
           cmocka_unit_test(what_stays_unclear_is_refused_with_the_way_out),
           cmocka_unit_test(lists_of_changes_give_their_instants), cmocka_unit_test(marks_beyond_the_range_are_its_end),
           cmocka_unit_test(a_channel_that_ends_early_keeps_its_last_value),
           cmocka_unit_test(times_of_its_own_are_carried_over),
           cmocka_unit_test(a_long_preamble_and_a_filled_up_end_are_passed))
