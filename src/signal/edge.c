/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/edge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Bins in the fit: a transition cut into 16 loses about 1 % of what its samples know. */
enum { BINS_MOST = 128, BINS_AN_EDGE = 16, UNKNOWNS = 5, TRIES_MOST = 25 };
enum { PLACE, WIDTH, SHAPE, BEFORE, AFTER };

/* 10 to 90 % of a bell-curve edge of sd 1, of one pole of time constant 1, of a straight ramp of length 1 */
static const double BELL_10_90 = 2.5631031310892007, POLE_10_90 = 2.1972245773362196, RAMP_10_90 = 0.8;
/* Longer steps of ln(width) and of the shape leave the region where the edge is known to bend as it does here. */
static const double WIDTH_STEP = 0.5, SHAPE_STEP = 0.3;
/* A step of the instant below 3 % of its uncertainty, squared. */
static const double INSTANT_STANDS = 1e-3;
/* Neither part of an edge vanishes altogether: formulas divide by both. */
static const double SHAPE_LEAST = 0.01, SHAPE_MOST = 0.99;

typedef struct {
    size_t count;
    double at[BINS_MOST], value[BINS_MOST], weight[BINS_MOST];
} bins;

typedef struct {
    bool lagging;
    double p[UNKNOWNS]; /* place in s, ln(width / s), shape 0 (ramp) to 1 (bell or pole), the two levels */
    double chi_squared;
    double covariance[UNKNOWNS][UNKNOWNS];
} fit_state;

/* A unit edge at one instant: its value, and how that changes with the instant, the ramp and the blur. */
typedef struct {
    double e, by_x, by_ramp, by_blur;
} edge_point;

/* Behind this the sum of the bell curve is 0 or 1 to 1e-7. */
static const double BELL_ENDS = 5.2;

/* The bell curve at z and its sum up to there, which stays within 1e-7 of erfc for |z| < 8 (tried once in steps of
 * 1e-4; Abramowitz and Stegun, Handbook of Mathematical Functions, 7.1.26, coefficients from memory). One exponential
 * serves both. The tests draw their edges with erfc itself. */
static inline double bell_sum(double z, double *bell)
{
    static const double a[] = {0.254829592, -0.284496736, 1.421413741, -1.453152027, 1.061405429};
    double e = exp(-0.5 * z * z), t = 1 / (1 + 0.3275911 * 0.7071067811865476 * fabs(z));
    double tail = 0.5 * e * t * (a[0] + t * (a[1] + t * (a[2] + t * (a[3] + t * a[4]))));
    *bell = 0.3989422804014327 * e;
    return z > 0 ? 1 - tail : tail;
}

/* A ramp of length `ramp` blurred by a bell curve of sd `blur`: with G(z) = z Phi(z) + phi(z),
 * e = (G(a) - G(b)) blur / ramp at a, b = (x +- ramp/2) / blur. x = 0 is its middle. */
static edge_point symmetric_edge(double x, double ramp, double blur)
{
    double a = (x + ramp / 2) / blur, b = (x - ramp / 2) / blur;
    if (a < -BELL_ENDS || b > BELL_ENDS)
        return (edge_point){.e = b > 0 ? 1 : 0};
    double phi_a, phi_b, sum_a = bell_sum(a, &phi_a), sum_b = bell_sum(b, &phi_b);
    double e = (a * sum_a + phi_a - b * sum_b - phi_b) * blur / ramp;
    return (edge_point){
        .e = e,
        .by_x = (sum_a - sum_b) / ramp,
        .by_ramp = ((sum_a + sum_b) / 2 - e) / ramp,
        .by_blur = (phi_a - phi_b) / ramp,
    };
}

