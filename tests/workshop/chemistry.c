/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/chemistry.h"

#include <math.h>
#include <string.h>

#include "support/check.h"

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

CHECK_MAIN(cmocka_unit_test(flash_points_follow_the_table), cmocka_unit_test(tables_are_whole_and_keep_their_warnings))
