/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The joint fit: the shape of both curtains' runs from all shots of a test.
 *
 * Each shot has a start of its own for each curtain, so the release delay may differ from shot to shot and from speed
 * to speed, and the two curtains part into two fits of their own. The exposures are a third: what moves both instants
 * alike (a sensor that stands a little off its place) leaves them alone, so the difference of the curtains is known
 * better than either. Instants are taken as middle of the pulse -+ half the exposure, which holds for slits narrower
 * than the beam too, where half of a full level is never the edge. */
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/stats.h"
#include "shutter/inner.h"
#include "shutter/runs.h"

/* With two places the bow is not measured. A curtain that starts from rest at least this share of the frame before it
 * (1 mm of 36) bounds it; and healthy curtains bow alike to this share of the travel (common practice, no source). */
#define SHORTEST_RUN_UP (1.0 / 36)
#define BOW_ALIKE 0.02
/* A form is ruled out by the data at this level. */
#define RULED_OUT 0.01

/* A run-up shorter than this share of the frame cannot be told from none; a longer one than this is even speed. */
#define REST_LEAST 1e-3
#define REST_MOST 1e3
/* The run-up of an ordinary curtain over its frame (4 mm of 36), where neither curtain tells its own. */
#define REST_USUAL (1.0 / 9)

typedef enum { COLUMN_EVEN, COLUMN_BOW, COLUMN_ROOT, COLUMN_DRAG } column;

static void fill_column(const cw_runs *runs, column kind, double rest, double s[static CW_SENSORS_MOST])
{
    cw_track one = {
        .even_s = kind == COLUMN_EVEN,
        .bow_s = kind == COLUMN_BOW,
        .root_s = kind == COLUMN_ROOT,
        .drag_s = kind == COLUMN_DRAG,
        .rest = rest,
    };
    for (size_t i = 0; i < runs->sensors; i++)
        s[i] = cw_track_delay(&one, runs->u[i]);
}

static void columns_even(const cw_runs *runs, double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST])
{
    fill_column(runs, COLUMN_EVEN, 0, s[0]);
    fill_column(runs, COLUMN_BOW, 0, s[1]);
}

typedef struct {
    cw_track track;
    double chi_squared, u_travel_s;
    bool solved;
} run_fit;

static run_fit fit_even(const cw_runs *runs, size_t block, size_t columns)
{
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST];
    columns_even(runs, s);
    cw_delay_result fit = cw_delay_fit(&runs->blocks[block], &runs->sums[block], columns, s);
    return (run_fit){
        .track = {.form = columns == 1 ? CW_CURTAINS_STRAIGHT : CW_CURTAINS_BOWED,
                  .even_s = fit.p[0],
                  .bow_s = fit.p[1]},
        .chi_squared = fit.chi_squared,
        .u_travel_s = sqrt(fit.covariance[0][0]),
        .solved = fit.solved,
    };
}

/* With the run-up held: the travel of a run from rest alone, or with a drag that grows with the cube of the way. */
static run_fit fit_held(const cw_runs *runs, size_t block, double rest, size_t columns)
{
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST];
    fill_column(runs, COLUMN_ROOT, rest, s[0]);
    fill_column(runs, COLUMN_DRAG, rest, s[1]);
    cw_delay_result fit = cw_delay_fit(&runs->blocks[block], &runs->sums[block], columns, s);
    return (run_fit){
        .track = {.form = CW_CURTAINS_PHYSICAL, .root_s = fit.p[0], .drag_s = fit.p[1], .rest = rest},
        .chi_squared = fit.chi_squared,
        .u_travel_s = sqrt(fmax(fit.covariance[0][0] + 2 * fit.covariance[0][1] + fit.covariance[1][1], 0)),
        .solved = fit.solved,
    };
}

/* The spread of the travel when the run-up is fitted too: derivatives by travel and by the logarithm of the run-up. */
static double u_travel_from_rest(const cw_runs *runs, size_t block, const cw_track *track)
{
    const double step = 1e-3;
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST], over[CW_SENSORS_MOST], under[CW_SENSORS_MOST];
    fill_column(runs, COLUMN_ROOT, track->rest, s[0]);
    fill_column(runs, COLUMN_ROOT, track->rest * exp(step), over);
    fill_column(runs, COLUMN_ROOT, track->rest * exp(-step), under);
    for (size_t i = 0; i < runs->sensors; i++)
        s[1][i] = track->root_s * (over[i] - under[i]) / (2 * step);
    bool at_end = track->rest < 1.1 * REST_LEAST || track->rest > 0.9 * REST_MOST;
    cw_delay_result spread = cw_delay_fit(&runs->blocks[block], &runs->sums[block], at_end ? 1 : 2, s);
    if (!spread.solved)
        spread = cw_delay_fit(&runs->blocks[block], &runs->sums[block], 1, s);
    return sqrt(spread.covariance[0][0]);
}

