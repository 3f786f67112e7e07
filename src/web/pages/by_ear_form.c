/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/pages/by_ear_form.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/unit.h"
#include "web/pages/plan_form.h"
#include "web/pages/stored_test.h"

static const double usual_span_s = 0.04, widest_s = 2, narrowest_s = 2e-3;
/* A press this near to a click, in px of the close-up, means that click. */
static const double near_px = 5;

double *cw_ear_instant(cw_listening *one, size_t shot, cw_ear_side side)
{
    return side == CW_EAR_OPENING ? &one->shots[shot].open_s : &one->shots[shot].close_s;
}

double cw_ear_next_click(const cw_listening *one, double at_s, int direction)
{
    static const double same_s = 2e-4;
    double best = NAN;
    for (size_t i = 0; i < one->clicks.count; i++) {
        double there_s = one->clicks.clicks[i].at_s.value;
        if (one->clicks.clicks[i].is_tick || (there_s - at_s) * direction < same_s)
            continue;
        if (isnan(best) || fabs(there_s - at_s) < fabs(best - at_s))
            best = there_s;
    }
    return best;
}

void cw_ear_window(const cw_listening *one, size_t shot, cw_ear_side side, double *from_s, double *to_s)
{
    double length_s = one->sound.length_s;
    double at_s = side == CW_EAR_OPENING ? one->shots[shot].open_s : one->shots[shot].close_s;
    if (isnan(at_s)) {
        double before = shot > 0 ? one->shots[shot - 1].close_s : NAN, opened = one->shots[shot].open_s;
        double after = shot + 1 < one->count ? one->shots[shot + 1].open_s : NAN;
        *from_s = side == CW_EAR_CLOSING && !isnan(opened) ? opened : isnan(before) ? 0 : before;
        *to_s = isnan(after) ? length_s : after;
    } else {
        *from_s = fmax(0, at_s - one->span_s / 2);
        *to_s = fmin(length_s, at_s + one->span_s / 2);
    }
    if (!(*to_s > *from_s + narrowest_s / 2)) {
        *from_s = fmax(0, fmin(*from_s, length_s - narrowest_s));
        *to_s = *from_s + narrowest_s;
    }
}

/* ---- rows ---- */

static const char *row_text(const cw_form *form, const char *what, size_t row)
{
    char name[32];
    snprintf(name, sizeof name, "%s.%zu", what, row + 1);
    const char *text = cw_form_get(form, name);
    return text == NULL ? "" : text;
}

static cw_status read_instant(const cw_form *form, const char *what, size_t row, double length_s, double *at_s,
                              cw_error *err)
{
    const char *text = row_text(form, what, row);
    double value = NAN;
    if (text[strspn(text, " \t")] != '\0')
        CW_TRY(cw_parse_measure(text, CW_TIME, "s", &value, err));
    if (value < 0 || value > length_s)
        return cw_fail(err, CW_RANGE, "%.6g s lies outside the recording, which is %.4g s long", value, length_s);
    *at_s = value;
    return CW_OK;
}

static cw_status read_row(const cw_form *form, size_t row, double length_s, cw_heard_shot *shot, cw_error *err)
{
    cw_heard_shot made = {.struck = row_text(form, "strike", row)[0] != '\0'};
    CW_TRY(read_instant(form, "open", row, length_s, &made.open_s, err));
    CW_TRY(read_instant(form, "close", row, length_s, &made.close_s, err));
    if (row_text(form, "mark", row)[0] == '\0')
        return cw_fail(err, CW_INPUT, "its marked speed is missing");
    CW_TRY(cw_mark_parse(row_text(form, "mark", row), &made.marked_s, err));
    *shot = made;
    return CW_OK;
}

/* Rows beyond those that came with instants are added shots: not set yet, at the speed of the one before. */
static cw_status read_rows(const cw_form *form, size_t rows, cw_listening *one, cw_error *err)
{
    for (size_t row = 0; row < rows; row++) {
        cw_heard_shot *shot = &one->shots[row];
        bool came = row_text(form, "mark", row)[0] != '\0' || row_text(form, "open", row)[0] != '\0';
        *shot = (cw_heard_shot){.open_s = NAN,
                                .close_s = NAN,
                                .marked_s = row > 0                     ? one->shots[row - 1].marked_s
                                            : one->plan.marks.count > 0 ? one->plan.marks.marked_s[0]
                                                                        : 1};
        one->count = row + 1;
        if (!came)
            continue;
        cw_status status = read_row(form, row, one->sound.length_s, shot, err);
        if (status != CW_OK) {
            cw_context(err, "shot %zu", row + 1);
            return status;
        }
    }
    return CW_OK;
}

static cw_status rows_of_test(const cw_test *stored, cw_listening *one, cw_error *err)
{
    cw_shutter_test *test;
    CW_TRY(cw_stored_result(stored, &test, err));
    for (size_t i = 0; i < test->shot_count && i < CW_BY_EAR_SHOTS_MOST; i++) {
        const cw_shot *shot = &test->shots[i];
        one->shots[one->count++] = (cw_heard_shot){.open_s = shot->sensors[0].open_s.value,
                                                   .close_s = shot->sensors[0].close_s.value,
                                                   .marked_s = shot->marked_s,
                                                   .struck = shot->struck};
    }
    cw_shutter_test_free(test);
    return CW_OK;
}

static cw_status rows_by_proposal(cw_listening *one, cw_error *err)
{
    CW_TRY(cw_by_ear_propose(&one->clicks, &one->plan.marks, one->plan.shots_per_speed, &one->proposal, err));
    one->count = one->proposal.pair_count;
    for (size_t k = 0; k < one->count; k++) {
        const cw_click_pair *pair = &one->proposal.pairs[k];
        one->shots[k] = (cw_heard_shot){.open_s = one->clicks.clicks[pair->opening].at_s.value,
                                        .close_s = one->clicks.clicks[pair->closing].at_s.value,
                                        .marked_s = pair->marked_s};
    }
    return CW_OK;
}

