/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The phone at the bench: the next step with one hand. A photo, a line, "4" and "tray 3". */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "notebook/job.h"
#include "notebook/part_line.h"
#include "web/page.h"
#include "web/pages/notebook_parts.h"
#include "web/pages/pages.h"

/* The step that is under way: the last one done; id 0 when there is none. */
static cw_status last_step(cw_bench *bench, int64_t job_id, cw_step *step, cw_error *err)
{
    cw_step_list steps;
    *step = (cw_step){0};
    CW_TRY(cw_step_page(bench, job_id, CW_TOGETHER_ORDER, 0, 1, &steps, err));
    int64_t id = steps.count > 0 ? steps.items[0].id : 0;
    cw_step_list_free(&steps);
    return id > 0 ? cw_step_get(bench, id, step, err) : CW_OK;
}

/* The first planned step that is not done yet; id 0 when there is none. */
static cw_status next_planned(cw_bench *bench, int64_t job_id, cw_step *step, cw_error *err)
{
    *step = (cw_step){0};
    for (int64_t first = 0;; first += CW_STEPS_A_PAGE) {
        cw_step_list steps;
        CW_TRY(cw_step_page(bench, job_id, CW_APART_ORDER, first, CW_STEPS_A_PAGE, &steps, err));
        int64_t id = 0;
        for (size_t i = 0; i < steps.count && id == 0; i++)
            if (steps.items[i].state == CW_STEP_PLANNED)
                id = steps.items[i].id;
        bool at_end = first + CW_STEPS_A_PAGE >= steps.total;
        cw_step_list_free(&steps);
        if (id > 0)
            return cw_step_get(bench, id, step, err);
        if (at_end)
            return CW_OK;
    }
}

/* ---- how many of what into which tray ---- */

static void write_counts(const cw_request *request, cw_html *h)
{
    static const char *const counts[] = {"1", "2", "3", "4", "5", "6", "7", "8"};
    const char *now = cw_value(request, "pieces", "1");
    html_markup(h, "<fieldset class='field'><legend>How many</legend><div class='choices tight'>");
    for (size_t i = 0; i < CW_COUNT(counts); i++) {
        html_markup(h, "<label class='choice'><input type='radio' name='pieces'");
        html_attr(h, "value", counts[i]);
        html_flag(h, "checked", strcmp(now, counts[i]) == 0);
        html_markup(h, "><span>");
        html_text(h, counts[i]);
        html_markup(h, "</span></label>");
    }
    html_markup(h, "</div></fieldset>\n");
}

static void write_kinds(const cw_request *request, cw_html *h)
{
    static const char *const kinds[] = {"screw", "washer", "spring", "ring", "lever", "cover"};
    const char *now = cw_value(request, "kind", "screw");
    html_markup(h, "<fieldset class='field'><legend>Of what</legend><div class='choices tight'>");
    for (size_t i = 0; i < CW_COUNT(kinds); i++) {
        html_markup(h, "<label class='choice'><input type='radio' name='kind'");
        html_attr(h, "value", kinds[i]);
        html_flag(h, "checked", strcmp(now, kinds[i]) == 0);
        html_markup(h, "><span>");
        html_text(h, kinds[i]);
        html_markup(h, "</span></label>");
    }
    html_markup(h, "</div></fieldset>\n");
}

enum { TRAYS_OFFERED = 4 };

/* The newest trays and a new one; each a button that keeps at once. */
static cw_status write_tray_buttons(cw_request *request, cw_html *h, int64_t job_id, cw_error *err)
{
    cw_tray_list trays;
    CW_TRY(cw_tray_page(request->bench, job_id, &trays, err));
    int64_t greatest = 0;
    html_markup(h, "<div class='trays'>");
    size_t from = trays.count > TRAYS_OFFERED ? trays.count - TRAYS_OFFERED : 0;
    for (size_t i = 0; i < trays.count; i++) {
        if (trays.items[i].number > greatest)
            greatest = trays.items[i].number;
        if (i < from)
            continue;
        html_markup(h, "<button class='main' name='tray'");
        html_attrf(h, "value", "%" PRId64, trays.items[i].number);
        html_markup(h, ">");
        html_textf(h, "into tray %" PRId64, trays.items[i].number);
        html_markup(h, "</button>");
    }
    html_markup(h, "<button class='button' name='tray'");
    html_attrf(h, "value", "%" PRId64, greatest + 1);
    html_markup(h, ">");
    html_textf(h, "new tray %" PRId64, greatest + 1);
    html_markup(h, "</button></div>\n");
    cw_tray_list_free(&trays);
    return CW_OK;
}

