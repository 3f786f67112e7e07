/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/steps_section.h"

#include <math.h>
#include <stdio.h>

#include "base/buf.h"
#include "report/cells.h"

bool cw_report_given(const char *text)
{
    return text != NULL && *text != '\0';
}

static void duration_words(double seconds, char *out, size_t size)
{
    *out = '\0';
    if (isfinite(seconds) && seconds >= 3600)
        snprintf(out, size, "%.0f h %02.0f min", floor(seconds / 3600), floor(fmod(seconds, 3600) / 60));
    else if (isfinite(seconds) && seconds >= 90)
        snprintf(out, size, "%.0f min", round(seconds / 60));
    else if (isfinite(seconds) && seconds > 0)
        snprintf(out, size, "%.0f s", seconds);
}

void cw_step_record(cw_document *document, const cw_report_step *step)
{
    char duration[64];
    cw_doc_group_begin(document);
    cw_doc_heading_format(document, 3, "%ld. %s%s", step->number, step->title != NULL ? step->title : "",
                          step->done ? "" : " (planned, not done)");
    duration_words(step->duration_s, duration, sizeof duration);
    const cw_doc_fact facts[] = {
        {"Came off", step->came_off},
        {"Held by", step->held_by},
        {"Thread", step->thread},
        {"Orientation and marks", step->orientation},
        {"Can fly", step->flies},
        {"Tool", step->tool},
        {"Lubricant found", step->lubricant_found},
        {"Lubricant used", step->lubricant_to_use},
        {"Tightened", step->torque},
        {"Checked before closing", step->check_before_closing},
        {"Took", duration},
    };
    cw_doc_facts(document, facts, CW_COUNT(facts));
    cw_doc_labelled(document, "Notes", step->notes);
    cw_doc_photos(document, step->photos, step->photo_count, 3, 45);
    cw_doc_group_end(document);
}

void cw_part_words(const cw_report_part *part, cw_buf *words)
{
    if (part->pieces > 1)
        cw_buf_printf(words, "%ld \xc3\x97 ", part->pieces);
    cw_buf_text(words, part->kind != NULL ? part->kind : "part");
    if (cw_report_given(part->size))
        cw_buf_printf(words, " %s", part->size);
    if (cw_report_given(part->length))
        cw_buf_printf(words, ", %s", part->length);
    if (cw_report_given(part->sat))
        cw_buf_printf(words, ", from %s", part->sat);
    if (cw_report_given(part->orientation))
        cw_buf_printf(words, ", %s", part->orientation);
    if (part->tray_number > 0)
        cw_buf_printf(words, ": tray %ld", part->tray_number);
}

static void part_row(cw_cells *cells, const cw_report_part *part)
{
    cw_cells_format(cells, "%ld", part->pieces);
    cw_cells_text(cells, part->kind);
    cw_cells_format(cells, "%s%s%s", part->size != NULL ? part->size : "",
                    cw_report_given(part->size) && cw_report_given(part->length) ? ", " : "",
                    part->length != NULL ? part->length : "");
    cw_cells_text(cells, part->sat);
    cw_cells_text(cells, part->condition);
    if (part->out)
        cw_cells_bold(cells, "STILL OUT");
    else
        cw_cells_format(cells, "%s%s%s", part->state != NULL ? part->state : "",
                        cw_report_given(part->state) && cw_report_given(part->reason) ? ": " : "",
                        part->reason != NULL ? part->reason : "");
    if (part->tray_number > 0)
        cw_cells_format(cells, "%ld", part->tray_number);
    else
        cw_cells_text(cells, NULL);
}

void cw_parts_table(cw_document *document, const cw_report_part *parts, size_t count)
{
    cw_cells cells = {0};
    cw_cells_column(&cells, "no.", CW_CELL_END);
    cw_cells_column(&cells, "part", CW_CELL_START);
    cw_cells_column(&cells, "size", CW_CELL_START);
    cw_cells_column(&cells, "sat", CW_CELL_START);
    cw_cells_column(&cells, "condition", CW_CELL_START);
    cw_cells_column(&cells, "now", CW_CELL_START);
    cw_cells_column(&cells, "tray", CW_CELL_END);
    for (int out_first = 1; out_first >= 0; out_first--)
        for (size_t i = 0; i < count; i++)
            if (parts[i].out == (out_first == 1))
                part_row(&cells, &parts[i]);
    cw_cells_finish(&cells, document);
}
