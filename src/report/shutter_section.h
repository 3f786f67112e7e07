/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shutter's part of the report. */
#ifndef CW_REPORT_SHUTTER_SECTION_H
#define CW_REPORT_SHUTTER_SECTION_H

#include "report/report.h"

/* Tables, plots, findings, method and uncertainty of one or two tests; nothing where there is none. */
void cw_shutter_section(cw_document *document, const cw_report_test *before, const cw_report_test *after);

/* The table of marks alone: measured, error, verdict, limit. Either test may be missing. */
void cw_exposure_table(cw_document *document, const cw_report_test *before, const cw_report_test *after);

/* The maps of evenness of a test by photographs; nothing where it has none. */
void cw_maps_part(cw_document *document, const cw_report_test *kept);

#endif
