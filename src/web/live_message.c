/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/live_message.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "shutter/marks.h"
#include "shutter/tolerance.h"
#include "web/pages/shutter_parts.h"

static void write_mark(cw_html *h, double marked_s)
{
    char text[CW_MARK_TEXT];
    cw_mark_text(marked_s, text, sizeof text);
    html_text(h, text);
}

/* ---- the small picture of a shot ---- */

enum { TRACE_WIDTH = 96, LANE = 14 };

static void span_of(const cw_desk_shot *shown, double *from_s, double *to_s)
{
    *from_s = INFINITY;
    *to_s = -INFINITY;
    for (size_t i = 0; i < shown->shot.sensor_count; i++) {
        *from_s = fmin(*from_s, shown->shot.sensors[i].open_s.value);
        *to_s = fmax(*to_s, shown->shot.sensors[i].close_s.value);
    }
    double margin = 0.12 * (*to_s - *from_s);
    *from_s -= margin;
    *to_s += margin;
}

/* Coordinates as SVG wants them, whatever decimal sign the reader wants. */
static void write_line(cw_html *h, cw_buf *points)
{
    html_markup(h, "<polyline");
    html_attr(h, "points", cw_buf_string(points));
    html_markup(h, "/>");
    h->buf.failed = h->buf.failed || points->failed;
    cw_buf_free(points);
}

/* From the edges: dark is low, light is high. */
static void write_edges(cw_html *h, const cw_desk_shot *shown)
{
    double from_s, to_s;
    span_of(shown, &from_s, &to_s);
    for (size_t i = 0; to_s > from_s && i < shown->shot.sensor_count; i++) {
        const cw_sensor_shot *sensor = &shown->shot.sensors[i];
        double scale = TRACE_WIDTH / (to_s - from_s), low = LANE * (double)(i + 1) - 2, high = low - LANE + 5;
        double opens = (sensor->open_s.value - from_s) * scale, closes = (sensor->close_s.value - from_s) * scale;
        cw_buf points = cw_buf_new(1024);
        cw_buf_printf(&points, "0,%.1f ", low);
        if (isfinite(opens) && isfinite(closes))
            cw_buf_printf(&points, "%.1f,%.1f %.1f,%.1f %.1f,%.1f %.1f,%.1f ", opens, low, opens, high, closes, high,
                          closes, low);
        cw_buf_printf(&points, "%d,%.1f", TRACE_WIDTH, low);
        write_line(h, &points);
    }
}

static void write_samples(cw_html *h, const cw_desk_shot *shown)
{
    float least = INFINITY, most = -INFINITY;
    for (size_t c = 0; c < shown->trace_count; c++)
        for (size_t i = 0; i < CW_DESK_TRACE; i++) {
            least = fminf(least, shown->trace[c][i]);
            most = fmaxf(most, shown->trace[c][i]);
        }
    double scale = most > least ? (LANE - 4) / (double)(most - least) : 0;
    for (size_t c = 0; c < shown->trace_count; c++) {
        cw_buf points = cw_buf_new(4096);
        for (size_t i = 0; i < CW_DESK_TRACE; i++)
            cw_buf_printf(&points, "%zu,%.1f ", i * TRACE_WIDTH / CW_DESK_TRACE,
                          LANE * (double)(c + 1) - 2 - scale * (double)(shown->trace[c][i] - least));
        write_line(h, &points);
    }
}

static void write_picture(cw_html *h, const cw_desk_shot *shown)
{
    size_t lanes = shown->trace_count > 0 ? shown->trace_count : shown->shot.sensor_count;
    if (lanes == 0)
        return;
    html_markup(h, "<svg class='small-trace' aria-hidden='true' preserveAspectRatio='none'");
    html_attrf(h, "viewBox", "0 0 %d %zu", TRACE_WIDTH, lanes * LANE);
    html_markup(h, ">");
    if (shown->trace_count > 0)
        write_samples(h, shown);
    else
        write_edges(h, shown);
    html_markup(h, "</svg>");
}

/* ---- the big reading ---- */

static void write_set(cw_html *h, const cw_desk_view *view)
{
    html_markup(h, "<div class='set'><p class='soft'>");
    html_text(h, isnan(view->next_s) ? "Every speed is fired" : view->is_chosen ? "Set, as you chose" : "Set");
    html_markup(h, "</p><p class='far'>");
    if (isnan(view->next_s))
        html_markup(h, "done");
    else
        write_mark(h, view->next_s);
    html_markup(h, "</p><p>");
    for (size_t i = 0; i < view->speed_count; i++)
        if (fabs(view->speeds[i].marked_s - view->next_s) <= 1e-6 * view->next_s && view->speeds[i].wanted > 0)
            html_textf(h, "%zu of %zu fired", view->speeds[i].good, view->speeds[i].wanted);
    if (isnan(view->next_s))
        html_markup(h, "keep the test, or choose a speed to repeat");
    html_markup(h, "</p></div>\n");
}

