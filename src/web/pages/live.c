/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measuring live: fire, read the number across the bench, set the next speed. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "shutter/marks.h"
#include "web/assets.h"
#include "web/house.h"
#include "web/live_message.h"
#include "web/page.h"
#include "web/pages/live_parts.h"
#include "web/pages/pages.h"

cw_status cw_live_of(cw_request *request, cw_desk **desk, cw_error *err)
{
    return cw_live_desk(request->house->live, desk, err);
}

void cw_live_done(cw_request *request, cw_reply *reply, const char *said)
{
    if (request->htmx)
        reply->code = 204;
    else
        cw_go(request, reply, said, "/live");
}

/* ---- while it listens ---- */

/* Speeds as buttons of one form; the person's choice goes before the plan's. */
static void write_choose(cw_request *request, cw_html *h, const cw_desk_view *view)
{
    html_markup(h,
                "<section class='panel'><h2>Another speed</h2><p class='soft'>The plan moves on by itself. Space, "
                "Enter, the right arrow or a foot switch: the next speed; the left arrow: the one before; R: one more "
                "at this speed; X: strike out the last shot; U: take it back in.</p>"
                "<form method='post' class='in-place' action='/live/set'>");
    cw_field_hidden(h, "token", request->pass.token);
    html_markup(h,
                "<div class='choices'><button class='button' name='step' value='before'>Speed before</button>"
                "<button class='button' name='step' value='next'>Next speed</button>"
                "<button class='button' name='step' value='again'>One more at this speed</button></div></form>"
                "<details><summary>Choose a speed</summary><form method='post' class='in-place' action='/live/set'>");
    cw_field_hidden(h, "token", request->pass.token);
    html_markup(h, "<div class='choices'>");
    for (size_t i = 0; i < view->speed_count; i++) {
        char mark[CW_MARK_TEXT];
        cw_mark_text(view->speeds[i].marked_s, mark, sizeof mark);
        html_markup(h, "<button class='button' name='marked'");
        html_attr(h, "value", mark);
        html_markup(h, ">");
        html_text(h, mark);
        html_markup(h, "</button>");
    }
    html_markup(h, "</div></form><form method='post' class='in-place' action='/live/set'>");
    cw_field_hidden(h, "token", request->pass.token);
    cw_field_input(request, h,
                   &(cw_input){.name = "marked",
                               .label = "Or one that is not in the plan",
                               .value = "",
                               .example = "1/300",
                               .narrow = true});
    html_markup(h, "<button class='button'>Set it</button></form></details></section>\n");
}

/* The buttons beside the shots belong to these. */
static void write_strike_forms(cw_request *request, cw_html *h)
{
    html_markup(h, "<section class='panel'><form method='post' class='in-place' id='strike' action='/live/strike'>");
    cw_field_hidden(h, "token", request->pass.token);
    cw_field_input(request, h,
                   &(cw_input){.name = "reason",
                               .label = "Why the next shot you strike out does not count",
                               .value = "",
                               .list = "reasons",
                               .help = "kept with it; may stay empty"});
    html_markup(h, "<datalist id='reasons'><option>wound only half</option><option>camera moved</option>"
                   "<option>other speed was set</option><option>released twice</option></datalist></form>"
                   "<form method='post' class='in-place' id='unstrike' action='/live/unstrike'>");
    cw_field_hidden(h, "token", request->pass.token);
    html_markup(h, "</form></section>\n");
}

static void write_level(cw_html *h, cw_desk *desk)
{
    cw_desk_level *level = malloc(sizeof *level);
    html_markup(h, "<section class='panel' id='level'><h2>What comes in</h2><div sse-swap='level'>");
    if (level != NULL) {
        cw_desk_levels(desk, level);
        cw_live_write_level(h, level);
    }
    free(level);
    html_markup(h, "</div></section>\n");
}

static void write_source(cw_request *request, cw_html *h, const cw_desk_view *view)
{
    html_markup(h, "<p class='lead'>");
    if (view->state == CW_DESK_LISTENS)
        html_textf(h, "Listening to: %s.", view->listens_to);
    else if (view->found_unfinished)
        html_textf(h, "An unfinished test of %.10s, %.5s UTC, with %zu %s. Go on with it, keep it, or throw it away.",
                   view->began_at, view->began_at + (strlen(view->began_at) > 11 ? 11 : 0), view->shot_count,
                   view->shot_count == 1 ? "shot" : "shots");
    else
        html_text(h, "Nothing is listened to now.");
    html_markup(h, "</p>\n<div class='actions'><a class='button' href='/live'>Look again</a>");
    if (view->state == CW_DESK_LISTENS)
        cw_button_form(request, h, true, "Stop, keep the test", "/live/rest");
    html_markup(h, "</div>\n");
}

