/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Hum as large as the light would hide every shot from whoever looks for a level that moves. Over half a second the
 * mains keeps its phase, and it is there in light and dark alike: from block to block it moves on as a sine does, while
 * curtains and blades make a few large steps, which the least sum of distances leaves out. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/stats.h"
#include "shutter/measure_parts.h"
#include "signal/normal.h"

static const double TWO_PI = 6.283185307179586;
/* Hum is followed from window to window; between their middles it changes along a straight line. */
static const double WINDOW_S = 1, APART_S = 0.5;
/* Less hum than this part of the light hides nothing; when rest is quieter, nobody looks for any. */
static const double HUM_LEAST = 0.01, QUIET_ENOUGH = 0.02;
/* Distances below this part of the restlessness of rest count as it. */
static const double SCALE = 1e-3;
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
        if (!cw_normal_solve(UNKNOWNS, UNKNOWNS + 1, &a[0][0], p))
            return false;
    }
    memcpy(w->part, p, sizeof w->part);
    return true;
}

/* The wave of one frequency in every window of a channel. */
typedef struct {
    double hz;
    size_t count;
    wave *waves;
    double amplitude, left; /* the middle one of them, and the mean distance that is left */
} followed;

/* Window w is centred APART_S after the one before it, but all lie within the recording. */
static size_t window_middle(const cw_overview *o, size_t w, size_t *half)
{
    double block_s = (double)o->block_frames / o->rate_hz;
    size_t wanted = (size_t)(WINDOW_S / 2 / block_s);
    *half = wanted < o->count / 2 ? wanted : o->count / 2;
    size_t middle = *half + (size_t)((double)w * APART_S / block_s);
    return middle + *half < o->count ? middle : o->count - *half;
}

static cw_status follow(const cw_overview *o, size_t channel, double scale, followed *f, cw_error *err)
{
    size_t half;
    (void)window_middle(o, 0, &half);
    block_step *steps = malloc(2 * (half + 1) * sizeof *steps);
    double *amplitudes = malloc(f->count * sizeof *amplitudes);
    if (steps == NULL || amplitudes == NULL) {
        free(steps);
        free(amplitudes);
        return cw_fail(err, CW_MEMORY, "no memory for %zu windows", f->count);
    }
    f->left = 0;
    for (size_t w = 0; w < f->count; w++) {
        size_t middle = window_middle(o, w, &half);
        double own = 0;
        size_t n = steps_between(o, channel, middle - half, middle + half, f->hz, steps);
        if (!fit_wave(steps, n, scale, &f->waves[w], &own))
            f->waves[w] = (wave){{0}};
        amplitudes[w] = amplitude_of(&f->waves[w]);
        f->left += own / (double)f->count;
    }
    f->amplitude = cw_median(f->count, amplitudes);
    free(steps);
    free(amplitudes);
    return CW_OK;
}

/* The mains are never quite on their frequency: how much the phase moves on from window to window, the middle one. */
static cw_status correct_frequency(followed *f, cw_error *err)
{
    double *turns = malloc(f->count * sizeof *turns);
    if (turns == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu windows", f->count);
    for (size_t w = 0; w + 1 < f->count; w++) {
        const double *a = f->waves[w].part, *b = f->waves[w + 1].part;
        /* cosine and sine parts are those of amplitude cos(angle - phase) */
        turns[w] = atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]);
    }
    if (f->count > 2) /* the last window may overlap the one before it by more */
        f->hz -= cw_median(f->count - 2, turns) / APART_S / TWO_PI;
    free(turns);
    return CW_OK;
}

/* The mean goes by the wave at the middle of the block, the extremes also by how far the wave moves within it. */
static void take_out(cw_overview *o, size_t channel, const followed *f)
{
    double block_s = (double)o->block_frames / o->rate_hz;
    size_t w = 0, half;
    for (size_t b = 0; b < o->count; b++) {
        while (w + 1 < f->count && b >= window_middle(o, w + 1, &half))
            w++;
        size_t next = w + 1 < f->count ? w + 1 : w, from = window_middle(o, w, &half),
               to = window_middle(o, next, &half), at = channel * o->capacity + b;
        double at_s = ((double)b + 0.5) * block_s;
        double way = to > from && b > from ? (double)(b - from) / (double)(to - from) : 0;
        wave now;
        for (int k = 0; k < PARTS; k++)
            now.part[k] = f->waves[w].part[k] + way * (f->waves[next].part[k] - f->waves[w].part[k]);
        double hum = value_of(&now, f->hz, at_s);
        double within = fabs(value_of(&now, f->hz, at_s + block_s / 2) - value_of(&now, f->hz, at_s - block_s / 2)) / 2;
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

static cw_status take_out_best(cw_measuring *m, size_t channel, const cw_channel_state *state, followed *best,
                               cw_error *err)
{
    /* of a sine of this amplitude; what is left from block to block is noise */
    double step = best->amplitude * TWO_PI * best->hz * (double)m->overview.block_frames / m->info->rate_hz;
    if (step < 0.2 * best->left || best->amplitude < HUM_LEAST * state->light)
        return CW_OK;
    CW_TRY(own_arrays(m, err));
    CW_TRY(correct_frequency(best, err));
    CW_TRY(follow(&m->overview, channel, SCALE * state->quiet, best, err));
    take_out(&m->scanned, channel, best);
    m->channels[channel].hum_hz = best->hz;
    m->channels[channel].hum = best->amplitude;
    return CW_OK;
}

static cw_status clean_channel(cw_measuring *m, size_t channel, const cw_channel_state *state, cw_error *err)
{
    static const double mains_hz[] = {50, 60};
    followed tried[CW_COUNT(mains_hz)];
    double length_s = (double)m->overview.frames / m->info->rate_hz;
    size_t windows = length_s > WINDOW_S ? (size_t)ceil((length_s - WINDOW_S) / APART_S) + 1 : 1, best = 0;
    wave *waves = malloc(CW_COUNT(mains_hz) * windows * sizeof *waves);
    if (waves == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu windows", windows);
    cw_status status = CW_OK;
    for (size_t k = 0; k < CW_COUNT(mains_hz) && status == CW_OK; k++) {
        tried[k] = (followed){.hz = mains_hz[k], .count = windows, .waves = waves + k * windows};
        status = follow(&m->overview, channel, SCALE * state->quiet, &tried[k], err);
        if (status == CW_OK && tried[k].left < tried[best].left)
            best = k;
    }
    if (status == CW_OK)
        status = take_out_best(m, channel, state, &tried[best], err);
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
