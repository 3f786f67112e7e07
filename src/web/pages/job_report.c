/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The report of a job as a page, from the same gathered content as the PDF. */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "notebook/thread.h"
#include "report/gather.h"
#include "report/report_json.h"
#include "web/page.h"
#include "web/pages/notebook_parts.h"
#include "web/pages/pages.h"
#include "web/pages/picture_parts.h"
#include "web/pages/shutter_parts.h"
#include "web/pages/thread_parts.h"
#include "worksheets/cautions.h"

enum { SHOWN_TEXT = 2048 };

static bool given(const char *text)
{
    return text != NULL && text[0] != '\0';
}

static void told_fact(cw_html *h, const char *label, const char *text)
{
    if (!given(text))
        return;
    html_markup(h, "<div><dt>");
    html_text(h, label);
    html_markup(h, "</dt><dd>");
    html_said(h, text);
    html_markup(h, "</dd></div>");
}

static void fact(cw_html *h, const char *label, const char *text)
{
    if (!given(text))
        return;
    html_markup(h, "<div><dt>");
    html_text(h, label);
    html_markup(h, "</dt><dd>");
    html_text(h, text);
    html_markup(h, "</dd></div>");
}

static void write_head(cw_html *h, const cw_report *r)
{
    html_markup(h, "<section class='panel'><dl class='facts'>");
    fact(h, "Number or label", r->serial);
    told_fact(h, "Shutter", r->shutter);
    fact(h, "Belongs to", r->owner);
    fact(h, "Taken in", r->taken_in_on);
    fact(h, "Handed on", r->handed_on_on);
    told_fact(h, "State of the work", r->stage);
    fact(h, "Complaint", given(r->complaint) ? r->complaint : "None was noted.");
    fact(h, "Notes", r->notes);
    html_markup(h, "</dl>");
    if (r->cover != NULL)
        cw_write_record_photos(h, r->cover, 1);
    html_markup(h, "</section>\n");
    for (size_t i = 0; i < r->caution_count; i++) {
        html_markup(h, "<p class='caution'><strong>Caution.</strong> ");
        html_said(h, r->cautions[i]);
        html_markup(h, "</p>\n");
    }
}

static void write_proofs(cw_html *h, const cw_report *r)
{
    if (r->proof_count == 0)
        return;
    html_markup(h, "<section class='panel' id='proved'><h2>Proved, test by test</h2><div class='scroll' tabindex='0' "
                   "role='region' aria-label='Proved, test by test'><table><thead><tr><th scope='col'>Test</th>"
                   "<th scope='col'>Before the work</th><th scope='col'>After the work</th></tr></thead><tbody>");
    for (size_t i = 0; i < r->proof_count; i++) {
        const cw_report_proof *proof = &r->proofs[i];
        html_markup(h, "<tr><th scope='row'>");
        html_text(h, proof->label);
        html_markup(h, "</th><td>");
        html_said(h, given(proof->before) ? proof->before : "not measured");
        html_markup(h, "</td><td");
        html_attr(h, "class", proof->outside ? "out" : NULL);
        html_markup(h, ">");
        html_said(h, proof->after);
        if (given(proof->left_out))
            html_textf(h, "%sleft out: %s", given(proof->after) ? "; " : "", proof->left_out);
        else if (!given(proof->after))
            html_markup(h, "<strong>not done</strong>");
        if (given(proof->film))
            html_saidf(h, "; the film: %s", proof->film);
        html_markup(h, "</td></tr>\n");
    }
    html_markup(h, "</tbody></table></div></section>\n");
}

