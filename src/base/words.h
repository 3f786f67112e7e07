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

/* Whether it is a text of the program, translated or not. A catalogue in the program knows all of them. */
bool cw_words_know(const cw_words *words, const char *text, size_t length);
/* Entry by index, in the order of the originals; *translation NULL when there is none. */
void cw_words_entry(const cw_words *words, size_t index, const char **original, const char **translation);

/* Whether both formats take the same arguments: only then may one stand for the other. "%2$s %1$s" takes those of
 * "%s %s" in another order. */
bool cw_words_same_arguments(const char *format, const char *other);

#endif
