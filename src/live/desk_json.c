/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "live/desk_inside.h"

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *shots_json(const cw_desk_view *view)
{
    json_t *list = json_array();
    for (size_t i = 0; i < view->shot_count; i++) {
        const cw_shot *shot = &view->shots[i].shot;
        cw_quantity reading = cw_desk_reading(&view->setup.plan, shot);
        json_t *sensors = json_array();
        for (size_t k = 0; k < shot->sensor_count; k++)
            json_array_append_new(sensors,
                                  json_pack("{s:o,s:o,s:o}", "position_mm", number(shot->sensors[k].position_mm),
                                            "exposure_s", number(shot->sensors[k].exposure_s.value), "u_exposure_s",
                                            number(shot->sensors[k].exposure_s.u)));
        json_array_append_new(list, json_pack("{s:I,s:o,s:o,s:o,s:o,s:o,s:b,s:b,s:s}", "shot", (json_int_t)i + 1,
                                              "marked_s", number(shot->marked_s), "exposure_s", number(reading.value),
                                              "u_exposure_s", number(reading.u), "error_ev",
                                              number(cw_log2_ratio(reading.value, shot->marked_s)), "sensors", sensors,
                                              "incomplete", (int)shot->incomplete, "struck", (int)shot->struck,
                                              "remark", shot->remark));
    }
    return list;
}

static json_t *speeds_json(const cw_desk_view *view)
{
    json_t *list = json_array();
    for (size_t i = 0; i < view->speed_count; i++)
        json_array_append_new(list,
                              json_pack("{s:f,s:I,s:I}", "marked_s", view->speeds[i].marked_s, "wanted",
                                        (json_int_t)view->speeds[i].wanted, "good", (json_int_t)view->speeds[i].good));
    return list;
}

static json_t *notices_json(const cw_desk_view *view)
{
    json_t *list = json_array();
    for (size_t i = 0; i < view->notice_count; i++)
        json_array_append_new(list, json_pack("{s:s,s:s,s:b}", "at", view->notices[i].at, "text", view->notices[i].text,
                                              "trouble", (int)view->notices[i].is_trouble));
    return list;
}

json_t *cw_desk_view_json(const cw_desk_view *view)
{
    static const char *const states[] = {
        [CW_DESK_FREE] = "free", [CW_DESK_LISTENS] = "listens", [CW_DESK_RESTS] = "rests"};
    json_t *figures = view->test != NULL ? cw_shutter_test_json(view->test, NULL) : json_null();
    return json_pack("{s:s,s:I,s:s,s:b,s:s,s:o,s:b,s:b,s:o,s:o,s:o,s:o}", "format", "camerawright.live/1", "number",
                     (json_int_t)view->number, "state", states[view->state], "found_unfinished",
                     (int)view->found_unfinished, "listens_to", view->listens_to, "next_s", number(view->next_s),
                     "next_chosen", (int)view->is_chosen, "complete", (int)view->is_complete, "speeds",
                     speeds_json(view), "shots", shots_json(view), "notices", notices_json(view), "figures", figures);
}
