/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/compare.h"

#include <math.h>
#include <stdlib.h>

#include "shutter/inner.h"

const char *cw_change_name(cw_speed_change change)
{
    static const char *const names[] = {
        [CW_CHANGE_UNKNOWN] = "unknown",
        [CW_CHANGE_BETTER] = "better",
        [CW_CHANGE_SAME] = "same",
        [CW_CHANGE_WORSE] = "worse",
    };
    return names[change];
}

static cw_speed_pair *pair_of(cw_comparison *comparison, double marked_s)
{
    for (size_t i = 0; i < comparison->count; i++)
        if (cw_same_mark(marked_s, comparison->pairs[i].marked_s))
            return &comparison->pairs[i];
    cw_speed_pair *made = &comparison->pairs[comparison->count++];
    *made = (cw_speed_pair){.marked_s = marked_s};
    return made;
}

static cw_speed_change change_of(const cw_speed_pair *pair)
{
    if (pair->before == NULL || pair->after == NULL)
        return CW_CHANGE_UNKNOWN;
    double gain = fabs(pair->before->error_ev.value) - fabs(pair->after->error_ev.value);
    double doubt = fmax(2 * hypot(pair->before->error_ev.u, pair->after->error_ev.u), CW_CHANGE_LEAST_EV);
    if (!isfinite(gain) || !isfinite(pair->before->error_ev.u + pair->after->error_ev.u))
        return CW_CHANGE_UNKNOWN;
    return gain > doubt ? CW_CHANGE_BETTER : gain < -doubt ? CW_CHANGE_WORSE : CW_CHANGE_SAME;
}

static int slowest_first(const void *a, const void *b)
{
    const cw_speed_pair *x = a, *y = b;
    return (x->marked_s < y->marked_s) - (x->marked_s > y->marked_s);
}

cw_comparison cw_shutter_compare(const cw_shutter_test *before, const cw_shutter_test *after)
{
    cw_comparison made = {0};
    for (size_t k = 0; before != NULL && k < before->speed_count; k++) {
        const cw_speed *speed = &before->speeds[k];
        pair_of(&made, speed->marked_s)->before = speed;
        made.measured_before += speed->shots > 0;
        made.inside_before += speed->verdict == CW_SPEED_INSIDE;
        made.outside_before += speed->verdict == CW_SPEED_OUTSIDE;
    }
    for (size_t k = 0; after != NULL && k < after->speed_count; k++) {
        const cw_speed *speed = &after->speeds[k];
        pair_of(&made, speed->marked_s)->after = speed;
        made.measured_after += speed->shots > 0;
        made.inside_after += speed->verdict == CW_SPEED_INSIDE;
        made.outside_after += speed->verdict == CW_SPEED_OUTSIDE;
    }
    qsort(made.pairs, made.count, sizeof made.pairs[0], slowest_first);
    for (size_t i = 0; i < made.count; i++) {
        made.pairs[i].change = change_of(&made.pairs[i]);
        made.better += made.pairs[i].change == CW_CHANGE_BETTER;
        made.same += made.pairs[i].change == CW_CHANGE_SAME;
        made.worse += made.pairs[i].change == CW_CHANGE_WORSE;
    }
    return made;
}

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *side_json(const cw_speed *speed)
{
    if (speed == NULL)
        return json_null();
    json_t *verdict =
        speed->verdict == CW_SPEED_UNKNOWN ? json_null() : json_string(cw_speed_verdict_name(speed->verdict));
    return json_pack("{s:o, s:o, s:o, s:o}", "exposure_s", number(speed->exposure_s.value), "error_ev",
                     number(speed->error_ev.value), "u_error_ev", number(speed->error_ev.u), "verdict", verdict);
}

json_t *cw_comparison_json(const cw_comparison *comparison)
{
    json_t *speeds = json_array();
    int failed = speeds == NULL;
    for (size_t i = 0; i < comparison->count && failed == 0; i++) {
        const cw_speed_pair *pair = &comparison->pairs[i];
        failed = json_array_append_new(speeds, json_pack("{s:f, s:o, s:o, s:s}", "marked_s", pair->marked_s, "before",
                                                         side_json(pair->before), "after", side_json(pair->after),
                                                         "change", cw_change_name(pair->change)));
    }
    if (failed != 0) {
        json_decref(speeds);
        return NULL;
    }
    return json_pack("{s:s, s:o, s:I, s:I, s:I}", "format", "camerawright.comparison/1", "speeds", speeds, "better",
                     (json_int_t)comparison->better, "same", (json_int_t)comparison->same, "worse",
                     (json_int_t)comparison->worse);
}
