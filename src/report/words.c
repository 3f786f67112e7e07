/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Setting words with pango. Layouts are measured once, before the number of pages is known, and drawn line by line. */
#include <pango/pangocairo.h>
#include <string.h>

#include "base/manner.h"
#include "base/utf8.h"
#include "report/document_model.h"

enum { TEXT_MOST = 1 << 20 };

PangoLayout *cw_set_words(cw_document *document, const char *text, double size, bool bold, double width)
{
    cw_buf clean = cw_buf_new(TEXT_MOST);
    char date[32];
    cw_utf8_clean_lines(&clean, cw_date_text(text, date, sizeof date) ? date : cw_words_of(text));
    if (clean.failed && document->failure.status == CW_OK)
        document->failure.status =
            cw_fail(&document->failure, CW_RANGE, "a text of more than %d bytes cannot be printed: \"%.40s...\"",
                    TEXT_MOST, text);
    /* A cut in the middle of a character would not be valid any more; the failure above ends the document anyway. */
    PangoLayout *words = pango_layout_new(document->context);
    PangoFontDescription *font = pango_font_description_new();
    pango_font_description_set_family_static(font, "DejaVu Sans");
    pango_font_description_set_absolute_size(font, size * PANGO_SCALE);
    if (bold)
        pango_font_description_set_weight(font, PANGO_WEIGHT_BOLD);
    pango_layout_set_font_description(words, font);
    pango_font_description_free(font);
    pango_layout_set_wrap(words, PANGO_WRAP_WORD_CHAR);
    if (width > 0)
        pango_layout_set_width(words, (int)(width * PANGO_SCALE));
    pango_layout_set_line_spacing(words, 1.08f);
    pango_layout_set_text(words, clean.failed ? "" : cw_buf_string(&clean), -1);
    cw_buf_free(&clean);
    return words;
}

double cw_words_height(PangoLayout *words)
{
    PangoRectangle logical;
    pango_layout_get_extents(words, NULL, &logical);
    return (double)logical.height / PANGO_SCALE;
}

double cw_words_width(PangoLayout *words)
{
    PangoRectangle logical;
    pango_layout_get_extents(words, NULL, &logical);
    return (double)logical.width / PANGO_SCALE;
}

size_t cw_words_lines(PangoLayout *words)
{
    return (size_t)pango_layout_get_line_count(words);
}

double cw_words_part_height(PangoLayout *words, size_t from, size_t to)
{
    PangoLayoutIter *at = pango_layout_get_iter(words);
    int top = 0, foot = 0;
    size_t line = 0;
    do {
        int y0, y1;
        pango_layout_iter_get_line_yrange(at, &y0, &y1);
        if (line == from)
            top = y0;
        if (line < to)
            foot = y1;
        line++;
    } while (pango_layout_iter_next_line(at));
    pango_layout_iter_free(at);
    return (double)(foot - top) / PANGO_SCALE;
}

void cw_words_draw(cairo_t *cr, PangoLayout *words, size_t from, size_t to, double x, double y)
{
    PangoLayoutIter *at = pango_layout_get_iter(words);
    int top = 0;
    size_t line = 0;
    do {
        int y0, y1;
        pango_layout_iter_get_line_yrange(at, &y0, &y1);
        if (line == from)
            top = y0;
        if (line >= from && line < to) {
            PangoRectangle logical;
            pango_layout_iter_get_line_extents(at, NULL, &logical);
            cairo_move_to(cr, x + (double)logical.x / PANGO_SCALE,
                          y + (double)(pango_layout_iter_get_baseline(at) - top) / PANGO_SCALE);
            pango_cairo_show_layout_line(cr, pango_layout_iter_get_line_readonly(at));
        }
        line++;
    } while (pango_layout_iter_next_line(at));
    pango_layout_iter_free(at);
    cairo_new_path(cr);
}
