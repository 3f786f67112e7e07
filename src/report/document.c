/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/document.h"

#include <cairo-pdf.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "base/manner.h"
#include "base/say.h"
#include "base/utf8.h"
#include "draw/paint.h"
#include "report/document_model.h"

enum { BLOCKS_MOST = 100000, COLUMNS_MOST = 24, CELLS_MOST = 500000 };

static const double BODY = 9.5, SMALL = 8, LINE = 14;

static char *clean_line(const char *text)
{
    cw_buf buf = cw_buf_new(4096);
    cw_utf8_clean(&buf, text);
    cw_error ignored; /* a title that does not fit is no title; the caller sees NULL */
    char *taken = NULL;
    if (cw_buf_take(&buf, &taken, &ignored) != CW_OK)
        cw_buf_free(&buf);
    return taken;
}

cw_status cw_document_new(const cw_document_look *look, cw_document **document, cw_error *err)
{
    const cw_paper *paper;
    *document = NULL;
    CW_TRY(cw_paper_find(look->paper, &paper, err));
    cw_document *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a document");
    made->page_w = (look->landscape ? paper->height_mm : paper->width_mm) * CW_PT_PER_MM;
    made->page_h = (look->landscape ? paper->width_mm : paper->height_mm) * CW_PT_PER_MM;
    made->inner_w = made->page_w - 2 * CW_PAGE_MARGIN;
    made->inner_h = made->page_h - 2 * CW_PAGE_MARGIN - CW_PAGE_HEAD - CW_PAGE_FOOT;
    made->title = clean_line(look->title);
    made->footer = clean_line(look->footer);
    if (made->title == NULL || made->footer == NULL) {
        cw_document_free(made);
        return cw_fail(err, CW_INPUT, "the document's title or footer is longer than a line can be");
    }
    made->fonts = pango_cairo_font_map_new();
    pango_cairo_font_map_set_resolution(PANGO_CAIRO_FONT_MAP(made->fonts), 72);
    made->context = pango_font_map_create_context(made->fonts);
    pango_context_set_round_glyph_positions(made->context, FALSE);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    pango_cairo_context_set_font_options(made->context, options);
    cairo_font_options_destroy(options);
    *document = made;
    return CW_OK;
}

static void free_photos(cw_block *block)
{
    for (size_t i = 0; i < block->photo_count; i++) {
        free(block->photos[i].path);
        free(block->photos[i].marks);
        if (block->photos[i].caption != NULL)
            g_object_unref(block->photos[i].caption);
        if (block->photos[i].problem != NULL)
            g_object_unref(block->photos[i].problem);
    }
    free(block->photos);
}

void cw_document_free(cw_document *document)
{
    if (document == NULL)
        return;
    for (size_t i = 0; i < document->block_count; i++) {
        cw_block *block = &document->blocks[i];
        if (block->text != NULL)
            g_object_unref(block->text);
        if (block->svg != NULL)
            g_object_unref(block->svg);
        if (block->recorded != NULL)
            cairo_surface_destroy(block->recorded);
        cw_table_free(block->table);
        free_photos(block);
    }
    free(document->blocks);
    free(document->title);
    free(document->footer);
    if (document->context != NULL)
        g_object_unref(document->context);
    if (document->fonts != NULL)
        g_object_unref(document->fonts);
    free(document);
}

cw_status cw_document_check(const cw_document *document, cw_error *err)
{
    if (document->failure.status == CW_OK)
        return CW_OK;
    return cw_fail(err, document->failure.status, "%s", document->failure.text);
}

/* A new block at the end, NULL after a failure. */
static cw_block *add(cw_document *document, cw_block_kind kind, double space_before)
{
    if (document->failure.status != CW_OK)
        return NULL;
    cw_status status = cw_grow(&document->blocks, &document->block_capacity, document->block_count + 1,
                               sizeof *document->blocks, BLOCKS_MOST, "parts of a document", &document->failure);
    document->failure.status = status;
    if (status != CW_OK)
        return NULL;
    cw_block *block = &document->blocks[document->block_count++];
    *block = (cw_block){.kind = kind, .space_before = space_before, .group = document->group};
    return block;
}

