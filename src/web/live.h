/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The live desk among the pages: the one desk of this bench, and the browsers that listen to it by server-sent events.
 *
 * Every message shows the whole as it stands, with the number of that state as its id: a browser that was away and
 * comes back, or a slow one that missed some, gets the newest and has missed nothing. A listener costs a suspended
 * connection and no thread; messages are made once for all who read in one manner (language, decimal sign). */
#ifndef CW_WEB_LIVE_H
#define CW_WEB_LIVE_H

#include <microhttpd.h>
#include <stdint.h>

#include "base/manner.h"
#include "live/desk.h"

enum { CW_LIVE_LISTENERS_MOST = 24, CW_LIVE_BEAT_S = 10 };

typedef struct cw_live cw_live;

/* A journal that cannot be read does not keep the bench shut: cw_live_desk says what is wrong with it. */
cw_status cw_live_new(const char *folder, cw_live **live, cw_error *err) __attribute__((warn_unused_result));
/* Ends every stream and its thread; before the server's daemon is stopped. NULL is fine. */
void cw_live_end(cw_live *live);
void cw_live_free(cw_live *live); /* after the daemon is stopped; NULL is fine */

cw_status cw_live_desk(cw_live *live, cw_desk **desk, cw_error *err) __attribute__((warn_unused_result));

size_t cw_live_listeners(cw_live *live);

/* The stream for one connection; `seen` is the number of the state it shows already. NULL without memory, or when as
 * many listen as may. */
struct MHD_Response *cw_live_listen(cw_live *live, struct MHD_Connection *connection, const cw_manner *manner,
                                    uint64_t seen);

#endif