/* A ramp through one pole of time constant `tau`. x = 0 is the middle of the ramp before the pole. */
static edge_point lagging_edge(double x, double ramp, double tau)
{
    double u = x + ramp / 2;
    if (u <= 0)
        return (edge_point){.e = 0};
    if (u - ramp > 40 * tau)
        return (edge_point){.e = 1};
    double left = exp(-u / tau); /* what the start of the ramp has not yet caught up with */
    if (u <= ramp) {
        double e = (u - tau * (1 - left)) / ramp, by_x = (1 - left) / ramp;
        return (edge_point){e, by_x, by_x / 2 - e / ramp, (left * (1 + u / tau) - 1) / ramp};
    }
    double end = exp(-(u - ramp) / tau), by_x = (end - left) / ramp, e = 1 - tau * by_x;
    return (edge_point){e, by_x, by_x / 2 + (1 - e - end) / ramp,
                        (left * (1 + u / tau) - end * (1 + (u - ramp) / tau)) / ramp};
}

static double ramp_of(double width, double shape)
{
    return width * (1 - shape) / RAMP_10_90;
}

static double blur_of(bool lagging, double width, double shape)
{
    return width * shape / (lagging ? POLE_10_90 : BELL_10_90);
}

static edge_point unit_edge(bool lagging, double x, double width, double shape)
{
    double ramp = ramp_of(width, shape), blur = blur_of(lagging, width, shape);
    return lagging ? lagging_edge(x, ramp, blur) : symmetric_edge(x, ramp, blur);
}

/* Where the unit edge passes `level`, from its place: Newton from the middle, which is a good guess for both. */
static double crossing(bool lagging, double width, double shape, double level)
{
    double x = (level - 0.5) * width + (lagging ? blur_of(true, width, shape) * 0.7 : 0);
    for (int i = 0; i < 30; i++) {
        edge_point at = unit_edge(lagging, x, width, shape);
        double step = (at.e - level) / fmax(at.by_x, 0.05 / width);
        x -= fmin(fmax(step, -0.5 * width), 0.5 * width);
        if (fabs(step) < 1e-9 * width)
            break;
    }
    return x;
}

/* Neighbouring samples are averaged until about BINS_AN_EDGE cover the transition, and more of them on the levels
 * beside it, where nothing changes. */
static void gather(const cw_edge_data *d, bins *b)
{
    const double near = 2.5 * d->about_s;
    size_t fine = (size_t)(d->about_s / d->interval_s / BINS_AN_EDGE) + 1, coarse = 8 * fine;
    while (d->count / coarse + (size_t)(2 * near / d->interval_s) / fine + 4 > BINS_MOST) {
        coarse *= 2;
        fine += coarse > d->count;
    }
    b->count = 0;
    double sum = 0, time = 0, weight = 0;
    size_t held = 0;
    for (size_t i = 0; i < d->count && b->count < BINS_MOST; i++) {
        double at = d->at_s[i] - d->near_s;
        sum += d->value[i] * d->frames[i];
        time += at * d->frames[i];
        weight += d->frames[i];
        held++;
        bool full = held >= (fabs(at) < near ? fine : coarse), last = i + 1 == d->count;
        bool enters = !last && fabs(at) >= near && fabs(d->at_s[i + 1] - d->near_s) < near;
        if (full || last || enters || d->frames[i] > 1) {
            b->at[b->count] = time / weight;
            b->value[b->count] = sum / weight;
            b->weight[b->count] = weight;
            b->count++;
            sum = time = weight = 0;
            held = 0;
        }
    }
}

static void add_known_levels(const cw_edge_data *d, const double *p, double *chi, double normal[UNKNOWNS][UNKNOWNS],
                             double *right)
{
    const cw_quantity levels[2] = {d->before, d->after};
    for (int k = 0; k < 2; k++) {
        if (!isfinite(levels[k].u) || !(levels[k].u > 0))
            continue;
        double weight = 1 / (levels[k].u * levels[k].u), residual = levels[k].value - p[BEFORE + k];
        *chi += weight * residual * residual;
        right[BEFORE + k] += weight * residual;
        normal[BEFORE + k][BEFORE + k] += weight;
    }
}

