/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/pulse.h"

#include <math.h>

enum { HISTOGRAM_BINS = 100 };

typedef struct {
    double weight[HISTOGRAM_BINS], sum[HISTOGRAM_BINS];
} histogram;

static double mode_between(const histogram *h, size_t from, size_t to)
{
    size_t best = from;
    for (size_t i = from; i < to; i++)
        if (h->weight[i] > h->weight[best])
            best = i;
    double weight = 0, sum = 0;
    for (size_t i = best > from ? best - 1 : best; i <= best + 1 && i < to; i++) {
        weight += h->weight[i];
        sum += h->sum[i];
    }
    return weight > 0 ? sum / weight : NAN;
}

cw_status cw_state_levels(size_t n, const double *values, const double *weights, cw_states *states, cw_error *err)
{
    double least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < n; i++) {
        least = fmin(least, values[i]);
        most = fmax(most, values[i]);
    }
    if (n < 2 || !(most > least) || !isfinite(most - least))
        return cw_fail(err, CW_RANGE, "%zu values between %g and %g have no two state levels", n, least, most);
    histogram h = {.weight = {0}};
    for (size_t i = 0; i < n; i++) {
        size_t bin = (size_t)((values[i] - least) / (most - least) * HISTOGRAM_BINS);
        bin = bin < HISTOGRAM_BINS ? bin : HISTOGRAM_BINS - 1;
        double weight = weights != NULL ? weights[i] : 1;
        h.weight[bin] += weight;
        h.sum[bin] += weight * values[i];
    }
    *states =
        (cw_states){mode_between(&h, 0, HISTOGRAM_BINS / 2), mode_between(&h, HISTOGRAM_BINS / 2, HISTOGRAM_BINS)};
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

static void measure_overshoot(size_t n, const double *at_s, const double *values, const cw_states *s, cw_pulse_terms *t)
{
    double most = -INFINITY, least = INFINITY;
    for (size_t i = 0; i < n; i++) {
        if (at_s[i] >= t->rise90_s && at_s[i] <= t->fall90_s)
            most = fmax(most, values[i]);
        else if (at_s[i] <= t->rise10_s || at_s[i] >= t->fall10_s)
            least = fmin(least, values[i]);
    }
    t->overshoot = isfinite(most) ? fmax(most - s->high, 0) / (s->high - s->low) : 0;
    t->undershoot = isfinite(least) ? fmax(s->low - least, 0) / (s->high - s->low) : 0;
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
    measure_overshoot(n, at_s, values, states, &t);
    *terms = t;
    return CW_OK;
}
