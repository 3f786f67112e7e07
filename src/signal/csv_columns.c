/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which column is time, which only count or repeat it, and which are signals. */
#include <math.h>
#include <stdio.h>

#include "signal/csv.h"

/* A column that falls once in so many rows and rises otherwise is time that runs back, which is told later. */
enum { ROWS_LOOKED_AT = 1000, FIRST_COLUMNS = 2, ROWS_PER_FALL = 50 };

/* What the first columns of numbers do from row to row. */
typedef struct {
    bool rises[FIRST_COLUMNS];
    bool counts; /* the first: 0, 1, 2 ... or 1, 2, 3 ... */
    bool whole;  /* the first: no fractions */
} first_columns;

static first_columns look_at_first(const char *text, size_t length, const cw_csv_layout *layout, const size_t *numeric,
                                   size_t count)
{
    first_columns f = {.counts = true, .whole = true};
    cw_csv_lines walk = {.text = text, .length = length};
    cw_csv_cell line;
    double before[FIRST_COLUMNS] = {0};
    size_t n = 0, stood[FIRST_COLUMNS] = {0}, fell[FIRST_COLUMNS] = {0};
    if (count > FIRST_COLUMNS)
        count = FIRST_COLUMNS;
    while (n < ROWS_LOOKED_AT && cw_csv_line(&walk, &line)) {
        cw_csv_row row;
        if (walk.line < layout->first_line)
            continue;
        cw_csv_split(line, layout->separator, &row);
        if (!cw_csv_is_row_of_numbers(&row, layout))
            continue;
        for (size_t i = 0; i < count; i++) {
            cw_csv_value v = {.value = 0};
            if (numeric[i] < row.count && !cw_csv_read_value(row.cells[numeric[i]], layout, &v))
                continue;
            fell[i] += n > 0 && v.value < before[i];
            stood[i] += n > 0 && v.value == before[i];
            f.counts = f.counts && (i > 0 || ((n == 0 || v.value == before[i] + 1) && v.value == floor(v.value)));
            f.whole = f.whole && (i > 0 || v.value == floor(v.value));
            before[i] = v.value;
        }
        n++;
    }
    for (size_t i = 0; i < count && n > 1; i++) {
        bool steady = fell[i] == 0 && stood[i] + 1 < n; /* few digits repeat a stamp, but not for ever */
        f.rises[i] = steady || (fell[i] <= 1 + n / ROWS_PER_FALL && (stood[i] + fell[i]) * 2 < n);
    }
    f.counts = f.counts && n > 1;
    return f;
}

static cw_status no_time(const cw_csv_header *h, bool only_counts, size_t n, cw_error *err)
{
    char unclear[240] = "";
    if (h->unclear[0] != '\0')
        snprintf(unclear, sizeof unclear,
                 ", and \"%s\" has no unit that is understood: it may be an interval, a rate or a count. Give the time "
                 "between two samples with --sample-interval",
                 h->unclear);
    return cw_fail(err, CW_INPUT, "no time in the file: %s%s",
                   only_counts ? "its first column only counts the samples"
                   : n == 1    ? "one column only"
                               : "no column named time, and the first does not rise steadily",
                   unclear[0] != '\0' ? unclear
                   : h->only_time_base
                       ? ", and the time per division alone does not say how far apart samples are. Export it with a "
                         "time column, or give the time between two samples with --sample-interval"
                       : ", and no sample interval or rate in its first lines. Export it with a time column, or give "
                         "the time between two samples with --sample-interval");
}

/* A time column that stands between signals holds the instants of those behind it. */
static size_t own_times(const cw_csv_layout *layout, const cw_csv_header *h, size_t time, size_t signal,
                        const cw_csv_rows *r)
{
    for (size_t c = signal; c-- > 0 && c > time;)
        if (layout->numeric[c] && h->time_again[c])
            return r->signal_count > 0 && r->signals[0] < c ? c : time;
    return time;
}