/* "inside" and "outside" of a single shot: by its own uncertainty against the limit of its speed. */
static void write_last(cw_html *h, const cw_desk_view *view)
{
    html_markup(h, "<div class='last'>");
    if (view->shot_count == 0) {
        html_markup(h, "<p class='soft'>Last shot</p><p class='far'>&ndash;</p><p>");
        html_text(h, view->state == CW_DESK_LISTENS ? "fire when you like; it is found by itself" : "none was seen");
        html_markup(h, "</p></div>\n");
        return;
    }
    const cw_shot *shot = &view->shots[view->shot_count - 1].shot;
    cw_quantity reading = cw_desk_reading(&view->setup.plan, shot);
    double reference_s = view->setup.plan.geometric ? cw_mark_geometric(shot->marked_s, NULL) : shot->marked_s;
    double error_ev = cw_log2_ratio(reading.value, reference_s);
    char words[80];
    cw_error_words(error_ev, words, sizeof words);
    html_markup(h, "<p class='soft'>");
    html_textf(h, "Shot %zu, marked ", view->shot_count);
    write_mark(h, shot->marked_s);
    html_markup(h, "</p><p class='far' id='live-reading'");
    html_attrf(h, "data-shot", "%zu", view->shot_count);
    html_markup(h, ">");
    if (isfinite(reading.value))
        html_shutter_time(h, reading.value);
    else
        html_markup(h, "?");
    html_markup(h, "</p><p class='how'>");
    if (shot->struck)
        html_markup(h, "struck out");
    else if (shot->incomplete)
        html_saidf(h, "left out: %s", shot->remark);
    else if (!isfinite(reading.value))
        html_said(h, shot->sensor_count > 0 && shot->sensors[0].remark[0] != '\0' ? shot->sensors[0].remark
                                                                                  : "no time can be told from it");
    else {
        html_ev(h, error_ev);
        html_saidf(h, ", %s", words);
    }
    html_markup(h, "</p></div>\n");
}

static void write_notice(cw_html *h, const cw_desk_notice *notice)
{
    html_markup(h, "<span class='soft'>");
    html_text(h, notice->at);
    html_markup(h, "</span> ");
    html_sentence(h, notice->text);
}

/* Over the reading only what is new: no two shots came since. All of them stand at the end. */
static void write_news(cw_html *h, const cw_desk_view *view)
{
    enum { SHOWN = 2, SHOTS_LONG = 2 };
    for (size_t i = 0; i < view->notice_count && i < SHOWN; i++) {
        const cw_desk_notice *notice = &view->notices[i];
        bool is_new = view->shot_count < notice->shots + (notice->is_trouble ? SHOTS_LONG : 1);
        if (!is_new || (i > 0 && !notice->is_trouble))
            break;
        html_markup(h, "<p");
        html_attr(h, "class", notice->is_trouble ? "notice close" : "notice");
        html_markup(h, ">");
        write_notice(h, notice);
        html_markup(h, "</p>\n");
    }
    if (view->told[0] != '\0') {
        html_markup(h, "<p class='notice close'>");
        html_sentence(h, view->told);
        html_markup(h, "</p>\n");
    }
}

static void write_all_notices(cw_html *h, const cw_desk_view *view)
{
    if (view->notice_count == 0)
        return;
    html_markup(h, "<h2>What was said</h2><ul class='plain'>");
    for (size_t i = 0; i < view->notice_count; i++) {
        html_markup(h, "<li>");
        write_notice(h, &view->notices[i]);
        html_markup(h, "</li>\n");
    }
    html_markup(h, "</ul>\n");
}

/* ---- the speeds so far ---- */

static const cw_speed *figures_of(const cw_desk_view *view, double marked_s)
{
    for (size_t i = 0; view->test != NULL && i < view->test->speed_count; i++)
        if (fabs(view->test->speeds[i].marked_s - marked_s) <= 1e-6 * marked_s)
            return &view->test->speeds[i];
    return NULL;
}

static void write_figures(cw_html *h, const cw_speed *speed)
{
    html_markup(h, "<td>");
    cw_write_verdict(h, speed->verdict);
    html_markup(h, "</td><td class='time'>");
    html_shutter_time(h, speed->exposure_s.value);
    html_markup(h, "</td><td class='error'>");
    cw_write_error_ev(h, speed->error_ev, "");
    html_markup(h, "</td><td class='n'>");
    if (isfinite(speed->spread_ev))
        html_textf(h, "%.2f", speed->spread_ev);
    html_markup(h, "</td>");
}

