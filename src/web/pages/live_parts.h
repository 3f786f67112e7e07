/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Between the files of the live page. */
#ifndef CW_WEB_LIVE_PARTS_H
#define CW_WEB_LIVE_PARTS_H

#include "web/live.h"
#include "web/request.h"

cw_status cw_live_of(cw_request *request, cw_desk **desk, cw_error *err) __attribute__((warn_unused_result));
/* Done: back to the live page, or nothing more when its script asked. */
void cw_live_done(cw_request *request, cw_reply *reply, const char *said);

/* live_begin.c: what is asked before a test begins; where the light comes in, for going on. */
void cw_live_write_begin(cw_request *request, cw_html *h, cw_desk *desk);
void cw_live_write_go_on(cw_request *request, cw_html *h, cw_desk *desk, const cw_desk_source *source);
/* live_keep.c: keep it, or throw it away. */
cw_status cw_live_write_keep(cw_request *request, cw_html *h, const cw_desk_view *view, cw_error *err)
    __attribute__((warn_unused_result));

#endif
