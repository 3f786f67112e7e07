/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Recordings in which nothing rests on the full-open level: a slit narrower than the beam, blades that turn back. The
 * light of a slit is made from first principles: the beam's profile, crossed at the curtain's speed, over the exposure.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "shutter/measure.h"
#include "support/check.h"
#include "support/samples.h"

static const double RATE_HZ = 192000, GAP_S = 0.25;
enum { SENSORS = 3, SHOTS_MOST = 6 };

/* Share of an even beam that an edge has passed, `z` widths from its middle; round for sensors, a slot for masks. */
static double passed(double z, bool round)
{
    double c = fmin(fmax(2 * z, -1), 1);
    return round ? 0.5 + (c * sqrt(1 - c * c) + asin(c)) / M_PI : fmin(fmax(z + 0.5, 0), 1);
}

/* `crossing_s`: what the curtain takes over the beam at each sensor. Full light is 0.6. */
static cw_measurement *slits(size_t shots, const double *exposure_s, const double *crossing_s, bool round)
{
    uint64_t frames = (uint64_t)((double)(shots + 1) * GAP_S * RATE_HZ);
    float *values = malloc(SENSORS * frames * sizeof *values);
    check_random random = {.state = 516};
    for (uint64_t i = 0; i < frames; i++)
        for (size_t c = 0; c < SENSORS; c++) {
            double light = 0;
            for (size_t k = 0; k < shots; k++) {
                double t = (double)i / RATE_HZ - (double)(k + 1) * GAP_S - 0.004 * (double)c;
                light += passed(t / crossing_s[c], round) - passed((t - exposure_s[k]) / crossing_s[c], round);
            }
            values[i * SENSORS + c] = (float)(0.6 * light + 0.0004 * check_gaussian(&random));
        }
    cw_error err;
    cw_source *source;
    cw_measurement *m;
    cw_measure_setup setup = {.kind = CW_SHUTTER_FOCAL_PLANE, .sensor_count = 3, .sensors_mm = {4, 18, 32}};
    assert_ok(samples_source(values, SENSORS, frames, RATE_HZ, &source, &err), &err);
    assert_ok(cw_measure(source, &setup, &m, &err), &err);
    cw_source_close(source);
    assert_int_equal(m->shot_count, shots);
    return m;
}

static void assert_warned(const cw_measurement *m, const char *words)
{
    char all[CW_WARNINGS_MOST * (CW_WARNING_TEXT + 1)] = "";
    for (size_t i = 0; i < m->warning_count; i++)
        strncat(all, m->warnings[i], sizeof all - strlen(all) - 1);
    assert_contains(all, words);
}

/* 1/500 and 1/1000 through a beam that takes 1.4 to 2.9 ms: at no sensor does any shot reach the full light. */
static void two_fast_speeds_tell_the_level_neither_reaches(void **state)
{
    (void)state;
    static const double exposure_s[] = {1.27e-3, 1.31e-3, 1.29e-3, 0.83e-3, 0.79e-3, 0.81e-3},
                        crossing_s[] = {2.9e-3, 1.8e-3, 1.4e-3};
    for (int round = 0; round < 2; round++) {
        cw_measurement *m = slits(6, exposure_s, crossing_s, round);
        for (size_t c = 0; c < SENSORS; c++) {
            assert_true(m->channels[c].is_told);
            for (size_t k = 0; k < 6; k++) {
                const cw_sensor_shot *s = &m->shots[k].sensors[c];
                assert_int_equal(s->method, CW_METHOD_AREA);
                assert_covers(s->exposure_s, exposure_s[k], 2.5, 0.15 * exposure_s[k]);
                assert_contains(s->remark, "worked out from how the shots spread");
            }
        }
        assert_warned(m, "One slow speed, 1/30 or slower");
        cw_measurement_free(m);
    }
}

/* One speed alone: a slot of light 3 ms long is the beam's, with flanks as long as the exposure. */
static void a_flat_top_of_the_beam_is_not_the_exposure(void **state)
{
    (void)state;
    static const double exposure_s[] = {0.95e-3, 0.96e-3, 0.95e-3}, crossing_s[] = {3.2e-3, 2.5e-3, 1.9e-3};
    cw_measurement *m = slits(3, exposure_s, crossing_s, false);
    for (size_t k = 0; k < 3; k++)
        for (size_t c = 0; c < SENSORS; c++) {
            const cw_sensor_shot *s = &m->shots[k].sensors[c];
            assert_int_equal(s->method, CW_METHOD_NONE);
            assert_contains(s->remark, "exposure not known");
        }
    assert_warned(m, "no shot on channel 1 shows the full-open level");
    cw_measurement_free(m);
}

/* The other way round: the same shapes when the beam is the narrow one. */
static void a_flat_top_of_the_slit_stays_the_exposure(void **state)
{
    (void)state;
    static const double exposure_s[] = {0.95e-3, 0.96e-3, 0.95e-3}, crossing_s[] = {0.40e-3, 0.29e-3, 0.22e-3};
    cw_measurement *m = slits(3, exposure_s, crossing_s, false);
    for (size_t k = 0; k < 3; k++)
        for (size_t c = 0; c < SENSORS; c++)
            assert_covers(m->shots[k].sensors[c].exposure_s, exposure_s[k], 3, 0.02e-3);
    cw_measurement_free(m);
}

/* Blades that turn back at 80 % of their way, the one speed of the recording: what is known is said, and what to add.
 */
static void blades_that_never_open_leave_the_total_time(void **state)
{
    (void)state;
    uint64_t frames = (uint64_t)(0.5 * RATE_HZ);
    float *values = malloc(frames * sizeof *values);
    check_random random = {.state = 7};
    const double half_s = 1.1e-3, at_s = 0.2, turn = 0.8;
    for (uint64_t i = 0; i < frames;
         i++) { /* thrown up and back like a ball, from where they begin to let light through */
        double way = ((double)i / RATE_HZ - at_s - half_s) / half_s, open = turn * fmax(1 - way * way, 0);
        values[i] = (float)(0.7 * open + 0.0005 * check_gaussian(&random));
    }
    cw_error err;
    cw_source *source;
    cw_measurement *m;
    cw_measure_setup setup = {.kind = CW_SHUTTER_LEAF, .beam = CW_BEAM_DIFFUSE};
    assert_ok(samples_source(values, 1, frames, RATE_HZ, &source, &err), &err);
    assert_ok(cw_measure(source, &setup, &m, &err), &err);
    cw_source_close(source);
    const cw_sensor_shot *s = &m->shots[0].sensors[0];
    assert_true(isnan(s->exposure_s.value));
    assert_near(s->total_s, 2 * half_s, 0.1 * half_s);
    assert_contains(s->remark, "total time, ISO 516");
    assert_contains(s->remark, "about 1.5 ms at half its own peak"); /* 2 half_s sqrt(1/2) is 1.56 ms */
    assert_contains(s->remark, "record a slow speed too");
    assert_warned(m, "Record one slow speed");
    cw_measurement_free(m);
}

CHECK_MAIN(cmocka_unit_test(two_fast_speeds_tell_the_level_neither_reaches),
           cmocka_unit_test(a_flat_top_of_the_beam_is_not_the_exposure),
           cmocka_unit_test(a_flat_top_of_the_slit_stays_the_exposure),
           cmocka_unit_test(blades_that_never_open_leave_the_total_time))
