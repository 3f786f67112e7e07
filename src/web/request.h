/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a page handler gets and gives. Handlers run on worker threads, each with a bench handle of its own; the server's
 * own thread only moves bytes. */
#ifndef CW_WEB_REQUEST_H
#define CW_WEB_REQUEST_H

#include <jansson.h>
#include <stdbool.h>
#include <stdint.h>

#include "base/error.h"
#include "notebook/bench.h"
#include "notebook/incoming.h"
#include "web/door.h"
#include "web/form.h"
#include "web/html.h"
#include "web/reader.h"
#include "web/target.h"

typedef struct cw_house cw_house; /* what all pages share: house.h */

enum { CW_UPLOADS_MOST = 20 };

typedef struct {
    char field[CW_FORM_NAME_MOST + 1];
    cw_incoming *incoming; /* NULL once a handler has taken it over: cw_request_take_upload */
} cw_upload;

typedef struct {
    bool writes; /* POST */
    bool htmx;   /* a part of a page is being renewed by htmx */
    cw_target target;
    cw_match match; /* ids and words of the route's pattern */
    cw_form form;   /* posted fields */
    size_t upload_count;
    cw_upload uploads[CW_UPLOADS_MOST];
    cw_pass pass;
    char known_etag[64]; /* If-None-Match */
    char last_event[24]; /* Last-Event-ID: what a listener had when its stream broke off */
    char agent[200];
    char host[CW_ADDRESS_TEXT + 64]; /* the Host header */
    cw_bench *bench;
    cw_house *house;
    cw_reader reader; /* what whoever reads the page has chosen, and what follows from it; */
    cw_manner manner; /* cw_page_begin puts it to use */
    bool too_large;   /* its body was over a limit */
    cw_error problem; /* a form that was refused and is shown again: why; CW_OK otherwise */
} cw_request;

typedef struct {
    unsigned code; /* HTTP status; 0: 200 */
    cw_html html;  /* a page */
    json_t *json;  /* or its twin */
    char *bytes;   /* or other content, freed with free() */
    size_t length;
    const char *type;    /* of `bytes` or the file; a literal */
    const char *lasting; /* or content that lives as long as the program, `length` bytes */
    int fd;              /* or an open file, -1 none */
    uint64_t file_bytes;
    bool immutable;      /* the address changes with the content: may be kept for a year */
    char etag[64];       /* quoted, "" none: a browser that has it already gets 304 */
    char location[512];  /* a redirect, 303 */
    char file_name[200]; /* offered as a download under this name, "" = shown */
    bool set_cookie;
    bool is_stream;       /* or the live test's events from here on (live.h) */
    uint64_t stream_seen; /* the state the listener shows already */
    bool set_reader;      /* keep request->reader in the browser */
} cw_reply;

/* A page, its JSON twin or an action. On failure the dispatcher makes the error page. */
typedef cw_status (*cw_handler)(cw_request *request, cw_reply *reply, cw_error *err);

enum {
    CW_ROUTE_OPEN = 1,       /* may be seen unpaired */
    CW_ROUTE_LAPTOP = 2,     /* on the laptop only */
    CW_ROUTE_HEAVY = 4,      /* computes for long: runs in the slow lane */
    CW_ROUTE_PHOTO = 8,      /* takes photos */
    CW_ROUTE_RECORDING = 16, /* takes a recording */
    CW_ROUTE_QUICK = 32      /* needs no bench and no time: answered by the server's own thread */
};

typedef struct {
    const char *method;  /* "GET" or "POST" */
    const char *pattern; /* target.h */
    cw_handler page;
    cw_handler twin;  /* GET: the JSON of the same; NULL: none */
    cw_handler again; /* POST: the page with the form, shown again with what was typed when the action is refused */
    unsigned flags;
} cw_route;

/* The route of a target. CW_NOT_FOUND: no such page; CW_INPUT: the page does not know this method. */
cw_status cw_route_find(const char *method, const cw_target *target, const cw_route **route, cw_match *match,
                        cw_error *err) __attribute__((warn_unused_result));
const cw_route *cw_routes(size_t *count);

/* Runs the route: the handler, or on refusal the form again or an error page (JSON for a twin). The reply is complete
 * afterwards; only when not even an error page could be made is it a bare 500. */
void cw_dispatch(const cw_route *route, cw_request *request, cw_reply *reply);
/* The reply for a failure outside a handler. request may be half filled; json: the twin was asked. */
void cw_reply_error(cw_request *request, cw_reply *reply, const cw_error *err);

void cw_reply_init(cw_reply *reply);
void cw_reply_free(cw_reply *reply);
void cw_request_free(cw_request *request);

/* HTTP status of a failure: 4xx for what the sender can change, 5xx for disk, store and memory. */
unsigned cw_http_status(const cw_error *err);

/* ---- what handlers use ---- */

/* A form's value for a field: what was just typed (a refused form), else what the query says, else `fallback`. */
const char *cw_value(const cw_request *request, const char *name, const char *fallback);
/* The posted field; "" when missing. */
const char *cw_posted(const cw_request *request, const char *name);
bool cw_ticked(const cw_request *request, const char *name);
/* A whole number from query or form, `fallback` when missing; CW_INPUT outside [least, most]. */
cw_status cw_whole(const cw_request *request, const char *name, long least, long most, long fallback, long *value,
                   cw_error *err) __attribute__((warn_unused_result));
/* A row number from a posted field or the query; 0 when missing or none. */
int64_t cw_row_id(const cw_request *request, const char *name);

/* Done: look at this page next. `said` (may be NULL) is told once at its top. */
void cw_go(cw_request *request, cw_reply *reply, const char *said, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* The first upload of that field, ownership to the caller; NULL when none came. */
cw_incoming *cw_request_take_upload(cw_request *request, const char *field);

/* The content of a buffer as the reply, as a download when file_name is not NULL. The buffer is emptied. */
cw_status cw_reply_buffer(cw_reply *reply, cw_buf *buf, const char *type, const char *file_name, cw_error *err)
    __attribute__((warn_unused_result));
/* A file of the bench as the reply. CW_FILE when it cannot be opened. */
cw_status cw_reply_file(cw_reply *reply, const char *path, const char *type, const char *file_name, cw_error *err)
    __attribute__((warn_unused_result));

#endif
