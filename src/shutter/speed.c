/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each speed's figures: mean, spread, and the uncertainty budget of JCGM 100 behind its error. */
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdio.h>

#include "base/stats.h"
#include "shutter/inner.h"
#include "shutter/tolerance.h"

/* 95.45 %: what plus or minus 2 standard uncertainties hold of a normal distribution. */
#define COVERAGE 0.9545
/* EV per unit of relative change, 1/ln 2. */
#define EV_PER_RELATIVE 1.4426950408889634
/* Up to this many shots, a spread of its own says too little, and the neighbouring speeds are asked too. */
#define FEW_SHOTS 3

/* The shots of one speed, summed up. */
typedef struct {
    size_t shots;
    double mean_s, sd_s;              /* sd NaN for one shot */
    double sd_ev;                     /* of log2, NaN for one shot */
    double u_random, u_stays, u_form; /* relative, root mean square over the shots */
} speed_shots;

static double summed_sd(double squares, size_t n)
{
    return n > 1 ? sqrt(squares / (double)(n - 1)) : NAN;
}

static speed_shots gather(const cw_shutter_test *test, const cw_shape *shape, double marked_s)
{
    speed_shots sum = {0};
    double mean = 0, squares = 0, mean_ev = 0, squares_ev = 0, random = 0, stays = 0, form = 0;
    for (size_t i = 0; i < test->shot_count; i++) {
        const cw_shot *shot = &test->shots[i];
        if (!cw_shot_counts(shot) || !cw_same_mark(shot->marked_s, marked_s))
            continue;
        cw_middle middle = cw_shot_middle(&test->setup, shape, shot);
        if (!(middle.value_s > 0))
            continue;
        /* running mean and sum of squares (Welford 1962) */
        double n = (double)++sum.shots, step = middle.value_s - mean, step_ev = log2(middle.value_s) - mean_ev;
        mean += step / n;
        squares += step * (middle.value_s - mean);
        mean_ev += step_ev / n;
        squares_ev += step_ev * (log2(middle.value_s) - mean_ev);
        random += middle.u_random_s * middle.u_random_s;
        stays += middle.u_stays_s * middle.u_stays_s;
        form += middle.u_form_s * middle.u_form_s;
    }
    if (sum.shots == 0)
        return sum;
    double n = (double)sum.shots;
    sum.mean_s = mean;
    sum.sd_s = summed_sd(squares, sum.shots);
    sum.sd_ev = summed_sd(squares_ev, sum.shots);
    sum.u_random = sqrt(random / n) / mean;
    sum.u_stays = sqrt(stays / n) / mean;
    sum.u_form = sqrt(form / n) / mean;
    return sum;
}

/* A relative standard deviation of single shots, and how well it is known. */
typedef struct {
    double sd, degrees; /* degrees 0: not known */
    bool pooled;
} repeatability;

/* JCGM 100:2008, 4.2.4: a pooled estimate where the same process was repeated. The speeds next to this one share most
 * of its mechanism; far ones do not (in EV a fast speed scatters more). Own and pooled: the larger, so that a quiet
 * neighbour never makes an unsteady speed look steady; and its own alone where it stands out (F test, 95 %). */
static repeatability repeatability_of(const speed_shots *all, size_t count, size_t k)
{
    double own_degrees = all[k].shots > 1 ? (double)(all[k].shots - 1) : 0, squares = 0, degrees = 0;
    double own = own_degrees > 0 ? all[k].sd_s / all[k].mean_s : 0;
    for (size_t i = k > 0 ? k - 1 : 0; i <= k + 1 && i < count; i++) {
        if (i == k || all[i].shots < 2)
            continue;
        double relative = all[i].sd_s / all[i].mean_s, n = (double)(all[i].shots - 1);
        squares += n * relative * relative;
        degrees += n;
    }
    if (all[k].shots > FEW_SHOTS || degrees == 0)
        return (repeatability){own, own_degrees, false};
    if (own_degrees > 0 && own * own > gsl_cdf_fdist_Pinv(0.95, own_degrees, degrees) * squares / degrees)
        return (repeatability){own, own_degrees, false};
    double pooled = sqrt((squares + own_degrees * own * own) / (degrees + own_degrees));
    return (repeatability){fmax(own, pooled), degrees + own_degrees, true};
}

