/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The file of the paired devices: {"format":"camerawright.door/1","last_id":3,"devices":[{"id":..,"name":..,
 * "hash":..,"paired_at":..,"seen_at":..}]}, times in seconds since 1970. */
#ifndef CW_WEB_DOOR_KEEP_H
#define CW_WEB_DOOR_KEEP_H

#include "web/door.h"

typedef struct {
    int64_t id, paired_at, seen_at;
    char name[CW_DEVICE_NAME], hash[CW_SESSION_TEXT];
} cw_kept_device;

typedef struct {
    size_t count;
    int64_t last_id;
    cw_kept_device items[CW_DEVICES_MOST];
} cw_kept_devices;

/* No file is no device. CW_INPUT for a file that is something else, with what to do. */
cw_status cw_kept_load(const char *path, cw_kept_devices *devices, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_kept_save(const char *path, const cw_kept_devices *devices, cw_error *err)
    __attribute__((warn_unused_result));

#endif
