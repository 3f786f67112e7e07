/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A part: what it is, where it lies, and where it went. The trays of a job. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "web/page.h"
#include "web/pages/notebook_parts.h"
#include "web/pages/pages.h"

static const cw_option_item conditions[] = {
    {"good", "good"}, {"clean", "to clean"}, {"replace", "to replace"}, {"make", "to make"}};

static void write_mover(cw_request *request, cw_html *h, const cw_part *part)
{
    static const struct {
        cw_part_state state;
        const char *label;
    } moves[] = {{CW_PART_BACK, "Back in place"},
                 {CW_PART_REPLACED, "Replaced by another"},
                 {CW_PART_MADE, "Made new"},
                 {CW_PART_OUT, "Out again"}};
    char pieces[24];
    snprintf(pieces, sizeof pieces, "%" PRId64, part->pieces);
    html_markup(h, "<section class='panel next'><h2>Where it went</h2>\n");
    cw_form_begin(request, h, false, "/parts/%" PRId64 "/move", part->id);
    if (part->pieces > 1)
        cw_field_input(
            request, h,
            &(cw_input){
                .name = "pieces", .label = "How many of them", .value = pieces, .mode = "numeric", .narrow = true});
    html_markup(h, "<div class='actions'>");
    for (size_t i = 0; i < CW_COUNT(moves); i++)
        if (moves[i].state != part->state)
            cw_submit_other(h, moves[i].label, "state", cw_part_state_name(moves[i].state));
    html_markup(h, "</div>");
    cw_field_input(
        request, h,
        &(cw_input){.name = "reason", .label = "What is in its place, or why it is left out", .value = part->reason});
    cw_submit_other(h, "Left out on purpose", "state", cw_part_state_name(CW_PART_LEFT_OUT));
    cw_form_end(h);
    html_markup(h, "</section>\n");
}

static void write_fields(cw_request *request, cw_html *h, const cw_part *part)
{
    char revision[32], pieces[24], tray[24] = "";
    snprintf(revision, sizeof revision, "%" PRId64, part->revision);
    snprintf(pieces, sizeof pieces, "%" PRId64, part->pieces);
    if (part->tray_number > 0)
        snprintf(tray, sizeof tray, "%" PRId64, part->tray_number);
    html_markup(h, "<section class='panel'><h2>What it is</h2>\n");
    cw_form_begin(request, h, false, "/parts/%" PRId64 "/edit", part->id);
    cw_field_hidden(h, "revision", cw_value(request, "revision", revision));
    cw_field_input(request, h, &(cw_input){.name = "kind", .label = "Kind", .value = part->kind, .required = true});
    html_markup(h, "<div class='pair'>");
    cw_field_input(request, h, &(cw_input){.name = "count", .label = "How many", .value = pieces, .mode = "numeric"});
    cw_field_input(request, h, &(cw_input){.name = "tray", .label = "Tray", .value = tray, .mode = "numeric"});
    cw_field_input(request, h, &(cw_input){.name = "size", .label = "Size", .value = part->size, .example = "M1.7"});
    cw_field_input(request, h,
                   &(cw_input){.name = "length", .label = "Length", .value = part->length, .example = "3.2 mm"});
    html_markup(h, "</div>");
    cw_field_input(request, h, &(cw_input){.name = "sat", .label = "Where it sat", .value = part->sat});
    cw_field_input(request, h,
                   &(cw_input){.name = "orientation", .label = "Which way round", .value = part->orientation});
    cw_field_choice(request, h, "condition", "Condition", cw_condition_name(part->condition), conditions,
                    CW_COUNT(conditions), NULL);
    cw_field_input(request, h, &(cw_input){.name = "notes", .label = "Notes", .value = part->notes, .rows = 3});
    html_markup(h, "<button class='button'>Keep</button>");
    cw_form_end(h);
    html_markup(h, "<div class='actions'>");
    cw_button_form(request, h, true, "It was noted by mistake: remove it", "/parts/%" PRId64 "/delete", part->id);
    html_markup(h, "</div></section>\n");
}

