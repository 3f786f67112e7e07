/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far the measured exposures lie from what the simulated shutter really did, and whether the stated uncertainty
 * covers it. One line a scenario and speed: worst and rms error in EV, rms of error over u (1 when u is honest), the
 * part within k = 2, shots and sensors found against those fired. */
#include <gsl/gsl_errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "shutter/measure.h"
#include "support/samples.h"

static const double MARKS[] = {1, 0.5, 0.25, 0.125, 1 / 15., 1 / 30., 1 / 60., 1 / 125., 1 / 250., 1 / 500., 1 / 1000.};

static void speeds(cw_sim_scenario *s, double slowest, double fastest, size_t shots)
{
    s->speed_count = 0;
    for (double mark = slowest; mark >= fastest * 0.9 && s->speed_count < CW_SIM_SPEEDS_MOST; mark /= 2) {
        double nearest = mark;
        for (size_t i = 0; i < CW_COUNT(MARKS); i++)
            if (fabs(log2(mark / MARKS[i])) < 0.2)
                nearest = MARKS[i];
        s->speeds[s->speed_count++] = (cw_sim_speed){nearest, shots, 0};
    }
}

typedef struct {
    size_t fired, found, seen_truth, seen, compared, within2, unknown;
    double worst_ev, squares_ev, squares_u, worst_u, relative_u;
} tally;

static const cw_shot *shot_near(const cw_measurement *m, const cw_sim_shot_truth *truth, double ppm)
{
    const cw_shot *best = NULL;
    double best_s = 0.2;
    for (size_t k = 0; k < m->shot_count; k++) {
        double off = 1;
        for (size_t i = 0; i < truth->sensor_count; i++)
            if (isfinite(truth->sensors[i].first_light_s))
                off = fmin(off, fabs(m->shots[k].at_s - truth->sensors[i].first_light_s * (1 + ppm * 1e-6)));
        if (off < best_s) {
            best_s = off;
            best = &m->shots[k];
        }
    }
    return best;
}

/* The recorder's clock error is no fault of the measurement: the truth is told on the recorder's clock. */
static void compare(const cw_sensor_shot *s, const cw_sim_sensor_truth *t, double clock, tally *sum, bool verbose)
{
    double true_s = t->exposure_s * clock;
    sum->seen_truth += t->peak > 0.02;
    sum->seen += s->seen;
    if (!s->seen || !(true_s > 0))
        return;
    if (!isfinite(s->exposure_s.value)) {
        sum->unknown++;
        return;
    }
    double ev = log2(s->exposure_s.value / true_s), off = (s->exposure_s.value - true_s) / s->exposure_s.u;
    sum->compared++;
    sum->worst_ev = fmax(sum->worst_ev, fabs(ev));
    sum->squares_ev += ev * ev;
    sum->squares_u += off * off;
    sum->worst_u = fmax(sum->worst_u, fabs(off));
    sum->within2 += fabs(off) <= 2;
    sum->relative_u += s->exposure_s.u / s->exposure_s.value;
    if (verbose)
        printf("    %.4g mm %-9s %.6f ms truth %.6f ms u %.6f (%+.2f u, %+.4f EV) area %.5f mid %.5f peak %.3f (%.3f) "
               "open %+.2f us close %+.2f us u %.2f %.2f b%zu/%zu | %s\n",
               s->position_mm, cw_exposure_method_name(s->method), s->exposure_s.value * 1e3, true_s * 1e3,
               s->exposure_s.u * 1e3, off, ev, s->area_s.value * 1e3, s->mid_level_s.value * 1e3, s->peak_fraction,
               t->peak, (s->open_s.value - t->open_s * clock) * 1e6, (s->close_s.value - t->close_s * clock) * 1e6,
               s->open_s.u * 1e6, s->close_s.u * 1e6, s->bounce_count, t->bounce_count, s->remark);
}

