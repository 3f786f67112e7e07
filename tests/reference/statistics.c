/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The statistics of base/ against NIST StRD and JCGM 100. */
#include "base/stats.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "support/check.h"

enum { MOST = 2048 };

/* The numbers after the last line of dashes, or the last line that begins with "Data:". */
static size_t read_numbers(const char *name, double *out)
{
    char relative[80], path[4096], *text = NULL;
    size_t length, count = 0;
    cw_error err;
    snprintf(relative, sizeof relative, "tests/data/nist/%s.dat", name);
    check_path(relative, path, sizeof path);
    assert_ok(cw_read_file(path, 1 << 20, &text, &length, &err), &err);
    const char *dashes = NULL, *data = NULL;
    for (const char *line = text; *line != '\0';) {
        size_t size = strcspn(line, "\n");
        if (strncmp(line, "-----", 5) == 0)
            dashes = line + size;
        if (strncmp(line, "Data:", 5) == 0)
            data = line + size;
        line += size + (line[size] == '\n');
    }
    const char *at = dashes != NULL ? dashes : data;
    assert_non_null(at);
    for (;;) {
        char *end;
        double value = strtod(at, &end);
        if (end == at)
            break;
        assert_true(count < MOST);
        out[count++] = value;
        at = end;
    }
    at += strspn(at, " \t\r\n");
    assert_int_equal(*at, '\0'); /* nothing but numbers to the end */
    free(text);
    return count;
}

/* Relative to the certified value; 15 digits are certified. */
static void assert_digits(double value, double certified, double relative)
{
    assert_near(value, certified, fabs(certified) * relative);
}

/* NIST StRD, univariate summary statistics: certified mean, standard deviation (n - 1), lag-1 autocorrelation. The
 * decimal data of NumAcc3 and NumAcc4 cannot be written exactly in binary (steps of 1.2e-10 and 1.9e-9 against a
 * standard deviation of 0.1), which alone costs the digits that their looser tolerance allows. */
static void summaries_have_the_certified_digits(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        size_t n;
        double mean, sd, autocorrelation, tolerance;
    } rows[] = {
        {"Lew", 200, -177.435, 277.332168044316, -0.307304800605679, 2e-14},
        {"Lottery", 218, 518.958715596330, 291.699727470969, -0.120948622967393, 2e-14},
        {"Mavro", 50, 2.001856, 0.000429123454003053, 0.937989183438248, 3e-13},
        {"Michelso", 100, 299.8524, 0.0790105478190518, 0.535199668621283, 3e-13},
        {"NumAcc1", 3, 10000002, 1, -0.5, 1e-15},
        {"NumAcc2", 1001, 1.2, 0.1, -0.999, 1e-13},
        {"NumAcc3", 1001, 1000000.2, 0.1, -0.999, 1e-9},
        {"NumAcc4", 1001, 10000000.2, 0.1, -0.999, 1e-8},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        double values[MOST];
        cw_summary summary;
        cw_error err;
        size_t n = read_numbers(rows[i].name, values);
        assert_int_equal(n, rows[i].n);
        assert_ok(cw_summarise(n, values, &summary, &err), &err);
        assert_digits(summary.mean, rows[i].mean, 1e-14);
        assert_digits(summary.sd, rows[i].sd, rows[i].tolerance);
        assert_digits(summary.autocorrelation, rows[i].autocorrelation, rows[i].tolerance);
        assert_digits(summary.u_mean, rows[i].sd / sqrt((double)n), rows[i].tolerance);
    }
}

/* NIST StRD data are y then x. */
static size_t read_pairs(const char *name, double *x, double *y)
{
    double values[MOST];
    size_t n = read_numbers(name, values) / 2;
    for (size_t i = 0; i < n; i++) {
        y[i] = values[2 * i];
        x[i] = values[2 * i + 1];
    }
    return n;
}

