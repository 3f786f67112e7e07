/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Watches the connections for slowness that a plain quiet-time limit does not catch: a request line dripped in byte by
 * byte, a body that crawls. Such a line is cut and counted. */
#ifndef CW_WEB_WATCH_H
#define CW_WEB_WATCH_H

#include <microhttpd.h>

#include "web/door.h"

/* Patience: from the connection, or the end of its last request, to a whole request head; and after which a body has to
 * have come at CW_WATCH_BODY_RATE bytes a second on average. */
enum { CW_WATCH_PATIENCE_S = 45, CW_WATCH_BODY_RATE = 1024 };

typedef struct cw_watch cw_watch;
typedef struct cw_line cw_line; /* one connection */

cw_status cw_watch_new(cw_door *door, unsigned patience_s, cw_watch **watch, cw_error *err)
    __attribute__((warn_unused_result));
void cw_watch_free(cw_watch *watch); /* NULL is fine */

/* For MHD_OPTION_NOTIFY_CONNECTION. */
void cw_watch_connection(void *watch, struct MHD_Connection *connection, void **context,
                         enum MHD_ConnectionNotificationCode code);
cw_line *cw_watch_line(struct MHD_Connection *connection); /* NULL when it is not watched */

/* A request head is there; `body`: one is to come. line NULL is fine in all three. */
void cw_line_request(cw_watch *watch, cw_line *line, bool body);
void cw_line_bytes(cw_watch *watch, cw_line *line, size_t count);
void cw_line_whole(cw_watch *watch, cw_line *line); /* the body is complete */
void cw_line_done(cw_watch *watch, cw_line *line);  /* the answer is out */

/* Requests under way. */
size_t cw_watch_busy(cw_watch *watch);

#endif
