/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plot_data.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double marks[DATA_SPEEDS] = {1,        1.0 / 2,   1.0 / 4,   1.0 / 8,   1.0 / 15,  1.0 / 30,
                                          1.0 / 60, 1.0 / 125, 1.0 / 250, 1.0 / 500, 1.0 / 1000};
static const double places_mm[] = {4, 18, 32};

/* Error at place u = 0 to 1 across the frame. */
static double error_at(size_t speed, double u, bool after)
{
    double slow = speed < 6 ? 0.12 - 0.02 * (double)speed : 0.091 * (double)(speed - 5);
    return after ? 0.04 * sin((double)speed) + 0.05 * (u - 0.5) * marks[9] / marks[speed]
                 : slow + (u - 0.4) * 0.003 / marks[speed] * 0.35;
}

static void fill_shot(cw_shot *shot, size_t speed, size_t repeat, bool after)
{
    *shot = (cw_shot){.at_s = (double)(speed * DATA_SHOTS + repeat) * 2, .marked_s = marks[speed], .sensor_count = 3};
    for (size_t s = 0; s < 3; s++) {
        double e = marks[speed] * exp2(error_at(speed, places_mm[s] / 36, after) + 0.01 * ((double)repeat - 1));
        shot->sensors[s] = (cw_sensor_shot){.position_mm = places_mm[s],
                                            .seen = true,
                                            .exposure_s = {e, 0.01 * e},
                                            .u_random_s = 0.004 * e,
                                            .method = CW_METHOD_AREA};
    }
}

static void fill_speed(cw_speed *s, size_t speed, bool after)
{
    double error = error_at(speed, 0.5, after), limit = marks[speed] < 0.005 ? 0.45 : 0.3,
           u = 0.015 + (speed > 8 ? 0.02 : 0);
    *s = (cw_speed){.marked_s = marks[speed],
                    .reference_s = marks[speed],
                    .shots = DATA_SHOTS,
                    .exposure_s = {marks[speed] * exp2(error), marks[speed] * u * M_LN2},
                    .spread_ev = 0.01,
                    .error_ev = {error, u},
                    .evenness_ev = error_at(speed, 1, after) - error_at(speed, 0, after),
                    .limit_ev = limit,
                    .fully_open_s = marks[speed] - 0.0121,
                    .contact_delay_s = {NAN, NAN}};
    s->verdict = fabs(error) + 2 * u < limit   ? CW_SPEED_INSIDE
                 : fabs(error) - 2 * u > limit ? CW_SPEED_OUTSIDE
                                               : CW_SPEED_TOO_CLOSE;
}

void plot_data_fill(plot_data *data, bool after)
{
    memset(data, 0, sizeof *data);
    cw_shutter_test *t = &data->test;
    t->setup =
        (cw_test_setup){.kind = CW_SHUTTER_FOCAL_PLANE, .beam = CW_BEAM_POINT, .frame_mm = 36, .sensor_count = 3};
    memcpy(t->setup.sensors_mm, places_mm, sizeof places_mm);
    t->setup.tolerance =
        (cw_tolerance){.name = "shop", .source = "invented", .row_count = 2, .rows = {{30, 0.3}, {0.0045, 0.45}}};
    t->shots = data->shots;
    t->shot_count = CW_COUNT(data->shots);
    t->speed_count = DATA_SPEEDS;
    t->curtains = (cw_curtains){.form = CW_CURTAINS_PHYSICAL,
                                .travel1_s = {0.0121, 0.0001},
                                .travel2_s = {after ? 0.0122 : 0.0136, 0.0001},
                                .profile = data->profile,
                                .profile_count = CW_COUNT(data->profile)};
    snprintf(
        t->curtains.told, sizeof t->curtains.told,
        "Three sensors tell travel and bow of both curtains; outside 4 to 32 mm the curve is carried on by the model.");
    for (size_t k = 0; k < DATA_SPEEDS; k++) {
        fill_speed(&t->speeds[k], k, after);
        for (size_t r = 0; r < DATA_SHOTS; r++)
            fill_shot(&data->shots[k * DATA_SHOTS + r], k, r, after);
        for (size_t i = 0; i < DATA_POINTS; i++) {
            double u = (double)i / (DATA_POINTS - 1), e = marks[k] * exp2(error_at(k, u, after));
            data->profile[k * DATA_POINTS + i] = (cw_profile_point){
                .x_mm = 36 * u, .marked_s = marks[k], .exposure_s = {e, e * (0.01 + 0.03 * pow(fabs(u - 0.5) * 2, 3))}};
        }
    }
    if (after)
        return;
    t->finding_count = 1;
    snprintf(t->findings[0].code, sizeof t->findings[0].code, "second-curtain-drags");
    snprintf(
        t->findings[0].text, sizeof t->findings[0].text,
        "The second curtain falls behind towards the end of its travel. Look first at its rollers and bearings for old "
        "grease, then at its spring; the camera's own service notes come before this.");
    snprintf(t->findings[0].evidence, sizeof t->findings[0].evidence,
             "travel 13.6 \xc2\xb1 0.2 ms against 12.1 \xc2\xb1 0.2 ms of the first curtain");
}