/* Chi-squared of the parameters and the normal equations (residual: data minus curve). */
static double add_up(const cw_edge_data *d, const bins *b, bool lagging, const double *p,
                     double normal[UNKNOWNS][UNKNOWNS], double *right)
{
    double width = exp(p[WIDTH]), height = p[AFTER] - p[BEFORE], chi = 0, one = 1 / (d->noise * d->noise);
    double ramp = ramp_of(width, p[SHAPE]), blur = blur_of(lagging, width, p[SHAPE]);
    double ramp_by_shape = ramp_of(width, 0), blur_by_shape = blur_of(lagging, width, 1);
    memset(normal, 0, sizeof(double[UNKNOWNS][UNKNOWNS]));
    memset(right, 0, sizeof(double[UNKNOWNS]));
    for (size_t i = 0; i < b->count; i++) {
        double x = b->at[i] - p[PLACE], weight = b->weight[i] * one;
        edge_point at = lagging ? lagging_edge(x, ramp, blur) : symmetric_edge(x, ramp, blur);
        double residual = b->value[i] - (p[BEFORE] + height * at.e);
        chi += weight * residual * residual;
        if (at.by_x == 0) { /* on a level: nothing to say about place, width and shape */
            int level = at.e > 0.5 ? AFTER : BEFORE;
            right[level] += weight * residual;
            normal[level][level] += weight;
            continue;
        }
        const double slope[UNKNOWNS] = {
            [PLACE] = -height * at.by_x,
            [WIDTH] = height * (ramp * at.by_ramp + blur * at.by_blur),
            [SHAPE] = height * (blur_by_shape * at.by_blur - ramp_by_shape * at.by_ramp),
            [BEFORE] = 1 - at.e,
            [AFTER] = at.e,
        };
        for (int r = 0; r < UNKNOWNS; r++) {
            right[r] += weight * slope[r] * residual;
            for (int c = 0; c <= r; c++)
                normal[r][c] += weight * slope[r] * slope[c];
        }
    }
    add_known_levels(d, p, &chi, normal, right);
    return chi;
}

/* Cholesky of the lower triangle in place; false when it is not positive. */
static bool decompose(double a[UNKNOWNS][UNKNOWNS])
{
    for (int r = 0; r < UNKNOWNS; r++)
        for (int c = 0; c <= r; c++) {
            double sum = a[r][c];
            for (int k = 0; k < c; k++)
                sum -= a[r][k] * a[c][k];
            if (r == c) {
                if (!(sum > 0))
                    return false;
                a[r][r] = sqrt(sum);
            } else {
                a[r][c] = sum / a[c][c];
            }
        }
    return true;
}

static void solve(double a[UNKNOWNS][UNKNOWNS], double *x)
{
    for (int r = 0; r < UNKNOWNS; r++) {
        for (int k = 0; k < r; k++)
            x[r] -= a[r][k] * x[k];
        x[r] /= a[r][r];
    }
    for (int r = UNKNOWNS - 1; r >= 0; r--) {
        for (int k = r + 1; k < UNKNOWNS; k++)
            x[r] -= a[k][r] * x[k];
        x[r] /= a[r][r];
    }
}

static void covariance_of(double normal[UNKNOWNS][UNKNOWNS], fit_state *s)
{
    double a[UNKNOWNS][UNKNOWNS];
    memcpy(a, normal, sizeof a);
    /* A shape the samples cannot tell (an edge of two samples) is held, as known to within its whole range 0 to 1. */
    a[SHAPE][SHAPE] += 12;
    a[WIDTH][WIDTH] += 1;
    for (int c = 0; c < UNKNOWNS; c++)
        for (int r = 0; r < UNKNOWNS; r++)
            s->covariance[r][c] = NAN;
    if (!decompose(a))
        return;
    for (int c = 0; c < UNKNOWNS; c++) {
        double x[UNKNOWNS] = {0};
        x[c] = 1;
        solve(a, x);
        for (int r = 0; r < UNKNOWNS; r++)
            s->covariance[r][c] = x[r];
    }
}

