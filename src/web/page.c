/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/page.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/manner.h"
#include "web/assets.h"
#include "web/house.h"
#include "worksheets/cautions.h"

static const struct {
    cw_place place;
    const char *address, *label, *icon; /* the icon is a path on a 24 x 24 grid */
} places[] = {
    {CW_PLACE_BENCH, "/", "Bench", "M3 9h18v3H3zM5 12v8M19 12v8M8 9V5h5v4"},
    {CW_PLACE_SEARCH, "/search", "Search", "M10 4a6 6 0 1 0 0 12a6 6 0 1 0 0-12M15 15l6 6"},
    {CW_PLACE_MEASURE, "/measure", "Measure", "M12 5a8 8 0 1 0 0 16a8 8 0 1 0 0-16M12 13l4-4M10 2h4"},
    {CW_PLACE_SHEETS, "/worksheets", "Sheets", "M5 3h14v18H5zM8 7h8M8 11h3M13 11h3M8 15h3M13 15h3"},
    {CW_PLACE_DOOR, "/door", "Phone", "M7 2h10v20H7zM11 18h2"},
};

static void write_assets(cw_html *h)
{
    static const char *const scripts[] = {"htmx.min.js", "htmx-ext-sse.min.js", "keys.js"};
    html_markup(h, "<link rel='stylesheet'");
    html_attrf(h, "href", "/assets/%s/style.css", cw_assets_version());
    html_markup(h, "><link rel='icon' type='image/svg+xml'");
    html_attrf(h, "href", "/assets/%s/icon.svg", cw_assets_version());
    html_markup(h, ">");
    for (size_t i = 0; i < CW_COUNT(scripts); i++) {
        html_markup(h, "<script defer");
        html_attrf(h, "src", "/assets/%s/%s", cw_assets_version(), scripts[i]);
        html_markup(h, "></script>");
    }
}

static void write_head(cw_html *h, const char *language, const char *title)
{
    html_markup(h, "<!doctype html>\n<html");
    html_attr(h, "lang", strcmp(language, "marks") == 0 ? "en" : language);
    html_markup(
        h, ">\n<head><meta charset='utf-8'>"
           "<meta name='viewport' content='width=device-width, initial-scale=1'>"
           "<meta name='color-scheme' content='light dark'>"
           "<meta name='htmx-config' content='{\"includeIndicatorStyles\":false,\"allowEval\":false,"
           "\"historyCacheSize\":0,\"scrollBehavior\":\"auto\",\"responseHandling\":[{\"code\":\"204\",\"swap\":false},"
           "{\"code\":\"...\",\"swap\":true}]}'>"
           "<title>");
    html_text(h, title);
    html_markup(h, " &middot; Camerawright</title>");
    write_assets(h);
    html_markup(h, "</head>\n");
}

static void write_navigation(cw_html *h, cw_place place)
{
    html_markup(h, "<nav class='rail' aria-label='Main'><a class='brand' href='/'>Camerawright</a><ul>");
    for (size_t i = 0; i < CW_COUNT(places); i++) {
        html_markup(h, "<li><a");
        html_attr(h, "href", places[i].address);
        if (places[i].place == place)
            html_markup(h, " aria-current='page'");
        html_markup(h, "><svg viewBox='0 0 24 24' aria-hidden='true'><path");
        html_attr(h, "d", places[i].icon);
        html_markup(h, "/></svg><span>");
        html_text(h, places[i].label);
        html_markup(h, "</span></a></li>");
    }
    html_markup(h, "</ul></nav>\n");
}

static void write_news(cw_request *request, cw_html *h)
{
    char said[CW_SAID_TEXT];
    if (request->problem.status != CW_OK) {
        html_markup(h, "<div class='notice bad' role='alert'><strong>Not done.</strong> ");
        html_sentence(h, request->problem.text);
        html_markup(h, "</div>\n");
    } else if (cw_house_said(request->house, request->pass.session, said)) {
        html_markup(h, "<div class='notice good' role='status'>");
        html_said(h, said);
        html_markup(h, "</div>\n");
    }
    if (request->bench != NULL && cw_bench_read_only(request->bench))
        html_markup(h,
                    "<div class='notice close' role='status'>This bench lies on a disk that cannot be written. It can "
                    "be read; nothing new is kept.</div>\n");
}

