/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/list_sheet.h"

#include <inttypes.h>
#include <math.h>
#include <qrencode.h>
#include <stdio.h>
#include <string.h>

#include "base/say.h"
#include "notebook/job.h"
#include "report/cells.h"
#include "shutter/marks.h"
#include "worksheets/cautions.h"

#define CODE_MM 26.0

/* ---- what both share ---- */

/* A code as one path of squares with the quiet margin of four modules that ISO/IEC 18004 asks. */
static void add_code(cw_document *document, const char *words)
{
    QRcode *code = QRcode_encodeString8bit(words, 0, QR_ECLEVEL_M);
    if (code == NULL)
        return; /* too long for a code: the address stands beside it in words all the same */
    cw_buf svg = cw_buf_new(1 << 20);
    int side = code->width + 8;
    cw_buf_printf(&svg, "<svg xmlns='http://www.w3.org/2000/svg' width='%d' height='%d' viewBox='0 0 %d %d'><path d='",
                  side, side, side, side);
    for (int y = 0; y < code->width; y++)
        for (int x = 0; x < code->width; x++)
            if ((code->data[y * code->width + x] & 1) != 0)
                cw_buf_printf(&svg, "M%d %dh1v1h-1z", x + 4, y + 4);
    cw_buf_text(&svg, "'/></svg>");
    QRcode_free(code);
    if (!svg.failed)
        cw_doc_svg(document, cw_buf_string(&svg), CODE_MM, words);
    cw_buf_free(&svg);
}

static cw_status open_sheet(const cw_job *job, const char *title, const char *subtitle, const cw_list_look *look,
                            cw_document **document, cw_error *err)
{
    cw_buf head = cw_buf_new(1 << 16), foot = cw_buf_new(1 << 16);
    cw_say_told(&head, "%s: %s%s%s", title, job->camera, job->serial[0] != '\0' ? ", " : "", job->serial);
    cw_say(&foot, "Job %" PRId64 ", %s", job->id, look->made_on);
    cw_status status = cw_document_new(
        &(cw_document_look){.paper = look->paper, .title = cw_buf_string(&head), .footer = cw_buf_string(&foot)},
        document, err);
    if (status == CW_OK) {
        char under[CW_LINE_MOST * 2];
        snprintf(under, sizeof under, "%s, job %" PRId64, job->camera, job->id);
        cw_doc_title(*document, title, under);
        cw_doc_small(*document, subtitle);
    }
    cw_buf_free(&head);
    cw_buf_free(&foot);
    return status;
}

static cw_status close_sheet(cw_document *made, cw_document **document, cw_error *err)
{
    cw_status status = cw_document_check(made, err);
    if (status != CW_OK) {
        cw_document_free(made);
        return status;
    }
    *document = made;
    return CW_OK;
}

/* behind: "/film", "/lists/3" */
static void say_page(cw_document *document, const cw_list_look *look, int64_t job_id, const char *behind)
{
    char address[400];
    if (look->site == NULL || look->site[0] == '\0')
        return;
    int wrote = snprintf(address, sizeof address, "%s/jobs/%" PRId64 "%s", look->site, job_id, behind);
    if (wrote > 0 && (size_t)wrote < sizeof address)
        add_code(document, address);
}

/* ---- a list ---- */

static void add_item(cw_document *document, const cw_checklist *list, const cw_checklist_item *item)
{
    const cw_guide_item *guide = cw_guide_item_find(list->kind, item->key);
    cw_doc_group_begin(document);
    cw_doc_tick_told(document, item->answer != CW_ANSWER_OPEN, item->text);
    if (guide != NULL)
        cw_doc_small(document, guide->how);
    if (guide != NULL && guide->caution != NULL)
        cw_doc_caution(document, cw_caution(guide->caution));
    if (item->answer == CW_ANSWER_OPEN)
        cw_doc_small(document,
                     "done / not applicable / found: ........................................................");
    else
        cw_doc_labelled(document, cw_answer_word(item->answer),
                        item->remark[0] != '\0' ? item->remark : item->answered_at);
    cw_doc_group_end(document);
}

static cw_status make_list(const cw_job *job, const cw_checklist *list, const cw_checklist_item_list *items,
                           const cw_list_look *look, cw_document **document, cw_error *err)
{
    const cw_guide *guide = cw_guide_find(list->kind);
    cw_document *made;
    CW_TRY(open_sheet(job, list->title, guide != NULL ? guide->purpose : NULL, look, &made, err));
    if (list->moment != CW_MOMENT_ANY)
        cw_doc_labelled(made, "When", list->moment == CW_MOMENT_BEFORE ? "before the work" : "after the work");
    char behind[40];
    snprintf(behind, sizeof behind, "/lists/%" PRId64, list->id);
    say_page(made, look, job->id, behind);
    for (size_t i = 0; i < items->count; i++)
        add_item(made, list, &items->items[i]);
    cw_doc_small(made, "By whom, and when: ..........................................");
    if (guide != NULL) {
        char source[200];
        snprintf(source, sizeof source, "What to look at: %s.", guide->source);
        cw_doc_small_told(made, source);
    }
    return close_sheet(made, document, err);
}

