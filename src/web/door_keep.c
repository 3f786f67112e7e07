/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/door_keep.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/json.h"

enum { KEPT_FILE_MOST = 256 * 1024 };

static bool take_device(json_t *object, cw_kept_device *device)
{
    json_int_t id, paired_at, seen_at;
    const char *name, *hash;
    if (json_unpack(object, "{s:I,s:s,s:s,s:I,s:I}", "id", &id, "name", &name, "hash", &hash, "paired_at", &paired_at,
                    "seen_at", &seen_at) != 0 ||
        strlen(hash) != CW_SESSION_TEXT - 1 || id <= 0)
        return false;
    *device = (cw_kept_device){.id = id, .paired_at = paired_at, .seen_at = seen_at};
    snprintf(device->name, sizeof device->name, "%s", name);
    snprintf(device->hash, sizeof device->hash, "%s", hash);
    return true;
}

static bool take_file(json_t *root, cw_kept_devices *devices)
{
    const char *format;
    json_int_t last_id;
    json_t *list;
    if (json_unpack(root, "{s:s,s:I,s:o}", "format", &format, "last_id", &last_id, "devices", &list) != 0 ||
        strcmp(format, "camerawright.door/1") != 0 || json_array_size(list) > CW_DEVICES_MOST)
        return false;
    devices->last_id = last_id;
    size_t index;
    json_t *item;
    json_array_foreach(list, index, item)
    {
        if (!take_device(item, &devices->items[devices->count++]))
            return false;
    }
    return true;
}

cw_status cw_kept_load(const char *path, cw_kept_devices *devices, cw_error *err)
{
    if (access(path, F_OK) != 0)
        return CW_OK;
    char *bytes = NULL;
    size_t count = 0;
    CW_TRY(cw_read_file(path, KEPT_FILE_MOST, &bytes, &count, err));
    json_error_t where;
    json_t *root = json_loadb(bytes, count, JSON_REJECT_DUPLICATES, &where);
    free(bytes);
    cw_kept_devices read = {0};
    bool good = root != NULL && take_file(root, &read);
    json_decref(root);
    if (!good)
        return cw_fail(err, CW_INPUT,
                       "\"%s\" is damaged; remove it and start again (paired phones then pair once more)", path);
    *devices = read;
    return CW_OK;
}

cw_status cw_kept_save(const char *path, const cw_kept_devices *devices, cw_error *err)
{
    json_t *list = json_array();
    for (size_t i = 0; i < devices->count; i++) {
        const cw_kept_device *device = &devices->items[i];
        json_array_append_new(list, json_pack("{s:I,s:s,s:s,s:I,s:I}", "id", (json_int_t)device->id, "name",
                                              device->name, "hash", device->hash, "paired_at",
                                              (json_int_t)device->paired_at, "seen_at", (json_int_t)device->seen_at));
    }
    json_t *root = json_pack("{s:s,s:I,s:o}", "format", "camerawright.door/1", "last_id", (json_int_t)devices->last_id,
                             "devices", list);
    char *text = cw_json_written(root, CW_JSON_KEPT_LINES);
    json_decref(root);
    if (text == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to keep the paired devices");
    cw_status status = cw_write_file(path, text, strlen(text), err);
    free(text);
    return status;
}
