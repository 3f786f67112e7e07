/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Some programs write a channel a line, its samples side by side. Such a text is turned into one of a row a sample,
 * which the rest of the reader knows. */
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "signal/csv.h"

/* A time line and the channels; with more lines than that, or in all, the file is only wide. */
enum { SIDEWAYS_MOST = 9, LINES_MOST = 200 };

typedef struct {
    size_t count, cells;
    cw_csv_cell line[SIDEWAYS_MOST];
    char separator;
} sideways;

static size_t cells_of(cw_csv_cell line, char separator)
{
    size_t cells = 1;
    for (size_t i = 0; i + 1 < line.length; i++) /* one at the end makes no further cell */
        cells += line.text[i] == separator;
    return cells;
}

/* Takes the next cell off the line. */
static cw_csv_cell take_cell(cw_csv_cell *line, char separator)
{
    const char *end = line->length > 0 ? memchr(line->text, separator, line->length) : NULL;
    cw_csv_cell cell = {line->text, end != NULL ? (size_t)(end - line->text) : line->length};
    size_t taken = cell.length + (end != NULL);
    *line = (cw_csv_cell){line->text + taken, line->length - taken};
    return cell;
}

static bool is_number(cw_csv_cell cell)
{
    while (cell.length > 0 && (isspace((unsigned char)*cell.text) || *cell.text == '"'))
        cell = (cw_csv_cell){cell.text + 1, cell.length - 1};
    return cell.length > 0 && (isdigit((unsigned char)*cell.text) || strchr("+-.", *cell.text) != NULL);
}

static bool take_long_line(cw_csv_cell line, char separator, sideways *s)
{
    size_t cells = cells_of(line, separator);
    cw_csv_cell rest = line;
    (void)take_cell(&rest, separator);
    if (cells <= CW_CSV_COLUMNS_MOST)
        return true;
    if (s->count == SIDEWAYS_MOST || (s->count > 0 && cells != s->cells) || !is_number(rest))
        return false;
    s->cells = cells;
    s->line[s->count++] = line;
    return true;
}

static bool find(const char *text, size_t length, char separator, sideways *s)
{
    cw_csv_lines walk = {.text = text, .length = length};
    cw_csv_cell line;
    *s = (sideways){.separator = separator};
    while (cw_csv_line(&walk, &line))
        if (walk.line > LINES_MOST || !take_long_line(line, separator, s))
            return false;
    return s->count > 0;
}

/* The short lines as they are, then a row of the first cells (names mostly), a row of the second ones, and so on. */
static void write(const char *text, size_t length, const sideways *s, cw_buf *out)
{
    cw_csv_lines walk = {.text = text, .length = length};
    cw_csv_cell line, rest[SIDEWAYS_MOST];
    while (cw_csv_line(&walk, &line))
        if (cells_of(line, s->separator) <= CW_CSV_COLUMNS_MOST) {
            cw_buf_add(out, line.text, line.length);
            cw_buf_add(out, "\n", 1);
        }
    memcpy(rest, s->line, s->count * sizeof *rest);
    for (size_t i = 0; i < s->cells; i++)
        for (size_t k = 0; k < s->count; k++) {
            cw_csv_cell cell = take_cell(&rest[k], s->separator);
            cw_buf_add(out, cell.text, cell.length);
            cw_buf_add(out, k + 1 < s->count ? &s->separator : "\n", 1);
        }
}

cw_status cw_csv_turn_sideways(char **bytes, size_t *count, char separator, cw_error *err)
{
    static const char separators[] = {'\t', ';', ','};
    sideways s = {.count = 0};
    for (size_t i = 0; i < CW_COUNT(separators) && s.count == 0; i++)
        if ((separator == 0 || separator == separators[i]) && !find(*bytes, *count, separators[i], &s))
            s.count = 0;
    if (s.count == 0)
        return CW_OK;
    cw_buf turned = cw_buf_new(2 * *count + LINES_MOST);
    write(*bytes, *count, &s, &turned);
    char *text;
    cw_status status = cw_buf_take(&turned, &text, err);
    cw_buf_free(&turned);
    if (status != CW_OK)
        return status;
    free(*bytes);
    *bytes = text;
    *count = strlen(text);
    return CW_OK;
}
