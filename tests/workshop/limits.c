/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/limits.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "support/check.h"

#define UM 1e-6

/* Shafts: JIS B 0401 (1999), the same system as ISO 286 (docs.steelcam.org, technical information page 28). Holes: an
 * extract of DIN ISO 286-2 (studylib.net 27157987). H6 is IT6. Micrometres, to the digit: both are integers. */
static const char *const zones[] = {"H6", "H7", "H8", "G7", "g6", "h6", "h7", "k6", "m6", "n6", "p6", "r6", "s6"};
static const struct {
    double at_mm[2]; /* inside the step, and its upper end, which belongs to it */
    int um[13][2];
} rows[] = {
    {{2, 3},
     {{6, 0},
      {10, 0},
      {14, 0},
      {12, 2},
      {-2, -8},
      {0, -6},
      {0, -10},
      {6, 0},
      {8, 2},
      {10, 4},
      {12, 6},
      {16, 10},
      {20, 14}}},
    {{3.001, 6},
     {{8, 0},
      {12, 0},
      {18, 0},
      {16, 4},
      {-4, -12},
      {0, -8},
      {0, -12},
      {9, 1},
      {12, 4},
      {16, 8},
      {20, 12},
      {23, 15},
      {27, 19}}},
    {{7.3, 10},
     {{9, 0},
      {15, 0},
      {22, 0},
      {20, 5},
      {-5, -14},
      {0, -9},
      {0, -15},
      {10, 1},
      {15, 6},
      {19, 10},
      {24, 15},
      {28, 19},
      {32, 23}}},
    {{10.5, 18},
     {{11, 0},
      {18, 0},
      {27, 0},
      {24, 6},
      {-6, -17},
      {0, -11},
      {0, -18},
      {12, 1},
      {18, 7},
      {23, 12},
      {29, 18},
      {34, 23},
      {39, 28}}},
};

static void limits_are_those_of_the_printed_tables(void **state)
{
    (void)state;
    for (size_t r = 0; r < CW_COUNT(rows); r++)
        for (size_t at = 0; at < 2; at++)
            for (size_t z = 0; z < CW_COUNT(zones); z++) {
                cw_error err;
                cw_limits limits;
                assert_ok(cw_limits_find(rows[r].at_mm[at] * 1e-3, zones[z], &limits, &err), &err);
                assert_near(limits.upper_m, rows[r].um[z][0] * UM, 1e-12);
                assert_near(limits.lower_m, rows[r].um[z][1] * UM, 1e-12);
            }
}

/* ISO 286-1: i = 0.45 D^(1/3) + 0.001 D, D the geometric mean of the step (mm, i in um); IT6 10 i, IT7 16 i, IT8 25 i,
 * IT9 40 i, IT10 64 i, IT11 100 i, IT12 160 i. The standard rounds the results; small steps by up to 16 %. */
static void grades_follow_the_formula_of_the_standard_to_its_rounding(void **state)
{
    (void)state;
    static const double edges_mm[] = {1, 3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500},
                        factors[] = {10, 16, 25, 40, 64, 100, 160, 250, 400, 640, 1000, 1600, 2500};
    for (size_t s = 1; s < CW_COUNT(edges_mm); s++) {
        double mean = sqrt(edges_mm[s - 1] * edges_mm[s]), unit = 0.45 * cbrt(mean) + 0.001 * mean;
        for (size_t g = 0; g < CW_COUNT(factors); g++) {
            double table = cw_limits_grade_m(edges_mm[s] * 1e-3, 6 + (int)g) / UM;
            assert_near(table, factors[g] * unit, (s == 1 ? 0.17 : 0.055) * table + 0.5);
        }
    }
    assert_true(isnan(cw_limits_grade_m(0.501, 7)));
    assert_true(isnan(cw_limits_grade_m(0.01, 0)));
}

/* Fundamental deviations by the formulas of ISO 286-1, from memory, D the geometric mean of the size step in mm,
 * results in micrometres; the standard rounds them. c below 40 mm and the letters above s in the smallest steps it sets
 * by itself, a little larger. */
