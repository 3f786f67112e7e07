/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/limits.h"

#include <ctype.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/range.h"

#define UM 1e-6

enum { STEPS = 12, GRADE_LEAST = 5, GRADE_MOST = 12 };

/* Upper end of each size step, mm, both ends of the finer steps that the letters r, s, u need. */
static const double step_mm[STEPS] = {3, 6, 10, 18, 24, 30, 40, 50, 65, 80, 100, 120};

/* ISO 286-1, table 1, micrometres. */
static const double grade_um[][GRADE_MOST - GRADE_LEAST + 1] = {
    {4, 6, 10, 14, 25, 40, 60, 100},     {5, 8, 12, 18, 30, 48, 75, 120},     {6, 9, 15, 22, 36, 58, 90, 150},
    {8, 11, 18, 27, 43, 70, 110, 180},   {9, 13, 21, 33, 52, 84, 130, 210},   {9, 13, 21, 33, 52, 84, 130, 210},
    {11, 16, 25, 39, 62, 100, 160, 250}, {11, 16, 25, 39, 62, 100, 160, 250}, {13, 19, 30, 46, 74, 120, 190, 300},
    {13, 19, 30, 46, 74, 120, 190, 300}, {15, 22, 35, 54, 87, 140, 220, 350}, {15, 22, 35, 54, 87, 140, 220, 350},
};

/* Fundamental deviation of shafts, micrometres: es (upper) for d to h, ei (lower) for k to u. ISO 286-1, tables 4
 * and 5. */
static const struct {
    const char *letter;
    bool is_upper;
    double um[12];
} deviations[] = {
    {"d", true, {-20, -30, -40, -50, -65, -65, -80, -80, -100, -100, -120, -120}},
    {"e", true, {-14, -20, -25, -32, -40, -40, -50, -50, -60, -60, -72, -72}},
    {"f", true, {-6, -10, -13, -16, -20, -20, -25, -25, -30, -30, -36, -36}},
    {"g", true, {-2, -4, -5, -6, -7, -7, -9, -9, -10, -10, -12, -12}},
    {"h", true, {0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0}},
    {"k", false, {0, 1, 1, 1, 2, 2, 2, 2, 2, 2, 3, 3}}, /* grades to 7; 0 above */
    {"m", false, {2, 4, 6, 7, 8, 8, 9, 9, 11, 11, 13, 13}},
    {"n", false, {4, 8, 10, 12, 15, 15, 17, 17, 20, 20, 23, 23}},
    {"p", false, {6, 12, 15, 18, 22, 22, 26, 26, 32, 32, 37, 37}},
    {"r", false, {10, 15, 19, 23, 28, 28, 34, 34, 41, 43, 51, 54}},
    {"s", false, {14, 19, 23, 28, 35, 35, 43, 43, 53, 59, 71, 79}},
    {"u", false, {18, 23, 28, 33, 41, 48, 60, 70, 87, 102, 124, 144}},
};

static size_t find_step(double nominal_m)
{
    size_t step = 0;
    while (step_mm[step] * 1e-3 < nominal_m * (1 - 1e-12))
        step++;
    return step;
}

double cw_limits_grade_m(double nominal_m, int grade)
{
    if (!(nominal_m > 0 && nominal_m <= 0.120) || grade < GRADE_LEAST || grade > GRADE_MOST)
        return NAN;
    return grade_um[find_step(nominal_m)][grade - GRADE_LEAST] * UM;
}

/* "js6" into its letters and grade. */
static bool split_zone(const char *zone, char letters[3], int *grade)
{
    size_t count = 0;
    while (count < 3 && isalpha((unsigned char)zone[count]))
        count++;
    const char *digits = zone + count;
    size_t digit_count = strspn(digits, "0123456789");
    if (count < 1 || count > 2 || digit_count < 1 || digit_count > 2 || digits[digit_count] != '\0')
        return false;
    memcpy(letters, zone, count);
    letters[count] = '\0';
    *grade = digit_count == 1 ? digits[0] - '0' : 10 * (digits[0] - '0') + digits[1] - '0';
    return *grade >= GRADE_LEAST && *grade <= GRADE_MOST;
}

