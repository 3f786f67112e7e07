/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Self-calibration: the gate lights its own LED for exactly known times; what comes back tells how late each sensor
 * stamps an opening and how much too long every pulse comes out.
 *   r = rise - on,  f = fall - (on + width),  b = mean(f) - mean(r),  u(b) = sd(f - r) / sqrt(n). */
#include <math.h>
#include <string.h>

#include "base/stats.h"
#include "live/gate_inside.h"

enum { FEWEST_PULSES = 8, WIDTHS_MOST = 8 };
/* The command's wait loop leaves a bias of a few cycles of 62.5 ns (measured in the simulator). */
static const double u_loop_s = 0.125e-6;
/* A pulse belongs to a command when its rise lies this near; far above any detector's lag, far below the pulse spacing.
 */
static const double near_s = 2e-3;

void cw_gate_calibration_begin(cw_gate_session *session, unsigned sensor)
{
    session->calibrating = true;
    session->calibrated_sensor = sensor;
    session->calibration_count = 0;
    session->loose_count = 0;
}

void cw_gate_calibration_pulse(cw_gate_session *session, double at_s, double width_s)
{
    if (session->calibrating && session->calibration_count < GATE_CALIBRATION_PULSES)
        session->calibration[session->calibration_count++] = (cw_gate_calibration_shot){at_s, width_s, NAN, NAN};
}

void cw_gate_calibration_light(cw_gate_session *session, cw_gate_light light)
{
    if (session->loose_count < GATE_CALIBRATION_PULSES)
        session->loose[session->loose_count++] = light;
}

/* Edges and pulse lines come in any order: each command takes the light whose rise is nearest. */
static void pair(cw_gate_session *session)
{
    for (size_t i = 0; i < session->calibration_count; i++) {
        cw_gate_calibration_shot *shot = &session->calibration[i];
        double nearest = near_s;
        for (size_t k = 0; k < session->loose_count; k++) {
            double off = fabs(session->loose[k].open_s - shot->commanded_s);
            if (off < nearest) {
                nearest = off;
                shot->rise_s = session->loose[k].open_s;
                shot->fall_s = session->loose[k].close_s;
            }
        }
    }
}

typedef struct {
    double width_s, mean_rise_s;
    cw_quantity asymmetry_s;
} width_result;

static cw_status at_width(const cw_gate_session *session, double width_s, width_result *result, cw_error *err)
{
    double rises[GATE_CALIBRATION_PULSES], differences[GATE_CALIBRATION_PULSES];
    size_t n = 0;
    for (size_t i = 0; i < session->calibration_count; i++) {
        const cw_gate_calibration_shot *shot = &session->calibration[i];
        if (shot->width_s != width_s || isnan(shot->rise_s))
            continue;
        rises[n] = shot->rise_s - shot->commanded_s;
        differences[n] = shot->fall_s - shot->commanded_s - shot->width_s - rises[n];
        n++;
    }
    if (n < FEWEST_PULSES)
        return cw_fail(
            err, CW_RANGE,
            "only %zu calibration pulses of %.3g ms came back, %d are needed: does the lamp of the gate light "
            "this sensor, with the shutter open on B or T?",
            n, width_s * 1e3, FEWEST_PULSES);
    cw_summary rise, difference;
    CW_TRY(cw_summarise(n, rises, &rise, err));
    CW_TRY(cw_summarise(n, differences, &difference, err));
    *result = (width_result){width_s, rise.mean, {difference.mean, hypot(difference.u_mean, u_loop_s)}};
    return CW_OK;
}

cw_status cw_gate_calibration_end(cw_gate_session *session, cw_gate_sensor_calibration *calibration, cw_error *err)
{
    session->calibrating = false;
    if (session->calibration_count == 0)
        return cw_fail(err, CW_RANGE, "the gate made no calibration pulse");
    pair(session);
    width_result results[WIDTHS_MOST];
    size_t count = 0;
    for (size_t i = 0; i < session->calibration_count; i++) {
        size_t known = 0;
        while (known < count && results[known].width_s != session->calibration[i].width_s)
            known++;
        if (known == count && count < WIDTHS_MOST)
            CW_TRY(at_width(session, session->calibration[i].width_s, &results[count++], err));
    }
    /* the nearest width to what is measured would be best; the spread over the widths says whether it matters */
    double least = INFINITY, most = -INFINITY, sum = 0, rise = 0, u = 0;
    for (size_t i = 0; i < count; i++) {
        least = fmin(least, results[i].asymmetry_s.value);
        most = fmax(most, results[i].asymmetry_s.value);
        sum += results[i].asymmetry_s.value / (double)count;
        rise += results[i].mean_rise_s / (double)count;
        u = fmax(u, results[i].asymmetry_s.u);
    }
    bool uneven = most - least > 3 * M_SQRT2 * u;
    *calibration = (cw_gate_sensor_calibration){
        .known = true,
        .open_delay_s = rise,
        .asymmetry_s = {sum, hypot(u, (most - least) / sqrt(12))},
        .uneven = uneven,
    };
    return CW_OK;
}
