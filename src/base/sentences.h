/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Finished English sentences told again in a reader's words. The rooms below compose English with printf and know of no
 * language; a face hands what they composed to this. A sentence is matched against the formats of the catalogue: the
 * literal parts must be there word for word, what stands where a conversion is becomes its argument, and the arguments
 * go into the translation, in its order.
 *
 *   "most at 1/125: sd 0.23 EV"  by  "most at %s: sd %.2f EV" = "am meisten bei %s: %.2f EV Streuung"
 *
 * Of several formats that fit, the one with the most literal letters counts (those of nested sentences with it). Where
 * two ways fit equally well and say different things, where a part is a text of the program that is not translated yet,
 * or where nothing fits, the sentence stays English as a whole.
 *   Arguments: a text argument that is a sentence, or texts of the program joined by commas, is told in its turn; what
 * stands in quotation marks is a person's and never is; numbers take the reader's decimal sign, lengths in mm the
 * reader's unit, dates the reader's form. A format of hardly any letters ("%s to %s") counts only where every argument
 * is known to be a figure or a text of the program, and several words that are not known must not outweigh the format.
 * An error's "where: what" is told in both parts. */
#ifndef CW_BASE_SENTENCES_H
#define CW_BASE_SENTENCES_H

#include "base/buf.h"
#include "base/words.h"

typedef struct cw_sentences cw_sentences;

/* Once per language. The catalogue stays the caller's and must outlive what is made. CW_MEMORY. */
cw_status cw_sentences_make(const cw_words *words, cw_sentences **sentences, cw_error *err)
    __attribute__((warn_unused_result));
void cw_sentences_free(cw_sentences *sentences); /* NULL is fine */

typedef struct {
    bool english; /* only numbers, lengths and dates change: the catalogue's originals stand for the translations */
    bool comma, inches;
} cw_telling;

/* Appends the text as told to `out` and returns true; false, and nothing appended, where it stays as it is. */
bool cw_sentences_tell(const cw_sentences *sentences, const cw_telling *telling, const char *text, cw_buf *out);

#endif
