/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/limits.h"

#include <ctype.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/range.h"

#define UM 1e-6

enum { STEPS = 25, RANGES = 13, GRADE_LEAST = 1, GRADE_MOST = 18 };

/* Upper end of each size step, mm: the finer steps, which the letters a, b, c and r to zc need, and the range of the
 * standard tolerances that each lies in. */
static const struct {
    double most_mm;
    size_t range;
} steps[STEPS] = {{3, 0},   {6, 1},    {10, 2},   {14, 3},   {18, 3},   {24, 4},   {30, 4},  {40, 5},  {50, 5},
                  {65, 6},  {80, 6},   {100, 7},  {120, 7},  {140, 8},  {160, 8},  {180, 8}, {200, 9}, {225, 9},
                  {250, 9}, {280, 10}, {315, 10}, {355, 11}, {400, 11}, {450, 12}, {500, 12}};

/* ISO 286-1, table 1, micrometres: IT1 to IT18 of each range. */
static const double grade_um[RANGES][GRADE_MOST] = {
    {0.8, 1.2, 2, 3, 4, 6, 10, 14, 25, 40, 60, 100, 140, 250, 400, 600, 1000, 1400},
    {1, 1.5, 2.5, 4, 5, 8, 12, 18, 30, 48, 75, 120, 180, 300, 480, 750, 1200, 1800},
    {1, 1.5, 2.5, 4, 6, 9, 15, 22, 36, 58, 90, 150, 220, 360, 580, 900, 1500, 2200},
    {1.2, 2, 3, 5, 8, 11, 18, 27, 43, 70, 110, 180, 270, 430, 700, 1100, 1800, 2700},
    {1.5, 2.5, 4, 6, 9, 13, 21, 33, 52, 84, 130, 210, 330, 520, 840, 1300, 2100, 3300},
    {1.5, 2.5, 4, 7, 11, 16, 25, 39, 62, 100, 160, 250, 390, 620, 1000, 1600, 2500, 3900},
    {2, 3, 5, 8, 13, 19, 30, 46, 74, 120, 190, 300, 460, 740, 1200, 1900, 3000, 4600},
    {2.5, 4, 6, 10, 15, 22, 35, 54, 87, 140, 220, 350, 540, 870, 1400, 2200, 3500, 5400},
    {3.5, 5, 8, 12, 18, 25, 40, 63, 100, 160, 250, 400, 630, 1000, 1600, 2500, 4000, 6300},
    {4.5, 7, 10, 14, 20, 29, 46, 72, 115, 185, 290, 460, 720, 1150, 1850, 2900, 4600, 7200},
    {6, 8, 12, 16, 23, 32, 52, 81, 130, 210, 320, 520, 810, 1300, 2100, 3200, 5200, 8100},
    {7, 9, 13, 18, 25, 36, 57, 89, 140, 230, 360, 570, 890, 1400, 2300, 3600, 5700, 8900},
    {8, 10, 15, 20, 27, 40, 63, 97, 155, 250, 400, 630, 970, 1550, 2500, 4000, 6300, 9700},
};

/* Fundamental deviation of shafts, micrometres: es (upper) for a to h, ei (lower) for k to zc. ISO 286-1, tables 4 and
 * 5. By range where the letter changes with the range only. NONE: the standard gives no such zone. */
