/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What else both curtains may have done, for the width of the band.
 *
 * A grid of runs for each curtain: run-up, fading of the pull, with and without a drag; each weighed by how well it
 * meets the instants and, with its partner, the exposures, and by how usual it is. Of all pairs some are drawn, each as
 * often as it is likely (systematic resampling), so that their spread is that of what is not known. */
#include <math.h>

#include "shutter/curtain_fit.h"

enum { RESTS = 10, FADES = 3, RUNS = RESTS * FADES * 2 };

/* Run-up over the frame: 0.5 to 18 mm of 36, and nearly even speed. Common practice, no source, as is all here that
 * says what is usual. */
static const double rests[RESTS] = {0.014, 0.025, 0.04, 0.06, 0.09, 0.13, 0.2, 0.3, 0.5, 10};
static const double usual_rest[RESTS] = {0.5, 1, 1, 1, 1, 1, 1, 1, 0.5, 0.2};
static const double fades[FADES] = {0, 0.35, 0.7}, usual_fade[FADES] = {0.4, 0.35, 0.25};
static const double unlike_fade[FADES] = {1, 0.3, 0.1}; /* by how many steps both curtains differ */
static const double unlike_rest = 0.5;                  /* sd of the logarithm of one run-up over the other */
/* One curtain in five drags, by so much of its travel on average. */
static const double drags = 0.2, drag_share = 0.04;
/* Beyond what is written here no run is truer than to this share of its travel. */
static const double truth_share = 1e-3;

typedef struct {
    cw_track track;
    double log_weight, delay_s[CW_SENSORS_MOST];
    size_t rest, fade;
} candidate;

/* What a misfit makes less likely: with few degrees behind the weights a large one is less surprising. */
static double log_chance(double chi_squared, double degrees)
{
    return degrees > 0 ? -(degrees + 1) / 2 * log1p(chi_squared / degrees) : -chi_squared / 2;
}

/* Weight of the fit that a drag of unknown size allows: the share of what it may be that the data leave it. */
static double log_drag_weight(const cw_run_fit *fit)
{
    double scale = drag_share * cw_track_travel(&fit->track), least = 1e-3 * scale;
    return log(drags * sqrt(2 * 3.141592653589793) * fmax(fit->u_drag_s, least) / scale) - fit->track.drag_s / scale;
}

static size_t list_runs(const cw_runs *runs, size_t block, candidate list[static RUNS])
{
    size_t n = 0;
    for (size_t r = 0; r < RESTS; r++)
        for (size_t f = 0; f < FADES; f++)
            for (size_t columns = 1; columns <= 2; columns++) {
                cw_run_fit fit = cw_run_fit_held(runs, block, rests[r], fades[f], columns);
                if (!fit.solved || (columns == 2 && !(fit.track.drag_s > 0)))
                    continue;
                candidate *c = &list[n++];
                *c = (candidate){.track = fit.track, .rest = r, .fade = f};
                c->log_weight = log_chance(fit.chi_squared, runs->scatter_degrees) +
                                log(usual_rest[r] * usual_fade[f]) +
                                (columns == 2 ? log_drag_weight(&fit) : log(1 - drags));
                for (size_t i = 0; i < runs->sensors; i++)
                    c->delay_s[i] = cw_track_delay(&c->track, runs->u[i]);
            }
    return n;
}

/* The exposures, with room for what no form here is true to, and for places where the curtains differ in speed. */
static cw_delay_sums loosened(const cw_runs *runs, const cw_shape *shape)
{
    cw_delay_sums sums = runs->sums[CW_RUN_EXPOSURE];
    double loose_s[CW_SENSORS_MOST] = {0};
    for (size_t i = 0; i < runs->sensors; i++)
        loose_s[i] = truth_share * cw_track_travel(&shape->first) + runs->u_place * fabs(shape->mismatch_s.value);
    cw_delay_allow_places(&sums, loose_s);
    return sums;
}

/* Both curtains were read at the same wrong places, so that their own misfits are one misfit seen twice. */
static double log_pair(const cw_runs *runs, const cw_delay_sums *exposures, const candidate *a, const candidate *b)
{
    double m[CW_SENSORS_MOST] = {0}, apart = log(rests[a->rest] / rests[b->rest]) / unlike_rest;
    for (size_t i = 0; i < runs->sensors; i++)
        m[i] = b->delay_s[i] - a->delay_s[i];
    size_t steps = a->fade > b->fade ? a->fade - b->fade : b->fade - a->fade;
    return (a->log_weight + b->log_weight) / 2 + log(unlike_fade[steps]) - apart * apart / 2 +
           log_chance(cw_delay_miss(exposures, m), runs->scatter_degrees);
}

void cw_others_fill(const cw_runs *runs, cw_shape *shape)
{
    candidate first[RUNS], second[RUNS];
    double weight[RUNS][RUNS], most = -INFINITY, sum = 0, passed = 0;
    size_t n1 = list_runs(runs, CW_RUN_FIRST, first), n2 = list_runs(runs, CW_RUN_SECOND, second);
    cw_delay_sums exposures = loosened(runs, shape);
    for (size_t i = 0; i < n1; i++)
        for (size_t k = 0; k < n2; k++) {
            weight[i][k] = log_pair(runs, &exposures, &first[i], &second[k]);
            most = fmax(most, weight[i][k]);
        }
    for (size_t i = 0; i < n1; i++)
        for (size_t k = 0; k < n2; k++) {
            weight[i][k] = exp(weight[i][k] - most);
            sum += weight[i][k];
        }
    size_t drawn = 0;
    shape->other_count = 0;
    for (size_t i = 0; i < n1; i++)
        for (size_t k = 0; k < n2; k++) {
            cw_other_run *other = &shape->others[shape->other_count];
            size_t before = drawn;
            passed += weight[i][k];
            while (drawn < CW_OTHERS_MOST && ((double)drawn + 0.5) * sum < passed * CW_OTHERS_MOST)
                drawn++;
            if (drawn == before)
                continue;
            *other = (cw_other_run){.first = first[i].track,
                                    .second = second[k].track,
                                    .weight = (double)(drawn - before) / CW_OTHERS_MOST};
            cw_run_fit_extra(runs, 2, &other->first, &other->second, other->extra_s);
            shape->other_count++;
        }
}
