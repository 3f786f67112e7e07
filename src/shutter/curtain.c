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
#include "shutter/delays.h"
#include "shutter/inner.h"

/* Two sensors nearer than this share of the frame are one place. */
#define SAME_PLACE 0.03
/* Nothing mechanical is timed better than this; keeps weights finite for exact edges. */
#define SMALLEST_U_S 1e-7
/* With two places the bow is not measured. A curtain that starts from rest at least this share of the frame before it
 * (1 mm of 36) bounds it; and healthy curtains bow alike to this share of the travel (common practice, no source). */
#define SHORTEST_RUN_UP (1.0 / 36)
#define BOW_ALIKE 0.02
/* A form is ruled out by the data at this level. */
#define RULED_OUT 0.01

enum { FIRST, SECOND, EXPOSURE, BLOCKS };

typedef struct {
    size_t sensors;
    size_t index[CW_SENSORS_MOST]; /* in the shots */
    double u[CW_SENSORS_MOST];
    double u_place; /* standard uncertainty of a place, over the frame */
    cw_delay_block blocks[BLOCKS];
    cw_delay_sums sums[BLOCKS];
    double scatter_degrees; /* behind the weights, of each block */
} run_data;

static void data_free(run_data *data)
{
    for (size_t b = 0; b < BLOCKS; b++)
        free(data->blocks[b].items);
}

/* The sensors whose place is known, from the first counting shot that has them. */
static void find_places(const cw_shutter_test *test, run_data *data)
{
    for (size_t i = 0; i < CW_SENSORS_MOST; i++)
        for (size_t j = 0; j < test->shot_count; j++) {
            const cw_shot *shot = &test->shots[j];
            if (i >= shot->sensor_count || !cw_shot_counts(shot))
                continue;
            double place = cw_sensor_place_mm(&test->setup, shot, i);
            if (!isfinite(place))
                continue;
            data->index[data->sensors] = i;
            data->u[data->sensors++] = place / test->setup.frame_mm;
            break;
        }
}

static size_t count_places(const run_data *data)
{
    size_t places = 0;
    for (size_t i = 0; i < data->sensors; i++) {
        bool again = false;
        for (size_t k = 0; k < i; k++)
            again = again || fabs(data->u[i] - data->u[k]) < SAME_PLACE;
        places += !again;
    }
    return places;
}

static double known_or(double value, double otherwise)
{
    return isfinite(value) ? value : otherwise;
}

/* Both instants and the exposure of one sensor in one shot, each with 1/u^2 for weight. */
static void read_sensor(const cw_sensor_shot *sensor, cw_delay *first, cw_delay *second, cw_delay *exposure)
{
    double open = sensor->open_s.value, close = sensor->close_s.value;
    if (!sensor->seen || !isfinite(open) || !isfinite(close))
        return;
    double width = known_or(sensor->exposure_s.value, close - open), middle = open + (close - open) / 2;
    double u = fmax(hypot(known_or(sensor->open_s.u, 0), known_or(sensor->close_s.u, 0)) / sqrt(2), SMALLEST_U_S);
    double u_width = fmax(known_or(sensor->exposure_s.u, u), SMALLEST_U_S);
    *first = (cw_delay){true, middle - width / 2, 1 / (u * u)};
    *second = (cw_delay){true, middle + width / 2, 1 / (u * u)};
    *exposure = (cw_delay){true, width, 1 / (u_width * u_width)};
}

/* A shot with a sensor elsewhere than in the other shots cannot be put in the same fit. */
static bool places_agree(const cw_shutter_test *test, const cw_shot *shot, const run_data *data)
{
    for (size_t i = 0; i < data->sensors; i++) {
        if (data->index[i] >= shot->sensor_count)
            continue;
        double place = cw_sensor_place_mm(&test->setup, shot, data->index[i]);
        if (fabs(place / test->setup.frame_mm - data->u[i]) > 1e-6)
            return false;
    }
    return true;
}

