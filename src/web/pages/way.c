/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The way in: what has to come off to reach a part, in an order that works; and noting what lies under what. */
#include "notebook/way.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "web/page.h"
#include "web/pages/notebook_parts.h"
#include "web/pages/pages.h"

static void write_way(cw_html *h, const cw_way *way, size_t index)
{
    html_markup(h, "<section class='panel'><h2>");
    html_text(h, index == 0 ? "The shortest way" : "Another way");
    html_textf(h, ", %zu to take off", way->count > 0 ? way->count - 1 : 0);
    html_markup(h, "</h2><ol>");
    for (size_t i = 0; i < way->count; i++) {
        const struct cw_way_step *step = &way->items[i];
        html_markup(h, "<li>");
        if (i + 1 == way->count)
            html_markup(h, "<strong>");
        html_text(h, step->name);
        if (i + 1 == way->count)
            html_markup(h, "</strong> is reached");
        html_markup(h, "</li>");
    }
    html_markup(h, "</ol>");
    bool described = false;
    for (size_t i = 0; i < way->count; i++) {
        if (way->items[i].step_id == 0)
            continue;
        if (!described)
            html_markup(h, "<div class='downloads'>");
        described = true;
        char label[CW_LINE_MOST + 16];
        snprintf(label, sizeof label, "How: %s", way->items[i].name);
        cw_link(h, "button", label, "/steps/%" PRId64, way->items[i].step_id);
    }
    if (described)
        html_markup(h, "</div>");
    html_markup(h, "</section>\n");
}

static void write_ways(cw_html *h, const cw_way_list *ways)
{
    if (ways->told[0] != '\0') {
        html_markup(h, "<p class='notice'>");
        html_sentence(h, ways->told);
        html_markup(h, "</p>\n");
    }
    for (size_t i = 0; i < ways->count; i++)
        write_way(h, &ways->items[i], i);
    if (!ways->complete)
        html_markup(h, "<p class='soft'>There may be more ways than are shown here.</p>\n");
}

static void write_ask(cw_request *request, cw_html *h, const cw_thing_list *things)
{
    html_markup(h, "<form method='get' class='find'");
    html_attrf(h, "action", "/jobs/%" PRId64 "/way", request->match.ids[0]);
    html_markup(h, "><label class='field'><span class='soft'>I need to get to</span><input type='text' name='to' "
                   "list='things' autocomplete='off' placeholder='winding gear'");
    html_attr(h, "value", cw_value(request, "to", ""));
    html_markup(h, "></label><button class='main'>Show the way</button></form>\n<datalist id='things'>");
    for (size_t i = 0; i < things->count; i++) {
        html_markup(h, "<option");
        html_attr(h, "value", things->items[i].name);
        html_markup(h, "></option>");
    }
    html_markup(h, "</datalist>\n");
}

static cw_status write_blocks(cw_request *request, cw_html *h, cw_error *err)
{
    int64_t job_id = request->match.ids[0];
    cw_block_list blocks;
    CW_TRY(cw_block_page(request->bench, job_id, &blocks, err));
    html_markup(h, "<section class='panel' id='blocks'><h2>What lies under what</h2>\n");
    if (blocks.count == 0)
        html_markup(h, "<p class='soft'>Nothing is noted yet. Each line here makes the next such camera quicker.</p>");
    html_markup(h, "<ul class='lines checks'>");
    for (size_t i = 0; i < blocks.count; i++) {
        const cw_block *block = &blocks.items[i];
        html_markup(h, "<li><span>");
        html_textf(h, "%s is under %s", block->under, block->over);
        if (block->way > 0)
            html_textf(h, " (way %" PRId64 ")", block->way);
        html_markup(h, "</span>");
        cw_button_form(request, h, true, "Remove", "/jobs/%" PRId64 "/blocks/%" PRId64 "/delete", job_id, block->id);
        html_markup(h, "</li>\n");
    }
    html_markup(h, "</ul>");
    cw_block_list_free(&blocks);
    cw_form_begin(request, h, false, "/jobs/%" PRId64 "/blocks", job_id);
    html_markup(h, "<div class='pair'>");
    cw_field_input(request, h,
                   &(cw_input){.name = "under",
                               .label = "This",
                               .list = "things",
                               .required = true,
                               .value = "",
                               .example = "winding gear"});
    cw_field_input(request, h,
                   &(cw_input){.name = "over",
                               .label = "lies under that",
                               .list = "things",
                               .required = true,
                               .value = "",
                               .example = "top cover"});
    html_markup(h, "</div>");
    cw_field_input(
        request, h,
        &(cw_input){.name = "way",
                    .label = "Which way",
                    .value = "0",
                    .mode = "numeric",
                    .narrow = true,
                    .help = "0: it must always come off. 1, 2 ...: only one of these ways has to be cleared"});
    html_markup(h, "<button class='button'>Note it</button>");
    cw_form_end(h);
    html_markup(h, "</section>\n");
    return CW_OK;
}