static int run(const cw_sim_scenario *scenario, bool verbose)
{
    cw_error err;
    cw_sim *sim = NULL;
    cw_source *source = NULL;
    cw_measurement *m = NULL;
    printf("%s\n", scenario->name);
    if (cw_sim_new(scenario, &sim, &err) != CW_OK || samples_of_sim(sim, &source, &err) != CW_OK) {
        printf("  %s\n", err.text);
        cw_sim_free(sim);
        return 1;
    }
    cw_measure_setup setup = {.kind = scenario->kind == CW_SIM_LEAF ? CW_SHUTTER_LEAF : CW_SHUTTER_FOCAL_PLANE,
                              .beam = scenario->beam.diffuse ? CW_BEAM_DIFFUSE : CW_BEAM_POINT,
                              .sensor_count = scenario->beam.sensors,
                              .contact_channel = scenario->contact.present ? scenario->beam.sensors + 1 : 0};
    for (size_t i = 0; i < setup.sensor_count; i++)
        setup.sensors_mm[i] = scenario->beam.position_mm[i];
    if (cw_measure(source, &setup, &m, &err) != CW_OK) {
        printf("  %s\n", err.text);
    } else {
        for (size_t i = 0; i < m->warning_count; i++)
            printf("  warning: %s\n", m->warnings[i]);
        const cw_channel_found *c = &m->channels[0];
        printf(
            "  channel 1: full %.4g +- %.2g noise %.3g %s%s tau %.4g +- %.2g s (%.4g) hum %.2g flicker %.3g; shots %zu "
            "of %zu\n",
            c->full.value, c->full.u, c->noise, c->is_ac ? "AC" : "DC", c->is_inverted ? " inverted" : "",
            c->tau_s.value, c->tau_s.u, scenario->detector.ac_tau_s, c->hum, c->flicker, m->shot_count,
            cw_sim_shot_count(sim));
        for (size_t v = 0; v < scenario->speed_count; v++) {
            tally sum = {0};
            for (size_t k = 0; k < cw_sim_shot_count(sim); k++) {
                const cw_sim_shot_truth *truth = cw_sim_truth(sim, k);
                if (truth->marked_s != scenario->speeds[v].marked_s)
                    continue;
                sum.fired++;
                const cw_shot *shot = shot_near(m, truth, scenario->recorder.clock_ppm);
                if (shot == NULL || shot->incomplete)
                    continue;
                sum.found++;
                for (size_t i = 0; i < truth->sensor_count; i++)
                    compare(&shot->sensors[i], &truth->sensors[i], 1 + scenario->recorder.clock_ppm * 1e-6, &sum,
                            verbose);
            }
            double n = (double)sum.compared;
            printf("  1/%-6.4g shots %zu/%zu sensors %zu/%zu unknown %zu  EV rms %.4f worst %.4f  u %.4f EV  rms(e/u) "
                   "%.2f "
                   "worst %.1f  within k=2 %.0f %%\n",
                   1 / scenario->speeds[v].marked_s, sum.found, sum.fired, sum.seen, sum.seen_truth, sum.unknown,
                   sqrt(sum.squares_ev / n), sum.worst_ev, sum.relative_u / n / log(2), sqrt(sum.squares_u / n),
                   sum.worst_u, 100 * (double)sum.within2 / n);
        }
    }
    cw_measurement_free(m);
    cw_source_close(source);
    cw_sim_free(sim);
    return 0;
}

typedef struct {
    const char *name;
    int base; /* 0 cloth, 1 blades, 2 leaf */
    double slowest, fastest;
    double noise_db, ac_tau_s, lag_s, hum, flicker, drift, width_mm, clock_ppm;
    unsigned bits;
    double rate_hz;
    bool inverted, round, point_leaf;
    size_t sensors;
    unsigned bounces;
    bool contact;
    double pink, saturation, full_v, pause_s, lead_s;
    bool anti_alias;
    size_t shots;
} variant;

