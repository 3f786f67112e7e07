/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Edges to a shot: pulses per sensor, bounce, the corrections and their uncertainty. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "live/gate_inside.h"

/* u of the threshold fraction f where it was measured, from level drift and reading (docs/light-gate.md). */
static const double u_threshold = 0.03;
/* u of the mask's slit width, relative: a slit cut by hand, judged with a loupe. */
static const double u_slit_relative = 0.1;
/* below this many slit widths the full light is never reached and the comparator's edge means nothing */
static const double narrowest_slits = 1.5;

bool cw_gate_shot_lit(const cw_gate_session *session)
{
    for (size_t i = 0; i < CW_GATE_SENSORS; i++)
        if (session->channel[i].lit)
            return true;
    return false;
}

static void begin_shot(cw_gate_session *session, double gate_s)
{
    session->shot_open = true;
    session->spoilt = false;
    session->stuck_told = false;
    session->spoilt_why[0] = '\0';
    session->shot_began_s = gate_s;
    session->contact_s = session->contact_closed ? session->contact_s : NAN;
    session->contact_opens_s = NAN;
    for (size_t i = 0; i < CW_GATE_SENSORS; i++)
        session->channel[i].pulse_count = 0;
}

static void close_pulse(cw_gate_session *session, cw_gate_channel *channel, cw_gate_light light)
{
    if (channel->pulse_count < GATE_PULSES) {
        channel->pulses[channel->pulse_count++] = light;
        return;
    }
    session->spoilt = true;
    snprintf(session->spoilt_why, sizeof session->spoilt_why, "the light came and went more than %d times",
             GATE_PULSES);
}

static void sensor_edge(cw_gate_session *session, size_t sensor, bool lit, double gate_s, bool crowded)
{
    cw_gate_channel *channel = &session->channel[sensor];
    if (lit) {
        channel->lit = true;
        channel->open_s = gate_s;
        channel->open_crowded = crowded;
        return;
    }
    if (!channel->lit) { /* its opening was lost, or came before we listened */
        session->spoilt = true;
        snprintf(session->spoilt_why, sizeof session->spoilt_why, "a sensor was lit before this shot began");
        return;
    }
    channel->lit = false;
    cw_gate_light light = {channel->open_s, gate_s, crowded || channel->open_crowded};
    if (session->calibrating && sensor == session->calibrated_sensor)
        cw_gate_calibration_light(session, light);
    else
        close_pulse(session, channel, light);
}

/* The contact pulls its pin low. First closing and last opening; the bounce between them is its own affair. */
static void contact_edge(cw_gate_session *session, bool closed, double gate_s)
{
    if (closed && !session->contact_closed && isnan(session->contact_s))
        session->contact_s = gate_s;
    if (!closed)
        session->contact_opens_s = gate_s;
    session->contact_closed = closed;
}

void cw_gate_shot_edge(cw_gate_session *session, uint8_t changed, double gate_s, bool crowded, double now_s)
{
    if (!session->shot_open && !session->calibrating)
        begin_shot(session, gate_s);
    /* the contact opens some time after the light has gone; a shot does not wait for it */
    bool contact_closes = (changed >> CW_GATE_CONTACT & 1) != 0 && (session->pins >> CW_GATE_CONTACT & 1) == 0;
    if ((changed & 7) != 0 || contact_closes)
        session->last_edge_host_s = now_s;
    for (size_t i = 0; i < CW_GATE_SENSORS; i++)
        if ((changed >> i & 1) != 0)
            sensor_edge(session, i, ((session->pins >> i & 1) != 0) == session->light_is_high, gate_s, crowded);
    if ((changed >> CW_GATE_CONTACT & 1) != 0)
        contact_edge(session, (session->pins >> CW_GATE_CONTACT & 1) == 0, gate_s);
}

/* Speed of the first edge across this sensor from its neighbours' openings, mm/s; NaN when it cannot be told. */
static double edge_speed_mm_s(const cw_gate_session *session, const size_t *main_pulse, size_t sensor)
{
    double best = NAN, nearest = INFINITY;
    for (size_t i = 0; i < CW_GATE_SENSORS; i++) {
        const cw_gate_channel *here = &session->channel[sensor], *there = &session->channel[i];
        double apart = fabs(session->setup.sensors_mm[i] - session->setup.sensors_mm[sensor]);
        if (i == sensor || there->pulse_count == 0 || !(apart > 0) || apart >= nearest)
            continue;
        double delay = fabs(there->pulses[main_pulse[i]].open_s - here->pulses[main_pulse[sensor]].open_s);
        if (delay <= 0)
            continue;
        nearest = apart;
        best = apart / delay;
    }
    return best;
}

/* An edge at speed v crosses the slit in T = w/v; with the threshold at fraction f of the full light the pulse comes
 * out (1 - 2 f) T too long (linear ramp). Where f is not known it is taken as anywhere from 0.25 to 0.75. */