static cw_status write_current(cw_request *request, cw_html *h, const cw_step *step, cw_error *err)
{
    html_markup(h, "<section class='panel' id='current'><h2><a");
    html_attrf(h, "href", "/steps/%" PRId64, step->id);
    html_markup(h, ">");
    html_textf(h, "Step %" PRId64 ": %s", step->number, step->title);
    html_markup(h, "</a></h2>\n");
    CW_TRY(cw_write_photos(request, h, &(cw_photo_filter){.step_id = step->id}, err));
    CW_TRY(cw_write_parts(request, h, &(cw_part_filter){.step_id = step->id}, err));
    cw_form_begin(request, h, false, "/steps/%" PRId64 "/parts", step->id);
    cw_field_hidden(h, "to", "add");
    write_counts(request, h);
    write_kinds(request, h);
    CW_TRY(write_tray_buttons(request, h, step->job_id, err));
    cw_form_end(h);
    html_markup(h, "<details><summary>Say it in words, or add a photo</summary>");
    cw_form_begin(request, h, false, "/steps/%" PRId64 "/parts", step->id);
    cw_field_hidden(h, "to", "add");
    cw_field_input(request, h,
                   &(cw_input){.name = "line",
                               .label = "Parts, as you would say it",
                               .value = "",
                               .example = "3 screws M1.7 3.2mm into tray 2"});
    html_markup(h, "<button class='button'>Keep the parts</button>");
    cw_form_end(h);
    cw_form_begin(request, h, true, "/steps/%" PRId64 "/photos", step->id);
    cw_field_hidden(h, "to", "add");
    html_markup(h, "<div class='field'><label for='in-more'>Another photo of this step</label><input id='in-more' "
                   "type='file' name='photo' accept='image/*' capture='environment' multiple required></div>"
                   "<button class='button'>Keep the photo</button>");
    cw_form_end(h);
    html_markup(h, "</details></section>\n");
    return CW_OK;
}

static void write_planned(cw_request *request, cw_html *h, const cw_step *step)
{
    html_markup(h, "<section class='panel next'><p class='soft'>Last time, the next step was</p><h2>");
    html_textf(h, "%" PRId64 ". %s", step->number, step->title);
    html_markup(h, "</h2>\n");
    cw_write_step_words(h, step, false);
    html_markup(h, "<div class='actions'>");
    cw_button_form(request, h, false, "Done like that", "/steps/%" PRId64 "/tick", step->id);
    cw_link(h, "button", "Done differently", "/steps/%" PRId64 "/edit?tick=1", step->id);
    cw_button_form(request, h, true, "Not needed here", "/steps/%" PRId64 "/skip", step->id);
    html_markup(h, "</div></section>\n");
}

static void write_new(cw_request *request, cw_html *h, int64_t job_id)
{
    html_markup(h, "<section class='panel' id='next'><h2>Next step</h2>\n");
    cw_form_begin(request, h, true, "/jobs/%" PRId64 "/add", job_id);
    html_markup(h, "<label class='snap'><span>Photo</span><input type='file' name='photo' accept='image/*' "
                   "capture='environment' multiple></label>\n");
    cw_field_input(request, h,
                   &(cw_input){.name = "title",
                               .label = "What comes off",
                               .required = true,
                               .value = "",
                               .example = "top cover, 3 screws"});
    html_markup(h, "<details><summary>Left-hand thread, springs, orientation</summary>");
    cw_field_tick(request, h, "left", "Left-hand thread", false);
    cw_field_input(
        request, h,
        &(cw_input){.name = "flies", .label = "What can fly", .value = "", .example = "click spring under the plate"});
    cw_field_input(request, h,
                   &(cw_input){.name = "orientation", .label = "Which way round, marks scribed", .value = ""});
    html_markup(h, "</details>");
    cw_submit(h, "Keep this step");
    cw_form_end(h);
    html_markup(h, "</section>\n");
}

cw_status page_add(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t job_id = request->match.ids[0];
    cw_step current = {0}, planned = {0};
    cw_html *h = &reply->html;
    CW_TRY(last_step(request->bench, job_id, &current, err));
    cw_status status = next_planned(request->bench, job_id, &planned, err);
    cw_page_begin(request, reply, CW_PLACE_BENCH, "Next step");
    if (status == CW_OK)
        status = cw_write_job_title(request, h, job_id, "Taking it apart", err);
    if (status == CW_OK)
        status = cw_write_count(request, h, job_id, err);
    if (status == CW_OK && current.id > 0)
        status = write_current(request, h, &current, err);
    if (planned.id > 0)
        write_planned(request, h, &planned);
    write_new(request, h, job_id);
    html_markup(h, "<div class='actions'>");
    cw_link(h, "button", "All steps", "/jobs/%" PRId64 "/steps", job_id);
    cw_link(h, "button", "Trays", "/jobs/%" PRId64 "/trays", job_id);
    cw_link(h, "button", "History and undo", "/jobs/%" PRId64 "/history", job_id);
    html_markup(h, "</div>\n");
    cw_page_end(reply);
    cw_step_free(&current);
    cw_step_free(&planned);
    return status;
}

