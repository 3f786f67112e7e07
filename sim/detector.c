/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From light to samples: lamp, lag, saturation, hum, coupling, filter, noise, quantisation; in constant memory. */
#include "sim/inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { OVER = 8, TAPS = 8 * 32 + 1, PINK_POLES = 14, CHANNELS_MOST = CW_SIM_SENSORS_MOST + 1 };
enum { CHANCE_NOISE = 100 };

static const double EDGE_STEP_S = 2e-6; /* at most, while the light changes: the light is taken straight in between */
static const double FLICKER_STEP_S = 50e-6;

typedef struct {
    size_t shot, segment; /* the next stretch of light; segment 0 = before the first corner */
    double light, lag, volts, coupling;
    double pink[PINK_POLES];
    sim_chance chance;
    float history[TAPS]; /* volts before the filter, newest at `newest` */
    size_t newest;
} channel;

struct sim_render {
    uint64_t frame;
    double inner_s; /* true time of the last inner step */
    uint64_t inner; /* its number */
    channel channels[CHANNELS_MOST];
    float quantiles[SIM_QUANTILES];
    float taps[TAPS];
    double pink_keep[PINK_POLES], pink_new[PINK_POLES];
};

double sim_gain(const cw_sim_scenario *s, size_t sensor)
{
    return 1 + s->detector.spread * ((double)sensor - ((double)s->beam.sensors - 1) / 2);
}

/* Over a step h of a one-pole lag whose input runs straight from u0 to u1: exact. */
static double one_pole(double y, double u0, double u1, double h, double tau_s)
{
    if (tau_s <= 0)
        return u1;
    double ramp = (u1 - u0) / h * tau_s;
    return u1 - ramp + (y - u0 + ramp) * exp(-h / tau_s);
}

static double lamp(const cw_sim_beam *beam, double t_s)
{
    return beam->flicker > 0 ? 1 + beam->flicker * sin(4 * M_PI * beam->mains_hz * t_s) : 1;
}

/* Moves the cursor past t and says whether the light stays as it is until `until`. */
static bool steady(const cw_sim *sim, size_t sensor, channel *c, double t_s, double until_s)
{
    while (c->shot < sim->shot_count) {
        const sim_lit *lit = &sim->shots[c->shot].lit[sensor];
        while (c->segment < lit->break_count && lit->breaks_s[c->segment] <= t_s)
            c->segment++;
        if (c->segment < lit->break_count) {
            bool still = c->segment == 0 || lit->constant[c->segment - 1];
            return still && lit->breaks_s[c->segment] > until_s;
        }
        c->shot++;
        c->segment = 0;
    }
    return true;
}

static double light_now(const cw_sim *sim, size_t sensor, const channel *c, double t_s)
{
    if (c->shot >= sim->shot_count)
        return 0;
    const sim_shot *shot = &sim->shots[c->shot];
    const sim_lit *lit = &shot->lit[sensor];
    if (t_s <= lit->breaks_s[0] || t_s >= lit->breaks_s[lit->break_count - 1])
        return 0;
    return sim_shot_light(sim, shot, sensor, t_s);
}

/* The first corner of the light after t, or `limit` when that comes first: no step straddles a corner. */
static double corner_before(const cw_sim *sim, size_t sensor, const channel *c, double t_s, double limit_s)
{
    if (c->shot >= sim->shot_count)
        return limit_s;
    const sim_lit *lit = &sim->shots[c->shot].lit[sensor];
    for (size_t i = c->segment; i < lit->break_count && lit->breaks_s[i] < limit_s; i++)
        if (lit->breaks_s[i] > t_s)
            return lit->breaks_s[i];
    return limit_s;
}

