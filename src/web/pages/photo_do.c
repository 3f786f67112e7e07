/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What can be done with a photo and its marks. */
#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/unit.h"
#include "notebook/job.h"
#include "notebook/photo.h"
#include "web/pages/pages.h"

enum { PLACE_MOST = 20000 };

/* Where the picture was pressed, in parts of its width and height. Pressed by the keyboard an image button sends 0, 0:
 * the mark then stands in the middle, to be moved by pressing again. */
static cw_status pressed_at(const cw_request *request, double *x, double *y, cw_error *err)
{
    long px, py, width, height;
    CW_TRY(cw_whole(request, "at.x", 0, PLACE_MOST, 0, &px, err));
    CW_TRY(cw_whole(request, "at.y", 0, PLACE_MOST, 0, &py, err));
    CW_TRY(cw_whole(request, "w", 1, PLACE_MOST, 0, &width, err));
    CW_TRY(cw_whole(request, "h", 1, PLACE_MOST, 0, &height, err));
    if (width == 0 || height == 0 || px > width || py > height)
        return cw_fail(err, CW_INPUT, "the place pressed lies outside the photo");
    bool by_key = px == 0 && py == 0;
    *x = by_key ? 0.5 : (double)px / (double)width;
    *y = by_key ? 0.5 : (double)py / (double)height;
    return CW_OK;
}

cw_status post_mark(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_photo_mark mark = {.photo_id = request->match.ids[0], .hook_deg = NAN};
    int64_t id;
    CW_TRY(pressed_at(request, &mark.x, &mark.y, err));
    CW_TRY(cw_photo_mark_add(request->bench, &mark, &id, err));
    cw_go(request, reply, NULL, "/photos/%" PRId64 "#mark-%" PRId64, mark.photo_id, id);
    return CW_OK;
}

static cw_status change_mark(cw_request *request, const cw_photo_mark *old, cw_error *err)
{
    if (cw_ticked(request, "delete"))
        return cw_photo_mark_delete(request->bench, old->id, err);
    cw_photo_mark mark = *old;
    mark.text = cw_posted(request, "text");
    mark.hook_deg = NAN;
    if (cw_posted(request, "hook")[0] != '\0') {
        long degrees;
        CW_TRY(cw_whole(request, "hook", 0, 359, 0, &degrees, err));
        mark.hook_deg = (double)degrees;
    }
    return cw_photo_mark_update(request->bench, &mark, err);
}

cw_status post_mark_edit(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_photo_mark mark;
    CW_TRY(cw_photo_mark_get(request->bench, request->match.ids[0], &mark, err));
    cw_status status = change_mark(request, &mark, err);
    if (status == CW_OK)
        cw_go(request, reply, NULL, "/photos/%" PRId64 "#marks", mark.photo_id);
    cw_photo_mark_free(&mark);
    return status;
}

cw_status post_photo_edit(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_photo photo;
    CW_TRY(cw_photo_get(request->bench, request->match.ids[0], &photo, err));
    cw_photo changed = photo;
    changed.caption = cw_posted(request, "caption");
    cw_status status = cw_photo_update(request->bench, &changed, err);
    if (status == CW_OK)
        cw_go(request, reply, "Kept.", "/photos/%" PRId64, photo.id);
    cw_photo_free(&photo);
    return status;
}

static cw_status make_cover(cw_bench *bench, int64_t job_id, int64_t photo_id, cw_error *err)
{
    cw_job job;
    CW_TRY(cw_job_get(bench, job_id, &job, err));
    job.cover_photo_id = photo_id;
    cw_status status = cw_job_update(bench, &job, err);
    cw_job_free(&job);
    return status;
}

cw_status post_photo_cover(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_photo photo;
    CW_TRY(cw_photo_get(request->bench, request->match.ids[0], &photo, err));
    cw_status status = make_cover(request->bench, photo.job_id, photo.id, err);
    if (status == CW_OK)
        cw_go(request, reply, "The bench now shows this photo for the job.", "/photos/%" PRId64, photo.id);
    cw_photo_free(&photo);
    return status;
}

cw_status post_photo_delete(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_photo photo;
    CW_TRY(cw_photo_get(request->bench, request->match.ids[0], &photo, err));
    int64_t job_id = photo.job_id;
    cw_photo_free(&photo);
    CW_TRY(cw_photo_delete(request->bench, request->match.ids[0], err));
    cw_go(request, reply, "Taken out. \"History and undo\" brings it back.", "/jobs/%" PRId64 "#photos", job_id);
    return CW_OK;
}
