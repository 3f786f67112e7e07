/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The keyboard shortcuts (assets/keys.js), each with the link that does the same. */
#include "web/page.h"
#include "web/pages/pages.h"

static const struct {
    const char *key, *does;
} keys[] = {
    {"?", "this page"},
    {"/", "search all notes: into the search field, or to the search page"},
    {"b", "the bench"},
    {"m", "measure a shutter"},
    {"w", "the worksheets"},
    {"n", "to the main button of the page; Enter presses it"},
    {"j", "in a job's pages: the job itself"},
    {"p", "in a job's pages: its proving sheet"},
    {"r", "in a job's pages: its report"},
    {"u", "in a job's pages: history and undo"},
    {"Escape", "out of the field that is being typed in, so that the other keys work"},
    {"Tab", "first of all \"Skip to the page\", then link by link and field by field"},
};

cw_status page_keys(cw_request *request, cw_reply *reply, cw_error *err)
{
    (void)err;
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_NONE, "Keyboard");
    html_markup(h,
                "<h1>Keyboard</h1>\n<p class='lead'>Every page works with the keyboard alone. These keys are shorter "
                "ways; nothing happens while you type into a field.</p>\n<dl class='facts keys'>");
    for (size_t i = 0; i < CW_COUNT(keys); i++) {
        html_markup(h, "<div><dt><kbd>");
        html_text(h, keys[i].key);
        html_markup(h, "</kbd></dt><dd>");
        html_text(h, keys[i].does);
        html_markup(h, "</dd></div>");
    }
    html_markup(h,
                "</dl>\n<div hidden><label class='tick'><input type='checkbox' id='keys-on'><span>Shortcuts are on in "
                "this browser (the question mark always is)</span></label></div>\n<div class='actions'>");
    cw_link(h, "main", "To the bench", "/");
    html_markup(h, "</div>\n");
    cw_page_end(reply);
    return CW_OK;
}

cw_status twin_keys(cw_request *request, cw_reply *reply, cw_error *err)
{
    (void)request;
    json_t *list = json_array();
    for (size_t i = 0; i < CW_COUNT(keys); i++)
        json_array_append_new(list, json_pack("{s:s,s:s}", "key", keys[i].key, "does", keys[i].does));
    reply->json = json_pack("{s:s,s:o}", "format", "camerawright.keys/1", "keys", list);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the list of keys");
}