static double misfit(const cw_runs *runs, size_t block, double log_rest)
{
    double s[CW_SENSORS_MOST], top = 0, bottom = 0;
    const cw_delay_sums *sums = &runs->sums[block];
    fill_column(runs, COLUMN_ROOT, exp(log_rest), s);
    for (size_t i = 0; i < sums->sensors; i++) {
        top += s[i] * sums->r[i];
        for (size_t k = 0; k < sums->sensors; k++)
            bottom += s[i] * sums->a[i][k] * s[k];
    }
    return sums->tt - top * top / bottom;
}

/* From rest: given the run-up the travel is linear, so one search over the run-up's logarithm is the whole fit
 * (variable projection, Golub and Pereyra 1973). A coarse grid first, then golden section. */
static run_fit fit_rest(const cw_runs *runs, size_t block)
{
    enum { GRID = 48 };
    const double shortest = log(REST_LEAST), step = (log(REST_MOST) - shortest) / GRID, golden = 0.6180339887498949;
    double best = shortest, least = INFINITY;
    for (int i = 0; i <= GRID; i++) {
        double here = misfit(runs, block, shortest + i * step);
        if (here < least) {
            least = here;
            best = shortest + i * step;
        }
    }
    double low = fmax(best - step, shortest), high = fmin(best + step, log(REST_MOST));
    while (high - low > 1e-7) {
        double left = high - golden * (high - low), right = low + golden * (high - low);
        if (misfit(runs, block, left) < misfit(runs, block, right))
            high = right;
        else
            low = left;
    }
    run_fit fit = fit_held(runs, block, exp((low + high) / 2), 1);
    fit.u_travel_s = u_travel_from_rest(runs, block, &fit.track);
    return fit;
}

/* What chi-squared may rise by for one shape more before the simpler one is ruled out: F, with the degrees behind the
 * weights. */
static double rise_allowed(const cw_runs *runs)
{
    return runs->scatter_degrees > 0 ? gsl_cdf_fdist_Qinv(RULED_OUT, 1, runs->scatter_degrees)
                                     : gsl_cdf_chisq_Qinv(RULED_OUT, 1);
}

typedef struct {
    run_fit chosen;
    cw_track other;
} run_choice;

/* Three places or more. A curtain can run from rest with a run-up of its own, or with the run-up of the curtain beside
 * it and a drag that grows with the cube of the way, or bowed in whatever way. The first, unless the data rule it out;
 * of those they leave, the one that carries farthest from it widens the band. `rest` is the run-up beside; NaN: not
 * known. */
static run_choice choose_form(const cw_runs *runs, size_t block, double rest)
{
    run_fit from_rest = fit_rest(runs, block);
    run_fit others[] = {fit_even(runs, block, 2), fit_held(runs, block, isnan(rest) ? REST_USUAL : rest, 2)};
    bool drags = others[1].solved && others[1].track.drag_s > 0; /* nothing pulls harder towards the end */
    double allowed = rise_allowed(runs), least = fmin(from_rest.chi_squared, others[0].chi_squared);
    if (drags)
        least = fmin(least, others[1].chi_squared);
    run_choice choice = {from_rest, from_rest.track};
    if (from_rest.chi_squared > least + allowed)
        choice.chosen = drags && others[1].chi_squared < others[0].chi_squared ? others[1] : others[0];
    choice.other = choice.chosen.track;
    double farthest = 0, travel = cw_track_travel(&choice.chosen.track);
    for (size_t i = 0; i < (drags ? 2 : 1); i++) {
        double apart = fabs(cw_track_travel(&others[i].track) - travel);
        if (others[i].chi_squared > least + allowed || apart <= farthest)
            continue;
        farthest = apart;
        choice.other = others[i].track;
    }
    return choice;
}

