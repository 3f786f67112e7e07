/* SPDX-License-Identifier: GPL-3.0-or-later */
/* CSV in the many hands of instruments: every file of the table holds the same pulse. */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "signal/source.h"
#include "support/check.h"

enum { ROWS = 40 };
static const double INTERVAL_S = 25e-6;

/* How one instrument writes it. */
typedef struct {
    const char *what, *preamble, *row_end;
    char separator, decimal;
    double time_unit_s; /* 0: no time column */
    double start_s, volt;
    const char *before_row; /* put before each row */
    bool scientific, counts;
    const char *at_end;
} dialect;

static const dialect DIALECTS[] = {
    {"plain", "time_s,A\n", "\n", ',', '.', 1, 0, 1, "", false, false, ""},
    {"no header at all", "", "\n", ',', '.', 1, 0, 1, "", false, false, ""},
    {"ms, mV, semicolon, decimal comma, CRLF", "Time (ms);Channel A (mV)\r\n", "\r\n", ';', ',', 1e-3, 0, 1e-3, "",
     false, false, "\r\n\r\n"},
    {"us in a units row, tabs, quotes", "\"Time\"\t\"Channel 1\"\n\"(us)\"\t\"(mV)\"\n\n", "\n", '\t', '.', 1e-6, 0,
     1e-3, "", false, false, "\n"},
    {"ns in brackets", "t [ns],CH1 [V]\n", "\n", ',', '.', 1e-9, 0, 1, "", false, false, ""},
    {"micro sign", "Time (\xc2\xb5s);A (V)\n", "\n", ';', '.', 1e-6, 0, 1, "", false, false, ""},
    {"micro sign of ISO 8859-1", "Time (\xb5s);A (V)\n", "\n", ';', '.', 1e-6, 0, 1, "", false, false, ""},
    {"microseconds as a microcontroller names them", "micros,A0\n", "\n", ',', '.', 1e-6, 0, 1, "", false, false, ""},
    {"CRCRLF", "Time,A\r\r\n", "\r\r\n", ',', '.', 1, 0, 1, "", true, false, ""},
    {"a setting called time above the only column", "Sampling Period,2.5e-05\nTime,\nWaveform Data,\n", ",\n", ',', '.',
     0, 0, 1, "", true, false, ""},
    {"byte order mark", "\xef\xbb\xbfTime,A\n", "\n", ',', '.', 1, 0, 1, "", true, false, ""},
    {"negative times before the trigger", "Second,Volt\n", "\n", ',', '.', 1, -0.0005, 1, "", true, false, ""},
    {"trailing separators", "Time,A,\nSecond,Volt,\n", ",\n", ',', '.', 1, 0, 1, "", true, false, ""},
    {"blanks", "# t/s  U/V\n", "\n", ' ', '.', 1, 0, 1, "  ", true, false, ""},
    {"blanks, decimal comma", "", "\n", ' ', ',', 1, 0, 1, "", true, false, ""},
    {"CR line ends", "Time,A\r", "\r", ',', '.', 1, 0, 1, "", true, false, ""},
    {"interval in the preamble",
     "Model,bench scope\nPoint Format,Y\nSample Interval,2.500000E-05,s\nRecord Length,4.000000E+01\nVertical "
     "Units,V\nLabel,CH1\nVolt\n",
     "\n", ',', '.', 0, 0, 1, "", true, false, ""},
    {"interval with its unit in the key", "Sampling Period [us];25\nChannel;A\nUnit;V\n", "\n", ';', '.', 0, 0, 1, "",
     true, false, ""},
    {"rate in the preamble", "#Sample Rate: 40.0kS/s\n#Channel: A (V)\n", "\n", ',', '.', 0, 0, 1, "", true, false, ""},
    {"rate, decimal comma", "Abtastrate;40000,0;Hz\nA (V)\n", "\n", ';', ',', 0, 0, 1, "", false, false, ""},
    {"time base as interval", "Time base = 25 us per sample\nSample interval = 25us\nVoltage (V)\n", "\n", ',', '.', 0,
     0, 1, "", false, false, ""},
    {"index and increment under their names", "X,CH1,Start,Increment\nSequence,Volt,-1.0e-03,2.5e-05\n", ",,\n", ',',
     '.', 0, 0, 1, "", true, true, ""},
    {"settings beside the numbers", "Record Length,4.0e+01,Points,,\n", "\n", ',', '.', 1, 0, 1, ",,,", true, false,
     ""},
};

static double pulse(size_t i)
{
    return i >= 12 && i < 29 ? 0.875 : 0.125;
}