/* `shape_step`: NaN, or the change of the shape that the others are to go with. */
static bool next_step(double normal[UNKNOWNS][UNKNOWNS], const double *right, double damping, double shape_step,
                      double *step)
{
    double a[UNKNOWNS][UNKNOWNS];
    memcpy(a, normal, sizeof a);
    memcpy(step, right, sizeof(double[UNKNOWNS]));
    for (int i = 0; i < UNKNOWNS; i++)
        a[i][i] *= 1 + damping;
    a[SHAPE][SHAPE] += 1e-3; /* an edge of two samples tells neither: they then stay where they are */
    a[WIDTH][WIDTH] += 1e-3;
    if (!isnan(shape_step)) {
        for (int i = 0; i < UNKNOWNS; i++) {
            step[i] -= (i < SHAPE ? a[SHAPE][i] : a[i][SHAPE]) * shape_step;
            a[SHAPE][i] = a[i][SHAPE] = i == SHAPE;
        }
        step[SHAPE] = shape_step;
    }
    if (!decompose(a))
        return false;
    solve(a, step);
    return true;
}

/* From the wrong shape the first steps go astray: the better of two is taken to start with. */
static void start_shape(const cw_edge_data *d, const bins *b, fit_state *s, double normal[UNKNOWNS][UNKNOWNS],
                        double *right)
{
    static const double shapes[] = {0.1, 0.6};
    s->chi_squared = INFINITY;
    for (size_t i = 0; i < CW_COUNT(shapes); i++) {
        double p[UNKNOWNS], next[UNKNOWNS][UNKNOWNS], next_right[UNKNOWNS];
        memcpy(p, s->p, sizeof p);
        p[SHAPE] = shapes[i];
        if (s->lagging) /* its middle, not that of the ramp, is where the edge was seen */
            p[PLACE] = -crossing(true, exp(p[WIDTH]), p[SHAPE], 0.5);
        double chi = add_up(d, b, s->lagging, p, next, next_right);
        if (!(chi < s->chi_squared))
            continue;
        s->chi_squared = chi;
        memcpy(s->p, p, sizeof p);
        memcpy(normal, next, sizeof next);
        memcpy(right, next_right, sizeof next_right);
    }
}

static double middle_of(bool lagging, const double *p)
{
    return p[PLACE] + (lagging ? crossing(true, exp(p[WIDTH]), p[SHAPE], 0.5) : 0);
}

/* Levenberg-Marquardt with the shape kept within 0 to 1. */
static void improve(const cw_edge_data *d, const bins *b, fit_state *s)
{
    double normal[UNKNOWNS][UNKNOWNS], right[UNKNOWNS], damping = 1e-3;
    double narrowest = log(0.3 * d->interval_s), widest = log(fabs(b->at[b->count - 1] - b->at[0]) + d->interval_s);
    start_shape(d, b, s, normal, right);
    for (int tries = 0; tries < TRIES_MOST && damping < 1e4; tries++) {
        double step[UNKNOWNS], p[UNKNOWNS], next[UNKNOWNS][UNKNOWNS], next_right[UNKNOWNS];
        bool solved = next_step(normal, right, damping, NAN, step);
        /* where the shape may not go so far the others go without the rest of it */
        double shape = fmin(fmax(s->p[SHAPE] + step[SHAPE], fmax(s->p[SHAPE] - SHAPE_STEP, SHAPE_LEAST)),
                            fmin(s->p[SHAPE] + SHAPE_STEP, SHAPE_MOST));
        if (solved && shape != s->p[SHAPE] + step[SHAPE])
            solved = next_step(normal, right, damping, shape - s->p[SHAPE], step);
        if (!solved) {
            damping = damping * 10 + 1e-6;
            continue;
        }
        for (int i = 0; i < UNKNOWNS; i++)
            p[i] = s->p[i] + step[i];
        p[WIDTH] =
            fmin(fmax(p[WIDTH], fmax(s->p[WIDTH] - WIDTH_STEP, narrowest)), fmin(s->p[WIDTH] + WIDTH_STEP, widest));
        double chi = add_up(d, b, s->lagging, p, next, next_right), gained = s->chi_squared - chi;
        double enough = 0.02 + 1e-4 * chi; /* of a quadratic approach: the next step gains far less */
        if (!(gained >= 0)) {
            if (gained > -enough)
                break;
            damping *= 8;
            continue;
        }
        /* the instant stands, and only what it does not hang on still creeps */
        double moved = middle_of(s->lagging, p) - middle_of(s->lagging, s->p);
        bool stands = gained < 0.5 && moved * moved * next[PLACE][PLACE] < INSTANT_STANDS;
        memcpy(s->p, p, sizeof p);
        memcpy(normal, next, sizeof normal);
        memcpy(right, next_right, sizeof right);
        damping = fmax(damping / 10, 1e-9);
        s->chi_squared = chi;
        if (gained < enough || stands)
            break;
    }
    covariance_of(normal, s);
}

