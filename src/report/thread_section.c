/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/thread_section.h"

#include <string.h>

#include "base/manner.h"
#include "base/say.h"
#include "report/cells.h"
#include "report/shutter_section.h"
#include "report/steps_section.h"

enum { LINE_MOST = 4096 };

static void one_list(cw_document *document, const cw_report_list *list)
{
    cw_buf text = cw_buf_new(LINE_MOST), head = cw_buf_new(LINE_MOST);
    cw_doc_group_begin(document);
    cw_say_told(&head, "%s, %s", list->title, list->on);
    cw_doc_heading(document, 3, cw_buf_string(&head));
    cw_say(&text, "%ld items: %ld as they should be, %zu found, %ld not applicable", list->items, list->done,
           list->found_count, list->not_applicable);
    if (list->open > 0)
        cw_say(&text, ", %ld NOT LOOKED AT", list->open);
    cw_buf_char(&text, '.');
    cw_doc_paragraph(document, cw_buf_string(&text));
    cw_buf_free(&text);
    cw_buf_free(&head);
    cw_doc_group_end(document);
    for (size_t i = 0; i < list->found_count; i++) {
        const cw_report_found *found = &list->found[i];
        cw_doc_group_begin(document);
        if (cw_report_given(found->remark)) {
            cw_doc_labelled(document, "Found", found->remark);
            cw_doc_small_told(document, found->text);
        } else {
            cw_doc_labelled_told(document, "Found", found->text);
        }
        if (found->photo.path != NULL)
            cw_doc_photos(document, &found->photo, 1, 3, 45);
        cw_doc_group_end(document);
    }
}

void cw_lists_section(cw_document *document, const cw_report *report, const char *when, const char *heading)
{
    bool any = false;
    for (size_t i = 0; i < report->list_count; i++) {
        if (strcmp(report->lists[i].when, when) != 0)
            continue;
        if (!any)
            cw_doc_heading(document, 1, heading);
        any = true;
        one_list(document, &report->lists[i]);
    }
}

void cw_proof_section(cw_document *document, const cw_report *report)
{
    if (report->proof_count == 0)
        return;
    cw_cells cells = {0};
    cw_doc_heading(document, 1, "Proved, test by test");
    cw_cells_column(&cells, "test", CW_CELL_START);
    cw_cells_column(&cells, "before the work", CW_CELL_START);
    cw_cells_column(&cells, "after the work", CW_CELL_START);
    for (size_t i = 0; i < report->proof_count; i++) {
        const cw_report_proof *proof = &report->proofs[i];
        bool done = cw_report_given(proof->after);
        cw_buf after = cw_buf_new(65536);
        cw_tell(&after, done ? proof->after : "");
        if (cw_report_given(proof->left_out))
            cw_say(&after, "%sleft out: %s", done ? "\n" : "", proof->left_out);
        else if (!done)
            cw_say(&after, "NOT DONE");
        if (cw_report_given(proof->film))
            cw_say_told(&after, "\nThe film: %s", proof->film);
        cw_cells_bold(&cells, proof->label);
        cw_cells_told(&cells, cw_report_given(proof->before) ? proof->before : cw_words_of("not measured"), false);
        if (proof->outside)
            cw_cells_bold(&cells, cw_buf_string(&after));
        else
            cw_cells_text(&cells, cw_buf_string(&after));
        cw_buf_free(&after);
    }
    cw_cells_finish(&cells, document);
    cw_doc_small(document,
                 "These are the tests that a camera of this kind owes (common practice, no source). A verdict "
                 "is the one kept with the measurement; its limits stand there.");
}

void cw_others_section(cw_document *document, const cw_report *report)
{
    for (size_t i = 0; i < report->other_count; i++) {
        const cw_report_other *other = &report->others[i];
        const cw_report_test none = {0};
        if (other->test.test == NULL)
            continue;
        cw_doc_heading(document, 2, other->title);
        cw_exposure_table(document, &other->test, &none);
        cw_maps_part(document, &other->test);
        cw_doc_labelled(document, "Tested on", other->test.tested_on);
        cw_doc_labelled_told(document, "Source", other->test.source);
        cw_doc_labelled(document, "Notes", other->test.notes);
    }
}

void cw_film_section(cw_document *document, const cw_report *report)
{
    if (report->frame_count == 0)
        return;
    cw_cells cells = {0};
    cw_doc_heading(document, 1, "Test film");
    cw_cells_column(&cells, "frame", CW_CELL_END);
    cw_cells_column(&cells, "settings", CW_CELL_START);
    cw_cells_column(&cells, "shows", CW_CELL_START);
    cw_cells_column(&cells, "verdict", CW_CELL_START);
    for (size_t i = 0; i < report->frame_count; i++) {
        const cw_report_frame *frame = &report->frames[i];
        cw_cells_format(&cells, "%s%s%ld", cw_report_given(frame->film) ? frame->film : "",
                        cw_report_given(frame->film) ? ", " : "", frame->frame);
        cw_cells_told(&cells, frame->settings, false);
        cw_cells_told(&cells, frame->scene, false);
        cw_cells_format(&cells, "%s%s%s", frame->verdict, cw_report_given(frame->seen) ? ": " : "",
                        frame->seen != NULL ? frame->seen : "");
    }
    cw_cells_finish(&cells, document);
    for (size_t i = 0; i < report->frame_count; i++)
        if (report->frames[i].photo.path != NULL)
            cw_doc_photos(document, &report->frames[i].photo, 1, 3, 45);
}

void cw_tools_section(cw_document *document, const cw_report *report)
{
    if (report->tool_count == 0)
        return;
    cw_cells cells = {.narrow = true};
    cw_doc_heading(document, 1, "Tools made for it");
    cw_cells_column(&cells, "tool", CW_CELL_START);
    cw_cells_column(&cells, "kind", CW_CELL_START);
    cw_cells_column(&cells, "sizes", CW_CELL_START);
    for (size_t i = 0; i < report->tool_count; i++) {
        cw_cells_bold(&cells, report->tools[i].name);
        cw_cells_text(&cells, report->tools[i].kind);
        cw_cells_text(&cells, report->tools[i].sizes);
    }
    cw_cells_finish(&cells, document);
}

void cw_costs_section(cw_document *document, const cw_report *report)
{
    if (report->cost_count == 0)
        return;
    cw_cells cells = {.narrow = true};
    cw_doc_heading(document, 1, "Hours and costs");
    cw_cells_column(&cells, "day", CW_CELL_START);
    cw_cells_column(&cells, "what", CW_CELL_START);
    cw_cells_column(&cells, "time", CW_CELL_END);
    cw_cells_column(&cells, "cost", CW_CELL_END);
    for (size_t i = 0; i < report->cost_count; i++) {
        const cw_report_cost *cost = &report->costs[i];
        cw_cells_text(&cells, cost->on);
        if (cw_report_given(cost->on))
            cw_cells_text(&cells, cost->what);
        else
            cw_cells_bold(&cells, cost->what);
        cw_cells_firm(&cells, cost->time, false);
        cw_cells_firm(&cells, cost->amount, false);
    }
    cw_cells_finish(&cells, document);
}
