/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables: widths from the words, rows drawn whole or in parts. */
#include <math.h>
#include <stdlib.h>

#include "report/document_model.h"

static const double CELL_SIZE = 8.5, PAD_X = 4, PAD_Y = 2.5, LINE_W = 0.5;

/* What a column would like, and the least it can do with. */
typedef struct {
    double natural, least;
} wish;

static PangoLayout *cell_at(const cw_set_table *t, size_t row, size_t column)
{
    return t->cells[row * t->columns + column];
}

static void wish_for(wish *w, PangoLayout *words, double most)
{
    if (words == NULL)
        return;
    w->natural = fmax(w->natural, cw_words_width(words));
    /* Without room, words break only where they may: the widest line is the longest word. */
    pango_layout_set_wrap(words, PANGO_WRAP_WORD);
    pango_layout_set_width(words, 0);
    w->least = fmax(w->least, fmin(cw_words_width(words), most));
    pango_layout_set_wrap(words, PANGO_WRAP_WORD_CHAR);
    pango_layout_set_width(words, -1);
}

static void share_out(cw_set_table *t, wish *wishes, double room)
{
    double natural = 0, least = 0;
    for (size_t c = 0; c < t->columns; c++)
        natural += wishes[c].natural;
    /* Where it gets tight, a column of long texts may not take from the short ones what they need. */
    for (size_t c = 0; c < t->columns && natural > room; c++)
        wishes[c].natural = fmin(wishes[c].natural, fmax(wishes[c].least, room * 0.4));
    natural = 0;
    for (size_t c = 0; c < t->columns; c++) {
        natural += wishes[c].natural;
        least += wishes[c].least;
    }
    for (size_t c = 0; c < t->columns; c++) {
        const wish *w = &wishes[c];
        if (natural <= room)
            t->widths[c] =
                t->narrow ? w->natural : w->natural + (room - natural) * (natural > 0 ? w->natural / natural : 0);
        else if (least <= room)
            t->widths[c] = w->least + (room - least) * (w->natural - w->least) / fmax(natural - least, 1e-9);
        else
            t->widths[c] = room * w->least / least;
        t->widths[c] = fmax(t->widths[c], CELL_SIZE) + 2 * PAD_X;
    }
}

static void fit(cw_document *document, cw_set_table *t, const cw_doc_table *table)
{
    static const PangoAlignment alignments[] = {
        [CW_CELL_START] = PANGO_ALIGN_LEFT, [CW_CELL_MIDDLE] = PANGO_ALIGN_CENTER, [CW_CELL_END] = PANGO_ALIGN_RIGHT};
    double room = document->inner_w - 2 * PAD_X * (double)t->columns, most = room / 2.5;
    wish wishes[24] = {0};
    for (size_t c = 0; c < t->columns; c++) {
        if (t->has_head)
            wish_for(&wishes[c], t->head[c], most);
        for (size_t r = 0; r < t->rows; r++)
            wish_for(&wishes[c], cell_at(t, r, c), most);
    }
    share_out(t, wishes, room);
    for (size_t c = 0; c < t->columns; c++) {
        for (size_t r = 0; r <= t->rows; r++) {
            PangoLayout *words = r < t->rows ? cell_at(t, r, c) : t->has_head ? t->head[c] : NULL;
            if (words == NULL)
                continue;
            pango_layout_set_width(words, (int)((t->widths[c] - 2 * PAD_X + 0.5) * PANGO_SCALE));
            pango_layout_set_alignment(words, alignments[table->columns[c].anchor]);
        }
    }
}

void cw_table_free(cw_set_table *t)
{
    if (t == NULL)
        return;
    for (size_t i = 0; t->cells != NULL && i < t->rows * t->columns; i++)
        if (t->cells[i] != NULL)
            g_object_unref(t->cells[i]);
    for (size_t i = 0; t->head != NULL && i < t->columns; i++)
        if (t->head[i] != NULL)
            g_object_unref(t->head[i]);
    free(t->cells);
    free(t->head);
    free(t->widths);
    free(t);
}

