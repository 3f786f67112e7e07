/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Steps and parts, for the report and for the sheets at the bench. */
#ifndef CW_REPORT_STEPS_SECTION_H
#define CW_REPORT_STEPS_SECTION_H

#include "report/report.h"

/* A day, or whatever is given, behind its label: nothing where the text is empty. */
bool cw_report_given(const char *text);

/* One step as it was done: words, then photos. */
void cw_step_record(cw_document *document, const cw_report_step *step);

/* Every part with its tray, state and reason; those still out come first. */
void cw_parts_table(cw_document *document, const cw_report_part *parts, size_t count);

/* Appends "3 x screw M1.7, 3.2 mm, from the top cover: tray 4". */
void cw_part_words(const cw_report_part *part, cw_buf *words);

#endif