#define NONE NAN
static const struct {
    const char *letter;
    bool is_upper;
    double um[RANGES];
} by_range[] = {
    {"cd", true, {-34, -46, -56, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE}},
    {"d", true, {-20, -30, -40, -50, -65, -80, -100, -120, -145, -170, -190, -210, -230}},
    {"e", true, {-14, -20, -25, -32, -40, -50, -60, -72, -85, -100, -110, -125, -135}},
    {"ef", true, {-10, -14, -18, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE}},
    {"f", true, {-6, -10, -13, -16, -20, -25, -30, -36, -43, -50, -56, -62, -68}},
    {"fg", true, {-4, -6, -8, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE}},
    {"g", true, {-2, -4, -5, -6, -7, -9, -10, -12, -14, -15, -17, -18, -20}},
    {"h", true, {0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0}},
    {"k", false, {0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4, 5}}, /* grades 4 to 7; 0 otherwise */
    {"m", false, {2, 4, 6, 7, 8, 9, 11, 13, 15, 17, 20, 21, 23}},
    {"n", false, {4, 8, 10, 12, 15, 17, 20, 23, 27, 31, 34, 37, 40}},
    {"p", false, {6, 12, 15, 18, 22, 26, 32, 37, 43, 50, 56, 62, 68}},
};
static const struct {
    const char *letter;
    bool is_upper;
    double um[STEPS];
} by_step[] = {
    {"a", true, {-270, -270, -280, -290, -290, -300, -300, -310,  -320,  -340,  -360,  -380, -410,
                 -460, -520, -580, -660, -740, -820, -920, -1050, -1200, -1350, -1500, -1650}},
    {"b", true, {-140, -140, -150, -150, -150, -160, -160, -170, -180, -190, -200, -220, -240,
                 -260, -280, -310, -340, -380, -420, -480, -540, -600, -680, -760, -840}},
    {"c", true, {-60,  -70,  -80,  -95,  -95,  -110, -110, -120, -130, -140, -150, -170, -180,
                 -200, -210, -230, -240, -260, -280, -300, -330, -360, -400, -440, -480}},
    {"r", false, {10, 15, 19, 23, 23, 28, 28, 34, 34,  41,  43,  51, 54,
                  63, 65, 68, 77, 80, 84, 94, 98, 108, 114, 126, 132}},
    {"s", false, {14, 19,  23,  28,  28,  35,  35,  43,  43,  53,  59,  71, 79,
                  92, 100, 108, 122, 130, 140, 158, 170, 190, 208, 232, 252}},
    {"t", false, {NONE, NONE, NONE, NONE, NONE, NONE, 41,  48,  54,  66,  75,  91, 104,
                  122,  134,  146,  166,  180,  196,  218, 240, 268, 294, 330, 360}},
    {"u", false, {18,  23,  28,  33,  33,  41,  48,  60,  70,  87,  102, 124, 144,
                  170, 190, 210, 236, 258, 284, 315, 350, 390, 435, 490, 540}},
    {"v", false, {NONE, NONE, NONE, NONE, 39,  47,  55,  68,  81,  102, 120, 146, 172,
                  202,  228,  252,  284,  310, 340, 385, 425, 475, 530, 595, 660}},
    {"x", false, {20,  28,  34,  40,  45,  54,  64,  80,  97,  122, 146, 178, 210,
                  248, 280, 310, 350, 385, 425, 475, 525, 590, 660, 740, 820}},
    {"y", false, {NONE, NONE, NONE, NONE, NONE, 63,  75,  94,  114, 144, 174, 214, 254,
                  300,  340,  380,  425,  470,  520, 580, 650, 730, 820, 920, 1000}},
    {"z", false, {26,  35,  42,  50,  60,  73,  88,  112, 136, 172,  210,  258, 310,
                  365, 415, 465, 520, 575, 640, 710, 790, 900, 1000, 1100, 1250}},
    {"za", false, {32,  42,  52,  64,  77,  98,  118, 148,  180,  226,  274,  335, 400,
                   470, 535, 600, 670, 740, 820, 920, 1000, 1150, 1300, 1450, 1600}},
    {"zb", false, {40,  50,  67,  90,  108, 136,  160,  200,  242,  300,  360,  445, 525,
                   620, 700, 780, 880, 960, 1050, 1200, 1300, 1500, 1650, 1850, 2100}},
    {"zc", false, {60,  80,  97,   130,  150,  188,  218,  274,  325,  405,  480,  585, 690,
                   800, 900, 1000, 1150, 1250, 1350, 1550, 1700, 1900, 2100, 2400, 2600}},
};

/* j (lower deviation of shafts, grades 5 to 8) and J (upper deviation of holes, grades 6 to 8) follow no rule. */
static const double j_shaft_um[4][RANGES] = {
    {-2, -2, -2, -3, -4, -5, -7, -9, -11, -13, -16, -18, -20},
    {-2, -2, -2, -3, -4, -5, -7, -9, -11, -13, -16, -18, -20},
    {-4, -4, -5, -6, -8, -10, -12, -15, -18, -21, -26, -28, -32},
    {-6, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE},
};
static const double j_hole_um[3][RANGES] = {
    {2, 5, 5, 6, 8, 10, 13, 16, 18, 22, 25, 29, 33},
    {4, 6, 8, 10, 12, 14, 18, 22, 26, 30, 36, 39, 43},
    {6, 10, 12, 15, 20, 24, 28, 34, 41, 47, 55, 60, 66},
};

