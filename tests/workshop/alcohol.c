/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/alcohol.h"

#include <math.h>

#include "support/check.h"

/* Fractions by volume of ethanol against by mass, OIML R 22, from memory: 40 % by volume is 33.3 % by mass, 948.0
 * kg/m3; 50 is 42.4, 930.1; 70 is 62.4, 885.6; 96 is 93.8, 807.4. */
static void volume_and_mass_of_ethanol_are_those_of_the_tables(void **state)
{
    (void)state;
    static const double rows[][3] = {
        {0.40, 0.333, 948.0}, {0.50, 0.424, 930.1}, {0.70, 0.624, 885.6}, {0.96, 0.938, 807.4}};
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        double by_mass = cw_alcohol_by_mass(CW_ALCOHOL_ETHANOL, rows[i][0]);
        assert_near(by_mass, rows[i][1], 0.001);
        assert_near(cw_alcohol_density(CW_ALCOHOL_ETHANOL, by_mass), rows[i][2], 1);
        assert_near(cw_alcohol_by_volume(CW_ALCOHOL_ETHANOL, by_mass), rows[i][0], 1e-9);
    }
    assert_true(isnan(cw_alcohol_density(CW_ALCOHOL_ETHANOL, 1.01)));
}

/* Gay-Lussac's table for thinning ethanol with water, from memory: 100 volumes of 95 % to 70 % take 39.2 of water,
 * where the simple rule says 35.7; to 60 % 63.0 (58.3), to 50 % 95.9 (90). */
static void thinning_ethanol_takes_the_water_of_the_table(void **state)
{
    (void)state;
    static const double rows[][3] = {{0.70, 392, 357.1}, {0.60, 630, 583.3}, {0.50, 959, 900}};
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        cw_dilution d;
        cw_error err;
        double made = 1e-3 * 0.95 / rows[i][0];
        assert_ok(cw_dilute(CW_ALCOHOL_ETHANOL, 0.95, rows[i][0], CW_BY_VOLUME, made, &d, &err), &err);
        assert_near(d.stock_m3 * 1e6, 1000, 1e-3);
        assert_near(d.water_m3 * 1e6, rows[i][1], 4);
        assert_near((made - d.stock_m3) * 1e6, rows[i][2], 0.1);
        assert_near(d.shrinks_m3, d.stock_m3 + d.water_m3 - made, 1e-12);
    }
}

/* Excess volume of a mole of the mix, cm3: what it takes less than its parts. */
static double excess_cm3(cw_alcohol alcohol, double molar_g, double by_mole)
{
    double mass = by_mole * molar_g + (1 - by_mole) * 18.015, by_mass = by_mole * molar_g / mass;
    double apart =
        by_mole * molar_g / cw_alcohol_density(alcohol, 1) + (1 - by_mole) * 18.015 / cw_alcohol_density(alcohol, 0);
    return 1000 * (mass / cw_alcohol_density(alcohol, by_mass) - apart);
}

/* What physical chemistry knows of the tables, apart from them. A mix is never larger than its parts, and the excess
 * volume has one bottom: -1.10 cm3/mol of ethanol at 0.4 mole, -1.0 of isopropyl alcohol at a third; a mole of alcohol
 * poured into much water takes 55.1 and 71.9 cm3 (both of the literature at 20 to 25 degrees, from memory). */
