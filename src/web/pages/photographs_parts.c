/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/pages/photographs_parts.h"

#include <math.h>
#include <stdio.h>

#include "draw/photo_map.h"
#include "web/page.h"

enum { TABLE_COLUMNS = 6, TABLE_ROWS = 4 };

static void number_cell(cw_html *h, const char *format, double value)
{
    char text[40];
    html_markup(h, "<td class='n'>");
    if (isfinite(value)) {
        if (format[0] == 't')
            html_shutter_time(h, value);
        else
            html_textf(h, "%.*f", format[0] - '0', value);
    } else {
        snprintf(text, sizeof text, "not said");
        html_text(h, text);
    }
    html_markup(h, "</td>");
}

static void write_fact(cw_html *h, const char *what, const cw_frame_info *info, double level)
{
    html_markup(h, "<tr><th scope='row'>");
    html_text(h, what);
    html_markup(h, "</th><td>");
    html_text(h, info->is_raw ? "raw" : "JPEG");
    html_textf(h, ", %zu \u00D7 %zu", info->width, info->height);
    html_markup(h, "</td>");
    number_cell(h, "t", info->exposure_s);
    number_cell(h, "0", info->iso);
    number_cell(h, "1", info->f_number);
    html_markup(h, "<td class='n'>");
    if (isfinite(level))
        html_textf(h, "%.1f", level * 100);
    html_markup(h, "</td></tr>\n");
}

void cw_photo_write_facts(cw_html *h, const cw_photo_view *view)
{
    html_markup(h, "<section class='panel'><h2>The photographs</h2><div class='scroll' tabindex='0' role='region' "
                   "aria-label='The photographs'><table><thead><tr><th scope='col'>Photograph</th>"
                   "<th scope='col'>Kind</th><th scope='col' class='n'>Exposed</th><th scope='col' class='n'>ISO</th>"
                   "<th scope='col' class='n'>f/</th><th scope='col' class='n'>Level, % of full</th></tr></thead>"
                   "<tbody>\n");
    write_fact(h, "reference", &view->compared[0].reference, view->ran ? view->results[0].reference_level : NAN);
    for (size_t i = 0; i < view->count; i++)
        write_fact(h, view->compared[i].name, &view->compared[i].test, view->ran ? view->results[i].test_level : NAN);
    html_markup(h, "</tbody></table></div>\n");
    for (size_t i = 0; view->ran && i < view->count; i++) {
        const cw_photo_result *result = &view->results[i];
        if (result->clipped < 5e-4 && result->dark == 0)
            continue;
        html_markup(h, "<p>");
        html_textf(h,
                   "%s: %.1f %% of the gate's pixels are clipped and %.1f %% of its area is lost in noise; they are "
                   "left out.",
                   view->compared[i].name, result->clipped * 100, result->dark * 100);
        html_markup(h, "</p>\n");
    }
    html_markup(h, "</section>\n");
}

/* ---- one pair ---- */

static void signed_cell(cw_html *h, double ev, double u_ev)
{
    html_markup(h, "<td class='n'>");
    if (isfinite(ev))
        html_textf(h, "%s%.2f", ev < 0 ? "\u2212" : "+", fabs(ev));
    if (isfinite(ev) && u_ev > 0)
        html_textf(h, " \u00B1 %.2f", fmax(2 * u_ev, 0.01));
    html_markup(h, "</td>");
}

static void write_places(cw_html *h, const cw_photo_result *result, const char *mark)
{
    html_markup(h, "<div class='scroll' tabindex='0' role='region'");
    html_attrf(h, "aria-label", "Along the travel at %s", mark);
    html_markup(h, "><table>"
                   "<caption>Along the travel</caption><thead><tr><th scope='col' class='n'>Place, mm</th>"
                   "<th scope='col' class='n'>Exposure</th><th scope='col' class='n'>Uncertainty (k = 2), %</th>"
                   "<th scope='col' class='n'>Against the middle, EV</th><th scope='col'>Remark</th></tr></thead>"
                   "<tbody>\n");
    for (size_t i = 0; i < result->shot.sensor_count; i++) {
        const cw_sensor_shot *place = &result->shot.sensors[i];
        html_markup(h, "<tr><th scope='row' class='n'>");
        html_textf(h, "%.1f", place->position_mm);
        html_markup(h, "</th><td class='n'>");
        html_shutter_time(h, place->exposure_s.value);
        html_markup(h, "</td><td class='n'>");
        if (place->exposure_s.value > 0)
            html_textf(h, "%.1f", 200 * place->exposure_s.u / place->exposure_s.value);
        html_markup(h, "</td>");
        signed_cell(h, cw_log2_ratio(place->exposure_s.value, result->middle_s.value),
                    place->u_random_s / (place->exposure_s.value * M_LN2));
        html_markup(h, "<td>");
        html_said(h, place->remark);
        html_markup(h, "</td></tr>\n");
    }
    html_markup(h, "</tbody></table></div>\n");
}

