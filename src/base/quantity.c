/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/quantity.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/manner.h"

#define PLUS_MINUS "\xc2\xb1"
#define MINUS "\xe2\x88\x92"

/* The power of ten of the first significant digit after rounding to `figures`. */
static int leading_decade(double value, int figures)
{
    if (value == 0)
        return 0;
    char text[40];
    snprintf(text, sizeof text, "%.*e", figures - 1, fabs(value));
    int decade = 0;
    const char *e = strchr(text, 'e');
    if (e == NULL || sscanf(e + 1, "%d", &decade) != 1)
        return 0;
    return decade;
}

static void fixed_text(double value, int decimals, char *out, size_t size)
{
    if (decimals < 0) {
        double step = pow(10, -decimals);
        value = round(value / step) * step;
        decimals = 0;
    }
    char digits[400];
    snprintf(digits, sizeof digits, "%.*f", decimals, fabs(value));
    bool zero = strspn(digits, "0.") == strlen(digits);
    cw_comma_digits(digits);
    snprintf(out, size, "%s%s", value < 0 && !zero ? MINUS : "", digits);
}

void cw_fixed_text(double value, int decimals, char *out, size_t size)
{
    if (isfinite(value))
        fixed_text(value, decimals, out, size);
    else
        cw_number_text(value, 1, out, size);
}

void cw_number_text(double value, int figures, char *out, size_t size)
{
    if (!isfinite(value)) {
        snprintf(out, size, "%s", cw_words_of(isnan(value) ? "not known" : "without limit"));
        return;
    }
    int decade = leading_decade(value, figures);
    if (decade >= 9 || decade < -6) {
        snprintf(out, size, "%s%.*e", value < 0 ? MINUS : "", figures - 1, fabs(value));
        cw_comma_digits(out);
        return;
    }
    int decimals = figures - 1 - decade;
    fixed_text(value, decimals > 0 ? decimals : 0, out, size);
}

/* A reader who thinks in inches gets them where a length would be shown in millimetres; micrometres stay. */
static const cw_unit *unit_for_reader(const cw_unit *unit)
{
    bool is_mm = cw_manner_now()->inches && unit == cw_unit_find(CW_LENGTH, "mm");
    return is_mm ? cw_unit_find(CW_LENGTH, "in") : unit;
}

void cw_quantity_text(cw_quantity q, const cw_unit *unit, int figures, char *out, size_t size)
{
    unit = unit_for_reader(unit);
    const char *space = unit != NULL && *unit->name != '\0' ? " " : "", *name = unit != NULL ? unit->name : "";
    double value = unit != NULL ? cw_to_unit(q.value, unit) : q.value;
    double u = unit != NULL ? q.u / unit->factor : q.u;
    char number[80], spread[80];
    if (!isfinite(value)) {
        cw_number_text(value, figures, out, size);
        return;
    }
    double expanded = 2 * fabs(u);
    int decade = leading_decade(expanded, 2);
    if (!isfinite(u) || expanded == 0 || decade < -12 || decade > 12) {
        cw_number_text(value, figures, number, sizeof number);
        snprintf(out, size, "%s%s%s", number, space, name);
        return;
    }
    int decimals = 1 - decade;
    fixed_text(value, decimals, number, sizeof number);
    fixed_text(expanded, decimals, spread, sizeof spread);
    snprintf(out, size, "%s " PLUS_MINUS " %s%s%s", number, spread, space, name);
}

void cw_signed_ev_text(double ev, char *out, size_t size)
{
    if (!isfinite(ev)) {
        snprintf(out, size, "%s", cw_words_of("not known"));
        return;
    }
    double rounded = round(ev * 100) / 100;
    snprintf(out, size, "%s%.2f EV", rounded < 0 ? MINUS : rounded > 0 ? "+" : "", fabs(rounded));
    cw_comma_digits(out);
}

void cw_error_ev_text(cw_quantity error_ev, char *out, size_t size)
{
    if (!isfinite(error_ev.value)) {
        snprintf(out, size, "%s", cw_words_of("not known"));
        return;
    }
    double shown = round(100 * error_ev.value) / 100;
    int used = snprintf(out, size, "%s%.2f", shown < 0 ? MINUS : shown > 0 ? "+" : "", fabs(shown));
    if (isfinite(error_ev.u) && error_ev.u > 0 && used > 0 && (size_t)used < size)
        snprintf(out + used, size - (size_t)used, " " PLUS_MINUS " %.2f", ceil(200 * error_ev.u - 1e-9) / 100);
    cw_comma_digits(out);
}

void cw_shutter_time_text(double seconds, char *out, size_t size)
{
    if (!isfinite(seconds) || seconds <= 0) {
        snprintf(out, size, "%s", cw_words_of("not known"));
        return;
    }
    char number[80];
    if (seconds < 0.3) {
        cw_number_text(1 / seconds, seconds < 0.02 ? 3 : 2, number, sizeof number);
        snprintf(out, size, "1/%s s", number);
    } else {
        /* what rounds to 1 is written as 1 is */
        cw_number_text(seconds, seconds < 0.995 ? 2 : 3, number, sizeof number);
        snprintf(out, size, "%s s", number);
    }
}

double cw_log2_ratio(double a, double b)
{
    return a > 0 && b > 0 ? log2(a / b) : NAN;
}
