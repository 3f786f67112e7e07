/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rack: tools made and owned, with the sizes that decide whether they fit. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/unit.h"
#include "notebook/rack.h"
#include "web/page.h"
#include "web/pages/pages.h"
#include "web/pages/rack_parts.h"
#include "web/pages/sheet_run.h"

enum { TOOLS_A_PAGE = 50, SIZES_TEXT = 2000 };

/* The sizes that decide whether a tool fits, each with a field of its own. */
static const struct {
    const char *name, *field, *label, *help;
} known_sizes[] = {
    {"span", "span", "Span", "between the tips' or pins' middles; the smallest diameter a gripping tool takes"},
    {"span_most", "span-most", "Span at most", "of adjustable and gripping tools"},
    {"tip", "tip", "Tip thickness, or pin diameter", NULL},
    {"tip_width", "tip-width", "Tip width", "along the slot"},
    {"reach", "reach", "Reach", "how deep it goes below its body"},
    {"clears", "clears", "Clears", "the diameter that passes between the tips"},
};

/* {"span":23.4,"tip_width":1.2} as "span 23.4 mm, tip-width 1.2 mm". */
static void write_sizes(cw_html *h, const char *sizes_json)
{
    json_t *sizes = sizes_json[0] == '\0' ? NULL : json_loads(sizes_json, 0, NULL);
    const char *key;
    json_t *value;
    bool first = true;
    json_object_foreach(sizes, key, value)
    {
        const char *label = key;
        for (size_t i = 0; i < CW_COUNT(known_sizes); i++)
            if (strcmp(known_sizes[i].name, key) == 0)
                label = known_sizes[i].field;
        html_textf(h, "%s%s %.4g mm", first ? "" : ", ", label, json_number_value(value));
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
    html_textf(h, "%s%s%s", tool->kind, tool->kind[0] != '\0' ? ", " : "", tool->made ? "made" : "bought");
    if (tool->place[0] != '\0')
        html_textf(h, ", %s", tool->place);
    html_markup(h, "</span> <span class='soft'>");
    write_sizes(h, tool->sizes_json);
    html_markup(h, "</span></a></li>\n");
}

static const cw_option_item origins[] = {{"1", "Made"}, {"0", "Bought"}};

/* A name as it is kept: "tip-width" is "tip_width". */
static void normal_name(char *name)
{
    for (; *name != '\0'; name++)
        if (*name == '-')
            *name = '_';
}

static bool is_known_size(const char *name)
{
    for (size_t i = 0; i < CW_COUNT(known_sizes); i++)
        if (strcmp(known_sizes[i].name, name) == 0)
            return true;
    return false;
}

/* The kept sizes that have no field, as they would be typed. */
static void other_sizes(json_t *sizes, char *out, size_t size)
{
    const char *key;
    json_t *value;
    cw_buf buf = cw_buf_new(size - 1);
    json_object_foreach(sizes, key, value)
    {
        if (!is_known_size(key))
            cw_buf_printf(&buf, "%s %.6g mm\n", key, json_number_value(value));
    }
    snprintf(out, size, "%s", cw_buf_string(&buf));
    cw_buf_free(&buf);
}

static void write_size_fields(cw_request *request, cw_html *h, const char *sizes_json)
{
    json_t *sizes = sizes_json[0] == '\0' ? NULL : json_loads(sizes_json, 0, NULL);
    char others[SIZES_TEXT];
    html_markup(h, "<div class='pair'>");
    for (size_t i = 0; i < CW_COUNT(known_sizes); i++) {
        char now[32];
        json_t *kept = json_object_get(sizes, known_sizes[i].name);
        if (kept != NULL)
            snprintf(now, sizeof now, "%.6g", json_number_value(kept));
        cw_field_input(request, h,
                       &(cw_input){.name = known_sizes[i].field,
                                   .label = known_sizes[i].label,
                                   .value = kept != NULL ? now : NULL,
                                   .unit = "mm",
                                   .mode = "decimal",
                                   .help = known_sizes[i].help});
    }
    html_markup(h, "</div>");
    other_sizes(sizes, others, sizeof others);
    json_decref(sizes);
    cw_field_input(request, h,
                   &(cw_input){.name = "sizes",
                               .label = "Other sizes",
                               .value = others,
                               .rows = 2,
                               .example = "handle 28 mm",
                               .help = "one a line: a name and a length"});
}

static void write_fields(cw_request *request, cw_html *h, const cw_tool *tool)
{
    cw_field_input(request, h,
                   &(cw_input){.name = "name",
                               .label = "Name",
                               .required = true,
                               .value = tool->name,
                               .example = "flat wrench for the rear ring"});
    cw_field_input(request, h,
                   &(cw_input){.name = "kind",
                               .label = "Kind",
                               .value = tool->kind,
                               .list = "kinds",
                               .example = cw_rack_kind_name(CW_RACK_TWO_BLADE),
                               .help = "one of the list is compared with a ring; any other word is fine too"});
    html_markup(h, "<datalist id='kinds'>");
    for (int i = 0; i < CW_RACK_KIND_COUNT; i++) {
        html_markup(h, "<option");
        html_attr(h, "value", cw_rack_kind_name((cw_rack_kind)i));
        html_markup(h, "></option>");
    }
    html_markup(h, "</datalist>");
    cw_field_choice(request, h, "made", "It was", tool->made ? "1" : "0", origins, CW_COUNT(origins), NULL);
    write_size_fields(request, h, tool->sizes_json);
    cw_field_input(request, h, &(cw_input){.name = "place", .label = "Where it hangs", .value = tool->place});
    cw_field_input(request, h, &(cw_input){.name = "notes", .label = "Notes", .value = tool->notes, .rows = 3});
}

/* The question, and its answer before it; a question that cannot be read is shown again with the reason. */
static cw_status write_question(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_rack_need need;
    cw_tool_answer answer = {0};
    bool asked = false;
    cw_error refused = {0};
    cw_status status = cw_rack_need_read(request, &need, &asked, &refused);
    if (status == CW_OK && asked)
        status = cw_tool_find(request->bench, &need, &answer, &refused);
    if (status != CW_OK && cw_http_status(&refused) >= 500) {
        *err = refused;
        return status;
    }
    if (status != CW_OK) {
        request->problem = refused;
        reply->code = cw_http_status(&refused);
    }
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_SHEETS, "The rack");
    html_markup(
        h, "<p class='trail'><a href='/worksheets'>Worksheets</a></p><h1>The rack</h1>\n<p class='lead'>Tools made and "
           "owned, with their sizes, so that no wrench is made twice.</p>\n");
    if (status == CW_OK && asked) {
        html_markup(h, "<section class='answer' aria-label='Answer'>");
        cw_write_rack_answer(h, &answer, TOOLS_A_PAGE);
        html_markup(h, "</section>\n");
        cw_tool_answer_free(&answer);
    }
    html_markup(h, "<section class='panel'><h2>Have I something for it?</h2>");
    cw_write_rack_question(request, h);
    html_markup(h, "</section>\n");
    return CW_OK;
}

