/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a live page shows, as parts of the page and as the messages that renew them. The parts hold nothing that belongs
 * to one session: every listener gets the same. */
#ifndef CW_WEB_LIVE_MESSAGE_H
#define CW_WEB_LIVE_MESSAGE_H

#include "live/desk.h"
#include "web/html.h"

enum { CW_LIVE_MESSAGE_MOST = 1 << 20, CW_LIVE_SHOTS_SHOWN = 12 };

/* The big reading, what to set, the speeds, the shots (the newest `most`). Buttons belong to the forms "strike" and
 * "unstrike" of the page. */
void cw_live_write_state(cw_html *h, const cw_desk_view *view, size_t most);
/* One sentence for the ear: what the last shot was, what to set. */
void cw_live_write_said(cw_html *h, const cw_desk_view *view);
/* The level check: bars and a running trace. */
void cw_live_write_level(cw_html *h, const cw_desk_level *level);

/* Server-sent events: "state" with its id and "said"; "level". */
void cw_live_state_message(const cw_desk_view *view, cw_buf *out);
void cw_live_level_message(const cw_desk_level *level, cw_buf *out);

#endif
