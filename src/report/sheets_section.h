/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A worksheet's result in the report. */
#ifndef CW_REPORT_SHEETS_SECTION_H
#define CW_REPORT_SHEETS_SECTION_H

#include "report/report.h"

/* Inputs and results as tables, rows, verdicts, drawings, remarks, cautions and sources. */
void cw_sheet_section(cw_document *document, const cw_report_sheet *kept);

#endif
