/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A photo with its numbered marks. A tap on the picture places a mark, also without scripts: the picture is an image
 * button, which sends where it was pressed. Its width on the page is fixed, so that the place is known in parts of it.
 */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/unit.h"
#include "web/page.h"
#include "web/pages/notebook_parts.h"
#include "web/pages/pages.h"
#include "web/pages/picture_parts.h"

enum { NARROW_PX = 324, WIDE_PX = 800, TALL_PX = 640 };

/* ---- the files ---- */

static cw_status reply_thumb(cw_request *request, cw_reply *reply, cw_thumb_size side, cw_error *err)
{
    char path[4096];
    cw_photo photo;
    CW_TRY(cw_photo_get(request->bench, request->match.ids[0], &photo, err));
    snprintf(reply->etag, sizeof reply->etag, "\"%.32s-%d\"", photo.hash, (int)side);
    cw_photo_free(&photo);
    CW_TRY(cw_photo_thumb(request->bench, request->match.ids[0], side, path, sizeof path, err));
    return cw_reply_file(reply, path, "image/jpeg", NULL, err);
}

cw_status get_photo_small(cw_request *request, cw_reply *reply, cw_error *err)
{
    return reply_thumb(request, reply, CW_THUMB_SMALL, err);
}

cw_status get_photo_middle(cw_request *request, cw_reply *reply, cw_error *err)
{
    return reply_thumb(request, reply, CW_THUMB_MIDDLE, err);
}

cw_status get_photo_large(cw_request *request, cw_reply *reply, cw_error *err)
{
    return reply_thumb(request, reply, CW_THUMB_LARGE, err);
}

cw_status get_photo_original(cw_request *request, cw_reply *reply, cw_error *err)
{
    char path[4096];
    cw_photo photo;
    CW_TRY(cw_photo_get(request->bench, request->match.ids[0], &photo, err));
    bool is_png = strcmp(photo.media, "image/png") == 0;
    cw_photo_free(&photo);
    CW_TRY(cw_photo_path(request->bench, request->match.ids[0], path, sizeof path, err));
    char name[64];
    snprintf(name, sizeof name, "photo-%" PRId64 "%s", request->match.ids[0], is_png ? ".png" : ".jpg");
    return cw_reply_file(reply, path, is_png ? "image/png" : "image/jpeg", name, err);
}

/* ---- the picture with its marks ---- */

static void write_picture(cw_request *request, cw_html *h, const cw_photo *photo, const cw_photo_mark_list *marks,
                          const char *kind, int width)
{
    double shape = (double)photo->height_px / (double)photo->width_px;
    if (width * shape > TALL_PX)
        width = (int)lround(TALL_PX / shape);
    int height = (int)lround(width * shape);
    html_markup(h, "<div");
    html_attrf(h, "class", "tapped %s", kind);
    html_markup(h, ">");
    cw_form_begin(request, h, false, "/photos/%" PRId64 "/marks", photo->id);
    char text[16];
    snprintf(text, sizeof text, "%d", width);
    cw_field_hidden(h, "w", text);
    snprintf(text, sizeof text, "%d", height);
    cw_field_hidden(h, "h", text);
    html_markup(h, "<input type='image' name='at'");
    html_attrf(h, "src", "/photos/%" PRId64 "/large", photo->id);
    html_attrf(h, "width", "%d", width);
    html_attrf(h, "height", "%d", height);
    html_attrf(h, "alt", "%s: press where a mark is to stand",
               photo->caption[0] != '\0' ? photo->caption : "the photo");
    html_markup(h, "><svg class='marks' aria-hidden='true'");
    html_attrf(h, "viewBox", "0 0 %d %d", width, height);
    html_attrf(h, "width", "%d", width);
    html_attrf(h, "height", "%d", height);
    html_markup(h, ">");
    for (size_t i = 0; i < marks->count; i++)
        cw_write_mark(
            h,
            &(cw_doc_mark){(int)marks->items[i].number, marks->items[i].x, marks->items[i].y, marks->items[i].hook_deg},
            width, height, 13);
    html_markup(h, "</svg>");
    cw_form_end(h);
    html_markup(h, "</div>\n");
}

static const cw_option_item hooks[] = {{"", "no arrow"},     {"0", "to the right"}, {"45", "up right"},
                                       {"90", "up"},         {"135", "up left"},    {"180", "to the left"},
                                       {"225", "down left"}, {"270", "down"},       {"315", "down right"}};

static void write_hooks(cw_html *h, const cw_photo_mark *mark)
{
    html_markup(h, "<select name='hook'");
    html_attrf(h, "aria-label", "Which way mark %" PRId64 " points", mark->number);
    html_markup(h, ">");
    for (size_t i = 0; i < CW_COUNT(hooks); i++) {
        double degrees = hooks[i].value[0] == '\0' ? NAN : strtod(hooks[i].value, NULL);
        bool chosen = isnan(degrees) ? isnan(mark->hook_deg) : fabs(degrees - mark->hook_deg) < 0.5;
        html_markup(h, "<option");
        html_attr(h, "value", hooks[i].value);
        html_flag(h, "selected", chosen);
        html_markup(h, ">");
        html_text(h, hooks[i].label);
        html_markup(h, "</option>");
    }
    html_markup(h, "</select>");
}