static void correct_threshold(const cw_gate_setup *setup, size_t sensor, double speed_mm_s, cw_quantity *exposure,
                              cw_sensor_shot *reading)
{
    double crossing = setup->mask_slit_mm / speed_mm_s;
    double slit_on_film_mm = exposure->value * speed_mm_s;
    if (slit_on_film_mm < narrowest_slits * setup->mask_slit_mm) {
        *exposure = (cw_quantity){NAN, NAN};
        snprintf(reading->remark, sizeof reading->remark,
                 "the shutter's slit (%.2f mm) is hardly wider than the mask (%.2f mm): no exposure can be told; use a "
                 "narrower mask",
                 slit_on_film_mm, setup->mask_slit_mm);
        return;
    }
    double f = setup->threshold[sensor], u_f = u_threshold;
    if (isnan(f)) {
        f = 0.5;
        u_f = 0.25 / sqrt(3);
        snprintf(reading->remark, sizeof reading->remark,
                 "the threshold of this sensor was not measured; up to %.0f us are uncertain", 0.5 * crossing * 1e6);
    }
    double bias = (1 - 2 * f) * crossing;
    double u = hypot(2 * u_f * crossing, bias * u_slit_relative);
    exposure->value -= bias;
    exposure->u = hypot(exposure->u, u);
}

static void fill_sensor(const cw_gate_session *session, size_t sensor, const size_t *main_pulse,
                        cw_sensor_shot *reading)
{
    const cw_gate_channel *channel = &session->channel[sensor];
    const cw_gate_sensor_calibration *known = &session->setup.calibration[sensor];
    cw_quantity rate = cw_gate_clock_rate(&session->clock);
    *reading = cw_sensor_shot_unknown(session->setup.sensors_mm[sensor]);
    if (channel->pulse_count == 0)
        return;
    const cw_gate_light *light = &channel->pulses[main_pulse[sensor]];
    double u_edge = light->crowded ? CW_GATE_U_EDGE_CROWDED_S : CW_GATE_U_EDGE_ALONE_S;
    double open_delay = known->known ? known->open_delay_s : 0;
    double asymmetry = known->known ? known->asymmetry_s.value : 0,
           u_asymmetry = known->known ? known->asymmetry_s.u : 0;
    double raw = light->close_s - light->open_s - asymmetry;
    cw_quantity exposure = {raw * rate.value, hypot(hypot(M_SQRT2 * u_edge, u_asymmetry), raw * rate.u)};
    reading->seen = true;
    reading->open_s = (cw_quantity){(light->open_s - open_delay) * rate.value, u_edge};
    reading->close_s = (cw_quantity){reading->open_s.value + exposure.value, hypot(u_edge, u_asymmetry)};
    double speed = edge_speed_mm_s(session, main_pulse, sensor);
    if (isfinite(speed) && session->setup.mask_slit_mm > 0)
        correct_threshold(&session->setup, sensor, speed, &exposure, reading);
    reading->method = isfinite(exposure.value) ? CW_METHOD_EDGES : CW_METHOD_NONE;
    reading->exposure_s = exposure;
    for (size_t i = 0; i < channel->pulse_count && reading->bounce_count < CW_BOUNCES_MOST; i++) {
        const cw_gate_light *again = &channel->pulses[i];
        if (i != main_pulse[sensor])
            reading->bounces[reading->bounce_count++] =
                (cw_bounce){again->open_s * rate.value, (again->close_s - again->open_s) * rate.value};
    }
}

/* The longest light is the exposure; what else came is bounce. */
static void find_main_pulses(const cw_gate_session *session, size_t *main_pulse)
{
    for (size_t s = 0; s < CW_GATE_SENSORS; s++) {
        const cw_gate_channel *channel = &session->channel[s];
        main_pulse[s] = 0;
        for (size_t i = 1; i < channel->pulse_count; i++) {
            const cw_gate_light *longest = &channel->pulses[main_pulse[s]], *light = &channel->pulses[i];
            if (light->close_s - light->open_s > longest->close_s - longest->open_s)
                main_pulse[s] = i;
        }
    }
}

static bool saw_light(const cw_gate_session *session)
{
    for (size_t i = 0; i < CW_GATE_SENSORS; i++)
        if (session->channel[i].pulse_count > 0)
            return true;
    return false;
}

void cw_gate_shot_finish(cw_gate_session *session, double now_s)
{
    if (!session->shot_open)
        return;
    session->shot_open = false;
    if (!saw_light(session)) {
        if (isfinite(session->contact_s) && !session->spoilt)
            cw_gate_notice_add(session, CW_GATE_SAYS_NO_LIGHT, now_s,
                               "the flash contact closed but no sensor saw light: is the lamp on and the lens open?");
        session->contact_s = NAN;
        if (!session->spoilt)
            return;
    }
    size_t main_pulse[CW_GATE_SENSORS];
    find_main_pulses(session, main_pulse);
    if (session->shot_end - session->shot_begin == GATE_SHOTS)
        session->shot_begin++;
    cw_shot *shot = &session->shots[session->shot_end++ % GATE_SHOTS];
    double rate = cw_gate_clock_rate(&session->clock).value;
    *shot = (cw_shot){
        .at_s = session->shot_began_s * rate,
        .marked_s = NAN,
        .contact_seen = isfinite(session->contact_s),
        .contact_s = {session->contact_s * rate, CW_GATE_U_EDGE_ALONE_S},
        .contact_opens_s = session->contact_opens_s * rate,
        .incomplete = session->spoilt,
    };
    for (size_t i = 0; i < CW_GATE_SENSORS; i++)
        if (!isnan(session->setup.sensors_mm[i]) || session->channel[i].pulse_count > 0)
            fill_sensor(session, i, main_pulse, &shot->sensors[shot->sensor_count++]);
    memcpy(shot->remark, session->spoilt_why, sizeof shot->remark);
    if (!session->contact_closed)
        session->contact_s = NAN;
}
