/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The steps of a job in order: the list, one step, changing, moving, splitting, inserting a forgotten one. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/unit.h"
#include "web/page.h"
#include "web/pages/notebook_parts.h"
#include "web/pages/pages.h"

static void write_state(cw_html *h, const cw_step *step)
{
    if (step->state == CW_STEP_PLANNED)
        html_markup(h, " <span class='unit'>planned</span>");
    if (step->state == CW_STEP_SKIPPED)
        html_markup(h, " <span class='unit'>not needed here</span>");
    if (step->back_done)
        html_markup(h, " <span class='verdict good'>back</span>");
}

static void write_movers(cw_request *request, cw_html *h, const cw_step_list *steps, size_t index, int64_t first)
{
    const cw_step *step = &steps->items[index];
    html_markup(h, "<div class='downloads'>");
    if (first + (int64_t)index > 0)
        cw_button_form(request, h, true, "Earlier", "/steps/%" PRId64 "/earlier", step->id);
    if (first + (int64_t)index + 1 < steps->total)
        cw_button_form(request, h, true, "Later", "/steps/%" PRId64 "/later", step->id);
    cw_link(h, "button", "Insert one after it", "/jobs/%" PRId64 "/steps/new?after=%" PRId64, step->job_id, step->id);
    html_markup(h, "</div>\n");
}

static cw_status write_step(cw_request *request, cw_html *h, const cw_step_list *steps, size_t index, int64_t first,
                            cw_error *err)
{
    const cw_step *step = &steps->items[index];
    html_markup(h, "<li class='panel'");
    html_attrf(h, "id", "step-%" PRId64, step->id);
    html_markup(h, "><h2><a");
    html_attrf(h, "href", "/steps/%" PRId64, step->id);
    html_markup(h, ">");
    html_textf(h, "%" PRId64 ". %s", step->number, step->title);
    html_markup(h, "</a>");
    write_state(h, step);
    html_markup(h, "</h2>\n");
    cw_write_step_words(h, step, false);
    if (step->photo_count > 0)
        CW_TRY(cw_write_photos(request, h, &(cw_photo_filter){.step_id = step->id}, err));
    if (step->part_count > 0)
        CW_TRY(cw_write_parts(request, h, &(cw_part_filter){.step_id = step->id}, err));
    write_movers(request, h, steps, index, first);
    html_markup(h, "</li>\n");
    return CW_OK;
}

/* What differs from the earlier job that led this one. */
static cw_status write_differences(cw_request *request, cw_html *h, int64_t job_id, cw_error *err)
{
    cw_difference_list list;
    CW_TRY(cw_job_differences(request->bench, job_id, &list, err));
    if (list.count > 0) {
        html_markup(h, "<section class='panel'><details><summary>");
        html_textf(h, "Different from the camera before (%zu)", list.count);
        html_markup(h, "</summary><ul>");
        for (size_t i = 0; i < list.count; i++) {
            html_markup(h, "<li>");
            html_textf(h, "%s: %s", list.items[i].title, list.items[i].text);
            html_markup(h, "</li>");
        }
        html_markup(h, "</ul></details></section>\n");
    }
    cw_difference_list_free(&list);
    return CW_OK;
}

cw_status page_steps(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t job_id = request->match.ids[0];
    long first;
    cw_step_list steps;
    CW_TRY(cw_whole(request, "first", 0, 1000000, 0, &first, err));
    CW_TRY(cw_step_page(request->bench, job_id, CW_APART_ORDER, first, CW_STEPS_A_PAGE, &steps, err));
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_BENCH, "Steps");
    cw_status status = cw_write_job_title(request, h, job_id, "Steps, in the order taken apart", err);
    html_markup(h, "<div class='actions'>");
    cw_link(h, "main", steps.total == 0 ? "Note the first step" : "Note the next step", "/jobs/%" PRId64 "/add",
            job_id);
    if (steps.total > 0) {
        cw_link(h, "button", "Insert one at the beginning", "/jobs/%" PRId64 "/steps/new?after=-1", job_id);
        cw_link(h, "button", "Put it together", "/jobs/%" PRId64 "/together", job_id);
    }
    html_markup(h, "</div>\n");
    if (status == CW_OK)
        status = write_differences(request, h, job_id, err);
    html_markup(h, "<ol class='plain'>");
    for (size_t i = 0; i < steps.count && status == CW_OK; i++)
        status = write_step(request, h, &steps, i, first, err);
    html_markup(h, "</ol>\n");
    char address[64];
    snprintf(address, sizeof address, "/jobs/%" PRId64 "/steps", job_id);
    cw_pager(h, first, CW_STEPS_A_PAGE, steps.total, address);
    cw_page_end(reply);
    cw_step_list_free(&steps);
    return status;
}

