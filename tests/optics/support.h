/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the optics tests share: reading the lenses of tests/data/lenses. */
#ifndef CW_TESTS_OPTICS_SUPPORT_H
#define CW_TESTS_OPTICS_SUPPORT_H

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "base/file.h"
#include "optics/lens.h"
#include "support/check.h"

/* The whole file with its reference figures; the caller decrefs. */
static inline json_t *load_reference(const char *name)
{
    char relative[256], path[4096];
    snprintf(relative, sizeof relative, "tests/data/lenses/%s.json", name);
    check_path(relative, path, sizeof path);
    json_error_t where;
    json_t *root = json_load_file(path, 0, &where);
    if (root == NULL)
        fail_msg("%s: %s", path, where.text);
    return root;
}

static inline double real_at(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    if (!json_is_number(value))
        fail_msg("no number at \"%s\"", key);
    return json_number_value(value);
}

static inline cw_lens load_lens(const char *name)
{
    char relative[256], path[4096], *bytes;
    size_t count;
    cw_error err;
    cw_lens lens;
    snprintf(relative, sizeof relative, "tests/data/lenses/%s.json", name);
    check_path(relative, path, sizeof path);
    assert_ok(cw_read_file(path, 1 << 20, &bytes, &count, &err), &err);
    assert_ok(cw_lens_from_json(bytes, count, &lens, &err), &err);
    free(bytes);
    return lens;
}

/* Every lens there is, with figures of a general-purpose optical library beside. */
static const char *const every_lens[] = {
    "singlet-plano-convex",        "doublet-cemented-textbook", "doublet-air-spaced-telescope",
    "triplet-textbook-handworked", "four-three-1903",           "five-three-symmetric-1902",
    "six-three-fast-normal",       "double-gauss-six-four",     "four-meniscus-wide",
    "retrofocus-four-four",        "telephoto-five-four",       "triplet-f5",
    "five-element-two-cemented",   "double-gauss-f5",           "telephoto-f56",
};

#endif
