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
    CW_TRY(cw_csv_check_times(r->rows, r->at, cw_csv_usual_step(&r->steps), r->lines, said_s, info, &times, err));
    if (times.resampled)
        CW_TRY(resample(r, &times, t, err));
    info->rate_hz = 1 / times.interval_s;
    info->u_time_s = times.u_time_s;
    if (h->time_unit_s == 0 && !r->has_units && times.interval_s > 1e-3)
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
        all_volts = all_volts && (h->has_unit[r->signals[k]] || r->in_volts[k]);
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
    CW_TRY(cw_csv_find_layout(text, length, options->separator, &layout, err));
    cw_csv_read_header(text, length, &layout, &header);
    CW_TRY(cw_csv_assign_columns(text, length, &layout, &header, said_interval(&header, options) > 0, r, err));
    CW_TRY(cw_csv_read_rows(text, length, &layout, &header, r, err));
    if (r->left_out_line > 0)
        cw_source_warn(&info, "from line %zu on (\"%s\") the file holds no more rows of numbers; that part is left out",
                       r->left_out_line, r->left_out);
    cw_csv_time_in_seconds(r, &header);
    cw_csv_put_in_order(r, &info);
    CW_TRY(cw_csv_fill_gaps(r, &header, &info, err));
    CW_TRY(cw_csv_join_times(r, &header, &info, err));
    name_channels(r, &header, &info);
    if (cw_csv_is_digital(r->values, r->rows * r->signal_count)) {
        cw_csv_digital digital = {r->rows, r->signal_count, r->at, cw_csv_finest_step(&r->steps), r->lines, r->values};
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

/* Text, filled up with zeros at its end or not. */
static bool is_text(const cw_file_head *head)
{
    cw_file_head front = *head;
    while (front.count > 0 && front.bytes[front.count - 1] == 0)
        front.count--;
    return front.count > 0 && cw_head_is_text(&front);
}

cw_status cw_csv_open(const char *path, const cw_file_head *head, const cw_source_options *options, cw_source *source,
                      cw_error *err)
{
    if (cw_csv_find_utf16(head->bytes, head->count) == CW_CSV_NO_UTF16 && !is_text(head))
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
        status = cw_csv_turn_sideways(&bytes, &count, options->separator, err);
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
