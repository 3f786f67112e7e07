/* SPDX-License-Identifier: GPL-3.0-or-later */
/* CSV as instruments write it. Held in memory, with a ceiling: what is longer belongs into a WAV. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "base/file.h"
#include "signal/csv.h"
#include "signal/reader.h"

enum { ROWS_LEAST_FOR_A_SHOT = 16 };
static const size_t FILE_MOST = (size_t)512 << 20;

typedef struct {
    size_t channels, count, at;
    float *values; /* interleaved */
} table;

static cw_status table_read(void *state, size_t frames, float *out, size_t *got, cw_error *err)
{
    (void)err;
    table *t = state;
    if (frames > t->count - t->at)
        frames = t->count - t->at;
    memcpy(out, t->values + t->at * t->channels, frames * t->channels * sizeof *out);
    t->at += frames;
    *got = frames;
    return CW_OK;
}

static cw_status table_seek(void *state, uint64_t frame, cw_error *err)
{
    table *t = state;
    if (frame > t->count)
        return cw_fail(err, CW_RANGE, "row %llu lies behind the end (%zu)", (unsigned long long)frame, t->count);
    t->at = (size_t)frame;
    return CW_OK;
}

static void table_close(void *state)
{
    table *t = state;
    free(t->values);
    free(t);
}

/* Which numeric column is time, and which are signals. */
static cw_status assign_columns(const cw_csv_layout *layout, const cw_csv_header *h, const cw_source_options *options,
                                bool first_rises, bool first_counts, cw_csv_rows *r, cw_error *err)
{
    size_t numeric[CW_CSV_COLUMNS_MOST], n = 0;
    for (size_t c = 0; c < layout->columns; c++)
        if (layout->numeric[c])
            numeric[n++] = c;
    bool has_interval = h->interval_s > 0 || options->sample_interval_s > 0;
    size_t time = h->time_column, skipped = CW_CSV_COLUMNS_MOST;
    /* a setting called "time" may stand above the only column, whose samples lie at an interval that is said */
    if (time < CW_CSV_COLUMNS_MOST && (!layout->numeric[time] || (n == 1 && has_interval)))
        time = CW_CSV_COLUMNS_MOST;
    if (time == CW_CSV_COLUMNS_MOST && n > 1 && first_rises) {
        if (h->counts_samples || first_counts)
            skipped = numeric[0]; /* 0, 1, 2 ...: says nothing that the order does not */
        else
            time = numeric[0];
    }
    if (time == CW_CSV_COLUMNS_MOST && !has_interval)
        return cw_fail(err, CW_INPUT,
                       "no time in the file: %s%s. Export it with a time column, or give the time between two samples "
                       "with --sample-interval",
                       skipped < CW_CSV_COLUMNS_MOST ? "its first column only counts the samples"
                       : n == 1                      ? "one column only"
                                                     : "no column named time, and the first does not rise steadily",
                       h->only_time_base ? ", and the time per division alone does not say how far apart samples are"
                                         : ", and no sample interval or rate in its first lines");
    r->time_column = time;
    for (size_t i = 0; i < n; i++) {
        if (numeric[i] == time || numeric[i] == skipped || h->time_again[numeric[i]])
            continue;
        if (r->signal_count == CW_CHANNELS_MOST)
            return cw_fail(err, CW_INPUT,
                           "more than %d columns of values; up to %d can be used. Keep those of the sensors and the "
                           "contact",
                           CW_CHANNELS_MOST, CW_CHANNELS_MOST);
        r->signals[r->signal_count++] = numeric[i];
    }
    if (r->signal_count == 0)
        return cw_fail(err, CW_INPUT,
                       "a time column but no values beside it. Is the separator '%s' right? Try "
                       "--separator",
                       layout->separator == '\t'  ? "tab"
                       : layout->separator == ';' ? ";"
                       : layout->separator == ',' ? ","
                                                  : "blank");
    return CW_OK;
}

