/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Hum as large as the light would hide every shot from whoever looks for a level that moves. Over half a second the
 * mains keeps its phase, and it is there in light and dark alike: from block to block it moves on as a sine does, while
 * curtains and blades make a few large steps, which the least sum of distances leaves out. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "shutter/measure_parts.h"

static const double TWO_PI = 6.283185307179586;
/* Hum is followed from window to window; between their middles it changes along a straight line. */
static const double WINDOW_S = 1, APART_S = 0.5;
/* Less hum than this part of the light hides nothing; when rest is quieter, nobody looks for any. */
static const double HUM_LEAST = 0.01, QUIET_ENOUGH = 0.02;
/* Blocks longer than this average hum away by themselves. */
static const double BLOCK_MOST_S = 1.6e-3;

/* Cosine and sine of the mains, and of its third harmonic, which transformers add. */
enum { PARTS = 4, UNKNOWNS = PARTS + 1 };
typedef struct {
    double part[PARTS];
} wave;

static void wave_at(double hz, double at_s, double *row)
{
    sincos(TWO_PI * hz * at_s, &row[1], &row[0]);
    sincos(TWO_PI * 3 * hz * at_s, &row[3], &row[2]);
}

static double value_of(const wave *w, double hz, double at_s)
{
    double row[PARTS], sum = 0;
    wave_at(hz, at_s, row);
    for (int k = 0; k < PARTS; k++)
        sum += w->part[k] * row[k];
    return sum;
}

static double amplitude_of(const wave *w)
{
    return hypot(w->part[0], w->part[1]);
}

/* Normal equations by Cholesky's factors; false when they cannot be told apart. */
static bool solve(double a[UNKNOWNS][UNKNOWNS + 1], double *p)
{
    for (int r = 0; r < UNKNOWNS; r++) {
        for (int c = 0; c <= r; c++) {
            double sum = a[r][c];
            for (int k = 0; k < c; k++)
                sum -= a[r][k] * a[c][k];
            if (r == c && !(sum > 1e-9 * a[r][r]))
                return false;
            a[r][c] = r == c ? sqrt(sum) : sum / a[c][c];
        }
        for (int k = 0; k < r; k++)
            a[r][UNKNOWNS] -= a[r][k] * a[k][UNKNOWNS];
        a[r][UNKNOWNS] /= a[r][r];
    }
    for (int r = UNKNOWNS - 1; r >= 0; r--) {
        p[r] = a[r][UNKNOWNS];
        for (int k = r + 1; k < UNKNOWNS; k++)
            p[r] -= a[k][r] * p[k];
        p[r] /= a[r][r];
    }
    return true;
}

/* How far a block's mean is from that of the block before, and what each part of the wave does there. */
typedef struct {
    double step, row[UNKNOWNS];
} block_step;

static size_t steps_between(const cw_overview *o, size_t channel, size_t first, size_t end, double hz,
                            block_step *steps)
{
    double block_s = (double)o->block_frames / o->rate_hz, before[PARTS];
    wave_at(hz, ((double)first + 0.5) * block_s, before);
    for (size_t b = first + 1; b < end; b++) {
        double now[PARTS];
        block_step *s = &steps[b - first - 1];
        wave_at(hz, ((double)b + 0.5) * block_s, now);
        for (int k = 0; k < PARTS; k++)
            s->row[k] = now[k] - before[k];
        s->row[PARTS] = 1;
        s->step = cw_overview_mean(o, channel, b) - cw_overview_mean(o, channel, b - 1);
        memcpy(before, now, sizeof before);
    }
    return end - first - 1;
}

