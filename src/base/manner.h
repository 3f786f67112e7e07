/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How one reader wants words, numbers, lengths and dates written. It belongs to the thread that writes for that reader,
 * for as long as it writes (as uselocale does; nothing is process-wide, and nothing calls setlocale). Without one, and
 * that is everywhere but in a page being written, things are written plain: English, decimal point, millimetres,
 * 2026-11-25. JSON, files and what is stored are always plain. */
#ifndef CW_BASE_MANNER_H
#define CW_BASE_MANNER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/sentences.h"
#include "base/words.h"

typedef enum { CW_DATES_PLAIN, CW_DATES_DAY_FIRST, CW_DATES_MONTH_FIRST } cw_dates;

typedef struct {
    const cw_words *words;         /* NULL: English */
    const cw_sentences *sentences; /* of the same language, or of any where only numbers change; NULL: they stay */
    bool comma;                    /* 12,35 instead of 12.35 */
    bool inches;                   /* lengths that would be shown in mm */
    cw_dates dates;                /* 2026-11-25, 25.11.2026 or 11/25/2026 */
} cw_manner;

/* The manner of this thread, never NULL. */
const cw_manner *cw_manner_now(void);
/* Makes it this thread's until the next call; NULL = plain. It stays the caller's. Returns the one before. */
const cw_manner *cw_manner_use(const cw_manner *manner);

/* A text of the program in the reader's words: its translation, else the text itself. A text that does not lie in the
 * program's own constants (what a person typed, what was computed) is never looked up. NULL gives NULL. */
const char *cw_words_of(const char *text);
/* The same for a printf format; a translation with other arguments is not taken. Print it with cw_say (base/say.h),
 * which follows "%2$s". */
const char *cw_words_format(const char *format);
/* Appends a finished sentence that a room below composed, in the reader's words, numbers and lengths. False, and
 * nothing appended, where it stays as it is. */
bool cw_sentence_of(const char *text, cw_buf *out);
/* Whether this thread writes for no reader in particular. */
bool cw_manner_is_plain(void);

/* "2026-11-25" or "2026-11-25 09:40" as the reader writes it. False, and nothing written, for any other text or when
 * plain. */
bool cw_date_text(const char *plain, char *out, size_t size);

/* Points between digits become commas where the reader wants that. */
void cw_comma_digits(char *text);

#endif
