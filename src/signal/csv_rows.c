/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "signal/csv.h"

/* Lines looked at to find out how the file is written: the first ones, and some from further down. */
enum { LINES_FROM_TOP = 400, LINES_FROM_BELOW = 200, ROWS_LEAST = 2 };

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
    if (length >= 3 && text[0] == '=' && text[1] == '"' && text[length - 1] == '"') /* ="1.5": a formula of a sheet */
        return trimmed(text + 1, length - 1);
    if (length >= 2 && (text[0] == '"' || text[0] == '\'') && text[length - 1] == text[0])
        return trimmed(text + 1, length - 2);
    return (cw_csv_cell){text, length};
}

/* Between blanks "12.5 us" is one cell: the unit goes to the number before it. */
static bool joins_unit(cw_csv_row *row, cw_csv_cell cell)
{
    char unit[8];
    if (row->count == 0 || cell.length == 0 || cell.length >= sizeof unit || isdigit((unsigned char)*cell.text))
        return false;
    cw_csv_cell *before = &row->cells[row->count - 1];
    cw_csv_plain_words(cell, unit, sizeof unit);
    if (before->length == 0 || !isdigit((unsigned char)before->text[before->length - 1]) ||
        strchr("+-.0123456789", *before->text) == NULL ||
        (cw_csv_unit_of_time(unit) == 0 && cw_csv_unit_of_signal(unit, NULL) == 0))
        return false;
    before->length = (size_t)(cell.text + cell.length - before->text);
    return true;
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
        cw_csv_cell cell = trimmed(line.text + start, at - start);
        if (!(blanks && joins_unit(row, cell)))
            row->cells[row->count++] = cell;
        at++;
        while (blanks && at < line.length && isblank((unsigned char)line.text[at]))
            at++;
    }
    row->written = row->count + (!blanks && line.length > 0 && at == line.length && row->count > 0);
    while (row->count > 0 && row->cells[row->count - 1].length == 0)
        row->count--;
}

bool cw_csv_is_comment(cw_csv_cell line)
{
    cw_csv_cell front = trimmed(line.text, line.length);
    return front.length > 0 && (*front.text == '#' || *front.text == '%' ||
                                (front.length > 1 && front.text[0] == '/' && front.text[1] == '/'));
}

/* The lines a file is judged by. */
typedef struct {
    cw_csv_cell *line;
    size_t *number; /* 0 further down, where nobody counts */
    size_t count, top;
} sample;

/* How well one way of reading fits: rows of numbers, and their columns. */
typedef struct {
    cw_csv_layout layout;
    size_t rows;
    bool above, beside; /* the separator stands in the lines above the numbers, in those with numbers */
} trial;

/* What one column held in the lines looked at. */
typedef struct {
    size_t values, levels, empty, marks; /* marks: "---", "nan" */
    bool is_clock;
} column;

static bool has_value(const cw_csv_row *row, size_t c, const cw_csv_layout *layout, cw_csv_value *value)
{
    return c < row->count && row->cells[c].length > 0 && cw_csv_read_value(row->cells[c], layout, value);
}

/* Counts what the columns hold in the last of the lines looked at: in a wide file of settings beside the numbers the
 * first rows have more. */
static size_t look_at_columns(const sample *s, const cw_csv_layout *layout, column *columns)
{
    size_t looked = 0;
    for (size_t i = s->count > s->top ? s->top : s->count / 2; i < s->count; i++) {
        cw_csv_row row;
        cw_csv_split(s->line[i], layout->separator, &row);
        if (row.count == 0 || cw_csv_is_comment(s->line[i]))
            continue;
        looked++;
        for (size_t c = 0; c < CW_CSV_COLUMNS_MOST; c++) {
            cw_csv_value value;
            bool has = has_value(&row, c, layout, &value);
            columns[c].values += has;
            columns[c].levels += has && value.kind == CW_CSV_NUMBER && (value.value == 0 || value.value == 1);
            columns[c].marks += !has && c < row.count && row.cells[c].length > 0 && cw_csv_is_missing(row.cells[c]);
            columns[c].empty += c < row.written && (c >= row.count || row.cells[c].length == 0);
            columns[c].is_clock = columns[c].is_clock || (has && value.kind == CW_CSV_CLOCK);
        }
    }
    return looked;
}

/* The columns that hold numbers, and those of levels written only where they change. */
static bool numeric_columns(const sample *s, cw_csv_layout *layout)
{
    column columns[CW_CSV_COLUMNS_MOST] = {{0}};
    size_t looked = look_at_columns(s, layout, columns);
    layout->columns = 0;
    layout->clock_column = CW_CSV_COLUMNS_MOST;
    for (size_t c = 0; c < CW_CSV_COLUMNS_MOST; c++) {
        const column *one = &columns[c];
        bool only_gaps = layout->columns > 0 && one->empty > 0 && one->values + one->marks + one->empty == looked;
        layout->sparse[c] = only_gaps && (one->levels == one->values || one->values * 10 > looked * 3);
        layout->numeric[c] = one->values > 0 && ((one->values + one->marks) * 10 > looked * 6 || layout->sparse[c]);
        if (layout->numeric[c])
            layout->columns = c + 1;
        if (layout->numeric[c] && one->is_clock && layout->clock_column == CW_CSV_COLUMNS_MOST)
            layout->clock_column = c;
    }
    return layout->columns > 0;
}

