/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Compared photographs of any bytes: a sentence, or pairs that are worked out without trouble and come back from their
 * own JSON as they were. */
#include <jansson.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "shutter/photo_pair.h"

enum { PAIRS_MOST = 2 };

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool right)
{
    if (!right)
        abort();
}

static void judge(const cw_photo_compared *pair)
{
    static cw_photo_result result;
    cw_error err = {0};
    const cw_photo_setup setup = {.frame_mm = 36, .reference_s = NAN, .u_reference_relative = NAN};
    if (cw_photo_judge(pair, &setup, &result, &err) != CW_OK) {
        must(err.text[0] != '\0');
        return;
    }
    for (size_t i = 0; i < result.shot.sensor_count; i++) {
        const cw_sensor_shot *place = &result.shot.sensors[i];
        must(!place->seen || (isfinite(place->exposure_s.value) && place->exposure_s.value > 0));
        must(!place->seen || (isfinite(place->exposure_s.u) && place->exposure_s.u >= 0));
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static cw_photo_compared read[PAIRS_MOST], again[PAIRS_MOST];
    size_t count, same;
    cw_error err = {0};
    json_t *object = json_loadb((const char *)data, size, 0, NULL);
    cw_status status = cw_photo_compared_from_json(object, read, PAIRS_MOST, &count, &err);
    json_decref(object);
    must(status == CW_OK || err.text[0] != '\0');
    if (status != CW_OK)
        return 0;
    for (size_t i = 0; i < count; i++)
        judge(&read[i]);
    object = cw_photo_compared_json(read, count);
    must(object != NULL && cw_photo_compared_from_json(object, again, PAIRS_MOST, &same, &err) == CW_OK);
    must(same == count && strcmp(again[0].name, read[0].name) == 0 &&
         again[0].reference.width == read[0].reference.width);
    json_decref(object);
    return 0;
}
