/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What kind of camera it is, asked in a form: it decides which tests the camera owes. */
#ifndef CW_WEB_KIND_PARTS_H
#define CW_WEB_KIND_PARTS_H

#include "notebook/job.h"
#include "web/request.h"

void cw_write_kind_fields(const cw_request *request, cw_html *h, const cw_job *job);
/* Only those five fields of *job are written. */
cw_status cw_read_kind_fields(const cw_request *request, cw_job *job, cw_error *err)
    __attribute__((warn_unused_result));

#endif
