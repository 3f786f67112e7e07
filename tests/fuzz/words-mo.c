/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A catalogue of translated words, damaged in any way: refused, or safe to look in. */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/words.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *const texts[] = {"Bench", "%ld of %s", "a", "\xff"};
    cw_words *words;
    cw_error err;
    if (cw_words_read((const char *)data, size, &words, &err) != CW_OK)
        return 0;
    size_t read = 0;
    for (size_t i = 0; i < CW_COUNT(texts); i++) {
        const char *found = cw_words_find(words, texts[i], strlen(texts[i]));
        if (found != NULL)
            read += strlen(found) + (size_t)cw_words_same_arguments(texts[i], found);
    }
    cw_words_free(words);
    return read == SIZE_MAX ? 1 : 0;
}
