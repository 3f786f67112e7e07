/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The bench's reference levels in the meter check. */
#ifndef CW_WEB_LEVELS_PARTS_H
#define CW_WEB_LEVELS_PARTS_H

#include "web/request.h"

/* "Take my 4 levels in EV": links that fill the sheet. */
void cw_write_levels_offer(cw_request *request, cw_html *h);
/* The sheet's form with the levels of one kind ("meter", "luminance", "illuminance") in it, from dim to bright; another
 * word adds nothing. */
cw_status cw_levels_form(cw_bench *bench, const char *reference, cw_form *form, cw_error *err)
    __attribute__((warn_unused_result));

#endif
