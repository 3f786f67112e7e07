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
#include "shutter/curtain_fit.h"
#include "shutter/inner.h"

/* With two places the bow is not measured. A curtain that starts from rest at least this share of the frame before it
 * (1 mm of 36) bounds it; and healthy curtains bow alike to this share of the travel (common practice, no source). */
#define SHORTEST_RUN_UP (1.0 / 36)
#define BOW_ALIKE 0.03
/* A form is ruled out by the data at this level. */
#define RULED_OUT 0.01
/* A spring that lets go much of its pull, and friction that grows with speed, look like a pull that fades by this. */
#define FADES 0.6

/* What chi-squared may rise by for one shape more before the simpler one is ruled out: F, with the degrees behind the
 * weights. */
static double rise_allowed(const cw_runs *runs)
{
    return runs->scatter_degrees > 0 ? gsl_cdf_fdist_Qinv(RULED_OUT, 1, runs->scatter_degrees)
                                     : gsl_cdf_chisq_Qinv(RULED_OUT, 1);
}

/* Three places or more. A curtain can run from rest with a run-up of its own and an even or a fading pull, or with the
 * run-up of the curtain beside it and a drag that grows with the cube of the way, or bowed in whatever way. The first,
 * unless the data rule it out. `rest` is the run-up beside; NaN: not known. */
static cw_run_fit choose_form(const cw_runs *runs, size_t block, double rest)
{
    cw_run_fit from_rest = cw_run_fit_rest(runs, block, 0), best = from_rest;
    cw_run_fit others[] = {cw_run_fit_rest(runs, block, FADES), cw_run_fit_even(runs, block, 2),
                           cw_run_fit_held(runs, block, isnan(rest) ? CW_REST_USUAL : rest, 0, 2)};
    for (size_t i = 0; i < CW_COUNT(others); i++) {
        bool pushes = others[i].track.drag_s < 0; /* nothing pulls harder towards the end */
        if (others[i].solved && !pushes && others[i].chi_squared < best.chi_squared)
            best = others[i];
    }
    return from_rest.chi_squared > best.chi_squared + rise_allowed(runs) ? best : from_rest;
}

/* The run-up a curtain tells, for the one beside it; NaN when it tells none. */
static double told_rest(const cw_run_fit *fit)
{
    const cw_track *track = &fit->track;
    return track->form == CW_CURTAINS_PHYSICAL && track->rest > 1.1 * CW_REST_LEAST && track->rest < 1 ? track->rest
                                                                                                       : NAN;
}

/* Few shots: wider, as for any mean. */
static double widened(const cw_runs *runs, size_t block)
{
    size_t shots = runs->sums[block].shots;
    return shots > 1 ? cw_student_t(0.9545, (double)(shots - 1)) / 2 : 1;
}

/* Root mean square of what the other runs make the travel, or the bow, differ by. */
static double form_u(const cw_shape *shape, size_t block, double (*of)(const cw_track *))
{
    const cw_track *chosen = block == CW_RUN_FIRST ? &shape->first : &shape->second;
    double squares = 0;
    for (size_t k = 0; k < shape->other_count; k++) {
        const cw_other_run *other = &shape->others[k];
        double apart = of(block == CW_RUN_FIRST ? &other->first : &other->second) - of(chosen);
        squares += other->weight * apart * apart;
    }
    return sqrt(squares);
}

static cw_quantity travel_of(const cw_runs *runs, const cw_shape *shape, size_t block, const cw_run_fit *chosen)
{
    double form = form_u(shape, block, cw_track_travel);
    return (cw_quantity){cw_track_travel(&chosen->track), hypot(widened(runs, block) * chosen->u_travel_s, form)};
}

static cw_quantity bow_of(const cw_runs *runs, const cw_shape *shape, size_t block, double u_travel_s)
{
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST];
    cw_run_columns_even(runs, s);
    cw_delay_result even = cw_delay_fit(&runs->blocks[block], &runs->sums[block], 2, s);
    double form = form_u(shape, block, cw_track_bow), few = widened(runs, block);
    return (cw_quantity){cw_track_bow(block == CW_RUN_FIRST ? &shape->first : &shape->second),
                         sqrt(few * few * even.covariance[1][1] + form * form + u_travel_s * u_travel_s)};
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

/* Four places or more show where the exposures keep off the curve through them, beyond what their scatter would. The
 * largest of a few such steps is about twice their mean square. */
