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
    double uneven_s = unevenness(n, at_s, first_s, interval_s);
    if (!(interval_s > 0) || uneven_s > allowed)
        return false;
    bool said_fits = said_s > 0 && fabs(said_s - interval_s) * (double)(n - 1) < 2 * step_s + 0.5 * said_s;
    if (step_s > 0.5 * interval_s && uneven_s > 0.05 * interval_s)
        cw_source_warn(info,
                       "the time column has too few digits for its steps (%.3g s, last digit %.3g s); the samples are "
                       "taken as evenly spaced, %.6g s apart",
                       interval_s, step_s, said_fits ? said_s : interval_s);
    times->interval_s = said_fits ? said_s : interval_s;
    times->count = n;
    times->resampled = false;
    /* rounding of each stamp is rectangular, and no more than seen; the grid is a straight line through all, worst
     * known at its ends */
    times->u_time_s = said_fits ? 0 : fmin(step_s / sqrt(12), uneven_s) * 2 / sqrt((double)n);
    return true;
}

cw_status cw_csv_check_times(size_t n, const double *at_s, double step_s, const size_t *lines, double interval_s,
                             cw_source_info *info, cw_csv_times *times, cw_error *err)
{
    for (size_t i = 1; i < n; i++)
        if (at_s[i] < at_s[i - 1])
            return runs_back(at_s, i, lines, err);
    if (n < 2 || !(at_s[n - 1] > at_s[0]))
        return cw_fail(
            err, CW_INPUT,
            "line %zu: time stands still at %.9g s; the column has too few digits, or decimal commas were taken "
            "for separators. Export it with more digits, in ms or us, or with semicolons between the cells",
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

/* The step that all but two in a hundred rows have or are finer: "%g" drops zeros at the end of some numbers, and a
 * fixed count of digits is coarser for the later times. */
double cw_csv_usual_step(const cw_csv_steps *steps)
{
    size_t all = 0;
    double usual = 0;
    for (size_t i = 0; i < steps->count; i++)
        all += steps->rows[i];
    for (size_t i = 0; i < steps->count; i++) {
        size_t finer = 0;
        for (size_t k = 0; k < steps->count; k++)
            finer += steps->step[k] <= steps->step[i] ? steps->rows[k] : 0;
        if (finer * 50 >= all * 49 && (usual == 0 || steps->step[i] < usual))
            usual = steps->step[i];
    }
    return usual;
}

double cw_csv_finest_step(const cw_csv_steps *steps)
{
    double finest = steps->count > 0 ? steps->step[0] : 0;
    for (size_t i = 1; i < steps->count; i++)
        finest = fmin(finest, steps->step[i]);
    return finest;
}

/* A clock begins again at midnight, a counter of 32 bits at 0: a step back of nearly all of that is a step on. */
static void unwrap(size_t n, double *at, double wraps_at, double base)
{
    const double counter = 4294967296.0;
    double added = 0;
    for (size_t i = 1; i < n; i++) {
        double back = at[i - 1] - added - at[i], most = wraps_at;
        if (most == 0 && at[i - 1] - added + base < counter && back > counter * 15 / 16)
            most = counter;
        if (most > 0 && back > most / 2)
            added += most;
        at[i] += added;
    }
}

static void scale(size_t n, double *at, double unit_s)
{
    for (size_t i = 0; i < n; i++)
        at[i] = cw_csv_scaled(at[i], unit_s);
}

static void turn_round(double *at, size_t n)
{
    for (size_t i = 0; i < n / 2; i++) {
        double first = at[i];
        at[i] = at[n - 1 - i];
        at[n - 1 - i] = first;
    }
}

/* The latest row first, as some lists have it: each instant before the one above it. */
static bool is_latest_first(const cw_csv_rows *r)
{
    for (size_t i = 1; i < r->rows; i++)
        if (r->at[i] > r->at[i - 1])
            return false;
    return r->rows > 2 && r->at[r->rows - 1] < r->at[0];
}

void cw_csv_put_in_order(cw_csv_rows *r, cw_source_info *info)
{
    if (r->time_column == CW_CSV_COLUMNS_MOST || !is_latest_first(r))
        return;
    size_t n = r->rows, wide = r->signal_count;
    turn_round(r->at, n);
    for (size_t k = 0; k < wide; k++)
        if (r->own_at[k] != NULL)
            turn_round(r->own_at[k], n);
    for (size_t i = 0; i < n / 2; i++) {
        size_t line = r->lines[i];
        r->lines[i] = r->lines[n - 1 - i];
        r->lines[n - 1 - i] = line;
        for (size_t k = 0; k < wide; k++) {
            float value = r->values[i * wide + k];
            r->values[i * wide + k] = r->values[(n - 1 - i) * wide + k];
            r->values[(n - 1 - i) * wide + k] = value;
        }
    }
    cw_source_warn(info, "the rows stand the latest first; they are read from the last to the first");
}

void cw_csv_time_in_seconds(cw_csv_rows *r, const cw_csv_header *h)
{
    double unit_s = h->time_unit_s > 0 && !r->has_units ? h->time_unit_s : 1;
    if (r->time_column == CW_CSV_COLUMNS_MOST)
        return;
    unwrap(r->rows, r->at, r->wraps_at, (double)r->base);
    scale(r->rows, r->at, unit_s);
    for (size_t k = 0; k < r->signal_count; k++)
        if (r->own_at[k] != NULL) {
            unwrap(r->rows, r->own_at[k], r->wraps_at, (double)r->base);
            scale(r->rows, r->own_at[k], unit_s);
        }
    for (size_t i = 0; i < r->steps.count; i++)
        r->steps.step[i] = cw_csv_scaled(r->steps.step[i], unit_s);
}

/* Straight lines between the values of one channel at its own instants, read where the first time column stands. */
static cw_status carry(cw_csv_rows *r, size_t channel, cw_error *err)
{
    const double *own_at = r->own_at[channel];
    float *carried = malloc(r->rows * sizeof *carried);
    if (carried == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu values", r->rows);
    const float *values = r->values + channel;
    size_t left = 0, stride = r->signal_count;
    for (size_t i = 0; i < r->rows; i++) {
        while (left + 2 < r->rows && own_at[left + 1] <= r->at[i])
            left++;
        double from = own_at[left], to = own_at[left + 1];
        double way = to > from ? fmin(fmax((r->at[i] - from) / (to - from), 0), 1) : 0;
        double a = (double)values[left * stride], b = (double)values[(left + 1) * stride];
        carried[i] = (float)(a + way * (b - a));
    }
    for (size_t i = 0; i < r->rows; i++)
        r->values[i * stride + channel] = carried[i];
    free(carried);
    return CW_OK;
}

/* The largest distance between the times of a channel and the first ones. */
static double apart(const cw_csv_rows *r, const double *own_at)
{
    double most = 0;
    for (size_t i = 0; i < r->rows; i++)
        most = fmax(most, fabs(own_at[i] - r->at[i]));
    return most;
}

cw_status cw_csv_join_times(cw_csv_rows *r, const cw_csv_header *h, cw_source_info *info, cw_error *err)
{
    bool digital = r->has_times && cw_csv_is_digital(r->values, r->rows * r->signal_count);
    for (size_t k = 0; k < r->signal_count && r->rows > 1 && r->has_times; k++) {
        const double *own_at = r->own_at[k];
        double last_s = r->at[r->rows - 1], step_s = cw_csv_usual_step(&r->steps);
        if (own_at == NULL || apart(r, own_at) <= step_s + 1e-3 * fabs(last_s - r->at[0]) / (double)r->rows)
            continue;
        const char *name = h->names[r->signals[k]];
        for (size_t i = 1; i < r->rows; i++)
            if (own_at[i] < own_at[i - 1])
                return runs_back(own_at, i, r->lines, err);
        if (digital || own_at[0] > last_s || own_at[r->rows - 1] < r->at[0])
            return cw_fail(err, CW_INPUT,
                           "channel %zu (\"%s\") has times of its own in column %zu, %s. Export the channels with one "
                           "time column, or one by one",
                           k + 1, name, r->times[k] + 1,
                           digital ? "and levels cannot be carried from one to the other"
                                   : "which do not overlap those of the first");
        CW_TRY(carry(r, k, err));
        cw_source_warn(info,
                       "channel %zu (\"%s\") has times of its own, up to %.3g s from the first; its values are carried "
                       "over by straight lines",
                       k + 1, name, apart(r, own_at));
    }
    return CW_OK;
}
