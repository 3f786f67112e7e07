/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the rack says to a need: on its own page, and on top of a sheet that would make another tool. */
#ifndef CW_WEB_RACK_PARTS_H
#define CW_WEB_RACK_PARTS_H

#include "notebook/rack.h"
#include "web/page.h"

/* The answer in one line, then the tools of the kind, best first; at most `shown` of them. */
void cw_write_rack_answer(cw_html *h, const cw_tool_answer *answer, size_t shown);

/* The need a query or form asks about: kind, span, slot, slot-length, reach, barrel. *asked false when it has no span.
 */
cw_status cw_rack_need_read(const cw_request *request, cw_rack_need *need, bool *asked, cw_error *err)
    __attribute__((warn_unused_result));
/* The form that asks. */
void cw_write_rack_question(cw_request *request, cw_html *h);

/* The answer for a twin; NULL without memory. */
json_t *cw_rack_answer_json(const cw_tool_answer *answer);

#endif