cw_status page_tools(cw_request *request, cw_reply *reply, cw_error *err)
{
    long first;
    cw_tool_list tools;
    CW_TRY(cw_whole(request, "first", 0, 1000000, 0, &first, err));
    CW_TRY(write_question(request, reply, err));
    CW_TRY(cw_tool_page(request->bench, NULL, NULL, 0, first, TOOLS_A_PAGE, &tools, err));
    cw_html *h = &reply->html;
    html_markup(h, "<section class='panel'><h2>All of them</h2>");
    if (tools.count > 0)
        html_markup(h, "<ul class='lines'>");
    else
        html_markup(h, "<p class='soft'>Nothing hangs here yet.</p>");
    for (size_t i = 0; i < tools.count; i++)
        write_tool_line(h, &tools.items[i]);
    if (tools.count > 0)
        html_markup(h, "</ul>");
    html_markup(h, "<div class='actions'>");
    cw_link(h, "button", "Hang one up", "/tools/new");
    html_markup(h, "</div></section>\n");
    cw_pager(h, first, TOOLS_A_PAGE, tools.total, "/tools");
    cw_page_end(reply);
    cw_tool_list_free(&tools);
    return CW_OK;
}

cw_status page_tool_new(cw_request *request, cw_reply *reply, cw_error *err)
{
    (void)err;
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_SHEETS, "A tool for the rack");
    html_markup(h, "<p class='trail'><a href='/tools'>The rack</a></p><h1>A tool for the rack</h1>\n"
                   "<section class='panel'>");
    cw_form_begin(request, h, false, "/tools");
    write_fields(request, h,
                 &(cw_tool){.name = "", .kind = "", .made = true, .sizes_json = "", .place = "", .notes = ""});
    cw_submit(h, "Hang it up");
    cw_form_end(h);
    html_markup(h, "</section>\n");
    cw_page_end(reply);
    return CW_OK;
}

static json_t *tool_json(const cw_tool *tool)
{
    json_t *sizes = tool->sizes_json[0] == '\0' ? NULL : json_loads(tool->sizes_json, 0, NULL);
    return json_pack("{s:I,s:s,s:s,s:b,s:o,s:s,s:s}", "id", (json_int_t)tool->id, "name", tool->name, "kind",
                     tool->kind, "made", (int)tool->made, "sizes_mm", sizes != NULL ? sizes : json_object(), "place",
                     tool->place, "notes", tool->notes);
}

