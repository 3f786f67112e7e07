/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The .mo file: GNU gettext manual, "The Format of GNU MO Files" (from memory): magic, revision, number of texts,
 * offsets of two tables of (length, offset), one of originals in sorted order and one of translations; texts end in a
 * zero byte. */
#include "base/words.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/conversion.h"

enum { MO_MAGIC_LENGTH = 4, HEADER = 28, ENTRY = 8, TEXTS_MOST = 1000000 };

struct cw_words {
    const char *bytes;
    size_t size, count, originals, translations;
    bool big_end;
};

static uint32_t word_at(const cw_words *words, size_t at)
{
    const unsigned char *b = (const unsigned char *)words->bytes + at;
    if (words->big_end)
        return (uint32_t)b[0] << 24 | (uint32_t)b[1] << 16 | (uint32_t)b[2] << 8 | b[3];
    return (uint32_t)b[3] << 24 | (uint32_t)b[2] << 16 | (uint32_t)b[1] << 8 | b[0];
}

static const char *text_at(const cw_words *words, size_t table, size_t index, size_t *length)
{
    *length = word_at(words, table + ENTRY * index);
    return words->bytes + word_at(words, table + ENTRY * index + 4);
}

static bool text_fits(const cw_words *words, size_t table, size_t index)
{
    size_t length = word_at(words, table + ENTRY * index), at = word_at(words, table + ENTRY * index + 4);
    return at < words->size && length < words->size - at && words->bytes[at + length] == '\0';
}

static int compare(const char *a, size_t a_length, const char *b, size_t b_length)
{
    int order = memcmp(a, b, a_length < b_length ? a_length : b_length);
    return order != 0 ? order : a_length < b_length ? -1 : a_length > b_length;
}

static cw_status check(const cw_words *words, cw_error *err)
{
    size_t table = words->count * ENTRY;
    if (words->originals > words->size || words->translations > words->size || table > words->size - words->originals ||
        table > words->size - words->translations)
        return cw_fail(err, CW_INPUT, "the catalogue is cut off: its tables of %zu texts do not fit into %zu bytes",
                       words->count, words->size);
    for (size_t i = 0; i < words->count; i++) {
        if (!text_fits(words, words->originals, i) || !text_fits(words, words->translations, i))
            return cw_fail(err, CW_INPUT, "text %zu of the catalogue lies outside the file or does not end", i + 1);
        size_t length, before_length;
        const char *text = text_at(words, words->originals, i, &length);
        if (i == 0)
            continue;
        const char *before = text_at(words, words->originals, i - 1, &before_length);
        if (compare(before, before_length, text, length) >= 0)
            return cw_fail(err, CW_INPUT, "text %zu of the catalogue is out of order", i + 1);
    }
    return CW_OK;
}

cw_status cw_words_read(const char *bytes, size_t count, cw_words **words, cw_error *err)
{
    static const char little[] = "\xde\x12\x04\x95", big[] = "\x95\x04\x12\xde";
    *words = NULL;
    if (count < HEADER || (memcmp(bytes, little, MO_MAGIC_LENGTH) != 0 && memcmp(bytes, big, MO_MAGIC_LENGTH) != 0))
        return cw_fail(err, CW_NOT_MINE, "this is no compiled catalogue (.mo); msgfmt makes one of a .po file");
    cw_words made = {.bytes = bytes, .size = count, .big_end = memcmp(bytes, big, MO_MAGIC_LENGTH) == 0};
    made.count = word_at(&made, 8);
    made.originals = word_at(&made, 12);
    made.translations = word_at(&made, 16);
    if (word_at(&made, 4) >> 16 != 0 || made.count > TEXTS_MOST)
        return cw_fail(err, CW_INPUT, "the catalogue has an unknown revision or %zu texts; %d is the most", made.count,
                       TEXTS_MOST);
    CW_TRY(check(&made, err));
    *words = malloc(sizeof made);
    if (*words == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the catalogue");
    **words = made;
    return CW_OK;
}

void cw_words_free(cw_words *words)
{
    free(words);
}

size_t cw_words_count(const cw_words *words)
{
    return words->count;
}

/* A translation that begins with this says: a text of the program, not translated yet (po/whole.py). */
static const char untranslated = '\x01';

void cw_words_entry(const cw_words *words, size_t index, const char **original, const char **translation)
{
    size_t length;
    *original = text_at(words, words->originals, index, &length);
    *translation = text_at(words, words->translations, index, &length);
    if (length == 0 || **translation == untranslated)
        *translation = NULL;
}

/* Where the text is among the originals; SIZE_MAX when it is not there. */
static size_t place_of(const cw_words *words, const char *text, size_t length)
{
    if (words == NULL || length == 0) /* the empty text is the catalogue's own header */
        return SIZE_MAX;
    size_t low = 0, high = words->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2, found_length;
        const char *found = text_at(words, words->originals, middle, &found_length);
        int order = compare(text, length, found, found_length);
        if (order == 0)
            return middle;
        if (order < 0)
            high = middle;
        else
            low = middle + 1;
    }
    return SIZE_MAX;
}

bool cw_words_know(const cw_words *words, const char *text, size_t length)
{
    return place_of(words, text, length) != SIZE_MAX;
}

const char *cw_words_find(const cw_words *words, const char *text, size_t length)
{
    size_t place = place_of(words, text, length);
    const char *original, *translation = NULL;
    if (place != SIZE_MAX)
        cw_words_entry(words, place, &original, &translation);
    return translation;
}

bool cw_words_same_arguments(const char *format, const char *other)
{
    if (strcmp(format, other) == 0)
        return true;
    char a[CW_CONVERSIONS_MOST][4], b[CW_CONVERSIONS_MOST][4];
    int count = cw_format_arguments(format, a);
    if (count < 0 || cw_format_arguments(other, b) != count)
        return false;
    for (int i = 0; i < count; i++)
        if (strcmp(a[i], b[i]) != 0)
            return false;
    return true;
}
