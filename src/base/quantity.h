/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A measured or computed value with its standard uncertainty, and how both are written for a person.
 * JCGM 100:2008, 7.2: the uncertainty keeps at most two significant digits and the value is rounded to the same place.
 * What a person reads is the expanded uncertainty, k = 2 ("12.35 +- 0.08 mm"); JSON carries u, k = 1. */
#ifndef CW_BASE_QUANTITY_H
#define CW_BASE_QUANTITY_H

#include <stdbool.h>
#include <stddef.h>

#include "base/unit.h"

typedef struct {
    double value; /* NaN: not known */
    double u;     /* standard uncertainty, k = 1; 0: exact; NaN: not known */
} cw_quantity;

enum { CW_QUANTITY_TEXT = 96 };

/* "12.35 +- 0.08 mm" with a real plus-minus sign; "12.3 mm" with `figures` significant digits where u is 0 or not
 * known; "not known" for NaN. `unit` may be NULL for none. Always terminated. */
void cw_quantity_text(cw_quantity q, const cw_unit *unit, int figures, char *out, size_t size);

/* `value` rounded to `figures` significant digits, never in scientific notation between 1e-6 and 1e9. */
void cw_number_text(double value, int figures, char *out, size_t size);

/* `value` with so many decimals; "not known" for NaN. */
void cw_fixed_text(double value, int decimals, char *out, size_t size);

/* "+0.15 EV", with a true minus sign; "not known" for NaN. Two decimals. */
void cw_signed_ev_text(double ev, char *out, size_t size);

/* "+0.15 ± 0.04": an error in EV and its expanded uncertainty (k = 2), for a column headed EV. The uncertainty is
 * rounded up, so it is never shown as none; left out where it is not known. "not known" for NaN; no sign at 0.00. */
void cw_error_ev_text(cw_quantity error_ev, char *out, size_t size);

/* A shutter time as the trade writes it: "1/226 s" below 0.3 s, "0.52 s" and "2.1 s" above; "not known" for NaN. */
void cw_shutter_time_text(double seconds, char *out, size_t size);

/* log2(a/b); NaN unless both are positive. */
double cw_log2_ratio(double a, double b);

#endif
