/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A focal-plane and a leaf shutter for tests, written from first principles and apart from the program's own model: an
 * edge of mass-like curtain starts from rest x0 before the frame and is pulled evenly, x = g t^2/2 - x0. */
#ifndef CW_TESTS_SHUTTER_TRUTH_H
#define CW_TESTS_SHUTTER_TRUTH_H

#include <math.h>
#include <string.h>

#include "shutter/evaluate.h"
#include "support/check.h"

typedef struct {
    double x0_mm, g_mm_s2; /* run-up and pull */
    double brake_s;        /* extra delay, growing with the cube of the way: a curtain that drags towards the end */
} truth_edge;

typedef struct {
    double frame_mm;
    truth_edge first, second;
    double release_sd_s; /* of the second curtain's release, shot to shot */
    double run_sd;       /* relative, of each curtain's travel, shot to shot */
    double noise_s;      /* sd of each instant read at each sensor */
} truth_camera;

/* Seconds from the edge's start to its arrival at x mm into the frame. */
static inline double truth_arrival(const truth_edge *edge, double frame_mm, double x_mm)
{
    double way = x_mm / frame_mm;
    return sqrt(2 * (x_mm + edge->x0_mm) / edge->g_mm_s2) + edge->brake_s * way * way * way;
}

static inline double truth_travel(const truth_edge *edge, double frame_mm)
{
    return truth_arrival(edge, frame_mm, frame_mm) - truth_arrival(edge, frame_mm, 0);
}

/* The exposure at x with both released `release_s` apart. */
static inline double truth_exposure(const truth_camera *camera, double release_s, double x_mm)
{
    return release_s + truth_arrival(&camera->second, camera->frame_mm, x_mm) -
           truth_arrival(&camera->first, camera->frame_mm, x_mm);
}

/* The release that gives `exposure_s` at the middle of the frame. */
static inline double truth_release(const truth_camera *camera, double exposure_s)
{
    return exposure_s - truth_exposure(camera, 0, camera->frame_mm / 2);
}

static inline cw_sensor_shot truth_sensor(double position_mm, double open_s, double close_s, double u_s)
{
    cw_quantity unknown = {NAN, NAN}, exposure = {close_s - open_s, u_s * sqrt(2)};
    bool seen = close_s > open_s;
    return (cw_sensor_shot){
        .position_mm = position_mm,
        .seen = seen,
        .open_s = seen ? (cw_quantity){open_s, u_s} : unknown,
        .close_s = seen ? (cw_quantity){close_s, u_s} : unknown,
        .area_s = unknown,
        .mid_level_s = seen ? exposure : unknown,
        .method = seen ? CW_METHOD_MID_LEVEL : CW_METHOD_NONE,
        .exposure_s = seen ? exposure : unknown,
        .u_random_s = seen ? exposure.u : 0,
        .peak_fraction = NAN,
        .total_s = NAN,
        .opening_s = NAN,
        .closing_s = NAN,
    };
}

static inline cw_shot truth_blank(double at_s, double marked_s)
{
    return (cw_shot){.at_s = at_s, .marked_s = marked_s, .contact_s = {NAN, NAN}, .contact_opens_s = NAN};
}

/* One firing at `at_s`; `random` may be NULL for a firing without any scatter. */
static inline cw_shot truth_fire(const truth_camera *camera, double release_s, double marked_s, double at_s,
                                 size_t sensors, const double *sensors_mm, check_random *random)
{
    cw_shot shot = truth_blank(at_s, marked_s);
    double run1 = 1, run2 = 1, release = release_s;
    if (random != NULL) {
        run1 += camera->run_sd * check_gaussian(random);
        run2 += camera->run_sd * check_gaussian(random);
        release += camera->release_sd_s * check_gaussian(random);
    }
    shot.sensor_count = sensors;
    for (size_t i = 0; i < sensors; i++) {
        double open = at_s + run1 * truth_arrival(&camera->first, camera->frame_mm, sensors_mm[i]);
        double close = at_s + release + run2 * truth_arrival(&camera->second, camera->frame_mm, sensors_mm[i]);
        if (random != NULL) {
            open += camera->noise_s * check_gaussian(random);
            close += camera->noise_s * check_gaussian(random);
        }
        shot.sensors[i] = truth_sensor(sensors_mm[i], open, close, fmax(camera->noise_s, 1e-7));
    }
    return shot;
}

/* A healthy cloth shutter: 36 mm in 12 ms from a run-up of 4 mm, both curtains alike. */
static inline truth_camera truth_cloth(void)
{
    double root = (sqrt(2 * 40.0) - sqrt(2 * 4.0)) / 0.012;
    truth_edge edge = {.x0_mm = 4, .g_mm_s2 = root * root};
    return (truth_camera){.frame_mm = 36, .first = edge, .second = edge};
}

static inline cw_test_setup truth_setup(size_t sensors, const double *sensors_mm)
{
    cw_test_setup setup = {.kind = CW_SHUTTER_FOCAL_PLANE,
                           .beam = CW_BEAM_DIFFUSE,
                           .frame_mm = 36,
                           .sensor_count = sensors,
                           .u_clock_relative = 2e-5,
                           .u_positions_mm = 0.05};
    memcpy(setup.sensors_mm, sensors_mm, sensors * sizeof *sensors_mm);
    return setup;
}

#endif
