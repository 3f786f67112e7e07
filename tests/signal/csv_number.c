/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers of a CSV against the C library's strtod, bit for bit, and plain rows against the same rows in quotes. */
#include <float.h>
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "signal/csv.h"
#include "support/check.h"

static uint64_t bits_of(double value)
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    return bits;
}

/* Returns whether the fast way told the value, which then has to be strtod's; the slow way always has to. */
static bool agrees_with_strtod(const char *text, double digit_s)
{
    cw_csv_cell cell = {text, strlen(text)};
    double expected = strtod(text, NULL), value = NAN, step = NAN, front = NAN;
    if (!cw_csv_number(cell, '.', &value, &step))
        fail_msg("\"%s\" is not taken for a number", text);
    if (bits_of(value) != bits_of(expected))
        fail_msg("\"%s\" is read as %.17g, strtod has %.17g", text, value, expected);
    assert_near(step / digit_s, 1, 4 * DBL_EPSILON);
    size_t length = cw_csv_front_number(text, text + cell.length, '.', &front, NULL);
    if (length > 0 && (length != cell.length || bits_of(front) != bits_of(expected)))
        fail_msg("\"%s\" is read fast as %.17g from %zu bytes, strtod has %.17g", text, front, length, expected);
    return length > 0;
}

static void numbers_are_those_of_strtod(void **state)
{
    (void)state;
    check_random random = {.state = 11};
    size_t fast = 0, of = 60000;
    for (size_t i = 0; i < of; i++) {
        char text[64], whole[32];
        int digits = 1 + (int)(check_uniform(&random) * 19), after = (int)(check_uniform(&random) * (digits + 1));
        for (int k = 0; k < digits; k++)
            whole[k] = (char)('0' + (int)(check_uniform(&random) * 10));
        int exponent = i % 3 == 0 ? (int)(check_uniform(&random) * 61) - 30 : 0;
        snprintf(text, sizeof text, "%s%.*s.%.*s", i % 5 == 0 ? "-" : "", digits - after, whole, after,
                 whole + digits - after);
        if (i % 3 == 0)
            snprintf(text + strlen(text), sizeof text - strlen(text), "e%+03d", exponent);
        fast += agrees_with_strtod(text, pow(10, exponent - after));
    }
    /* an instrument's numbers must not take the slow way; some of those above have to */
    assert_true(fast > of / 2 && fast < of);
}

/* Halfway between two doubles, just beside, and where no double is near. */
static void hard_numbers_are_those_of_strtod(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double digit;
    } hard[] = {{"9007199254740993", 1},
                {"9007199254740993.001", 1e-3},
                {"9007199254740992.999", 1e-3},
                {"9007199254740993.0001", 1e-4},
                {"900719925474099.3e1", 1},
                {"9223372036854775807", 1},
                {"9999999999999999999", 1},
                {"18446744073709551616", 1},
                {"00000000000000000000000000000000000000001.5", 0.1},
                {"0.00000000000000000000000000000000000000015", 1e-41},
                {"1e22", 1e22},
                {"1e23", 1e23},
                {"123456789012345678e-22", 1e-22},
                {"-0", 1},
                {"-0.000", 1e-3},
                {"0e300", 1e300},
                {"2.5e-300", 1e-301},
                {"+.5", 0.1},
                {"5.", 1},
                {"5.e3", 1e3}};
    for (size_t i = 0; i < CW_COUNT(hard); i++)
        agrees_with_strtod(hard[i].text, hard[i].digit);
}

static void what_is_no_number_is_none(void **state)
{
    (void)state;
    static const char *const wrong[] = {"",    ".",   "-",     "e5",  "1e",  "1e+",   "1.2.3", "1,5",   "0x10", "1 2",
                                        "nan", "inf", "1e999", "--1", "1-2", "1e5.5", "5 V",   "1e400", "1e1e1"};
    double value = 7;
    for (size_t i = 0; i < CW_COUNT(wrong); i++)
        if (cw_csv_number((cw_csv_cell){wrong[i], strlen(wrong[i])}, '.', &value, NULL))
            fail_msg("\"%s\" is taken for a number", wrong[i]);
    assert_true(value == 7);
    assert_true(cw_csv_number((cw_csv_cell){"1,5", 3}, ',', &value, NULL));
    assert_true(value == 1.5);
    assert_true(cw_csv_number((cw_csv_cell){"1.5", 2}, '.', &value, NULL)); /* the cell ends before the 5 */
    assert_true(value == 1);
}

/* ---- rows ---- */

enum { ROWS = 300 };

