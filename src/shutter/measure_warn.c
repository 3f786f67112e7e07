/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a person should know about the channels of a recording before trusting its figures. */
#include <math.h>
#include <stdio.h>

#include "shutter/measure_parts.h"

/* Below this part of another channel's light, and in step with it to a few samples, a signal is that other channel's,
 * come over in the wiring. */
static const double CROSSTALK_MOST = 0.1;

static bool in_step(const cw_pulse_found *a, const cw_pulse_found *b, double slack_s)
{
    return fabs(a->on_s - b->on_s) < slack_s && fabs(a->off_s - b->off_s) < slack_s;
}

/* In every shot this channel saw, `other` saw the same at the same time, and far more of it. */
static bool is_copy_of(const cw_measuring *m, size_t channel, size_t other)
{
    size_t seen = 0;
    for (size_t k = 0; k < m->release_count; k++) {
        const cw_lane_found *own = &m->releases[k].lanes[channel], *its = &m->releases[k].lanes[other];
        if (!own->seen)
            continue;
        seen++;
        if (!its->seen || own->pulses[0].peak > CROSSTALK_MOST * its->pulses[0].peak ||
            !in_step(&own->pulses[0], &its->pulses[0], 0.1 * (its->pulses[0].off_s - its->pulses[0].on_s) + 50e-6))
            return false;
    }
    return seen > 0;
}

void cw_drop_crosstalk(cw_measuring *m, cw_measurement *out)
{
    for (size_t i = 0; i < m->light_count; i++)
        for (size_t j = 0; j < m->light_count; j++) {
            size_t channel = m->light[i], other = m->light[j];
            if (i == j || m->channels[channel].is_idle || !is_copy_of(m, channel, other))
                continue;
            cw_measure_warn(out,
                            "channel %zu shows only a faint copy of channel %zu (crosstalk in the wiring or the sound "
                            "card); its own sensor saw no light and is left out. Check its lead and supply",
                            channel + 1, other + 1);
            m->channels[channel].is_idle = true;
            for (size_t k = 0; k < m->release_count; k++)
                m->releases[k].lanes[channel].seen = false;
        }
}

bool cw_is_crosstalk(const cw_measuring *m, const cw_release *r, size_t channel, const cw_pulse_found *p)
{
    for (size_t j = 0; j < m->light_count; j++) {
        const cw_lane_found *its = &r->lanes[m->light[j]];
        if (m->light[j] == channel || !its->seen || p->peak > CROSSTALK_MOST * its->pulses[0].peak)
            continue;
        if (in_step(p, &its->pulses[0], 0.2 * (its->pulses[0].off_s - its->pulses[0].on_s) + 50e-6))
            return true;
    }
    return false;
}

/* +1: the sensors open in the order of their places; -1: in the reverse; 0: neither, or not told. */
static int order_of(const cw_measuring *m, const cw_shot *shot)
{
    int rising = 0, falling = 0;
    for (size_t i = 0; i < m->light_count; i++)
        for (size_t j = i + 1; j < m->light_count; j++) {
            double place = m->setup.sensors_mm[j] - m->setup.sensors_mm[i];
            double time = shot->sensors[j].open_s.value - shot->sensors[i].open_s.value;
            double u = 3 * hypot(shot->sensors[j].open_s.u, shot->sensors[i].open_s.u);
            if (!(fabs(place) > 0) || !(fabs(time) > u))
                continue;
            rising += place * time > 0;
            falling += place * time < 0;
        }
    return falling == 0 && rising > 0 ? 1 : rising == 0 && falling > 0 ? -1 : 0;
}

static void warn_of_order(const cw_measuring *m, cw_measurement *out)
{
    size_t right = 0, reversed = 0, mixed = 0;
    if (m->setup.kind != CW_SHUTTER_FOCAL_PLANE || m->setup.sensor_count < 2)
        return;
    for (size_t k = 0; k < out->shot_count; k++) {
        int order = order_of(m, &out->shots[k]);
        right += order > 0;
        reversed += order < 0;
        mixed += order == 0;
    }
    if (reversed > right && reversed > mixed)
        cw_measure_warn(out, "%s",
                        "the sensors open in the reverse of the places given: places count from the edge of the frame "
                        "that opens first. Are the channels swapped, or is the camera the other way round?");
    else if (mixed > right && mixed > reversed && m->light_count > 2)
        cw_measure_warn(out, "%s",
                        "the sensors do not open in the order of the places given, from neither end: are two channels "
                        "swapped?");
}

