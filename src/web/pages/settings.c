/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How pages are written for whoever reads them, on this device. */
#include <string.h>

#include "base/languages.h"
#include "web/page.h"
#include "web/pages/pages.h"

enum { LANGUAGES_MOST = 16 };

static void write_language(const cw_request *request, cw_html *h)
{
    cw_option_item items[LANGUAGES_MOST] = {{"en", "English"}};
    size_t count = 1;
    for (size_t i = 0; cw_language_name(i) != NULL && count < LANGUAGES_MOST; i++)
        items[count++] = (cw_option_item){cw_language_name(i), cw_language_label(i)};
    cw_field_choice(request, h, "language", "Language", request->manner.words != NULL ? request->reader.language : "en",
                    items, count, "what is not translated yet shows in English, a sentence at a time");
}

static void write_choices(const cw_request *request, cw_html *h)
{
    static const cw_option_item decimals[] = {
        {"auto", "As the browser's language"}, {"point", "Point: 12.35"}, {"comma", "Comma: 12,35"}};
    static const cw_option_item lengths[] = {{"auto", "Millimetres"}, {"in", "Inches"}};
    static const cw_option_item dates[] = {{"auto", "2026-11-25"}, {"day", "25.11.2026"}, {"month", "11/25/2026"}};
    cw_field_choice(request, h, "decimal", "Decimal sign", request->reader.decimal, decimals, CW_COUNT(decimals),
                    "both are understood wherever a number is typed");
    cw_field_choice(request, h, "length", "Lengths", request->reader.length, lengths, CW_COUNT(lengths),
                    "as results show them; whatever is typed may carry its own unit, 0.92in or 23.4mm");
    cw_field_choice(request, h, "dates", "Dates", request->reader.dates, dates, CW_COUNT(dates), NULL);
}

cw_status page_settings(cw_request *request, cw_reply *reply, cw_error *err)
{
    (void)err;
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_NONE, "Language, units, dates");
    html_markup(h,
                "<h1>Language, units, dates</h1>\n<p class='lead'>For this device only: the laptop and the phone may "
                "differ. The report and other papers follow it; JSON and files keep English, SI units, decimal points "
                "and plain dates.</p>\n");
    cw_form_begin(request, h, false, "/settings");
    write_language(request, h);
    write_choices(request, h);
    cw_submit(h, "Keep");
    cw_form_end(h);
    html_markup(h, "<p class='soft'><a href='/door'>What was refused, and the paired devices</a></p>\n");
    cw_page_end(reply);
    return CW_OK;
}

cw_status twin_settings(cw_request *request, cw_reply *reply, cw_error *err)
{
    const cw_reader *reader = &request->reader;
    const cw_manner *manner = &request->manner;
    reply->json =
        json_pack("{s:s,s:{s:s,s:s,s:s,s:s},s:{s:s,s:s,s:s}}", "format", "camerawright.settings-page/1", "chosen",
                  "language", reader->language, "decimal", reader->decimal, "length", reader->length, "dates",
                  reader->dates, "written", "language", manner->words != NULL ? reader->language : "en", "decimal",
                  manner->comma ? "," : ".", "length", manner->inches ? "in" : "mm");
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the settings");
}

cw_status post_settings(cw_request *request, cw_reply *reply, cw_error *err)
{
    static const char *const fields[] = {"language", "decimal", "length", "dates"};
    for (size_t i = 0; i < CW_COUNT(fields); i++)
        if (!cw_reader_set(&request->reader, fields[i], cw_posted(request, fields[i])))
            return cw_fail(err, CW_INPUT, "\"%.40s\" cannot be chosen as %s", cw_posted(request, fields[i]), fields[i]);
    reply->set_reader = true;
    cw_go(request, reply, "Kept on this device.", "/settings");
    return CW_OK;
}