static cw_status read_shots(const cw_shutter_test *test, run_data *data, size_t *left_out, cw_error *err)
{
    size_t cells = test->shot_count * (data->sensors > 0 ? data->sensors : 1);
    for (size_t b = 0; b < BLOCKS; b++) {
        data->blocks[b] = (cw_delay_block){test->shot_count, data->sensors, calloc(cells, sizeof(cw_delay))};
        if (data->blocks[b].items == NULL)
            return cw_fail(err, CW_MEMORY, "no memory for the curtain fit of %zu shots", test->shot_count);
    }
    for (size_t j = 0; j < test->shot_count; j++) {
        const cw_shot *shot = &test->shots[j];
        if (!cw_shot_counts(shot))
            continue;
        if (!places_agree(test, shot, data)) {
            ++*left_out;
            continue;
        }
        for (size_t i = 0; i < data->sensors; i++) {
            size_t cell = j * data->sensors + i;
            if (data->index[i] < shot->sensor_count)
                read_sensor(&shot->sensors[data->index[i]], &data->blocks[FIRST].items[cell],
                            &data->blocks[SECOND].items[cell], &data->blocks[EXPOSURE].items[cell]);
        }
    }
    return CW_OK;
}

/* Weights from the single measurement and from how much whole shots differ: 1/(u^2 + s^2), s^2 being what the scatter
 * about each sensor's own mean delay shows beyond u^2. */
static cw_status weigh(run_data *data, cw_error *err)
{
    for (size_t b = 0; b < BLOCKS; b++) {
        cw_delay_block equal = data->blocks[b], *block = &data->blocks[b];
        size_t cells = block->shots * block->sensors, known = 0;
        double u2 = 0;
        equal.items = malloc((cells > 0 ? cells : 1) * sizeof(cw_delay));
        if (equal.items == NULL)
            return cw_fail(err, CW_MEMORY, "no memory for the curtain fit of %zu shots", block->shots);
        for (size_t i = 0; i < cells; i++) {
            equal.items[i] = block->items[i];
            equal.items[i].weight = 1;
            if (block->items[i].known) {
                u2 += 1 / block->items[i].weight;
                known++;
            }
        }
        cw_delay_sums sums = cw_delay_sum(&equal);
        free(equal.items);
        double degrees = (double)sums.rows - (double)sums.shots - (double)(block->sensors - 1);
        data->scatter_degrees = fmax(degrees, 0);
        double s2 = degrees > 0 ? cw_delay_saturated(&sums) / degrees - u2 / (double)known : 0;
        for (size_t i = 0; i < cells; i++)
            if (block->items[i].known)
                block->items[i].weight = 1 / (1 / block->items[i].weight + fmax(s2, 0));
        data->sums[b] = cw_delay_sum(block);
    }
    return CW_OK;
}

static void columns_even(const run_data *data, double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST])
{
    for (size_t i = 0; i < data->sensors; i++) {
        s[0][i] = data->u[i];
        s[1][i] = data->u[i] * (1 - data->u[i]);
    }
}

/* The sqrt law with its travel, or its two derivatives by travel and by the logarithm of the run-up. */
static void columns_rest(const run_data *data, double rest, double travel_s,
                         double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST])
{
    const double step = 1e-3;
    cw_track at = {.form = CW_CURTAINS_PHYSICAL, .travel_s = 1, .rest = rest}, over = at, under = at;
    over.rest = rest * exp(step);
    under.rest = rest * exp(-step);
    for (size_t i = 0; i < data->sensors; i++) {
        s[0][i] = cw_track_delay(&at, data->u[i]);
        s[1][i] = travel_s * (cw_track_delay(&over, data->u[i]) - cw_track_delay(&under, data->u[i])) / (2 * step);
    }
}

typedef struct {
    cw_track track;
    double chi_squared, u_travel_s;
    bool solved;
} run_fit;