static size_t find_step(double nominal_m)
{
    size_t step = 0;
    while (steps[step].most_mm * 1e-3 < nominal_m * (1 - 1e-12))
        step++;
    return step;
}

double cw_limits_grade_m(double nominal_m, int grade)
{
    if (!(nominal_m > 0 && nominal_m <= 0.5) || grade < GRADE_LEAST || grade > GRADE_MOST)
        return NAN;
    return grade_um[steps[find_step(nominal_m)].range][grade - 1] * UM;
}

/* A zone as read: "js6" is js, 6. */
typedef struct {
    char letter[3]; /* lower case */
    bool is_hole;
    int grade;
    size_t step, range;
    double tolerance_um;
} zone_read;

static bool split_zone(const char *zone, zone_read *z)
{
    size_t count = 0;
    while (count < 3 && isalpha((unsigned char)zone[count]))
        count++;
    const char *digits = zone + count;
    size_t digit_count = strspn(digits, "0123456789");
    if (count < 1 || count > 2 || digit_count < 1 || digit_count > 2 || digits[digit_count] != '\0')
        return false;
    z->is_hole = isupper((unsigned char)zone[0]) != 0;
    for (size_t i = 0; i < count; i++) {
        if ((isupper((unsigned char)zone[i]) != 0) != z->is_hole)
            return false;
        z->letter[i] = (char)tolower((unsigned char)zone[i]);
    }
    z->letter[count] = '\0';
    z->grade = digit_count == 1 ? digits[0] - '0' : 10 * (digits[0] - '0') + digits[1] - '0';
    return z->grade >= GRADE_LEAST && z->grade <= GRADE_MOST;
}

static cw_status refuse_zone(const char *zone, cw_error *err)
{
    return cw_fail(
        err, CW_INPUT,
        "\"%.20s\" is not a tolerance zone; write a letter and a grade from 1 to 18, such as H7 for a hole or "
        "h6, k6, p6 for a shaft (letters a b c cd d e ef f fg g h js j k m n p r s t u v x y z za zb zc, capitals for "
        "holes)",
        zone);
}

static cw_status refuse_size(const char *zone, double nominal_m, cw_error *err)
{
    return cw_fail(
        err, CW_INPUT,
        "the standard gives no %.20s at %.6g mm; a letter or a grade beside it has one: H7 with h6, k6, p6 or s6 "
        "is there at every size",
        zone, nominal_m * 1e3);
}

/* Deviation of a shaft's letter; false when there is no such letter. */
static bool find_deviation(const zone_read *z, double *um, bool *is_upper)
{
    for (size_t i = 0; i < CW_COUNT(by_range); i++)
        if (strcmp(by_range[i].letter, z->letter) == 0) {
            *um = by_range[i].um[z->range];
            *is_upper = by_range[i].is_upper;
            return true;
        }
    for (size_t i = 0; i < CW_COUNT(by_step); i++)
        if (strcmp(by_step[i].letter, z->letter) == 0) {
            *um = by_step[i].um[z->step];
            *is_upper = by_step[i].is_upper;
            return true;
        }
    return false;
}

/* The hole's upper deviation for K to ZC: the shaft's mirrored; K, M, N up to IT8 and P to ZC up to IT7, above 3 mm,
 * lifted by the step to the next finer grade, so that a hole of one grade and a shaft one finer give the fit of the
 * hole-based system. NaN where the standard gives none. */
static double hole_upper_um(const zone_read *z, double deviation)
{
    char c = z->letter[0];
    bool soft = c == 'k' || c == 'm' || c == 'n';
    bool small = z->range == 0;
    if (!small && z->grade < 3)
        return NAN;
    if (c == 'k' && z->grade > 8)
        return small ? 0 : NAN;
    if (c == 'n' && z->grade > 8)
        return small ? -deviation : 0;
    if (c == 'm' && z->grade == 6 && z->range == 10)
        return -9; /* the standard's own exception to the rule */
    if (small || z->grade > (soft ? 8 : 7))
        return -deviation;
    return -deviation + z->tolerance_um - grade_um[z->range][z->grade - 2];
}

