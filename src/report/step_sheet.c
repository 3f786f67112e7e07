/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets for the bench: boxes to tick, large enough to read at arm's length. */
#include <stdio.h>

#include "report/report.h"
#include "report/steps_section.h"

static void heading(cw_document *document, const cw_report_step *step)
{
    char text[1200];
    snprintf(text, sizeof text, "Step %ld: %.1000s", step->number, step->title != NULL ? step->title : "");
    cw_doc_heading(document, 3, text);
}

static void parts_of(cw_document *document, const cw_report *report, long step_number, bool back)
{
    for (size_t i = 0; i < report->part_count; i++) {
        const cw_report_part *part = &report->parts[i];
        char text[2048], line[2400];
        if (part->step_number != step_number)
            continue;
        cw_part_words(part, true, text, sizeof text);
        snprintf(line, sizeof line, "%s%s%s%s", text, back && cw_report_given(part->condition) ? " (" : "",
                 back && cw_report_given(part->condition) ? part->condition : "",
                 back && cw_report_given(part->condition) ? ")" : "");
        cw_doc_tick(document, back && !part->out, line);
    }
}

static void apart(cw_document *document, const cw_report *report, const cw_report_step *step)
{
    cw_doc_group_begin(document);
    heading(document, step);
    if (cw_report_given(step->flies))
        cw_doc_caution(document, step->flies);
    cw_doc_tick(document, step->done, cw_report_given(step->came_off) ? step->came_off : "Taken off");
    cw_doc_labelled(document, "Held by", step->held_by);
    cw_doc_labelled(document, "Thread", step->thread);
    cw_doc_labelled(document, "Tool", step->tool);
    cw_doc_labelled(document, "Orientation and marks", step->orientation);
    cw_doc_labelled(document, "Lubricant found", step->lubricant_found);
    cw_doc_labelled(document, "Notes", step->notes);
    parts_of(document, report, step->number, false);
    cw_doc_photos(document, step->photos, step->photo_count, step->photo_count == 1 ? 2 : 3, 60);
    cw_doc_group_end(document);
}

static void together(cw_document *document, const cw_report *report, const cw_report_step *step)
{
    cw_doc_group_begin(document);
    heading(document, step);
    if (cw_report_given(step->flies))
        cw_doc_caution(document, step->flies);
    if (cw_report_given(step->check_before_closing)) {
        char text[2400];
        snprintf(text, sizeof text, "Before closing: %.2300s", step->check_before_closing);
        cw_doc_tick(document, false, text);
    }
    cw_doc_labelled(document, "Lubricant", step->lubricant_to_use);
    parts_of(document, report, step->number, true);
    cw_doc_tick(document, step->back, cw_report_given(step->came_off) ? step->came_off : "Back in place");
    cw_doc_labelled(document, "Orientation and marks", step->orientation);
    cw_doc_labelled(document, "Held by", step->held_by);
    cw_doc_labelled(document, "Thread", step->thread);
    cw_doc_labelled(document, "Tighten", step->torque);
    cw_doc_labelled(document, "Tool", step->tool);
    cw_doc_labelled(document, "Notes", step->notes);
    cw_doc_photos(document, step->photos, step->photo_count, step->photo_count == 1 ? 2 : 3, 60);
    cw_doc_group_end(document);
}

/* Parts that belong to no step would be forgotten: they have a list of their own. */
static void stray_parts(cw_document *document, const cw_report *report, bool back)
{
    bool any = false;
    for (size_t i = 0; i < report->part_count; i++)
        any = any || report->parts[i].step_number == 0;
    if (!any)
        return;
    cw_doc_heading(document, 2, "Parts of no step");
    parts_of(document, report, 0, back);
}

cw_status cw_step_sheet_make(const cw_report *report, cw_step_sheet_kind kind, cw_document **document, cw_error *err)
{
    bool back = kind == CW_SHEET_REASSEMBLY;
    char title[400], footer[200];
    snprintf(title, sizeof title, "%s: %.180s", back ? "Together again" : "Apart",
             cw_report_given(report->camera) ? report->camera : "camera not named");
    snprintf(footer, sizeof footer, "%.100s%s%.80s", report->job != NULL ? report->job : "",
             cw_report_given(report->made_on) && cw_report_given(report->job) ? ", " : "",
             report->made_on != NULL ? report->made_on : "");
    cw_document *made;
    CW_TRY(cw_document_new(&(cw_document_look){.paper = report->paper, .title = title, .footer = footer}, &made, err));
    cw_doc_title(made, title,
                 back ? "The teardown backwards. Tick each part as it leaves its tray: nothing may be left over."
                      : "Tick each step; note at once what differs.");
    cw_doc_labelled(made, "Complaint", report->complaint);
    for (size_t i = 0; i < report->caution_count; i++)
        cw_doc_caution(made, report->cautions[i]);
    if (report->step_count == 0)
        cw_doc_paragraph(made, "No step has been noted yet.");
    for (size_t i = 0; i < report->step_count; i++) {
        if (back)
            together(made, report, &report->steps[report->step_count - 1 - i]);
        else
            apart(made, report, &report->steps[i]);
    }
    stray_parts(made, report, back);
    cw_status status = cw_document_check(made, err);
    if (status != CW_OK) {
        cw_document_free(made);
        return status;
    }
    *document = made;
    return CW_OK;
}
