/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reference light levels: the lamps and targets of this bench that a meter is compared with. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "notebook/level_text.h"
#include "web/page.h"
#include "web/pages/levels_parts.h"
#include "web/pages/pages.h"

/* The units a meter check takes, as it names them. */
static const struct {
    const char *unit, *reference;
} units[] = {{"EV", "meter"}, {"cd/m2", "luminance"}, {"lx", "illuminance"}};

static const cw_option_item unit_choices[] = {
    {"EV", "EV at ISO 100"}, {"cd/m2", "cd/m2 (luminance)"}, {"lx", "lx (illuminance)"}};

static void write_level(cw_request *request, cw_html *h, const cw_level *level)
{
    char label[CW_LINE_MOST + 16];
    html_markup(h, "<tr><th scope='row'>");
    html_text(h, level->name);
    html_markup(h, "</th><td class='n'>");
    html_number(h, level->value, 4);
    if (isfinite(level->u_value))
        html_textf(h, " \xc2\xb1 %.3g", 2 * level->u_value);
    html_markup(h, " ");
    html_text(h, level->unit);
    html_markup(h, "</td><td>");
    html_textf(h, "%s, %s", level->measured_on, level->source[0] != '\0' ? level->source : "no source noted");
    html_markup(h, "</td><td>");
    snprintf(label, sizeof label, "Remove %s", level->name);
    cw_button_form(request, h, true, label, "/levels/%" PRId64 "/delete", level->id);
    html_markup(h, "</td></tr>\n");
}

static void write_table(cw_request *request, cw_html *h, const cw_level_list *levels)
{
    html_markup(h, "<div class='scroll' tabindex='0' role='region' aria-label='Reference levels'><table><thead><tr>"
                   "<th scope='col'>Lamp or target</th><th scope='col' class='n'>Level (k = 2)</th>"
                   "<th scope='col'>Measured</th><th scope='col'>Remove</th></tr></thead><tbody>");
    for (size_t i = 0; i < levels->count; i++)
        write_level(request, h, &levels->items[i]);
    html_markup(h, "</tbody></table></div>\n<div class='actions'>");
    for (size_t u = 0; u < CW_COUNT(units); u++) {
        size_t count = 0;
        char label[80];
        for (size_t i = 0; i < levels->count; i++)
            count += strcmp(levels->items[i].unit, units[u].unit) == 0;
        if (count == 0)
            continue;
        snprintf(label, sizeof label, "Check a meter with these %zu, %s", count, units[u].unit);
        cw_link(h, "button", label, "/worksheets/meter-check?_levels=%s", units[u].reference);
    }
    html_markup(h, "</div>\n");
}

static void write_form(cw_request *request, cw_html *h)
{
    html_markup(h, "<section class='panel'><h2>Note one</h2>");
    cw_form_begin(request, h, false, "/levels");
    cw_field_input(request, h,
                   &(cw_input){.name = "name",
                               .label = "Lamp or target, and its setting",
                               .required = true,
                               .value = "",
                               .example = "light box, first notch, at 50 cm"});
    html_markup(h, "<div class='pair'>");
    cw_field_input(request, h,
                   &(cw_input){.name = "value", .label = "Level", .required = true, .value = "", .mode = "decimal"});
    cw_field_input(request, h,
                   &(cw_input){.name = "u",
                               .label = "Give or take",
                               .value = "",
                               .mode = "decimal",
                               .help = "standard uncertainty, in the same unit; empty: not known"});
    html_markup(h, "</div>");
    cw_field_choice(request, h, "unit", "Unit", "EV", unit_choices, CW_COUNT(unit_choices), NULL);
    cw_field_input(request, h,
                   &(cw_input){.name = "source",
                               .label = "What it was compared with, and how",
                               .value = "",
                               .example = "digital camera, grey card filling the frame"});
    cw_field_input(request, h,
                   &(cw_input){.name = "on",
                               .label = "Measured on",
                               .type = "date",
                               .value = "",
                               .narrow = true,
                               .help = "today, if left empty; lamps age"});
    cw_submit(h, "Keep this level");
    cw_form_end(h);
    html_markup(h, "</section>\n");
}

cw_status page_levels(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_level_list levels;
    CW_TRY(cw_level_page(request->bench, &levels, err));
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_SHEETS, "Reference levels");
    html_markup(h,
                "<p class='trail'><a href='/worksheets'>Worksheets</a></p><h1>Reference light levels</h1>\n"
                "<p class='lead'>Your own lamps and targets whose light you know. Three or four, from dim to bright, "
                "and a meter is checked in two minutes.</p>\n");
    if (levels.count > 0) {
        write_table(request, h, &levels);
    } else {
        html_markup(h, "<p>None yet. No meter to compare with? ");
        cw_link(h, "", "A household lamp at a measured distance", "/worksheets/reference-light");
        html_markup(h, " gives a first one, with how well it is known.</p>\n");
    }
    write_form(request, h);
    cw_page_end(reply);
    cw_level_list_free(&levels);
    return CW_OK;
}

