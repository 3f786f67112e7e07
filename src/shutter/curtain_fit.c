/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/curtain_fit.h"

#include <math.h>

typedef enum { COLUMN_EVEN, COLUMN_BOW, COLUMN_ROOT, COLUMN_DRAG } column;

static void fill_column(const cw_runs *runs, column kind, double rest, double fade, double s[static CW_SENSORS_MOST])
{
    cw_track one = {
        .even_s = kind == COLUMN_EVEN,
        .bow_s = kind == COLUMN_BOW,
        .root_s = kind == COLUMN_ROOT,
        .drag_s = kind == COLUMN_DRAG,
        .rest = rest,
        .fade = fade,
    };
    for (size_t i = 0; i < runs->sensors; i++)
        s[i] = cw_track_delay(&one, runs->u[i]);
}

void cw_run_columns_even(const cw_runs *runs, double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST])
{
    fill_column(runs, COLUMN_EVEN, 0, 0, s[0]);
    fill_column(runs, COLUMN_BOW, 0, 0, s[1]);
}

cw_run_fit cw_run_fit_even(const cw_runs *runs, size_t block, size_t columns)
{
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST];
    cw_run_columns_even(runs, s);
    cw_delay_result fit = cw_delay_fit(&runs->blocks[block], &runs->sums[block], columns, s);
    return (cw_run_fit){
        .track = {.form = columns == 1 ? CW_CURTAINS_STRAIGHT : CW_CURTAINS_BOWED,
                  .even_s = fit.p[0],
                  .bow_s = fit.p[1]},
        .chi_squared = fit.chi_squared,
        .u_travel_s = sqrt(fit.covariance[0][0]),
        .solved = fit.solved,
    };
}

cw_run_fit cw_run_fit_held(const cw_runs *runs, size_t block, double rest, double fade, size_t columns)
{
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST];
    fill_column(runs, COLUMN_ROOT, rest, fade, s[0]);
    fill_column(runs, COLUMN_DRAG, rest, fade, s[1]);
    cw_delay_result fit = cw_delay_fit(&runs->blocks[block], &runs->sums[block], columns, s);
    return (cw_run_fit){
        .track = {.form = CW_CURTAINS_PHYSICAL, .root_s = fit.p[0], .drag_s = fit.p[1], .rest = rest, .fade = fade},
        .chi_squared = fit.chi_squared,
        .u_travel_s = sqrt(fmax(fit.covariance[0][0] + 2 * fit.covariance[0][1] + fit.covariance[1][1], 0)),
        .u_drag_s = sqrt(fmax(fit.covariance[1][1], 0)),
        .solved = fit.solved,
    };
}

/* The spread of the travel when the run-up is fitted too: derivatives by travel and by the logarithm of the run-up. */
static double u_travel_from_rest(const cw_runs *runs, size_t block, const cw_track *track)
{
    const double step = 1e-3;
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST], over[CW_SENSORS_MOST], under[CW_SENSORS_MOST];
    fill_column(runs, COLUMN_ROOT, track->rest, track->fade, s[0]);
    fill_column(runs, COLUMN_ROOT, track->rest * exp(step), track->fade, over);
    fill_column(runs, COLUMN_ROOT, track->rest * exp(-step), track->fade, under);
    for (size_t i = 0; i < runs->sensors; i++)
        s[1][i] = track->root_s * (over[i] - under[i]) / (2 * step);
    bool at_end = track->rest < 1.1 * CW_REST_LEAST || track->rest > 0.9 * CW_REST_MOST;
    cw_delay_result spread = cw_delay_fit(&runs->blocks[block], &runs->sums[block], at_end ? 1 : 2, s);
    if (!spread.solved)
        spread = cw_delay_fit(&runs->blocks[block], &runs->sums[block], 1, s);
    return sqrt(spread.covariance[0][0]);
}

static double misfit(const cw_runs *runs, size_t block, double log_rest, double fade)
{
    double s[CW_SENSORS_MOST], top = 0, bottom = 0;
    const cw_delay_normal *sums = &runs->sums[block].placed;
    fill_column(runs, COLUMN_ROOT, exp(log_rest), fade, s);
    for (size_t i = 0; i < runs->sums[block].sensors; i++) {
        top += s[i] * sums->r[i];
        for (size_t k = 0; k < runs->sums[block].sensors; k++)
            bottom += s[i] * sums->a[i][k] * s[k];
    }
    return sums->tt - top * top / bottom;
}

/* From rest: given the run-up the travel is linear, so one search over the run-up's logarithm is the whole fit
 * (variable projection, Golub and Pereyra 1973). A coarse grid first, then golden section. */
cw_run_fit cw_run_fit_rest(const cw_runs *runs, size_t block, double fade)
{
    enum { GRID = 48 };
    const double shortest = log(CW_REST_LEAST), step = (log(CW_REST_MOST) - shortest) / GRID,
                 golden = 0.6180339887498949;
    double best = shortest, least = INFINITY;
    for (int i = 0; i <= GRID; i++) {
        double here = misfit(runs, block, shortest + i * step, fade);
        if (here < least) {
            least = here;
            best = shortest + i * step;
        }
    }
    double low = fmax(best - step, shortest), high = fmin(best + step, log(CW_REST_MOST));
    while (high - low > 1e-7) {
        double left = high - golden * (high - low), right = low + golden * (high - low);
        if (misfit(runs, block, left, fade) < misfit(runs, block, right, fade))
            high = right;
        else
            low = left;
    }
    cw_run_fit fit = cw_run_fit_held(runs, block, exp((low + high) / 2), fade, 1);
    fit.u_travel_s = u_travel_from_rest(runs, block, &fit.track);
    return fit;
}

void cw_run_fit_extra(const cw_runs *runs, size_t columns, const cw_track *first, const cw_track *second,
                      double extra_s[2])
{
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST];
    cw_run_columns_even(runs, s);
    cw_delay_sums sums = runs->sums[CW_RUN_EXPOSURE];
    for (size_t i = 0; i < runs->sensors; i++)
        for (size_t k = 0; k < runs->sensors; k++)
            sums.placed.r[i] -=
                sums.placed.a[i][k] * (cw_track_delay(second, runs->u[k]) - cw_track_delay(first, runs->u[k]));
    cw_delay_result fit = cw_delay_fit(&runs->blocks[CW_RUN_EXPOSURE], &sums, columns, s);
    extra_s[0] = fit.p[0];
    extra_s[1] = columns > 1 ? fit.p[1] : 0;
}

void cw_runs_allow_places(cw_runs *runs)
{
    const double step = 1e-3;
    for (size_t b = CW_RUN_FIRST; b <= CW_RUN_SECOND; b++) {
        double late_s[CW_SENSORS_MOST] = {0};
        cw_track rough = runs->places > 2 ? cw_run_fit_rest(runs, b, 0).track : cw_run_fit_even(runs, b, 1).track;
        rough.rest = fmax(rough.rest, CW_REST_USUAL / 4); /* what no run-up at all would do at the edge is not meant */
        for (size_t i = 0; i < runs->sensors; i++) {
            double u = fmax(runs->u[i], step);
            late_s[i] =
                runs->u_place * fabs(cw_track_delay(&rough, u + step) - cw_track_delay(&rough, u - step)) / (2 * step);
        }
        cw_delay_allow_places(&runs->sums[b], late_s);
    }
}
