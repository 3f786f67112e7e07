/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the plan to PDF. */
#include <cairo-pdf.h>
#include <errno.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "base/file.h"
#include "base/say.h"
#include "draw/paint.h"
#include "report/document_model.h"

static const double PHOTO_DPI = 220, CAPTION_GAP = 3, PHOTO_GAP = 8;

static void sign(cairo_t *cr, const cw_block *block, double y, double height, bool first)
{
    double x = CW_PAGE_MARGIN;
    cairo_save(cr);
    cairo_set_source_rgb(cr, 0, 0, 0);
    if (block->sign == CW_SIGN_BAR) {
        cairo_rectangle(cr, x + 2, y, 3, height);
        cairo_fill(cr);
    } else if (first && block->sign == CW_SIGN_DOT) {
        cairo_arc(cr, x + 6, y + 6.5, 1.6, 0, 2 * M_PI);
        cairo_fill(cr);
    } else if (first && (block->sign == CW_SIGN_BOX || block->sign == CW_SIGN_TICKED)) {
        cairo_set_line_width(cr, 0.9);
        cairo_rectangle(cr, x + 0.5, y + 1, 10, 10);
        cairo_stroke(cr);
        if (block->sign == CW_SIGN_TICKED) {
            cairo_set_line_width(cr, 1.6);
            cairo_move_to(cr, x + 2.5, y + 6);
            cairo_line_to(cr, x + 4.8, y + 8.6);
            cairo_line_to(cr, x + 9, y + 3);
            cairo_stroke(cr);
        }
    }
    cairo_restore(cr);
}

static void draw_text(cairo_t *cr, const cw_block *block, const cw_slice *slice, double y)
{
    sign(cr, block, y, slice->height, slice->from == 0);
    cairo_set_source_rgb(cr, 0, 0, 0);
    cw_words_draw(cr, block->text, slice->from, slice->to, CW_PAGE_MARGIN + block->indent, y);
}

static void draw_caption(cairo_t *cr, PangoLayout *caption, double x, double y)
{
    if (caption == NULL)
        return;
    cairo_set_source_rgb(cr, 0.2, 0.2, 0.2);
    cw_words_draw(cr, caption, 0, cw_words_lines(caption), x, y);
}

static void draw_picture(cairo_t *cr, const cw_block *block, double y)
{
    cairo_save(cr);
    if (block->kind == CW_BLOCK_SVG) {
        /* Whether it could be drawn was seen when it was loaded; what is left are surface errors, which cairo keeps. */
        (void)rsvg_handle_render_document(block->svg, cr,
                                          &(RsvgRectangle){CW_PAGE_MARGIN, y, block->width, block->height}, NULL);
    } else {
        cairo_translate(cr, CW_PAGE_MARGIN, y);
        cairo_scale(cr, block->scale, block->scale);
        cairo_set_source_surface(cr, block->recorded, 0, 0);
        cairo_paint(cr);
    }
    cairo_restore(cr);
    draw_caption(cr, block->text, CW_PAGE_MARGIN, y + block->height + CAPTION_GAP);
}

static void draw_missing(cairo_t *cr, cw_set_photo *p, double x, double y)
{
    cairo_set_source_rgb(cr, 0.4, 0.4, 0.4);
    cairo_set_line_width(cr, 0.7);
    cairo_rectangle(cr, x, y, p->width, p->height);
    cairo_stroke(cr);
    cairo_set_source_rgb(cr, 0, 0, 0);
    cw_words_draw(cr, p->problem, 0, cw_words_lines(p->problem), x + 6, y + 6);
}

/* White on black with a white rim, so that a number reads on any photo. */
static void draw_mark(cairo_t *cr, cw_document *document, const cw_doc_mark *mark, double x, double y)
{
    static const double R = 6.5, ARROW = 24;
    char number[16];
    cairo_save(cr);
    cairo_translate(cr, x, y);
    for (int rim = 1; rim >= 0; rim--) {
        cairo_set_source_rgb(cr, rim, rim, rim);
        cairo_set_line_width(cr, rim ? 4 : 1.8);
        if (isfinite(mark->hook_deg)) {
            double angle = -mark->hook_deg * M_PI / 180;
            cairo_save(cr);
            cairo_rotate(cr, angle);
            cairo_move_to(cr, 0, 0);
            cairo_line_to(cr, ARROW, 0);
            cairo_move_to(cr, ARROW - 6, -4);
            cairo_line_to(cr, ARROW, 0);
            cairo_line_to(cr, ARROW - 6, 4);
            cairo_stroke(cr);
            cairo_restore(cr);
        }
        cairo_new_path(cr);
        cairo_arc(cr, 0, 0, R + rim, 0, 2 * M_PI);
        cairo_fill(cr);
    }
    cairo_set_source_rgb(cr, 1, 1, 1);
    snprintf(number, sizeof number, "%d", mark->number);
    PangoLayout *words = cw_set_words(document, number, mark->number < 100 ? 8 : 6, true, 0);
    cw_words_draw(cr, words, 0, 1, -cw_words_width(words) / 2, -cw_words_height(words) / 2);
    g_object_unref(words);
    cairo_restore(cr);
}

