/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/by_ear.h"

#include <float.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

static const double fall_least_db = 10, mismatch_db = 20, farthest_ev = 2;
/* The closing must stand out: no quieter than this below the opening. */
static const double quieter_most_db = 15;

/* Longest decay of the clicks of a recording, from which the shortest time that can be heard follows. */
static double shortest_s(const cw_click_list *clicks)
{
    double decays[256];
    size_t n = 0;
    for (size_t i = 0; i < clicks->count && n < CW_COUNT(decays); i++)
        if (!clicks->clicks[i].is_tick && isfinite(clicks->clicks[i].decay_s))
            decays[n++] = clicks->clicks[i].decay_s;
    double longest = 0;
    for (size_t i = 0; i < n; i++)
        longest = fmax(longest, fmin(decays[i], 0.1));
    return fmax(CW_BY_EAR_LEAST_S, 2 * longest);
}

/* The least the sound fell anywhere between two clicks, below the opening's peak. */
static double deepest_fall_db(const cw_click_list *clicks, size_t opening, size_t closing)
{
    double deepest = 0, above = 0;
    for (size_t i = opening + 1; i <= closing; i++) {
        double down = clicks->clicks[i].fall_db;
        deepest = fmax(deepest, down - above);
        above = fmax(0, clicks->clicks[i].level_db - clicks->clicks[opening].level_db);
    }
    return deepest;
}

/* What a pair is worth for a mark, dB; -DBL_MAX where it cannot be the shot. */
static double pair_worth(const cw_click_list *clicks, size_t opening, size_t closing, double marked_s)
{
    const cw_click *a = &clicks->clicks[opening], *b = &clicks->clicks[closing];
    double off_ev = log2((b->at_s.value - a->at_s.value) / marked_s);
    if (a->is_tick || b->is_tick || fabs(off_ev) > farthest_ev || b->level_db < a->level_db - quieter_most_db)
        return -DBL_MAX;
    return a->level_db + b->level_db - mismatch_db * off_ev * off_ev;
}

typedef struct {
    double worth;
    size_t opening; /* of the pair that ends here; SIZE_MAX: none, the best came earlier */
} cell;

/* best[k][j]: the best choice of the first k shots among clicks 0..j. */
static void fill(const cw_click_list *clicks, const double *marks, size_t shots, cell *best)
{
    size_t n = clicks->count;
    for (size_t k = 1; k <= shots; k++)
        for (size_t j = 0; j < n; j++) {
            cell found = {j > 0 ? best[k * n + j - 1].worth : -DBL_MAX, SIZE_MAX};
            for (size_t i = j; i-- > 0;) {
                double apart_s = clicks->clicks[j].at_s.value - clicks->clicks[i].at_s.value;
                if (apart_s > marks[k - 1] * exp2(farthest_ev))
                    break;
                double before = k == 1 ? 0 : i > 0 ? best[(k - 1) * n + i - 1].worth : -DBL_MAX;
                double worth = pair_worth(clicks, i, j, marks[k - 1]);
                if (before > -DBL_MAX && worth > -DBL_MAX && before + worth > found.worth)
                    found = (cell){before + worth, i};
            }
            best[k * n + j] = found;
        }
}

static void trace_back(const cell *best, size_t n, size_t shots, cw_click_pair *pairs)
{
    size_t j = n - 1;
    for (size_t k = shots; k > 0; k--) {
        while (best[k * n + j].opening == SIZE_MAX)
            j--;
        pairs[k - 1] = (cw_click_pair){best[k * n + j].opening, j};
        j = best[k * n + j].opening > 0 ? best[k * n + j].opening - 1 : 0;
    }
}

static cw_status check_separable(const cw_click_list *clicks, const cw_click_pair *pair, size_t shot, double marked_s,
                                 cw_error *err)
{
    double fall = deepest_fall_db(clicks, pair->opening, pair->closing);
    if (fall >= fall_least_db)
        return CW_OK;
    char mark[CW_MARK_TEXT];
    cw_mark_text(marked_s, mark, sizeof mark);
    return cw_fail(
        err, CW_RANGE,
        "shot %zu (%s s): the two clicks run together, the sound falls by only %.0f dB between them and %.0f are "
        "needed; at this speed use light instead of the ear",
        shot, mark, fall, fall_least_db);
}

