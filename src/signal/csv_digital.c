/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Columns of nothing but 0 and 1 come from a logic analyser: one row a sample, or one row a change. They are edges, not
 * light. */
#include <math.h>
#include <stdlib.h>

#include "signal/csv.h"
#include "signal/edge_list.h"

/* Fewer rows, evenly spaced by chance, are changes. */
enum { SAMPLES_LEAST = 64 };

bool cw_csv_is_digital(const float *values, size_t count)
{
    bool low = false, high = false;
    for (size_t i = 0; i < count; i++) {
        if (values[i] != 0 && values[i] != 1)
            return false;
        low = low || values[i] == 0;
        high = high || values[i] == 1;
    }
    return low && high;
}

/* The rows of one channel where its level changes. */
static cw_status take_channel(const cw_csv_digital *d, size_t channel, const cw_csv_times *times, double early_s,
                              cw_edge_list *list, cw_error *err)
{
    size_t n = 1, at = 0;
    for (size_t i = 1; i < d->rows; i++)
        n += d->values[i * d->channels + channel] != d->values[(i - 1) * d->channels + channel];
    cw_edge *edges = malloc(n * sizeof *edges);
    if (edges == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu edges", n);
    for (size_t i = 0; i < d->rows; i++) {
        float value = d->values[i * d->channels + channel];
        if (i > 0 && value == d->values[(i - 1) * d->channels + channel])
            continue;
        double since_s = d->at_s != NULL ? d->at_s[i] - d->at_s[0] : (double)i * times->interval_s;
        edges[at++] = (cw_edge){.at_s = i > 0 ? since_s - early_s : 0, .level = value > 0};
    }
    list->edges[list->channels] = edges;
    list->count[list->channels++] = n;
    return CW_OK;
}

cw_status cw_csv_take_edges(const cw_csv_digital *d, double interval_s, cw_source_info *info, cw_edge_list **list,
                            cw_error *err)
{
    cw_csv_times times = {.interval_s = interval_s};
    bool sampled = true;
    if (d->at_s != NULL) {
        cw_source_info unread = {.form =
                                     CW_SOURCE_EDGES}; /* that rows stand unevenly is no fault in a list of changes */
        CW_TRY(cw_csv_check_times(d->rows, d->at_s, d->step_s, d->lines, interval_s, &unread, &times, err));
        sampled = !times.resampled && d->rows >= SAMPLES_LEAST;
    }
    cw_edge_list *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for edges");
    /* between two samples the change is anywhere */
    double early_s = sampled ? times.interval_s / 2 : 0;
    for (size_t c = 0; c < d->channels; c++) {
        cw_status status = take_channel(d, c, &times, early_s, made, err);
        if (status != CW_OK) {
            cw_edge_list_free(made);
            return status;
        }
    }
    double last_s = d->at_s != NULL ? d->at_s[d->rows - 1] - d->at_s[0] : (double)(d->rows - 1) * times.interval_s;
    info->form = CW_SOURCE_EDGES;
    info->channels = d->channels;
    info->rate_hz = 1 / (sampled ? times.interval_s : fmax(d->step_s, 1e-9));
    info->length_s = last_s + (sampled ? times.interval_s : 0);
    info->u_time_s = (sampled ? times.interval_s : d->step_s) / sqrt(12);
    *list = made;
    return CW_OK;
}