/* Does the first numeric column rise from row to row, and is it 0, 1, 2 ...? */
static void look_at_first_column(const char *text, size_t length, const cw_csv_layout *layout, bool *rises,
                                 bool *counts)
{
    size_t column = 0, n = 0;
    while (column < layout->columns && !layout->numeric[column])
        column++;
    cw_csv_lines walk = {.text = text, .length = length};
    cw_csv_cell line;
    double previous = 0, first = 0, value;
    *rises = *counts = true;
    while (n < 1000 && cw_csv_line(&walk, &line)) {
        cw_csv_row row;
        if (walk.line < layout->first_line)
            continue;
        cw_csv_split(line, layout->separator, &row);
        if (column >= row.count || !cw_csv_number(row.cells[column], layout->decimal, &value, NULL))
            continue;
        *rises = *rises && (n == 0 || value >= previous);
        *counts = *counts && (n == 0 || value == previous + 1);
        first = n == 0 ? value : first;
        previous = value;
        n++;
    }
    *rises = *rises && n > 1 && previous > first;
    *counts = *counts && n > 1 && first == floor(first);
}

static cw_status resample(const cw_csv_rows *r, const cw_csv_times *times, table *t, cw_error *err)
{
    float *even = malloc(times->count * t->channels * sizeof *even);
    if (even == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu evenly spaced samples", times->count);
    size_t left = 0;
    for (size_t i = 0; i < times->count; i++) {
        double at = times->start_s + (double)i * times->interval_s;
        while (left + 2 < r->rows && r->at[left + 1] <= at)
            left++;
        double from = r->at[left], to = r->at[left + 1];
        double way = to > from ? fmin(fmax((at - from) / (to - from), 0), 1) : 0;
        for (size_t k = 0; k < t->channels; k++) {
            double a = (double)r->values[left * t->channels + k], b = (double)r->values[(left + 1) * t->channels + k];
            even[i * t->channels + k] = (float)(a + way * (b - a));
        }
    }
    t->values = even;
    t->count = times->count;
    return CW_OK;
}

/* Without a time column, or with one in seconds. */
static double said_interval(const cw_csv_header *h, const cw_source_options *options)
{
    return options->sample_interval_s > 0 ? options->sample_interval_s : h->interval_s;
}

static void time_in_seconds(cw_csv_rows *r, const cw_csv_header *h)
{
    double unit_s = h->time_unit_s > 0 ? h->time_unit_s : 1;
    for (size_t i = 0; i < r->rows && r->time_column < CW_CSV_COLUMNS_MOST; i++)
        r->at[i] *= unit_s;
    r->step *= unit_s;
    r->finest *= unit_s;
}

static cw_status settle_time(cw_csv_rows *r, const cw_csv_header *h, const cw_source_options *options,
                             cw_source_info *info, table *t, cw_error *err)
{
    double said_s = said_interval(h, options);
    t->count = r->rows;
    if (r->time_column == CW_CSV_COLUMNS_MOST) {
        info->rate_hz = 1 / said_s;
        return CW_OK;
    }
    cw_csv_times times = {.count = 0};
    CW_TRY(cw_csv_check_times(r->rows, r->at, r->step, r->lines, said_s, info, &times, err));
    if (times.resampled)
        CW_TRY(resample(r, &times, t, err));
    info->rate_hz = 1 / times.interval_s;
    info->u_time_s = times.u_time_s;
    if (h->time_unit_s == 0 && times.interval_s > 1e-3)
        cw_source_warn(info,
                       "the time column has no unit and is taken as seconds, which makes samples %.4g s apart: far too "
                       "slow for a shutter. If it is in ms or us, say so in its header, as \"time (ms)\"",
                       times.interval_s);
    return CW_OK;
}

static void name_channels(const cw_csv_rows *r, const cw_csv_header *h, cw_source_info *info)
{
    bool all_volts = true;
    for (size_t k = 0; k < r->signal_count; k++) {
        memcpy(info->names[k], h->names[r->signals[k]], CW_CHANNEL_NAME);
        all_volts = all_volts && h->has_unit[r->signals[k]];
    }
    if (all_volts)
        memcpy(info->unit, "V", 2);
    else
        memcpy(info->unit, "units", 6);
}

static cw_status read_samples(cw_csv_rows *r, const cw_csv_header *h, const cw_source_options *options, table *t,
                              cw_source_info *info, cw_error *err)
{
    if (r->rows < ROWS_LEAST_FOR_A_SHOT)
        return cw_fail(err, CW_INPUT, "only %zu rows of numbers; a shot needs at least %d samples", r->rows,
                       ROWS_LEAST_FOR_A_SHOT);
    t->channels = r->signal_count;
    CW_TRY(settle_time(r, h, options, info, t, err));
    if (t->values == NULL) { /* not resampled: the rows as they are */
        t->values = r->values;
        r->values = NULL;
    }
    info->channels = t->channels;
    info->frames = t->count;
    info->length_s = (double)t->count / info->rate_hz;
    if (!(info->rate_hz >= 100 && info->rate_hz <= 1e10))
        return cw_fail(
            err, CW_INPUT,
            "the samples are %.3g s apart; a shutter needs a millisecond or less. Is the unit of time right?",
            1 / info->rate_hz);
    return CW_OK;
}

static cw_status read_table(const char *text, size_t length, const cw_source_options *options, cw_csv_rows *r, table *t,
                            cw_source *source, cw_error *err)
{
    cw_csv_layout layout;
    cw_csv_header header;
    cw_source_info info = {.form = CW_SOURCE_SAMPLED};
    bool rises, counts;
    CW_TRY(cw_csv_find_layout(text, length, options->separator, &layout, err));
    cw_csv_read_header(text, length, &layout, &header);
    look_at_first_column(text, length, &layout, &rises, &counts);
    CW_TRY(assign_columns(&layout, &header, options, rises, counts, r, err));
    CW_TRY(cw_csv_read_rows(text, length, &layout, &header, r, err));
    time_in_seconds(r, &header);
    name_channels(r, &header, &info);
    if (cw_csv_is_digital(r->values, r->rows * r->signal_count)) {
        cw_csv_digital digital = {r->rows, r->signal_count, r->at, r->finest, r->lines, r->values};
        cw_edge_list *list;
        CW_TRY(cw_csv_take_edges(&digital, said_interval(&header, options), &info, &list, err));
        info.unit[0] = '\0';
        cw_edge_list_give(list, &info, source);
        return CW_OK;
    }
    CW_TRY(read_samples(r, &header, options, t, &info, err));
    source->info = info;
    return CW_OK;
}

cw_status cw_csv_open(const char *path, const cw_file_head *head, const cw_source_options *options, cw_source *source,
                      cw_error *err)
{
    if (!cw_csv_is_utf16(head->bytes, head->count) && !cw_head_is_text(head))
        return cw_fail(err, CW_NOT_MINE, "not text");
    if (options->sample_interval_s < 0 || !isfinite(options->sample_interval_s))
        return cw_fail(err, CW_RANGE, "a sample interval of %g s", options->sample_interval_s);
    char *bytes = NULL;
    size_t count = 0;
    CW_TRY(cw_read_file(path, FILE_MOST, &bytes, &count, err));
    cw_csv_rows r = {.time_column = CW_CSV_COLUMNS_MOST};
    table *t = calloc(1, sizeof *t);
    cw_status status = t == NULL ? cw_fail(err, CW_MEMORY, "no memory to read a CSV") : CW_OK;
    if (status == CW_OK)
        status = cw_csv_plain_text(&bytes, &count, err);
    if (status == CW_OK)
        status = read_table(bytes, count, options, &r, t, source, err);
    free(bytes);
    cw_csv_rows_free(&r);
    if (status == CW_OK && source->info.form == CW_SOURCE_SAMPLED) {
        source->state = t;
        source->calls = (cw_source_calls){.read = table_read, .seek = table_seek, .close = table_close};
    } else if (t != NULL) {
        table_close(t);
    }
    return status;
}
