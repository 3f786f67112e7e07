/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rows of numbers. Nearly all are plain and read in one walk; any other is looked at cell by cell, which also finds
 * the words when it has to be refused. */
#include <math.h>
#include <stdlib.h>

#include "base/buf.h"
#include "signal/csv.h"

enum { VALUES_MOST = 64 << 20 };

/* The numbers of one row, by column. */
typedef struct {
    double value[CW_CSV_COLUMNS_MOST];
    double step; /* the last digit of the time column */
} numbers;

void cw_csv_rows_free(cw_csv_rows *r)
{
    free(r->at);
    free(r->lines);
    free(r->values);
}

static cw_status refuse_cell(const cw_csv_layout *layout, const cw_csv_row *row, size_t line, size_t first_count,
                             bool last, cw_error *err)
{
    double value;
    if (row->count < first_count) {
        for (size_t c = 0; c < row->count; c++)
            if (layout->numeric[c] && !cw_csv_number(row->cells[c], layout->decimal, &value, NULL))
                return cw_fail(err, CW_INPUT, "line %zu: \"%.*s\" in column %zu is not a number", line,
                               (int)(row->cells[c].length < 40 ? row->cells[c].length : 40), row->cells[c].text, c + 1);
        return cw_fail(err, CW_INPUT, "line %zu: %zu column%s where the rows above have %zu%s", line, row->count,
                       row->count == 1 ? "" : "s", first_count,
                       last ? "; the file seems to be cut off there, export it again" : "; mend or remove that line");
    }
    for (size_t c = 0; c < layout->columns; c++)
        if (layout->numeric[c] && !cw_csv_number(row->cells[c], layout->decimal, &value, NULL))
            return cw_fail(err, CW_INPUT,
                           "line %zu: \"%.*s\" in column %zu is not a finite number. If the instrument writes that "
                           "beyond its range, record again with a wider one",
                           line, (int)(row->cells[c].length < 40 ? row->cells[c].length : 40), row->cells[c].text,
                           c + 1);
    return cw_fail(err, CW_INPUT, "line %zu: %zu columns where the rows above have %zu; mend or remove that line", line,
                   row->count, first_count);
}

static cw_status make_room(cw_csv_rows *r, cw_error *err)
{
    CW_TRY(cw_grow(&r->lines, &r->line_capacity, r->rows + 1, sizeof *r->lines, VALUES_MOST, "rows", err));
    CW_TRY(cw_grow(&r->values, &r->value_capacity, (r->rows + 1) * r->signal_count, sizeof *r->values, VALUES_MOST,
                   "values in a CSV; save it as WAV", err));
    if (r->time_column < CW_CSV_COLUMNS_MOST)
        CW_TRY(cw_grow(&r->at, &r->row_capacity, r->rows + 1, sizeof *r->at, VALUES_MOST, "rows", err));
    return CW_OK;
}

/* *fits is false, and nothing kept, when a value is too large for a float. */
static cw_status keep_row(const numbers *n, const cw_csv_header *h, size_t line, cw_csv_rows *r, bool *fits,
                          cw_error *err)
{
    *fits = false;
    CW_TRY(make_room(r, err));
    float *values = r->values + r->rows * r->signal_count;
    for (size_t k = 0; k < r->signal_count; k++) {
        values[k] = (float)(n->value[r->signals[k]] * h->scale[r->signals[k]]);
        if (!isfinite(values[k]))
            return CW_OK;
    }
    if (r->time_column < CW_CSV_COLUMNS_MOST) {
        r->at[r->rows] = n->value[r->time_column];
        r->step = r->rows > 0 && r->step > n->step ? r->step : n->step;
        r->finest = r->rows > 0 && r->finest < n->step ? r->finest : n->step;
    }
    r->lines[r->rows++] = line;
    *fits = true;
    return CW_OK;
}

/* Numbers in the columns that are used. */
static bool read_cells(const cw_csv_layout *layout, const cw_csv_row *row, const cw_csv_rows *r, numbers *n)
{
    size_t time = r->time_column;
    if (time < CW_CSV_COLUMNS_MOST &&
        (time >= row->count || !cw_csv_number(row->cells[time], layout->decimal, &n->value[time], &n->step)))
        return false;
    for (size_t k = 0; k < r->signal_count; k++) {
        size_t c = r->signals[k];
        if (c >= row->count || !cw_csv_number(row->cells[c], layout->decimal, &n->value[c], NULL))
            return false;
    }
    return true;
}