/* The floats of a file of three columns whose cells stand between `left` and `right`. */
static void read_written(const char *separator, const char *left, const char *right, const char *row_end,
                         float values[ROWS * 2])
{
    char path[4200], folder[4096];
    cw_error err;
    cw_source *source;
    check_random random = {.state = 3};
    check_folder("csv-number", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/rows.csv", folder);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    fputs("time_s;A;B\n", file);
    for (int i = 0; i < ROWS; i++) {
        double long_one = check_gaussian(&random), short_one = check_gaussian(&random);
        fprintf(file, "%s%.6f%s%s%s%.17g%s%s%s%.3e%s%s", left, 1e-5 * i, right, separator, left, long_one, right,
                separator, left, short_one, right, row_end);
    }
    assert_int_equal(fclose(file), 0);
    assert_ok(cw_source_open(path, NULL, &source, &err), &err);
    size_t got;
    assert_int_equal(cw_source_about(source)->channels, 2);
    assert_int_equal(cw_source_about(source)->frames, ROWS);
    assert_ok(cw_source_read(source, ROWS, values, &got, &err), &err);
    assert_int_equal(got, ROWS);
    cw_source_close(source);
}

static void plain_rows_and_others_hold_the_same(void **state)
{
    (void)state;
    static const char *const forms[][4] = {{";", "", "", "\n"},    {";", " ", " ", "\r\n"}, {"\t", "", "", "\r\r\n"},
                                           {"  ", "", "", " \n"},  {",", "", "", ",,\n"},   {",", "\"", "\"", "\r"},
                                           {" \t", "  ", "", "\n"}};
    float quoted[ROWS * 2], values[ROWS * 2];
    read_written(";", "\"", "\"", "\n", quoted);
    check_random random = {.state = 3};
    for (size_t i = 0; i < CW_COUNT(quoted); i++) {
        double truth = check_gaussian(&random);
        assert_near((double)quoted[i], truth, fmax(fabs(truth) * (i % 2 == 0 ? 6e-8 : 6e-4), 1e-30));
    }
    for (size_t f = 0; f < CW_COUNT(forms); f++) {
        read_written(forms[f][0], forms[f][1], forms[f][2], forms[f][3], values);
        assert_memory_equal(values, quoted, sizeof values);
    }
}

/* One damaged line far down among plain ones. */
static void a_damaged_row_among_plain_ones_is_found(void **state)
{
    (void)state;
    static const struct {
        char separator;
        const char *row, *words;
    } damages[] = {{' ', "0.002 1.0-2.0", "line 201: \"1.0-2.0\" in column 2 is not a number"},
                   {' ', "0.002 1.0 2.0 3.0", "line 201: 4 columns where the rows above have 3"},
                   {' ', "0.002 1.0", "line 201: 2 columns where the rows above have 3"},
                   {',', "0.002,1.0", "line 201: 2 columns where the rows above have 3"},
                   {',', "0.002,1.0,2.0,3.0", "line 201: 4 columns where the rows above have 3"},
                   {',', "0.002,1.0 2.0", "line 201: \"1.0 2.0\" in column 2 is not a number"},
                   {',', "0.002,,2.0", "line 201: \"\" in column 2 is no value, and there are values below"},
                   {',', "0.002,1.0,1e39", "line 201: a value is too large"},
                   {',', "0.002,1.0,9e999", "line 201: \"9e999\" in column 3 is not a finite number"},
                   {',', "\n0.0,1.0,2.0", "line 201 is blank but numbers or text follow"}};
    char path[4200], folder[4096];
    cw_error err;
    cw_source *source;
    check_folder("csv-damage", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/rows.csv", folder);
    for (size_t d = 0; d < CW_COUNT(damages); d++) {
        FILE *file = fopen(path, "wb");
        assert_non_null(file);
        for (int i = 0; i < ROWS; i++)
            if (i == 200)
                fprintf(file, "%s\n", damages[d].row);
            else
                fprintf(file, "%.5f%c%.2f%c2.0\n", i * 1e-5, damages[d].separator, i * 0.01, damages[d].separator);
        assert_int_equal(fclose(file), 0);
        assert_fails(cw_source_open(path, NULL, &source, &err), CW_INPUT, &err, damages[d].words);
    }
}

CHECK_MAIN(cmocka_unit_test(numbers_are_those_of_strtod), cmocka_unit_test(hard_numbers_are_those_of_strtod),
           cmocka_unit_test(what_is_no_number_is_none), cmocka_unit_test(plain_rows_and_others_hold_the_same),
           cmocka_unit_test(a_damaged_row_among_plain_ones_is_found))