/* ---- one step ---- */

static cw_status write_split(cw_request *request, cw_html *h, const cw_step *step, cw_error *err)
{
    cw_part_list parts;
    CW_TRY(cw_part_page(request->bench, &(cw_part_filter){.step_id = step->id, .most = CW_PARTS_SHOWN}, &parts, err));
    html_markup(h, "<details><summary>Split it in two</summary>");
    cw_form_begin(request, h, false, "/steps/%" PRId64 "/split", step->id);
    cw_field_input(
        request, h,
        &(cw_input){.name = "split-title", .label = "The second step is called", .required = true, .value = ""});
    for (size_t i = 0; i < parts.count; i++) {
        html_markup(h, "<label class='tick'><input type='checkbox' value='1'");
        html_attrf(h, "name", "part.%" PRId64, parts.items[i].id);
        html_markup(h, "><span>");
        cw_write_part_name(h, &parts.items[i]);
        html_markup(h, " came off in the second</span></label>\n");
    }
    html_markup(h, "<button class='button'>Split</button>");
    cw_form_end(h);
    html_markup(h, "</details>\n");
    cw_part_list_free(&parts);
    return CW_OK;
}

static void write_adders(cw_request *request, cw_html *h, const cw_step *step)
{
    html_markup(h, "<details><summary>Add parts or photos</summary>");
    cw_form_begin(request, h, false, "/steps/%" PRId64 "/parts", step->id);
    cw_field_input(request, h,
                   &(cw_input){.name = "line",
                               .label = "Parts, as you would say it",
                               .required = true,
                               .value = "",
                               .example = "3 screws M1.7 3.2mm into tray 2"});
    html_markup(h, "<button class='button'>Keep the parts</button>");
    cw_form_end(h);
    cw_form_begin(request, h, true, "/steps/%" PRId64 "/photos", step->id);
    html_markup(h,
                "<div class='field'><label for='in-photo'>Photos</label><input id='in-photo' type='file' name='photo' "
                "accept='image/*' multiple required></div><button class='button'>Keep the photos</button>");
    cw_form_end(h);
    html_markup(h, "</details>\n");
}

static cw_status write_one(cw_request *request, cw_reply *reply, const cw_step *step, cw_error *err)
{
    cw_html *h = &reply->html;
    char title[CW_LINE_MOST + 32];
    snprintf(title, sizeof title, "Step %" PRId64 ": %s", step->number, step->title);
    cw_page_begin(request, reply, CW_PLACE_BENCH, title);
    html_markup(h, "<p class='trail'>");
    cw_link(h, "", "All steps", "/jobs/%" PRId64 "/steps#step-%" PRId64, step->job_id, step->id);
    html_markup(h, "</p><h1>");
    html_text(h, title);
    write_state(h, step);
    html_markup(h, "</h1>\n<section class='panel'>");
    cw_write_step_words(h, step, false);
    CW_TRY(cw_write_photos(request, h, &(cw_photo_filter){.step_id = step->id}, err));
    CW_TRY(cw_write_parts(request, h, &(cw_part_filter){.step_id = step->id}, err));
    html_markup(h, "<div class='actions'>");
    cw_link(h, "main", "Change or add to it", "/steps/%" PRId64 "/edit", step->id);
    html_markup(h, "</div>");
    write_adders(request, h, step);
    CW_TRY(write_split(request, h, step, err));
    html_markup(h, "<div class='actions'>");
    cw_button_form(request, h, true, "Take this step out", "/steps/%" PRId64 "/delete", step->id);
    html_markup(h, "</div></section>\n");
    cw_page_end(reply);
    return CW_OK;
}

