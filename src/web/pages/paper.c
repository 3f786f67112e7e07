/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A job on paper and out of the house: report, sheets, tray labels as PDF; the whole job in one file, and back in. */
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/unit.h"
#include "notebook/archive.h"
#include "report/gather.h"
#include "web/house.h"
#include "web/page.h"
#include "web/pages/notebook_parts.h"
#include "web/pages/pages.h"

enum { PDF_MOST = 512 * 1024 * 1024 };

static const cw_option_item papers[] = {{"A4", "A4"}, {"Letter", "Letter"}};

static void write_pdf_form(cw_request *request, cw_html *h, const char *heading, const char *words, const char *file,
                           bool main_one, bool with_owner)
{
    html_markup(h, "<section class='panel'><h2>");
    html_text(h, heading);
    html_markup(h, "</h2><p class='soft'>");
    html_text(h, words);
    html_markup(h, "</p><form method='get'");
    html_attrf(h, "action", "/jobs/%" PRId64 "/%s", request->match.ids[0], file);
    html_markup(h, ">");
    if (with_owner)
        cw_field_tick(request, h, "owner", "With whose it is and what they asked", false);
    html_markup(h, "<div class='downloads'>");
    for (size_t i = 0; i < CW_COUNT(papers); i++) {
        html_markup(h, "<button name='paper'");
        html_attr(h, "class", main_one && i == 0 ? "main" : "button");
        html_attr(h, "value", papers[i].value);
        html_markup(h, ">");
        html_textf(h, "PDF, %s", papers[i].label);
        html_markup(h, "</button>");
    }
    html_markup(h, "</div></form></section>\n");
}

static void write_labels_form(cw_request *request, cw_html *h)
{
    html_markup(
        h, "<section class='panel'><h2>Tray labels</h2><p class='soft'>Round labels with the tray's number and a code "
           "that opens the tray on the phone.</p><form method='get'");
    html_attrf(h, "action", "/jobs/%" PRId64 "/labels.pdf", request->match.ids[0]);
    html_markup(h, ">");
    cw_field_input(
        request, h,
        &(cw_input){.name = "diameter", .label = "Diameter of the cap", .unit = "mm", .value = "30", .narrow = true});
    html_markup(h, "<button class='button'>PDF</button></form></section>\n");
}

cw_status page_paper(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_BENCH, "Paper and files");
    CW_TRY(cw_write_job_title(request, h, request->match.ids[0], "Paper and files", err));
    html_markup(h, "<div class='cards'>");
    write_pdf_form(request, h, "The report",
                   "What goes with the camera: its state, the shutter before and after, the work, "
                   "and what remains.",
                   "report.pdf", true, true);
    write_pdf_form(request, h, "Sheet for taking apart", "The steps in order, with boxes to tick.", "teardown.pdf",
                   false, false);
    write_pdf_form(request, h, "Sheet for putting together", "The steps backwards, with photos, parts and trays.",
                   "reassembly.pdf", false, false);
    write_labels_form(request, h);
    html_markup(
        h, "<section class='panel'><h2>The whole job in one file</h2><p class='soft'>For another bench, or to keep "
           "aside: notes, photos without their places, recordings.</p><form method='get'");
    html_attrf(h, "action", "/jobs/%" PRId64 "/export.zip", request->match.ids[0]);
    html_markup(h, ">");
    cw_field_tick(request, h, "owner", "With whose it is and what they asked", false);
    html_markup(h, "<button class='button'>Zip file</button></form></section><section class='panel'><h2>The notes as "
                   "text</h2><p class='soft'>Markdown with its photos, places taken out: to read, print or publish "
                   "anywhere.</p><div class='actions'>");
    cw_link(h, "button", "Notes as Markdown", "/jobs/%" PRId64 "/notes.zip", request->match.ids[0]);
    html_markup(h, "</div></section></div>\n");
    cw_page_end(reply);
    return CW_OK;
}

static const char *paper_of(const cw_request *request)
{
    return strcmp(cw_value(request, "paper", "A4"), "Letter") == 0 ? "Letter" : "A4";
}

typedef cw_status (*document_maker)(const cw_report *report, cw_document **document, cw_error *err);

static cw_status make_teardown(const cw_report *report, cw_document **document, cw_error *err)
{
    return cw_step_sheet_make(report, CW_SHEET_TEARDOWN, document, err);
}

static cw_status make_reassembly(const cw_report *report, cw_document **document, cw_error *err)
{
    return cw_step_sheet_make(report, CW_SHEET_REASSEMBLY, document, err);
}

static cw_status reply_document(cw_request *request, cw_reply *reply, document_maker make, const char *name,
                                cw_error *err)
{
    char day[CW_DAY_TEXT], file_name[64];
    cw_gathered gathered;
    cw_document *document = NULL;
    cw_today(day);
    cw_gather_options options = {.paper = paper_of(request),
                                 .made_on = day,
                                 .with_owner = cw_ticked(request, "owner"),
                                 .with_costs = cw_ticked(request, "costs")};
    cw_manner_use(&request->manner); /* until the dispatcher has it */
    CW_TRY(cw_gather(request->bench, request->match.ids[0], &options, &gathered, err));
    cw_buf pdf = cw_buf_new(PDF_MOST);
    snprintf(file_name, sizeof file_name, "%s-%" PRId64 ".pdf", name, request->match.ids[0]);
    cw_status status = make(&gathered.report, &document, err);
    if (status == CW_OK)
        status = cw_document_pdf(document, &pdf, err);
    if (status == CW_OK)
        status = cw_reply_buffer(reply, &pdf, "application/pdf", file_name, err);
    cw_buf_free(&pdf);
    cw_document_free(document);
    cw_gathered_free(&gathered);
    return status;
}

