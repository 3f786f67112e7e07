/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "signal/csv.h"

/* Lines looked at to find out how the file is written. */
enum { LINES_LOOKED_AT = 400, ROWS_LEAST = 2 };

size_t cw_csv_line_end(const char *text, size_t length)
{
    size_t returns = 0; /* two of them: a CRLF file written once more as text */
    while (returns < 2 && returns < length && text[returns] == '\r')
        returns++;
    if (returns < length && text[returns] == '\n')
        return returns + 1;
    return returns > 0;
}

bool cw_csv_line(cw_csv_lines *lines, cw_csv_cell *line)
{
    if (lines->at >= lines->length)
        return false;
    const char *start = lines->text + lines->at;
    size_t left = lines->length - lines->at, n = 0;
    while (n < left && start[n] != '\n' && start[n] != '\r')
        n++;
    *line = (cw_csv_cell){start, n};
    lines->at += n + cw_csv_line_end(start + n, left - n);
    lines->line++;
    return true;
}

static cw_csv_cell trimmed(const char *text, size_t length)
{
    while (length > 0 && isspace((unsigned char)*text)) {
        text++;
        length--;
    }
    while (length > 0 && isspace((unsigned char)text[length - 1]))
        length--;
    if (length >= 2 && (text[0] == '"' || text[0] == '\'') && text[length - 1] == text[0])
        return trimmed(text + 1, length - 2);
    return (cw_csv_cell){text, length};
}

void cw_csv_split(cw_csv_cell line, char separator, cw_csv_row *row)
{
    row->count = 0;
    size_t at = 0;
    bool blanks = separator == ' ';
    while (blanks && at < line.length && isspace((unsigned char)line.text[at]))
        at++;
    while (at < line.length && row->count < CW_CSV_COLUMNS_MOST) {
        size_t start = at;
        bool quoted = false;
        while (at < line.length &&
               (quoted || (blanks ? !isblank((unsigned char)line.text[at]) : line.text[at] != separator))) {
            quoted = line.text[at] == '"' ? !quoted : quoted;
            at++;
        }
        row->cells[row->count++] = trimmed(line.text + start, at - start);
        at++;
        while (blanks && at < line.length && isblank((unsigned char)line.text[at]))
            at++;
    }
    while (row->count > 0 && row->cells[row->count - 1].length == 0)
        row->count--;
}

/* How well one way of reading fits: rows of numbers, and their columns. */
typedef struct {
    cw_csv_layout layout;
    size_t rows;
    bool above; /* the separator stands in the lines above the numbers */
} trial;

/* The columns that hold numbers in the last of the lines looked at; in a wide file of settings beside the numbers the
 * first rows have more. */
static bool numeric_columns(const cw_csv_cell *lines, size_t n, trial *t)
{
    size_t held[CW_CSV_COLUMNS_MOST] = {0}, looked = 0;
    for (size_t i = n / 2; i < n; i++) {
        cw_csv_row row;
        cw_csv_split(lines[i], t->layout.separator, &row);
        if (row.count == 0)
            continue;
        looked++;
        double value;
        for (size_t c = 0; c < row.count; c++)
            held[c] += cw_csv_number(row.cells[c], t->layout.decimal, &value, NULL);
    }
    t->layout.columns = 0;
    for (size_t c = 0; c < CW_CSV_COLUMNS_MOST; c++) {
        t->layout.numeric[c] = looked > 0 && held[c] * 10 > looked * 6;
        if (t->layout.numeric[c])
            t->layout.columns = c + 1;
    }
    return t->layout.columns > 0;
}

static bool is_row_of_numbers(const cw_csv_row *row, const cw_csv_layout *layout)
{
    double value;
    for (size_t c = 0; c < layout->columns; c++)
        if (layout->numeric[c] && (c >= row->count || !cw_csv_number(row->cells[c], layout->decimal, &value, NULL)))
            return false;
    return true;
}

static void try_layout(const cw_csv_cell *lines, const size_t *numbers, size_t n, char separator, char decimal,
                       trial *t)
{
    *t = (trial){.layout = {.separator = separator, .decimal = decimal}};
    if (!numeric_columns(lines, n, t))
        return;
    for (size_t i = 0; i < n; i++) {
        cw_csv_row row;
        cw_csv_split(lines[i], separator, &row);
        bool has = is_row_of_numbers(&row, &t->layout);
        /* the last unbroken run is the data: a lone number in the preamble is none */
        if (has && t->rows == 0)
            t->layout.first_line = numbers[i];
        if (has)
            t->rows++;
        else if (row.count > 0 && i < n / 2)
            t->rows = 0;
        if (t->rows == 0)
            t->above = t->above || memchr(lines[i].text, separator, lines[i].length) != NULL;
    }
}

/* Columns of numbers, less those between them that hold none: a wrong separator leaves such scraps. "0,125" alone in a
 * row is one number where semicolons part the settings above, and two otherwise. */
static int score(const trial *t)
{
    int n = t->above && t->layout.separator == ';' && t->layout.columns == 1 ? 2 : 0;
    for (size_t c = 0; c < t->layout.columns; c++)
        n += t->layout.numeric[c] ? 1 : -1;
    return n;
}

cw_status cw_csv_find_layout(const char *text, size_t length, char separator, cw_csv_layout *layout, cw_error *err)
{
    static const char pairs[][2] = {{'\t', '.'}, {'\t', ','}, {';', ','}, {';', '.'},
                                    {',', '.'},  {' ', '.'},  {' ', ','}, {',', ','}};
    cw_csv_cell *lines = calloc(LINES_LOOKED_AT, sizeof *lines);
    size_t *numbers = calloc(LINES_LOOKED_AT, sizeof *numbers), n = 0;
    if (lines == NULL || numbers == NULL) {
        free(lines);
        free(numbers);
        return cw_fail(err, CW_MEMORY, "no memory to read a text file");
    }
    cw_csv_lines walk = {.text = text, .length = length};
    cw_csv_cell line;
    while (n < LINES_LOOKED_AT && cw_csv_line(&walk, &line))
        if (trimmed(line.text, line.length).length > 0) {
            lines[n] = line;
            numbers[n++] = walk.line;
        }
    trial best = {.rows = 0};
    for (size_t i = 0; i < CW_COUNT(pairs) + (separator != 0); i++) {
        char sep = i < CW_COUNT(pairs) ? pairs[i][0] : separator, decimal = i < CW_COUNT(pairs) ? pairs[i][1] : '.';
        if (separator != 0 && sep != separator)
            continue;
        trial t;
        try_layout(lines, numbers, n, sep, decimal, &t);
        bool better = t.rows > best.rows + best.rows / 8 ||
                      (t.rows + t.rows / 8 >= best.rows && t.rows > 0 && score(&t) > score(&best));
        if (better)
            best = t;
    }
    free(lines);
    free(numbers);
    if (best.rows < ROWS_LEAST)
        return cw_fail(err, CW_INPUT,
                       "text, but without rows of numbers; a recording has a time column and at least one column of "
                       "values, separated by comma, semicolon, tab or blanks");
    *layout = best.layout;
    return CW_OK;
}