static void write_speeds(cw_html *h, const cw_desk_view *view)
{
    html_markup(h, "<div class='scroll' tabindex='0' role='region' aria-label='The speeds so far'><table><caption>The "
                   "speeds so far</caption><thead><tr><th scope='col'>Marked</th><th scope='col' class='n'>Fired</th>"
                   "<th scope='col'>Verdict</th><th scope='col'>Mean</th><th scope='col' class='error'>Error, "
                   "EV</th><th scope='col' class='n'>"
                   "Spread, EV</th></tr></thead><tbody>");
    for (size_t i = 0; i < view->speed_count; i++) {
        const cw_desk_speed *speed = &view->speeds[i];
        bool is_next = fabs(speed->marked_s - view->next_s) <= 1e-6 * speed->marked_s;
        const cw_speed *figures = figures_of(view, speed->marked_s);
        html_markup(h, "<tr");
        if (is_next)
            html_markup(h, " class='now'");
        html_markup(h, "><th scope='row'>");
        write_mark(h, speed->marked_s);
        html_markup(h, "</th><td class='n'>");
        if (speed->wanted > 0)
            html_textf(h, "%zu/%zu", speed->good, speed->wanted);
        else
            html_textf(h, "%zu", speed->good);
        html_markup(h, "</td>");
        if (figures != NULL)
            write_figures(h, figures);
        else
            html_markup(h, "<td></td><td></td><td></td><td></td>");
        html_markup(h, "</tr>\n");
    }
    html_markup(h, "</tbody></table></div>\n");
}

/* ---- the shots ---- */

static void write_shot(cw_html *h, const cw_desk_view *view, size_t index)
{
    const cw_desk_shot *shown = &view->shots[index];
    const cw_shot *shot = &shown->shot;
    cw_quantity reading = cw_desk_reading(&view->setup.plan, shot);
    double reference_s = view->setup.plan.geometric ? cw_mark_geometric(shot->marked_s, NULL) : shot->marked_s;
    html_markup(h, "<li");
    if (shot->struck || shot->incomplete)
        html_markup(h, " class='out-of-it'");
    html_markup(h, "><span class='number'>");
    html_textf(h, "%zu", index + 1);
    html_markup(h, "</span><span class='mark'>");
    write_mark(h, shot->marked_s);
    html_markup(h, "</span><span class='value'><strong>");
    html_shutter_time(h, reading.value);
    html_markup(h, "</strong> ");
    if (isfinite(reading.value))
        html_ev(h, cw_log2_ratio(reading.value, reference_s));
    if (shot->struck || shot->incomplete) {
        html_markup(h, " <span class='soft'>");
        html_saidf(h, "%s%s%s", shot->struck ? "struck out" : "left out", shot->remark[0] != '\0' ? ": " : "",
                   shot->remark);
        html_markup(h, "</span>");
    }
    html_markup(h, "</span>");
    write_picture(h, shown);
    html_markup(h, "<button class='button' name='shot'");
    html_attr(h, "form", shot->struck ? "unstrike" : "strike");
    html_attrf(h, "id", "shot-%zu", index + 1);
    html_attrf(h, "value", "%zu", index + 1);
    html_attrf(h, "aria-label", shot->struck ? "Take back shot %zu" : "Strike out shot %zu", index + 1);
    html_markup(h, ">");
    html_text(h, shot->struck ? "Take back" : "Strike out");
    html_markup(h, "</button></li>\n");
}

static void write_shots(cw_html *h, const cw_desk_view *view, size_t most)
{
    if (view->shot_count == 0)
        return;
    html_markup(h, "<h2>Shots, the newest first</h2><ol class='live-shots' reversed>");
    size_t last = view->shot_count > most ? view->shot_count - most : 0;
    for (size_t i = view->shot_count; i-- > last;)
        write_shot(h, view, i);
    html_markup(h, "</ol>\n");
    if (last > 0) {
        html_markup(h, "<p><a class='button' href='/live?all=1'>");
        html_textf(h, "All %zu shots", view->shot_count);
        html_markup(h, "</a></p>\n");
    }
}

void cw_live_write_state(cw_html *h, const cw_desk_view *view, size_t most)
{
    write_news(h, view);
    html_markup(h, "<div class='across-the-bench'>");
    write_set(h, view);
    write_last(h, view);
    html_markup(h, "</div>\n");
    write_speeds(h, view);
    write_shots(h, view, most);
    write_all_notices(h, view);
}

