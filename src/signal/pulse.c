/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/pulse.h"

#include <math.h>

#include "base/extremes.h"

enum { HISTOGRAM_BINS = 100 };

typedef struct {
    double least, scale; /* bins a unit from there */
    double weight[HISTOGRAM_BINS];
} histogram;

static size_t bin_of(const histogram *h, double value)
{
    size_t bin = (size_t)((value - h->least) * h->scale);
    return bin < HISTOGRAM_BINS ? bin : HISTOGRAM_BINS - 1;
}

/* Values next to each other mostly fall into one bin, and one addition would wait for the other: each of four has a
 * histogram of its own. */
static void count_values(size_t n, const double *values, const double *weights, histogram *h)
{
    enum { SIDE_BY_SIDE = 4 };
    double parts[HISTOGRAM_BINS][SIDE_BY_SIDE] = {{0}};
    for (size_t i = 0; i < n; i++)
        parts[bin_of(h, values[i])][i % SIDE_BY_SIDE] += weights != NULL ? weights[i] : 1;
    for (size_t k = 0; k < HISTOGRAM_BINS; k++)
        h->weight[k] = parts[k][0] + parts[k][1] + (parts[k][2] + parts[k][3]);
}

/* The fullest of bins [from, to) and its neighbours among them, as places: value bins from the least. */
static void find_mode(const histogram *h, size_t from, size_t to, double *low, double *high)
{
    size_t best = from;
    for (size_t i = from; i < to; i++)
        if (h->weight[i] > h->weight[best])
            best = i;
    *low = (double)(best > from ? best - 1 : best);
    *high = best + 2 < to ? (double)(best + 2) : to < HISTOGRAM_BINS ? (double)to : INFINITY;
}

cw_status cw_state_levels(size_t n, const double *values, const double *weights, cw_states *states, cw_error *err)
{
    double least = cw_least_of(n, values, INFINITY), most = cw_most_of(n, values, -INFINITY);
    if (n < 2 || !(most > least) || !isfinite(most - least))
        return cw_fail(err, CW_RANGE, "%zu values between %g and %g have no two state levels", n, least, most);
    histogram h = {.least = least, .scale = HISTOGRAM_BINS / (most - least)};
    count_values(n, values, weights, &h);
    double low_from, low_to, high_from, high_to, low_weight = 0, low_sum = 0, high_weight = 0, high_sum = 0;
    find_mode(&h, 0, HISTOGRAM_BINS / 2, &low_from, &low_to);
    find_mode(&h, HISTOGRAM_BINS / 2, HISTOGRAM_BINS, &high_from, &high_to);
#pragma omp simd reduction(+ : low_weight, low_sum, high_weight, high_sum)
    for (size_t i = 0; i < n; i++) {
        /* the same place as when it was counted: rounding puts no value elsewhere */
        double place = (values[i] - h.least) * h.scale, weight = weights != NULL ? weights[i] : 1;
        double low = place >= low_from && place < low_to ? weight : 0;
        double high = place >= high_from && place < high_to ? weight : 0;
        low_weight += low;
        low_sum += low * values[i];
        high_weight += high;
        high_sum += high * values[i];
    }
    *states = (cw_states){low_sum / low_weight, high_sum / high_weight};
    return CW_OK;
}

/* The instant at which the straight line between values i and i + 1 passes the level. */
static double pass(const double *at_s, const double *values, size_t i, double level)
{
    double way = values[i + 1] - values[i];
    return way == 0 ? at_s[i] : at_s[i] + (level - values[i]) / way * (at_s[i + 1] - at_s[i]);
}

/* Going left (step -1) or right from `from`, the first place where the values drop below the level; NaN: never. */
static double leaves(size_t n, const double *at_s, const double *values, size_t from, int step, double level)
{
    for (size_t i = from; step < 0 ? i > 0 : i + 1 < n; i = step < 0 ? i - 1 : i + 1) {
        size_t next = step < 0 ? i - 1 : i + 1;
        if (values[i] >= level && values[next] < level)
            return pass(at_s, values, step < 0 ? next : i, level);
    }
    return NAN;
}

static double passes_after(size_t n, const double *at_s, const double *values, size_t from, int step, double level)
{
    for (size_t i = from; step > 0 ? i + 1 < n : i > 0; i = step > 0 ? i + 1 : i - 1) {
        size_t next = step > 0 ? i + 1 : i - 1;
        if (values[i] < level && values[next] >= level)
            return pass(at_s, values, step > 0 ? i : next, level);
    }
    return NAN;
}

/* The first value at or after the instant, looked for from a place nearby. */
static size_t place_of(size_t n, const double *at_s, size_t near, double instant_s)
{
    while (near > 0 && at_s[near - 1] >= instant_s)
        near--;
    while (near < n && at_s[near] < instant_s)
        near++;
    return near;
}

/* [first, last]: the values at or above half. */
static void measure_overshoot(size_t n, const double *at_s, const double *values, const cw_states *s, size_t first,
                              size_t last, cw_pulse_terms *t)
{
    size_t rise10 = place_of(n, at_s, first, t->rise10_s), rise90 = place_of(n, at_s, first, t->rise90_s),
           fall90 = place_of(n, at_s, last, t->fall90_s), fall10 = place_of(n, at_s, last, t->fall10_s);
    double most = cw_most_of(fall90 > rise90 ? fall90 - rise90 : 0, values + rise90, s->high);
    double least = cw_least_of(n - fall10, values + fall10, cw_least_of(rise10, values, s->low));
    t->overshoot = (most - s->high) / (s->high - s->low);
    t->undershoot = (s->low - least) / (s->high - s->low);
}

cw_status cw_pulse_measure(size_t n, const double *at_s, const double *values, const cw_states *states,
                           cw_pulse_terms *terms, cw_error *err)
{
    double height = states->high - states->low, p10 = states->low + 0.1 * height, p50 = states->low + 0.5 * height,
           p90 = states->low + 0.9 * height;
    size_t first = 0, last = n;
    while (first < n && values[first] < p50)
        first++;
    while (last > 0 && values[last - 1] < p50)
        last--;
    if (!(height > 0) || first == 0 || first >= n || last >= n)
        return cw_fail(err, CW_RANGE, "no whole pulse between the levels %g and %g", states->low, states->high);
    last--;
    cw_pulse_terms t = {
        .rise10_s = leaves(n, at_s, values, first, -1, p10),
        .rise50_s = pass(at_s, values, first - 1, p50),
        .rise90_s = passes_after(n, at_s, values, first - 1, 1, p90),
        .fall90_s = passes_after(n, at_s, values, last + 1, -1, p90),
        .fall50_s = pass(at_s, values, last, p50),
        .fall10_s = leaves(n, at_s, values, last, 1, p10),
    };
    t.rise_s = t.rise90_s - t.rise10_s;
    t.fall_s = t.fall10_s - t.fall90_s;
    t.duration_s = t.fall50_s - t.rise50_s;
    t.flat_s = t.fall90_s - t.rise90_s;
    if (!isfinite(t.rise_s + t.fall_s))
        return cw_fail(err, CW_RANGE, "the pulse near %.6f s is cut off or never steady", at_s[first]);
    measure_overshoot(n, at_s, values, states, first, last, &t);
    *terms = t;
    return CW_OK;
}