void cw_page_begin(cw_request *request, cw_reply *reply, cw_place place, const char *title)
{
    cw_html *h = &reply->html;
    cw_manner_use(&request->manner); /* until the dispatcher has the page */
    write_head(h, request->manner.words != NULL ? request->reader.language : "en", title);
    html_markup(h, "<body><a class='skip' href='#main'>Skip to the page</a>\n");
    write_navigation(h, place);
    html_markup(h, "<main id='main'>\n");
    write_news(request, h);
}

void cw_page_end(cw_reply *reply)
{
    html_markup(&reply->html, "</main>\n<footer><a href='/settings'>Language, units, dates</a>"
                              "<a class='foot' href='/keys'>Keyboard</a></footer>\n</body></html>\n");
}

static const char *error_title(const cw_error *err)
{
    switch (cw_http_status(err)) {
    case 403:
        return "Not from here";
    case 404:
        return "Not found";
    case 409:
        return "That does not fit";
    case 507:
        return "The disk said no";
    case 500:
        return "Something broke";
    default:
        return "That did not work";
    }
}

void cw_page_error(cw_request *request, cw_reply *reply, const cw_error *err)
{
    cw_html *h = &reply->html;
    request->problem = (cw_error){0};
    cw_page_begin(request, reply, CW_PLACE_NONE, error_title(err));
    html_markup(h, "<h1>");
    html_text(h, error_title(err));
    html_markup(h, "</h1>\n<div class='notice bad' role='alert'>");
    html_sentence(h, err->text);
    html_markup(h, "</div>\n");
    if (err->status == CW_REFUSED && !request->pass.laptop)
        cw_link(h, "main", "Pair this device", "/pair");
    else
        cw_link(h, "main", "Back to the bench", "/");
    cw_page_end(reply);
}

cw_status cw_page_bounce(cw_request *request, cw_reply *reply)
{
    cw_html *h = &reply->html;
    html_markup(h, "<!doctype html>\n<html lang='en'><head><meta charset='utf-8'><title>Camerawright</title>"
                   "<meta http-equiv='refresh' content='0'></head><body><p><a href='");
    for (size_t i = 0; i < request->target.count; i++) {
        html_markup(h, "/");
        html_url_part(h, request->target.segments[i]);
    }
    if (request->target.count == 0)
        html_markup(h, "/");
    html_markup(h, "'>Open the bench</a></p></body></html>\n");
    return CW_OK;
}

static void write_link(cw_html *h, const char *kind, const char *label, bool said, const char *format, va_list args)
{
    char *address = NULL;
    if (vasprintf(&address, format, args) < 0) {
        h->buf.failed = true;
        return;
    }
    html_markup(h, "<a");
    if (kind[0] != '\0')
        html_attr(h, "class", kind);
    html_attr(h, "href", address);
    html_markup(h, ">");
    if (said)
        html_said(h, label);
    else
        html_text(h, label);
    html_markup(h, "</a>");
    free(address);
}

void cw_link(cw_html *h, const char *kind, const char *label, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    write_link(h, kind, label, false, format, args);
    va_end(args);
}

void cw_link_said(cw_html *h, const char *kind, const char *label, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    write_link(h, kind, label, true, format, args);
    va_end(args);
}

void cw_cautions(cw_html *h, const char *const *tags)
{
    for (; tags != NULL && *tags != NULL; tags++) {
        html_markup(h, "<p class='caution'><strong>Caution.</strong> ");
        html_text(h, cw_caution(*tags));
        html_markup(h, "</p>\n");
    }
}

static void pager_link(cw_html *h, const char *label, const char *address, int64_t first)
{
    cw_link(h, "button", label, "%s%sfirst=%" PRId64, address, strchr(address, '?') == NULL ? "?" : "&", first);
}

void cw_pager(cw_html *h, int64_t first, int64_t most, int64_t total, const char *address)
{
    if (total <= most)
        return;
    html_markup(h, "<nav class='pager' aria-label='Pages'>");
    if (first > 0)
        pager_link(h, "Before", address, first > most ? first - most : 0);
    html_markup(h, "<span>");
    html_textf(h, "Page %" PRId64 " of %" PRId64, first / most + 1, (total + most - 1) / most);
    html_markup(h, "</span>");
    if (first + most < total)
        pager_link(h, "Next", address, first + most);
    html_markup(h, "</nav>\n");
}
