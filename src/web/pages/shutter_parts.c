/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/pages/shutter_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "draw/plot_shutter.h"
#include "shutter/marks.h"
#include "web/page.h"

static const struct {
    const char *kind, *words;
} verdicts[] = {
    [CW_SPEED_INSIDE] = {"verdict good", "inside"},
    [CW_SPEED_OUTSIDE] = {"verdict bad", "outside"},
    [CW_SPEED_TOO_CLOSE] = {"verdict close", "too close to call"},
    [CW_SPEED_UNKNOWN] = {"verdict", "not known"},
};

void cw_write_verdict(cw_html *h, cw_speed_verdict verdict)
{
    html_markup(h, "<span");
    html_attr(h, "class", verdicts[verdict].kind);
    html_markup(h, ">");
    html_text(h, verdicts[verdict].words);
    html_markup(h, "</span>");
}

void cw_write_summary(cw_html *h, const cw_shutter_test *test)
{
    size_t counts[4] = {0};
    for (size_t i = 0; i < test->speed_count; i++)
        counts[test->speeds[i].verdict]++;
    html_markup(h, "<p class='summary'>");
    html_textf(h, "%zu of %zu %s inside the tolerance", counts[CW_SPEED_INSIDE], test->speed_count,
               test->speed_count == 1 ? "speed is" : "speeds are");
    if (counts[CW_SPEED_OUTSIDE] > 0)
        html_textf(h, ", %zu outside", counts[CW_SPEED_OUTSIDE]);
    if (counts[CW_SPEED_TOO_CLOSE] > 0)
        html_textf(h, ", %zu too close to call", counts[CW_SPEED_TOO_CLOSE]);
    if (counts[CW_SPEED_UNKNOWN] > 0)
        html_textf(h, ", %zu not known", counts[CW_SPEED_UNKNOWN]);
    html_markup(h, ".</p>\n");
}

static void keep_trouble(cw_html *h, const cw_error *err)
{
    if (h->trouble.status == CW_OK)
        h->trouble = *err;
}

/* The picture at one width; the style sheet shows the one that fits, so that a phone shows all speeds at once. */
static void write_plot_at(cw_html *h, const cw_shutter_test *before, const cw_shutter_test *after, const char *width,
                          double width_px)
{
    cw_buf svg = cw_buf_new(CW_HTML_MOST);
    cw_error err = {0};
    if (cw_plot_speed_errors(before, after, width_px, &svg, &err) != CW_OK)
        keep_trouble(h, &err);
    html_markup(h, "<div");
    html_attr(h, "class", width);
    html_markup(h, ">");
    html_svg(h, &svg);
    html_markup(h, "</div>");
}

void cw_write_speed_plot(cw_html *h, const cw_shutter_test *before, const cw_shutter_test *after)
{
    enum { PHONE_PX = 330 };
    html_markup(h, "<figure class='plot'>");
    write_plot_at(h, before, after, "wide", 0);
    write_plot_at(h, before, after, "narrow", PHONE_PX);
    html_markup(h,
                "<figcaption>Exposure error by marked speed: above the middle line is too long, more light. The shaded "
                "band is the tolerance, the bars are the uncertainty (k = 2).</figcaption></figure>\n");
}

static void write_mark(cw_html *h, double marked_s)
{
    char text[CW_MARK_TEXT];
    cw_mark_text(marked_s, text, sizeof text);
    html_text(h, text);
}

void cw_write_error_ev(cw_html *h, cw_quantity error_ev, const char *unit)
{
    char text[CW_QUANTITY_TEXT];
    cw_error_ev_text(error_ev, text, sizeof text);
    char *spread = strstr(text, " \u00B1");
    if (spread != NULL)
        *spread = '\0';
    html_text(h, text);
    if (spread != NULL) {
        html_markup(h, " <span class='spread'>");
        html_text(h, spread + 1);
        html_text(h, unit);
        html_markup(h, "</span>");
    } else {
        html_text(h, unit);
    }
}

static void write_number_cell(cw_html *h, const char *sign, double value)
{
    html_markup(h, "<td class='n'>");
    if (isfinite(value))
        html_textf(h, "%s%.2f", sign, value);
    else
        html_text(h, "\u2013");
    html_markup(h, "</td>");
}

