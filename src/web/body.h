/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A request body as it arrives: url-encoded or multipart fields into a form, files straight into the bench's incoming
 * folder. Whatever is refused is remembered (the first reason) while the rest is read and dropped, so that the sender
 * gets a sentence instead of a cut line. */
#ifndef CW_WEB_BODY_H
#define CW_WEB_BODY_H

#include <microhttpd.h>

#include "web/request.h"

enum {
    CW_BODY_FORM_MOST = CW_FORM_BYTES_MOST + 64 * 1024, /* a form without files, with its packing */
    CW_BODY_DROP_MOST = 64 * 1024 * 1024                /* read and dropped beyond the limit before the line is cut */
};

typedef struct cw_body cw_body;

typedef struct {
    cw_form *form;      /* filled */
    cw_upload *uploads; /* filled, CW_UPLOADS_MOST of them */
    size_t *upload_count;
    bool takes_files;
    cw_incoming_kind kind;
    uint64_t bytes_most; /* of the whole body */
    /* Opens the handle the files are written through, on the first file; it stays the owner's. */
    cw_status (*bench)(void *owner, cw_bench **bench, cw_error *err);
    void *owner;
} cw_body_goal;

/* connection may be NULL for a url-encoded body (tests). CW_INPUT for a content type that is neither. */
cw_status cw_body_new(struct MHD_Connection *connection, const char *content_type, const cw_body_goal *goal,
                      cw_body **body, cw_error *err) __attribute__((warn_unused_result));
/* Takes a piece. False when the line should be cut: far beyond the limit. */
bool cw_body_feed(cw_body *body, const char *bytes, size_t count);
/* All is there: CW_OK, or the first thing that was refused: CW_RANGE over a limit, CW_INPUT not readable, CW_FILE. */
cw_status cw_body_end(cw_body *body, cw_error *err) __attribute__((warn_unused_result));
void cw_body_free(cw_body *body); /* NULL is fine; leaves form and uploads alone */

#endif