/* Worksheets that say how a new one is to be made; what comes out can be kept on the part. */
static void write_making(cw_html *h, const cw_part *part)
{
    static const struct {
        const char *sheet, *label;
    } sheets[] = {{"fit", "A pin: what to turn and ream"},
                  {"press-fit", "A pin to press in"},
                  {"which-screw", "A screw: which thread"},
                  {"coil-spring", "A coil spring"},
                  {"torsion-spring", "A torsion spring"},
                  {"gear-identify", "A gear"},
                  {"shims", "Shims"},
                  {"light-seal", "A light seal"}};
    html_markup(h, "<details class='panel'><summary>Make a new one</summary><ul class='lines'>");
    for (size_t i = 0; i < CW_COUNT(sheets); i++) {
        html_markup(h, "<li>");
        cw_link(h, "", sheets[i].label, "/worksheets/%s?_job=%" PRId64 "&_part=%" PRId64, sheets[i].sheet, part->job_id,
                part->id);
        html_markup(h, "</li>");
    }
    html_markup(h, "</ul></details>\n");
}

cw_status page_part(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_part part;
    CW_TRY(cw_part_get(request->bench, request->match.ids[0], &part, err));
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_BENCH, part.kind);
    html_markup(h, "<p class='trail'>");
    if (part.step_id > 0)
        cw_link(h, "", "The step it came off in", "/steps/%" PRId64, part.step_id);
    else
        cw_link(h, "", "The job", "/jobs/%" PRId64, part.job_id);
    html_markup(h, "</p><h1>");
    cw_write_part_name(h, &part);
    html_markup(h, "</h1>\n<p class='lead'>");
    cw_write_part_state(h, &part);
    html_markup(h, "</p>\n");
    if (part.state != CW_PART_EXPECTED)
        write_mover(request, h, &part);
    cw_status status = cw_write_photos(request, h, &(cw_photo_filter){.part_id = part.id}, err);
    write_making(h, &part);
    write_fields(request, h, &part);
    cw_page_end(reply);
    cw_part_free(&part);
    return status;
}

static cw_status change(cw_request *request, const cw_part *old, cw_error *err)
{
    cw_part part = *old;
    long pieces, tray;
    CW_TRY(cw_whole(request, "count", 1, 9999, 1, &pieces, err));
    CW_TRY(cw_whole(request, "tray", 0, 9999, 0, &tray, err));
    CW_TRY(cw_condition_parse(cw_value(request, "condition", "good"), &part.condition, err));
    part.tray_id = 0;
    if (tray > 0)
        CW_TRY(cw_tray_numbered(request->bench, part.job_id, tray, &part.tray_id, err));
    part.revision = cw_row_id(request, "revision");
    part.pieces = pieces;
    part.kind = cw_posted(request, "kind");
    part.size = cw_posted(request, "size");
    part.length = cw_posted(request, "length");
    part.sat = cw_posted(request, "sat");
    part.orientation = cw_posted(request, "orientation");
    part.notes = cw_posted(request, "notes");
    return cw_part_update(request->bench, &part, err);
}

cw_status post_part_edit(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_part part;
    CW_TRY(cw_part_get(request->bench, request->match.ids[0], &part, err));
    cw_status status = cw_change_begin(request->bench, part.job_id, "a part changed", err);
    if (status == CW_OK) {
        status = change(request, &part, err);
        if (status == CW_OK)
            status = cw_change_commit(request->bench, err);
        else
            cw_change_cancel(request->bench);
    }
    if (status == CW_OK)
        cw_go(request, reply, "Kept.", "/parts/%" PRId64, part.id);
    cw_part_free(&part);
    return status;
}

/* Where to look next: the sheet the button stood on, or the part itself. */
cw_status post_part_move(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_part part;
    cw_part_state state;
    long pieces;
    int64_t moved;
    CW_TRY(cw_part_state_parse(cw_posted(request, "state"), &state, err));
    CW_TRY(cw_whole(request, "pieces", 1, 9999, 0, &pieces, err));
    CW_TRY(cw_part_get(request->bench, request->match.ids[0], &part, err));
    int64_t job_id = part.job_id, step_id = part.step_id;
    cw_part_free(&part);
    CW_TRY(
        cw_part_move(request->bench, request->match.ids[0], pieces, state, cw_posted(request, "reason"), &moved, err));
    if (strcmp(cw_posted(request, "to"), "together") == 0)
        cw_go(request, reply, NULL, "/jobs/%" PRId64 "/together#step-%" PRId64, job_id, step_id);
    else
        cw_go(request, reply, "Kept.", "/parts/%" PRId64, moved);
    return CW_OK;
}

