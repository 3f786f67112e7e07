/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands above the numbers: settings (csv_setting.c), names and units of the columns. */
#include <ctype.h>
#include <string.h>

#include "base/buf.h"
#include "signal/csv.h"

/* Rows right above the numbers that may name the columns: names, units, and what some put between or below. */
enum { WORDS_MOST = 64, PREAMBLE_ROWS_MOST = 20000, HEADER_ROWS = 4 };

static bool is_name_of_time(const char *words)
{
    static const char *const names[] = {
        "time",     "t",         "zeit",  "temps",      "tiempo",        "tempo",   "timestamp", "timestamps",
        "seconds",  "second",    "sec",   "tid",        "tijd",          "czas",    "elapsed",   "elapsed time",
        "datetime", "date time", "clock", "clock time", "relative time", "rel time"};
    for (size_t i = 0; i < CW_COUNT(names); i++) {
        size_t n = strlen(names[i]);
        bool ends = n > 1 ? !isalpha((unsigned char)words[n]) : words[n] == ' ' || words[n] == '\0'; /* t, not T2 */
        if (strncmp(words, names[i], n) == 0 && ends)
            return true;
    }
    return false;
}

static bool is_name_of_count(const char *words)
{
    static const char *const names[] = {
        "x",     "index",  "sample",       "samples",     "sequence",      "no",           "number", "n",
        "point", "points", "row",          "nr",          "sample number", "sample index", "idx",    "sample no",
        "line",  "record", "time samples", "time points", "time pts"};
    for (size_t i = 0; i < CW_COUNT(names); i++)
        if (strcmp(words, names[i]) == 0)
            return true;
    return false;
}

static bool is_unit(const char *words)
{
    return cw_csv_unit_of_time(words) > 0 || cw_csv_unit_of_signal(words, NULL) > 0;
}

static void read_column_words(size_t c, const char *words, cw_csv_header *h)
{
    if (is_name_of_count(words)) {
        h->counts_samples = h->counts_samples || c == 0;
        return;
    }
    const char *unit = cw_csv_last_word(words);
    bool is_volts, is_time = is_name_of_time(words);
    double seconds = cw_csv_unit_of_time(unit), volts = cw_csv_unit_of_signal(unit, &is_volts);
    if (seconds >= 60 && !is_time) /* "CH1 min" is a minimum */
        seconds = 0;
    if ((is_time || seconds > 0) && h->time_column == CW_CSV_COLUMNS_MOST)
        h->time_column = c;
    if (h->time_column == c && seconds > 0)
        h->time_unit_s = seconds;
    if ((is_time || seconds > 0) && h->time_column != c)
        h->time_again[c] = true;
    if (is_volts && !is_time) {
        h->scale[c] = volts;
        h->has_unit[c] = true;
    }
}

cw_csv_cell cw_csv_without_mark(cw_csv_cell line)
{
    while (line.length > 0 && (strchr("#%", *line.text) != NULL || isblank((unsigned char)*line.text)))
        line = (cw_csv_cell){line.text + 1, line.length - 1};
    if (line.length > 2 && line.text[0] == '/' && line.text[1] == '/')
        line = (cw_csv_cell){line.text + 2, line.length - 2};
    return line;
}

typedef struct {
    size_t wanted, worded, units; /* columns of numbers; with words above them; with nothing but a unit */
    bool names_time, is_setting;
} header_row;

static header_row look_at(const cw_csv_row *row, const cw_csv_layout *layout)
{
    header_row looked = {0};
    cw_csv_value value;
    for (size_t c = 0; c < layout->columns; c++) {
        char words[WORDS_MOST];
        if (!layout->numeric[c])
            continue;
        looked.wanted++;
        if (c >= row->count || row->cells[c].length == 0)
            continue;
        cw_csv_plain_words(row->cells[c], words, sizeof words);
        if (cw_csv_read_value(row->cells[c], layout, &value) && !is_unit(words))
            continue;
        looked.worded++;
        looked.units += is_unit(words) || is_name_of_count(words);
        looked.names_time = looked.names_time || is_name_of_time(words);
        looked.is_setting = looked.is_setting || cw_csv_is_setting(words);
    }
    return looked;
}

