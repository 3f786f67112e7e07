/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the mechanics to the light of one shot and what it truly was. */
#include "sim/inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Antiderivative of the fraction of a unit disc (diameter 2) behind an edge at u; the fraction itself is
 * 1/2 + (u sqrt(1 - u^2) + asin u)/pi. */
static double disc_fraction(double u)
{
    if (u <= -1)
        return 0;
    return u >= 1 ? 1 : 0.5 + (u * sqrt(1 - u * u) + asin(u)) / M_PI;
}

static double disc_integral(double u)
{
    if (u <= -1)
        return 0;
    if (u >= 1)
        return u;
    double c = sqrt(1 - u * u);
    return u / 2 + (u * asin(u) + c - c * c * c / 3) / M_PI;
}

static double slit_fraction(double u)
{
    return u <= -1 ? 0 : u >= 1 ? 1 : (u + 1) / 2;
}

static double slit_integral(double u)
{
    return u <= -1 ? 0 : u >= 1 ? u : (u + 1) * (u + 1) / 4;
}

double sim_beam_fraction(const cw_sim_beam *beam, double z_mm)
{
    double half = beam->width_mm / 2, blur = beam->penumbra_mm;
    if (blur < 1e-6)
        return beam->round ? disc_fraction(z_mm / half) : slit_fraction(z_mm / half);
    double (*integral)(double) = beam->round ? disc_integral : slit_integral;
    return half / blur * (integral((z_mm + blur / 2) / half) - integral((z_mm - blur / 2) / half));
}

double sim_shot_light(const cw_sim *sim, const sim_shot *shot, size_t sensor, double t_s)
{
    const cw_sim_scenario *s = &sim->scenario;
    if (s->kind == CW_SIM_LEAF) {
        double opening = sim_blades_at(&s->leaf, shot->truth.delay_s, t_s - shot->truth.start_s);
        return sim_cover_at(&sim->cover[sensor], opening);
    }
    double x1 = sim_path_at(&sim->path1, (t_s - shot->release1_s) * shot->pace1);
    double x2 = sim_path_at(&sim->path2, (t_s - shot->release2_s) * shot->pace2);
    if (x2 >= x1)
        return 0; /* capped: the second curtain has caught up */
    double at = s->beam.position_mm[sensor];
    return sim_beam_fraction(&s->beam, x1 - at) - sim_beam_fraction(&s->beam, x2 - at);
}