cw_status post_part_delete(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_part part;
    CW_TRY(cw_part_get(request->bench, request->match.ids[0], &part, err));
    int64_t job_id = part.job_id, step_id = part.step_id;
    cw_part_free(&part);
    CW_TRY(cw_part_delete(request->bench, request->match.ids[0], err));
    if (step_id > 0)
        cw_go(request, reply, "Removed. \"History and undo\" brings it back.", "/steps/%" PRId64, step_id);
    else
        cw_go(request, reply, "Removed. \"History and undo\" brings it back.", "/jobs/%" PRId64, job_id);
    return CW_OK;
}

/* ---- trays ---- */

static cw_status write_tray(cw_request *request, cw_html *h, const cw_tray *tray, cw_error *err)
{
    html_markup(h, "<li class='panel'");
    html_attrf(h, "id", "tray-%" PRId64, tray->number);
    html_markup(h, "><h2>");
    html_textf(h, "Tray %" PRId64 " %s", tray->number, tray->label);
    if (tray->put_away)
        html_markup(h, " <span class='unit'>put away</span>");
    html_markup(h, "</h2>\n");
    if (tray->part_count == 0)
        html_markup(h, "<p class='soft'>Empty.</p>");
    CW_TRY(cw_write_parts(request, h, &(cw_part_filter){.tray_id = tray->id}, err));
    cw_form_begin(request, h, false, "/trays/%" PRId64 "/edit", tray->id);
    html_markup(h, "<div class='downloads'><input type='text' name='label' autocomplete='off' class='short'");
    html_attrf(h, "aria-label", "Words on the label of tray %" PRId64, tray->number);
    html_attr(h, "value", request->match.ids[1] == tray->id ? cw_value(request, "label", tray->label) : tray->label);
    html_markup(h, "><button class='button'>Keep the label</button>");
    cw_submit_other(h, tray->put_away ? "On the bench again" : "Put it away", "away", tray->put_away ? "0" : "1");
    html_markup(h, "</div>");
    cw_form_end(h);
    html_markup(h, "</li>\n");
    return CW_OK;
}

cw_status page_trays(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_tray_list trays;
    CW_TRY(cw_tray_page(request->bench, request->match.ids[0], &trays, err));
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_BENCH, "Trays");
    cw_status status = cw_write_job_title(request, h, request->match.ids[0], "Trays", err);
    if (trays.count == 0)
        html_markup(h, "<p class='lead'>A tray comes by itself when the first part goes into it.</p>");
    html_markup(h, "<div class='actions'>");
    cw_link(h, "main", "Note the next step", "/jobs/%" PRId64 "/add", request->match.ids[0]);
    html_markup(h, "</div><ul class='plain'>");
    for (size_t i = 0; i < trays.count && status == CW_OK; i++)
        status = write_tray(request, h, &trays.items[i], err);
    html_markup(h, "</ul>\n");
    cw_page_end(reply);
    cw_tray_list_free(&trays);
    return status;
}

/* The trays of its job once more, the refused label where it was typed. */
cw_status page_tray_again(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_tray tray;
    CW_TRY(cw_tray_get(request->bench, request->match.ids[0], &tray, err));
    request->match.ids[0] = tray.job_id;
    request->match.ids[1] = tray.id;
    cw_tray_free(&tray);
    return page_trays(request, reply, err);
}

cw_status post_tray_edit(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_tray tray;
    CW_TRY(cw_tray_get(request->bench, request->match.ids[0], &tray, err));
    cw_tray changed = tray;
    changed.label = cw_posted(request, "label");
    const char *away = cw_posted(request, "away");
    if (away[0] != '\0')
        changed.put_away = strcmp(away, "1") == 0;
    cw_status status = cw_tray_update(request->bench, &changed, err);
    if (status == CW_OK)
        cw_go(request, reply, "Kept.", "/jobs/%" PRId64 "/trays#tray-%" PRId64, tray.job_id, tray.number);
    cw_tray_free(&tray);
    return status;
}