cw_status page_way(cw_request *request, cw_reply *reply, cw_error *err)
{
    const char *to = cw_value(request, "to", "");
    cw_way_list ways = {0};
    cw_thing_list things;
    cw_error refused = {0};
    bool asked = to[strspn(to, " ")] != '\0';
    CW_TRY(cw_thing_page(request->bench, request->match.ids[0], &things, err));
    if (asked && cw_way_in(request->bench, request->match.ids[0], to, &ways, &refused) != CW_OK) {
        request->problem = refused;
        reply->code = cw_http_status(&refused);
    }
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_BENCH, "The way in");
    cw_status status = cw_write_job_title(request, h, request->match.ids[0], "The way in", err);
    write_ask(request, h, &things);
    if (asked && refused.status == CW_OK)
        write_ways(h, &ways);
    if (status == CW_OK)
        status = write_blocks(request, h, err);
    cw_page_end(reply);
    cw_way_list_free(&ways);
    cw_thing_list_free(&things);
    return status;
}

static json_t *way_json(const cw_way *way)
{
    json_t *steps = json_array();
    for (size_t i = 0; i < way->count; i++)
        json_array_append_new(steps,
                              json_pack("{s:s,s:I,s:I}", "name", way->items[i].name, "step_id",
                                        (json_int_t)way->items[i].step_id, "job_id", (json_int_t)way->items[i].job_id));
    return steps;
}

cw_status twin_way(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_way_list ways;
    CW_TRY(cw_way_in(request->bench, request->match.ids[0], cw_value(request, "to", ""), &ways, err));
    json_t *list = json_array();
    for (size_t i = 0; i < ways.count; i++)
        json_array_append_new(list, way_json(&ways.items[i]));
    reply->json = json_pack("{s:s,s:s,s:b,s:o}", "format", "camerawright.way/1", "told", ways.told, "complete",
                            (int)ways.complete, "ways", list);
    cw_way_list_free(&ways);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the way in");
}

static cw_status add_block(cw_request *request, int64_t job_id, cw_error *err)
{
    int64_t under, over, id;
    long way;
    CW_TRY(cw_whole(request, "way", 0, CW_WAYS_MOST, 0, &way, err));
    CW_TRY(cw_thing_named(request->bench, job_id, cw_posted(request, "under"), &under, err));
    CW_TRY(cw_thing_named(request->bench, job_id, cw_posted(request, "over"), &over, err));
    return cw_block_add(request->bench, under, over, (int)way, &id, err);
}

cw_status post_block(cw_request *request, cw_reply *reply, cw_error *err)
{
    int64_t job_id = request->match.ids[0];
    char words[CW_LINE_MOST + 1];
    snprintf(words, sizeof words, "%.100s is under %.100s", cw_posted(request, "under"), cw_posted(request, "over"));
    CW_TRY(cw_change_begin(request->bench, job_id, words, err));
    cw_status status = add_block(request, job_id, err);
    if (status == CW_OK)
        status = cw_change_commit(request->bench, err);
    else
        cw_change_cancel(request->bench);
    if (status == CW_OK)
        cw_go(request, reply, words, "/jobs/%" PRId64 "/way#blocks", job_id);
    return status;
}

cw_status post_block_delete(cw_request *request, cw_reply *reply, cw_error *err)
{
    CW_TRY(cw_block_delete(request->bench, request->match.ids[1], err));
    cw_go(request, reply, "Removed.", "/jobs/%" PRId64 "/way#blocks", request->match.ids[0]);
    return CW_OK;
}