static void warn_of_channel(const cw_channel_found *f, size_t c, cw_measurement *out)
{
    if (f->is_contact)
        return;
    if (f->is_idle)
        cw_measure_warn(out, "channel %zu shows no light in any shot: dead sensor, wrong input, or nothing on it",
                        c + 1);
    if (f->is_clipped)
        cw_measure_warn(out,
                        "channel %zu is clipped at the end of the scale; its flanks are cut and its uncertainty grows. "
                        "Turn the input down and record again",
                        c + 1);
    if (f->is_told)
        cw_measure_warn(
            out,
            "no shot on channel %zu stays on the full-open level; it was worked out from all shots together "
            "to +-%.0f %% (k = 1). One slow speed, 1/30 or slower, in the same recording shows it",
            c + 1, 100 * f->full.u / f->full.value);
    else if (f->shots > 0 && isnan(f->full.value))
        cw_measure_warn(
            out,
            "no shot on channel %zu shows the full-open level, so exposures there are not known. Record one "
            "slow speed, 1/30 or slower, in the same file with the same light",
            c + 1);
    if (f->is_ac)
        cw_measure_warn(out,
                        "channel %zu is AC coupled (time constant %.3g ms, measured from the droop); the light was "
                        "restored from it",
                        c + 1, f->tau_s.value * 1e3);
    if (f->hum > 0.02 * f->full.value)
        cw_measure_warn(out,
                        "channel %zu carries %.0f Hz hum of %.1f %% of the light; it was taken out where it could be",
                        c + 1, f->hum_hz, 100 * f->hum / f->full.value);
    if (f->flicker > 0.01)
        cw_measure_warn(out,
                        "the lamp flickers at %.0f Hz by %.0f %% on channel %zu; fast speeds by area get a wider "
                        "uncertainty. Use a lamp on direct current",
                        f->flicker_hz, 100 * f->flicker, c + 1);
}

/* What one shot says for channel `k` being no sensor but a switch: 1; against it: -1; nothing: 0. A switch moves from
 * one sample to the next where light takes its time, and is closed for other times than light is seen. */
static int says_contact(const cw_measuring *m, const cw_shot *shot, size_t k)
{
    const cw_sensor_shot *own = &shot->sensors[k];
    bool samples = m->info->form == CW_SOURCE_SAMPLED;
    double interval_s = 1 / m->info->rate_hz, least = INFINITY, most = 0, slope_s = INFINITY;
    size_t others = 0;
    for (size_t i = 0; i < m->light_count; i++) {
        const cw_sensor_shot *its = &shot->sensors[i];
        if (i == k || !its->seen || !isfinite(its->exposure_s.value))
            continue;
        least = fmin(least, its->exposure_s.value);
        most = fmax(most, its->exposure_s.value);
        slope_s = fmin(slope_s, its->opening_s);
        others++;
    }
    if (!own->seen || !isfinite(own->exposure_s.value) || shot->incomplete || others == 0)
        return 0;
    double steep_s = fmax(own->opening_s, own->closing_s);
    if (samples && !(steep_s < 2.5 * interval_s && slope_s > 3 * fmax(steep_s, interval_s)))
        return -1;
    /* edges show no steepness: the sensors must agree with each other and not with it */
    if (!samples && (others < 2 || most > 1.25 * least))
        return 0;
    bool longer = own->exposure_s.value > 1.25 * most, shorter = own->exposure_s.value < 0.8 * least;
    return longer || (samples && shorter) ? 1 : -1;
}

void cw_warn_of_contact(const cw_measuring *m, cw_measurement *out)
{
    for (size_t k = 0; k < m->light_count && m->setup.contact_channel == 0; k++) {
        size_t pro = 0, contra = 0;
        for (size_t i = 0; i < out->shot_count; i++) {
            int says = says_contact(m, &out->shots[i], k);
            pro += says > 0;
            contra += says < 0;
        }
        if (pro > 0 && contra == 0)
            cw_measure_warn(out,
                            "channel %zu moves like a switch, not like light: is it the flash contact? Then say "
                            "--contact-channel %zu; as a sensor it spoils the figures",
                            m->light[k] + 1, m->light[k] + 1);
    }
}

static void warn_of_rest(const cw_measuring *m, size_t c, cw_measurement *out)
{
    const double told = 0.05; /* of the light; less is common and does no harm */
    size_t moves = 0;
    double most = 0;
    for (size_t k = 0; k < m->events.count; k++) {
        const cw_event *e = &m->events.items[k];
        double part = e->peak / m->channels[c].light;
        if (e->channel == c && e->is_move && part > told) {
            moves++;
            most = fmax(most, part);
        }
    }
    if (moves > 0 && !m->channels[c].is_idle)
        cw_measure_warn(out,
                        "the level without light moved on channel %zu, times: %zu, by up to %.0f %% of the light: "
                        "another lamp, daylight, or a sensor that was touched? The shots were measured from where it "
                        "then was",
                        c + 1, moves, 100 * most);
}

void cw_warn_of_channels(const cw_measuring *m, cw_measurement *out)
{
    for (size_t k = 0; k < m->light_count; k++)
        if (m->channels[m->light[k]].is_light) {
            warn_of_channel(&out->channels[m->light[k]], m->light[k], out);
            warn_of_rest(m, m->light[k], out);
        }
    cw_warn_of_contact(m, out);
    warn_of_order(m, out);
}