static double deviation_by_formula(const char *letter, double D, double step_mm)
{
    double it7 = cw_limits_grade_m(step_mm * 1e-3, 7) / UM, it8 = cw_limits_grade_m(step_mm * 1e-3, 8) / UM;
    double p = it7 + (D > 150 ? 4 : D > 30 ? 2 : 0), s = D < 50 ? it8 + 1 : it7 + 0.4 * D;
    const struct {
        const char *letter;
        double um;
    } rules[] = {{"a", -(D < 120 ? 265 + 1.3 * D : 3.5 * D)},
                 {"b", -(D < 160 ? 140 + 0.85 * D : 1.8 * D)},
                 {"c", -(D < 40 ? 52 * pow(D, 0.2) : 95 + 0.8 * D)},
                 {"d", -16 * pow(D, 0.44)},
                 {"e", -11 * pow(D, 0.41)},
                 {"f", -5.5 * pow(D, 0.41)},
                 {"g", -2.5 * pow(D, 0.34)},
                 {"k", 0.6 * cbrt(D)},
                 {"m", it7 - cw_limits_grade_m(step_mm * 1e-3, 6) / UM},
                 {"n", 5 * pow(D, 0.34)},
                 {"p", p},
                 {"r", sqrt(p * s)},
                 {"s", s},
                 {"t", it7 + 0.63 * D},
                 {"u", it7 + D},
                 {"v", it7 + 1.25 * D},
                 {"x", it7 + 1.6 * D},
                 {"y", it7 + 2 * D},
                 {"z", it7 + 2.5 * D},
                 {"za", it8 + 3.15 * D},
                 {"zb", cw_limits_grade_m(step_mm * 1e-3, 9) / UM + 4 * D},
                 {"zc", cw_limits_grade_m(step_mm * 1e-3, 10) / UM + 5 * D}};
    for (size_t i = 0; i < CW_COUNT(rules); i++)
        if (strcmp(rules[i].letter, letter) == 0)
            return rules[i].um;
    return NAN;
}

static void deviations_follow_the_formulas_of_the_standard_to_its_rounding(void **state)
{
    (void)state;
    static const char *const letters[] = {"a", "b", "c", "d", "e", "f", "g", "k", "m",  "n",  "p",
                                          "r", "s", "t", "u", "v", "x", "y", "z", "za", "zb", "zc"};
    static const double edges_mm[] = {3,   6,   10,  14,  18,  24,  30,  40,  50,  65,  80,  100, 120,
                                      140, 160, 180, 200, 225, 250, 280, 315, 355, 400, 450, 500};
    static const double ranges_mm[] = {3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500};
    size_t held = 0;
    for (size_t l = 0; l < CW_COUNT(letters); l++)
        for (size_t e = 1; e < CW_COUNT(edges_mm); e++) {
            char zone[8];
            cw_limits limits;
            cw_error err;
            bool by_range = strchr("defgkmnp", letters[l][0]) != NULL, high = strchr("tuvxyz", letters[l][0]) != NULL;
            size_t r = 1;
            while (ranges_mm[r] < edges_mm[e])
                r++;
            double D = by_range ? sqrt(ranges_mm[r - 1] * ranges_mm[r]) : sqrt(edges_mm[e - 1] * edges_mm[e]);
            snprintf(zone, sizeof zone, "%s6", letters[l]);
            if ((high && edges_mm[e] < 18) || (letters[l][0] == 'c' && edges_mm[e] < 50) ||
                cw_limits_find(edges_mm[e] * 1e-3, zone, &limits, &err) != CW_OK)
                continue;
            double table = (letters[l][0] < 'h' ? limits.upper_m : limits.lower_m) / UM;
            double formula = deviation_by_formula(letters[l], D, edges_mm[e]);
            print_message("%s %g\n", zone, edges_mm[e]);
            assert_near(table, formula, fmax(1.6, 0.085 * fabs(formula)));
            held++;
        }
    assert_true(held > 450);
}

/* Zones off the beaten track, from memory of ISO 286-2 and the tables of Machinery's Handbook ("ANSI B4.2"); upper and
 * lower deviation in micrometres. */
