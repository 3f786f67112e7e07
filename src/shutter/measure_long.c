/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Recordings of more than some minutes: in the blocks of one overview a shot would be a single one, and hum, noise and
 * droop could not be told from it. One fine part, that with most in it, tells what the channels are; then all parts are
 * scanned in their order, as if they were one. */
#include <math.h>

#include "shutter/measure_parts.h"

/* Blocks of fine parts are no longer than this. */
static const double FINE_BLOCK_S = 0.75e-3;
enum { PART_BLOCKS = CW_OVERVIEW_BLOCKS };

cw_status cw_part_read(cw_measuring *m, const cw_parts *parts, size_t part, cw_error *err)
{
    cw_overview fine;
    uint64_t from = part * parts->frames;
    CW_TRY(cw_overview_read(m->source, from, from + parts->frames, parts->block_frames, PART_BLOCKS, &fine, err));
    cw_scanned_free(m);
    cw_overview_free(&m->overview);
    m->overview = m->scanned = fine;
    return cw_scan_without_hum(m, err);
}

/* Blocks in which a light channel moves by much of all it does. */
static size_t moves_between(const cw_measuring *m, const double *span, size_t first, size_t end)
{
    const cw_overview *o = &m->overview;
    size_t moves = 0;
    for (size_t k = 0; k < m->light_count; k++)
        for (size_t b = first, at = m->light[k] * o->capacity; b < end && b < o->count; b++)
            moves += (double)o->most[at + b] - (double)o->least[at + b] > 0.3 * span[m->light[k]];
    return moves;
}

/* The part with most moves, and the extremes of every channel. */
static size_t telling_part(const cw_measuring *m, const cw_parts *parts, double *lowest, double *highest)
{
    const cw_overview *o = &m->overview;
    double span[CW_CHANNELS_MOST];
    size_t best = 0, most = 0;
    for (size_t c = 0; c < o->channels; c++) {
        lowest[c] = INFINITY;
        highest[c] = -INFINITY;
        for (size_t b = 0; b < o->count; b++) {
            lowest[c] = fmin(lowest[c], (double)o->least[c * o->capacity + b]);
            highest[c] = fmax(highest[c], (double)o->most[c * o->capacity + b]);
        }
        span[c] = highest[c] - lowest[c];
    }
    for (size_t part = 0; part < parts->count; part++) {
        size_t first = (size_t)(part * parts->frames / o->block_frames),
               moves = moves_between(m, span, first, first + (size_t)(parts->frames / o->block_frames));
        if (moves > most) {
            most = moves;
            best = part;
        }
    }
    return best;
}

cw_status cw_find_events_in_parts(cw_measuring *m, cw_error *err)
{
    double lowest[CW_CHANNELS_MOST], highest[CW_CHANNELS_MOST];
    cw_parts parts = {.block_frames = 1};
    while ((double)(parts.block_frames * 2) <= FINE_BLOCK_S * m->info->rate_hz)
        parts.block_frames *= 2;
    parts.frames = (uint64_t)parts.block_frames * PART_BLOCKS;
    parts.count = (size_t)((m->info->frames + parts.frames - 1) / parts.frames);
    size_t telling = telling_part(m, &parts, lowest, highest);
    CW_TRY(cw_part_read(m, &parts, telling, err));
    CW_TRY(cw_find_events(m, err));
    for (size_t c = 0; c < m->info->channels; c++) {
        m->channels[c].lowest = lowest[c];
        m->channels[c].highest = highest[c];
    }
    return cw_scan_parts(m, &parts, err);
}
