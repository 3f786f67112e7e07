/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One shot's exposure where its speed is judged. */
#include <math.h>

#include "shutter/inner.h"

/* A sensor within a tenth of the frame of its middle is asked alone: what it saw needs next to no model. */
#define NEAR_MIDDLE 0.1

static bool exposed(const cw_sensor_shot *sensor)
{
    return sensor->seen && sensor->exposure_s.value > 0;
}

static double stays(const cw_sensor_shot *sensor)
{
    double u = sensor->exposure_s.u, r = sensor->u_random_s;
    return isfinite(u) ? sqrt(fmax(u * u - r * r, 0)) : 0;
}

/* Over every sensor that saw light. Their noise is their own; level and threshold are set the same way for all. */
static cw_middle over_sensors(const cw_shot *shot)
{
    double sum = 0, random = 0, same = 0;
    size_t n = 0;
    for (size_t i = 0; i < shot->sensor_count; i++) {
        const cw_sensor_shot *sensor = &shot->sensors[i];
        if (!exposed(sensor))
            continue;
        sum += sensor->exposure_s.value;
        random += sensor->u_random_s * sensor->u_random_s;
        same += stays(sensor);
        n++;
    }
    if (n == 0)
        return (cw_middle){.value_s = NAN};
    double count = (double)n;
    return (cw_middle){.value_s = sum / count, .u_random_s = sqrt(random) / count, .u_stays_s = same / count};
}

/* The sensor nearest the middle of the frame, when it is near enough; else sensor_count. */
static size_t middle_sensor(const cw_test_setup *setup, const cw_shot *shot)
{
    size_t best = shot->sensor_count;
    double least = NEAR_MIDDLE * setup->frame_mm;
    for (size_t i = 0; i < shot->sensor_count; i++) {
        double distance = fabs(cw_sensor_place_mm(setup, shot, i) - setup->frame_mm / 2);
        if (exposed(&shot->sensors[i]) && distance <= least) {
            least = distance;
            best = i;
        }
    }
    return best;
}

static cw_middle carried(const cw_test_setup *setup, const cw_shape *shape, const cw_shot *shot)
{
    double middle_mm = setup->frame_mm / 2, sum = 0, random = 0, same = 0;
    size_t n = 0;
    for (size_t i = 0; i < shot->sensor_count; i++) {
        const cw_sensor_shot *sensor = &shot->sensors[i];
        double x = cw_sensor_place_mm(setup, shot, i);
        if (!exposed(sensor) || !isfinite(x))
            continue;
        sum += sensor->exposure_s.value + cw_shape_step(shape, x, middle_mm);
        random += sensor->u_random_s * sensor->u_random_s;
        same += stays(sensor);
        n++;
    }
    if (n == 0)
        return over_sensors(shot);
    double count = (double)n;
    return (cw_middle){
        .value_s = sum / count,
        .u_random_s = sqrt(random) / count,
        .u_stays_s = same / count,
        .u_form_s = cw_shape_step_u(shape, NAN, middle_mm),
    };
}

cw_middle cw_shot_middle(const cw_test_setup *setup, const cw_shape *shape, const cw_shot *shot)
{
    if (!shape->known)
        return over_sensors(shot);
    size_t near = middle_sensor(setup, shot);
    if (near == shot->sensor_count)
        return carried(setup, shape, shot);
    const cw_sensor_shot *sensor = &shot->sensors[near];
    double x = cw_sensor_place_mm(setup, shot, near);
    return (cw_middle){
        .value_s = sensor->exposure_s.value + cw_shape_step(shape, x, setup->frame_mm / 2),
        .u_random_s = sensor->u_random_s,
        .u_stays_s = stays(sensor),
        .u_form_s = cw_shape_step_u(shape, x, setup->frame_mm / 2),
    };
}
