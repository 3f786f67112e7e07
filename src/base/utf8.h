/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What people type, made safe for paper and markup: broken UTF-8 becomes U+FFFD, control characters become spaces. */
#ifndef CW_BASE_UTF8_H
#define CW_BASE_UTF8_H

#include <stddef.h>
#include <stdint.h>

#include "base/buf.h"

/* The length in bytes of the next character of a text, 0 at its end; its code point goes to *code. Overlong forms,
 * surrogates, values above U+10FFFF and cut sequences give U+FFFD and a length of one byte (Unicode 15, table 3-7). */
size_t cw_utf8_next(const char *text, uint32_t *code);

/* The number of characters. */
size_t cw_utf8_length(const char *text);

/* Appends the text as valid UTF-8 in one line: line ends, tabs and control characters become spaces. NULL adds nothing.
 */
void cw_utf8_clean(cw_buf *out, const char *text);

/* The same, but line feeds stay, for paragraphs. */
void cw_utf8_clean_lines(cw_buf *out, const char *text);

/* The same as cw_utf8_clean with < > & " ' escaped, for XML text and attribute values. */
void cw_xml_text(cw_buf *out, const char *text);

#endif
