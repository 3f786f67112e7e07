/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef CW_WEB_UTF8_H
#define CW_WEB_UTF8_H

#include <stdbool.h>
#include <stddef.h>

/* The bytes of the UTF-8 character at `at` (RFC 3629: no overlong form, no surrogate, nothing over U+10FFFF), 0 when
 * what stands there is none. The text is terminated, and the terminator never lies inside a character. */
size_t cw_wellformed_length(const char *at);

/* The whole text is UTF-8. */
bool cw_wellformed(const char *text);

#endif