static cw_block *add_text(cw_document *document, const char *text, double size, bool bold, double indent,
                          double space_before)
{
    if (text == NULL || *text == '\0')
        return NULL;
    cw_block *block = add(document, CW_BLOCK_TEXT, space_before);
    if (block == NULL)
        return NULL;
    block->indent = indent;
    block->text = cw_set_words(document, text, size, bold, document->inner_w - indent);
    return block;
}

void cw_doc_title(cw_document *document, const char *title, const char *subtitle)
{
    cw_block *block = add_text(document, title, 20, true, 0, 0);
    if (block != NULL)
        block->keep_next = true;
    add_text(document, subtitle, 11, false, 0, 3);
}

void cw_doc_heading(cw_document *document, int level, const char *text)
{
    static const double sizes[] = {14, 11.5, 10}, before[] = {18, 12, 9};
    int which = level < 1 ? 0 : level > 3 ? 2 : level - 1;
    cw_block *block = add_text(document, text, sizes[which], true, 0, before[which]);
    if (block == NULL)
        return;
    block->keep_next = true;
    block->level = which + 1;
}

void cw_doc_heading_format(cw_document *document, int level, const char *format, ...)
{
    cw_buf text = cw_buf_new(1 << 20);
    va_list args;
    va_start(args, format);
    cw_vsay(&text, false, format, args);
    va_end(args);
    cw_doc_heading(document, level, cw_buf_string(&text));
    cw_buf_free(&text);
}

void cw_doc_paragraph(cw_document *document, const char *text)
{
    add_text(document, text, BODY, false, 0, 5);
}

void cw_doc_small(cw_document *document, const char *text)
{
    add_text(document, text, SMALL, false, 0, 4);
}

/* "Label: text.  Label: text" with the labels bold; NULL where no fact has a text. */
static cw_block *add_facts(cw_document *document, const cw_doc_fact *facts, size_t count, double indent, double before)
{
    cw_buf words = cw_buf_new(1 << 20);
    PangoAttrList *list = pango_attr_list_new();
    for (size_t i = 0; i < count; i++) {
        if (facts[i].text == NULL || *facts[i].text == '\0')
            continue;
        if (words.length > 0)
            cw_buf_text(&words, "   ");
        PangoAttribute *bold = pango_attr_weight_new(PANGO_WEIGHT_BOLD);
        bold->start_index = (guint)words.length;
        cw_utf8_clean(&words, cw_words_of(facts[i].label));
        cw_buf_char(&words, ':');
        bold->end_index = (guint)words.length;
        pango_attr_list_insert(list, bold);
        cw_buf_char(&words, ' ');
        cw_utf8_clean_lines(&words, cw_words_of(facts[i].text));
    }
    cw_block *block = add_text(document, cw_buf_string(&words), BODY, false, indent, before);
    if (block != NULL)
        pango_layout_set_attributes(block->text, list);
    if (words.failed && document->failure.status == CW_OK)
        document->failure.status =
            cw_fail(&document->failure, CW_RANGE, "the text of \"%.40s\" is too long to be printed", facts[0].label);
    pango_attr_list_unref(list);
    cw_buf_free(&words);
    return block;
}

void cw_doc_labelled(cw_document *document, const char *label, const char *text)
{
    (void)add_facts(document, &(cw_doc_fact){label, text}, 1, 0, 2.5);
}

void cw_doc_facts(cw_document *document, const cw_doc_fact *facts, size_t count)
{
    (void)add_facts(document, facts, count, 0, 2.5);
}

void cw_doc_item(cw_document *document, const char *text)
{
    cw_block *block = add_text(document, text, BODY, false, LINE, 2.5);
    if (block != NULL)
        block->sign = CW_SIGN_DOT;
}

void cw_doc_tick(cw_document *document, bool ticked, const char *text)
{
    cw_block *block = add_text(document, text, BODY, false, 18, 4);
    if (block != NULL)
        block->sign = ticked ? CW_SIGN_TICKED : CW_SIGN_BOX;
}

void cw_doc_tick_labelled(cw_document *document, bool ticked, const char *label, const char *text)
{
    cw_block *block = add_facts(document, &(cw_doc_fact){label, text}, 1, 18, 4);
    if (block != NULL)
        block->sign = ticked ? CW_SIGN_TICKED : CW_SIGN_BOX;
}