/* The run-up a curtain tells, for the one beside it; NaN when it tells none. */
static double told_rest(const run_choice *choice)
{
    const cw_track *track = &choice->chosen.track;
    return track->form == CW_CURTAINS_PHYSICAL && track->rest > 1.1 * REST_LEAST && track->rest < 1 ? track->rest : NAN;
}

/* Two places: a straight line; the curtain from rest with the shortest run-up through the same two instants bounds it.
 */
static run_choice choose_straight(const cw_runs *runs, size_t block)
{
    return (run_choice){fit_even(runs, block, 1), fit_held(runs, block, SHORTEST_RUN_UP, 1).track};
}

/* The same form fitted again to other places. */
static run_fit fit_again(const cw_runs *runs, size_t block, const cw_track *track)
{
    if (track->form != CW_CURTAINS_PHYSICAL)
        return fit_even(runs, block, track->form == CW_CURTAINS_BOWED ? 2 : 1);
    return track->drag_s != 0 ? fit_held(runs, block, track->rest, 2) : fit_rest(runs, block);
}

/* How the travel would change with each sensor a little off its place: root sum of squares over the sensors. */
static double u_by_places(const cw_runs *runs, size_t block, const run_choice *choice)
{
    double squares = 0;
    for (size_t i = 0; i < runs->sensors; i++) {
        cw_runs moved = *runs;
        moved.u[i] += runs->u_place;
        run_fit fit = fit_again(&moved, block, &choice->chosen.track);
        double d = cw_track_travel(&fit.track) - cw_track_travel(&choice->chosen.track);
        squares += fit.solved ? d * d : 0;
    }
    return sqrt(squares);
}

static cw_quantity travel_of(const cw_runs *runs, size_t block, const run_choice *choice)
{
    double fit = choice->chosen.u_travel_s, place = u_by_places(runs, block, choice);
    double form = (cw_track_travel(&choice->other) - cw_track_travel(&choice->chosen.track)) / sqrt(3);
    /* few shots: wider, as for any mean */
    size_t shots = runs->sums[block].shots;
    double few = shots > 1 ? cw_student_t(0.9545, (double)(shots - 1)) / 2 : 1;
    return (cw_quantity){cw_track_travel(&choice->chosen.track),
                         sqrt(few * few * fit * fit + place * place + form * form)};
}

/* The bow; the fit's own spread of it, and half of what the other form makes it. */
static cw_quantity bow_of(const cw_runs *runs, size_t block, const run_choice *choice)
{
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST];
    columns_even(runs, s);
    cw_delay_result even = cw_delay_fit(&runs->blocks[block], &runs->sums[block], 2, s);
    double bow_s = cw_track_bow(&choice->chosen.track), form = (cw_track_bow(&choice->other) - bow_s) / sqrt(3);
    size_t shots = runs->sums[block].shots;
    double few = shots > 1 ? cw_student_t(0.9545, (double)(shots - 1)) / 2 : 1;
    double travel = travel_of(runs, block, choice).u;
    return (cw_quantity){bow_s, sqrt(few * few * even.covariance[1][1] + form * form + travel * travel)};
}

/* What the exposures say beyond the difference of the two tracks, by u and u (1 - u). */
static void fit_extra(const cw_runs *runs, size_t columns, const cw_track *first, const cw_track *second,
                      double extra_s[2])
{
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST];
    columns_even(runs, s);
    cw_delay_sums sums = runs->sums[CW_RUN_EXPOSURE];
    for (size_t i = 0; i < runs->sensors; i++)
        for (size_t k = 0; k < runs->sensors; k++)
            sums.r[i] -= sums.a[i][k] * (cw_track_delay(second, runs->u[k]) - cw_track_delay(first, runs->u[k]));
    cw_delay_result fit = cw_delay_fit(&runs->blocks[CW_RUN_EXPOSURE], &sums, columns, s);
    extra_s[0] = fit.p[0];
    extra_s[1] = columns > 1 ? fit.p[1] : 0;
}

