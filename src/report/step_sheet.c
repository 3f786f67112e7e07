/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets for the bench: boxes to tick, large enough to read at arm's length. */
#include "base/say.h"
#include "report/report.h"
#include "report/steps_section.h"

static void heading(cw_document *document, const cw_report_step *step)
{
    cw_doc_heading_format(document, 3, "Step %ld: %s", step->number, step->title != NULL ? step->title : "");
}

static void parts_of(cw_document *document, const cw_report *report, long step_number, bool back)
{
    for (size_t i = 0; i < report->part_count; i++) {
        const cw_report_part *part = &report->parts[i];
        if (part->step_number != step_number)
            continue;
        cw_buf words = cw_buf_new(1 << 20);
        cw_part_words(part, &words);
        if (back && cw_report_given(part->condition))
            cw_buf_printf(&words, " (%s)", part->condition);
        cw_doc_tick(document, back && !part->out, cw_buf_string(&words));
        cw_buf_free(&words);
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
    cw_doc_tick_labelled(document, false, "Before closing", step->check_before_closing);
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
    cw_buf title = cw_buf_new(1 << 20), footer = cw_buf_new(1 << 20);
    cw_say(&title, "%s: %s", back ? "Together again" : "Apart",
           cw_report_given(report->camera) ? report->camera : "camera not named");
    cw_buf_printf(&footer, "%s%s%s", report->job != NULL ? report->job : "",
                  cw_report_given(report->made_on) && cw_report_given(report->job) ? ", " : "",
                  report->made_on != NULL ? report->made_on : "");
    cw_document *made;
    const cw_document_look look = {
        .paper = report->paper, .title = cw_buf_string(&title), .footer = cw_buf_string(&footer)};
    cw_status status = cw_document_new(&look, &made, err);
    if (status == CW_OK)
        cw_doc_title(made, cw_buf_string(&title),
                     back ? "The teardown backwards. Tick each part as it leaves its tray: nothing may be left over."
                          : "Tick each step; note at once what differs.");
    cw_buf_free(&title);
    cw_buf_free(&footer);
    if (status != CW_OK)
        return status;
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
    status = cw_document_check(made, err);
    if (status != CW_OK) {
        cw_document_free(made);
        return status;
    }
    *document = made;
    return CW_OK;
}