static void write_speed(cw_html *h, const cw_speed *speed, bool full)
{
    html_markup(h, "<tr><th scope='row'>");
    write_mark(h, speed->marked_s);
    html_markup(h, "</th><td>");
    cw_write_verdict(h, speed->verdict);
    html_markup(h, "</td><td class='time'>");
    html_shutter_time(h, speed->exposure_s.value);
    html_markup(h, "</td><td class='error'>");
    cw_write_error_ev(h, speed->error_ev, "");
    html_markup(h, "</td>");
    if (full) {
        write_number_cell(h, "\u00B1", speed->limit_ev);
        write_number_cell(h, "", speed->spread_ev);
        write_number_cell(h, "", speed->evenness_ev);
        html_markup(h, "<td class='n'>");
        html_textf(h, "%zu", speed->shots);
        html_markup(h, "</td>");
    }
    html_markup(h, "</tr>\n");
}

/* The verdict stands beside the mark: on a phone it is what must be seen without pushing the table aside. */
void cw_write_speed_table(cw_html *h, const cw_shutter_test *test, bool full)
{
    html_markup(h, "<div class='scroll' tabindex='0' role='region' aria-label='Speeds'><table><caption>Speeds</caption>"
                   "<thead><tr><th scope='col'>Marked</th><th scope='col'>Verdict</th><th scope='col'>Measured</th>"
                   "<th scope='col' class='error'>Error, EV</th>");
    if (full)
        html_markup(h, "<th scope='col' class='n'>Limit, EV</th><th scope='col' class='n'>Spread, EV</th>"
                       "<th scope='col' class='n'>Unevenness, EV</th><th scope='col' class='n'>Shots</th>");
    html_markup(h, "</tr></thead><tbody>");
    for (size_t i = 0; i < test->speed_count; i++)
        write_speed(h, &test->speeds[i], full);
    html_markup(h, "</tbody></table></div>\n");
}

static const cw_speed *speed_marked(const cw_shutter_test *test, double marked_s)
{
    for (size_t i = 0; test != NULL && i < test->speed_count; i++)
        if (fabs(test->speeds[i].marked_s - marked_s) <= 1e-9 * marked_s)
            return &test->speeds[i];
    return NULL;
}

static void write_half(cw_html *h, const cw_speed *speed)
{
    if (speed == NULL) {
        html_markup(h, "<td></td>");
        return;
    }
    html_markup(h, "<td>");
    html_shutter_time(h, speed->exposure_s.value);
    html_markup(h, "<br>");
    cw_write_error_ev(h, speed->error_ev, " EV");
    html_markup(h, "<br>");
    cw_write_verdict(h, speed->verdict);
    html_markup(h, "</td>");
}

static void write_pair(cw_html *h, double marked_s, const cw_speed *before, const cw_speed *after)
{
    html_markup(h, "<tr><th scope='row'>");
    write_mark(h, marked_s);
    html_markup(h, "</th>");
    write_half(h, before);
    write_half(h, after);
    html_markup(h, "</tr>\n");
}

void cw_write_compare_table(cw_html *h, const cw_shutter_test *before, const cw_shutter_test *after)
{
    html_markup(
        h,
        "<div class='scroll' tabindex='0' role='region' aria-label='Before and after'><table class='pair'><thead><tr>"
        "<th scope='col'>Marked</th><th scope='col'>Before</th><th scope='col'>After</th>"
        "</tr></thead><tbody>");
    for (size_t i = 0; i < before->speed_count; i++)
        write_pair(h, before->speeds[i].marked_s, &before->speeds[i], speed_marked(after, before->speeds[i].marked_s));
    for (size_t i = 0; i < after->speed_count; i++)
        if (speed_marked(before, after->speeds[i].marked_s) == NULL)
            write_pair(h, after->speeds[i].marked_s, NULL, &after->speeds[i]);
    html_markup(h, "</tbody></table></div>\n");
}

