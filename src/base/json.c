/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/json.h"

static void drop_signs_of_zero(json_t *json)
{
    const char *key;
    json_t *value;
    size_t index;
    if (json_is_real(json) && json_real_value(json) == 0)
        json_real_set(json, 0);
    json_object_foreach(json, key, value)
    {
        drop_signs_of_zero(value);
    }
    json_array_foreach(json, index, value)
    {
        drop_signs_of_zero(value);
    }
}

char *cw_json_written(json_t *json, cw_json_form form)
{
    static const size_t flags[] = {[CW_JSON_GIVEN] = JSON_INDENT(1) | JSON_REAL_PRECISION(15),
                                   [CW_JSON_GIVEN_LINE] = JSON_COMPACT | JSON_REAL_PRECISION(15),
                                   [CW_JSON_KEPT] = JSON_COMPACT,
                                   [CW_JSON_KEPT_LINES] = JSON_INDENT(1)};
    if (json == NULL)
        return NULL;
    drop_signs_of_zero(json);
    return json_dumps(json, flags[form]);
}
