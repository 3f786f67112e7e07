/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The thread's part of the report: condition, proof, film, tools made, costs. */
#ifndef CW_REPORT_THREAD_SECTION_H
#define CW_REPORT_THREAD_SECTION_H

#include "report/report.h"

/* What the lists of one time found ("before the work" is the condition it came in); nothing where there is none. */
void cw_lists_section(cw_document *document, const cw_report *report, const char *when, const char *heading);
/* What it owes, before and after, with verdicts and reasons. */
void cw_proof_section(cw_document *document, const cw_report *report);
void cw_others_section(cw_document *document, const cw_report *report);
void cw_film_section(cw_document *document, const cw_report *report);
void cw_tools_section(cw_document *document, const cw_report *report);
void cw_costs_section(cw_document *document, const cw_report *report);

#endif