static void deviations(const zone_read *z, double deviation, bool is_upper, double *upper, double *lower)
{
    if (z->letter[0] == 'k' && !z->is_hole && (z->grade < 4 || z->grade > 7))
        deviation = 0;
    if (is_upper && z->is_hole) {
        *lower = -deviation;
        *upper = *lower + z->tolerance_um;
    } else if (is_upper) {
        *upper = deviation;
        *lower = *upper - z->tolerance_um;
    } else if (z->is_hole) {
        *upper = hole_upper_um(z, deviation);
        *lower = *upper - z->tolerance_um;
    } else {
        *lower = deviation;
        *upper = *lower + z->tolerance_um;
    }
}

/* NaN outside the tables. */
static void j_deviations(const zone_read *z, double *upper, double *lower)
{
    if (z->is_hole) {
        *upper = z->grade >= 6 && z->grade <= 8 ? j_hole_um[z->grade - 6][z->range] : NAN;
        *lower = *upper - z->tolerance_um;
    } else {
        *lower = z->grade >= 5 && z->grade <= 8 ? j_shaft_um[z->grade - 5][z->range] : NAN;
        *upper = *lower + z->tolerance_um;
    }
}

cw_status cw_limits_find(double nominal_m, const char *zone, cw_limits *limits, cw_error *err)
{
    CW_TRY(cw_check_within("nominal diameter", nominal_m, CW_LENGTH, "mm", 0.1e-3, 0.5, err));
    zone_read z;
    if (!split_zone(zone, &z))
        return refuse_zone(zone, err);
    z.step = find_step(nominal_m);
    z.range = steps[z.step].range;
    z.tolerance_um = grade_um[z.range][z.grade - 1];
    double deviation = NAN, upper = NAN, lower = NAN;
    bool is_upper = false;
    if (strcmp(z.letter, "js") == 0) {
        upper = z.tolerance_um / 2;
        lower = -z.tolerance_um / 2;
    } else if (strcmp(z.letter, "j") == 0) {
        j_deviations(&z, &upper, &lower);
    } else if (find_deviation(&z, &deviation, &is_upper)) {
        deviations(&z, deviation, is_upper, &upper, &lower);
    } else {
        return refuse_zone(zone, err);
    }
    /* not used up to 1 mm: a, b, the coarse grades, N above grade 8 */
    bool too_small = nominal_m <= 1e-3 * (1 + 1e-12) && (z.letter[0] == 'a' || z.letter[0] == 'b' || z.grade >= 14 ||
                                                         (z.is_hole && z.letter[0] == 'n' && z.grade > 8));
    if (isnan(upper) || too_small)
        return refuse_size(zone, nominal_m, err);
    *limits = (cw_limits){z.is_hole, nominal_m, upper * UM, lower * UM};
    return CW_OK;
}

cw_status cw_fit_find(double nominal_m, const char *fit_name, cw_fit *fit, cw_error *err)
{
    char hole[8] = {0}, shaft[8] = {0};
    size_t first = strcspn(fit_name, "/ "), gap = strspn(fit_name + first, "/ ");
    const char *second = fit_name + first + gap;
    if (first == 0 || first >= sizeof hole || gap == 0 || strlen(second) == 0 || strlen(second) >= sizeof shaft)
        return cw_fail(err, CW_INPUT, "\"%.20s\" is not a fit; write the hole and the shaft, such as H7/p6", fit_name);
    memcpy(hole, fit_name, first);
    memcpy(shaft, second, strlen(second) + 1);
    cw_fit found;
    CW_TRY(cw_limits_find(nominal_m, hole, &found.hole, err));
    CW_TRY(cw_limits_find(nominal_m, shaft, &found.shaft, err));
    if (!found.hole.is_hole || found.shaft.is_hole)
        return cw_fail(err, CW_INPUT, "\"%.20s\": the hole comes first, in capitals, then the shaft, such as H7/p6",
                       fit_name);
    found.most_clearance_m = found.hole.upper_m - found.shaft.lower_m;
    found.least_clearance_m = found.hole.lower_m - found.shaft.upper_m;
    found.kind = found.least_clearance_m >= 0  ? CW_FIT_CLEARANCE
                 : found.most_clearance_m <= 0 ? CW_FIT_INTERFERENCE
                                               : CW_FIT_TRANSITION;
    *fit = found;
    return CW_OK;
}