cw_status twin_levels(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_level_list levels;
    CW_TRY(cw_level_page(request->bench, &levels, err));
    reply->json = cw_level_list_json(&levels);
    cw_level_list_free(&levels);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the levels");
}

cw_status post_level(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_level level = {.name = cw_posted(request, "name"),
                      .source = cw_posted(request, "source"),
                      .measured_on = cw_posted(request, "on")};
    int64_t id;
    CW_TRY(cw_level_figures(cw_posted(request, "value"), cw_posted(request, "u"), cw_posted(request, "unit"), &level,
                            err));
    CW_TRY(cw_level_add(request->bench, &level, &id, err));
    cw_go(request, reply, "Kept. The meter check offers it.", "/levels");
    return CW_OK;
}

cw_status post_level_delete(cw_request *request, cw_reply *reply, cw_error *err)
{
    CW_TRY(cw_level_delete(request->bench, request->match.ids[0], err));
    cw_go(request, reply, "Removed.", "/levels");
    return CW_OK;
}

/* ---- in the meter check ---- */

void cw_write_levels_offer(cw_request *request, cw_html *h)
{
    cw_level_list levels;
    cw_error ignored; /* without them the sheet is filled by hand */
    bool before = strcmp(cw_value(request, "_when", ""), "before") == 0,
         after = strcmp(cw_value(request, "_when", ""), "after") == 0;
    if (cw_level_page(request->bench, &levels, &ignored) != CW_OK)
        return;
    html_markup(h, "<section class='panel'><h2>Your reference levels</h2>");
    if (levels.count == 0)
        html_markup(h, "<p class='soft'>None is noted yet. A lamp whose light you know once, kept under Reference "
                       "levels, fills this sheet every time.</p>");
    html_markup(h, "<div class='actions'>");
    for (size_t u = 0; u < CW_COUNT(units); u++) {
        size_t count = 0;
        char label[80];
        for (size_t i = 0; i < levels.count; i++)
            count += strcmp(levels.items[i].unit, units[u].unit) == 0;
        if (count == 0)
            continue;
        snprintf(label, sizeof label, "Take my %zu levels in %s", count, units[u].unit);
        cw_link(h, "button", label, "/worksheets/meter-check?_levels=%s&_job=%" PRId64 "&_when=%s", units[u].reference,
                cw_row_id(request, "_job"),
                after    ? "after"
                : before ? "before"
                         : "");
    }
    cw_link(h, "button", "Reference levels", "/levels");
    html_markup(h, "</div></section>\n");
    cw_level_list_free(&levels);
}

static cw_status add(cw_form *form, const char *name, const char *value, cw_error *err)
{
    return cw_form_add(form, name, strlen(name), value, strlen(value), err);
}

/* Dim to bright; the least certain of them says how far the reference can be off. */
cw_status cw_levels_form(cw_bench *bench, const char *reference, cw_form *form, cw_error *err)
{
    cw_level_list levels;
    const char *unit = NULL;
    for (size_t u = 0; u < CW_COUNT(units); u++)
        if (strcmp(units[u].reference, reference) == 0)
            unit = units[u].unit;
    if (unit == NULL)
        return CW_OK;
    CW_TRY(cw_level_page(bench, &levels, err));
    cw_status status = add(form, "reference", reference, err);
    double last = 0, u_ev = 0;
    char text[64], name[48];
    for (size_t row = 0; status == CW_OK; row++) {
        const cw_level *next = NULL;
        for (size_t i = 0; i < levels.count; i++)
            if (strcmp(levels.items[i].unit, unit) == 0 && levels.items[i].value > last &&
                (next == NULL || levels.items[i].value < next->value))
                next = &levels.items[i];
        if (next == NULL)
            break;
        last = next->value;
        if (isfinite(next->u_value))
            u_ev = fmax(u_ev, strcmp(unit, "EV") == 0 ? next->u_value : next->u_value / next->value / log(2));
        snprintf(name, sizeof name, "levels.%zu.reference", row);
        snprintf(text, sizeof text, "%.6g", next->value);
        status = add(form, name, text, err);
    }
    if (status == CW_OK && u_ev >= 0.001) {
        snprintf(text, sizeof text, "%.3g EV", fmin(u_ev, 3));
        status = add(form, "reference-u", text, err);
    }
    cw_level_list_free(&levels);
    return status;
}
