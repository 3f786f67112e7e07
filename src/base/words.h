/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A catalogue of translated words: a compiled gettext file (.mo) in memory. Looked up by the English text itself, so
 * that no call site knows of it. Nothing here is process-wide: who writes a page carries the catalogue of its reader.
 */
#ifndef CW_BASE_WORDS_H
#define CW_BASE_WORDS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

typedef struct cw_words cw_words;

/* Reads a .mo file, either byte order. Every offset and length is checked here, so that looking up needs no checks.
 *
 * bytes      stays the caller's and must outlive the catalogue; texts found point into it
 * CW_NOT_MINE  no .mo file; CW_INPUT damaged: cut off, a text outside the file, not terminated, or not sorted */
cw_status cw_words_read(const char *bytes, size_t count, cw_words **words, cw_error *err)
    __attribute__((warn_unused_result));
void cw_words_free(cw_words *words); /* NULL is fine */
size_t cw_words_count(const cw_words *words);

/* The translation of the `length` bytes at `text`, NULL when there is none (or words is NULL). */
const char *cw_words_find(const cw_words *words, const char *text, size_t length);

/* Whether both formats take the same arguments in the same order: only then may one stand for the other. */
bool cw_words_same_arguments(const char *format, const char *other);

#endif
