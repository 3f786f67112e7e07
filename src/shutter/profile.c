/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the shape of the curtains to the whole frame: the exposure at every place, its evenness, the slit, how long the
 * frame is open at once, and the travel at each speed. */
#include <math.h>
#include <stdlib.h>

#include "base/stats.h"
#include "shutter/inner.h"

enum { POINTS = 25 };

#define EV_PER_RELATIVE 1.4426950408889634 /* 1/ln 2 */

static cw_quantity at_place(const cw_shape *shape, const cw_speed *speed, double x_mm)
{
    double middle_mm = shape->frame_mm / 2;
    return (cw_quantity){speed->exposure_s.value + cw_shape_step(shape, middle_mm, x_mm),
                         hypot(speed->exposure_s.u, cw_shape_step_u(shape, middle_mm, x_mm))};
}

/* Longest over shortest over the points, and what the uncertainty of the step between the two makes of it. A place that
 * gets no light has no ratio. */
static void evenness(const cw_shape *shape, const cw_profile_point *points, cw_speed *speed)
{
    const cw_profile_point *most = points, *least = points;
    for (size_t i = 1; i < POINTS; i++) {
        most = points[i].exposure_s.value > most->exposure_s.value ? &points[i] : most;
        least = points[i].exposure_s.value < least->exposure_s.value ? &points[i] : least;
    }
    double longest = most->exposure_s.value, shortest = least->exposure_s.value;
    if (!(shortest > 0))
        return;
    double step = hypot(cw_shape_step_noise(shape, least->x_mm, most->x_mm), shape->u_misfit_s) /
                  (longest < 2 * shortest ? longest : shortest);
    double level = speed->exposure_s.u * (1 / shortest - 1 / longest);
    speed->evenness_ev = log2(longest / shortest);
    double form = 0; /* the same by the other runs */
    for (size_t k = 0; k < shape->other_count; k++) {
        double longest2 = -INFINITY, shortest2 = INFINITY;
        double middle = cw_shape_gap(shape, &shape->others[k], shape->frame_mm / 2);
        for (size_t i = 0; i < POINTS; i++) {
            double other = points[i].exposure_s.value + cw_shape_gap(shape, &shape->others[k], points[i].x_mm) - middle;
            longest2 = fmax(longest2, other);
            shortest2 = fmin(shortest2, other);
        }
        double apart = shortest2 > 0 ? log2(longest2 / shortest2) - speed->evenness_ev : speed->evenness_ev;
        form += shape->others[k].weight * apart * apart;
    }
    /* with two places what lies between them may be longer or shorter than both */
    double bow = shape->u_bow_s / 4 / shortest;
    speed->u_evenness_ev = sqrt(form + pow(EV_PER_RELATIVE, 2) * (step * step + level * level + bow * bow));
}

/* One sensor's mean exposure at one speed: its scatter, widened for few shots, and what does not average out. */
static cw_quantity sensor_mean(const cw_shutter_test *test, size_t i, double marked_s)
{
    double mean = 0, squares = 0, u = 0;
    size_t n = 0;
    for (size_t j = 0; j < test->shot_count; j++) {
        const cw_shot *shot = &test->shots[j];
        if (!cw_shot_counts(shot) || !cw_same_mark(shot->marked_s, marked_s) || i >= shot->sensor_count)
            continue;
        cw_quantity exposure = shot->sensors[i].exposure_s;
        if (!shot->sensors[i].seen || !(exposure.value > 0))
            continue;
        double step = exposure.value - mean;
        mean += step / (double)++n;
        squares += step * (exposure.value - mean);
        u = fmax(u, isfinite(exposure.u) ? exposure.u : 0);
    }
    if (n == 0)
        return (cw_quantity){NAN, NAN};
    double own = n > 1 ? sqrt(squares / (double)(n - 1) / (double)n) * cw_student_t(0.9545, (double)(n - 1)) / 2 : 0;
    return (cw_quantity){mean, hypot(own, u)};
}

void cw_evenness_from_sensors(cw_shutter_test *test)
{
    /* a narrow beam sees the open time on its own radius: what differs there is no unevenness of the frame */
    if (test->setup.kind == CW_SHUTTER_LEAF && test->setup.beam == CW_BEAM_POINT)
        return;
    for (size_t k = 0; k < test->speed_count; k++) {
        cw_speed *speed = &test->speeds[k];
        cw_quantity least = {INFINITY, 0}, most = {0, 0};
        size_t there = 0;
        for (size_t i = 0; i < CW_SENSORS_MOST; i++) {
            cw_quantity mean = sensor_mean(test, i, speed->marked_s);
            if (!isfinite(mean.value))
                continue;
            there++;
            least = mean.value < least.value ? mean : least;
            most = mean.value > most.value ? mean : most;
        }
        if (there < 2)
            continue;
        speed->evenness_ev = log2(most.value / least.value);
        speed->u_evenness_ev = EV_PER_RELATIVE * hypot(most.u / most.value, least.u / least.value);
    }
}

/* The place the first curtain's edge has reached a time after it was at the first frame edge, by bisection (it never
 * turns back); beyond the frame: NaN. */
