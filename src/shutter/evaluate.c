/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/evaluate.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "shutter/inner.h"
#include "shutter/marks.h"
#include "shutter/tolerance.h"

bool cw_same_mark(double a_s, double b_s)
{
    return fabs(a_s - b_s) <= 1e-6 * b_s;
}

bool cw_shot_counts(const cw_shot *shot)
{
    return !shot->struck && !shot->incomplete && shot->marked_s > 0;
}

double cw_sensor_place_mm(const cw_test_setup *setup, const cw_shot *shot, size_t i)
{
    double own = shot->sensors[i].position_mm;
    return isfinite(own) || i >= setup->sensor_count ? own : setup->sensors_mm[i];
}

static cw_status places_check(const cw_test_setup *setup, const cw_shot *shot, size_t number, cw_error *err)
{
    if (shot->sensor_count > CW_SENSORS_MOST)
        return cw_fail(err, CW_RANGE, "shot %zu has %zu sensors; at most %d can be used", number, shot->sensor_count,
                       CW_SENSORS_MOST);
    if (setup->kind == CW_SHUTTER_LEAF)
        return CW_OK;
    for (size_t i = 0; i < shot->sensor_count; i++) {
        double place = cw_sensor_place_mm(setup, shot, i);
        if (isnan(place))
            continue;
        if (!(setup->frame_mm > 0 && setup->frame_mm <= 1000))
            return cw_fail(
                err, CW_RANGE,
                "a frame of %g mm along the travel; with sensors at known places give its length, such as 36 "
                "or 24, up to 1000",
                setup->frame_mm);
        if (!isfinite(place) || place < 0 || place > setup->frame_mm)
            return cw_fail(
                err, CW_RANGE,
                "sensor %zu stands at %g mm, outside the frame of %g mm; give its place in mm from the frame "
                "edge that opens first, along the travel",
                i + 1, place, setup->frame_mm);
    }
    return CW_OK;
}

static cw_status check(const cw_test_setup *setup, const cw_shot *shots, size_t shot_count, cw_error *err)
{
    size_t marked = 0, usable = 0;
    if (shot_count == 0)
        return cw_fail(err, CW_RANGE, "there is no shot to evaluate");
    if (shot_count > CW_SHOTS_MOST)
        return cw_fail(err, CW_RANGE, "%zu shots in one test; at most %d can be used, so split the recording",
                       shot_count, CW_SHOTS_MOST);
    if (setup->sensor_count > CW_SENSORS_MOST)
        return cw_fail(err, CW_RANGE, "%zu sensors named; at most %d can be used", setup->sensor_count,
                       CW_SENSORS_MOST);
    if (!(setup->u_clock_relative >= 0 && setup->u_clock_relative < 0.1))
        return cw_fail(err, CW_RANGE, "a clock uncertainty of %g; it is a fraction from 0 to 0.1, 50 ppm being 5e-5",
                       setup->u_clock_relative);
    if (!(setup->u_positions_mm >= 0 && setup->u_positions_mm < 100))
        return cw_fail(err, CW_RANGE, "an uncertainty of %g mm for the sensors' places; from 0 to 100 can be used",
                       setup->u_positions_mm);
    for (size_t i = 0; i < shot_count; i++) {
        CW_TRY(places_check(setup, &shots[i], i + 1, err));
        marked += shots[i].marked_s > 0;
        usable += cw_shot_counts(&shots[i]);
    }
    if (marked == 0)
        return cw_fail(err, CW_RANGE,
                       "none of the %zu shots has a marked speed; say what was fired with --marked 1/250 or "
                       "--marked-list 1,1/2,1/4",
                       shot_count);
    if (usable == 0)
        return cw_fail(err, CW_RANGE, "all %zu shots are struck out or incomplete; fire again, or take one back",
                       shot_count);
    return CW_OK;
}

static int slowest_first(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x < y) - (x > y);
}

/* The different marks of the test, slowest first, into test->speeds. */
static cw_status collect_speeds(cw_shutter_test *test, cw_error *err)
{
    double marks[CW_SPEEDS_MOST];
    size_t count = 0;
    for (size_t i = 0; i < test->shot_count; i++) {
        double mark = test->shots[i].marked_s;
        if (!(mark > 0))
            continue;
        size_t k = 0;
        while (k < count && !cw_same_mark(mark, marks[k]))
            k++;
        if (k < count)
            continue;
        if (count == CW_SPEEDS_MOST)
            return cw_fail(err, CW_RANGE, "more than %d different marked speeds in one test", CW_SPEEDS_MOST);
        marks[count++] = mark;
    }
    qsort(marks, count, sizeof marks[0], slowest_first);
    for (size_t k = 0; k < count; k++) {
        cw_quantity unknown = {NAN, NAN};
        test->speeds[k] = (cw_speed){
            .marked_s = marks[k],
            .reference_s = test->setup.geometric ? cw_mark_geometric(marks[k], NULL) : marks[k],
            .exposure_s = unknown,
            .spread_ev = NAN,
            .error_ev = unknown,
            .degrees = NAN,
            .evenness_ev = NAN,
            .u_evenness_ev = NAN,
            .limit_ev = cw_tolerance_limit(&test->setup.tolerance, marks[k]),
            .verdict = CW_SPEED_UNKNOWN,
            .travel1_s = unknown,
            .travel2_s = unknown,
            .efficiency = NAN,
            .slit_mm = unknown,
            .contact_delay_s = unknown,
            .contact_after_full_s = unknown,
            .open_after_contact_s = unknown,
            .fully_open_s = NAN,
            .u_fully_open_s = NAN,
        };
    }
    test->speed_count = count;
    return CW_OK;
}

