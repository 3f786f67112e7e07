/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/pages/notebook_parts.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>

#include "notebook/job.h"
#include "web/page.h"

cw_status cw_write_photos(cw_request *request, cw_html *h, const cw_photo_filter *filter, cw_error *err)
{
    cw_photo_list photos;
    cw_photo_filter some = *filter;
    some.most = CW_PHOTOS_SHOWN;
    CW_TRY(cw_photo_page(request->bench, &some, &photos, err));
    if (photos.count > 0)
        html_markup(h, "<ul class='photos'>");
    for (size_t i = 0; i < photos.count; i++) {
        const cw_photo *photo = &photos.items[i];
        html_markup(h, "<li><a");
        html_attrf(h, "href", "/photos/%" PRId64, photo->id);
        html_markup(h, "><img loading='lazy' width='120' height='120'");
        html_attrf(h, "src", "/photos/%" PRId64 "/small", photo->id);
        if (photo->caption[0] != '\0')
            html_attr(h, "alt", photo->caption);
        else
            html_attrf(h, "alt", "photo %zu", i + 1);
        html_markup(h, "></a></li>");
    }
    if (photos.count > 0)
        html_markup(h, "</ul>\n");
    if (photos.total > (int64_t)photos.count)
        html_textf(h, "%" PRId64 " more photos are not shown here.", photos.total - (int64_t)photos.count);
    cw_photo_list_free(&photos);
    return CW_OK;
}

void cw_write_part_name(cw_html *h, const cw_part *part)
{
    if (part->pieces != 1)
        html_textf(h, "%" PRId64 " \u00D7 ", part->pieces);
    html_text(h, part->kind);
    if (part->size[0] != '\0')
        html_textf(h, " %s", part->size);
    if (part->length[0] != '\0')
        html_textf(h, " \u00D7 %s", part->length);
}

static const char *state_words(cw_part_state state)
{
    static const char *const words[CW_PART_STATE_COUNT] = {"expected", "out",      "back",
                                                           "replaced", "made new", "left out"};
    return words[state];
}

void cw_write_part_state(cw_html *h, const cw_part *part)
{
    html_markup(h, "<span class='soft'>");
    if (part->tray_number > 0 && part->state <= CW_PART_OUT)
        html_textf(h, " tray %" PRId64 ",", part->tray_number);
    html_markup(h, "</span> <span");
    html_attr(h, "class", part->state == CW_PART_OUT ? "out" : "soft");
    html_markup(h, ">");
    html_text(h, state_words(part->state));
    if (part->reason[0] != '\0')
        html_textf(h, ": %s", part->reason);
    html_markup(h, "</span>");
}

cw_status cw_write_parts(cw_request *request, cw_html *h, const cw_part_filter *filter, cw_error *err)
{
    cw_part_list parts;
    cw_part_filter some = *filter;
    some.most = CW_PARTS_SHOWN;
    CW_TRY(cw_part_page(request->bench, &some, &parts, err));
    if (parts.count > 0)
        html_markup(h, "<ul class='lines'>");
    for (size_t i = 0; i < parts.count; i++) {
        html_markup(h, "<li><a");
        html_attrf(h, "href", "/parts/%" PRId64, parts.items[i].id);
        html_markup(h, "><strong>");
        cw_write_part_name(h, &parts.items[i]);
        html_markup(h, "</strong>");
        cw_write_part_state(h, &parts.items[i]);
        html_markup(h, "</a></li>");
    }
    if (parts.count > 0)
        html_markup(h, "</ul>\n");
    cw_part_list_free(&parts);
    return CW_OK;
}

static void word(cw_html *h, const char *label, const char *text)
{
    if (text[0] == '\0')
        return;
    html_markup(h, "<div><dt>");
    html_text(h, label);
    html_markup(h, "</dt><dd>");
    html_text(h, text);
    html_markup(h, "</dd></div>");
}

static const char *thread_words(cw_thread_direction thread)
{
    return thread == CW_THREAD_LEFT ? "LEFT-HAND: turns the other way" : thread == CW_THREAD_RIGHT ? "right-hand" : "";
}

void cw_write_step_words(cw_html *h, const cw_step *step, bool together)
{
    if (step->flies[0] != '\0') {
        html_markup(h, "<p class='caution'><strong>Can fly.</strong> ");
        html_text(h, step->flies);
        html_markup(h, "</p>\n");
    }
    if (together && step->check_before_closing[0] != '\0') {
        html_markup(h, "<p class='caution'><strong>Check before closing.</strong> ");
        html_text(h, step->check_before_closing);
        html_markup(h, "</p>\n");
    }
    html_markup(h, "<dl class='facts'>");
    word(h, "Orientation", step->orientation);
    word(h, "Thread", thread_words(step->thread));
    word(h, "Held by", step->held_by);
    word(h, "Tool", step->tool);
    if (together) {
        word(h, "Lubricate with", step->lubricant_to_use);
        word(h, "Tighten", step->torque);
    } else {
        word(h, "Came off", step->came_off);
        word(h, "Lubricant found", step->lubricant_found);
        word(h, "Lubricant to use", step->lubricant_to_use);
        word(h, "Tighten later", step->torque);
        word(h, "Check before closing", step->check_before_closing);
    }
    word(h, "Notes", step->notes);
    html_markup(h, "</dl>\n");
}

cw_status cw_keep_photos(cw_request *request, int64_t job_id, int64_t step_id, size_t *kept, cw_error *err)
{
    *kept = 0;
    for (cw_incoming *incoming = cw_request_take_upload(request, "photo"); incoming != NULL;
         incoming = cw_request_take_upload(request, "photo")) {
        int64_t id;
        CW_TRY(cw_photo_keep(incoming, job_id, step_id, 0, cw_posted(request, "caption"), &id, err));
        (*kept)++;
    }
    return CW_OK;
}

cw_status cw_write_count(cw_request *request, cw_html *h, int64_t job_id, cw_error *err)
{
    cw_part_count count;
    CW_TRY(cw_part_counts(request->bench, job_id, &count, err));
    html_markup(h, "<p class='count'");
    html_markup(h, " id='count'>");
    if (count.total == 0) {
        html_markup(h, "<span class='soft'>No parts are noted yet.</span></p>\n");
        return CW_OK;
    }
    html_markup(h, "<strong");
    html_attr(h, "class", count.all_accounted ? "verdict good" : "out");
    html_markup(h, ">");
    if (count.all_accounted)
        html_markup(h, "every part accounted for");
    else
        html_textf(h, "%" PRId64 " still out", count.pieces[CW_PART_OUT]);
    html_markup(h, "</strong>");
    for (int state = CW_PART_BACK; state < CW_PART_STATE_COUNT; state++)
        if (count.pieces[state] > 0)
            html_textf(h, ", %" PRId64 " %s", count.pieces[state], state_words((cw_part_state)state));
    html_textf(h, " of %" PRId64 " pieces", count.total);
    html_markup(h, "</p>\n");
    return CW_OK;
}

cw_status cw_write_job_title(cw_request *request, cw_html *h, int64_t job_id, const char *title, cw_error *err)
{
    cw_job job;
    CW_TRY(cw_job_get(request->bench, job_id, &job, err));
    html_markup(h, "<p class='trail'><a");
    html_attrf(h, "href", "/jobs/%" PRId64, job_id);
    html_markup(h, ">");
    html_textf(h, "%s %s", job.camera, job.serial);
    html_markup(h, "</a></p><h1>");
    html_text(h, title);
    html_markup(h, "</h1>\n");
    cw_job_free(&job);
    return CW_OK;
}