static const char *behind_blanks(const char *at, const char *end, char separator)
{
    while (at < end && (*at == ' ' || (*at == '\t' && separator != '\t')))
        at++;
    return at;
}

/* Can rows be plain at all? Not where one mark has two meanings, and not where words stand between blanks. */
static bool can_be_plain(const cw_csv_layout *layout)
{
    bool can = layout->separator != layout->decimal;
    for (size_t c = 0; c < layout->columns; c++)
        can = can && (layout->numeric[c] || layout->separator != ' ');
    return can;
}

/* To the next cell: behind one separator, or behind blanks where they separate. NULL where neither stands. */
static const char *next_cell(const char *at, const char *end, char separator)
{
    const char *behind = behind_blanks(at, end, separator);
    if (separator == ' ')
        return behind > at ? behind : NULL;
    return behind < end && *behind == separator ? behind_blanks(behind + 1, end, separator) : NULL;
}

/* A row the plain way: a number in every column that should have one, nothing in the others, line end behind. Gives
 * where the next line begins, NULL for any other row. */
static const char *read_plain(const cw_csv_layout *layout, const char *at, const char *end, size_t time_column,
                              numbers *n)
{
    char separator = layout->separator;
    at = behind_blanks(at, end, separator);
    for (size_t c = 0; c < layout->columns; c++) {
        if (c > 0 && (at = next_cell(at, end, separator)) == NULL)
            return NULL;
        if (!layout->numeric[c])
            continue;
        double *step = c == time_column ? &n->step : NULL;
        size_t length = cw_csv_front_number(at, end, layout->decimal, &n->value[c], step);
        if (length == 0)
            return NULL;
        at += length;
    }
    for (at = behind_blanks(at, end, separator); separator != ' ' && at < end && *at == separator;)
        at++;
    size_t line_end = cw_csv_line_end(at, (size_t)(end - at));
    return line_end > 0 ? at + line_end : NULL;
}

/* Where the next line begins when this one is plain and was kept, else NULL. */
static cw_status take_plain(const cw_csv_layout *layout, const cw_csv_header *h, const cw_csv_lines *walk,
                            cw_csv_rows *r, const char **next, cw_error *err)
{
    numbers n;
    bool fits = false;
    *next = read_plain(layout, walk->text + walk->at, walk->text + walk->length, r->time_column, &n);
    if (*next != NULL)
        CW_TRY(keep_row(&n, h, walk->line + 1, r, &fits, err));
    *next = fits ? *next : NULL;
    return CW_OK;
}

/* A line with words, quotes, too many digits, too few or too many columns. */
static cw_status take_other(const cw_csv_layout *layout, const cw_csv_header *h, const cw_csv_lines *walk,
                            const cw_csv_row *row, cw_csv_rows *r, cw_error *err)
{
    numbers n;
    bool fits = false;
    if (read_cells(layout, row, r, &n))
        CW_TRY(keep_row(&n, h, walk->line, r, &fits, err));
    /* beside the first rows there may be settings; further down a longer row is damage */
    bool longer = row->count > layout->columns && r->rows > 64;
    if (!fits || longer)
        return refuse_cell(layout, row, walk->line, layout->columns, walk->at >= walk->length, err);
    return CW_OK;
}

cw_status cw_csv_read_rows(const char *text, size_t length, const cw_csv_layout *layout, const cw_csv_header *h,
                           cw_csv_rows *r, cw_error *err)
{
    cw_csv_lines walk = {.text = text, .length = length};
    cw_csv_cell line;
    cw_csv_row row;
    size_t blank_line = 0;
    bool plain = can_be_plain(layout);
    for (;;) {
        bool gap = blank_line > 0 && r->rows > 0;
        const char *next = NULL;
        if (plain && !gap && walk.line + 1 >= layout->first_line)
            CW_TRY(take_plain(layout, h, &walk, r, &next, err));
        if (next != NULL) {
            walk.at = (size_t)(next - text);
            walk.line++;
            continue;
        }
        if (!cw_csv_line(&walk, &line))
            return CW_OK;
        if (walk.line < layout->first_line)
            continue;
        cw_csv_split(line, layout->separator, &row);
        if (row.count == 0) {
            blank_line = walk.line;
            continue;
        }
        if (gap)
            return cw_fail(err, CW_INPUT,
                           "line %zu is blank but numbers or text follow; is a second recording "
                           "appended? Split the file there",
                           blank_line);
        CW_TRY(take_other(layout, h, &walk, &row, r, err));
    }
}
