/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/word_reader.h"

#include <string.h>

/* As isspace in the C locale, without the call. */
static inline bool is_blank(char c)
{
    return c == ' ' || (c >= '\t' && c <= '\r');
}

/* Keeps the buffer from byte `from` on, at its start, and reads on behind it; false when there is no more. */
static bool refill(cw_word_reader *w, size_t from)
{
    size_t kept = w->end - from;
    memmove(w->buffer, w->buffer + from, kept);
    size_t got = fread(w->buffer + kept, 1, CW_WORD_BUFFER - kept, w->file);
    w->at = 0;
    w->end = kept + got;
    return got > 0;
}

/* Blanks, and the mark of the byte order that some editors write, up to a word; false when the file ends first. */
static bool skip_blanks(cw_word_reader *w)
{
    for (;;) {
        for (; w->at < w->end; w->at++) {
            char c = w->buffer[w->at];
            if (!is_blank(c) && c != '\xef' && c != '\xbb' && c != '\xbf')
                return true;
            w->line += c == '\n';
        }
        if (!refill(w, w->end))
            return false;
    }
}

bool cw_next_word(cw_word_reader *w)
{
    w->line += w->line_ends;
    w->line_ends = w->is_last = false;
    w->word = "";
    w->length = 0;
    if (!skip_blanks(w))
        return false;
    size_t first = w->at, i = first;
    for (;;) {
        while (i < w->end && !is_blank(w->buffer[i]))
            i++;
        if (i < w->end || i - first >= CW_WORD_MOST)
            break;
        bool more = refill(w, first);
        i -= first;
        first = 0;
        if (!more)
            break;
    }
    w->is_last = i == w->end;
    w->line_ends = i < w->end && w->buffer[i] == '\n';
    w->length = i - first < CW_WORD_MOST ? i - first : CW_WORD_MOST;
    w->word = w->buffer + first;
    w->buffer[i] = '\0';
    w->at = i < w->end ? i + 1 : i;
    return true;
}
