/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report as JSON, "camerawright.report/1": the same content as on page and paper, null for what is not there. */
#ifndef CW_REPORT_REPORT_JSON_H
#define CW_REPORT_REPORT_JSON_H

#include <jansson.h>

#include "report/report.h"

json_t *cw_report_json(const cw_report *report); /* NULL without memory */

#endif