double sim_light_integral(const cw_sim *sim, const sim_shot *shot, size_t sensor, double from_s, double to_s)
{
    enum { PANELS = 16 }; /* Simpson's rule; callers cut a stretch between corners into 32 first */
    double h = (to_s - from_s) / PANELS, sum = 0;
    for (int i = 0; i <= PANELS; i++) {
        double weight = i == 0 || i == PANELS ? 1 : i % 2 == 1 ? 4 : 2;
        sum += weight * sim_shot_light(sim, shot, sensor, from_s + i * h);
    }
    return sum * h / 3;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static size_t curtain_breaks(const cw_sim *sim, const sim_shot *shot, double at_mm, double *out)
{
    double outer = (sim->scenario.beam.width_mm + sim->scenario.beam.penumbra_mm) / 2;
    double inner = fabs(sim->scenario.beam.width_mm - sim->scenario.beam.penumbra_mm) / 2;
    double places[4] = {at_mm - outer, at_mm - inner, at_mm + inner, at_mm + outer};
    size_t n = 0;
    for (size_t curtain = 0; curtain < 2; curtain++) {
        double release = curtain == 0 ? shot->release1_s : shot->release2_s;
        double pace = curtain == 0 ? shot->pace1 : shot->pace2;
        for (size_t i = 0; i < 4; i++) {
            size_t more = sim_path_crossings(curtain == 0 ? &sim->path1 : &sim->path2, places[i], 8, out + n);
            for (size_t k = 0; k < more; k++, n++)
                out[n] = release + out[n] / pace;
        }
    }
    return n;
}

/* Where the light has corners, cut to where there is any light. */
static void find_breaks(const cw_sim *sim, const sim_shot *shot, size_t sensor, sim_lit *lit)
{
    _Static_assert(SIM_BREAKS_MOST >= 2 * 4 * 8, "both curtains, four places, eight crossings");
    const cw_sim_scenario *s = &sim->scenario;
    size_t n;
    if (s->kind == CW_SIM_LEAF) {
        n = sim_blades_breaks(&s->leaf, shot->truth.delay_s, lit->breaks_s);
        for (size_t i = 0; i < n; i++)
            lit->breaks_s[i] += shot->truth.start_s;
    } else {
        n = curtain_breaks(sim, shot, s->beam.position_mm[sensor], lit->breaks_s);
    }
    qsort(lit->breaks_s, n, sizeof lit->breaks_s[0], by_size);
    /* Corners that fall together (no penumbra: inner and outer edge are one) would cut the light in pieces. */
    lit->break_count = n > 0 ? 1 : 0;
    for (size_t i = 1; i < n; i++)
        if (lit->breaks_s[i] - lit->breaks_s[lit->break_count - 1] > 1e-10)
            lit->breaks_s[lit->break_count++] = lit->breaks_s[i];
    n = lit->break_count;
    for (size_t i = 0; i + 1 < n; i++) {
        double from = lit->breaks_s[i], width = lit->breaks_s[i + 1] - from, least = INFINITY, most = -INFINITY;
        for (int k = 1; k < 16; k++) {
            double light = sim_shot_light(sim, shot, sensor, from + width * k / 16);
            least = fmin(least, light);
            most = fmax(most, light);
        }
        lit->constant[i] = most - least < 1e-12;
    }
}

/* First instant in (from, to) with light on the side `above`, by bisection: light changes there exactly once. */
static double crossing(const cw_sim *sim, const sim_shot *shot, size_t sensor, double from_s, double to_s, double level)
{
    bool rising = sim_shot_light(sim, shot, sensor, to_s) >= level;
    for (int i = 0; i < 60; i++) {
        double middle = (from_s + to_s) / 2;
        bool high = sim_shot_light(sim, shot, sensor, middle) >= level;
        *(high == rising ? &to_s : &from_s) = middle;
    }
    return (from_s + to_s) / 2;
}

static const double DARK = 1e-9; /* light below this is rounding */

typedef struct {
    double from_s, to_s, exposure_s, peak;
} pulse;

/* Contiguous stretches of light, in steps fine enough to find where a capped slit goes dark between two corners. */
static size_t find_pulses(const cw_sim *sim, const sim_shot *shot, size_t sensor, size_t most, pulse *pulses)
{
    enum { PARTS = 32 };
    const sim_lit *lit = &shot->lit[sensor];
    size_t n = 0;
    bool lit_before = false;
    for (size_t i = 0; i + 1 < lit->break_count; i++) {
        double h = (lit->breaks_s[i + 1] - lit->breaks_s[i]) / PARTS;
        for (int k = 0; k < PARTS; k++) {
            double from = lit->breaks_s[i] + k * h, part = sim_light_integral(sim, shot, sensor, from, from + h);
            bool is_lit = part > DARK * h;
            if (is_lit && !lit_before) {
                if (n == most)
                    return n;
                bool at_once = sim_shot_light(sim, shot, sensor, from) > DARK || k == 0;
                pulses[n++] = (pulse){at_once ? from : crossing(sim, shot, sensor, from, from + h, DARK), 0, 0, 0};
            }
            if (is_lit) {
                bool to_the_end = sim_shot_light(sim, shot, sensor, from + h) > DARK || k == PARTS - 1;
                pulses[n - 1].to_s = to_the_end ? from + h : crossing(sim, shot, sensor, from + h / 2, from + h, DARK);
                pulses[n - 1].exposure_s += part;
                for (int q = 0; q <= 16; q++)
                    pulses[n - 1].peak = fmax(pulses[n - 1].peak, sim_shot_light(sim, shot, sensor, from + h * q / 16));
            }
            lit_before = is_lit;
        }
    }
    return n;
}

/* Half of the full light: first up and last down within the pulse, on a grid of its corners. */
static void half_instants(const cw_sim *sim, const sim_shot *shot, size_t sensor, const pulse *p,
                          cw_sim_sensor_truth *truth)
{
    enum { PARTS = 64 };
    const sim_lit *lit = &shot->lit[sensor];
    truth->open_s = truth->close_s = NAN;
    for (size_t i = 0; i + 1 < lit->break_count; i++) {
        double h = (lit->breaks_s[i + 1] - lit->breaks_s[i]) / PARTS;
        for (int k = 0; k < PARTS && h > 0; k++) {
            double from = lit->breaks_s[i] + k * h, to = from + h;
            if (from < p->from_s - h || to > p->to_s + h)
                continue;
            bool before = sim_shot_light(sim, shot, sensor, from) >= 0.5;
            bool after = sim_shot_light(sim, shot, sensor, to) >= 0.5;
            if (!before && after && isnan(truth->open_s))
                truth->open_s = crossing(sim, shot, sensor, from, to, 0.5);
            if (before && !after)
                truth->close_s = crossing(sim, shot, sensor, from, to, 0.5);
        }
    }
}

static void sensor_truth(const cw_sim *sim, sim_shot *shot, size_t sensor)
{
    pulse pulses[CW_SIM_BOUNCES_MOST + 1];
    size_t n = find_pulses(sim, shot, sensor, CW_SIM_BOUNCES_MOST + 1, pulses);
    cw_sim_sensor_truth *truth = &shot->truth.sensors[sensor];
    *truth = (cw_sim_sensor_truth){.position_mm = sim->scenario.beam.position_mm[sensor],
                                   .open_s = NAN,
                                   .close_s = NAN,
                                   .first_light_s = NAN,
                                   .last_light_s = NAN};
    if (n == 0)
        return;
    const cw_sim_scenario *s = &sim->scenario;
    double closed_s = shot->truth.start_s + shot->truth.delay_s + s->leaf.closing_s;
    if (s->kind == CW_SIM_FOCAL_PLANE) {
        double far_mm = truth->position_mm + (s->beam.width_mm + s->beam.penumbra_mm) / 2;
        closed_s = shot->release2_s + sim_path_passes(&sim->path2, far_mm) / shot->pace2;
    }
    /* What begins before the shutter has closed is the exposure, even in pieces (a rebounding first curtain); what
     * comes later is bounce. */
    pulse whole = pulses[0];
    for (size_t i = 0; i < n; i++) {
        if (pulses[i].from_s >= closed_s - 1e-9) {
            truth->bounces[truth->bounce_count++] = (cw_sim_bounce){pulses[i].from_s, pulses[i].exposure_s};
        } else if (i > 0) {
            whole.to_s = pulses[i].to_s;
            whole.exposure_s += pulses[i].exposure_s;
            whole.peak = fmax(whole.peak, pulses[i].peak);
        }
        if (truth->bounce_count == CW_SIM_BOUNCES_MOST)
            break;
    }
    if (pulses[0].from_s >= closed_s - 1e-9)
        return; /* capped, and lit only by the bounce */
    truth->exposure_s = whole.exposure_s;
    truth->first_light_s = whole.from_s;
    truth->last_light_s = whole.to_s;
    truth->peak = whole.peak;
    half_instants(sim, shot, sensor, &whole, truth);
}

static void curtain_truth(const cw_sim *sim, sim_shot *shot)
{
    cw_sim_shot_truth *truth = &shot->truth;
    double frame = sim->scenario.focal.frame_mm;
    double first0 = shot->release1_s + sim_path_passes(&sim->path1, 0) / shot->pace1;
    double first1 = shot->release1_s + sim_path_passes(&sim->path1, frame) / shot->pace1;
    double second0 = shot->release2_s + sim_path_passes(&sim->path2, 0) / shot->pace2;
    double second1 = shot->release2_s + sim_path_passes(&sim->path2, frame) / shot->pace2;
    truth->travel1_s = first1 - first0;
    truth->travel2_s = second1 - second0;
    truth->fully_open_s = second0 - first1;
    double sum = 0;
    for (size_t i = 0; i < CW_SIM_PROFILE; i++) {
        double x = frame * (double)i / (CW_SIM_PROFILE - 1);
        double opens = shot->release1_s + sim_path_passes(&sim->path1, x) / shot->pace1;
        double closes = shot->release2_s + sim_path_passes(&sim->path2, x) / shot->pace2;
        truth->profile_mm[i] = x;
        truth->profile_s[i] = fmax(0, closes - opens); /* capped where the second is first */
        sum += truth->profile_s[i] * (i == 0 || i == CW_SIM_PROFILE - 1 ? 0.5 : 1);
    }
    truth->whole_exposure_s = sum / (CW_SIM_PROFILE - 1);
}

static void blades_truth(const cw_sim *sim, sim_shot *shot)
{
    const cw_sim_leaf *leaf = &sim->scenario.leaf;
    cw_sim_shot_truth *truth = &shot->truth;
    double breaks[SIM_BREAKS_MOST], exposure = 0;
    size_t n = sim_blades_breaks(leaf, truth->delay_s, breaks);
    for (size_t i = 0; i + 1 < n && breaks[i] < truth->delay_s + leaf->closing_s; i++) {
        enum { PANELS = 2000 };
        double h = (breaks[i + 1] - breaks[i]) / PANELS;
        for (int k = 0; k < PANELS; k++)
            exposure += h * sim_cover_at(&sim->whole, sim_blades_at(leaf, truth->delay_s, breaks[i] + (k + 0.5) * h));
    }
    truth->whole_exposure_s = exposure;
    truth->travel1_s = truth->travel2_s = NAN;
    truth->fully_open_s = truth->delay_s - leaf->opening_s;
    for (size_t i = 0; i < CW_SIM_PROFILE; i++)
        truth->profile_mm[i] = truth->profile_s[i] = NAN;
}

void sim_shot_truth_fill(const cw_sim *sim, sim_shot *shot)
{
    shot->from_s = INFINITY;
    shot->to_s = -INFINITY;
    shot->truth.sensor_count = sim->scenario.beam.sensors;
    for (size_t i = 0; i < sim->scenario.beam.sensors; i++) {
        find_breaks(sim, shot, i, &shot->lit[i]);
        sensor_truth(sim, shot, i);
        shot->from_s = fmin(shot->from_s, shot->lit[i].breaks_s[0]);
        shot->to_s = fmax(shot->to_s, shot->lit[i].breaks_s[shot->lit[i].break_count - 1]);
    }
    if (sim->scenario.kind == CW_SIM_LEAF)
        blades_truth(sim, shot);
    else
        curtain_truth(sim, shot);
}