static cw_status refuse_zone(const char *zone, cw_error *err)
{
    return cw_fail(
        err, CW_INPUT,
        "\"%.20s\" is not a tolerance zone; write a letter and a grade from 5 to 12, such as H7 for a hole or "
        "h6, k6, p6 for a shaft (letters d e f g h js k m n p r s u, capitals for holes)",
        zone);
}

/* A shaft's deviations in micrometres. */
static void shaft_um(size_t letter, size_t step, int grade, double tolerance_um, double *upper, double *lower)
{
    double deviation = deviations[letter].um[step];
    if (deviations[letter].letter[0] == 'k' && grade > 7)
        deviation = 0;
    *upper = deviations[letter].is_upper ? deviation : deviation + tolerance_um;
    *lower = *upper - tolerance_um;
}

/* A hole's deviations: mirrored for D to H; for K to N up to IT8 and P to U up to IT7, above 3 mm, lifted by the step
 * to the next finer grade, so that a hole of one grade and a shaft one finer give the fit of the hole-based system. */
static void hole_um(size_t letter, size_t step, int grade, double tolerance_um, double *upper, double *lower)
{
    double deviation = deviations[letter].um[step];
    if (deviations[letter].is_upper) {
        *lower = -deviation;
        *upper = *lower + tolerance_um;
        return;
    }
    char c = deviations[letter].letter[0];
    bool soft = c == 'k' || c == 'm' || c == 'n';
    double lift = 0;
    if (step > 0 && grade > GRADE_LEAST && grade <= (soft ? 8 : 7))
        lift = tolerance_um - grade_um[step][grade - 1 - GRADE_LEAST];
    if (c == 'n' && grade > 8 && step > 0)
        deviation = 0;
    *upper = -deviation + lift;
    *lower = *upper - tolerance_um;
}

cw_status cw_limits_find(double nominal_m, const char *zone, cw_limits *limits, cw_error *err)
{
    CW_TRY(cw_check_within("nominal diameter", nominal_m, CW_LENGTH, "mm", 0.1e-3, 0.120, err));
    char letters[3];
    int grade;
    if (!split_zone(zone, letters, &grade))
        return refuse_zone(zone, err);
    bool is_hole = isupper((unsigned char)letters[0]) != 0;
    char lower_case[3] = {0};
    for (size_t i = 0; letters[i] != '\0'; i++) {
        if ((isupper((unsigned char)letters[i]) != 0) != is_hole)
            return refuse_zone(zone, err);
        lower_case[i] = (char)tolower((unsigned char)letters[i]);
    }
    size_t step = find_step(nominal_m);
    double tolerance = grade_um[step][grade - GRADE_LEAST], upper = NAN, lower = NAN;
    if (strcmp(lower_case, "js") == 0) {
        upper = tolerance / 2;
        lower = -tolerance / 2;
    } else {
        size_t i = 0;
        while (i < CW_COUNT(deviations) && strcmp(deviations[i].letter, lower_case) != 0)
            i++;
        if (i == CW_COUNT(deviations))
            return refuse_zone(zone, err);
        char c = lower_case[0];
        if (is_hole && !deviations[i].is_upper && (grade == GRADE_LEAST || (c == 'k' && grade > 8)))
            return cw_fail(err, CW_INPUT,
                           "hole zone %s is not in the table: grade 5, and K above grade 8, are not given. Take %s7 or "
                           "%s6, or the hole H%d with a shaft that gives the same fit",
                           zone, letters, letters, grade);
        (is_hole ? hole_um : shaft_um)(i, step, grade, tolerance, &upper, &lower);
    }
    *limits = (cw_limits){is_hole, nominal_m, upper * UM, lower * UM};
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
