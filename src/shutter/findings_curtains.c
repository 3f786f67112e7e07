/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Findings from the run of the curtains: unequal tension, drag, slow curtains, a slit that closes on its way. */
#include <math.h>
#include <stdio.h>

#include "shutter/findings.h"
#include "shutter/marks.h"

/* Uneven from a third of a stop over the frame; common practice, no source. */
#define UNEVEN_EV (1.0 / 3)
/* Curtains count as unequal from this share of their travel, or from what makes the frame uneven at the fastest speed.
 */
#define UNEQUAL_SHARE 0.03

static const cw_speed *fastest_speed(const cw_shutter_test *test)
{
    for (size_t k = test->speed_count; k-- > 0;)
        if (cw_speed_known(&test->speeds[k]))
            return &test->speeds[k];
    return NULL;
}

/* Clear of its uncertainty, and large enough to matter: against the travel, or at the fastest speed measured.
 * `of_frame` is how much of the difference the exposure shows over the frame. */
static bool matters(const cw_shutter_test *test, cw_quantity difference, double of_frame)
{
    const cw_speed *fastest = fastest_speed(test);
    double size = of_frame * fabs(difference.value),
           travel = fmin(test->curtains.travel1_s.value, test->curtains.travel2_s.value);
    if (!isfinite(size) || fastest == NULL || size < CW_CLEAR * of_frame * difference.u)
        return false;
    return size > UNEQUAL_SHARE * travel || log2(1 + size / fastest->reference_s) > UNEVEN_EV;
}

/* Drag beyond what unequal travel alone bends: a curtain that is only slower bends its run in proportion. */
static cw_quantity own_drag(const cw_shutter_test *test, const cw_shape *shape)
{
    const cw_curtains *curtains = &test->curtains;
    double bend = curtains->bow1_s.value / curtains->travel1_s.value;
    const double *c = shape->covariance;
    double variance = c[2] - 2 * bend * c[1] + bend * bend * c[0];
    return (cw_quantity){curtains->drag_s.value - bend * curtains->mismatch_s.value, sqrt(fmax(variance, 0))};
}

static void find_drag(cw_shutter_test *test, cw_quantity drag)
{
    const cw_curtains *curtains = &test->curtains;
    bool second = drag.value < 0;
    cw_finding_add(
        test, "drag",
        second ? "The second curtain falls behind towards the end of its travel: something holds it there. Look "
                 "first for dirt, old lubricant or a stiff ribbon on that side, a brake that comes in too early, "
                 "and dry roller bearings. More tension hides it and wears the shutter: free it before turning "
                 "anything. The camera's own service notes go first."
               : "The first curtain falls behind towards the end of its travel: something holds it there. Look "
                 "first for dirt, old lubricant or a stiff ribbon on that side, a brake that comes in too early, "
                 "and dry roller bearings. More tension hides it and wears the shutter: free it before turning "
                 "anything. The camera's own service notes go first.",
        "bend of the exposure over the frame %+.3f ms (k = 2: %.3f) beyond what unequal travel explains; "
        "travels %.2f and %.2f ms",
        1e3 * drag.value, 2e3 * drag.u, 1e3 * curtains->travel1_s.value, 1e3 * curtains->travel2_s.value);
}

static void find_mismatch(cw_shutter_test *test)
{
    const cw_curtains *curtains = &test->curtains;
    bool second_slower = curtains->mismatch_s.value > 0;
    cw_finding_add(
        test, "tension-mismatch",
        second_slower
            ? "The second curtain takes longer than the first, so the exposure grows along the travel: unequal "
              "tension. Clean first. Then a little more tension on the second curtain, or less on the first if "
              "its travel is shorter than the service notes say; an eighth of a turn at a time, counted, so "
              "that you can go back. Caution: a curtain spring let go unwinds with force; hold it before the "
              "lock is loosened. The camera's own service notes go first."
            : "The second curtain is quicker than the first, so the exposure falls along the travel: unequal "
              "tension. Clean first. Then a little less tension on the second curtain, or more on the first if "
              "its travel is longer than the service notes say; an eighth of a turn at a time, counted, so "
              "that you can go back. Caution: a curtain spring let go unwinds with force; hold it before the "
              "lock is loosened. The camera's own service notes go first.",
        "travel first %.2f ms, second %.2f ms; the second takes %+.3f ms longer (k = 2: %.3f)%s",
        1e3 * curtains->travel1_s.value, 1e3 * curtains->travel2_s.value, 1e3 * curtains->mismatch_s.value,
        2e3 * curtains->mismatch_s.u,
        isnan(curtains->drag_s.value) ? "; two places do not tell it from a curtain that drags" : "");
}

/* The longest usual travel for a frame of this length; NaN: no usual one known. Common practice, no source: cloth, 36
 * mm 10 to 16 ms; metal blades, 24 mm 3 to 7 ms, cloth run upright not counted. */
static double usual_travel_s(double frame_mm)
{
    return frame_mm >= 32 && frame_mm <= 40 ? 16e-3 : NAN;
}

