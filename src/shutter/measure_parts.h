/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Between the files of the measurement: what a channel is, where something happened on it, and what one shot left on
 * one channel before the levels of the whole recording are known. */
#ifndef CW_SHUTTER_MEASURE_PARTS_H
#define CW_SHUTTER_MEASURE_PARTS_H

#include <math.h>

#include "shutter/measure.h"
#include "signal/overview.h"
#include "signal/trace.h"

/* One excursion of a channel from rest, at the resolution of the overview's blocks. */
typedef struct {
    size_t channel;
    double from_s, to_s;     /* edges of the first and behind the last block beyond the threshold */
    double last_edge_s;      /* end of the last block with a step in it */
    double before;           /* level of rest tracked up to here, as recorded */
    int sign;                /* of its first excursion */
    double peak;             /* largest distance from rest */
    bool is_move;            /* rest itself moved, by `peak`, and stayed there: another lamp, daylight */
    bool cut_start, cut_end; /* it was there when the recording began, or still when it ended */
} cw_event;

typedef struct {
    size_t count, capacity;
    cw_event *items;
} cw_events;

/* A channel as the whole recording shows it. */
typedef struct {
    bool is_light, is_contact, is_idle, is_ac;
    double lowest, highest; /* samples */
    double rest;            /* as recorded */
    double commonest;       /* level, as recorded */
    double settles_at;      /* AC: the level that its settled stretches fall to; NaN: not seen */
    double light;     /* the largest move within some milliseconds: the light, or a little more where it is noisy */
    double quiet;     /* range of the samples over 25 ms in which nothing happens */
    double threshold; /* distance from rest that is an event, of a sample */
    double mean_threshold; /* the same of the mean of a block: noise above the light leaves no other */
    int polarity;          /* +1: light raises the signal; -1; 0: not known yet */
    cw_quantity rate;      /* AC: 1/tau; else 0, with the uncertainty that is left where neither is sure */
    double hum_hz, hum;    /* of the mains, taken out of `scanned`; amplitude, 0 for none */
    bool is_surely_dc;     /* what it recorded speaks against AC; false: it may only be too noisy to tell */
} cw_channel_state;

/* What one shot left on one channel. Levels above rest, light positive, in the unit of the recording. */
typedef struct {
    double on_s, off_s;              /* first and last light above the detection level */
    double alone_from_s, alone_to_s; /* from half way to the light before it, to half way to that behind it */
    cw_quantity area;                /* level times seconds; u without that of the full level */
    double area_noise;               /* the part of area.u that is new in every shot */
    cw_quantity centroid_s;
    cw_quantity spread_s2; /* variance of the light about it */
    double peak;
    bool is_flat;                   /* stays on a level longer than it takes to get there */
    cw_quantity level;              /* of that flat part */
    double flat_s;                  /* 90 % to 90 % */
    cw_quantity open_s, close_s;    /* at 50 % of its own level (flat) or peak (not flat) */
    double open_slope, close_slope; /* of the light there, level a second; both positive */
    double rise_s, fall_s, total_s;
    double flicker_hz, flicker; /* on the flat part, amplitude over level */
} cw_pulse_found;

typedef struct {
    bool seen, cut_start, cut_end, clipped;
    double clipped_s; /* how long in all */
    bool broken;      /* by noise: what was found may be a piece of the light */
    bool more_before; /* smaller light came before the shot itself */
    double noise, colour,
        rest_error; /* sd of one sample; its reddening; left over difference of rest before and after */
    double hum_hz, hum;
    size_t pulse_count;                         /* the shot itself first, then what came after it */
    cw_pulse_found pulses[1 + CW_BOUNCES_MOST]; /* the last member: those from pulse_count on are never written to */
} cw_lane_found;

typedef struct {
    double from_s, to_s; /* of the light on all sensors */
    cw_quantity contact_s;
    double contact_opens_s;
    bool contact_seen;
    cw_lane_found lanes[CW_CHANNELS_MOST];
} cw_release;

/* Room that every release and lane uses in turn; zeros to start with, freed with cw_lane_room_free. */
typedef struct {
    cw_trace all; /* the release on all channels */
    cw_trace own; /* one channel of it, single samples near its own edges only */
    size_t count; /* of each of the following */
    double *smooth, *sum, *frames;
} cw_lane_room;

typedef struct {
    cw_source *source;
    const cw_source_info *info;
    cw_measure_setup setup;
    size_t light_count;
    size_t light[CW_CHANNELS_MOST]; /* channel of each sensor */
    cw_channel_state channels[CW_CHANNELS_MOST];
    cw_overview overview;
    cw_overview scanned; /* the same without hum, where there is much of it: only for seeing where something happens */
    cw_events events;
    size_t release_count;
    cw_release *releases;
    cw_lane_room room;
} cw_measuring;