bool cw_csv_is_row_of_numbers(const cw_csv_row *row, const cw_csv_layout *layout)
{
    bool has_one = false;
    for (size_t c = 0; c < layout->columns; c++) {
        cw_csv_value value;
        bool empty = c >= row->count || row->cells[c].length == 0;
        if (!layout->numeric[c])
            continue;
        if (has_value(row, c, layout, &value))
            has_one = true;
        else if (!has_one || (empty ? !layout->sparse[c] : !cw_csv_is_missing(row->cells[c])))
            return false;
    }
    return has_one;
}

static void try_layout(const sample *s, char separator, char decimal, bool groups, trial *t)
{
    *t = (trial){.layout = {.separator = separator, .decimal = decimal, .groups = groups}};
    if (!numeric_columns(s, &t->layout))
        return;
    for (size_t i = 0; i < s->count; i++) {
        cw_csv_row row;
        cw_csv_split(s->line[i], separator, &row);
        bool has = cw_csv_is_row_of_numbers(&row, &t->layout);
        /* the last unbroken run is the data: a lone number in the preamble is none */
        if (has && (t->rows == 0 || t->layout.first_line == 0))
            t->layout.first_line = s->number[i];
        t->beside = t->beside || (has && row.written > 1);
        if (has)
            t->rows++;
        else if (row.count > 0 && i < s->top / 2 && !cw_csv_is_comment(s->line[i]))
            t->rows = 0;
        if (t->rows == 0)
            t->above = t->above || memchr(s->line[i].text, separator, s->line[i].length) != NULL;
    }
}

/* Columns of numbers, less those between them that hold none: a wrong separator leaves such scraps. "0,125" alone in a
 * row is one number where semicolons part the settings above, and two otherwise. */
static int score(const trial *t)
{
    int n = t->above && !t->beside && t->layout.separator == ';' && t->layout.columns == 1 ? 2 : 0;
    for (size_t c = 0; c < t->layout.columns; c++)
        n += t->layout.numeric[c] ? 1 : -1;
    return n;
}

static void take_lines(const char *text, size_t length, bool counted, size_t most, sample *s)
{
    cw_csv_lines walk = {.text = text, .length = length};
    cw_csv_cell line;
    for (size_t n = 0; n < most && cw_csv_line(&walk, &line);)
        if (trimmed(line.text, line.length).length > 0) {
            s->line[s->count] = line;
            s->number[s->count++] = counted ? walk.line : 0;
            n++;
        }
}

/* The first lines, and where there are many more some whole ones from further down. */
static void take_sample(const char *text, size_t length, sample *s)
{
    take_lines(text, length, true, LINES_FROM_TOP, s);
    s->top = s->count;
    for (size_t eighth = 4; eighth < 8 && s->top == LINES_FROM_TOP; eighth++) {
        size_t at = length / 8 * eighth;
        if (text + at <= s->line[s->top - 1].text)
            continue;
        while (at < length && text[at] != '\n' && text[at] != '\r')
            at++;
        take_lines(text + at, length - at, false, LINES_FROM_BELOW / 4, s);
    }
}

/* Where rows begin below a preamble that is longer than what was looked at. */
static void find_first_line(const char *text, size_t length, cw_csv_layout *layout)
{
    cw_csv_lines walk = {.text = text, .length = length};
    cw_csv_cell line;
    cw_csv_row row;
    while (layout->first_line == 0 && cw_csv_line(&walk, &line)) {
        cw_csv_split(line, layout->separator, &row);
        if (cw_csv_is_row_of_numbers(&row, layout))
            layout->first_line = walk.line;
    }
}

static trial best_trial(const sample *s, char separator)
{
    static const char pairs[][2] = {{'\t', '.'}, {'\t', ','}, {';', ','}, {';', '.'}, {',', '.'},
                                    {'|', '.'},  {'|', ','},  {' ', '.'}, {' ', ','}, {',', ','}};
    trial best = {.rows = 0};
    /* first as if no digits were grouped: "1.234" is then a number near one wherever it can be */
    for (size_t i = 0; i < 2 * CW_COUNT(pairs) + (separator != 0); i++) {
        bool given = i == 2 * CW_COUNT(pairs);
        char sep = given ? separator : pairs[i % CW_COUNT(pairs)][0];
        char decimal = given ? '.' : pairs[i % CW_COUNT(pairs)][1];
        if (separator != 0 && sep != separator)
            continue;
        trial t;
        try_layout(s, sep, decimal, i >= CW_COUNT(pairs), &t);
        bool better = t.rows > best.rows + best.rows / 8 ||
                      (t.rows + t.rows / 8 >= best.rows && t.rows > 0 && score(&t) > score(&best));
        if (better)
            best = t;
    }
    return best;
}

cw_status cw_csv_find_layout(const char *text, size_t length, char separator, cw_csv_layout *layout, cw_error *err)
{
    enum { ALL = LINES_FROM_TOP + LINES_FROM_BELOW };
    sample s = {.line = calloc(ALL, sizeof *s.line), .number = calloc(ALL, sizeof *s.number)};
    if (s.line == NULL || s.number == NULL) {
        free(s.line);
        free(s.number);
        return cw_fail(err, CW_MEMORY, "no memory to read a text file");
    }
    take_sample(text, length, &s);
    trial best = best_trial(&s, separator);
    free(s.line);
    free(s.number);
    if (best.rows < ROWS_LEAST)
        return cw_fail(err, CW_INPUT,
                       "text, but without rows of numbers; a recording has a time column and at least one column of "
                       "values, separated by comma, semicolon, tab, bar or blanks");
    *layout = best.layout;
    layout->groups = true;
    find_first_line(text, length, layout);
    return CW_OK;
}