static void write_profile_table(cw_html *h, const cw_shutter_test *test)
{
    const cw_curtains *curtains = &test->curtains;
    html_markup(h, "<details><summary>The same as figures</summary><div class='scroll' tabindex='0' role='region' "
                   "aria-label='Exposure across the frame'><table><thead><tr><th scope='col'>Marked</th>"
                   "<th scope='col' class='n'>Place, mm</th><th scope='col'>Exposure</th><th scope='col' class='n'>"
                   "Uncertainty (k = 2), %</th></tr></thead><tbody>");
    for (size_t i = 0; i < curtains->profile_count; i++) {
        const cw_profile_point *point = &curtains->profile[i];
        html_markup(h, "<tr><th scope='row'>");
        write_mark(h, point->marked_s);
        html_markup(h, "</th><td class='n'>");
        html_textf(h, "%.1f", point->x_mm);
        html_markup(h, "</td><td>");
        html_shutter_time(h, point->exposure_s.value);
        html_markup(h, "</td><td class='n'>");
        if (isfinite(point->exposure_s.u) && point->exposure_s.value > 0)
            html_textf(h, "%.1f", 200 * point->exposure_s.u / point->exposure_s.value);
        html_markup(h, "</td></tr>\n");
    }
    html_markup(h, "</tbody></table></div></details>\n");
}

void cw_write_profiles(cw_html *h, const cw_shutter_test *test)
{
    if (!cw_plot_has_profile(test))
        return;
    cw_buf svg = cw_buf_new(CW_HTML_MOST);
    cw_error err = {0};
    if (cw_plot_profiles(test, 2, &svg, &err) != CW_OK)
        keep_trouble(h, &err);
    html_markup(h, "<section class='panel' id='frame'><h2>Across the frame</h2><figure class='plot'><div "
                   "class='scroll' tabindex='0' role='group' aria-label='Plot'>");
    html_svg(h, &svg);
    html_markup(
        h,
        "</div><figcaption>Exposure along the travel, from the edge that opens first, against the marked time. A level "
        "line is an even frame.</figcaption></figure>\n");
    if (test->curtains.told[0] != '\0') {
        html_markup(h, "<p>");
        html_sentence(h, test->curtains.told);
        html_markup(h, "</p>");
    }
    write_profile_table(h, test);
    html_markup(h, "</section>\n");
}

void cw_write_findings(cw_html *h, const cw_shutter_test *test)
{
    if (test->finding_count == 0)
        return;
    html_markup(h, "<section class='panel' id='findings'><h2>What it looks like</h2><ul class='findings'>");
    for (size_t i = 0; i < test->finding_count; i++) {
        html_markup(h, "<li><p>");
        html_sentence(h, test->findings[i].text);
        html_markup(h, "</p>");
        if (test->findings[i].evidence[0] != '\0') {
            html_markup(h, "<p class='soft'>Seen in: ");
            html_said(h, test->findings[i].evidence);
            html_markup(h, "</p>");
        }
        html_markup(h, "</li>\n");
    }
    html_markup(h, "</ul></section>\n");
}

static void write_budget(cw_html *h, const cw_shutter_test *test)
{
    html_markup(
        h, "<div class='scroll' tabindex='0' role='region' aria-label='Uncertainty budget'><table><caption>Where the "
           "uncertainty comes from (standard uncertainty, EV)</caption><thead><tr><th scope='col'>Marked</th>"
           "<th scope='col'>Source</th><th scope='col' class='n'>u, EV</th></tr></thead><tbody>");
    for (size_t i = 0; i < test->speed_count; i++)
        for (size_t k = 0; k < test->budget_count[i]; k++) {
            html_markup(h, "<tr><th scope='row'>");
            if (k == 0)
                write_mark(h, test->speeds[i].marked_s);
            html_markup(h, "</th><td>");
            html_said(h, test->budget[i][k].source);
            html_markup(h, "</td><td class='n'>");
            html_number(h, test->budget[i][k].u_ev, 2);
            html_markup(h, "</td></tr>\n");
        }
    html_markup(h, "</tbody></table></div>\n");
}

void cw_write_method(cw_html *h, const cw_shutter_test *test)
{
    html_markup(h, "<section class='panel' id='method'><details><summary>How it was worked out</summary><p>");
    html_saidf(h, "Tolerance \"%s\" (%s). ", test->setup.tolerance.name, test->setup.tolerance.source);
    html_text(h, test->setup.geometric ? "Compared with the geometric series behind the marks (1/125 is 1/128 s). "
                                       : "Compared with the marked times as engraved. ");
    html_sentence(h, cw_verdict_rule());
    html_markup(h, "</p>\n");
    if (test->setup.kind == CW_SHUTTER_LEAF && test->setup.beam == CW_BEAM_POINT)
        html_markup(h, "<p>A narrow beam through a leaf shutter gives the open time at that radius, not the effective "
                       "exposure of the whole aperture.</p>\n");
    write_budget(h, test);
    html_markup(h, "</details></section>\n");
}
