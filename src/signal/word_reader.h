/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A text file word by word, through a buffer of its own: a byte costs no call. */
#ifndef CW_SIGNAL_WORD_READER_H
#define CW_SIGNAL_WORD_READER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/* Words as long as this, or longer, are cut. */
enum { CW_WORD_MOST = 4096, CW_WORD_BUFFER = 1 << 16 };

/* Starts as zeros but for `file`, which stays the caller's, and `line`, the number of its first. */
typedef struct {
    FILE *file;
    size_t line;      /* that the word stands in */
    const char *word; /* in the buffer, until the next is asked for */
    size_t length;    /* CW_WORD_MOST: it was cut */
    bool is_last;     /* the file ends with the word, not with a blank or a line end behind it */
    bool line_ends;   /* with the word */
    size_t at, end;   /* read on from here; the bytes that are there */
    char buffer[CW_WORD_BUFFER + 1];
} cw_word_reader;

/* The next word, true; false, and an empty one, at the end of the file or where it cannot be read (ferror of `file`).
 * Between words are blanks and line ends, and marks of the byte order as some editors write them. */
bool cw_next_word(cw_word_reader *reader);

#endif