static cw_status expand_marks(const cw_mark_list *marks, size_t shots_per_speed, double shortest, double *expanded,
                              size_t most, size_t *count, cw_error *err)
{
    size_t each = shots_per_speed > 0 ? shots_per_speed : 1;
    if (marks->count == 0)
        return cw_fail(err, CW_INPUT, "say which speeds were fired: --marked-list 1,1/2,1/4");
    if (marks->count * each > most)
        return cw_fail(err, CW_RANGE, "%zu shots; %zu can be heard in one recording", marks->count * each, most);
    *count = 0;
    for (size_t m = 0; m < marks->count; m++) {
        char mark[CW_MARK_TEXT];
        cw_mark_text(marks->marked_s[m], mark, sizeof mark);
        if (isnan(marks->marked_s[m]))
            return cw_fail(err, CW_INPUT, "B and T have no time to compare with; leave them out of the list");
        if (marks->marked_s[m] < shortest)
            return cw_fail(
                err, CW_RANGE,
                "%s s is too fast for the ear: in this recording a click rings for half of %.0f ms, so clicks "
                "nearer than that cannot be told apart; speeds of 1/%.0f and slower can",
                mark, shortest * 1e3, 1 / shortest);
        for (size_t i = 0; i < each; i++)
            expanded[(*count)++] = marks->marked_s[m];
    }
    return CW_OK;
}

cw_status cw_by_ear_propose(const cw_click_list *clicks, const cw_mark_list *marks, size_t shots_per_speed,
                            cw_click_pair *pairs, size_t pair_most, size_t *pair_count, cw_error *err)
{
    double expanded[CW_MARKS_MOST];
    size_t shots = 0, most = pair_most < CW_MARKS_MOST ? pair_most : CW_MARKS_MOST;
    CW_TRY(expand_marks(marks, shots_per_speed, shortest_s(clicks), expanded, most, &shots, err));
    size_t n = clicks->count, usable = 0;
    for (size_t i = 0; i < n; i++)
        usable += !clicks->clicks[i].is_tick;
    if (usable < 2 * shots)
        return cw_fail(
            err, CW_RANGE,
            "%zu clicks were heard and %zu shots need %zu; is the microphone near enough, and the list right?", usable,
            shots, 2 * shots);
    cell *best = calloc((shots + 1) * n, sizeof *best);
    if (best == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu clicks", n);
    fill(clicks, expanded, shots, best);
    cw_status status = CW_OK;
    if (!(best[shots * n + n - 1].worth > -DBL_MAX))
        status =
            cw_fail(err, CW_RANGE,
                    "no clicks lie apart as the speeds say (within two stops); are the speeds in the order fired?");
    if (status == CW_OK)
        trace_back(best, n, shots, pairs);
    for (size_t k = 0; status == CW_OK && k < shots; k++)
        status = check_separable(clicks, &pairs[k], k + 1, expanded[k], err);
    free(best);
    if (status == CW_OK)
        *pair_count = shots;
    return status;
}

cw_status cw_by_ear_shot(cw_quantity open_s, cw_quantity close_s, double marked_s, cw_shot *shot, cw_error *err)
{
    double exposure_s = close_s.value - open_s.value;
    if (!(exposure_s >= CW_BY_EAR_LEAST_S))
        return cw_fail(err, CW_RANGE,
                       "opening at %.4f s and closing at %.4f s lie %.1f ms apart; by ear at least %.0f ms can be told",
                       open_s.value, close_s.value, exposure_s * 1e3, CW_BY_EAR_LEAST_S * 1e3);
    double u_open = hypot(open_s.u, CW_BY_EAR_U_CLICK_S), u_close = hypot(close_s.u, CW_BY_EAR_U_CLICK_S);
    *shot = (cw_shot){
        .at_s = open_s.value, .marked_s = marked_s, .sensor_count = 1, .contact_s = {NAN, NAN}, .contact_opens_s = NAN};
    cw_sensor_shot *sensor = &shot->sensors[0];
    *sensor = cw_sensor_shot_unknown(NAN);
    sensor->seen = true;
    sensor->open_s = (cw_quantity){open_s.value, u_open};
    sensor->close_s = (cw_quantity){close_s.value, u_close};
    sensor->method = CW_METHOD_SOUND;
    sensor->exposure_s = (cw_quantity){exposure_s, hypot(u_open, u_close)};
    snprintf(sensor->remark, sizeof sensor->remark, "by ear: from click to click, not from light to dark");
    return CW_OK;
}
