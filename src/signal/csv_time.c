/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A column of time, as even as its digits allow, or honestly uneven. */
#include <math.h>
#include <stdlib.h>

#include "base/stats.h"
#include "signal/csv.h"
#include "signal/reader.h"

static cw_status runs_back(const double *at_s, size_t i, const size_t *lines, cw_error *err)
{
    return cw_fail(
        err, CW_INPUT,
        "line %zu: time runs back from %.9g to %.9g s. Were two recordings joined, or is the first column not "
        "time?",
        lines[i], at_s[i - 1], at_s[i]);
}

static double median_step(size_t n, const double *at_s, double *scratch)
{
    for (size_t i = 0; i + 1 < n; i++)
        scratch[i] = at_s[i + 1] - at_s[i];
    return cw_median(n - 1, scratch);
}

/* The even grid nearest to the instants, by least squares: at = first + i * interval. */
static void nearest_grid(size_t n, const double *at_s, double *first_s, double *interval_s)
{
    double middle = (double)(n - 1) / 2, moments = 0, products = 0, mean = 0;
    for (size_t i = 0; i < n; i++)
        mean += (at_s[i] - at_s[0]) / (double)n;
    for (size_t i = 0; i < n; i++) {
        double d = (double)i - middle;
        moments += d * d;
        products += d * (at_s[i] - at_s[0] - mean);
    }
    *interval_s = products / moments;
    *first_s = at_s[0] + mean - middle * *interval_s;
}

/* The largest distance of any instant from the grid. */
static double unevenness(size_t n, const double *at_s, double first_s, double interval_s)
{
    double most = 0;
    for (size_t i = 0; i < n; i++)
        most = fmax(most, fabs(at_s[i] - first_s - (double)i * interval_s));
    return most;
}

/* Even within the digits. The interval in the preamble has more of them than the column, when it agrees. */
static bool take_even(size_t n, const double *at_s, double step_s, double said_s, cw_source_info *info,
                      cw_csv_times *times)
{
    double first_s, interval_s;
    nearest_grid(n, at_s, &first_s, &interval_s);
    double allowed = fmax(0.8 * step_s, 0.02 * interval_s) + 1e-9 * fabs(at_s[n - 1]);
    if (!(interval_s > 0) || unevenness(n, at_s, first_s, interval_s) > allowed)
        return false;
    bool said_fits = said_s > 0 && fabs(said_s - interval_s) * (double)(n - 1) < 2 * step_s + 0.5 * said_s;
    if (step_s > 0.5 * interval_s)
        cw_source_warn(info,
                       "the time column has too few digits for its steps (%.3g s, last digit %.3g s); the samples are "
                       "taken as evenly spaced, %.6g s apart",
                       interval_s, step_s, said_fits ? said_s : interval_s);
    times->interval_s = said_fits ? said_s : interval_s;
    times->count = n;
    times->resampled = false;
    /* rounding of each stamp is rectangular; the grid is a straight line through all, worst known at its ends */
    times->u_time_s = said_fits ? 0 : step_s / sqrt(12) * 2 / sqrt((double)n);
    return true;
}

cw_status cw_csv_check_times(size_t n, const double *at_s, double step_s, const size_t *lines, double interval_s,
                             cw_source_info *info, cw_csv_times *times, cw_error *err)
{
    for (size_t i = 1; i < n; i++)
        if (at_s[i] < at_s[i - 1])
            return runs_back(at_s, i, lines, err);
    if (n < 2 || !(at_s[n - 1] > at_s[0]))
        return cw_fail(err, CW_INPUT,
                       "line %zu: time stands still at %.9g s; the column has too few digits. Export it "
                       "with more, or in ms or us",
                       lines[0], at_s[0]);
    times->start_s = at_s[0];
    if (take_even(n, at_s, step_s, interval_s, info, times))
        return CW_OK;
    double *scratch = malloc(n * sizeof *scratch);
    if (scratch == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu instants", n);
    double median = median_step(n, at_s, scratch), most = 0, length = at_s[n - 1] - at_s[0];
    free(scratch);
    for (size_t i = 1; i < n; i++)
        most = fmax(most, at_s[i] - at_s[i - 1]);
    double interval = median > 0 ? median : length / (double)(n - 1);
    const double grows_most = 8; /* times as many samples as rows */
    interval = fmax(interval, length / (grows_most * (double)n));
    *times = (cw_csv_times){.interval_s = interval,
                            .u_time_s = fmax(step_s, interval / 4) / sqrt(12),
                            .start_s = at_s[0],
                            .count = (size_t)(length / interval + 1e-6) + 1,
                            .resampled = true};
    cw_source_warn(info,
                   "the time column is uneven (steps of %.4g s, up to %.4g s); values in between are interpolated "
                   "straight on a grid of %.4g s, and an edge inside a gap is only known to within it",
                   median, most, interval);
    return CW_OK;
}
