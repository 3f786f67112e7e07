/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small strict readers for the optics forms in JSON; every refusal names the key and shows what came. */
#ifndef CW_OPTICS_JSON_IN_H
#define CW_OPTICS_JSON_IN_H

#include <jansson.h>
#include <stddef.h>

#include "base/error.h"

/* Parses `count` bytes into *root (the caller's to decref). CW_RANGE above `ceiling` bytes; CW_INPUT with line and
 * column when it is not JSON, repeats a key or is not an object; `what` names the thing expected ("a lens"). */
cw_status cw_json_load(const char *bytes, size_t count, size_t ceiling, const char *what, json_t **root, cw_error *err)
    __attribute__((warn_unused_result));

/* "form" (or "format") must be `form`; CW_NOT_MINE when another is named, CW_INPUT when none is. */
cw_status cw_json_form(const json_t *root, const char *form, cw_error *err) __attribute__((warn_unused_result));

/* "units", when given, must be mm: the keys carry the unit and a factor is never guessed. */
cw_status cw_json_units_mm(const json_t *root, cw_error *err) __attribute__((warn_unused_result));

/* The number at `key`; `missing` when the key is absent or null. CW_INPUT when it is there but no finite number. */
cw_status cw_json_number(const json_t *object, const char *key, double missing, double *value, cw_error *err)
    __attribute__((warn_unused_result));

/* The text at `key`, cut at size; "" when absent or no text. */
void cw_json_text(const json_t *object, const char *key, char *out, size_t size);

#endif
