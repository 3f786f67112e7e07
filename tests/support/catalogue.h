/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A compiled catalogue made in a test. */
#ifndef CW_TESTS_SUPPORT_CATALOGUE_H
#define CW_TESTS_SUPPORT_CATALOGUE_H

#include "base/words.h"

enum { CATALOGUE_BYTES = 64 * 1024 };

/* A .mo file (little end first) of the pairs original, translation, ending in NULL, in any order; "\x01" as
 * translation: not translated. `bytes` holds it and must outlive the catalogue. */
cw_words *catalogue_of(const char *const *pairs, char bytes[CATALOGUE_BYTES]);

#endif
