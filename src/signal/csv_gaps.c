/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cells that hold no value of their own: empty, or beyond the range of the instrument. */
#include <math.h>
#include <stdio.h>

#include "signal/csv.h"
#include "signal/reader.h"

/* What instruments write for infinity and for "no value" (SCPI-1999, volume 1, 7.2.1.4 and 7.2.1.5: 9.9E37, 9.91E37),
 * as far as a float tells them apart. */
static const double SCPI_INFINITY = 9.9e37, SCPI_NOT_A_NUMBER = 9.91e37;

static bool is_about(double value, double expected)
{
    return fabs(value - expected) < 2e-4 * expected;
}

/* Infinite values are marks left by csv_read.c; the sentinels are found here. */
static void find_sentinels(cw_csv_rows *r, size_t channel, double scale)
{
    cw_csv_gaps *gaps = &r->gaps[channel];
    for (size_t i = 0; i < r->rows; i++) {
        float *value = &r->values[i * r->signal_count + channel];
        double written = fabs((double)*value) / scale;
        if (!(written > 9e37) || isinf(*value))
            continue;
        if (is_about(written, SCPI_NOT_A_NUMBER) && gaps->missing_line == 0) {
            gaps->missing_line = r->lines[i];
            gaps->has_hole = true;
            snprintf(gaps->mark, sizeof gaps->mark, "9.91E37");
        } else if (is_about(written, SCPI_INFINITY)) {
            *value = *value > 0 ? INFINITY : -INFINITY;
            gaps->beyond_line = gaps->beyond++ > 0 ? gaps->beyond_line : r->lines[i];
        }
    }
}

/* A row of one or two marks with both neighbours in the other half of the range: no light does that between samples.
 * The number of rows when there is none. */
static size_t lone_mark(const cw_csv_rows *r, size_t channel, float least, float most)
{
    enum { LONE_MOST = 2 };
    const float *values = r->values + channel;
    size_t stride = r->signal_count;
    for (size_t i = 0, end; i < r->rows; i = end) {
        end = i + 1;
        if (!isinf(values[i * stride]))
            continue;
        while (end < r->rows && isinf(values[end * stride]))
            end++;
        if (i == 0 || end == r->rows || end - i > LONE_MOST)
            continue;
        double middle = ((double)least + (double)most) / 2, sign = values[i * stride] > 0 ? 1 : -1;
        double before = (double)values[(i - 1) * stride], after = (double)values[end * stride];
        if (sign * (before - middle) < 0 && sign * (after - middle) < 0)
            return i;
    }
    return r->rows;
}

static cw_status clip(cw_csv_rows *r, size_t channel, const char *name, cw_source_info *info, cw_error *err)
{
    const cw_csv_gaps *gaps = &r->gaps[channel];
    float least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < r->rows; i++) {
        float value = r->values[i * r->signal_count + channel];
        if (isfinite(value)) {
            least = fminf(least, value);
            most = fmaxf(most, value);
        }
    }
    if (!(least < most))
        return cw_fail(err, CW_INPUT,
                       "line %zu: channel %zu (\"%s\") lies beyond the range of the instrument all the time; record "
                       "again with a wider one",
                       gaps->beyond_line, channel + 1, name);
    size_t lone = lone_mark(r, channel, least, most);
    if (lone < r->rows)
        return cw_fail(
            err, CW_INPUT,
            "line %zu: a mark for beyond the range in column %zu, but the values beside it are far within it. "
            "Export the recording again",
            r->lines[lone], r->signals[channel] + 1);
    for (size_t i = 0; i < r->rows; i++) {
        float *value = &r->values[i * r->signal_count + channel];
        if (isinf(*value))
            *value = *value > 0 ? most : least;
    }
    cw_source_warn(
        info,
        "channel %zu (\"%s\") was beyond the range of the instrument in %zu rows, the first in line %zu; they "
        "are taken as the end of what was read (%.4g or %.4g). A wider range shows the whole edge",
        channel + 1, name, gaps->beyond, gaps->beyond_line, (double)least, (double)most);
    return CW_OK;
}

static bool only_levels(const cw_csv_rows *r, size_t channel)
{
    for (size_t i = 0; i < r->rows; i++) {
        float value = r->values[i * r->signal_count + channel];
        if (value != 0 && value != 1)
            return false;
    }
    return true;
}

cw_status cw_csv_fill_gaps(cw_csv_rows *r, const cw_csv_header *h, cw_source_info *info, cw_error *err)
{
    for (size_t k = 0; k < r->signal_count; k++) {
        const char *name = h->names[r->signals[k]];
        cw_csv_gaps *gaps = &r->gaps[k];
        find_sentinels(r, k, h->scale[r->signals[k]]);
        if (gaps->beyond > 0)
            CW_TRY(clip(r, k, name, info, err));
        if (gaps->missing_line == 0 || only_levels(r, k)) /* a level holds until it changes */
            continue;
        if (gaps->has_hole)
            return cw_fail(err, CW_INPUT,
                           "line %zu: \"%s\" in column %zu is no value, and there are values below. If the instrument "
                           "writes that beyond its range, record again with a wider one; else export every channel at "
                           "every sample",
                           gaps->missing_line, gaps->mark, r->signals[k] + 1);
        cw_source_warn(info,
                       "channel %zu (\"%s\") ends at line %zu, before the others; its last value is kept to the end",
                       k + 1, name, gaps->missing_line);
    }
    return CW_OK;
}
