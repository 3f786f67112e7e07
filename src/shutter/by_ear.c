/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/by_ear.h"

#include <float.h>
#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/stats.h"

static const double fall_least_db = 10, mismatch_db = 20, farthest_ev = 2;
/* The closing must stand out: no quieter than this below the opening. */
static const double quieter_most_db = 20;
/* Clicks this near to the loudest show how long the body rings; a faint one in noise seems to ring for ever. */
static const double loud_within_db = 15;
/* The release is the loudest thing in a shutter: a quiet opening costs more than a quiet closing. */
static const double opening_weight = 1.5;
/* An instant this near to a click is that click. */
static const double on_click_s = 1e-4;

double cw_by_ear_shortest_s(const cw_click_list *clicks)
{
    double decays[CW_CLICKS_MOST], loudest_db = 0;
    size_t n = 0;
    for (size_t i = 0; i < clicks->count; i++)
        if (!clicks->clicks[i].is_tick)
            loudest_db = fmax(loudest_db, clicks->clicks[i].level_db);
    for (size_t i = 0; i < clicks->count && n < CW_COUNT(decays); i++) {
        const cw_click *click = &clicks->clicks[i];
        if (!click->is_tick && click->level_db > loudest_db - loud_within_db && isfinite(click->decay_s))
            decays[n++] = fmin(click->decay_s, 0.1);
    }
    return fmax(CW_BY_EAR_LEAST_S, n > 0 ? 2 * cw_median(n, decays) : 0);
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
    return opening_weight * a->level_db + b->level_db - mismatch_db * off_ev * off_ev;
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
        pairs[k - 1] = (cw_click_pair){.opening = best[k * n + j].opening, .closing = j};
        j = best[k * n + j].opening > 0 ? best[k * n + j].opening - 1 : 0;
    }
}

static void refuse(cw_by_ear_proposal *proposal, const char *format, ...) __attribute__((format(printf, 2, 3)));

static void refuse(cw_by_ear_proposal *proposal, const char *format, ...)
{
    if (proposal->refusal_count == CW_BY_EAR_REFUSALS_MOST)
        return;
    va_list args;
    va_start(args, format);
    vsnprintf(proposal->refusals[proposal->refusal_count++], CW_BY_EAR_TEXT, format, args);
    va_end(args);
}

static void mark_pair(const cw_click_list *clicks, cw_click_pair *pair, size_t shot, cw_by_ear_proposal *proposal)
{
    pair->fall_db = deepest_fall_db(clicks, pair->opening, pair->closing);
    pair->together = pair->fall_db < fall_least_db;
    if (!pair->together)
        return;
    char mark[CW_MARK_TEXT];
    cw_mark_text(pair->marked_s, mark, sizeof mark);
    refuse(proposal,
           "shot %zu (%s s): the two clicks run together, the sound falls by only %.0f dB between them and %.0f are "
           "needed; use light for this speed instead of the ear",
           shot, mark, pair->fall_db, fall_least_db);
}

/* The marks that can be heard, shot by shot; the others are refused in one sentence each. */
static cw_status expand_marks(const cw_mark_list *marks, size_t shots_per_speed, double *expanded, size_t *count,
                              cw_by_ear_proposal *proposal, cw_error *err)
{
    size_t each = shots_per_speed > 0 ? shots_per_speed : 1;
    double last_refused = NAN;
    if (marks->count == 0)
        return cw_fail(err, CW_INPUT, "say which speeds were fired, such as 1, 1/2, 1/4");
    *count = 0;
    for (size_t m = 0; m < marks->count; m++) {
        double mark_s = marks->marked_s[m];
        char mark[CW_MARK_TEXT];
        cw_mark_text(mark_s, mark, sizeof mark);
        if (isnan(mark_s))
            return cw_fail(err, CW_INPUT, "B and T have no time to compare with; leave them out of the list");
        if (mark_s < proposal->shortest_s) {
            if (mark_s != last_refused)
                refuse(proposal,
                       "%s s is too fast for the ear: in this recording clicks ring on, and those nearer than %.0f ms "
                       "run together; speeds of 1/%.0f and slower can be told. Use light for this one",
                       mark, proposal->shortest_s * 1e3, floor(1 / proposal->shortest_s));
            last_refused = mark_s;
            continue;
        }
        if (each > CW_BY_EAR_SHOTS_MOST || *count + each > CW_BY_EAR_SHOTS_MOST)
            return cw_fail(err, CW_RANGE, "%zu shots; %d can be heard in one recording", marks->count * each,
                           CW_BY_EAR_SHOTS_MOST);
        for (size_t i = 0; i < each; i++)
            expanded[(*count)++] = mark_s;
    }
    return *count > 0 ? CW_OK : cw_fail(err, CW_RANGE, "%s", proposal->refusals[0]);
}

