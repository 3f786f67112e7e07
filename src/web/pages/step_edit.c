/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything that can be noted of a step, in one form: to change a step, or to put a forgotten one in its place. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/unit.h"
#include "web/page.h"
#include "web/pages/notebook_parts.h"
#include "web/pages/pages.h"

static const cw_option_item threads[] = {{"", "Not noted"}, {"right", "Right-hand"}, {"left", "Left-hand"}};

static void write_fields(cw_request *request, cw_html *h, const cw_step *step)
{
    char minutes[32] = "";
    if (isfinite(step->duration_s))
        snprintf(minutes, sizeof minutes, "%g min", step->duration_s / 60);
    cw_field_input(request, h,
                   &(cw_input){.name = "title", .label = "What comes off", .value = step->title, .required = true});
    cw_field_input(
        request, h,
        &(cw_input){.name = "came-off", .label = "More about what came off", .value = step->came_off, .rows = 2});
    cw_field_input(request, h,
                   &(cw_input){.name = "held-by",
                               .label = "How it was held",
                               .value = step->held_by,
                               .example = "3 screws and a dab of lacquer"});
    cw_field_choice(request, h, "thread", "Direction of the thread", cw_thread_direction_name(step->thread), threads,
                    CW_COUNT(threads), NULL);
    cw_field_input(
        request, h,
        &(cw_input){
            .name = "orientation", .label = "Which way round, marks scribed", .value = step->orientation, .rows = 2});
    cw_field_input(request, h,
                   &(cw_input){.name = "flies", .label = "Springs or detents that can fly", .value = step->flies});
    cw_field_input(request, h, &(cw_input){.name = "tool", .label = "Tool used", .value = step->tool});
    html_markup(h, "<h2>For putting it together</h2>\n");
    cw_field_input(request, h,
                   &(cw_input){.name = "lubricant-found", .label = "Lubricant found", .value = step->lubricant_found});
    cw_field_input(request, h,
                   &(cw_input){.name = "lubricant-to-use",
                               .label = "Lubricate with what, where, how little",
                               .value = step->lubricant_to_use});
    cw_field_input(request, h,
                   &(cw_input){.name = "torque", .label = "Tighten", .value = step->torque, .example = "snug"});
    cw_field_input(request, h,
                   &(cw_input){.name = "check",
                               .label = "Check before closing",
                               .value = step->check_before_closing,
                               .example = "does the shutter fire with the cover off?"});
    cw_field_input(
        request, h,
        &(cw_input){
            .name = "duration", .label = "How long it took", .value = minutes, .example = "12 min", .narrow = true});
    cw_field_input(request, h, &(cw_input){.name = "notes", .label = "Notes", .value = step->notes, .rows = 4});
}

static cw_status take_fields(cw_request *request, cw_step *step, cw_error *err)
{
    step->title = cw_posted(request, "title");
    step->came_off = cw_posted(request, "came-off");
    step->held_by = cw_posted(request, "held-by");
    step->orientation = cw_posted(request, "orientation");
    step->flies = cw_posted(request, "flies");
    step->tool = cw_posted(request, "tool");
    step->lubricant_found = cw_posted(request, "lubricant-found");
    step->lubricant_to_use = cw_posted(request, "lubricant-to-use");
    step->torque = cw_posted(request, "torque");
    step->check_before_closing = cw_posted(request, "check");
    step->notes = cw_posted(request, "notes");
    step->duration_s = NAN;
    const char *duration = cw_posted(request, "duration");
    if (duration[0] != '\0') {
        cw_status status = cw_parse_measure(duration, CW_TIME, "min", &step->duration_s, err);
        if (status != CW_OK) {
            cw_context(err, "how long it took");
            return status;
        }
    }
    return cw_thread_direction_parse(cw_posted(request, "thread"), &step->thread, err);
}

cw_status page_step_edit(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_step step;
    CW_TRY(cw_step_get(request->bench, request->match.ids[0], &step, err));
    cw_html *h = &reply->html;
    char revision[32];
    snprintf(revision, sizeof revision, "%" PRId64, step.revision);
    cw_page_begin(request, reply, CW_PLACE_BENCH, "Change a step");
    html_markup(h, "<p class='trail'>");
    cw_link(h, "", "The step", "/steps/%" PRId64, step.id);
    html_markup(h, "</p><h1>");
    html_textf(h, "Step %" PRId64, step.number);
    html_markup(h, "</h1>\n");
    cw_form_begin(request, h, false, "/steps/%" PRId64 "/edit", step.id);
    cw_field_hidden(h, "revision", cw_value(request, "revision", revision));
    if (cw_ticked(request, "tick"))
        cw_field_hidden(h, "tick", "1");
    write_fields(request, h, &step);
    cw_submit(h, "Keep");
    cw_form_end(h);
    cw_page_end(reply);
    cw_step_free(&step);
    return CW_OK;
}

static cw_status change(cw_request *request, const cw_step *old, cw_error *err)
{
    cw_step changed = *old;
    changed.revision = cw_row_id(request, "revision");
    CW_TRY(take_fields(request, &changed, err));
    CW_TRY(cw_step_update(request->bench, &changed, err));
    bool planned = old->state == CW_STEP_PLANNED && cw_ticked(request, "tick");
    return planned ? cw_step_tick(request->bench, old->id, 0, err) : CW_OK;
}

cw_status post_step_edit(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_step step;
    CW_TRY(cw_step_get(request->bench, request->match.ids[0], &step, err));
    cw_status status = cw_change_begin(request->bench, step.job_id, "a step changed", err);
    if (status == CW_OK) {
        status = change(request, &step, err);
        if (status == CW_OK)
            status = cw_change_commit(request->bench, err);
        else
            cw_change_cancel(request->bench);
    }
    if (status == CW_OK && cw_ticked(request, "tick"))
        cw_go(request, reply, "Kept, and done.", "/jobs/%" PRId64 "/add", step.job_id);
    else if (status == CW_OK)
        cw_go(request, reply, "Kept.", "/steps/%" PRId64, step.id);
    cw_step_free(&step);
    return status;
}

cw_status page_step_new(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_html *h = &reply->html;
    cw_step empty = {.title = "",
                     .came_off = "",
                     .held_by = "",
                     .orientation = "",
                     .flies = "",
                     .tool = "",
                     .lubricant_found = "",
                     .lubricant_to_use = "",
                     .torque = "",
                     .check_before_closing = "",
                     .notes = "",
                     .duration_s = NAN};
    cw_page_begin(request, reply, CW_PLACE_BENCH, "A forgotten step");
    CW_TRY(cw_write_job_title(request, h, request->match.ids[0], "A forgotten step", err));
    cw_form_begin(request, h, false, "/jobs/%" PRId64 "/steps/new", request->match.ids[0]);
    cw_field_hidden(h, "after", cw_value(request, "after", "0"));
    write_fields(request, h, &empty);
    cw_submit(h, "Put it in");
    cw_form_end(h);
    cw_page_end(reply);
    return CW_OK;
}

cw_status post_step_new(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_step step = {.job_id = request->match.ids[0], .state = CW_STEP_DONE};
    CW_TRY(take_fields(request, &step, err));
    int64_t after = strcmp(cw_posted(request, "after"), "-1") == 0 ? -1 : cw_row_id(request, "after"), id;
    CW_TRY(cw_step_add(request->bench, &step, after, &id, err));
    cw_go(request, reply, "The step is in its place.", "/jobs/%" PRId64 "/steps#step-%" PRId64, step.job_id, id);
    return CW_OK;
}
