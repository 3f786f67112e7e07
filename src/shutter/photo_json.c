/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Compared photographs as they are kept, and the way from them to a test. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "shutter/photo_pair.h"

static const char format[] = "camerawright.photographs/1";
/* Five digits: pixels and cells know their light no better. */
static const double rounding = 1e5;

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *short_number(double value)
{
    if (!isfinite(value) || value == 0)
        return number(value);
    double step = pow(10, floor(log10(fabs(value)))) / rounding;
    return json_real(step > 0 ? round(value / step) * step : 0); /* next to nothing: its step is none */
}

static json_t *info_json(const cw_frame_info *info)
{
    return json_pack("{s:b,s:I,s:I,s:o,s:o,s:o,s:o,s:s%}", "raw", info->is_raw, "width", (json_int_t)info->width,
                     "height", (json_int_t)info->height, "exposure_s", number(info->exposure_s), "f_number",
                     number(info->f_number), "iso", number(info->iso), "saturation", number(info->saturation), "camera",
                     info->camera, strlen(info->camera));
}

typedef struct {
    const char *key;
    size_t place;
} column;

/* The cells as one list a quantity. */
static const column columns[] = {{"ratio", offsetof(cw_frame_cell, ratio)},
                                 {"u_ratio", offsetof(cw_frame_cell, u_ratio)},
                                 {"reference", offsetof(cw_frame_cell, reference)},
                                 {"test", offsetof(cw_frame_cell, test)},
                                 {"clipped", offsetof(cw_frame_cell, clipped)}};

static double cell_value(const cw_frame_cell *cell, const column *c)
{
    return *(const double *)(const void *)((const char *)cell + c->place);
}

static json_t *pair_json(const cw_photo_compared *pair)
{
    json_t *cells = json_object();
    for (size_t c = 0; c < CW_COUNT(columns); c++) {
        json_t *list = json_array();
        for (size_t i = 0; i < CW_PHOTO_CELLS; i++)
            json_array_append_new(list, short_number(cell_value(&pair->cells[i], &columns[c])));
        json_object_set_new(cells, columns[c].key, list);
    }
    return json_pack("{s:s%,s:o,s:o,s:b,s:i,s:i,s:o}", "name", pair->name, strlen(pair->name), "reference",
                     info_json(&pair->reference), "test", info_json(&pair->test), "dark_taken_off", pair->has_dark,
                     "columns", CW_PHOTO_COLUMNS, "rows", CW_PHOTO_ROWS, "cells", cells);
}

json_t *cw_photo_compared_json(const cw_photo_compared *compared, size_t count)
{
    json_t *pairs = json_array();
    for (size_t i = 0; i < count; i++)
        json_array_append_new(pairs, pair_json(&compared[i]));
    return json_pack("{s:s,s:o}", "format", format, "pairs", pairs);
}

/* ---- and back ---- */

static double real_of(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    return json_is_number(value) ? json_number_value(value) : NAN;
}

static bool read_info(const json_t *object, cw_frame_info *info)
{
    const char *camera = json_string_value(json_object_get(object, "camera"));
    *info = (cw_frame_info){.is_raw = json_is_true(json_object_get(object, "raw")),
                            .width = (size_t)fmax(0, fmin(1e6, real_of(object, "width"))),
                            .height = (size_t)fmax(0, fmin(1e6, real_of(object, "height"))),
                            .exposure_s = real_of(object, "exposure_s"),
                            .f_number = real_of(object, "f_number"),
                            .iso = real_of(object, "iso"),
                            .saturation = real_of(object, "saturation")};
    snprintf(info->camera, sizeof info->camera, "%s", camera == NULL ? "" : camera);
    return json_is_object(object) && info->width > 0 && info->height > 0;
}

static bool read_cells(const json_t *object, cw_frame_cell *cells)
{
    for (size_t c = 0; c < CW_COUNT(columns); c++) {
        const json_t *list = json_object_get(object, columns[c].key);
        if (json_array_size(list) != CW_PHOTO_CELLS)
            return false;
        for (size_t i = 0; i < CW_PHOTO_CELLS; i++) {
            const json_t *value = json_array_get(list, i);
            *(double *)(void *)((char *)&cells[i] + columns[c].place) =
                json_is_number(value) ? json_number_value(value) : NAN;
        }
    }
    return true;
}

static bool read_pair(const json_t *object, cw_photo_compared *pair)
{
    const char *name = json_string_value(json_object_get(object, "name"));
    snprintf(pair->name, sizeof pair->name, "%s", name == NULL ? "" : name);
    pair->has_dark = json_is_true(json_object_get(object, "dark_taken_off"));
    return json_integer_value(json_object_get(object, "columns")) == CW_PHOTO_COLUMNS &&
           json_integer_value(json_object_get(object, "rows")) == CW_PHOTO_ROWS &&
           read_info(json_object_get(object, "reference"), &pair->reference) &&
           read_info(json_object_get(object, "test"), &pair->test) &&
           read_cells(json_object_get(object, "cells"), pair->cells);
}

cw_status cw_photo_compared_from_json(const json_t *object, cw_photo_compared *compared, size_t most, size_t *count,
                                      cw_error *err)
{
    const char *said = json_string_value(json_object_get(object, "format"));
    const json_t *pairs = json_object_get(object, "pairs");
    size_t found = json_array_size(pairs);
    if (said == NULL || strcmp(said, format) != 0)
        return cw_fail(err, CW_INPUT, "these are no compared photographs (%s)", format);
    if (found == 0 || found > most)
        return cw_fail(err, CW_INPUT, "%zu pairs of photographs; 1 to %zu can be used", found, most);
    for (size_t i = 0; i < found; i++)
        if (!read_pair(json_array_get(pairs, i), &compared[i]))
            return cw_fail(err, CW_INPUT, "pair %zu of the compared photographs is damaged", i + 1);
    *count = found;
    return CW_OK;
}

/* ---- the test ---- */

static json_t *recording_of(const cw_photo_result *results, size_t count)
{
    json_t *warnings = json_array();
    for (size_t i = 0; i < count; i++)
        for (size_t w = 0; w < results[i].warning_count; w++) {
            const char *text = results[i].warnings[w];
            bool said = false;
            for (size_t k = 0; k < json_array_size(warnings); k++)
                said = said || strcmp(json_string_value(json_array_get(warnings, k)), text) == 0;
            if (!said)
                json_array_append_new(warnings, json_string(text));
        }
    return json_pack("{s:i,s:n,s:n,s:o}", "channels", (int)results[0].shot.sensor_count, "rate_hz", "length_s",
                     "warnings", warnings);
}

cw_status cw_photo_run(const cw_photo_result *results, const double *marked_s, size_t count,
                       const cw_shutter_plan *plan, cw_plan_result *result, cw_error *err)
{
    cw_shutter_plan own = *plan;
    cw_shot *shots = calloc(count > 0 ? count : 1, sizeof *shots);
    if (shots == NULL || count == 0) {
        free(shots);
        return cw_fail(err, CW_MEMORY, "no memory for %zu shots", count);
    }
    own.marks.count = 0; /* each shot carries its mark */
    own.measure.sensor_count = results[0].shot.sensor_count;
    for (size_t k = 0; k < own.measure.sensor_count; k++)
        own.measure.sensors_mm[k] = results[0].shot.sensors[k].position_mm;
    for (size_t i = 0; i < count; i++) {
        shots[i] = results[i].shot;
        shots[i].marked_s = marked_s[i];
        shots[i].at_s = (double)i;
    }
    cw_status status = cw_plan_run_shots(&own, shots, count, recording_of(results, count), result, err);
    free(shots);
    return status;
}