static void write_lists(cw_html *h, const cw_report *r, const char *when, const char *heading)
{
    bool any = false;
    for (size_t i = 0; i < r->list_count; i++) {
        const cw_report_list *list = &r->lists[i];
        if (strcmp(list->when, when) != 0)
            continue;
        if (!any) {
            html_markup(h, "<section class='panel'><h2>");
            html_text(h, heading);
            html_markup(h, "</h2>\n");
        }
        any = true;
        html_markup(h, "<h3>");
        html_saidf(h, "%s, %s", list->title, list->on);
        html_markup(h, "</h3><p>");
        html_textf(h, "%ld items: %ld as they should be, %zu found, %ld not applicable", list->items, list->done,
                   list->found_count, list->not_applicable);
        if (list->open > 0)
            html_textf(h, ", %ld not looked at", list->open);
        html_markup(h, ".</p>\n");
        if (list->found_count > 0)
            html_markup(h, "<ul>");
        for (size_t k = 0; k < list->found_count; k++) {
            html_markup(h, "<li><strong>");
            html_text(h, list->found[k].remark);
            html_markup(h, "</strong> <span class='soft'>");
            html_said(h, list->found[k].text);
            html_markup(h, "</span>");
            cw_write_record_photos(h, &list->found[k].photo, 1);
            html_markup(h, "</li>");
        }
        if (list->found_count > 0)
            html_markup(h, "</ul>\n");
    }
    if (any)
        html_markup(h, "</section>\n");
}

static void write_maps(cw_html *h, const cw_report_test *kept)
{
    for (size_t i = 0; i < kept->map_count; i++)
        cw_write_record_drawing(h, kept->maps[i].svg, "map", "Evenness over the frame", kept->maps[i].caption);
}

static void write_shutter(cw_html *h, const cw_report *r)
{
    const cw_shutter_test *before = r->before.test, *after = r->after.test, *last = after != NULL ? after : before;
    if (last == NULL)
        return;
    html_markup(h, "<section class='panel' id='shutter'><h2>The shutter</h2>\n");
    cw_write_summary(h, last);
    cw_write_speed_plot(h, before, after);
    if (before != NULL && after != NULL)
        cw_write_compare_table(h, before, after);
    else
        cw_write_speed_table(h, last, true);
    cw_write_profiles(h, last);
    if (r->before.map_count > 0) {
        html_markup(h, "<h3>Evenness over the frame, before the work</h3>\n");
        write_maps(h, &r->before);
    }
    if (r->after.map_count > 0) {
        html_markup(h, "<h3>Evenness over the frame, after the work</h3>\n");
        write_maps(h, &r->after);
    }
    const char *trace = given(r->after.trace_svg) ? r->after.trace_svg : r->before.trace_svg,
               *caption = given(r->after.trace_svg) ? r->after.trace_caption : r->before.trace_caption;
    if (given(trace))
        cw_write_record_drawing(h, trace, "trace", "Traces", caption);
    html_markup(h, "</section>\n");
    cw_write_findings(h, last);
    cw_write_method(h, last);
}

static void write_others(cw_html *h, const cw_report *r)
{
    for (size_t i = 0; i < r->other_count; i++) {
        const cw_report_other *other = &r->others[i];
        if (other->test.test == NULL)
            continue;
        html_markup(h, "<section class='panel'><h2>");
        html_text(h, other->title);
        html_markup(h, "</h2>\n");
        cw_write_summary(h, other->test.test);
        cw_write_speed_table(h, other->test.test, false);
        write_maps(h, &other->test);
        html_markup(h, "</section>\n");
    }
}

/* ---- worksheets ---- */

static void write_rows(cw_html *h, const cw_report_sheet *kept, const cw_field *field, bool inputs)
{
    size_t count = inputs ? cw_sheet_in_rows(kept->in, field) : cw_sheet_out_rows(kept->out, field);
    if (field->kind != CW_KIND_ROWS || count == 0)
        return;
    html_markup(h, "<div class='scroll' tabindex='0' role='region'");
    html_attr(h, "aria-label", field->label);
    html_markup(h, "><table><caption>");
    html_text(h, field->label);
    html_markup(h, "</caption><thead><tr>");
    for (size_t c = 0; c < field->column_count; c++) {
        html_markup(h, "<th scope='col'>");
        html_text(h, field->columns[c].label);
        html_markup(h, "</th>");
    }
    html_markup(h, "</tr></thead><tbody>");
    for (size_t row = 0; row < count; row++) {
        html_markup(h, "<tr>");
        for (size_t c = 0; c < field->column_count; c++) {
            char text[SHOWN_TEXT];
            if (inputs)
                cw_sheet_in_cell_shown(kept->in, field, row, &field->columns[c], text, sizeof text);
            else
                cw_sheet_out_cell_shown(kept->out, field, row, &field->columns[c], text, sizeof text);
            html_markup(h, "<td>");
            html_said(h, text);
            html_markup(h, "</td>");
        }
        html_markup(h, "</tr>\n");
    }
    html_markup(h, "</tbody></table></div>\n");
}