static void number(FILE *f, double value, char decimal, bool scientific)
{
    char text[64];
    snprintf(text, sizeof text, scientific ? "%.7E" : "%.7f", value);
    for (char *c = text; *c != '\0'; c++)
        if (*c == '.')
            *c = decimal;
    fputs(text, f);
}

static void write_dialect(const dialect *d, const char *path)
{
    FILE *f = fopen(path, "wb");
    assert_non_null(f);
    fputs(d->preamble, f);
    for (size_t i = 0; i < ROWS; i++) {
        fputs(d->before_row, f);
        if (d->counts)
            fprintf(f, "%zu%c", i, d->separator);
        if (d->time_unit_s > 0) {
            number(f, (d->start_s + (double)i * INTERVAL_S) / d->time_unit_s, d->decimal, d->scientific);
            fputc(d->separator, f);
        }
        number(f, pulse(i) / d->volt, d->decimal, d->scientific);
        fputs(d->row_end, f);
    }
    fputs(d->at_end, f);
    assert_int_equal(fclose(f), 0);
}

static void every_dialect_gives_the_same_pulse(void **state)
{
    (void)state;
    char folder[200], path[256];
    check_folder("csv", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/trace.csv", folder);
    for (size_t k = 0; k < CW_COUNT(DIALECTS); k++) {
        cw_error err;
        cw_source *source = NULL;
        print_message("%s\n", DIALECTS[k].what);
        write_dialect(&DIALECTS[k], path);
        assert_ok(cw_source_open(path, NULL, &source, &err), &err);
        const cw_source_info *info = cw_source_about(source);
        assert_int_equal(info->channels, 1);
        assert_int_equal(info->frames, ROWS);
        assert_near(info->rate_hz, 1 / INTERVAL_S, 0.02);
        float values[ROWS];
        size_t got = 0;
        assert_ok(cw_source_read(source, ROWS, values, &got, &err), &err);
        assert_int_equal(got, ROWS);
        for (size_t i = 0; i < ROWS; i++)
            assert_near((double)values[i], pulse(i), 1e-6);
        cw_source_close(source);
    }
    unlink(path);
    rmdir(folder);
}

/* --- Refusals: the file, and words of the sentence it must give ----------------------------------------------------
 */

typedef enum { TIMED, UNTIMED, STILL, WORDS, SINGLE } row_kind;

static void rows_of(char *out, size_t size, const char *head, row_kind kind, size_t n, const char *tail)
{
    size_t used = (size_t)snprintf(out, size, "%s", head);
    for (size_t i = 0; i < n; i++) {
        char *at = out + used;
        size_t left = size - used;
        double t = (double)i * 1e-5, v = (double)(i % 7) * 0.1;
        used += (size_t)(kind == TIMED     ? snprintf(at, left, "%.6f,%.2f\n", t, v)
                         : kind == UNTIMED ? snprintf(at, left, "%.2f,%.2f\n", v, (double)(i % 5) * 0.3)
                         : kind == STILL   ? snprintf(at, left, "0.5,%.2f\n", v)
                         : kind == WORDS   ? snprintf(at, left, "hello %.1fx there %.1fx\n", t, v)
                                           : snprintf(at, left, "%.1f\n", v));
    }
    snprintf(out + used, size - used, "%s", tail);
}

static void bad_files_are_refused_with_the_place_and_the_way_out(void **state)
{
    (void)state;
    static const struct {
        const char *head;
        row_kind kind;
        const char *tail, *words, *more;
    } files[] = {
        {"a,b\n", TIMED, "0.1\n", "line 22: 1 column where the rows above have 2", "cut off"},
        {"a,b\n", TIMED, "0.1\n0.2,0.3\n", "line 22: 1 column", "mend or remove"},
        {"time,b\n", TIMED, "0.1,nan\n0.2,1\n", "line 22: \"nan\" in column 2", "wider one"},
        {"time,b\n", TIMED, "0.00020,0.1\n0.00021,inf\n0.00022,0.1\n",
         "line 23: a mark for beyond the range in column 2", "Export"},
        {"time,b\n", TIMED, "0.1,1e999\n0.2,1\n", "\"1e999\" in column 2", "not a finite number"},
        {"time,b\n", TIMED, "0.00001,1\n0.2,1\n", "line 22: time runs back", "joined"},
        {"time,b\n", TIMED, "\n0.2,1\n", "line 22 is blank", "Split the file"},
        {"A,B\n", UNTIMED, "", "no time in the file", "--sample-interval"},
        {"time,b\n", STILL, "", "time stands still", "more"},
        {"a word\n", WORDS, "", "without rows of numbers", "time column"},
        {"Time base,1ms\n", SINGLE, "", "time per division", "--sample-interval"},
    };
    char text[4096], folder[200], path[256];
    check_folder("csv-bad", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/bad.csv", folder);
    for (size_t k = 0; k < CW_COUNT(files); k++) {
        cw_error err;
        cw_source *source = NULL;
        rows_of(text, sizeof text, files[k].head, files[k].kind, 20, files[k].tail);
        assert_ok(cw_write_file(path, text, strlen(text), &err), &err);
        assert_fails(cw_source_open(path, NULL, &source, &err), CW_INPUT, &err, files[k].words);
        assert_contains(err.text, files[k].more);
        assert_contains(err.text, "bad.csv");
    }
    unlink(path);
    rmdir(folder);
}

static void open_text(const char *text, const cw_source_options *options, cw_source **source)
{
    cw_error err;
    char folder[200], path[256];
    check_folder("csv-text", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/t.csv", folder);
    assert_ok(cw_write_file(path, text, strlen(text), &err), &err);
    assert_ok(cw_source_open(path, options, source, &err), &err);
    unlink(path);
    rmdir(folder);
}

static void few_digits_in_time_are_seen_through(void **state)
{
    (void)state;
    /* 4 us steps written with five decimals: stamps repeat two or three times */
    char text[8192];
    size_t used = (size_t)snprintf(text, sizeof text, "time (s),U (V)\n");
    for (size_t i = 0; i < 200; i++)
        used += (size_t)snprintf(text + used, sizeof text - used, "%.5f,%.3f\n", (double)i * 4e-6, i % 3 ? 0.1 : 0.2);
    cw_source *source;
    open_text(text, NULL, &source);
    const cw_source_info *info = cw_source_about(source);
    assert_near(1 / info->rate_hz, 4e-6, 1e-8);
    assert_int_equal(info->frames, 200);
    assert_true(info->u_time_s > 0.1e-6);
    assert_contains(info->warnings[0], "too few digits");
    cw_source_close(source);
}

static void uneven_time_is_resampled_and_said(void **state)
{
    (void)state;
    /* a straight line sampled at 10 us with a hole of 1 ms: straight interpolation must give the line back */
    char text[16384];
    size_t used = (size_t)snprintf(text, sizeof text, "time (s);U (V)\n");
    for (size_t i = 0; i < 300; i++) {
        double t = (double)i * 1e-5 + (i > 150 ? 1e-3 : 0);
        used += (size_t)snprintf(text + used, sizeof text - used, "%.7f;%.6f\n", t, 3 * t);
    }
    cw_source *source;
    cw_error err;
    open_text(text, NULL, &source);
    const cw_source_info *info = cw_source_about(source);
    assert_near(info->rate_hz, 1e5, 1);
    assert_int_equal(info->frames, 400);
    assert_contains(info->warnings[0], "uneven");
    float values[400];
    size_t got;
    assert_ok(cw_source_read(source, 400, values, &got, &err), &err);
    for (size_t i = 0; i < got; i++)
        assert_near((double)values[i], 3 * (double)i / info->rate_hz, 2e-6);
    cw_source_close(source);
}

static void an_interval_given_by_the_person_replaces_a_missing_time(void **state)
{
    (void)state;
    char text[1024];
    size_t used = (size_t)snprintf(text, sizeof text, "A,B\n");
    for (size_t i = 0; i < 30; i++)
        used += (size_t)snprintf(text + used, sizeof text - used, "%s", i % 2 ? "1.5,2.5\n" : "1.25,2\n");
    cw_source *source;
    cw_source_options options = {.sample_interval_s = 2e-5};
    open_text(text, &options, &source);
    assert_near(cw_source_about(source)->rate_hz, 5e4, 1e-6);
    assert_int_equal(cw_source_about(source)->channels, 2);
    cw_source_close(source);
}

static void time_that_stands_twice_is_no_signal(void **state)
{
    (void)state;
    char text[4096];
    size_t used = (size_t)snprintf(text, sizeof text, "Time (s),CH1 (V),Time (s),CH2 (V)\n");
    for (size_t i = 0; i < 30; i++) {
        double t = (double)i * 2e-5;
        used += (size_t)snprintf(text + used, sizeof text - used, "%.6f,%.2f,%.6f,%.2f\n", t, 0.25, t, 0.125);
    }
    cw_source *source;
    open_text(text, NULL, &source);
    assert_int_equal(cw_source_about(source)->channels, 2);
    assert_string_equal(cw_source_about(source)->names[1], "CH2 (V)");
    cw_source_close(source);
}

static void quoted_numbers_with_decimal_commas_are_read(void **state)
{
    (void)state;
    char text[4096];
    size_t used = (size_t)snprintf(text, sizeof text, "\"Time (s)\",\"A (V)\"\n");
    for (size_t i = 0; i < 30; i++)
        used += (size_t)snprintf(text + used, sizeof text - used, "\"0,%05zu\",\"%zu,25\"\n", i * 4, i % 3);
    cw_source *source;
    cw_error err;
    float values[30];
    size_t got;
    open_text(text, NULL, &source);
    assert_near(cw_source_about(source)->rate_hz, 25000, 0.5);
    assert_ok(cw_source_read(source, 30, values, &got, &err), &err);
    assert_near((double)values[2], 2.25, 1e-6);
    cw_source_close(source);
}

static void utf16_is_read_either_way_round(void **state)
{
    (void)state;
    char text[4096], wide[8192], folder[200], path[256];
    size_t used = (size_t)snprintf(text, sizeof text, "Time (\xb5s);A (mV)\n");
    for (size_t i = 0; i < 40; i++)
        used += (size_t)snprintf(text + used, sizeof text - used, "%zu,5;%zu\n", i * 20, 100 + i);
    check_folder("csv-utf16", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/t.csv", folder);
    for (size_t high = 0; high < 2; high++) {
        cw_error err;
        cw_source *source;
        float value;
        size_t got;
        wide[high] = '\xfe';
        wide[1 - high] = '\xff';
        for (size_t i = 0; i < used; i++) {
            wide[2 + 2 * i + high] = 0;
            wide[2 + 2 * i + 1 - high] = text[i];
        }
        assert_ok(cw_write_file(path, wide, 2 + 2 * used, &err), &err);
        assert_ok(cw_source_open(path, NULL, &source, &err), &err);
        assert_near(cw_source_about(source)->rate_hz, 50000, 0.01);
        assert_ok(cw_source_seek(source, 7, &err), &err);
        assert_ok(cw_source_read(source, 1, &value, &got, &err), &err);
        assert_near((double)value, 0.107, 1e-6);
        cw_source_close(source);
    }
    unlink(path);
    rmdir(folder);
}

/* A logic analyser's list of changes, and the same line sampled every 20 us. */
static void columns_of_zeros_and_ones_are_edges(void **state)
{
    (void)state;
    char text[8192];
    cw_source *source;
    size_t count;
    open_text("Time [s],D0,D1\n0,0,1\n0.100000100,1,1\n0.103,1,0\n0.104050,0,0\n0.2,0,0\n", NULL, &source);
    assert_int_equal(cw_source_about(source)->form, CW_SOURCE_EDGES);
    assert_near(cw_source_about(source)->length_s, 0.2, 1e-9);
    assert_near(cw_source_about(source)->u_time_s, 1e-9 / sqrt(12), 1e-15); /* nine digits where they are needed */
    const cw_edge *edges = cw_source_edges(source, 0, &count);
    assert_int_equal(count, 3);
    assert_int_equal(edges[1].level, 1);
    assert_near(edges[1].at_s, 0.1000001, 1e-12);
    assert_near(edges[2].at_s, 0.10405, 1e-12);
    assert_int_equal(cw_source_edges(source, 1, &count)[0].level, 1);
    assert_int_equal(count, 2);
    cw_source_close(source);
    size_t used = (size_t)snprintf(text, sizeof text, "Time (ms),D0\n");
    for (size_t i = 0; i < 300; i++)
        used += (size_t)snprintf(text + used, sizeof text - used, "%.2f,%d\n", (double)i * 0.02, i >= 100 && i < 250);
    open_text(text, NULL, &source);
    edges = cw_source_edges(source, 0, &count);
    assert_int_equal(count, 3);
    assert_near(edges[1].at_s, 99.5 * 20e-6, 1e-10); /* between the two samples, anywhere */
    assert_near(cw_source_about(source)->u_time_s, 20e-6 / sqrt(12), 1e-9);
    cw_source_close(source);
}

CHECK_MAIN(cmocka_unit_test(every_dialect_gives_the_same_pulse),
           cmocka_unit_test(bad_files_are_refused_with_the_place_and_the_way_out),
           cmocka_unit_test(few_digits_in_time_are_seen_through), cmocka_unit_test(uneven_time_is_resampled_and_said),
           cmocka_unit_test(an_interval_given_by_the_person_replaces_a_missing_time),
           cmocka_unit_test(time_that_stands_twice_is_no_signal),
           cmocka_unit_test(quoted_numbers_with_decimal_commas_are_read),
           cmocka_unit_test(utf16_is_read_either_way_round), cmocka_unit_test(columns_of_zeros_and_ones_are_edges))
