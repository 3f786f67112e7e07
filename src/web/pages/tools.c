/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rack: tools made and owned, with the sizes that decide whether they fit. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/unit.h"
#include "notebook/rack.h"
#include "web/page.h"
#include "web/pages/pages.h"

enum { TOOLS_A_PAGE = 50, SIZES_TEXT = 2000 };

/* {"span":23.4,"tip_width":1.2} as "span 23.4 mm, tip_width 1.2 mm". */
static void write_sizes(cw_html *h, const char *sizes_json)
{
    json_t *sizes = sizes_json[0] == '\0' ? NULL : json_loads(sizes_json, 0, NULL);
    const char *key;
    json_t *value;
    bool first = true;
    json_object_foreach(sizes, key, value)
    {
        html_textf(h, "%s%s %.4g mm", first ? "" : ", ", key, json_number_value(value));
        first = false;
    }
    json_decref(sizes);
}

static void write_tool_line(cw_html *h, const cw_tool *tool)
{
    html_markup(h, "<li><a");
    html_attrf(h, "href", "/tools/%" PRId64, tool->id);
    html_markup(h, "><strong>");
    html_text(h, tool->name);
    html_markup(h, "</strong> <span class='soft'>");
    html_textf(h, "%s, %s", tool->kind, tool->made ? "made" : "bought");
    if (tool->place[0] != '\0')
        html_textf(h, ", %s", tool->place);
    html_markup(h, "</span> <span class='soft'>");
    write_sizes(h, tool->sizes_json);
    html_markup(h, "</span></a></li>\n");
}

static const cw_option_item origins[] = {{"1", "Made"}, {"0", "Bought"}};

static void write_fields(cw_request *request, cw_html *h, const cw_tool *tool, const char *sizes)
{
    cw_field_input(request, h,
                   &(cw_input){.name = "name",
                               .label = "Name",
                               .required = true,
                               .value = tool->name,
                               .example = "flat wrench for the rear ring"});
    cw_field_input(request, h,
                   &(cw_input){.name = "kind", .label = "Kind", .value = tool->kind, .example = "flat-wrench"});
    cw_field_choice(request, h, "made", "It was", tool->made ? "1" : "0", origins, CW_COUNT(origins), NULL);
    cw_field_input(request, h,
                   &(cw_input){.name = "sizes",
                               .label = "Sizes",
                               .value = sizes,
                               .rows = 3,
                               .example = "span 23.4 mm\ntip-width 1.2 mm",
                               .help = "one a line: a name and a length; a need is compared with them"});
    cw_field_input(request, h, &(cw_input){.name = "place", .label = "Where it hangs", .value = tool->place});
    cw_field_input(request, h, &(cw_input){.name = "notes", .label = "Notes", .value = tool->notes, .rows = 3});
}

cw_status page_tools(cw_request *request, cw_reply *reply, cw_error *err)
{
    long first;
    cw_tool_list tools;
    CW_TRY(cw_whole(request, "first", 0, 1000000, 0, &first, err));
    CW_TRY(cw_tool_page(request->bench, NULL, NULL, 0, first, TOOLS_A_PAGE, &tools, err));
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_SHEETS, "The rack");
    html_markup(
        h, "<p class='trail'><a href='/worksheets'>Worksheets</a></p><h1>The rack</h1>\n<p class='lead'>Tools made and "
           "owned, with their sizes, so that no wrench is made twice.</p>\n");
    if (tools.count > 0) {
        html_markup(h, "<section class='panel'><ul class='lines'>");
        for (size_t i = 0; i < tools.count; i++)
            write_tool_line(h, &tools.items[i]);
        html_markup(h, "</ul></section>\n");
    }
    cw_pager(h, first, TOOLS_A_PAGE, tools.total, "/tools");
    html_markup(h, "<section class='panel'><h2>Hang one up</h2>");
    cw_form_begin(request, h, false, "/tools");
    write_fields(request, h, &(cw_tool){.name = "", .kind = "", .made = true, .place = "", .notes = ""}, "");
    cw_submit(h, "Hang it up");
    cw_form_end(h);
    html_markup(h, "</section>\n");
    cw_page_end(reply);
    cw_tool_list_free(&tools);
    return CW_OK;
}