static void write_sheet(cw_html *h, const cw_report_sheet *kept)
{
    const cw_worksheet *sheet = kept->sheet;
    char text[SHOWN_TEXT];
    html_markup(h, "<h3>");
    html_text(h, sheet->title);
    if (given(kept->when))
        html_textf(h, ", %s", kept->when);
    html_markup(h, "</h3><dl class='facts'>");
    fact(h, "For", kept->title);
    for (size_t i = 0; i < sheet->input_count; i++) {
        cw_sheet_in_shown(sheet, kept->in, &sheet->inputs[i], text, sizeof text);
        told_fact(h, sheet->inputs[i].label, text);
    }
    for (size_t i = 0; i < sheet->output_count; i++) {
        if (sheet->outputs[i].kind == CW_KIND_ROWS || sheet->outputs[i].kind == CW_KIND_DRAWING ||
            sheet->outputs[i].kind == CW_KIND_MESH)
            continue;
        cw_sheet_out_shown(sheet, kept->out, &sheet->outputs[i], text, sizeof text);
        told_fact(h, sheet->outputs[i].label, text);
    }
    bool own;
    for (size_t i = 0; cw_sheet_in_material(kept->in, i, text, sizeof text, &own); i++)
        if (own)
            fact(h, "Your own material", text);
    html_markup(h, "</dl>\n");
    for (size_t i = 0; i < sheet->input_count; i++)
        write_rows(h, kept, &sheet->inputs[i], true);
    for (size_t i = 0; i < sheet->output_count; i++)
        write_rows(h, kept, &sheet->outputs[i], false);
    cw_cautions(h, sheet->cautions);
    html_markup(h, "<p class='soft'>");
    html_text(h, kept->remark);
    html_markup(h, "</p>\n");
}

/* ---- work, parts, film, tools, costs ---- */

static void write_steps(cw_html *h, const cw_report *r)
{
    html_markup(h, "<section class='panel' id='work'><h2>Work done</h2><ol class='plain'>");
    for (size_t i = 0; i < r->step_count; i++) {
        const cw_report_step *step = &r->steps[i];
        html_markup(h, "<li><h3>");
        html_textf(h, "%ld. %s%s", step->number, step->title, step->done ? "" : " (planned, not done)");
        html_markup(h, "</h3>");
        if (given(step->flies)) {
            html_markup(h, "<p class='caution'><strong>Can fly.</strong> ");
            html_text(h, step->flies);
            html_markup(h, "</p>");
        }
        html_markup(h, "<dl class='facts'>");
        fact(h, "Came off", step->came_off);
        fact(h, "Held by", step->held_by);
        fact(h, "Thread", step->thread);
        fact(h, "Orientation and marks", step->orientation);
        fact(h, "Tool", step->tool);
        fact(h, "Lubricant found", step->lubricant_found);
        fact(h, "Lubricant used", step->lubricant_to_use);
        fact(h, "Tightened", step->torque);
        fact(h, "Checked before closing", step->check_before_closing);
        fact(h, "Notes", step->notes);
        html_markup(h, "</dl>");
        cw_write_record_photos(h, step->photos, step->photo_count);
        html_markup(h, "</li>\n");
    }
    html_markup(h, "</ol></section>\n");
}

