/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When every release has been read: the full-open level of each channel, then each shot by the rule of measure.h. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/stats.h"
#include "shutter/measure_parts.h"
#include "shutter/measure_slit.h"

/* A flat top this many times as long as its flanks is the open shutter, not a slit narrower than the beam, which can be
 * flat too: then both flanks together last about as long as the light of the slit takes to cross the beam. */
static const double SURELY_OPEN = 4;
/* From this part of the full level on a shot counts as fully open. */
static const double FULL = 0.93;
/* One with a flat top does from here on: a slit narrower than the beam is flat only below 0.4 (then flat part and flank
 * are as w - s to s), so what is between is the lamp. */
static const double FULL_WHEN_FLAT = 0.6;

/* What the rise of an ordinary detector may differ from its fall by, unseen. From memory. */
static const double DETECTOR_S = 1e-6;

/* What is clipped for longer than this part of the input's time constant is missing from what is restored behind it. */
static const double CLIPPED_MOST = 0.1;

/* The full-open level of a channel, and what lamp and flicker do to it. */
typedef struct {
    cw_quantity level; /* NaN: not known */
    bool sure;         /* seen on shots that are certainly open, or told by all shots together */
    bool by_spread;    /* never seen: worked out from how the shots spread */
    bool narrow;       /* flat tops are those of a slit narrower than the beam */
    bool clipped;      /* some shots stand on the end of the scale: all that reach this level may */
    double flicker_hz, flicker;
} channel_level;

static bool usable(const cw_lane_found *lane)
{
    return lane->seen && !lane->cut_start && !lane->cut_end && lane->pulses[0].is_flat;
}

static bool surely_open(const cw_pulse_found *p)
{
    return p->flat_s > SURELY_OPEN * fmax(p->rise_s, p->fall_s);
}