/* Light through lamp and lag from one instant to the next; c->lag is the signal, 1 = full light settled. */
static void advance_light(const cw_sim *sim, size_t sensor, channel *c, double from_s, double to_s)
{
    const cw_sim_beam *beam = &sim->scenario.beam;
    double tau_s = sim->scenario.detector.lag_s, span = to_s - from_s;
    bool still = steady(sim, sensor, c, from_s, to_s);
    double light = light_now(sim, sensor, c, to_s);
    if (still && (beam->flicker <= 0 || light == 0)) {
        if (tau_s <= 0 || c->lag == light)
            c->lag = light;
        else
            c->lag = light + (c->lag - light) * exp(-span / tau_s);
        if (fabs(c->lag - light) < 1e-12)
            c->lag = light;
        c->light = light;
        return;
    }
    double before = c->light, longest_s = still ? FLICKER_STEP_S : EDGE_STEP_S;
    for (double t = from_s; t < to_s;) {
        double next = fmin(to_s, corner_before(sim, sensor, c, t, t + longest_s));
        double now = (still ? light : light_now(sim, sensor, c, next)) * lamp(beam, next);
        c->lag = one_pole(c->lag, before, now, next - t, tau_s);
        before = now;
        t = next;
    }
    c->light = before;
}

static bool contact_closed(const cw_sim *sim, channel *c, double t_s)
{
    while (c->shot < sim->shot_count && sim->shots[c->shot].to_s < t_s)
        c->shot++;
    if (c->shot >= sim->shot_count)
        return false;
    const cw_sim_shot_truth *truth = &sim->shots[c->shot].truth;
    size_t changes = 0;
    while (changes < truth->contact_edge_count && truth->contact_s[changes] <= t_s)
        changes++;
    return changes % 2 == 1;
}

static double volts_now(const cw_sim *sim, size_t index, channel *c, double from_s, double to_s)
{
    const cw_sim_scenario *s = &sim->scenario;
    const cw_sim_detector *d = &s->detector;
    double volts;
    if (index < s->beam.sensors) {
        advance_light(sim, index, c, from_s, to_s);
        double signal = d->saturation > 0 && c->lag > d->saturation ? d->saturation : c->lag;
        volts = signal * d->full_v * sim_gain(s, index) + d->dark_v + d->drift_v_per_s * to_s;
    } else {
        volts = contact_closed(sim, c, to_s) ? d->full_v : 0;
    }
    if (d->hum_v > 0) {
        double phase = 2 * M_PI * s->beam.mains_hz * to_s;
        volts += d->hum_v * (sin(phase) + 0.2 * sin(3 * phase + 0.7));
    }
    return d->inverted && index < s->beam.sensors ? -volts : volts;
}

static double quick_gaussian(const float *quantiles, sim_chance *chance)
{
    uint64_t bits = sim_bits(chance);
    return quantiles[bits % SIM_QUANTILES] + quantiles[(bits >> 32) % SIM_QUANTILES];
}

static double pink(sim_render *r, channel *c)
{
    double sum = 0;
    for (int i = 0; i < PINK_POLES; i++) {
        c->pink[i] = r->pink_keep[i] * c->pink[i] + r->pink_new[i] * quick_gaussian(r->quantiles, &c->chance);
        sum += c->pink[i];
    }
    return sum / sqrt(PINK_POLES);
}

static float recorded(const cw_sim *sim, channel *c, double volts)
{
    const cw_sim_detector *d = &sim->scenario.detector;
    const cw_sim_recorder *rec = &sim->scenario.recorder;
    if (d->noise_v > 0)
        volts += d->noise_v * quick_gaussian(sim->render->quantiles, &c->chance);
    if (d->pink_v > 0)
        volts += d->pink_v * pink(sim->render, c);
    double x = volts / rec->full_scale_v;
    if (rec->bits == 0)
        return (float)fmax(-1, fmin(1, x));
    double scale = exp2(rec->bits - 1);
    return (float)(fmax(-scale, fmin(scale - 1, rint(x * scale))) / scale) + 0.0f; /* no negative zero */
}