static void write_marks(cw_request *request, cw_html *h, const cw_photo_mark_list *marks)
{
    html_markup(h, "<section class='panel' id='marks'><h2>Marks</h2>\n");
    if (marks->count == 0)
        html_markup(h,
                    "<p class='soft'>Press on the photo where a screw sits or a spring hooks: a numbered mark stands "
                    "there, and here is the place to say what it is.</p>");
    html_markup(h, "<ol class='plain'>");
    for (size_t i = 0; i < marks->count; i++) {
        const cw_photo_mark *mark = &marks->items[i];
        html_markup(h, "<li class='markline'");
        html_attrf(h, "id", "mark-%" PRId64, mark->id);
        html_markup(h, ">");
        cw_form_begin(request, h, false, "/marks/%" PRId64 "/edit", mark->id);
        html_markup(h, "<strong>");
        html_textf(h, "%" PRId64, mark->number);
        html_markup(h, "</strong><input type='text' name='text' autocomplete='off'");
        html_attrf(h, "aria-label", "What mark %" PRId64 " shows", mark->number);
        html_attr(h, "value", request->match.ids[1] == mark->id ? cw_value(request, "text", mark->text) : mark->text);
        html_markup(h, ">");
        write_hooks(h, mark);
        html_markup(
            h, "<button class='button'>Keep</button><button class='button' name='delete' value='1'>Remove</button>");
        cw_form_end(h);
        html_markup(h, "</li>\n");
    }
    html_markup(h, "</ol></section>\n");
}

static void write_photo(cw_request *request, cw_reply *reply, const cw_photo *photo, const cw_photo_mark_list *marks)
{
    cw_html *h = &reply->html;
    const char *title = photo->caption[0] != '\0' ? photo->caption : "Photo";
    cw_page_begin(request, reply, CW_PLACE_BENCH, title);
    html_markup(h, "<p class='trail'>");
    if (photo->step_id > 0)
        cw_link(h, "", "The step it shows", "/steps/%" PRId64, photo->step_id);
    else
        cw_link(h, "", "The job", "/jobs/%" PRId64, photo->job_id);
    html_markup(h, "</p><h1>");
    html_text(h, title);
    html_markup(h, "</h1>\n");
    write_picture(request, h, photo, marks, "slim", NARROW_PX);
    write_picture(request, h, photo, marks, "wide", WIDE_PX);
    html_markup(h, "<p class='soft'>");
    html_textf(h, "%" PRId64 " \u00D7 %" PRId64 " px, %.1f MB. %s", photo->width_px, photo->height_px,
               (double)photo->bytes / 1e6, photo->taken_at[0] != '\0' ? "Taken " : "");
    html_text(h, photo->taken_at);
    html_markup(h, "</p>\n");
    write_marks(request, h, marks);
    html_markup(h, "<section class='panel'><h2>The photo</h2>");
    cw_form_begin(request, h, false, "/photos/%" PRId64 "/edit", photo->id);
    cw_field_input(request, h, &(cw_input){.name = "caption", .label = "What it shows", .value = photo->caption});
    html_markup(h, "<button class='button'>Keep</button>");
    cw_form_end(h);
    html_markup(h, "<div class='actions'>");
    cw_link(h, "button", "The untouched original", "/photos/%" PRId64 "/original", photo->id);
    cw_button_form(request, h, true, "Show it first on the bench", "/photos/%" PRId64 "/cover", photo->id);
    cw_button_form(request, h, true, "Take it out of the job", "/photos/%" PRId64 "/delete", photo->id);
    html_markup(h, "</div></section>\n");
    cw_page_end(reply);
}

cw_status page_photo(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_photo photo;
    cw_photo_mark_list marks;
    CW_TRY(cw_photo_get(request->bench, request->match.ids[0], &photo, err));
    cw_status status = cw_photo_mark_page(request->bench, photo.id, &marks, err);
    if (status == CW_OK) {
        write_photo(request, reply, &photo, &marks);
        cw_photo_mark_list_free(&marks);
    }
    cw_photo_free(&photo);
    return status;
}

/* The photo of a mark once more, the refused words where they were typed. */
cw_status page_mark_again(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_photo_mark mark;
    CW_TRY(cw_photo_mark_get(request->bench, request->match.ids[0], &mark, err));
    request->match.ids[0] = mark.photo_id;
    request->match.ids[1] = mark.id;
    cw_photo_mark_free(&mark);
    return page_photo(request, reply, err);
}

cw_status twin_photo(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_photo photo;
    cw_photo_mark_list marks;
    CW_TRY(cw_photo_get(request->bench, request->match.ids[0], &photo, err));
    cw_status status = cw_photo_mark_page(request->bench, photo.id, &marks, err);
    if (status == CW_OK) {
        json_t *list = json_array();
        for (size_t i = 0; i < marks.count; i++) {
            const cw_photo_mark *mark = &marks.items[i];
            json_array_append_new(list, json_pack("{s:I,s:I,s:f,s:f,s:s,s:o}", "id", (json_int_t)mark->id, "number",
                                                  (json_int_t)mark->number, "x", mark->x, "y", mark->y, "text",
                                                  mark->text, "hook_deg",
                                                  isfinite(mark->hook_deg) ? json_real(mark->hook_deg) : json_null()));
        }
        reply->json = json_pack("{s:s,s:I,s:I,s:I,s:s,s:s,s:I,s:I,s:I,s:s,s:o}", "format", "camerawright.photo/1", "id",
                                (json_int_t)photo.id, "job_id", (json_int_t)photo.job_id, "step_id",
                                (json_int_t)photo.step_id, "caption", photo.caption, "hash", photo.hash, "bytes",
                                (json_int_t)photo.bytes, "width_px", (json_int_t)photo.width_px, "height_px",
                                (json_int_t)photo.height_px, "taken_at", photo.taken_at, "marks", list);
        if (reply->json == NULL)
            status = cw_fail(err, CW_MEMORY, "no memory for the photo");
        cw_photo_mark_list_free(&marks);
    }
    cw_photo_free(&photo);
    return status;
}
