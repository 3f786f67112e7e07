/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Behind base/sentences: a finished text against the format it may have been printed with. */
#ifndef CW_BASE_SENTENCE_MATCH_H
#define CW_BASE_SENTENCE_MATCH_H

#include "base/conversion.h"

typedef struct {
    const char *start;
    size_t length;
} cw_captured;

/* Calls `way` with the arguments for every way in which the text could have come out of the format. Numbers are as long
 * as they can be; texts are tried at every length. Stops when *work reaches `most`. */
void cw_sentence_match(const char *format, const char *text, size_t length, size_t *work, size_t most,
                       void (*way)(void *context, const cw_captured *args), void *context);

/* Which arguments of a format are lengths in mm: " mm" behind it, or behind the next one that it is joined to ("%.1f to
 * %.1f mm"). `conversions`, by place too; NULL: not wanted. The format has no stars. */
void cw_format_lengths(const char *format, bool lengths[CW_CONVERSIONS_MOST], cw_conversion *conversions);

#endif