/* Two places: u (1 - u) as a line through both, from which the unmeasured bow departs. */
static void set_chord(const cw_runs *runs, cw_shape *shape)
{
    size_t low = 0, high = 0;
    for (size_t i = 1; i < runs->sensors; i++) {
        low = runs->u[i] < runs->u[low] ? i : low;
        high = runs->u[i] > runs->u[high] ? i : high;
    }
    double u = runs->u[low], v = runs->u[high];
    shape->chord[1] = (v * (1 - v) - u * (1 - u)) / (v - u);
    shape->chord[0] = u * (1 - u) - shape->chord[1] * u;
    /* curtains that do not run alike may differ in their bow by as much as in their travel */
    shape->u_bow_s = hypot(BOW_ALIKE * fmax(shape->travel1_s.value, shape->travel2_s.value), shape->mismatch_s.value);
}

static void fill_differences(const cw_runs *runs, size_t columns, cw_shape *shape)
{
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST];
    columns_even(runs, s);
    cw_delay_result fit = cw_delay_fit(&runs->blocks[CW_RUN_EXPOSURE], &runs->sums[CW_RUN_EXPOSURE], columns, s);
    size_t shots = runs->sums[CW_RUN_EXPOSURE].shots;
    double few = shots > 1 ? cw_student_t(0.9545, (double)(shots - 1)) / 2 : 1;
    shape->mismatch_s = (cw_quantity){fit.p[0], few * sqrt(fit.covariance[0][0])};
    shape->drag_s = (cw_quantity){NAN, NAN};
    shape->covariance[0] = few * few * fit.covariance[0][0];
    if (columns > 1) {
        shape->drag_s = (cw_quantity){fit.p[1], few * sqrt(fit.covariance[1][1])};
        shape->covariance[1] = few * few * fit.covariance[0][1];
        shape->covariance[2] = few * few * fit.covariance[1][1];
    }
    for (size_t i = 0; i < runs->sensors; i++) {
        shape->mean_u += runs->u[i] / (double)runs->sensors;
        shape->mean_bow += s[1][i] / (double)runs->sensors;
    }
    fit_extra(runs, columns, &shape->first, &shape->second, shape->extra_s);
    fit_extra(runs, columns, &shape->first_other, &shape->second_other, shape->extra_other_s);
    cw_shape_set_gap(shape, runs->sensors, runs->u);
}

static void fill_shape(const cw_runs *runs, cw_shape *shape)
{
    size_t columns = shape->places > 2 ? 2 : 1, block_shots = runs->sums[CW_RUN_FIRST].shots;
    run_choice first = columns > 1 ? choose_form(runs, CW_RUN_FIRST, NAN) : choose_straight(runs, CW_RUN_FIRST);
    run_choice second = columns > 1 ? choose_form(runs, CW_RUN_SECOND, NAN) : choose_straight(runs, CW_RUN_SECOND);
    if (columns > 1) {
        double rest1 = told_rest(&first), rest2 = told_rest(&second);
        first = choose_form(runs, CW_RUN_FIRST, rest2);
        second = choose_form(runs, CW_RUN_SECOND, rest1);
    }
    shape->first = first.chosen.track;
    shape->second = second.chosen.track;
    shape->first_other = first.other;
    shape->second_other = second.other;
    shape->travel1_s = travel_of(runs, CW_RUN_FIRST, &first);
    shape->travel2_s = travel_of(runs, CW_RUN_SECOND, &second);
    shape->bow1_s = columns > 1 ? bow_of(runs, CW_RUN_FIRST, &first) : (cw_quantity){NAN, NAN};
    shape->bow2_s = columns > 1 ? bow_of(runs, CW_RUN_SECOND, &second) : (cw_quantity){NAN, NAN};
    shape->chi_squared = first.chosen.chi_squared + second.chosen.chi_squared;
    size_t rows = runs->sums[CW_RUN_FIRST].rows + runs->sums[CW_RUN_SECOND].rows,
           unknowns = 2 * (block_shots + columns);
    shape->degrees = rows > unknowns ? rows - unknowns : 0;
    shape->shots = block_shots;
    fill_differences(runs, columns, shape);
    if (columns == 1)
        set_chord(runs, shape);
    shape->known = true;
}

/* Whether both curtains run the way the places count, 1; the other way, -1; or no way at all, 0. */
static int direction(const cw_runs *runs)
{
    run_fit first = fit_even(runs, CW_RUN_FIRST, 1), second = fit_even(runs, CW_RUN_SECOND, 1);
    if (!first.solved || !second.solved)
        return 0;
    double t1 = first.track.even_s, t2 = second.track.even_s;
    if (fabs(t1) < 3 * first.u_travel_s || fabs(t2) < 3 * second.u_travel_s || (t1 > 0) != (t2 > 0))
        return 0;
    return t1 > 0 ? 1 : -1;
}

