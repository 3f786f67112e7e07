/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/shot.h"

#include <math.h>
#include <string.h>

#include "base/error.h"

static const char *const method_names[] = {
    [CW_METHOD_NONE] = "none",         [CW_METHOD_AREA] = "area",       [CW_METHOD_MID_LEVEL] = "mid-level",
    [CW_METHOD_EDGES] = "edges",       [CW_METHOD_READING] = "reading", [CW_METHOD_SOUND] = "sound",
    [CW_METHOD_PHOTO] = "photographs",
};

const char *cw_exposure_method_name(cw_exposure_method method)
{
    return method_names[method];
}

bool cw_exposure_method_find(const char *name, cw_exposure_method *method)
{
    for (size_t i = 0; i < CW_COUNT(method_names); i++)
        if (strcmp(name, method_names[i]) == 0) {
            *method = (cw_exposure_method)i;
            return true;
        }
    return false;
}

cw_sensor_shot cw_sensor_shot_unknown(double position_mm)
{
    const cw_quantity unknown = {NAN, NAN};
    return (cw_sensor_shot){
        .position_mm = position_mm,
        .open_s = unknown,
        .close_s = unknown,
        .area_s = unknown,
        .mid_level_s = unknown,
        .exposure_s = unknown,
        .peak_fraction = NAN,
        .total_s = NAN,
        .opening_s = NAN,
        .closing_s = NAN,
    };
}
