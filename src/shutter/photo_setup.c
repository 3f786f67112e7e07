/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How two photographs were taken, as a form or a command line says it and as a test keeps it. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/unit.h"
#include "shutter/marks.h"
#include "shutter/photo_pair.h"

const char *const cw_photo_setup_keys[CW_PHOTO_SETUP_KEYS] = {"travel", "gate", "reference-time", "places"};

static cw_status set_travel(cw_photo_setup *setup, const char *text, cw_error *err)
{
    if (cw_photo_travel_find(text, &setup->travel))
        return CW_OK;
    return cw_fail(err, CW_INPUT, "the curtains run right, left, down or up in the picture, not \"%.20s\"", text);
}

/* "0.1,0.12,0.9,0.88" */
static cw_status set_gate(cw_photo_setup *setup, const char *text, cw_error *err)
{
    char rest;
    if (sscanf(text, "%lf,%lf,%lf,%lf%c", &setup->left, &setup->top, &setup->right, &setup->bottom, &rest) == 4)
        return CW_OK;
    return cw_fail(err, CW_INPUT,
                   "the film gate \"%.40s\": left, top, right, bottom as parts of the picture, such as "
                   "0.1,0.12,0.9,0.88",
                   text);
}

static cw_status set_reference_time(cw_photo_setup *setup, const char *text, cw_error *err)
{
    CW_TRY(cw_parse_measure(text, CW_TIME, "s", &setup->reference_s, err));
    if (!(setup->reference_s > 0))
        return cw_fail(err, CW_INPUT, "\"%.20s\" is no exposure time of the reference", text);
    return CW_OK;
}

static cw_status set_places(cw_photo_setup *setup, const char *text, cw_error *err)
{
    long count;
    CW_TRY(cw_parse_whole(text, 1, CW_SENSORS_MOST, &count, err));
    setup->places = (size_t)count;
    return CW_OK;
}

cw_status cw_photo_setup_set(cw_photo_setup *setup, const char *key, const char *text, cw_error *err)
{
    static cw_status (*const set[CW_PHOTO_SETUP_KEYS])(cw_photo_setup *, const char *, cw_error *) = {
        set_travel, set_gate, set_reference_time, set_places};
    for (size_t i = 0; i < CW_PHOTO_SETUP_KEYS; i++)
        if (strcmp(key, cw_photo_setup_keys[i]) == 0)
            return set[i](setup, text, err);
    return cw_fail(err, CW_INPUT, "two photographs have no \"%.40s\"", key);
}

/* ---- as a test keeps it ---- */

static void mark_key(size_t pair, char key[static 32])
{
    snprintf(key, 32, "mark.%zu", pair + 1);
}

json_t *cw_photo_setup_json(const cw_photo_setup *setup, const double *marked_s, size_t count)
{
    char text[96], key[32];
    json_t *object = json_pack("{s:s,s:s}", "format", "camerawright.photographs-setup/1", "travel",
                               cw_photo_travel_name(setup->travel));
    if (setup->right > 0) {
        snprintf(text, sizeof text, "%.4g,%.4g,%.4g,%.4g", setup->left, setup->top, setup->right, setup->bottom);
        json_object_set_new(object, "gate", json_string(text));
    }
    if (!isnan(setup->reference_s)) {
        snprintf(text, sizeof text, "%.9g", setup->reference_s);
        json_object_set_new(object, "reference-time", json_string(text));
    }
    if (setup->places > 0) {
        snprintf(text, sizeof text, "%zu", setup->places);
        json_object_set_new(object, "places", json_string(text));
    }
    for (size_t i = 0; i < count; i++) {
        mark_key(i, key);
        cw_mark_text(marked_s[i], text, sizeof text);
        json_object_set_new(object, key, json_string(text));
    }
    return object;
}

cw_status cw_photo_setup_from_json(const json_t *object, double frame_mm, cw_photo_setup *setup, double *marked_s,
                                   size_t count, cw_error *err)
{
    *setup = (cw_photo_setup){.frame_mm = frame_mm, .reference_s = NAN, .u_reference_relative = NAN};
    for (size_t i = 0; i < CW_PHOTO_SETUP_KEYS; i++) {
        const char *text = json_string_value(json_object_get(object, cw_photo_setup_keys[i]));
        if (text != NULL)
            CW_TRY(cw_photo_setup_set(setup, cw_photo_setup_keys[i], text, err));
    }
    for (size_t i = 0; i < count; i++) {
        char key[32];
        mark_key(i, key);
        const char *text = json_string_value(json_object_get(object, key));
        marked_s[i] = NAN;
        if (text != NULL)
            CW_TRY(cw_mark_parse(text, &marked_s[i], err));
    }
    return CW_OK;
}