static json_t *tool_json(const cw_tool *tool)
{
    json_t *sizes = tool->sizes_json[0] == '\0' ? NULL : json_loads(tool->sizes_json, 0, NULL);
    return json_pack("{s:I,s:s,s:s,s:b,s:o,s:s,s:s}", "id", (json_int_t)tool->id, "name", tool->name, "kind",
                     tool->kind, "made", (int)tool->made, "sizes_mm", sizes != NULL ? sizes : json_object(), "place",
                     tool->place, "notes", tool->notes);
}

cw_status twin_tools(cw_request *request, cw_reply *reply, cw_error *err)
{
    long first;
    cw_tool_list tools;
    CW_TRY(cw_whole(request, "first", 0, 1000000, 0, &first, err));
    CW_TRY(cw_tool_page(request->bench, NULL, NULL, 0, first, TOOLS_A_PAGE, &tools, err));
    json_t *list = json_array();
    for (size_t i = 0; i < tools.count; i++)
        json_array_append_new(list, tool_json(&tools.items[i]));
    reply->json = json_pack("{s:s,s:I,s:I,s:o}", "format", "camerawright.tools/1", "first", (json_int_t)first, "total",
                            (json_int_t)tools.total, "tools", list);
    cw_tool_list_free(&tools);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the rack");
}

/* One line "tip-width 1.2 mm" into the object. */
static cw_status take_size(json_t *sizes, const char *line, size_t length, cw_error *err)
{
    char text[200];
    snprintf(text, sizeof text, "%.*s", (int)(length < sizeof text ? length : sizeof text - 1), line);
    char *name = text + strspn(text, " \t\r");
    size_t name_length = strcspn(name, " \t\r");
    if (name_length == 0)
        return CW_OK;
    char *number = name + name_length;
    if (*number != '\0')
        *number++ = '\0';
    double length_m;
    cw_status status = cw_parse_measure(number, CW_LENGTH, "mm", &length_m, err);
    if (status != CW_OK) {
        cw_context(err, "size \"%.40s\"", name);
        return status;
    }
    json_object_set_new(sizes, name, json_real(1e3 * length_m));
    return CW_OK;
}

/* The caller frees *text. */
static cw_status sizes_of(const char *typed, char **text, cw_error *err)
{
    json_t *sizes = json_object();
    cw_status status = CW_OK;
    while (*typed != '\0' && status == CW_OK) {
        size_t length = strcspn(typed, "\n");
        status = take_size(sizes, typed, length, err);
        typed += length + (typed[length] == '\n');
    }
    *text = status == CW_OK && json_object_size(sizes) > 0 ? json_dumps(sizes, JSON_REAL_PRECISION(9)) : NULL;
    json_decref(sizes);
    return status;
}

static cw_status from_form(const cw_request *request, cw_tool *tool, char **sizes, cw_error *err)
{
    tool->name = cw_posted(request, "name");
    tool->kind = cw_posted(request, "kind");
    tool->made = strcmp(cw_posted(request, "made"), "0") != 0;
    tool->place = cw_posted(request, "place");
    tool->notes = cw_posted(request, "notes");
    CW_TRY(sizes_of(cw_posted(request, "sizes"), sizes, err));
    tool->sizes_json = *sizes;
    return CW_OK;
}

cw_status post_tool(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_tool tool = {0};
    char *sizes = NULL;
    int64_t id;
    CW_TRY(from_form(request, &tool, &sizes, err));
    cw_status status = cw_tool_add(request->bench, &tool, &id, err);
    free(sizes);
    if (status == CW_OK)
        cw_go(request, reply, "It hangs in the rack.", "/tools/%" PRId64, id);
    return status;
}

