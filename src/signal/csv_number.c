/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Decimal numbers as strtod reads them, bit for bit, but mostly without it: a recording is a million of them. */
#include <ctype.h>
#include <float.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "signal/csv.h"

enum { TEXT_MOST = 64, DIGITS_MOST = 19, POWER_MOST = 22 };

/* Ten to the powers that a double holds exactly. */
static const double POWERS[POWER_MOST + 1] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                              1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

/* digits * 10^exponent, rounded once; false where that cannot be told. Both factors are exact, so that one operation
 * rounds as it should (Clinger 1990, "How to read floating point numbers accurately", section 3). Where digits do not
 * fit a double they fit the 64 bits of an x87 number; its rounding and the next one to 53 bits agree with one rounding
 * unless the first ends halfway between two doubles. */
static bool from_digits(uint64_t digits, int exponent, double *value)
{
#if FLT_EVAL_METHOD == 0
    if (exponent < -POWER_MOST || exponent > POWER_MOST)
        return false;
    if (digits <= (uint64_t)1 << DBL_MANT_DIG) {
        *value = exponent < 0 ? (double)digits / POWERS[-exponent] : (double)digits * POWERS[exponent];
        return true;
    }
#if defined(__x86_64__) && LDBL_MANT_DIG == 64
    const uint64_t lost = ((uint64_t)1 << (LDBL_MANT_DIG - DBL_MANT_DIG)) - 1;
    long double product = exponent < 0 ? (long double)digits / (long double)POWERS[-exponent]
                                       : (long double)digits * (long double)POWERS[exponent];
    uint64_t mantissa;
    memcpy(&mantissa, &product, sizeof mantissa); /* the lower eight bytes, its first bit written out */
    *value = (double)product;
    return (mantissa & lost) != lost / 2 + 1;
#endif
#endif
    (void)digits;
    (void)exponent;
    (void)value;
    return false;
}

static double power_of_ten(int exponent)
{
    if (exponent < -POWER_MOST || exponent > POWER_MOST)
        return pow(10, exponent);
    return exponent < 0 ? 1 / POWERS[-exponent] : POWERS[exponent];
}

static bool is_digit(char c)
{
    return (unsigned char)(c - '0') <= 9;
}

/* "e-07" at `at`: moves it on; false where no whole exponent of at most three digits follows. */
static bool take_exponent(const char **at, const char *end, int *exponent)
{
    const char *c = *at + 1;
    bool negative = c < end && *c == '-';
    int number = 0, digits = 0;
    if (c < end && (*c == '-' || *c == '+'))
        c++;
    for (; c < end && is_digit(*c) && digits <= 3; c++, digits++)
        number = number * 10 + (*c - '0');
    *at = c;
    *exponent += negative ? -number : number;
    return digits >= 1 && digits <= 3;
}

size_t cw_csv_front_number(const char *text, const char *end, char decimal, double *value, double *step)
{
    const char *at = text;
    bool negative = at < end && *at == '-';
    if (at < end && (*at == '-' || *at == '+'))
        at++;
    uint64_t digits = 0;
    const char *first = at;
    for (; at < end && is_digit(*at); at++)
        digits = digits * 10 + (uint64_t)(*at - '0');
    ptrdiff_t count = at - first;
    int exponent = 0;
    if (at < end && *at == decimal) {
        const char *point = at++;
        for (; at < end && is_digit(*at); at++)
            digits = digits * 10 + (uint64_t)(*at - '0');
        exponent = (int)(point + 1 - at);
        count -= exponent;
    }
    if (count < 1 || count > DIGITS_MOST)
        return 0;
    if (at < end && (*at == 'e' || *at == 'E') && !take_exponent(&at, end, &exponent))
        return 0;
    if (at - text >= TEXT_MOST || !from_digits(digits, exponent, value))
        return 0;
    *value = negative ? -*value : *value;
    if (step != NULL)
        *step = power_of_ten(exponent);
    return (size_t)(at - text);
}

bool cw_csv_number(cw_csv_cell cell, char decimal, double *value, double *step)
{
    char text[TEXT_MOST];
    if (cell.length == 0 || cell.length >= sizeof text)
        return false;
    double number, last;
    if (cw_csv_front_number(cell.text, cell.text + cell.length, decimal, &number, step == NULL ? NULL : &last) ==
        cell.length) {
        *value = number;
        if (step != NULL)
            *step = last;
        return true;
    }
    bool digit = false, point = false;
    int after = 0;
    size_t exponent = 0;
    for (size_t i = 0; i < cell.length; i++) {
        char c = cell.text[i];
        text[i] = c == decimal ? '.' : c;
        if (isdigit((unsigned char)c)) {
            digit = true;
            after += point && exponent == 0;
        } else if (c == decimal && !point && exponent == 0) {
            point = true;
        } else if ((c == 'e' || c == 'E') && digit && exponent == 0) {
            exponent = i;
        } else if (!((c == '+' || c == '-') && (i == 0 || (exponent > 0 && i == exponent + 1)))) {
            return false;
        }
    }
    text[cell.length] = '\0';
    char *end;
    number = strtod(text, &end);
    if (!digit || *end != '\0' || !isfinite(number))
        return false;
    *value = number;
    if (step != NULL)
        *step = pow(10, (exponent > 0 ? strtod(text + exponent + 1, NULL) : 0) - after);
    return true;
}

size_t cw_csv_whole_part(cw_csv_cell cell, int64_t *whole)
{
    size_t n = 0;
    int64_t sum = 0;
    while (n < cell.length && is_digit(cell.text[n]) && sum <= (INT64_MAX - 9) / 10)
        sum = sum * 10 + (cell.text[n++] - '0');
    if (n < cell.length && is_digit(cell.text[n]))
        return 0;
    *whole = sum;
    return n;
}
