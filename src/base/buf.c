/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/buf.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

cw_buf cw_buf_new(size_t ceiling)
{
    return (cw_buf){.ceiling = ceiling};
}

void cw_buf_free(cw_buf *buf)
{
    if (buf == NULL)
        return;
    free(buf->text);
    *buf = cw_buf_new(buf->ceiling);
}

/* Room for `more` bytes and the terminator; false, and remembered, when there is none. */
static bool reserve(cw_buf *buf, size_t more)
{
    if (buf->failed || more > buf->ceiling - buf->length) {
        buf->failed = true;
        return false;
    }
    size_t need = buf->length + more + 1;
    if (need <= buf->capacity)
        return true;
    size_t capacity = buf->capacity < 128 ? 128 : buf->capacity;
    while (capacity < need)
        capacity *= 2;
    char *grown = realloc(buf->text, capacity);
    if (grown == NULL) {
        buf->failed = true;
        return false;
    }
    buf->text = grown;
    buf->capacity = capacity;
    return true;
}

void cw_buf_add(cw_buf *buf, const char *bytes, size_t count)
{
    if (count == 0 || !reserve(buf, count))
        return;
    memcpy(buf->text + buf->length, bytes, count);
    buf->length += count;
    buf->text[buf->length] = '\0';
}

void cw_buf_text(cw_buf *buf, const char *text)
{
    cw_buf_add(buf, text, strlen(text));
}

void cw_buf_char(cw_buf *buf, char c)
{
    cw_buf_add(buf, &c, 1);
}

void cw_buf_printf(cw_buf *buf, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    cw_buf_vprintf(buf, format, args);
    va_end(args);
}

void cw_buf_vprintf(cw_buf *buf, const char *format, va_list args)
{
    va_list again;
    va_copy(again, args);
    int wanted = vsnprintf(NULL, 0, format, again);
    va_end(again);
    if (wanted < 0) {
        buf->failed = true;
        return;
    }
    if (wanted == 0 || !reserve(buf, (size_t)wanted))
        return;
    vsnprintf(buf->text + buf->length, (size_t)wanted + 1, format, args);
    buf->length += (size_t)wanted;
}

const char *cw_buf_string(const cw_buf *buf)
{
    return buf->text == NULL ? "" : buf->text;
}

cw_status cw_buf_check(const cw_buf *buf, const char *what, cw_error *err)
{
    if (buf->failed)
        return cw_fail(err, CW_MEMORY, "%s does not fit in %zu bytes of memory", what, buf->ceiling);
    return CW_OK;
}

cw_status cw_buf_take(cw_buf *buf, char **text, cw_error *err)
{
    CW_TRY(cw_buf_check(buf, "the text", err));
    char *taken = buf->text != NULL ? buf->text : calloc(1, 1);
    if (taken == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a text");
    *buf = cw_buf_new(buf->ceiling);
    *text = taken;
    return CW_OK;
}

cw_status cw_grow(void *items_pointer, size_t *capacity, size_t need, size_t size, size_t ceiling, const char *what,
                  cw_error *err)
{
    if (need > ceiling)
        return cw_fail(err, CW_RANGE, "more than %zu %s; that is the most that can be held", ceiling, what);
    if (need <= *capacity)
        return CW_OK;
    size_t grown = *capacity < 8 ? 8 : *capacity;
    while (grown < need)
        grown *= 2;
    if (grown > ceiling)
        grown = ceiling;
    void *items;
    memcpy(&items, items_pointer, sizeof items); /* the caller's pointer has its own type */
    void *moved = reallocarray(items, grown, size);
    if (moved == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu %s", grown, what);
    memcpy(items_pointer, &moved, sizeof moved);
    *capacity = grown;
    return CW_OK;
}

char *cw_copy_text(const char *text)
{
    return text == NULL ? NULL : strdup(text);
}
