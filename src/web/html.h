/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The HTML writer. Markup can only be a literal of the source; every value goes through an escaping call. A page that
 * grows over its ceiling or runs out of memory remembers that, and is asked once at the end (cw_html_take).
 *
 *   html_markup(h, "<th scope='row'>");
 *   html_text(h, speed->mark);
 *   html_markup(h, "</th>\n");
 *
 * Words: text of the program (literals here, constants given to html_text, formats) is looked up in the catalogue of
 * the reader, see base/manner.h; what a person typed never is. Call sites write English and do nothing for it. */
#ifndef CW_WEB_HTML_H
#define CW_WEB_HTML_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/buf.h"
#include "base/error.h"
#include "base/quantity.h"
#include "draw/drawing.h"

typedef struct {
    cw_buf buf;
    cw_error trouble; /* the first drawing that could not be written; CW_OK when none */
    bool in_tag;      /* the markup so far ends inside a tag */
    char quote;       /* ... and inside this quote of it; 0: none */
} cw_html;

enum { CW_HTML_MOST = 32 * 1024 * 1024 };

cw_html cw_html_new(void);
void cw_html_free(cw_html *h); /* NULL is fine */

/* A literal, as it stands. A variable does not compile here. */
#define html_markup(h, literal) cw_html_literal((h), "" literal, sizeof(literal) - 1)

/* Text between tags or inside a quoted attribute, in the reader's words and dates: < > & " ' are escaped, control
 * characters and what is not UTF-8 become U+FFFD. NULL writes nothing. */
void html_text(cw_html *h, const char *text);
void html_textf(cw_html *h, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* What a room below composed: a finished English sentence, told in the reader's words (base/sentences.h). Never for
 * what a person typed. html_saidf: its text arguments are such sentences. */
void html_said(cw_html *h, const char *text);
void html_saidf(cw_html *h, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* The same for an error's text, as a sentence of a page: a capital in front, a full stop behind. */
void html_sentence(cw_html *h, const char *text);

/* ` name='escaped value'`, with the space before it; the name is a literal. A NULL value writes nothing. */
#define html_attr(h, name, value) cw_html_attribute((h), "" name, sizeof(name) - 1, (value))
#define html_attrf(h, name, ...) cw_html_attributef((h), "" name, sizeof(name) - 1, __VA_ARGS__)
/* ` name` when `is` holds: checked, selected, required ... */
#define html_flag(h, name, is) ((is) ? cw_html_literal((h), " " name, sizeof(name)) : (void)0)

/* One part of an address (a path segment or a query value): everything but letters, digits and -._~ as %XX. */
void html_url_part(cw_html *h, const char *text);

/* "+0.15 EV", "1/226 s", "12.35 +- 0.08 mm": the base room's texts, escaped. */
void html_ev(cw_html *h, double ev);
void html_shutter_time(cw_html *h, double seconds);
void html_quantity(cw_html *h, cw_quantity q, const cw_unit *unit, int figures);
void html_number(cw_html *h, double value, int figures);

/* A drawing as inline SVG. A failure is remembered in `trouble` and comes out of cw_html_take. */
void html_drawing(cw_html *h, const cw_drawing *drawing);

/* SVG written by the draw room (which escapes its own words), for plots that come as a buffer. The buffer is freed. */
void html_svg(cw_html *h, cw_buf *svg);

/* Hands the page over as a buffer the caller frees; what went wrong on the way otherwise. */
cw_status cw_html_take(cw_html *h, char **text, size_t *length, cw_error *err) __attribute__((warn_unused_result));

/* Behind the macros. */
void cw_html_literal(cw_html *h, const char *literal, size_t length);
void cw_html_attribute(cw_html *h, const char *name, size_t length, const char *value);
void cw_html_attributef(cw_html *h, const char *name, size_t length, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

#endif
