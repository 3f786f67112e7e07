/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rows of numbers. Nearly all are plain and read in one walk; any other is looked at cell by cell, which also finds
 * the words when it has to be refused. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

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
    for (size_t k = 0; k < CW_CHANNELS_MOST; k++)
        free(r->own_at[k]);
}

static int shown(cw_csv_cell cell)
{
    return (int)(cell.length < 40 ? cell.length : 40);
}

/* The first column that should hold a value and does not; layout->columns for none. */
static size_t bad_column(const cw_csv_layout *layout, const cw_csv_row *row)
{
    cw_csv_value value;
    for (size_t c = 0; c < layout->columns; c++)
        if (c < row->count && layout->numeric[c] && !cw_csv_read_value(row->cells[c], layout, &value))
            return c;
    return layout->columns;
}

static cw_status refuse_row(const cw_csv_layout *layout, const cw_csv_row *row, size_t line, size_t widest, bool last,
                            cw_error *err)
{
    size_t bad = bad_column(layout, row);
    if (bad < layout->columns && row->cells[bad].length == 0)
        return cw_fail(
            err, CW_INPUT,
            "line %zu: column %zu is empty. Export every channel at every sample, or the channels one by one", line,
            bad + 1);
    if (bad < layout->columns)
        return cw_fail(err, CW_INPUT, "line %zu: \"%.*s\" in column %zu is not a %snumber%s", line,
                       shown(row->cells[bad]), row->cells[bad].text, bad + 1,
                       row->count < layout->columns ? "" : "finite ",
                       cw_csv_is_missing(row->cells[bad]) ? ". If the instrument writes that beyond its range, record "
                                                            "again with a wider one"
                                                          : "; mend or remove that line");
    if (row->count >= layout->columns && row->count <= widest)
        return cw_fail(err, CW_INPUT,
                       "line %zu: a value is too large for any voltage, or a unit is in the wrong column", line);
    return cw_fail(err, CW_INPUT,
                   row->count == 1 ? "line %zu: %zu column where the rows above have %zu%s"
                                   : "line %zu: %zu columns where the rows above have %zu%s",
                   line, row->count, layout->columns,
                   last && row->count < layout->columns ? "; the file seems to be cut off there, export it again"
                                                        : "; mend or remove that line");
}

static cw_status make_room(cw_csv_rows *r, cw_error *err)
{
    CW_TRY(cw_grow(&r->lines, &r->line_capacity, r->rows + 1, sizeof *r->lines, VALUES_MOST, "rows", err));
    CW_TRY(cw_grow(&r->values, &r->value_capacity, (r->rows + 1) * r->signal_count, sizeof *r->values, VALUES_MOST,
                   "values in a CSV; save it as WAV", err));
    if (r->time_column < CW_CSV_COLUMNS_MOST)
        CW_TRY(cw_grow(&r->at, &r->row_capacity, r->rows + 1, sizeof *r->at, VALUES_MOST, "rows", err));
    for (size_t k = 0; r->has_times && k < r->signal_count; k++)
        if (r->times[k] != r->time_column)
            CW_TRY(cw_grow(&r->own_at[k], &r->own_capacity[k], r->rows + 1, sizeof *r->own_at[k], VALUES_MOST, "rows",
                           err));
    return CW_OK;
}

static void count_step(cw_csv_steps *steps, double step)
{
    if (steps->count > 0 && steps->step[steps->latest] == step) {
        steps->rows[steps->latest]++;
        return;
    }
    for (steps->latest = 0; steps->latest < steps->count; steps->latest++)
        if (steps->step[steps->latest] == step)
            break;
    if (steps->latest == CW_CSV_STEPS_MOST)
        steps->latest--;
    if (steps->latest == steps->count)
        steps->step[steps->count++] = step;
    steps->rows[steps->latest]++;
}

/* *fits is false, and nothing kept, when a value is too large for a float. `marks`: infinite ones are marks. */
static cw_status keep_row(const numbers *n, const cw_csv_header *h, size_t line, bool marks, cw_csv_rows *r, bool *fits,
                          cw_error *err)
{
    *fits = false;
    CW_TRY(make_room(r, err));
    float *values = r->values + r->rows * r->signal_count;
    for (size_t k = 0; k < r->signal_count; k++) {
        values[k] = (float)(n->value[r->signals[k]] * h->scale[r->signals[k]]);
        if (!isfinite(values[k]) && !(marks && isinf(n->value[r->signals[k]])))
            return CW_OK;
    }
    if (r->time_column < CW_CSV_COLUMNS_MOST) {
        r->at[r->rows] = n->value[r->time_column];
        count_step(&r->steps, n->step);
    }
    for (size_t k = 0; r->has_times && k < r->signal_count; k++)
        if (r->times[k] != r->time_column)
            r->own_at[k][r->rows] = n->value[r->times[k]];
    r->lines[r->rows++] = line;
    *fits = true;
    return CW_OK;
}

