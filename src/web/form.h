/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What came in a query string or a form: names and values, in the order they came, bounded in every direction. */
#ifndef CW_WEB_FORM_H
#define CW_WEB_FORM_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

enum {
    CW_FORM_FIELDS_MOST = 2048,
    CW_FORM_NAME_MOST = 96,
    CW_FORM_VALUE_MOST = 64 * 1024,
    CW_FORM_BYTES_MOST = 512 * 1024 /* names and values together */
};

typedef struct {
    char *name, *value; /* both terminated, valid UTF-8, without a NUL inside */
} cw_form_entry;

typedef struct {
    size_t count, capacity, bytes;
    cw_form_entry *entries;
} cw_form;

void cw_form_free(cw_form *form); /* leaves an empty form */

/* Adds a copy, line ends CR LF as LF. CW_RANGE over one of the limits above, CW_INPUT for a NUL or what is not UTF-8;
 * the sentence names the field and the limit. */
cw_status cw_form_add(cw_form *form, const char *name, size_t name_length, const char *value, size_t value_length,
                      cw_error *err) __attribute__((warn_unused_result));

/* application/x-www-form-urlencoded (WHATWG URL, 5.1): "a=1&b=x+y%20z". A percent sign without two hex digits stays as
 * it is. Adds to what is there. */
cw_status cw_form_decode(cw_form *form, const char *text, size_t length, cw_error *err)
    __attribute__((warn_unused_result));

/* The first value of that name, NULL when there is none. */
const char *cw_form_get(const cw_form *form, const char *name);

/* The whole of it is UTF-8. */
bool cw_is_text(const char *text);

/* %XX and, when `plus` is set, + to a space; at most *length bytes into out (which may be the text itself). Returns the
 * length written. */
size_t cw_percent_decode(const char *text, size_t length, bool plus, char *out);

#endif