static void write_parts(cw_html *h, const cw_report *r)
{
    html_markup(h, "<section class='panel' id='parts'><h2>Parts</h2><ul>");
    for (size_t i = 0; i < r->part_count; i++) {
        const cw_report_part *part = &r->parts[i];
        html_markup(h, "<li");
        html_attr(h, "class", part->out ? "out" : NULL);
        html_markup(h, ">");
        html_textf(h, "%ld \xc3\x97 %s %s %s: %s%s%s (%s)", part->pieces, part->kind, part->size, part->length,
                   part->out ? "STILL OUT" : part->state, given(part->reason) ? ", " : "", part->reason,
                   part->condition);
        html_markup(h, "</li>\n");
    }
    html_markup(h, "</ul></section>\n");
}

static void write_film(cw_html *h, const cw_report *r)
{
    html_markup(h, "<section class='panel' id='film'><h2>Test film</h2><ul>");
    for (size_t i = 0; i < r->frame_count; i++) {
        const cw_report_frame *frame = &r->frames[i];
        html_markup(h, "<li>");
        html_textf(h, "%s%sframe %ld, %s: ", given(frame->film) ? frame->film : "", given(frame->film) ? ", " : "",
                   frame->frame, frame->settings);
        html_markup(h, "<strong>");
        html_said(h, frame->verdict);
        html_markup(h, "</strong> ");
        html_text(h, frame->seen);
        html_markup(h, " <span class='soft'>");
        html_said(h, frame->scene);
        html_markup(h, "</span>");
        cw_write_record_photos(h, &frame->photo, 1);
        html_markup(h, "</li>\n");
    }
    html_markup(h, "</ul></section>\n");
}

static void write_tools(cw_html *h, const cw_report *r)
{
    html_markup(h, "<section class='panel' id='tools'><h2>Tools made for it</h2><ul>");
    for (size_t i = 0; i < r->tool_count; i++) {
        html_markup(h, "<li><strong>");
        html_text(h, r->tools[i].name);
        html_markup(h, "</strong> ");
        html_textf(h, "%s %s", r->tools[i].kind, r->tools[i].sizes);
        html_markup(h, "</li>\n");
    }
    html_markup(h, "</ul></section>\n");
}

static void write_costs(cw_html *h, const cw_report *r)
{
    html_markup(h, "<section class='panel' id='costs'><h2>Hours and costs</h2><div class='scroll' tabindex='0' "
                   "role='region' aria-label='Hours and costs'><table><thead><tr><th scope='col'>Day</th><th "
                   "scope='col'>What</th><th scope='col' class='n'>Time</th><th scope='col' class='n'>Cost</th></tr>"
                   "</thead><tbody>");
    for (size_t i = 0; i < r->cost_count; i++) {
        html_markup(h, "<tr><td>");
        html_text(h, r->costs[i].on);
        html_markup(h, "</td><th scope='row'>");
        html_text(h, r->costs[i].what);
        html_markup(h, "</th><td class='n'>");
        html_said(h, r->costs[i].time);
        html_markup(h, "</td><td class='n'>");
        html_text(h, r->costs[i].amount);
        html_markup(h, "</td></tr>\n");
    }
    html_markup(h, "</tbody></table></div></section>\n");
}

static void write_remains(cw_html *h, const cw_report *r)
{
    html_markup(h, "<section class='panel' id='remains'><h2>What remains</h2>");
    if (r->remaining_count == 0)
        html_markup(h, "<p>Nothing was noted as still to be done.</p>");
    else
        html_markup(h, "<ul>");
    for (size_t i = 0; i < r->remaining_count; i++) {
        html_markup(h, "<li>");
        html_sentence(h, r->remaining[i]);
        html_markup(h, "</li>\n");
    }
    if (r->remaining_count > 0)
        html_markup(h, "</ul>");
    html_markup(h, "</section>\n");
}