static const variant VARIANTS[] = {
    {.name = "cloth, quiet", .base = 0, .slowest = 1, .fastest = 1 / 1000., .noise_db = 60},
    {.name = "cloth, 30 dB", .base = 0, .slowest = 1, .fastest = 1 / 1000., .noise_db = 30},
    {.name = "cloth, wide beam 3 mm, lag 60 us",
     .base = 0,
     .slowest = 1,
     .fastest = 1 / 1000.,
     .noise_db = 45,
     .lag_s = 60e-6,
     .width_mm = 3},
    {.name = "cloth, AC 15 ms", .base = 0, .slowest = 1, .fastest = 1 / 1000., .noise_db = 45, .ac_tau_s = 0.015},
    {.name = "cloth, AC 60 ms, hum 2 %",
     .base = 0,
     .slowest = 1,
     .fastest = 1 / 1000.,
     .noise_db = 45,
     .ac_tau_s = 0.06,
     .hum = 0.02},
    {.name = "cloth, AC 150 ms inverted",
     .base = 0,
     .slowest = 1,
     .fastest = 1 / 1000.,
     .noise_db = 45,
     .ac_tau_s = 0.15,
     .inverted = true},
    {.name = "cloth, AC fast only",
     .base = 0,
     .slowest = 1 / 250.,
     .fastest = 1 / 1000.,
     .noise_db = 45,
     .ac_tau_s = 0.03},
    {.name = "cloth, hum 5 %, flicker 10 %, drift",
     .base = 0,
     .slowest = 1,
     .fastest = 1 / 1000.,
     .noise_db = 45,
     .hum = 0.05,
     .flicker = 0.1,
     .drift = 0.01},
    {.name = "cloth, 48 kHz 16 bit round 2 mm",
     .base = 0,
     .slowest = 1,
     .fastest = 1 / 1000.,
     .noise_db = 50,
     .bits = 16,
     .rate_hz = 48000,
     .width_mm = 2,
     .round = true},
    {.name = "cloth, 8 bit, clock 200 ppm",
     .base = 0,
     .slowest = 1,
     .fastest = 1 / 1000.,
     .noise_db = 50,
     .bits = 8,
     .clock_ppm = 200},
    {.name = "blades to 1/4000", .base = 1, .slowest = 1, .fastest = 1 / 4000., .noise_db = 45, .width_mm = 1},
    {.name = "blades to 1/4000, beam 4 mm, AC 20 ms",
     .base = 1,
     .slowest = 1,
     .fastest = 1 / 4000.,
     .noise_db = 45,
     .width_mm = 4,
     .ac_tau_s = 0.02},
    {.name = "blades, 48 kHz, lag 30 us, 1 sensor",
     .base = 1,
     .slowest = 1,
     .fastest = 1 / 4000.,
     .noise_db = 45,
     .rate_hz = 48000,
     .lag_s = 30e-6,
     .sensors = 1},
    {.name = "leaf diffuse", .base = 2, .slowest = 1, .fastest = 1 / 500., .noise_db = 45},
    {.name = "leaf diffuse AC 30 ms, hum 2 %",
     .base = 2,
     .slowest = 1,
     .fastest = 1 / 500.,
     .noise_db = 45,
     .ac_tau_s = 0.03,
     .hum = 0.02},
    {.name = "leaf diffuse, bounces, contact",
     .base = 2,
     .slowest = 1,
     .fastest = 1 / 500.,
     .noise_db = 45,
     .bounces = 2,
     .contact = true},
    {.name = "leaf point",
     .base = 2,
     .slowest = 1,
     .fastest = 1 / 500.,
     .noise_db = 45,
     .point_leaf = true,
     .sensors = 1},
    {.name = "cloth, 20 dB, 12 shots", .base = 0, .slowest = 1 / 8., .fastest = 1 / 1000., .noise_db = 20, .shots = 12},
    {.name = "cloth, 40 dB, anti-alias, 48 kHz, 12 shots",
     .base = 0,
     .slowest = 1 / 8.,
     .fastest = 1 / 1000.,
     .noise_db = 40,
     .rate_hz = 48000,
     .anti_alias = true,
     .shots = 12},
    {.name = "blades, 1/f noise 1 %, 12 shots",
     .base = 1,
     .slowest = 1 / 8.,
     .fastest = 1 / 4000.,
     .noise_db = 50,
     .pink = 0.01,
     .shots = 12},
    {.name = "blades, 3 mm, AC 40 ms, hum 5 %, 12 shots",
     .base = 1,
     .slowest = 1 / 8.,
     .fastest = 1 / 4000.,
     .noise_db = 45,
     .width_mm = 3,
     .ac_tau_s = 0.04,
     .hum = 0.05,
     .shots = 12},
    {.name = "blades, 4 mm, 12 shots",
     .base = 1,
     .slowest = 1 / 8.,
     .fastest = 1 / 4000.,
     .noise_db = 40,
     .width_mm = 4,
     .shots = 12},
    {.name = "blades, fast only, 4 mm",
     .base = 1,
     .slowest = 1 / 1000.,
     .fastest = 1 / 4000.,
     .noise_db = 40,
     .width_mm = 4},
    {.name = "cloth, low level 2 % of scale, 16 bit",
     .base = 0,
     .slowest = 1,
     .fastest = 1 / 1000.,
     .noise_db = 40,
     .full_v = 0.02,
     .bits = 16},
    {.name = "cloth, clipped at 1.3 of scale",
     .base = 0,
     .slowest = 1,
     .fastest = 1 / 1000.,
     .noise_db = 45,
     .full_v = 1.3},
    {.name = "cloth, lag 200 us",
     .base = 0,
     .slowest = 1,
     .fastest = 1 / 1000.,
     .noise_db = 45,
     .lag_s = 200e-6,
     .shots = 6},
    {.name = "cloth, close together, 150 ms",
     .base = 0,
     .slowest = 1 / 30.,
     .fastest = 1 / 1000.,
     .noise_db = 45,
     .pause_s = 0.15,
     .lead_s = 0.02},
    {.name = "cloth, AC 100 ms, close together",
     .base = 0,
     .slowest = 1,
     .fastest = 1 / 1000.,
     .noise_db = 45,
     .pause_s = 0.15,
     .lead_s = 0.05,
     .ac_tau_s = 0.1},
    {.name = "cloth, AC 8 ms, hum 3 %, flicker 5 %",
     .base = 0,
     .slowest = 1,
     .fastest = 1 / 1000.,
     .noise_db = 40,
     .ac_tau_s = 0.008,
     .hum = 0.03,
     .flicker = 0.05},
    {.name = "cloth, AC 500 ms", .base = 0, .slowest = 1, .fastest = 1 / 1000., .noise_db = 45, .ac_tau_s = 0.5},
    {.name = "leaf, AC 50 ms, bounces",
     .base = 2,
     .slowest = 1,
     .fastest = 1 / 500.,
     .noise_db = 40,
     .ac_tau_s = 0.05,
     .bounces = 2},
    {.name = "leaf, flicker 20 %, hum 3 %",
     .base = 2,
     .slowest = 1,
     .fastest = 1 / 500.,
     .noise_db = 40,
     .flicker = 0.2,
     .hum = 0.03},
    {.name = "one slow shot only, AC 10 ms",
     .base = 0,
     .slowest = 1,
     .fastest = 1,
     .noise_db = 40,
     .ac_tau_s = 0.01,
     .shots = 1},
    {.name = "one fast shot only",
     .base = 0,
     .slowest = 1 / 500.,
     .fastest = 1 / 500.,
     .noise_db = 40,
     .shots = 1,
     .lead_s = 0.01,
     .pause_s = 0.01},
    {.name = "one fast shot only, AC 20 ms",
     .base = 0,
     .slowest = 1 / 500.,
     .fastest = 1 / 500.,
     .noise_db = 40,
     .shots = 1,
     .ac_tau_s = 0.02},
    {.name = "one slow shot only, tight",
     .base = 0,
     .slowest = 1,
     .fastest = 1,
     .noise_db = 40,
     .shots = 1,
     .lead_s = 0.03,
     .pause_s = 0.03},
};

