/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/photo_maps.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/file.h"
#include "draw/photo_map.h"
#include "report/gather_inside.h"
#include "shutter/marks.h"

enum { FILE_MOST = 16 << 20 };

cw_status cw_stored_photographs(cw_bench *bench, int64_t recording_id, cw_photo_compared *compared, size_t *count,
                                cw_error *err)
{
    char path[4096], *text;
    size_t length;
    json_error_t where;
    CW_TRY(cw_recording_path(bench, recording_id, path, sizeof path, err));
    CW_TRY(cw_read_file(path, FILE_MOST, &text, &length, err));
    json_t *object = json_loadb(text, length, 0, &where);
    free(text);
    if (object == NULL)
        return cw_fail(err, CW_INPUT, "this recording holds no compared photographs");
    cw_status status = cw_photo_compared_from_json(object, compared, CW_PHOTO_TESTS_MOST, count, err);
    json_decref(object);
    return status;
}

/* ---- for paper ---- */

typedef struct {
    cw_photo_compared compared[CW_PHOTO_TESTS_MOST];
    double marked_s[CW_PHOTO_TESTS_MOST];
    size_t count;
    cw_photo_setup setup;
} photographs;

static cw_status read_kept(cw_bench *bench, const cw_test *stored, photographs *p, cw_error *err)
{
    cw_shutter_plan plan = cw_plan_default();
    json_t *how = json_loads(stored->plan_json, 0, NULL), *setup = json_loads(stored->trace_json, 0, NULL);
    cw_status status = how != NULL ? cw_plan_from_json(how, &plan, err) : CW_OK;
    if (status == CW_OK)
        status = cw_stored_photographs(bench, stored->recording_id, p->compared, &p->count, err);
    if (status == CW_OK)
        status = cw_photo_setup_from_json(setup, plan.frame_mm, &p->setup, p->marked_s, p->count, err);
    json_decref(how);
    json_decref(setup);
    return status;
}

/* "Evenness at 1/125, -0.21 to +0.13 EV against the middle of the frame. The film gate as it lies ..." */
static void caption_of(const photographs *p, const cw_map *map, const char *mark, char *text, size_t size)
{
    double least = 0, most = 0;
    for (size_t i = 0; i < map->columns * map->rows; i++) {
        if (!isfinite(map->values[i]))
            continue;
        least = fmin(least, map->values[i]);
        most = fmax(most, map->values[i]);
    }
    bool upright = p->setup.travel == CW_TRAVEL_UP || p->setup.travel == CW_TRAVEL_DOWN;
    snprintf(text, size,
             "Evenness at %s: from \u2212%.2f to +%.2f EV against the middle of the frame. The film gate as it lies in "
             "the picture; the curtains run %s%s. White: not known.",
             mark, -least, most, upright ? "" : "to the ", cw_photo_travel_name(p->setup.travel));
}

static cw_status keep_map(material *m, const photographs *p, size_t i, cw_report_map *to, cw_error *err)
{
    double values[CW_PHOTO_CELLS];
    char mark[48], title[80], text[400];
    cw_map map;
    cw_photo_result *result = malloc(sizeof *result);
    if (result == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a map of evenness");
    cw_buf svg = cw_buf_new(16 << 20);
    cw_status status = cw_photo_judge(&p->compared[i], &p->setup, result, err);
    if (status == CW_OK) {
        cw_photo_map(&p->compared[i], result, &p->setup, values, &map);
        snprintf(mark, sizeof mark, "photograph %zu", i + 1);
        if (!isnan(p->marked_s[i]))
            cw_mark_text(p->marked_s[i], mark, sizeof mark);
        snprintf(title, sizeof title, "Evenness at %s", mark);
        caption_of(p, &map, mark, text, sizeof text);
        status = cw_map_svg(&map, title, 0, &svg, err);
    }
    if (status == CW_OK)
        status = gather_keep(m, cw_buf_string(&svg), &to->svg, err);
    if (status == CW_OK)
        status = gather_keep(m, text, &to->caption, err);
    cw_buf_free(&svg);
    free(result);
    return status;
}

cw_status gather_maps(cw_bench *bench, material *m, const cw_test *stored, cw_report_test *to, cw_error *err)
{
    cw_error trouble;
    if (stored->recording_id == 0)
        return CW_OK;
    photographs *p = calloc(1, sizeof *p);
    if (p == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for photographs");
    cw_status status = read_kept(bench, stored, p, &trouble);
    cw_report_map *maps = status == CW_OK ? calloc(p->count, sizeof *maps) : NULL;
    to->maps = maps;
    for (size_t i = 0; maps != NULL && i < p->count && status == CW_OK; i++) {
        status = keep_map(m, p, i, &maps[i], &trouble);
        to->map_count += status == CW_OK;
    }
    free(p);
    if (status == CW_OK)
        return CW_OK;
    char text[CW_ERROR_TEXT + 100];
    snprintf(text, sizeof text, "The evenness over the frame of %s cannot be drawn: %s", stored->tested_on,
             trouble.text);
    return gather_remain(m, text, err);
}