static void mixes_shrink_as_their_excess_volumes_say(void **state)
{
    (void)state;
    static const struct {
        cw_alcohol alcohol;
        double molar_g, bottom, at, in_water_cm3;
    } rows[] = {{CW_ALCOHOL_ETHANOL, 46.069, -1.10, 0.40, 55.1}, {CW_ALCOHOL_ISOPROPYL, 60.096, -1.0, 0.33, 71.9}};
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        double lowest = 0, at = 0, before = 0;
        int turns = 0;
        for (int k = 1; k < 200; k++) {
            double x = k / 200.0, excess = excess_cm3(rows[i].alcohol, rows[i].molar_g, x);
            assert_true(excess < 0);
            turns += k > 1 && (excess > before + 1e-3) != (turns % 2 == 1) && fabs(excess - before) > 1e-3;
            if (excess < lowest) {
                lowest = excess;
                at = x;
            }
            before = excess;
        }
        assert_int_equal(turns, 1); /* down, and up again */
        assert_near(lowest, rows[i].bottom, 0.05);
        assert_near(at, rows[i].at, 0.08);
        double pure = 1000 * rows[i].molar_g / cw_alcohol_density(rows[i].alcohol, 1);
        assert_near(pure + excess_cm3(rows[i].alcohol, rows[i].molar_g, 0.03) / 0.03, rows[i].in_water_cm3, 2.5);
    }
}

/* Alcohol and mass are conserved, whichever way the strength is counted. */
static void thinning_keeps_the_alcohol(void **state)
{
    (void)state;
    for (int by = CW_BY_VOLUME; by <= CW_BY_PARTS; by++) {
        cw_dilution d;
        cw_error err;
        assert_ok(cw_dilute(CW_ALCOHOL_ISOPROPYL, 0.91, 0.55, (cw_strength_by)by, 3e-4, &d, &err), &err);
        double pure = cw_alcohol_density(CW_ALCOHOL_ISOPROPYL, 1);
        double alcohol = d.by_mass * (d.stock_kg + d.water_kg);
        assert_near(d.by_volume * d.made_m3 * pure, alcohol, 1e-9);
        assert_near(d.made_m3 + d.shrinks_m3, d.stock_m3 + d.water_m3, 1e-12);
        assert_true(d.shrinks_m3 > 0.005 * d.made_m3 && d.shrinks_m3 < 0.04 * d.made_m3);
    }
    cw_dilution d;
    cw_error err;
    assert_ok(cw_dilute(CW_ALCOHOL_ISOPROPYL, 0.99, 0.70, CW_BY_PARTS, 1e-4, &d, &err), &err);
    assert_near(d.stock_m3, 70.7071e-6, 1e-10);
    assert_near(d.water_m3, 29.2929e-6, 1e-10);
    assert_ok(cw_dilute(CW_ALCOHOL_ISOPROPYL, 1, 0.70, CW_BY_MASS, 1e-3, &d, &err), &err);
    assert_near(d.stock_kg / d.water_kg, 7.0 / 3, 1e-9);
    assert_ok(cw_dilute(CW_ALCOHOL_ISOPROPYL, 0.70, 0.70, CW_BY_VOLUME, 1e-3, &d, &err), &err);
    assert_near(d.water_m3, 0, 1e-12);
}

static void what_cannot_be_thinned_is_refused(void **state)
{
    (void)state;
    cw_dilution d;
    cw_error err;
    assert_fails(cw_dilute(CW_ALCOHOL_ISOPROPYL, 0.70, 0.99, CW_BY_VOLUME, 1e-4, &d, &err), CW_RANGE, &err,
                 "water only thins");
    assert_fails(cw_dilute(CW_ALCOHOL_ISOPROPYL, 0, 0.5, CW_BY_VOLUME, 1e-4, &d, &err), CW_RANGE, &err,
                 "strength in the bottle 0 %");
    assert_fails(cw_dilute(CW_ALCOHOL_ISOPROPYL, 0.99, 0.7, CW_BY_VOLUME, 0, &d, &err), CW_RANGE, &err, "amount 0 ml");
}

CHECK_MAIN(cmocka_unit_test(volume_and_mass_of_ethanol_are_those_of_the_tables),
           cmocka_unit_test(thinning_ethanol_takes_the_water_of_the_table),
           cmocka_unit_test(mixes_shrink_as_their_excess_volumes_say), cmocka_unit_test(thinning_keeps_the_alcohol),
           cmocka_unit_test(what_cannot_be_thinned_is_refused))
