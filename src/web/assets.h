/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Styles, scripts and icons, inside the binary. Their addresses carry a version that changes with their content, so a
 * browser may keep them. */
#ifndef CW_WEB_ASSETS_H
#define CW_WEB_ASSETS_H

#include "web/request.h"

const char *cw_assets_version(void); /* 12 hex digits over the content of all of them */

/* GET /assets/VERSION/NAME (an old version gets the new content, not to be kept), GET /favicon.ico. */
cw_status cw_get_asset(cw_request *request, cw_reply *reply, cw_error *err);
cw_status cw_get_favicon(cw_request *request, cw_reply *reply, cw_error *err);

#endif
