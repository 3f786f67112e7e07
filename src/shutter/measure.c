/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/measure.h"

#include <math.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "shutter/measure_parts.h"

/* The sensors of one release see light within this time of each other, and bounces follow within it; no hand winds and
 * fires again so soon. Common practice, no source. */
static const double ONE_RELEASE_S = 0.06;
/* Rest looked at on both sides of a shot: whole periods of 50 and of 60 Hz. */
static const double REST_AROUND_S = 0.12;
/* Around a restless block, this much is read sample by sample. */
static const double RAW_MARGIN_S = 1.5e-3;
/* The blocks of the overview: short against any shutter time but long enough to be cheap. */
static const double BLOCK_S = 0.7e-3;
/* Longer ones than this hide what the events are told by: the recording is looked at in parts. */
static const double COARSE_BLOCK_S = 1.5e-3;

void cw_measure_warn(cw_measurement *out, const char *format, ...)
{
    if (out->warning_count == CW_WARNINGS_MOST)
        return; /* the most telling come first; more would not be read */
    va_list args;
    va_start(args, format);
    vsnprintf(out->warnings[out->warning_count++], CW_WARNING_TEXT, format, args);
    va_end(args);
}

static cw_status check_setup(cw_measuring *m, cw_error *err)
{
    const cw_measure_setup *s = &m->setup;
    size_t channels = m->info->channels;
    if (s->contact_channel > channels)
        return cw_fail(err, CW_RANGE,
                       channels == 1 ? "contact channel %zu, but the recording has %zu channel"
                                     : "contact channel %zu, but the recording has %zu channels",
                       s->contact_channel, channels);
    size_t lights = channels - (s->contact_channel > 0);
    if (lights == 0)
        return cw_fail(err, CW_RANGE,
                       "the only channel is named as the flash contact; one with a light sensor is needed");
    if (s->sensor_count > lights)
        return cw_fail(err, CW_RANGE,
                       lights == 1 ? "%zu sensors are named, but the recording has %zu channel for light%s; name as "
                                     "many places as there are sensors"
                                   : "%zu sensors are named, but the recording has %zu channels for light%s; name as "
                                     "many places as there are sensors",
                       s->sensor_count, lights, s->contact_channel > 0 ? " beside the contact's" : "");
    m->light_count = s->sensor_count > 0 ? s->sensor_count : lights;
    for (size_t c = 0, k = 0; c < channels; c++) {
        m->channels[c].is_contact = c + 1 == s->contact_channel;
        m->channels[c].is_light = !m->channels[c].is_contact && k < m->light_count;
        if (m->channels[c].is_light)
            m->light[k++] = c;
    }
    for (size_t k = 0; k < m->light_count && s->sensor_count > 0; k++)
        if (isinf(s->sensors_mm[k]))
            return cw_fail(err, CW_RANGE, "sensor %zu stands at infinity; give its place in mm along the travel",
                           k + 1);
    return CW_OK;
}

static cw_status read_overview(cw_measuring *m, cw_error *err)
{
    size_t block = 1;
    while ((double)(block * 2) <= BLOCK_S * m->info->rate_hz && m->info->frames / (block * 2) >= 2048)
        block *= 2;
    return cw_overview_read(m->source, 0, m->info->frames, block, CW_OVERVIEW_BLOCKS, &m->overview, err);
}

static cw_status no_event(const cw_measuring *m, cw_error *err)
{
    char held[600] = "", channels[40];
    size_t used = 0;
    snprintf(channels, sizeof channels, m->info->channels == 1 ? "%zu channel" : "%zu channels", m->info->channels);
    for (size_t k = 0; k < m->light_count && used + 1 < sizeof held; k++) {
        const cw_channel_state *s = &m->channels[m->light[k]];
        int n = snprintf(held + used, sizeof held - used, "%schannel %zu from %.3g to %.3g%s%s, resting at %.3g",
                         k > 0 ? "; " : " ", m->light[k] + 1, s->lowest, s->highest,
                         m->info->unit[0] != '\0' ? " " : " of full scale", m->info->unit, s->rest);
        used += n > 0 ? (size_t)n : 0;
    }
    return cw_fail(err, CW_INPUT,
                   "no shutter event in the recording. Looked for light that comes and goes: a change larger than 1.2 "
                   "times the noise and hum of 25 ms. The file holds %s, %.3f s at %.6g Hz:%s. Is the lamp "
                   "on, the sensor behind the shutter, the right input chosen?",
                   channels, m->info->length_s, m->info->rate_hz, held);
}

/* There is room for many more pulses than nearly all releases have; it is not touched, and so costs nothing. */
static void start_release(cw_release *r, size_t channels, double from_s)
{
    memset(r, 0, offsetof(cw_release, lanes));
    for (size_t c = 0; c < channels; c++)
        memset(&r->lanes[c], 0, offsetof(cw_lane_found, pulses));
    r->from_s = from_s;
    r->contact_s = (cw_quantity){NAN, NAN};
    r->contact_opens_s = NAN;
}

