/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/unit.h"

#include <math.h>
#include <string.h>

#include "support/check.h"

static void what_people_type_is_read(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        cw_dimension dimension;
        const char *bare;
        double si;
    } rows[] = {
        {"23.4mm", CW_LENGTH, NULL, 0.0234},
        {" 23,4 mm ", CW_LENGTH, NULL, 0.0234},
        {"0.92in", CW_LENGTH, "mm", 0.023368}, /* 1 in = 25.4 mm exactly, NIST SP 811 */
        {"2 1/2 in", CW_LENGTH, NULL, 0.0635},
        {"7/16 in", CW_LENGTH, NULL, 0.0111125},
        {"23.4", CW_LENGTH, "mm", 0.0234},
        {"1/250", CW_TIME, NULL, 0.004},
        {"1/250 s", CW_TIME, NULL, 0.004},
        {"4 ms", CW_TIME, NULL, 0.004},
        {"250 \xc2\xb5s", CW_TIME, NULL, 250e-6},
        {"20 \xc2\xb0"
         "C",
         CW_TEMPERATURE, NULL, 293.15},
        {"-40 F", CW_TEMPERATURE, NULL, 233.15},
        {"18 degF", CW_TEMPERATURE_STEP, NULL, 10},
        {"30 deg", CW_ANGLE, NULL, 0.5235987755982988},
        {"1.2 N\xc2\xb7m", CW_TORQUE, NULL, 1.2},
        {"205 GPa", CW_STRESS, NULL, 205e9},
        {"45 ksi", CW_STRESS, NULL, 310264078.1925762}, /* 1 psi = 6894.757293168 Pa, NIST SP 811 */
        {"70 %", CW_FRACTION, NULL, 0.7},
        {"-1e-3 m", CW_LENGTH, NULL, -0.001},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        cw_error err;
        double si = NAN;
        assert_ok(cw_parse_measure(rows[i].text, rows[i].dimension, rows[i].bare, &si, &err), &err);
        assert_near(si, rows[i].si, fabs(rows[i].si) * 1e-12);
    }
}

static void what_cannot_be_read_is_refused_in_words(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        cw_dimension dimension;
        const char *words;
    } rows[] = {
        {"", CW_LENGTH, "nothing was entered"},     {"abc", CW_LENGTH, "\"abc\" is not a length"},
        {"12 s", CW_LENGTH, "units: m, mm"},        {"1/0", CW_TIME, "divides by zero"},
        {"1,234.5", CW_LENGTH, "is not a length"},  {"1,234,567", CW_PLAIN, "is not a number"},
        {"nan", CW_PLAIN, "is not a number"},       {"inf s", CW_TIME, "is not a time"},
        {"1e999", CW_TIME, "is not a time"},        {"0x10", CW_PLAIN, "is not a number"},
        {"12 mm extra", CW_LENGTH, "not a length"}, {"3 mPa", CW_STRESS, "not a stress"},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        cw_error err;
        double si = 4711;
        assert_fails(cw_parse_measure(rows[i].text, rows[i].dimension, NULL, &si, &err), CW_INPUT, &err, rows[i].words);
        assert_near(si, 4711, 0); /* nothing is written on a refusal */
    }
}

static void units_round_trip_in_every_dimension(void **state)
{
    (void)state;
    for (int d = 0; d < CW_DIMENSION_COUNT; d++) {
        char names[160];
        cw_unit_names((cw_dimension)d, names, sizeof names);
        for (char *rest = names, *name; (name = strsep(&rest, ",")) != NULL;) {
            name += strspn(name, " ");
            const cw_unit *unit = cw_unit_find((cw_dimension)d, name);
            assert_non_null(unit);
            assert_near(cw_to_unit(cw_from_unit(2.385, unit), unit), 2.385, 1e-9);
        }
    }
}

static void whole_numbers_keep_their_limits(void **state)
{
    (void)state;
    cw_error err;
    long value = 0;
    assert_ok(cw_parse_whole(" 12 ", 1, 40, &value, &err), &err);
    assert_int_equal(value, 12);
    assert_fails(cw_parse_whole("41", 1, 40, &value, &err), CW_INPUT, &err, "from 1 to 40");
    assert_fails(cw_parse_whole("3.5", 1, 40, &value, &err), CW_INPUT, &err, "whole number");
    assert_fails(cw_parse_whole("99999999999999999999", 1, 40, &value, &err), CW_INPUT, &err, "whole number");
}

CHECK_MAIN(cmocka_unit_test(what_people_type_is_read), cmocka_unit_test(what_cannot_be_read_is_refused_in_words),
           cmocka_unit_test(units_round_trip_in_every_dimension), cmocka_unit_test(whole_numbers_keep_their_limits))
