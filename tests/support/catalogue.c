/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/catalogue.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "support/check.h"

typedef struct {
    const char *original, *translation;
} pair;

static int by_original(const void *a, const void *b)
{
    return strcmp(((const pair *)a)->original, ((const pair *)b)->original);
}

static void put(char *bytes, size_t at, size_t value)
{
    for (int i = 0; i < 4; i++)
        bytes[at + (size_t)i] = (char)(value >> (8 * i) & 0xff);
}

static size_t add_text(char *bytes, size_t entry, const char *text, size_t at)
{
    size_t length = strlen(text);
    assert_true(at + length + 1 < CATALOGUE_BYTES);
    put(bytes, entry, length);
    put(bytes, entry + 4, at);
    memcpy(bytes + at, text, length + 1);
    return at + length + 1;
}

cw_words *catalogue_of(const char *const *pairs, char bytes[CATALOGUE_BYTES])
{
    enum { MOST = 100, HEADER = 28 };
    pair sorted[MOST];
    size_t count = 0;
    for (; pairs[2 * count] != NULL; count++) {
        assert_true(count < MOST);
        sorted[count] = (pair){pairs[2 * count], pairs[2 * count + 1]};
    }
    qsort(sorted, count, sizeof sorted[0], by_original);
    memset(bytes, 0, CATALOGUE_BYTES);
    put(bytes, 0, 0x950412de);
    put(bytes, 8, count);
    put(bytes, 12, HEADER);
    put(bytes, 16, HEADER + 8 * count);
    size_t at = HEADER + 16 * count;
    for (size_t i = 0; i < count; i++) {
        at = add_text(bytes, HEADER + 8 * i, sorted[i].original, at);
        at = add_text(bytes, HEADER + 8 * (count + i), sorted[i].translation, at);
    }
    cw_words *words;
    cw_error err;
    assert_ok(cw_words_read(bytes, at, &words, &err), &err);
    return words;
}