/* The best choice of pairs for the marks by dynamic programming. */
static cw_status choose_pairs(const cw_click_list *clicks, const double *marks, size_t shots, cw_click_pair *pairs,
                              cw_error *err)
{
    size_t n = clicks->count;
    cell *best = calloc((shots + 1) * n, sizeof *best);
    if (best == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu clicks", n);
    fill(clicks, marks, shots, best);
    bool found = best[shots * n + n - 1].worth > -DBL_MAX;
    if (found)
        trace_back(best, n, shots, pairs);
    free(best);
    return found ? CW_OK
                 : cw_fail(err, CW_RANGE,
                           "no clicks lie apart as the speeds say (within two stops); are the speeds in the order "
                           "fired?");
}

cw_status cw_by_ear_propose(const cw_click_list *clicks, const cw_mark_list *marks, size_t shots_per_speed,
                            cw_by_ear_proposal *proposal, cw_error *err)
{
    double expanded[CW_BY_EAR_SHOTS_MOST];
    size_t shots = 0, usable = 0;
    cw_by_ear_proposal made = {.shortest_s = cw_by_ear_shortest_s(clicks)};
    CW_TRY(expand_marks(marks, shots_per_speed, expanded, &shots, &made, err));
    for (size_t i = 0; i < clicks->count; i++)
        usable += !clicks->clicks[i].is_tick;
    if (usable < 2 * shots)
        return cw_fail(
            err, CW_RANGE,
            "%zu clicks were heard and %zu shots need %zu; is the microphone near enough, and the list right?", usable,
            shots, 2 * shots);
    CW_TRY(choose_pairs(clicks, expanded, shots, made.pairs, err));
    made.pair_count = shots;
    for (size_t k = 0; k < shots; k++) {
        made.pairs[k].marked_s = expanded[k];
        mark_pair(clicks, &made.pairs[k], k + 1, &made);
    }
    *proposal = made;
    return CW_OK;
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

/* The click an instant lies on; the count when it lies on none. */
static size_t click_at(const cw_click_list *clicks, double at_s)
{
    size_t i = 0;
    while (i < clicks->count && !(fabs(clicks->clicks[i].at_s.value - at_s) <= on_click_s))
        i++;
    return i;
}

cw_quantity cw_by_ear_instant(const cw_click_list *clicks, double at_s)
{
    size_t i = click_at(clicks, at_s);
    return (cw_quantity){at_s, i < clicks->count ? clicks->clicks[i].at_s.u : CW_BY_EAR_U_HAND_S};
}

/* An instant set by hand between clicks is the person's word; only two clicks of the program's own can run together. */
static bool run_together(const cw_click_list *clicks, const cw_heard_shot *heard)
{
    size_t opening = click_at(clicks, heard->open_s), closing = click_at(clicks, heard->close_s);
    return opening < closing && closing < clicks->count && deepest_fall_db(clicks, opening, closing) < fall_least_db;
}

/* Kept and shown without a time. */
static cw_shot untold(const cw_heard_shot *heard)
{
    double at_s = isfinite(heard->open_s) ? heard->open_s : isfinite(heard->close_s) ? heard->close_s : 0;
    cw_shot shot = {.at_s = at_s,
                    .marked_s = heard->marked_s,
                    .sensor_count = 1,
                    .contact_s = {NAN, NAN},
                    .contact_opens_s = NAN,
                    .incomplete = true};
    shot.sensors[0] = cw_sensor_shot_unknown(NAN);
    shot.sensors[0].open_s.value = heard->open_s;
    shot.sensors[0].close_s.value = heard->close_s;
    return shot;
}

void cw_by_ear_shots(const cw_click_list *clicks, const cw_heard_shot *heard, size_t count, cw_shot *shots)
{
    for (size_t i = 0; i < count; i++) {
        const cw_heard_shot *one = &heard[i];
        cw_error why = {0};
        shots[i] = untold(one);
        if (!isfinite(one->open_s) || !isfinite(one->close_s))
            snprintf(shots[i].remark, sizeof shots->remark, "not both clicks are set");
        else if (run_together(clicks, one))
            snprintf(shots[i].remark, sizeof shots->remark, "the two clicks run together; no time can be told");
        else if (cw_by_ear_shot(cw_by_ear_instant(clicks, one->open_s), cw_by_ear_instant(clicks, one->close_s),
                                one->marked_s, &shots[i], &why) != CW_OK)
            snprintf(shots[i].remark, sizeof shots->remark, "%.190s", why.text);
        shots[i].struck = one->struck;
        if (one->struck && !shots[i].incomplete)
            snprintf(shots[i].remark, sizeof shots->remark, "left out by the person");
    }
}

/* Several ticks come near to the loudest click that is none. */
static bool escapement_is_loud(const cw_click_list *clicks)
{
    static const double near_db = 10;
    enum { SEVERAL = 8 };
    double loudest_db = 0;
    size_t near = 0;
    for (size_t i = 0; i < clicks->count; i++)
        if (!clicks->clicks[i].is_tick)
            loudest_db = fmax(loudest_db, clicks->clicks[i].level_db);
    for (size_t i = 0; i < clicks->count; i++)
        near += clicks->clicks[i].is_tick && clicks->clicks[i].level_db > loudest_db - near_db;
    return near >= SEVERAL;
}

json_t *cw_by_ear_recording_json(const cw_sound *sound, const cw_click_list *clicks)
{
    json_t *listed = json_array(), *warnings = json_array();
    for (size_t i = 0; i < clicks->count; i++) {
        const cw_click *click = &clicks->clicks[i];
        json_array_append_new(listed, json_pack("{s:f,s:f,s:f,s:b}", "at_s", click->at_s.value, "u_at_s", click->at_s.u,
                                                "level_db", click->level_db, "tick", click->is_tick));
    }
    if (sound->clipped > 1e-4)
        json_array_append_new(warnings, json_string("the sound is clipped; turn the recording level down, or move the "
                                                    "microphone away"));
    if (sound->rate_hz < 22e3)
        json_array_append_new(warnings,
                              json_string("the sound was recorded at a low rate, which blunts the clicks; 44.1 "
                                          "kHz or more shows them better"));
    if (escapement_is_loud(clicks))
        json_array_append_new(warnings, json_string("the escapement sounds nearly as loud as opening and closing, and "
                                                    "may be taken for them; look at each shot from near"));
    return json_pack("{s:I,s:f,s:f,s:o,s:o}", "channels", (json_int_t)sound->channels, "rate_hz", sound->rate_hz,
                     "length_s", sound->length_s, "warnings", warnings, "clicks", listed);
}

cw_status cw_by_ear_run(const cw_click_list *clicks, const cw_heard_shot *heard, size_t count,
                        const cw_shutter_plan *plan, json_t *recording, cw_plan_result *result, cw_error *err)
{
    cw_shot *shots = calloc(count > 0 ? count : 1, sizeof *shots);
    if (shots == NULL) {
        json_decref(recording);
        return cw_fail(err, CW_MEMORY, "no memory for %zu shots", count);
    }
    cw_shutter_plan marked = *plan;
    marked.marks.count = 0; /* each shot carries its mark already */
    marked.strike_count = 0;
    marked.measure.sensor_count = 1;
    marked.measure.sensors_mm[0] = NAN;
    cw_by_ear_shots(clicks, heard, count, shots);
    cw_status status = cw_plan_run_shots(&marked, shots, count, recording, result, err);
    free(shots);
    return status;
}
