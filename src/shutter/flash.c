/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The flash contact against the shutter: after the first opening, after full opening, and how long the frame stays
 * open. */
#include <math.h>

#include "base/stats.h"
#include "shutter/inner.h"

/* 10 to 90 % of a straight flank is 0.8 of it, so from its middle to its end is 0.5/0.8 of that duration. */
#define MIDDLE_TO_END (0.5 / 0.8)

/* When the whole frame is open in one shot. NaN: cannot be told. */
typedef struct {
    double first_s, full_s, closing_s;
    double u_first_s, u_full_s, u_closing_s;
} opening;

static opening leaf_opening(const cw_shot *shot)
{
    opening at = {NAN, NAN, NAN, 0, 0, 0};
    for (size_t i = 0; i < shot->sensor_count; i++) {
        const cw_sensor_shot *sensor = &shot->sensors[i];
        if (!sensor->seen)
            continue;
        double full = sensor->open_s.value + MIDDLE_TO_END * sensor->opening_s;
        double closing = sensor->close_s.value - MIDDLE_TO_END * sensor->closing_s;
        at.first_s = fmin(at.first_s, sensor->open_s.value);
        at.full_s = fmax(at.full_s, full);
        at.closing_s = fmin(at.closing_s, closing);
        at.u_first_s = fmax(at.u_first_s, sensor->open_s.u);
        /* flanks are not quite straight: a tenth of the transition */
        at.u_full_s = fmax(at.u_full_s, hypot(sensor->open_s.u, 0.1 * sensor->opening_s));
        at.u_closing_s = fmax(at.u_closing_s, hypot(sensor->close_s.u, 0.1 * sensor->closing_s));
    }
    return at;
}

static opening curtain_opening(const cw_test_setup *setup, const cw_shape *shape, const cw_shot *shot)
{
    opening at = {NAN, NAN, NAN, 0, shape->travel1_s.u, shape->travel2_s.u};
    double start1 = 0, start2 = 0;
    size_t n = 0;
    for (size_t i = 0; i < shot->sensor_count; i++) {
        const cw_sensor_shot *sensor = &shot->sensors[i];
        if (!sensor->seen || !isfinite(sensor->open_s.value))
            continue;
        at.first_s = fmin(at.first_s, sensor->open_s.value);
        at.u_first_s = fmax(at.u_first_s, sensor->open_s.u);
        double x = cw_sensor_place_mm(setup, shot, i), u = x / setup->frame_mm;
        double middle = (sensor->open_s.value + sensor->close_s.value) / 2, half = sensor->exposure_s.value / 2;
        if (!shape->known || !isfinite(x) || !isfinite(middle) || !isfinite(half))
            continue;
        u = shape->reversed ? 1 - u : u;
        start1 += middle - half - cw_track_delay(&shape->first, u);
        start2 += middle + half - cw_track_delay(&shape->second, u);
        n++;
    }
    if (n > 0) {
        at.full_s = start1 / (double)n + shape->travel1_s.value;
        at.closing_s = start2 / (double)n;
    }
    return at;
}

/* A mean over shots, its scatter widened for few of them, joined to what does not average out. */
typedef struct {
    size_t n;
    double mean, squares, u;
} running;

static void run_add(running *r, double value, double u)
{
    if (!isfinite(value))
        return;
    double step = value - r->mean;
    r->mean += step / (double)++r->n;
    r->squares += step * (value - r->mean);
    r->u = fmax(r->u, isfinite(u) ? u : 0);
}

static cw_quantity run_mean(const running *r)
{
    if (r->n == 0)
        return (cw_quantity){NAN, NAN};
    double n = (double)r->n, own = 0;
    if (r->n > 1)
        own = sqrt(r->squares / (n - 1) / n) * cw_student_t(0.9545, n - 1) / 2;
    return (cw_quantity){r->mean, hypot(own, r->u)};
}

void cw_flash_evaluate(cw_shutter_test *test, const cw_shape *shape)
{
    for (size_t k = 0; k < test->speed_count; k++) {
        cw_speed *speed = &test->speeds[k];
        running delay = {0}, after_full = {0}, left = {0};
        for (size_t j = 0; j < test->shot_count; j++) {
            const cw_shot *shot = &test->shots[j];
            if (!cw_shot_counts(shot) || !shot->contact_seen || !cw_same_mark(shot->marked_s, speed->marked_s))
                continue;
            bool leaf = test->setup.kind == CW_SHUTTER_LEAF;
            opening at = leaf ? leaf_opening(shot) : curtain_opening(&test->setup, shape, shot);
            double contact = shot->contact_s.value, u = shot->contact_s.u;
            run_add(&delay, contact - at.first_s, hypot(u, at.u_first_s));
            run_add(&after_full, contact - at.full_s, hypot(u, at.u_full_s));
            run_add(&left, at.closing_s - contact, hypot(u, at.u_closing_s));
        }
        speed->contact_delay_s = run_mean(&delay);
        speed->contact_after_full_s = run_mean(&after_full);
        speed->open_after_contact_s = run_mean(&left);
    }
}