/* By repeated weighted least squares; `left` gets the mean distance that is left. */
static bool fit_wave(const block_step *steps, size_t n, double scale, wave *w, double *left)
{
    enum { TIMES = 12 };
    double p[UNKNOWNS] = {0};
    for (int time = 0; time < TIMES; time++) {
        double a[UNKNOWNS][UNKNOWNS + 1] = {{0}};
        *left = 0;
        for (size_t i = 0; i < n; i++) {
            double distance = steps[i].step;
            for (int k = 0; k < UNKNOWNS; k++)
                distance -= p[k] * steps[i].row[k];
            double weight = 1 / fmax(fabs(distance), scale);
            *left += fabs(distance) / (double)n;
            for (int r = 0; r < UNKNOWNS; r++) {
                for (int c = 0; c <= r; c++)
                    a[r][c] += weight * steps[i].row[r] * steps[i].row[c];
                a[r][UNKNOWNS] += weight * steps[i].row[r] * steps[i].step;
            }
        }
        if (!solve(a, p))
            return false;
    }
    memcpy(w->part, p, sizeof w->part);
    return true;
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The wave of one frequency in every window, and its middle amplitude and what it leaves. */
static cw_status follow(const cw_overview *o, size_t channel, double hz, size_t windows, double scale, wave *waves,
                        double *amplitude, double *left, cw_error *err)
{
    double block_s = (double)o->block_frames / o->rate_hz;
    size_t half = (size_t)(WINDOW_S / 2 / block_s);
    block_step *steps = malloc(2 * (half + 1) * sizeof *steps);
    double *amplitudes = malloc(windows * sizeof *amplitudes);
    if (steps == NULL || amplitudes == NULL) {
        free(steps);
        free(amplitudes);
        return cw_fail(err, CW_MEMORY, "no memory for %zu windows", windows);
    }
    *left = 0;
    for (size_t w = 0; w < windows; w++) {
        size_t middle = (size_t)((double)w * APART_S / block_s), first = middle > half ? middle - half : 0;
        size_t end = middle + half < o->count ? middle + half : o->count;
        if (end - first < half) /* the last window is no shorter than half of the others */
            first = end > half ? end - half : 0;
        double own = 0;
        size_t n = steps_between(o, channel, first, end, hz, steps);
        if (!fit_wave(steps, n, scale, &waves[w], &own))
            waves[w] = (wave){{0}};
        amplitudes[w] = amplitude_of(&waves[w]);
        *left += own / (double)windows;
    }
    qsort(amplitudes, windows, sizeof *amplitudes, by_value);
    *amplitude = amplitudes[windows / 2];
    free(steps);
    free(amplitudes);
    return CW_OK;
}

/* The mean goes by the wave at the middle of the block, the extremes also by how far the wave moves within it. */
static void take_out(cw_overview *o, size_t channel, double hz, size_t windows, const wave *waves)
{
    double block_s = (double)o->block_frames / o->rate_hz;
    for (size_t b = 0; b < o->count; b++) {
        double at_s = ((double)b + 0.5) * block_s, place = at_s / APART_S;
        size_t w = (size_t)place, at = channel * o->capacity + b;
        w = w + 1 < windows ? w : windows - 1;
        size_t next = w + 1 < windows ? w + 1 : w;
        double way = fmin(place - (double)w, 1);
        wave now;
        for (int k = 0; k < PARTS; k++)
            now.part[k] = waves[w].part[k] + way * (waves[next].part[k] - waves[w].part[k]);
        double hum = value_of(&now, hz, at_s);
        double within = fabs(value_of(&now, hz, at_s + block_s / 2) - value_of(&now, hz, at_s - block_s / 2)) / 2;
        o->mean[at] -= hum;
        o->most[at] = (float)fmax((double)o->most[at] - hum - within, o->mean[at]);
        o->least[at] = (float)fmin((double)o->least[at] - hum + within, o->mean[at]);
    }
}

static cw_status own_arrays(cw_measuring *m, cw_error *err)
{
    cw_overview *o = &m->scanned;
    size_t places = o->capacity * o->channels;
    if (o->mean != m->overview.mean)
        return CW_OK;
    float *least = malloc(places * sizeof *least), *most = malloc(places * sizeof *most);
    double *mean = malloc(places * sizeof *mean);
    if (least == NULL || most == NULL || mean == NULL) {
        free(least);
        free(most);
        free(mean);
        return cw_fail(err, CW_MEMORY, "no memory for an overview of %zu blocks", o->capacity);
    }
    for (size_t c = 0; c < o->channels; c++) {
        memcpy(least + c * o->capacity, o->least + c * o->capacity, o->count * sizeof *least);
        memcpy(most + c * o->capacity, o->most + c * o->capacity, o->count * sizeof *most);
        memcpy(mean + c * o->capacity, o->mean + c * o->capacity, o->count * sizeof *mean);
    }
    o->least = least;
    o->most = most;
    o->mean = mean;
    return CW_OK;
}

static cw_status clean_channel(cw_measuring *m, size_t channel, const cw_channel_state *state, cw_error *err)
{
    static const double mains_hz[] = {50, 60};
    const cw_overview *o = &m->overview;
    size_t windows = (size_t)(m->info->length_s / APART_S) + 1;
    wave *waves = malloc(CW_COUNT(mains_hz) * windows * sizeof *waves);
    if (waves == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu windows", windows);
    double amplitude[CW_COUNT(mains_hz)], left[CW_COUNT(mains_hz)];
    cw_status status = CW_OK;
    for (size_t k = 0; k < CW_COUNT(mains_hz) && status == CW_OK; k++)
        status = follow(o, channel, mains_hz[k], windows, 1e-3 * state->quiet, waves + k * windows, &amplitude[k],
                        &left[k], err);
    if (status == CW_OK) {
        size_t best = left[1] < left[0] ? 1 : 0;
        /* of a sine of this amplitude, block steps of the mean size of what is left would be noise */
        double block_s = (double)o->block_frames / o->rate_hz;
        bool told = amplitude[best] * TWO_PI * mains_hz[best] * block_s > 0.2 * left[best];
        if (told && amplitude[best] > HUM_LEAST * state->light) {
            status = own_arrays(m, err);
            if (status == CW_OK) {
                take_out(&m->scanned, channel, mains_hz[best], windows, waves + best * windows);
                m->channels[channel].hum_hz = mains_hz[best];
                m->channels[channel].hum = amplitude[best];
            }
        }
    }
    free(waves);
    return status;
}

cw_status cw_scan_without_hum(cw_measuring *m, cw_error *err)
{
    const double shortest_s = 0.1;
    bool too_coarse = (double)m->overview.block_frames / m->info->rate_hz > BLOCK_MOST_S;
    m->scanned = m->overview;
    for (size_t k = 0; k < m->light_count; k++) {
        size_t c = m->light[k];
        cw_channel_state *state = &m->channels[c];
        CW_TRY(cw_scan_levels(&m->overview, c, state, err));
        if (too_coarse || m->info->length_s < shortest_s || state->is_idle ||
            state->quiet <= QUIET_ENOUGH * state->light)
            continue;
        CW_TRY(clean_channel(m, c, state, err));
        if (state->hum > 0)
            CW_TRY(cw_scan_levels(&m->scanned, c, state, err));
    }
    return CW_OK;
}

void cw_scanned_free(cw_measuring *m)
{
    if (m->scanned.mean != m->overview.mean)
        cw_overview_free(&m->scanned);
}