static void turn_round(cw_runs *runs)
{
    for (size_t i = 0; i < runs->sensors; i++)
        runs->u[i] = 1 - runs->u[i];
}

/* Every exposure was had this way. */
static bool all_by(const cw_shutter_test *test, cw_exposure_method method)
{
    for (size_t j = 0; j < test->shot_count; j++)
        for (size_t i = 0; i < test->shots[j].sensor_count; i++) {
            cw_exposure_method how = test->shots[j].sensors[i].method;
            if (how != method && (how != CW_METHOD_NONE || method == CW_METHOD_READING))
                return false;
        }
    return true;
}

/* Ways of measuring that see no curtain run: what they tell instead; NULL for the others. */
static const char *told_instead(const cw_shutter_test *test)
{
    if (all_by(test, CW_METHOD_PHOTO))
        return "Photographs: the exposure at each place, and so the evenness. When a curtain passed is not in them, so "
               "travel, slit and full opening are not known.";
    if (all_by(test, CW_METHOD_SOUND))
        return "By ear: the time from click to click, and nothing about the curtains or the evenness.";
    return all_by(test, CW_METHOD_READING)
               ? "Times copied from a timer: the exposure where it measured, and nothing about curtains."
               : NULL;
}

static void tell(const cw_shutter_test *test, const cw_shape *shape, size_t odd, char told[static CW_FINDING_TEXT])
{
    static const char *const by_places[] = {
        [0] = "No sensor has a known place along the travel, so the curtains, the evenness and the slit are not known.",
        [1] =
            "One place on the frame: the exposure there and nothing else. Travel, evenness, slit and full opening are "
            "not known; two sensors give the travel, three also the bow.",
        [2] = "Two places: each curtain as a straight line. The bow of its run is not known; the travel is carried to "
              "the "
              "edges of the frame, with what a bow could change in its uncertainty.",
        [3] = "Three places: travel and bow of both curtains, over the whole frame. Nothing is left over to check the "
              "form of the run; the band towards the edges is wider for it.",
        [4] = "Four places or more: travel, bow, and a check that the form of the run fits.",
    };
    size_t row = shape->places < 4 ? shape->places : 4;
    const char *instead = shape->known ? NULL : told_instead(test);
    int used = snprintf(told, CW_FINDING_TEXT, "%s", instead != NULL ? instead : by_places[row]);
    if (!shape->known && row >= 2 && instead == NULL)
        used =
            snprintf(told, CW_FINDING_TEXT,
                     "The sensors do not see the light one after the other in the order of their places, so no curtain "
                     "could be fitted. Are the places right, and is it a focal-plane shutter?");
    if (shape->reversed)
        used += snprintf(told + used, CW_FINDING_TEXT - (size_t)used,
                         " The curtains run against the places given: these count from the edge that opens last.");
    if (shape->known && test->setup.u_positions_mm == 0)
        used += snprintf(told + used, CW_FINDING_TEXT - (size_t)used, " Sensors taken as placed to +-%g mm (k = 1).",
                         CW_PLACE_ASSUMED_MM);
    if (odd + shape->left_out > 0)
        snprintf(told + used, CW_FINDING_TEXT - (size_t)used,
                 " Left out of this fit: %zu shots that ran unlike the others, %zu with the sensors elsewhere.", odd,
                 shape->left_out);
}

cw_status cw_shape_fit(const cw_shutter_test *test, bool *odd, cw_shape *shape, char told[static CW_FINDING_TEXT],
                       cw_error *err)
{
    cw_runs runs;
    cw_status status = cw_runs_read(test, odd, &runs, err);
    if (status == CW_OK) {
        cw_shape made = {.frame_mm = test->setup.frame_mm, .places = runs.places, .left_out = runs.left_out};
        int way = runs.places >= 2 ? direction(&runs) : 0;
        size_t odd_count = 0;
        made.reversed = way < 0;
        if (made.reversed)
            turn_round(&runs);
        if (way != 0)
            fill_shape(&runs, &made);
        for (size_t j = 0; j < test->shot_count; j++)
            odd_count += odd[j];
        tell(test, &made, odd_count, told);
        *shape = made;
    }
    cw_runs_free(&runs);
    return status;
}
