/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exposure/light.h"

#include <math.h>

#include "support/check.h"

/* ISO 2720 arithmetic, ISO 100, K 12.5, C 250: powers of two, exact. Formula at liquisearch.com, "EV as a measure of
 * luminance and illuminance". */
static void luminance_and_illuminance_follow_iso_2720(void **state)
{
    (void)state;
    static const double luminance[][2] = {{-2, 0.03125}, {0, 0.125}, {3, 1},     {5, 4},    {7, 16},
                                          {10, 128},     {12, 512},  {15, 4096}, {16, 8192}};
    static const double illuminance[][2] = {{-2, 0.625}, {0, 2.5},    {5, 80},    {7, 320},
                                            {10, 2560},  {12, 10240}, {15, 81920}};
    for (size_t i = 0; i < CW_COUNT(luminance); i++) {
        assert_near(cw_luminance_at_ev(luminance[i][0], CW_REFLECTED_K), luminance[i][1], 1e-12 * luminance[i][1]);
        assert_near(cw_ev_of_luminance(luminance[i][1], CW_REFLECTED_K), luminance[i][0], 1e-12);
    }
    for (size_t i = 0; i < CW_COUNT(illuminance); i++) {
        assert_near(cw_illuminance_at_ev(illuminance[i][0], CW_INCIDENT_C), illuminance[i][1],
                    1e-12 * illuminance[i][1]);
        assert_near(cw_ev_of_illuminance(illuminance[i][1], CW_INCIDENT_C), illuminance[i][0], 1e-12);
    }
    /* ISO 2721 (freestandardsintroduction.com): 4 to 4096 cd/m2 is EV 5 to 15 at ISO 100 */
    assert_near(cw_ev_of_luminance(4, 12.5), 5, 1e-12);
    assert_near(cw_ev_of_luminance(4096, 12.5), 15, 1e-12);
    /* ANSI PH3.49 example (photrio.com thread 135325): K 12.5, f/16, 1/S: L = 3200 cd/m2 */
    assert_near(cw_luminance_at_ev(cw_light_value(16, 1.0 / 125, 125), 12.5), 3200, 1e-9);
}

/* APEX, ASA PH2.5-1960 (speedylook.com; de.zxc.wiki): Av 0 to 10 for f/1 to f/32, Tv 0 to 10 for 1 to 1/1024, ISO 100
 * -> 5, 400 -> 7. */
static void apex_values(void **state)
{
    (void)state;
    for (int i = 0; i <= 10; i++) {
        assert_near(cw_apex_av(pow(M_SQRT2, i)), i, 1e-12);
        assert_near(cw_apex_tv(exp2(-i)), i, 1e-12);
    }
    assert_near(cw_apex_sv(100), 5, 1e-12);
    assert_near(cw_apex_sv(400), 7, 1e-12);
    assert_near(cw_apex_av(32), 10, 1e-12);
    assert_near(cw_film_degrees(100), 21, 1e-9); /* 100/21, on every box of film */
    assert_near(cw_film_degrees(400), 27, 0.03);
    assert_true(isnan(cw_ev_of_settings(0, 1)) && isnan(cw_ev_of_settings(8, -1)));
}

/* Young and Freedman, University Physics 14th ed., problem 34.49: f 180 mm, 16.36 mm opening is f/11.0; 1/30 s at f/11
 * is 2.1 ms at f/2.8 (exact 2.16). */
static void equal_exposures_of_a_textbook(void **state)
{
    (void)state;
    assert_near(180 / 16.36, 11.0, 0.005);
    double time = 2.8 * 2.8 / exp2(cw_ev_of_settings(11, 1.0 / 30));
    assert_near(time * 1e3, 2.16, 0.005);
}

static void a_lamp_at_a_distance(void **state)
{
    (void)state;
    assert_near(cw_illuminance_of_lamp(80, 2), 20, 1e-12); /* inverse square */
    /* a matt sphere's light in all directions: pi L = r E */
    assert_near(cw_luminance_of_card(100, 0.18) * M_PI, 18, 1e-12);
    assert_true(isnan(cw_illuminance_of_lamp(80, 0)));
}

static void the_dial_takes_up_error_filter_and_age(void **state)
{
    (void)state;
    cw_speed_setting s;
    cw_error err;
    /* gives one stop too much light: double the dial */
    assert_ok(cw_speed_setting_find(100, 1, 1, 0, &s, &err), &err);
    assert_near(s.dial_exact, 200, 1e-9);
    assert_near(s.dial_mark, 200, 0);
    assert_near(s.left_ev, 0, 1e-9);
    /* filter factor 4: a quarter; a third more for old film */
    assert_ok(cw_speed_setting_find(400, 0, 4, 1.0 / 3, &s, &err), &err);
    assert_near(s.dial_exact, 100 * exp2(-1.0 / 3), 1e-9);
    assert_near(s.dial_mark, 80, 0);
    assert_near(s.filter_ev, 2, 1e-12);
    assert_true(fabs(s.left_ev) < 1.0 / 6 + 0.02);
    /* left_ev: the dial at its mark instead of the exact figure; a lower dial gives more light */
    assert_near(s.left_ev, log2(s.dial_exact / 80), 1e-12);
    for (double x = 6; x < 6400; x *= 1.07)
        assert_true(fabs(log2(cw_film_speed_mark(x) / x)) < 0.24); /* 12 and 16 lie 0.415 apart, the widest gap */
    assert_fails(cw_speed_setting_find(0, 0, 1, 0, &s, &err), CW_RANGE, &err, "film speed 0");
    assert_fails(cw_speed_setting_find(100, 0, 0.5, 0, &s, &err), CW_RANGE, &err, "filter factor 0.5");
}

CHECK_MAIN(cmocka_unit_test(luminance_and_illuminance_follow_iso_2720), cmocka_unit_test(apex_values),
           cmocka_unit_test(equal_exposures_of_a_textbook), cmocka_unit_test(a_lamp_at_a_distance),
           cmocka_unit_test(the_dial_takes_up_error_filter_and_age))
