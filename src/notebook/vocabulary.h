/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only: the words of the search index, for endings and misspellings. */
#ifndef CW_NOTEBOOK_VOCABULARY_H
#define CW_NOTEBOOK_VOCABULARY_H

#include "notebook/store.h"

enum { VOCABULARY_WORD = 128, VOCABULARY_NEAR_MOST = 8, VOCABULARY_ENDINGS_MOST = 24 };

typedef struct {
    const char *text; /* as in the index: small letters without accents */
    const char *stem; /* the same without its ending; English endings (Porter 1980), other languages mostly unchanged */
    int64_t documents; /* that hold it */
} vocabulary_word;

struct store_vocabulary {
    size_t count;
    vocabulary_word *words;       /* in the order of bytes */
    int64_t seen_other, seen_own; /* what SQLite's two counters said when it was read */
    void *held;
};

/* The words as they are now; read again when anything was written since. Stays the bench's. */
cw_status vocabulary_of(cw_bench *bench, const store_vocabulary **vocabulary, cw_error *err)
    __attribute__((warn_unused_result));
void vocabulary_free(store_vocabulary *vocabulary); /* NULL is fine */

/* The words of a text as the index sees them, each VOCABULARY_WORD bytes; `stemmed` without their endings. *count is
 * how many there are, of which at most `most` were written. */
cw_status vocabulary_split(cw_bench *bench, const char *text, bool stemmed, char (*words)[VOCABULARY_WORD], size_t most,
                           size_t *count, cw_error *err) __attribute__((warn_unused_result));

/* Words with this stem that do not begin with `word`: "screw" for "screws". */
size_t vocabulary_endings(const store_vocabulary *vocabulary, const char *word, const char *stem,
                          const vocabulary_word *found[VOCABULARY_ENDINGS_MOST]);
/* Words that begin nearly like this one, the nearest and most used first. */
size_t vocabulary_near(const store_vocabulary *vocabulary, const char *word,
                       const vocabulary_word *found[VOCABULARY_NEAR_MOST]);

#endif