cw_status get_report(cw_request *request, cw_reply *reply, cw_error *err)
{
    return reply_document(request, reply, cw_report_make, "report", err);
}

cw_status get_teardown(cw_request *request, cw_reply *reply, cw_error *err)
{
    return reply_document(request, reply, make_teardown, "teardown", err);
}

cw_status get_reassembly(cw_request *request, cw_reply *reply, cw_error *err)
{
    return reply_document(request, reply, make_reassembly, "reassembly", err);
}

cw_status get_labels(cw_request *request, cw_reply *reply, cw_error *err)
{
    char addresses[1][CW_ADDRESS_TEXT];
    double diameter_m;
    CW_TRY(cw_parse_measure(cw_value(request, "diameter", "30"), CW_LENGTH, "mm", &diameter_m, err));
    /* The phone reaches the laptop by its address on the network; without --lan there is nothing to scan. */
    bool scan = request->house->lan && cw_house_addresses(request->house, addresses, 1) == 1;
    cw_label_sheet sheet = {.paper = paper_of(request), .diameter_mm = 1e3 * diameter_m, .title = "Trays"};
    cw_buf pdf = cw_buf_new(PDF_MOST);
    cw_status status =
        cw_tray_labels_pdf(request->bench, request->match.ids[0], &sheet, scan ? addresses[0] : NULL, &pdf, err);
    if (status == CW_OK)
        status = cw_reply_buffer(reply, &pdf, "application/pdf", "tray-labels.pdf", err);
    cw_buf_free(&pdf);
    return status;
}

/* What a label's code opens. */
cw_status get_tray(cw_request *request, cw_reply *reply, cw_error *err)
{
    (void)err;
    cw_go(request, reply, NULL, "/jobs/%" PRId64 "/trays#tray-%" PRId64, request->match.ids[0], request->match.ids[1]);
    return CW_OK;
}

/* A file under incoming/, where what is left of a broken call is tidied away. */
static cw_status temporary_zip(const cw_request *request, char *path, size_t size, cw_error *err)
{
    snprintf(path, size, "%s/incoming/export-XXXXXX.zip", cw_bench_folder(request->bench));
    int fd = mkstemps(path, 4);
    if (fd < 0)
        return cw_fail(err, CW_FILE, "no file can be written in the bench folder: %s", strerror(errno));
    close(fd);
    return CW_OK;
}

cw_status get_export(cw_request *request, cw_reply *reply, cw_error *err)
{
    char path[sizeof request->house->folder + 64], name[64];
    CW_TRY(temporary_zip(request, path, sizeof path, err));
    cw_export_options options = {.with_owner = cw_ticked(request, "owner"), .with_recordings = true};
    cw_status status = cw_job_export(request->bench, request->match.ids[0], path, &options, err);
    snprintf(name, sizeof name, "job-%" PRId64 ".zip", request->match.ids[0]);
    if (status == CW_OK)
        status = cw_reply_file(reply, path, "application/zip", name, err);
    unlink(path); /* the reply holds it open */
    return status;
}

cw_status get_notes(cw_request *request, cw_reply *reply, cw_error *err)
{
    char path[sizeof request->house->folder + 64], name[64];
    CW_TRY(temporary_zip(request, path, sizeof path, err));
    cw_status status = cw_job_markdown_zip(request->bench, request->match.ids[0], path, err);
    snprintf(name, sizeof name, "job-%" PRId64 "-notes.zip", request->match.ids[0]);
    if (status == CW_OK)
        status = cw_reply_file(reply, path, "application/zip", name, err);
    unlink(path);
    return status;
}

cw_status page_import(cw_request *request, cw_reply *reply, cw_error *err)
{
    (void)err;
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_BENCH, "Take in a job from a file");
    html_markup(
        h, "<p class='trail'><a href='/'>The bench</a></p><h1>Take in a job from a file</h1><p class='lead'>A zip file "
           "that another bench wrote under Paper and files.</p>\n");
    cw_form_begin(request, h, true, "/import");
    cw_field_input(request, h, &(cw_input){.name = "job", .label = "Zip file", .type = "file", .required = true});
    cw_submit(h, "Take it in");
    cw_form_end(h);
    cw_page_end(reply);
    return CW_OK;
}

cw_status post_import(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_incoming *incoming = cw_request_take_upload(request, "job");
    int64_t job_id;
    if (incoming == NULL)
        return cw_fail(err, CW_INPUT, "no file came with it; choose the zip file first");
    CW_TRY(cw_job_import_incoming(incoming, &job_id, err));
    cw_go(request, reply, "The job is on this bench now.", "/jobs/%" PRId64, job_id);
    return CW_OK;
}
