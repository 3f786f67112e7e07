/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/error.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"

/* A sentence that was cut must look cut. */
static void mark_if_cut(char *text, size_t size, int wanted)
{
    if (wanted >= 0 && (size_t)wanted >= size)
        memcpy(text + size - 4, "...", 4);
}

/* What came is quoted, and may be anything: control characters become spaces, and bytes that are no UTF-8, as where a
 * character was cut in two, question marks. So the sentence stays one line, and can stand in JSON. */
static void make_line(char *text)
{
    size_t step;
    for (uint32_t code; (step = cw_utf8_next(text, &code)) > 0; text += step) {
        bool broken = step == 1 && code > 0x7f, control = code < 0x20 || (code >= 0x7f && code < 0xa0);
        if (broken || control)
            memset(text, broken ? '?' : ' ', step);
    }
}

cw_status cw_fail(cw_error *err, cw_status status, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    int wanted = vsnprintf(err->text, sizeof err->text, format, args);
    va_end(args);
    mark_if_cut(err->text, sizeof err->text, wanted);
    make_line(err->text);
    err->status = status;
    return status;
}

void cw_context(cw_error *err, const char *format, ...)
{
    char where[CW_ERROR_TEXT];
    va_list args;
    va_start(args, format);
    int wanted = vsnprintf(where, sizeof where, format, args);
    va_end(args);
    mark_if_cut(where, sizeof where, wanted);

    char cause[CW_ERROR_TEXT];
    memcpy(cause, err->text, sizeof cause);
    wanted = snprintf(err->text, sizeof err->text, "%s: %s", where, cause);
    mark_if_cut(err->text, sizeof err->text, wanted);
    make_line(err->text);
}

int cw_exit_status(cw_status status)
{
    switch (status) {
    case CW_OK:
        return 0;
    case CW_INPUT:
    case CW_RANGE:
    case CW_NOT_MINE:
    case CW_NOT_FOUND:
    case CW_CONFLICT:
    case CW_REFUSED:
        return 2;
    case CW_MEMORY:
    case CW_FILE:
    case CW_STORE:
    case CW_DEVICE:
        break;
    }
    return 3;
}

const char *cw_status_name(cw_status status)
{
    static const char *const names[] = {
        [CW_OK] = "ok",
        [CW_INPUT] = "input",
        [CW_RANGE] = "range",
        [CW_NOT_MINE] = "not-mine",
        [CW_NOT_FOUND] = "not-found",
        [CW_CONFLICT] = "conflict",
        [CW_REFUSED] = "refused",
        [CW_MEMORY] = "memory",
        [CW_FILE] = "file",
        [CW_STORE] = "store",
        [CW_DEVICE] = "device",
    };
    return names[status];
}