static void budget_add(cw_shutter_test *test, size_t k, double u_relative, double degrees, const char *source)
{
    cw_budget_line *line = &test->budget[k][test->budget_count[k]++];
    *line = (cw_budget_line){.u_ev = u_relative * EV_PER_RELATIVE, .degrees = degrees};
    snprintf(line->source, sizeof line->source, "%s", source);
}

static void budget_repeatability(cw_shutter_test *test, size_t k, const speed_shots *own, repeatability repeat)
{
    char source[64];
    double root = sqrt((double)own->shots);
    if (own->shots == 1 && repeat.degrees == 0) {
        budget_add(test, k, own->u_random, INFINITY, "noise of the one shot (steadiness not known)");
        return;
    }
    if (repeat.pooled)
        snprintf(source, sizeof source, "repeatability, %zu shots, with the speeds beside", own->shots);
    else
        snprintf(source, sizeof source, "repeatability, %zu shots", own->shots);
    /* A few shots may agree by luck to better than the noise allows; the noise is known better than their spread. */
    if (repeat.sd >= own->u_random)
        budget_add(test, k, repeat.sd / root, repeat.degrees, source);
    else
        budget_add(test, k, own->u_random / root, INFINITY, "noise of the shots");
}

static void budget_fill(cw_shutter_test *test, size_t k, const speed_shots *own, repeatability repeat)
{
    const cw_test_setup *setup = &test->setup;
    budget_repeatability(test, k, own, repeat);
    budget_add(test, k, own->u_stays, INFINITY, "measurement: level, threshold, detector");
    if (own->u_form > 0)
        budget_add(test, k, own->u_form, INFINITY, "carried from the sensors to the middle");
    if (setup->u_clock_relative > 0)
        budget_add(test, k, setup->u_clock_relative, INFINITY, "time base");
    else
        budget_add(test, k, CW_CLOCK_ASSUMED, INFINITY, "time base, not stated: 100 ppm assumed");
}

/* Combines the budget and widens it for few degrees of freedom (JCGM 100:2008, 5.1.2 and G.4). */
static double combined_u_ev(const cw_shutter_test *test, size_t k, double *effective)
{
    double u[CW_BUDGET_MOST], degrees[CW_BUDGET_MOST], squares = 0;
    size_t n = test->budget_count[k];
    for (size_t i = 0; i < n; i++) {
        u[i] = test->budget[k][i].u_ev;
        degrees[i] = test->budget[k][i].degrees;
        squares += u[i] * u[i];
    }
    *effective = cw_effective_degrees(n, u, degrees);
    return sqrt(squares) * fmax(cw_student_t(COVERAGE, *effective) / 2, 1);
}

static void speed_fill(cw_shutter_test *test, const speed_shots *all, size_t k)
{
    cw_speed *speed = &test->speeds[k];
    const speed_shots *own = &all[k];
    speed->shots = own->shots;
    if (own->shots == 0)
        return;
    budget_fill(test, k, own, repeatability_of(all, test->speed_count, k));
    double u_ev = combined_u_ev(test, k, &speed->degrees);
    speed->exposure_s = (cw_quantity){own->mean_s, own->mean_s * u_ev / EV_PER_RELATIVE};
    speed->spread_ev = own->sd_ev;
    speed->error_ev = (cw_quantity){cw_log2_ratio(own->mean_s, speed->reference_s), u_ev};
    speed->verdict = cw_verdict(speed->error_ev, speed->limit_ev);
}

void cw_speeds_evaluate(cw_shutter_test *test, const cw_shape *shape)
{
    speed_shots all[CW_SPEEDS_MOST];
    for (size_t k = 0; k < test->speed_count; k++)
        all[k] = gather(test, shape, test->speeds[k].marked_s);
    for (size_t k = 0; k < test->speed_count; k++)
        speed_fill(test, all, k);
}