static run_fit fit_even(const run_data *data, size_t block, size_t columns)
{
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST];
    columns_even(data, s);
    cw_delay_result fit = cw_delay_fit(&data->blocks[block], &data->sums[block], columns, s);
    return (run_fit){
        .track = {.form = columns == 1 ? CW_CURTAINS_STRAIGHT : CW_CURTAINS_BOWED,
                  .travel_s = fit.p[0],
                  .bow_s = columns == 1 ? 0 : fit.p[1]},
        .chi_squared = fit.chi_squared,
        .u_travel_s = sqrt(fit.covariance[0][0]),
        .solved = fit.solved,
    };
}

static double rest_misfit(const run_data *data, size_t block, double log_rest, double *travel_s)
{
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST], top = 0, bottom = 0;
    const cw_delay_sums *sums = &data->sums[block];
    columns_rest(data, exp(log_rest), 0, s);
    for (size_t i = 0; i < sums->sensors; i++) {
        top += s[0][i] * sums->r[i];
        for (size_t k = 0; k < sums->sensors; k++)
            bottom += s[0][i] * sums->a[i][k] * s[0][k];
    }
    *travel_s = top / bottom;
    return sums->tt - top * top / bottom;
}

/* From rest: given the run-up the travel is linear, so one search over the run-up's logarithm is the whole fit
 * (variable projection, Golub and Pereyra 1973). A coarse grid first, then golden section. */
static run_fit fit_rest(const run_data *data, size_t block)
{
    enum { GRID = 48 };
    const double shortest = log(1e-3), longest = log(1e3), step = (longest - shortest) / GRID,
                 golden = 0.6180339887498949;
    double best = shortest, least = INFINITY, travel_s;
    for (int i = 0; i <= GRID; i++) {
        double misfit = rest_misfit(data, block, shortest + i * step, &travel_s);
        if (misfit < least) {
            least = misfit;
            best = shortest + i * step;
        }
    }
    double low = fmax(best - step, shortest), high = fmin(best + step, longest);
    while (high - low > 1e-7) {
        double left = high - golden * (high - low), right = low + golden * (high - low), unused;
        if (rest_misfit(data, block, left, &unused) < rest_misfit(data, block, right, &unused))
            high = right;
        else
            low = left;
    }
    best = (low + high) / 2;
    run_fit fit = {.track = {.form = CW_CURTAINS_PHYSICAL, .rest = exp(best)}, .solved = true};
    fit.chi_squared = fmax(rest_misfit(data, block, best, &fit.track.travel_s), 0);
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST];
    columns_rest(data, fit.track.rest, fit.track.travel_s, s);
    bool at_end = best < shortest + step || best > longest - step;
    cw_delay_result spread = cw_delay_fit(&data->blocks[block], &data->sums[block], at_end ? 1 : 2, s);
    if (!spread.solved)
        spread = cw_delay_fit(&data->blocks[block], &data->sums[block], 1, s);
    fit.u_travel_s = sqrt(spread.covariance[0][0]);
    return fit;
}

/* What chi-squared may rise by for one shape more before the simpler one is ruled out: F, with the degrees behind the
 * weights. */
static double rise_allowed(const run_data *data)
{
    return data->scatter_degrees > 0 ? gsl_cdf_fdist_Qinv(RULED_OUT, 1, data->scatter_degrees)
                                     : gsl_cdf_chisq_Qinv(RULED_OUT, 1);
}

typedef struct {
    run_fit chosen;
    cw_track other;
} run_choice;

/* Three places or more: from rest, unless the data rule that out; the other form unless it is ruled out in turn. */
static run_choice choose_form(const run_data *data, size_t block)
{
    run_fit bowed = fit_even(data, block, 2), rest = fit_rest(data, block);
    double allowed = rise_allowed(data);
    if (rest.chi_squared > bowed.chi_squared + allowed)
        return (run_choice){bowed, bowed.track};
    bool bowed_ruled_out = bowed.chi_squared > rest.chi_squared + allowed;
    return (run_choice){rest, bowed_ruled_out ? rest.track : bowed.track};
}