/* measure_events.c: fills channels[] from the overview, and events, first as recorded, then with AC restored. */
cw_status cw_find_events(cw_measuring *m, cw_error *err) __attribute__((warn_unused_result));
/* A recording too long to be seen in fine blocks at once. */
typedef struct {
    size_t count, block_frames;
    uint64_t frames; /* of each part but the last */
} cw_parts;

/* measure_long.c: events of a recording of which `overview` shows too little; takes its place and gives it back. */
cw_status cw_find_events_in_parts(cw_measuring *m, cw_error *err) __attribute__((warn_unused_result));
/* One part into `overview` and `scanned`, in place of what was there. */
cw_status cw_part_read(cw_measuring *m, const cw_parts *parts, size_t part, cw_error *err)
    __attribute__((warn_unused_result));
/* measure_events.c: the events of all parts, from what is known of the channels. */
cw_status cw_scan_parts(cw_measuring *m, const cw_parts *parts, cw_error *err) __attribute__((warn_unused_result));

/* Finds the excursions of one channel; with rate.value > 0 on the restored signal. Adds to `events`, also the
 * moves of rest itself. */
cw_status cw_scan_channel(const cw_overview *overview, size_t channel, const cw_channel_state *state, cw_events *events,
                          cw_error *err) __attribute__((warn_unused_result));
/* measure_levels.c: levels, thresholds and idleness of a channel. */
cw_status cw_scan_levels(const cw_overview *overview, size_t channel, cw_channel_state *state, cw_error *err)
    __attribute__((warn_unused_result));
/* The light and the thresholds again, where rest or the rate of an AC-coupled input have been found since. */
cw_status cw_scan_thresholds(const cw_overview *overview, size_t channel, cw_channel_state *state, cw_error *err)
    __attribute__((warn_unused_result));
/* Rest wanders: the recording may begin beside its commonest level. Where its first stretch is steady and near that, it
 * begins at rest, and rest is there; light stands farther off. */
double cw_rest_at_start(const cw_overview *overview, size_t channel, const cw_channel_state *state);

/* Notices a move of a signal given block by block, however many blocks it takes within 3 ms: blades may need as long.
 * Starts as zeros. */
typedef struct {
    double anchor, anchor_s;
} cw_move_watch;
/* Blades may need as long for one move. */
static const double CW_MOVE_WITHIN_S = 0.003;

static inline bool cw_has_moved(cw_move_watch *watch, double at_s, double value, double least)
{
    bool moved = fabs(value - watch->anchor) > least;
    if (moved || at_s - watch->anchor_s >= CW_MOVE_WITHIN_S)
        *watch = (cw_move_watch){value, at_s};
    return moved;
}

/* measure_hum.c: hum of the mains taken out of the blocks of `scanned`, which shares the arrays of `overview` until
 * there is any to take out; and the levels of the light channels in it. */
cw_status cw_scan_without_hum(cw_measuring *m, cw_error *err) __attribute__((warn_unused_result));
void cw_scanned_free(cw_measuring *m);

double cw_mean_of_channel(const cw_overview *overview, size_t channel);

/* measure_coupling.c: decides AC or DC and polarity of a channel from its events. */
cw_status cw_find_coupling(cw_measuring *m, size_t channel, cw_error *err) __attribute__((warn_unused_result));

/* Channels of one recorder are coupled alike: what some of them show holds for those that are too noisy to tell. */
void cw_share_coupling(cw_measuring *m);

/* measure_pulse.c: what one release left on one channel of m->room.all, which holds it. [from_s, to_s] is where the
 * channel is restless, `before` its level of rest there. */
cw_status cw_measure_lane(cw_measuring *m, size_t channel, double from_s, double to_s, double before,
                          cw_lane_found *lane, cw_error *err) __attribute__((warn_unused_result));
void cw_lane_room_free(cw_lane_room *room);

/* measure_settle.c: from releases to shots, levels and warnings. */
cw_status cw_settle(cw_measuring *m, cw_measurement *out, cw_error *err) __attribute__((warn_unused_result));

/* measure_warn.c: channels that only copy another are left out, and said; then the rest that a person should know. */
void cw_drop_crosstalk(cw_measuring *m, cw_measurement *out);
bool cw_is_crosstalk(const cw_measuring *m, const cw_release *r, size_t channel, const cw_pulse_found *p);
void cw_warn_of_contact(const cw_measuring *m, cw_measurement *out);
void cw_warn_of_channels(const cw_measuring *m, cw_measurement *out);

/* measure_edges.c: the whole measurement of a source of edges. */
cw_status cw_measure_edges(cw_measuring *m, cw_measurement *out, cw_error *err) __attribute__((warn_unused_result));

void cw_measure_warn(cw_measurement *out, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
