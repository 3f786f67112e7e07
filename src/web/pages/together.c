/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Putting it together: the steps backwards, each with its photos, parts and trays, checked off one by one. */
#include <inttypes.h>
#include <stdio.h>

#include "web/page.h"
#include "web/pages/notebook_parts.h"
#include "web/pages/pages.h"

enum { STEPS_MOST = 500 };

static void button(cw_request *request, cw_html *h, const char *kind, const char *label, const char *name,
                   const char *value, const char *format, int64_t id)
{
    char address[64];
    snprintf(address, sizeof address, "%s/%" PRId64 "/%s", format, id, name);
    html_markup(h,
                "<form class='inline' method='post' hx-target='#together' hx-select='#together' hx-swap='outerHTML'");
    html_attr(h, "action", address);
    html_attr(h, "hx-post", address);
    html_markup(h, ">");
    cw_field_hidden(h, "token", request->pass.token);
    cw_field_hidden(h, "to", "together");
    html_markup(h, "<button name='state'");
    html_attr(h, "class", kind);
    html_attr(h, "value", value);
    html_markup(h, ">");
    html_text(h, label);
    html_markup(h, "</button></form>");
}

static cw_status write_parts(cw_request *request, cw_html *h, const cw_step *step, cw_error *err)
{
    cw_part_list parts;
    CW_TRY(cw_part_page(request->bench, &(cw_part_filter){.step_id = step->id, .most = CW_PARTS_SHOWN}, &parts, err));
    if (parts.count > 0)
        html_markup(h, "<ul class='lines checks'>");
    for (size_t i = 0; i < parts.count; i++) {
        const cw_part *part = &parts.items[i];
        html_markup(h, "<li><a");
        html_attrf(h, "href", "/parts/%" PRId64, part->id);
        html_markup(h, "><strong>");
        cw_write_part_name(h, part);
        html_markup(h, "</strong>");
        cw_write_part_state(h, part);
        html_markup(h, "</a>");
        if (part->state == CW_PART_OUT)
            button(request, h, "button", "Back", "move", cw_part_state_name(CW_PART_BACK), "/parts", part->id);
        else if (part->state == CW_PART_BACK)
            button(request, h, "button", "Out again", "move", cw_part_state_name(CW_PART_OUT), "/parts", part->id);
        html_markup(h, "</li>\n");
    }
    if (parts.count > 0)
        html_markup(h, "</ul>\n");
    cw_part_list_free(&parts);
    return CW_OK;
}

static cw_status write_step(cw_request *request, cw_html *h, const cw_step *step, bool is_next, cw_error *err)
{
    html_markup(h, "<li");
    html_attr(h, "class", step->back_done ? "panel done" : is_next ? "panel next" : "panel");
    html_attrf(h, "id", "step-%" PRId64, step->id);
    html_markup(h, "><h2>");
    html_textf(h, "%" PRId64 ". %s", step->number, step->title);
    if (step->back_done)
        html_markup(h, " <span class='verdict good'>back</span>");
    html_markup(h, "</h2>\n");
    if (!step->back_done) {
        cw_write_step_words(h, step, true);
        if (step->photo_count > 0)
            CW_TRY(cw_write_photos(request, h, &(cw_photo_filter){.step_id = step->id}, err));
    }
    CW_TRY(write_parts(request, h, step, err));
    html_markup(h, "<div class='actions'>");
    if (step->back_done)
        button(request, h, "button", "Open it again", "back", "open", "/steps", step->id);
    else
        button(request, h, is_next ? "main" : "button", step->pieces_out > 0 ? "Done, all its parts are back" : "Done",
               "back", "done", "/steps", step->id);
    html_markup(h, "</div></li>\n");
    return CW_OK;
}

cw_status page_together(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t job_id = request->match.ids[0];
    cw_step_list steps;
    CW_TRY(cw_step_page(request->bench, job_id, CW_TOGETHER_ORDER, 0, STEPS_MOST, &steps, err));
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_BENCH, "Putting it together");
    cw_status status = cw_write_job_title(request, h, job_id, "Putting it together", err);
    html_markup(h, "<div id='together'>\n");
    if (status == CW_OK)
        status = cw_write_count(request, h, job_id, err);
    if (steps.count == 0)
        html_markup(h, "<p class='lead'>No step was noted on taking it apart, so there is nothing to lead the way back."
                       "</p>");
    bool next_seen = false;
    html_markup(h, "<ol class='plain'>");
    for (size_t i = 0; i < steps.count && status == CW_OK; i++) {
        bool is_next = !steps.items[i].back_done && !next_seen;
        next_seen = next_seen || is_next;
        status = write_step(request, h, &steps.items[i], is_next, err);
    }
    html_markup(h, "</ol>\n");
    if (steps.count > 0 && !next_seen) {
        html_markup(h, "<div class='actions'>");
        cw_link(h, "main", "All done: back to the job", "/jobs/%" PRId64, job_id);
        html_markup(h, "</div>");
    }
    if (steps.total > (int64_t)steps.count)
        html_textf(h, "%" PRId64 " more steps are not shown; check off some of these first.",
                   steps.total - (int64_t)steps.count);
    html_markup(h, "</div>\n");
    cw_page_end(reply);
    cw_step_list_free(&steps);
    return status;
}

cw_status post_step_back(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_step step;
    CW_TRY(cw_step_get(request->bench, request->match.ids[0], &step, err));
    int64_t job_id = step.job_id, id = step.id;
    cw_step_free(&step);
    bool done = cw_posted(request, "state")[0] == 'd';
    CW_TRY(cw_step_back(request->bench, id, done, done, err));
    cw_go(request, reply, NULL, "/jobs/%" PRId64 "/together#step-%" PRId64, job_id, id);
    return CW_OK;
}
