/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which speed comes next, and how a reading is said. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/unit.h"
#include "live/desk_inside.h"
#include "shutter/inner.h"

cw_status cw_desk_inputs_parse(const char *text, cw_desk_source *source, cw_error *err)
{
    char copy[64];
    size_t count = 0, inputs[CW_CHANNELS_MOST];
    if (strlen(text) >= sizeof copy)
        return cw_fail(err, CW_INPUT, "\"%.40s...\" is too long for a list of inputs", text);
    memcpy(copy, text, strlen(text) + 1);
    for (char *rest = copy, *item; text[strspn(text, " ")] != '\0' && (item = strsep(&rest, ",; ")) != NULL;) {
        long input;
        if (*item == '\0')
            continue;
        if (count == CW_CHANNELS_MOST)
            return cw_fail(err, CW_INPUT, "more than %d inputs", CW_CHANNELS_MOST);
        CW_TRY(cw_parse_whole(item, 1, (long)source->channels, &input, err));
        for (size_t i = 0; i < count; i++)
            if (inputs[i] == (size_t)input)
                return cw_fail(err, CW_INPUT, "input %ld is named twice", input);
        inputs[count++] = (size_t)input;
    }
    source->input_count = count;
    memcpy(source->inputs, inputs, count * sizeof *inputs);
    return CW_OK;
}

static cw_desk_speed *speed_at(cw_desk_speed *speeds, size_t *count, double marked_s)
{
    for (size_t i = 0; i < *count; i++)
        if (cw_same_mark(speeds[i].marked_s, marked_s))
            return &speeds[i];
    if (*count == CW_SPEEDS_MOST || !(marked_s > 0))
        return NULL;
    speeds[*count] = (cw_desk_speed){.marked_s = marked_s};
    return &speeds[(*count)++];
}

size_t desk_speeds(const cw_desk *desk, cw_desk_speed speeds[CW_SPEEDS_MOST])
{
    const cw_shutter_plan *plan = &desk->setup.plan;
    size_t count = 0, each = plan->shots_per_speed > 0 ? plan->shots_per_speed : 1;
    for (size_t i = 0; i < plan->marks.count; i++) {
        cw_desk_speed *speed = speed_at(speeds, &count, plan->marks.marked_s[i]);
        if (speed != NULL)
            speed->wanted += each;
    }
    for (size_t i = 0; i < desk->shot_count; i++) {
        const cw_shot *shot = &desk->shots[i].show.shot;
        cw_desk_speed *speed = speed_at(speeds, &count, shot->marked_s);
        if (speed != NULL && !shot->struck && !shot->incomplete)
            speed->good++;
    }
    return count;
}

double desk_next(const cw_desk *desk, bool *is_chosen, bool *is_complete)
{
    cw_desk_speed speeds[CW_SPEEDS_MOST];
    size_t count = desk_speeds(desk, speeds);
    double next_s = NAN;
    for (size_t i = count; i-- > 0;)
        if (speeds[i].good < speeds[i].wanted)
            next_s = speeds[i].marked_s;
    *is_complete = isnan(next_s);
    *is_chosen = desk->chosen_left > 0;
    return *is_chosen ? desk->chosen_s : next_s;
}

/* Locked. How many shots the choice holds for. */
static size_t choice_lasts(const cw_desk *desk, double marked_s)
{
    cw_desk_speed speeds[CW_SPEEDS_MOST];
    size_t count = desk_speeds(desk, speeds);
    for (size_t i = 0; i < count; i++)
        if (cw_same_mark(speeds[i].marked_s, marked_s) && speeds[i].good < speeds[i].wanted)
            return speeds[i].wanted - speeds[i].good;
    return 1;
}