static cw_status find_level(const cw_measuring *m, size_t channel, channel_level *out, cw_error *err)
{
    *out = (channel_level){.level = {NAN, NAN}};
    double *levels = malloc(m->release_count * sizeof *levels), highest = 0, own_u = 0;
    if (levels == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu levels", m->release_count);
    size_t n = 0, flickering = 0;
    for (int sure = 1; sure >= 0 && n == 0; sure--)
        for (size_t k = 0; k < m->release_count; k++) {
            const cw_lane_found *lane = &m->releases[k].lanes[channel];
            if (usable(lane) && (!sure || surely_open(&lane->pulses[0]))) {
                levels[n++] = lane->pulses[0].level.value;
                highest = fmax(highest, lane->pulses[0].level.value);
                out->sure = sure;
            }
        }
    /* without sure ones a slit may pass for open: only the highest levels count */
    size_t kept = 0;
    for (size_t i = 0; i < n; i++)
        if (levels[i] > FULL_WHEN_FLAT * highest)
            levels[kept++] = levels[i];
    double middle = kept > 0 ? cw_median(kept, levels) : NAN, squares = 0;
    for (size_t i = 0; i < kept; i++)
        squares += (levels[i] - middle) * (levels[i] - middle);
    for (size_t k = 0; k < m->release_count; k++) {
        const cw_lane_found *lane = &m->releases[k].lanes[channel];
        out->clipped = out->clipped || (lane->seen && lane->clipped);
        if (!usable(lane))
            continue;
        if (fabs(lane->pulses[0].level.value - middle) < 0.1 * middle)
            own_u = own_u > 0 ? fmin(own_u, lane->pulses[0].level.u) : lane->pulses[0].level.u;
        if (lane->pulses[0].flicker > 0) {
            out->flicker_hz = lane->pulses[0].flicker_hz;
            out->flicker += lane->pulses[0].flicker;
            flickering++;
        }
    }
    if (flickering > 0)
        out->flicker /= (double)flickering;
    /* Level of another shot, so the spread between shots counts, not that of the mean. One shot alone: 1 %, what a lamp
     * does between shots; from memory. */
    double spread = kept > 1 ? sqrt(squares / (double)(kept - 1)) : 0.01 * middle;
    out->level = (cw_quantity){middle, hypot(spread, own_u)};
    free(levels);
    return CW_OK;
}

/* No shot is certainly open. What all of them together say bears out the level of the flat ones, or shows it to be that
 * of a slit narrower than the beam, or gives a level where there is none. */
static void level_by_spread(const cw_measuring *m, size_t channel, channel_level *level)
{
    cw_quantity told = cw_slit_level(m, channel), flat = level->level;
    if (!isfinite(told.value)) {
        if (cw_slit_is_narrower(m))
            *level = (channel_level){.level = {NAN, NAN}, .narrow = true};
        return;
    }
    bool above = told.value - flat.value > 3 * hypot(told.u, flat.u);
    level->sure = true;
    if (isfinite(flat.value) && !above)
        return;
    level->level = told;
    level->by_spread = true;
}

static void remark(cw_sensor_shot *s, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void remark(cw_sensor_shot *s, const char *format, ...)
{
    size_t used = strlen(s->remark);
    if (used > 0 && used + 2 < sizeof s->remark) {
        s->remark[used++] = ';';
        s->remark[used++] = ' ';
        s->remark[used] = '\0';
    }
    va_list args;
    va_start(args, format);
    vsnprintf(s->remark + used, sizeof s->remark - used, format, args);
    va_end(args);
}

static cw_quantity ratio(cw_quantity area, cw_quantity level)
{
    double value = area.value / level.value;
    return (cw_quantity){value, fabs(value) * hypot(area.u / area.value, level.u / level.value)};
}

/* Flicker averaged over an exposure: what is left of its amplitude, as a standard uncertainty. */
static double flicker_left(const channel_level *level, double exposure_s)
{
    double angle = 3.141592653589793 * level->flicker_hz * exposure_s;
    double averaged = angle > 1e-6 ? fabs(sin(angle) / angle) : 1;
    return level->flicker / sqrt(2) * fmax(averaged, fmin(1, 1 / fmax(angle, 1)));
}

/* On its own level only the flanks see another phase of the lamp than the flat part; a flat part shorter than a period
 * or so sees one phase itself, and hides where it ends. */
static double flicker_on_own_level(const channel_level *level, const cw_pulse_found *p, double exposure_s)
{
    double periods = exposure_s * level->flicker_hz;
    double flanks = periods < 2 ? 1 : fmin((p->rise_s + p->fall_s) / exposure_s, 1);
    /* one that nearly goes out hides where the flat part begins and ends, so that its level is that of other phases */
    double hidden = level->flicker > 0.4 ? fmin(1 / (3.141592653589793 * periods), 1) : 0;
    return level->flicker / sqrt(2) * fmax(flanks, hidden);
}

/* AC, or perhaps AC: an error of 1/tau tilts the restored light in proportion to the time that has gone by. */
static double tau_error(const cw_channel_state *state, double time_s)
{
    return state->rate.u * time_s / 2;
}

/* The instants of half the light stand unless the light may have drooped out of sight. */
static double droop_error(const cw_channel_state *state, double time_s)
{
    const double out_of_sight = 0.3;
    return !state->is_ac && state->rate.u * time_s > out_of_sight ? state->rate.u * time_s / 2 : 0;
}

/* A lamp that falls below half of its mean hides an edge until it rises again: each of both by up to that time, if the
 * edge comes in it at all. */
static double lamp_hides_s(double flicker, double hz)
{
    if (!(flicker > 0.5) || !(hz > 0))
        return 0;
    double part = acos(0.5 / flicker) / 3.141592653589793, dark_s = part / hz;
    return dark_s * sqrt(2 * part / 3);
}

static cw_quantity mid_level_time(const cw_pulse_found *p, double half, double flicker, double flicker_hz)
{
    double own_half = (p->is_flat ? p->level.value : p->peak) / 2, shift = 0;
    if (!p->is_flat) /* from half of its own peak to half of the full level, along the flanks */
        shift = (own_half - half) * (1 / p->open_slope + 1 / p->close_slope);
    double unequal = 0.1 * fabs(p->rise_s - p->fall_s);
    double lamp = hypot(0.45 * flicker * hypot(p->rise_s, p->fall_s), lamp_hides_s(flicker, flicker_hz));
    double u = hypot(hypot(p->open_s.u, p->close_s.u), hypot(hypot(unequal, lamp), 0.3 * shift));
    return (cw_quantity){p->close_s.value - p->open_s.value + shift, u};
}

/* Both flanks together, for an uncertainty: one that was not seen whole is taken to be as long as the other; when
 * neither was, as a quarter of the exposure each, more than any shutter's that stays open at all. */
static double flanks_s(const cw_sensor_shot *s)
{
    double guess = s->exposure_s.value / 4;
    double opening = isfinite(s->opening_s) ? s->opening_s : isfinite(s->closing_s) ? s->closing_s : guess;
    double closing = isfinite(s->closing_s) ? s->closing_s : opening;
    return opening + closing;
}

/* The chosen one of both ways, by the rule in measure.h. */
static void choose(const cw_measuring *m, bool full, cw_sensor_shot *s)
{
    bool has_area = isfinite(s->area_s.value), has_mid = isfinite(s->mid_level_s.value);
    bool area = has_area;
    if (has_area && has_mid && m->setup.kind == CW_SHUTTER_LEAF)
        area = !(full && s->area_s.u > 2 * s->mid_level_s.u && s->area_s.u > 0.01 * s->area_s.value);
    else if (has_area && has_mid)
        area = !full || s->area_s.u <= s->mid_level_s.u;
    if (!area && !has_mid)
        return;
    s->method = area ? CW_METHOD_AREA : CW_METHOD_MID_LEVEL;
    s->exposure_s = area ? s->area_s : s->mid_level_s;
    /* blades do not open in proportion to time, so half of the light is not half of the way; of a flank, from memory */
    if (!area && m->setup.kind == CW_SHUTTER_LEAF)
        s->exposure_s.u = hypot(s->exposure_s.u, 0.02 * flanks_s(s));
    if (!has_area || !has_mid)
        return;
    double apart = s->area_s.value - s->mid_level_s.value, both = hypot(s->area_s.u, s->mid_level_s.u);
    if (fabs(apart) > 3 * both && fabs(apart) > 0.005 * s->exposure_s.value) {
        if (m->setup.kind != CW_SHUTTER_LEAF)
            s->exposure_s.u = hypot(s->exposure_s.u, apart / 2);
        remark(s, "area says %.4g ms, mid level %.4g ms", s->area_s.value * 1e3, s->mid_level_s.value * 1e3);
    }
}

static void settle_instants(const cw_pulse_found *p, bool full, cw_sensor_shot *s)
{
    if (full && p->is_flat) {
        s->open_s = p->open_s;
        s->close_s = p->close_s;
    } else if (isfinite(s->exposure_s.value)) {
        double u = hypot(p->centroid_s.u, s->exposure_s.u / 2);
        s->open_s = (cw_quantity){p->centroid_s.value - s->exposure_s.value / 2, u};
        s->close_s = (cw_quantity){p->centroid_s.value + s->exposure_s.value / 2, u};
    } else {
        s->open_s = p->open_s;
        s->close_s = p->close_s;
    }
}

static void settle_bounces(const cw_measuring *m, const cw_release *r, size_t channel, cw_quantity level,
                           cw_sensor_shot *s)
{
    const cw_lane_found *lane = &r->lanes[channel];
    for (size_t k = 1; k < lane->pulse_count && s->bounce_count < CW_BOUNCES_MOST; k++) {
        if (cw_is_crosstalk(m, r, channel, &lane->pulses[k]))
            continue;
        double exposure = lane->pulses[k].area.value / level.value;
        s->bounces[s->bounce_count++] = (cw_bounce){lane->pulses[k].on_s, isfinite(exposure) ? exposure : NAN};
    }
}

/* What is new in every shot, apart; and what neither way of measuring sees: the detector, the digits of time. */
static void settle_uncertainty(const cw_measuring *m, const cw_pulse_found *p, double full_level, cw_sensor_shot *s)
{
    double random = s->method == CW_METHOD_AREA ? p->area_noise / full_level : hypot(p->open_s.u, p->close_s.u);
    if (isfinite(random))
        s->u_random_s = fmin(random, s->exposure_s.u);
    s->exposure_s.u = hypot(s->exposure_s.u, hypot(DETECTOR_S, sqrt(2) * m->info->u_time_s));
    s->open_s.u = hypot(s->open_s.u, m->info->u_time_s);
    s->close_s.u = hypot(s->close_s.u, m->info->u_time_s);
}

/* Nothing shows the full-open level. What is known without it: for how long there was light. First and last light are
 * drawn on from the flanks, and a flank is not quite straight. */
static void remark_unknown(const cw_measuring *m, const cw_pulse_found *p, cw_sensor_shot *s)
{
    double most_ms = p->area.value / p->peak * 1e3,
           u_total = hypot(hypot(p->open_s.u, p->close_s.u), 0.05 * flanks_s(s));
    if (m->setup.kind != CW_SHUTTER_LEAF || !(p->total_s > 0) || !isfinite(p->open_s.value))
        remark(s,
               "the light never stays on a level and no slower shot shows the full one: exposure not known, %.4g ms at "
               "most; record a slow speed in the same file",
               most_ms);
    else
        remark(s,
               "no shot shows the blades fully open: light for %.3g +-%.2g ms in all (total time, ISO 516), about %.2g "
               "ms at "
               "half its own peak, exposure %.3g ms at most; record a slow speed too",
               p->total_s * 1e3, u_total * 1e3, (p->close_s.value - p->open_s.value) * 1e3, most_ms);
}

/* The shot was seen, but not how long. */
static void forget_exposure(cw_sensor_shot *s)
{
    s->area_s = s->mid_level_s = s->exposure_s = (cw_quantity){NAN, NAN};
    s->method = CW_METHOD_NONE;
    s->u_random_s = 0;
    s->bounce_count = 0;
    s->remark[0] = '\0';
}

static void settle_sensor(const cw_measuring *m, size_t channel, const channel_level *level, const cw_release *r,
                          cw_sensor_shot *s)
{
    const cw_lane_found *lane = &r->lanes[channel];
    const cw_channel_state *state = &m->channels[channel];
    const cw_pulse_found *p = &lane->pulses[0];
    cw_quantity full_level = level->level;
    double top = p->is_flat ? p->level.value : p->peak;
    s->seen = true;
    s->peak_fraction = top / full_level.value;
    bool full = p->is_flat && !level->narrow && (!isfinite(full_level.value) || s->peak_fraction > FULL_WHEN_FLAT);
    /* Its own level where it has settled on it, or the lamp moves (by more than the 1 %
     * that is taken when one shot alone shows the level); on a short top a slow detector is not there yet. */
    bool settled = p->flat_s > 8 * fmax(p->rise_s, p->fall_s);
    bool lamp_moves = level->flicker > 0 || !(full_level.u < 0.012 * full_level.value);
    if (full && s->peak_fraction < 1 / FULL_WHEN_FLAT && (settled || lamp_moves || !level->sure))
        full_level = p->level;
    double nominal = p->area.value / full_level.value;
    if (isfinite(nominal)) {
        s->area_s = ratio(p->area, full_level);
        double lamp = full ? flicker_on_own_level(level, p, nominal) : flicker_left(level, nominal);
        lamp /= fmax(1 - sqrt(2) * lamp, 0.05); /* what a lamp near its darkest showed may be far more */
        double extra = hypot(lamp, tau_error(state, p->off_s - p->on_s));
        double rest = 0.25 * fabs(lane->rest_error) * (p->off_s - p->on_s) / full_level.value;
        s->area_s.u = hypot(s->area_s.u, hypot(extra * nominal, rest));
    }
    bool nearly_full = s->peak_fraction > FULL || full;
    if (nearly_full && isfinite(p->open_s.value)) {
        s->mid_level_s = mid_level_time(p, full_level.value / 2, level->flicker, level->flicker_hz);
        double droop = droop_error(state, p->off_s - p->on_s) * s->mid_level_s.value;
        s->mid_level_s.u = hypot(s->mid_level_s.u, droop);
    }
    s->opening_s = p->rise_s > 0 ? p->rise_s : NAN;
    s->closing_s = p->fall_s > 0 ? p->fall_s : NAN;
    s->total_s = p->total_s > 0 ? p->total_s : NAN;
    choose(m, full, s);
    settle_instants(p, full, s);
    settle_bounces(m, r, channel, full_level, s);
    if (s->method == CW_METHOD_NONE)
        remark_unknown(m, p, s);
    else if (level->by_spread)
        remark(
            s,
            "full-open level worked out from how the shots spread, +-%.0f %%; a slow speed in the same file shows it",
            100 * full_level.u / full_level.value);
    else if (!level->sure && full)
        remark(s, "no slow shot shows the full-open level; taken from this one");
    else if (!nearly_full)
        remark(s, "reaches %.0f %% of the full light", 100 * s->peak_fraction);
    settle_uncertainty(m, p, full_level.value, s);
    if (lane->broken) {
        forget_exposure(s);
        remark(s, "noise breaks the light into pieces, exposure not known: more light on the sensor, or less gain");
    } else if (lane->clipped && lane->clipped_s * state->rate.value > CLIPPED_MOST) {
        forget_exposure(s);
        remark(s, "clipped: what an AC-coupled input cut off cannot be restored, exposure not known; turn it down");
    } else if (lane->clipped || (level->clipped && s->peak_fraction > FULL)) {
        /* the true level lies anywhere above: its half is met further up both flanks */
        s->exposure_s.u = hypot(s->exposure_s.u, 0.25 * flanks_s(s));
        remark(s, "clipped: turn the input down");
    }
}

static void settle_release(const cw_measuring *m, const channel_level *levels, const cw_release *r, cw_shot *shot)
{
    *shot = (cw_shot){.at_s = INFINITY,
                      .marked_s = NAN,
                      .sensor_count = m->light_count,
                      .contact_seen = r->contact_seen,
                      .contact_s = r->contact_s,
                      .contact_opens_s = r->contact_opens_s};
    for (size_t k = 0; k < m->light_count; k++) {
        cw_sensor_shot *s = &shot->sensors[k];
        const cw_lane_found *lane = &r->lanes[m->light[k]];
        *s = cw_sensor_shot_unknown(m->setup.sensor_count > 0 ? m->setup.sensors_mm[k] : NAN);
        if (!lane->seen)
            continue;
        settle_sensor(m, m->light[k], &levels[m->light[k]], r, s);
        shot->at_s = fmin(shot->at_s, lane->pulses[0].on_s);
        if (lane->cut_start || lane->cut_end) {
            shot->incomplete = true;
            snprintf(shot->remark, sizeof shot->remark, "%s",
                     lane->cut_start ? "cut off by the start of the recording" : "cut off by the end of the recording");
        }
    }
}

static void fill_channel(const cw_measuring *m, size_t c, const channel_level *level, cw_channel_found *f)
{
    const cw_channel_state *s = &m->channels[c];
    *f = (cw_channel_found){.is_contact = s->is_contact,
                            .is_idle = s->is_idle,
                            .is_inverted = s->polarity < 0,
                            .is_ac = s->is_ac,
                            .rest = s->rest,
                            .full = level->level,
                            .is_told = level->by_spread,
                            .noise = NAN,
                            .tau_s = {NAN, NAN},
                            .flicker_hz = level->flicker_hz,
                            .flicker = level->flicker};
    if (s->is_ac)
        f->tau_s = (cw_quantity){1 / s->rate.value, s->rate.u / (s->rate.value * s->rate.value)};
    for (size_t k = 0; k < m->release_count; k++) {
        const cw_lane_found *lane = &m->releases[k].lanes[c];
        if (!lane->seen)
            continue;
        f->shots++;
        f->noise = isfinite(f->noise) ? fmin(f->noise, lane->noise) : lane->noise;
        f->is_clipped = f->is_clipped || lane->clipped;
        if (lane->hum > f->hum) {
            f->hum = lane->hum;
            f->hum_hz = lane->hum_hz;
        }
    }
}

cw_status cw_settle(cw_measuring *m, cw_measurement *out, cw_error *err)
{
    channel_level levels[CW_CHANNELS_MOST] = {{.sure = false}};
    cw_drop_crosstalk(m, out);
    for (size_t k = 0; k < m->light_count; k++) {
        channel_level *level = &levels[m->light[k]];
        CW_TRY(find_level(m, m->light[k], level, err));
        if (!level->sure && m->setup.kind == CW_SHUTTER_FOCAL_PLANE)
            level_by_spread(m, m->light[k], level);
    }
    out->shots = calloc(m->release_count, sizeof *out->shots);
    if (out->shots == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu shots", m->release_count);
    for (size_t k = 0; k < m->release_count; k++) {
        cw_shot *shot = &out->shots[out->shot_count];
        settle_release(m, levels, &m->releases[k], shot);
        out->shot_count += isfinite(shot->at_s);
    }
    out->channel_count = m->info->channels;
    for (size_t c = 0; c < m->info->channels; c++)
        fill_channel(m, c, &levels[c], &out->channels[c]);
    cw_warn_of_channels(m, out);
    return CW_OK;
}