static void build(const variant *v, cw_sim_scenario *s)
{
    if (v->base == 0)
        cw_sim_focal_plane(s);
    else if (v->base == 1)
        cw_sim_metal_blades(s);
    else
        cw_sim_leaf_shutter(s);
    speeds(s, v->slowest, v->fastest, v->shots > 0 ? v->shots : 3);
    snprintf(s->name, sizeof s->name, "%s", v->name);
    if (v->full_v > 0)
        s->detector.full_v = v->full_v;
    double full = s->detector.full_v;
    s->detector.pink_v = full * v->pink;
    s->detector.saturation = v->saturation;
    s->recorder.anti_alias = v->anti_alias;
    if (v->pause_s > 0)
        s->pause_s = v->pause_s;
    if (v->lead_s > 0)
        s->lead_s = v->lead_s;
    s->detector.noise_v = full * pow(10, -v->noise_db / 20);
    s->detector.ac_tau_s = v->ac_tau_s;
    if (v->lag_s > 0)
        s->detector.lag_s = v->lag_s;
    s->detector.hum_v = full * v->hum;
    s->detector.drift_v_per_s = full * v->drift;
    s->detector.inverted = v->inverted;
    s->beam.flicker = v->flicker;
    if (v->width_mm > 0)
        s->beam.width_mm = v->width_mm;
    s->beam.round = v->round;
    if (v->point_leaf)
        s->beam.diffuse = false;
    if (v->sensors > 0)
        s->beam.sensors = v->sensors;
    if (v->bits > 0)
        s->recorder.bits = v->bits;
    if (v->rate_hz > 0)
        s->recorder.rate_hz = v->rate_hz;
    s->recorder.clock_ppm = v->clock_ppm;
    if (v->bounces > 0) {
        s->leaf.bounces = v->bounces;
        if (!(s->leaf.bounce_fraction > 0))
            s->leaf.bounce_fraction = 0.3;
        if (!(s->leaf.bounce_delay_s > 0))
            s->leaf.bounce_delay_s = 0.002;
        if (!(s->leaf.bounce_s > 0))
            s->leaf.bounce_s = 0.002;
    }
    if (v->contact)
        s->contact.present = true;
}

int main(int argc, char **argv)
{
    gsl_set_error_handler_off();
    const char *only = argc > 1 ? argv[1] : "";
    for (size_t i = 0; i < CW_COUNT(VARIANTS); i++) {
        cw_sim_scenario scenario;
        build(&VARIANTS[i], &scenario);
        if (strstr(scenario.name, only) != NULL)
            (void)run(&scenario, argc > 2);
    }
    return 0;
}