/* Two places: a straight line; the curtain from rest with the shortest run-up through the same two instants bounds it.
 */
static run_choice choose_straight(const run_data *data, size_t block)
{
    run_choice choice = {.chosen = fit_even(data, block, 1)};
    choice.other = (cw_track){.form = CW_CURTAINS_PHYSICAL, .rest = SHORTEST_RUN_UP};
    rest_misfit(data, block, log(SHORTEST_RUN_UP), &choice.other.travel_s);
    return choice;
}

/* Shots that ran unlike the others, by the middle value of each sensor's delay against the mean of its shot: far
 * outside what the rest scatter by. Asked only with four shots or more, and of shots that every sensor saw. */
static void find_odd(run_data *data, bool *odd)
{
    enum { ENOUGH = 4 };
    const double far = 8 * 1.4826, share = 0.03; /* 1.4826 x median deviation: sd of a normal distribution */
    size_t shots = data->blocks[FIRST].shots, n = data->sensors;
    double *centred = malloc((shots * n + 1) * sizeof *centred), *column = malloc((shots + 1) * sizeof *column);
    for (size_t b = FIRST; b <= SECOND && centred != NULL && column != NULL; b++) {
        size_t full = 0, at[CW_SHOTS_MOST];
        for (size_t j = 0; j < shots; j++) {
            const cw_delay *shot = data->blocks[b].items + j * n;
            double mean = 0;
            bool all = true;
            for (size_t i = 0; i < n; i++) {
                all = all && shot[i].known;
                mean += shot[i].value_s / (double)n;
            }
            for (size_t i = 0; all && i < n; i++)
                centred[full * n + i] = shot[i].value_s - mean;
            if (all)
                at[full++] = j;
        }
        if (full < ENOUGH)
            continue;
        double least = INFINITY, most = -INFINITY, middle[CW_SENSORS_MOST], spread = 0;
        for (size_t i = 0; i < n; i++) {
            for (size_t j = 0; j < full; j++)
                column[j] = centred[j * n + i];
            middle[i] = cw_median(full, column);
            for (size_t j = 0; j < full; j++)
                column[j] = fabs(centred[j * n + i] - middle[i]);
            spread = fmax(spread, cw_median(full, column));
            least = fmin(least, middle[i]);
            most = fmax(most, middle[i]);
        }
        for (size_t j = 0; j < full; j++)
            for (size_t i = 0; i < n; i++) {
                double u = 1 / sqrt(data->blocks[b].items[at[j] * n + i].weight);
                double limit = fmax(fmax(far * spread, 6 * u), share * (most - least));
                odd[at[j]] = odd[at[j]] || fabs(centred[j * n + i] - middle[i]) > limit;
            }
    }
    free(centred);
    free(column);
}

static void leave_out_odd(run_data *data, const bool *odd)
{
    for (size_t b = 0; b < BLOCKS; b++)
        for (size_t j = 0; j < data->blocks[b].shots; j++)
            for (size_t i = 0; odd[j] && i < data->sensors; i++)
                data->blocks[b].items[j * data->sensors + i].known = false;
}

/* How the travel would change with each sensor a little off its place: root sum of squares over the sensors. */
static double u_by_places(const run_data *data, size_t block, const run_choice *choice)
{
    double squares = 0;
    for (size_t i = 0; i < data->sensors; i++) {
        run_data moved = *data;
        moved.u[i] += data->u_place;
        run_fit fit = choice->chosen.track.form == CW_CURTAINS_PHYSICAL ? fit_rest(&moved, block)
                      : choice->chosen.track.form == CW_CURTAINS_BOWED  ? fit_even(&moved, block, 2)
                                                                        : fit_even(&moved, block, 1);
        double d = fit.track.travel_s - choice->chosen.track.travel_s;
        squares += fit.solved ? d * d : 0;
    }
    return sqrt(squares);
}