/* The cell as a double, less `base`, which both have in common in whole: 1715000000.123456 has more digits than a
 * double. */
static bool number_less_base(cw_csv_cell cell, char decimal, int64_t base, double *value, double *step)
{
    int64_t whole;
    size_t n = cw_csv_whole_part(cell, &whole);
    if (n == 0)
        return false;
    double fraction = 0;
    *step = 1;
    if (n < cell.length && (cell.text[n] != decimal ||
                            !cw_csv_number((cw_csv_cell){cell.text + n, cell.length - n}, decimal, &fraction, step)))
        return false;
    *value = (double)(whole - base) + fraction;
    return true;
}

static bool read_time(const cw_csv_layout *layout, const cw_csv_row *row, size_t column, cw_csv_rows *r, double *value,
                      double *step)
{
    cw_csv_value v;
    if (column >= row->count)
        return false;
    if (r->base != 0)
        return number_less_base(row->cells[column], layout->decimal, r->base, value, step);
    if (!cw_csv_read_value(row->cells[column], layout, &v) ||
        (v.kind != CW_CSV_NUMBER && v.kind != CW_CSV_SECONDS && v.kind != CW_CSV_CLOCK))
        return false;
    r->has_units = r->has_units || v.kind != CW_CSV_NUMBER;
    if (v.kind == CW_CSV_CLOCK)
        r->wraps_at = v.wraps_at_s;
    *value = v.value;
    *step = v.step;
    return true;
}

/* A cell without a value: the one before holds. False where there is none before, or where the row just ends. */
static bool hold_value(const cw_csv_row *row, size_t k, size_t line, const cw_csv_header *h, cw_csv_rows *r,
                       double *value)
{
    size_t c = r->signals[k];
    bool written = c < row->written && (c >= row->count || cw_csv_is_missing(row->cells[c]));
    if (!written || r->rows == 0)
        return false;
    double before = (double)r->values[(r->rows - 1) * r->signal_count + k];
    *value = before / h->scale[c];
    if (r->gaps[k].missing_line == 0) {
        r->gaps[k].missing_line = line;
        if (c < row->count)
            snprintf(r->gaps[k].mark, sizeof r->gaps[k].mark, "%.*s", (int)row->cells[c].length, row->cells[c].text);
    }
    r->has_gap = true;
    return true;
}