static void take_names(const cw_csv_row *row, const cw_csv_layout *layout, bool names, cw_csv_header *h)
{
    for (size_t c = 0; c < layout->columns && c < row->count; c++) {
        char words[WORDS_MOST];
        cw_csv_value value;
        if (!layout->numeric[c] || row->cells[c].length == 0)
            continue;
        cw_csv_plain_words(row->cells[c], words, sizeof words);
        if (!cw_csv_is_setting(words))
            read_column_words(c, words, h);
        if (!names || is_unit(words) || cw_csv_read_value(row->cells[c], layout, &value))
            continue;
        size_t n = row->cells[c].length < CW_CHANNEL_NAME - 1 ? row->cells[c].length : CW_CHANNEL_NAME - 1;
        memcpy(h->names[c], row->cells[c].text, n);
        h->names[c][n] = '\0';
    }
}

/* Names and units of the columns, from the last rows above the numbers (rows[0] the nearest): a row of nothing but
 * units, and the nearest row of names or one a little higher that names the time. Settings above them stay settings. */
static void read_columns(const cw_csv_row *rows, size_t count, const cw_csv_layout *layout, cw_csv_header *h)
{
    size_t units = count, names = count;
    for (size_t i = 0; i < count; i++) {
        header_row looked = look_at(&rows[i], layout);
        bool enough = looked.worded * 2 > looked.wanted || looked.worded >= 2;
        if (!enough)
            continue;
        if (looked.units == looked.worded && units == count)
            units = i;
        else if (names == count || (looked.names_time && !looked.is_setting && looked.worded == looked.wanted &&
                                    !look_at(&rows[names], layout).names_time))
            names = i;
    }
    /* a lone column under a setting: that is no name */
    if (units < count)
        take_names(&rows[units], layout, names == count, h);
    if (names < count)
        take_names(&rows[names], layout, true, h);
}

/* A line above the numbers. Where those stand in one column, or between blanks, they do not show what separates the
 * settings. */
static void split_above(cw_csv_cell line, const cw_csv_layout *layout, cw_csv_row *row)
{
    static const char separators[] = {';', '\t', ','};
    char separator = layout->separator;
    line = cw_csv_without_mark(line);
    cw_csv_split(line, separator, row);
    bool unseen = layout->columns == 1 || separator == ' ';
    for (size_t i = 0; unseen && i < CW_COUNT(separators); i++)
        if (memchr(line.text, separators[i], line.length) != NULL) {
            cw_csv_split(line, separators[i], row);
            return;
        }
}

static void push_front(cw_csv_row *rows, size_t *count, const cw_csv_row *row)
{
    memmove(rows + 1, rows, (HEADER_ROWS - 1) * sizeof *rows);
    rows[0] = *row;
    *count += *count < HEADER_ROWS;
}

void cw_csv_read_header(const char *text, size_t length, const cw_csv_layout *layout, cw_csv_header *header)
{
    cw_csv_header h = {.time_column = CW_CSV_COLUMNS_MOST};
    for (size_t c = 0; c < CW_CSV_COLUMNS_MOST; c++)
        h.scale[c] = 1;
    cw_csv_lines walk = {.text = text, .length = length};
    cw_csv_cell line;
    cw_csv_row row = {.count = 0}, below = {.count = 0}, nearest[HEADER_ROWS];
    size_t count = 0;
    bool has_row = cw_csv_line(&walk, &line);
    if (has_row)
        split_above(line, layout, &row);
    /* Settings may also stand beside the first rows of numbers; further down nobody writes any. */
    for (size_t n = 1; has_row && n < layout->first_line + 32 && n < PREAMBLE_ROWS_MOST; n++) {
        cw_csv_cell this_line = cw_csv_without_mark(line);
        bool has_below = cw_csv_line(&walk, &line);
        below.count = 0;
        if (has_below)
            split_above(line, layout, &below);
        if (!cw_csv_setting_in_cell(this_line, layout->decimal, &h))
            cw_csv_read_settings(&row, &below, layout->decimal, &h);
        if (n < layout->first_line && row.count > 0)
            push_front(nearest, &count, &row);
        row = below;
        has_row = has_below;
    }
    read_columns(nearest, count, layout, &h);
    if (h.time_unit_s == 0)
        h.time_unit_s = h.time_unit_above_s;
    for (size_t c = 0; c < layout->columns; c++)
        if (!h.has_unit[c] && h.volts_above > 0) {
            h.scale[c] = h.volts_above;
            h.has_unit[c] = true;
        }
    *header = h;
}
