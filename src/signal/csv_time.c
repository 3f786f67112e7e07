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

/* The largest distance of any instant from the even grid through the first and the last. */
static double unevenness(size_t n, const double *at_s, double interval_s)
{
    double most = 0;
    for (size_t i = 0; i < n; i++)
        most = fmax(most, fabs(at_s[i] - at_s[0] - (double)i * interval_s));
    return most;
}

/* Even within the digits, by the interval in the preamble or by the two ends. */
static bool take_even(size_t n, const double *at_s, double step_s, double interval_s, cw_source_info *info,
                      cw_csv_times *times)
{
    double ends = (at_s[n - 1] - at_s[0]) / (double)(n - 1), allowed = fmax(0.75 * step_s, 0.02 * ends);
    bool preamble_fits = interval_s > 0 && fabs(interval_s - ends) * (double)(n - 1) < 2 * step_s + 0.5 * interval_s;
    double interval = preamble_fits ? interval_s : ends;
    if (unevenness(n, at_s, interval) > allowed + 1e-9 * fabs(at_s[n - 1]))
        return false;
    if (step_s > 0.5 * interval)
        cw_source_warn(info,
                       "the time column has too few digits for its steps (%.3g s, last digit %.3g s); the samples are "
                       "taken as evenly spaced, %.6g s apart",
                       interval, step_s, interval);
    times->interval_s = interval;
    times->count = n;
    times->resampled = false;
    /* both ends are rounded: sqrt 2 of a rectangular distribution of one step */
    times->u_time_s = preamble_fits ? 0 : step_s / sqrt(6);
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
                            .count = (size_t)(length / interval) + 1,
                            .resampled = true};
    cw_source_warn(info,
                   "the time column is uneven (steps of %.4g s, up to %.4g s); values in between are interpolated "
                   "straight on a grid of %.4g s, and an edge inside a gap is only known to within it",
                   median, most, interval);
    return CW_OK;
}
