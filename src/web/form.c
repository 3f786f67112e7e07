/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/form.h"

#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "base/utf8.h"

void cw_form_free(cw_form *form)
{
    for (size_t i = 0; i < form->count; i++) {
        free(form->entries[i].name);
        free(form->entries[i].value);
    }
    free(form->entries);
    *form = (cw_form){0};
}

bool cw_is_text(const char *text)
{
    uint32_t code;
    for (size_t length = cw_utf8_next(text, &code); length > 0; length = cw_utf8_next(text, &code)) {
        if (code == 0xFFFD && length == 1)
            return false;
        text += length;
    }
    return true;
}

static char *copy_bytes(const char *bytes, size_t length)
{
    char *copy = malloc(length + 1);
    if (copy == NULL)
        return NULL;
    if (length > 0)
        memcpy(copy, bytes, length);
    copy[length] = '\0';
    return copy;
}

/* Browsers send the line ends of a text area as CR LF; notes are kept with LF. */
static void plain_line_ends(char *text)
{
    char *to = text;
    for (const char *from = text; *from != '\0'; from++)
        if (!(from[0] == '\r' && from[1] == '\n'))
            *to++ = *from;
    *to = '\0';
}

static cw_status check_limits(const cw_form *form, const char *name, size_t name_length, size_t value_length,
                              cw_error *err)
{
    int shown = name_length > 40 ? 40 : (int)name_length;
    if (form->count >= CW_FORM_FIELDS_MOST)
        return cw_fail(err, CW_RANGE, "the form has more than %d fields; send it in parts", CW_FORM_FIELDS_MOST);
    if (name_length > CW_FORM_NAME_MOST)
        return cw_fail(err, CW_RANGE, "a field name of %zu bytes (\"%.*s...\"); at most %d are taken", name_length,
                       shown, name, CW_FORM_NAME_MOST);
    if (value_length > CW_FORM_VALUE_MOST)
        return cw_fail(err, CW_RANGE, "the field \"%.*s\" holds %zu bytes; at most %d are taken: shorten it", shown,
                       name, value_length, CW_FORM_VALUE_MOST);
    if (form->bytes + name_length + value_length > CW_FORM_BYTES_MOST)
        return cw_fail(err, CW_RANGE, "the form holds more than %d bytes; send it in parts", CW_FORM_BYTES_MOST);
    return CW_OK;
}

cw_status cw_form_add(cw_form *form, const char *name, size_t name_length, const char *value, size_t value_length,
                      cw_error *err)
{
    CW_TRY(check_limits(form, name, name_length, value_length, err));
    cw_form_entry entry = {copy_bytes(name, name_length), copy_bytes(value, value_length)};
    cw_status status = CW_OK;
    if (entry.name == NULL || entry.value == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory for a form field of %zu bytes", value_length);
    else if (strlen(entry.name) != name_length || !cw_is_text(entry.name))
        status = cw_fail(err, CW_INPUT, "a field name is not readable text (UTF-8)");
    else if (strlen(entry.value) != value_length || !cw_is_text(entry.value))
        status = cw_fail(err, CW_INPUT, "the field \"%.40s\" is not readable text (UTF-8)", entry.name);
    else
        status = cw_grow(&form->entries, &form->capacity, form->count + 1, sizeof *form->entries, CW_FORM_FIELDS_MOST,
                         "form fields", err);
    if (status != CW_OK) {
        free(entry.name);
        free(entry.value);
        return status;
    }
    plain_line_ends(entry.value);
    form->entries[form->count++] = entry;
    form->bytes += name_length + value_length;
    return CW_OK;
}

static int hex_digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    if (c >= 'A' && c <= 'F')
        return c - 'A' + 10;
    return -1;
}

size_t cw_percent_decode(const char *text, size_t length, bool plus, char *out)
{
    size_t written = 0;
    for (size_t i = 0; i < length; i++) {
        char c = text[i];
        if (c == '%' && length - i > 2 && hex_digit(text[i + 1]) >= 0 && hex_digit(text[i + 2]) >= 0) {
            c = (char)(hex_digit(text[i + 1]) * 16 + hex_digit(text[i + 2]));
            i += 2;
        } else if (plus && c == '+') {
            c = ' ';
        }
        out[written++] = c;
    }
    return written;
}

static cw_status decode_pair(cw_form *form, const char *pair, size_t length, char *scratch, cw_error *err)
{
    const char *equals = memchr(pair, '=', length);
    size_t raw_name = equals == NULL ? length : (size_t)(equals - pair);
    size_t raw_value = equals == NULL ? 0 : length - raw_name - 1;
    size_t name_length = cw_percent_decode(pair, raw_name, true, scratch);
    char *value = scratch + name_length;
    size_t value_length = raw_value == 0 ? 0 : cw_percent_decode(equals + 1, raw_value, true, value);
    return cw_form_add(form, scratch, name_length, value, value_length, err);
}

cw_status cw_form_decode(cw_form *form, const char *text, size_t length, cw_error *err)
{
    char *scratch = malloc(length + 1);
    if (scratch == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a form of %zu bytes", length);
    cw_status status = CW_OK;
    size_t start = 0;
    while (start < length && status == CW_OK) {
        const char *end = memchr(text + start, '&', length - start);
        size_t part = end == NULL ? length - start : (size_t)(end - (text + start));
        if (part > 0)
            status = decode_pair(form, text + start, part, scratch, err);
        start += part + 1;
    }
    free(scratch);
    return status;
}

const char *cw_form_get(const cw_form *form, const char *name)
{
    for (size_t i = 0; i < form->count; i++)
        if (strcmp(form->entries[i].name, name) == 0)
            return form->entries[i].value;
    return NULL;
}