void cw_live_write_said(cw_html *h, const cw_desk_view *view)
{
    if (view->shot_count > 0) {
        const cw_shot *shot = &view->shots[view->shot_count - 1].shot;
        cw_quantity reading = cw_desk_reading(&view->setup.plan, shot);
        char words[80];
        cw_error_words(cw_log2_ratio(reading.value, shot->marked_s), words, sizeof words);
        html_textf(h, "Shot %zu: ", view->shot_count);
        html_shutter_time(h, reading.value);
        html_saidf(h, ", %s. ", shot->struck ? "struck out" : shot->incomplete ? "left out" : words);
    }
    if (!isnan(view->next_s)) {
        html_markup(h, "Set ");
        write_mark(h, view->next_s);
        html_markup(h, ". ");
    }
    if (view->notice_count > 0 && view->notices[0].is_trouble)
        html_sentence(h, view->notices[0].text);
}

/* ---- the level check ---- */

static void write_lane_trace(cw_html *h, const cw_desk_level *level, size_t lane)
{
    float least = 0, most = 0;
    for (size_t i = 0; i < level->column_count; i++) {
        least = fminf(least, level->low[lane][i]);
        most = fmaxf(most, level->high[lane][i]);
    }
    float span = fmaxf(most - least, 0.01f);
    cw_buf path = cw_buf_new(8192);
    for (size_t i = 0; i < level->column_count; i++)
        cw_buf_printf(&path, "M%zu %.1fV%.1f", CW_DESK_HISTORY - level->column_count + i,
                      28 - 26 * (double)((level->high[lane][i] - least) / span),
                      29 - 26 * (double)((level->low[lane][i] - least) / span));
    html_markup(h, "<svg class='level-trace' aria-hidden='true' preserveAspectRatio='none' viewBox='0 0 120 30'><path");
    html_attr(h, "d", cw_buf_string(&path));
    html_markup(h, "/></svg>");
    h->buf.failed = h->buf.failed || path.failed;
    cw_buf_free(&path);
}

void cw_live_write_level(cw_html *h, const cw_desk_level *level)
{
    if (level->lane_count == 0) {
        html_markup(h, "<p class='soft'>Nothing comes in yet.</p>\n");
        return;
    }
    html_markup(h, "<ul class='levels'>");
    for (size_t i = 0; i < level->lane_count; i++) {
        float far = fmaxf(fabsf(level->lanes[i].least), fabsf(level->lanes[i].most));
        html_markup(h, "<li><span>");
        html_text(h, level->lanes[i].name);
        html_markup(h, "</span> <span class='soft'>");
        if (level->is_digital)
            html_text(h, level->lanes[i].lit ? "light" : "dark");
        else
            html_textf(h, "%.0f %% of the limit%s", 100 * (double)far,
                       level->lanes[i].clipped ? ", too much"
                       : level->lanes[i].lit   ? ", light"
                                               : "");
        html_markup(h, "</span>");
        write_lane_trace(h, level, i);
        html_markup(h, "</li>\n");
    }
    html_markup(h, "</ul>\n");
    if (isfinite(level->rate_hz.value)) {
        html_markup(h, "<p class='soft'>");
        html_textf(h, "%.0f samples a second by the computer's clock, give or take %.0f.", level->rate_hz.value,
                   2 * level->rate_hz.u);
        html_markup(h, "</p>\n");
    }
}

/* ---- as events ---- */

/* Every line of the part behind its own "data:". */
static void add_event(cw_buf *out, const char *event, cw_html *part)
{
    cw_buf_printf(out, "event: %s\n", event);
    for (const char *line = cw_buf_string(&part->buf); *line != '\0';) {
        size_t length = strcspn(line, "\n");
        cw_buf_text(out, "data: ");
        cw_buf_add(out, line, length);
        cw_buf_char(out, '\n');
        line += length + (line[length] == '\n');
    }
    cw_buf_text(out, "data:\n\n");
    out->failed = out->failed || part->buf.failed;
    cw_html_free(part);
}

void cw_live_state_message(const cw_desk_view *view, cw_buf *out)
{
    cw_html part = cw_html_new(), said = cw_html_new();
    cw_live_write_state(&part, view, CW_LIVE_SHOTS_SHOWN);
    cw_live_write_said(&said, view);
    cw_buf_printf(out, "id: %" PRIu64 "\n", view->number);
    add_event(out, "state", &part);
    cw_buf_printf(out, "id: %" PRIu64 "\n", view->number);
    add_event(out, "said", &said);
}

void cw_live_level_message(const cw_desk_level *level, cw_buf *out)
{
    cw_html part = cw_html_new();
    cw_live_write_level(&part, level);
    add_event(out, "level", &part);
}
