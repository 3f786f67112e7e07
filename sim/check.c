/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a scenario may hold: one table of keys and ranges, for the file reader and for the check before a run. */
#include "sim/fields.h"

#include <math.h>
#include <string.h>

#define NUMBER(group, member, key, least, most)                                                                        \
    {                                                                                                                  \
        group, #key, offsetof(cw_sim_scenario, member key), SIM_NUMBER, least, most                                    \
    }
#define COUNT(group, member, key, least, most)                                                                         \
    {                                                                                                                  \
        group, #key, offsetof(cw_sim_scenario, member key), SIM_COUNT, least, most                                     \
    }
#define FLAG(group, member, key)                                                                                       \
    {                                                                                                                  \
        group, #key, offsetof(cw_sim_scenario, member key), SIM_FLAG, 0, 1                                             \
    }
#define CURTAIN(group, member)                                                                                         \
    NUMBER(group, member, start_mm, 0.01, 100), NUMBER(group, member, acceleration_m_s2, 0.1, 1e5),                    \
        NUMBER(group, member, relaxation, 0, 0.9), NUMBER(group, member, drag_per_s, 0, 1e5),                          \
        NUMBER(group, member, friction_m_s2, 0, 1e5), NUMBER(group, member, friction_from_mm, -100, 500),              \
        NUMBER(group, member, overrun_mm, 0.01, 100), NUMBER(group, member, restitution, 0, 0.9)

const sim_field sim_fields[] = {
    NUMBER("", , lead_s, 0.01, 3600),
    NUMBER("", , pause_s, 0.01, 3600),
    NUMBER("focal", focal., frame_mm, 5, 300),
    NUMBER("focal", focal., delay_offset_s, -1, 1),
    NUMBER("focal", focal., delay_jitter_s, 0, 1),
    NUMBER("focal", focal., tension_jitter, 0, 0.3),
    NUMBER("focal", focal., contact_at_mm, -5, 400),
    CURTAIN("focal.first", focal.first.),
    CURTAIN("focal.second", focal.second.),
    COUNT("leaf", leaf., blades, 0, 40),
    NUMBER("leaf", leaf., star, 1, 5),
    NUMBER("leaf", leaf., aperture_mm, 1, 200),
    NUMBER("leaf", leaf., opening_s, 1e-5, 1),
    NUMBER("leaf", leaf., closing_s, 1e-5, 1),
    NUMBER("leaf", leaf., law, 0.3, 5),
    NUMBER("leaf", leaf., set_opening_s, 0, 1),
    NUMBER("leaf", leaf., set_closing_s, 0, 1),
    NUMBER("leaf", leaf., least_interval_s, 1e-5, 1),
    NUMBER("leaf", leaf., interval_jitter, 0, 0.3),
    NUMBER("leaf", leaf., governed_from_s, 0, 100),
    NUMBER("leaf", leaf., governor_error_ev, -3, 3),
    NUMBER("leaf", leaf., governor_drift_ev, -1, 1),
    COUNT("leaf", leaf., bounces, 0, CW_SIM_BOUNCES_MOST),
    NUMBER("leaf", leaf., bounce_fraction, 0, 1),
    NUMBER("leaf", leaf., bounce_delay_s, 1e-5, 1),
    NUMBER("leaf", leaf., bounce_s, 1e-5, 1),
    NUMBER("leaf", leaf., contact_fraction, 0, 1),
    NUMBER("beam", beam., width_mm, 0.001, 200),
    NUMBER("beam", beam., penumbra_mm, 0, 50),
    FLAG("beam", beam., round),
    FLAG("beam", beam., diffuse),
    NUMBER("beam", beam., flicker, 0, 1),
    NUMBER("beam", beam., mains_hz, 10, 1000),
    NUMBER("detector", detector., lag_s, 0, 0.1),
    NUMBER("detector", detector., saturation, 0, 10),
    NUMBER("detector", detector., full_v, 1e-6, 1e4),
    NUMBER("detector", detector., dark_v, -1e4, 1e4),
    NUMBER("detector", detector., drift_v_per_s, -1e3, 1e3),
    NUMBER("detector", detector., hum_v, 0, 1e4),
    FLAG("detector", detector., inverted),
    NUMBER("detector", detector., ac_tau_s, 0, 1e3),
    NUMBER("detector", detector., noise_v, 0, 1e4),
    NUMBER("detector", detector., pink_v, 0, 1e4),
    NUMBER("detector", detector., spread, -0.5, 0.5),
    NUMBER("detector", detector., threshold, 0.01, 0.99),
    NUMBER("detector", detector., hysteresis, 0, 0.98),
    NUMBER("recorder", recorder., rate_hz, 1e3, 1e7),
    NUMBER("recorder", recorder., clock_ppm, -1e5, 1e5),
    NUMBER("recorder", recorder., full_scale_v, 1e-6, 1e5),
    COUNT("recorder", recorder., bits, 0, 24),
    FLAG("recorder", recorder., anti_alias),
    FLAG("contact", contact., present),
    NUMBER("contact", contact., delay_s, -0.005, 1),
    NUMBER("contact", contact., jitter_s, 0, 0.01),
    COUNT("contact", contact., bounces, 0, CW_SIM_BOUNCES_MOST),
    NUMBER("contact", contact., bounce_s, 0, 0.1),
    NUMBER("contact", contact., hold_s, 1e-4, 10),
};
const size_t sim_field_count = sizeof sim_fields / sizeof sim_fields[0];