static cw_quantity travel_of(const run_data *data, size_t block, const run_choice *choice)
{
    double fit = choice->chosen.u_travel_s, place = u_by_places(data, block, choice);
    double form = (choice->other.travel_s - choice->chosen.track.travel_s) / sqrt(3);
    /* few shots: wider, as for any mean */
    size_t shots = data->sums[block].shots;
    double few = shots > 1 ? cw_student_t(0.9545, (double)(shots - 1)) / 2 : 1;
    return (cw_quantity){choice->chosen.track.travel_s, sqrt(few * few * fit * fit + place * place + form * form)};
}

/* The bow; the fit's own spread of it, and half of what the other form makes it. */
static cw_quantity bow_of(const run_data *data, size_t block, const run_choice *choice)
{
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST];
    columns_even(data, s);
    cw_delay_result even = cw_delay_fit(&data->blocks[block], &data->sums[block], 2, s);
    double bow_s = cw_track_bow(&choice->chosen.track), form = (cw_track_bow(&choice->other) - bow_s) / sqrt(3);
    size_t shots = data->sums[block].shots;
    double few = shots > 1 ? cw_student_t(0.9545, (double)(shots - 1)) / 2 : 1;
    double travel = travel_of(data, block, choice).u;
    return (cw_quantity){bow_s, sqrt(few * few * even.covariance[1][1] + form * form + travel * travel)};
}

/* What the exposures say beyond the difference of the two tracks, by u and u (1 - u). */
static void fit_extra(const run_data *data, size_t columns, const cw_track *first, const cw_track *second,
                      double extra_s[2])
{
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST];
    columns_even(data, s);
    cw_delay_sums sums = data->sums[EXPOSURE];
    for (size_t i = 0; i < data->sensors; i++)
        for (size_t k = 0; k < data->sensors; k++)
            sums.r[i] -= sums.a[i][k] * (cw_track_delay(second, data->u[k]) - cw_track_delay(first, data->u[k]));
    cw_delay_result fit = cw_delay_fit(&data->blocks[EXPOSURE], &sums, columns, s);
    extra_s[0] = fit.p[0];
    extra_s[1] = columns > 1 ? fit.p[1] : 0;
}

/* Two places: u (1 - u) as a line through both, from which the unmeasured bow departs. */
static void set_chord(const run_data *data, cw_shape *shape)
{
    size_t low = 0, high = 0;
    for (size_t i = 1; i < data->sensors; i++) {
        low = data->u[i] < data->u[low] ? i : low;
        high = data->u[i] > data->u[high] ? i : high;
    }
    double u = data->u[low], v = data->u[high];
    shape->chord[1] = (v * (1 - v) - u * (1 - u)) / (v - u);
    shape->chord[0] = u * (1 - u) - shape->chord[1] * u;
    shape->u_bow_s = BOW_ALIKE * fmax(shape->travel1_s.value, shape->travel2_s.value);
}

static void fill_differences(const run_data *data, size_t columns, cw_shape *shape)
{
    double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST];
    columns_even(data, s);
    cw_delay_result fit = cw_delay_fit(&data->blocks[EXPOSURE], &data->sums[EXPOSURE], columns, s);
    size_t shots = data->sums[EXPOSURE].shots;
    double few = shots > 1 ? cw_student_t(0.9545, (double)(shots - 1)) / 2 : 1;
    shape->mismatch_s = (cw_quantity){fit.p[0], few * sqrt(fit.covariance[0][0])};
    shape->drag_s = (cw_quantity){NAN, NAN};
    shape->covariance[0] = few * few * fit.covariance[0][0];
    if (columns > 1) {
        shape->drag_s = (cw_quantity){fit.p[1], few * sqrt(fit.covariance[1][1])};
        shape->covariance[1] = few * few * fit.covariance[0][1];
        shape->covariance[2] = few * few * fit.covariance[1][1];
    }
    for (size_t i = 0; i < data->sensors; i++) {
        shape->mean_u += data->u[i] / (double)data->sensors;
        shape->mean_bow += s[1][i] / (double)data->sensors;
    }
    fit_extra(data, columns, &shape->first, &shape->second, shape->extra_s);
    fit_extra(data, columns, &shape->first_other, &shape->second_other, shape->extra_other_s);
}

