/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/cells.h"

#include <stdarg.h>
#include <stdlib.h>

#include "base/manner.h"
#include "base/say.h"
#include "report/document_model.h"

enum { CELLS_MOST = 500000 };

void cw_cells_column(cw_cells *cells, const char *head, cw_cell_anchor anchor)
{
    if (cells->column_count < CW_CELLS_COLUMNS)
        cells->columns[cells->column_count++] = (cw_doc_column){head, anchor};
}

static void add(cw_cells *cells, char *owned, bool bold)
{
    cw_status status = cells->failure.status;
    if (status == CW_OK)
        status = cw_grow(&cells->texts, &cells->capacity, cells->count + 1, sizeof *cells->texts, CELLS_MOST,
                         "cells of a table", &cells->failure);
    if (status == CW_OK)
        status = cw_grow(&cells->bold, &cells->bold_capacity, cells->count + 1, sizeof *cells->bold, CELLS_MOST,
                         "cells of a table", &cells->failure);
    cells->failure.status = status;
    if (status != CW_OK) {
        free(owned);
        return;
    }
    cells->texts[cells->count] = owned;
    cells->bold[cells->count++] = bold;
}

static void add_copy(cw_cells *cells, const char *text, bool bold)
{
    char *copy = cw_copy_text(cw_words_of(text));
    if (text != NULL && copy == NULL && cells->failure.status == CW_OK)
        cells->failure.status = cw_fail(&cells->failure, CW_MEMORY, "no memory for a table");
    add(cells, copy, bold);
}

void cw_cells_text(cw_cells *cells, const char *text)
{
    add_copy(cells, text, false);
}

void cw_cells_bold(cw_cells *cells, const char *text)
{
    add_copy(cells, text, true);
}

void cw_cells_told(cw_cells *cells, const char *text, bool bold)
{
    cw_buf words = cw_buf_new(65536);
    cw_tell(&words, text != NULL ? text : "");
    add_copy(cells, cw_buf_string(&words), bold);
    cw_buf_free(&words);
}

void cw_cells_firm(cw_cells *cells, const char *text, bool bold)
{
    cw_buf firm = cw_buf_new(65536);
    text = cw_words_of(text);
    for (; *text != '\0'; text++) {
        if (*text == ' ')
            cw_buf_text(&firm, "\xc2\xa0");
        else
            cw_buf_char(&firm, *text);
    }
    add_copy(cells, cw_buf_string(&firm), bold);
    cw_buf_free(&firm);
}

void cw_cells_format(cw_cells *cells, const char *format, ...)
{
    cw_buf text = cw_buf_new(65536);
    va_list args;
    va_start(args, format);
    cw_vsay(&text, false, format, args);
    va_end(args);
    add_copy(cells, cw_buf_string(&text), false);
    cw_buf_free(&text);
}

void cw_cells_finish(cw_cells *cells, cw_document *document)
{
    if (cells->failure.status != CW_OK && document->failure.status == CW_OK)
        document->failure = cells->failure;
    if (cells->failure.status == CW_OK && cells->count > 0)
        cw_doc_table_add(document, &(cw_doc_table){.columns = cells->columns,
                                                   .column_count = cells->column_count,
                                                   .row_count = cells->count / cells->column_count,
                                                   .cells = (const char *const *)cells->texts,
                                                   .bold = cells->bold,
                                                   .narrow = cells->narrow});
    for (size_t i = 0; i < cells->count; i++)
        free(cells->texts[i]);
    free(cells->texts);
    free(cells->bold);
    *cells = (cw_cells){0};
}
