/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table being filled cell by cell with texts of its own. */
#ifndef CW_REPORT_CELLS_H
#define CW_REPORT_CELLS_H

#include "report/document.h"

enum { CW_CELLS_COLUMNS = 24 };

typedef struct {
    cw_doc_column columns[CW_CELLS_COLUMNS];
    size_t column_count;
    char **texts;
    bool *bold;
    size_t count, capacity, bold_capacity;
    bool narrow;
    cw_error failure;
} cw_cells;

/* head: a literal, or a text that lives as long as the table. */
void cw_cells_column(cw_cells *cells, const char *head, cw_cell_anchor anchor);
/* The next cell, row by row; NULL is an empty one. */
void cw_cells_text(cw_cells *cells, const char *text);
void cw_cells_bold(cw_cells *cells, const char *text);
/* A sentence that a room composed, told in the reader's words (base/sentences.h). */
void cw_cells_told(cw_cells *cells, const char *text, bool bold);
/* A figure with its unit, never broken at its spaces. */
void cw_cells_firm(cw_cells *cells, const char *text, bool bold);
void cw_cells_format(cw_cells *cells, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Puts the table into the document (nothing where it has no row) and frees what it held. */
void cw_cells_finish(cw_cells *cells, cw_document *document);

#endif