/* ---- what was pressed ---- */

/* "open.3=0.4065" */
static cw_status apply_set(const char *text, cw_listening *one, cw_error *err)
{
    char side[8], rest[40];
    size_t shot;
    double at_s;
    if (sscanf(text, "%7[a-z].%zu=%39s", side, &shot, rest) != 3 || shot == 0 || shot > one->count ||
        (strcmp(side, "open") != 0 && strcmp(side, "close") != 0))
        return cw_fail(err, CW_INPUT, "\"%.40s\" names no instant of these shots", text);
    CW_TRY(cw_parse_measure(rest, CW_TIME, "s", &at_s, err));
    *cw_ear_instant(one, shot - 1, strcmp(side, "open") == 0 ? CW_EAR_OPENING : CW_EAR_CLOSING) =
        fmin(fmax(at_s, 0), one->sound.length_s);
    return CW_OK;
}

/* Pressed by the keyboard an image button sends 0, 0: nothing is moved then. */
static cw_status apply_press(const cw_request *request, const char *name, cw_ear_side side, cw_listening *one,
                             cw_error *err)
{
    long x;
    CW_TRY(cw_whole(request, name, 0, 2 * CW_EAR_PICTURE_PX, 0, &x, err));
    if (x == 0 || one->look == 0)
        return CW_OK;
    cw_trace trace = {.width_px = CW_EAR_PICTURE_PX};
    cw_ear_window(one, one->look - 1, side, &trace.from_s, &trace.to_s);
    double at_s = cw_trace_time_at(&trace, (double)x), near_s = cw_trace_time_at(&trace, (double)x + near_px) - at_s;
    for (size_t i = 0; i < one->clicks.count; i++)
        if (fabs(one->clicks.clicks[i].at_s.value - at_s) <= near_s)
            at_s = one->clicks.clicks[i].at_s.value;
    *cw_ear_instant(one, one->look - 1, side) = at_s;
    return CW_OK;
}

static cw_status apply_presses(const cw_request *request, const cw_form *form, cw_listening *one, cw_error *err)
{
    long look, to;
    const char *set = cw_form_get(form, "set"), *span = cw_form_get(form, "zoom");
    CW_TRY(cw_whole(request, "look", 0, CW_BY_EAR_SHOTS_MOST, 0, &look, err));
    CW_TRY(cw_whole(request, "to", 0, CW_BY_EAR_SHOTS_MOST, look, &to, err));
    one->look = cw_form_get(form, "add") != NULL ? one->count : (size_t)to <= one->count ? (size_t)to : 0;
    if (span == NULL)
        span = cw_form_get(form, "span");
    if (span != NULL)
        CW_TRY(cw_parse_measure(span, CW_TIME, "s", &one->span_s, err));
    one->span_s = fmin(fmax(one->span_s, narrowest_s), widest_s);
    if (set != NULL && set[0] != '\0')
        CW_TRY(apply_set(set, one, err));
    CW_TRY(apply_press(request, "open-at.x", CW_EAR_OPENING, one, err));
    return apply_press(request, "close-at.x", CW_EAR_CLOSING, one, err);
}

/* ---- the whole ---- */

static cw_status listen(cw_request *request, int64_t recording_id, cw_listening *one, cw_error *err)
{
    char path[4096];
    CW_TRY(cw_recording_path(request->bench, recording_id, path, sizeof path, err));
    CW_TRY(cw_sound_load(path, 0, &one->sound, err));
    return cw_clicks_find(one->sound.samples, one->sound.count, one->sound.rate_hz, &one->clicks, err);
}

static cw_status set_shots(cw_request *request, const cw_form *form, const cw_test *test, cw_listening *one,
                           cw_error *err)
{
    long rows;
    bool typed = cw_form_get(form, "marked-list") != NULL, again = cw_form_get(form, "again") != NULL;
    one->plan = cw_plan_default();
    if (test != NULL && !typed)
        CW_TRY(cw_stored_plan(test, &one->plan, err));
    CW_TRY(cw_plan_from_form(form, &one->plan, err));
    CW_TRY(cw_whole(request, "count", 0, CW_BY_EAR_SHOTS_MOST, 0, &rows, err));
    if (cw_form_get(form, "add") != NULL && rows < CW_BY_EAR_SHOTS_MOST)
        rows++;
    if (rows > 0 && !again)
        CW_TRY(read_rows(form, (size_t)rows, one, err));
    else if (test != NULL && !typed)
        CW_TRY(rows_of_test(test, one, err));
    else if (one->plan.marks.count > 0)
        CW_TRY(rows_by_proposal(one, err));
    return apply_presses(request, form, one, err);
}

cw_status cw_listening_begin(cw_request *request, const cw_form *form, int64_t recording_id, cw_listening *one,
                             cw_error *err)
{
    cw_test test;
    int64_t test_id = cw_row_id(request, "test");
    *one = (cw_listening){.recording_id = recording_id, .span_s = usual_span_s, .plan = cw_plan_default()};
    CW_TRY(listen(request, recording_id, one, err));
    if (test_id == 0)
        return set_shots(request, form, NULL, one, err);
    CW_TRY(cw_test_get(request->bench, test_id, &test, err));
    cw_status status = test.recording_id == recording_id
                           ? set_shots(request, form, &test, one, err)
                           : cw_fail(err, CW_INPUT, "that test was not made from this recording");
    cw_test_free(&test);
    return status;
}

void cw_listening_free(cw_listening *one)
{
    cw_click_list_free(&one->clicks);
    cw_sound_free(&one->sound);
}