static cw_status take_signals(const cw_csv_layout *layout, const cw_csv_header *h, size_t counter, size_t time,
                              cw_csv_rows *r, cw_error *err)
{
    r->time_column = time;
    for (size_t c = 0; c < layout->columns; c++) {
        if (!layout->numeric[c] || c == time || c == counter || c == layout->clock_column || h->time_again[c])
            continue;
        if (r->signal_count == CW_CHANNELS_MOST)
            return cw_fail(err, CW_INPUT,
                           "more than %d columns of values; up to %d can be used. Keep those of the sensors and the "
                           "contact",
                           CW_CHANNELS_MOST, CW_CHANNELS_MOST);
        r->times[r->signal_count] = time < CW_CSV_COLUMNS_MOST ? own_times(layout, h, time, c, r) : time;
        r->has_times = r->has_times || r->times[r->signal_count] != time;
        r->signals[r->signal_count++] = c;
    }
    if (r->signal_count == 0)
        return cw_fail(err, CW_INPUT,
                       "a time column but no values beside it. Is the separator '%s' right? Try --separator",
                       layout->separator == '\t'  ? "tab"
                       : layout->separator == ';' ? ";"
                       : layout->separator == ',' ? ","
                       : layout->separator == '|' ? "|"
                                                  : "blank");
    return CW_OK;
}

/* Instants of ten digits and more before the point: what they have in common is taken off before they become doubles.
 */
static void find_base(const char *text, size_t length, const cw_csv_layout *layout, cw_csv_rows *r)
{
    enum { MANY_DIGITS = 10 };
    cw_csv_lines walk = {.text = text, .length = length};
    cw_csv_cell line;
    cw_csv_row row;
    while (cw_csv_line(&walk, &line)) {
        cw_csv_split(line, layout->separator, &row);
        if (walk.line < layout->first_line || !cw_csv_is_row_of_numbers(&row, layout))
            continue;
        cw_csv_cell cell = row.cells[r->time_column];
        int64_t whole;
        if (cw_csv_whole_part(cell, &whole) >= MANY_DIGITS)
            r->base = whole;
        return;
    }
}

cw_status cw_csv_assign_columns(const char *text, size_t length, const cw_csv_layout *layout, const cw_csv_header *h,
                                bool has_interval, cw_csv_rows *r, cw_error *err)
{
    size_t numeric[CW_CSV_COLUMNS_MOST], n = 0;
    for (size_t c = 0; c < layout->columns; c++)
        if (layout->numeric[c])
            numeric[n++] = c;
    first_columns first = look_at_first(text, length, layout, numeric, n);
    size_t time = h->time_column, counter = CW_CSV_COLUMNS_MOST;
    /* a setting called "time" may stand above the only column, whose samples lie at an interval that is said */
    if (time < CW_CSV_COLUMNS_MOST && (!layout->numeric[time] || (n == 1 && has_interval)))
        time = CW_CSV_COLUMNS_MOST;
    if (time == CW_CSV_COLUMNS_MOST)
        time = layout->clock_column;
    bool named_count = h->counts_samples && numeric[0] == 0 && first.whole;
    if (time != numeric[0] && n > 1 && first.rises[0] && (first.counts || named_count))
        counter = numeric[0];
    if (time == CW_CSV_COLUMNS_MOST && n > 1 && first.rises[0]) {
        if (counter == CW_CSV_COLUMNS_MOST)
            time = numeric[0];
        else if (n > 2 && first.rises[1] && !has_interval)
            time = numeric[1];
    }
    if (time == CW_CSV_COLUMNS_MOST && !has_interval)
        return no_time(h, counter < CW_CSV_COLUMNS_MOST, n, err);
    CW_TRY(take_signals(layout, h, counter, time, r, err));
    if (time < CW_CSV_COLUMNS_MOST && time != layout->clock_column)
        find_base(text, length, layout, r);
    return CW_OK;
}