/* NIST StRD, Norris: certified intercept, slope, their standard deviations, residual standard deviation. */
static void the_straight_line_has_the_certified_digits(void **state)
{
    (void)state;
    double x[MOST], y[MOST];
    cw_line line;
    cw_error err;
    size_t n = read_pairs("Norris", x, y);
    assert_int_equal(n, 36);
    assert_ok(cw_line_fit(n, x, y, 0, &line, &err), &err);
    assert_digits(line.at_x0.value, -0.262323073774029, 1e-12);
    assert_digits(line.at_x0.u, 0.232818234301152, 1e-13);
    assert_digits(line.slope.value, 1.00211681802045, 1e-14);
    assert_digits(line.slope.u, 0.429796848199937e-03, 1e-13);
    assert_digits(line.residual_sd, 0.884796396144373, 1e-13);
    assert_int_equal(line.degrees, 34);
}

static void fit(size_t n, size_t columns, const double *design, const double *y, const double *p, const double *sd,
                double residual_sd, double tolerance)
{
    double parameters[4], covariance[16], chi_squared;
    cw_error err;
    assert_ok(cw_least_squares(n, columns, design, y, NULL, parameters, covariance, &chi_squared, &err), &err);
    for (size_t k = 0; k < columns; k++) {
        assert_digits(parameters[k], p[k], tolerance);
        assert_digits(sqrt(covariance[k * columns + k]), sd[k], tolerance);
    }
    assert_digits(sqrt(chi_squared / (double)(n - columns)), residual_sd, tolerance);
}

/* NIST StRD, linear regression by orthogonal decomposition: Norris, Pontius (quadratic, x to 3e6), NoInt1, NoInt2. */
static void least_squares_has_the_certified_digits(void **state)
{
    (void)state;
    double x[MOST], y[MOST], design[3 * MOST];
    size_t n = read_pairs("Norris", x, y);
    for (size_t i = 0; i < n; i++) {
        design[2 * i] = 1;
        design[2 * i + 1] = x[i];
    }
    fit(n, 2, design, y, (double[]){-0.262323073774029, 1.00211681802045},
        (double[]){0.232818234301152, 0.429796848199937e-03}, 0.884796396144373, 1e-11);

    n = read_pairs("Pontius", x, y);
    assert_int_equal(n, 40);
    for (size_t i = 0; i < n; i++) {
        design[3 * i] = 1;
        design[3 * i + 1] = x[i];
        design[3 * i + 2] = x[i] * x[i];
    }
    fit(n, 3, design, y, (double[]){0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14},
        (double[]){0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16}, 0.205177424076185e-03, 1e-9);

    n = read_pairs("NoInt1", x, y);
    assert_int_equal(n, 11);
    fit(n, 1, x, y, (double[]){2.07438016528926}, (double[]){0.0165289256198347}, 3.56753034006338, 1e-13);
    n = read_pairs("NoInt2", x, y);
    assert_int_equal(n, 3);
    fit(n, 1, x, y, (double[]){0.727272727272727}, (double[]){0.0420827318078432}, 0.369274472937998, 1e-13);
}

/* JCGM 100:2008, H.3, calibration of a thermometer. Within half a unit of the last printed digit. */
static void the_thermometer_of_jcgm_100_comes_out(void **state)
{
    (void)state;
    static const double t[] = {21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511};
    static const double b[] = {-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160};
    cw_line line;
    cw_error err;
    assert_ok(cw_line_fit(11, t, b, 20.0, &line, &err), &err);
    assert_near(line.at_x0.value, -0.1712, 0.00005);
    assert_near(line.at_x0.u, 0.0029, 0.00005);
    assert_near(line.slope.value, 0.00218, 0.000005);
    assert_near(line.slope.u, 0.00067, 0.000005);
    assert_near(line.correlation, -0.930, 0.0005);
    assert_near(line.residual_sd, 0.0035, 0.00005);
    assert_int_equal(line.degrees, 9);
    cw_quantity at_30 = cw_line_at(&line, 30.0);
    assert_near(at_30.value, -0.1494, 0.00005);
    assert_near(at_30.u, 0.0041, 0.00005);
}