static void find_slow_curtains(cw_shutter_test *test)
{
    double usual_s = usual_travel_s(test->setup.frame_mm);
    cw_quantity first = test->curtains.travel1_s, second = test->curtains.travel2_s;
    bool slow1 = first.value - CW_CLEAR * first.u > usual_s, slow2 = second.value - CW_CLEAR * second.u > usual_s;
    if (!slow1 && !slow2)
        return;
    const char *code = slow1 && slow2 ? "curtains-slow" : slow1 ? "first-curtain-slow" : "second-curtain-slow";
    cw_finding_add(
        test, code,
        "A curtain takes longer than is usual for this frame. Old oil and dirt in the rollers come first, tired "
        "springs after. Clean, measure again, and only then raise tension towards the travel the camera's own "
        "service notes give, both curtains alike, a little at a time and counted. Caution: a curtain spring let "
        "go unwinds with force; hold it before the lock is loosened.",
        "travel first %.2f ms, second %.2f ms; usual for %g mm is 10 to 16 ms (common practice, no source)",
        1e3 * first.value, 1e3 * second.value, test->setup.frame_mm);
}

/* At a place where no light came although other sensors of the same shot saw some, or where the fit closes the slit. */
static void find_capping(cw_shutter_test *test)
{
    size_t dark = 0;
    double slowest = 0, shortest = INFINITY, place = NAN;
    bool sees[CW_SENSORS_MOST] = {false};
    for (size_t j = 0; j < test->shot_count; j++)
        for (size_t i = 0; i < test->shots[j].sensor_count; i++)
            sees[i] = sees[i] || test->shots[j].sensors[i].seen;
    for (size_t j = 0; j < test->shot_count; j++) {
        const cw_shot *shot = &test->shots[j];
        bool some = false, none = false;
        for (size_t i = 0; cw_shot_counts(shot) && i < shot->sensor_count; i++) {
            some = some || shot->sensors[i].seen;
            none = none || (!shot->sensors[i].seen && sees[i]);
            if (!shot->sensors[i].seen && sees[i])
                place = cw_sensor_place_mm(&test->setup, shot, i);
        }
        if (!some || !none)
            continue;
        dark++;
        slowest = fmax(slowest, shot->marked_s);
    }
    for (size_t i = 0; i < test->curtains.profile_count; i++) {
        const cw_profile_point *point = &test->curtains.profile[i];
        if (point->exposure_s.value + 2 * point->exposure_s.u >= 0.25 * point->marked_s)
            continue;
        slowest = fmax(slowest, point->marked_s);
        if (point->exposure_s.value < shortest && dark == 0)
            place = point->x_mm;
        shortest = fmin(shortest, point->exposure_s.value);
    }
    if (dark == 0 && isinf(shortest))
        return;
    char mark[CW_MARK_TEXT], where[40] = "at a sensor without a known place";
    cw_mark_text(slowest, mark, sizeof mark);
    if (isfinite(place))
        snprintf(where, sizeof where, "at %.0f mm", place);
    cw_finding_add(
        test, "capping",
        "The slit closes on its way: part of the frame gets little or no light, because the second curtain "
        "catches up with the first. Clean and free both curtains first, the first one above all. Then less "
        "tension on the second curtain or more on the first, a little at a time and counted. Caution: a curtain "
        "spring let go unwinds with force; hold it before the lock is loosened. The camera's own service notes "
        "go first.",
        "%s, from %s on; %zu shots in which a sensor stayed dark while another saw light", where, mark, dark);
}

static void find_uneven(cw_shutter_test *test)
{
    const cw_speed *worst = NULL;
    for (size_t k = 0; k < test->speed_count; k++) {
        const cw_speed *speed = &test->speeds[k];
        if (speed->evenness_ev - CW_CLEAR * speed->u_evenness_ev > UNEVEN_EV &&
            (worst == NULL || speed->evenness_ev > worst->evenness_ev))
            worst = speed;
    }
    if (worst == NULL)
        return;
    char mark[CW_MARK_TEXT];
    cw_mark_text(worst->marked_s, mark, sizeof mark);
    cw_finding_add(
        test, "uneven",
        "The frame is not evenly exposed. What the sensors tell does not separate its cause: unequal tension, a "
        "curtain that drags, or a sensor that sees more light than the others. Check the sensors with the "
        "shutter held open, then measure with three of them at known places.",
        "at %s the longest exposure is %.2f EV above the shortest (k = 2: %.2f)", mark, worst->evenness_ev,
        2 * worst->u_evenness_ev);
}

void cw_findings_curtains(cw_shutter_test *test, const cw_shape *shape)
{
    find_capping(test);
    if (shape->known) {
        bool three = isfinite(test->curtains.drag_s.value);
        cw_quantity drag = three ? own_drag(test, shape) : (cw_quantity){NAN, NAN};
        /* A bend c u (1 - u) is a quarter of c high; a brake that comes in with the cube of the way bends by 1.5 of
         * what it delays at the end, and it is that delay which counts. */
        bool drags = three && matters(test, drag, 1 / 1.5), unequal = matters(test, test->curtains.mismatch_s, 1);
        if (drags)
            find_drag(test, drag);
        /* a curtain that drags takes longer too; call it unequal only beyond what the drag explains */
        if (unequal && !(drags && fabs(drag.value) > fabs(test->curtains.mismatch_s.value)))
            find_mismatch(test);
        find_slow_curtains(test);
    }
    if (!cw_finding_has(test, "tension-mismatch") && !cw_finding_has(test, "drag") && !cw_finding_has(test, "capping"))
        find_uneven(test);
    if (shape->reversed)
        cw_finding_add(
            test, "places-reversed",
            "The curtains run against the places given for the sensors. Nothing is lost: the exposures stand, "
            "and the run was worked out from the other edge. Count the places from the edge that opens first.",
            "the sensor at the largest place opens first");
}