/* Events of the light channels, in order of time, into releases, which may be NULL; how many. */
static size_t group_into(const cw_measuring *m, cw_release *releases)
{
    double apart_s = ONE_RELEASE_S + (double)m->overview.block_frames / m->info->rate_hz, until_s = -INFINITY;
    size_t count = 0;
    for (size_t k = 0; k < m->events.count; k++) {
        const cw_event *e = &m->events.items[k];
        if (!m->channels[e->channel].is_light || e->is_move)
            continue;
        bool begins = e->from_s > until_s + apart_s;
        until_s = begins ? e->to_s : fmax(until_s, e->to_s);
        if (begins && releases != NULL)
            start_release(&releases[count], m->info->channels, e->from_s);
        count += begins;
        if (releases != NULL)
            releases[count - 1].to_s = until_s;
    }
    return count;
}

static cw_status group(cw_measuring *m, cw_error *err)
{
    size_t count = group_into(m, NULL);
    if (count == 0)
        return no_event(m, err);
    if (count > CW_SHOTS_MOST)
        return cw_fail(err, CW_RANGE, "more than %d shots in one recording; cut it into several", CW_SHOTS_MOST);
    m->releases = reallocarray(NULL, count, sizeof *m->releases);
    if (m->releases == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu shots", count);
    m->release_count = group_into(m, m->releases);
    return CW_OK;
}

/* The contact's closing next to a release, to the sample. */
static cw_status measure_contact(cw_measuring *m, const cw_overview *overview, cw_release *r, cw_error *err)
{
    size_t c = m->setup.contact_channel - 1;
    const cw_event *found = NULL;
    for (size_t k = 0; k < m->events.count && found == NULL; k++) {
        const cw_event *e = &m->events.items[k];
        if (e->channel == c && e->from_s > r->from_s - ONE_RELEASE_S && e->from_s < r->to_s + ONE_RELEASE_S &&
            !e->cut_start && !e->is_move)
            found = e;
    }
    if (found == NULL)
        return CW_OK;
    double quiet[CW_CHANNELS_MOST], block_s = (double)overview->block_frames / m->info->rate_hz;
    for (size_t k = 0; k < CW_CHANNELS_MOST; k++)
        quiet[k] = k == c ? 0 : -1;
    cw_trace *trace = &m->room.all;
    CW_TRY(cw_trace_read(m->source, overview, found->from_s - 0.002, fmin(found->to_s, found->from_s + block_s) + 0.002,
                         quiet, RAW_MARGIN_S, trace, err));
    double highest = 0, previous = 0, previous_s = NAN;
    for (size_t i = 0; i < trace->count; i++)
        highest = fmax(highest, found->sign * (trace->value[c][i] - found->before));
    for (size_t i = 0; i < trace->count && !r->contact_seen; i++) {
        double v = found->sign * (trace->value[c][i] - found->before);
        if (v >= highest / 2 && isfinite(previous_s)) {
            double way = v > previous ? (highest / 2 - previous) / (v - previous) : 1;
            r->contact_s.value = previous_s + way * (trace->at_s[i] - previous_s);
            r->contact_s.u = (trace->at_s[i] - previous_s) / sqrt(12);
            r->contact_seen = true;
        }
        previous = v;
        previous_s = trace->at_s[i];
    }
    if (r->contact_seen && !found->cut_end && !m->channels[c].is_ac)
        r->contact_opens_s = found->to_s;
    return CW_OK;
}

/* In much noise, light that lasted far less than the excursion in which it was found. */
static bool is_a_piece(const cw_lane_found *lane, double excursion_s)
{
    const double slack_s = 0.005; /* of two blocks and the flanks */
    const cw_pulse_found *p = &lane->pulses[0];
    return lane->seen && lane->noise > 0.2 * p->peak && p->off_s - p->on_s < 0.7 * excursion_s - slack_s;
}

static cw_status measure_lanes(cw_measuring *m, const cw_overview *overview, cw_release *r, double from_s, double to_s,
                               cw_error *err)
{
    double quiet[CW_CHANNELS_MOST];
    for (size_t c = 0; c < CW_CHANNELS_MOST; c++)
        if (!m->channels[c].is_light || m->channels[c].is_idle)
            quiet[c] = -1;
        else /* where noise drowns the edge in a block, every sample is kept */
            quiet[c] = m->channels[c].threshold > m->channels[c].mean_threshold ? m->channels[c].quiet / 2
                                                                                : m->channels[c].quiet;
    CW_TRY(cw_trace_read(m->source, overview, from_s, to_s, quiet, RAW_MARGIN_S, &m->room.all, err));
    for (size_t k = 0; k < m->light_count; k++) {
        double first_s = INFINITY, last_s = -INFINITY, longest_s = 0, before = 0;
        bool cut_start = false, cut_end = false;
        for (size_t i = 0; i < m->events.count; i++) {
            const cw_event *e = &m->events.items[i];
            if (e->channel != m->light[k] || e->is_move || e->from_s < r->from_s || e->from_s > r->to_s)
                continue;
            if (!isfinite(first_s))
                before = e->before;
            first_s = fmin(first_s, e->from_s);
            last_s = fmax(last_s, e->to_s);
            longest_s = fmax(longest_s, e->to_s - e->from_s);
            cut_start = cut_start || e->cut_start;
            cut_end = cut_end || e->cut_end;
        }
        if (!isfinite(first_s))
            continue;
        cw_lane_found *lane = &r->lanes[m->light[k]];
        CW_TRY(cw_measure_lane(m, m->light[k], first_s, last_s, before, lane, err));
        lane->broken = lane->broken || is_a_piece(lane, longest_s);
        lane->cut_start = lane->cut_start || cut_start;
        lane->cut_end = lane->cut_end || cut_end;
    }
    return CW_OK;
}

/* Rest is the same only up to where it moved. */
static void keep_off_moves(const cw_measuring *m, const cw_release *r, double *from_s, double *to_s)
{
    for (size_t k = 0; k < m->events.count; k++) {
        const cw_event *e = &m->events.items[k];
        if (!e->is_move || !m->channels[e->channel].is_light)
            continue;
        if (e->to_s <= r->from_s)
            *from_s = fmax(*from_s, e->to_s + RAW_MARGIN_S);
        if (e->from_s >= r->to_s)
            *to_s = fmin(*to_s, e->from_s - RAW_MARGIN_S);
    }
    *from_s = fmin(*from_s, r->from_s);
    *to_s = fmax(*to_s, r->to_s);
}

static cw_status measure_release(cw_measuring *m, size_t k, cw_error *err)
{
    cw_release *r = &m->releases[k];
    double from_s = r->from_s - REST_AROUND_S, to_s = r->to_s + REST_AROUND_S;
    if (k > 0)
        from_s = fmax(from_s, (r->from_s + m->releases[k - 1].to_s) / 2);
    if (k + 1 < m->release_count)
        to_s = fmin(to_s, (r->to_s + m->releases[k + 1].from_s) / 2);
    keep_off_moves(m, r, &from_s, &to_s);
    from_s = fmax(from_s, 0);
    to_s = fmin(to_s, m->info->length_s);
    cw_status status;
    bool is_whole = m->overview.from == 0 && m->overview.frames == m->info->frames;
    if (is_whole) {
        status = measure_lanes(m, &m->overview, r, from_s, to_s, err);
        if (status == CW_OK && m->setup.contact_channel > 0)
            status = measure_contact(m, &m->overview, r, err);
    } else { /* a long recording: this part of it again, in finer blocks */
        cw_overview local;
        size_t block = 1;
        while ((double)(block * 2) <= BLOCK_S * m->info->rate_hz)
            block *= 2;
        CW_TRY(cw_overview_read(m->source, (uint64_t)(from_s * m->info->rate_hz), (uint64_t)(to_s * m->info->rate_hz),
                                block, CW_OVERVIEW_BLOCKS / 8, &local, err));
        status = measure_lanes(m, &local, r, from_s, to_s, err);
        if (status == CW_OK && m->setup.contact_channel > 0)
            status = measure_contact(m, &local, r, err);
        cw_overview_free(&local);
    }
    return status;
}

static cw_status measure_samples(cw_measuring *m, cw_measurement *out, cw_error *err)
{
    CW_TRY(read_overview(m, err));
    if ((double)m->overview.block_frames > COARSE_BLOCK_S * m->info->rate_hz) {
        CW_TRY(cw_find_events_in_parts(m, err));
    } else {
        CW_TRY(cw_scan_without_hum(m, err));
        CW_TRY(cw_find_events(m, err));
    }
    CW_TRY(group(m, err));
    for (size_t k = 0; k < m->release_count; k++)
        CW_TRY(measure_release(m, k, err));
    CW_TRY(cw_settle(m, out, err));
    if (out->shot_count == 0) /* something moved, but nothing of it was light that came and went */
        return no_event(m, err);
    return CW_OK;
}

cw_status cw_measure(cw_source *source, const cw_measure_setup *setup, cw_measurement **measurement, cw_error *err)
{
    cw_measuring *m = calloc(1, sizeof *m);
    cw_measurement *out = calloc(1, sizeof *out);
    cw_status status = CW_OK;
    if (m == NULL || out == NULL) {
        status = cw_fail(err, CW_MEMORY, "no memory to measure a recording");
        goto done;
    }
    m->source = source;
    m->info = cw_source_about(source);
    m->setup = *setup;
    status = check_setup(m, err);
    if (status == CW_OK && m->info->form == CW_SOURCE_EDGES)
        status = cw_measure_edges(m, out, err);
    else if (status == CW_OK)
        status = measure_samples(m, out, err);
    if (status == CW_OK) {
        *measurement = out;
        out = NULL;
    }
done:
    cw_measurement_free(out);
    if (m != NULL) {
        cw_scanned_free(m);
        cw_overview_free(&m->overview);
        cw_lane_room_free(&m->room);
        free(m->events.items);
        free(m->releases);
    }
    free(m);
    return status;
}

void cw_measurement_free(cw_measurement *measurement)
{
    if (measurement == NULL)
        return;
    free(measurement->shots);
    free(measurement);
}
