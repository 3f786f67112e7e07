/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a document is made of, for this room only. Lengths in points of 1/72 inch. */
#ifndef CW_REPORT_DOCUMENT_MODEL_H
#define CW_REPORT_DOCUMENT_MODEL_H

#include <cairo.h>
#include <librsvg/rsvg.h>
#include <pango/pango.h>

#include "draw/paper.h"
#include "report/document.h"
#include "report/photo.h"

#define CW_PT_PER_MM (72 / 25.4)
#define CW_PAGE_MARGIN (18 * CW_PT_PER_MM)
#define CW_PAGE_HEAD (8 * CW_PT_PER_MM)
#define CW_PAGE_FOOT (9 * CW_PT_PER_MM)

typedef enum {
    CW_BLOCK_TEXT,
    CW_BLOCK_TABLE,
    CW_BLOCK_SVG,
    CW_BLOCK_DRAWING,
    CW_BLOCK_PHOTOS,
    CW_BLOCK_SPACE,
    CW_BLOCK_PAGE_BREAK
} cw_block_kind;

typedef enum { CW_SIGN_NONE, CW_SIGN_DOT, CW_SIGN_BOX, CW_SIGN_TICKED, CW_SIGN_BAR } cw_sign;

/* One table, its cells already set as words. */
typedef struct {
    size_t columns, rows;
    bool has_head, narrow;
    PangoLayout **head;  /* columns */
    PangoLayout **cells; /* rows * columns; NULL: empty */
    double *widths;      /* of the columns, set by cw_table_fit */
    double line_height;
} cw_set_table;

typedef struct {
    cw_print_photo photo;
    char *path;
    PangoLayout *caption, *problem;
    cw_doc_mark *marks;
    size_t mark_count;
    double width, height;
} cw_set_photo;

typedef struct {
    cw_block_kind kind;
    double space_before;
    bool keep_next;
    size_t group;      /* 0: none */
    PangoLayout *text; /* TEXT; the caption of SVG and DRAWING, NULL for none */
    double indent;     /* TEXT: left of the words */
    cw_sign sign;      /* TEXT: in the indent */
    int level;         /* TEXT: 1 to 3 for a heading, else 0 */
    cw_set_table *table;
    RsvgHandle *svg;
    cairo_surface_t *recorded; /* DRAWING: painted once, in points */
    double width, height;      /* SVG, DRAWING: on paper */
    double scale;              /* DRAWING: 1 is true size */
    double height_space;       /* SPACE */
    cw_set_photo *photos;
    size_t photo_count;
    double photo_column; /* width of a photo's place */
} cw_block;

struct cw_document {
    char *title, *footer;
    double page_w, page_h, inner_w, inner_h; /* inner: between head and foot */
    PangoFontMap *fonts;
    PangoContext *context;
    cw_block *blocks;
    size_t block_count, block_capacity;
    size_t group, group_count; /* the open one, and how many there were */
    cw_error failure;
};

/* The smallest piece that stays in one: some lines of a text, a table's row or some lines of it, a picture. */
typedef struct {
    size_t block;
    size_t row, from, to; /* TABLE: row and lines; TEXT: lines */
    double height, space_before;
    bool keep_next;
} cw_slice;

typedef struct {
    size_t slice;
    size_t page;
    double y;
    bool head_only; /* the head of the slice's table, repeated */
} cw_place;

typedef struct {
    cw_slice *slices;
    size_t slice_count, slice_capacity;
    cw_place *places;
    size_t place_count, place_capacity;
    size_t pages;
} cw_plan;

/* ---- words ---- */

/* Words set in the document's font, wrapped to `width` points (0: one line each). NULL without memory. */
PangoLayout *cw_set_words(cw_document *document, const char *text, double size, bool bold, double width);
double cw_words_height(PangoLayout *words);
double cw_words_width(PangoLayout *words);
size_t cw_words_lines(PangoLayout *words);
/* Height of lines from to to. */
double cw_words_part_height(PangoLayout *words, size_t from, size_t to);
/* Lines from to to with the first one's top at (x, y), in the current colour. */
void cw_words_draw(cairo_t *cr, PangoLayout *words, size_t from, size_t to, double x, double y);

/* ---- tables ---- */

cw_set_table *cw_table_set(cw_document *document, const cw_doc_table *table);
void cw_table_free(cw_set_table *table);
double cw_table_head_height(const cw_set_table *table);
size_t cw_table_row_lines(const cw_set_table *table, size_t row);
double cw_table_part_height(const cw_set_table *table, size_t row, size_t from, size_t to);
void cw_table_draw_head(cairo_t *cr, const cw_set_table *table, double x, double y);
void cw_table_draw_part(cairo_t *cr, const cw_set_table *table, size_t row, size_t from, size_t to, double x, double y);

/* ---- plan and paper ---- */

cw_status cw_plan_make(const cw_document *document, cw_plan *plan, cw_error *err) __attribute__((warn_unused_result));
void cw_plan_free(cw_plan *plan);
double cw_photo_row_height(const cw_block *block, size_t first, size_t columns);
size_t cw_photo_columns(const cw_block *block, double inner_w);
void cw_draw_slice(cairo_t *cr, cw_document *document, const cw_slice *slice, double y);

#endif
