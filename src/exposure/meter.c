/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exposure/meter.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/range.h"
#include "base/stats.h"

static cw_status check_points(size_t n, const cw_meter_point *points, double u_shown, double limit_ev, cw_error *err)
{
    if (n < 1 || n > CW_METER_POINTS_MOST)
        return cw_fail(err, CW_RANGE,
                       "%zu light levels; 1 to %d can be used, 3 or more tell a bent scale from a shifted one", n,
                       CW_METER_POINTS_MOST);
    CW_TRY(cw_check_within("uncertainty of reading the meter", u_shown, CW_EXPOSURE_VALUE, "EV", 1e-3, 3, err));
    CW_TRY(cw_check_within("limit", limit_ev, CW_EXPOSURE_VALUE, "EV", 0.05, 5, err));
    for (size_t i = 0; i < n; i++) {
        cw_status status =
            cw_check_within("reference", points[i].reference.value, CW_EXPOSURE_VALUE, "EV", -10, 25, err);
        if (status == CW_OK)
            status = cw_check_within("reading", points[i].shown, CW_EXPOSURE_VALUE, "EV", -10, 25, err);
        if (status == CW_OK)
            status = cw_check_within("uncertainty of the reference", points[i].reference.u, CW_EXPOSURE_VALUE, "EV",
                                     1e-3, 3, err);
        if (status != CW_OK) {
            cw_context(err, "light level %zu", i + 1);
            return status;
        }
    }
    return CW_OK;
}

/* error = a + b (reference - middle); slope of the scale = 1 - b. */
static cw_status fit_line(size_t n, const cw_meter_point *points, double range_ev, cw_meter_result *r, double fitted[2],
                          cw_error *err)
{
    double design[CW_METER_POINTS_MOST * 2], weights[CW_METER_POINTS_MOST], covariance[4], chi_squared;
    size_t columns = n >= 2 && range_ev > 0.1 ? 2 : 1; /* one and the same light level tells no slope */
    for (size_t i = 0; i < n; i++) {
        design[i * columns] = 1;
        if (columns == 2)
            design[i * columns + 1] = points[i].reference.value - r->middle_ev;
        weights[i] = 1 / (r->u_error_ev[i] * r->u_error_ev[i]);
    }
    fitted[1] = 0;
    CW_TRY(cw_least_squares(n, columns, design, r->error_ev, weights, fitted, covariance, &chi_squared, err));
    double raise = n > columns ? fmax(1, sqrt(chi_squared / (double)(n - columns))) : 1;
    r->offset_ev = (cw_quantity){fitted[0], sqrt(covariance[0]) * raise};
    r->slope = columns == 2 ? (cw_quantity){1 - fitted[1], sqrt(covariance[3]) * raise} : (cw_quantity){NAN, NAN};
    return CW_OK;
}

static void find_linearity(size_t n, const cw_meter_point *points, const double fitted[2], cw_meter_result *r)
{
    r->linearity_ev = (cw_quantity){NAN, NAN};
    r->linearity_at_ev = NAN;
    if (n < 3 || isnan(r->slope.value))
        return;
    r->linearity_ev.value = 0;
    for (size_t i = 0; i < n; i++) {
        double left = r->error_ev[i] - fitted[0] - fitted[1] * (points[i].reference.value - r->middle_ev);
        if (i == 0 || fabs(left) > fabs(r->linearity_ev.value)) {
            r->linearity_ev = (cw_quantity){left, r->u_error_ev[i]};
            r->linearity_at_ev = points[i].reference.value;
        }
    }
}

/* "-0.4" as "0.4 EV less", for sentences. */
static const char *more_or_less(double ev)
{
    return ev >= 0 ? "more" : "less";
}

static void advise(double limit_ev, double range_ev, cw_meter_result *r)
{
    double across = isnan(r->slope.value) ? 0 : fabs(1 - r->slope.value) * range_ev / 2;
    double u_across = isnan(r->slope.u) ? 0 : r->slope.u * range_ev / 2;
    bool curved = !isnan(r->linearity_ev.value) && fabs(r->linearity_ev.value) > limit_ev &&
                  fabs(r->linearity_ev.value) > 2 * r->linearity_ev.u;
    if (curved) {
        r->fault = CW_METER_CURVED;
        snprintf(r->advice, sizeof r->advice,
                 "At EV %.3g the meter departs by %.2f EV from its own straight line. Measure that level again; a cell "
                 "near its end, a "
                 "needle that rubs, or a change of range gives this. No single setting cures it: note a table for this "
                 "camera.",
                 r->linearity_at_ev, fabs(r->linearity_ev.value));
    } else if (across > limit_ev && across > 2 * u_across) {
        r->fault = CW_METER_SLOPE;
        snprintf(r->advice, sizeof r->advice,
                 "Its scale runs at %.2f EV for each EV of light, so it is off by another %.2f EV at each end of the "
                 "range tried. A wrong "
                 "battery voltage, an aged photocell or a shifted trimmer gives this; set the trimmers at a bright and "
                 "a dim level in turn, "
                 "if it has them, after the battery is right.",
                 r->slope.value, across);
    } else if (fabs(r->offset_ev.value) > limit_ev && fabs(r->offset_ev.value) > 2 * r->offset_ev.u) {
        r->fault = CW_METER_OFFSET;
        snprintf(r->advice, sizeof r->advice,
                 "It gives %.2f EV %s exposure at every level. Set the film-speed dial %.2g times the film's speed, or "
                 "turn the zero or "
                 "trimmer after checking battery, window and needle rest.",
                 fabs(r->offset_ev.value), more_or_less(r->offset_ev.value), exp2(r->offset_ev.value));
    } else {
        r->fault = CW_METER_GOOD;
        snprintf(r->advice, sizeof r->advice, "Nothing beyond %.2f EV that these readings can show.", limit_ev);
    }
}

cw_status cw_meter_check(size_t n, const cw_meter_point *points, double u_shown, double limit_ev,
                         cw_meter_result *result, cw_error *err)
{
    CW_TRY(check_points(n, points, u_shown, limit_ev, err));
    cw_meter_result r = {.middle_ev = 0};
    double least = points[0].reference.value, most = least;
    for (size_t i = 0; i < n; i++) {
        r.error_ev[i] = points[i].reference.value - points[i].shown;
        r.u_error_ev[i] = hypot(points[i].reference.u, u_shown);
        r.middle_ev += points[i].reference.value / (double)n;
        least = fmin(least, points[i].reference.value);
        most = fmax(most, points[i].reference.value);
        if (i == 0 || fabs(r.error_ev[i]) > fabs(r.worst_ev)) {
            r.worst_ev = r.error_ev[i];
            r.worst_at_ev = points[i].reference.value;
        }
    }
    double fitted[2];
    CW_TRY(fit_line(n, points, most - least, &r, fitted, err));
    find_linearity(n, points, fitted, &r);
    advise(limit_ev, most - least, &r);
    *result = r;
    return CW_OK;
}
