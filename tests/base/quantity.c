/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/quantity.h"

#include <math.h>
#include <string.h>

#include "support/check.h"

#define PM " \xc2\xb1 "
#define MINUS "\xe2\x88\x92"

/* JCGM 100:2008, 7.2.2 and 7.2.6: value and uncertainty end at the same digit, the uncertainty keeps two. The first row
 * is the worked figure of 7.2.2, a 100 g mass standard: 100.02147 g with u = 0.35 mg, here expanded to 0.70 mg. */
static void a_quantity_ends_where_its_uncertainty_ends(void **state)
{
    (void)state;
    static const struct {
        cw_quantity q;
        cw_dimension dimension;
        const char *unit, *text;
    } rows[] = {
        {{0.10002147, 0.35e-6}, CW_MASS, "g", "100.02147" PM "0.00070 g"},
        {{0.0123456, 0.00004}, CW_LENGTH, "mm", "12.346" PM "0.080 mm"},
        {{0.0123456, 0}, CW_LENGTH, "mm", "12.3 mm"},
        {{0.0123456, NAN}, CW_LENGTH, "mm", "12.3 mm"},
        {{-0.15, 0.049}, CW_EXPOSURE_VALUE, "EV", MINUS "0.150" PM "0.098 EV"},
        {{1234.56, 61}, CW_PLAIN, "", "1230" PM "120"},
        {{NAN, 0.1}, CW_LENGTH, "mm", "not known"},
        {{INFINITY, 0.1}, CW_LENGTH, "m", "without limit"},
        {{293.15, 0.5}, CW_TEMPERATURE, "degC", "20.0" PM "1.0 degC"},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        char text[CW_QUANTITY_TEXT];
        cw_quantity_text(rows[i].q, cw_unit_find(rows[i].dimension, rows[i].unit), 3, text, sizeof text);
        assert_string_equal(text, rows[i].text);
    }
}

static void shutter_times_read_as_the_trade_writes_them(void **state)
{
    (void)state;
    static const struct {
        double seconds;
        const char *text;
    } rows[] = {{0.00443, "1/226 s"}, {0.001, "1/1000 s"}, {1.0 / 4000, "1/4000 s"},
                {0.0333, "1/30 s"},   {0.52, "0.52 s"},    {2.125, "2.12 s"},
                {0.25, "1/4.0 s"},    {-1, "not known"},   {NAN, "not known"}};
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        char text[CW_QUANTITY_TEXT];
        cw_shutter_time_text(rows[i].seconds, text, sizeof text);
        assert_string_equal(text, rows[i].text);
    }
}

static void errors_carry_their_sign_and_zero_none(void **state)
{
    (void)state;
    char text[CW_QUANTITY_TEXT];
    cw_signed_ev_text(0.1473, text, sizeof text);
    assert_string_equal(text, "+0.15 EV");
    cw_signed_ev_text(-0.1473, text, sizeof text);
    assert_string_equal(text, MINUS "0.15 EV");
    cw_signed_ev_text(-0.001, text, sizeof text);
    assert_string_equal(text, "0.00 EV");
    cw_signed_ev_text(NAN, text, sizeof text);
    assert_string_equal(text, "not known");
}

static void an_uncertainty_is_never_shown_as_none(void **state)
{
    (void)state;
    static const struct {
        cw_quantity error_ev;
        const char *text;
    } rows[] = {{{0.1473, 0.0171}, "+0.15 ± 0.04"},   /* k = 2, rounded up */
                {{-0.7, 0.035}, MINUS "0.70 ± 0.07"}, /* 0.07 exactly is not 0.08 */
                {{-0.0007, 0.0001}, "0.00 ± 0.01"},
                {{0.31, NAN}, "+0.31"},
                {{NAN, 0.1}, "not known"}};
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        char text[CW_QUANTITY_TEXT];
        cw_error_ev_text(rows[i].error_ev, text, sizeof text);
        assert_string_equal(text, rows[i].text);
    }
}

static void numbers_keep_their_figures(void **state)
{
    (void)state;
    static const struct {
        double value;
        int figures;
        const char *text;
    } rows[] = {{999.96, 4, "1000"},     {0.00012345, 3, "0.000123"}, {123456, 3, "123456"},
                {1.5e12, 3, "1.50e+12"}, {-2.385, 2, MINUS "2.4"},    {0, 3, "0.00"}};
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        char text[CW_QUANTITY_TEXT];
        cw_number_text(rows[i].value, rows[i].figures, text, sizeof text);
        assert_string_equal(text, rows[i].text);
    }
    assert_true(isnan(cw_log2_ratio(0, 1)) && isnan(cw_log2_ratio(1, -1)));
    assert_near(cw_log2_ratio(0.00443, 0.004), 0.147, 0.0005); /* common practice, no source */
}

CHECK_MAIN(cmocka_unit_test(a_quantity_ends_where_its_uncertainty_ends),
           cmocka_unit_test(shutter_times_read_as_the_trade_writes_them),
           cmocka_unit_test(errors_carry_their_sign_and_zero_none),
           cmocka_unit_test(an_uncertainty_is_never_shown_as_none), cmocka_unit_test(numbers_keep_their_figures))
