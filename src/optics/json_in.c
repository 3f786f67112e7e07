/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "optics/json_in.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

cw_status cw_json_load(const char *bytes, size_t count, size_t ceiling, const char *what, json_t **root, cw_error *err)
{
    if (count > ceiling)
        return cw_fail(err, CW_RANGE, "%zu bytes; %s in JSON has at most %zu", count, what, ceiling);
    json_error_t where;
    json_t *loaded = json_loadb(bytes, count, JSON_REJECT_DUPLICATES, &where);
    if (loaded == NULL)
        return cw_fail(err, CW_INPUT, "not JSON that can be read as %s: line %d, column %d: %s", what, where.line,
                       where.column, where.text);
    if (!json_is_object(loaded)) {
        json_decref(loaded);
        return cw_fail(err, CW_INPUT, "%s must be one JSON object in braces", what);
    }
    *root = loaded;
    return CW_OK;
}

cw_status cw_json_form(const json_t *root, const char *form, cw_error *err)
{
    const json_t *named = json_object_get(root, "form");
    if (named == NULL)
        named = json_object_get(root, "format");
    if (!json_is_string(named))
        return cw_fail(err, CW_INPUT, "no \"form\" is named; expected \"form\": \"%s\"", form);
    if (strcmp(json_string_value(named), form) != 0)
        return cw_fail(err, CW_NOT_MINE, "the form is \"%s\"; expected \"%s\"", json_string_value(named), form);
    return CW_OK;
}

cw_status cw_json_units_mm(const json_t *root, cw_error *err)
{
    const json_t *units = json_object_get(root, "units");
    if (units == NULL)
        return CW_OK;
    if (!json_is_string(units) || strcmp(json_string_value(units), "mm") != 0)
        return cw_fail(err, CW_INPUT,
                       "\"units\" is %s%s%s; this form is in mm throughout. Convert the lengths and say "
                       "\"mm\"",
                       json_is_string(units) ? "\"" : "",
                       json_is_string(units) ? json_string_value(units) : "not a text",
                       json_is_string(units) ? "\"" : "");
    return CW_OK;
}

cw_status cw_json_number(const json_t *object, const char *key, double missing, double *value, cw_error *err)
{
    const json_t *found = json_object_get(object, key);
    if (found == NULL || json_is_null(found)) {
        *value = missing;
        return CW_OK;
    }
    if (json_is_string(found))
        return cw_fail(err, CW_INPUT, "\"%s\" is the text \"%s\"; expected a plain number without quotes or unit", key,
                       json_string_value(found));
    if (!json_is_number(found) || !isfinite(json_number_value(found)))
        return cw_fail(err, CW_INPUT, "\"%s\" is not a number", key);
    *value = json_number_value(found);
    return CW_OK;
}

void cw_json_text(const json_t *object, const char *key, char *out, size_t size)
{
    const char *text = json_string_value(json_object_get(object, key));
    snprintf(out, size, "%s", text != NULL ? text : "");
}