/* Mean over a part of the map; NaN where nothing is known. */
static double part_mean(const cw_map *map, size_t row, size_t column)
{
    double sum = 0, n = 0;
    for (size_t y = row * map->rows / TABLE_ROWS; y < (row + 1) * map->rows / TABLE_ROWS; y++)
        for (size_t x = column * map->columns / TABLE_COLUMNS; x < (column + 1) * map->columns / TABLE_COLUMNS; x++)
            if (isfinite(map->values[y * map->columns + x])) {
                sum += map->values[y * map->columns + x];
                n++;
            }
    return n > 0 ? sum / n : NAN;
}

static void write_map_table(cw_html *h, const cw_map *map, const char *mark)
{
    html_markup(h, "<details><summary>The map as figures</summary><div class='scroll' tabindex='0' role='region'");
    html_attrf(h, "aria-label", "The map at %s as figures", mark);
    html_markup(h, "><table><caption>Means over the parts of the frame, EV against the "
                   "middle, as it lies in the picture</caption><tbody>\n");
    for (size_t row = 0; row < TABLE_ROWS; row++) {
        html_markup(h, "<tr>");
        for (size_t column = 0; column < TABLE_COLUMNS; column++)
            signed_cell(h, part_mean(map, row, column), 0);
        html_markup(h, "</tr>\n");
    }
    html_markup(h, "</tbody></table></div></details>\n");
}

static void write_map(cw_html *h, const cw_photo_view *view, size_t i, const char *mark)
{
    double values[CW_PHOTO_CELLS];
    char title[64];
    cw_map map;
    cw_error err = {0};
    cw_buf svg = cw_buf_new(CW_HTML_MOST);
    snprintf(title, sizeof title, "Evenness at %s", mark);
    cw_photo_map(&view->compared[i], &view->results[i], &view->setup, values, &map);
    if (cw_map_svg(&map, title, 0, &svg, &err) != CW_OK && h->trouble.status == CW_OK)
        h->trouble = err;
    html_markup(h, "<figure class='plot map'><div class='scroll' tabindex='0' role='group'");
    html_attr(h, "aria-label", title);
    html_markup(h, ">");
    html_svg(h, &svg);
    html_markup(h, "</div><figcaption>");
    html_textf(h, "The film gate as it lies in the picture; the curtains run %s%s. White: not known.",
               view->setup.travel == CW_TRAVEL_UP || view->setup.travel == CW_TRAVEL_DOWN ? "" : "to the ",
               cw_photo_travel_name(view->setup.travel));
    html_markup(h, "</figcaption></figure>\n");
    write_map_table(h, &map, mark);
}

static void write_pair(cw_html *h, const cw_photo_view *view, size_t i)
{
    const cw_photo_result *result = &view->results[i];
    char mark[48];
    snprintf(mark, sizeof mark, "photograph %zu", i + 1);
    if (!isnan(view->marked_s[i]))
        cw_mark_text(view->marked_s[i], mark, sizeof mark);
    html_markup(h, "<section class='panel'><h2>");
    html_textf(h, "At %s: ", mark);
    html_shutter_time(h, result->middle_s.value);
    html_markup(h, " in the middle</h2><p class='soft'>");
    html_textf(h, "%s. Known to %.0f %% (k = 2); against each other the places are known better.",
               view->compared[i].name, 200 * result->middle_s.u / result->middle_s.value);
    html_markup(h, "</p>\n");
    for (size_t w = 0; w < result->warning_count; w++) {
        html_markup(h, "<p class='notice close'>");
        html_sentence(h, result->warnings[w]);
        html_markup(h, "</p>\n");
    }
    write_map(h, view, i, mark);
    write_places(h, result, mark);
    html_markup(h, "</section>\n");
}

void cw_photo_write_maps(cw_html *h, const cw_photo_view *view)
{
    for (size_t i = 0; view->ran && i < view->count; i++)
        write_pair(h, view, i);
}