static double field_value(const cw_sim_scenario *s, const sim_field *field)
{
    const char *at = (const char *)s + field->offset;
    unsigned count;
    bool flag;
    double number;
    switch (field->kind) {
    case SIM_COUNT:
        memcpy(&count, at, sizeof count);
        return count;
    case SIM_FLAG:
        memcpy(&flag, at, sizeof flag);
        return flag;
    case SIM_NUMBER:
        break;
    }
    memcpy(&number, at, sizeof number);
    return number;
}

static cw_status check_speeds(const cw_sim_scenario *s, cw_error *err)
{
    if (s->speed_count < 1 || s->speed_count > CW_SIM_SPEEDS_MOST)
        return cw_fail(err, CW_RANGE, "%zu speeds; 1 to %d can be simulated", s->speed_count, CW_SIM_SPEEDS_MOST);
    size_t shots = 0;
    for (size_t i = 0; i < s->speed_count; i++) {
        const cw_sim_speed *speed = &s->speeds[i];
        if (!(speed->marked_s >= 1e-5 && speed->marked_s <= 100))
            return cw_fail(err, CW_RANGE, "speed %zu is marked %g s; 10 us to 100 s can be simulated", i + 1,
                           speed->marked_s);
        if (!(fabs(speed->error_ev) <= 5))
            return cw_fail(err, CW_RANGE, "speed %zu is off by %g EV; up to 5 EV can be simulated", i + 1,
                           speed->error_ev);
        if (speed->shots < 1 || speed->shots > CW_SIM_SHOTS_MOST - shots)
            return cw_fail(err, CW_RANGE, "speed %zu has %zu shots; 1 to %d in all can be simulated", i + 1,
                           speed->shots, CW_SIM_SHOTS_MOST);
        shots += speed->shots;
    }
    return CW_OK;
}

/* A crossing that the path never makes would have no time. */
static cw_status check_place(double place_mm, const cw_sim_focal *focal, const char *what, cw_error *err)
{
    double from = -fmin(focal->first.start_mm, focal->second.start_mm);
    double to = focal->frame_mm + fmin(focal->first.overrun_mm, focal->second.overrun_mm);
    if (place_mm > from && place_mm < to)
        return CW_OK;
    return cw_fail(err, CW_RANGE, "%s at %g mm lies outside what both curtains pass, %g to %g mm", what, place_mm, from,
                   to);
}

static cw_status check_beam(const cw_sim_scenario *s, cw_error *err)
{
    if (s->beam.sensors < 1 || s->beam.sensors > CW_SIM_SENSORS_MOST)
        return cw_fail(err, CW_RANGE, "%zu sensors; 1 to %d can be simulated", s->beam.sensors, CW_SIM_SENSORS_MOST);
    double reach = (s->beam.width_mm + s->beam.penumbra_mm) / 2;
    for (size_t i = 0; i < s->beam.sensors; i++) {
        double at = s->beam.position_mm[i];
        if (!isfinite(at))
            return cw_fail(err, CW_RANGE, "sensor %zu has no position", i + 1);
        if (s->kind == CW_SIM_FOCAL_PLANE) {
            CW_TRY(check_place(at - reach, &s->focal, "the near side of a beam", err));
            CW_TRY(check_place(at + reach, &s->focal, "the far side of a beam", err));
        } else if (!s->beam.diffuse && fabs(at) - reach >= s->leaf.aperture_mm / 2) {
            return cw_fail(err, CW_RANGE, "the beam at %g mm misses the aperture of %g mm", at, s->leaf.aperture_mm);
        }
    }
    if (s->kind == CW_SIM_FOCAL_PLANE && s->contact.present)
        CW_TRY(check_place(s->focal.contact_at_mm, &s->focal, "the contact", err));
    return CW_OK;
}

cw_status sim_scenario_check(const cw_sim_scenario *s, cw_error *err)
{
    const char *other = s->kind == CW_SIM_LEAF ? "focal" : "leaf";
    for (size_t i = 0; i < sim_field_count; i++) {
        const sim_field *field = &sim_fields[i];
        double value = field_value(s, field);
        if (strncmp(field->group, other, strlen(other)) == 0)
            continue;
        if (!(value >= field->least && value <= field->most))
            return cw_fail(err, CW_RANGE, "%s%s%s is %g; %g to %g can be simulated", field->group,
                           field->group[0] != '\0' ? "." : "", field->key, value, field->least, field->most);
    }
    if (s->recorder.bits > 0 && s->recorder.bits < 8)
        return cw_fail(err, CW_RANGE, "recorder.bits is %u; 0 (floating point) or 8 to 24", s->recorder.bits);
    if (s->detector.threshold - s->detector.hysteresis / 2 <= 0 ||
        s->detector.threshold + s->detector.hysteresis / 2 >= 1)
        return cw_fail(err, CW_RANGE, "a threshold of %g with hysteresis %g reaches dark or full light",
                       s->detector.threshold, s->detector.hysteresis);
    CW_TRY(check_beam(s, err));
    return check_speeds(s, err);
}
