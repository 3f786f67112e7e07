/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Search over all notes: words as they come, best first, the photo beside it. */
#include "notebook/search.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "web/page.h"
#include "web/pages/pages.h"

enum { HITS_A_PAGE = 30 };

static cw_status find(cw_request *request, const char *words, long *first, cw_hit_list *hits, cw_error *err)
{
    CW_TRY(cw_whole(request, "first", 0, 1000000, 0, first, err));
    return cw_search(request->bench, words, 0, NULL, *first, HITS_A_PAGE, hits, err);
}

/* The words found stand between two control characters; everything else is escaped as any text. */
static void write_snippet(cw_html *h, const char *snippet)
{
    bool open = false;
    while (*snippet != '\0') {
        const char marks[] = {CW_HIT_ON, CW_HIT_OFF, '\0'};
        size_t length = strcspn(snippet, marks);
        html_textf(h, "%.*s", (int)length, snippet);
        snippet += length;
        if (*snippet == '\0')
            break;
        if (*snippet == CW_HIT_ON && !open) {
            html_markup(h, "<mark>");
            open = true;
        } else if (*snippet == CW_HIT_OFF && open) {
            html_markup(h, "</mark>");
            open = false;
        }
        snippet++;
    }
    if (open)
        html_markup(h, "</mark>");
}

static void write_address(cw_html *h, const cw_hit *hit)
{
    static const char *const folders[CW_HIT_COUNT] = {"jobs", "steps", "parts", "photos", "tests", "tools"};
    html_attrf(h, "href", "/%s/%" PRId64, folders[hit->kind], hit->id);
}

static void write_hit(cw_html *h, const cw_hit *hit)
{
    html_markup(h, "<li><a class='card job'");
    write_address(h, hit);
    html_markup(h, ">");
    if (hit->photo_id > 0) {
        html_markup(h, "<img class='shot' loading='lazy' width='80' height='80' alt=''");
        html_attrf(h, "src", "/photos/%" PRId64 "/small", hit->photo_id);
        html_markup(h, ">");
    } else {
        html_markup(h, "<span class='shot'></span>");
    }
    html_markup(h, "<strong>");
    html_text(h, hit->title);
    html_markup(h, "</strong><span class='soft'>");
    html_textf(h, "%s%s%s", cw_hit_kind_name(hit->kind), hit->camera[0] != '\0' ? ", " : "", hit->camera);
    html_markup(h, "</span><span>");
    write_snippet(h, hit->snippet);
    html_markup(h, "</span></a></li>\n");
}

static void write_address_of_pages(const char *words, char *out, size_t size)
{
    cw_html h = cw_html_new();
    html_markup(&h, "/search?q=");
    html_url_part(&h, words);
    snprintf(out, size, "%s", cw_buf_string(&h.buf));
    cw_html_free(&h);
}

static void write_hits(cw_html *h, const char *words, long first, const cw_hit_list *hits)
{
    html_markup(h, "<section id='hits' aria-live='polite'>");
    if (hits->told[0] != '\0') {
        html_markup(h, "<p class='notice'>");
        html_sentence(h, hits->told);
        html_markup(h, "</p>");
    }
    if (hits->count == 0) {
        html_markup(h,
                    "<p class='lead'>Nothing of that is noted. Fewer or other words find more; the beginning of a word "
                    "is enough.</p>");
    } else {
        html_markup(h, "<p class='soft'>");
        html_textf(h, "%" PRId64 " found", hits->total);
        html_markup(h, "</p>");
    }
    html_markup(h, "<ul class='cards'>");
    for (size_t i = 0; i < hits->count; i++)
        write_hit(h, &hits->items[i]);
    html_markup(h, "</ul>\n");
    char address[4 * CW_LINE_MOST];
    write_address_of_pages(words, address, sizeof address);
    cw_pager(h, first, HITS_A_PAGE, hits->total, address);
    html_markup(h, "</section>\n");
}

cw_status page_search(cw_request *request, cw_reply *reply, cw_error *err)
{
    (void)err;
    const char *words = cw_value(request, "q", "");
    bool asked = words[strspn(words, " \t\r\n")] != '\0';
    long first = 0;
    cw_hit_list hits = {0};
    cw_error refused = {0};
    if (asked && find(request, words, &first, &hits, &refused) != CW_OK) {
        request->problem = refused;
        reply->code = cw_http_status(&refused);
    }
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_SEARCH, "Search");
    html_markup(h, "<h1>Search all notes</h1>\n<form method='get' action='/search' role='search' class='find'>"
                   "<label class='field'><span class='soft'>Words, part names, symptoms, a kind of camera</span>"
                   "<input type='search' name='q' maxlength='200'");
    html_attr(h, "value", words);
    html_flag(h, "autofocus", !asked);
    html_markup(h, " hx-get='/search' hx-trigger='input changed delay:250ms' hx-target='#hits' hx-select='#hits' "
                   "hx-swap='outerHTML'></label><button class='main'>Search</button></form>\n");
    if (asked && refused.status == CW_OK)
        write_hits(h, words, first, &hits);
    else
        html_markup(h, "<section id='hits' aria-live='polite'></section>\n");
    cw_page_end(reply);
    cw_hit_list_free(&hits);
    return CW_OK;
}

/* The snippet without the marks around the words found. */
static json_t *plain_snippet(const char *snippet)
{
    cw_buf buf = cw_buf_new(CW_NOTE_MOST);
    for (const char *c = snippet; *c != '\0'; c++)
        if (*c != CW_HIT_ON && *c != CW_HIT_OFF)
            cw_buf_char(&buf, *c);
    json_t *text = json_string(cw_buf_string(&buf));
    cw_buf_free(&buf);
    return text;
}

cw_status twin_search(cw_request *request, cw_reply *reply, cw_error *err)
{
    long first;
    cw_hit_list hits;
    CW_TRY(find(request, cw_value(request, "q", ""), &first, &hits, err));
    json_t *list = json_array();
    for (size_t i = 0; i < hits.count; i++) {
        const cw_hit *hit = &hits.items[i];
        json_array_append_new(list,
                              json_pack("{s:s,s:I,s:I,s:I,s:I,s:s,s:s,s:o}", "kind", cw_hit_kind_name(hit->kind), "id",
                                        (json_int_t)hit->id, "job_id", (json_int_t)hit->job_id, "step_id",
                                        (json_int_t)hit->step_id, "photo_id", (json_int_t)hit->photo_id, "camera",
                                        hit->camera, "title", hit->title, "snippet", plain_snippet(hit->snippet)));
    }
    reply->json = json_pack("{s:s,s:I,s:I,s:s,s:o}", "format", "camerawright.search/1", "first", (json_int_t)first,
                            "total", (json_int_t)hits.total, "told", hits.told, "hits", list);
    cw_hit_list_free(&hits);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for what was found");
}