static cw_status add_step(cw_request *request, int64_t job_id, cw_error *err)
{
    cw_step step = {
        .job_id = job_id,
        .title = cw_posted(request, "title"),
        .flies = cw_posted(request, "flies"),
        .orientation = cw_posted(request, "orientation"),
        .thread = cw_ticked(request, "left") ? CW_THREAD_LEFT : CW_THREAD_NONE,
        .duration_s = NAN,
        .state = CW_STEP_DONE,
    };
    int64_t id;
    size_t photos;
    CW_TRY(cw_step_add(request->bench, &step, 0, &id, err));
    return cw_keep_photos(request, job_id, id, &photos, err);
}

cw_status post_add(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t job_id = request->match.ids[0];
    char words[CW_LINE_MOST + 1];
    snprintf(words, sizeof words, "step \"%.200s\"", cw_posted(request, "title"));
    CW_TRY(cw_change_begin(request->bench, job_id, words, err));
    cw_status status = add_step(request, job_id, err);
    if (status != CW_OK) {
        cw_change_cancel(request->bench);
        return status;
    }
    CW_TRY(cw_change_commit(request->bench, err));
    cw_go(request, reply, "The step is kept. Now its parts.", "/jobs/%" PRId64 "/add", job_id);
    return CW_OK;
}

/* ---- parts and photos of a step ---- */

static cw_status part_of(cw_request *request, cw_part_line *line, cw_error *err)
{
    const char *typed = cw_posted(request, "line");
    if (typed[0] != '\0')
        return cw_part_line_parse(typed, line, err);
    long pieces, tray;
    CW_TRY(cw_whole(request, "pieces", 1, 9999, 1, &pieces, err));
    CW_TRY(cw_whole(request, "tray", 0, 9999, 0, &tray, err));
    *line = (cw_part_line){.pieces = pieces, .tray = tray};
    snprintf(line->kind, sizeof line->kind, "%s", cw_posted(request, "kind"));
    return CW_OK;
}

static cw_status add_part(cw_request *request, const cw_step *step, const cw_part_line *line, cw_error *err)
{
    cw_part part = {.job_id = step->job_id,
                    .step_id = step->id,
                    .kind = line->kind,
                    .pieces = line->pieces,
                    .size = line->size,
                    .length = line->length,
                    .state = CW_PART_OUT};
    int64_t id;
    if (line->tray > 0)
        CW_TRY(cw_tray_numbered(request->bench, step->job_id, line->tray, &part.tray_id, err));
    return cw_part_add(request->bench, &part, &id, err);
}

static void back_to_step(cw_request *request, cw_reply *reply, const cw_step *step, const char *said)
{
    if (strcmp(cw_posted(request, "to"), "add") == 0)
        cw_go(request, reply, said, "/jobs/%" PRId64 "/add", step->job_id);
    else
        cw_go(request, reply, said, "/steps/%" PRId64, step->id);
}

static cw_status add_part_in_one(cw_request *request, const cw_step *step, char said[CW_LINE_MOST + 1], cw_error *err)
{
    cw_part_line line;
    CW_TRY(part_of(request, &line, err));
    int used = snprintf(said, CW_LINE_MOST + 1, "%" PRId64 " \u00D7 %.100s", line.pieces, line.kind);
    if (line.tray > 0)
        snprintf(said + used, (size_t)(CW_LINE_MOST + 1 - used), " into tray %" PRId64, line.tray);
    CW_TRY(cw_change_begin(request->bench, step->job_id, said, err));
    cw_status status = add_part(request, step, &line, err);
    if (status == CW_OK)
        return cw_change_commit(request->bench, err);
    cw_change_cancel(request->bench);
    return status;
}

cw_status post_step_parts(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_step step;
    char said[CW_LINE_MOST + 1];
    CW_TRY(cw_step_get(request->bench, request->match.ids[0], &step, err));
    cw_status status = add_part_in_one(request, &step, said, err);
    if (status == CW_OK)
        back_to_step(request, reply, &step, said);
    cw_step_free(&step);
    return status;
}

cw_status post_step_photos(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_step step;
    size_t kept;
    CW_TRY(cw_step_get(request->bench, request->match.ids[0], &step, err));
    cw_status status = cw_keep_photos(request, step.job_id, step.id, &kept, err);
    if (status == CW_OK && kept == 0)
        status = cw_fail(err, CW_INPUT, "no photo came with it; take or choose one first");
    if (status == CW_OK)
        back_to_step(request, reply, &step, kept == 1 ? "The photo is kept." : "The photos are kept.");
    cw_step_free(&step);
    return status;
}

cw_status post_job_photos(cw_request *request, cw_reply *reply, cw_error *err)
{
    size_t kept;
    CW_TRY(cw_keep_photos(request, request->match.ids[0], 0, &kept, err));
    if (kept == 0)
        return cw_fail(err, CW_INPUT, "no photo came with it; take or choose one first");
    cw_go(request, reply, kept == 1 ? "The photo is kept." : "The photos are kept.", "/jobs/%" PRId64 "#photos",
          request->match.ids[0]);
    return CW_OK;
}
