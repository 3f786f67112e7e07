/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From shots to weighted instants at known places. */
#include "shutter/runs.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/stats.h"

/* Two sensors nearer than this share of the frame are one place. */
#define SAME_PLACE 0.03
/* Nothing mechanical is timed better than this; keeps weights finite for exact edges. */
#define SMALLEST_U_S 1e-7

/* The sensors whose place is known, from the first counting shot that has them. */
static void find_places(const cw_shutter_test *test, cw_runs *runs)
{
    for (size_t i = 0; i < CW_SENSORS_MOST; i++)
        for (size_t j = 0; j < test->shot_count; j++) {
            const cw_shot *shot = &test->shots[j];
            if (i >= shot->sensor_count || !cw_shot_counts(shot))
                continue;
            double place = cw_sensor_place_mm(&test->setup, shot, i);
            if (!isfinite(place))
                continue;
            runs->index[runs->sensors] = i;
            runs->u[runs->sensors++] = place / test->setup.frame_mm;
            break;
        }
}

static size_t count_places(const cw_runs *runs)
{
    size_t places = 0;
    for (size_t i = 0; i < runs->sensors; i++) {
        bool again = false;
        for (size_t k = 0; k < i; k++)
            again = again || fabs(runs->u[i] - runs->u[k]) < SAME_PLACE;
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
static bool places_agree(const cw_shutter_test *test, const cw_shot *shot, const cw_runs *runs)
{
    for (size_t i = 0; i < runs->sensors; i++) {
        if (runs->index[i] >= shot->sensor_count)
            continue;
        double place = cw_sensor_place_mm(&test->setup, shot, runs->index[i]);
        if (fabs(place / test->setup.frame_mm - runs->u[i]) > 1e-6)
            return false;
    }
    return true;
}

static cw_status read_shots(const cw_shutter_test *test, cw_runs *runs, cw_error *err)
{
    size_t cells = test->shot_count * (runs->sensors > 0 ? runs->sensors : 1);
    for (size_t b = 0; b < CW_RUN_BLOCKS; b++) {
        runs->blocks[b] = (cw_delay_block){test->shot_count, runs->sensors, calloc(cells, sizeof(cw_delay))};
        if (runs->blocks[b].items == NULL)
            return cw_fail(err, CW_MEMORY, "no memory for the curtain fit of %zu shots", test->shot_count);
    }
    for (size_t j = 0; j < test->shot_count; j++) {
        const cw_shot *shot = &test->shots[j];
        if (!cw_shot_counts(shot))
            continue;
        if (!places_agree(test, shot, runs)) {
            runs->left_out++;
            continue;
        }
        for (size_t i = 0; i < runs->sensors; i++) {
            size_t cell = j * runs->sensors + i;
            if (runs->index[i] < shot->sensor_count)
                read_sensor(&shot->sensors[runs->index[i]], &runs->blocks[CW_RUN_FIRST].items[cell],
                            &runs->blocks[CW_RUN_SECOND].items[cell], &runs->blocks[CW_RUN_EXPOSURE].items[cell]);
        }
    }
    return CW_OK;
}

/* Weights from the single measurement and from how much whole shots differ: 1/(u^2 + s^2), s^2 being what the scatter
 * about each sensor's own mean delay shows beyond u^2. */
static cw_status weigh(cw_runs *runs, cw_error *err)
{
    for (size_t b = 0; b < CW_RUN_BLOCKS; b++) {
        cw_delay_block equal = runs->blocks[b], *block = &runs->blocks[b];
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
        runs->scatter_degrees = fmax(degrees, 0);
        double s2 = degrees > 0 ? cw_delay_saturated(&sums) / degrees - u2 / (double)known : 0;
        for (size_t i = 0; i < cells; i++)
            if (block->items[i].known)
                block->items[i].weight = 1 / (1 / block->items[i].weight + fmax(s2, 0));
        runs->sums[b] = cw_delay_sum(block);
    }
    return CW_OK;
}

/* Shots that ran unlike the others, by the middle value of each sensor's delay against the mean of its shot: far
 * outside what the rest scatter by. Asked only with four shots or more, and of shots that every sensor saw. */
static cw_status find_odd(const cw_runs *runs, bool *odd, cw_error *err)
{
    enum { ENOUGH = 4 };
    const double far = 8 * 1.4826, share = 0.03; /* 1.4826 x median deviation: sd of a normal distribution */
    size_t shots = runs->blocks[CW_RUN_FIRST].shots, n = runs->sensors;
    double *centred = malloc((shots * n + 1) * sizeof *centred), *column = malloc((shots + 1) * sizeof *column);
    cw_status status = CW_OK;
    if (centred == NULL || column == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory to compare %zu shots", shots);
    for (size_t b = CW_RUN_FIRST; b <= CW_RUN_SECOND && status == CW_OK; b++) {
        size_t full = 0, at[CW_SHOTS_MOST];
        for (size_t j = 0; j < shots; j++) {
            const cw_delay *shot = runs->blocks[b].items + j * n;
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
                double u = 1 / sqrt(runs->blocks[b].items[at[j] * n + i].weight);
                double limit = fmax(fmax(far * spread, 6 * u), share * (most - least));
                odd[at[j]] = odd[at[j]] || fabs(centred[j * n + i] - middle[i]) > limit;
            }
    }
    free(centred);
    free(column);
    return status;
}

static void leave_out_odd(cw_runs *runs, const bool *odd)
{
    for (size_t b = 0; b < CW_RUN_BLOCKS; b++)
        for (size_t j = 0; j < runs->blocks[b].shots; j++)
            for (size_t i = 0; odd[j] && i < runs->sensors; i++)
                runs->blocks[b].items[j * runs->sensors + i].known = false;
}

void cw_runs_free(cw_runs *runs)
{
    for (size_t b = 0; b < CW_RUN_BLOCKS; b++)
        free(runs->blocks[b].items);
}

cw_status cw_runs_read(const cw_shutter_test *test, bool *odd, cw_runs *runs, cw_error *err)
{
    double u_place = test->setup.u_positions_mm > 0 ? test->setup.u_positions_mm : CW_PLACE_ASSUMED_MM;
    *runs = (cw_runs){.u_place = u_place / test->setup.frame_mm};
    memset(odd, 0, test->shot_count * sizeof *odd);
    find_places(test, runs);
    runs->places = count_places(runs);
    CW_TRY(read_shots(test, runs, err));
    if (runs->places < 2)
        return CW_OK;
    CW_TRY(find_odd(runs, odd, err));
    leave_out_odd(runs, odd);
    return weigh(runs, err);
}
