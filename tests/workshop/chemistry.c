/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/chemistry.h"

#include <math.h>
#include <string.h>

#include "support/check.h"

/* Optics wash, 70 parts alcohol to 30 parts distilled water (common practice, no source); alcohol is conserved. */
static void thinning_keeps_the_alcohol(void **state)
{
    (void)state;
    cw_dilution d;
    cw_error err;
    assert_ok(cw_dilute(0.99, 0.70, false, 100e-6, &d, &err), &err);
    assert_near(d.stock_m3, 70.7071e-6, 1e-10);
    assert_near(d.water_m3, 29.2929e-6, 1e-10);
    assert_near(d.stock_m3 * 0.99, 70e-6, 1e-12);
    assert_near((d.stock_m3 * 0.99 * 785.5) / (d.stock_kg + d.water_kg), d.by_mass, 1e-9);
    /* by mass: 70 % m/m from pure, by balance: 7 kg to 3 kg */
    assert_ok(cw_dilute(1, 0.70, true, 1e-3, &d, &err), &err);
    assert_near(d.stock_kg / d.water_kg, 7.0 / 3, 1e-9);
    assert_near(d.by_mass, 0.70, 1e-12);
    for (double x = 0.01; x < 1; x += 0.07)
        assert_near(cw_alcohol_volume_fraction(cw_alcohol_mass_fraction(x)), x, 1e-12);
    assert_fails(cw_dilute(0.70, 0.99, false, 1e-4, &d, &err), CW_RANGE, &err, "water only thins");
    assert_fails(cw_dilute(0, 0.5, false, 1e-4, &d, &err), CW_RANGE, &err, "strength in the bottle 0 %");
    assert_fails(cw_dilute(0.99, 0.7, false, 0, &d, &err), CW_RANGE, &err, "amount 0 ml");
}

/* ilpi.com, dchas 2015: flash points of ethanol in water; NIOSH npgd0359 for the pure one. */
static void flash_points_follow_the_table(void **state)
{
    (void)state;
    static const double rows[][2] = {{0.96, 17}, {0.80, 20}, {0.70, 21}, {0.50, 24}, {0.20, 36}};
    for (size_t i = 0; i < CW_COUNT(rows); i++)
        assert_near(cw_ethanol_flash_point_k(rows[i][0]) - 273.15, rows[i][1], 0.01);
    assert_true(isnan(cw_ethanol_flash_point_k(0.1)));
}

static void tables_are_whole_and_keep_their_warnings(void **state)
{
    (void)state;
    for (size_t s = 0; s < cw_solvent_count(); s++)
        for (size_t f = 0; f < cw_surface_count(); f++)
            assert_int_not_equal(cw_solvent_harm(cw_solvent_key(s), cw_surface_key(f)), CW_HARM_UNKNOWN);
    /* textbook facts: acetone attacks ABS, polycarbonate and acrylic; alcohol dissolves shellac; naphtha swells rubber
     */
    assert_int_equal(cw_solvent_harm("acetone", "abs"), CW_HARM_HARMS);
    assert_int_equal(cw_solvent_harm("acetone", "polycarbonate"), CW_HARM_HARMS);
    assert_int_equal(cw_solvent_harm("acetone", "acrylic"), CW_HARM_HARMS);
    assert_int_equal(cw_solvent_harm("isopropyl", "shellac"), CW_HARM_HARMS);
    assert_int_equal(cw_solvent_harm("naphtha", "rubber"), CW_HARM_HARMS);
    assert_int_equal(cw_solvent_harm("acetone", "glass"), CW_HARM_NONE);
    assert_int_equal(cw_solvent_harm("petrol", "glass"), CW_HARM_UNKNOWN);
    assert_true(cw_lubricant_find("leaf-blades")->is_dry);
    assert_false(cw_lubricant_find("helicoid")->is_dry);
    assert_null(cw_lubricant_find("elbow"));
    assert_contains(cw_leak_find("mercury")->never, "Never heat");
    assert_contains(cw_leak_find("alkaline")->step2, "vinegar"); /* an alkali, by an acid */
    assert_contains(cw_leak_find("zinc-carbon")->step2, "soda"); /* an acid, by an alkali */
}

CHECK_MAIN(cmocka_unit_test(thinning_keeps_the_alcohol), cmocka_unit_test(flash_points_follow_the_table),
           cmocka_unit_test(tables_are_whole_and_keep_their_warnings))