static void draw_photo(cairo_t *cr, cw_document *document, cw_set_photo *p, double x, double y)
{
    cairo_surface_t *surface = NULL;
    cw_error trouble;
    int dots = (int)ceil(p->width / 72 * PHOTO_DPI);
    if (p->problem == NULL && cw_print_photo_load(p->path, &p->photo, dots, &surface, &trouble) != CW_OK)
        p->problem = cw_set_words(document, trouble.text, 8, false, p->width - 12);
    if (p->problem != NULL) {
        draw_missing(cr, p, x, y);
    } else {
        cairo_save(cr);
        cairo_translate(cr, x, y);
        cairo_scale(cr, p->width / cairo_image_surface_get_width(surface),
                    p->height / cairo_image_surface_get_height(surface));
        cairo_set_source_surface(cr, surface, 0, 0);
        cairo_paint(cr);
        cairo_restore(cr);
        cairo_surface_destroy(surface);
        for (size_t i = 0; i < p->mark_count; i++)
            draw_mark(cr, document, &p->marks[i], x + p->marks[i].x * p->width, y + p->marks[i].y * p->height);
    }
    draw_caption(cr, p->caption, x, y + p->height + CAPTION_GAP);
}

void cw_draw_slice(cairo_t *cr, cw_document *document, const cw_slice *slice, double y)
{
    cw_block *block = &document->blocks[slice->block];
    switch (block->kind) {
    case CW_BLOCK_TEXT:
        draw_text(cr, block, slice, y);
        break;
    case CW_BLOCK_TABLE:
        if (slice->row == SIZE_MAX)
            cw_table_draw_head(cr, block->table, CW_PAGE_MARGIN, y);
        else
            cw_table_draw_part(cr, block->table, slice->row, slice->from, slice->to, CW_PAGE_MARGIN, y);
        break;
    case CW_BLOCK_SVG:
    case CW_BLOCK_DRAWING:
        draw_picture(cr, block, y);
        break;
    case CW_BLOCK_PHOTOS:
        for (size_t i = slice->from; i < slice->to && i < block->photo_count; i++)
            draw_photo(cr, document, &block->photos[i],
                       CW_PAGE_MARGIN + (double)(i - slice->from) * (block->photo_column + PHOTO_GAP), y);
        break;
    case CW_BLOCK_SPACE:
    case CW_BLOCK_PAGE_BREAK:
        break;
    }
}

/* One line, cut with an ellipsis, at the left; returns nothing to lay by, the head and foot have their own place. */
static void running_line(cairo_t *cr, cw_document *document, const char *text, double width, double y)
{
    PangoLayout *words = cw_set_words(document, text, 8, false, width);
    pango_layout_set_height(words, -1);
    pango_layout_set_ellipsize(words, PANGO_ELLIPSIZE_END);
    cw_words_draw(cr, words, 0, 1, CW_PAGE_MARGIN, y);
    g_object_unref(words);
}

static void head_and_foot(cairo_t *cr, cw_document *document, size_t page, size_t pages)
{
    cw_buf number = cw_buf_new(256);
    double foot = document->page_h - CW_PAGE_MARGIN;
    cairo_set_source_rgb(cr, 0.25, 0.25, 0.25);
    cw_say(&number, "page %zu of %zu", page + 1, pages);
    PangoLayout *words = cw_set_words(document, cw_buf_string(&number), 8, false, 0);
    cw_buf_free(&number);
    double width = cw_words_width(words);
    cw_words_draw(cr, words, 0, 1, document->page_w - CW_PAGE_MARGIN - width, foot - 9);
    g_object_unref(words);
    running_line(cr, document, document->footer, document->inner_w - width - 12, foot - 9);
    if (page > 0)
        running_line(cr, document, document->title, document->inner_w, CW_PAGE_MARGIN - 4);
    cairo_set_source_rgb(cr, 0.6, 0.6, 0.6);
    cairo_set_line_width(cr, 0.5);
    cairo_move_to(cr, CW_PAGE_MARGIN, foot - 13);
    cairo_line_to(cr, document->page_w - CW_PAGE_MARGIN, foot - 13);
    cairo_stroke(cr);
}