void cw_doc_caution(cw_document *document, const char *text)
{
    cw_block *block = add_facts(document, &(cw_doc_fact){"Caution", text}, 1, 12, 6);
    if (block != NULL)
        block->sign = CW_SIGN_BAR;
}

static void told(cw_document *document, void (*put)(cw_document *, const char *), const char *text)
{
    cw_buf words = cw_buf_new(1 << 20);
    cw_tell(&words, text != NULL ? text : "");
    put(document, cw_buf_string(&words));
    cw_buf_free(&words);
}

void cw_doc_paragraph_told(cw_document *document, const char *text)
{
    told(document, cw_doc_paragraph, text);
}

void cw_doc_small_told(cw_document *document, const char *text)
{
    told(document, cw_doc_small, text);
}

void cw_doc_item_told(cw_document *document, const char *text)
{
    told(document, cw_doc_item, text);
}

void cw_doc_labelled_told(cw_document *document, const char *label, const char *text)
{
    cw_buf words = cw_buf_new(1 << 20);
    cw_tell(&words, text != NULL ? text : "");
    cw_doc_labelled(document, label, cw_buf_string(&words));
    cw_buf_free(&words);
}

void cw_doc_tick_told(cw_document *document, bool ticked, const char *text)
{
    cw_buf words = cw_buf_new(1 << 20);
    cw_tell(&words, text);
    cw_doc_tick(document, ticked, cw_buf_string(&words));
    cw_buf_free(&words);
}

void cw_doc_space(cw_document *document, double mm)
{
    cw_block *block = mm > 0 && mm < 1000 ? add(document, CW_BLOCK_SPACE, 0) : NULL;
    if (block != NULL)
        block->height_space = mm * CW_PT_PER_MM;
}

void cw_doc_page_break(cw_document *document)
{
    (void)add(document, CW_BLOCK_PAGE_BREAK, 0);
}

void cw_doc_group_begin(cw_document *document)
{
    document->group = ++document->group_count;
}

void cw_doc_group_end(cw_document *document)
{
    document->group = 0;
}

void cw_doc_table_add(cw_document *document, const cw_doc_table *table)
{
    if (table->column_count == 0 || table->column_count > COLUMNS_MOST ||
        table->row_count > CELLS_MOST / table->column_count) {
        if (document->failure.status == CW_OK)
            document->failure.status =
                cw_fail(&document->failure, CW_RANGE, "a table of %zu columns and %zu rows cannot be printed",
                        table->column_count, table->row_count);
        return;
    }
    cw_block *block = add(document, CW_BLOCK_TABLE, 6);
    if (block == NULL)
        return;
    block->table = cw_table_set(document, table);
    if (block->table == NULL)
        document->failure.status = cw_fail(&document->failure, CW_MEMORY, "no memory for a table");
}

static void add_caption(cw_document *document, cw_block *block, const char *caption)
{
    if (caption != NULL && *caption != '\0')
        block->text = cw_set_words(document, caption, SMALL, false, document->inner_w);
}

/* The room a picture has above its caption. */
static double picture_room(const cw_document *document, const cw_block *block)
{
    return document->inner_h - (block->text != NULL ? cw_words_height(block->text) + 4 : 0) - 1;
}

void cw_doc_svg(cw_document *document, const char *svg, double width_mm, const char *caption)
{
    cw_block *block = add(document, CW_BLOCK_SVG, 8);
    if (block == NULL)
        return;
    GError *trouble = NULL;
    gdouble w = 0, h = 0;
    block->svg = rsvg_handle_new_from_data((const guint8 *)svg, strlen(svg), &trouble);
    if (block->svg != NULL)
        rsvg_handle_set_dpi(block->svg, 96);
    if (block->svg == NULL || !rsvg_handle_get_intrinsic_size_in_pixels(block->svg, &w, &h) || !(w > 0 && h > 0)) {
        document->failure.status =
            cw_fail(&document->failure, CW_RANGE, "a picture of the document cannot be drawn: %s",
                    trouble != NULL ? trouble->message : "it has no size");
        g_clear_error(&trouble);
        return;
    }
    add_caption(document, block, caption);
    double width = width_mm > 0 ? width_mm * CW_PT_PER_MM : fmin(document->inner_w, w * CW_PT_PER_MM / 3);
    width = fmin(width, document->inner_w);
    width = fmin(width, picture_room(document, block) * w / h);
    block->width = width;
    block->height = width * h / w;
}