cw_set_table *cw_table_set(cw_document *document, const cw_doc_table *table)
{
    cw_set_table *t = calloc(1, sizeof *t);
    if (t == NULL)
        return NULL;
    t->columns = table->column_count;
    t->rows = table->row_count;
    t->narrow = table->narrow;
    t->head = calloc(t->columns, sizeof(PangoLayout *));
    t->cells = calloc(t->rows * t->columns + 1, sizeof(PangoLayout *));
    t->widths = calloc(t->columns, sizeof *t->widths);
    if (t->head == NULL || t->cells == NULL || t->widths == NULL) {
        cw_table_free(t);
        return NULL;
    }
    for (size_t c = 0; c < t->columns; c++)
        t->has_head = t->has_head || table->columns[c].head != NULL;
    for (size_t c = 0; c < t->columns; c++)
        if (table->columns[c].head != NULL)
            t->head[c] = cw_set_words(document, table->columns[c].head, CELL_SIZE, true, 0);
    for (size_t i = 0; i < t->rows * t->columns; i++)
        if (table->cells[i] != NULL && *table->cells[i] != '\0')
            t->cells[i] = cw_set_words(document, table->cells[i], CELL_SIZE, table->bold != NULL && table->bold[i], 0);
    fit(document, t, table);
    PangoLayout *probe = cw_set_words(document, "Ag", CELL_SIZE, false, 0);
    t->line_height = cw_words_height(probe) * 1.08;
    g_object_unref(probe);
    return t;
}

double cw_table_head_height(const cw_set_table *t)
{
    double height = 0;
    for (size_t c = 0; t->has_head && c < t->columns; c++)
        if (t->head[c] != NULL)
            height = fmax(height, cw_words_height(t->head[c]));
    return t->has_head ? height + 2 * PAD_Y : 0;
}

size_t cw_table_row_lines(const cw_set_table *t, size_t row)
{
    size_t lines = 1;
    for (size_t c = 0; c < t->columns; c++) {
        PangoLayout *words = cell_at(t, row, c);
        if (words != NULL && cw_words_lines(words) > lines)
            lines = cw_words_lines(words);
    }
    return lines;
}

double cw_table_part_height(const cw_set_table *t, size_t row, size_t from, size_t to)
{
    double height = t->line_height;
    for (size_t c = 0; c < t->columns; c++) {
        PangoLayout *words = cell_at(t, row, c);
        size_t lines = words != NULL ? cw_words_lines(words) : 0;
        if (lines > from)
            height = fmax(height, cw_words_part_height(words, from, lines < to ? lines : to));
    }
    return height + 2 * PAD_Y;
}

static double table_width(const cw_set_table *t)
{
    double width = 0;
    for (size_t c = 0; c < t->columns; c++)
        width += t->widths[c];
    return width;
}

static void level_line(cairo_t *cr, double x, double y, double width, double grey)
{
    cairo_set_source_rgb(cr, grey, grey, grey);
    cairo_set_line_width(cr, LINE_W);
    cairo_move_to(cr, x, y);
    cairo_line_to(cr, x + width, y);
    cairo_stroke(cr);
    cairo_set_source_rgb(cr, 0, 0, 0);
}

void cw_table_draw_head(cairo_t *cr, const cw_set_table *t, double x, double y)
{
    double height = cw_table_head_height(t), at = x;
    cairo_set_source_rgb(cr, 0.93, 0.93, 0.93);
    cairo_rectangle(cr, x, y, table_width(t), height);
    cairo_fill(cr);
    cairo_set_source_rgb(cr, 0, 0, 0);
    for (size_t c = 0; c < t->columns; c++) {
        if (t->head[c] != NULL) /* heads stand at the foot of their row */
            cw_words_draw(cr, t->head[c], 0, cw_words_lines(t->head[c]), at + PAD_X,
                          y + height - PAD_Y - cw_words_height(t->head[c]));
        at += t->widths[c];
    }
    level_line(cr, x, y + height, table_width(t), 0.2);
}

void cw_table_draw_part(cairo_t *cr, const cw_set_table *t, size_t row, size_t from, size_t to, double x, double y)
{
    double at = x;
    cairo_set_source_rgb(cr, 0, 0, 0);
    for (size_t c = 0; c < t->columns; c++) {
        PangoLayout *words = cell_at(t, row, c);
        size_t lines = words != NULL ? cw_words_lines(words) : 0;
        if (lines > from)
            cw_words_draw(cr, words, from, lines < to ? lines : to, at + PAD_X, y + PAD_Y);
        at += t->widths[c];
    }
    level_line(cr, x, y + cw_table_part_height(t, row, from, to), table_width(t), 0.7);
}