static cw_status write_test(cw_request *request, cw_html *h, cw_desk *desk, const cw_desk_view *view, cw_error *err)
{
    size_t most = cw_ticked(request, "all") ? CW_DESK_SHOTS_MOST : CW_LIVE_SHOTS_SHOWN;
    html_markup(h, "<h1>Measuring live</h1>\n");
    html_markup(h, "<div id='live' hx-ext='sse'");
    html_attrf(h, "sse-connect", "/live/shots?seen=%" PRIu64, view->number);
    html_attr(h, "data-token", request->pass.token);
    html_markup(h, ">\n<p class='visually-hidden' role='status' aria-live='polite' sse-swap='said'></p>\n"
                   "<div class='two live'><div class='main-side'><section class='panel next' sse-swap='state'>");
    cw_live_write_state(h, view, most);
    html_markup(h, "</section></div>\n<div>");
    write_source(request, h, view);
    cw_status status = CW_OK;
    if (view->state == CW_DESK_RESTS) {
        status = cw_live_write_keep(request, h, view, err);
        cw_live_write_go_on(request, h, desk, &view->setup.source);
    } else {
        write_choose(request, h, view);
        write_level(h, desk);
    }
    write_strike_forms(request, h);
    html_markup(h, "</div></div></div>\n<script defer");
    html_attrf(h, "src", "/assets/%s/live.js", cw_assets_version());
    html_markup(h, "></script>\n");
    return status;
}

cw_status page_live(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_desk *desk;
    cw_desk_view *view;
    CW_TRY(cw_live_of(request, &desk, err));
    CW_TRY(cw_desk_look(desk, &view, err));
    cw_html *h = &reply->html;
    cw_status status = CW_OK;
    cw_page_begin(request, reply, CW_PLACE_MEASURE, "Measure live");
    if (view->state == CW_DESK_FREE)
        cw_live_write_begin(request, h, desk);
    else
        status = write_test(request, h, desk, view, err);
    cw_page_end(reply);
    cw_desk_view_free(view);
    return status;
}

cw_status twin_live(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_desk *desk;
    cw_desk_view *view;
    CW_TRY(cw_live_of(request, &desk, err));
    CW_TRY(cw_desk_look(desk, &view, err));
    reply->json = cw_desk_view_json(view);
    cw_desk_view_free(view);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the live test");
}

cw_status get_live_shots(cw_request *request, cw_reply *reply, cw_error *err)
{
    const char *seen = request->last_event[0] != '\0' ? request->last_event : cw_value(request, "seen", "0");
    cw_desk *desk;
    CW_TRY(cw_live_of(request, &desk, err));
    if (cw_live_listeners(request->house->live) >= CW_LIVE_LISTENERS_MOST)
        return cw_fail(err, CW_CONFLICT, "%d pages are listening to the live test already; close some of them",
                       CW_LIVE_LISTENERS_MOST);
    reply->is_stream = true;
    reply->stream_seen = strspn(seen, "0123456789") == strlen(seen) ? strtoull(seen, NULL, 10) : 0;
    reply->type = "text/event-stream";
    return CW_OK;
}

/* ---- what may be done meanwhile ---- */

cw_status post_live_set(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_desk *desk;
    double marked_s = NAN;
    const char *step = cw_posted(request, "step"), *marked = cw_posted(request, "marked");
    CW_TRY(cw_live_of(request, &desk, err));
    if (strcmp(step, "next") == 0 || strcmp(step, "before") == 0) {
        CW_TRY(cw_desk_step(desk, step[0] == 'n' ? 1 : -1, err));
    } else if (strcmp(step, "again") == 0) {
        cw_desk_view *view;
        CW_TRY(cw_desk_look(desk, &view, err));
        if (view->shot_count > 0)
            marked_s = view->shots[view->shot_count - 1].shot.marked_s;
        cw_desk_view_free(view);
        CW_TRY(cw_desk_choose(desk, marked_s, err));
    } else {
        CW_TRY(cw_mark_parse(marked, &marked_s, err));
        CW_TRY(cw_desk_choose(desk, marked_s, err));
    }
    cw_live_done(request, reply, NULL);
    return CW_OK;
}

static cw_status shot_asked(cw_request *request, size_t *number, cw_error *err)
{
    long shot;
    CW_TRY(cw_whole(request, "shot", 1, CW_DESK_SHOTS_MOST, 0, &shot, err));
    if (shot == 0)
        return cw_fail(err, CW_INPUT, "which shot? Choose it in the list");
    *number = (size_t)shot;
    return CW_OK;
}

cw_status post_live_strike(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_desk *desk;
    size_t number = 0;
    CW_TRY(cw_live_of(request, &desk, err));
    CW_TRY(shot_asked(request, &number, err));
    CW_TRY(cw_desk_strike(desk, number, cw_posted(request, "reason"), err));
    cw_live_done(request, reply, NULL);
    return CW_OK;
}

cw_status post_live_unstrike(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_desk *desk;
    size_t number = 0;
    CW_TRY(cw_live_of(request, &desk, err));
    CW_TRY(shot_asked(request, &number, err));
    CW_TRY(cw_desk_unstrike(desk, number, err));
    cw_live_done(request, reply, NULL);
    return CW_OK;
}

cw_status post_live_rest(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_desk *desk;
    CW_TRY(cw_live_of(request, &desk, err));
    cw_desk_rest(desk);
    cw_live_done(request, reply, NULL);
    return CW_OK;
}