cw_status cw_list_sheet_make(cw_bench *bench, int64_t checklist_id, const cw_list_look *look, cw_document **document,
                             cw_error *err)
{
    cw_checklist list;
    cw_job job;
    cw_checklist_item_list items;
    CW_TRY(cw_checklist_get(bench, checklist_id, &list, err));
    cw_status status = cw_job_get(bench, list.job_id, &job, err);
    if (status == CW_OK) {
        status = cw_checklist_items(bench, checklist_id, &items, err);
        if (status == CW_OK) {
            status = make_list(&job, &list, &items, look, document, err);
            cw_checklist_item_list_free(&items);
        }
        cw_job_free(&job);
    }
    cw_checklist_free(&list);
    return status;
}

/* ---- the film ---- */

void cw_frame_settings(const cw_film_frame *frame, char *text, size_t size)
{
    char time[CW_MARK_TEXT + 8] = "", aperture[32] = "", distance[48] = "";
    if (!isnan(frame->marked_s)) {
        char mark[CW_MARK_TEXT];
        cw_mark_text(frame->marked_s, mark, sizeof mark);
        snprintf(time, sizeof time, "%s s", mark);
    }
    if (!isnan(frame->f_number))
        snprintf(aperture, sizeof aperture, "%sf/%.2g", time[0] != '\0' ? ", " : "", frame->f_number);
    bool first = time[0] == '\0' && aperture[0] == '\0';
    if (isinf(frame->distance_mm))
        snprintf(distance, sizeof distance, "%sinfinity", first ? "" : ", ");
    else if (!isnan(frame->distance_mm))
        snprintf(distance, sizeof distance, "%s%.3g m", first ? "" : ", ", frame->distance_mm / 1e3);
    if (first && distance[0] == '\0')
        snprintf(text, size, "as the words say");
    else
        snprintf(text, size, "%s%s%s", time, aperture, distance);
}

static const char *verdict_words(cw_answer right)
{
    static const char *const words[CW_ANSWER_COUNT] = {"", "right", "NOT RIGHT", "not applicable"};
    return words[right];
}

static void add_frames(cw_document *document, const cw_film_frame_list *frames, const char *film)
{
    cw_cells cells = {0};
    cw_cells_column(&cells, "frame", CW_CELL_END);
    cw_cells_column(&cells, "settings", CW_CELL_START);
    cw_cells_column(&cells, "photograph", CW_CELL_START);
    cw_cells_column(&cells, "look for, when the film is back", CW_CELL_START);
    cw_cells_column(&cells, "seen", CW_CELL_START);
    for (size_t i = 0; i < frames->count; i++) {
        const cw_film_frame *frame = &frames->items[i];
        char settings[120];
        if (strcmp(frame->film, film) != 0)
            continue;
        cw_frame_settings(frame, settings, sizeof settings);
        cw_cells_format(&cells, "%" PRId64, frame->frame);
        cw_cells_text(&cells, settings);
        cw_cells_text(&cells, frame->scene);
        cw_cells_text(&cells, frame->expected);
        if (frame->right == CW_ANSWER_OPEN && frame->seen[0] == '\0')
            cw_cells_text(&cells, "....................\n....................");
        else
            cw_cells_format(&cells, "%s%s%s", verdict_words(frame->right),
                            frame->seen[0] != '\0' && frame->right != CW_ANSWER_OPEN ? ": " : "", frame->seen);
    }
    cw_cells_finish(&cells, document);
}

static cw_status make_log(const cw_job *job, const cw_film_frame_list *frames, const cw_list_look *look,
                          cw_document **document, cw_error *err)
{
    cw_document *made;
    CW_TRY(open_sheet(job, "Test film",
                      "Write the job's number on the cassette. Write down what was different from the plan: light, "
                      "aperture, distance.",
                      look, &made, err));
    say_page(made, look, job->id, "/film");
    for (size_t i = 0; i < frames->count; i++) {
        if (i > 0 && strcmp(frames->items[i].film, frames->items[i - 1].film) == 0)
            continue;
        cw_doc_heading(made, 2, frames->items[i].film[0] != '\0' ? frames->items[i].film : "The film");
        cw_doc_labelled(made, "Shot on, developed how", "..........................................................");
        add_frames(made, frames, frames->items[i].film);
    }
    cw_doc_small(made, "Exposure after ISO 2720 (N\xc2\xb2/t); depth of field after Smith, Modern Optical Engineering, "
                       "eq. 9.9 and 9.10; which frame shows what: common practice, no source.");
    return close_sheet(made, document, err);
}

cw_status cw_film_log_make(cw_bench *bench, int64_t job_id, const cw_list_look *look, cw_document **document,
                           cw_error *err)
{
    cw_job job;
    cw_film_frame_list frames;
    CW_TRY(cw_job_get(bench, job_id, &job, err));
    cw_status status = cw_film_frame_page(bench, job_id, &frames, err);
    if (status == CW_OK) {
        status = frames.count == 0
                     ? cw_fail(err, CW_NOT_FOUND, "no frame of a test film is planned in job %" PRId64 " yet", job_id)
                     : make_log(&job, &frames, look, document, err);
        cw_film_frame_list_free(&frames);
    }
    cw_job_free(&job);
    return status;
}
