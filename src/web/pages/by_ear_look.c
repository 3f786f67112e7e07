/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sound as pictures: the whole of it with its shots, and both clicks of one shot from near, to be pressed where the
 * instant is or moved by buttons. Every button names the instant it leads to, so that a page loaded twice is the same.
 */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "web/assets.h"
#include "web/page.h"
#include "web/pages/by_ear_form.h"

enum { WHOLE_PX = 900, POINTS_PER_PX = 4, LABEL = 24 };

static const char *const side_names[] = {[CW_EAR_OPENING] = "open", [CW_EAR_CLOSING] = "close"};
static const char *const side_words[] = {[CW_EAR_OPENING] = "opening", [CW_EAR_CLOSING] = "closing"};

/* Least and greatest of blocks, so that drawing a long sound costs no more than a short one. The caller frees. */
static float *thin(const cw_sound *sound, double from_s, double to_s, double px, size_t *count, double *start_s,
                   double *rate_hz)
{
    size_t first = (size_t)fmin(floor(from_s * sound->rate_hz), (double)sound->count);
    size_t last = (size_t)fmin(ceil(to_s * sound->rate_hz) + 1, (double)sound->count);
    size_t block = (size_t)fmax(1, floor((double)(last - first) / (px * POINTS_PER_PX)));
    size_t blocks = (last - first + block - 1) / block;
    float *values = malloc((2 * blocks + 1) * sizeof *values);
    for (size_t b = 0; values != NULL && b < blocks; b++) {
        float least = INFINITY, most = -INFINITY;
        for (size_t i = first + b * block; i < last && i < first + (b + 1) * block; i++) {
            least = fminf(least, sound->samples[i]);
            most = fmaxf(most, sound->samples[i]);
        }
        values[2 * b] = least;
        values[2 * b + 1] = most;
    }
    *count = block == 1 ? blocks : 2 * blocks;
    if (block == 1 && values != NULL)
        for (size_t i = 0; i < blocks; i++)
            values[i] = sound->samples[first + i];
    *start_s = (double)first / sound->rate_hz;
    *rate_hz = block == 1 ? sound->rate_hz : 2 * sound->rate_hz / (double)block;
    return values;
}