cw_status twin_tool(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_tool tool;
    CW_TRY(cw_tool_get(request->bench, request->match.ids[0], &tool, err));
    reply->json = tool_json(&tool);
    cw_tool_free(&tool);
    if (reply->json == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the tool");
    json_object_set_new(reply->json, "format", json_string("camerawright.tool/1"));
    return CW_OK;
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
    cw_rack_need need;
    bool asked;
    CW_TRY(cw_rack_need_read(request, &need, &asked, err));
    if (asked) {
        cw_tool_answer answer;
        CW_TRY(cw_tool_find(request->bench, &need, &answer, err));
        json_object_set_new(reply->json, "find", cw_rack_answer_json(&answer));
        cw_tool_answer_free(&answer);
    }
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
    normal_name(name);
    json_object_set_new(sizes, name, json_real(1e3 * length_m));
    return CW_OK;
}

static cw_status take_known_size(const cw_request *request, size_t i, json_t *sizes, cw_error *err)
{
    const char *typed = cw_posted(request, known_sizes[i].field);
    double length_m;
    if (typed[0] == '\0')
        return CW_OK;
    cw_status status = cw_parse_measure(typed, CW_LENGTH, "mm", &length_m, err);
    if (status == CW_OK && length_m < 0)
        status = cw_fail(err, CW_INPUT, "%.6g mm is less than nothing", 1e3 * length_m);
    if (status == CW_OK)
        json_object_set_new(sizes, known_sizes[i].name, json_real(1e3 * length_m));
    else
        cw_context(err, "%s", known_sizes[i].label);
    return status;
}

/* The caller frees *text. */
static cw_status sizes_of(const cw_request *request, char **text, cw_error *err)
{
    const char *typed = cw_posted(request, "sizes");
    json_t *sizes = json_object();
    cw_status status = CW_OK;
    for (size_t i = 0; i < CW_COUNT(known_sizes) && status == CW_OK; i++)
        status = take_known_size(request, i, sizes, err);
    while (*typed != '\0' && status == CW_OK) {
        size_t length = strcspn(typed, "\n");
        status = take_size(sizes, typed, length, err);
        typed += length + (typed[length] == '\n');
    }
    *text = status == CW_OK && json_object_size(sizes) > 0 ? cw_json_written(sizes, CW_JSON_GIVEN_LINE) : NULL;
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
    CW_TRY(sizes_of(request, sizes, err));
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

/* The sheet that made it, filled in again; its files as they are worked out from the same inputs. */
static void write_again(cw_html *h, const cw_tool *tool)
{
    const cw_worksheet *sheet = cw_worksheet_find(tool->kind);
    json_t *inputs = sheet != NULL && tool->inputs_json[0] != '\0' ? json_loads(tool->inputs_json, 0, NULL) : NULL;
    if (inputs == NULL)
        return;
    html_markup(h, "<div class='actions'>");
    cw_write_inputs_link(h, sheet, "", inputs, "Make it again with other sizes");
    for (size_t i = 0; i < sheet->output_count; i++) {
        char file[80];
        bool drawn = sheet->outputs[i].kind == CW_KIND_DRAWING;
        if (!drawn && sheet->outputs[i].kind != CW_KIND_MESH)
            continue;
        snprintf(file, sizeof file, "%s%s", sheet->outputs[i].key, drawn ? ".pdf" : ".stl");
        cw_write_inputs_link(h, sheet, file, inputs, drawn ? "PDF, true size" : "STL");
    }
    html_markup(h, "</div>\n");
    json_decref(inputs);
}

cw_status page_tool(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_tool tool;
    char revision[32];
    CW_TRY(cw_tool_get(request->bench, request->match.ids[0], &tool, err));
    snprintf(revision, sizeof revision, "%" PRId64, tool.revision);
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_SHEETS, tool.name);
    html_markup(h, "<p class='trail'><a href='/tools'>The rack</a></p><h1>");
    html_text(h, tool.name);
    html_markup(h, "</h1>\n<p class='lead'>");
    write_sizes(h, tool.sizes_json);
    html_markup(h, "</p>\n");
    if (tool.made_for_job_id > 0) {
        html_markup(h, "<p>");
        cw_link(h, "", "The job it was made for", "/jobs/%" PRId64, tool.made_for_job_id);
        html_markup(h, "</p>\n");
    }
    write_again(h, &tool);
    if (tool.drawing_svg[0] != '\0') {
        html_markup(h, "<figure class='drawing'><img alt='its drawing'");
        html_attrf(h, "src", "/tools/%" PRId64 "/drawing.svg", tool.id);
        html_markup(h, "></figure>\n");
    }
    html_markup(h, "<section class='panel'><h2>Change it</h2>");
    cw_form_begin(request, h, false, "/tools/%" PRId64 "/edit", tool.id);
    cw_field_hidden(h, "revision", cw_value(request, "revision", revision));
    write_fields(request, h, &tool);
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
