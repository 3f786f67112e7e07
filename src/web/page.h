/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The frame around every page, and the pieces forms are made of. */
#ifndef CW_WEB_PAGE_H
#define CW_WEB_PAGE_H

#include "web/request.h"

typedef enum {
    CW_PLACE_BENCH,
    CW_PLACE_SEARCH,
    CW_PLACE_SHEETS,
    CW_PLACE_MEASURE,
    CW_PLACE_DOOR,
    CW_PLACE_NONE
} cw_place;

/* From here on words, numbers and dates are written in the reader's manner (base/manner.h).
 * Head, navigation, what was just done (once), and why a form came back. Opens <main>; begin with html_markup <h1>. */
void cw_page_begin(cw_request *request, cw_reply *reply, cw_place place, const char *title);
void cw_page_end(cw_reply *reply);

/* A page that only says what went wrong and where to go on. */
void cw_page_error(cw_request *request, cw_reply *reply, const cw_error *err);
/* Somebody followed a link from another site: the browser then keeps the session cookie back (SameSite=Strict). One
 * step in between makes the next request our own. */
cw_status cw_page_bounce(cw_request *request, cw_reply *reply);

/* ---- forms ---- */

/* <form> that posts to the address, with the session's token in it. files: it carries files. */
void cw_form_begin(cw_request *request, cw_html *h, bool files, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
void cw_form_end(cw_html *h);
/* A form that is nothing but one button: `label` says what happens. quiet: not the page's main action. */
void cw_button_form(cw_request *request, cw_html *h, bool quiet, const char *label, const char *format, ...)
    __attribute__((format(printf, 5, 6)));

/* A labelled input. What was typed before wins over `value`. */
typedef struct {
    const char *name, *label;
    const char *value;   /* what stands there at first; NULL = empty */
    const char *help;    /* a line under it; NULL = none */
    const char *type;    /* NULL: "text" */
    const char *mode;    /* inputmode: "decimal", "numeric"; NULL = none */
    const char *list;    /* id of a <datalist>; NULL = none */
    const char *unit;    /* shown behind it; NULL = none */
    const char *example; /* placeholder; NULL = none */
    const char *accept;  /* of a file: which kinds, as a type; NULL = any */
    bool capture;        /* of a file: a phone starts its recorder or camera at once */
    bool several;        /* of a file: more than one */
    long rows;           /* > 0: a text area of that many lines */
    bool required, focus, narrow;
} cw_input;

void cw_field_input(const cw_request *request, cw_html *h, const cw_input *input);

typedef struct {
    const char *value, *label;
} cw_option_item;

/* A choice of one: up to four as big buttons in a row, more as a list. */
void cw_field_choice(const cw_request *request, cw_html *h, const char *name, const char *label, const char *value,
                     const cw_option_item *items, size_t count, const char *help);
void cw_field_tick(const cw_request *request, cw_html *h, const char *name, const char *label, bool is_ticked);
void cw_field_hidden(cw_html *h, const char *name, const char *value);
/* One main button at the end of a form. */
void cw_submit(cw_html *h, const char *label);
/* A second button of the same form that says something else: name=value. */
void cw_submit_other(cw_html *h, const char *label, const char *name, const char *value);

/* ---- pieces ---- */

/* <a class='...' href='...'>label</a>; `kind`: "main" (the page's main action), "button", or "" for a plain link. */
void cw_link(cw_html *h, const char *kind, const char *label, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* The label is a sentence that a room composed. */
void cw_link_said(cw_html *h, const char *kind, const char *label, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* The cautions of the tags, one sentence each; none for NULL. */
void cw_cautions(cw_html *h, const char *const *tags);
/* "Page 2 of 7" with links; nothing for a single page. The address is completed by first=N. */
void cw_pager(cw_html *h, int64_t first, int64_t most, int64_t total, const char *address);

#endif