/* One inner step of all channels, to the instant of the next inner number. */
static void inner_step(cw_sim *sim)
{
    sim_render *r = sim->render;
    const cw_sim_recorder *rec = &sim->scenario.recorder;
    double rate = rec->rate_hz * (1 + 1e-6 * rec->clock_ppm) * (rec->anti_alias ? OVER : 1);
    double from = r->inner_s, to = (double)r->inner / rate;
    double tau_s = sim->scenario.detector.ac_tau_s;
    for (size_t i = 0; i < cw_sim_channels(sim); i++) {
        channel *c = &r->channels[i];
        double before = c->volts;
        c->volts = volts_now(sim, i, c, from, to);
        double out = c->volts;
        if (tau_s > 0) {
            c->coupling = r->inner == 0 ? c->volts : one_pole(c->coupling, before, c->volts, to - from, tau_s);
            out -= c->coupling;
        }
        c->newest = (c->newest + 1) % TAPS;
        c->history[c->newest] = (float)out;
    }
    r->inner_s = to;
    r->inner++;
}

static double filtered(const sim_render *r, const channel *c)
{
    double sum = 0;
    for (size_t i = 0; i < TAPS; i++)
        sum += (double)r->taps[i] * (double)c->history[(c->newest + TAPS - i) % TAPS];
    return sum;
}

/* Linear-phase low-pass: a sinc to 0.46 of the sample rate under a Blackman window. */
static void design_taps(float *taps)
{
    double sum = 0, h[TAPS];
    for (int i = 0; i < TAPS; i++) {
        double n = i - (TAPS - 1) / 2.0, x = 2 * 0.46 * n / OVER, w = 2 * M_PI * i / (TAPS - 1);
        h[i] = (x == 0 ? 1 : sin(M_PI * x) / (M_PI * x)) * (0.42 - 0.5 * cos(w) + 0.08 * cos(2 * w));
        sum += h[i];
    }
    for (int i = 0; i < TAPS; i++)
        taps[i] = (float)(h[i] / sum);
}

void cw_sim_rewind(cw_sim *sim)
{
    sim_render *r = sim->render;
    r->frame = r->inner = 0;
    r->inner_s = 0;
    for (size_t i = 0; i < CHANNELS_MOST; i++)
        r->channels[i] = (channel){.chance = sim_stream(sim->scenario.seed, CHANCE_NOISE + i)};
    /* The slow parts of 1/f noise are under way when the recording begins. */
    for (size_t i = 0; i < CHANNELS_MOST && sim->scenario.detector.pink_v > 0; i++)
        for (int p = 0; p < PINK_POLES; p++)
            r->channels[i].pink[p] = sim_gaussian(&r->channels[i].chance);
    if (!sim->scenario.recorder.anti_alias)
        return;
    /* The filter looks as far ahead as back, so that it does not delay; before the beginning it sees the beginning. */
    inner_step(sim);
    for (size_t i = 0; i < cw_sim_channels(sim); i++)
        for (size_t k = 0; k < TAPS; k++)
            r->channels[i].history[k] = r->channels[i].history[r->channels[i].newest];
    for (size_t k = 0; k < (TAPS - 1) / 2; k++)
        inner_step(sim);
}

cw_status sim_render_new(cw_sim *sim, cw_error *err)
{
    sim->render = calloc(1, sizeof *sim->render);
    if (sim->render == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the detector");
    sim_quantiles(sim->render->quantiles);
    design_taps(sim->render->taps);
    for (int i = 0; i < PINK_POLES; i++) {
        double corner = M_PI / exp2(i); /* radians per sample, half the rate and octaves below */
        sim->render->pink_keep[i] = exp(-corner);
        sim->render->pink_new[i] = sqrt(1 - exp(-2 * corner));
    }
    cw_sim_rewind(sim);
    return CW_OK;
}

void sim_render_free(sim_render *render)
{
    free(render);
}

size_t cw_sim_read(cw_sim *sim, size_t frames, float *out)
{
    sim_render *r = sim->render;
    size_t channels = cw_sim_channels(sim), got = 0;
    bool anti_alias = sim->scenario.recorder.anti_alias;
    for (; got < frames && r->frame < cw_sim_frames(sim); got++, r->frame++) {
        if (!anti_alias)
            inner_step(sim);
        for (size_t i = 0; i < channels; i++) {
            channel *c = &r->channels[i];
            out[got * channels + i] = recorded(sim, c, anti_alias ? filtered(r, c) : (double)c->history[c->newest]);
        }
        for (int k = 0; k < OVER && anti_alias; k++)
            inner_step(sim);
    }
    return got;
}
