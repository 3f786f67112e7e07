/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/measure_slit.h"

#include <math.h>

/* From shot to shot a curtain crosses the beam in a time that differs by so much; from memory. */
static const double RUNS_UNLIKE = 0.004;

typedef struct {
    double w, x, y, xx, xy; /* sums of the weights, and of them times area^2 and variance */
    double highest;         /* peak */
    size_t count;
} slit_sums;

static double variance_u(const cw_pulse_found *p)
{
    return hypot(p->spread_s2.u, 2 * RUNS_UNLIKE * p->spread_s2.value);
}

static slit_sums sum_shots(const cw_measuring *m, size_t channel)
{
    slit_sums sums = {.count = 0};
    for (size_t k = 0; k < m->release_count; k++) {
        const cw_lane_found *lane = &m->releases[k].lanes[channel];
        const cw_pulse_found *p = &lane->pulses[0];
        if (!lane->seen || lane->cut_start || lane->cut_end || lane->clipped || !(p->spread_s2.value > 0))
            continue;
        double u = variance_u(p), w = 1 / (u * u), x = p->area.value * p->area.value;
        sums.w += w;
        sums.x += w * x;
        sums.y += w * p->spread_s2.value;
        sums.xx += w * x * x;
        sums.xy += w * x * p->spread_s2.value;
        sums.highest = fmax(sums.highest, p->peak - 3 * lane->noise);
        sums.count++;
    }
    return sums;
}

/* What the shots scatter about the line by, over what their uncertainties say; at least 1. */
static double line_misfit(const cw_measuring *m, size_t channel, double at_zero, double slope)
{
    double squares = 0;
    size_t n = 0;
    for (size_t k = 0; k < m->release_count; k++) {
        const cw_lane_found *lane = &m->releases[k].lanes[channel];
        const cw_pulse_found *p = &lane->pulses[0];
        if (!lane->seen || lane->cut_start || lane->cut_end || lane->clipped || !(p->spread_s2.value > 0))
            continue;
        double off = p->spread_s2.value - at_zero - slope * p->area.value * p->area.value, u = variance_u(p);
        squares += off * off / (u * u);
        n++;
    }
    return n > 2 ? fmax(sqrt(squares / (double)(n - 2)), 1) : 1;
}

cw_quantity cw_slit_level(const cw_measuring *m, size_t channel)
{
    const cw_quantity unknown = {NAN, NAN};
    slit_sums s = sum_shots(m, channel);
    double determinant = s.w * s.xx - s.x * s.x;
    if (s.count < 2 || !(determinant > 1e-12 * s.w * s.xx))
        return unknown;
    double slope = (s.w * s.xy - s.x * s.y) / determinant, at_zero = (s.y - slope * s.x) / s.w;
    double u_slope = sqrt(s.w / determinant) * line_misfit(m, channel, at_zero, slope);
    if (!(slope > 0) || u_slope > 2 * CW_SLIT_TOLD * slope)
        return unknown;
    double level = 1 / sqrt(12 * slope), u = level * u_slope / (2 * slope);
    if (level < s.highest) { /* light is never above it */
        u = hypot(u, (s.highest - level) / 2);
        level = s.highest;
    }
    return u < CW_SLIT_TOLD * level ? (cw_quantity){level, u} : unknown;
}

/* Scatter of the logarithms over the sensors, of the times at half height and of the flanks. False: under two sensors.
 */
static bool scatter_of(const cw_measuring *m, const cw_release *r, double *wide, double *flank)
{
    double sum[2] = {0}, squares[2] = {0};
    size_t n = 0;
    for (size_t k = 0; k < m->light_count; k++) {
        const cw_lane_found *lane = &r->lanes[m->light[k]];
        const cw_pulse_found *p = &lane->pulses[0];
        double time[2] = {p->close_s.value - p->open_s.value, (p->rise_s + p->fall_s) / 2};
        if (!lane->seen || lane->cut_start || lane->cut_end || !(time[0] > 0) || !(time[1] > 0))
            continue;
        n++;
        for (int i = 0; i < 2; i++) {
            sum[i] += log(time[i]);
            squares[i] += log(time[i]) * log(time[i]);
        }
    }
    if (n < 2)
        return false;
    *wide = sqrt(fmax(squares[0] - sum[0] * sum[0] / (double)n, 0) / (double)(n - 1));
    *flank = sqrt(fmax(squares[1] - sum[1] * sum[1] / (double)n, 0) / (double)(n - 1));
    return true;
}

bool cw_slit_is_narrower(const cw_measuring *m)
{
    /* sensors a third of a frame apart see speeds that differ by a fifth and more; exposures even to a third of a stop
     */
    const double differs = 0.1;
    size_t narrower = 0, told = 0;
    for (size_t k = 0; k < m->release_count; k++) {
        double wide, flank;
        if (!scatter_of(m, &m->releases[k], &wide, &flank))
            continue;
        told++;
        narrower += wide > differs && wide > 1.5 * flank;
    }
    return told > 0 && 2 * narrower > told;
}
