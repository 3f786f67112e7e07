/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The photos of a job for paper: where each belongs, and those that belong to nothing but the job. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

#include "report/gather_inside.h"

/* The caption, then what each numbered mark says. */
static cw_status keep_caption(material *m, const cw_photo *photo, const cw_photo_mark_list *marks, const char **kept,
                              cw_error *err)
{
    cw_buf words = cw_buf_new(65536);
    cw_buf_text(&words, photo->caption);
    for (size_t i = 0; i < marks->count; i++)
        if (*marks->items[i].text != '\0')
            cw_buf_printf(&words, "%s%" PRId64 ": %s", words.length > 0 ? "; " : "", marks->items[i].number,
                          marks->items[i].text);
    cw_status status = cw_buf_check(&words, "a photo's caption", err);
    if (status == CW_OK)
        status = gather_keep(m, cw_buf_string(&words), kept, err);
    cw_buf_free(&words);
    return status;
}

/* The 1280-dot picture where there is one, else the original; where neither is, the paper says which is missing. */
static void photo_file(cw_bench *bench, int64_t id, char *path, size_t size)
{
    cw_error ignored;
    if (cw_photo_thumb(bench, id, CW_THUMB_LARGE, path, size, &ignored) == CW_OK ||
        cw_photo_path(bench, id, path, size, &ignored) == CW_OK)
        return;
    snprintf(path, size, "photo %" PRId64 " of the bench", id);
}

cw_status gather_photo(cw_bench *bench, material *m, const cw_photo *photo, cw_doc_photo *to, cw_error *err)
{
    char path[4096];
    cw_photo_mark_list marks;
    to->id = photo->id;
    to->width_px = (int)photo->width_px;
    to->height_px = (int)photo->height_px;
    photo_file(bench, photo->id, path, sizeof path);
    CW_TRY(gather_keep(m, path, &to->path, err));
    CW_TRY(cw_photo_mark_page(bench, photo->id, &marks, err));
    cw_status status = keep_caption(m, photo, &marks, &to->caption, err);
    cw_doc_mark *made = calloc(marks.count + 1, sizeof *made);
    if (made == NULL && status == CW_OK)
        status = cw_fail(err, CW_MEMORY, "no memory for the marks of a photo");
    for (size_t i = 0; made != NULL && i < marks.count; i++)
        made[i] =
            (cw_doc_mark){(int)marks.items[i].number, marks.items[i].x, marks.items[i].y, marks.items[i].hook_deg};
    to->marks = made;
    to->mark_count = made != NULL ? marks.count : 0;
    cw_photo_mark_list_free(&marks);
    return status;
}

void gather_free_photo(const cw_doc_photo *photo)
{
    free((void *)photo->marks); /* made here, const for the reader */
}

cw_status gather_step_photos(cw_bench *bench, material *m, int64_t step_id, cw_report_step *step, cw_error *err)
{
    cw_photo_list list;
    CW_TRY(cw_photo_page(bench, &(cw_photo_filter){.step_id = step_id, .most = PAGE}, &list, err));
    cw_doc_photo *made = calloc(list.count + 1, sizeof *made);
    cw_status status = made != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the photos of a step");
    step->photos = made;
    for (size_t i = 0; i < list.count && status == CW_OK; i++) {
        step->photo_count = i + 1;
        status = gather_photo(bench, m, &list.items[i], &made[i], err);
    }
    cw_photo_list_free(&list);
    return status;
}

cw_status gather_cover(cw_bench *bench, material *m, int64_t photo_id, cw_error *err)
{
    cw_photo photo;
    if (photo_id == 0 || m->without_photos)
        return CW_OK;
    CW_TRY(cw_photo_get(bench, photo_id, &photo, err));
    cw_status status = gather_photo(bench, m, &photo, &m->cover, err);
    cw_photo_free(&photo);
    m->report.cover = &m->cover;
    return status;
}

/* True where the report shows it already: on top, with what a list found, with a frame of the film. */
static bool is_shown(const material *m, int64_t photo_id)
{
    bool shown = m->report.cover != NULL && m->cover.id == photo_id;
    for (size_t i = 0; i < m->list_count; i++)
        for (size_t k = 0; k < m->lists[i].found_count; k++)
            shown = shown || m->lists[i].found[k].photo.id == photo_id;
    for (size_t i = 0; i < m->frame_count; i++)
        shown = shown || m->frames[i].photo.id == photo_id;
    return shown;
}

static cw_status add_more(cw_bench *bench, material *m, const cw_photo_list *list, cw_error *err)
{
    for (size_t i = 0; i < list->count; i++) {
        const cw_photo *photo = &list->items[i];
        if (photo->step_id != 0 || is_shown(m, photo->id))
            continue;
        CW_TRY(cw_grow(&m->more, &m->more_capacity, m->more_count + 1, sizeof *m->more, PHOTOS_MOST,
                       "photos of a report", err));
        m->more[m->more_count] = (cw_doc_photo){0};
        m->more_count++;
        CW_TRY(gather_photo(bench, m, photo, &m->more[m->more_count - 1], err));
    }
    return CW_OK;
}

cw_status gather_more_photos(cw_bench *bench, material *m, int64_t job_id, cw_error *err)
{
    for (int64_t first = 0; !m->without_photos; first += PAGE) {
        cw_photo_list list;
        CW_TRY(cw_photo_page(bench, &(cw_photo_filter){.job_id = job_id, .first = first, .most = PAGE}, &list, err));
        cw_status status = add_more(bench, m, &list, err);
        bool last = list.count < PAGE;
        cw_photo_list_free(&list);
        m->report.more_photos = m->more;
        m->report.more_photo_count = m->more_count;
        if (status != CW_OK || last)
            return status;
    }
    return CW_OK;
}