/* JCGM 100:2008, H.1, calibration of an end gauge, nm: u_c 32 (31.67 unrounded), effective degrees 16 (16.76 before
 * truncation), t99 2.92, U99 93. */
static void the_end_gauge_of_jcgm_100_comes_out(void **state)
{
    (void)state;
    const double length_nm = 50.000623e6, expansion = 11.5e-6, u_step_k = 0.05 / sqrt(3), theta_k = -0.1;
    /* the difference d: repeated observations, comparator random, comparator systematic */
    const double d_parts[] = {5.8, 3.9, 6.7}, d_degrees[] = {24, 5, 8};
    double d = sqrt(5.8 * 5.8 + 3.9 * 3.9 + 6.7 * 6.7);
    double u[] = {25, d, length_nm * fabs(theta_k) * 1e-6 / sqrt(3), length_nm * expansion * u_step_k};
    double degrees[] = {18, cw_effective_degrees(3, d_parts, d_degrees), 50, 2}, squares = 0;
    assert_near(d, 9.7, 0.05);
    assert_near(degrees[1], 25.6, 0.2); /* the book goes on from 9.7, rounded; 9.68 gives 25.45 */
    assert_near(u[2], 2.9, 0.05);
    assert_near(u[3], 16.6, 0.05);
    for (size_t i = 0; i < 4; i++)
        squares += u[i] * u[i];
    assert_near(sqrt(squares), 31.67, 0.05);
    double effective = cw_effective_degrees(4, u, degrees);
    assert_near(effective, 16.76, 0.2); /* the book rounds its contributions before it adds them up */
    assert_near(floor(effective), 16, 0);
    double t99 = cw_student_t(0.99, 16);
    assert_near(t99, 2.92, 0.005);
    assert_near(t99 * 32, 93, 0.5);
}

/* JCGM 100:2008, table G.2; the rows for 2 and 4 degrees from memory, the same in any t table. */
static void student_t_is_table_g2(void **state)
{
    (void)state;
    static const struct {
        double coverage, degrees, t;
    } rows[] = {
        {0.95, 2, 4.30},        {0.95, 4, 2.78},          {0.95, 16, 2.12},   {0.9545, 16, 2.17},
        {0.99, 16, 2.92},       {0.9545, 1, 13.97},       {0.9545, 10, 2.28}, {0.9545, INFINITY, 2.00},
        {0.95, INFINITY, 1.96}, {0.9973, INFINITY, 3.00},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++)
        assert_near(cw_student_t(rows[i].coverage, rows[i].degrees), rows[i].t, 0.005);
}

/* Ten resistances, Helfrick and Cooper, Modern Electronic Instrumentation, example 1-11 (textbook companion): mean
 * 101.3, sd over n - 1 0.200. */
static void a_textbook_sample_comes_out(void **state)
{
    (void)state;
    static const double ohm[] = {101.2, 101.7, 101.3, 101.0, 101.5, 101.3, 101.2, 101.4, 101.3, 101.1};
    cw_summary summary;
    cw_error err;
    assert_ok(cw_summarise(10, ohm, &summary, &err), &err);
    assert_near(summary.mean, 101.3, 0.05);
    assert_near(summary.sd, 0.200, 0.0005);
    assert_near(summary.least, 101.0, 0);
    assert_near(summary.most, 101.7, 0);
}

CHECK_MAIN(cmocka_unit_test(summaries_have_the_certified_digits),
           cmocka_unit_test(the_straight_line_has_the_certified_digits),
           cmocka_unit_test(least_squares_has_the_certified_digits),
           cmocka_unit_test(the_thermometer_of_jcgm_100_comes_out),
           cmocka_unit_test(the_end_gauge_of_jcgm_100_comes_out), cmocka_unit_test(student_t_is_table_g2),
           cmocka_unit_test(a_textbook_sample_comes_out))
