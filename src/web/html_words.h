/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Behind the writer: markup whose words are looked up in the reader's catalogue. */
#ifndef CW_WEB_HTML_WORDS_H
#define CW_WEB_HTML_WORDS_H

#include "web/html.h"

/* Adds the literal; each run of text between its tags, without the space around it, and each readable attribute
 * (aria-label, title, alt, placeholder) is replaced by its translation, escaped. scripts/words cuts the literals in the
 * same way when it collects what is to be translated. */
void cw_html_words(cw_html *h, const char *literal, size_t length);

/* Text as it stands, escaped and not looked up. */
void cw_html_escaped(cw_html *h, const char *text);

#endif
