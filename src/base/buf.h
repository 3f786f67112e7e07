/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A growing text with a ceiling. After a failure (no memory, over the ceiling) it keeps what it had, takes no more and
 * remembers, so that a writer appends without checks and asks once at the end. */
#ifndef CW_BASE_BUF_H
#define CW_BASE_BUF_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

typedef struct {
    char *text; /* always terminated once anything was appended; NULL before */
    size_t length, capacity, ceiling;
    bool failed;
} cw_buf;

/* Starts empty; nothing is allocated yet. `ceiling` is the largest length in bytes, without the terminator. */
cw_buf cw_buf_new(size_t ceiling);
void cw_buf_free(cw_buf *buf); /* frees the text and leaves an empty buffer; NULL is fine */

void cw_buf_add(cw_buf *buf, const char *bytes, size_t count);
void cw_buf_text(cw_buf *buf, const char *text);
void cw_buf_char(cw_buf *buf, char c);
void cw_buf_printf(cw_buf *buf, const char *format, ...) __attribute__((format(printf, 2, 3)));
void cw_buf_vprintf(cw_buf *buf, const char *format, va_list args);

/* The text so far, "" when nothing was appended. Stays the buffer's. */
const char *cw_buf_string(const cw_buf *buf);

/* Hands the text over to the caller, who frees it with free(). CW_MEMORY when any append had failed. */
cw_status cw_buf_take(cw_buf *buf, char **text, cw_error *err) __attribute__((warn_unused_result));

/* CW_MEMORY when any append had failed, with a sentence that names `what`. */
cw_status cw_buf_check(const cw_buf *buf, const char *what, cw_error *err) __attribute__((warn_unused_result));

/* Makes room for `need` items of `size` bytes in *items (NULL at first), doubling *capacity.
 * CW_RANGE over `ceiling` items, with a sentence that names `what`; CW_MEMORY without memory. */
cw_status cw_grow(void *items_pointer, size_t *capacity, size_t need, size_t size, size_t ceiling, const char *what,
                  cw_error *err) __attribute__((warn_unused_result));

/* A copy of the text for free(), NULL without memory. NULL gives NULL. */
char *cw_copy_text(const char *text);

#endif