/* A heading becomes a bookmark under the last one of a higher level. */
static void bookmark(cairo_surface_t *surface, const cw_block *block, const cw_place *place, int parents[4])
{
    char where[64];
    snprintf(where, sizeof where, "page=%zu pos=[0 %d]", place->page + 1, (int)place->y);
    int parent = block->level > 1 ? parents[block->level - 1] : CAIRO_PDF_OUTLINE_ROOT;
    int made = cairo_pdf_surface_add_outline(surface, parent, pango_layout_get_text(block->text), where,
                                             CAIRO_PDF_OUTLINE_FLAG_OPEN);
    for (int level = block->level; level < 4; level++)
        parents[level] = made;
}

static void draw_pages(cairo_surface_t *surface, cairo_t *cr, cw_document *document, const cw_plan *plan)
{
    static const double TOP = CW_PAGE_MARGIN + CW_PAGE_HEAD;
    int parents[4] = {CAIRO_PDF_OUTLINE_ROOT, CAIRO_PDF_OUTLINE_ROOT, CAIRO_PDF_OUTLINE_ROOT, CAIRO_PDF_OUTLINE_ROOT};
    size_t at = 0;
    for (size_t page = 0; page < plan->pages; page++) {
        head_and_foot(cr, document, page, plan->pages);
        for (; at < plan->place_count && plan->places[at].page == page; at++) {
            const cw_place *place = &plan->places[at];
            const cw_slice *slice = &plan->slices[place->slice];
            const cw_block *block = &document->blocks[slice->block];
            if (place->head_only)
                cw_table_draw_head(cr, block->table, CW_PAGE_MARGIN, TOP + place->y);
            else
                cw_draw_slice(cr, document, slice, TOP + place->y);
            if (block->level > 0 && slice->from == 0)
                bookmark(surface, block, place, parents);
        }
        cairo_show_page(cr);
    }
}

static cairo_status_t print(cw_document *document, const cw_plan *plan, cairo_write_func_t write, void *closure)
{
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(write, closure, document->page_w, document->page_h);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, document->title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Camerawright " CW_VERSION);
    cairo_t *cr = cairo_create(surface);
    draw_pages(surface, cr, document, plan);
    cairo_status_t result = cairo_status(cr);
    cairo_destroy(cr);
    cairo_surface_finish(surface);
    if (result == CAIRO_STATUS_SUCCESS)
        result = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    return result;
}

cw_status cw_document_pdf(cw_document *document, cw_buf *out, cw_error *err)
{
    cw_plan plan;
    CW_TRY(cw_document_check(document, err));
    CW_TRY(cw_plan_make(document, &plan, err));
    cairo_status_t result = print(document, &plan, cw_paint_to_buf, out);
    cw_plan_free(&plan);
    if (result != CAIRO_STATUS_SUCCESS)
        return cw_fail(err, CW_MEMORY, "printing \"%s\" failed: %s", document->title, cairo_status_to_string(result));
    return cw_document_check(document, err);
}

/* Where the bytes go, and why they no longer do. */
typedef struct {
    FILE *stream;
    int reason;
} sink;

static cairo_status_t to_file(void *closure, const unsigned char *bytes, unsigned int count)
{
    sink *s = closure;
    if (fwrite(bytes, 1, count, s->stream) == count)
        return CAIRO_STATUS_SUCCESS;
    s->reason = errno;
    return CAIRO_STATUS_WRITE_ERROR;
}

cw_status cw_document_save(cw_document *document, const char *path, cw_error *err)
{
    cw_plan plan;
    cw_new_file file;
    CW_TRY(cw_document_check(document, err));
    CW_TRY(cw_plan_make(document, &plan, err));
    cw_status status = cw_new_file_open(path, &file, err);
    if (status != CW_OK) {
        cw_plan_free(&plan);
        return status;
    }
    sink s = {.stream = file.stream};
    cairo_status_t result = print(document, &plan, to_file, &s);
    cw_plan_free(&plan);
    if (result == CAIRO_STATUS_SUCCESS)
        return cw_new_file_commit(&file, err);
    cw_new_file_abandon(&file);
    if (s.reason != 0)
        return cw_fail(err, CW_FILE, "writing \"%s\" failed: %s", path, strerror(s.reason));
    return cw_fail(err, CW_MEMORY, "printing \"%s\" failed: %s", document->title, cairo_status_to_string(result));
}