static double misfit_s(const cw_runs *runs, size_t columns, const cw_shape *shape)
{
    const cw_delay_sums *sums = &runs->sums[CW_RUN_EXPOSURE];
    double m[CW_SENSORS_MOST] = {0}, weights = 0;
    if (runs->sensors <= columns + 1)
        return 0;
    for (size_t i = 0; i < runs->sensors; i++) {
        double u = runs->u[i];
        m[i] = cw_track_delay(&shape->second, u) - cw_track_delay(&shape->first, u) + shape->extra_s[0] * u +
               shape->extra_s[1] * u * (1 - u);
        weights += sums->plain.a[i][i];
    }
    double beyond = cw_delay_miss(sums, m) - cw_delay_saturated(sums) - (double)(runs->sensors - 1 - columns);
    return sqrt(2 * fmax(beyond, 0) / weights);
}

static void fill_differences(const cw_runs *runs, size_t columns, cw_shape *shape)
{
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST];
    cw_run_columns_even(runs, s);
    cw_delay_result fit = cw_delay_fit(&runs->blocks[CW_RUN_EXPOSURE], &runs->sums[CW_RUN_EXPOSURE], columns, s);
    double few = widened(runs, CW_RUN_EXPOSURE);
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
    cw_run_fit_extra(runs, columns, &shape->first, &shape->second, shape->extra_s);
    shape->u_misfit_s = misfit_s(runs, columns, shape);
}

/* Two places: straight lines; a curtain from rest with the shortest run-up through the same two instants bounds each. A
 * third: half the width of a rectangle to its standard deviation, squared. */
static void bound_straight(const cw_runs *runs, cw_shape *shape)
{
    cw_other_run *other = &shape->others[shape->other_count++];
    *other = (cw_other_run){.first = cw_run_fit_held(runs, CW_RUN_FIRST, SHORTEST_RUN_UP, 0, 1).track,
                            .second = cw_run_fit_held(runs, CW_RUN_SECOND, SHORTEST_RUN_UP, 0, 1).track,
                            .weight = 1.0 / 3};
    cw_run_fit_extra(runs, 1, &other->first, &other->second, other->extra_s);
}

static void fill_shape(cw_runs *runs, cw_shape *shape)
{
    size_t columns = shape->places > 2 ? 2 : 1, block_shots = runs->sums[CW_RUN_FIRST].shots;
    cw_runs_allow_places(runs);
    cw_run_fit first = cw_run_fit_even(runs, CW_RUN_FIRST, 1), second = cw_run_fit_even(runs, CW_RUN_SECOND, 1);
    if (columns > 1) {
        first = choose_form(runs, CW_RUN_FIRST, NAN);
        second = choose_form(runs, CW_RUN_SECOND, NAN);
        double rest1 = told_rest(&first), rest2 = told_rest(&second);
        first = choose_form(runs, CW_RUN_FIRST, rest2);
        second = choose_form(runs, CW_RUN_SECOND, rest1);
    }
    shape->first = first.track;
    shape->second = second.track;
    fill_differences(runs, columns, shape);
    if (columns > 1)
        cw_others_fill(runs, shape);
    else
        bound_straight(runs, shape);
    cw_shape_set_gaps(shape, runs->sensors, runs->u);
    shape->travel1_s = travel_of(runs, shape, CW_RUN_FIRST, &first);
    shape->travel2_s = travel_of(runs, shape, CW_RUN_SECOND, &second);
    shape->bow1_s = columns > 1 ? bow_of(runs, shape, CW_RUN_FIRST, shape->travel1_s.u) : (cw_quantity){NAN, NAN};
    shape->bow2_s = columns > 1 ? bow_of(runs, shape, CW_RUN_SECOND, shape->travel2_s.u) : (cw_quantity){NAN, NAN};
    shape->chi_squared = first.chi_squared + second.chi_squared;
    size_t rows = runs->sums[CW_RUN_FIRST].rows + runs->sums[CW_RUN_SECOND].rows,
           unknowns = 2 * (block_shots + columns);
    shape->degrees = rows > unknowns ? rows - unknowns : 0;
    shape->shots = block_shots;
    if (columns == 1)
        set_chord(runs, shape);
    shape->known = true;
}

/* Whether both curtains run the way the places count, 1; the other way, -1; or no way at all, 0. */
static int direction(const cw_runs *runs)
{
    cw_run_fit first = cw_run_fit_even(runs, CW_RUN_FIRST, 1), second = cw_run_fit_even(runs, CW_RUN_SECOND, 1);
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