void cw_doc_drawing(cw_document *document, const cw_drawing *drawing, const char *caption)
{
    static const double EDGE_MM = 1;
    cw_point least, most;
    cw_status status = cw_drawing_check(drawing, &document->failure);
    if (status != CW_OK || !cw_drawing_bounds(drawing, &least, &most)) {
        if (document->failure.status == CW_OK)
            document->failure.status =
                status != CW_OK ? status : cw_fail(&document->failure, CW_RANGE, "a drawing of the document is empty");
        return;
    }
    cw_block *block = add(document, CW_BLOCK_DRAWING, 8);
    if (block == NULL)
        return;
    double w = (most.x_mm - least.x_mm + 2 * EDGE_MM) * CW_PT_PER_MM,
           h = (most.y_mm - least.y_mm + 2 * EDGE_MM) * CW_PT_PER_MM;
    block->recorded = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, &(cairo_rectangle_t){0, 0, w, h});
    cairo_t *cr = cairo_create(block->recorded);
    cairo_scale(cr, CW_PT_PER_MM, CW_PT_PER_MM);
    cairo_translate(cr, EDGE_MM - least.x_mm, EDGE_MM + most.y_mm);
    cw_drawing_paint(drawing, cr);
    cairo_destroy(cr);
    double room = document->inner_h - 4 * SMALL; /* for a caption of two lines */
    block->scale = fmin(1, fmin(document->inner_w / w, room / h));
    cw_buf words = cw_buf_new(8192);
    if (caption != NULL && *caption != '\0')
        cw_say(&words, "%s. ", caption);
    cw_buf_text(&words,
                cw_words_of(block->scale < 1 ? "Shrunk to the page: not for measuring; print the drawing itself at "
                                               "true size."
                                             : "At true size when printed at 100 %."));
    add_caption(document, block, cw_buf_string(&words));
    cw_buf_free(&words);
    block->width = w * block->scale;
    block->height = h * block->scale;
}

static void add_photo(cw_document *document, cw_set_photo *p, const cw_doc_photo *from, double column, double height)
{
    cw_error trouble;
    p->path = cw_copy_text(from->path);
    if (from->caption != NULL && *from->caption != '\0')
        p->caption = cw_set_words(document, from->caption, SMALL, false, column);
    p->width = column;
    p->height = fmin(height, column * 0.6);
    if (from->mark_count > 0)
        p->marks = calloc(from->mark_count, sizeof *p->marks);
    if (p->marks != NULL) {
        memcpy(p->marks, from->marks, from->mark_count * sizeof *p->marks);
        p->mark_count = from->mark_count;
    } else if (from->mark_count > 0) {
        document->failure.status = cw_fail(&document->failure, CW_MEMORY, "no memory for the marks of a photo");
    }
    if (p->path == NULL || cw_print_photo_look(p->path, &p->photo, &trouble) != CW_OK) {
        p->problem = cw_set_words(document, p->path == NULL ? "no memory for this photo" : trouble.text, SMALL, false,
                                  column - 12);
        p->height = fmax(p->height, cw_words_height(p->problem) + 12);
        return;
    }
    double proportion = (double)p->photo.height / p->photo.width;
    p->width = fmin(column, height / proportion);
    p->height = p->width * proportion;
}

void cw_doc_photos(cw_document *document, const cw_doc_photo *photos, size_t count, size_t columns, double height_mm)
{
    static const double GUTTER = 8;
    cw_block *block = count > 0 && columns >= 1 && columns <= 6 ? add(document, CW_BLOCK_PHOTOS, 6) : NULL;
    if (block == NULL)
        return;
    block->photos = calloc(count, sizeof *block->photos);
    if (block->photos == NULL) {
        document->failure.status = cw_fail(&document->failure, CW_MEMORY, "no memory for %zu photos", count);
        return;
    }
    block->photo_count = count;
    block->photo_column = (document->inner_w - GUTTER * (double)(columns - 1)) / (double)columns;
    double height = fmin(fmax(height_mm, 10) * CW_PT_PER_MM, document->inner_h * 0.8);
    for (size_t i = 0; i < count; i++)
        add_photo(document, &block->photos[i], &photos[i], block->photo_column, height);
}
