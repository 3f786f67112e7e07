/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lists a person writes for themselves; each can be begun in any job. */
#include <inttypes.h>
#include <stdio.h>

#include "notebook/guide.h"
#include "web/page.h"
#include "web/pages/pages.h"

static void write_own(cw_request *request, cw_html *h, const cw_own_list *list)
{
    char title[32], items[32];
    snprintf(title, sizeof title, "title-%" PRId64, list->id);
    snprintf(items, sizeof items, "items-%" PRId64, list->id);
    html_markup(h, "<section class='panel'><h2>");
    html_text(h, list->title);
    html_markup(h, "</h2><p class='words'>");
    html_text(h, list->items);
    html_markup(h, "</p><details><summary>Change it</summary>");
    cw_form_begin(request, h, false, "/lists/%" PRId64, list->id);
    html_markup(h, "<div class='field'><label");
    html_attr(h, "for", title);
    html_markup(h, ">Title</label><input type='text' name='title' required autocomplete='off'");
    html_attr(h, "id", title);
    html_attr(h, "value", list->title);
    html_markup(h, "></div><div class='field'><label");
    html_attr(h, "for", items);
    html_markup(h, ">Items, a line each</label><textarea name='items' rows='8' required");
    html_attr(h, "id", items);
    html_markup(h, ">");
    html_text(h, list->items);
    html_markup(h, "</textarea></div><button class='button'>Keep the change</button>");
    cw_form_end(h);
    html_markup(h, "</details><div class='actions'>");
    char label[CW_LINE_MOST + 16];
    snprintf(label, sizeof label, "Remove %s", list->title);
    cw_button_form(request, h, true, label, "/lists/%" PRId64 "/delete", list->id);
    html_markup(h, "</div></section>\n");
}

cw_status page_own_lists(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_own_list_list own;
    CW_TRY(cw_own_list_page(request->bench, &own, err));
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_BENCH, "Lists of your own");
    html_markup(h, "<p class='trail'><a href='/'>The bench</a></p><h1>Lists of your own</h1>\n<p class='lead'>What you "
                   "always want to look at, in your own words. Begin one in any job under \"Guided lists\": each item "
                   "is answered with a tap, and the answers stay with the job.</p>\n");
    html_markup(h, "<section class='panel'><h2>Write one</h2>");
    cw_form_begin(request, h, false, "/lists");
    cw_field_input(request, h,
                   &(cw_input){.name = "title",
                               .label = "Title",
                               .required = true,
                               .value = "",
                               .example = "Before it goes to the owner"});
    cw_field_input(request, h,
                   &(cw_input){.name = "items",
                               .label = "Items, a line each",
                               .rows = 6,
                               .required = true,
                               .example = "strap lugs\ncase and cap\nold parts in a bag"});
    cw_submit(h, "Keep this list");
    cw_form_end(h);
    html_markup(h, "</section>\n");
    for (size_t i = 0; i < own.count; i++)
        write_own(request, h, &own.items[i]);
    cw_page_end(reply);
    cw_own_list_list_free(&own);
    return CW_OK;
}

cw_status twin_own_lists(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_own_list_list own;
    CW_TRY(cw_own_list_page(request->bench, &own, err));
    json_t *rows = json_array();
    for (size_t i = 0; i < own.count; i++)
        json_array_append_new(rows, json_pack("{s:I,s:s,s:s}", "id", (json_int_t)own.items[i].id, "title",
                                              own.items[i].title, "items", own.items[i].items));
    reply->json = json_pack("{s:s,s:o}", "format", "camerawright.own-lists/1", "lists", rows);
    cw_own_list_list_free(&own);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the lists");
}

cw_status post_own_list(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t id;
    const cw_own_list list = {.title = cw_posted(request, "title"), .items = cw_posted(request, "items")};
    CW_TRY(cw_own_list_add(request->bench, &list, &id, err));
    cw_go(request, reply, "Kept. Begin it in a job under \"Guided lists\".", "/lists");
    return CW_OK;
}

cw_status post_own_list_edit(cw_request *request, cw_reply *reply, cw_error *err)
{
    const cw_own_list list = {
        .id = request->match.ids[0], .title = cw_posted(request, "title"), .items = cw_posted(request, "items")};
    CW_TRY(cw_own_list_update(request->bench, &list, err));
    cw_go(request, reply, "Kept. Lists that are begun stay as they are.", "/lists");
    return CW_OK;
}

cw_status post_own_list_delete(cw_request *request, cw_reply *reply, cw_error *err)
{
    CW_TRY(cw_own_list_delete(request->bench, request->match.ids[0], err));
    cw_go(request, reply, "Removed. Lists that are begun in a job stay.", "/lists");
    return CW_OK;
}