/* Numbers in the columns that are used. */
static bool read_cells(const cw_csv_layout *layout, const cw_csv_row *row, const cw_csv_header *h, size_t line,
                       cw_csv_rows *r, numbers *n)
{
    size_t time = r->time_column;
    double own_step;
    if (time < CW_CSV_COLUMNS_MOST && !read_time(layout, row, time, r, &n->value[time], &n->step))
        return false;
    for (size_t k = 0; k < r->signal_count; k++) {
        size_t c = r->signals[k];
        cw_csv_value v;
        if (r->times[k] != time && !read_time(layout, row, r->times[k], r, &n->value[r->times[k]], &own_step))
            return false;
        if (c >= row->count || !cw_csv_read_value(row->cells[c], layout, &v)) {
            if (!hold_value(row, k, line, h, r, &n->value[c]))
                return false;
            continue;
        }
        if (v.kind == CW_CSV_CLOCK || v.kind == CW_CSV_SECONDS)
            return false;
        r->gaps[k].has_hole = r->gaps[k].has_hole || r->gaps[k].missing_line > 0;
        bool beyond = v.kind == CW_CSV_OVER || v.kind == CW_CSV_UNDER;
        if (beyond && r->gaps[k].beyond++ == 0)
            r->gaps[k].beyond_line = line;
        r->in_volts[k] = r->in_volts[k] || (v.kind == CW_CSV_SIGNAL && v.is_volts);
        n->value[c] = beyond                    ? (v.kind == CW_CSV_OVER ? INFINITY : -INFINITY)
                      : v.kind == CW_CSV_SIGNAL ? v.value / h->scale[c] /* scaled again when it is kept */
                                                : v.value;
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
        CW_TRY(keep_row(&n, h, walk->line + 1, false, r, &fits, err));
    *next = fits ? *next : NULL;
    for (size_t k = 0; fits && r->has_gap && k < r->signal_count; k++)
        r->gaps[k].has_hole = r->gaps[k].has_hole || r->gaps[k].missing_line > 0;
    r->has_gap = r->has_gap && !fits;
    return CW_OK;
}

/* A line with words, quotes, too many digits, too few or too many columns. *kept is false for one that is no row. */
static cw_status take_other(const cw_csv_layout *layout, const cw_csv_header *h, size_t line, const cw_csv_row *row,
                            size_t widest, cw_csv_rows *r, bool *kept, cw_error *err)
{
    numbers n;
    *kept = false;
    if (row->count > widest) /* damage */
        return CW_OK;
    if (read_cells(layout, row, h, line, r, &n))
        CW_TRY(keep_row(&n, h, line, true, r, kept, err));
    return CW_OK;
}

/* Words below the recording, with no row of numbers under them, are a remark or a summary. */
static bool is_footer(const cw_csv_layout *layout, const cw_csv_row *row, cw_csv_lines walk)
{
    cw_csv_cell line, first = row->cells[0];
    cw_csv_row below;
    if (first.length == 0 || isdigit((unsigned char)*first.text) || strchr("+-.", *first.text) != NULL ||
        cw_csv_is_missing(first))
        return false;
    while (cw_csv_line(&walk, &line)) {
        cw_csv_split(line, layout->separator, &below);
        if (cw_csv_is_row_of_numbers(&below, layout))
            return false;
    }
    return true;
}

/* Rows below a blank line go on with those above it when time does: one step of about the same size. Without time only
 * a file that is blank in every other line does. */
static bool goes_on(const cw_csv_rows *r, bool blank_after_first)
{
    if (r->time_column == CW_CSV_COLUMNS_MOST)
        return blank_after_first;
    if (r->rows < 3)
        return true;
    double step = r->at[r->rows - 1] - r->at[r->rows - 2];
    double usual = (r->at[r->rows - 2] - r->at[0]) / (double)(r->rows - 2);
    return step >= 0 && step <= 4 * usual;
}

/* A walk through the lines, and what it met. */
typedef struct {
    cw_csv_lines lines;
    cw_csv_cell header;     /* the line above the first row */
    size_t widest;          /* cells a row may have */
    size_t blank_line;      /* before the line that is looked at; 0: none */
    bool blank_after_first; /* the first row had a blank line under it */
} csv_walk;

static bool is_same(cw_csv_cell a, cw_csv_cell b)
{
    return a.length == b.length && a.length > 0 && memcmp(a.text, b.text, a.length) == 0;
}

/* A blank line, a remark, or the header again: nothing is read, but what follows must go on. */
static bool is_between(csv_walk *w, cw_csv_cell line, const cw_csv_row *row, const cw_csv_rows *r)
{
    if (cw_csv_is_comment(line))
        return true;
    if (row->count > 0 && !is_same(line, w->header))
        return false;
    w->blank_line = w->lines.line;
    w->blank_after_first = w->blank_after_first || r->rows == 1;
    return true;
}

static cw_status take_line(const cw_csv_layout *layout, const cw_csv_header *h, csv_walk *w, cw_csv_cell line,
                           cw_csv_rows *r, bool *at_end, cw_error *err)
{
    cw_csv_row row;
    bool kept;
    cw_csv_split(line, layout->separator, &row);
    if (is_between(w, line, &row, r))
        return CW_OK;
    if (r->rows <= 64 && row.count > w->widest) /* beside the first rows there may be settings */
        w->widest = row.count;
    CW_TRY(take_other(layout, h, w->lines.line, &row, w->widest, r, &kept, err));
    if (!kept && is_footer(layout, &row, w->lines)) {
        *at_end = true;
        r->left_out_line = w->lines.line;
        snprintf(r->left_out, sizeof r->left_out, "%.*s", (int)line.length, line.text);
        return CW_OK;
    }
    if (w->blank_line > 0 && r->rows > (size_t)kept && !(kept && goes_on(r, w->blank_after_first)))
        return cw_fail(err, CW_INPUT,
                       "line %zu is blank but numbers or text follow; is a second recording appended? Split the file "
                       "there",
                       w->blank_line);
    w->blank_line = 0;
    return kept ? CW_OK : refuse_row(layout, &row, w->lines.line, w->widest, w->lines.at >= w->lines.length, err);
}

cw_status cw_csv_read_rows(const char *text, size_t length, const cw_csv_layout *layout, const cw_csv_header *h,
                           cw_csv_rows *r, cw_error *err)
{
    csv_walk w = {.lines = {.text = text, .length = length}, .widest = layout->columns};
    cw_csv_cell line;
    bool plain = can_be_plain(layout) && r->base == 0 && !r->has_times, at_end = false;
    while (!at_end) {
        const char *next = NULL;
        if (plain && w.blank_line == 0 && w.lines.line + 1 >= layout->first_line)
            CW_TRY(take_plain(layout, h, &w.lines, r, &next, err));
        if (next != NULL) {
            w.lines.at = (size_t)(next - text);
            w.lines.line++;
            continue;
        }
        if (!cw_csv_line(&w.lines, &line))
            return CW_OK;
        if (w.lines.line >= layout->first_line) {
            CW_TRY(take_line(layout, h, &w, line, r, &at_end, err));
        } else if (w.lines.line + 4 > layout->first_line) {
            cw_csv_row above;
            cw_csv_split(line, layout->separator, &above);
            w.widest = above.count > w.widest ? above.count : w.widest;
            w.header = above.count > 0 ? line : w.header;
        }
    }
    return CW_OK;
}