static void odd_zones_are_those_of_the_tables_from_memory(void **state)
{
    (void)state;
    static const struct {
        double mm;
        const char *zone;
        double upper_um, lower_um;
    } rows_of_memory[] = {
        {3, "H7", 10, 0},         {3, "m6", 8, 2},        {6, "g6", -4, -12},      {18, "k5", 9, 1},
        {50, "js7", 12.5, -12.5}, {2.5, "p6", 12, 6},     {25, "H11", 130, 0},     {25, "c11", -110, -240},
        {25, "D9", 117, 65},      {25, "d9", -65, -117},  {25, "F8", 53, 20},      {25, "f7", -20, -41},
        {25, "N7", -7, -28},      {25, "P7", -14, -35},   {25, "S7", -27, -48},    {25, "U7", -40, -61},
        {25, "K7", 6, -15},       {40, "K6", 3, -13},     {40, "M6", -4, -20},     {40, "N6", -12, -28},
        {100, "u6", 146, 124},    {100, "C11", 390, 170}, {160, "s6", 125, 100},   {200, "p6", 79, 50},
        {250, "H7", 46, 0},       {300, "M6", -9, -41},   {450, "H8", 97, 0},      {25, "j6", 9, -4},
        {60, "J7", 18, -12},      {25, "N9", 0, -52},     {2, "N9", -4, -29},      {27, "t6", 54, 41},
        {20, "x6", 67, 54},       {16, "v6", 50, 39},     {20, "a11", -300, -430}, {10, "h13", 0, -220},
        {1.2, "h5", 0, -4},       {2, "ef6", -10, -16},   {30, "P8", -22, -55},    {30, "h3", 0, -4},
    };
    for (size_t i = 0; i < CW_COUNT(rows_of_memory); i++) {
        cw_error err;
        cw_limits limits;
        print_message("%g %s\n", rows_of_memory[i].mm, rows_of_memory[i].zone);
        assert_ok(cw_limits_find(rows_of_memory[i].mm * 1e-3, rows_of_memory[i].zone, &limits, &err), &err);
        assert_near(limits.upper_m / UM, rows_of_memory[i].upper_um, 1e-6);
        assert_near(limits.lower_m / UM, rows_of_memory[i].lower_um, 1e-6);
    }
}

/* Deviations never fall from step to step, nor from letter to letter: a slip in typing the tables would break it. */
static void tables_are_in_order(void **state)
{
    (void)state;
    static const double sizes_mm[] = {2,   5,   8,   12,  16,  20,  28,  35,  45,  60,  70,  90, 110,
                                      130, 150, 170, 190, 210, 240, 270, 300, 340, 380, 430, 480};
    static const char *const letters[] = {"a", "b", "c", "d", "e", "f", "g", "h", "k",  "m",  "n", "p",
                                          "r", "s", "t", "u", "v", "x", "y", "z", "za", "zb", "zc"};
    double smaller[CW_COUNT(letters)] = {0};
    for (size_t s = 0; s < CW_COUNT(sizes_mm); s++) {
        double before = -INFINITY;
        for (size_t i = 0; i < CW_COUNT(letters); i++) {
            char zone[8];
            cw_limits limits;
            cw_error err;
            snprintf(zone, sizeof zone, "%s6", letters[i]);
            if (cw_limits_find(sizes_mm[s] * 1e-3, zone, &limits, &err) != CW_OK)
                continue;           /* t, v, y are not given at small sizes */
            bool is_upper = i <= 7; /* up to h */
            double deviation = is_upper ? limits.upper_m : limits.lower_m;
            if (!(deviation > before) && strcmp(letters[i], "k") != 0)
                fail_msg("%s at %g mm is not above the letter before", zone, sizes_mm[s]);
            if (s > 0 && fabs(deviation) < smaller[i])
                fail_msg("%s at %g mm is nearer to nominal than at the size below", zone, sizes_mm[s]);
            smaller[i] = fabs(deviation);
            before = deviation;
        }
    }
}

/* The rule that makes H7/p6 and P7/h6 the same fit (ISO 286-1, 4.3.2: general rule for holes). */
static void a_hole_of_one_grade_and_a_finer_shaft_fit_alike_in_both_systems(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {{"H7/k6", "K7/h6"}, {"H7/m6", "M7/h6"}, {"H7/n6", "N7/h6"},
                                           {"H7/p6", "P7/h6"}, {"H7/s6", "S7/h6"}, {"H8/n7", "N8/h7"},
                                           {"H7/g6", "G7/h6"}};
    static const double sizes_mm[] = {3.7, 6, 14.2, 22, 41, 77, 113};
    for (size_t p = 0; p < CW_COUNT(pairs); p++)
        for (size_t s = 0; s < CW_COUNT(sizes_mm); s++) {
            cw_error err;
            cw_fit a, b;
            assert_ok(cw_fit_find(sizes_mm[s] * 1e-3, pairs[p][0], &a, &err), &err);
            assert_ok(cw_fit_find(sizes_mm[s] * 1e-3, pairs[p][1], &b, &err), &err);
            assert_near(a.least_clearance_m, b.least_clearance_m, 1e-12);
            assert_near(a.most_clearance_m, b.most_clearance_m, 1e-12);
        }
}

