/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A paper document: headings, paragraphs, tables that break over pages under repeated heads, plots and drawings as
 * vectors, photographs, boxes to tick; "page 3 of 7" at the foot. Blocks are added in order and laid out when the
 * document is written. Texts may be NULL or "" (nothing is added), of any length, in any script, even broken UTF-8; a
 * word longer than the line is broken. The document remembers its first failure, so that a maker adds without checks.
 * Everything handed in is copied, but for photographs: their files are read when the document is written. Constants of
 * the program, formats, figures and dates are written in the manner of this thread's reader (base/manner.h). */
#ifndef CW_REPORT_DOCUMENT_H
#define CW_REPORT_DOCUMENT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/buf.h"
#include "base/error.h"
#include "draw/drawing.h"

typedef struct cw_document cw_document;

typedef struct {
    const char *paper;  /* "A4", "Letter" ...: draw/paper.h */
    const char *title;  /* of the PDF, and at the head of every page but the first */
    const char *footer; /* at the foot of every page: "Camerawright, 2 March"; NULL: none */
    bool landscape;
} cw_document_look;

/* CW_INPUT: unknown paper. The caller frees *document. */
cw_status cw_document_new(const cw_document_look *look, cw_document **document, cw_error *err)
    __attribute__((warn_unused_result));
void cw_document_free(cw_document *document); /* NULL is fine */
cw_status cw_document_check(const cw_document *document, cw_error *err) __attribute__((warn_unused_result));

/* The large title of the first page, with a line below it. */
void cw_doc_title(cw_document *document, const char *title, const char *subtitle);
/* level 1 to 3; also a bookmark of the PDF. Stays with what follows. */
void cw_doc_heading(cw_document *document, int level, const char *text);
void cw_doc_heading_format(cw_document *document, int level, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* Line feeds stay. */
void cw_doc_paragraph(cw_document *document, const char *text);
/* Smaller, for sources and explanations. */
void cw_doc_small(cw_document *document, const char *text);
/* "Label: text", the label bold; nothing where the text is empty. */
void cw_doc_labelled(cw_document *document, const char *label, const char *text);
typedef struct {
    const char *label, *text;
} cw_doc_fact;

/* Several "Label: text" in one paragraph, those without text left out. */
void cw_doc_facts(cw_document *document, const cw_doc_fact *facts, size_t count);
/* With a dot before it. */
void cw_doc_item(cw_document *document, const char *text);
/* With an empty box to tick before it, or a ticked one. */
void cw_doc_tick(cw_document *document, bool ticked, const char *text);
/* The same as text behind a bold label: "Before closing: does the counter return?". */
void cw_doc_tick_labelled(cw_document *document, bool ticked, const char *label, const char *text);
/* Behind a heavy bar, headed "Caution". */
void cw_doc_caution(cw_document *document, const char *text);
/* The same with sentences that a room composed, told in the reader's words (base/sentences.h). */
void cw_doc_paragraph_told(cw_document *document, const char *text);
void cw_doc_small_told(cw_document *document, const char *text);
void cw_doc_item_told(cw_document *document, const char *text);
void cw_doc_labelled_told(cw_document *document, const char *label, const char *text);
void cw_doc_tick_told(cw_document *document, bool ticked, const char *text);

void cw_doc_space(cw_document *document, double mm);
void cw_doc_page_break(cw_document *document);

/* What lies between stays on one page where it fits on one. Groups do not nest. */
void cw_doc_group_begin(cw_document *document);
void cw_doc_group_end(cw_document *document);

typedef enum { CW_CELL_START, CW_CELL_MIDDLE, CW_CELL_END } cw_cell_anchor;

typedef struct {
    const char *head; /* NULL in every column: a table without a head */
    cw_cell_anchor anchor;
} cw_doc_column;

typedef struct {
    const cw_doc_column *columns; /* 1 to 24 */
    size_t column_count, row_count;
    const char *const *cells; /* row by row; NULL: an empty cell */
    const bool *bold;         /* for each cell; NULL: none */
    bool narrow;              /* as wide as its words instead of the full width */
} cw_doc_table;

/* Widths follow the words. A row is broken over pages only when it is taller than half a page. */
void cw_doc_table_add(cw_document *document, const cw_doc_table *table);

/* An SVG (a plot), `width_mm` wide, 0: as wide as the column but no larger than 1 px = 1/3 mm; shrunk to the page. */
void cw_doc_svg(cw_document *document, const char *svg, double width_mm, const char *caption);

/* At true size where it fits the column, and the caption then says so; else shrunk, and the caption says that. */
void cw_doc_drawing(cw_document *document, const cw_drawing *drawing, const char *caption);

/* A numbered mark on a photo. */
typedef struct {
    int number;
    double x, y;     /* 0 to 1 from the left and top edge of the upright picture */
    double hook_deg; /* an arrow from the mark: 0 to the right, 90 up; NaN: none */
} cw_doc_mark;

typedef struct {
    const char *path;    /* JPEG or PNG; turned upright by its EXIF orientation */
    const char *caption; /* NULL: none */
    const cw_doc_mark *marks;
    size_t mark_count;
    int64_t id;              /* in the bench, for a page that shows the same; 0: none */
    int width_px, height_px; /* upright; 0: not known */
} cw_doc_photo;

/* Side by side, `columns` (1 to 6) in a row, each at most `height_mm` high. They are stored at about 220 dots per inch.
 * A photo that cannot be read leaves a frame with the reason. */
void cw_doc_photos(cw_document *document, const cw_doc_photo *photos, size_t count, size_t columns, double height_mm);

/* Writes the PDF: fonts embedded, texts as text, plots and drawings as vectors. CW_MEMORY, CW_RANGE (over 2000 pages).
 */
cw_status cw_document_pdf(cw_document *document, cw_buf *out, cw_error *err) __attribute__((warn_unused_result));

/* The same into a file that is either the old or the whole new one; a full disk is said (CW_FILE). */
cw_status cw_document_save(cw_document *document, const char *path, cw_error *err) __attribute__((warn_unused_result));

#endif
