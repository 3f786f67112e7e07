/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How a shutter was measured and how well it is known, in plain words. */
#ifndef CW_REPORT_METHOD_SECTION_H
#define CW_REPORT_METHOD_SECTION_H

#include "report/report.h"

/* At least one of the two holds a test. */
void cw_method_section(cw_document *document, const cw_report_test *before, const cw_report_test *after);

#endif