static cw_status choose(cw_desk *desk, double marked_s, cw_error *err)
{
    if (desk->state == CW_DESK_FREE)
        return cw_fail(err, CW_CONFLICT, "no live test is under way");
    if (!isnan(marked_s) && !(marked_s >= 1e-5 && marked_s <= 60))
        return cw_fail(err, CW_RANGE, "a marked speed of %g s cannot be set; 1/100000 to 60 s can", marked_s);
    CW_TRY(desk_note(
        desk, json_pack("{s:s,s:o}", "kind", "choose", "marked_s", isnan(marked_s) ? json_null() : json_real(marked_s)),
        err));
    desk->chosen_s = marked_s;
    desk->chosen_left = isnan(marked_s) ? 0 : choice_lasts(desk, marked_s);
    desk_changed(desk);
    return CW_OK;
}

cw_status cw_desk_choose(cw_desk *desk, double marked_s, cw_error *err)
{
    pthread_mutex_lock(&desk->lock);
    cw_status status = choose(desk, marked_s, err);
    pthread_mutex_unlock(&desk->lock);
    return status;
}

static cw_status take_step(cw_desk *desk, int step, cw_error *err)
{
    cw_desk_speed speeds[CW_SPEEDS_MOST];
    bool is_chosen, is_complete;
    size_t count = desk_speeds(desk, speeds), at = 0;
    if (count == 0)
        return cw_fail(err, CW_CONFLICT, "no live test is under way");
    double now_s = desk_next(desk, &is_chosen, &is_complete);
    if (isnan(now_s))
        at = count - 1;
    for (size_t i = 0; i < count; i++)
        if (cw_same_mark(speeds[i].marked_s, now_s))
            at = i;
    if (step < 0)
        at = at > 0 ? at - 1 : count - 1;
    else
        at = at + 1 < count ? at + 1 : 0;
    return choose(desk, speeds[at].marked_s, err);
}

cw_status cw_desk_step(cw_desk *desk, int step, cw_error *err)
{
    pthread_mutex_lock(&desk->lock);
    cw_status status = take_step(desk, step, err);
    pthread_mutex_unlock(&desk->lock);
    return status;
}

/* ---- a reading ---- */

cw_quantity cw_desk_reading(const cw_shutter_plan *plan, const cw_shot *shot)
{
    cw_quantity found = {NAN, NAN};
    double nearest = INFINITY, sum = 0, sum_u = 0;
    size_t count = 0;
    for (size_t i = 0; i < shot->sensor_count; i++) {
        const cw_sensor_shot *sensor = &shot->sensors[i];
        if (!sensor->seen || !isfinite(sensor->exposure_s.value))
            continue;
        double place_mm = isfinite(sensor->position_mm) ? sensor->position_mm : (double)i;
        double away = fabs(place_mm - plan->frame_mm / 2);
        if (away < nearest) {
            nearest = away;
            found = sensor->exposure_s;
        }
        sum += sensor->exposure_s.value;
        sum_u += sensor->exposure_s.u; /* taken as fully correlated: the same light and clock */
        count++;
    }
    if (plan->measure.kind == CW_SHUTTER_LEAF && count > 0)
        found = (cw_quantity){sum / (double)count, sum_u / (double)count};
    return found;
}

void cw_error_words(double error_ev, char *out, size_t size)
{
    static const struct {
        double upto;
        const char *words;
    } steps[] = {{0.05, NULL},
                 {0.11, "a twelfth of a stop"},
                 {0.21, "a sixth of a stop"},
                 {0.29, "a quarter of a stop"},
                 {0.42, "a third of a stop"},
                 {0.58, "half a stop"},
                 {0.84, "two thirds of a stop"},
                 {1.17, "one stop"},
                 {1.42, "one and a third stops"},
                 {1.58, "one and a half stops"},
                 {1.84, "one and two thirds stops"},
                 {2.25, "two stops"}};
    double amount = fabs(error_ev);
    if (!isfinite(error_ev)) {
        snprintf(out, size, "not known");
        return;
    }
    if (amount < steps[0].upto) {
        snprintf(out, size, "as marked");
        return;
    }
    const char *way = error_ev > 0 ? "slow" : "fast";
    for (size_t i = 1; i < CW_COUNT(steps); i++)
        if (amount < steps[i].upto) {
            snprintf(out, size, "%s by %s", way, steps[i].words);
            return;
        }
    snprintf(out, size, "%s by %.1f stops", way, amount);
}
