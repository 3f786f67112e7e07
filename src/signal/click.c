/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/click.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "base/stats.h"

/* The energy is followed in hops of a tenth of a millisecond. */
static const double hop_s = 1e-4, window_s = 5e-4, before_s = 10e-3, apart_s = 4e-3;
static const double least_rise_db = 8, decay_db = 10;
/* Ticks of an escapement or self-timer: so many others as loud, within this much, so near. */
enum { TICKS_LEAST = 4 };
static const double tick_reach_s = 60e-3, tick_alike_db = 7;
/* Onsets nearer than this are one. */
static const double same_s = 2e-3;

typedef struct {
    double rate_hz;
    size_t count; /* samples */
    const float *samples;
    size_t hops;
    double *energy_db; /* one a hop */
    double floor_db;
} sound;

static double difference(const sound *s, size_t i)
{
    return i == 0 ? 0 : (double)s->samples[i] - (double)s->samples[i - 1];
}

static cw_status follow_energy(sound *s, cw_error *err)
{
    size_t half = (size_t)(window_s / 2 * s->rate_hz) + 1;
    s->hops = (size_t)((double)s->count / (s->rate_hz * hop_s));
    s->energy_db = malloc(s->hops * sizeof *s->energy_db);
    double *sorted = malloc(s->hops * sizeof *sorted);
    if (s->energy_db == NULL || sorted == NULL) {
        free(sorted);
        return cw_fail(err, CW_MEMORY, "no memory for a sound of %zu samples", s->count);
    }
    double loudest = 0;
    for (size_t h = 0; h < s->hops; h++) {
        size_t centre = (size_t)((double)h * hop_s * s->rate_hz);
        size_t from = centre > half ? centre - half : 0, to = centre + half < s->count ? centre + half : s->count;
        double sum = 0;
        for (size_t i = from; i < to; i++)
            sum += difference(s, i) * difference(s, i);
        s->energy_db[h] = sum / (double)(to - from);
        loudest = fmax(loudest, s->energy_db[h]);
    }
    cw_status status = CW_OK;
    if (!(loudest > 0))
        status = cw_fail(err, CW_INPUT, "the recording is silent; is the microphone the one that was chosen?");
    /* digital silence between clicks must not make an endless rise: 120 dB below the loudest is quiet enough */
    for (size_t h = 0; h < s->hops; h++)
        s->energy_db[h] = 10 * log10(fmax(s->energy_db[h], loudest * 1e-12));
    memcpy(sorted, s->energy_db, s->hops * sizeof *sorted);
    cw_median(s->hops, sorted); /* sorts */
    s->floor_db = sorted[s->hops / 10];
    free(sorted);
    return status;
}

/* Mean level of the stretch before a hop, leaving out the window that reaches into the click. */
static double level_before_db(const sound *s, size_t hop)
{
    size_t gap = (size_t)(window_s / hop_s), span = (size_t)(before_s / hop_s);
    size_t to = hop > gap ? hop - gap : 0, from = to > span ? to - span : 0;
    if (from == to)
        return s->energy_db[hop];
    double sum = 0;
    for (size_t h = from; h < to; h++)
        sum += s->energy_db[h];
    return sum / (double)(to - from);
}

/* The onset between `from` and `to` by the Akaike criterion, with the half width over which it rises by one (where the
 * likelihood has fallen by exp(-1/2)). */
static cw_quantity pick_onset(const sound *s, size_t from, size_t to)
{
    size_t n = to - from, edge = 4;
    double total = 0, best = DBL_MAX, left = 0;
    size_t best_k = n / 2;
    for (size_t i = from; i < to; i++)
        total += difference(s, i) * difference(s, i);
    double floor = fmax(total / (double)n * 1e-12, DBL_MIN);
    double *criterion = malloc(n * sizeof *criterion);
    if (criterion == NULL)
        return (cw_quantity){(double)from / s->rate_hz, (double)n / s->rate_hz / sqrt(12)};
    for (size_t k = 0; k < n; k++) {
        criterion[k] = DBL_MAX;
        if (k >= edge && n - k >= edge) {
            double var_left = fmax(left / (double)k, floor), var_right = fmax((total - left) / (double)(n - k), floor);
            criterion[k] = (double)k * log(var_left) + (double)(n - k) * log(var_right);
        }
        if (criterion[k] < best) {
            best = criterion[k];
            best_k = k;
        }
        left += difference(s, from + k) * difference(s, from + k);
    }
    size_t low = best_k, high = best_k;
    while (low > 0 && criterion[low - 1] < best + 1)
        low--;
    while (high + 1 < n && criterion[high + 1] < best + 1)
        high++;
    free(criterion);
    double half = (double)(high - low + 1) / 2 / s->rate_hz;
    return (cw_quantity){(double)(from + best_k) / s->rate_hz, hypot(half, 1 / s->rate_hz)};
}