/* From the rows above: H7/p6 at 4 mm: hole 0 to 12, shaft 12 to 20. */
static void a_fit_says_its_kind(void **state)
{
    (void)state;
    cw_error err;
    cw_fit fit;
    assert_ok(cw_fit_find(4e-3, "H7/p6", &fit, &err), &err);
    assert_int_equal(fit.kind, CW_FIT_INTERFERENCE);
    assert_near(fit.most_clearance_m, 0, 1e-12);
    assert_near(fit.least_clearance_m, -20 * UM, 1e-12);
    assert_ok(cw_fit_find(4e-3, "H7 g6", &fit, &err), &err);
    assert_int_equal(fit.kind, CW_FIT_CLEARANCE);
    assert_near(fit.most_clearance_m, 24 * UM, 1e-12);
    assert_ok(cw_fit_find(4e-3, "H7/k6", &fit, &err), &err);
    assert_int_equal(fit.kind, CW_FIT_TRANSITION);
    assert_ok(cw_fit_find(4e-3, "H7/js6", &fit, &err), &err);
    assert_near(fit.shaft.upper_m, 4 * UM, 1e-12);
}

static void what_is_no_fit_is_refused_with_what_would_work(void **state)
{
    (void)state;
    cw_error err;
    cw_fit fit;
    cw_limits limits;
    assert_fails(cw_limits_find(0, "H7", &limits, &err), CW_RANGE, &err, "nominal diameter 0 mm; 0.1 mm to 500 mm");
    assert_fails(cw_limits_find(NAN, "H7", &limits, &err), CW_RANGE, &err, "is not known");
    assert_fails(cw_limits_find(0.51, "H7", &limits, &err), CW_RANGE, &err, "510 mm");
    assert_fails(cw_limits_find(4e-3, "q6", &limits, &err), CW_INPUT, &err, "\"q6\" is not a tolerance zone");
    assert_fails(cw_limits_find(4e-3, "H19", &limits, &err), CW_INPUT, &err, "not a tolerance zone");
    assert_fails(cw_limits_find(4e-3, "Js6", &limits, &err), CW_INPUT, &err, "not a tolerance zone");
    assert_fails(cw_limits_find(4e-3, "7H", &limits, &err), CW_INPUT, &err, "not a tolerance zone");
    assert_fails(cw_limits_find(4e-3, "t6", &limits, &err), CW_INPUT, &err, "gives no t6 at 4 mm");
    assert_fails(cw_limits_find(30e-3, "K9", &limits, &err), CW_INPUT, &err, "gives no K9 at 30 mm");
    assert_fails(cw_limits_find(0.8e-3, "a11", &limits, &err), CW_INPUT, &err, "gives no a11 at 0.8 mm");
    assert_fails(cw_fit_find(4e-3, "H7", &fit, &err), CW_INPUT, &err, "H7/p6");
    assert_fails(cw_fit_find(4e-3, "p6/H7", &fit, &err), CW_INPUT, &err, "the hole comes first");
    assert_fails(cw_fit_find(4e-3, "", &fit, &err), CW_INPUT, &err, "not a fit");
    assert_fails(cw_fit_find(4e-3, "H7/p6xxxxxxxxxxxxx", &fit, &err), CW_INPUT, &err, "not a fit");
}

CHECK_MAIN(cmocka_unit_test(limits_are_those_of_the_printed_tables),
           cmocka_unit_test(grades_follow_the_formula_of_the_standard_to_its_rounding),
           cmocka_unit_test(deviations_follow_the_formulas_of_the_standard_to_its_rounding),
           cmocka_unit_test(a_hole_of_one_grade_and_a_finer_shaft_fit_alike_in_both_systems),
           cmocka_unit_test(odd_zones_are_those_of_the_tables_from_memory), cmocka_unit_test(tables_are_in_order),
           cmocka_unit_test(a_fit_says_its_kind), cmocka_unit_test(what_is_no_fit_is_refused_with_what_would_work))