static cw_status draw(cw_html *h, const cw_listening *one, cw_trace *trace, cw_trace_channel *lane, cw_error *err)
{
    size_t frames;
    float *values =
        thin(&one->sound, trace->from_s, trace->to_s, trace->width_px, &frames, &trace->start_s, &trace->rate_hz);
    if (values == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the picture of the sound");
    lane->samples = values;
    lane->stride = 1;
    lane->dark = lane->mid = lane->full = NAN;
    trace->frames = frames;
    trace->channels = lane;
    trace->channel_count = 1;
    cw_buf svg = cw_buf_new(CW_HTML_MOST);
    cw_status status = cw_trace_svg(trace, &svg, err);
    if (status == CW_OK)
        html_svg(h, &svg);
    cw_buf_free(&svg);
    free(values);
    return status;
}

cw_status cw_ear_write_whole(cw_html *h, const cw_listening *one, cw_error *err)
{
    char labels[CW_BY_EAR_SHOTS_MOST][LABEL];
    cw_trace_instant instants[2 * CW_BY_EAR_SHOTS_MOST];
    size_t count = 0;
    for (size_t i = 0; i < one->count; i++) {
        snprintf(labels[i], LABEL, "%zu", i + 1);
        if (!isnan(one->shots[i].open_s))
            instants[count++] = (cw_trace_instant){one->shots[i].open_s, labels[i]};
        if (!isnan(one->shots[i].close_s))
            instants[count++] = (cw_trace_instant){one->shots[i].close_s, NULL};
    }
    cw_trace_channel lane = {
        .name = "the whole sound; a line at each opening and closing", .instants = instants, .instant_count = count};
    cw_trace trace = {.title = "The whole sound", .to_s = one->sound.length_s, .width_px = WHOLE_PX};
    html_markup(h, "<figure class='plot trace'><div class='scroll' tabindex='0' role='group' aria-label='The sound'>");
    cw_status status = draw(h, one, &trace, &lane, err);
    html_markup(h, "</div><figcaption>Numbers stand at the openings.</figcaption></figure>\n");
    return status;
}

/* ---- close-ups ---- */

/* The page comes back at the close-ups. */
static void look_action(cw_html *h, const cw_listening *one)
{
    html_attrf(h, "formaction", "/sounds/%" PRId64 "#look", one->recording_id);
}

static void set_button(cw_html *h, const cw_listening *one, size_t shot, cw_ear_side side, double at_s,
                       const char *label, const char *spoken)
{
    html_markup(h, "<button class='button' name='set'");
    look_action(h, one);
    html_attrf(h, "value", "%s.%zu=%.4f", side_names[side], shot + 1, at_s);
    html_attr(h, "aria-label", spoken);
    html_markup(h, ">");
    html_text(h, label);
    html_markup(h, "</button>");
}

static void write_steps(cw_html *h, const cw_listening *one, size_t shot, cw_ear_side side)
{
    static const double steps_ms[] = {-10, -1, -0.1, 0.1, 1, 10};
    double at_s = side == CW_EAR_OPENING ? one->shots[shot].open_s : one->shots[shot].close_s;
    if (isnan(at_s))
        return;
    html_markup(h, "<div class='downloads'>");
    for (size_t i = 0; i < CW_COUNT(steps_ms); i++) {
        char label[32], spoken[64];
        snprintf(label, sizeof label, "%s%g ms", steps_ms[i] < 0 ? "\u2212" : "+", fabs(steps_ms[i]));
        snprintf(spoken, sizeof spoken, "%s %s", side_words[side], label);
        set_button(h, one, shot, side, fmax(0, at_s + steps_ms[i] * 1e-3), label, spoken);
    }
    for (int direction = -1; direction <= 1; direction += 2) {
        double click_s = cw_ear_next_click(one, at_s, direction);
        const char *label = direction < 0 ? "Click before" : "Next click";
        char spoken[64];
        snprintf(spoken, sizeof spoken, "%s: %s", side_words[side], label);
        if (!isnan(click_s))
            set_button(h, one, shot, side, click_s, label, spoken);
    }
    html_markup(h, "</div>\n");
}

static size_t clicks_within(const cw_listening *one, double from_s, double to_s, cw_trace_instant *instants,
                            size_t most)
{
    size_t count = 0;
    for (size_t i = 0; i < one->clicks.count && count < most; i++) {
        const cw_click *click = &one->clicks.clicks[i];
        if (click->at_s.value >= from_s && click->at_s.value <= to_s)
            instants[count++] = (cw_trace_instant){click->at_s.value, click->is_tick ? "tick" : "click"};
    }
    return count;
}

static cw_status write_close_up(cw_html *h, const cw_listening *one, size_t shot, cw_ear_side side, cw_error *err)
{
    enum { INSTANTS = 24 };
    cw_trace_instant instants[INSTANTS + 1];
    char name[64];
    double at_s = side == CW_EAR_OPENING ? one->shots[shot].open_s : one->shots[shot].close_s;
    cw_trace trace = {.title = side_words[side], .width_px = CW_EAR_PICTURE_PX};
    cw_ear_window(one, shot, side, &trace.from_s, &trace.to_s);
    trace.zero_s = isnan(at_s) ? 0 : at_s;
    snprintf(name, sizeof name, "%s%s", side_words[side], isnan(at_s) ? ": not set, press where it is" : "");
    cw_trace_channel lane = {.name = "", .instants = instants};
    if (!isnan(at_s))
        instants[lane.instant_count++] = (cw_trace_instant){at_s, "\u25BC"};
    lane.instant_count += clicks_within(one, trace.from_s, trace.to_s, instants + lane.instant_count, INSTANTS);
    html_markup(h, "<div class='close-up'><h3>");
    html_text(h, name);
    html_markup(h, "</h3><div class='tapped'><input type='image'");
    look_action(h, one);
    html_attrf(h, "name", "%s-at", side_names[side]);
    html_attrf(h, "alt", "the %s from near: press where it is", side_words[side]);
    html_attrf(h, "src", "/assets/%s/empty.svg", cw_assets_version());
    html_attrf(h, "width", "%d", CW_EAR_PICTURE_PX);
    html_attr(h, "height", "168");
    html_markup(h, ">");
    cw_status status = draw(h, one, &trace, &lane, err);
    html_markup(h, "</div>\n");
    write_steps(h, one, shot, side);
    html_markup(h, "</div>\n");
    return status;
}

static void span_button(cw_html *h, const cw_listening *one, double span_s, const char *label)
{
    html_markup(h, "<button class='button' name='zoom'");
    look_action(h, one);
    html_attrf(h, "value", "%.4g", span_s);
    html_markup(h, ">");
    html_text(h, label);
    html_markup(h, "</button>");
}

void cw_ear_look_button(cw_html *h, const cw_listening *one, size_t shot, const char *label, const char *spoken)
{
    html_markup(h, "<button class='button' name='to'");
    look_action(h, one);
    html_attr(h, "aria-label", spoken);
    html_attrf(h, "value", "%zu", shot);
    html_markup(h, ">");
    html_text(h, label);
    html_markup(h, "</button>");
}

cw_status cw_ear_write_look(cw_html *h, const cw_listening *one, cw_error *err)
{
    if (one->look == 0)
        return CW_OK;
    size_t shot = one->look - 1;
    char mark[CW_MARK_TEXT];
    cw_mark_text(one->shots[shot].marked_s, mark, sizeof mark);
    html_markup(h, "<section class='panel next' id='look'><h2>");
    html_textf(h, "Shot %zu from near, marked %s", shot + 1, mark);
    html_markup(h, "</h2><p class='soft'>Press where the click begins, or step to it. A press close to a click that "
                   "was heard means that click.</p><div class='close-ups'>\n");
    cw_status status = write_close_up(h, one, shot, CW_EAR_OPENING, err);
    if (status == CW_OK)
        status = write_close_up(h, one, shot, CW_EAR_CLOSING, err);
    html_markup(h, "</div><div class='downloads'>");
    if (shot > 0)
        cw_ear_look_button(h, one, shot, "Shot before", NULL);
    if (shot + 1 < one->count)
        cw_ear_look_button(h, one, shot + 2, "Next shot", NULL);
    span_button(h, one, one->span_s / 3, "Closer");
    span_button(h, one, one->span_s * 3, "Wider");
    html_markup(h, "</div></section>\n");
    return status;
}