static void fill_shape(const run_data *data, cw_shape *shape)
{
    size_t columns = shape->places > 2 ? 2 : 1, block_shots = data->sums[FIRST].shots;
    run_choice first = columns > 1 ? choose_form(data, FIRST) : choose_straight(data, FIRST);
    run_choice second = columns > 1 ? choose_form(data, SECOND) : choose_straight(data, SECOND);
    shape->first = first.chosen.track;
    shape->second = second.chosen.track;
    shape->first_other = first.other;
    shape->second_other = second.other;
    shape->travel1_s = travel_of(data, FIRST, &first);
    shape->travel2_s = travel_of(data, SECOND, &second);
    shape->bow1_s = columns > 1 ? bow_of(data, FIRST, &first) : (cw_quantity){NAN, NAN};
    shape->bow2_s = columns > 1 ? bow_of(data, SECOND, &second) : (cw_quantity){NAN, NAN};
    shape->chi_squared = first.chosen.chi_squared + second.chosen.chi_squared;
    size_t rows = data->sums[FIRST].rows + data->sums[SECOND].rows, unknowns = 2 * (block_shots + columns);
    shape->degrees = rows > unknowns ? rows - unknowns : 0;
    shape->shots = block_shots;
    fill_differences(data, columns, shape);
    if (columns == 1)
        set_chord(data, shape);
    shape->known = true;
}

/* Whether both curtains run the way the places count, 1; the other way, -1; or no way at all, 0. */
static int direction(const run_data *data)
{
    run_fit first = fit_even(data, FIRST, 1), second = fit_even(data, SECOND, 1);
    if (!first.solved || !second.solved)
        return 0;
    double t1 = first.track.travel_s, t2 = second.track.travel_s;
    if (fabs(t1) < 3 * first.u_travel_s || fabs(t2) < 3 * second.u_travel_s || (t1 > 0) != (t2 > 0))
        return 0;
    return t1 > 0 ? 1 : -1;
}

static void turn_round(run_data *data)
{
    for (size_t i = 0; i < data->sensors; i++)
        data->u[i] = 1 - data->u[i];
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
    int used = snprintf(told, CW_FINDING_TEXT, "%s", by_places[row]);
    if (!shape->known && row >= 2)
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
    run_data data = {0};
    cw_shape made = {.frame_mm = test->setup.frame_mm};
    size_t odd_count = 0;
    double u_place = test->setup.u_positions_mm > 0 ? test->setup.u_positions_mm : CW_PLACE_ASSUMED_MM;
    memset(odd, 0, test->shot_count * sizeof *odd);
    find_places(test, &data);
    data.u_place = u_place / test->setup.frame_mm;
    cw_status status = read_shots(test, &data, &made.left_out, err);
    if (status != CW_OK)
        goto done;
    made.places = count_places(&data);
    if (made.places >= 2) {
        find_odd(&data, odd);
        leave_out_odd(&data, odd);
        status = weigh(&data, err);
        if (status != CW_OK)
            goto done;
        int way = direction(&data);
        made.reversed = way < 0;
        if (made.reversed)
            turn_round(&data);
        if (way != 0)
            fill_shape(&data, &made);
    }
    for (size_t j = 0; j < test->shot_count; j++)
        odd_count += odd[j];
    tell(test, &made, odd_count, told);
    *shape = made;
done:
    data_free(&data);
    return status;
}
