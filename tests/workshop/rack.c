/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/rack.h"

#include <math.h>

#include "support/check.h"

static cw_rack_tool blade(double span_mm, double tip_mm)
{
    return (cw_rack_tool){CW_RACK_TWO_BLADE, span_mm * 1e-3, NAN, tip_mm * 1e-3, 2.4e-3, 6e-3, NAN};
}

/* The question the rack is for: a 23.4 mm ring with 1.2 mm slots. */
static void what_fits_comes_first_and_near_misses_by_filing(void **state)
{
    (void)state;
    cw_rack_tool tools[] = {
        blade(31.7, 1.1),                                              /* 0: far too wide */
        blade(23.4, 1.5),                                              /* 1: thick tips: file */
        blade(23.35, 1.14),                                            /* 2: fits */
        {CW_RACK_ADJUSTABLE, 12e-3, 45e-3, 0.6e-3, 1.7e-3, 9e-3, NAN}, /* 3: loose */
        {CW_RACK_TWO_PIN, 23.4e-3, NAN, 1.1e-3, NAN, 3e-3, NAN},       /* 4: wrong kind */
        blade(23.9, 1.28),                                             /* 5: file both ways */
        blade(23.4, 1.25),                                             /* 6: a little thick */
    };
    cw_rack_need need = {CW_RACK_TWO_BLADE, 23.4e-3, 1.2e-3, NAN, 4e-3, NAN};
    cw_rack_match m[CW_COUNT(tools)];
    cw_error err;
    assert_ok(cw_rack_rank(tools, CW_COUNT(tools), &need, m, &err), &err);
    static const size_t order[] = {2, 6, 5, 1, 3, 0, 4};
    static const cw_rack_state states[] = {CW_RACK_FITS,  CW_RACK_FILE,   CW_RACK_FILE,  CW_RACK_FILE,
                                           CW_RACK_LOOSE, CW_RACK_CANNOT, CW_RACK_CANNOT};
    for (size_t i = 0; i < CW_COUNT(order); i++) {
        assert_int_equal(m[i].index, order[i]);
        assert_int_equal(m[i].state, states[i]);
    }
    assert_contains(m[0].words, "fits, 0.06 mm of play");
    assert_contains(m[1].words, "file both tips from 1.25 to 1.15 mm");
    assert_contains(m[2].words, "off the outside of each tip");
    /* 2 tips x 0.35 x 2.4 x 2 mm3, by hand */
    assert_near(m[3].filing_m3, 2 * 0.35e-3 * 2.4e-3 * 2e-3, 1e-13);
    assert_contains(m[4].words, "may slip and chew");
    assert_contains(m[5].words, "8.3 mm too wide");
    assert_contains(m[6].words, "a two-pin driver, not a two-blade wrench");
}

static void reach_and_barrel_are_looked_at(void **state)
{
    (void)state;
    cw_rack_tool tools[] = {blade(23.4, 1.15)};
    cw_rack_need need = {CW_RACK_TWO_BLADE, 23.4e-3, 1.2e-3, 2.0e-3, 9e-3, 20.9e-3};
    cw_rack_match m;
    cw_error err;
    assert_ok(cw_rack_rank(tools, 1, &need, &m, &err), &err);
    assert_int_equal(m.state, CW_RACK_CANNOT);
    assert_contains(m.words, "its reach of 6 mm is 3 mm short");
    need.reach_m = 5e-3;
    need.barrel_m = 21.2e-3; /* 23.4 - 2.4 = 21.0 passes */
    assert_ok(cw_rack_rank(tools, 1, &need, &m, &err), &err);
    assert_int_equal(m.state, CW_RACK_FILE);
    assert_contains(m.words, "narrow the tips from 2.4 to 1.9 mm");
    assert_contains(m.words, "cut 0.1 mm off the inside");
    need.barrel_m = 0;
    need.slot_length_m = NAN;
    tools[0].reach_m = NAN;
    assert_ok(cw_rack_rank(tools, 1, &need, &m, &err), &err);
    assert_contains(m.words, "not noted");
}

static void gripping_tools_answer_by_diameter(void **state)
{
    (void)state;
    cw_rack_tool tools[] = {{CW_RACK_COLLAR, 27e-3, 28e-3, NAN, NAN, NAN, NAN},
                            {CW_RACK_CLAMP, 40e-3, 41e-3, NAN, NAN, NAN, NAN}};
    cw_rack_need need = {CW_RACK_COLLAR, 27.5e-3, NAN, NAN, NAN, NAN};
    cw_rack_match m[2];
    cw_error err;
    assert_ok(cw_rack_rank(tools, 2, &need, m, &err), &err);
    assert_int_equal(m[0].index, 0);
    assert_string_equal(m[0].words, "fits");
    need = (cw_rack_need){CW_RACK_CLAMP, 44e-3, NAN, NAN, NAN, NAN};
    assert_ok(cw_rack_rank(tools, 2, &need, m, &err), &err);
    assert_contains(m[0].words, "bore it out from 41 to 44 mm");
}

static void a_rack_that_cannot_be_read_is_refused(void **state)
{
    (void)state;
    cw_rack_tool tools[] = {blade(23, 1), blade(NAN, 1)};
    cw_rack_need need = {CW_RACK_TWO_BLADE, 23.4e-3, 1.2e-3, NAN, NAN, NAN};
    cw_rack_match m[2];
    cw_error err;
    assert_fails(cw_rack_rank(tools, 2, &need, m, &err), CW_RANGE, &err, "tool 2 on the rack");
    need.span_m = 0;
    assert_fails(cw_rack_rank(tools, 1, &need, m, &err), CW_RANGE, &err, "the size looked for 0 mm");
    need.span_m = 23e-3;
    need.slot_m = -1e-3;
    assert_fails(cw_rack_rank(tools, 1, &need, m, &err), CW_RANGE, &err, "slot or hole");
    need.slot_m = NAN;
    assert_ok(cw_rack_rank(tools, 0, &need, m, &err), &err); /* an empty rack is no error */
}

CHECK_MAIN(cmocka_unit_test(what_fits_comes_first_and_near_misses_by_filing),
           cmocka_unit_test(reach_and_barrel_are_looked_at), cmocka_unit_test(gripping_tools_answer_by_diameter),
           cmocka_unit_test(a_rack_that_cannot_be_read_is_refused))
