/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/shot.h"

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