cw_status page_step(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_step step;
    CW_TRY(cw_step_get(request->bench, request->match.ids[0], &step, err));
    cw_status status = write_one(request, reply, &step, err);
    cw_step_free(&step);
    return status;
}

/* The order of two neighbours is turned: behind the one after it, or the one before it goes behind it. */
static cw_status move(cw_request *request, cw_reply *reply, bool later, cw_error *err)
{
    cw_step step;
    CW_TRY(cw_step_get(request->bench, request->match.ids[0], &step, err));
    int64_t job_id = step.job_id, id = step.id, place = step.number - 1; /* from 0 */
    cw_step_free(&step);
    cw_step_list near;
    int64_t first = later ? place + 1 : place - 1;
    if (first < 0)
        return cw_fail(err, CW_CONFLICT, "this is the first step already");
    CW_TRY(cw_step_page(request->bench, job_id, CW_APART_ORDER, first, 1, &near, err));
    int64_t other = near.count > 0 ? near.items[0].id : 0;
    cw_step_list_free(&near);
    if (other == 0)
        return cw_fail(err, CW_CONFLICT, "this is the last step already");
    CW_TRY(later ? cw_step_reorder(request->bench, id, other, err) : cw_step_reorder(request->bench, other, id, err));
    cw_go(request, reply, NULL, "/jobs/%" PRId64 "/steps?first=%" PRId64 "#step-%" PRId64, job_id,
          place / CW_STEPS_A_PAGE * CW_STEPS_A_PAGE, id);
    return CW_OK;
}

cw_status post_step_earlier(cw_request *request, cw_reply *reply, cw_error *err)
{
    return move(request, reply, false, err);
}

cw_status post_step_later(cw_request *request, cw_reply *reply, cw_error *err)
{
    return move(request, reply, true, err);
}

/* The ids of ticked boxes "part.7"; at most `most`. */
static size_t ticked_ids(const cw_form *form, const char *prefix, int64_t *ids, size_t most)
{
    size_t count = 0, length = strlen(prefix);
    for (size_t i = 0; i < form->count && count < most; i++)
        if (strncmp(form->entries[i].name, prefix, length) == 0)
            ids[count++] = strtoll(form->entries[i].name + length, NULL, 10);
    return count;
}

cw_status post_step_split(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t parts[CW_PARTS_SHOWN], new_id;
    size_t count = ticked_ids(&request->form, "part.", parts, CW_PARTS_SHOWN);
    CW_TRY(cw_step_split(request->bench, request->match.ids[0], cw_posted(request, "split-title"), parts, count, NULL,
                         0, &new_id, err));
    cw_go(request, reply, "Split in two; this is the second.", "/steps/%" PRId64, new_id);
    return CW_OK;
}

static cw_status job_of_step(cw_bench *bench, int64_t step_id, int64_t *job_id, cw_error *err)
{
    cw_step step;
    CW_TRY(cw_step_get(bench, step_id, &step, err));
    *job_id = step.job_id;
    cw_step_free(&step);
    return CW_OK;
}

cw_status post_step_delete(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t job_id;
    CW_TRY(job_of_step(request->bench, request->match.ids[0], &job_id, err));
    CW_TRY(cw_step_delete(request->bench, request->match.ids[0], err));
    cw_go(request, reply, "Taken out. \"History and undo\" brings it back.", "/jobs/%" PRId64 "/steps", job_id);
    return CW_OK;
}

cw_status post_step_tick(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t job_id;
    CW_TRY(job_of_step(request->bench, request->match.ids[0], &job_id, err));
    CW_TRY(cw_step_tick(request->bench, request->match.ids[0], cw_row_id(request, "tray"), err));
    cw_go(request, reply, "Done as planned; its parts are out.", "/jobs/%" PRId64 "/add", job_id);
    return CW_OK;
}

cw_status post_step_skip(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t job_id;
    CW_TRY(job_of_step(request->bench, request->match.ids[0], &job_id, err));
    CW_TRY(cw_step_skip(request->bench, request->match.ids[0], err));
    cw_go(request, reply, "Noted: not needed on this camera.", "/jobs/%" PRId64 "/add", job_id);
    return CW_OK;
}