/* The kept sizes as they would be typed. */
static void sizes_text(const char *sizes_json, char *out, size_t size)
{
    json_t *sizes = sizes_json[0] == '\0' ? NULL : json_loads(sizes_json, 0, NULL);
    const char *key;
    json_t *value;
    cw_buf buf = cw_buf_new(size - 1);
    json_object_foreach(sizes, key, value)
    {
        cw_buf_printf(&buf, "%s %.6g mm\n", key, json_number_value(value));
    }
    snprintf(out, size, "%s", cw_buf_string(&buf));
    cw_buf_free(&buf);
    json_decref(sizes);
}

cw_status page_tool(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_tool tool;
    char revision[32], sizes[SIZES_TEXT];
    CW_TRY(cw_tool_get(request->bench, request->match.ids[0], &tool, err));
    snprintf(revision, sizeof revision, "%" PRId64, tool.revision);
    sizes_text(tool.sizes_json, sizes, sizeof sizes);
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_SHEETS, tool.name);
    html_markup(h, "<p class='trail'><a href='/tools'>The rack</a></p><h1>");
    html_text(h, tool.name);
    html_markup(h, "</h1>\n<p class='lead'>");
    write_sizes(h, tool.sizes_json);
    html_markup(h, "</p>\n");
    if (tool.drawing_svg[0] != '\0') {
        html_markup(h, "<figure class='drawing'><img alt='its drawing'");
        html_attrf(h, "src", "/tools/%" PRId64 "/drawing.svg", tool.id);
        html_markup(h, "></figure>\n");
    }
    html_markup(h, "<section class='panel'><h2>Change it</h2>");
    cw_form_begin(request, h, false, "/tools/%" PRId64 "/edit", tool.id);
    cw_field_hidden(h, "revision", cw_value(request, "revision", revision));
    write_fields(request, h, &tool, sizes);
    cw_submit(h, "Keep");
    cw_form_end(h);
    cw_button_form(request, h, true, "Take it out of the rack", "/tools/%" PRId64 "/delete", tool.id);
    html_markup(h, "</section>\n");
    cw_page_end(reply);
    cw_tool_free(&tool);
    return CW_OK;
}

/* As a picture of its own, not as part of the page: whatever it holds, a picture runs nothing. */
cw_status get_tool_drawing(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_tool tool;
    CW_TRY(cw_tool_get(request->bench, request->match.ids[0], &tool, err));
    cw_status status = CW_OK;
    cw_buf buf = cw_buf_new(CW_HTML_MOST);
    cw_buf_text(&buf, tool.drawing_svg);
    if (tool.drawing_svg[0] == '\0')
        status = cw_fail(err, CW_NOT_FOUND, "this tool has no drawing");
    cw_tool_free(&tool);
    if (status == CW_OK)
        status = cw_reply_buffer(reply, &buf, "image/svg+xml", NULL, err);
    cw_buf_free(&buf);
    return status;
}

cw_status post_tool_edit(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_tool tool;
    char *sizes = NULL;
    CW_TRY(cw_tool_get(request->bench, request->match.ids[0], &tool, err));
    cw_tool changed = tool;
    changed.revision = cw_row_id(request, "revision");
    cw_status status = from_form(request, &changed, &sizes, err);
    if (status == CW_OK)
        status = cw_tool_update(request->bench, &changed, err);
    free(sizes);
    if (status == CW_OK)
        cw_go(request, reply, "Kept.", "/tools/%" PRId64, tool.id);
    cw_tool_free(&tool);
    return status;
}

cw_status post_tool_delete(cw_request *request, cw_reply *reply, cw_error *err)
{
    CW_TRY(cw_tool_delete(request->bench, request->match.ids[0], err));
    cw_go(request, reply, "Taken out of the rack.", "/tools");
    return CW_OK;
}
