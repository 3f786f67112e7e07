/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/report.h"

#include "base/manner.h"
#include "base/say.h"
#include "report/cells.h"
#include "report/sheets_section.h"
#include "report/shutter_section.h"
#include "report/steps_section.h"
#include "report/thread_section.h"

enum { LINE_MOST = 4096 };

static void fact(cw_cells *cells, const char *label, const char *text)
{
    if (!cw_report_given(text))
        return;
    cw_cells_bold(cells, label);
    cw_cells_text(cells, text);
}

static void camera(cw_document *document, const cw_report *report)
{
    cw_buf job = cw_buf_new(LINE_MOST);
    cw_tell(&job, report->job != NULL ? report->job : "");
    cw_doc_title(document, cw_report_given(report->camera) ? report->camera : "Camera not named", cw_buf_string(&job));
    cw_buf_free(&job);
    cw_cells cells = {.narrow = true};
    cw_cells_column(&cells, NULL, CW_CELL_START);
    cw_cells_column(&cells, NULL, CW_CELL_START);
    fact(&cells, "Number or label", report->serial);
    fact(&cells, "Shutter", report->shutter);
    fact(&cells, "Belongs to", report->owner);
    fact(&cells, "Taken in", report->taken_in_on);
    fact(&cells, "Handed on", report->handed_on_on);
    fact(&cells, "State of the work", report->stage);
    cw_cells_finish(&cells, document);
    cw_doc_heading(document, 1, "Complaint");
    cw_doc_paragraph(document, cw_report_given(report->complaint) ? report->complaint : "None was noted.");
    if (report->cover != NULL)
        cw_doc_photos(document, report->cover, 1, 2, 55);
}

/* Speeds outside and inside in one line, for who reads no further. */
static void verdict(cw_document *document, const char *when, const cw_report_test *kept)
{
    if (kept->test == NULL)
        return;
    size_t counts[CW_SPEED_UNKNOWN + 1] = {0};
    for (size_t i = 0; i < kept->test->speed_count && i < CW_SPEEDS_MOST; i++)
        counts[kept->test->speeds[i].verdict]++;
    cw_buf text = cw_buf_new(LINE_MOST);
    cw_say(&text, "%zu of %zu marked speeds inside the tolerance, %zu outside, %zu too close to call",
           counts[CW_SPEED_INSIDE], kept->test->speed_count, counts[CW_SPEED_OUTSIDE], counts[CW_SPEED_TOO_CLOSE]);
    cw_doc_labelled(document, when, cw_buf_string(&text));
    cw_buf_free(&text);
}

static void summary(cw_document *document, const cw_report *report)
{
    cw_doc_heading(document, 1, "In short");
    size_t done = 0, out = 0;
    for (size_t i = 0; i < report->step_count; i++)
        done += report->steps[i].done;
    for (size_t i = 0; i < report->part_count; i++)
        out += report->parts[i].out ? (size_t)(report->parts[i].pieces > 0 ? report->parts[i].pieces : 1) : 0;
    verdict(document, "Shutter before", &report->before);
    verdict(document, "Shutter after", &report->after);
    if (report->before.test == NULL && report->after.test == NULL)
        cw_doc_labelled(document, "Shutter", "not measured");
    cw_buf text = cw_buf_new(LINE_MOST);
    cw_say(&text, done == 1 ? "%zu step done" : "%zu steps done", done);
    cw_doc_labelled(document, "Work", cw_buf_string(&text));
    cw_buf_free(&text);
    text = cw_buf_new(LINE_MOST);
    if (out > 0)
        cw_say(&text, out == 1 ? "%zu piece still out" : "%zu pieces still out", out);
    else
        cw_say(&text, "%s", report->part_count > 0 ? "every part is back or accounted for" : "none were noted");
    cw_doc_labelled(document, "Parts", cw_buf_string(&text));
    cw_buf_free(&text);
}

static void remaining(cw_document *document, const cw_report *report)
{
    cw_doc_heading(document, 1, "What remains");
    if (report->remaining_count == 0)
        cw_doc_paragraph(document, "Nothing was noted as still to be done.");
    for (size_t i = 0; i < report->remaining_count; i++)
        cw_doc_tick_told(document, false, report->remaining[i]);
}

static void work(cw_document *document, const cw_report *report)
{
    if (report->step_count > 0) {
        cw_doc_heading(document, 1, "Work done");
        for (size_t i = 0; i < report->step_count; i++)
            cw_step_record(document, &report->steps[i]);
    }
    if (report->part_count > 0) {
        cw_doc_heading(document, 1, "Parts");
        cw_parts_table(document, report->parts, report->part_count);
    }
    if (cw_report_given(report->notes)) {
        cw_doc_heading(document, 1, "Notes");
        cw_doc_paragraph(document, report->notes);
    }
}

cw_status cw_report_make(const cw_report *report, cw_document **document, cw_error *err)
{
    cw_buf title = cw_buf_new(1 << 20), footer = cw_buf_new(1 << 20);
    cw_buf_printf(&title, "%s%s%s", cw_report_given(report->camera) ? report->camera : cw_words_of("Camera not named"),
                  cw_report_given(report->job) ? ", " : "", report->job != NULL ? report->job : "");
    cw_buf_printf(&footer, "Camerawright%s%s", cw_report_given(report->made_on) ? ", " : "",
                  report->made_on != NULL ? report->made_on : "");
    cw_document *made;
    cw_status status = cw_document_new(
        &(cw_document_look){.paper = report->paper, .title = cw_buf_string(&title), .footer = cw_buf_string(&footer)},
        &made, err);
    cw_buf_free(&title);
    cw_buf_free(&footer);
    if (status != CW_OK)
        return status;
    camera(made, report);
    summary(made, report);
    for (size_t i = 0; i < report->caution_count; i++)
        cw_doc_caution(made, report->cautions[i]);
    cw_proof_section(made, report);
    cw_lists_section(made, report, "before the work", "Condition when it came");
    cw_shutter_section(made, &report->before, &report->after);
    cw_others_section(made, report);
    if (report->sheet_count > 0)
        cw_doc_heading(made, 1, "Worksheets");
    for (size_t i = 0; i < report->sheet_count; i++)
        cw_sheet_section(made, &report->sheets[i]);
    work(made, report);
    cw_tools_section(made, report);
    cw_lists_section(made, report, "", "Looked through");
    cw_lists_section(made, report, "after the work", "Looked at after the work");
    cw_film_section(made, report);
    if (report->more_photo_count > 0)
        cw_doc_heading(made, 1, "More photos");
    cw_doc_photos(made, report->more_photos, report->more_photo_count, 3, 45);
    cw_costs_section(made, report);
    remaining(made, report);
    status = cw_document_check(made, err);
    if (status != CW_OK) {
        cw_document_free(made);
        return status;
    }
    *document = made;
    return CW_OK;
}