/* Uncertainty of the 50 % instant: of the place, and of how far the crossing lies from it. */
static double mid_variance(const fit_state *s)
{
    double width = exp(s->p[WIDTH]), shape = s->p[SHAPE], by_width = 0, by_shape = 0;
    if (s->lagging) {
        double ds = shape > 0.5 ? -0.005 : 0.005;
        by_width = crossing(true, width, shape, 0.5); /* the offset scales with the width: d/d ln(width) */
        by_shape = (crossing(true, width, shape + ds, 0.5) - by_width) / ds;
    }
    const double g[UNKNOWNS] = {1, by_width, by_shape, 0, 0};
    double sum = 0;
    for (int r = 0; r < UNKNOWNS; r++)
        for (int c = 0; c < UNKNOWNS; c++)
            sum += g[r] * g[c] * s->covariance[r][c];
    return sum;
}

static void report(const cw_edge_data *d, const bins *b, const fit_state *s, cw_edge_fit *fit)
{
    double width = exp(s->p[WIDTH]), place = d->near_s + s->p[PLACE], degrees = fmax((double)b->count - UNKNOWNS, 1);
    double misfit = s->chi_squared / degrees, wider = fmax(misfit, 1) * d->colour * d->colour;
    /* Between two samples nobody knows the shape: an edge shorter than an interval is anywhere in it. */
    double unseen = d->interval_s / sqrt(12) * exp(-width / d->interval_s);
    double variance = mid_variance(s) * wider + unseen * unseen;
    *fit = (cw_edge_fit){
        .mid_s = {place + crossing(s->lagging, width, s->p[SHAPE], 0.5), sqrt(variance)},
        .t10_s = place + crossing(s->lagging, width, s->p[SHAPE], 0.1),
        .t90_s = place + crossing(s->lagging, width, s->p[SHAPE], 0.9),
        .before = {s->p[BEFORE], sqrt(s->covariance[BEFORE][BEFORE] * wider)},
        .after = {s->p[AFTER], sqrt(s->covariance[AFTER][AFTER] * wider)},
        .lagging = s->lagging,
        .misfit = misfit,
    };
    fit->duration_s = fit->t90_s - fit->t10_s;
}

cw_status cw_edge_find(const cw_edge_data *data, cw_edge_fit *fit, cw_error *err)
{
    if (data->count < 4 || !(data->noise > 0) || !(data->about_s > 0))
        return cw_fail(err, CW_RANGE, "%zu samples; an edge needs at least 4, some noise and a duration", data->count);
    bins b;
    gather(data, &b);
    if (b.count < 4)
        return cw_fail(err, CW_RANGE, "only %zu places along the edge; at least 4 are needed", b.count);
    fit_state best = {.chi_squared = INFINITY};
    for (int family = 0; family < 2; family++) {
        fit_state s = {
            .lagging = family == 1,
            .p = {0, log(fmax(data->about_s, 0.5 * data->interval_s)), 0.5, data->before.value, data->after.value}};
        improve(data, &b, &s);
        /* the simpler family unless the other is clearly better */
        if (s.chi_squared < best.chi_squared - (family == 1 ? 4 : 0) && isfinite(mid_variance(&s)))
            best = s;
        if (best.chi_squared < 1.2 * (double)b.count)
            break;
    }
    if (!isfinite(best.chi_squared) || best.p[BEFORE] == best.p[AFTER])
        return cw_fail(err, CW_RANGE, "no edge near %.6f s", data->near_s);
    report(data, &b, &best, fit);
    if (!isfinite(fit->mid_s.value) || !isfinite(fit->mid_s.u))
        return cw_fail(err, CW_RANGE, "no edge near %.6f s", data->near_s);
    return CW_OK;
}
