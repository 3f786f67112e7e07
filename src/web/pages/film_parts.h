/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lists and the film log on paper. */
#ifndef CW_WEB_FILM_PARTS_H
#define CW_WEB_FILM_PARTS_H

#include "web/request.h"

/* film: the log of the job; else the list of the address' second number. */
cw_status cw_reply_list_document(cw_request *request, cw_reply *reply, bool film, cw_error *err)
    __attribute__((warn_unused_result));

#endif