static double place_at(const cw_track *track, double delay_s)
{
    double low = 0, high = 1;
    if (!(delay_s >= 0 && delay_s <= cw_track_delay(track, 1)))
        return NAN;
    for (int i = 0; i < 60; i++) {
        double middle = (low + high) / 2;
        if (cw_track_delay(track, middle) < delay_s)
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}

/* What the curtain covers in the exposure time about the middle of the frame; w = v t where it runs evenly. */
static cw_quantity slit(const cw_shape *shape, const cw_speed *speed)
{
    double half = speed->exposure_s.value / 2, at = cw_track_delay(&shape->first, 0.5);
    double width = shape->frame_mm * (place_at(&shape->first, at + half) - place_at(&shape->first, at - half));
    double relative = hypot(speed->exposure_s.u / speed->exposure_s.value, shape->travel1_s.u / shape->travel1_s.value);
    return (cw_quantity){width, isnan(width) ? NAN : width * relative};
}

/* One shot's travel of one curtain with the shape of the run held: the least-squares factor on the shared run. */
static double shot_travel(const cw_shutter_test *test, const cw_shape *shape, const cw_shot *shot, bool second)
{
    const cw_track *track = second ? &shape->second : &shape->first;
    double t[CW_SENSORS_MOST], s[CW_SENSORS_MOST], mean_t = 0, mean_s = 0, top = 0, bottom = 0;
    size_t n = 0;
    for (size_t i = 0; i < shot->sensor_count; i++) {
        const cw_sensor_shot *sensor = &shot->sensors[i];
        double x = cw_sensor_place_mm(&test->setup, shot, i), u = x / shape->frame_mm;
        double middle = (sensor->open_s.value + sensor->close_s.value) / 2, half = sensor->exposure_s.value / 2;
        if (!sensor->seen || !isfinite(x) || !isfinite(middle) || !isfinite(half))
            continue;
        t[n] = second ? middle + half : middle - half;
        s[n++] = cw_track_delay(track, shape->reversed ? 1 - u : u);
    }
    for (size_t i = 0; i < n; i++) {
        mean_t += t[i] / (double)n;
        mean_s += s[i] / (double)n;
    }
    for (size_t i = 0; i < n; i++) {
        top += (s[i] - mean_s) * (t[i] - mean_t);
        bottom += (s[i] - mean_s) * (s[i] - mean_s);
    }
    return bottom > 0 ? cw_track_travel(track) * top / bottom : NAN;
}

static cw_quantity speed_travel(const cw_shutter_test *test, const cw_shape *shape, const bool *odd, double marked_s,
                                bool second)
{
    cw_quantity shared = second ? shape->travel2_s : shape->travel1_s;
    double mean = 0, squares = 0;
    size_t n = 0;
    for (size_t j = 0; j < test->shot_count; j++) {
        const cw_shot *shot = &test->shots[j];
        if (!cw_shot_counts(shot) || odd[j] || !cw_same_mark(shot->marked_s, marked_s))
            continue;
        double travel = shot_travel(test, shape, shot, second);
        if (!isfinite(travel))
            continue;
        double step = travel - mean;
        mean += step / (double)++n;
        squares += step * (travel - mean);
    }
    if (n == 0)
        return (cw_quantity){NAN, NAN};
    double own = n > 1 ? sqrt(squares / (double)(n - 1) / (double)n) * cw_student_t(0.9545, (double)(n - 1)) / 2 : 0;
    return (cw_quantity){mean, hypot(own, shared.u)};
}

static void speed_fill(const cw_shutter_test *test, const cw_shape *shape, const bool *odd,
                       const cw_profile_point *points, cw_speed *speed)
{
    evenness(shape, points, speed);
    speed->slit_mm = slit(shape, speed);
    speed->travel1_s = speed_travel(test, shape, odd, speed->marked_s, false);
    speed->travel2_s = speed_travel(test, shape, odd, speed->marked_s, true);
    /* open from the first curtain's arrival at the far edge to the second's leaving the near one */
    cw_quantity near = points[shape->reversed ? POINTS - 1 : 0].exposure_s;
    speed->fully_open_s = near.value - shape->travel1_s.value;
    speed->u_fully_open_s = hypot(near.u, shape->travel1_s.u);
}

static void curtains_fill(const cw_shape *shape, cw_curtains *curtains)
{
    bool bowed = shape->first.form == CW_CURTAINS_BOWED || shape->second.form == CW_CURTAINS_BOWED;
    bool straight = shape->first.form == CW_CURTAINS_STRAIGHT;
    curtains->form = straight ? CW_CURTAINS_STRAIGHT : bowed ? CW_CURTAINS_BOWED : CW_CURTAINS_PHYSICAL;
    curtains->travel1_s = shape->travel1_s;
    curtains->travel2_s = shape->travel2_s;
    curtains->mismatch_s = shape->mismatch_s;
    curtains->drag_s = shape->drag_s;
    curtains->chi_squared = shape->chi_squared;
    curtains->degrees = shape->degrees;
    if (!straight) {
        curtains->bow1_s = shape->bow1_s;
        curtains->bow2_s = shape->bow2_s;
    }
}

cw_status cw_profile_fill(cw_shutter_test *test, const cw_shape *shape, const bool *odd, cw_error *err)
{
    cw_curtains *curtains = &test->curtains;
    curtains_fill(shape, curtains);
    curtains->profile = calloc(test->speed_count * POINTS, sizeof *curtains->profile);
    if (curtains->profile == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the exposure over the frame at %zu speeds", test->speed_count);
    for (size_t k = 0; k < test->speed_count; k++) {
        cw_speed *speed = &test->speeds[k];
        if (speed->shots == 0)
            continue;
        cw_profile_point *points = curtains->profile + curtains->profile_count;
        for (size_t i = 0; i < POINTS; i++) {
            double x_mm = shape->frame_mm * (double)i / (POINTS - 1);
            points[i] = (cw_profile_point){x_mm, speed->marked_s, at_place(shape, speed, x_mm)};
        }
        speed_fill(test, shape, odd, points, speed);
        for (size_t i = 0; i < POINTS; i++) /* the slit closed: no light there, however far past */
            points[i].exposure_s.value = fmax(points[i].exposure_s.value, 0);
        curtains->profile_count += POINTS;
    }
    return CW_OK;
}