static void write_report(cw_html *h, const cw_report *r)
{
    write_head(h, r);
    write_proofs(h, r);
    write_lists(h, r, "before the work", "Condition when it came");
    write_shutter(h, r);
    write_others(h, r);
    if (r->sheet_count > 0)
        html_markup(h, "<section class='panel' id='sheets'><h2>Worksheets</h2>\n");
    for (size_t i = 0; i < r->sheet_count; i++)
        write_sheet(h, &r->sheets[i]);
    if (r->sheet_count > 0)
        html_markup(h, "</section>\n");
    if (r->step_count > 0)
        write_steps(h, r);
    if (r->part_count > 0)
        write_parts(h, r);
    if (r->tool_count > 0)
        write_tools(h, r);
    write_lists(h, r, "", "Looked through");
    write_lists(h, r, "after the work", "Looked at after the work");
    if (r->frame_count > 0)
        write_film(h, r);
    if (r->more_photo_count > 0) {
        html_markup(h, "<section class='panel' id='photos'><h2>More photos</h2>\n");
        cw_write_record_photos(h, r->more_photos, r->more_photo_count);
        html_markup(h, "</section>\n");
    }
    if (r->cost_count > 0)
        write_costs(h, r);
    write_remains(h, r);
}

/* The main thing to do with it: hand the camera on when it is proved, else print. */
static cw_status write_actions(cw_request *request, cw_html *h, int64_t job_id, cw_error *err)
{
    cw_job job;
    cw_next next;
    bool owner = cw_value(request, "owner", "")[0] != '\0', costs = cw_value(request, "costs", "")[0] != '\0';
    CW_TRY(cw_job_get(request->bench, job_id, &job, err));
    cw_status status = cw_job_next(request->bench, job_id, NULL, &next, err);
    if (status == CW_OK) {
        bool hands_on = next.action.kind == CW_NEXT_REPORT;
        html_markup(h, "<div class='actions'>");
        if (hands_on)
            cw_write_action(request, h, &job, &next.other, true);
        cw_link(h, hands_on ? "button" : "main", "The report as PDF", "/jobs/%" PRId64 "/report.pdf?%s%s", job_id,
                owner ? "owner=1&" : "", costs ? "costs=1" : "");
        cw_link(h, "button", costs ? "Without hours and costs" : "With hours and costs", "/jobs/%" PRId64 "/report%s",
                job_id, costs ? "" : "?costs=1");
        cw_link(h, "button", "Photos and files", "/jobs/%" PRId64 "/paper", job_id);
        html_markup(h, "</div>\n");
    }
    cw_job_free(&job);
    return status;
}

static cw_status gather(cw_request *request, cw_gathered *gathered, char day[CW_DAY_TEXT], cw_error *err)
{
    cw_today(day);
    const cw_gather_options options = {.paper = "A4",
                                       .made_on = day,
                                       .with_owner = cw_value(request, "owner", "")[0] != '\0',
                                       .with_costs = cw_value(request, "costs", "")[0] != '\0'};
    return cw_gather(request->bench, request->match.ids[0], &options, gathered, err);
}

cw_status page_report(cw_request *request, cw_reply *reply, cw_error *err)
{
    char day[CW_DAY_TEXT];
    cw_gathered gathered;
    int64_t job_id = request->match.ids[0];
    cw_manner_use(&request->manner); /* plots are made while gathering */
    CW_TRY(gather(request, &gathered, day, err));
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_BENCH, "Report");
    cw_status status = cw_write_job_title(request, h, job_id, "Report", err);
    if (status == CW_OK)
        status = write_actions(request, h, job_id, err);
    if (status == CW_OK)
        write_report(h, &gathered.report);
    cw_page_end(reply);
    cw_gathered_free(&gathered);
    return status;
}

cw_status twin_report(cw_request *request, cw_reply *reply, cw_error *err)
{
    char day[CW_DAY_TEXT];
    cw_gathered gathered;
    CW_TRY(gather(request, &gathered, day, err));
    reply->json = cw_report_json(&gathered.report);
    cw_gathered_free(&gathered);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the report");
}