static void curtains_unknown(cw_curtains *curtains)
{
    cw_quantity unknown = {NAN, NAN};
    *curtains = (cw_curtains){
        .travel1_s = unknown,
        .travel2_s = unknown,
        .bow1_s = unknown,
        .bow2_s = unknown,
        .mismatch_s = unknown,
        .drag_s = unknown,
        .chi_squared = NAN,
    };
}

static void tell_leaf(const cw_test_setup *setup, cw_curtains *curtains)
{
    snprintf(
        curtains->told, sizeof curtains->told, "%s",
        setup->beam == CW_BEAM_POINT
            ? "A leaf shutter has no curtains. A narrow beam sees the blades pass its own radius: the times are how "
              "long the shutter was open there, longer near the middle than at the rim, and not the effective "
              "exposure of ISO 516. Diffuse light over the whole opening gives that."
            : "A leaf shutter has no curtains: the whole picture is exposed at once (ISO 516, front shutter). The "
              "exposure is the effective time; efficiency is effective over total time.");
}

/* Effective over total time, the mean over the shots' sensors: ISO 516. A narrow beam sees neither. */
static void fill_efficiency(cw_shutter_test *test)
{
    for (size_t k = 0; k < test->speed_count && test->setup.beam == CW_BEAM_DIFFUSE; k++) {
        double sum = 0;
        size_t n = 0;
        for (size_t j = 0; j < test->shot_count; j++) {
            const cw_shot *shot = &test->shots[j];
            if (!cw_shot_counts(shot) || !cw_same_mark(shot->marked_s, test->speeds[k].marked_s))
                continue;
            for (size_t i = 0; i < shot->sensor_count; i++) {
                const cw_sensor_shot *sensor = &shot->sensors[i];
                if (!sensor->seen || !(sensor->total_s > 0) || sensor->method != CW_METHOD_AREA)
                    continue;
                sum += sensor->exposure_s.value / sensor->total_s;
                n++;
            }
        }
        test->speeds[k].efficiency = n > 0 ? sum / (double)n : NAN;
    }
}

static cw_status evaluate_with(cw_shutter_test *test, bool *odd, cw_error *err)
{
    cw_shape shape = {0};
    CW_TRY(collect_speeds(test, err));
    curtains_unknown(&test->curtains);
    if (test->setup.kind == CW_SHUTTER_FOCAL_PLANE) {
        CW_TRY(cw_shape_fit(test, odd, &shape, test->curtains.told, err));
    } else {
        tell_leaf(&test->setup, &test->curtains);
        fill_efficiency(test);
    }
    cw_speeds_evaluate(test, &shape);
    if (shape.known)
        CW_TRY(cw_profile_fill(test, &shape, odd, err));
    else
        cw_evenness_from_sensors(test);
    cw_flash_evaluate(test, &shape);
    cw_findings_fill(test, &shape, odd);
    return CW_OK;
}

static cw_status evaluate(cw_shutter_test *test, cw_error *err)
{
    bool *odd = calloc(test->shot_count, sizeof *odd);
    if (odd == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a test of %zu shots", test->shot_count);
    cw_status status = evaluate_with(test, odd, err);
    free(odd);
    return status;
}

cw_status cw_shutter_evaluate(const cw_test_setup *setup, const cw_shot *shots, size_t shot_count,
                              cw_shutter_test **test, cw_error *err)
{
    CW_TRY(check(setup, shots, shot_count, err));
    cw_shutter_test *made = calloc(1, sizeof *made);
    cw_shot *copy = malloc(shot_count * sizeof *copy);
    if (made == NULL || copy == NULL) {
        free(made);
        free(copy);
        return cw_fail(err, CW_MEMORY, "no memory for a test of %zu shots", shot_count);
    }
    memcpy(copy, shots, shot_count * sizeof *copy);
    made->setup = *setup;
    if (setup->tolerance.row_count == 0)
        made->setup.tolerance = cw_tolerance_common();
    made->shots = copy;
    made->shot_count = shot_count;
    cw_status status = evaluate(made, err);
    if (status != CW_OK) {
        cw_shutter_test_free(made);
        return status;
    }
    *test = made;
    return CW_OK;
}

void cw_shutter_test_free(cw_shutter_test *test)
{
    if (test == NULL)
        return;
    free(test->curtains.profile);
    free(test->shots);
    free(test);
}

const char *cw_verdict_rule(void)
{
    return "Inside: the whole interval, error plus or minus its expanded uncertainty (95 %), lies within the limit. "
           "Outside: none of it does. Too close to call: the limit lies within the interval. (JCGM 106, guard band of "
           "the expanded uncertainty on both sides.)";
}

const char *cw_speed_verdict_name(cw_speed_verdict verdict)
{
    static const char *const names[] = {
        [CW_SPEED_INSIDE] = "inside",
        [CW_SPEED_OUTSIDE] = "outside",
        [CW_SPEED_TOO_CLOSE] = "too-close",
        [CW_SPEED_UNKNOWN] = "unknown",
    };
    return names[verdict];
}
