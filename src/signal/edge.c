/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/edge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/edge_curve.h"

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

static double ramp_of(double width, double shape)
{
    return width * (1 - shape) / RAMP_10_90;
}

static double blur_of(bool lagging, double width, double shape)
{
    return width * shape / (lagging ? POLE_10_90 : BELL_10_90);
}

static cw_edge_form form_of(bool lagging, double width, double shape)
{
    double ramp = ramp_of(width, shape), blur = blur_of(lagging, width, shape);
    return (cw_edge_form){ramp, blur, 1 / ramp, 1 / blur};
}

/* Where the unit edge passes `level`, from its place: Newton from the middle, which is a good guess for both. */
static double crossing(bool lagging, double width, double shape, double level)
{
    const cw_edge_form form = form_of(lagging, width, shape);
    double x = (level - 0.5) * width + (lagging ? form.blur * 0.7 : 0);
    for (int i = 0; i < 30; i++) {
        cw_edge_point at = lagging ? cw_edge_lagging(x, &form) : cw_edge_symmetric(x, &form);
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

/* What the parameters make of the bins: residuals (data minus curve), the unit edge, and the curve's slopes by place,
 * ln(width) and shape. */
typedef struct {
    double residual[BINS_MOST], e[BINS_MOST], slope[3][BINS_MOST];
} curve;

static inline void put_point(curve *k, size_t i, double value, const double *p, const cw_edge_point *at,
                             const cw_edge_form *by_width, const cw_edge_form *by_shape)
{
    double height = p[AFTER] - p[BEFORE];
    k->residual[i] = value - (p[BEFORE] + height * at->e);
    k->e[i] = at->e;
    k->slope[PLACE][i] = -height * at->by_x;
    k->slope[WIDTH][i] = height * (by_width->ramp * at->by_ramp + by_width->blur * at->by_blur);
    k->slope[SHAPE][i] = height * (by_shape->ramp * at->by_ramp + by_shape->blur * at->by_blur);
}

static void draw(const bins *b, size_t first, size_t end, bool lagging, const double *p, curve *k)
{
    double width = exp(p[WIDTH]);
    const cw_edge_form form = form_of(lagging, width, p[SHAPE]);
    /* how ramp and blur go with ln(width), and with the shape */
    const cw_edge_form by_width = form, by_shape = {.ramp = -ramp_of(width, 0), .blur = blur_of(lagging, width, 1)};
    if (lagging) {
#pragma omp simd
        for (size_t i = first; i < end; i++) {
            cw_edge_point at = cw_edge_lagging(b->at[i] - p[PLACE], &form);
            put_point(k, i, b->value[i], p, &at, &by_width, &by_shape);
        }
    } else {
#pragma omp simd
        for (size_t i = first; i < end; i++) {
            cw_edge_point at = cw_edge_symmetric(b->at[i] - p[PLACE], &form);
            put_point(k, i, b->value[i], p, &at, &by_width, &by_shape);
        }
    }
}

/* Bins on a level say nothing about place, width and shape. */
static void add_level(const bins *b, size_t first, size_t end, int level, const double *p, double *chi,
                      double normal[UNKNOWNS][UNKNOWNS], double *right)
{
    double weights = 0, moments = 0, squares = 0;
#pragma omp simd reduction(+ : weights, moments, squares)
    for (size_t i = first; i < end; i++) {
        double residual = b->value[i] - p[level], weighted = b->weight[i] * residual;
        weights += b->weight[i];
        moments += weighted;
        squares += weighted * residual;
    }
    *chi += squares;
    right[level] += moments;
    normal[level][level] += weights;
}

/* The slopes by the two levels are 1 - e and e: sums with 1 and e stand for both. */
static void add_slopes(const bins *b, size_t first, size_t end, const curve *k, double *chi,
                       double normal[UNKNOWNS][UNKNOWNS], double *right)
{
    double pp = 0, pw = 0, ps = 0, ww = 0, ws = 0, ss = 0, p1 = 0, w1 = 0, s1 = 0;
    const double *by_place = k->slope[PLACE], *by_width = k->slope[WIDTH], *by_shape = k->slope[SHAPE];
#pragma omp simd reduction(+ : pp, pw, ps, ww, ws, ss, p1, w1, s1)
    for (size_t i = first; i < end; i++) {
        double p = b->weight[i] * by_place[i], w = b->weight[i] * by_width[i], s = b->weight[i] * by_shape[i];
        pp += p * by_place[i];
        pw += p * by_width[i];
        ps += p * by_shape[i];
        ww += w * by_width[i];
        ws += w * by_shape[i];
        ss += s * by_shape[i];
        p1 += p;
        w1 += w;
        s1 += s;
    }
    double pe = 0, we = 0, se = 0, ee = 0, e1 = 0, one = 0, pr = 0, wr = 0, sr = 0, er = 0, r1 = 0, rr = 0;
#pragma omp simd reduction(+ : pe, we, se, ee, e1, one, pr, wr, sr, er, r1, rr)
    for (size_t i = first; i < end; i++) {
        double e = b->weight[i] * k->e[i], r = b->weight[i] * k->residual[i];
        pe += e * by_place[i];
        we += e * by_width[i];
        se += e * by_shape[i];
        ee += e * k->e[i];
        e1 += e;
        one += b->weight[i];
        pr += r * by_place[i];
        wr += r * by_width[i];
        sr += r * by_shape[i];
        er += r * k->e[i];
        r1 += r;
        rr += r * k->residual[i];
    }
    *chi += rr;
    const double rows[UNKNOWNS][UNKNOWNS + 1] = {
        {pp, 0, 0, 0, 0, pr},          {pw, ww, 0, 0, 0, wr},
        {ps, ws, ss, 0, 0, sr},        {p1 - pe, w1 - we, s1 - se, one - 2 * e1 + ee, 0, r1 - er},
        {pe, we, se, e1 - ee, ee, er},
    };
    for (int r = 0; r < UNKNOWNS; r++) {
        right[r] += rows[r][UNKNOWNS];
        for (int c = 0; c <= r; c++)
            normal[r][c] += rows[r][c];
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

/* Chi-squared of the parameters and the normal equations, their lower triangle. */
static double add_up(const cw_edge_data *d, const bins *b, bool lagging, const double *p,
                     double normal[UNKNOWNS][UNKNOWNS], double *right)
{
    double width = exp(p[WIDTH]), half = ramp_of(width, p[SHAPE]) / 2, blur = blur_of(lagging, width, p[SHAPE]);
    double from = p[PLACE] - half - (lagging ? 0 : CW_BELL_ENDS * blur);
    double to = p[PLACE] + half + (lagging ? CW_POLE_ENDS : CW_BELL_ENDS) * blur;
    size_t first = 0, end = b->count;
    while (first < end && b->at[first] <= from)
        first++;
    while (end > first && b->at[end - 1] >= to)
        end--;
    curve k;
    double chi = 0, one = 1 / (d->noise * d->noise);
    memset(normal, 0, sizeof(double[UNKNOWNS][UNKNOWNS]));
    memset(right, 0, sizeof(double[UNKNOWNS]));
    draw(b, first, end, lagging, p, &k);
    add_level(b, 0, first, BEFORE, p, &chi, normal, right);
    add_slopes(b, first, end, &k, &chi, normal, right);
    add_level(b, end, b->count, AFTER, p, &chi, normal, right);
    chi *= one;
    for (int r = 0; r < UNKNOWNS; r++) {
        right[r] *= one;
        for (int c = 0; c <= r; c++)
            normal[r][c] *= one;
    }
    add_known_levels(d, p, &chi, normal, right);
    return chi;
}

/* Cholesky of the lower triangle in place, its diagonal as reciprocals; false when it is not positive. */
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
                a[r][r] = 1 / sqrt(sum);
            } else {
                a[r][c] = sum * a[c][c];
            }
        }
    return true;
}

static void solve(double a[UNKNOWNS][UNKNOWNS], double *x)
{
    for (int r = 0; r < UNKNOWNS; r++) {
        for (int k = 0; k < r; k++)
            x[r] -= a[r][k] * x[k];
        x[r] *= a[r][r];
    }
    for (int r = UNKNOWNS - 1; r >= 0; r--) {
        for (int k = r + 1; k < UNKNOWNS; k++)
            x[r] -= a[k][r] * x[k];
        x[r] *= a[r][r];
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
    double middle = middle_of(s->lagging, s->p);
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
        double now = middle_of(s->lagging, p), moved = now - middle;
        middle = now;
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