static cw_click describe(const sound *s, size_t hop)
{
    size_t peak = hop, ahead = (size_t)(3e-3 / hop_s);
    for (size_t h = hop; h < s->hops && h < hop + ahead; h++)
        if (s->energy_db[h] > s->energy_db[peak])
            peak = h;
    double at = (double)hop * hop_s;
    size_t from = (size_t)(fmax(at - 6e-3, 0) * s->rate_hz), to = (size_t)((at + 1e-3) * s->rate_hz);
    if (to > s->count)
        to = s->count;
    size_t fallen = peak;
    while (fallen < s->hops && s->energy_db[fallen] > s->energy_db[peak] - decay_db)
        fallen++;
    return (cw_click){
        .at_s = pick_onset(s, from, to),
        .rise_db = s->energy_db[peak] - level_before_db(s, hop),
        .level_db = s->energy_db[peak] - s->floor_db,
        .decay_s = fallen < s->hops ? (double)(fallen - peak) * hop_s : NAN,
    };
}

/* Local maxima of the rise, at least apart_s from a stronger one. */
static cw_status collect(const sound *s, cw_click_list *list, cw_error *err)
{
    size_t capacity = 0, apart = (size_t)(apart_s / hop_s);
    double *rise = malloc(s->hops * sizeof *rise);
    if (rise == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a sound of %zu samples", s->count);
    for (size_t h = 0; h < s->hops; h++)
        rise[h] = s->energy_db[h] - level_before_db(s, h);
    cw_status status = CW_OK;
    for (size_t h = 0; status == CW_OK && h < s->hops; h++) {
        if (rise[h] < least_rise_db || s->energy_db[h] < s->floor_db + least_rise_db)
            continue;
        bool highest = true;
        for (size_t k = h > apart ? h - apart : 0; highest && k < s->hops && k <= h + apart; k++)
            highest = k == h || rise[k] < rise[h] || (k > h && rise[k] == rise[h]);
        if (!highest)
            continue;
        status =
            cw_grow(&list->clicks, &capacity, list->count + 1, sizeof *list->clicks, CW_CLICKS_MOST, "clicks", err);
        if (status == CW_OK)
            list->clicks[list->count++] = describe(s, h);
    }
    free(rise);
    return status;
}

/* How deep the quiet between this click and the one before is, below the earlier one's peak. */
static void measure_falls(const sound *s, cw_click_list *list)
{
    for (size_t i = 1; i < list->count; i++) {
        size_t from = (size_t)(list->clicks[i - 1].at_s.value / hop_s),
               to = (size_t)(list->clicks[i].at_s.value / hop_s);
        double least = DBL_MAX, most = -DBL_MAX;
        for (size_t h = from; h < to && h < s->hops; h++) {
            least = fmin(least, s->energy_db[h]);
            most = fmax(most, s->energy_db[h]);
        }
        list->clicks[i].fall_db = most > least ? most - least : 0;
    }
}

/* Two maxima of the rise may belong to one onset: the louder stays. */
static void merge_doubles(cw_click_list *list)
{
    size_t kept = 0;
    for (size_t i = 0; i < list->count; i++) {
        const cw_click *click = &list->clicks[i];
        cw_click *last = kept > 0 ? &list->clicks[kept - 1] : NULL;
        if (last == NULL || click->at_s.value - last->at_s.value >= same_s)
            list->clicks[kept++] = *click;
        else if (click->level_db > last->level_db)
            *last = *click;
    }
    list->count = kept;
}

/* A click among enough others of its own loudness is a tick; an opening or closing stands clear above its run. */
static void mark_ticks(cw_click_list *list)
{
    for (size_t i = 0; i < list->count; i++) {
        cw_click *click = &list->clicks[i];
        size_t alike = 0;
        for (size_t k = i; k > 0 && click->at_s.value - list->clicks[k - 1].at_s.value <= tick_reach_s; k--)
            alike += fabs(list->clicks[k - 1].level_db - click->level_db) <= tick_alike_db;
        for (size_t k = i + 1; k < list->count && list->clicks[k].at_s.value - click->at_s.value <= tick_reach_s; k++)
            alike += fabs(list->clicks[k].level_db - click->level_db) <= tick_alike_db;
        click->is_tick = alike >= TICKS_LEAST;
    }
}

cw_status cw_clicks_find(const float *samples, size_t count, double rate_hz, cw_click_list *list, cw_error *err)
{
    if (!(rate_hz >= 8e3 && rate_hz <= 4e5))
        return cw_fail(err, CW_RANGE, "a sound at %g Hz; 8 kHz to 400 kHz can be used", rate_hz);
    if ((double)count < 0.05 * rate_hz)
        return cw_fail(err, CW_INPUT, "the sound is %.3g s long; at least 0.05 s is needed", (double)count / rate_hz);
    for (size_t i = 0; i < count; i++)
        if (!isfinite(samples[i]))
            return cw_fail(err, CW_INPUT, "sample %zu of the sound is not a finite number", i + 1);
    sound s = {.rate_hz = rate_hz, .count = count, .samples = samples};
    cw_click_list made = {0};
    cw_status status = follow_energy(&s, err);
    if (status == CW_OK)
        status = collect(&s, &made, err);
    if (status == CW_OK) {
        merge_doubles(&made);
        measure_falls(&s, &made);
        mark_ticks(&made);
        made.floor_rms = pow(10, s.floor_db / 20);
    }
    free(s.energy_db);
    if (status != CW_OK) {
        cw_click_list_free(&made);
        return status;
    }
    *list = made;
    return CW_OK;
}

void cw_click_list_free(cw_click_list *list)
{
    free(list->clicks);
    *list = (cw_click_list){0};
}
